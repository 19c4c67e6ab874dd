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
