package body

import "math"

// What the largest load counts beside the load, docs/model/01-body-muscles.md (19).
const (
	// rowWorth turns the give of a row into N m of load: a row gives way by
	// about 0.1 N m for each unit of its price (our judgement).
	rowWorth = 50.0 // 1/(N m)
	// forceWorth is what 1 of the price of load sharing is worth here: a shear of
	// a tenth of body weight at price 40 costs 2 N m (our judgement).
	forceWorth = 10.0 // N m
	// muscleWorth makes activations unique: all muscles at full activation cost
	// about 0.05 N m (our judgement).
	muscleWorth = 1e-3 // N m
	// leastSpread is a load without any moment: N m for one unit of load.
	leastSpread = 1e-9
)

const (
	largestTol      = 1e-9 // relative gap and residuals
	roundingTol     = 1e-7 // the same, where steps no longer help
	largestSteps    = 100
	firstMultiplier = 300.0 // N m, first multiplier of every bound
	leastRoom       = 1e-15 // between a column and its bound
	keepInside      = 0.995 // part of the way to the nearest bound
)

// Largest is the largest load of a [Program] with activations from 0 to 1. Its
// slices belong to the solver.
type Largest struct {
	// Load is the largest load, in the program's unit of load, less what giving
	// way and shifting forces cost: (19). It is below 0 where not even the
	// program without load can be held, and infinite where no row feels the load.
	Load float64
	// Gain is, for each muscle, d Load / d ln(strength): 5 % more strength bring
	// about 0.05 Gain. 0 for free forces.
	Gain []float64
	// Price is d Load / d need of each row, with the sign turned: what one N m less
	// to deliver would bring.
	Price      []float64
	Activation []float64 // of each column, at the largest load
	Slack      []float64 // of each row, at the largest load
	Steps      int
	Residual   float64 // largest relative error of the conditions of the optimum
}

// A Lifter finds largest loads; it keeps its memory from one program to the next.
// The zero value is ready. It is not for several goroutines at once.
type Lifter struct {
	out Largest

	// The convex program in standard form: minimise Σ q v²/2 - u + Σ s²/(2 e) so
	// that A v + s = need + u d, low <= v <= high. u is the load in N m.
	quad, theta, fall []float64 // of each column
	lower, upper      []float64 // multipliers of the bounds
	give, dir         []float64 // of each row
	normal, ray, rhs  []float64
	dv, dlow, dup, dp []float64
	level, dlevel     float64 // u and its step, N m
	unit              float64 // N m for one unit of load
}

// Largest finds the largest load at which need + load x spread can be delivered
// with activations of 0 to 1, and what each muscle's strength brings: a convex
// program, solved by a primal-dual interior point method. Its dual gives all
// gains at once. The result is valid until the next call.
func (l *Lifter) Largest(p *Program) *Largest {
	l.reset(p)
	if l.unit < leastSpread {
		l.out.Load = math.Inf(1)
		return &l.out
	}
	last := math.Inf(1)
	for l.out.Steps = 0; l.out.Steps < largestSteps; l.out.Steps++ {
		gap := l.conditions(p)
		if l.out.Residual <= largestTol || l.out.Residual <= roundingTol && l.out.Residual > last/2 {
			break // there, or as near as rounding allows
		}
		last = l.out.Residual
		l.assemble(p)
		l.direction(p, 0, false)
		center := l.gapAfter(p, min(1, l.reach(p))) / max(gap, math.SmallestNonzeroFloat64)
		center *= center * center
		l.direction(p, center*l.meanGap(gap), true)
		l.advance(p, min(1, keepInside*l.reach(p)))
	}
	l.finish(p)
	return &l.out
}

