package sheet

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
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
		"name":    c.nameOf,
		"dates":   l.dates,
		"meta":    l.meta,
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

// nameOf names the exercise of a slot.
func (c *Content) nameOf(slot string) string {
	for _, s := range c.Sessions {
		for _, r := range s.Rows {
			if r.Slot == slot {
				return r.Name
			}
		}
	}
	return slot
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
