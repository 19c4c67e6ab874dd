package sheet

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
	"corbel/unit"
)

// shownProblems is how many problems of one session are shown; the rest is
// folded into a line.
const shownProblems = 5

// Report writes what a check found: the count, the sessions of the first week
// that was looked at with what each set will find left, the week's sets, then
// the problems with their places, reasons and ways out. all shows every problem.
func (p Plain) Report(r *check.Report, b *plan.Block, c *client.Client, all bool) {
	p.line(0, p.pick("%s, %s: revision %d, %d weeks from %s", "%s, %s: Fassung %d, %d Wochen ab %s"), b.Name, c.Name, b.Revision, b.Weeks, b.Start)
	p.line(0, p.pick("Answers as of %s. %d to stop for, %d to settle, %d to note.", "Antworten mit Stand %s. Halt: %d, zu klären: %d, Hinweise: %d."),
		r.On, r.Count(check.Stop), r.Count(check.Settle), r.Count(check.Note))
	p.problems(r, b, all)
	for _, s := range r.Sessions {
		if s.Week == r.Sessions[0].Week {
			p.sessionReport(s, c)
		}
	}
	if len(r.Weeks) > 0 {
		p.weekReport(r.Weeks[0])
	}
	if len(r.Sessions) > 0 {
		p.line(0, "\n%s", p.basis(r))
	}
	p.line(0, "\n%s", client.Sentence("sheet-caution", p.Language))
}

// basis says what the numbers rest on.
func (p Plain) basis(r *check.Report) string {
	text := p.pick("Predicted from published group averages (typical error 8 % of group means, larger for a person) and the lifts on record; a good or bad day moves a set by about one repetition.",
		"Vorhergesagt aus veröffentlichten Gruppenmitteln (üblicher Fehler 8 % der Mittel, bei Einzelnen größer) und den vermerkten Bestwerten; ein guter oder schlechter Tag verschiebt einen Satz um etwa eine Wiederholung.")
	if r.Draws > 0 {
		text += fmt.Sprintf(p.pick(" Ranges hold the middle 80 %% of %d draws.", " Bereiche enthalten die mittleren 80 %% von %d Ziehungen."), r.Draws)
	}
	if n := len(r.Computed); n > 0 {
		text += fmt.Sprintf(p.pick(" What muscles share in %d of the exercises was computed for this body; in the others it is stated from anatomy and studies.",
			" Die Anteile der Muskeln sind in %d der Übungen für diesen Körper berechnet, in den anderen aus Anatomie und Studien angegeben."), n)
	}
	return text
}

// problems writes the problems, those of a session beyond five folded unless all
// is asked for. A stop is never folded.
func (p Plain) problems(r *check.Report, b *plan.Block, all bool) {
	shown := map[string]int{}
	folded := map[string]int{}
	for _, x := range r.Problems {
		if shown[x.At.Session]++; !all && shown[x.At.Session] > shownProblems && x.Severity != check.Stop {
			folded[x.At.Session]++
			continue
		}
		p.problem(x, b)
	}
	for _, s := range b.Sessions {
		if n := folded[string(s.ID)]; n > 0 {
			p.line(2, p.pick("\n%d more in %s; --all shows them.", "\n%d weitere in %s; --all zeigt sie."), n, s.Name)
		}
	}
	if n := folded[""]; n > 0 {
		p.line(2, p.pick("\n%d more for the week as a whole; --all shows them.", "\n%d weitere für die Woche im Ganzen; --all zeigt sie."), n)
	}
}

// problem writes one problem.
func (p Plain) problem(x check.Problem, b *plan.Block) {
	head := x.Severity.In(p.Language)
	if x.Kept != "" {
		head = p.pick("kept", "beibehalten")
	}
	p.line(2, "\n%s%s", head, p.place(x.At, b))
	p.line(2, "  %s", x.Text)
	if x.Kept != "" {
		p.line(2, p.pick("  Kept by the coach: %s", "  Vom Coach beibehalten: %s"), x.Kept)
	}
	if x.Why != "" {
		p.line(2, "  %s", x.Why)
	}
	for _, f := range x.Fixes {
		p.line(4, "  %s  %s", check.FixName(b, f), f.Text)
	}
	if len(x.Fixes) == 0 {
		p.line(4, "  %s %s", x.Code, x.ID)
	}
}

// place writes where a problem lies.
func (p Plain) place(at check.At, b *plan.Block) string {
	var out []string
	if at.Week > 0 {
		out = append(out, fmt.Sprintf(p.pick("week %d", "Woche %d"), at.Week))
	}
	for _, s := range b.Sessions {
		if string(s.ID) == at.Session {
			out = append(out, s.Name)
		}
	}
	if at.Slot != "" {
		out = append(out, p.pick("slot ", "Eintrag ")+at.Slot)
	}
	if at.Set > 0 {
		out = append(out, fmt.Sprintf(p.pick("set %d", "Satz %d"), at.Set))
	}
	if len(out) == 0 {
		return ""
	}
	return ": " + strings.Join(out, ", ")
}

// number writes a number as the language does.
func (p Plain) number(x float64, decimals int) string {
	return decimalsIn(unit.Figures(x, decimals), p.Language)
}

// sessionReport writes what each set of a session will find left.
func (p Plain) sessionReport(s check.SessionReport, c *client.Client) {
	head := fmt.Sprintf(p.pick("%s, week %d: about %s min (%s–%s)", "%s, Woche %d: etwa %s min (%s–%s)"), s.Session, s.Week, p.number(s.Minutes, 0), p.number(s.Low, 0), p.number(s.High, 0))
	p.line(0, "\n%s\n%s", head, strings.Repeat("-", min(utf8.RuneCountInString(head), Width)))
	fmt.Fprintf(p.Out, "%4s  %-34s %-11s %8s %13s %4s\n", "min", p.pick("exercise", "Übung"), p.pick("set, side", "Satz, Seite"), p.pick("load", "Last"), p.pick("to failure", "bis Versagen"), "RIR")
	for _, slot := range s.Slots {
		p.slotReport(s, slot, c)
	}
}

