package body

import (
	"gonum.org/v1/gonum/spatial/r3"

	"corbel/exercise"
	"corbel/unit"
)

// A Force pushes on a point of a segment.
type Force struct {
	Segment Segment
	Point   r3.Vec // in the world, m
	Vector  r3.Vec // N
}

// A contactKind says where a kind of contact touches the body, and which way it
// can push. All is written for the right side; points mirror with it.
type contactKind struct {
	segment Segment
	points  func(b *Body, along float64) []r3.Vec // in the segment's frame, m
	normal  r3.Vec                                // in the segment's frame; zero is up in the world
	fixed   bool                                  // held: it can pull as well as push
	patch   func(b *Body) (x, z float64)          // half sides of soft flesh that lies flat, m; nil is none
	support func(b *Body, fraction float64) r3.Vec
}

// midFoot is where the pressure under a foot is asked to be unless a posture
// says otherwise, as a fraction of the foot from the heel: a little behind its
// middle, as people stand (our judgement; key judgement).
const midFoot = 0.40

// midBar is the middle of the foot that "mid" stands for: where a bar is lifted
// from the floor (common practice).
const midBar = 0.50

// Places on the body that contacts use, as fractions of body height (our
// judgement; key judgement).
const (
	seatBack, seatDown, seatHalf = 0.030, 0.050, 0.035
	backDepth, chestDepth        = 0.055, 0.070
	flankHalf                    = 0.095
	hipSideHalf                  = 0.100        // midline to the skin over the trochanter
	bladeDown, bladeIn           = 0.030, 0.020 // middle of the blade from the shoulder centre
	limbDepth                    = 0.030        // joint line to the skin of thigh and shank
	headBack                     = 0.050
	shoulderFlesh                = 0.030 // shoulder centre to the skin over it

	ballFlesh, palmFlesh, kneeFlesh = 0.011, 0.020, 0.017 // half sides of what lies flat on a floor
)

