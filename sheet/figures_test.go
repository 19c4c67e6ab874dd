package sheet

import (
	"maps"
	"testing"

	"corbel/anatomy"
	"corbel/exercise"
	"corbel/sketch"
)

// Ensure that figures hatch computed shares where the library says they are good
// enough and stated ones elsewhere, and that the left side mirrors the right.
func TestFiguresHatchByOneRule(t *testing.T) {
	lib := exercise.Shipped
	plank := lib.ByID("plank")
	if got := FigureShares(lib, plank, false); plank.Computed != exercise.ComputedNone || !maps.Equal(got, sketch.Stated(plank, false)) {
		t.Errorf("the plank hatches %v", got)
	}
	e := lib.ByID("split-squat")
	right, left := FigureShares(lib, e, false), FigureShares(lib, e, true)
	computed := reference(lib).Sided(e, false)
	if len(computed) < 10 {
		t.Fatalf("only %d shares of the split squat are computed", len(computed))
	}
	other := map[anatomy.Side]anatomy.Side{anatomy.Right: anatomy.Left, anatomy.Left: anatomy.Right}
	for at, share := range right {
		if want, ok := computed[at]; ok && want != share || !ok && share != sketch.Stated(e, false)[at] {
			t.Errorf("%v is hatched by %.3f", at, share)
		}
		if got := left[anatomy.MuscleSide{Muscle: at.Muscle, Side: other[at.Side]}]; got != share {
			t.Errorf("%v is hatched by %.3f, on the other side by %.3f", at, share, got)
		}
	}
	quads := anatomy.MuscleSide{Muscle: "quadriceps", Side: anatomy.Left}
	if right[quads] >= right[anatomy.MuscleSide{Muscle: "quadriceps", Side: anatomy.Right}] {
		t.Error("the rear thigh of the split squat works as hard as the front one")
	}
}
