package check

import (
	"fmt"
	"testing"

	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// largeDays are sessions as a coach writes them: heavy lifts that move on, then
// work that a lift on record gives a load, then work by the reserve.
var largeDays = [3][8][2]string{
	{{"back-squat", "4 x 4 @ 80% rir 2 warm-up 8 @ 40%, 5 @ 60%, 3 @ 70%|+2.5 % a week"}, {"bench-press", "4 x 6 @ 75% rir 2|+2.5 % a week"}, {"romanian-deadlift", "3 x 8 @ 80 kg rir 2"},
		{"bent-over-barbell-row", "3 x 8 rir 2"}, {"step-up", "3 x 8/side rir 2"}, {"pushdown", "3 x 12 @ 25 kg rir 1"}, {"barbell-curl", "3 x 10 @ 30 kg rir 2|+1 repetition a week"}, {"standing-calf-raise", "3 x 12 rir 2"}},
	{{"deadlift", "3 x 3 @ 85% rir 2|+1 % a week"}, {"overhead-press", "4 x 5 @ 75% rir 2|+2.5 % a week"}, {"rear-foot-elevated-split-squat", "3 x 8/side @ 14 kg/hand rir 2"}, {"pull-up-underhand", "4 x 6 @ body weight rir 2"},
		{"fly", "3 x 12 @ 10 kg/hand rir 2"}, {"lying-leg-curl", "3 x 10 rir 1"}, {"lateral-raise", "3 x 12 rir 2"}, {"side-plank", "2 x 30 s/side"}},
	{{"front-squat", "4 x 5 rir 2"}, {"close-grip-bench-press", "3 x 6 @ 75% rir 2"}, {"dip", "3 x 8 @ body weight rir 2"}, {"one-arm-dumbbell-row", "3 x 8/side @ 28 kg rir 2"},
		{"knee-extension", "3 x 12 rir 1"}, {"lying-triceps-extension", "3 x 10 @ 25 kg rir 1"}, {"preacher-curl", "3 x 10 rir 2"}, {"cable-crunch", "3 x 12 rir 2"}},
}

// large is a client with lifts, aims and limits, and a block of 6 sessions of 8
// exercises over 4 weeks.
func large(t testing.TB) Input {
	t.Helper()
	c := cleared(t)
	place := client.Place{ID: "p", Name: "Hall", Bars: []client.Bar{{Kind: "bar", Mass: unit.MassOf(20, unit.Kg)}},
		Dumbbells: []client.Steps{{From: unit.MassOf(2, unit.Kg), Step: unit.MassOf(2, unit.Kg), To: unit.MassOf(40, unit.Kg)}}}
	for _, m := range []float64{1.25, 2.5, 5, 10, 20} {
		place.Plates = append(place.Plates, client.Plates{Mass: unit.MassOf(m, unit.Kg), Pairs: 2})
	}
	for _, e := range client.Equipment("").Values() {
		place.Has = append(place.Has, client.Equipment(e))
	}
	c.Places = []client.Place{place}
	on := day(t, "2026-11-10")
	c.Measures = []client.Measure{{On: on, Mass: unit.MassOf(80, unit.Kg)}}
	for id, kg := range map[string]float64{"back-squat": 120, "bench-press": 90, "deadlift": 150, "overhead-press": 55, "close-grip-bench-press": 80, "front-squat": 95} {
		c.Lifts = append(c.Lifts, client.Lift{On: on, Exercise: id, Load: unit.MassOf(kg, unit.Kg), Reps: 5})
	}
	c.Aims = append(c.Aims, []client.Aim{aim("quadriceps", "", 8, 14), aim("pectorals", "", 6, 10), aim("elbow-extensors", "", 8, 12), aim("hamstrings", "", 8, 12), {Exercise: "back-squat", Sets: client.Band{Low: 3, High: 8}}}...)
	days := client.Weekday("").Values()
	b := &plan.Block{Form: 1, ID: "b", Name: "Block", Client: "c.yaml", Start: day(t, "2026-11-30"), Weeks: 4, State: plan.Draft, Revision: 1,
		Deload: &plan.Deload{Week: 4, Sets: unit.PercentOf(60), Load: unit.PercentOf(90)}}
	for i := range 6 {
		s := plan.Session{ID: form.ID(fmt.Sprintf("s%d", i)), Name: fmt.Sprint("Day ", i+1), Day: client.Weekday(days[i]), Place: "p", Minutes: 75}
		for j, x := range largeDays[i%3] {
			s.Slots = append(s.Slots, slotOf(t, fmt.Sprintf("x%dx%d", i, j), x[0], x[1]))
		}
		b.Sessions = append(b.Sessions, s)
	}
	return Input{Client: c, Block: b, Library: exercise.Shipped, Language: form.English}
}

// BenchmarkCheck checks 6 sessions of 8 exercises over 4 weeks: budgets 60 ms of
// one core without draws and 1 s with 200.
func BenchmarkCheck(b *testing.B) {
	for _, draws := range []int{0, 200} {
		b.Run(fmt.Sprintf("draws=%d", draws), func(b *testing.B) {
			in := large(b)
			in.Draws, in.Seed = draws, 1
			b.ReportAllocs()
			for b.Loop() {
				Check(in)
			}
		})
	}
}

// BenchmarkRules runs the same without working out ways out.
func BenchmarkRules(b *testing.B) {
	in := large(b)
	b.ReportAllocs()
	for b.Loop() {
		r := newRules(in)
		r.offer = false
		r.apply()
	}
}

// BenchmarkRecheck checks the block again after an edit of one session: budget
// 5 ms.
func BenchmarkRecheck(b *testing.B) {
	in := large(b)
	before := Run(in)
	edited := in.Block.Clone()
	if !cutSets("x0x0", 1)(edited) {
		b.Fatal("nothing to cut")
	}
	edited.Revision++
	b.ReportAllocs()
	for b.Loop() {
		Recheck(before, edited)
	}
}