// contactKinds are the kinds by the names of package exercise.
var contactKinds = map[string]contactKind{
	"foot": {segment: Foot, points: (*Body).solePoints, support: (*Body).sole},
	"sole": {segment: Foot, points: (*Body).solePoints, normal: r3.Vec{Y: 1}, support: (*Body).sole},
	"toes": {segment: Foot, points: func(b *Body, _ float64) []r3.Vec { return []r3.Vec{b.ball()} },
		patch: func(b *Body) (x, z float64) { return ballFlesh * b.Measures.Height, b.Size.BallHalf }, support: func(b *Body, _ float64) r3.Vec { return b.ball() }},
	"heel": {segment: Foot, points: (*Body).heelPoints, support: func(b *Body, _ float64) r3.Vec { return b.sole(0.1) }},
	"palm": {segment: Forearm, points: func(b *Body, _ float64) []r3.Vec { return []r3.Vec{down(b.Measures.Forearm + b.Size.Palm)} },
		patch: func(b *Body) (x, z float64) { return palmFlesh * b.Measures.Height, palmFlesh * b.Measures.Height }, support: func(b *Body, _ float64) r3.Vec { return down(b.Measures.Forearm + b.Size.Palm) }},
	"grip": {segment: Forearm, points: func(b *Body, _ float64) []r3.Vec { return []r3.Vec{b.grip()} }, fixed: true,
		support: func(b *Body, _ float64) r3.Vec { return b.grip() }},
	"elbow": {segment: Forearm, points: func(b *Body, _ float64) []r3.Vec {
		return []r3.Vec{{}, down(b.Measures.Forearm)}
	}},
	"seat": {segment: Pelvis, points: func(b *Body, _ float64) []r3.Vec {
		h := b.Measures.Height
		return []r3.Vec{
			{X: -seatBack * h, Y: -seatDown * h, Z: seatHalf * h}, {X: -seatBack * h, Y: -seatDown * h, Z: -seatHalf * h},
			{X: seatBack * h, Y: -seatDown * h, Z: seatHalf * h}, {X: seatBack * h, Y: -seatDown * h, Z: -seatHalf * h}}
	}},
	"back":  {segment: Thorax, points: func(b *Body, y float64) []r3.Vec { return b.trunkPoints(-backDepth, y) }, normal: r3.Vec{X: 1}},
	"chest": {segment: Thorax, points: func(b *Body, y float64) []r3.Vec { return b.trunkPoints(chestDepth, y) }, normal: r3.Vec{X: -1}},
	"flank": {segment: Pelvis, points: func(b *Body, _ float64) []r3.Vec {
		h := b.Measures.Height
		return []r3.Vec{{X: 0.02 * h, Z: hipSideHalf * h}, {X: -0.02 * h, Z: hipSideHalf * h}, {Y: 0.08 * h, Z: flankHalf * h}}
	}},
	"shoulder-side": {segment: Thorax, points: func(b *Body, _ float64) []r3.Vec {
		s, h := b.Size, b.Measures.Height
		z := s.ShoulderHalf + shoulderFlesh*h
		return []r3.Vec{{X: s.ShoulderFront + 0.02*h, Y: s.ShoulderUp, Z: z}, {X: s.ShoulderFront - 0.02*h, Y: s.ShoulderUp, Z: z}}
	}},
	"buttock": {segment: Pelvis, points: func(b *Body, _ float64) []r3.Vec {
		h := b.Measures.Height
		return []r3.Vec{{X: -backDepth * h, Z: seatHalf * h}, {X: -backDepth * h, Z: -seatHalf * h}}
	}},
	"ankle": {segment: Shank, points: func(b *Body, _ float64) []r3.Vec { return []r3.Vec{down(b.Measures.Shank)} }},
	"foot-side": {segment: Foot, points: func(b *Body, _ float64) []r3.Vec {
		s := b.Size
		return []r3.Vec{{X: -s.HeelBack, Y: -s.AnkleHeight / 2, Z: s.HeelHalf}, {X: s.BallFront, Y: -s.AnkleHeight, Z: s.BallHalf}}
	}},
	"leg-side": {segment: Shank, points: func(b *Body, _ float64) []r3.Vec {
		z := limbDepth * b.Measures.Height
		return []r3.Vec{{Z: z}, {Y: -b.Measures.Shank, Z: z}}
	}},
	"knee": {segment: Shank, points: func(b *Body, _ float64) []r3.Vec {
		return []r3.Vec{{X: limbDepth * b.Measures.Height}}
	}, patch: func(b *Body) (x, z float64) { return kneeFlesh * b.Measures.Height, kneeFlesh * b.Measures.Height }, support: func(b *Body, _ float64) r3.Vec { return r3.Vec{X: limbDepth * b.Measures.Height} }},
	"blade": {segment: Scapula, normal: r3.Vec{X: 1}, points: func(b *Body, _ float64) []r3.Vec {
		h := b.Measures.Height
		return []r3.Vec{{X: -backDepth * h, Y: -bladeDown * h, Z: -bladeIn * h}}
	}},
	"arm-back":    limbPad(UpperArm, -1),
	"shank-front": limbPad(Shank, 1), "shank-back": limbPad(Shank, -1),
	"thigh-front": limbPad(Thigh, 1), "thigh-back": limbPad(Thigh, -1),
	"head": {segment: Thorax, points: func(b *Body, _ float64) []r3.Vec {
		return []r3.Vec{{X: -headBack * b.Measures.Height, Y: b.Size.ShoulderUp + b.Size.Head*0.65}}
	}},
	"heel-hook": {segment: Foot, points: func(b *Body, _ float64) []r3.Vec {
		return []r3.Vec{{X: -b.Size.HeelBack, Y: -b.Size.AnkleHeight / 2}}
	}, normal: r3.Vec{X: 1}},
}

// limbPad is a pad against the front (1) or the back (-1) of a limb.
func limbPad(s Segment, front float64) contactKind {
	return contactKind{segment: s, normal: r3.Vec{X: -front}, points: func(b *Body, along float64) []r3.Vec {
		h := b.Measures.Height
		return []r3.Vec{{X: front * limbDepth * h, Y: -along, Z: 0.02 * h}, {X: front * limbDepth * h, Y: -along, Z: -0.02 * h}}
	}}
}

// sole is the point under the foot at a fraction of its length from the heel.
func (b *Body) sole(fraction float64) r3.Vec {
	return r3.Vec{X: fraction*b.Measures.Foot - b.Size.HeelBack, Y: -b.Size.AnkleHeight}
}

// ball is the point of the sole under the ball of the foot.
func (b *Body) ball() r3.Vec { return r3.Vec{X: b.Size.BallFront, Y: -b.Size.AnkleHeight} }

