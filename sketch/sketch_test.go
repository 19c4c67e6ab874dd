package sketch

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/anatomy"
	"corbel/body"
	"corbel/exercise"
	"corbel/figure"
)

// people are the bodies postures are drawn on: of reference size, short and tall.
var people = []body.Measures{
	{Sex: "between", Height: body.ReferenceHeight, Mass: body.ReferenceMass},
	{Sex: "female", Height: 1.54, Mass: 52},
	{Sex: "male", Height: 1.96, Mass: 104},
}

// each calls check for every exercise that has postures, on a body.
func each(t testing.TB, m body.Measures, check func(e *exercise.Exercise, f *Figure)) {
	t.Helper()
	b, err := body.NewBody(m)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, e := range exercise.Shipped.All() {
		f, err := New(exercise.Shipped, e, b, 0, false)
		var impossible *body.Impossible
		switch {
		case errors.Is(err, ErrNoPostures), errors.As(err, &impossible) && m != people[0]:
			continue
		case err != nil:
			t.Errorf("%s: %v", e.ID, err)
			continue
		}
		n++
		check(e, f)
	}
	if n < 75 {
		t.Fatalf("only %d exercises were looked at", n)
	}
}

// handMost is how far the middle of a closed hand may be from the middle of what it
// holds, m.
const handMost = 0.010

// Ensure that every closed hand is within 10 mm of the axis of a bar, handle or
// dumbbell, that a hand which carries a bar is closed, and that a wrist bends no
// further than a hand is long.
func TestHandsMeetTheBar(t *testing.T) {
	held := 0
	for _, m := range people {
		each(t, m, func(e *exercise.Exercise, f *Figure) {
			for i, p := range f.poses {
				name := p.Posture.Pose.Name
				for side, h := range p.hands {
					if barOnBody(f, p) && !h.shut {
						t.Errorf("%s %s: the hand of side %d does not reach the bar", e.ID, name, side)
						continue
					}
					if !h.shut {
						continue
					}
					held++
					if d := nearestGrip(f.scenes[i], h.at); d > handMost {
						t.Errorf("%s %s: a hand is %.0f mm off what it holds", e.ID, name, 1000*d)
					}
					wrist := p.Frames.Segment[body.Forearm.Of(side)].At(r3.Vec{Y: -p.Body.Measures.Forearm})
					if d := r3.Norm(r3.Sub(h.at, wrist)); d > farReach*p.h+1e-9 {
						t.Errorf("%s %s: a hand is %.0f mm from its wrist", e.ID, name, 1000*d)
					}
				}
			}
		})
	}
	if held < 200 {
		t.Errorf("only %d hands hold anything", held)
	}
}

// barOnBody says whether a bar is drawn on trunk or hips, which hands steady.
func barOnBody(f *Figure, p *person) bool {
	g := gear{person: p, of: f.Exercise}
	return slices.ContainsFunc(p.Posture.Pose.Loads, func(l exercise.Term) bool {
		return (l.Name == "trunk" || l.Name == "pelvis") && g.usual(l.Name) && !g.has("standing-calf-machine")
	})
}

// nearestGrip is the distance of a hand from the nearest thing that can be held.
func nearestGrip(parts []part, hand r3.Vec) float64 {
	best := math.Inf(1)
	for _, p := range parts {
		switch p.name {
		case "bar", "handle", "dumbbell", "kettlebell", "cable", "band":
			for _, x := range p.pieces {
				if len(x) == 2 {
					best = min(best, away(hand, x[0].at, x[1].at))
				}
				if p.name == "dumbbell" && len(x) > 2 { // held by its head
					best = min(best, headOff(hand, x))
				}
			}
		}
	}
	return best
}

// headOff is how far a hand is outside the head of a dumbbell.
func headOff(hand r3.Vec, head piece) float64 {
	var mid r3.Vec
	for _, b := range head {
		mid = r3.Add(mid, r3.Scale(1/float64(len(head)), b.at))
	}
	return max(0, r3.Norm(r3.Sub(hand, mid))-r3.Norm(r3.Sub(head[0].at, mid)))
}

// away is the distance of a point from a stretch.
func away(p, a, b r3.Vec) float64 {
	d := r3.Sub(b, a)
	t := 0.0
	if l := r3.Dot(d, d); l > 0 {
		t = max(0, min(1, r3.Dot(r3.Sub(p, a), d)/l))
	}
	return r3.Norm(r3.Sub(p, r3.Add(a, r3.Scale(t, d))))
}

// floorMost is how deep flesh may sink into the floor, m: what a contact of the
// body model lies inside the skin.
const floorMost = 0.012

