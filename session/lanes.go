package session

import (
	"cmp"
	"slices"

	"corbel/anatomy"
)

// A Lane is the capacity a muscle has left through a visit.
type Lane struct {
	MuscleSide
	Moments []Moment // as the session starts, then before and after every set
	Least   float64  // the least of them, 0..1
}

// A Moment is the capacity left at a time.
type Moment struct {
	Minute float64 // from the start of the session, min
	Left   float64 // 0..1
}

// Lanes returns what the muscles that work in a visit have left through it, the one
// that falls lowest first, then by name: the states of docs/model/03-session.md (1),
// done again with the model's own constants.
func (v *Visit) Lanes() []Lane {
	lanes := v.lanes()
	x := newDoer(model, v.program.pools, true)
	note := func(at float64) {
		state := x.State()
		for i := range lanes {
			l := &lanes[i]
			pool := poolOf(l.Muscle, l.Side)
			left := 1 - state.Fast[pool] - state.Slow[pool]
			l.Moments = append(l.Moments, Moment{at / 60, left})
			l.Least = min(l.Least, left)
		}
	}
	note(0)
	clock := 0.0
	for i := range v.program.steps {
		s := &v.program.steps[i]
		x.Rest(s.before)
		clock += s.before
		note(clock)
		acc := x.Set(s.link, s.follow(model, x.State(), 1), nil)
		clock += acc.Duration
		note(clock)
		x.Rest(s.after)
		clock += s.after
	}
	slices.SortStableFunc(lanes, func(a, b Lane) int { return cmp.Compare(a.Least, b.Least) })
	return lanes
}

// lanes makes an empty lane for every muscle and side that has a share in an
// exercise of the visit.
func (v *Visit) lanes() []Lane {
	var out []Lane
	for _, item := range v.Items {
		for m := range item.Exercise.Shares {
			for _, side := range []anatomy.Side{anatomy.Left, anatomy.Right} {
				if !slices.ContainsFunc(out, func(l Lane) bool { return l.Muscle == m && l.Side == side }) {
					out = append(out, Lane{MuscleSide: MuscleSide{m, side}, Least: 1})
				}
			}
		}
	}
	slices.SortFunc(out, func(a, b Lane) int { return cmp.Or(cmp.Compare(a.Muscle, b.Muscle), cmp.Compare(a.Side, b.Side)) })
	return out
}
