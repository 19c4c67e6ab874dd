package body

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/exercise"
	"corbel/unit"
)

// onBody are the points loads hang on, by the word behind on=; right side.
var onBody = map[string]struct {
	segment Segment
	point   func(b *Body) r3.Vec
}{
	"hand":  {Forearm, (*Body).grip},
	"ankle": {Shank, func(b *Body) r3.Vec { return down(b.Measures.Shank * ankleStrap) }},
	"knee":  {Thigh, func(b *Body) r3.Vec { return down(b.Measures.Thigh * kneeStrap) }},
	"foot":  {Foot, func(b *Body) r3.Vec { return b.sole(midFoot) }},
	"waist": {Pelvis, func(b *Body) r3.Vec { return r3.Vec{Y: 0.05 * b.Measures.Height} }},
}

// Straps sit this far along shank and thigh (our judgement; key judgement).
const ankleStrap, kneeStrap = 0.95, 0.95

// loadForces are the forces of a load of m kg on the body. A load in both hands
// (bar, cable) is shared between the sides; one written per hand or per limb acts
// on each.
func (b *Body) loadForces(loads []exercise.Term, m float64, f *Frames) []Force {
	var out []Force
	weight := r3.Vec{Y: -m * unit.StandardGravity}
	for _, l := range loads {
		share := 1.0
		if o, ok := l.Option("share"); ok {
			share = o.Numbers[0].Value
		}
		w := r3.Scale(share, weight)
		switch l.Name {
		case "trunk":
			p := r3.Add(b.shoulders(), r3.Vec{X: b.length(l.Numbers[0]), Y: b.length(l.Numbers[1])})
			out = append(out, Force{Thorax, f.Segment[Thorax].At(p), w})
		case "pelvis":
			p := r3.Vec{X: b.length(l.Numbers[0]), Y: b.length(l.Numbers[1])}
			out = append(out, Force{Pelvis, f.Segment[Pelvis].At(p), w})
		case "bar":
			out = append(out, b.onSides(l, "hand", f, func(int, r3.Vec, *Frame) r3.Vec { return r3.Scale(0.5, w) })...)
		case "hand", "ankle", "knee":
			out = append(out, b.onSides(l, l.Name, f, func(int, r3.Vec, *Frame) r3.Vec { return w })...)
		case "cable":
			out = append(out, b.cable(l, r3.Norm(w), f)...)
		case "band":
			out = append(out, b.band(l, r3.Norm(w), f)...)
		case "pad":
			out = append(out, b.pad(l, r3.Norm(w), f)...)
		case "sled":
			out = append(out, b.sled(l, r3.Norm(w), f)...)
		default:
			panic("body: no load " + l.Name)
		}
	}
	return out
}

// onSides puts a force on a named point of each side the load stands for.
func (b *Body) onSides(l exercise.Term, on string, f *Frames, force func(side int, at r3.Vec, frame *Frame) r3.Vec) []Force {
	place, ok := onBody[on]
	if !ok {
		panic("body: nothing to load at " + on)
	}
	var out []Force
	for _, side := range sides(l, place.segment) {
		s := place.segment.Of(side)
		at := f.Segment[s].At(mirror(place.point(b), side))
		out = append(out, Force{s, at, force(side, at, &f.Segment[s])})
	}
	return out
}

// shared is the part of a force each side gets where both hold one thing.
func shared(l exercise.Term, force float64) float64 {
	if l.Side == exercise.NoSide {
		return force / 2
	}
	return force
}

// onWord is the word behind on=, or the given one.
func onWord(l exercise.Term, or string) string {
	if o, ok := l.Option("on"); ok {
		return o.Word
	}
	return or
}

// cable pulls towards a point of the room, given for the right side.
func (b *Body) cable(l exercise.Term, force float64, f *Frames) []Force {
	to := r3.Vec{X: b.length(l.Numbers[0]), Y: b.length(l.Numbers[1]), Z: b.length(l.Numbers[2])}
	return b.onSides(l, onWord(l, "hand"), f, func(side int, at r3.Vec, _ *Frame) r3.Vec {
		return r3.Scale(shared(l, force), direction(at, mirror(to, side)))
	})
}

