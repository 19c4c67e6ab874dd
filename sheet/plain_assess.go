package sheet

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"corbel/anatomy"
	"corbel/client"
	"corbel/evidence"
)

// Assessment writes what findings come to, at 80 columns.
func (p Plain) Assessment(a *evidence.Assessment, c *client.Client) {
	title := p.pick("What the findings come to: ", "Was die Befunde ergeben: ") + c.Name
	p.line(0, "%s\n%s", title, strings.Repeat("=", min(utf8.RuneCountInString(title), Width)))
	for _, s := range a.Safety {
		p.field(p.pick("First", "Zuerst"), s.Text)
	}
	p.assessLimits(a)
	for _, u := range a.Unexplained {
		text := u.Text
		if u.Finding > 0 {
			text = fmt.Sprintf(p.pick("finding %d, %s", "Befund %d, %s"), u.Finding, u.Text)
		}
		p.field(p.pick("Fits nothing", "Passt zu nichts"), fmt.Sprintf(p.pick("%s: measure it again (%s likely to be a slip)", "%s: noch einmal messen (zu %s ein Versehen)"), text, p.chance(u.Slip)))
	}
	for _, x := range a.NotWeighed {
		p.field(p.pick("Not weighed", "Nicht gewogen"), fmt.Sprintf(p.pick("finding %d, %s: %s", "Befund %d, %s: %s"), x.Finding, x.Text, p.skipWord(x.Why)))
	}
	p.line(0, "\n%s", p.pick("Ask first, because it is not strength", "Zuerst fragen, weil es keine Kraft ist"))
	for _, r := range a.Rivals {
		p.line(2, "- %s", r.Text)
	}
	p.assessTests(a)
	p.assessCaps(a)
	p.line(0, "\n%s", p.pick("Findings and hypotheses, never a diagnosis. A few tests bring chances of 30 to 80 %, not more; one odd test never decides.",
		"Befunde und Hypothesen, nie eine Diagnose. Wenige Tests ergeben Chancen von 30 bis 80 %, nicht mehr; ein einzelner auffälliger Test entscheidet nie."))
	p.line(0, "%s", client.Sentence("sheet-caution", p.Language))
}

// skipWord says why a finding is not weighed.
func (p Plain) skipWord(r evidence.Reason) string {
	return map[evidence.Reason]string{
		evidence.SkippedOld:      p.pick("older than half a year, test again", "älter als ein halbes Jahr, erneut testen"),
		evidence.SkippedDrill:    p.pick("what this exercise says of a side is not known", "was diese Übung über eine Seite sagt, ist nicht bekannt"),
		evidence.SkippedRepeated: p.pick("stands twice, counted once", "steht doppelt, zählt einmal"),
		evidence.SkippedFar:      p.pick("one side less than half the other: check the figures, or test again", "eine Seite unter der Hälfte der anderen: Zahlen prüfen oder erneut testen"),
	}[r]
}

// chance writes a chance in whole percent.
func (p Plain) chance(x float64) string { return p.number(100*x, 0) + " %" }

func (p Plain) assessLimits(a *evidence.Assessment) {
	if len(a.Limits) == 0 {
		p.line(0, "%s", p.pick("No finding can be weighed yet: name its kind in the client file (docs/form.md).", "Noch ist kein Befund zu gewichten: die Art (kind) in der Klientendatei nennen (docs/form.md)."))
		return
	}
	for _, n := range a.None {
		where := p.pick("legs and trunk", "Beine und Rumpf")
		if n.Set == "upper" {
			where = p.pick("shoulders and arms", "Schultern und Arme")
		}
		p.field(p.pick("No weak group", "Keine schwache"), p.chance(n.Chance)+" ("+where+")")
	}
	p.line(0, "\n%s", p.pick("May be weak", "Vielleicht schwach"))
	p.line(0, "%s", p.pick("Below each group: + speaks for a clear weakness (about 17 %), - against it; in brackets how strongly (1: the odds are 2.7 times as large).",
		"Unter jeder Gruppe: + spricht für eine deutliche Schwäche (etwa 17 %), - dagegen; in Klammern, wie stark (1: die Chancen werden 2,7-mal so groß)."))
	for i, l := range a.Limits {
		p.line(3, "%d. %s: %s", i+1, evidence.GroupName(l.Groups, l.Side, p.Language), fmt.Sprintf(
			p.pick("clearly weak with a chance of %s, over 10 %% less with one of %s; about %s %% less than the other side (80 %% range %s to %s)", "deutlich schwach mit einer Chance von %s, über 10 %% weniger mit einer von %s; etwa %s %% weniger als die andere Seite (80-%%-Bereich %s bis %s)"),
			p.chance(l.Weak), p.chance(l.Over), p.number(l.Mean, 0), p.number(l.Low, 0), p.number(l.High, 0)))
		for _, f := range l.From[:min(len(l.From), mostFrom)] {
			p.line(5, "   %s %s (%s)%s", sign(f.Contribution), f.Text, p.number(math.Abs(f.Contribution), 1), p.size(f))
		}
	}
}