// Ensure that nothing of the body lies below the floor.
func TestNothingUnderTheFloor(t *testing.T) {
	each(t, people[0], func(e *exercise.Exercise, f *Figure) {
		for i, p := range f.poses {
			worst, where := 0.0, ""
			for _, x := range f.scenes[i] {
				if x.stuff != flesh {
					continue
				}
				for _, b := range slices.Concat(x.pieces...) {
					if deep := b.r - b.at.Y; deep > worst {
						worst, where = deep, x.name
					}
				}
			}
			if worst > floorMost {
				t.Errorf("%s %s: %s is %.0f mm under the floor", e.ID, p.Posture.Pose.Name, where, 1000*worst)
			}
		}
	})
}

// benchMost is how deep flesh may sink into bench, box or seat, m: soft parts give
// way, and what is drawn of them is round.
const benchMost = 0.030

// Ensure that no point of the body lies inside bench, box, step or seat.
func TestNothingInsideTheBench(t *testing.T) {
	boxes := 0
	each(t, people[0], func(e *exercise.Exercise, f *Figure) {
		for i, p := range f.poses {
			name := p.Posture.Pose.Name
			for _, w := range f.scenes[i] {
				if !w.fixed || w.stuff != frame || !slices.Contains([]string{"bench", "box", "seat", "bench-leg"}, w.name) {
					continue
				}
				boxes++
				low, high := w.pieces[0][0].at, w.pieces[0][7].at
				for _, x := range f.scenes[i] {
					if x.stuff != flesh {
						continue
					}
					if deep := sunk(x.pieces, low, high); deep > benchMost {
						t.Errorf("%s %s: %s is %.0f mm inside %s", e.ID, name, x.name, 1000*deep, w.name)
					}
				}
			}
		}
	})
	if boxes < 20 {
		t.Errorf("only %d benches and boxes were looked at", boxes)
	}
}

// sunk is how deep the balls of pieces, and those between them, lie in a box.
func sunk(pieces []piece, low, high r3.Vec) float64 {
	worst := 0.0
	for _, p := range pieces {
		for i := range p {
			for k := range i + 1 {
				for n := range 5 {
					t := float64(n) / 4
					at := r3.Add(r3.Scale(1-t, p[i].at), r3.Scale(t, p[k].at))
					r := (1-t)*p[i].r + t*p[k].r
					deep := math.Inf(1)
					for _, d := range []float64{at.X - low.X, high.X - at.X, at.Y - low.Y, high.Y - at.Y, at.Z - low.Z, high.Z - at.Z} {
						deep = min(deep, d+r)
					}
					worst = max(worst, deep)
				}
			}
		}
	}
	return worst
}

// crossMost says how far two limbs may go into one another: the axis of one never
// enters the other by more than this part of the thicker radius. Radii are those of
// relaxed flesh; where calf meets thigh or thigh meets belly it gives way, up to
// where the bones would meet.
const crossMost = 0.5

// Ensure that limbs do not go through one another or through trunk and head.
func TestLimbsDoNotCross(t *testing.T) {
	each(t, people[0], func(e *exercise.Exercise, f *Figure) {
		for _, p := range f.poses {
			name := p.Posture.Pose.Name
			limbs := p.limbs()
			for i, a := range limbs {
				for _, b := range limbs[:i] {
					if a.joins == b.name || b.joins == a.name {
						continue
					}
					d := apart(a.from, a.to, b.from, b.to)
					deep := 1 - d/max(a.r, b.r) // 0 where an axis touches the skin of the other
					if deep > crossMost {
						t.Errorf("%s %s: %s and %s cross, %.0f mm between their axes (%.2f)", e.ID, name, a.name, b.name, 1000*d, deep)
					}
				}
			}
		}
	})
}

// A limb is a capsule of a person, for tests.
type limb struct {
	name, joins string
	from, to    r3.Vec
	r           float64
}

// limbs lists the capsules of a person, the near ends cut off where they join.
func (p *person) limbs() []limb {
	at := func(s body.Segment) r3.Vec { return p.Frames.Segment[s].Origin }
	top := p.Frames.Segment[body.Thorax].At(r3.Vec{Y: p.Body.Size.ShoulderUp * 0.9})
	list := []limb{{"trunk", "head", at(body.Pelvis), top, 0.055 * p.h},
		{"head", "trunk", p.skull(p.turn, 0, p.top(), 0), p.skull(p.turn, 0.012, p.top()-0.03, 0), skullR * p.h}}
	for side := range 2 {
		of := func(s body.Segment) body.Segment { return s.Of(side) }
		wrist := p.Frames.Segment[of(body.Forearm)].At(r3.Vec{Y: -p.Body.Measures.Forearm})
		toe := p.of(of(body.Foot), p.Body.Size.BallFront/p.h, -0.02, 0)
		list = append(list, limb{of(body.Thigh).String(), "trunk", at(of(body.Thigh)), at(of(body.Shank)), 0.042 * p.h},
			limb{of(body.Shank).String(), of(body.Thigh).String(), at(of(body.Shank)), at(of(body.Foot)), 0.026 * p.h},
			limb{of(body.Foot).String(), of(body.Shank).String(), at(of(body.Foot)), toe, instepR * p.h},
			limb{of(body.UpperArm).String(), "trunk", at(of(body.UpperArm)), at(of(body.Forearm)), 0.025 * p.h},
			limb{of(body.Forearm).String(), of(body.UpperArm).String(), at(of(body.Forearm)), wrist, 0.021 * p.h},
			limb{"hand" + of(body.Forearm).String(), of(body.Forearm).String(), wrist, p.hands[side].at, wristR * p.h})
	}
	return list
}

