package body

import (
	_ "embed"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/exercise"
	"corbel/num"
)

//go:embed joints.csv
var jointsCSV string

// jointNames gives the coordinate, of the right side, that a name in a posture
// stands for.
var jointNames = map[string]Coordinate{
	"tilt": PelvisTilt, "roll": PelvisRoll, "yaw": PelvisYaw, "lumbar": LumbarFlexion, "bend": LumbarBend, "twist": LumbarTwist,
	"hip": HipFlexion, "abd": HipAbduction, "rot": HipRotation, "knee": KneeFlexion, "ankle": AnkleDorsiflexion, "inv": FootInversion,
	"elev": GirdleElevation, "prot": GirdleProtraction, "plane": ArmPlane, "raise": ArmElevation, "turn": ArmRotation,
	"elbow": ElbowFlexion, "sup": ForearmSupination,
}

// nameOf gives the name of a coordinate, with its side.
func nameOf(c Coordinate) string {
	for name, k := range jointNames {
		for side := range 2 {
			if k.Of(side) == c {
				if k >= firstOfSide {
					return name + [2]string{".r", ".l"}[side]
				}
				return name
			}
		}
	}
	if c >= Coordinate(Coordinates) {
		return [sideMoments]string{"clavicle up", "clavicle forward", "blade turning up", "grip"}[c.Of(Right)-Coordinate(Coordinates)]
	}
	return [3]string{"pelvis forward", "pelvis up", "pelvis to the right"}[c]
}

// isLength says whether a coordinate is in metres.
func isLength(c Coordinate) bool {
	switch c.Of(Right) {
	case PelvisX, PelvisY, PelvisZ, GirdleElevation, GirdleProtraction:
		return true
	}
	return false
}

// limits are the lowest and highest value of every coordinate, rad or m.
var limits = readLimits()

func readLimits() (out [Coordinates][2]float64) {
	for c := range out {
		out[c] = [2]float64{-10, 10} // where the pelvis may be, m
	}
	t := num.ReadTable("joints", jointsCSV)
	for i := range t.Len() {
		c, ok := jointNames[t.Text(i, "coordinate")]
		if !ok {
			panic("body: no coordinate " + t.Text(i, "coordinate"))
		}
		scale := degree
		if isLength(c) {
			scale = 1
		}
		for side := range 2 {
			out[c.Of(side)] = [2]float64{t.Number(i, "low") * scale, t.Number(i, "high") * scale}
		}
	}
	return out
}

// A state is a posture while it is being solved.
type state struct {
	*Body
	q      *Q
	frames *Frames
	loads  []Force
}

// A gauge measures one number of a state, m or rad, and adds the rate at which
// it changes with every coordinate to row.
type gauge func(s *state, row *Q) float64

// A strength says how much a target weighs.
type strength int

const (
	weak strength = iota
	wish
	firm // hard in one of two postures that are blended
	hard
)

// Weights of residuals by strength, 1/m or 1/rad (our judgement; key judgement):
// a wish that is a radian off moves a hard target by a micrometre.
var strengthWeight = [...]float64{weak: 0.1, wish: 1, firm: 100, hard: 1000}

// lengthWish makes up for lengths being small numbers where they are wishes.
const lengthWish = 5

// An aim is one number a posture wants.
type aim struct {
	key      string // what is measured, for blending
	text     string // as written
	of       gauge
	want     float64 // m or rad
	strength strength
	angle    bool
	start    Coordinate // coordinate it gives a start value to, or -1
}

// noStart marks an aim that gives no start value.
const noStart Coordinate = -1

// bind turns the targets of a posture into aims for this body.
func (b *Body) bind(p *exercise.Pose) []aim {
	var out []aim
	for _, t := range p.Targets {
		if c, ok := jointNames[t.Name]; ok {
			out = append(out, b.jointAims(t, c)...)
			continue
		}
		binder, ok := binders[t.Name]
		if !ok {
			panic("body: no target " + t.Name)
		}
		out = append(out, binder(b, t, p)...)
	}
	return out
}

