package check

import (
	"fmt"
	"slices"

	"corbel/client"
	"corbel/evidence"
	"corbel/form"
	"corbel/plan"
)

// Assess weighs the findings of a client and adds what stops or holds loaded testing
// on the day: stops of the safety rules and reports of pain that are not settled.
func Assess(in evidence.Input) *evidence.Assessment {
	who := in.Client
	out := evidence.Assess(in)
	empty := &plan.Block{ID: "test", Start: in.Day, Weeks: 1}
	for _, p := range Safety(Input{Client: who, Block: empty, Library: in.Library, On: in.Day, Language: in.Language}) {
		if p.Kept == "" && p.Severity != Note {
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
	switch PainRuleFor(p) {
	case PainStops:
		return evidence.SafetyNote{Code: "pain", Action: "stop", Text: pick("Pain (%s): no work that loads the place; refer. No test there either.", "Schmerz (%s): keine Arbeit, die die Stelle belastet; zur Abklärung schicken. Auch kein Test dort.")}, true
	case PainLowers:
		return evidence.SafetyNote{Code: "pain", Action: "lower", Text: pick("Pain (%s): the next plan starts lower there, weekly sets of the weak side at 0.7; ask again before testing.", "Schmerz (%s): der nächste Plan beginnt dort niedriger, Wochensätze der schwachen Seite mal 0,7; vor dem Testen erneut fragen.")}, true
	}
	return evidence.SafetyNote{Code: "pain", Action: "ask", Text: pick("Pain (%s): ask again before testing.", "Schmerz (%s): vor dem Testen erneut fragen.")}, true
}

// Next assesses a client with the findings and pain of the logs that were judged, and
// says what the next block should change.
func Next(in evidence.Input, j *evidence.Judgement) *evidence.Next {
	who, with := in.Client, *in.Client
	with.Findings = j.Findings()
	for _, p := range j.Pain {
		on, err := form.ParseDate(p.On)
		if err != nil {
			panic("check: a date that was printed does not read: " + p.On)
		}
		with.Pain = append(with.Pain[:len(with.Pain):len(with.Pain)], client.Pain{Place: p.Place, Side: p.Side, On: on, During: p.During, Morning: p.Morning})
	}
	in.Client = &with
	return evidence.WhatNext(Assess(in), j, who, in.Language)
}
