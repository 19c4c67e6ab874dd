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
)

// Judgement writes what changed and what is noise, at 80 columns.
func (p Plain) Judgement(j *evidence.Judgement, c *client.Client) {
	title := p.pick("What changed: ", "Was sich geändert hat: ") + c.Name
	p.line(0, "\n%s\n%s", title, strings.Repeat("=", min(utf8.RuneCountInString(title), Width)))
	p.field(p.pick("Sessions", "Einheiten"), fmt.Sprintf(p.pick("%d of %d planned", "%d von %d geplanten"), j.Done.Done, j.Done.Planned))
	p.judged(p.pick("Tests", "Tests"), j.Tests)
	p.judged(p.pick("Lifts, 1RM", "Übungen, 1RM"), j.Lifts)
	if j.False > 0 {
		p.line(0, "%s", fmt.Sprintf(p.pick("Of those called better, about %s may be chance.", "Davon ist etwa %s-mal besser vielleicht Zufall."), p.number(j.False, 1)))
	}
	if len(j.Limits) > 0 {
		p.line(0, "\n%s", p.pick("Limits on record", "Vermerkte Grenzen"))
	}
	for _, l := range j.Limits {
		p.line(2, "- %s: %s (%s %s %s)", evidence.GroupName(l.Groups, l.Side, p.Language), p.stateWord(l.State), p.chance(l.Before), p.pick("before, now", "vorher, jetzt"), p.chance(l.Now))
	}
	p.fits(j)
	for _, w := range j.Weeks {
		text := p.number(w.Load, 0)
		if w.Monotony != nil {
			text += fmt.Sprintf(p.pick(", monotony %s, strain %s", ", Gleichförmigkeit %s, Beanspruchung %s"), p.number(*w.Monotony, 2), p.number(*w.Strain, 0))
		}
		p.field(p.pick("Week of ", "Woche ab ")+w.From[5:], text)
	}
	if r := j.Response; r != nil {
		p.field(p.pick("Built up", "Aufgebaut"), fmt.Sprintf(p.pick("%s a day (%s to %s)", "%s je Tag (%s bis %s)"), p.number(r.Built[0], 1), p.number(r.Built[1], 1), p.number(r.Built[2], 1)))
		p.field(p.pick("Not recovered", "Nicht erholt"), fmt.Sprintf(p.pick("%s a day (%s to %s)", "%s je Tag (%s bis %s)"), p.number(r.Recovered[0], 1), p.number(r.Recovered[1], 1), p.number(r.Recovered[2], 1)))
	}
	if len(j.Tests)+len(j.Lifts) == 0 {
		p.line(0, "%s", p.pick("Nothing to judge yet: a test or lift needs results in both halves of the logs.", "Noch nichts zu beurteilen: Ein Test oder eine Übung braucht Ergebnisse in beiden Hälften der Protokolle."))
	}
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
			p.number(c.Before, 1), p.number(c.After, 1), p.signed(c.Change), p.number(c.Error, 1), p.sourceWord(c.From), c.Verdict.In(p.Language))
		switch {
		case c.Trials == nil:
			text += p.pick("; more trials would not decide", "; mehr Versuche entscheiden nicht")
		case *c.Trials > 0:
			text += fmt.Sprintf(p.pick("; %d more would decide", "; %d weitere würden entscheiden"), *c.Trials)
		}
		p.line(2, "- %s: %s", name, text)
	}
}

func (p Plain) sourceWord(s string) string {
	return map[string]string{"own": p.pick("own repeats", "eigene Wiederholungen"), "published": p.pick("published", "veröffentlicht"), "judgement": p.pick("our judgement", "unser Urteil"), "fit": p.pick("from the log", "aus dem Protokoll")}[s]
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
		p.line(2, "- %s: %s", name, fmt.Sprintf(p.pick("1RM %s kg (80 %% range %s to %s), %d sets, %s", "1RM %s kg (80-%%-Bereich %s bis %s), %d Sätze, %s"), p.number(f.Max, 1), p.number(f.Low, 1), p.number(f.High, 1), f.Sets, p.stateWord(f.State)))
		if f.Warn != "" && !slices.Contains(warned, f.Warn) {
			warned = append(warned, f.Warn)
		}
	}
	for _, w := range warned {
		p.line(2, "  %s", upper(w)+".")
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
	text := fmt.Sprintf(p.pick("about %s more left than said, give or take %s (%d sets)", "etwa %s mehr übrig als gesagt, plus oder minus %s (%d Sätze)"), p.number(t.Bias, 1), p.number(t.BiasSD, 1), t.Sets)
	if t.Bias < 0 {
		text = fmt.Sprintf(p.pick("about %s fewer left than said, give or take %s (%d sets)", "etwa %s weniger übrig als gesagt, plus oder minus %s (%d Sätze)"), p.number(-t.Bias, 1), p.number(t.BiasSD, 1), t.Sets)
	}
	p.field(p.pick("Repetitions", "Wiederholungen"), text)
	if t.Recovery != nil {
		p.field(p.pick("Recovery", "Erholung"), fmt.Sprintf(p.pick("takes %s times as long as is usual between sets", "dauert zwischen den Sätzen %s-mal so lang wie üblich"), p.number(*t.Recovery, 2)))
	}
	if t.Warn != "" {
		p.field(p.pick("Look at", "Prüfen"), upper(t.Warn)+".")
	}
}

func (p Plain) flagWord(f evidence.Flag) string {
	return map[evidence.Flag]string{evidence.FlagNoRIR: p.pick("no reserve said", "keine Reserve genannt"), evidence.FlagSlip: p.pick("far from all others: a slip?", "weit weg von allen anderen: ein Versehen?"), evidence.FlagRepeated: p.pick("stands twice, the later line counts", "steht doppelt, die spätere Zeile zählt")}[f]
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
