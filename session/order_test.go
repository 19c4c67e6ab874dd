package session

import (
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/effort"
	"corbel/plan"
)

// Sets are done in the order a client really does them: sides one after the
// other, the weak one first where the dose says so and the client has a limit
// in a muscle of the exercise, left before right else; a side that has run out
// is left out; a slot of one side has that side alone.
func TestOrderOfSides(t *testing.T) {
	oneSide := slot(t, "a", "split-squat", "2 x 10")
	oneSide.Side = anatomy.Right
	for _, c := range []struct {
		name  string
		limit client.Limit
		slot  plan.Slot
		want  string
	}{
		{"each side", client.Limit{}, slot(t, "a", "split-squat", "2 x 10/side"), "a1L a1R a2L a2R"},
		{"weak right", limit("quadriceps", anatomy.Right), slot(t, "a", "split-squat", "2 x 10/side weak side first"), "a1R a1L a2R a2L"},
		{"weak left", limit("quadriceps", anatomy.Left), slot(t, "a", "split-squat", "right 2 x 10, left 2 x 10, weak side first"), "a1L a1R a2L a2R"},
		{"weak but not asked", limit("quadriceps", anatomy.Right), slot(t, "a", "split-squat", "2 x 10/side"), "a1L a1R a2L a2R"},
		{"weak elsewhere", limit("elbow-flexors", anatomy.Right), slot(t, "a", "split-squat", "2 x 10/side weak side first"), "a1L a1R a2L a2R"},
		{"weak without a side", limit("quadriceps", anatomy.Both), slot(t, "a", "split-squat", "2 x 10/side weak side first"), "a1L a1R a2L a2R"},
		{"left 3, right 2", client.Limit{}, slot(t, "a", "split-squat", "left 3 x 10, right 2 x 10"), "a1L a1R a2L a2R a3L"},
		{"left 3, right 2, weak right", limit("quadriceps", anatomy.Right), slot(t, "a", "split-squat", "left 3 x 10, right 2 x 10, weak side first"), "a1R a1L a2R a2L a3L"},
		{"right alone", client.Limit{}, slot(t, "a", "split-squat", "right 2 x 10"), "a1R a2R"},
		{"slot of one side", client.Limit{}, oneSide, "a1R a2R"},
		{"both sides at once", client.Limit{}, slot(t, "a", "leg-press", "2 x 10/side"), "a1 a2"},
	} {
		who := trainee()
		who.Limits = []client.Limit{c.limit}
		if got := order(visit(athlete(who), c.slot)); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// An alternating exercise on both sides is one set that lasts twice as long:
// both sides' repetitions one by one. Its repetitions to failure are those of
// the ordinary pace, since each side works half the time.
func TestAlternatingExerciseIsOneLongSet(t *testing.T) {
	a := athlete(trainee())
	both := visit(a, slot(t, "a", "dead-bug", "2 x 10/side rir 4"))
	if got := order(both); got != "a1 a2" {
		t.Fatal(got)
	}
	// worked by hand: 10 repetitions a side of 4 s, 2 sides
	if got := both.Sets[0].Result.Duration; got != 80 {
		t.Errorf("a set lasts %g s, want 80", got)
	}
	w := both.program.steps[0].work
	if got := w.K * slower(w.Repetition); !within(got, 0.020*slower(4), near) {
		t.Errorf("k at its own pace is %g, want that of one side, %g", got, 0.020*slower(4))
	}
	one := visit(a, slot(t, "a", "dead-bug", "2 x 10 rir 4"))
	if got := one.Sets[0].Result.Duration; got != 40 {
		t.Errorf("without /side a set lasts %g s, want 40", got)
	}
}

// A superset goes in rounds: partners change in 20 s where no rest is written,
// the last of a round is followed by its rest. Who is alone in a round rests as
// ever and is no superset there.
func TestSupersetsGoInRounds(t *testing.T) {
	a := athlete(trainee())
	for _, c := range []struct {
		name, one, two string
		order, rests   string
		marked         int
	}{
		{"equal", "2 x 10", "2 x 10", "a1 b1 a2 b2", "20 90 20 90", 4},
		{"rests written", "2 x 10 rest 1:00", "2 x 10 rest 2:00", "a1 b1 a2 b2", "60 120 60 120", 4},
		{"first has more", "4 x 10", "2 x 10", "a1 b1 a2 b2 a3 a4", "20 90 20 90 90 90", 4},
		{"second has more", "1 x 10", "3 x 10", "a1 b1 b2 b3", "20 90 90 90", 2},
	} {
		v := visit(a, superset(slot(t, "a", "barbell-curl", c.one), slot(t, "b", "pushdown", c.two))...)
		if got := order(v); got != c.order {
			t.Errorf("%s: %s, want %s", c.name, got, c.order)
		}
		if got := rests(v); got != c.rests {
			t.Errorf("%s: rests %s, want %s", c.name, got, c.rests)
		}
		marked := 0
		for _, s := range v.Sets {
			if s.Result.Marks&effort.Superset != 0 {
				marked++
			}
		}
		if marked != c.marked {
			t.Errorf("%s: %d sets are marked as of a superset, want %d", c.name, marked, c.marked)
		}
	}
}

// A superset of sided exercises does both sides of one partner, then the other;
// slots of another letter do not join it.
func TestSupersetOfSides(t *testing.T) {
	slots := superset(slot(t, "a", "split-squat", "2 x 8/side"), slot(t, "b", "pushdown", "2 x 10"), slot(t, "c", "leg-press", "1 x 10"))
	slots[2].Superset = "B"
	v := visit(athlete(trainee()), slots...)
	if got, want := order(v), "a1L a1R b1 a2L a2R b2 c1"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := rests(v), "5 20 90 5 20 90 120"; got != want {
		t.Errorf("rests %s, want %s", got, want)
	}
}

// Warm-up sets come first, on every side that works, with a minute between them
// and a minute and a half after the last.
func TestWarmUpsComeFirst(t *testing.T) {
	a := athlete(trainee(lift("bench-press", 100)))
	v := visit(a, slot(t, "a", "bench-press", "2 x 5 @ 80% rest 2:00 warm-up 8 @ 40%, 5 @ 60%"))
	if got, want := order(v), "w:a w:a a1 a2"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := rests(v), "60 90 120 120"; got != want {
		t.Errorf("rests %s, want %s", got, want)
	}
	if got := v.Sets[1]; got.P != 0.60 || got.Load.Mass.Kilogram() != 60 || got.Proposed || got.N != 0 {
		t.Errorf("second warm-up set: %+v", got)
	}
	v = visit(a, slot(t, "a", "split-squat", "2 x 5/side rest 2:00 warm-up 8 @ body weight"))
	if got, want := order(v), "w:aL w:aR a1L a1R a2L a2R"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := rests(v), "5 90 5 120 5 120"; got != want {
		t.Errorf("rests %s, want %s", got, want)
	}
}

// Warm-ups are proposed, and marked so, for a main lift with a bar from 65 % of
// the 1RM on, with a third from 80 % on; for nothing else.
func TestProposedWarmUps(t *testing.T) {
	a := athlete(trainee(lift("bench-press", 100)))
	accessory := slot(t, "a", "bench-press", "1 x 3 @ 85%")
	accessory.Stage = "accessory"
	for _, c := range []struct {
		slot plan.Slot
		want string
		p    []float64
	}{
		{slot(t, "a", "bench-press", "1 x 3 @ 85%"), "p:a p:a p:a a1", []float64{0.425, 0.5525, 0.68, 0.85}},
		{slot(t, "a", "bench-press", "1 x 5 @ 75%"), "p:a p:a a1", []float64{0.375, 0.6, 0.75}},
		{slot(t, "a", "bench-press", "1 x 12 @ 60%"), "a1", []float64{0.6}},
		{slot(t, "a", "bench-press", "1 x 3 @ 85% warm-up 5 @ 60%"), "w:a a1", []float64{0.6, 0.85}},
		{slot(t, "a", "pull-up-overhand", "1 x 3 rir 1"), "a1", nil},
		{accessory, "a1", nil},
	} {
		v := visit(a, c.slot)
		if got := order(v); got != c.want {
			t.Errorf("%s %s: %s, want %s", c.slot.Exercise, c.slot.Dose, got, c.want)
			continue
		}
		for i, p := range c.p {
			if !within(v.Sets[i].P, p, near) {
				t.Errorf("%s: set %d is at %g of the 1RM, want %g", c.slot.Dose, i+1, v.Sets[i].P, p)
			}
		}
	}
}

// Sets are numbered and timed: a session worked by hand, in seconds.
//
// Bench press: set-up 60, warm-up 8 x 3 = 24, rest 90, 5 x 3 = 15, rest 120, 15,
// rest 120. Fly: the rest before is longer than 30 s and its set-up of 25 s, so
// nothing is added; 10 x 3 = 30, rest 60, 30. Together 564.
func TestTimeLine(t *testing.T) {
	a := athlete(trainee(lift("bench-press", 100)))
	v := visit(a, slot(t, "a", "bench-press", "2 x 5 @ 70% rest 2:00 warm-up 8 @ 40%"), slot(t, "b", "fly", "2 x 10 rir 2 rest 1:00"))
	starts := []float64{60, 174, 309, 444, 534}
	for i, s := range v.Sets {
		if s.Start != starts[i] {
			t.Errorf("set %d starts at %g s, want %g", i+1, s.Start, starts[i])
		}
	}
	// set-up 60 s at 0.7 and 1.5, work 24+15+15+30+30 = 114 s at 0.85 and 1.15,
	// rests 90+120+120+60 = 390 s at 0.9 and 1.25
	want := Minutes{564. / 60, (42 + 96.9 + 351) / 60, (90 + 131.1 + 487.5) / 60}
	if !sameMinutes(v.Minutes, want) {
		t.Errorf("%+v, want %+v", v.Minutes, want)
	}
	if got := v.Slots[1].Start.Mean * 60; !within(got, 444, near) {
		t.Errorf("the fly starts at %g s, want 444", got)
	}
	if got := v.Slots[0].End.Mean * 60; !within(got, 324, near) {
		t.Errorf("the bench press ends at %g s, want 324", got)
	}
	if got := v.Slots[1].End; !sameMinutes(got, v.Minutes) {
		t.Errorf("the last exercise ends at %+v, the session at %+v", got, v.Minutes)
	}
}

func sameMinutes(a, b Minutes) bool {
	return within(a.Mean, b.Mean, near) && within(a.Low, b.Low, near) && within(a.High, b.High, near)
}

// What makes a session longer, each worked by hand, s: holds, carries, tempo,
// sides, and a change of exercise that is longer than the rest before it.
func TestSecondsOfSets(t *testing.T) {
	a := athlete(trainee())
	for _, c := range []struct {
		name  string
		slots []plan.Slot
		want  float64
	}{
		// set-up 10, then 4 holds of 30 with 5, 180, 5 between
		{"hold", []plan.Slot{slot(t, "a", "side-plank", "2 x 30 s/side rest 3:00")}, 10 + 4*30 + 5 + 180 + 5},
		// set-up 25, 2 ways of 40 m at 1 m/s
		{"carry", []plan.Slot{slot(t, "a", "two-hand-carry", "2 x 40 m @ 2 x 20 kg rest 4:00")}, 25 + 2*40 + 240},
		// set-up 30, 5 repetitions of 4+1+2 s
		{"tempo", []plan.Slot{slot(t, "a", "leg-press", "1 x 5 rir 3 tempo 4-1-2")}, 30 + 5*7},
		// the middle of the range, 9
		{"range", []plan.Slot{slot(t, "a", "leg-press", "1 x 8-10 rir 3")}, 30 + 9*3},
		// set-up 20, 30; 10 s rest, then 30 - 10 + 20 s more of changing
		{"short rest before a change", []plan.Slot{slot(t, "a", "pushdown", "1 x 10 rir 3 rest 10 s"), slot(t, "b", "pushdown", "1 x 10 rir 3")},
			20 + 30 + 10 + 40 + 30},
		// the default rest of an isolation exercise, 90 s, holds the change
		{"no rest written", []plan.Slot{slot(t, "a", "pushdown", "1 x 10 rir 3"), slot(t, "b", "fly", "1 x 10 rir 3")}, 20 + 30 + 90 + 30},
		// superset: set-up 45, 30, then 20 s hold 30 + 20 of changing; no set-up in round 2
		{"superset", superset(slot(t, "a", "barbell-curl", "2 x 10 rir 3"), slot(t, "b", "pushdown", "2 x 10 rir 3")),
			45 + 30 + 20 + 30 + 30 + 90 + 30 + 20 + 30},
	} {
		v := visit(a, c.slots...)
		if got := v.Minutes.Mean * 60; !within(got, c.want, 1e-6) {
			t.Errorf("%s: %g s, want %g", c.name, got, c.want)
		}
	}
}

// Holds are marked, and so are rests under 20 s, but not the five seconds in
// which the other side takes over.
func TestMarks(t *testing.T) {
	a := athlete(trainee())
	v := visit(a, slot(t, "a", "side-plank", "2 x 30 s/side rest 1:00"))
	for i, s := range v.Sets {
		if s.Result.Marks&effort.Hold == 0 || s.Result.Marks&effort.ShortRest != 0 {
			t.Errorf("set %d has the marks %v", i+1, s.Result.Marks)
		}
	}
	v = visit(a, slot(t, "a", "pushdown", "2 x 10 rir 2 rest 10 s"))
	if v.Sets[1].Result.Marks&effort.ShortRest == 0 {
		t.Error("a rest of 10 s is not marked")
	}
}