// slotReport writes the sets, costs and reasons of one exercise.
func (p Plain) slotReport(s check.SessionReport, slot check.SlotReport, c *client.Client) {
	name, start := p.name(slot.Exercise), p.number(slot.Start, 0)
	rows := p.setRows(slot.Sets, c)
	for _, row := range rows {
		text := fmt.Sprintf("%4s  %-34s %-11s %8s %13s %4s", start, cut(name, 34), row[0], row[1], row[2], row[3])
		fmt.Fprintln(p.Out, strings.TrimRight(text, " "))
		name, start = "", ""
	}
	var costs []string
	for _, cost := range slot.Costs {
		if cost.Per >= 0.1 {
			costs = append(costs, fmt.Sprintf(p.pick("%s %s", "%s %s"), p.nameOfSlot(s, cost.To), p.number(cost.Per, 1)))
		}
	}
	if len(costs) > 0 {
		p.line(8, p.pick("      costs, repetitions a set: %s", "      kostet, Wiederholungen je Satz: %s"), strings.Join(costs, ", "))
	}
	for _, r := range slot.Reasons {
		holds := p.pick("holds", "hält")
		if !r.Holds {
			holds = p.pick("does not hold", "hält nicht")
		}
		p.line(8, "      %s %s: %s", check.ReasonWord(exercise.Reason(r.Reason), p.Language), holds, r.Because)
	}
}

// nameOfSlot names the exercise of a slot of the session.
func (p Plain) nameOfSlot(s check.SessionReport, id string) string {
	for _, x := range s.Slots {
		if x.ID == id {
			return p.name(x.Exercise)
		}
	}
	return id
}

// cut shortens a text to n characters.
func cut(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

// setRows writes sets as rows: number and side, load, repetitions to failure with
// their range, predicted reserve. Sides that come out alike share a row.
func (p Plain) setRows(sets []check.SetReport, c *client.Client) [][4]string {
	var rows [][4]string
	for i := 0; i < len(sets); i++ {
		s := sets[i]
		row := p.setRow(s, c)
		if i+1 < len(sets) && sets[i+1].N == s.N && sets[i+1].WarmUp == s.WarmUp && s.Side == "left" && sets[i+1].Side == "right" {
			if other := p.setRow(sets[i+1], c); other[1] == row[1] && other[3] == row[3] && p.number(s.Failure, 0) == p.number(sets[i+1].Failure, 0) {
				row[0] = p.label(s, p.pick("each", "je"))
				i++
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// setRow writes one set.
func (p Plain) setRow(s check.SetReport, c *client.Client) [4]string {
	side := ""
	if s.Side == "left" || s.Side == "right" {
		side = anatomy.Side(s.Side).In(p.Language)
	}
	load := "–"
	switch {
	case s.LoadKg != nil:
		load = p.mass(unit.MassOf(*s.LoadKg, unit.Kg), c.Units.Load)
	case s.Percent != nil:
		load = p.number(*s.Percent, 0) + " %"
	}
	failure := p.number(s.Failure, 0)
	if s.Low != nil {
		failure += fmt.Sprintf(" (%s–%s)", p.number(*s.Low, 0), p.number(*s.High, 0))
	}
	reserve := p.number(s.RIR, 0)
	if s.WarmUp {
		failure, reserve = "", ""
	}
	return [4]string{p.label(s, side), load, failure, reserve}
}

// label writes number and side of a set.
func (p Plain) label(s check.SetReport, side string) string {
	n := fmt.Sprint(s.N)
	switch {
	case s.Proposed:
		return p.pick("warm-up?", "Aufwärmen?")
	case s.WarmUp:
		return p.pick("warm-up", "Aufwärmen")
	case side != "":
		return n + " " + side
	}
	return n
}

// weekReport writes the hard sets of a week against the aims.
func (p Plain) weekReport(w check.WeekReport) {
	p.line(0, p.pick("\nHard sets, week %d: direct + indirect (from shares)", "\nHarte Sätze, Woche %d: direkt + indirekt (aus Anteilen)"), w.Week)
	for _, m := range w.Muscles {
		name := anatomy.MuscleSide{Muscle: anatomy.Muscle(m.Muscle)}
		if m.Side != string(anatomy.Both) {
			name.Side = anatomy.Side(m.Side)
		}
		aim := ""
		if m.AimLow != nil {
			aim = p.pick("aim ", "Ziel ") + p.band(client.Band{Low: *m.AimLow, High: *m.AimHigh})
		}
		if m.Cap != nil {
			aim += p.pick(", cap ", ", höchstens ") + p.number(*m.Cap, 1)
		}
		text := fmt.Sprintf("  %-32s %5s = %4s + %4s  (%s)  %s", name.In(p.Language), p.number(m.Direct+m.Indirect, 1), p.number(m.Direct, 1), p.number(m.Indirect, 1), p.number(m.Continuous, 1), aim)
		fmt.Fprintln(p.Out, strings.TrimRight(text, " "))
	}
	for _, l := range w.Lifts {
		aim := ""
		if l.AimLow != nil {
			aim = p.pick("  aim ", "  Ziel ") + p.band(client.Band{Low: *l.AimLow, High: *l.AimHigh})
		}
		fmt.Fprintf(p.Out, p.pick("  %-32s %5s lift sets%s\n", "  %-32s %5s schwere Sätze%s\n"), p.name(l.Exercise), p.number(l.Sets, 1), aim)
	}
}
