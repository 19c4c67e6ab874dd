package main

import (
	"cmp"

	"corbel/check"
	"corbel/client"
	"corbel/evidence"
	"corbel/form"
	"corbel/sheet"
)

// assessCmd is corbel assess.
type assessCmd struct {
	Client   string        `arg:"" help:"Client file."`
	Settle   bool          `help:"Look for the test that decides between the two leading groups; all hypotheses if left out."`
	On       form.Date     `help:"Day as of which findings are weighed; today if left out." placeholder:"DATE"`
	Language form.Language `help:"en or de; the client's language if left out."`
	JSON     bool          `help:"Print JSON (docs/json/assess.md)."`
}

// Run says what findings come to.
func (c *assessCmd) Run(a *app) error {
	who, in, err := a.evidence(c.Client, c.On, c.Language)
	if err != nil {
		return err
	}
	if c.Settle {
		in.Scope = evidence.Settle
	}
	out := check.Assess(in)
	if c.JSON {
		return writeJSON(a, out)
	}
	sheet.Plain{Out: a.out, Library: a.library, Language: in.Language}.Assessment(out, who)
	return nil
}

// evidence reads a client and makes the input of an assessment.
func (a *app) evidence(file string, on form.Date, lang form.Language) (*client.Client, evidence.Input, error) {
	if lang != "" && lang != form.English && lang != form.German {
		return nil, evidence.Input{}, errLanguage
	}
	who, err := a.client(file)
	if err != nil {
		return nil, evidence.Input{}, err
	}
	if on.IsZero() {
		on = a.today
	}
	return who, evidence.Input{Client: who, Library: a.library, Day: on, Language: cmp.Or(lang, who.Language),
		Allowed: check.Testable(who, a.library, on)}, nil
}
