package body

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"corbel/exercise"
	"corbel/unit"
)

// vec is short for a vector of the world.
type vec = r3.Vec

// Moments holds one number a coordinate: what the muscles must deliver in the
// sense in which the coordinate grows, N m, or N for shifts (equation 13). Hips
// are on pelvis Z (flexion), the floating axis (abduction) and femur Y (external
// rotation). The three coordinates of the arm hold instead the components of the
// shoulder's moment in the thorax frame: see ShoulderAbduction and its siblings.
// The first six are what is out of balance, in the axes of the world about the
// middle of the pelvis; they are 0 in equilibrium.
type Moments [MomentCount]float64

// The places of the shoulder's moment in Moments, right side; Of gives those of a
// side. All are components along the axes of the thorax.
const (
	ShoulderHorizontalAdduction = ArmPlane     // about Y, the arm forward and inward
	ShoulderAbduction           = ArmElevation // about X, the arm outward
	ShoulderFlexion             = ArmRotation  // about Z, the arm forward
)

// Effect is what a force adds to the moments the muscles must deliver.
func (b *Body) Effect(f *Frames, force Force) Moments {
	var row Q
	b.pointRate(f, force.Segment, force.Point, force.Vector, -1, &row)
	var out Moments
	copy(out[:], row[:])
	// the whole body's balance about fixed axes: those of the pelvis can fall together
	m := r3.Cross(r3.Sub(force.Point, f.Segment[Pelvis].Origin), force.Vector)
	out[PelvisRoll], out[PelvisYaw], out[PelvisTilt] = -m.X, -m.Y, m.Z
	side, ok := force.Segment.Side()
	if !ok || force.Segment.right() < Scapula {
		return out
	}
	if force.Segment.right() == Scapula {
		b.girdleEffect(f, force, side, &out)
		return out
	}
	arm, thorax := f.Segment[UpperArm.Of(side)].Origin, &f.Segment[Thorax]
	m = thorax.Local(r3.Cross(r3.Sub(force.Point, arm), force.Vector))
	k := outward(side)
	out[ShoulderAbduction.Of(side)] = k * m.X
	out[ShoulderHorizontalAdduction.Of(side)] = -k * m.Y
	out[ShoulderFlexion.Of(side)] = -m.Z
	b.girdleEffect(f, force, side, &out)
	return out
}

// add adds scale times other.
func (m *Moments) add(scale float64, other *Moments) {
	for c := range m {
		m[c] += scale * other[c]
	}
}

// Statics is a solved posture in equilibrium.
type Statics struct {
	Solved   *Solved
	Moments  Moments
	External []Force   // weights and loads
	Contacts []Force   // of stage 1, normal and shear of a point together
	Freedoms []Freedom // how stage 2 may change the contact forces
	Force    float64   // N, length of the resultant force that is left over
	Moment   float64   // N m, of the moment about the middle of support that is left over
	Total    float64   // N, weight of body and loads
	patches  []patch
}

// A FreedomKind says what a freedom of stage 2 is.
type FreedomKind int

// Kinds of freedoms.
const (
	Press FreedomKind = iota // along a contact's normal
	Shear                    // along its surface
	Grip                     // of a hand that holds something fixed
	Pull                     // both hands along the bar they hold
)

// A Freedom is one direction in which load sharing may change the contact forces
// of stage 1, at a price. Effects on the whole body cancel only in sums that keep
// the first six entries of Moments at 0.
type Freedom struct {
	Name   string
	Kind   FreedomKind
	Effect Moments // of 1 N
	Now    float64 // N, of stage 1
	OneWay bool    // Now + change may not fall below 0
	Least  float64 // N, lowest change; 0 is no bound
	Most   float64 // N, largest change; 0 is no bound
	Price  float64 // weight on the square of the change, change in whole weights

	patch int // of Statics.patches; -1 where no friction holds it
	dir   vec // of the force on the body
}

