package evidence

import (
	"math"
	"slices"
	"testing"
)

// Ensure that the reserve equation gives the tabled sets: four sets at 80 % with two
// in reserve come to 8, 6, 5, 5 fresh (reference: evidence model, section 8, weakness
// known exactly; k 0.0275, 180 s of rest).
func TestReserveTable(t *testing.T) {
	const k = 0.0275
	planned := []int{8, 6, 5, 5}
	for _, c := range []struct {
		a, weak, p float64
		reps       []int // nil: only the load is tabled
	}{
		{1, 0.10, 0.775, []int{4, 3, 3, 3}}, {1, 0.15, 0.725, nil}, {1, 0.20, 0.675, nil}, {1, 0.30, 0.60, nil},
		{0.85, 0.10, 0.8, planned}, {0.85, 0.15, 0.8, []int{8, 6, 5, 4}}, {0.85, 0.20, 0.8, []int{5, 4, 3, 3}}, {0.85, 0.30, 0.7, []int{5, 4, 3, 3}},
		{0.70, 0.10, 0.8, planned}, {0.70, 0.15, 0.8, planned}, {0.70, 0.20, 0.8, planned}, {0.70, 0.30, 0.8, []int{7, 6, 5, 4}},
	} {
		h := HeavySets(c.a, 1-c.weak, 0.8, k, planned)
		if math.Abs(h.P-c.p) > 1e-9 || c.reps != nil && !slices.Equal(h.Reps, c.reps) {
			t.Errorf("demand %g, %g weaker: %.3f x %v, want %.3f x %v", c.a, c.weak, h.P, h.Reps, c.p, c.reps)
		}
		if h.Planned != slices.Equal(h.Reps, planned) {
			t.Errorf("demand %g, %g weaker: planned %v", c.a, c.weak, h.Planned)
		}
	}
}

// Ensure that a weaker group, a larger demand and a larger spread never allow more,
// that every set keeps the group's repetition, and that a strong group changes
// nothing.
func TestReserveLaws(t *testing.T) {
	planned := []int{8, 6, 5, 5}
	work := func(h Heavy) float64 {
		sum := 0.0
		for _, n := range h.Reps {
			sum += float64(n)
		}
		return sum * h.P * 0.01
	}
	for _, a := range []float64{0.5, 0.7, 0.85, 1} {
		last := 99.0
		for w := 0.0; w < 0.45; w += 0.05 {
			h := HeavySets(a, 1-w, 0.8, 0.0275, planned)
			if h.P > last {
				t.Errorf("demand %g: %g weaker allows a larger load", a, w)
			}
			last = h.P
			for i, left := range h.Left {
				if left < groupReserve-1e-9 && h.Reps[i] > 0 {
					t.Errorf("demand %g, %g weaker: set %d leaves the group %.2f", a, w, i, left)
				}
			}
		}
		if h := HeavySets(a, 1, 0.8, 0.0275, planned); a < 1 && work(h) < work(HeavySets(a, 0.9, 0.8, 0.0275, planned)) {
			t.Errorf("demand %g: a strong group allows less", a)
		}
	}
	if Prudent(0.2, 0.05) >= Prudent(0.2, 0.02) || Prudent(0.2, 0) >= Prudent(0.1, 0) {
		t.Error("the prudent ratio does not fall with mean and SD")
	}
}

// Ensure that weekly sets start lower for a weaker side and with pain, and follow
// good and bad weeks.
func TestWeeklySets(t *testing.T) {
	if got := WeeklyStart(0.8, 10, false); got != 8 {
		t.Errorf("start %g, want 8", got)
	}
	if got := WeeklyStart(0.8, 10, true); math.Abs(got-5.6) > 1e-12 {
		t.Errorf("start with pain %g, want 5.6", got)
	}
	if WeeklyNext(8, true) != 9 || math.Abs(WeeklyNext(8, false)-6.8) > 1e-12 {
		t.Error("a good week adds one set, a bad one takes 15 %")
	}
}
