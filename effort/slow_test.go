package effort

import (
	"math/rand/v2"
	"testing"
)

// A second, slow method: the differential equations of docs/model/03-session.md
// (5) in small explicit steps, with its own links, written without looking at the
// closed form.

const eulerStep = 0.01 // s; the error falls in proportion, 0.01 % at this step

type slowModel struct {
	c          Constants
	fast, slow map[int]float64
}

type slowExercise struct{ w, q map[int]float64 }

func (x *slowModel) exercise(own int, demands []Demand) slowExercise {
	sum, largest := 0.0, 0.0
	for _, d := range demands {
		sum += d.Share * d.Share // ρ = 2
		largest = max(largest, d.Share)
	}
	e := slowExercise{map[int]float64{own: x.c.OwnShare}, map[int]float64{own: 1}}
	for _, d := range demands {
		e.w[d.Pool] = (1 - x.c.OwnShare) * d.Share * d.Share / sum
		e.q[d.Pool] = d.Share / largest
	}
	norm := 0.0
	for pool, w := range e.w {
		norm += w * e.q[pool]
	}
	for pool := range e.q {
		e.q[pool] /= norm
	}
	return e
}

func (x *slowModel) capacity(e slowExercise) float64 {
	c := 1.0
	for pool, w := range e.w {
		c -= w * (x.fast[pool] + x.slow[pool])
	}
	return c
}

// step lets eulerStep pass; e is nil at rest.
func (x *slowModel) step(e *slowExercise, u, dt float64) {
	for pool := range x.fast {
		tf := x.c.FastRecovery
		in := 0.0
		if e != nil {
			if q, working := e.q[pool]; working {
				tf *= x.c.WorkSlowing
				in = u * q
			}
		}
		x.fast[pool] += dt * ((1-x.c.SlowShare)*in - x.fast[pool]/tf)
		x.slow[pool] += dt * (x.c.SlowShare*in - x.slow[pool]/x.c.SlowRecovery)
	}
}

// set runs a set with `left` repetitions left (3 s each) and returns the
// repetitions to failure.
func (x *slowModel) set(e slowExercise, p, k, left float64) float64 {
	u := k * p / 3
	trial := slowModel{x.c, clone(x.fast), clone(x.slow)}
	n := 0.0
	if c := trial.capacity(e); c < p {
		n = max(0, 1-(p-c)/(k*p))
	} else {
		t := 0.0
		for trial.capacity(e) >= p {
			trial.step(&e, u, eulerStep)
			t += eulerStep
		}
		n = 1 + t/3
	}
	for t := 0.0; t < 3*(n-left); t += eulerStep {
		x.step(&e, u, eulerStep)
	}
	return n
}

func clone(m map[int]float64) map[int]float64 {
	out := map[int]float64{}
	for k, v := range m {
		out[k] = v
	}
	return out
}

func TestClosedFormAgainstSmallSteps(t *testing.T) {
	m, rnd := base(), rand.New(rand.NewPCG(9, 9))
	for range 4 {
		slow := &slowModel{m.c, map[int]float64{}, map[int]float64{}}
		for pool := range 8 {
			slow.fast[pool], slow.slow[pool] = 0, 0
		}
		s := NewState(8)
		for range 6 {
			own := 5 + rnd.IntN(3)
			d := []Demand{{0, 1}, {1 + rnd.IntN(2), rnd.Float64()}, {3 + rnd.IntN(2), rnd.Float64()}}
			p, k, left, rest := 0.6+0.3*rnd.Float64(), 0.02+0.02*rnd.Float64(), 3*rnd.Float64(), 20+160*rnd.Float64()
			got := m.Set(s, m.Link(own, d), Work{Load: p, K: k, Repetition: 3, Goal: InReserve(left)})
			want := slow.set(slow.exercise(own, d), p, k, left)
			near(t, "repetitions", got.Repetitions, want, 0.002*want+0.005)
			m.Rest(s, rest)
			for tt := 0.0; tt < rest; tt += eulerStep {
				slow.step(nil, 0, eulerStep)
			}
		}
	}
}
