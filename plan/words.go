package plan

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"corbel/anatomy"
	"corbel/form"
	"corbel/unit"
)

// A Phrase writes doses out in words of one language. Name turns an exercise id
// into its name; nil leaves ids as they are.
type Phrase struct {
	Language form.Language
	Name     func(id string) string
}

// pick returns the text of the phrase's language.
func (p Phrase) pick(en, de string) string { return form.Text{En: en, De: de}.In(p.Language) }

// Dose writes a whole dose in words, its clauses joined by semicolons.
func (p Phrase) Dose(d Dose) string { return strings.Join(p.Clauses(d), "; ") }

// Clauses writes a dose in words: the sets first, then one text each for weak
// side first, warm-up, rest, tempo and what is written down.
func (p Phrase) Clauses(d Dose) []string {
	var parts, out []string
	for _, part := range d.Parts {
		parts = append(parts, p.part(part))
	}
	out = append(out, strings.Join(parts, "; "))
	if d.WeakFirst {
		out = append(out, p.pick("weaker side first", "schwächere Seite zuerst"))
	}
	if len(d.WarmUp) > 0 {
		var w []string
		for _, s := range d.WarmUp {
			w = append(w, strings.TrimSpace(p.work(s.Work)+" "+p.load(s.Load)))
		}
		out = append(out, p.pick("warm-up: ", "Aufwärmen: ")+strings.Join(w, ", "))
	}
	if !d.Rest.IsZero() {
		out = append(out, p.pick("rest ", "Pause ")+d.Rest.Canonical())
	}
	if !d.Tempo.IsZero() {
		out = append(out, p.Tempo(d.Tempo))
	}
	if len(d.Measure) > 0 {
		out = append(out, p.Measures(d.Measure))
	}
	for i := range out {
		out[i] = p.decimals(out[i])
	}
	return out
}

// decimals writes decimal points as German writes them.
func (p Phrase) decimals(s string) string {
	if p.Language != form.German {
		return s
	}
	return decimalPoint.ReplaceAllString(s, "$1,$2")
}

var decimalPoint = regexp.MustCompile(`(\d)\.(\d)`)

// part writes the sets of one part.
func (p Phrase) part(part Part) string {
	side := map[DoseSides]string{
		LeftOnly: p.pick("left: ", "links: "), RightOnly: p.pick("right: ", "rechts: "),
	}[part.Sides]
	s := part.Sets
	text := p.setsOf(s)
	if part.Sides == EachSide {
		text += p.pick(" on each side", " je Seite")
	}
	if loads := p.loads(s); loads != "" {
		text += " " + loads
	}
	if efforts := p.efforts(s); efforts != "" {
		text += ", " + efforts
	}
	return side + text
}

// setsOf writes `4 sets of 4 repetitions` or `4 sets of 3, 3, 2 and 2
// repetitions`.
func (p Phrase) setsOf(s []Set) string {
	head := strconv.Itoa(len(s)) + p.pick(" sets of ", " Sätze mit ")
	if len(s) == 1 {
		head = p.pick("1 set of ", "1 Satz mit ")
	}
	if all(s, func(x Set) Work { return x.Work }) {
		return head + p.work(s[0].Work)
	}
	figures := make([]string, len(s))
	for i := range s {
		figures[i], _ = s[i].Work.figures("")
		figures[i] = strings.ReplaceAll(figures[i], "-", "–")
		if s[i].Work.Max {
			figures[i] = p.work(s[i].Work)
		}
	}
	return head + p.list(figures) + p.workUnit(s[len(s)-1].Work)
}

// workUnit writes the unit of a list of works that ends with w; max says its
// own.
func (p Phrase) workUnit(w Work) string {
	switch {
	case w.Max:
		return ""
	case w.Kind == Time:
		return " s"
	case w.Kind == Distance:
		return " " + w.Unit
	}
	return p.pick(" repetitions", " Wiederholungen")
}

// list joins items with commas and a final and.
func (p Phrase) list(items []string) string {
	if len(items) == 1 {
		return items[0]
	}
	last := len(items) - 1
	return strings.Join(items[:last], ", ") + p.pick(" and ", " und ") + items[last]
}

// work writes the work of one set.
func (p Phrase) work(w Work) string {
	switch {
	case w.Max && w.Kind == Repetitions:
		return p.pick("as many repetitions as possible", "so vielen Wiederholungen wie möglich")
	case w.Max && w.Kind == Time:
		return p.pick("as much time as possible", "so viel Zeit wie möglich")
	case w.Max:
		return p.pick("as much distance as possible", "so viel Strecke wie möglich")
	case w.Kind != Repetitions:
		return strings.ReplaceAll(w.String(), "-", "–")
	case w.Low == 1 && w.High == 1:
		return p.pick("1 repetition", "1 Wiederholung")
	}
	return strings.ReplaceAll(w.String(), "-", "–") + p.pick(" repetitions", " Wiederholungen")
}

// loads writes the load of all sets, or of each where they differ.
func (p Phrase) loads(s []Set) string {
	if all(s, func(x Set) string { return x.Load.String() }) {
		return p.load(s[0].Load)
	}
	var items []string
	for i := range s {
		items = append(items, p.bare(s[i].Load))
	}
	// what all begin and end with is said once: 75, 80 and 85 % of the 1RM
	start, end := shared(items)
	for i := range items {
		items[i] = items[i][len(start) : len(items[i])-len(end)]
	}
	return p.joint(s[0].Load) + start + p.list(items) + end
}

