package evidence

import (
	"fmt"
	"math"
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
)

// A Next says what the next block should change. Its JSON form is documented in
// docs/json/next.md.
type Next struct {
	Form    int         `json:"form"`
	Assess  *Assessment `json:"assess"`
	Judge   *Judgement  `json:"judge"`
	Changes []Step      `json:"changes"`
}

// A Step is one thing the next block should change.
type Step struct {
	Code  string `json:"code"`
	About string `json:"about"`
	Text  string `json:"text"`
}

// Bounds of pain in a log, as in the pain rules (S17, S18; key judgement).
const painMorning = 3.0

// WhatNext turns an assessment and a judgement into what the next block should change.
// Safety comes first, then pain, limits, lifts and the next test.
func WhatNext(a *Assessment, j *Judgement, c *client.Client, l form.Language) *Next {
	n := &Next{Form: form.Version, Assess: a, Judge: j, Changes: []Step{}}
	pick := func(en, de string) string { return form.Text{En: en, De: de}.In(l) }
	add := func(code, about, text string, args ...any) {
		if s := (Step{code, about, fmt.Sprintf(text, args...)}); !slices.Contains(n.Changes, s) {
			n.Changes = append(n.Changes, s)
		}
	}
	for _, s := range a.Safety {
		add("safety-"+s.Action, s.Code, "%s", s.Text)
	}
	for _, s := range j.Limits {
		who := GroupName(s.Groups, s.Side, l)
		switch s.State {
		case "confirmed":
			add("limit-confirmed", who, pick("%s: still likely (%.0f %%). Keep its cap; weak side first, each side its own load.", "%s: weiterhin wahrscheinlich (%.0f %%). Obergrenze behalten; schwache Seite zuerst, jede Seite mit eigener Last."), who, percent*s.Now)
		case "weakened":
			add("limit-weakened", who, pick("%s: less likely than before (%.0f after %.0f %%). Raise the cap by steps and test again.", "%s: weniger wahrscheinlich als zuvor (%.0f nach %.0f %%). Obergrenze schrittweise anheben und erneut testen."), who, percent*s.Now, percent*s.Before)
		case "refuted":
			add("limit-refuted", who, pick("%s: no longer likely. Take limit, cap and extra sets off; ask what else explains the findings.", "%s: nicht mehr wahrscheinlich. Grenze, Obergrenze und Zusatzsätze streichen; fragen, was die Befunde sonst erklärt."), who)
		default:
			add("limit-open", who, pick("%s: open (%.0f %%). The next test decides more than the next set.", "%s: offen (%.0f %%). Der nächste Test klärt mehr als der nächste Satz."), who, percent*s.Now)
		}
		if sets, ok := capNow(c, s); ok && s.State != "refuted" {
			hurt, fell := hurts(j, s), worn(j, s)
			good := !hurt && !fell
			to := math.Round(2*WeeklyNext(sets, good)) / 2
			switch {
			case good:
				add("sets", who, pick("%s: a good week allows %.1f hard sets, one more than %.1f.", "%s: eine gute Woche erlaubt %.1f harte Sätze, einen mehr als %.1f."), who, to, sets)
			case fell && !hurt:
				add("sets", who, pick("%s: it lost over two repetitions more than the other side in the last week: %.1f hard sets, 15 %% fewer than %.1f.", "%s: verlor in der letzten Woche über zwei Wiederholungen mehr als die andere Seite: %.1f harte Sätze, 15 %% weniger als %.1f."), who, to, sets)
			default:
				add("sets", who, pick("%s: it hurt there the next morning: %.1f hard sets, 15 %% fewer than %.1f.", "%s: Es schmerzte dort am nächsten Morgen: %.1f harte Sätze, 15 %% weniger als %.1f."), who, to, sets)
			}
		}
	}
	for _, x := range j.Lifts {
		if x.Side != anatomy.NoSide {
			continue // sides have their own loads, by their own reserve
		}
		about := x.Name
		switch x.Verdict {
		case Better, ProbablyBetter:
			add("lift-up", about, pick("%s: %s. Reckon percentages from %.1f kg.", "%s: %s. Prozente von %.1f kg rechnen."), about, x.Verdict.In(l), x.After)
		case Worse, ProbablyWorse:
			add("lift-down", about, pick("%s: %s. Ask about sleep, pain and missed sessions before loads are raised.", "%s: %s. Erst nach Schlaf, Schmerz und ausgelassenen Einheiten fragen, dann Lasten anheben."), about, x.Verdict.In(l))
		}
	}
	if len(a.NextTests) > 0 {
		add("test", a.NextTests[0].Exercise, pick("Test next: %s.", "Als Nächstes testen: %s."), a.NextTests[0].Exercise)
	}
	return n
}

// capNow is the cap on record of a limited group.
func capNow(c *client.Client, s LimitState) (float64, bool) {
	for _, a := range c.Aims {
		if slices.Contains(s.Groups, a.Muscle.Muscle) && a.Muscle.Side == s.Side && a.Cap != nil {
			return *a.Cap, true
		}
	}
	return 0, false
}

// hurts says whether a log reports pain in the region and side of a limit that was
// still there the next morning.
func hurts(j *Judgement, s LimitState) bool {
	return slices.ContainsFunc(j.Pain, func(p PainReport) bool {
		return p.Morning != nil && *p.Morning >= painMorning && p.Side.Meets(s.Side) &&
			slices.ContainsFunc(s.Groups, func(m anatomy.Muscle) bool { return m.Region() == p.Place.Region() })
	})
}

// In returns the word for a verdict in l.
func (v Verdict) In(l form.Language) string {
	return map[Verdict]form.Text{
		Better: {En: "better", De: "besser"}, ProbablyBetter: {En: "probably better", De: "wahrscheinlich besser"}, NoChange: {En: "no clear change", De: "keine klare Änderung"},
		ProbablyWorse: {En: "probably worse", De: "wahrscheinlich schlechter"}, Worse: {En: "worse", De: "schlechter"},
	}[v].In(l)
}
