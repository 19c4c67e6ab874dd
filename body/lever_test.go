package body

import (
	"math"
	"testing"

	"corbel/exercise"
)

// elbowPath is the moment at the right elbow along the way of a lift at a load, N m,
// from its first posture to its last.
func elbowPath(t *testing.T, id string, load float64) (out []float64) {
	t.Helper()
	b := testBody(t, "man")
	var ends []*Solved
	for _, p := range Postures(exercise.Shipped, exercise.Shipped.ByID(id)) {
		s, err := b.Solve(p, load)
		if err != nil {
			t.Fatal(err)
		}
		ends = append(ends, s)
	}
	const steps = 8
	for i := range len(ends) - 1 {
		for n := range steps {
			s, err := b.Solve(Between(ends[i], ends[i+1], float64(n)/steps), load)
			if err != nil {
				t.Fatal(err)
			}
			st, err := b.Statics(s)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, st.Moments.Named()[elbowMoment])
		}
	}
	return out
}

// meanPeak gives the mean and the largest of numbers.
func meanPeak(x []float64) (mean, peak float64) {
	peak = math.Inf(-1)
	for _, v := range x {
		mean += v / float64(len(x))
		peak = max(peak, v)
	}
	return mean, peak
}

// Ensure that the preacher machine, whose cam keeps its moment, has a lower peak of
// the elbow moment than the bar where both ask the same mean over their range (a
// published direction: key arm-leaders).
func TestPreacherMachineHasTheLowerPeak(t *testing.T) {
	mean, peak := meanPeak(elbowPath(t, "preacher-curl", 30))
	low, _ := meanPeak(elbowPath(t, "machine-preacher-curl", 10))
	high, _ := meanPeak(elbowPath(t, "machine-preacher-curl", 20))
	load := 10 + 10*(mean-low)/(high-low) // the moment grows in a straight line with the load
	machineMean, machinePeak := meanPeak(elbowPath(t, "machine-preacher-curl", load))
	if math.Abs(machineMean-mean) > 0.01*mean {
		t.Fatalf("mean %.2f N m at the bar and %.2f at the machine", mean, machineMean)
	}
	if machinePeak >= 0.95*peak {
		t.Errorf("the peak is %.1f N m at the machine and %.1f at the bar", machinePeak, peak)
	}
	t.Logf("mean %.1f N m; peak %.1f N m at the bar, %.1f at the machine with %.1f kg", mean, peak, machinePeak, load)
}

// Ensure that the handle of a machine asks the same moment of the elbow at every
// angle, but for the weight of forearm and hand: load times gravity times the way
// from elbow to grip, half of it on each side.
func TestHandleKeepsItsMoment(t *testing.T) {
	b := testBody(t, "man")
	want := 0.5 * 20 * gravityOfTest * (b.Measures.Forearm + b.Size.Grip)
	with, without := elbowPath(t, "machine-preacher-curl", 20), elbowPath(t, "machine-preacher-curl", 0)
	for i := range with {
		if got := with[i] - without[i]; math.Abs(got-want) > 1e-6 {
			t.Errorf("at step %d the handle asks %.4f N m, want %.4f", i, got, want)
		}
	}
}

// gravityOfTest is standard gravity, m/s^2, written anew.
const gravityOfTest = 9.80665
