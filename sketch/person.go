package sketch

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/body"
	"corbel/exercise"
)

// Radii of the drawn body as fractions of height (our judgement, so that skin
// lies where the contacts of package body touch; key judgement).
const (
	hipR, kneeR, ankleR         = 0.049, 0.031, 0.020
	shoulderR, elbowR, wristR   = 0.030, 0.022, 0.016
	fistR, palmR, tipR          = 0.021, 0.015, 0.010
	handLong                    = 0.085 // wrist to finger tips
	heelR, instepR, soleR, toeR = 0.017, 0.020, 0.013, 0.009
	skullR, jawR, noseR, neckR  = 0.046, 0.027, 0.007, 0.031
)

// A slice is a cross-section of the trunk: an oval across, its middle at x, y in
// its segment, half as wide and deep as wide and deep, in fractions of height.
type slice struct {
	segment          body.Segment
	x, y, wide, deep float64
}

// trunk are the slices from the crotch to the neck. The back of the chest lies
// 0.055 H behind the lumbar joint and its front 0.070 H before it, where back and
// chest contacts touch; the buttocks likewise.
var trunk = []slice{
	{body.Pelvis, 0.000, -0.030, 0.055, 0.030},
	{body.Pelvis, -0.004, 0.000, 0.092, 0.051},
	{body.Pelvis, -0.004, 0.045, 0.084, 0.050},
	{body.Thorax, 0.012, 0.010, 0.074, 0.050},
	{body.Thorax, 0.010, 0.075, 0.083, 0.056},
	{body.Thorax, 0.008, 0.140, 0.094, 0.060},
	{body.Thorax, 0.004, 0.188, 0.088, 0.038},
	{body.Thorax, 0.002, 0.215, 0.040, 0.030},
}

// A person is a solved posture with what the drawing adds to it: a neck that
// bends, hands that close and toes that lie flat.
type person struct {
	*body.Solved
	h     float64
	hands [2]hand
	turn  float64 // of head on trunk, rad, back positive
}

// A hand is how one hand is drawn.
type hand struct {
	at    r3.Vec // middle of the closed hand
	shut  bool
	flat  bool   // on a floor
	along r3.Vec // of a flat hand: where the fingers point
}

// of gives a point of a segment, in fractions of height.
func (p *person) of(s body.Segment, x, y, z float64) r3.Vec {
	return p.Frames.Segment[s].At(r3.Scale(p.h, r3.Vec{X: x, Y: y, Z: z}))
}

// out is the sign of the Z axis that points outward.
func out(side int) float64 {
	if side == body.Left {
		return -1
	}
	return 1
}

// parts lists the body: trunk, head and the limbs of both sides.
func (p *person) parts() []part {
	all := []part{p.trunk(), p.head()}
	for side := range 2 {
		all = append(all, p.thigh(side), p.leg(side), p.joint(body.Shank.Of(side), kneeR, body.Thigh.Of(side)),
			p.arm(side), p.forearm(side), p.joint(body.Forearm.Of(side), elbowR, body.UpperArm.Of(side)))
	}
	for i := range all {
		if all[i].stuff == flesh {
			all[i].spots = p.spots(all[i].name)
		}
	}
	return all
}

// trunk lofts the slices.
func (p *person) trunk() part {
	out := part{name: "trunk", segment: body.Thorax}
	var last piece
	for _, s := range trunk {
		side := s.wide - s.deep
		now := piece{{p.of(s.segment, s.x, s.y, -side), s.deep * p.h}, {p.of(s.segment, s.x, s.y, side), s.deep * p.h}}
		if last != nil {
			out.pieces = append(out.pieces, slices.Concat(last, now))
		}
		last = now
	}
	return out
}

// How the neck follows the trunk (our judgement): people look ahead, so it takes
// back most of a forward lean up to its range, and half of a backward one.
const (
	neckBack, neckBackMost   = 0.65, 50 * math.Pi / 180
	neckFront, neckFrontMost = 0.35, 25 * math.Pi / 180
	neckStep                 = 2 * math.Pi / 180
)