// grip is the middle of the closed hand.
func (b *Body) grip() r3.Vec { return down(b.Measures.Forearm + b.Size.Grip) }

// shoulders is the point midway between the shoulder centres in the thorax.
func (b *Body) shoulders() r3.Vec { return r3.Vec{X: b.Size.ShoulderFront, Y: b.Size.ShoulderUp} }

// toeReach is how far before the ball the toes still carry, as a fraction of the
// way from ball to toe tip (our judgement; key judgement).
const toeReach = 0.5

func (b *Body) solePoints(float64) []r3.Vec {
	s := b.Size
	front := s.BallFront + toeReach*(s.ToeTip-s.BallFront)
	y := -s.AnkleHeight
	return []r3.Vec{{X: -s.HeelBack, Y: y, Z: s.HeelHalf}, {X: -s.HeelBack, Y: y, Z: -s.HeelHalf},
		{X: front, Y: y, Z: s.BallHalf}, {X: front, Y: y, Z: -s.BallHalf}}
}

func (b *Body) heelPoints(float64) []r3.Vec {
	p := b.sole(0.1)
	return []r3.Vec{{X: p.X, Y: p.Y, Z: b.Size.HeelHalf}, {X: p.X, Y: p.Y, Z: -b.Size.HeelHalf}}
}

// trunkPoints are two points beside the spine at a height from the shoulder line.
func (b *Body) trunkPoints(depth, y float64) []r3.Vec {
	h := b.Measures.Height
	y += b.Size.ShoulderUp
	return []r3.Vec{{X: depth * h, Y: y, Z: 0.05 * h}, {X: depth * h, Y: y, Z: -0.05 * h}}
}

// mirror takes a local point of the right side to the side.
func mirror(p r3.Vec, side int) r3.Vec {
	p.Z *= outward(side)
	return p
}

// sides lists the sides a term stands for.
func sides(t exercise.Term, s Segment) []int {
	if _, has := s.Side(); t.Side == exercise.NoSide && has {
		return []int{Right, Left}
	}
	return []int{max(t.Side, Right)}
}

// A push is one direction in which a contact can act on the body.
type push struct {
	name    string
	segment Segment
	point   r3.Vec // world, m
	dir     r3.Vec // world, length 1
	normal  bool   // pushes only, unless fixed
	oneWay  bool
	weight  float64
	patch   int // number of the surface it belongs to; -1 where it is held
}

// Weights of stage 1 on forces in units of the whole weight (equation 12): how
// unwilling each direction is (our judgement; key judgement).
const (
	normalWeight = 2.
	shearWeight  = 20.
)

// pushes lists all directions in which the contacts of a posture can act. The
// normal push of a contact written toward leans ahead or back to the centre of all
// weight by a fraction of the way there, that of one written inward sideways; one
// that slides pushes along its normal only, because friction on what moves cannot
// help to move it. It returns the surfaces too, one for each contact and side that
// is not held and does not slide.
func (b *Body) pushes(contacts []exercise.Term, f *Frames, centre r3.Vec) (out []push, patches []patch) {
	for _, c := range contacts {
		if c.Name == armOnTrunk {
			continue // between two parts of the body
		}
		k, ok := contactKinds[c.Name]
		if !ok {
			panic("body: no contact " + c.Name)
		}
		along := 0.0
		if len(c.Numbers) > 0 {
			along = b.length(c.Numbers[0])
		}
		weight := 1.0
		if o, ok := c.Option("weight"); ok {
			weight = o.Numbers[0].Value
		}
		shear := shearWeight
		if _, free := c.Option("free"); free || k.fixed {
			shear = normalWeight
		}
		for _, side := range sides(c, k.segment) {
			s := k.segment.Of(side)
			frame := &f.Segment[s]
			n := world.Y
			if _, up := c.Option("up"); !up && k.normal != (r3.Vec{}) {
				n = frame.Turn(mirror(k.normal, side))
			}
			t1, t2 := tangents(n)
			on := -1
			_, slides := c.Option("slides")
			if !k.fixed && !slides {
				on = len(patches)
				patches = append(patches, patch{n, t1, t2, k.friction(), k.segment == Foot})
			}
			for _, at := range k.places(b, frame, side, along) {
				name := c.Name
				n := n
				if n == world.Y {
					n = leaning(c, at, centre)
				}
				out = append(out, push{name, s, at, n, true, !k.fixed, normalWeight / weight, on})
				if !slides {
					out = append(out, push{name, s, at, t1, false, false, shear / weight, on}, push{name, s, at, t2, false, false, shear / weight, on})
				}
			}
		}
	}
	return out, patches
}

