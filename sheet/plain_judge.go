package sheet

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"corbel/anatomy"
	"corbel/client"
	"corbel/evidence"
	"corbel/exercise"
)

// Judgement writes what changed and what is noise, at 80 columns.
func (p Plain) Judgement(j *evidence.Judgement, c *client.Client) {
	title := p.pick("What changed: ", "Was sich geändert hat: ") + c.Name
	p.line(0, "\n%s\n%s", title, strings.Repeat("=", min(utf8.RuneCountInString(title), Width)))
	p.field(p.pick("Sessions", "Einheiten"), fmt.Sprintf(p.pick("%d of %d planned", "%d von %d geplanten"), j.Done.Done, j.Done.Planned))
	p.judged(p.pick("Tests: mean of the first and second half of the logs", "Tests: Mittel der ersten und zweiten Hälfte der Protokolle"), j.Tests)
	p.judged(p.pick("Lifts: 1RM in the first and second half of the logs", "Übungen: 1RM in der ersten und zweiten Hälfte der Protokolle"), j.Lifts)
	if slices.ContainsFunc(j.Lifts, func(c evidence.Change) bool {
		e := p.Library.ByID(c.Name)
		return e != nil && e.PercentOf == exercise.System
	}) {
		p.line(0, "%s", p.pick("Where body mass is lifted too, the percentage counts it.", "Wo Körpermasse mitgehoben wird, zählt der Prozentwert sie mit."))
	}
	if j.False > 0 {
		p.line(0, "%s", fmt.Sprintf(p.pick("%d are called better or probably better; about %s of them may be chance.", "%d als besser oder wahrscheinlich besser beurteilt; etwa %s davon können Zufall sein."), calledBetter(j), p.number(j.False, 1)))
	}
	if len(j.Limits) > 0 {
		p.line(0, "\n%s", p.pick("Limits on record", "Vermerkte Grenzen"))
	}
	for _, l := range j.Limits {
		p.line(2, "- %s: %s", evidence.GroupName(l.Groups, l.Side, p.Language), fmt.Sprintf(p.pick("%s (chance of being clearly weak %s before the block, %s now)", "%s (Chance, deutlich schwach zu sein: vor dem Block %s, jetzt %s)"), p.stateWord(l.State), p.chance(l.Before), p.chance(l.Now)))
	}
	p.fits(j)
	for _, f := range j.Flagged {
		what := f.On
		if f.Exercise != "" {
			what += ", " + p.name(f.Exercise)
		}
		p.field(p.pick("Look at", "Prüfen"), fmt.Sprintf("%s: %s (%s)", what, f.Done, p.flagWord(f.Flag)))
	}
	p.weeks(j)
	if len(j.Tests)+len(j.Lifts) == 0 {
		p.line(0, "%s", p.pick("Nothing to judge yet: a test or lift needs results in both halves of the logs.", "Noch nichts zu beurteilen: Ein Test oder eine Übung braucht Ergebnisse in beiden Hälften der Protokolle."))
	}
}

// weeks writes the load of the weeks, and what is built up and not yet recovered.
func (p Plain) weeks(j *evidence.Judgement) {
	if len(j.Weeks) == 0 {
		return
	}
	p.line(0, "\n%s", p.pick("Load of the sessions, rating x minutes", "Last der Einheiten, Wertung x Minuten"))
	for _, w := range j.Weeks {
		text := p.number(w.Load, 0)
		if w.Monotony != nil {
			text += fmt.Sprintf(p.pick(", monotony %s, strain %s", ", Gleichförmigkeit %s, Beanspruchung %s"), p.number(*w.Monotony, 2), p.number(*w.Strain, 0))
		}
		p.line(2, "- %s%s: %s", p.pick("week of ", "Woche ab "), w.From, text)
	}
	if r := j.Response; r != nil {
		p.line(2, "- %s", fmt.Sprintf(p.pick("built up over about 45 days: %s a day (%s to %s); not yet recovered, about 15 days: %s a day (%s to %s)", "aufgebaut über etwa 45 Tage: %s je Tag (%s bis %s); noch nicht erholt, etwa 15 Tage: %s je Tag (%s bis %s)"),
			p.number(r.Built[0], 0), p.number(r.Built[1], 0), p.number(r.Built[2], 0), p.number(r.Recovered[0], 0), p.number(r.Recovered[1], 0), p.number(r.Recovered[2], 0)))
	}
	p.line(2, "  %s", p.pick("Monotony is the mean day over the spread of days, strain the load times it. A record: it foretells no injury and no best day.", "Gleichförmigkeit ist der mittlere Tag geteilt durch die Streuung der Tage, Beanspruchung die Last mal dieser Zahl. Eine Aufzeichnung: Sie sagt weder Verletzung noch Bestform voraus."))
}