// leastExpected is what a finding must show of a clear weakness, %, for its size to be told.
const leastExpected = 5

// size says what a comparison in numbers shows and what a clear weakness would show.
func (p Plain) size(f evidence.From) string {
	if f.Size == nil || f.Expected == nil || *f.Expected < leastExpected {
		return ""
	}
	text := p.pick(": shows %s %% less here; a clear weakness would show about %s %%", ": zeigt hier %s %% weniger; eine deutliche Schwäche gäbe etwa %s %%")
	if *f.Size < 0 {
		text = p.pick(": shows %s %% more here; a clear weakness would show about %s %% less", ": zeigt hier %s %% mehr; eine deutliche Schwäche gäbe etwa %s %% weniger")
	}
	return fmt.Sprintf(text, p.number(math.Abs(*f.Size), 0), p.number(*f.Expected, 0))
}

// mostFrom is how many findings are listed for a limit.
const mostFrom = 3

func sign(x float64) string {
	if x < 0 {
		return "-"
	}
	return "+"
}

func (p Plain) assessTests(a *evidence.Assessment) {
	if len(a.NextTests) == 0 {
		return
	}
	p.line(0, "\n%s", p.pick("Tests that would tell", "Tests, die etwas klären"))
	if slices.ContainsFunc(a.NextTests, func(t evidence.NextTest) bool { return t.Bits > 0 }) {
		p.line(0, "%s", p.pick("A bit halves what is open. Below each test: by how much the right side would do more if that group alone were clearly weak (80 % range).",
			"Ein Bit halbiert, was offen ist. Unter jedem Test: um wie viel die rechte Seite mehr schaffen würde, wenn nur diese Gruppe deutlich schwach wäre (80-%-Bereich)."))
	}
	for i, t := range a.NextTests {
		text := p.name(t.Exercise)
		if t.Bits > 0 {
			text += fmt.Sprintf(p.pick(": %s bit in %s min", ": %s Bit in %s min"), p.number(t.Bits, 2), p.number(t.Minutes, 0))
		}
		if t.Repeat {
			text += p.pick(", again", ", noch einmal")
		}
		p.line(3, "%d. %s", i+1, text)
		if t.Why != "" {
			p.line(3, "   %s", t.Why)
		}
		for _, e := range t.Expected {
			p.line(5, "   %s: %s", e.Hypothesis, fmt.Sprintf(p.pick("%s %s (%s to %s)", "%s %s (%s bis %s)"),
				p.number(e.Result, 1), p.unitWord(t.Unit), p.number(e.Low, 1), p.number(e.High, 1)))
		}
	}
}

func (p Plain) unitWord(u string) string {
	if u == "percent" {
		return "%"
	}
	return p.pick("repetitions", "Wiederholungen")
}

func (p Plain) assessCaps(a *evidence.Assessment) {
	if len(a.Caps) == 0 {
		return
	}
	p.line(0, "\n%s", p.pick("What a weak side may get", "Was eine schwache Seite bekommen darf"))
	for _, c := range a.Caps {
		text := anatomy.MuscleSide{Muscle: c.Muscle, Side: c.Side}.In(p.Language)
		if c.Hard != nil {
			text += fmt.Sprintf(p.pick(": start at %s hard sets a week", ": Beginn mit %s harten Sätzen je Woche"), p.number(*c.Hard, 1))
		}
		p.line(2, "- %s", text)
		for _, h := range c.Heavy {
			p.line(4, "  %s: %s", p.name(h.Exercise), p.heavyWords(h))
		}
		p.line(2, "  %s", c.Why)
	}
}

// heavyWords writes the heavy sets that fit.
func (p Plain) heavyWords(h evidence.HeavyCap) string {
	if len(h.Reps) == 0 {
		return p.pick("no heavy sets for now", "vorerst keine schweren Sätze")
	}
	var reps []string
	for _, n := range h.Reps {
		reps = append(reps, strconv.Itoa(n))
	}
	return strings.Join(reps, ", ") + fmt.Sprintf(p.pick(" repetitions at %s %% of the 1RM at most", " Wiederholungen bei höchstens %s %% des 1RM"), p.number(h.Percent, 1))
}