// neck is the turn of head on trunk, rad, back positive.
func (p *person) neck() float64 {
	up := p.Frames.Segment[body.Thorax].Y
	ahead := p.Frames.Segment[body.Thorax].X
	lean := math.Atan2(-ahead.Y, up.Y) // forward from upright
	switch {
	case math.Abs(r3.Dot(p.Frames.Segment[body.Thorax].Z, r3.Vec{Y: 1})) > 0.7: // lies on the side
		return 0
	case lean >= 0:
		return min(neckBack*min(lean, math.Pi-lean), neckBackMost)
	case lean > -80*math.Pi/180:
		return -min(-neckFront*lean, neckFrontMost)
	}
	return 0
}

// skull gives a point of the head, turned about the root of the neck.
func (p *person) skull(turn, x, y, z float64) r3.Vec {
	s, c := math.Sincos(turn)
	root := r3.Vec{X: 0.004, Y: p.Body.Size.ShoulderUp/p.h + 0.022}
	return p.of(body.Thorax, root.X+c*x-s*y, root.Y+s*x+c*y, z)
}

// top is the height of the middle of the skull above the root of the neck.
func (p *person) top() float64 { return p.Body.Size.Head/p.h - 0.022 - skullR }

// bend is how the neck is drawn: as it follows the trunk, and where the head would
// sink into the floor, with the chin drawn to the chest until it does not.
func (p *person) bend() float64 {
	turn := p.neck()
	for range 30 {
		if p.skull(turn, 0, p.top(), 0).Y >= (skullR+0.001)*p.h {
			break
		}
		turn -= neckStep * math.Copysign(1, p.Frames.Segment[body.Thorax].X.Y)
	}
	return turn
}

// head draws neck, skull, jaw and nose.
func (p *person) head() part {
	h, turn, top := p.h, p.turn, p.top()
	at := func(x, y float64) r3.Vec { return p.skull(turn, x, y, 0) }
	neck := at(0, 0.01)
	return part{name: "head", segment: body.Thorax, pieces: []piece{
		capsule(neck, neckR*h, at(0.006, top-0.03), neckR*0.95*h),
		capsule(at(-0.004, top), skullR*h, at(0.012, top-0.004), 0.040*h),
		{{at(0.012, top-0.004), 0.038 * h}, {at(0.022, top-0.050), 0.020 * h}, {at(0.004, top-0.042), jawR * h}},
		capsule(at(0.048, top-0.012), noseR*h*0.6, at(0.055, top-0.022), noseR*h),
	}}
}

// thigh draws thigh and buttock.
func (p *person) thigh(side int) part {
	s, k := body.Thigh.Of(side), out(side)
	f, h := &p.Frames.Segment[s], p.h
	l := p.Body.Measures.Thigh / h
	half := p.Body.Size.HipHalf / h
	return part{name: s.String(), segment: s, pieces: []piece{
		{{f.Origin, hipR * h}, {p.of(body.Pelvis, -0.008, -0.006, k*half), 0.047 * h}, {p.of(s, 0.002, -l*0.45, 0), 0.042 * h}},
		capsule(p.of(s, 0.002, -l*0.45, 0), 0.042*h, p.of(s, 0, -l, 0), kneeR*h),
	}}
}

// leg draws shank, calf and foot.
func (p *person) leg(side int) part {
	s, h := body.Shank.Of(side), p.h
	l := p.Body.Measures.Shank / h
	out := part{name: s.String(), segment: s, pieces: []piece{
		capsule(p.of(s, 0, 0, 0), kneeR*h, p.of(s, 0, -l, 0), ankleR*h),
		{{p.of(s, -0.004, -0.10*l, 0), 0.027 * h}, {p.of(s, -0.010, -0.32*l, 0), 0.027 * h}, {p.of(s, -0.002, -0.72*l, 0), 0.019 * h}},
	}}
	out.pieces = append(out.pieces, p.foot(side)...)
	return out
}

