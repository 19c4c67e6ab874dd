package check

import (
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
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
