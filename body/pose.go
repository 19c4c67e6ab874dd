package body

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"corbel/exercise"
)

// A Posture is what Solve solves: the targets of one pose, or of a point between
// two poses that have been solved. It is read-only.
type Posture struct {
	Pose exercise.Pose
	from *Solved // of a blend
	to   *Solved
	at   float64 // 0 from, 1 to
}

// Postures returns the postures of an exercise in order; nothing where the
// library has none.
func Postures(l *exercise.Library, e *exercise.Exercise) []Posture {
	var out []Posture
	for _, p := range l.Poses(e) {
		out = append(out, Posture{Pose: p})
	}
	return out
}

// Between is the posture at a fraction of the way between two solved ones: every
// target of either is moved from its value in one to its value in the other
// (equation 11). Contacts and loads are those of the nearer one.
func Between(from, to *Solved, at float64) Posture {
	if !(at >= 0 && at <= 1) {
		panic("body: a fraction outside 0 to 1")
	}
	p := Posture{Pose: from.Posture.Pose, from: from, to: to, at: at}
	if at > 0.5 {
		p.Pose.Contacts, p.Pose.Loads = to.Posture.Pose.Contacts, to.Posture.Pose.Loads
	}
	p.Pose.Name = fmt.Sprintf("%s to %s, %.0f %%", from.Posture.Pose.Name, to.Posture.Pose.Name, 100*at)
	return p
}

// Mirror returns the posture with the sides exchanged.
func (p Posture) Mirror() Posture {
	if p.from != nil {
		panic("body: a blend is mirrored by mirroring its ends")
	}
	p.Pose.Targets = mirrorTerms(p.Pose.Targets)
	p.Pose.Contacts = mirrorTerms(p.Pose.Contacts)
	p.Pose.Loads = mirrorTerms(p.Pose.Loads)
	return p
}

// Vary returns the posture with every target that is not 0 moved: lengths by
// metres, angles by rad, each times what draw gives, usually -1 to 1. Loads and
// contacts stay.
func (p Posture) Vary(draw func() float64, metres, rad float64) Posture {
	if p.from != nil {
		panic("body: a blend is varied by varying its ends")
	}
	targets := slices.Clone(p.Pose.Targets)
	for i := range targets {
		numbers := slices.Clone(targets[i].Numbers)
		for k := range numbers {
			switch n := &numbers[k]; {
			case n.Free || n.Mid || n.Value == 0 || n.Unit == "":
			case n.Unit == "deg":
				n.Plus += rad * draw()
			default:
				n.Plus += metres * draw()
			}
		}
		targets[i].Numbers = numbers
	}
	p.Pose.Targets = targets
	return p
}

// HipShift returns the posture with the middle of the hips m metres further to the
// right, and the pressure under the feet as far: kinematics and unequal ground
// reaction. It is meant for postures with both sides alike.
func (p Posture) HipShift(m float64) Posture {
	if p.from != nil {
		panic("body: a blend is shifted by shifting its ends")
	}
	free, aside := exercise.Number{Free: true}, exercise.Number{Value: m, Unit: "m"}
	shift := exercise.Term{Name: "pelvis-at", Side: exercise.NoSide, Numbers: []exercise.Number{free, free, aside}, Text: "hip shift"}
	targets := []exercise.Term{shift}
	for _, t := range p.Pose.Targets {
		switch t.Name {
		case "pelvis-at":
			targets[0].Numbers[0], targets[0].Numbers[1] = t.Numbers[0], t.Numbers[1]
			continue
		case "balance":
			under := exercise.Number{Value: midFoot}
			if len(t.Numbers) > 0 {
				under = t.Numbers[0]
			}
			t.Numbers = []exercise.Number{under, aside}
		}
		targets = append(targets, t)
	}
	p.Pose.Targets = targets
	return p
}

// turned are the targets whose sign says right or left, or whose third number
// does though they have no side.
var turned = map[string]bool{"roll": true, "yaw": true, "bend": true, "twist": true, "side-lean": true}

// mirrorTerms exchanges the sides of terms.
func mirrorTerms(terms []exercise.Term) []exercise.Term {
	out := make([]exercise.Term, len(terms))
	for i, t := range terms {
		t.Numbers = append([]exercise.Number(nil), t.Numbers...)
		switch {
		case turned[t.Name]:
			turnNumber(&t.Numbers[0])
		case (t.Name == "pelvis-at" || t.Name == "shoulders-at") && !t.Numbers[2].Free:
			turnNumber(&t.Numbers[2])
		case t.Name == "balance" && len(t.Numbers) > 1:
			turnNumber(&t.Numbers[1])
		case t.Side != exercise.NoSide:
			t.Side = 1 - t.Side
		}
		out[i] = t
	}
	return out
}

