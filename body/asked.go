package body

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/exercise"
)

// Settings of Ask (our judgement; key judgement).
const (
	// ShareLoad is the part of the largest load at which shares are read
	// (the definition of a share).
	ShareLoad = 0.75
	// loadStep is the factor from one load to the next at which postures are
	// solved again; below the first step the load counts as none.
	loadStep, firstLoad = 1.25, 4. // 1, kg
	// loadDifference is the change of load from which the rise of the joint
	// moments with load is taken, kg.
	loadDifference = 0.5
	// MostLoad is the largest load that is looked for, kg.
	MostLoad = 1000.
	// moves is the change of a coordinate from one posture to another from which
	// a joint counts as moving, rad.
	moves = 15 * degree
	// movesGirdle is the same of the shoulder girdle, m.
	movesGirdle = 0.03
	// level is the change of height up to which a weight counts as carried, m.
	level = 0.03
	// trivial is the part of the largest moment at a moving joint below which a
	// joint's moment does not tell what moves the load.
	trivial = 0.1
	// The range of a share: shareBodies times limbs and targets are drawn and the
	// postures solved again, each with shareStrengths strengths, every muscle with a
	// spread of shareSpread (ln); the same numbers each time. Limbs differ by
	// drawnLength, targets by drawnPlace and drawnAngle at most.
	shareBodies, shareStrengths, shareSpread, shareSeed = 5, 4, 0.20, 5
	// facetArm turns newtons of shear into N m, so that rows of friction give way
	// as little as rows of joints do, m.
	facetArm = 0.1
	// leastActivation is the activation of the leading muscle below which shares
	// say nothing.
	leastActivation = 0.02
	// shearShift is how far load sharing may turn the push under a foot ahead or back
	// from that of stage 1, in parts of its pressure: nobody wedges the body between floor and
	// bench as hard as friction would let them.
	shearShift = 0.125
)

// Asked is what an exercise asks of a body at a load. It is static and is not
// changed after [Ask] returns it.
type Asked struct {
	Load     float64 // kg, at which moments and activations hold
	Postures []AskedPosture
	Muscles  []AskedMuscle // right, then left, each in the order of [Muscles]
	Largest  AskedLargest
	Felt     bool // the load acts in some posture; else only the body's own weight does
}

// AskedPosture is one posture at the load.
type AskedPosture struct {
	Name         string
	Moments      Moments // net, N m: passive ones not taken off
	Passive      Moments // N m, of stretched tissue: part of Moments
	BalanceError float64 // m; 0 where the posture asks for no point
}

// AskedMuscle is what one muscle of one side does.
type AskedMuscle struct {
	Muscle           int // of [Muscles]
	Side             int
	Activation       float64 // at the load, largest over postures; above 1: impossible there
	Share, Low, High float64 // 0 to 1, with its 80 % range over strengths, limbs and targets
	Moves            bool    // it helps to move the load
	Gain             float64 // kg, d(largest load)/d ln(strength)
}

// AskedLargest is the largest load that can just be held in every posture.
type AskedLargest struct {
	Known     bool    // false where no posture feels the load or MostLoad is not the limit
	Load      float64 // kg; 0 where the body alone cannot be held
	Low, High float64 // kg, 90 % range by what strength may be before lifts are known
	Posture   string  // in which it is reached
	Cannot    bool    // not even the body alone is held
	Bound     bool    // with more the posture cannot be taken
	Hands     bool    // the load hangs on the hands: grip and arms, not in the model, may hold less
}

// asking holds the memory of one Ask.
type asking struct {
	body     *Body
	strength *Strength
	postures []Posture
	sharer   Sharer
	lifter   Lifter
	solved   map[solvedAt]*poised // postures that were solved, where they are kept
}

// solvedAt is a posture, by its name, at a load.
type solvedAt struct {
	posture string
	load    float64
}

