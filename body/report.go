package body

import (
	_ "embed"
	"fmt"
	"io"
	"math"
	"sync"
	"text/tabwriter"

	"corbel/num"
)

//go:embed published-arms.csv
var armsText string

// publishedArm is one published moment arm with the posture it was taken in.
type publishedArm struct {
	muscle, coordinate       string
	hip, abduction, rotation float64 // rad
	knee, ankle              float64 // rad
	arm                      float64 // mm at ReferenceHeight
}

var publishedArms = sync.OnceValue(func() (all []publishedArm) {
	t := num.ReadTable("published-arms", armsText)
	rad := func(i int, c string) float64 { return t.Number(i, c) * radPerDeg }
	for i := range t.Len() {
		all = append(all, publishedArm{t.Text(i, "muscle"), t.Text(i, "coordinate"),
			rad(i, "hip_flexion"), rad(i, "hip_abduction"), rad(i, "hip_rotation"),
			rad(i, "knee_flexion"), rad(i, "ankle_dorsiflexion"), t.Number(i, "arm")})
	}
	return all
})

// armCoordinates are the coordinates that arms are published for.
var armCoordinates = []struct {
	name       string
	coordinate Coordinate
}{
	{"hip_flexion", HipFlexion}, {"hip_abduction", HipAbduction}, {"hip_rotation", HipRotation},
	{"knee_flexion", KneeFlexion}, {"ankle_dorsiflexion", AnkleDorsiflexion}, {"foot_inversion", FootInversion},
}

// hipAxis gives the axis of the hip that the arm is about, or -1.
func (a *publishedArm) hipAxis() int {
	for i, c := range armCoordinates[:3] {
		if c.name == a.coordinate {
			return i
		}
	}
	return -1
}

// posture is where the arm was taken.
func (a *publishedArm) posture() *Q {
	var q Q
	q[HipFlexion], q[HipAbduction], q[HipRotation] = a.hip, a.abduction, a.rotation
	q[KneeFlexion], q[AnkleDorsiflexion] = a.knee, a.ankle
	return &q
}

// armAbout gives the arm about a coordinate of the right side, m; 0 where the
// muscle has none.
func (m *Muscle) armAbout(c Coordinate, q *Q) float64 {
	arms, _ := m.Arms(nil, q, Right)
	for _, a := range arms {
		if a.Coordinate == c {
			return a.Value
		}
	}
	return 0
}

// sharedKnee is the knee flexion up to which extensor arms are the published ones;
// beyond, measured arms hold (key knee-extensor-arm).
const sharedKnee = 60.5 * radPerDeg

// An ArmResidual says how far the model's arms are from published ones.
type ArmResidual struct {
	Coordinate string
	Muscle     string // "" for all
	Arms       int
	RMS, Worst float64 // mm; Worst has its sign
}

// ArmResiduals compares moment arms with those published, for each coordinate and
// all muscles. At the knee only up to 60 degrees.
func ArmResiduals() []ArmResidual { return armResiduals(func(*publishedArm) string { return "" }) }

// armResiduals sorts them by coordinate and by what of says.
func armResiduals(of func(*publishedArm) string) (all []ArmResidual) {
	for _, c := range armCoordinates {
		at := map[string]int{}
		for i := range publishedArms() {
			a := &publishedArms()[i]
			if a.coordinate != c.name || a.coordinate == "knee_flexion" && a.knee > sharedKnee {
				continue
			}
			k, ok := at[of(a)]
			if !ok {
				k = len(all)
				at[of(a)] = k
				all = append(all, ArmResidual{Coordinate: c.name, Muscle: of(a)})
			}
			r := &all[k]
			miss := 1e3*Muscles()[MuscleNumber(a.muscle)].armAbout(c.coordinate, a.posture()) - a.arm
			r.Arms++
			r.RMS += miss * miss
			if math.Abs(miss) > math.Abs(r.Worst) {
				r.Worst = miss
			}
		}
	}
	for i := range all {
		all[i].RMS = math.Sqrt(all[i].RMS / float64(all[i].Arms))
	}
	return all
}

// WriteReport writes the free constants with their sources, how far moment arms
// are from published ones, isometric moments against the norms, and in how many of
// some drawn clients each published direction holds (none for 0 draws).
func WriteReport(w io.Writer, draws int) error {
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(tab, "body: free constants\nconstant\tvalue\tunit\tsource\n")
	for _, c := range constants() {
		fmt.Fprintf(tab, "%s\t%g\t%s\t%s\n", c.name, c.value, c.unit, c.key)
	}
	ties := num.ReadTable("ties", tiesText)
	for i := range ties.Len() {
		fmt.Fprintf(tab, "%s like %s\t%s\t1\t%s\n", ties.Text(i, "muscle"), ties.Text(i, "like"), ties.Text(i, "ratio"), ties.Text(i, "source"))
	}
	fmt.Fprintf(tab, "\nmuscles: moment arms against published\ncoordinate\tmuscle\tarms\trms mm\tworst mm\n")
	for _, r := range ArmResiduals() {
		fmt.Fprintf(tab, "%s\tall\t%d\t%.1f\t%+.1f\n", r.Coordinate, r.Arms, r.RMS, r.Worst)
	}
	for _, r := range armResiduals(func(a *publishedArm) string { return a.muscle }) {
		if r.RMS > 0.05 {
			fmt.Fprintf(tab, "%s\t%s\t%d\t%.1f\t%+.1f\n", r.Coordinate, r.Muscle, r.Arms, r.RMS, r.Worst)
		}
	}
	fmt.Fprintf(tab, "\nmuscles: isometric moments at level 0 against the norms\nfunction\tsex\tangle\tnorm N m\tmodel N m\terror\tallowed\tfactor\tsource\n")
	for _, n := range Norms() {
		c := n.Function.Over(Right)
		got := n.Predicted()
		fmt.Fprintf(tab, "%s\t%s\t%.0f\t%.1f\t%.1f\t%+.1f %%\t%.0f %%\t%.2f\t%s\n", n.Function, n.Sex, n.Posture[c]/radPerDeg, n.Torque, got,
			100*(got/n.Torque-1), 100*n.Tolerance, math.Exp(normFactor(n.Function, n.Sex, &n.Posture, Right)), n.Source)
	}
	fmt.Fprintln(tab)
	writeOrderings(tab, draws)
	return tab.Flush()
}

// writeOrderings writes the published directions.
func writeOrderings(w io.Writer, draws int) {
	if draws <= 0 {
		return
	}
	fmt.Fprintf(w, "body: published directions in %d drawn clients; at least %.0f %% must hold\ndirection\theld\tof\tin view\tsource\n", draws, 100*OrderingHolds)
	for _, o := range Orderings(draws) {
		view := "looked at"
		if o.KeptBack {
			view = "kept back"
		}
		fmt.Fprintf(w, "%s\t%.0f %%\t%d\t%s\t%s\n", o.Name, 100*o.Share(), o.Draws, view, o.Source)
	}
	fmt.Fprintln(w)
}
