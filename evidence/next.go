package evidence

import (
	"math"
	"slices"
)

// grid is the number of points at which the spread of a coming result is summed,
// over gridReach SD to either side (1).
const grid, gridReach = 80, 5.0

// A Scope says between which hypotheses a test is to decide.
type Scope int

// Scopes.
const (
	Wider  Scope = iota // all
	Settle              // the two leading groups and sides
)

// A Prediction is what one hypothesis expects of a coming test.
type Prediction struct {
	W, Mean, SD float64 // chance; ln(right/left)
	at          int
}

// Coming is a test of a drill that has not been done: sets a side.
func (d *Drill) Coming(k float64, sets int) Observation {
	switch d.Measure {
	case Hold:
		return d.OfHolds(1, 1, sets)
	case Load:
		return d.OfLoads(1, 1, sets)
	case Reserve:
		return d.OfReserve(2, 2, d.Reps-2, k)
	}
	return d.OfRepetitions(d.Reps, d.Reps, k, sets)
}

// leastPredicted is the weight of a part below which it is left out of a prediction
// (1).
const leastPredicted = 1e-7

// Predict gives what each hypothesis expects of a coming test
// (docs/model/06-evidence.md (17)), background and slips summed up into mean and SD.
func (b *Belief) Predict(o *Observation) []Prediction {
	out := make([]Prediction, len(b.Model.Hypotheses))
	n := len(b.Observed)
	c, v := make([]float64, n), make([]float64, n)
	across := make([]float64, len(b.Model.Groups))
	for i := range b.parts {
		p := &b.parts[i]
		w := p.w()
		if w < leastPredicted {
			continue
		}
		p.across(across, o.J)
		mean, spread := 0.0, dot(across, o.J)+o.Skill*o.Skill
		for _, x := range p.h.Weak {
			mean += slabMean * float64(x.Side) * o.J[x.Group]
		}
		for k := range n {
			c[k] = dot(across, b.Observed[k].J) + shared(o, &b.Observed[k])
			mean += c[k] * p.alpha[k]
		}
		for k := range n {
			v[k] = dot(p.inv[k*n:(k+1)*n], c)
			spread -= c[k] * v[k]
		}
		own := p.noise(o)
		for _, s := range p.slips {
			if w*s.w < leastPredicted {
				continue
			}
			m, x := mean, spread
			if s.finding >= 0 {
				m -= v[s.finding] * s.factor * p.alpha[s.finding]
				x += s.factor * v[s.finding] * v[s.finding]
			}
			x += own
			at := &out[p.at]
			at.W += w * s.w
			at.Mean += w * s.w * m
			at.SD += w * s.w * (x + m*m)
		}
	}
	for i := range out {
		at := &out[i]
		at.at = i
		if at.W > 0 {
			at.Mean /= at.W
			at.SD = math.Sqrt(max(at.SD/at.W-at.Mean*at.Mean, 0))
		}
	}
	return out
}

// Information is how many bits a coming test tells about which hypothesis holds,
// docs/model/06-evidence.md (18): never below 0.
func (b *Belief) Information(o *Observation, scope Scope) float64 {
	all := b.Predict(o)
	if scope == Settle {
		all = b.leading(all)
	}
	return information(all)
}

// leading keeps the predictions of the two leading groups and sides, each alone
// weak.
func (b *Belief) leading(all []Prediction) []Prediction {
	two := b.Leaders(2)
	return slices.DeleteFunc(slices.Clone(all), func(p Prediction) bool {
		h := &b.Model.Hypotheses[p.at]
		return len(h.Weak) != 1 || !slices.Contains(two, h.Weak[0])
	})
}

// Leaders lists the groups and sides with the largest chances of being clearly
// weak.
func (b *Belief) Leaders(n int) []Weak {
	type ranked struct {
		Weak
		p float64
	}
	var all []ranked
	for g, c := range b.weakness() {
		all = append(all, ranked{Weak{g, Right}, c[0]}, ranked{Weak{g, Left}, c[1]})
	}
	slices.SortStableFunc(all, func(x, y ranked) int {
		switch {
		case x.p > y.p:
			return -1
		case x.p < y.p:
			return 1
		}
		return 0
	})
	out := make([]Weak, 0, n)
	for _, x := range all[:min(n, len(all))] {
		out = append(out, x.Weak)
	}
	return out
}

// leastPart is the chance of a hypothesis below which it is left out of a sum of
// information (1).
const leastPart = 1e-4

// information is H(mixture) - sum of w H(each), bits, by the rectangle rule.
func information(all []Prediction) float64 {
	low, high, sum := math.Inf(1), math.Inf(-1), 0.0
	for _, p := range all {
		if p.W > leastPart {
			low, high, sum = min(low, p.Mean-gridReach*p.SD), max(high, p.Mean+gridReach*p.SD), sum+p.W
		}
	}
	if sum == 0 {
		return 0
	}
	step := (high - low) / grid
	var f [grid + 1]float64
	bits := 0.0
	for _, p := range all {
		if p.W <= leastPart {
			continue
		}
		w := p.W / sum
		bits -= w * math.Log(p.SD*math.Sqrt(2*math.Pi*math.E))
		from := max(0, int((p.Mean-gridReach*p.SD-low)/step))
		to := min(grid, int((p.Mean+gridReach*p.SD-low)/step)+1)
		scale := w / (p.SD * math.Sqrt(2*math.Pi))
		// a Gaussian on a grid: each value is the last times a factor that itself
		// falls by a constant factor
		z, h := (low+float64(from)*step-p.Mean)/p.SD, step/p.SD
		x, factor, fall := scale*math.Exp(-z*z/2), math.Exp(-h*(z+h/2)), math.Exp(-h*h)
		for i := from; i <= to; i++ {
			f[i] += x
			x *= factor
			factor *= fall
		}
	}
	for _, x := range f {
		if x > 0 {
			bits -= step * x * math.Log(x)
		}
	}
	return max(0, bits/math.Ln2)
}