// Ask says what the postures of an exercise ask of a body of a strength at a load
// in kg; a load below 0 stands for ShareLoad of the largest. The error is an
// [*Impossible], or says that the load is out of range.
func Ask(b *Body, s *Strength, postures []Posture, load float64) (*Asked, error) {
	if load > MostLoad || math.IsNaN(load) {
		return nil, fmt.Errorf("a load of %g kg: the body model takes 0 to %g kg", load, MostLoad)
	}
	a := &asking{body: b, strength: s, postures: postures}
	out := &Asked{Muscles: make([]AskedMuscle, 2*len(Muscles()))}
	for i := range out.Muscles {
		out.Muscles[i].Muscle, out.Muscles[i].Side = i%len(Muscles()), i/len(Muscles())
	}
	if err := a.largest(out); err != nil {
		return nil, err
	}
	at := 0.0
	if out.Largest.Known {
		at = ShareLoad * out.Largest.Load
	}
	if load < 0 {
		load = at
	}
	out.Load = load
	out.Largest.Hands = onHands(postures)
	if err := a.share(out, at); err != nil {
		return nil, err
	}
	return out, a.at(out, load)
}

// onHands says whether the hands hold the load in some posture.
func onHands(postures []Posture) bool {
	return slices.ContainsFunc(postures, func(p Posture) bool {
		return slices.ContainsFunc(p.Pose.Loads, func(l exercise.Term) bool {
			return l.Name == "bar" || l.Name == "hand" || l.Name == "cable" && onWord(l, "hand") == "hand"
		})
	})
}

// A poised is a posture in equilibrium with its program.
type poised struct {
	*Posed
	statics *Statics
	growth  []float64 // N for each kg of load more, of each freedom's force
}

// poise solves a posture at a load and builds its program; the load of the
// program counts from 0.
func (a *asking) poise(p Posture, load float64) (*poised, error) {
	at := solvedAt{p.Pose.Name, load}
	if known := a.solved[at]; known != nil {
		return a.again(known), nil
	}
	out, err := a.poiseFresh(p, load)
	if err == nil && a.solved != nil {
		a.solved[at] = out
	}
	return out, err
}

// poiseFresh is poise where nothing is kept.
func (a *asking) poiseFresh(p Posture, load float64) (*poised, error) {
	solved, err := a.body.Solve(p, load)
	if err != nil {
		return nil, err
	}
	st, err := a.body.Statics(solved)
	if err != nil {
		return nil, err
	}
	more := *solved // the same posture: what a little more load adds
	more.Load += loadDifference
	rise, err := a.body.Statics(&more)
	if rise == nil {
		return nil, err
	}
	need, spread := st.Moments, Moments{}
	for c := range spread {
		spread[c] = (rise.Moments[c] - st.Moments[c]) / loadDifference
		need[c] -= load * spread[c]
	}
	growth := make([]float64, len(st.Freedoms))
	for i := range growth {
		growth[i] = (rise.Freedoms[i].Now - st.Freedoms[i].Now) / loadDifference
	}
	out := &poised{a.strength.Pose(&solved.Q, need, spread, len(st.Freedoms) > 0, armsOf(&p)), st, growth}
	out.free()
	return out, nil
}

// free adds the freedoms of the contacts, and the rows that keep their shear
// within friction: docs/model/01-body-muscles.md (27a), (27b). A surface whose shear of
// stage 1 is over that already may not take more.
func (p *poised) free() {
	st := p.statics
	facets := p.facets()
	for i, f := range st.Freedoms {
		effect := Moments{}
		for c, x := range f.Effect {
			effect[c] = x * st.Total
		}
		low, high := math.Inf(-1), math.Inf(1)
		if f.OneWay {
			low = min(-f.Now/st.Total, 0)
		}
		if f.Most > 0 {
			high = f.Most / st.Total
		}
		if f.Least < 0 {
			low = f.Least / st.Total
		}
		p.Free(effect, 2*f.Price, low, high, facets[i]...)
	}
}

// facets adds, for each surface and each of four directions along it, the row
// "friction x pressure - shear = what is left, not below 0"; under a foot, ahead and
// back, where that is tighter, "shearShift x pressure - change of shear". It returns
// what each freedom adds to these rows.
func (p *poised) facets() [][]Entry {
	st := p.statics
	entries := make([][]Entry, len(st.Freedoms))
	for n, s := range st.patches {
		for k, t := range []vec{s.t1, r3.Scale(-1, s.t1), s.t2, r3.Scale(-1, s.t2)} {
			part, left, rise := p.room(n, s.friction, t, 1)
			if turn, most, more := p.room(n, shearShift, t, 0); k < 2 && s.sole && most < left {
				part, left, rise = turn, most, more
			}
			if left < 0 {
				left, rise = 0, 0
			}
			row := p.AddRow(facetArm*(left-rise*st.Solved.Load), facetArm*rise, RowGive)
			for i, x := range part {
				if x != 0 {
					entries[i] = append(entries[i], Entry{row, -facetArm * x * st.Total})
				}
			}
			p.AddForce(MinPrice, 0, math.Inf(1), Entry{row, facetArm * st.Total})
		}
	}
	return entries
}