// A patch is a surface that a part of the body rests on: it can be pushed, not
// pulled, and shear is at most friction times pressure.
type patch struct {
	normal, t1, t2 vec
	friction       float64
	sole           bool // a foot on the floor
}

// Friction of supports (our judgement; key judgement): a shoe on a gym floor, and
// skin or cloth on a pad, bench or mat. Both are near the low end of what is
// measured, because people do not lift where they are about to slip.
const (
	soleFriction = 0.7
	padFriction  = 0.5
)

// Prices of stage 2 (our judgement; key judgement): pressure may shift cheaply
// inside a foot, shear is dear, pads and grips are nearly free.
const (
	pressPrice = 8.
	shearPrice = 40.
	freePrice  = 0.5
)

// Statics finds contact forces by stage 1 and the net moments of the joints
// (equations 12, 13). The error is an *Impossible: the posture falls over.
func (b *Body) Statics(s *Solved) (*Statics, error) {
	pose := &s.Posture.Pose
	st := &Statics{Solved: s, External: append(b.weights(s.Frames), b.loadForces(pose.Loads, s.Load, s.Frames)...)}
	for _, f := range st.External {
		e := b.Effect(s.Frames, f)
		st.Moments.add(1, &e)
		st.Total += r3.Norm(f.Vector)
	}
	pushes, patches := b.pushes(pose.Contacts, s.Frames, centreOf(st.External))
	st.patches = patches
	effects := make([]Moments, len(pushes))
	for i, p := range pushes {
		effects[i] = b.Effect(s.Frames, Force{p.segment, p.point, p.dir})
	}
	forces := stageOne(pushes, effects, &st.Moments, st.Total, b.Measures.Height)
	for i, f := range forces {
		st.Moments.add(f, &effects[i])
	}
	st.collect(pushes, effects, forces)
	st.grips()
	st.Force = math.Sqrt(square(st.Moments[PelvisX]) + square(st.Moments[PelvisY]) + square(st.Moments[PelvisZ]))
	st.Moment = math.Sqrt(square(st.Moments[PelvisYaw]) + square(st.Moments[PelvisTilt]) + square(st.Moments[PelvisRoll]))
	if most := maxImbalance * st.Total; st.Force > most || st.Moment > most*b.Measures.Height {
		return st, &Impossible{Exercise: pose.Exercise, Posture: pose.Name, Target: "balance", Off: st.Force / most, Unit: "N",
			Why: fmt.Sprintf("the contacts cannot hold the body: %.0f N and %.0f N m are left over", st.Force, st.Moment)}
	}
	return st, nil
}

// maxImbalance is the largest resultant left over, as a fraction of the whole
// weight.
const maxImbalance = 0.001

func square(x float64) float64 { return x * x }

// collect writes down contact forces and freedoms.
func (st *Statics) collect(pushes []push, effects []Moments, forces []float64) {
	for i, p := range pushes {
		if p.normal {
			st.Contacts = append(st.Contacts, Force{Segment: p.segment, Point: p.point})
		}
		c := &st.Contacts[len(st.Contacts)-1]
		c.Vector = r3.Add(c.Vector, r3.Scale(forces[i], p.dir))
		f := Freedom{Name: p.name, Kind: Press, Effect: effects[i], Now: forces[i], OneWay: p.oneWay, Price: pressPrice, patch: p.patch, dir: p.dir}
		switch {
		case p.normal && !p.oneWay || !p.normal && p.name == "grip":
			f.Kind, f.Price = Grip, freePrice
		case !p.normal:
			f.Kind, f.Price = Shear, shearPrice
			if p.weight < shearWeight {
				f.Price = freePrice
			}
		case p.segment.right() != Foot:
			f.Price = freePrice
		}
		st.Freedoms = append(st.Freedoms, f)
	}
	if pull, ok := st.barPull(); ok {
		st.Freedoms = append(st.Freedoms, pull)
	}
	st.Freedoms = append(st.Freedoms, st.braces()...)
	for _, l := range st.Solved.Posture.Pose.Loads {
		if l.Name == "sled" {
			st.Freedoms = append(st.Freedoms, st.sledShifts(l)...)
		}
	}
}

