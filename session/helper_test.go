package session

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// near is how far two results of the same sums in another order may lie apart.
const near = 1e-9

// monday is the first day of every block of these tests.
var monday = day("2026-11-30")

// day reads a date that is known to be right.
func day(text string) form.Date {
	d, err := form.ParseDate(text)
	if err != nil {
		panic(err)
	}
	return d
}

// mustDose reads a dose that is known to be right.
func mustDose(t testing.TB, text string) plan.Dose {
	t.Helper()
	d, err := plan.ParseDose(text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return d
}

// slot is a slot with a dose.
func slot(t testing.TB, id, exercise, dose string) plan.Slot {
	t.Helper()
	return plan.Slot{ID: form.ID(id), Exercise: exercise, Dose: mustDose(t, dose)}
}

// superset gives slots one letter.
func superset(slots ...plan.Slot) []plan.Slot {
	for i := range slots {
		slots[i].Superset = "A"
	}
	return slots
}

func kg(x float64) unit.Mass { return unit.MassOf(x, unit.Kg) }

// lift is one repetition, so that the load is the 1RM.
func lift(exercise string, load float64) client.Lift {
	return client.Lift{On: monday.Plus(-10), Exercise: exercise, Load: kg(load), Reps: 1}
}

// trainee is a trained client of 80 kg with some lifts and a hall: a bar of
// 20 kg with plates down to 1.25 kg, dumbbells of 2 to 40 kg in steps of 2 kg, a
// cable of 5 to 80 kg in steps of 5 kg.
func trainee(lifts ...client.Lift) *client.Client {
	c := &client.Client{Form: 1, ID: "c", Name: "Client", Experience: client.Trained, Background: client.General,
		Measures: []client.Measure{{On: monday.Plus(-20), Mass: kg(80)}}, Lifts: lifts}
	p := client.Place{ID: "p", Name: "Hall", Bars: []client.Bar{{Kind: "bar", Mass: kg(20)}},
		Dumbbells: []client.Steps{{From: kg(2), Step: kg(2), To: kg(40)}},
		Stacks:    []client.Stack{{For: []client.Equipment{"cable"}, Start: kg(5), Step: kg(5), To: kg(80)}}}
	for _, m := range []float64{1.25, 2.5, 5, 10, 20} {
		p.Plates = append(p.Plates, client.Plates{Mass: kg(m), Pairs: 2})
	}
	c.Places = []client.Place{p}
	return c
}

// athlete is the client as of the first day.
func athlete(c *client.Client) *Athlete { return NewAthlete(c, exercise.Shipped, nil, monday) }

// block is one session on Monday, in the client's first place.
func block(slots ...plan.Slot) *plan.Block {
	return &plan.Block{Form: 1, ID: "b", Name: "Block", Start: monday, Weeks: 1, State: plan.Draft, Revision: 1,
		Sessions: []plan.Session{{ID: "s", Name: "Session", Day: "mon", Place: "p", Slots: slots}}}
}

// visit does slots in one session.
func visit(a *Athlete, slots ...plan.Slot) *Visit {
	return a.Week(block(slots...), 1, Options{}).Visits[0]
}

// order writes the steps of a visit: slot, number and side of each set; w before
// a warm-up set, p before a proposed one.
func order(v *Visit) string {
	var out []string
	for _, s := range v.Sets {
		text := fmt.Sprintf("%s%d", v.Items[s.Item].Slot.ID, s.N)
		switch {
		case s.Proposed:
			text = "p:" + string(v.Items[s.Item].Slot.ID)
		case s.Warm:
			text = "w:" + string(v.Items[s.Item].Slot.ID)
		}
		switch s.Side {
		case anatomy.Left:
			text += "L"
		case anatomy.Right:
			text += "R"
		}
		out = append(out, text)
	}
	return strings.Join(out, " ")
}

// rests writes the rest after each step, s.
func rests(v *Visit) string {
	var out []string
	for _, s := range v.program.steps {
		out = append(out, fmt.Sprint(s.after))
	}
	return strings.Join(out, " ")
}

// working lists the working sets of an item.
func working(v *Visit, item int) []SetVisit {
	var out []SetVisit
	for _, s := range v.Sets {
		if s.Item == item && !s.Warm {
			out = append(out, s)
		}
	}
	return out
}

// rerun does the steps of a visit again after edit has changed a copy of them.
func rerun(v *Visit, edit func([]step) []step) *Visit {
	p := *v.program
	p.steps = edit(append([]step(nil), p.steps...))
	again := &Visit{Session: v.Session, Week: v.Week, Place: v.Place, Items: v.Items, athlete: v.athlete, program: &p}
	again.open(Try{})
	again.run(model, Try{})
	return again
}

// within says whether got is want but for tolerance.
func within(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }

// limit is a weak muscle.
func limit(m anatomy.Muscle, side anatomy.Side) client.Limit {
	return client.Limit{Muscle: anatomy.MuscleSide{Muscle: m, Side: side}, Weakness: unit.PercentOf(15), By: "coach"}
}
