package body

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Ensure that the dual gives what finite differences of the largest load give,
// for every muscle.
func TestLargestGains(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	const h = 1e-4
	for k := range 6 {
		p := drawn(r, k%2 == 1)
		var l, again Lifter
		got := l.Largest(p)
		if got.Residual > 1e-8 || !(got.Load > 0) {
			t.Fatalf("program %d: load %g, residual %g after %d steps", k, got.Load, got.Residual, got.Steps)
		}
		gaining := 0
		for i := range p.kind {
			if p.kind[i] == forceColumn {
				continue
			}
			try := func(f float64) float64 {
				q := *p
				q.value = slices.Clone(p.value)
				for e := q.start[i]; e < q.start[i+1]; e++ {
					q.value[e] *= f
				}
				return again.Largest(&q).Load
			}
			slope := (try(1+h) - try(1-h)) / (2 * h)
			if math.Abs(slope-got.Gain[i]) > 1e-5*(1+math.Abs(slope)) {
				t.Errorf("program %d, muscle %d: gain %.8f, differences %.8f", k, i, got.Gain[i], slope)
			}
			if got.Gain[i] > 0.01 {
				gaining++
			}
		}
		if gaining < 3 {
			t.Errorf("program %d: only %d muscles gain; the test tests little", k, gaining)
		}
	}
}

// Ensure that the largest load agrees with bounded load sharing: just below it
// rows hold within 3 N m, well above it something gives way by more.
func TestLargestAgainstSharing(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	for range 10 {
		p := drawn(r, false)
		var l Lifter
		var s Sharer
		load := l.Largest(p).Load
		_, below := s.Share(p, 0.98*load, 1).Missing(p)
		_, above := s.Share(p, 1.1*load, 1).Missing(p)
		if math.Abs(below) > 3 || math.Abs(above) < 3 {
			t.Errorf("load %g: %g N m missing at 98 %%, %g at 110 %%", load, below, above)
		}
	}
}

// Ensure the laws of the largest load: it grows with strength in proportion
// where nothing else is to be held, does not depend on the unit of load, and one
// muscle on one row gives strength over moment.
func TestLargestLaws(t *testing.T) {
	p := NewProgram()
	row := p.AddRow(20, 5, RowGive)
	p.AddMuscle(1, Entry{row, 120})
	var l Lifter
	got := l.Largest(p)
	if want := (120 - 20) / 5.0; math.Abs(got.Load-want) > 0.02 {
		t.Errorf("load %g, want %g", got.Load, want)
	}
	if want := 120 / 5.0; math.Abs(got.Gain[0]-want) > 0.02 {
		t.Errorf("gain %g, want %g", got.Gain[0], want)
	}
	r := rand.New(rand.NewPCG(15, 16))
	for range 10 {
		p := drawn(r, false)
		load := l.Largest(p).Load
		q := *p
		q.spread = slices.Clone(p.spread)
		for j := range q.spread {
			q.spread[j] *= 1e-2
		}
		if got := l.Largest(&q).Load; math.Abs(got-100*load) > 1e-5*load {
			t.Errorf("load %g in one unit, %g in a hundredth of it", load, got)
		}
	}
}

// Ensure that a load nobody feels is without limit, and that what cannot be held
// even without load comes out below 0.
func TestLargestEdges(t *testing.T) {
	p := NewProgram()
	row := p.AddRow(50, 0, RowGive)
	p.AddMuscle(1, Entry{row, 40})
	var l Lifter
	if got := l.Largest(p).Load; !math.IsInf(got, 1) {
		t.Errorf("a load without moment: %g", got)
	}
	p.spread[row] = 1
	if got := l.Largest(p).Load; math.Abs(got+10) > 0.2 {
		t.Errorf("10 N m too weak without load: %g, want -10", got)
	}
}

// Budget: 3 ms with all gains.
func BenchmarkLargest(b *testing.B) {
	p := drawn(rand.New(rand.NewPCG(1, 1)), false)
	var l Lifter
	l.Largest(p)
	b.ReportAllocs()
	for b.Loop() {
		l.Largest(p)
	}
	b.ReportMetric(float64(l.out.Steps), "steps")
}
