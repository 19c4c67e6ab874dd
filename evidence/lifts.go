package evidence

import (
	"fmt"
	"math"
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/session"
)

// A liftPair is an exercise that was lifted with each side on one day: a comparison of
// sides that nobody wrote down as a finding.
type liftPair struct {
	exercise    string
	on          form.Date
	left, right session.Max
}

// liftPairs finds them among the client's lifts on record, oldest first as they are
// written. Where a finding compares the sides of the exercise on the same day it counts
// alone: it is the same set.
func (in Input) liftPairs() []liftPair {
	var out []liftPair
	for _, l := range in.Client.Lifts {
		e := in.Library.ByID(l.Exercise)
		said := slices.ContainsFunc(in.Client.Findings, func(f client.Finding) bool {
			_, _, compared := f.Compared()
			return f.Exercise == l.Exercise && f.On == l.On && (compared || f.Kind == client.ByWords)
		})
		twice := slices.ContainsFunc(out, func(p liftPair) bool { return p.exercise == l.Exercise && p.on == l.On })
		if e == nil || said || twice || l.Side == anatomy.NoSide || in.Day.Before(l.On) || in.Day.Days(l.On) > oldFinding {
			continue
		}
		day := session.NewAthlete(in.Client, in.Library, nil, l.On)
		left, okLeft := day.Max(e, anatomy.Left)
		right, okRight := day.Max(e, anatomy.Right)
		if okLeft && okRight && left.From.Side == anatomy.Left && right.From.Side == anatomy.Right && left.From.On == right.From.On {
			out = append(out, liftPair{l.Exercise, l.On, left, right})
		}
	}
	return out
}

// compared reads a pair of lifts for the model; ok is false where the exercise is no drill
// of it.
func (m *Model) compared(p liftPair, a *session.Athlete) (o Observation, ok bool) {
	d := m.Drill(p.exercise)
	if d == nil {
		return o, false
	}
	e := a.Library.ByID(p.exercise)
	k, _ := a.LiftK(e)
	l, r := p.left.From, p.right.From
	sameLoad := l.Load == r.Load && l.PerHand == r.PerHand
	switch {
	case sameLoad && l.Reps == r.Reps && l.RIR != nil && r.RIR != nil:
		return d.OfReserve(*l.RIR, *r.RIR, float64(l.Reps), k), true
	case sameLoad:
		return d.OfRepetitions(done(l), done(r), k, 1), true
	}
	b := a.Carried(e)
	if p.left.External+b <= 0 || p.right.External+b <= 0 {
		return o, false
	}
	o = d.OfLoads(p.left.External+b, p.right.External+b, 1)
	o.SD = math.Hypot(o.SD, math.Hypot(p.left.SDLn, p.right.SDLn)) // what was left is said, and was not tried
	return o, true
}

// done is the repetitions of a lift and those left.
func done(l client.Lift) float64 {
	if l.RIR == nil {
		return float64(l.Reps)
	}
	return float64(l.Reps) + *l.RIR
}

// liftWords says what a pair of lifts was.
func (in Input) liftWords(p liftPair) string {
	side := func(l client.Lift) string {
		text := ""
		if !l.Load.IsZero() {
			text = l.Load.Canonical()
			if l.PerHand {
				text += in.pick(" in each hand", " in jeder Hand")
			}
			text += " x "
		}
		text += fmt.Sprint(l.Reps)
		if l.RIR != nil {
			text += fmt.Sprintf(in.pick(", %g in reserve", ", %g in Reserve"), *l.RIR)
		}
		return text
	}
	return fmt.Sprintf(in.pick("lifts on record (%s), %s: left %s; right %s", "vermerkte Leistungen (%s), %s: links %s; rechts %s"),
		p.on, in.Library.ByID(p.exercise).Name.In(in.Language), side(p.left.From), side(p.right.From))
}
