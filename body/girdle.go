package body

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/exercise"
	"corbel/unit"
)

// girdleHeight is the height of the body that points of the girdle and of arm
// muscles are given for, m.
const girdleHeight = 1.75

// Joints of the shoulder girdle from the shoulder centre of the hanging arm, right
// side, m for girdleHeight (from memory; key girdle-joints).
var (
	sternoclavicular  = r3.Vec{X: 0.040, Y: 0.020, Z: -0.150}  // fixed in the thorax
	acromioclavicular = r3.Vec{X: -0.012, Y: 0.035, Z: -0.005} // fixed in the scapula
)

// The blade turns upward by a third of the arm's elevation beyond 30 degrees (key
// inman-1944, from memory), stands 35 degrees from sideways, and turns with the
// girdle as it comes forward (from memory; key girdle-joints).
const (
	scapulaOnset = 30 * degree
	scapulaShare = 1. / 3
	scapulaPlane = 35 * degree
	scapulaTurn  = 3.5 * degree / 0.01 // rad/m
)

// scapulaTurned is the turn of the right blade in the thorax at an elevation of the
// arm, rad, and a protraction, m: docs/model/01-body-arms.md (1).
func scapulaTurned(v point3, raise, protraction float64) point3 {
	up := max(0, (raise-scapulaOnset)*scapulaShare)
	return v.rotated(1, -scapulaPlane).rotated(0, -up).rotated(1, scapulaPlane+scapulaTurn*protraction)
}

// ScapulaFrame is the frame of the shoulder blade as muscles see it. It moves
// points of muscles and of the outer end of the clavicle only; the shoulder centre
// and the arm do not follow its turn.
func (b *Body) ScapulaFrame(f *Frames, side int) Frame {
	at, thorax, arm := f.Segment[Scapula.Of(side)], &f.Segment[Thorax], &f.Segment[UpperArm.Of(side)]
	raise := math.Acos(max(-1, min(1, r3.Dot(thorax.Y, arm.Y))))
	forward := thorax.Local(r3.Sub(at.Origin, thorax.Origin)).X - b.Size.ShoulderFront
	turn := func(v r3.Vec) r3.Vec {
		p := scapulaTurned(point3{v.X, v.Y, v.Z * outward(side)}, raise, forward)
		return thorax.Turn(r3.Vec{X: p[0], Y: p[1], Z: p[2] * outward(side)})
	}
	at.X, at.Y, at.Z = turn(world.X), turn(world.Y), turn(world.Z)
	return at
}

// girdleEffect adds what a force on blade, arm or hand asks of the muscles of the
// girdle: moments about the two joints of the clavicle, docs/model/01-body-arms.md (2).
func (b *Body) girdleEffect(f *Frames, force Force, side int, out *Moments) {
	k, scale := outward(side), b.Measures.Height/girdleHeight
	thorax, s := &f.Segment[Thorax], b.Size
	neutral := r3.Vec{X: s.ShoulderFront, Y: s.ShoulderUp, Z: k * s.ShoulderHalf}
	inner := thorax.At(r3.Add(neutral, mirror(r3.Scale(scale, sternoclavicular), side)))
	m := thorax.Local(r3.Cross(r3.Sub(force.Point, inner), force.Vector))
	out[ClavicleElevation.Of(side)] = k * m.X
	out[ClavicleProtraction.Of(side)] = -k * m.Y
	blade := b.ScapulaFrame(f, side)
	outer := blade.At(mirror(r3.Scale(scale, acromioclavicular), side))
	turn := blade.Turn(mirror(scapulaAxis, side))
	out[ScapulaRotation.Of(side)] = -r3.Dot(r3.Cross(r3.Sub(force.Point, outer), force.Vector), r3.Scale(k, turn))
}

// scapulaAxis is the axis about which the right blade turns upward, in the blade:
// square to its plane.
var scapulaAxis = r3.Vec{X: -math.Cos(scapulaPlane), Z: math.Sin(scapulaPlane)}

// armsOf says what the hands do in a posture.
func armsOf(p *Posture) Arms {
	arms := ArmsIdle
	for _, l := range p.Pose.Loads {
		switch {
		case l.Name == "bar" || l.Name == "pad" && onWord(l, "") == "hand" || l.Name == "cable" && onWord(l, "hand") == "hand" && l.Side == exercise.NoSide:
			return ArmsOnBar
		case l.Name == "hand" || l.Name == "cable" && onWord(l, "hand") == "hand" || l.Name == "band" && l.Word == "hand":
			arms = ArmsFree
		}
	}
	for _, c := range p.Pose.Contacts {
		if c.Name == "palm" || c.Name == "grip" || c.Name == "elbow" {
			return ArmsOnBar
		}
	}
	return arms
}

// Passive parts of girdle and arm, for a body of passiveMass and passiveHeight (our
// judgement).
const (
	shoulderBand  = 3.0  // N m, about each axis of the shoulder
	overheadBand  = 30.0 // N m, the same of the fully raised arm
	overheadFrom  = 120 * degree
	overheadFull  = 160 * degree
	handPlacement = 0.02        // m: the hand finds its place to spare the turn of the arm
	girdleStop    = 25.0        // N m, of the girdle let down
	girdleLow     = 0.01        // m, above which it holds nothing
	elbowStop     = 60.0        // N m, of the straight elbow
	elbowFrom     = 16 * degree // where it begins
	elbowFull     = 6 * degree  // where it holds all
)

