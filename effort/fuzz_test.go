package effort

import (
	"errors"
	"math"
	"testing"
)

// within folds any float into lo..hi; what is not finite becomes lo.
func within(x, lo, hi float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return lo
	}
	return lo + math.Abs(math.Mod(x, 1))*(hi-lo)
}

// FuzzSession: for inputs in the documented ranges nothing panics and every
// answer is a number within its own range.
func FuzzSession(f *testing.F) {
	f.Add(0.75, 0.03, 3.0, 120.0, 2.0, 0.85, 0.8, uint8(0))
	f.Add(0.999, 0.999, 0.999, 0.0, 0.999, 0.0, 0.0, uint8(1))
	f.Add(0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.001, uint8(2))
	f.Fuzz(func(t *testing.T, p, k, rep, rest, n, a, b float64, kind uint8) {
		m := base()
		w := Work{Load: within(p, 0.02, 1.3), K: within(k, 0.002, 0.2), Repetition: within(rep, 0.5, 20)}
		w.Goal = [3]Goal{ToFailure(), Count(within(n, 0, 300)), InReserve(within(n, 0, 300))}[kind%3]
		l := m.Link(0, []Demand{{1, within(a, 0, 1)}, {2, within(b, 0, 1)}})
		other := m.Link(3, []Demand{{1, within(b, 0, 1)}})
		x := NewSession(m, NewState(4))
		for i := range 8 {
			link := l
			if i%3 == 2 {
				link = other
			}
			checkAccount(t, x.Set(link, w, nil))
			x.Rest(within(rest, 0, 1e5))
		}
		checkState(t, x.State())
	})
}

func checkAccount(t *testing.T, a Account) {
	t.Helper()
	sum := 0.0
	for _, loss := range a.Losses {
		sum += loss.Repetitions
	}
	ok := a.Repetitions >= 0 && a.Repetitions <= RepetitionCap && a.Capacity <= 1 && !math.IsInf(a.Capacity, 0) &&
		a.Done >= 0 && a.Done <= a.Repetitions && a.Reserve >= 0 && atLeastZero(a.Duration) &&
		a.Lost >= -1e-9 && math.Abs(sum-a.Lost) < 1e-9
	if !ok {
		t.Fatalf("%+v, losses sum to %g", a, sum)
	}
}

func checkState(t *testing.T, s *State) {
	t.Helper()
	for i := range s.Fast {
		if !atLeastZero(s.Fast[i]) || !atLeastZero(s.Slow[i]) {
			t.Fatalf("pool %d: %g, %g", i, s.Fast[i], s.Slow[i])
		}
	}
}

// FuzzEstimates: any input gives a finite answer or a refusal.
func FuzzEstimates(f *testing.F) {
	f.Add(100.0, 60.0, 5.0, 2.0, 0.95, 0.03, 0.25)
	f.Add(-10.0, 60.0, 1.0, 0.0, -0.95, 0.2, 0.0)
	f.Add(1e300, 0.0, 200.0, 200.0, 1e300, 1e-300, 1e300)
	f.Fuzz(func(t *testing.T, load, carried, reps, reserve, bias, k, sd float64) {
		_, err := DoneSet{load, carried, reps, reserve, bias, k, sd}.Max()
		refuseOnly(t, err)
		_, err = AskedSet{load, sd, carried, reps, reserve, k, sd}.Load()
		refuseOnly(t, err)
		d := DoneSet{within(load, 1, 500), within(carried, 0, 150), within(reps, 1, 200), within(reserve, 0, 20), within(bias, 0, 3), within(k, 0.002, 0.2), within(sd, 0, 1)}
		max, err := d.Max()
		if err != nil || !positive(max.Value+d.Carried) || !atLeastZero(max.SD) {
			t.Fatalf("%+v: %+v, %v", d, max, err)
		}
		for _, e := range Equations() {
			v, err := e.Max(load, reps)
			refuseOnly(t, err)
			if math.IsNaN(v) {
				t.Fatalf("%s of %g x %g is not a number", e, load, reps)
			}
		}
		_, _, err = ChartFraction(reps)
		refuseOnly(t, err)
	})
}

func refuseOnly(t *testing.T, err error) {
	t.Helper()
	if err != nil && !errors.Is(err, ErrRange) {
		t.Fatalf("an error of no kind: %v", err)
	}
}