// jointAims binds a joint angle: a wish unless marked.
func (b *Body) jointAims(t exercise.Term, c Coordinate) []aim {
	var out []aim
	if t.Numbers[0].Free {
		return nil
	}
	want := angle(t.Numbers[0])
	if isLength(c) {
		want = b.length(t.Numbers[0])
	}
	for _, side := range termSides(t, c >= firstOfSide) {
		at := c.Of(side)
		out = append(out, aim{key: nameOf(at), text: t.Text, want: want, start: at, angle: !isLength(c),
			strength: [...]strength{exercise.Plain: wish, exercise.Hard: hard, exercise.Weak: weak}[t.Mark],
			of:       func(s *state, row *Q) float64 { row[at]++; return s.q[at] }})
	}
	return out
}

// termSides lists the sides a target stands for.
func termSides(t exercise.Term, sided bool) []int {
	if sided && t.Side == exercise.NoSide {
		return []int{Right, Left}
	}
	return []int{max(t.Side, Right)}
}

// A binder makes the aims of a world target.
type binder func(b *Body, t exercise.Term, p *exercise.Pose) []aim

// binders are the world targets by name.
var binders = map[string]binder{
	"balance": bindBalance,
	"stand":   bindStand, "ball": bindBall, "toe-out": bindToeOut,
	"toes-up": angleOf(Foot, r3.Vec{X: 1}, world.Y, world.X),
	"lean":    leanTo(world.X), "side-lean": leanTo(world.Z),
	"thigh":   angleOf(Thigh, r3.Vec{Y: 1}, world.Y, r3.Vec{X: -1}),
	"shin":    angleOf(Shank, r3.Vec{Y: 1}, world.X, world.Y),
	"hand-at": pointAt(Forearm, (*Body).grip), "elbow-at": pointAt(Forearm, origin), "knee-at": pointAt(Shank, origin),
	"ankle-at": pointAt(Foot, origin), "heel-at": pointAt(Foot, func(b *Body) r3.Vec { return b.sole(0) }),
	"pelvis-at": pointAt(Pelvis, origin), "shoulders-at": pointAt(Thorax, (*Body).shoulders),
	"hand-on-trunk": pointOn(Forearm, (*Body).grip, Thorax, (*Body).shoulders), "elbow-on-trunk": pointOn(Forearm, origin, Thorax, (*Body).shoulders),
	"hand-on-pelvis": pointOn(Forearm, (*Body).grip, Pelvis, origin),
	"forearm":        directionOf(Forearm), "upper-arm": directionOf(UpperArm), "shank": directionOf(Shank), "thigh-to": directionOf(Thigh),
}

func origin(*Body) r3.Vec { return r3.Vec{} }

// worldStrength is that of a world target: hard unless marked weak.
func worldStrength(t exercise.Term) strength {
	if t.Mark == exercise.Weak {
		return wish
	}
	return hard
}

// newAim makes an aim of a world target.
func newAim(t exercise.Term, side int, part string, angle bool, want float64, of gauge) aim {
	return aim{key: fmt.Sprintf("%s %s %d", t.Name, part, side), text: t.Text, of: of, want: want,
		strength: worldStrength(t), angle: angle, start: noStart}
}

// xyz names the three components of a point.
var xyz = [3]string{"x", "y", "z"}

// unitAxes are the axes of the world.
var unitAxes = [3]r3.Vec{world.X, world.Y, world.Z}

// pointAt binds the place of a point in the room. Z counts outward; x may be
// "mid": over the point of balance.
func pointAt(s Segment, point func(*Body) r3.Vec) binder {
	return func(b *Body, t exercise.Term, p *exercise.Pose) []aim {
		var out []aim
		_, sided := s.Side()
		for _, side := range termSides(t, sided && s >= Thigh) {
			out = append(out, b.pointAims(t, p, s.Of(side), side, mirror(point(b), side), t.Numbers)...)
		}
		return out
	}
}