// sledShifts are the ways in which each foot may shift its pressure from the
// middle of the plate towards a corner of the sole: at most a quarter of it to each.
func (st *Statics) sledShifts(l exercise.Term) (all []Freedom) {
	s := st.Solved
	for _, f := range s.Body.sled(l, s.Load*unit.StandardGravity, s.Frames) {
		size := r3.Norm(f.Vector)
		if size == 0 {
			continue
		}
		side, _ := f.Segment.Side()
		frame, along := &s.Frames.Segment[f.Segment], r3.Scale(1/size, f.Vector)
		middle := s.Body.Effect(s.Frames, Force{f.Segment, f.Point, along})
		for _, p := range s.Body.solePoints(0) {
			e := s.Body.Effect(s.Frames, Force{f.Segment, frame.At(mirror(p, side)), along})
			e.add(-1, &middle)
			all = append(all, Freedom{Name: "sled", Kind: Press, Effect: e, OneWay: true, Most: size / 4, Price: pressPrice, patch: -1})
		}
	}
	return all
}

// barPull is the freedom of two hands on one bar to pull it apart (1 N each way).
func (st *Statics) barPull() (Freedom, bool) {
	s := st.Solved
	for _, l := range s.Posture.Pose.Loads {
		if l.Name != "bar" {
			continue
		}
		b := s.Body
		right := s.Frames.Segment[Forearm.Of(Right)].At(b.grip())
		left := s.Frames.Segment[Forearm.Of(Left)].At(b.grip())
		along := direction(left, right)
		// the bar pushes back on hands that pull it apart
		e := b.Effect(s.Frames, Force{Forearm.Of(Right), right, r3.Scale(-1, along)})
		o := b.Effect(s.Frames, Force{Forearm.Of(Left), left, along})
		e.add(1, &o)
		apart, together := sideways(right, left, &s.Frames.Segment[Forearm.Of(Right)], b)
		force := s.Load * unit.StandardGravity / 2
		return Freedom{Name: "bar", Kind: Pull, Effect: e, Least: -max(together*force, 1), Most: max(apart*force, 1), Price: freePrice, patch: -1}, true
	}
	return Freedom{}, false
}

// Settings of stage 1.
const (
	slackWeight = 1e-9 // price of what is out of balance, per weight and height
	stageSteps  = 100
)

// stageOne shares the whole-body equilibrium among contacts: the least weighted
// sum of squares with normal forces that do not pull (equation 12), by Newton's
// method on its dual, one multiplier for each of six equations. Forces in N.
func stageOne(pushes []push, effects []Moments, need *Moments, total, height float64) []float64 {
	// scaled: forces by the whole weight, moments by weight and height
	scale := [6]float64{1, 1, 1, height, height, height}
	rows := make([][6]float64, len(pushes))
	var want [6]float64
	for k := range 6 {
		want[k] = -need[k] / total / scale[k]
		for i := range pushes {
			rows[i][k] = effects[i][k] / scale[k]
		}
	}
	d := dual{pushes: pushes, rows: rows, want: want}
	lambda := d.solve()
	out := make([]float64, len(pushes))
	for i := range pushes {
		out[i] = d.force(i, &lambda) * total
	}
	return out
}

// dual is the dual of stage 1.
type dual struct {
	pushes []push
	rows   [][6]float64
	want   [6]float64
}

// force is the force of a push at given multipliers.
func (d *dual) force(i int, lambda *[6]float64) float64 {
	c := 0.0
	for k := range 6 {
		c += d.rows[i][k] * lambda[k]
	}
	if d.pushes[i].oneWay && c < 0 {
		return 0
	}
	return c / d.pushes[i].weight
}

