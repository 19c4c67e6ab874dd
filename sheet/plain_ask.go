package sheet

import (
	"strings"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
)

// Open writes the questions still to be asked, ready to be read out, and the
// answers that wait for a practitioner's word.
func (p Plain) Open(o check.Open, c *client.Client) {
	if o.Empty() {
		p.line(0, p.pick("Nothing is open: every question was asked of %s.", "Nichts offen: %s wurde alles gefragt."), c.Name)
		return
	}
	p.line(0, p.pick("To ask %s", "Fragen an %s"), c.Name)
	if len(o.Clearance) > 0 {
		p.line(0, "\n%s", p.pick("Screening before training", "Befragung vor dem Training"))
		for _, q := range o.Clearance {
			p.line(2, "- %s (%s)  [clearance.%s]", q.Text.In(p.Language), p.answers(q.Answers), q.ID)
			p.line(2, "  %s", q.Help.In(p.Language))
		}
	}
	for _, g := range o.Groups {
		p.line(0, "\n%s\n%s", upperFirst(g.Group.Name.In(p.Language)), g.Group.Intro.In(p.Language))
		for _, q := range g.Questions {
			p.line(2, "- %s  [%s]", q.Text.In(p.Language), q.ID)
		}
		p.line(0, "%s", g.Group.Consequence.In(p.Language))
	}
	p.waiting(o.Waiting)
	p.line(0, "\n%s", client.Sentence("not-asked", p.Language))
}

// answers writes the possible answers of a screening question.
func (p Plain) answers(list []string) string {
	var out []string
	de := map[string]string{"yes": "ja", "no": "nein", "light": "leicht", "moderate": "mittel", "vigorous": "hoch"}
	for _, a := range list {
		if w := de[a]; w != "" {
			a = p.pick(a, w)
		}
		out = append(out, a)
	}
	return strings.Join(out, ", ")
}

// waiting writes the answers that wait for a practitioner's word.
func (p Plain) waiting(list []client.Answered) {
	if len(list) == 0 {
		return
	}
	p.line(0, "\n%s", p.pick("Answered yes; a practitioner's word is not on record", "Mit Ja beantwortet; das Wort einer medizinischen Fachperson fehlt"))
	for _, a := range list {
		text := upperFirst(a.Question.Short.In(p.Language))
		if a.Region != "" {
			text += ", " + a.Region.In(p.Language)
		}
		if a.Side != anatomy.NoSide {
			text += ", " + a.Side.In(p.Language)
		}
		p.line(2, "- %s  [%s]", text, a.Question.ID)
	}
}

// upperFirst starts a text with a capital letter.
func upperFirst(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}