// calledBetter counts what is called better or probably better.
func calledBetter(j *evidence.Judgement) int {
	n := 0
	for _, c := range slices.Concat(j.Tests, j.Lifts) {
		if c.Verdict == evidence.Better || c.Verdict == evidence.ProbablyBetter {
			n++
		}
	}
	return n
}

func (p Plain) stateWord(s string) string {
	return map[string]string{"confirmed": p.pick("confirmed", "bestätigt"), "weakened": p.pick("weakened", "abgeschwächt"), "refuted": p.pick("refuted", "widerlegt"), "open": p.pick("open", "offen"),
		"typical": p.pick("typical values", "übliche Werte"), "settling": p.pick("settling", "wird genauer"), "personal": p.pick("personal", "persönlich")}[s]
}

func (p Plain) judged(head string, all []evidence.Change) {
	if len(all) == 0 {
		return
	}
	p.line(0, "\n%s", head)
	for _, c := range all {
		name := p.name(c.Name)
		if c.Side != anatomy.NoSide {
			name += ", " + c.Side.In(p.Language)
		}
		text := fmt.Sprintf(p.pick("%s to %s, %s %% of strength with an error of %s %% (%s): %s", "%s auf %s, %s %% Kraft bei einem Fehler von %s %% (%s): %s"),
			p.number(c.Before, 1), p.changedTo(c), p.signed(c.Change), p.number(c.Error, 1), p.sourceWord(c.From), c.Verdict.In(p.Language))
		switch {
		case c.Trials == nil:
			text += p.pick("; 50 more would not decide it", "; auch 50 weitere entschieden es nicht")
		case *c.Trials > 0 && c.Measure == "one_rm":
			text += fmt.Sprintf(p.pick("; %d more sets like these would decide it", "; %d weitere solche Sätze würden es entscheiden"), *c.Trials)
		case *c.Trials > 0:
			text += fmt.Sprintf(p.pick("; %d more like these would decide it", "; %d weitere solche würden es entscheiden"), *c.Trials)
		}
		p.line(2, "- %s: %s", name, text)
	}
}

// changedTo writes what a test or lift came to after, with its unit.
func (p Plain) changedTo(c evidence.Change) string {
	unit := map[string]string{"one_rm": " kg", "load": " kg", "hold": " s", "repetitions": p.pick(" repetitions", " Wiederholungen"), "reserve": p.pick(" in reserve", " in Reserve"), "effort": p.pick(" of 10 effort", " von 10 Anstrengung")}[c.Measure]
	return p.number(c.After, 1) + unit
}

func (p Plain) sourceWord(s string) string {
	return map[string]string{"own": p.pick("from the client's own repeats", "aus den eigenen Versuchen"), "published": p.pick("as published", "wie veröffentlicht"), "judgement": p.pick("our judgement", "unser Urteil"), "fit": p.pick("from the log", "aus dem Protokoll")}[s]
}