// foot draws heel, instep, ball and toes; toes that would sink into the floor bend
// up about the ball.
func (p *person) foot(side int) []piece {
	s, h, z := body.Foot.Of(side), p.h, p.Body.Size
	f := &p.Frames.Segment[s]
	floor := -z.AnkleHeight / h
	heel := p.of(s, -z.HeelBack/h+heelR, floor+heelR, 0)
	ballOut, ballIn := p.of(s, z.BallFront/h, floor+soleR, z.BallHalf/h-soleR), p.of(s, z.BallFront/h, floor+soleR, -z.BallHalf/h+soleR)
	ballMid := r3.Scale(0.5, r3.Add(ballOut, ballIn))
	toe := p.of(s, z.ToeTip/h-toeR, floor+toeR, 0)
	rolls := f.X.Y < -0.02 && f.Y.Y > -0.5 && !p.onPlate()
	if rolls { // the heel is up: the ball rolls, its flesh stays above what it stands on
		for _, b := range []*r3.Vec{&ballOut, &ballIn} {
			sole := r3.Sub(*b, r3.Scale(soleR*h, f.Y))
			*b = r3.Add(sole, r3.Vec{Y: soleR * h})
		}
		ballMid = r3.Scale(0.5, r3.Add(ballOut, ballIn))
	}
	if under := ballMid.Y - soleR*h; rolls && toe.Y-toeR*h < under {
		flat := r3.Unit(r3.Vec{X: f.X.X + f.Y.X, Z: f.X.Z + f.Y.Z})
		toe = r3.Add(ballMid, r3.Scale(z.ToeTip-toeR*h-z.BallFront, flat))
		toe.Y = under + toeR*h
	}
	wide := r3.Scale(z.BallHalf*0.6, f.Z)
	ankle, instep := f.Origin, p.of(s, 0.038, floor+instepR+0.006, 0)
	return []piece{
		{{ankle, ankleR * h}, {heel, heelR * h}, {instep, instepR * h}},
		{{heel, heelR * h}, {instep, instepR * h}, {ballOut, soleR * h}, {ballIn, soleR * h}},
		{{ballOut, soleR * h}, {ballIn, soleR * h}, {r3.Add(toe, wide), toeR * h}, {r3.Sub(toe, wide), toeR * h}},
	}
}

// onPlate says whether the soles lie on a plate, which need not be level.
func (p *person) onPlate() bool {
	return slices.ContainsFunc(p.Posture.Pose.Contacts, func(t exercise.Term) bool { return t.Name == "sole" })
}

// arm draws the upper arm.
func (p *person) arm(side int) part {
	s, h := body.UpperArm.Of(side), p.h
	l := p.Body.Measures.UpperArm / h
	return part{name: s.String(), segment: s, pieces: []piece{
		capsule(p.of(s, 0, 0, 0), shoulderR*h, p.of(s, 0, -l*0.5, 0), 0.026*h),
		capsule(p.of(s, 0, -l*0.5, 0), 0.026*h, p.of(s, 0, -l, 0), elbowR*h),
	}}
}

// forearm draws forearm and hand.
func (p *person) forearm(side int) part {
	s, h := body.Forearm.Of(side), p.h
	l := p.Body.Measures.Forearm / h
	wrist := p.of(s, 0, -l, 0)
	hand := &p.hands[side]
	out := part{name: s.String(), segment: s, pieces: []piece{
		capsule(p.of(s, 0, 0, 0), elbowR*h, p.of(s, 0, -l*0.35, 0), 0.023*h),
		capsule(p.of(s, 0, -l*0.35, 0), 0.023*h, wrist, wristR*h),
	}}
	switch {
	case hand.shut:
		out.pieces = append(out.pieces, capsule(wrist, wristR*h, hand.at, fistR*h))
	case hand.flat:
		root := p.of(s, 0, -l-0.010, 0)
		tip := r3.Add(root, r3.Scale(0.062*h, hand.along))
		tip.Y = root.Y
		out.pieces = append(out.pieces, capsule(wrist, wristR*h, root, palmR*h), capsule(root, palmR*h, tip, tipR*h))
	default:
		out.pieces = append(out.pieces, capsule(wrist, wristR*h, hand.at, palmR*1.2*h), capsule(hand.at, palmR*1.2*h, p.of(s, 0.004, -l-handLong, 0), tipR*h))
	}
	return out
}

// joint covers the line between a limb and the one it hangs on.
func (p *person) joint(s body.Segment, r float64, over body.Segment) part {
	return part{name: s.String(), over: over.String(), stuff: erase, segment: s, pieces: []piece{{{p.Frames.Segment[s].Origin, r * p.h * 0.96}}}}
}