// addArmBands adds what capsule, ligaments and bone take up at shoulder, girdle and
// elbow: docs/model/01-body-arms.md (8). Row needs of the grip tell the hand's force.
func (s *Strength) addArmBands(p *Posed, q *Q) {
	size := s.Mass * s.Height / (passiveMass * passiveHeight)
	for side := range 2 {
		raise, plane := q[ArmElevation.Of(side)], q[ArmPlane.Of(side)]
		capsule := shoulderBand + (overheadBand-shoulderBand)*min(1, max(0, (raise-overheadFrom)/(overheadFull-overheadFrom)))
		shoulder := []Coordinate{ShoulderAbduction.Of(side), ShoulderHorizontalAdduction.Of(side), ShoulderFlexion.Of(side)}
		for _, c := range shoulder {
			p.AddForce(2*bandCost, -1, 1, Entry{p.Rows[c], capsule * size})
		}
		axis := point3{0, 1, 0}.rotated(0, -raise).rotated(1, plane) // of the right humerus, mirrored on the left
		grip := p.Rows[HandGrip.Of(side)]
		band := shoulderBand*size + handPlacement*p.need[grip]
		p.AddForce(2*bandCost, -1, 1, Entry{p.Rows[shoulder[0]], -axis[0] * band}, Entry{p.Rows[shoulder[1]], axis[1] * band}, Entry{p.Rows[shoulder[2]], axis[2] * band})
		if q[GirdleElevation.Of(side)] < girdleLow {
			p.AddForce(2*bandCost, 0, 1, Entry{p.Rows[ClavicleElevation.Of(side)], girdleStop * size})
		}
		if stop := min(1, (elbowFrom-q[ElbowFlexion.Of(side)])/(elbowFrom-elbowFull)); stop > 0 {
			p.AddForce(2*bandCost, 0, 1, Entry{p.Rows[ElbowFlexion.Of(side)], elbowStop * stop * size})
		}
	}
}

// grips adds what the hands must hold: a force that pulls along the forearm or
// across it in full, one that presses into the palm not at all.
func (st *Statics) grips() {
	s := st.Solved
	for _, f := range append(s.Body.loadForces(s.Posture.Pose.Loads, s.Load, s.Frames), st.Contacts...) {
		side, ok := f.Segment.Side()
		size := r3.Norm(f.Vector)
		if !ok || f.Segment.right() != Forearm || size == 0 {
			continue
		}
		frame := &s.Frames.Segment[f.Segment]
		if r3.Norm(r3.Sub(f.Point, frame.At(s.Body.grip()))) > 0.01 {
			continue // elbow or flat palm
		}
		along := -r3.Dot(f.Vector, frame.Y) / size // +1 away from the elbow
		st.Moments[HandGrip.Of(side)] += size * min(1, 1+along)
	}
}

// armOnTrunk is the contact of the upper arm with the ribs of one's own trunk.
const armOnTrunk = "arm-on-trunk"

// The brace of an arm on the trunk (our judgement): where along the upper arm, and
// at most how hard, as a part of body weight.
const braceAlong, braceMost = 0.75, 0.15

// braces are the pushes of the trunk on upper arms that rest against it: forward,
// between two parts of the body.
func (st *Statics) braces() (all []Freedom) {
	s := st.Solved
	for _, c := range s.Posture.Pose.Contacts {
		if c.Name != armOnTrunk {
			continue
		}
		for _, side := range sides(c, UpperArm) {
			at := s.Frames.Segment[UpperArm.Of(side)].At(down(braceAlong * s.Body.Measures.UpperArm))
			ahead := s.Frames.Segment[Thorax].X
			e := s.Body.Effect(s.Frames, Force{UpperArm.Of(side), at, ahead})
			o := s.Body.Effect(s.Frames, Force{Thorax, at, r3.Scale(-1, ahead)})
			e.add(1, &o)
			all = append(all, Freedom{Name: armOnTrunk, Kind: Press, Effect: e, OneWay: true, Most: braceMost * s.Body.Measures.Mass * unit.StandardGravity, Price: freePrice, patch: -1})
		}
	}
	return all
}

// Sideways force of the hands on a bar that they press, as a part of what each
// holds, by the grip in half shoulder widths: narrow grips push in, wide ones out
// (key larsen-2021). Bars that hang from the hands may be pulled either way.
var gripWidths, gripSideways = []float64{1.1, 1.65, 2.25}, []float64{-0.10, 0, 0.15}

const (
	gripSlack    = 0.03 // about that, our judgement
	hangSideways = 0.25 // our judgement
)

// sideways gives the largest forces that pull a bar apart and push it together, as
// parts of what each hand holds.
func sideways(right, left vec, forearm *Frame, b *Body) (apart, together float64) {
	if forearm.Y.Y > 0 { // the hand below the elbow: the bar hangs
		return hangSideways, hangSideways
	}
	width := r3.Norm(r3.Sub(right, left)) / 2 / b.Size.ShoulderHalf
	k := newKnots(gripWidths, gripSideways)
	at, _ := k.at(width)
	return max(at, 0) + gripSlack, max(-at, 0) + gripSlack
}