// room is "friction x pressure - used x shear" of a surface in a direction along it:
// what 1 N of each freedom adds, in which shear always counts whole, what it is in
// stage 1, N, and how much each kg adds to that.
func (p *poised) room(patch int, friction float64, along vec, used float64) (part []float64, now, rise float64) {
	part = make([]float64, len(p.statics.Freedoms))
	normal := p.statics.patches[patch].normal
	for i, f := range p.statics.Freedoms {
		if f.patch != patch {
			continue
		}
		press, shear := r3.Dot(f.dir, normal), r3.Dot(f.dir, along)
		part[i] = friction*press - shear
		now += (friction*press - used*shear) * f.Now
		rise += (friction*press - used*shear) * p.growth[i]
	}
	return part, now, rise
}

// feels says whether the load acts on any joint that has muscles.
func (p *poised) feels() bool {
	return slices.ContainsFunc(p.Rows[:], func(row int) bool { return row >= 0 && math.Abs(p.spread[row]) > 1e-6 })
}

// stepped is the load of a step of loadStep nearest to a load.
func stepped(load float64) float64 {
	if load < firstLoad {
		return 0
	}
	n := math.Round(math.Log(load/firstLoad) / math.Log(loadStep))
	return firstLoad * math.Pow(loadStep, n)
}

// largest finds the smallest over postures of the largest load.
func (a *asking) largest(out *Asked) error {
	best := math.Inf(1)
	for _, p := range a.postures {
		load, err := a.largestIn(p, out, best)
		if err != nil {
			return err
		}
		best = min(best, load)
	}
	l := &out.Largest
	if l.Known = best < MostLoad; !l.Known {
		*l = AskedLargest{}
		return nil
	}
	l.Load, l.Cannot = max(best, 0), best <= 0
	if l.Bound {
		l.Low, l.High = min(l.Low, l.Load), l.Load
	}
	return nil
}

// largestIn finds the largest load of one posture, solved again at the load step
// it comes to, from half of body mass on; what limits it is noted where it is below
// the best so far. Where the steps go round in a ring, the smallest load counts;
// where a posture cannot be taken with more, the last that was found, or the load
// that could not be reached where that is less.
func (a *asking) largestIn(p Posture, out *Asked, best float64) (float64, error) {
	at := stepped(a.body.Measures.Mass / 2)
	seen, bound, least := map[float64]bool{}, math.Inf(1), math.Inf(1)
	var limit func()
	for !seen[at] {
		seen[at] = true
		q, err := a.poise(p, at)
		if err != nil && at > 0 && limit == nil {
			seen[at], bound, at = true, at, 0 // at least without load
			continue
		}
		switch {
		case err != nil && limit == nil:
			return 0, err
		case err != nil:
			bound = min(bound, at)
		case !q.feels():
			return math.Inf(1), nil
		default:
			out.Felt = true
			r := a.lifter.Largest(q.Program)
			next := stepped(min(max(r.Load, 0), MostLoad))
			if next == at || !(r.Load >= least) {
				gain := slices.Clone(r.Gain)
				found := Largest{Load: r.Load, Gain: gain}
				least, limit = r.Load, func() { a.note(out, q, &found, p.Pose.Name) }
			}
			at = next
		}
	}
	if least = min(least, bound); least < best {
		limit()
		out.Largest.Bound = bound <= least
	}
	return least, nil
}

// note writes down what limits the load. What the muscles hold is the load and the
// body's own weight, and grows with strength: a sum of gains.
func (a *asking) note(out *Asked, q *poised, r *Largest, posture string) {
	l := &out.Largest
	l.Posture = posture
	for i := range out.Muscles {
		m := &out.Muscles[i]
		m.Gain = r.Gain[q.Muscle(m.Muscle, m.Side)]
	}
	gain := r.GainOf(q.First)
	whole := max(gain[0], 1)
	belief := a.strength.Belief
	if belief == nil {
		belief = PriorBelief(a.strength.Level)
	}
	reach := rangeWidth * math.Hypot(belief.SD(&gain)/whole, ModelSpread)
	l.Low = max(0, r.Load-whole*(1-math.Exp(-reach)))
	l.High = max(0, r.Load+whole*(math.Exp(reach)-1))
}