// direction is the unit vector from one point to another; where they meet, up.
func direction(from, to r3.Vec) r3.Vec {
	d := r3.Sub(to, from)
	if r3.Norm(d) < 1e-6 {
		return world.Y
	}
	return r3.Unit(d)
}

// band pulls the named points of both sides together.
func (b *Body) band(l exercise.Term, force float64, f *Frames) []Force {
	l.Side = exercise.NoSide
	out := b.onSides(l, l.Word, f, func(int, r3.Vec, *Frame) r3.Vec { return r3.Vec{} })
	if len(out) == 2 {
		out[0].Vector = r3.Scale(force, direction(out[0].Point, out[1].Point))
		out[1].Vector = r3.Scale(-1, out[0].Vector)
	}
	return out
}

// pushDirections are the directions of a machine's pad in the limb's frame, for
// the right side.
var pushDirections = map[string]r3.Vec{"front": {X: 1}, "back": {X: -1}, "out": {Z: 1}, "in": {Z: -1}, "down": {Y: -1}, "up": {Y: 1}}

// pad pushes square to a limb: a machine's roller.
func (b *Body) pad(l exercise.Term, force float64, f *Frames) []Force {
	if onWord(l, "shank") == "hand" {
		return b.handle(l, force, f)
	}
	s, length := Shank, b.Measures.Shank
	if onWord(l, "shank") == "thigh" {
		s, length = Thigh, b.Measures.Thigh
	}
	along := 0.9
	if o, ok := l.Option("along"); ok {
		along = o.Numbers[0].Value
	}
	dir := pushDirections["back"]
	if o, ok := l.Option("push"); ok {
		dir = pushDirections[o.Word]
	}
	var out []Force
	for _, side := range sides(l, s) {
		frame := &f.Segment[s.Of(side)]
		out = append(out, Force{s.Of(side), frame.At(down(along * length)),
			r3.Scale(shared(l, force), frame.Turn(mirror(dir, side)))})
	}
	return out
}

// handle pushes the hands round the elbows, square to forearm and elbow axis: a
// machine that turns with the elbow, whose cam keeps its moment the same at every
// angle. It stretches the elbow where it pushes to the back, else it bends it.
func (b *Body) handle(l exercise.Term, force float64, f *Frames) []Force {
	sign := 1.0
	if o, ok := l.Option("push"); !ok || o.Word == "back" {
		sign = -1
	}
	return b.onSides(l, "hand", f, func(side int, at r3.Vec, frame *Frame) r3.Vec {
		axis := f.Segment[UpperArm.Of(side)].Z
		return r3.Scale(sign*shared(l, force), r3.Unit(r3.Cross(axis, r3.Sub(at, frame.Origin))))
	})
}

// sled pushes on both soles along a rail that rises at an angle: the part of the
// weight along the rail, without friction.
func (b *Body) sled(l exercise.Term, weight float64, f *Frames) []Force {
	s, c := math.Sincos(l.Numbers[0].Value * degree)
	return b.onSides(l, "foot", f, func(int, r3.Vec, *Frame) r3.Vec {
		return r3.Scale(-shared(l, weight*s), r3.Vec{X: c, Y: s})
	})
}

// degree is one degree in radians.
const degree = math.Pi / 180

// angle returns an angle in rad.
func angle(n exercise.Number) float64 { return n.Value*degree + n.Plus }

// length returns a length in m.
func (b *Body) length(n exercise.Number) float64 { return b.bare(n) + n.Plus }

// bare is a length as written, m.
func (b *Body) bare(n exercise.Number) float64 {
	m := &b.Measures
	switch n.Unit {
	case "m", "":
		return n.Value
	case "cm":
		return n.Value / 100
	case "H":
		return n.Value * m.Height
	case "thigh":
		return n.Value * m.Thigh
	case "shank":
		return n.Value * m.Shank
	case "leg":
		return n.Value * (m.Thigh + m.Shank + b.Size.AnkleHeight)
	case "foot":
		return n.Value * m.Foot
	case "trunk":
		return n.Value * m.Trunk
	case "arm":
		return n.Value * (m.UpperArm + m.Forearm + b.Size.Grip)
	}
	panic("body: no unit of length " + n.Unit)
}
