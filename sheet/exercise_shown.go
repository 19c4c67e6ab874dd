package sheet

import (
	"cmp"
	"math"
	"slices"

	"corbel/anatomy"
	"corbel/body"
)

// leastGain is the smallest gain that is listed, percent.
const leastGain = 0.1

// strongerBy is how much stronger a muscle is taken to be for its gain.
const strongerBy = 0.10

// State lists the shares the library states.
func (out *ExerciseShown) State() {
	for _, id := range anatomy.Muscle("").Values() {
		if x, ok := out.Of.Shares[anatomy.Muscle(id)]; ok {
			out.Shares = append(out.Shares, ShareShown{Muscle: anatomy.Muscle(id), Side: anatomy.Both, Share: x, Kind: StatedShare})
		}
	}
}

// Fill lists what a body was asked: load, joint moments, computed shares, the largest
// load and what limits it.
func (out *ExerciseShown) Fill(asked *body.Asked) {
	out.Load = new(thousandth(asked.Load))
	moments(out, asked)
	computed(out, asked)
	largest(out, asked)
}

// moments lists joint moments and the passive part of them.
func moments(out *ExerciseShown, asked *body.Asked) {
	for _, p := range asked.Postures {
		shown := PostureShown{Name: p.Name, Joints: map[string]float64{}, Passive: map[string]float64{}, BalanceError: thousandth(p.BalanceError)}
		passive := body.Moments(p.Passive)
		for _, f := range body.Functions() {
			shown.Joints[f.Name] = thousandth(f.Of(&p.Moments))
			if x := thousandth(f.Of(&passive)); x != 0 {
				shown.Passive[f.Name] = x
			}
		}
		out.Postures = append(out.Postures, shown)
	}
}

// bodySides are the sides in the order of package body.
var bodySides = [2]anatomy.Side{body.Right: anatomy.Right, body.Left: anatomy.Left}

// partsOf lists the muscles of the body model that belong to a group, of a side.
func partsOf(group anatomy.Muscle, side int, asked *body.Asked) []*body.AskedMuscle {
	var out []*body.AskedMuscle
	for i := range asked.Muscles {
		m := &asked.Muscles[i]
		if m.Side == side && slices.Contains(group.Parts(), body.Muscles()[m.Muscle].Name) {
			out = append(out, m)
		}
	}
	return out
}

// computed lists the computed shares: a group counts by its busiest part.
func computed(out *ExerciseShown, asked *body.Asked) {
	for _, id := range anatomy.Muscle("").Values() {
		for side, name := range bodySides {
			parts := partsOf(anatomy.Muscle(id), side, asked)
			if len(parts) == 0 {
				continue
			}
			s := ShareShown{Muscle: anatomy.Muscle(id), Side: name, Kind: ComputedShare}
			low, high, activation := 0.0, 0.0, 0.0
			for _, m := range parts {
				s.Share, low, high = max(s.Share, m.Share), max(low, m.Low), max(high, m.High)
				activation = max(activation, m.Activation)
			}
			s.Share = thousandth(s.Share)
			s.Low, s.High, s.Activation = new(thousandth(low)), new(thousandth(high)), new(thousandth(activation))
			out.Shares = append(out.Shares, s)
		}
	}
}

// largest lists the largest load and what limits it, the most limiting first.
func largest(out *ExerciseShown, asked *body.Asked) {
	l := asked.Largest
	if !l.Known {
		out.Felt = asked.Felt
		return
	}
	out.Felt = true
	shown := &LargestShown{Kg: thousandth(l.Load), Low: thousandth(l.Low), High: thousandth(l.High), Muscles: []GainShown{}, Posture: l.Posture, Cannot: l.Cannot, Bound: l.Bound}
	out.Largest = shown
	if l.Load <= 0 || l.Bound {
		return
	}
	for _, id := range anatomy.Muscle("").Values() {
		for side, name := range bodySides {
			gain := 0.0
			for _, m := range partsOf(anatomy.Muscle(id), side, asked) {
				gain += 100 * strongerBy * m.Gain / l.Load
			}
			if math.Abs(gain) >= leastGain {
				shown.Muscles = append(shown.Muscles, GainShown{Muscle: anatomy.Muscle(id), Side: name, Gain: thousandth(gain)})
			}
		}
	}
	slices.SortStableFunc(shown.Muscles, func(x, y GainShown) int { return cmp.Compare(y.Gain, x.Gain) })
}

// thousandth rounds to thousandths.
func thousandth(x float64) float64 { return math.Round(1000*x) / 1000 }
