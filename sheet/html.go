package sheet

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"corbel/client"
	"corbel/form"
)

//go:embed page.gohtml
var pageText string

// pageWords are the words of the page by language.
type pageWords struct{ Week, Together, HowTo, Care, WarmUp, Out, Changed, Draft string }

var pageWordsBy = map[form.Language]pageWords{
	form.English: {"The week", "How the sessions hang together", "How to do it", "Take care", "Warm-up:", "left out", "Changed", "draft, not handed over"},
	form.German:  {"Die Woche", "Wie die Einheiten zusammenhängen", "So geht es", "Bitte beachten", "Aufwärmen:", "fällt aus", "Geändert", "Entwurf, nicht übergeben"},
}

// HTML writes content as one page that needs nothing else: no script, no request
// to anywhere. It holds the same exercises, doses and order as the paper.
func HTML(c *Content) ([]byte, error) {
	words := pageWordsBy[c.Language]
	code := c.Code
	if code == "" {
		code = words.Draft
	}
	l := &layout{c: c}
	page := template.New("page").Funcs(template.FuncMap{
		"day":     func(d form.Date) string { return Day(d, c.Language) },
		"weekday": func(d client.Weekday) string { return d.In(c.Language) },
		"minutes": func(s Session) string { return l.minutes(s) },
		"join":    strings.Join,
		"isHead":  func(s string) bool { return strings.Contains(s, "×") },
		"link":    c.linkText,
		"lead":    func(cue string) string { a, _ := leadOf(cue); return a },
		"rest":    func(cue string) string { _, b := leadOf(cue); return b },
		"boxes":   l.letters,
		"figure":  c.inlineFigures(),
		"across":  across,
		"dates":   l.dates,
		"meta":    func(r Row) string { return upperFirst(l.meta(r)) },
		"week":    func(i int) string { return fmt.Sprintf(l.pick("Week %d", "Woche %d"), c.Weeks[i]) },
	})
	page, err := page.Parse(pageText)
	if err != nil {
		panic("sheet: " + err.Error())
	}
	var out bytes.Buffer
	if err := page.Execute(&out, struct {
		C    *Content
		W    pageWords
		Code string
	}{c, words, code}); err != nil {
		return nil, fmt.Errorf("write HTML: %w", err)
	}
	return out.Bytes(), nil
}

// across is how many boxes of a cell stand side by side on printed HTML.
func across(c Cell) int {
	if c.Sets > 4 {
		return (c.Sets + 1) / 2
	}
	return max(c.Sets, 1)
}

// letters lists the boxes of a cell; the first of each side carries its letter.
func (l *layout) letters(r Row, c Cell) []string {
	out := make([]string, c.Sets)
	if r.Sides && c.Sets > 0 {
		out = slices.Concat(out, out)
		out[0], out[c.Sets] = l.pick("L", "L"), l.pick("R", "R")
	}
	return out
}

// leadOf cuts the word before a cue from its text.
func leadOf(cue string) (lead, text string) {
	if lead, text, ok := strings.Cut(cue, ": "); ok {
		return lead + ":", text
	}
	return "", cue
}

// linkText writes a link between two exercises, with their sessions where those
// differ.
func (c *Content) linkText(f FlowLink) string {
	from, in := c.nameOf(f.From)
	to, at := c.nameOf(f.To)
	if in != at {
		from, to = from+" ("+in+")", to+" ("+at+")"
	}
	return from + " – " + to + ": " + f.Kind
}

// nameOf names the exercise of a slot with its session.
func (c *Content) nameOf(slot string) (name, session string) {
	for _, s := range c.Sessions {
		for _, r := range s.Rows {
			if r.Slot == slot {
				return r.Name, s.Name
			}
		}
	}
	return slot, ""
}

// dates writes the dates of a session over the weeks.
func (l *layout) dates(days []form.Date) string {
	var out []string
	for _, d := range days {
		if d.IsZero() {
			out = append(out, "–")
			continue
		}
		out = append(out, ShortDay(d, l.c.Language))
	}
	return strings.Join(out, " · ")
}

// meta writes rest, tempo, range and order of sides of a row.
func (l *layout) meta(r Row) string {
	var out []string
	if r.Rest != "" {
		out = append(out, l.pick("rest ", "Pause ")+r.Rest)
	}
	for _, x := range []string{r.Tempo, r.Order} {
		if x != "" {
			out = append(out, x)
		}
	}
	if r.Range != "" {
		out = append(out, l.pick("stay within ", "im Bereich ")+r.Range)
	}
	return strings.Join(out, " · ")
}
