package exercise

import (
	"os"
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
)

// Ensure that stated shares of pulls and trunk follow what is published of them by
// grip and width (key stated-pulls: Youdas et al. 2010, Dickie et al. 2017, Andersen
// et al. 2014, Lusk et al. 2010; the rest common practice).
func TestStatedOrders(t *testing.T) {
	share := func(id, muscle string) float64 {
		e := Shipped.ByID(id)
		if e == nil {
			t.Fatalf("no exercise %s", id)
		}
		return float64(e.Shares[anatomy.Muscle(muscle)])
	}
	for _, row := range []string{"bent-over-barbell-row", "seated-cable-row", "machine-row", "one-arm-dumbbell-row", "inverted-row"} {
		if max(share(row, "latissimus"), share(row, "middle-back")) < 1 {
			t.Errorf("%s: neither latissimus nor middle back leads", row)
		}
		if share(row, "elbow-flexors") <= 0.2 {
			t.Errorf("%s: elbow flexors %g", row, share(row, "elbow-flexors"))
		}
	}
	if share("pull-up-underhand", "elbow-flexors") <= share("pull-up-overhand", "elbow-flexors") {
		t.Error("the underhand pull-up asks no more of the elbow flexors")
	}
	for _, m := range []string{"middle-back", "lower-trapezius"} {
		if share("pull-up-overhand", m) <= share("pull-up-underhand", m) {
			t.Errorf("the overhand pull-up asks no more of %s", m)
		}
	}
	for _, m := range []string{"latissimus", "elbow-flexors", "lower-trapezius"} {
		if d := share("wide-pulldown", m) - share("close-grip-pulldown", m); d < -0.1 || d > 0.1 {
			t.Errorf("pulldowns of both widths differ by %.2f in %s", d, m)
		}
	}
	for _, id := range []string{"face-pull", "rear-delt-raise"} {
		if share(id, "posterior-deltoid") < 1 || share(id, "middle-back") < 0.5 {
			t.Errorf("%s: posterior deltoid %g, middle back %g", id, share(id, "posterior-deltoid"), share(id, "middle-back"))
		}
	}
	flexors := []float64{share("barbell-shrug", "elbow-flexors"), share("bent-over-barbell-row", "elbow-flexors"), share("pull-up-underhand", "elbow-flexors"), share("barbell-curl", "elbow-flexors")}
	if !slices.IsSorted(flexors) || flexors[0] == flexors[1] || flexors[2] == flexors[3] {
		t.Errorf("elbow flexors of shrug, row, underhand pull-up, curl: %v", flexors)
	}
	if share("dip", "elbow-extensors") <= share("bench-press", "elbow-extensors") {
		t.Error("the dip asks no more of the triceps than the bench press")
	}
	if share("plank", "abdominals") < 1 {
		t.Error("the abdominals do not lead the plank")
	}
}

// lower are the patterns of legs and trunk and the carries.
var lower = []Pattern{"squat", "hinge", "lunge", "step", "bridge", "hip-side", "knee", "calf", "trunk", "carry", "mobility"}

// Ensure that of the 80 exercises of legs and trunk and the carries at most eight keep
// their stated shares, and that the drills beyond the 80 that have postures add two at
// most (docs/decision/0027).
func TestFewSharesStayStated(t *testing.T) {
	list, err := os.ReadFile("testdata/the-80.txt")
	if err != nil {
		t.Fatal(err)
	}
	the80 := strings.Fields(string(list))
	posed, stated, drills := 0, []string{}, []string{}
	for _, e := range Shipped.All() {
		if !slices.Contains(lower, e.Pattern) || len(Shipped.Poses(e)) == 0 {
			continue
		}
		posed++
		switch {
		case e.Computed != ComputedNone:
		case slices.Contains(the80, string(e.ID)):
			stated = append(stated, string(e.ID))
		default:
			drills = append(drills, string(e.ID))
		}
	}
	if posed < 50 || len(stated) > 8 || len(drills) > 2 {
		t.Errorf("%d exercises; stated of the 80: %v, of the drills: %v", posed, stated, drills)
	}
}