// turnNumber changes the sign of a number.
func turnNumber(n *exercise.Number) { n.Value, n.Plus = -n.Value, -n.Plus }

// Solved is a posture solved for a body under a load.
type Solved struct {
	Body    *Body
	Posture Posture
	Load    float64 // kg
	Q       Q
	Frames  *Frames
	Steps   int // of the solver
	aims    []aim
}

// An Impossible is a posture that cannot be taken: the target that could not be
// met, by how much.
type Impossible struct {
	Exercise, Posture string
	Target            string // as written, or the joint at its limit
	Off               float64
	Unit              string
	Why               string
}

// Error says which target cannot be met.
func (e *Impossible) Error() string {
	return fmt.Sprintf("%s, %s: %s cannot be met: %s", e.Exercise, e.Posture, e.Target, e.Why)
}

// Tolerances of hard targets (our judgement; key judgement).
const (
	maxOff      = 0.005      // m
	maxOffAngle = 1 * degree // rad, and directions
)

// Solve finds the posture of this body that meets the hard targets, comes as
// near to the wishes as it can and stays within the ranges of the joints
// (equation 9). The error is an *Impossible.
func (b *Body) Solve(p Posture, load float64) (*Solved, error) {
	if !(load >= 0 && load <= maxLoad) {
		return nil, fmt.Errorf("a load of %g kg: the body model takes 0 to %g kg", load, maxLoad)
	}
	s := &Solved{Body: b, Posture: p, Load: load}
	if p.from != nil {
		s.aims = b.blend(&p)
		s.Q = mixed(&p.from.Q, &p.to.Q, p.at)
	} else {
		s.aims = b.bind(&p.Pose)
		s.Q = b.start(s.aims)
	}
	m := &marquardt{state: state{Body: b, q: &s.Q, frames: &Frames{axes: make([]vec, len(b.hinges))}},
		aims: s.aims, loads: p.Pose.Loads, load: load, start: s.Q, ties: ties(&p, s.aims)}
	s.Steps = m.run()
	b.place(&s.Q, m.frames) // the last step tried may have been taken back
	s.Frames = m.frames
	return s, s.check()
}

// maxLoad bounds the load of a posture, kg.
const maxLoad = 2000.

// mixed is a start value between two postures.
func mixed(a, b *Q, t float64) (out Q) {
	for c := range out {
		out[c] = (1-t)*a[c] + t*b[c]
	}
	return out
}

// start gives every coordinate the value a joint target names, else 0, and puts
// the pelvis where the targets in the room are met best on average.
func (b *Body) start(aims []aim) Q {
	var q Q
	for _, a := range aims {
		if a.start != noStart {
			q[a.start] = a.want
		}
	}
	st := &state{Body: b, q: &q, frames: b.Frames(&q)}
	var shift, count [3]float64
	for _, a := range aims {
		var row Q
		if a.angle || a.start != noStart {
			continue
		}
		x := a.of(st, &row)
		for c := range 3 {
			if row[c] == 1 { // it moves with the pelvis: a point in the room
				shift[c] += a.want - x
				count[c]++
			}
		}
	}
	for c := range 3 {
		if count[c] > 0 {
			q[c] += shift[c] / count[c]
		}
	}
	return q
}

// blend lists the aims of a point between two solved postures.
func (b *Body) blend(p *Posture) []aim {
	var out []aim
	other := map[string]bool{}
	for _, a := range p.from.aims {
		x := a.value(p.from)
		y, both := a.value(p.to), false
		for _, o := range p.to.aims {
			if o.key == a.key {
				both, a.strength = true, min(a.strength, o.strength)
			}
		}
		if !both && a.strength == hard {
			a.strength = firm
		}
		a.want = between(x, y, p.at, a.angle)
		other[a.key] = true
		out = append(out, a)
	}
	for _, a := range p.to.aims {
		if other[a.key] {
			continue
		}
		if a.strength == hard {
			a.strength = firm
		}
		a.want = between(a.value(p.from), a.value(p.to), p.at, a.angle)
		out = append(out, a)
	}
	return out
}

// value measures an aim in a solved posture.
func (a *aim) value(s *Solved) float64 {
	st := s.state()
	var row Q
	return a.of(st, &row)
}