// value is what is minimised.
func (d *dual) value(lambda *[6]float64) float64 {
	sum := 0.0
	for i := range d.rows {
		f := d.force(i, lambda)
		sum += d.pushes[i].weight * f * f / 2
	}
	for k, l := range lambda {
		sum += slackWeight*l*l/2 - l*d.want[k]
	}
	return sum
}

// solve runs Newton's method with a halving line search. The function is
// piecewise quadratic and convex.
func (d *dual) solve() (lambda [6]float64) {
	h, g := mat.NewSymDense(6, nil), mat.NewVecDense(6, nil)
	var factor mat.Cholesky
	step := mat.NewVecDense(6, nil)
	at := d.value(&lambda)
	for range stageSteps {
		d.build(&lambda, h, g)
		if !factor.Factorize(h) || factor.SolveVecTo(step, g) != nil {
			return lambda
		}
		slope := mat.Dot(step, g)
		if slope < 1e-26 {
			return lambda
		}
		moved := false
		for t := 1.0; t > 1e-12; t /= 2 {
			next := lambda
			for k := range next {
				next[k] -= t * step.AtVec(k)
			}
			if v := d.value(&next); v < at-1e-4*t*slope || t == 1 && slope < 1e-20 {
				lambda, at, moved = next, v, true
				break
			}
		}
		if !moved {
			return lambda
		}
	}
	return lambda
}

// build sets second and first derivatives.
func (d *dual) build(lambda *[6]float64, h *mat.SymDense, g *mat.VecDense) {
	h.Zero()
	for k := range 6 {
		h.SetSym(k, k, slackWeight)
		g.SetVec(k, slackWeight*lambda[k]-d.want[k])
	}
	for i := range d.rows {
		f := d.force(i, lambda)
		if d.pushes[i].oneWay && f == 0 {
			continue
		}
		for k := range 6 {
			g.SetVec(k, g.AtVec(k)+f*d.rows[i][k])
			for l := k; l < 6; l++ {
				h.SetSym(k, l, h.At(k, l)+d.rows[i][k]*d.rows[i][l]/d.pushes[i].weight)
			}
		}
	}
}

// Pressure is the point at a height at which the resultant of the contact forces
// acts, and false where nothing pushes up (equation 10).
func (st *Statics) Pressure(level float64) (vec, bool) {
	sum, up := vec{Y: level}, 0.0
	for _, c := range st.Contacts {
		rise := c.Point.Y - level
		sum.X += c.Point.X*c.Vector.Y - rise*c.Vector.X
		sum.Z += c.Point.Z*c.Vector.Y - rise*c.Vector.Z
		up += c.Vector.Y
	}
	if up < float64(unit.Kilogram(1).Weight()) {
		return vec{}, false
	}
	return vec{X: sum.X / up, Y: level, Z: sum.Z / up}, true
}

// Asked is the point at which the posture wants the pressure, and false where it
// asks for none or only as a wish.
func (st *Statics) Asked() (vec, bool) {
	s, p := st.Solved, &st.Solved.Posture.Pose
	for _, t := range p.Targets {
		if t.Name != "balance" || t.Mark == exercise.Weak {
			continue
		}
		fraction, aside := balanceNumbers(s.Body, t)
		sum, total := vec{}, 0.0
		for _, x := range s.Body.supports(p.Contacts, fraction) {
			sum = r3.Add(sum, r3.Scale(x.weight, s.Frames.Segment[x.segment].At(x.local)))
			total += x.weight
		}
		if total == 0 {
			return vec{}, false
		}
		sum = r3.Scale(1/total, sum)
		sum.Z += aside
		return sum, true
	}
	return vec{}, false
}

// BalanceError is how far from the point the posture asks for the contact forces
// press, m; false where it asks for none.
func (st *Statics) BalanceError() (float64, bool) {
	want, ok := st.Asked()
	if !ok {
		return 0, false
	}
	got, ok := st.Pressure(want.Y)
	return math.Hypot(got.X-want.X, got.Z-want.Z), ok
}