// share reads shares at a load: the largest activation over postures, against the
// largest among the muscles that move the load, at most 1.
func (a *asking) share(out *Asked, load float64) error {
	all, err := a.poiseAll(load)
	if err != nil {
		return err
	}
	for i, moves := range movers(all, load) {
		out.Muscles[i].Moves = moves
	}
	prices := make([][]float64, len(all))
	a.shares(all, load, out.Muscles, prices, func(m *AskedMuscle, share float64) { m.Share, m.Low, m.High = share, share, share })
	drawn := make([][]float64, len(out.Muscles))
	r := rand.New(rand.NewPCG(shareSeed, shareBodies))
	for range shareBodies {
		other := a.vary(r, all, load)
		for range shareStrengths {
			b := &asking{body: a.body, strength: a.strength.Vary(r, shareSpread)}
			varied := make([]*poised, len(all))
			for i, q := range other {
				varied[i] = b.again(q)
			}
			b.sharer = a.sharer
			b.sharer.rough = true
			near := make([][]float64, len(all))
			for i := range near {
				near[i] = slices.Clone(prices[i])
			}
			b.shares(varied, load, out.Muscles, near, func(m *AskedMuscle, share float64) {
				i := m.Side*len(Muscles()) + m.Muscle
				drawn[i] = append(drawn[i], share)
			})
		}
	}
	for i, d := range drawn {
		slices.Sort(d)
		m := &out.Muscles[i]
		m.Low, m.High = min(m.Share, d[len(d)/10]), max(m.Share, d[len(d)-1-len(d)/10])
	}
	return nil
}

// vary solves the postures again for other limbs and targets; where these cannot be
// taken, all stays as it was.
func (a *asking) vary(r *rand.Rand, all []*poised, load float64) []*poised {
	varied := &asking{strength: a.strength}
	m := a.body.Measures
	for _, limb := range []*float64{&m.Thigh, &m.Shank, &m.Trunk, &m.Foot, &m.UpperArm, &m.Forearm} {
		*limb *= 1 + drawnLength*(2*r.Float64()-1)
	}
	var err error
	if varied.body, err = NewBody(m); err != nil {
		return all
	}
	for _, p := range a.postures {
		varied.postures = append(varied.postures, p.Vary(func() float64 { return 2*r.Float64() - 1 }, drawnPlace, drawnAngle))
	}
	other, err := varied.poiseAll(load)
	if err != nil {
		return all
	}
	return other
}

// again builds the program of the same posture for another strength.
func (a *asking) again(q *poised) *poised {
	need, spread := Moments{}, Moments{}
	for c, row := range q.Rows {
		if row >= 0 && Coordinate(c) > PelvisYaw {
			need[c], spread[c] = q.need[row]+q.Passive[c], q.spread[row]
		}
	}
	out := &poised{a.strength.Pose(&q.statics.Solved.Q, need, spread, len(q.statics.Freedoms) > 0, armsOf(&q.statics.Solved.Posture)), q.statics, q.growth}
	out.free()
	return out
}

// shares gives every muscle's share to set.
func (a *asking) shares(all []*poised, load float64, muscles []AskedMuscle, prices [][]float64, set func(*AskedMuscle, float64)) {
	peak := a.peaksNear(all, load, prices)
	most := 0.0
	for i, m := range muscles {
		if m.Moves {
			most = max(most, peak[i])
		}
	}
	for i := range muscles {
		if most < leastActivation {
			set(&muscles[i], 0)
			continue
		}
		set(&muscles[i], min(peak[i]/most, 1))
	}
}

// peaks are the largest activations over postures at a load, of the right and
// then the left side.
func (a *asking) peaks(all []*poised, load float64) []float64 { return a.peaksNear(all, load, nil) }