// apart is the distance of two stretches, by sampling.
func apart(a, b, c, d r3.Vec) float64 {
	best := math.Inf(1)
	for i := range 41 {
		t := float64(i) / 40
		best = min(best, away(r3.Add(r3.Scale(1-t, a), r3.Scale(t, b)), c, d))
	}
	return best
}

// Ensure that the same figure gives the same bytes, that they are well-formed, and
// that every mark lies inside the drawing, for every way of drawing.
func TestDrawings(t *testing.T) {
	b, err := body.NewBody(people[0])
	if err != nil {
		t.Fatal(err)
	}
	each(t, people[0], func(e *exercise.Exercise, f *Figure) {
		again, err := New(exercise.Shipped, e, b, 0, false)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range []Options{{}, {Grey: true, Size: 16}, {Tile: true, Size: 10.6}, {View: Side}, {View: Front}, {View: ThreeQuarter}, {View: Back, Grey: true}} {
			o.Shares = Stated(e, false)
			d := f.Draw(o)
			svg := figure.SVG(d)
			if !bytes.Equal(svg, figure.SVG(again.Draw(o))) {
				t.Errorf("%s %+v: other bytes the second time", e.ID, o)
			}
			wellFormed(t, svg)
			for _, m := range d.Marks {
				for _, r := range m.Rings {
					for _, p := range r {
						if !(p.X >= -1e-9 && p.Y >= -1e-9 && p.X <= d.W+1e-9 && p.Y <= d.H+1e-9) {
							t.Fatalf("%s %+v: %s leaves the drawing at %.2f, %.2f", e.ID, o, m.Part, p.X, p.Y)
						}
					}
				}
			}
		}
	})
}

func wellFormed(t *testing.T, svg []byte) {
	t.Helper()
	for d := xml.NewDecoder(bytes.NewReader(svg)); ; {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatal(err)
		}
	}
}

// Ensure that an exercise on the left is the mirror image of that on the right: the
// drawing (a tile, without the arrow, whose two places may be equally good) is as
// large, and every part of the body lies at the mirrored place.
func TestLeftIsTheMirror(t *testing.T) {
	b, err := body.NewBody(people[0])
	if err != nil {
		t.Fatal(err)
	}
	swap := strings.NewReplacer("_r", "_l", "_l", "_r")
	each(t, people[0], func(e *exercise.Exercise, f *Figure) {
		left, err := New(exercise.Shipped, e, b, 0, true)
		if err != nil {
			t.Fatal(err)
		}
		r, l := f.Draw(Options{View: Side, Tile: true}), left.Draw(Options{View: Side, Tile: true})
		if math.Abs(r.W-l.W) > 0.1 || math.Abs(r.H-l.H) > 0.1 {
			t.Errorf("%s: %.1f by %.1f mm, mirrored %.1f by %.1f", e.ID, r.W, r.H, l.W, l.H)
		}
		theirs := fleshAt(l)
		for name, at := range fleshAt(r) {
			m, ok := theirs[swap.Replace(name)]
			if !ok || math.Abs(at[0]-(l.W-m[1])) > 0.2 || math.Abs(at[1]-(l.W-m[0])) > 0.2 || math.Abs(at[2]-m[2]) > 0.2 {
				t.Errorf("%s: %s lies at %.1f, mirrored at %.1f in %.1f mm", e.ID, name, at, m, l.W)
			}
		}
	})
}

// fleshAt gives left edge, right edge and top of every part of the body, mm.
func fleshAt(d *figure.Drawing) map[string][3]float64 {
	out := map[string][3]float64{}
	for _, m := range d.Marks {
		if !strings.Contains(m.Part, "_") && m.Part != "trunk" && m.Part != "head" {
			continue
		}
		at := [3]float64{math.Inf(1), math.Inf(-1), math.Inf(1)}
		for _, r := range m.Rings {
			for _, p := range r {
				at = [3]float64{min(at[0], p.X), max(at[1], p.X), min(at[2], p.Y)}
			}
		}
		out[m.Part] = at
	}
	return out
}