// state is the solved posture as gauges see it.
func (s *Solved) state() *state {
	return &state{Body: s.Body, q: &s.Q, frames: s.Frames, loads: s.Body.loadForces(s.Posture.Pose.Loads, s.Load, s.Frames)}
}

// between is a value on the way from one to another; angles go the short way.
func between(x, y, t float64, angle bool) float64 {
	d := y - x
	if angle {
		d = wrap(d)
	}
	return x + t*d
}

// wrap brings an angle to -pi to pi.
func wrap(x float64) float64 { return math.Remainder(x, 2*math.Pi) }

// central coordinates that are 0 where the sides are alike.
var offMiddle = []Coordinate{PelvisZ, PelvisRoll, PelvisYaw, LumbarBend, LumbarTwist}

// ties gives each coordinate the unknown it is moved by, or -1 for one held: in a
// posture with both sides alike the left side follows the right.
func ties(p *Posture, aims []aim) (out [Coordinates]int) {
	for c := range out {
		out[c] = c
	}
	if !symmetric(p) {
		return out
	}
	for _, c := range offMiddle {
		out[c] = -1
	}
	for c := firstOfSide; c < lastOfSide; c++ {
		out[c.Of(Left)] = int(c)
	}
	return out
}

// symmetric says whether nothing in a posture tells right from left.
func symmetric(p *Posture) bool {
	if p.from != nil {
		return symmetric(&p.from.Posture) && symmetric(&p.to.Posture)
	}
	for _, terms := range [][]exercise.Term{p.Pose.Targets, p.Pose.Contacts, p.Pose.Loads} {
		for _, t := range terms {
			if t.Side != exercise.NoSide || t.Name == "balance" && len(t.Numbers) > 1 || turned[t.Name] && t.Numbers[0].Value != 0 || t.Name == "side-lean" {
				return false
			}
			if (t.Name == "pelvis-at" || t.Name == "shoulders-at") && t.Numbers[2].Value != 0 {
				return false
			}
		}
	}
	return true
}

// Settings of the solver (our judgement; key judgement).
const (
	maxSteps    = 200
	roughSteps  = 30
	softFirst   = 0.03  // hard targets start this soft, so that steps can be long
	startPull   = 0.1   // weight of the pull towards the start values
	girdlePull  = 10.   // the same for the shoulder girdle, which is in metres
	limitWeight = 5000. // of the part of an angle beyond its range: more than of a hard target, so that the target gives way
	smallStep   = 1e-10 // at which the solver stops
	firstDamp   = 10.
	leastDamp   = 1e-12
	mostDamp    = 1e12
)

// marquardt is damped least squares (Levenberg and Marquardt) on the residuals of
// one posture, with exact derivatives.
type marquardt struct {
	state
	aims  []aim
	loads []exercise.Term
	load  float64
	start Q
	ties  [Coordinates]int

	soften   float64 // factor on the weights of hard targets and ranges
	unknowns int
	column   [Coordinates]int
	normal   *mat.SymDense
	gradient []float64
}

// run moves q to the least sum of squares, first with soft hard targets, and
// returns the number of steps.
func (m *marquardt) run() int {
	m.number()
	m.soften = softFirst
	n := m.descend(roughSteps)
	m.soften = 1
	return n + m.descend(maxSteps)
}

// descend takes at most that many steps.
func (m *marquardt) descend(most int) int {
	cost, damp := m.build(), firstDamp
	var factor mat.Cholesky
	step := mat.NewVecDense(m.unknowns, nil)
	damped := mat.NewSymDense(m.unknowns, nil)
	rhs := mat.NewVecDense(m.unknowns, m.gradient)
	for n := range most {
		damped.CopySym(m.normal)
		for i := range m.unknowns {
			damped.SetSym(i, i, m.normal.At(i, i)+damp)
		}
		if !factor.Factorize(damped) || factor.SolveVecTo(step, rhs) != nil {
			damp = damp*10 + leastDamp
			continue
		}
		before := *m.q
		m.move(step)
		trial := m.cost()
		if trial < cost {
			damp = max(damp/10, leastDamp)
			small := mat.Norm(step, 2) < smallStep || cost-trial < 1e-13*cost
			if cost = m.build(); small {
				return n + 1
			}
			continue
		}
		*m.q = before
		if damp *= 8; damp > mostDamp || mat.Norm(step, 2) < smallStep {
			m.build()
			return n + 1
		}
	}
	return most
}

// number gives every free coordinate its column.
func (m *marquardt) number() {
	for c := range m.column {
		m.column[c] = -1
		if m.ties[c] == c {
			m.column[c] = m.unknowns
			m.unknowns++
		}
	}
	for c, to := range m.ties {
		if to >= 0 {
			m.column[c] = m.column[to]
		}
	}
	m.normal = mat.NewSymDense(m.unknowns, nil)
	m.gradient = make([]float64, m.unknowns)
}

