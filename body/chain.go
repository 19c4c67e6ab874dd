package body

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Frame is where a segment stands: its origin and its three axes in the
// world, each of length 1.
type Frame struct{ Origin, X, Y, Z r3.Vec }

// At returns the world point of a local one, m.
func (f *Frame) At(p r3.Vec) r3.Vec { return r3.Add(f.Origin, f.Turn(p)) }

// Turn returns the world direction of a local one.
func (f *Frame) Turn(v r3.Vec) r3.Vec {
	return r3.Vec{
		X: v.X*f.X.X + v.Y*f.Y.X + v.Z*f.Z.X,
		Y: v.X*f.X.Y + v.Y*f.Y.Y + v.Z*f.Z.Y,
		Z: v.X*f.X.Z + v.Y*f.Y.Z + v.Z*f.Z.Z,
	}
}

// Local returns the components of a world direction along the axes.
func (f *Frame) Local(v r3.Vec) r3.Vec {
	return r3.Vec{X: r3.Dot(v, f.X), Y: r3.Dot(v, f.Y), Z: r3.Dot(v, f.Z)}
}

// axis returns one of the axes: 0 X, 1 Y, 2 Z.
func (f *Frame) axis(i int) r3.Vec {
	switch i {
	case 0:
		return f.X
	case 1:
		return f.Y
	}
	return f.Z
}

// rotate turns the frame by an angle about one of its own axes.
func (f *Frame) rotate(axis int, angle float64) {
	s, c := math.Sincos(angle)
	mix := func(a, b r3.Vec) (r3.Vec, r3.Vec) {
		return r3.Add(r3.Scale(c, a), r3.Scale(s, b)), r3.Sub(r3.Scale(c, b), r3.Scale(s, a))
	}
	switch axis {
	case 0:
		f.Y, f.Z = mix(f.Y, f.Z)
	case 1:
		f.Z, f.X = mix(f.Z, f.X)
	default:
		f.X, f.Y = mix(f.X, f.Y)
	}
}

// World is the frame of the room.
var world = Frame{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}}

// A link ties a segment to its parent.
type link struct {
	parent Segment // -1 for the world
	offset r3.Vec  // of the joint in the parent's frame, m
	first  int     // its hinges in Body.hinges
	last   int     // one past
}

// A hinge is one elementary movement: a turn about or a shift along one axis of
// the frame reached so far, by sign times a coordinate.
type hinge struct {
	segment Segment
	coord   Coordinate
	sign    float64
	axis    int // 0 X, 1 Y, 2 Z
	slide   bool
}

// noParent marks the root of the chain.
const noParent Segment = -1

// link lays out the chain (equations 4 to 8): parents before children.
func (b *Body) link() {
	m, s := b.Measures, b.Size
	b.join(Pelvis, noParent, r3.Vec{}, slide(PelvisX, 0), slide(PelvisY, 1), slide(PelvisZ, 2),
		turn(PelvisYaw, 1, 1), turn(PelvisTilt, -1, 2), turn(PelvisRoll, 1, 0))
	b.join(Thorax, Pelvis, r3.Vec{X: -s.LumbarBack, Y: s.LumbarUp},
		turn(LumbarFlexion, -1, 2), turn(LumbarBend, 1, 0), turn(LumbarTwist, 1, 1))
	for side := range 2 {
		k := outward(side)
		of := func(c Coordinate, sign float64, axis int) hinge { return turn(c.Of(side), sign, axis) }
		b.join(Thigh.Of(side), Pelvis, r3.Vec{Z: k * s.HipHalf}, of(HipFlexion, 1, 2), of(HipAbduction, -k, 0), of(HipRotation, -k, 1))
		b.join(Shank.Of(side), Thigh.Of(side), down(m.Thigh), of(KneeFlexion, -1, 2))
		b.join(Foot.Of(side), Shank.Of(side), down(m.Shank), of(AnkleDorsiflexion, 1, 2), of(FootInversion, k, 0))
		b.join(Scapula.Of(side), Thorax, r3.Vec{X: s.ShoulderFront, Y: s.ShoulderUp, Z: k * s.ShoulderHalf},
			slide(GirdleElevation.Of(side), 1), slide(GirdleProtraction.Of(side), 0))
		b.join(UpperArm.Of(side), Scapula.Of(side), r3.Vec{}, of(ArmPlane, k, 1), of(ArmElevation, -k, 0),
			of(ArmPlane, -k, 1), of(ArmRotation, -k, 1))
		b.join(Forearm.Of(side), UpperArm.Of(side), down(m.UpperArm), of(ElbowFlexion, 1, 2), of(ForearmSupination, -k, 1))
	}
}

