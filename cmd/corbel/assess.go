package main

import (
	"cmp"
	"fmt"
	"slices"

	"corbel/check"
	"corbel/client"
	"corbel/evidence"
	"corbel/form"
	"corbel/plan"
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
	out := a.assess(who, in)
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

// assess weighs the findings and adds what stops or holds loaded testing.
func (a *app) assess(who *client.Client, in evidence.Input) *evidence.Assessment {
	out := evidence.Assess(in)
	empty := &plan.Block{ID: "test", Start: in.Day, Weeks: 1}
	for _, p := range check.Safety(check.Input{Client: who, Block: empty, Library: a.library, On: in.Day, Language: in.Language}) {
		if p.Kept == "" && p.Severity != check.Note {
			out.Safety = append(out.Safety, evidence.SafetyNote{Code: string(p.Code), Action: string(p.Severity), Text: p.Text})
		}
	}
	for _, pain := range who.Pain {
		if note, ok := painNote(pain, in); ok && !slices.Contains(out.Safety, note) {
			out.Safety = append(out.Safety, note)
		}
	}
	return out
}

// painNote says what a report of pain does to the next plan.
func painNote(p client.Pain, in evidence.Input) (evidence.SafetyNote, bool) {
	if !p.Until.IsZero() || p.Word != nil || in.Day.Before(p.On) {
		return evidence.SafetyNote{}, false
	}
	where := p.Place.In(in.Language)
	if p.Side != "" {
		where += ", " + p.Side.In(in.Language)
	}
	pick := func(en, de string) string { return fmt.Sprintf(form.Text{En: en, De: de}.In(in.Language), where) }
	switch check.PainRuleFor(p) {
	case check.PainStops:
		return evidence.SafetyNote{Code: "pain", Action: "stop", Text: pick("Pain (%s): no work that loads the place; refer. No test there either.", "Schmerz (%s): keine Arbeit, die die Stelle belastet; zur Abklärung schicken. Auch kein Test dort.")}, true
	case check.PainLowers:
		return evidence.SafetyNote{Code: "pain", Action: "lower", Text: pick("Pain (%s): the next plan starts lower there, weekly sets of the weak side at 0.7; ask again before testing.", "Schmerz (%s): der nächste Plan beginnt dort niedriger, Wochensätze der schwachen Seite mal 0,7; vor dem Testen erneut fragen.")}, true
	}
	return evidence.SafetyNote{Code: "pain", Action: "ask", Text: pick("Pain (%s): ask again before testing.", "Schmerz (%s): vor dem Testen erneut fragen.")}, true
}