// pointAims binds up to three components of a point.
func (b *Body) pointAims(t exercise.Term, p *exercise.Pose, s Segment, side int, local r3.Vec, numbers []exercise.Number) []aim {
	var out []aim
	for i, n := range numbers {
		if n.Free {
			continue
		}
		of := component(s, local, unitAxes[i])
		if n.Mid {
			of = difference(of, b.support(p, midBar, unitAxes[i]))
		}
		want := b.length(n)
		if i == 2 && s >= Thigh {
			want *= outward(side)
		}
		out = append(out, newAim(t, side, xyz[i], false, want, of))
	}
	return out
}

// component measures a point of a segment along a direction of the world.
func component(s Segment, local, dir r3.Vec) gauge {
	return func(st *state, row *Q) float64 {
		p := st.frames.Segment[s].At(local)
		st.pointRate(st.frames, s, p, dir, 1, row)
		return r3.Dot(p, dir)
	}
}

// difference measures one gauge less another.
func difference(a, b gauge) gauge {
	return func(st *state, row *Q) float64 {
		var other Q
		x := a(st, row) - b(st, &other)
		for c := range other {
			row[c] -= other[c]
		}
		return x
	}
}

// support measures the weighted mean of the points balance rests on.
func (b *Body) support(p *exercise.Pose, fraction float64, dir r3.Vec) gauge {
	points := b.supports(p.Contacts, fraction)
	total := 0.0
	for _, x := range points {
		total += x.weight
	}
	return func(st *state, row *Q) float64 {
		sum := 0.0
		for _, x := range points {
			at := st.frames.Segment[x.segment].At(x.local)
			st.pointRate(st.frames, x.segment, at, dir, x.weight/total, row)
			sum += x.weight / total * r3.Dot(at, dir)
		}
		return sum
	}
}

// pointOn binds the place of a point in the frame of a segment, from a point of
// that segment.
func pointOn(s Segment, point func(*Body) r3.Vec, on Segment, from func(*Body) r3.Vec) binder {
	return func(b *Body, t exercise.Term, _ *exercise.Pose) []aim {
		var out []aim
		for _, side := range termSides(t, true) {
			for i, n := range t.Numbers {
				if n.Free || n.Mid {
					continue
				}
				want := b.length(n)
				if i == 2 {
					want *= outward(side)
				}
				out = append(out, newAim(t, side, xyz[i], false, want, relative(s.Of(side), mirror(point(b), side), on, from(b), i)))
			}
		}
		return out
	}
}

// relative measures a point along an axis of another segment, from a point of it.
func relative(s Segment, local r3.Vec, on Segment, from r3.Vec, axis int) gauge {
	return func(st *state, row *Q) float64 {
		p, o := st.frames.Segment[s].At(local), st.frames.Segment[on].At(from)
		dir, v := st.frames.Segment[on].axis(axis), r3.Sub(p, o)
		st.pointRate(st.frames, s, p, dir, 1, row)
		st.pointRate(st.frames, on, o, dir, -1, row)
		st.turnRate(st.frames, on, dir, v, 1, row)
		return r3.Dot(v, dir)
	}
}

// directionOf binds components of the direction of a limb, from its upper to its
// lower end; z counts outward.
func directionOf(s Segment) binder {
	return func(b *Body, t exercise.Term, _ *exercise.Pose) []aim {
		var out []aim
		for _, side := range termSides(t, true) {
			for i, n := range t.Numbers {
				if n.Free {
					continue
				}
				want := n.Value
				if i == 2 {
					want *= outward(side)
				}
				out = append(out, newAim(t, side, xyz[i], false, want, heading(s.Of(side), r3.Vec{Y: -1}, unitAxes[i])))
			}
		}
		return out
	}
}

