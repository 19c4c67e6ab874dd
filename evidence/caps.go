package evidence

import (
	"math"

	"corbel/effort"
)

// Constants of caps (docs/model/06-evidence.md (19) to (23); our judgement, key
// judgement).
const (
	prudent       = quantile90 // SD that the prudent ratio is below the mean: a bound of 90 %
	groupReserve  = 1.0        // repetitions the weak group keeps after each set
	liftReserve   = 2.0        // repetitions the lift keeps
	leastHeavy    = 3          // repetitions below which the load is lowered
	loadStep      = 0.025      // by which it is lowered, fraction of the 1RM
	leastLoad     = 0.40       // fraction of the 1RM below which nothing heavy is left
	capRest       = 180.0      // s between heavy sets
	capRepetition = 3.0        // s
	// PainStart is what is taken off the start of weekly sets where there is pain.
	PainStart = 0.7
	// goodWeek and badWeek move the weekly hard sets of the weak side.
	goodWeek, badWeek = 1.0, 0.85
)

// Prudent is the strength of the weak side over the other that is reckoned with:
// mean and SD of the weakness, ln (19).
func Prudent(mean, sd float64) float64 { return math.Exp(-(mean + prudent*sd)) }

// A Heavy says which heavy sets of a lift a limited group can carry.
type Heavy struct {
	Demand, Ratio float64   // of the group at the 1RM; prudent strength over the other side
	P             float64   // load, fraction of the 1RM
	Reps          []int     // by set
	Left          []float64 // repetitions the group has left after each set
	Planned       bool      // as planned: nothing is taken off
	None          bool      // no load down to 40 % leaves room for three repetitions
}

// A pool is the fatigue of the limited group through a session (chapter 03 (4) to (6)).
type pool struct {
	c          effort.Constants
	fast, slow float64
}

// work adds reps repetitions at a demand over strength of d, with an inflow of u.
func (x *pool) work(inflow, k, reps float64) {
	t, u := reps*capRepetition, k*inflow/capRepetition
	r := x.c.FastRecovery * x.c.WorkSlowing
	f, s := math.Exp(-t/r), math.Exp(-t/x.c.SlowRecovery)
	x.fast = x.fast*f + (1-x.c.SlowShare)*u*r*(1-f)
	x.slow = x.slow*s + x.c.SlowShare*u*x.c.SlowRecovery*(1-s)
}

func (x *pool) rest(t float64) {
	x.fast *= math.Exp(-t / x.c.FastRecovery)
	x.slow *= math.Exp(-t / x.c.SlowRecovery)
}

// left is the reserve of the group after a set, repetitions (20).
func (x *pool) left(d, k float64) float64 { return (1 - x.fast - x.slow - d) / (k * d) }

// HeavySets plans the sets of a heavy lift at load p (fraction of the 1RM) with a curve of k
// so that a group of demand a and prudent ratio rho keeps a repetition in reserve
// after each and the lift keeps its own; planned are the repetitions wanted (21).
func HeavySets(a, rho, p, k float64, planned []int) Heavy {
	for at := p; at > leastLoad; at -= loadStep {
		h := heavyAt(a, rho, at, k, planned)
		ok := true
		for i, n := range h.Reps {
			ok = ok && n >= min(leastHeavy, planned[i])
		}
		if ok {
			h.Planned = at == p
			for i, n := range h.Reps {
				h.Planned = h.Planned && n >= planned[i]
			}
			return h
		}
	}
	return Heavy{Demand: a, Ratio: rho, None: true}
}

// heavyAt takes the largest repetitions at one load.
func heavyAt(a, rho, p, k float64, planned []int) Heavy {
	m := effort.NewModel(effort.DefaultConstants())
	lift, own := m.Link(0, nil), effort.NewState(1)
	group := pool{c: m.Constants()}
	h := Heavy{Demand: a, Ratio: rho, P: p}
	d := a * p / rho
	inflow := d / norm(m.Constants(), a)
	for i := range planned {
		n := 0
		for n < planned[i] {
			next := group
			next.work(inflow, k, float64(n+1))
			trial := own.Clone()
			r := m.Set(trial, lift, effort.Work{Load: p, K: k, Repetition: capRepetition, Goal: effort.Count(float64(n + 1))})
			if next.left(d, k) < groupReserve || r.Repetitions-float64(n+1) < liftReserve {
				break
			}
			n++
		}
		group.work(inflow, k, float64(n))
		m.Set(own, lift, effort.Work{Load: p, K: k, Repetition: capRepetition, Goal: effort.Count(float64(n))})
		h.Reps, h.Left = append(h.Reps, n), append(h.Left, group.left(d, k))
		group.rest(capRest)
		m.Rest(own, capRest)
	}
	return h
}

// WeeklyStart is where the weekly hard sets of the weak side start, from those the
// other side does (22).
func WeeklyStart(ratio, other float64, pain bool) float64 {
	if pain {
		ratio *= PainStart
	}
	return min(ratio, 1) * other
}

// WeeklyNext moves the weekly hard sets of the weak side after a week (23): one more
// after a good one, fewer after a bad one. A week is bad when repetitions fell by two
// more than on the other side, or when it hurt the next morning.
func WeeklyNext(sets float64, good bool) float64 {
	if good {
		return sets + goodWeek
	}
	return sets * badWeek
}

// A HeavySet is one planned set of a lift.
type HeavySet struct {
	P, Reps float64 // load, fraction of the 1RM; repetitions
	Rest    float64 // s before it; not used for the first
}

// Carry is what a group of demand a and prudent ratio rho has left after each planned
// set, repetitions (20): below 1 the set passes the cap.
func Carry(a, rho, k float64, sets []HeavySet) []float64 {
	c := effort.DefaultConstants()
	group, out := pool{c: c}, make([]float64, len(sets))
	for i, s := range sets {
		if i > 0 {
			group.rest(s.Rest)
		}
		d := a * s.P / rho
		group.work(d/norm(c, a), k, s.Reps)
		out[i] = group.left(d, k)
	}
	return out
}

// GroupReserve is what a limited group keeps after each heavy set, repetitions.
const GroupReserve = groupReserve

// norm is N of chapter 03 (2) for a lift that a prime mover of demand 1 and a group of
// demand a share.
func norm(c effort.Constants, a float64) float64 {
	return c.OwnShare + (1-c.OwnShare)*(1+math.Pow(a, 1+c.DemandPower))/(1+math.Pow(a, c.DemandPower))
}