// shared returns the whole words all items begin with and end with.
func shared(items []string) (start, end string) {
	start, end = items[0], items[0]
	for _, s := range items {
		for !strings.HasPrefix(s, start) {
			start = start[:len(start)-1]
		}
		for !strings.HasSuffix(s, end) {
			end = end[1:]
		}
	}
	start = start[:strings.LastIndex(start, " ")+1]
	if strings.ContainsAny(start, "0123456789") { // 100 kg and 100 lb
		start = ""
	}
	i := strings.Index(end, " ")
	if i < 0 {
		return start, ""
	}
	return start, end[i:]
}

// joint writes the word in front of a load.
func (p Phrase) joint(l Load) string {
	switch l.Kind {
	case PercentMax, Level:
		return p.pick("at ", "bei ")
	case RepMax:
		return p.pick("with the load of ", "mit der Last ")
	}
	return p.pick("with ", "mit ")
}

// load writes one load with the word in front of it.
func (p Phrase) load(l Load) string {
	switch l.Kind {
	case Unsaid:
		return ""
	case BodyWeight:
		return p.pick("with body weight", "mit Körpergewicht")
	}
	return p.joint(l) + p.bare(l)
}

// bare writes one load without the word in front of it.
func (p Phrase) bare(l Load) string {
	number := strconv.Itoa(l.Number)
	switch l.Kind {
	case PercentMax:
		text := unit.Figures(l.Percent.Number(), 2) + " % " + p.pick("of the 1RM", "des 1RM")
		if l.Of != "" {
			text += p.pick(" of the ", " von: ") + p.name(l.Of)
		}
		return text
	case Mass:
		return l.Mass.Canonical()
	case MassInHand:
		return l.Mass.Canonical() + p.pick(" in each hand", " in jeder Hand")
	case RepMax:
		return p.pick(article(l.Number), "eines ") + number + "RM"
	case Added:
		return p.pick("body weight and ", "Körpergewicht und ") + l.Mass.Canonical()
	case Assisted:
		return l.Mass.Canonical() + p.pick(" of assistance", " Unterstützung")
	case Band:
		return p.pick("band ", "Band ") + l.Name
	case Pin:
		return p.pick("pin ", "Stift ") + number
	case Level:
		return p.pick("level ", "Stufe ") + number
	}
	return p.pick("body weight", "Körpergewicht")
}

// article returns the English article of a number up to 50.
func article(n int) string {
	if n == 8 || n == 11 || n == 18 {
		return "an "
	}
	return "a "
}

func (p Phrase) name(id string) string {
	if p.Name == nil {
		return id
	}
	return p.Name(id)
}

// efforts writes the effort of all sets, or of each where they differ.
func (p Phrase) efforts(s []Set) string {
	if all(s, func(x Set) Effort { return x.Effort }) {
		return p.effort(s[0].Effort)
	}
	var items []string
	for _, x := range s {
		items = append(items, strings.ReplaceAll(x.Effort.figures(), "-", "–"))
	}
	if s[0].Effort.Kind == RPE {
		return p.pick("rated ", "Anstrengung ") + p.list(items)
	}
	return p.list(items) + p.pick(" in reserve", " in Reserve")
}

// effort writes one effort.
func (p Phrase) effort(e Effort) string {
	figures := strings.ReplaceAll(e.figures(), "-", "–")
	switch {
	case e.Kind == RIR && e.High == 0:
		return p.pick("to failure", "bis zum Muskelversagen")
	case e.Kind == RIR:
		return figures + p.pick(" in reserve", " in Reserve")
	case e.Kind == RPE:
		return p.pick("rated ", "Anstrengung ") + figures + p.pick(" of 10", " von 10")
	}
	return ""
}

// Tempo writes a tempo in words.
func (p Phrase) Tempo(t Tempo) string {
	lower, lift, pause := p.pick("lower", "senken"), p.pick("lift", "heben"), p.pick("pause", "halten")
	order := []string{lower, pause, lift, pause}
	if t.LiftFirst {
		order = []string{lift, pause, lower, pause}
	}
	var out []string
	for i, f := range t.Figures {
		if f > 0 || i%2 == 0 {
			out = append(out, fmt.Sprintf("%s %d s", order[i], f))
		}
	}
	return p.pick("tempo: ", "Tempo: ") + strings.Join(out, ", ")
}

// measureNames are the quantities a client writes down.
var measureNames = map[MeasureKind]form.Text{
	"reps": {En: "repetitions", De: "Wiederholungen"}, "load": {En: "load", De: "Last"},
	"rating": {En: "how hard from 0 to 10", De: "wie anstrengend von 0 bis 10"}, "pain": {En: "pain from 0 to 10", De: "Schmerz von 0 bis 10"},
	"time": {En: "time", De: "Zeit"}, "distance": {En: "distance", De: "Strecke"},
	"reserve": {En: "repetitions left in reserve", De: "Wiederholungen in Reserve"},
}

// In returns the name of the measure in l.
func (k MeasureKind) In(l form.Language) string { return measureNames[k].In(l) }

// Measures writes what is to be written down.
func (p Phrase) Measures(list []Measure) string {
	var out []string
	for _, m := range list {
		text := m.What.In(p.Language)
		if m.Sides != anatomy.NoSide {
			text += " (" + m.Sides.In(p.Language) + ")"
		}
		out = append(out, text)
	}
	return p.pick("write down: ", "aufschreiben: ") + strings.Join(out, ", ")
}

// Done writes a line of the log in words.
func (p Phrase) Done(d Done) string {
	var out []string
	if l := d.Load; l.Kind != Unsaid {
		out = append(out, p.bare(l))
	}
	if d.Work != (Work{}) {
		out = append(out, p.work(d.Work))
	}
	if e := p.effort(d.Effort); e != "" {
		out = append(out, e)
	}
	return p.decimals(strings.Join(out, ", "))
}