// outward is the sign of the world's Z axis that points away from the midline.
func outward(side int) float64 {
	if side == Left {
		return -1
	}
	return 1
}

func slide(c Coordinate, axis int) hinge { return hinge{coord: c, sign: 1, axis: axis, slide: true} }

func turn(c Coordinate, sign float64, axis int) hinge {
	return hinge{coord: c, sign: sign, axis: axis}
}

// join ties a segment to its parent by hinges in order.
func (b *Body) join(s, parent Segment, offset r3.Vec, hinges ...hinge) {
	l := link{parent: parent, offset: offset, first: len(b.hinges)}
	if parent != noParent {
		b.paths[s] = append(b.paths[s], b.paths[parent]...)
	}
	for _, h := range hinges {
		h.segment = s
		b.paths[s] = append(b.paths[s], len(b.hinges))
		b.hinges = append(b.hinges, h)
	}
	l.last = len(b.hinges)
	b.chain[s] = l
}

// Frames is the chain in one posture.
type Frames struct {
	Segment [Segments]Frame // Segment[s].Origin is the proximal joint centre
	axes    []r3.Vec        // of every hinge, in the world
}

// order lists the segments, parents before children.
var order = func() (out [Segments]Segment) {
	for i := range out {
		out[i] = Segment(i)
	}
	return out
}()

// Frames places the chain (equations 4 to 8).
func (b *Body) Frames(q *Q) *Frames {
	f := &Frames{axes: make([]r3.Vec, len(b.hinges))}
	b.place(q, f)
	return f
}

// place does the work of Frames into memory that is there.
func (b *Body) place(q *Q, f *Frames) {
	for _, s := range order {
		l, at := &b.chain[s], world
		if l.parent != noParent {
			at = f.Segment[l.parent]
			at.Origin = at.At(l.offset)
		}
		for i := l.first; i < l.last; i++ {
			h := &b.hinges[i]
			f.axes[i] = at.axis(h.axis)
			x := h.sign * q[h.coord]
			if h.slide {
				at.Origin = r3.Add(at.Origin, r3.Scale(x, f.axes[i]))
			} else {
				at.rotate(h.axis, x)
			}
		}
		f.Segment[s] = at
	}
}

// pointRate adds to row, for every coordinate, the rate at which a point of a
// segment moves along dir, times scale (equation 9). row has one entry a
// coordinate.
func (b *Body) pointRate(f *Frames, s Segment, p, dir r3.Vec, scale float64, row *Q) {
	for _, i := range b.paths[s] {
		h := &b.hinges[i]
		rate := 0.0
		if h.slide {
			rate = r3.Dot(f.axes[i], dir)
		} else {
			rate = r3.Dot(r3.Cross(f.axes[i], r3.Sub(p, f.Segment[h.segment].Origin)), dir)
		}
		row[h.coord] += scale * h.sign * rate
	}
}

// turnRate adds to row the rate at which a direction fixed in a segment turns
// along dir, times scale.
func (b *Body) turnRate(f *Frames, s Segment, v, dir r3.Vec, scale float64, row *Q) {
	for _, i := range b.paths[s] {
		if h := &b.hinges[i]; !h.slide {
			row[h.coord] += scale * h.sign * r3.Dot(r3.Cross(f.axes[i], v), dir)
		}
	}
}