// Ensure that print tells shares without colour: in grey a busier muscle is hatched
// more densely, and what does not work is not marked.
func TestHatchingTellsShares(t *testing.T) {
	b, err := body.NewBody(people[0])
	if err != nil {
		t.Fatal(err)
	}
	f, err := New(exercise.Shipped, exercise.Shipped.ByID("back-squat"), b, 0, false)
	if err != nil {
		t.Fatal(err)
	}
	last := 0
	for _, share := range []float64{0.1, 0.2, 0.5, 0.9} {
		d := f.Draw(Options{View: Side, Grey: true, Shares: Shares{{Muscle: "quadriceps", Side: anatomy.Right}: share}})
		lines := 0
		for _, m := range d.Marks {
			if strings.Contains(m.Part, "quadriceps") && m.Open {
				lines += len(m.Rings)
			}
		}
		if share == 0.1 && lines > 0 || share > 0.1 && lines <= last {
			t.Errorf("a share of %g has %d lines, the one before %d", share, lines, last)
		}
		last = lines
	}
}

// Ensure that every muscle of package anatomy has a place on the body, and shows
// from the front or the back on the map, on the side asked for alone.
func TestMapShowsEveryMuscleAndRegion(t *testing.T) {
	b, err := body.NewBody(people[0])
	if err != nil {
		t.Fatal(err)
	}
	var list []Finding
	for _, m := range anatomy.Muscle("").Values() {
		list = append(list, Finding{Muscle: anatomy.Muscle(m), Side: anatomy.Left, Weight: 1})
	}
	for _, r := range anatomy.Region("").Values() {
		list = append(list, Finding{Region: anatomy.Region(r), Side: anatomy.Left, Weight: 1})
	}
	for _, x := range list {
		d := Map(b, []Finding{x}, Options{})
		name := cmpOr(string(x.Muscle), string(x.Region))
		found := 0
		for _, m := range d.Marks {
			if strings.Contains(m.Part, name) {
				found++
				if !strings.Contains(m.Part, "left") {
					t.Errorf("%s is marked on %s", name, m.Part)
				}
			}
		}
		if found == 0 {
			t.Errorf("%s is not on the map", name)
		}
	}
}

func cmpOr(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// Ensure that the view chosen is the one coaches would choose, for exercises where
// that is beyond doubt (our judgement).
func TestTellingView(t *testing.T) {
	want := map[string]View{"back-squat": Side, "deadlift": Side, "split-squat": Side, "plank": Side, "knee-extension": Side, "hip-thrust": Side,
		"hip-abduction-machine": Front, "lateral-band-walk": Front, "side-plank": Front, "side-lying-hip-abduction": Front, "lateral-lunge": Front,
		"bench-press": Side, "push-up": Side, "barbell-curl": Side, "pushdown": Side, "lateral-raise": Front, "band-pull-apart": Back, "clamshell": Front, "fly": ThreeQuarter}
	each(t, people[0], func(e *exercise.Exercise, f *Figure) {
		if v, ok := want[string(e.ID)]; ok && f.View() != v {
			t.Errorf("%s is shown from the %s: %v", e.ID, f.View(), f.views)
		}
	})
}

// Ensure that what lies nearer is painted later: in a split squat seen from the
// right, the right thigh after the left one.
func TestPainterOrder(t *testing.T) {
	each(t, people[0], func(e *exercise.Exercise, f *Figure) {
		if e.ID != "split-squat" {
			return
		}
		at := map[string]int{}
		for i, m := range f.Draw(Options{View: Side}).Marks {
			at[m.Part] = i
		}
		if at["thigh_r"] < at["thigh_l"] || at["shank_r"] < at["shank_l"] || at["upper-arm_r"] < at["trunk"] || at["trunk"] < at["upper-arm_l"] {
			t.Errorf("the order is %v", at)
		}
	})
}

// BenchmarkDraw draws one figure from solved postures and writes it as SVG.
func BenchmarkDraw(b *testing.B) {
	person, err := body.NewBody(people[0])
	if err != nil {
		b.Fatal(err)
	}
	e := exercise.Shipped.ByID("split-squat")
	var solved []*body.Solved
	for _, p := range body.Postures(exercise.Shipped, e) {
		s, err := person.Solve(p, 20)
		if err != nil {
			b.Fatal(err)
		}
		solved = append(solved, s)
	}
	shares := Stated(e, false)
	for b.Loop() {
		figure.SVG(Pose(e, solved, false).Draw(Options{Shares: shares}))
	}
}