// heading measures a direction of a segment along one of the world.
func heading(s Segment, local, dir r3.Vec) gauge {
	return func(st *state, row *Q) float64 {
		v := st.frames.Segment[s].Turn(local)
		st.turnRate(st.frames, s, v, dir, 1, row)
		return r3.Dot(v, dir)
	}
}

// angleOf binds the angle of a direction of a segment in a plane of the world,
// from up towards over.
func angleOf(s Segment, local, over, up r3.Vec) binder {
	return func(b *Body, t exercise.Term, _ *exercise.Pose) []aim {
		var out []aim
		if t.Numbers[0].Free {
			return nil
		}
		_, sided := s.Side()
		for _, side := range termSides(t, sided) {
			out = append(out, newAim(t, side, "", true, angle(t.Numbers[0]), planeAngle(s.Of(side), local, over, up)))
		}
		return out
	}
}

// planeAngle measures atan2(v over, v up) of a direction v of a segment.
func planeAngle(s Segment, local, over, up r3.Vec) gauge {
	return func(st *state, row *Q) float64 {
		v := st.frames.Segment[s].Turn(local)
		x, y := r3.Dot(v, over), r3.Dot(v, up)
		// where the direction leaves the plane the angle means nothing; it may not explode
		d := max(x*x+y*y, 1e-4)
		st.turnRate(st.frames, s, v, r3.Sub(r3.Scale(y/d, over), r3.Scale(x/d, up)), 1, row)
		return math.Atan2(x, y)
	}
}

// leanTo binds the angle of the line from the middle of the hips to the middle of
// the shoulders, from up towards over.
func leanTo(over r3.Vec) binder {
	return func(b *Body, t exercise.Term, _ *exercise.Pose) []aim {
		if t.Numbers[0].Free {
			return nil
		}
		top := b.shoulders()
		return []aim{newAim(t, 0, "", true, angle(t.Numbers[0]), func(st *state, row *Q) float64 {
			p, o := st.frames.Segment[Thorax].At(top), st.frames.Segment[Pelvis].Origin
			v := r3.Sub(p, o)
			x, y := r3.Dot(v, over), v.Y
			d := max(x*x+y*y, 1e-4)
			dir := r3.Sub(r3.Scale(y/d, over), r3.Scale(x/d, world.Y))
			st.pointRate(st.frames, Thorax, p, dir, 1, row)
			st.pointRate(st.frames, Pelvis, o, dir, -1, row)
			return math.Atan2(x, y)
		})}
	}
}

// bindStand binds a foot flat on the floor: ankle forward, half stance, toe-out
// and perhaps the height of what it stands on.
func bindStand(b *Body, t exercise.Term, p *exercise.Pose) []aim {
	var out []aim
	for _, side := range termSides(t, true) {
		s, n := Foot.Of(side), t.Numbers
		numbers := []exercise.Number{n[0], floorOr(n, 3), n[1]}
		out = append(out, b.pointAims(t, p, s, side, b.under(), numbers)...)
		out = append(out, b.soleAims(t, side, n[2], 0)...)
	}
	return out
}

// under is the point of the sole under the ankle.
func (b *Body) under() r3.Vec { return down(b.Size.AnkleHeight) }

// floorOr is the number at an index, or the height of the floor.
func floorOr(n []exercise.Number, i int) exercise.Number {
	if i < len(n) {
		return n[i]
	}
	return exercise.Number{Unit: "m"}
}

// bindBall binds the ball of a foot on the floor: forward, half stance, toe-out,
// rise of the heel and perhaps the height of what it stands on.
func bindBall(b *Body, t exercise.Term, p *exercise.Pose) []aim {
	var out []aim
	for _, side := range termSides(t, true) {
		n := t.Numbers
		numbers := []exercise.Number{n[0], floorOr(n, 4), n[1]}
		out = append(out, b.pointAims(t, p, Foot.Of(side), side, b.ball(), numbers)...)
		rise := 0.0
		if len(n) > 3 && !n[3].Free {
			rise = angle(n[3])
		}
		if len(n) > 3 && n[3].Free {
			out = append(out, b.turnOutAims(t, side, n[2])...)
			out = append(out, newAim(t, side, "roll", false, 0, heading(Foot.Of(side), world.Z, world.Y)))
			continue
		}
		out = append(out, b.soleAims(t, side, n[2], rise)...)
	}
	return out
}

