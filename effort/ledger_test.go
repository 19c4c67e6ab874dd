package effort

import (
	"math/rand/v2"
	"testing"
)

// The account sums to what was lost, in capacity and in repetitions, also from a
// state that was not fresh.
func TestAccountSums(t *testing.T) {
	m, rnd := base(), rand.New(rand.NewPCG(1, 2))
	for range cases {
		start := NewState(24)
		if rnd.IntN(2) == 0 {
			start = randomSession(m, rnd)
		}
		x := NewSession(m, start)
		check := start.Clone()
		var losses []Loss
		for range 12 {
			l, w, rest := randomLink(m, rnd, 20+rnd.IntN(4)), randomWork(rnd), 400*rnd.Float64()
			w.WarmUp = rnd.IntN(4) == 0
			a := x.Set(l, w, losses[:0])
			losses = a.Losses
			r := m.Set(check, l, w)
			if a.Result != r {
				t.Fatalf("session %+v, model %+v", a.Result, r)
			}
			capacity, reps := 0.0, 0.0
			for _, loss := range a.Losses {
				capacity += loss.Capacity
				reps += loss.Repetitions
				if loss.Capacity < 0 || loss.Repetitions < -1e-12 {
					t.Fatalf("an earlier set helps: %+v", loss)
				}
			}
			near(t, "capacity lost", capacity, 1-a.Capacity, 1e-9)
			near(t, "repetitions lost", reps, a.Lost, 1e-9)
			near(t, "fresh", a.Fresh, m.Fresh(w.Load, w.K, w.Repetition), 0)
			x.Rest(rest)
			m.Rest(check, rest)
		}
	}
}

// Without recovery inside the set the account is w (A + B)/(k p) repetitions.
func TestAccountOfQuickSet(t *testing.T) {
	c := DefaultConstants()
	c.TempoPower = 0
	m := NewModel(c)
	bench, fly, _ := referenceLinks(m)
	x := NewSession(m, NewState(referencePools))
	w := Work{Load: 0.75, K: 0.0285, Repetition: 1e-6}
	x.Set(bench, w, nil)
	x.Rest(60)
	a := x.Set(fly, w, nil)
	for _, loss := range a.Losses {
		near(t, "repetitions", loss.Repetitions, loss.Capacity/(w.K*w.Load), 1e-4)
	}
}

// Each loss names the right set and pool: bench, pushdown, then bench again.
func TestAccountNames(t *testing.T) {
	m := base()
	bench, fly, pushdown := referenceLinks(m)
	x := NewSession(m, NewState(referencePools))
	w := Work{Load: 0.75, K: 0.0285, Repetition: 3}
	for _, l := range []*Link{bench, pushdown, fly} {
		x.Set(l, w, nil)
		x.Rest(120)
	}
	type key struct {
		set, pool int
		own       bool
	}
	want := map[key]bool{
		{0, pectorals, false}: true, {2, pectorals, false}: true,
		{0, frontDeltoid, false}: true, {2, frontDeltoid, false}: true,
		{0, triceps, false}: true, {1, triceps, false}: true,
		{0, ownBench, true}: true,
	}
	a := x.Set(bench, w, nil)
	if len(a.Losses) != len(want) {
		t.Errorf("%d losses, want %d", len(a.Losses), len(want))
	}
	for _, loss := range a.Losses {
		if !want[key{loss.Set, loss.Pool, loss.Own}] {
			t.Errorf("unexpected %+v", loss)
		}
	}
}

// The account says what would be gained: with the earlier exercise replaced by
// rest, the capacity that it cost is back.
func TestAccountAgainstLeavingOut(t *testing.T) {
	m := base()
	bench, _, pushdown := referenceLinks(m)
	w := Work{Load: 0.75, K: 0.0285, Repetition: 3}
	with := NewSession(m, NewState(referencePools))
	before := with.Set(pushdown, w, nil)
	with.Rest(60)
	a := with.Set(bench, w, nil)
	without := NewState(referencePools)
	m.Rest(without, before.Duration+60)
	r := m.Set(without, bench, w)
	near(t, "capacity", a.Losses[0].Capacity, r.Capacity-a.Capacity, 1e-12)
	near(t, "repetitions", a.Losses[0].Repetitions, r.Repetitions-a.Repetitions, 1e-9)
}