// reset puts the program into standard form and starts inside its bounds.
func (l *Lifter) reset(p *Program) {
	n, m := p.Rows(), p.Columns()
	for _, x := range []*[]float64{&l.quad, &l.theta, &l.fall, &l.lower, &l.upper, &l.dv, &l.dlow, &l.dup,
		&l.out.Activation, &l.out.Gain} {
		*x = sized(*x, m)
	}
	for _, x := range []*[]float64{&l.give, &l.dir, &l.ray, &l.rhs, &l.dp, &l.out.Price, &l.out.Slack} {
		*x = sized(*x, n)
	}
	l.normal = sized(l.normal, n*n)
	l.unit = 0
	for j, d := range p.spread {
		l.unit += d * d
		l.give[j] = p.give[j] / rowWorth
	}
	l.unit = math.Sqrt(l.unit)
	for j, d := range p.spread {
		l.dir[j] = d / max(l.unit, leastSpread)
		l.out.Price[j] = l.dir[j]
	}
	l.level = 0
	for i, kind := range p.kind {
		l.quad[i] = muscleWorth * p.cost[i]
		if kind == forceColumn {
			l.quad[i] = forceWorth * p.cost[i]
		}
		l.out.Activation[i] = inside(p.low[i], p.top[i])
		if !math.IsInf(p.low[i], -1) {
			l.lower[i] = firstMultiplier
		}
		if !math.IsInf(p.top[i], 1) {
			l.upper[i] = firstMultiplier
		}
	}
}

// inside is a point between two bounds.
func inside(low, high float64) float64 {
	switch {
	case math.IsInf(low, -1) && math.IsInf(high, 1):
		return 0
	case math.IsInf(low, -1):
		return high - 1
	case math.IsInf(high, 1):
		return low + 1
	}
	return (low + high) / 2
}

// conditions leaves the residuals of the optimum in rhs (rows), fall (columns) and
// Residual, and returns the sum of all gaps to the bounds times their multipliers.
func (l *Lifter) conditions(p *Program) (gap float64) {
	v, y := l.out.Activation, l.out.Price
	need, worst := 1.0, math.Abs(l.top())
	for j, b := range p.need {
		l.rhs[j] = b + l.level*l.dir[j] - l.give[j]*y[j]
		need = max(need, math.Abs(b), math.Abs(l.level*l.dir[j]))
	}
	for i := range v {
		pull := p.dot(i, y)
		p.addTo(l.rhs, i, -v[i])
		l.fall[i] = pull + l.lower[i] - l.upper[i] - l.quad[i]*v[i]
		worst = max(worst, math.Abs(l.fall[i])/(1+math.Abs(pull)))
		if l.lower[i] > 0 {
			gap += l.lower[i] * (v[i] - p.low[i])
		}
		if l.upper[i] > 0 {
			gap += l.upper[i] * (p.top[i] - v[i])
		}
	}
	for _, r := range l.rhs {
		worst = max(worst, math.Abs(r)/need)
	}
	l.out.Residual = max(worst, gap/(1+math.Abs(l.level)))
	return gap
}

// top is what is missing of "one more unit of load is worth one": 1 - d'y.
func (l *Lifter) top() float64 {
	r := 1.0
	for j, d := range l.dir {
		r -= d * l.out.Price[j]
	}
	return r
}

// assemble factors the normal matrix A Θ⁻¹ A' + E and solves it for the load.
func (l *Lifter) assemble(p *Program) {
	n := p.Rows()
	clear(l.normal)
	for j, e := range l.give {
		l.normal[j*n+j] = e
	}
	for i, q := range l.quad {
		if l.lower[i] > 0 {
			q += l.lower[i] / (l.out.Activation[i] - p.low[i])
		}
		if l.upper[i] > 0 {
			q += l.upper[i] / (p.top[i] - l.out.Activation[i])
		}
		l.theta[i] = q
		p.addOuter(l.normal, i, 1/q)
	}
	if !factor(l.normal, n) {
		panic(badHessian)
	}
	copy(l.ray, l.dir)
	backSolve(l.normal, n, l.ray)
}

