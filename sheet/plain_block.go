package sheet

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"corbel/anatomy"
	"corbel/client"
	"corbel/plan"
)

// Block writes a block: what it is for, then every session with its exercises,
// the dose of each week where weeks differ, and the reasons in the client's
// words.
func (p Plain) Block(b *plan.Block, c *client.Client) {
	title := b.Name
	if c != nil {
		title += ", " + c.Name
	}
	p.line(0, "%s", title)
	p.line(0, "%s", strings.Repeat("=", utf8.RuneCountInString(title)))
	p.line(0, p.pick("%d weeks from %s to %s, %s, revision %d", "%d Wochen vom %s bis %s, %s, Fassung %d"),
		b.Weeks, b.Start, b.End(), p.word(string(b.State)), b.Revision)
	if b.For != "" {
		p.line(0, "%s", b.For)
	}
	if b.Deload != nil {
		p.line(0, p.pick("Week %d is easier.", "Woche %d ist leichter."), b.Deload.Week)
	}
	for i := range b.Sessions {
		p.session(b, &b.Sessions[i], c)
	}
	if len(b.Changes) > 0 {
		p.changes(b)
	}
	if b.Note != "" {
		p.line(0, "\n%s", b.Note)
	}
	p.line(0, "\n%s", client.Sentence("sheet-caution", p.Language))
}

// session writes one session.
func (p Plain) session(b *plan.Block, s *plan.Session, c *client.Client) {
	place := string(s.Place)
	if c != nil {
		if pl := c.PlaceByID(s.Place); pl != nil {
			place = pl.Name
		}
	}
	head := fmt.Sprintf("%s (%s, %s)", s.Name, s.Day.In(p.Language), place)
	p.line(0, "\n%s\n%s", head, strings.Repeat("-", min(utf8.RuneCountInString(head), Width)))
	for i := range s.Slots {
		p.slot(b, s, i)
	}
	if s.Note != "" {
		p.line(0, "%s", s.Note)
	}
}

// slot writes one exercise with its doses, reasons and note.
func (p Plain) slot(b *plan.Block, s *plan.Session, i int) {
	slot := &s.Slots[i]
	label := fmt.Sprintf("%d.", i+1)
	if slot.Superset != "" {
		label = fmt.Sprintf("%d. (%s)", i+1, slot.Superset)
	}
	name := p.name(slot.Exercise)
	if slot.Side != anatomy.NoSide {
		name += ", " + slot.Side.In(p.Language)
	}
	p.line(3, "%s %s", label, name)
	for _, d := range p.weeklyDoses(b, slot) {
		p.line(5, "   %s", d)
	}
	if slot.Range != nil {
		p.line(5, "   %s", p.pick("stay within ", "im Bereich bleiben: ")+slot.Range.In(p.Language))
	}
	for _, r := range slot.Reasons {
		p.line(5, "   → %s", p.reason(b, r))
	}
	if slot.Note != "" {
		p.line(5, "   %s", slot.Note)
	}
}

// weeklyDoses writes the dose once where all weeks are alike, else week by
// week, weeks with the same dose together. Later weeks leave out the clauses
// they share with the first.
func (p Plain) weeklyDoses(b *plan.Block, slot *plan.Slot) []string {
	var weeks [][]string
	for w := 1; w <= b.Weeks; w++ {
		weeks = append(weeks, p.phrase().Clauses(b.DoseIn(slot, w)))
	}
	var out []string
	for w := 0; w < len(weeks); {
		end := w
		for end+1 < len(weeks) && slices.Equal(weeks[end+1], weeks[w]) {
			end++
		}
		text := weeks[w][0]
		for _, clause := range weeks[w][1:] {
			if w == 0 || !slices.Contains(weeks[0], clause) {
				text += "; " + clause
			}
		}
		switch {
		case w == 0 && end == len(weeks)-1:
			out = append(out, text)
		case w == end:
			out = append(out, fmt.Sprintf(p.pick("week %d: %s", "Woche %d: %s"), w+1, text))
		default:
			out = append(out, fmt.Sprintf(p.pick("weeks %d–%d: %s", "Wochen %d–%d: %s"), w+1, end+1, text))
		}
		w = end + 1
	}
	return out
}

// reason writes a reason in words.
func (p Plain) reason(b *plan.Block, r plan.Reason) string {
	later := func(id string) string {
		for _, s := range b.Sessions {
			for _, slot := range s.Slots {
				if string(slot.ID) == id {
					return p.name(slot.Exercise)
				}
			}
		}
		return id
	}
	text := ""
	switch {
	case r.Test != nil:
		text = p.pick("shows how strong: ", "zeigt die Kraft: ") + r.Test.In(p.Language)
	case r.Prepare != "":
		text = p.pick("prepares: ", "bereitet vor: ") + later(string(r.Prepare))
	case r.Practise != "":
		text = p.pick("practises: ", "übt: ") + p.name(r.Practise)
	case r.Load != nil:
		text = p.pick("builds: ", "baut auf: ") + r.Load.In(p.Language)
	case r.Spare != nil:
		text = fmt.Sprintf(p.pick("%s: less left to do in %s", "%s: spart Arbeit bei %s"), r.Spare.In(p.Language), later(string(r.For)))
	case r.Restore != "":
		text = p.pick("restores: ", "lockert: ") + r.Restore.In(p.Language)
	}
	if r.Because != "" {
		text += ". " + r.Because
	}
	return text
}