// peaksNear starts at the prices of another sharing in the same postures, and
// leaves its own there.
func (a *asking) peaksNear(all []*poised, load float64, prices [][]float64) []float64 {
	n := len(Muscles())
	peak := make([]float64, 2*n)
	for at, q := range all {
		tied := *q.Program
		tied.need, tied.give, tied.spread = slices.Clone(tied.need), slices.Clone(tied.give), slices.Clone(tied.spread)
		tied.row, tied.value, tied.start = slices.Clone(tied.row), slices.Clone(tied.value), slices.Clone(tied.start)
		AddTies(&tied, q.First)
		var near []float64
		if prices != nil {
			near = prices[at]
		}
		s := a.sharer.ShareNear(&tied, load, math.Inf(1), near)
		if prices != nil {
			prices[at] = append(prices[at][:0], s.Price...)
		}
		for i := range peak {
			peak[i] = max(peak[i], s.Activation[q.Muscle(i%n, i/n)])
		}
	}
	return peak
}

// movers says which muscles move the load: those that pull, in some posture, in
// the sense needed at a joint that moves from one posture to another. Where no
// joint moves, or the load is a weight that is carried level, every joint counts.
func movers(all []*poised, load float64) []bool {
	var moving [MomentCount]bool
	some := false
	travel := func(c Coordinate) float64 {
		q := func(p *poised) float64 { return p.statics.Solved.Q[c] }
		low := slices.MinFunc(all, func(x, y *poised) int { return cmp.Compare(q(x), q(y)) })
		high := slices.MaxFunc(all, func(x, y *poised) int { return cmp.Compare(q(x), q(y)) })
		return q(high) - q(low)
	}
	for side := range 2 {
		for _, c := range muscleCoordinates {
			moving[c.Of(side)] = travel(c.Of(side)) > moves
		}
		moving[ElbowFlexion.Of(side)] = travel(ElbowFlexion.Of(side)) > moves
		arm := max(travel(ArmElevation.Of(side)), travel(ArmPlane.Of(side)), travel(ArmRotation.Of(side))) > moves
		for _, c := range []Coordinate{ShoulderAbduction, ShoulderHorizontalAdduction, ShoulderFlexion} {
			moving[c.Of(side)] = arm
		}
		girdle := max(travel(GirdleElevation.Of(side)), travel(GirdleProtraction.Of(side))) > movesGirdle
		for _, c := range []Coordinate{ClavicleElevation, ClavicleProtraction} {
			moving[c.Of(side)] = girdle
		}
	}
	some = slices.Contains(moving[:], true) && !carried(all)
	n := len(Muscles())
	out := make([]bool, 2*n)
	for _, p := range all {
		need := func(row int) float64 { return p.need[row] + load*p.spread[row] }
		most := 0.0
		for c, row := range p.Rows {
			if row >= 0 && moving[c] {
				most = max(most, math.Abs(need(row)))
			}
		}
		for i := range out {
			rows, values := p.entries(p.Muscle(i%n, i/n))
			for k, row := range rows {
				c := slices.Index(p.Rows[:], row)
				if moving[c] && math.Abs(need(row)) > trivial*most || !some {
					out[i] = out[i] || values[k]*need(row) > 0
				}
			}
		}
	}
	return out
}

// carried says whether the load is a weight whose height hardly changes from one
// posture to another.
func carried(all []*poised) bool {
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range all {
		s := p.statics.Solved
		loads := s.Posture.Pose.Loads
		if len(loads) == 0 || slices.ContainsFunc(loads, func(l exercise.Term) bool { return l.Name != "hand" && l.Name != "bar" && l.Name != "trunk" }) {
			return false
		}
		height := centreOf(s.Body.loadForces(loads, 1, s.Frames)).Y
		low, high = min(low, height), max(high, height)
	}
	return high-low < level
}

// poiseAll poises the body in every posture at a load.
func (a *asking) poiseAll(load float64) ([]*poised, error) {
	var all []*poised
	for _, p := range a.postures {
		q, err := a.poise(p, load)
		if err != nil {
			return nil, err
		}
		all = append(all, q)
	}
	return all, nil
}

// at fills in moments and activations at the load.
func (a *asking) at(out *Asked, load float64) error {
	all, err := a.poiseAll(load)
	if err != nil {
		return err
	}
	for i, q := range all {
		balance, _ := q.statics.BalanceError()
		out.Postures = append(out.Postures, AskedPosture{a.postures[i].Pose.Name, q.statics.Moments, q.Passive, balance})
	}
	for i, x := range a.peaks(all, load) {
		out.Muscles[i].Activation = x
	}
	return nil
}
