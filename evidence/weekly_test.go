package evidence

import (
	"testing"

	"corbel/anatomy"
)

// Ensure that a limited side gets its ratio of what the other side does, that the
// coach's own cap counts before it, and that other muscles have none.
func TestCapsForPlanning(t *testing.T) {
	in := rosa(t)
	who := in.Client
	left := anatomy.MuscleSide{Muscle: "hip-abductors", Side: anatomy.Left}
	caps := CapsOf(Input{Client: who, Library: in.Library, Day: in.Day})
	if _, ok := caps.Cap(who, left); ok {
		t.Error("the coach's cap is passed over")
	}
	for i := range who.Aims {
		who.Aims[i].Cap = nil
	}
	if sets, ok := caps.Cap(who, left); !ok || sets <= 0 || sets > 12 {
		t.Errorf("left abductors: %g, %v", sets, ok)
	}
	if _, ok := caps.Cap(who, anatomy.MuscleSide{Muscle: "hip-abductors", Side: anatomy.Right}); ok {
		t.Error("the other side has a cap")
	}
	if _, ok := caps.Cap(who, anatomy.MuscleSide{Muscle: "latissimus", Side: anatomy.Left}); ok {
		t.Error("an unlimited muscle has a cap")
	}
}
