package session

import (
	"fmt"
	"testing"

	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// days are sessions of 8 exercises as a coach writes them: lifts in percent, loads
// in kg with a lift on record, loads by the reserve, sides, holds, a superset.
var days = [3][8][2]string{
	{{"back-squat", "4 x 4 @ 80% rir 2 warm-up 8 @ 40%, 5 @ 60%, 3 @ 70%"}, {"bench-press", "4 x 6 @ 75% rir 2"}, {"romanian-deadlift", "3 x 8 @ 80 kg rir 2"}, {"bent-over-barbell-row", "3 x 8 rir 2"},
		{"step-up", "3 x 8/side rir 2"}, {"pushdown", "3 x 12 @ 25 kg rir 1"}, {"barbell-curl", "3 x 10 @ 30 kg rir 2"}, {"standing-calf-raise", "3 x 12 rir 2"}},
	{{"deadlift", "3 x 3 @ 85% rir 2"}, {"overhead-press", "4 x 5 @ 75% rir 2"}, {"rear-foot-elevated-split-squat", "3 x 8/side @ 14 kg/hand rir 2"}, {"pull-up-underhand", "4 x 6 @ body weight rir 2"},
		{"fly", "3 x 12 @ 10 kg/hand rir 2"}, {"lying-leg-curl", "3 x 10 rir 1"}, {"lateral-raise", "3 x 12 rir 2"}, {"side-plank", "2 x 30 s/side"}},
	{{"front-squat", "4 x 5 rir 2"}, {"close-grip-bench-press", "3 x 6 @ 75% rir 2"}, {"dip", "3 x 8 @ body weight rir 2"}, {"one-arm-dumbbell-row", "3 x 8/side @ 28 kg rir 2"}, {"knee-extension", "3 x 12 rir 1"},
		{"lying-triceps-extension", "3 x 10 @ 25 kg rir 1"}, {"preacher-curl", "3 x 10 rir 2"}, {"cable-crunch", "3 x 12 rir 2"}},
}

// large is an athlete with lifts and a block of 6 sessions of 8 exercises over 4
// weeks.
func large(t testing.TB) (*Athlete, *plan.Block) {
	t.Helper()
	c := trainee(lift("back-squat", 140), lift("bench-press", 105), lift("deadlift", 175), lift("overhead-press", 65), lift("close-grip-bench-press", 95), lift("front-squat", 110))
	b := block()
	b.Weeks, b.Sessions = 4, nil
	b.Deload = &plan.Deload{Week: 4, Sets: unit.PercentOf(60), Load: unit.PercentOf(90)}
	for i := range 6 {
		s := plan.Session{ID: form.ID(fmt.Sprintf("s%d", i)), Name: "Day", Day: client.Weekday(client.Weekday("").Values()[i]), Place: "p"}
		for j, x := range days[i%3] {
			s.Slots = append(s.Slots, slot(t, fmt.Sprintf("x%dx%d", i, j), x[0], x[1]))
		}
		superset(s.Slots[5:7]...)
		b.Sessions = append(b.Sessions, s)
	}
	return NewAthlete(c, exercise.Shipped, nil, b.Start), b
}

// BenchmarkBlock runs 6 sessions of 8 exercises over 4 weeks: budgets 60 ms
// without bands, 1 s with 200 draws.
func BenchmarkBlock(b *testing.B) {
	for _, draws := range []int{0, 200} {
		b.Run(fmt.Sprintf("draws=%d", draws), func(b *testing.B) {
			a, block := large(b)
			b.ReportAllocs()
			for b.Loop() {
				a.Block(block, Options{Draws: draws, Seed: 1})
			}
		})
	}
}

// BenchmarkVisit runs one session of 8 exercises: budget 5 ms, for an athlete
// made anew and for one that has run it before.
func BenchmarkVisit(b *testing.B) {
	for _, fresh := range []bool{true, false} {
		b.Run(fmt.Sprintf("anew=%v", fresh), func(b *testing.B) {
			a, block := large(b)
			laid := block.Lay(1)[0]
			b.ReportAllocs()
			for b.Loop() {
				if fresh {
					a = NewAthlete(a.Client, a.Library, nil, monday)
				}
				a.Visit(laid.Session, 1, a.itemsOf(laid), a.Client.PlaceByID("p"), 0, 0)
			}
		})
	}
}

// BenchmarkTry tries an edit of one session lean and bare, as a search does.
func BenchmarkTry(b *testing.B) {
	a, block := large(b)
	w := a.Week(block, 1, Options{})
	edited := block.Clone()
	edited.Sessions[0].Slots[0].Dose = mustDose(b, "3 x 4 @ 80% rir 2")
	b.ReportAllocs()
	for b.Loop() {
		a.Trial(w, nil, block, edited, Try{Session: "s0", Lean: true, Bare: true})
	}
}

// Trying an edit does not allocate more than a few values an exercise and set:
// a search does it thousands of times.
func TestAllocationsOfATrial(t *testing.T) {
	a, block := large(t)
	w := a.Week(block, 1, Options{})
	edited := block.Clone()
	edited.Sessions[0].Slots[0].Dose = mustDose(t, "3 x 4 @ 80% rir 2")
	got := testing.AllocsPerRun(20, func() { a.Trial(w, nil, block, edited, Try{Session: "s0", Lean: true, Bare: true}) })
	if most := 100.0; got > most {
		t.Errorf("%g allocations, at most %g are meant", got, most)
	}
}
