package evidence

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"corbel/anatomy"
	"corbel/exercise"
)

// matrix is J of drills, divided by the error of two sets where weighted.
func matrix(m *Model, weighted bool, only func(*Drill) bool) *mat.Dense {
	var rows []float64
	n := 0
	for i := range m.Drills {
		d := &m.Drills[i]
		if !only(d) {
			continue
		}
		o := d.Coming(0.033, 2)
		sd := 1.0
		if weighted {
			sd = math.Hypot(o.SD, o.Skill)
		}
		for _, j := range d.J {
			rows = append(rows, j/sd)
		}
		n++
	}
	return mat.NewDense(n, len(m.Groups), rows)
}

func rank(t *testing.T, a *mat.Dense) int {
	t.Helper()
	var s mat.SVD
	if !s.Factorize(a, mat.SVDNone) {
		t.Fatal("no singular values")
	}
	n := 0
	for _, x := range s.Values(nil) {
		if x > 0.2 { // a tenth and more of the largest, which is about 1.5
			n++
		}
	}
	return n
}

// Ensure that the drills together tell all groups apart, that drills of several
// joints alone do not, and that no pair of groups looks alike (cosine under 0.6;
// reference: rotators and gluteus maximus 0.54).
func TestGroupsCanBeSeparated(t *testing.T) {
	for _, set := range Sets() {
		m := ModelOf(set)
		if r := rank(t, matrix(m, false, func(*Drill) bool { return true })); r != len(m.Groups) {
			t.Errorf("%s: rank %d of %d groups", set, r, len(m.Groups))
		}
		a := matrix(m, true, func(*Drill) bool { return true })
		for g := range m.Groups {
			for h := range g {
				x, y := a.ColView(g), a.ColView(h)
				c := mat.Dot(x, y) / math.Sqrt(mat.Dot(x, x)*mat.Dot(y, y))
				if c > 0.6 {
					t.Errorf("%s: %s and %s have cosine %.2f", set, m.Groups[g].ID, m.Groups[h].ID, c)
				}
			}
		}
	}
	several := map[string]bool{"split-squat": true, "step-up": true, "single-leg-squat": true, "single-leg-romanian-deadlift": true, "single-leg-glute-bridge": true}
	if r := rank(t, matrix(ModelOf("lower"), false, func(d *Drill) bool { return several[d.Exercise] })); r > 3 {
		t.Errorf("drills of several joints alone have rank %d", r)
	}
}

// Ensure that the drill that separates a pair loads the one and not the other.
func TestSeparatingDrills(t *testing.T) {
	m := ModelOf("lower")
	for _, c := range []struct{ drill, on, off string }{
		{"seated-hip-external-rotation", "hip-rotators", "gluteus-maximus"},
		{"bent-knee-hip-extension", "gluteus-maximus", "hip-rotators"},
		{"side-lying-hip-abduction", "hip-abductors", "hip-rotators"},
		{"seated-leg-curl", "hamstrings", "gluteus-maximus"},
		{"knee-extension", "quadriceps", "gluteus-maximus"},
	} {
		d := m.Drill(c.drill)
		if on, off := d.J[m.Number(c.on)], d.J[m.Number(c.off)]; on < 3*off {
			t.Errorf("%s: %s %.2f, %s %.2f", c.drill, c.on, on, c.off, off)
		}
	}
}

// Ensure that groups name known muscles, each once, and drills exercises of the
// library.
func TestTablesNameWhatIsThere(t *testing.T) {
	for _, set := range Sets() {
		m := ModelOf(set)
		seen := map[anatomy.Muscle]bool{}
		for _, g := range m.Groups {
			for _, x := range g.Muscles {
				known := false
				for _, v := range anatomy.Muscle("").Values() {
					known = known || v == string(x)
				}
				if !known || seen[x] {
					t.Errorf("%s: muscle %s", g.ID, x)
				}
				seen[x] = true
			}
		}
		for _, d := range m.Drills {
			if exercise.Shipped.ByID(d.Exercise) == nil {
				t.Errorf("%s is not in the library", d.Exercise)
			}
		}
	}
}
