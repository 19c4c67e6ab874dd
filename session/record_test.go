package session

import (
	"testing"

	"corbel/client"
	"corbel/plan"
)

// lifts that were done to failure, at the exercise's own pace.
var recordCases = []struct {
	exercise, dose string
	load           float64 // kg; 0 for the body alone
	perHand        bool
	reps           int
}{
	{"bench-press", "1 x max @ 80 kg warm-up 8 @ 40%, 5 @ 60%, 3 @ 75%", 80, false, 6},
	{"back-squat", "1 x max @ 120 kg", 120, false, 4}, // with proposed warm-ups
	{"hex-bar-deadlift", "1 x max @ 100 kg warm-up 8 @ 40%, 5 @ 60%", 100, false, 9},
	{"push-up", "1 x max @ body weight", 0, false, 18},
	{"pull-up-overhand", "1 x max @ body weight", 0, false, 8},
	{"split-squat", "1 x max/side @ 12 kg/hand", 12, true, 13},
	{"pushdown", "1 x max @ 30 kg", 30, false, 12},
}

// Ensure that a lift on record comes back: the same load after its own warm-up is
// predicted to allow the repetitions that were done, or more by no more than what a
// longer set recovers while it lasts (under a repetition here), and that every drawn
// client can do about as many, far fewer than k alone would spread.
func TestLiftOnRecordComesBack(t *testing.T) {
	for _, c := range recordCases {
		l := client.Lift{On: monday.Plus(-10), Exercise: c.exercise, Reps: c.reps, PerHand: c.perHand}
		if c.load > 0 {
			l.Load = kg(c.load)
		}
		a := athlete(trainee(l))
		v := a.Week(block(slot(t, "a", c.exercise, c.dose)), 1, Options{Draws: 200, Seed: 1}).Visits[0]
		n := float64(c.reps)
		for _, set := range working(v, 0)[:1] {
			if got := set.Result.Repetitions; got < n-0.01 || got > n+1 {
				t.Errorf("%s: %g repetitions on record, %g predicted", c.exercise, n, got)
			}
			// reserve said of a set to failure and two days: SD of ln 1RM about 0.03, 2 to 3 repetitions
			if b := set.Band; b.Low < n-4 || b.High > n+6 || b.Low > n || b.High < n {
				t.Errorf("%s: %g on record, band %+v", c.exercise, n, b)
			}
		}
	}
}

// Ensure that a usual warm-up costs neither its exercise nor a later one anything,
// and that one taken to the limit costs both.
func TestWarmUpTiresAsFarAsItIsHard(t *testing.T) {
	lifts := []client.Lift{lift("bench-press", 100), lift("overhead-press", 60)}
	after := func(dose string) (own, later float64) {
		v := visit(athlete(trainee(lifts...)), slot(t, "a", "bench-press", dose), slot(t, "b", "overhead-press", "1 x max @ 45 kg"))
		return working(v, 0)[0].Result.Repetitions, working(v, 1)[0].Result.Repetitions
	}
	const work = "1 x 5 @ 80 kg"
	own, later := after(work + " warm-up 8 @ 40%, 5 @ 55%, 3 @ 70%")
	long, _ := after(work + " warm-up 1 @ 30%")
	if own != long {
		t.Errorf("a usual warm-up: %g repetitions, next to none: %g", own, long)
	}
	hard, laterHard := after(work + " warm-up 8 @ 40%, 5 @ 55%, 10 @ 80%")
	if hard > own-2 || laterHard >= later {
		t.Errorf("a hard warm-up: %g and %g later, a usual one: %g and %g", hard, laterHard, own, later)
	}
}

// Ensure that a lift of another exercise spreads no draw: its mass is what it is,
// and what is not known is the exercise's own 1RM.
func TestPercentOfAnotherLiftSpreadsItsOwn(t *testing.T) {
	own, other := lift("front-squat", 100), lift("back-squat", 140)
	other.Reps = 10
	a := athlete(trainee(own, other))
	s := plan.Slot{ID: "a", Exercise: "front-squat", Dose: mustDose(t, "1 x 5 @ 60% of back-squat")}
	mine := a.Week(block(s), 1, Options{}).Visits[0].program.spreads
	s.Dose = mustDose(t, "1 x 5 @ 80%")
	if plain := a.Week(block(s), 1, Options{}).Visits[0].program.spreads; len(mine) != 1 || mine[0] != plain[0] {
		t.Errorf("%+v, of its own lift %+v", mine, plain)
	}
}

// Ensure that of sets with a load no lift is known for the first says what the load
// is: a later set with fewer repetitions written has the same load, a heavier one a
// greater fraction in proportion, and another side its own.
func TestUnknownLoadIsTheFirstSets(t *testing.T) {
	fractions := func(exercise, dose string) (out []float64) {
		for _, s := range working(visit(athlete(trainee()), slot(t, "a", exercise, dose)), 0) {
			out = append(out, s.P)
		}
		return out
	}
	near := 1e-9
	p := fractions("overhead-press", "8,6,4 @ 40 kg rir 2")
	if first := 1 / (1 + 0.030*9); !within(p[0], first, near) || !within(p[1], first, near) || !within(p[2], first, near) {
		t.Errorf("8, 6 and 4 with 40 kg: %v", p)
	}
	p = fractions("overhead-press", "8,8 @ 40,50 kg rir 2")
	if !within(p[1], p[0]*50/40, near) {
		t.Errorf("40 and 50 kg: %v", p)
	}
	// 70.4 kg of the body are carried (0.88 of 80 kg)
	p = fractions("split-squat", "left 8,8 @ 10,20 kg/hand rir 2, right 12,8 @ 10 kg/hand rir 2")
	if len(p) != 4 || !within(p[2], p[0]*(40+70.4)/(20+70.4), near) || !within(p[3], p[1], near) || p[1] >= p[0] {
		t.Errorf("each side for itself: %v", p)
	}
}

// Ensure that a percentage written as heavy enough counts as a lift set where the
// plates make it up to 2 points less, and no other lighter load does.
func TestRoundedLiftSetCounts(t *testing.T) {
	for _, c := range []struct {
		max, dose string
		load      float64
		want      float64
	}{
		{"80 % of 102 kg is 82.5 on the bar", "3 x 3 @ 80%", 102, 3},
		{"80 % of 103 kg is 82.5 on the bar, 80.1 %", "3 x 3 @ 80%", 103, 3},
		{"80 % of 101 kg is 80 on the bar, 79.2 %", "3 x 3 @ 80%", 101, 3},
		{"79 % of 101 kg is 80 on the bar, 79.2 %", "3 x 3 @ 79%", 101, 0},
		{"80 kg of 101", "3 x 3 @ 80 kg", 101, 0},
		{"80 % of 24 kg is the empty bar of 20 kg", "3 x 3 @ 80%", 24, 3},
		{"95 % of 26 kg is 25 on the bar", "3 x 3 @ 95%", 26, 3},
		{"81 % of 27 kg is 22.5 on the bar", "3 x 3 @ 81%", 27, 3},
	} {
		v := visit(athlete(trainee(lift("bench-press", c.load))), slot(t, "a", "bench-press", c.dose))
		if got := v.Slots[0].LiftSets; got != c.want {
			t.Errorf("%s: %g lift sets, want %g (%v)", c.max, got, c.want, v.Sets[len(v.Sets)-1].Load.Percent)
		}
	}
}