func (p Plain) fits(j *evidence.Judgement) {
	if len(j.Fits) == 0 {
		return
	}
	p.line(0, "\n%s", p.pick("What the logs say of each exercise", "Was die Protokolle je Übung sagen"))
	var warned []string
	for _, f := range j.Fits {
		name := p.name(f.Exercise)
		if f.Side != anatomy.NoSide {
			name += ", " + f.Side.In(p.Language)
		}
		p.line(2, "- %s: %s", name, fmt.Sprintf(p.pick("1RM %s kg (80 %% range %s to %s), %s, %s", "1RM %s kg (80-%%-Bereich %s bis %s), %s, %s"), p.number(f.Max, 1), p.number(f.Low, 1), p.number(f.High, 1), p.sets(f.Sets), p.stateWord(f.State)))
		if f.Warn != "" && !slices.Contains(warned, f.Warn) {
			warned = append(warned, f.Warn)
		}
	}
	for _, w := range warned {
		p.line(2, "  %s", upper(w)+".")
	}
	for _, f := range j.Fell {
		p.field(p.pick("Look at", "Prüfen"), fmt.Sprintf(p.pick("%s, %s, %s: lost %s repetitions more than the other side from the first set to the last", "%s, %s, %s: verlor vom ersten zum letzten Satz %s Wiederholungen mehr als die andere Seite"), f.On, p.name(f.Exercise), f.Side.In(p.Language), p.number(f.More, 1)))
	}
	p.traits(j.Traits)
	for _, f := range j.Fell {
		p.field(p.pick("Look at", "Prüfen"), fmt.Sprintf(p.pick("%s, %s, %s: lost %s repetitions more than the other side from the first set to the last", "%s, %s, %s: verlor vom ersten zum letzten Satz %s Wiederholungen mehr als die andere Seite"), f.On, p.name(f.Exercise), f.Side.In(p.Language), p.number(f.More, 1)))
	}
	p.traits(j.Traits)
	for _, f := range j.Flagged {
		p.field(p.pick("Look at", "Prüfen"), fmt.Sprintf("%s, %s: %s (%s)", f.On, p.name(f.Exercise), f.Done, p.flagWord(f.Flag)))
	}
}

// traits writes what the logs say of the client in all exercises.
func (p Plain) traits(t *evidence.TraitReport) {
	if t == nil {
		return
	}
	text := fmt.Sprintf(p.pick("about %s more left than said, give or take %s (sets: %d)", "etwa %s mehr übrig als gesagt, plus oder minus %s (Sätze: %d)"), p.number(t.Bias, 1), p.number(t.BiasSD, 1), t.Sets)
	if t.Bias < 0 {
		text = fmt.Sprintf(p.pick("about %s fewer left than said, give or take %s (sets: %d)", "etwa %s weniger übrig als gesagt, plus oder minus %s (Sätze: %d)"), p.number(-t.Bias, 1), p.number(t.BiasSD, 1), t.Sets)
	}
	p.field(p.pick("Repetitions", "Wiederholungen"), text)
	if t.Recovery != nil {
		p.field(p.pick("Recovery", "Erholung"), fmt.Sprintf(p.pick("takes %s times as long as is usual between sets", "dauert zwischen den Sätzen %s-mal so lang wie üblich"), p.number(*t.Recovery, 2)))
	}
	if t.Warn != "" {
		p.field(p.pick("Look at", "Prüfen"), upper(t.Warn)+".")
	}
}

// sets writes how many sets there were.
func (p Plain) sets(n int) string {
	if n == 1 {
		return p.pick("1 set", "1 Satz")
	}
	return fmt.Sprintf(p.pick("%d sets", "%d Sätze"), n)
}

func (p Plain) flagWord(f evidence.Flag) string {
	return map[evidence.Flag]string{evidence.FlagNoRIR: p.pick("no reserve said", "keine Reserve genannt"), evidence.FlagSlip: p.pick("far from all others: a slip?", "weit weg von allen anderen: ein Versehen?"), evidence.FlagRepeated: p.pick("stands twice, the later line counts", "steht doppelt, die spätere Zeile zählt"),
		evidence.FlagNoBlock: p.pick("not counted: name the file of this block with --block", "nicht gezählt: die Datei dieses Blocks mit --block nennen"), evidence.FlagNoSlot: p.pick("not counted: the block has no such slot", "nicht gezählt: der Block hat keinen solchen Platz")}[f]
}

// Next writes what the next block should change, at 80 columns.
func (p Plain) Next(n *evidence.Next) {
	p.line(0, "\n%s", p.pick("What the next block should change", "Was der nächste Block ändern soll"))
	for _, s := range n.Changes {
		text := s.Text
		if e := p.Library.ByID(s.About); e != nil {
			text = strings.ReplaceAll(text, s.About, e.Name.In(p.Language))
		}
		p.line(2, "- %s", text)
	}
}

// upper writes the first letter as a capital.
func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}
