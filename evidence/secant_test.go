package evidence

import (
	"math"
	"os"
	"testing"

	"corbel/body"
	"corbel/exercise"
)

// Ensure that the table holds what the body model gives: a few rows, all groups and
// exercises under CORBEL_LONG. Within 0.05: the table is written to two places, and
// small changes of the body model need no new table (go run ./evidence/gen).
func TestSensitivitiesAreThoseOfTheBody(t *testing.T) {
	bodies, err := SecantBodies()
	if err != nil {
		t.Fatal(err)
	}
	m := ModelOf("lower")
	rows := map[string][]string{"side-lying-hip-abduction": {"hip-abductors"}}
	if os.Getenv("CORBEL_LONG") != "" {
		rows = map[string][]string{}
		for _, d := range m.Drills {
			if d.Basis == Computed {
				for _, g := range m.Groups {
					rows[d.Exercise] = append(rows[d.Exercise], g.ID)
				}
			}
		}
	}
	for drill, groups := range rows {
		d := m.Drill(drill)
		if d.Basis != Computed {
			t.Errorf("%s is stated", drill)
		}
		for _, id := range groups {
			g := m.Number(id)
			mean, sd, n := MeanSecant(bodies, exercise.Shipped, exercise.Shipped.ByID(drill), &m.Groups[g])
			if n < 2 || math.Abs(mean-d.J[g]) > 0.05 {
				t.Errorf("%s, %s: %.2f (SD %.2f) in %d bodies, the table says %.2f; go run ./evidence/gen writes it again", drill, id, mean, sd, n, d.J[g])
			}
		}
	}
}

// Ensure that J is log-linear to 30 % in isolating drills: secants at 5, 15 and 30 %
// agree within 0.1.
func TestSecantsAgree(t *testing.T) {
	bodies, err := SecantBodies()
	if err != nil {
		t.Fatal(err)
	}
	m := ModelOf("lower")
	for drill, group := range map[string]string{"side-lying-hip-abduction": "hip-abductors", "lateral-band-walk": "hip-abductors", "clamshell": "hip-rotators"} {
		var at []float64
		for _, weaker := range []float64{0.05, 0.15, 0.30} {
			sum := 0.0
			for _, b := range bodies[:1] {
				j, ok, err := b.secant(body.Postures(exercise.Shipped, exercise.Shipped.ByID(drill)), &m.Groups[m.Number(group)], weaker)
				if err != nil || !ok {
					t.Fatalf("%s: %v, %v", drill, ok, err)
				}
				sum += j
			}
			at = append(at, sum)
		}
		t.Logf("%s: %.2f at 5 %%, %.2f at 15, %.2f at 30", drill, at[0], at[1], at[2])
		if math.Abs(at[0]-at[1]) > 0.1 || math.Abs(at[2]-at[1]) > 0.1 {
			t.Errorf("%s: secants %.2f", drill, at)
		}
	}
}