// move takes a step.
func (m *marquardt) move(step *mat.VecDense) {
	for c, k := range m.column {
		if k >= 0 {
			m.q[c] -= step.AtVec(k)
		}
	}
}

// residuals calls each with every residual and its weighted row.
func (m *marquardt) residuals(each func(r float64, row *Q)) {
	m.place(m.q, m.frames)
	m.state.loads = m.loadForces(m.loads, m.load, m.frames)
	for i := range m.aims {
		var row Q
		a := &m.aims[i]
		r := a.of(&m.state, &row) - a.want
		if a.angle && a.start == noStart {
			r = wrap(r)
		}
		w := a.weight()
		if a.strength >= firm {
			w *= m.soften
		}
		for c := range row {
			row[c] *= w
		}
		each(w*r, &row)
	}
	for c := range m.q {
		var row Q
		if m.column[c] < 0 {
			continue
		}
		pull := startPull
		if isLength(Coordinate(c)) && Coordinate(c) >= firstOfSide {
			pull = girdlePull
		}
		row[c] = pull
		each(pull*(m.q[c]-m.start[c]), &row)
		if over := beyond(Coordinate(c), m.q[c]); over != 0 {
			row[c] = limitWeight * m.soften
			each(limitWeight*m.soften*over, &row)
		}
	}
}

// weight is the weight of an aim.
func (a *aim) weight() float64 {
	w := strengthWeight[a.strength]
	if a.strength <= wish && !a.angle {
		w *= lengthWish
	}
	return w
}

// beyond is how far a value lies outside the range of its coordinate, signed.
func beyond(c Coordinate, x float64) float64 {
	return max(x-limits[c][1], 0) + min(x-limits[c][0], 0)
}

// cost is the sum of squares.
func (m *marquardt) cost() float64 {
	sum := 0.0
	m.residuals(func(r float64, _ *Q) { sum += r * r })
	return sum
}

// build sets the normal equations and returns the sum of squares.
func (m *marquardt) build() float64 {
	n := m.unknowns
	raw := m.normal.RawSymmetric()
	clear(raw.Data)
	clear(m.gradient)
	sum, folded, used := 0.0, make([]float64, n), make([]int, 0, n)
	m.residuals(func(r float64, row *Q) {
		sum += r * r
		for _, k := range used {
			folded[k] = 0
		}
		used = used[:0]
		for c, x := range row {
			if k := m.column[c]; k >= 0 && x != 0 {
				if folded[k] == 0 {
					used = append(used, k)
				}
				folded[k] += x
			}
		}
		for _, i := range used {
			m.gradient[i] += r * folded[i]
			for _, j := range used {
				if j >= i {
					raw.Data[i*raw.Stride+j] += folded[i] * folded[j]
				}
			}
		}
	})
	return sum
}

// check says which hard target is not met or which joint is beyond its range.
func (s *Solved) check() error {
	st, pose := s.state(), &s.Posture.Pose
	var worst *Impossible
	note := func(target string, off, most float64, unit string) {
		if ratio := off / most; !(ratio <= 1) && (worst == nil || ratio > worst.Off) {
			worst = &Impossible{Exercise: pose.Exercise, Posture: pose.Name, Target: target, Off: ratio, Unit: unit,
				Why: fmt.Sprintf("it is %s off", inUnit(off, unit))}
		}
	}
	for i := range s.aims {
		a, row := &s.aims[i], Q{}
		off := a.of(st, &row) - a.want
		if a.strength != hard {
			continue
		}
		if a.angle {
			note(a.text, math.Abs(wrap(off)), maxOffAngle, "deg")
		} else {
			note(a.text, math.Abs(off), maxOff, "m")
		}
	}
	for c, x := range s.Q {
		if isLength(Coordinate(c)) {
			note(nameOf(Coordinate(c))+" within its range", math.Abs(beyond(Coordinate(c), x)), maxOff, "m")
		} else {
			note(nameOf(Coordinate(c))+" within its range", math.Abs(beyond(Coordinate(c), x)), maxOffAngle, "deg")
		}
	}
	if worst == nil {
		return nil
	}
	return worst
}

// inUnit prints a distance or an angle.
func inUnit(x float64, unit string) string {
	if unit == "deg" {
		return fmt.Sprintf("%.1f degrees", x/degree)
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", x*100), ".0") + " cm"
}