// soleAims bind how a sole lies: pitched by rise about its ball, not rolled, and
// turned out.
func (b *Body) soleAims(t exercise.Term, side int, toeOut exercise.Number, rise float64) []aim {
	s := Foot.Of(side)
	return append(b.turnOutAims(t, side, toeOut),
		newAim(t, side, "pitch", false, -math.Sin(rise), heading(s, world.X, world.Y)),
		newAim(t, side, "roll", false, 0, heading(s, world.Z, world.Y)))
}

// turnOutAims bind the direction of a foot, seen from above.
func (b *Body) turnOutAims(t exercise.Term, side int, n exercise.Number) []aim {
	if n.Free {
		return nil
	}
	return []aim{newAim(t, side, "toe-out", true, angle(n)*outward(side), planeAngle(Foot.Of(side), world.X, world.Z, world.X))}
}

func bindToeOut(b *Body, t exercise.Term, _ *exercise.Pose) []aim {
	var out []aim
	for _, side := range termSides(t, true) {
		out = append(out, b.turnOutAims(t, side, t.Numbers[0])...)
	}
	return out
}

// bindBalance binds the point where the line of all weights and loads meets the
// floor to the mean point of support, or a length to its right (equation 10).
func bindBalance(b *Body, t exercise.Term, p *exercise.Pose) []aim {
	fraction, aside := balanceNumbers(b, t)
	if len(b.supports(p.Contacts, fraction)) == 0 {
		return nil
	}
	level := b.support(p, fraction, world.Y)
	return []aim{
		newAim(t, 0, "x", false, 0, difference(pressure(level, world.X), b.support(p, fraction, world.X))),
		newAim(t, 0, "z", false, aside, difference(pressure(level, world.Z), b.support(p, fraction, world.Z))),
	}
}

// balanceNumbers are the fraction of the foot and the length to the right that a
// balance asks for.
func balanceNumbers(b *Body, t exercise.Term) (fraction, aside float64) {
	fraction = midFoot
	if len(t.Numbers) > 0 && !t.Numbers[0].Free {
		fraction = t.Numbers[0].Value
	}
	if len(t.Numbers) > 1 && !t.Numbers[1].Free {
		aside = b.length(t.Numbers[1])
	}
	return fraction, aside
}

// pressure measures, along X or Z, where the resultant of weights and loads
// meets the level of support (equation 10).
func pressure(level gauge, dir r3.Vec) gauge {
	return func(st *state, row *Q) float64 {
		var rise Q
		y0 := level(st, &rise)
		sum, total, side := 0.0, 0.0, 0.0
		var rate Q
		add := func(f Force) {
			fy, fx := f.Vector.Y, r3.Dot(f.Vector, dir)
			sum += r3.Dot(f.Point, dir)*fy - (f.Point.Y-y0)*fx
			total += fy
			side += fx
			st.pointRate(st.frames, f.Segment, f.Point, r3.Sub(r3.Scale(fy, dir), r3.Scale(fx, world.Y)), 1, &rate)
		}
		for s := range Segments {
			if st.mass[s] > 0 {
				add(st.weightOf(Segment(s), st.frames))
			}
		}
		for _, f := range st.loads {
			add(f)
		}
		if math.Abs(total) < 1 { // nothing weighs: a band heavier than the body
			return 0
		}
		for c := range rate {
			row[c] += (rate[c] + side*rise[c]) / total
		}
		return sum / total
	}
}
