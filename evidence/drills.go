package evidence

import (
	_ "embed"
	"math"
	"slices"

	"corbel/num"
)

//go:embed drills.csv
var drillsText string

//go:embed sensitivity.csv
var sensitivityText string

// A Basis says where the sensitivities of a drill come from.
type Basis string

// Bases: computed by the body model, or stated with a source.
const (
	Computed Basis = "computed"
	Stated   Basis = "stated"
)

// A Drill is a test of one side at a time.
type Drill struct {
	Exercise string  // id in the library
	Measure  Measure // by which sides are compared best
	Reps     float64 // repetitions a side that are usual in it; 0 for holds
	Minutes  float64 // both sides, two sets each
	Basis    Basis
	J        []float64 // by group: d ln(limit)/d ln(strength of the tested side)
	SD       []float64 // of J between bodies, at least leastSpread of it

	between []float64 // SD of J between bodies, as tabled
}

// leastSpread is the least relative SD of a sensitivity: what the mean over bodies
// leaves out (1; our judgement).
const leastSpread = 0.20

// readDrills reads drills and their sensitivities into a model.
func (m *Model) readDrills() {
	t := num.ReadTable("drills.csv", drillsText)
	for i := range t.Len() {
		if t.Text(i, "set") != m.Set {
			continue
		}
		m.Drills = append(m.Drills, Drill{
			Exercise: t.Text(i, "exercise"), Measure: Measure(t.Text(i, "measure")), Reps: t.Number(i, "reps"),
			Minutes: t.Number(i, "minutes"), Basis: Basis(t.Text(i, "use")),
			J: make([]float64, len(m.Groups)), SD: make([]float64, len(m.Groups)), between: make([]float64, len(m.Groups)),
		})
	}
	t = num.ReadTable("sensitivity.csv", sensitivityText)
	for i := range t.Len() {
		d := m.Drill(t.Text(i, "exercise"))
		g := m.Number(t.Text(i, "group"))
		if d == nil || d.Basis != Basis(t.Text(i, "basis")) {
			continue
		}
		if g < 0 {
			panic("evidence: sensitivity.csv: a drill and a group of different sets: " + d.Exercise)
		}
		j := t.Number(i, "j")
		d.J[g], d.between[g] = j, t.Number(i, "sd")
		d.SD[g] = max(d.between[g], leastSpread*math.Abs(j))
	}
	for _, d := range m.Drills {
		if !slices.ContainsFunc(d.J, func(j float64) bool { return j != 0 }) {
			panic("evidence: sensitivity.csv: no row for " + d.Exercise)
		}
	}
}

// Drill returns the drill of an exercise, or nil.
func (m *Model) Drill(exercise string) *Drill {
	for i := range m.Drills {
		if m.Drills[i].Exercise == exercise {
			return &m.Drills[i]
		}
	}
	return nil
}
