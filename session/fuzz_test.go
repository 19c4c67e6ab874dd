package session

import (
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
)

// Whatever dose a coach can type, at whatever exercise, side and stage: a session
// comes out, and every number in it is one.
func FuzzVisit(f *testing.F) {
	for i, c := range loadCases {
		f.Add(c.dose, byte(i), byte(i), false)
	}
	for i, dose := range []string{
		"30 x 200 @ 120% rir 20", "1 x 1 @ 2000 kg", "3 x 0.5 s", "2 x 10 km", "3 x max @ 1%", "3 x max rir 20", "1 x 200 rir 20 tempo 60-60-60", "2 x 1 @ 1RM", "left 30 x 1 @ 100%, right 1 x 200 @ 30%, weak side first",
		"3 x 5 @ 120% of no-such-lift", "3 x 5 @ +2000 kg", "3 x 5 @ -2000 kg", "1 x 3 @ 85% rest 0 s warm-up 12 x 8 @ 120%", "2 x 8 rpe 1", "1 x max @ 0 kg", "3 x 5 rest 1 s tempo 0-0-0",
	} {
		f.Add(dose, byte(7*i), byte(i), true)
	}
	list := exercise.Shipped.All()
	f.Fuzz(func(t *testing.T, text string, which, how byte, known bool) {
		dose, err := plan.ParseDose(text)
		if err != nil {
			return // a refusal is fine; a panic is not
		}
		c := trainee()
		if known {
			c = loaded()
			c.Limits = []client.Limit{limit("quadriceps", anatomy.Right)}
		}
		first := plan.Slot{ID: "a", Exercise: string(list[int(which)%len(list)].ID), Dose: dose}
		first.Stage = plan.Stage(append(plan.Stage("").Values(), "")[int(how)%6])
		first.Side = []anatomy.Side{anatomy.NoSide, anatomy.Left, anatomy.Right}[int(how)%3]
		second := plan.Slot{ID: "b", Exercise: string(list[int(how)%len(list)].ID), Dose: dose}
		slots := []plan.Slot{first, second}
		if how%2 == 0 {
			superset(slots...)
		}
		sound(t, athlete(c).Week(block(slots...), 1, Options{Draws: 3, Seed: uint64(which)}))
	})
}
