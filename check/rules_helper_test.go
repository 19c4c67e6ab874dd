package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// aim is a weekly aim for a muscle.
func aim(m anatomy.Muscle, side anatomy.Side, low, high float64) client.Aim {
	return client.Aim{Muscle: anatomy.MuscleSide{Muscle: m, Side: side}, Sets: client.Band{Low: low, High: high}}
}

// slotOf is a slot with a dose and, after a stroke, a rule for the later weeks.
func slotOf(t testing.TB, id, exercise, dose string) plan.Slot {
	t.Helper()
	dose, rule, _ := strings.Cut(dose, "|")
	s := plan.Slot{ID: form.ID(id), Exercise: exercise}
	if err := s.Dose.UnmarshalText([]byte(dose)); err != nil {
		t.Fatal(err)
	}
	if rule != "" {
		if err := s.Progress.UnmarshalText([]byte(rule)); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// trainee is a cleared client with lifts, a well-equipped place and five days.
func trainee(t testing.TB) *client.Client {
	t.Helper()
	c := cleared(t)
	on := day(t, "2026-11-10")
	c.Measures = []client.Measure{{On: on, Mass: unit.MassOf(80, unit.Kg)}}
	for id, kg := range map[string]float64{"back-squat": 120, "bench-press": 90, "deadlift": 150, "overhead-press": 55, "knee-extension": 60, "barbell-curl": 40, "pushdown": 40, "hip-abduction-machine": 60} {
		c.Lifts = append(c.Lifts, client.Lift{On: on, Exercise: id, Load: unit.MassOf(kg, unit.Kg), Reps: 5})
	}
	slices.SortFunc(c.Lifts, func(a, b client.Lift) int { return strings.Compare(a.Exercise, b.Exercise) })
	p := client.Place{ID: "p", Name: "Hall", Bars: []client.Bar{{Kind: "bar", Mass: unit.MassOf(20, unit.Kg)}},
		Dumbbells: []client.Steps{{From: unit.MassOf(2, unit.Kg), Step: unit.MassOf(2, unit.Kg), To: unit.MassOf(40, unit.Kg)}}}
	for _, m := range []float64{1.25, 2.5, 5, 10, 20} {
		p.Plates = append(p.Plates, client.Plates{Mass: unit.MassOf(m, unit.Kg), Pairs: 2})
	}
	for _, e := range client.Equipment("").Values() {
		p.Has = append(p.Has, client.Equipment(e))
	}
	c.Places = []client.Place{p}
	for _, d := range client.Weekday("").Values()[:5] {
		c.Days = append(c.Days, client.Day{Day: client.Weekday(d), Minutes: 90, Place: "p"})
	}
	return c
}

// head is the start of a block file of two weeks.
const head = `form: 1
id: b
name: Block
client: c.yaml
start: 2026-11-30
weeks: 2
state: draft
revision: 1
`

// one is a session on Monday at the place p of the client.
const one = `sessions:
  - id: a
    name: A
    day: mon
    place: p
    slots:
`

// second starts a session on another day.
func second(day string) string {
	return "  - id: b\n    name: B\n    day: " + day + "\n    place: p\n    slots:\n"
}

// slot is a slot of a YAML block with an id, an exercise, a dose and more fields.
func slot(id, exercise, dose string, more ...string) string {
	s := fmt.Sprintf("      - id: %s\n        exercise: %s\n        dose: %s\n", id, exercise, dose)
	for _, m := range more {
		s += "        " + m + "\n"
	}
	return s
}

// blockOf reads a block from its sessions; text that starts with form: is whole.
func blockOf(t testing.TB, src string) *plan.Block {
	t.Helper()
	if !strings.HasPrefix(src, "form:") {
		src = head + src
	}
	b, err := plan.ReadBlock("b.yaml", []byte(src), exercise.Shipped.Name)
	if err != nil {
		t.Fatalf("%v\n%s", err, src)
	}
	return b
}

// problem returns the first problem of a code, or nil.
func problem(r *Report, code Code) *Problem {
	for i := range r.Problems {
		if r.Problems[i].Code == code {
			return &r.Problems[i]
		}
	}
	return nil
}

// codesOf lists the codes of a report.
func codesOf(r *Report) []string {
	var out []string
	for _, p := range r.Problems {
		out = append(out, string(p.Code))
	}
	return out
}

// fixTexts lists the texts of a problem's ways out.
func fixTexts(p *Problem) []string {
	var out []string
	for _, f := range p.Fixes {
		out = append(out, f.Text)
	}
	return out
}

// deref is what a pointer points to, or a word for nothing.
func deref(x *float64) any {
	if x == nil {
		return "nothing"
	}
	return *x
}
