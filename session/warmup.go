package session

import (
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
)

// Warm-up sets proposed for a heavy lift where none are written: fractions of
// the working load and repetitions (our judgement after the textbook's steps
// before a 1RM test; key nsca-essentials-17).
var proposedWarmUps = []struct {
	fraction float64
	reps     int64
	from     float64 // working load, fraction of 1RM, from which it is proposed
}{{0.5, 8, 0.65}, {0.65, 5, 0.8}, {0.8, 3, 0.65}}

// warmUps adds the warm-up sets of an item: those written, or those proposed
// for a main lift with a bar.
func (a *Athlete) warmUps(p *program, index int, working []step, place *client.Place) {
	it := p.items[index]
	first := len(p.steps)
	if len(working) == 0 {
		return
	}
	sides := sidesIn(working)
	for _, set := range it.Dose.WarmUp {
		for i, side := range sides {
			s := step{item: index, side: side, set: set, warm: true, after: changeSides}
			if i == len(sides)-1 {
				s.after = warmUpRest
			}
			s.load = a.Load(it.Exercise, s.side, set, it.Dose.Tempo, place)
			s.work = s.load.work(a, it)
			s.work.WarmUp = true
			p.steps = append(p.steps, s)
		}
	}
	if len(it.Dose.WarmUp) == 0 && it.Stage == exercise.Main && barred(it.Exercise) {
		a.propose(p, index, working[0])
	}
	if len(p.steps) > first {
		p.steps[len(p.steps)-1].after = lastWarmUp
		p.setUp(first)
	}
}

// sidesIn lists the sides of working sets, each once, in the order they start.
func sidesIn(working []step) []anatomy.Side {
	var out []anatomy.Side
	for _, s := range working {
		if !slices.Contains(out, s.side) {
			out = append(out, s.side)
		}
	}
	return out
}

// barred says whether the exercise is loaded by a bar.
func barred(e *exercise.Exercise) bool {
	k := e.Loads[0]
	return k == exercise.BarOnTrunk || k == exercise.BarInHands
}

// propose adds warm-up sets below the first working set.
func (a *Athlete) propose(p *program, index int, working step) {
	for _, w := range proposedWarmUps {
		if working.load.P < w.from {
			continue
		}
		s := working
		s.n, s.warm, s.proposed, s.counted, s.after = 0, true, true, false, warmUpRest
		s.set = plan.Set{Work: plan.Work{Low: w.reps, High: w.reps}}
		s.load.P *= w.fraction
		s.load.Count, s.load.Max, s.load.Asks = float64(w.reps), false, false
		s.load.Percent *= w.fraction
		s.load.HasMass = false
		s.work = s.load.work(a, p.items[index])
		s.work.WarmUp = true
		p.steps = append(p.steps, s)
	}
}