// friction is the coefficient between the body and what supports it.
func (k *contactKind) friction() float64 {
	if k.segment == Foot {
		return soleFriction
	}
	return padFriction
}

// places are the points of a contact in the room.
func (k *contactKind) places(b *Body, frame *Frame, side int, along float64) []r3.Vec {
	var out []r3.Vec
	for _, p := range k.points(b, along) {
		at := frame.At(mirror(p, side))
		if k.patch == nil {
			out = append(out, at)
			continue
		}
		dx, dz := k.patch(b)
		ahead := flatHeading(frame)
		across := r3.Cross(ahead, world.Y)
		for _, sx := range []float64{-dx, dx} {
			for _, sz := range []float64{-dz, dz} {
				out = append(out, r3.Add(at, r3.Add(r3.Scale(sx, ahead), r3.Scale(sz*outward(side), across))))
			}
		}
	}
	return out
}

// flatHeading is the level direction ahead of a segment, square to its Z axis.
func flatHeading(f *Frame) r3.Vec {
	ahead := r3.Cross(world.Y, f.Z)
	if r3.Norm(ahead) < 0.1 {
		ahead = r3.Vec{X: f.X.X, Z: f.X.Z}
	}
	return r3.Unit(ahead)
}

// leaning is the direction in which a floor pushes: up, leant towards a point
// above it as the contact says, with its part along Y kept at 1.
func leaning(c exercise.Term, at, to r3.Vec) r3.Vec {
	n, rise := world.Y, to.Y-at.Y
	if rise < 0.1 {
		return n
	}
	if o, ok := c.Option("toward"); ok {
		n.X = o.Numbers[0].Value * (to.X - at.X) / rise
	}
	if o, ok := c.Option("inward"); ok {
		n.Z = o.Numbers[0].Value * (to.Z - at.Z) / rise
	}
	return n
}

// centreOf is the centre of all weights and loads that pull down.
func centreOf(forces []Force) r3.Vec {
	var sum r3.Vec
	total := 0.0
	for _, f := range forces {
		sum = r3.Add(sum, r3.Scale(f.Vector.Y, f.Point))
		total += f.Vector.Y
	}
	if total == 0 {
		return r3.Vec{}
	}
	return r3.Scale(1/total, sum)
}

// tangents are two directions square to a normal; the second as near to the
// world's Z as can be, so that mirrored contacts get mirrored tangents.
func tangents(n r3.Vec) (r3.Vec, r3.Vec) {
	t1 := r3.Cross(n, world.Z)
	if r3.Norm(t1) < 0.1 {
		t1 = r3.Cross(n, world.X)
	}
	t1 = r3.Unit(t1)
	return t1, r3.Cross(t1, n)
}

// A supportPoint is a point the balance rests on, with its weight.
type supportPoint struct {
	segment Segment
	local   r3.Vec
	weight  float64
}

// supports lists the points that balance rests on.
func (b *Body) supports(contacts []exercise.Term, fraction float64) []supportPoint {
	var out []supportPoint
	for _, c := range contacts {
		k := contactKinds[c.Name]
		if k.support == nil {
			continue
		}
		weight := 1.0
		if o, ok := c.Option("weight"); ok {
			weight = o.Numbers[0].Value
		}
		for _, side := range sides(c, k.segment) {
			out = append(out, supportPoint{k.segment.Of(side), mirror(k.support(b, fraction), side), weight})
		}
	}
	return out
}

// weights lists the weight of every segment at its centre of mass.
func (b *Body) weights(f *Frames) []Force {
	out := make([]Force, 0, Segments)
	for s := range Segments {
		if b.mass[s] > 0 {
			out = append(out, b.weightOf(Segment(s), f))
		}
	}
	return out
}

// weightOf is the weight of a segment at its centre of mass.
func (b *Body) weightOf(s Segment, f *Frames) Force {
	return Force{s, f.Segment[s].At(b.centre[s]), r3.Vec{Y: -b.mass[s] * unit.StandardGravity}}
}
