package main

import (
	"cmp"
	"fmt"
	"slices"

	"corbel/anatomy"
	"corbel/body"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/sheet"
)

// bodyCmd is corbel body.
type bodyCmd struct {
	Client   string        `arg:"" help:"Client file."`
	Language form.Language `help:"en or de; the client's language, else en, if left out."`
	JSON     bool          `help:"Print JSON (docs/json/body.md)."`
}

// Run says what a client's body can hold in every exercise that has postures.
func (c *bodyCmd) Run(a *app) error {
	if c.Language != "" && c.Language != form.English && c.Language != form.German {
		return errLanguage
	}
	who, err := a.person(c.Client)
	if err != nil {
		return err
	}
	b, err := session.NewAthlete(who, a.library, nil, a.today).NewBody(a.cache)
	if err != nil {
		return fmt.Errorf("%s: %w; add or correct it under measures", c.Client, err)
	}
	m := b.Body.Measures
	out := &sheet.BodyShown{Form: form.Version, Client: who.ID, Height: thousandth(m.Height), Mass: m.Mass, Sex: m.Sex,
		Lifts: []sheet.LiftShown{}, Exercises: []sheet.HeldShown{}, Name: who.Name, Experience: who.Experience,
		Language: cmp.Or(c.Language, who.Language, form.English)}
	for _, k := range b.Lifts {
		out.Lifts = append(out.Lifts, sheet.LiftShown{Exercise: string(k.Exercise.ID), Side: k.Side, Known: thousandth(k.Known),
			Before: thousandth(k.Before), After: thousandth(k.After), Predicted: thousandth(k.LeftOut), Low: thousandth(k.LowLeft), High: thousandth(k.HiLeft), Of: k.Exercise})
	}
	all := slices.DeleteFunc(slices.Clone(a.library.All()), func(e *exercise.Exercise) bool { return len(body.Postures(a.library, e)) == 0 })
	b.AskAll(all)
	for _, e := range all {
		out.Exercises = append(out.Exercises, held(b, e))
	}
	if c.JSON {
		return writeJSON(a, out)
	}
	sheet.Plain{Out: a.out, Library: a.library, Language: out.Language}.Body(out)
	return nil
}

// held is one exercise of the list.
func held(b *session.Body, e *exercise.Exercise) sheet.HeldShown {
	h := sheet.HeldShown{Exercise: string(e.ID), Limits: []sheet.GainShown{}, Of: e}
	asked, err := b.Ask(e, -1)
	if err != nil {
		h.Why = new(err.Error())
		return h
	}
	shown := &sheet.ExerciseShown{}
	shown.Fill(asked)
	if shown.Largest == nil {
		h.Felt = shown.Felt
		return h
	}
	l := shown.Largest
	h.Kg, h.Low, h.High, h.Posture, h.Bound = new(l.Kg), new(l.Low), new(l.High), new(l.Posture), l.Bound
	h.Limits = bothSides(l.Muscles)
	return h
}

// bothSides joins a muscle's two sides where they bring the same.
func bothSides(list []sheet.GainShown) []sheet.GainShown {
	out := []sheet.GainShown{}
	for _, g := range list {
		i := slices.IndexFunc(out, func(x sheet.GainShown) bool {
			return x.Muscle == g.Muscle && x.Side != g.Side && x.Side != anatomy.Both && abs(x.Gain-g.Gain) < 0.05
		})
		if i >= 0 {
			out[i].Side, out[i].Gain = anatomy.Both, thousandth(out[i].Gain+g.Gain)
			continue
		}
		out = append(out, g)
	}
	slices.SortStableFunc(out, func(x, y sheet.GainShown) int { return cmp.Compare(y.Gain, x.Gain) })
	return out
}

func abs(x float64) float64 { return max(x, -x) }

// shares are the shares of a client's body for a block, worked out ahead; nil, for
// the stated ones, where the client file has no height or mass.
func (a *app) shares(who *client.Client, b *plan.Block) session.Sharer {
	own, err := session.NewAthlete(who, a.library, nil, b.Start).NewBody(a.cache)
	if err != nil {
		return nil
	}
	own.AskAll(session.Computable(b, a.library))
	return own
}