// direction computes the step towards the gap mu for each bound; corrected adds
// the second-order term of the step computed before.
func (l *Lifter) direction(p *Program, mu float64, corrected bool) {
	v := l.out.Activation
	copy(l.dp, l.rhs)
	for i := range v {
		g := l.fall[i]
		if l.lower[i] > 0 {
			l.dlow[i] = mu - l.lower[i]*(v[i]-p.low[i]) - when(corrected, l.dv[i]*l.dlow[i])
			g += l.dlow[i] / (v[i] - p.low[i])
		}
		if l.upper[i] > 0 {
			l.dup[i] = mu - l.upper[i]*(p.top[i]-v[i]) + when(corrected, l.dv[i]*l.dup[i])
			g -= l.dup[i] / (p.top[i] - v[i])
		}
		l.dv[i] = g
		p.addTo(l.dp, i, -g/l.theta[i])
	}
	n := p.Rows()
	backSolve(l.normal, n, l.dp)
	rise, along := l.top(), 0.0
	for j, d := range l.dir {
		rise -= d * l.dp[j]
		along += d * l.ray[j]
	}
	l.dlevel = rise / along
	for j, r := range l.ray {
		l.dp[j] += r * l.dlevel
	}
	for i := range v {
		l.dv[i] = (l.dv[i] + p.dot(i, l.dp)) / l.theta[i]
		if l.lower[i] > 0 {
			l.dlow[i] = (l.dlow[i] - l.lower[i]*l.dv[i]) / (v[i] - p.low[i])
		}
		if l.upper[i] > 0 {
			l.dup[i] = (l.dup[i] + l.upper[i]*l.dv[i]) / (p.top[i] - v[i])
		}
	}
}

// when gives x if it is wanted.
func when(wanted bool, x float64) float64 {
	if wanted {
		return x
	}
	return 0
}

// reach is the longest step, up to just over 1, that stays inside all bounds.
func (l *Lifter) reach(p *Program) float64 {
	t := 1 / keepInside
	shorten := func(room, change float64) {
		if change < 0 && t*-change > room {
			t = room / -change
		}
	}
	for i, v := range l.out.Activation {
		if l.lower[i] > 0 {
			shorten(v-p.low[i], l.dv[i])
			shorten(l.lower[i], l.dlow[i])
		}
		if l.upper[i] > 0 {
			shorten(p.top[i]-v, -l.dv[i])
			shorten(l.upper[i], l.dup[i])
		}
	}
	return t
}

// gapAfter is the sum of gaps after a step of length t.
func (l *Lifter) gapAfter(p *Program, t float64) float64 {
	gap := 0.0
	for i, v := range l.out.Activation {
		if l.lower[i] > 0 {
			gap += (l.lower[i] + t*l.dlow[i]) * (v + t*l.dv[i] - p.low[i])
		}
		if l.upper[i] > 0 {
			gap += (l.upper[i] + t*l.dup[i]) * (p.top[i] - v - t*l.dv[i])
		}
	}
	return gap
}

// meanGap spreads a gap over all bounds.
func (l *Lifter) meanGap(gap float64) float64 {
	bounds := 0
	for i := range l.lower {
		if l.lower[i] > 0 {
			bounds++
		}
		if l.upper[i] > 0 {
			bounds++
		}
	}
	return gap / float64(max(bounds, 1))
}

// advance takes the step at length t. Rounding must not put a column on its bound.
func (l *Lifter) advance(p *Program, t float64) {
	l.level += t * l.dlevel
	for j, d := range l.dp {
		l.out.Price[j] += t * d
	}
	for i := range l.dv {
		v := l.out.Activation[i] + t*l.dv[i]
		if l.lower[i] > 0 {
			v = max(v, p.low[i]+leastRoom*(1+math.Abs(p.low[i])))
		}
		if l.upper[i] > 0 {
			v = min(v, p.top[i]-leastRoom*(1+math.Abs(p.top[i])))
		}
		l.out.Activation[i] = v
		l.lower[i] += t * l.dlow[i]
		l.upper[i] += t * l.dup[i]
	}
}

// finish turns the optimum into loads.
func (l *Lifter) finish(p *Program) {
	value := l.level
	for i, v := range l.out.Activation {
		value -= l.quad[i] * v * v / 2
		if p.kind[i] == muscleColumn {
			l.out.Gain[i] = v * p.dot(i, l.out.Price) / l.unit
		}
	}
	for j, y := range l.out.Price {
		l.out.Slack[j] = l.give[j] * y
		value -= l.give[j] * y * y / 2
		l.out.Price[j] = y / l.unit
	}
	l.out.Load = value / l.unit
}