// changes writes what was changed in mid-block.
func (p Plain) changes(b *plan.Block) {
	p.line(0, "\n%s", p.pick("Changes", "Änderungen"))
	for _, c := range b.Changes {
		at := c.On.String()
		if !c.Until.IsZero() {
			at += p.pick(" to ", " bis ") + c.Until.String()
		}
		what := p.word(string(c.Do))
		if c.Exercise != "" {
			what += ": " + p.name(c.Exercise)
		}
		if !c.Dose.IsZero() {
			what += ", " + p.phrase().Dose(c.Dose)
		}
		p.line(2, "%s %s (%s): %s", at, what, c.By, c.Why)
	}
}

// Log writes what was done, session by session.
func (p Plain) Log(l *plan.Log) {
	for _, e := range l.Entries {
		p.line(0, p.pick("%s: session %s, week %d of %s, revision %d", "%s: Einheit %s, Woche %d von %s, Fassung %d"), e.On, e.Session, e.Week, e.Block, e.Revision)
		if e.Rating != nil {
			p.line(2, p.pick("  rated %s of 10, %d min", "  Anstrengung %s von 10, %d min"), p.number(*e.Rating, 1), e.Minutes)
		}
		for _, s := range e.Sets {
			side := ""
			if s.Side != anatomy.NoSide {
				side = " " + s.Side.In(p.Language)
			}
			p.line(4, p.pick("  %s, set %d%s: %s", "  %s, Satz %d%s: %s"), s.Slot, s.Set, side, p.phrase().Done(s.Done))
		}
		for _, x := range e.Pain {
			p.line(4, "  %s", p.painWords(x))
		}
		for _, t := range e.Tests {
			p.line(4, "  %s, %s: %s", t.Slot, t.Measure.In(p.Language), p.testWords(t))
		}
		for _, s := range e.Skipped {
			p.line(4, p.pick("  %s left out: %s", "  %s ausgelassen: %s"), s.Slot, s.Why)
		}
		if e.Note != "" {
			p.line(4, "  %s", e.Note)
		}
	}
}

// painWords writes where it hurt in a session, how much, and what went with it.
func (p Plain) painWords(x plan.PainLog) string {
	text := p.pick("pain: ", "Schmerz: ") + x.Place.In(p.Language)
	if x.Side != anatomy.NoSide {
		text += " " + x.Side.In(p.Language)
	}
	if x.Slot != "" {
		text += ", in " + string(x.Slot)
	}
	if x.During != nil {
		text += fmt.Sprintf(p.pick(", %s of 10 during the work", ", %s von 10 bei der Arbeit"), p.number(*x.During, 1))
	}
	if x.Morning != nil {
		text += fmt.Sprintf(p.pick(", %s of 10 the next morning", ", %s von 10 am nächsten Morgen"), p.number(*x.Morning, 1))
	}
	if x.Worse {
		text += p.pick(", worse the next morning", ", am nächsten Morgen stärker")
	}
	for _, f := range x.Features {
		text += ", " + f.In(p.Language)
	}
	return text
}

// testWords writes the numbers of a test.
func (p Plain) testWords(t plan.TestLog) string {
	var out []string
	for _, x := range []struct {
		name string
		at   *float64
	}{{p.pick("left ", "links "), t.Left}, {p.pick("right ", "rechts "), t.Right}, {"", t.Value}} {
		if x.at != nil {
			out = append(out, strings.TrimSpace(x.name+p.number(*x.at, 2)+" "+t.Unit))
		}
	}
	return strings.Join(out, ", ")
}

// Group writes a group programme and its releases.
func (p Plain) Group(g *plan.Group) {
	p.line(0, "%s", g.Name)
	p.line(0, "%s", strings.Repeat("=", utf8.RuneCountInString(g.Name)))
	if g.Days != (client.Band{}) {
		p.field(p.pick("Sessions a week", "Einheiten/Woche"), p.band(g.Days))
	}
	p.list(p.pick("Places", "Orte"), p.places(g.Places))
	var out []string
	for _, r := range g.Releases {
		out = append(out, strings.TrimSuffix(fmt.Sprintf("%s: %s. %s", r.On, r.Block, r.Note), " "))
	}
	p.list(p.pick("Releases", "Ausgaben"), out)
	p.field(p.pick("Note", "Notiz"), g.Note)
}
