// Package sheet turns a block, a client, a log, a group or a member into what a
// person reads: plain text, pages for print and screen, tables, a calendar. It
// also takes tables and results back in.
//
// Private notes never leave this package's input: no function here reads them.
package sheet

import (
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// Width is the width of plain text, in characters.
const Width = 80

// A Plain writes plain text in one language at 80 columns.
type Plain struct {
	Out      io.Writer
	Library  *exercise.Library
	Language form.Language
}

func (p Plain) pick(en, de string) string { return form.Text{En: en, De: de}.In(p.Language) }

func (p Plain) phrase() plan.Phrase {
	return plan.Phrase{Language: p.Language, Name: p.name}
}

// name returns the name of an exercise.
func (p Plain) name(id string) string {
	if e := p.Library.ByID(id); e != nil {
		return e.Name.In(p.Language)
	}
	return id
}

// line writes text wrapped at the width; what wraps is indented by hang.
func (p Plain) line(hang int, format string, args ...any) {
	fmt.Fprint(p.Out, Wrap(fmt.Sprintf(format, args...), Width, hang))
}

// numberUnit finds a number before its unit. Units of the form alone: what else
// follows a number, such as repetitions, is a word of the sentence.
var numberUnit = regexp.MustCompile(`([0-9]) (kg|lb|s|min|h|cm|mm|m|%)($|[^\p{L}\p{N}])`)

// joined puts no-break spaces between numbers and their units, so that no line
// ends between them.
func joined(text string) string { return numberUnit.ReplaceAllString(text, "$1\u00a0$2$3") }

// Wrap breaks text at spaces into lines of at most width characters, each with
// a newline; lines after the first are indented by hang spaces. A word longer
// than the width stands alone. A number and its unit stay together, and so does
// what a no-break space joins, which is written as a space.
func Wrap(text string, width, hang int) string {
	var b strings.Builder
	for _, para := range strings.Split(text, "\n") {
		indent := len(para) - len(strings.TrimLeft(para, " "))
		b.WriteString(para[:indent])
		column, fresh := indent, true
		for _, w := range strings.FieldsFunc(joined(para), func(r rune) bool { return r != '\u00a0' && unicode.IsSpace(r) }) {
			w = strings.ReplaceAll(w, "\u00a0", " ")
			n := utf8.RuneCountInString(w)
			if !fresh && column+1+n > width {
				b.WriteString("\n" + strings.Repeat(" ", hang))
				column, fresh = hang, true
			}
			if !fresh {
				b.WriteByte(' ')
				column++
			}
			b.WriteString(w)
			column, fresh = column+n, false
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// fieldColumn is where the text of a field starts.
const fieldColumn = 18

// field writes a heading and its text, if there is any.
func (p Plain) field(head, text string) {
	if text != "" {
		wrapped := Wrap(text, Width-fieldColumn, 0)
		for i, l := range strings.Split(strings.TrimSuffix(wrapped, "\n"), "\n") {
			if i > 0 {
				head = ""
			}
			fmt.Fprintf(p.Out, "%-*s%s\n", fieldColumn, head, l)
		}
	}
}

// list writes a heading and one line for each item.
func (p Plain) list(head string, items []string) {
	for i, item := range items {
		if i > 0 {
			head = ""
		}
		p.field(head, item)
	}
}

// mass writes a mass as the language does.
func (p Plain) mass(m unit.Mass, u unit.MassUnit) string { return decimalsIn(m.Short(u), p.Language) }

// Client writes a client as the coach and the client may both read it.
func (p Plain) Client(c *client.Client, day form.Date) {
	p.line(0, "%s", c.Name)
	p.line(0, "%s", strings.Repeat("=", utf8.RuneCountInString(c.Name)))
	p.facts(c, day)
	p.list(p.pick("Lifts", "Bestwerte"), p.lifts(c))
	p.list(p.pick("Places", "Orte"), p.places(c.Places))
	p.list(p.pick("Days", "Tage"), p.days(c))
	p.list(p.pick("Goals", "Ziele"), p.goals(c))
	p.list(p.pick("Aims, sets a week", "Wochenziele"), p.aims(c))
	p.list(p.pick("Ruled out", "Ausgeschlossen"), p.ruledOut(c.Restrict))
	p.list(p.pick("Pain", "Schmerz"), p.pains(c.Pain))
	p.list(p.pick("Limits", "Grenzen"), p.limits(c))
	p.list(p.pick("Findings", "Befunde"), p.findings(c))
	if n := len(client.OpenQuestions(c.Flags, c.Born, day)); n > 0 {
		p.field(p.pick("Safety", "Sicherheit"), fmt.Sprintf(p.pick("%d questions not asked", "%d Fragen nicht gestellt"), n))
	}
	p.field(p.pick("Note", "Notiz"), c.Note)
}

// facts writes age, size, experience and background.
func (p Plain) facts(c *client.Client, day form.Date) {
	var out []string
	if !c.Born.IsZero() && c.Born.Before(day) {
		out = append(out, fmt.Sprintf(p.pick("%d years", "%d Jahre"), day.Years(c.Born)))
	}
	if n := len(c.Measures); n > 0 {
		m := c.Measures[n-1]
		if !m.Height.IsZero() {
			out = append(out, decimalsIn(m.Height.Short(c.Units.Length), p.Language))
		}
		if !m.Mass.IsZero() {
			out = append(out, p.mass(m.Mass, c.Units.Load))
		}
	}
	if c.Experience != "" {
		out = append(out, p.pick("experience: ", "Erfahrung: ")+p.word(string(c.Experience)))
	}
	if c.Background != "" {
		out = append(out, p.pick("background: ", "Hintergrund: ")+p.word(string(c.Background)))
	}
	p.line(0, "%s", strings.Join(out, ", "))
	p.line(0, "")
}

// words are the German words for the closed lists of the client form.
var words = map[string]string{
	"beginner": "Anfänger", "some": "etwas", "trained": "trainiert", "endurance": "Ausdauer", "strength": "Kraft",
	"general": "allgemein", "size": "Muskelmasse", "general strength": "allgemeine Kraft", "return": "Wiedereinstieg",
	"video": "Video", "client": "eigene Angabe", "coach": "Coach", "practitioner": "medizinische Fachperson", "test": "Test", "log": "Protokoll",
	"draft": "Entwurf", "handed over": "übergeben", "running": "läuft", "closed": "abgeschlossen",
	"swap": "Tausch", "dose": "Dosis", "skip": "auslassen", "pause": "Pause", "place": "Ort",
}

func (p Plain) word(s string) string {
	if de, ok := words[s]; ok && p.Language == form.German {
		return de
	}
	return s
}

func (p Plain) lifts(c *client.Client) []string {
	var out []string
	for _, l := range c.Lifts {
		text := p.name(l.Exercise) + ": "
		if !l.Load.IsZero() {
			text += decimalsIn(l.Load.Canonical(), p.Language)
			if l.PerHand {
				text += p.pick(" in each hand", " in jeder Hand")
			}
			text += " x "
		}
		text += fmt.Sprintf(p.pick("%d repetitions", "%d Wiederholungen"), l.Reps)
		if l.RIR != nil {
			text += fmt.Sprintf(p.pick(", %s in reserve", ", %s in Reserve"), p.number(*l.RIR, 1))
		}
		if l.Side != anatomy.NoSide {
			text += ", " + l.Side.In(p.Language)
		}
		out = append(out, text+" ("+l.On.String()+")")
	}
	return out
}

func (p Plain) places(places []client.Place) []string {
	var out []string
	for _, pl := range places {
		var has []string
		for _, b := range pl.Bars {
			loads := pl.BarLoads(b.Kind)
			has = append(has, fmt.Sprintf(p.pick("%s, %d loads from %s to %s", "%s, %d Lasten von %s bis %s"),
				b.Kind.In(p.Language), len(loads), p.mass(loads[0], pl.Units), p.mass(loads[len(loads)-1], pl.Units)))
		}
		if d := pl.DumbbellLoads(); len(d) > 0 {
			has = append(has, fmt.Sprintf(p.pick("dumbbells %s to %s", "Kurzhanteln %s bis %s"), p.mass(d[0], pl.Units), p.mass(d[len(d)-1], pl.Units)))
		}
		for _, s := range pl.Stacks {
			var names []string
			for _, e := range s.For {
				names = append(names, e.In(p.Language))
			}
			has = append(has, fmt.Sprintf(p.pick("%s %s to %s", "%s %s bis %s"), strings.Join(names, "/"), p.mass(s.Start, pl.Units), p.mass(s.To, pl.Units)))
		}
		for _, b := range pl.Bands {
			has = append(has, p.pick("band ", "Band ")+b.Name)
		}
		for _, e := range pl.Has {
			has = append(has, e.In(p.Language))
		}
		out = append(out, pl.Name+": "+strings.Join(has, ", "))
	}
	return out
}

func (p Plain) days(c *client.Client) []string {
	var out []string
	for _, d := range c.Days {
		name := string(d.Place)
		if pl := c.PlaceByID(d.Place); pl != nil {
			name = pl.Name
		}
		out = append(out, fmt.Sprintf("%s, %d min, %s", d.Day.In(p.Language), d.Minutes, name))
	}
	return out
}

func (p Plain) goals(c *client.Client) []string {
	var out []string
	for _, g := range c.Goals {
		text := p.word(string(g.For))
		if g.Exercise != "" {
			text += ": " + p.name(g.Exercise)
		}
		if !g.Muscle.IsZero() {
			text += ": " + g.Muscle.In(p.Language)
		}
		if g.Text != "" {
			text += ". " + g.Text
		}
		out = append(out, text)
	}
	return out
}

func (p Plain) aims(c *client.Client) []string {
	var out []string
	for _, a := range c.Aims {
		text := p.pick("hard sets", "harte Sätze") + " " + p.band(a.Sets) + ": "
		if a.Exercise != "" {
			text = p.pick("lift sets", "schwere Sätze") + " " + p.band(a.Sets) + ": " + p.name(a.Exercise)
		} else {
			text += a.Muscle.In(p.Language)
		}
		if a.Cap != nil {
			text += fmt.Sprintf(p.pick(", at most %s", ", höchstens %s"), p.number(*a.Cap, 1))
		}
		out = append(out, text)
	}
	return out
}

func (p Plain) ruledOut(rs []client.Restriction) []string {
	var out []string
	for _, r := range rs {
		text := r.What(p.Language, p.name(r.Exercise)) + " (" + p.word(string(r.By))
		if r.Who != "" {
			text += ", " + r.Who
		}
		if !r.Until.IsZero() {
			text += p.pick(", until ", ", bis ") + r.Until.String()
		}
		out = append(out, text+")")
	}
	return out
}

func (p Plain) pains(list []client.Pain) []string {
	var out []string
	for _, x := range list {
		text := x.Place.In(p.Language)
		if x.Side != anatomy.NoSide {
			text += " " + x.Side.In(p.Language)
		}
		if level, ok := x.Level(); ok {
			text += fmt.Sprintf(p.pick(", %s of 10", ", %s von 10"), p.number(level, 1))
		}
		text += " (" + x.On.String() + ")"
		if x.Note != "" {
			text += ": " + x.Note
		}
		out = append(out, text)
	}
	return out
}

func (p Plain) limits(c *client.Client) []string {
	var out []string
	for _, l := range c.Limits {
		text := l.Muscle.In(p.Language) + p.pick(": may be weaker by ", ": vielleicht schwächer um ") + p.number(l.Weakness.Number(), 1) + " %"
		if l.SD != nil {
			text += " ± " + p.number(l.SD.Number(), 1) + " %"
		}
		if l.Why != "" {
			text += ". " + l.Why
		}
		out = append(out, text)
	}
	return out
}

func (p Plain) findings(c *client.Client) []string {
	var out []string
	for _, f := range c.Findings {
		text := f.On.String() + ": " + f.What
		if f.Value != "" {
			text += ", " + p.measured(f.Value)
		}
		if f.Error != "" {
			text += " ± " + p.measured(f.Error)
		}
		if f.Exercise != "" {
			text += ", " + p.name(f.Exercise)
		}
		out = append(out, text+" ("+p.word(string(f.Source))+")")
	}
	return out
}

// band writes a band of sets: 9–14.
func (p Plain) band(b client.Band) string {
	return strings.ReplaceAll(decimalsIn(b.String(), p.Language), "-", "–")
}

// measured writes a measured value as it was typed, with degrees as a sign and
// the decimals of the language.
func (p Plain) measured(s string) string {
	return decimalsIn(strings.ReplaceAll(s, " deg", "°"), p.Language)
}
