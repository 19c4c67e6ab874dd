package effort

import "testing"

// benchSession is eight exercises of four sets over 24 pools: 16 muscles and an
// own pool for each exercise.
func benchSession(m *Model) (pools int, steps []Step) {
	for e := range 8 {
		l := m.Link(16+e, []Demand{{e, 1}, {e + 3, 0.8}, {e + 5, 0.6}, {e + 8, 0.35}})
		for range 4 {
			steps = append(steps, Step{Exercise: e, Link: l, Work: Work{Load: 0.75, K: 0.0285, Repetition: 3, Goal: InReserve(2)}, Rest: 120})
		}
	}
	return 24, steps
}

// Budget: tens of microseconds, no allocation.
func BenchmarkSession(b *testing.B) {
	m := base()
	pools, steps := benchSession(m)
	s, out := NewState(pools), make([]Result, 0, len(steps))
	b.ReportAllocs()
	for b.Loop() {
		s.Reset()
		out = m.Run(s, steps, out[:0])
	}
}

// Budget: 200 µs with the account of every set.
func BenchmarkSessionAccount(b *testing.B) {
	m := base()
	pools, steps := benchSession(m)
	fresh := NewState(pools)
	b.ReportAllocs()
	for b.Loop() {
		x := NewSession(m, fresh)
		var losses []Loss
		for i := range steps {
			losses = x.Set(steps[i].Link, steps[i].Work, losses[:0]).Losses
			x.Rest(steps[i].Rest)
		}
	}
}

// Budget: 10 ms for the bands of a session from 200 draws.
func BenchmarkSessionBands200(b *testing.B) {
	m := base()
	pools, steps := benchSession(m)
	fresh := NewState(pools)
	spreads := Spreads{Exercises: make([]Spread, 8), Recovery: RecoverySD, Day: DaySD, Constants: true}
	for i := range spreads.Exercises {
		spreads.Exercises[i] = Spread{LnK: 0.25, LnMax: 0.05}
	}
	b.ReportAllocs()
	for b.Loop() {
		Bands(NewDrawer(1, m.c, spreads), fresh, steps, 200)
	}
}

// The inner loop of a search must not allocate.
func TestSetDoesNotAllocate(t *testing.T) {
	m := base()
	pools, steps := benchSession(m)
	s, out := NewState(pools), make([]Result, 0, len(steps))
	if n := testing.AllocsPerRun(20, func() {
		s.Reset()
		out = m.Run(s, steps, out[:0])
	}); n != 0 {
		t.Errorf("%g allocations a session", n)
	}
}
