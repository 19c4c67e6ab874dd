package sketch

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/body"
	"corbel/exercise"
)

// inside is how deep a point lies in the hull of balls, m; below 0 it is outside. It
// is the largest of what every ball between them says, found on a grid of their
// weights.
func (p piece) inside(at r3.Vec) float64 {
	const steps = 6
	best := math.Inf(-1)
	var walk func(i, left int, mid r3.Vec, r float64)
	walk = func(i, left int, mid r3.Vec, r float64) {
		if i == len(p)-1 {
			w := float64(left) / steps
			mid, r = r3.Add(mid, r3.Scale(w, p[i].at)), r+w*p[i].r
			best = max(best, r-r3.Norm(r3.Sub(at, mid)))
			return
		}
		for n := range left + 1 {
			w := float64(n) / steps
			walk(i+1, left-n, r3.Add(mid, r3.Scale(w, p[i].at)), r+w*p[i].r)
		}
	}
	walk(0, steps, r3.Vec{}, 0)
	return best
}

// sunkAxis is how deep the axis of a limb, between two parts of its length, lies in
// the trunk as it is drawn, m.
func (p *person) sunkAxis(s body.Segment, long, from, to float64) float64 {
	deep := math.Inf(-1)
	pieces := p.trunk().pieces
	for i := range 11 {
		t := from + (to-from)*float64(i)/10
		at := p.Frames.Segment[s].At(r3.Vec{Y: -t * long})
		for _, x := range pieces {
			deep = max(deep, x.inside(at))
		}
	}
	return deep
}

// fleshMost is how far the axis of an arm or a thigh may lie inside the skin of the
// trunk, m: arms that cross on the chest press into it, a deeply bent thigh into the
// belly.
const fleshMost = 0.010

// Parts of a limb, from its upper end, that must be clear of the trunk: nearer to the
// joint the limb is part of it.
const armFrom, thighFrom = 0.5, 0.4

// Ensure that no arm goes through the trunk and no thigh through the belly.
func TestArmsAndThighsStayOutsideTheTrunk(t *testing.T) {
	near := 0
	each(t, people[0], func(e *exercise.Exercise, f *Figure) {
		for _, p := range f.poses {
			m := p.Body.Measures
			for side := range 2 {
				for _, limb := range []struct {
					segment    body.Segment
					long, from float64
				}{{body.UpperArm, m.UpperArm, armFrom}, {body.Forearm, m.Forearm, 0}, {body.Thigh, m.Thigh, thighFrom}} {
					deep := p.sunkAxis(limb.segment.Of(side), limb.long, limb.from, 1)
					if deep > fleshMost {
						t.Errorf("%s %s: the axis of %s is %.0f mm inside the trunk", e.ID, p.Posture.Pose.Name, limb.segment.Of(side), 1000*deep)
					}
					if deep > -0.05 {
						near++
					}
				}
			}
		}
	})
	if near < 50 {
		t.Errorf("only %d limbs come near the trunk", near)
	}
}

// Ensure that the measure tells in from out: the middle of the chest lies in the
// trunk by its half depth, and a hand's breadth before the chest is outside.
func TestSunkAxisKnowsTheTrunk(t *testing.T) {
	b, err := body.NewBody(people[0])
	if err != nil {
		t.Fatal(err)
	}
	f, err := New(exercise.Shipped, exercise.Shipped.ByID("back-squat"), b, 0, false)
	if err != nil {
		t.Fatal(err)
	}
	p := f.poses[0]
	deepest := func(x float64) float64 {
		deep := math.Inf(-1)
		for _, piece := range p.trunk().pieces {
			deep = max(deep, piece.inside(p.of(body.Thorax, x, 0.14, 0)))
		}
		return deep / p.h
	}
	if in, out := deepest(0.008), deepest(0.118); math.Abs(in-0.060) > 0.004 || math.Abs(out+0.050) > 0.004 {
		t.Errorf("the middle of the chest is %.3f H deep, before it %.3f H", in, out)
	}
}

// palmMost is how far a palm that carries may lie off the floor, m: forearms lean, and
// the heel of the hand is round.
const palmMost = 0.040

// Ensure that a palm that carries lies on the floor, or on a bench high above it.
func TestPalmsLieOnTheFloor(t *testing.T) {
	palms := 0
	for _, m := range people {
		each(t, m, func(e *exercise.Exercise, f *Figure) {
			for _, p := range f.poses {
				for _, touch := range p.Touches() {
					if touch.Contact.Name != "palm" {
						continue
					}
					palms++
					if y := lowestOf(touch); y > palmMost && y < 2*lowest || y < -floorMost {
						t.Errorf("%s %s: a palm carries %.0f mm above the floor", e.ID, p.Posture.Pose.Name, 1000*y)
					}
				}
			}
		})
	}
	if palms < 30 {
		t.Errorf("only %d palms carry", palms)
	}
}
