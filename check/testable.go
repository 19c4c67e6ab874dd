package check

import (
	"slices"

	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// Testable returns why an exercise may not be used as a test on a day: no place has
// what it needs ("equipment"), or the code of the safety rule that rules it out; and
// nothing where it may. What stops the client as a whole stops every test.
func Testable(c *client.Client, lib *exercise.Library, day form.Date) func(*exercise.Exercise) string {
	why, all := map[string]string{}, ""
	since := (int(day.Time().Weekday()) + daysInWeek - 1) % daysInWeek // days since Monday
	weekday := client.Weekday(client.Weekday("").Values()[since])
	b := &plan.Block{ID: "test", Start: day.Plus(-since), Weeks: 1, Sessions: []plan.Session{{ID: "test", Day: weekday}}}
	dose, err := plan.ParseDose(testDose)
	if err != nil {
		panic("check: the dose of a test does not read: " + err.Error())
	}
	for _, e := range lib.All() {
		b.Sessions[0].Slots = append(b.Sessions[0].Slots, plan.Slot{ID: e.ID, Exercise: string(e.ID), Dose: dose})
	}
	for _, p := range Safety(Input{Client: c, Block: b, Library: lib, On: day}) {
		switch {
		case p.At == (At{}) && p.Blocks():
			all = string(p.Code)
		case p.At.Slot != "" && p.Severity != Note && why[p.At.Slot] == "":
			why[p.At.Slot] = string(p.Code)
		}
	}
	return func(e *exercise.Exercise) string {
		if all != "" {
			return all
		}
		if len(c.Places) > 0 && !slices.ContainsFunc(c.Places, func(p client.Place) bool {
			return !slices.ContainsFunc(e.Equipment, func(q client.Equipment) bool { return !p.Offers(q) })
		}) {
			return "equipment"
		}
		return why[string(e.ID)]
	}
}

const daysInWeek = 7

// testDose is what a test asks for: two sets a side with one repetition left.
const testDose = "2 x 12 rir 1"
