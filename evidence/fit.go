package evidence

import (
	"math"
	"slices"

	"corbel/effort"
)

// Constants of fits (docs/model/06-evidence.md (24) to (27); key fatigue-constants, but
// for what is said to be our judgement).
const (
	fitRep       = 0.583 // repetitions, sqrt(0.5² + 0.3²): counting and day inside the set
	fitSaidBase  = 0.25  // repetitions
	fitSaidSlope = 0.25  // 1
	fitBias      = 0.8   // repetitions, prior of the RIR bias
	fitBiasSD    = 0.8
	fitRecovery  = 0.25 // SD of the ln recovery factor
	fitMaxTested = 0.03 // ln, prior of a 1RM the coach tested
	FitMaxLift   = 0.06 // ln, of one that follows from a lift on record (our judgement)
	fitMaxNone   = 0.30 // ln, without any (our judgement)
	biasRamp     = 2.0  // RIR from which the whole bias applies
	fitSteps     = 30
	fitEnough    = 1e-7
	settledSets  = 12   // varied sets after which a fit is personal
	variedLoads  = 0.06 // SD of the load, fraction of the 1RM, from which loads are varied (our judgement)
	slipFactorKg = 2.0  // times the typical load of an exercise, either way: a slip (our judgement)
	mostReps     = 200
)

// A LoggedSet is one working set of an exercise as it was done.
type LoggedSet struct {
	Day   int     // day number; sets of one day are one session
	Load  float64 // kg, with the body mass that counts
	Reps  float64 // done
	RIR   float64 // left, as said
	Said  bool    // a reserve was said
	Rest  float64 // s before it; 0 at the first of a day
	After bool    // it belongs to the later period, for verdicts
}

// A Flag says why a logged set is not used in a fit. The set stays in the log.
type Flag string

// Flags.
const (
	FlagNone     Flag = ""
	FlagNoRIR    Flag = "no-reserve" // no reserve was said
	FlagSlip     Flag = "slip"       // a load far from all others, or no repetitions
	FlagRepeated Flag = "repeated"   // the same set stands twice; the later line counts
)

// A Prior is what is known of an exercise before the log.
type Prior struct {
	Max, MaxSD float64 // 1RM, kg; SD of its ln. Max 0: nothing is known
	K, KSD     float64 // k of the curve; SD of its ln
}

// A Fit is what a log says of one exercise of one client.
type Fit struct {
	Max, MaxSD float64 // 1RM, kg, with the body mass that counts; SD of ln
	Later      float64 // 1RM of the later period, kg; Max is then of the earlier
	LaterSD    float64 // SD of ln(Later/Max)
	K, KSD     float64
	Bias       float64 // repetitions more than said
	Recovery   float64 // factor on both time constants of recovery
	Sets       int     // used
	Flags      []Flag  // of each set
	State      string  // typical, settling or personal
	Outside    float64 // part of the sets outside the 80 % range expected before the fit
	Residual   float64 // SD of the residuals, repetitions
	SingleLoad bool    // loads are too alike to tell 1RM and k apart
}

// usable flags sets that no fit uses.
func usable(sets []LoggedSet) []Flag {
	var loads []float64
	for _, s := range sets {
		if s.Load > 0 && s.Reps > 0 {
			loads = append(loads, s.Load)
		}
	}
	slices.Sort(loads)
	flags := make([]Flag, len(sets))
	for i, s := range sets {
		switch {
		case s.Reps < 1 || s.Reps > mostReps || s.Load <= 0:
			flags[i] = FlagSlip
		case s.Load > slipFactorKg*loads[len(loads)/2] || s.Load*slipFactorKg < loads[len(loads)/2]:
			flags[i] = FlagSlip
		case !s.Said:
			flags[i] = FlagNoRIR
		}
	}
	return flags
}

// parameters of a fit: ln 1RM, ln k, bias, ln recovery, and ln(later/earlier 1RM).
const (
	pMax = iota
	pK
	pBias
	pRecovery
	pLater
	parameters
)

type vector [parameters]float64

// Refit fits the client's 1RM, curve, recovery and reserve bias to logged sets of one
// exercise, with the prior rows, by damped least squares; the day error is integrated
// out (24). rep is the time of a repetition, s. Sets marked After may have another
// 1RM where later is set.
func Refit(sets []LoggedSet, prior Prior, rep float64, later bool) Fit {
	f := Fit{Flags: usable(sets)}
	x, sd := start(sets, f.Flags, prior)
	if !later {
		sd[pLater] = 1e-9
	}
	problem := fitting{sets: sets, flags: f.Flags, prior: x, sd: sd, rep: rep}
	expected, slope := problem.predict(x)
	problem.slope = slope
	f.Outside = problem.outside(expected)
	best := x
	cost := problem.cost(best)
	damp := 1e-3
	for range fitSteps {
		step, _ := problem.step(best, damp)
		next := best
		for i := range next {
			next[i] += step[i]
		}
		c := problem.cost(next)
		if !(c < cost) {
			if damp *= 10; damp > 1e6 {
				break
			}
			continue
		}
		done := cost-c < fitEnough
		best, cost, damp = next, c, damp/10
		if done {
			break
		}
	}
	_, cov := problem.step(best, 0)
	f.fill(problem, best, cov, prior)
	return f
}

// start gives the prior means and SDs.
func start(sets []LoggedSet, flags []Flag, prior Prior) (x, sd vector) {
	lnMax, maxSD := math.Log(max(prior.Max, 1)), prior.MaxSD
	if prior.Max <= 0 {
		maxSD = fitMaxNone
		for i, s := range sets {
			if flags[i] != FlagSlip {
				lnMax = math.Log(s.Load / effort.FreshLoad(max(s.Reps+s.RIR, 1), prior.K))
				break
			}
		}
	}
	x = vector{lnMax, math.Log(prior.K), fitBias, 0, 0}
	sd = vector{maxSD, prior.KSD, fitBiasSD, fitRecovery, fitMaxNone}
	return x, sd
}

type fitting struct {
	sets  []LoggedSet
	flags []Flag
	prior vector
	sd    vector
	rep   float64
	slope []float64 // of each set on ln strength, by the prior: the day error does not move
}

// predict gives the repetitions to failure of each set and their slope on ln strength.
func (p *fitting) predict(x vector) (n, slope []float64) {
	c := effort.DefaultConstants()
	r := math.Exp(x[pRecovery])
	c.FastRecovery *= r
	c.SlowRecovery *= r
	m := effort.NewModel(c)
	link, state := m.Link(0, nil), effort.NewState(1)
	k := math.Exp(x[pK])
	n, slope = make([]float64, len(p.sets)), make([]float64, len(p.sets))
	for i, s := range p.sets {
		if p.flags[i] == FlagSlip || p.flags[i] == FlagRepeated {
			continue
		}
		if i > 0 && s.Day != p.sets[i-1].Day {
			state.Reset()
		} else {
			m.Rest(state, s.Rest)
		}
		one := math.Exp(x[pMax])
		if s.After {
			one *= math.Exp(x[pLater])
		}
		load := min(max(s.Load/one, 0.05), 1.5)
		res := m.Set(state, link, effort.Work{Load: load, K: k, Repetition: p.rep, Goal: effort.Count(s.Reps)})
		n[i], slope[i] = res.Repetitions, 1/(k*load)
	}
	return n, slope
}

// said is what the client would say: repetitions done and reserve, (25).
func said(n, bias, rir float64) float64 { return n - bias*min(1, rir/biasRamp) }

// noise is the SD of one set, (26).
func (s *LoggedSet) noise() float64 { return math.Hypot(fitRep, fitSaidBase+fitSaidSlope*s.RIR) }

// residuals gives y less prediction, by set; unused sets 0.
func (p *fitting) residuals(x vector) (res, slope []float64) {
	n, slope := p.predict(x)
	for i, s := range p.sets {
		if p.flags[i] != FlagNone {
			n[i] = 0
			continue
		}
		n[i] = s.Reps + s.RIR - said(n[i], x[pBias], s.RIR)
	}
	return n, slope
}

// sessions lists the used sets of each day.
func (p *fitting) sessions() [][]int {
	var out [][]int
	day := 0
	for i, s := range p.sets {
		if p.flags[i] != FlagNone {
			continue
		}
		if len(out) == 0 || s.Day != day {
			out, day = append(out, nil), s.Day
		}
		out[len(out)-1] = append(out[len(out)-1], i)
	}
	return out
}

// weight solves C w = v for one session, C = diag + day² g g' by Sherman and Morrison.
func (p *fitting) weight(at []int, slope, v []float64) []float64 {
	dg, gg := make([]float64, len(at)), 0.0
	for j, i := range at {
		dg[j] = slope[i] / (p.sets[i].noise() * p.sets[i].noise())
		gg += slope[i] * dg[j]
	}
	day := effort.DaySD * effort.DaySD
	out, sum := make([]float64, len(at)), 0.0
	for j := range at {
		sum += dg[j] * v[j]
	}
	for j, i := range at {
		out[j] = v[j]/(p.sets[i].noise()*p.sets[i].noise()) - dg[j]*day*sum/(1+day*gg)
	}
	return out
}

func (p *fitting) cost(x vector) float64 {
	res, _ := p.residuals(x)
	c := 0.0
	for _, at := range p.sessions() {
		v := pickOf(res, at)
		c += dot(v, p.weight(at, p.slope, v)) / 2
	}
	for i := range x {
		z := (x[i] - p.prior[i]) / p.sd[i]
		c += z * z / 2
	}
	return c
}

func pickOf(v []float64, at []int) []float64 {
	out := make([]float64, len(at))
	for j, i := range at {
		out[j] = v[i]
	}
	return out
}

// derivativeStep is the step of central differences (ln or repetitions).
const derivativeStep = 1e-4

// step is a damped Gauss-Newton step and the inverse of the normal matrix.
func (p *fitting) step(x vector, damp float64) (vector, []float64) {
	res, _ := p.residuals(x)
	var jac [parameters][]float64
	for i := range x {
		up, down := x, x
		up[i] += derivativeStep
		down[i] -= derivativeStep
		a, _ := p.residuals(up)
		b, _ := p.residuals(down)
		jac[i] = make([]float64, len(a))
		for k := range a {
			jac[i][k] = -(a[k] - b[k]) / (2 * derivativeStep)
		}
	}
	normal, rhs := make([]float64, parameters*parameters), vector{}
	for _, at := range p.sessions() {
		r := pickOf(res, at)
		for i := range x {
			w := p.weight(at, p.slope, pickOf(jac[i], at))
			rhs[i] += dot(w, r)
			for k := range x {
				normal[i*parameters+k] += dot(w, pickOf(jac[k], at))
			}
		}
	}
	for i := range x {
		v := 1 / (p.sd[i] * p.sd[i])
		normal[i*parameters+i] += v
		rhs[i] -= (x[i] - p.prior[i]) * v
		normal[i*parameters+i] *= 1 + damp
		for k := range i { // exactly symmetric
			normal[k*parameters+i] = normal[i*parameters+k]
		}
	}
	inv, _ := invert(normal, parameters)
	var step vector
	for i := range step {
		step[i] = dot(inv[i*parameters:(i+1)*parameters], rhs[:])
	}
	return step, inv
}

// outside is the part of used sets outside the 80 % range of a prediction.
func (p *fitting) outside(n []float64) float64 {
	miss, used := 0.0, 0.0
	for i, s := range p.sets {
		if p.flags[i] != FlagNone {
			continue
		}
		used++
		day := effort.DaySD * n[i] / math.Max(math.Exp(p.prior[pK])*n[i], 0.05)
		maxSD := p.sd[pMax] / math.Max(math.Exp(p.prior[pK]), 0.01)
		sd := math.Sqrt(s.noise()*s.noise() + day*day + maxSD*maxSD)
		if math.Abs(s.Reps+s.RIR-said(n[i], p.prior[pBias], s.RIR)) > prudent*sd {
			miss++
		}
	}
	return miss / math.Max(used, 1)
}

// fill turns parameters into a fit with its state (27).
func (f *Fit) fill(p fitting, x vector, cov []float64, prior Prior) {
	at := func(i, k int) float64 { return cov[i*parameters+k] }
	f.Max, f.MaxSD = math.Exp(x[pMax]), math.Sqrt(at(pMax, pMax))
	f.Later, f.LaterSD = f.Max*math.Exp(x[pLater]), math.Sqrt(at(pLater, pLater))
	f.K, f.KSD = math.Exp(x[pK]), math.Sqrt(at(pK, pK))
	f.Bias, f.Recovery = x[pBias], math.Exp(x[pRecovery])
	res, _ := p.residuals(x)
	sum, mean, sq := 0.0, 0.0, 0.0
	for i, s := range p.sets {
		if f.Flags[i] == FlagNone {
			f.Sets++
			load := s.Load / f.Max
			mean, sq, sum = mean+load, sq+load*load, sum+res[i]*res[i]
		}
	}
	n := math.Max(float64(f.Sets), 1)
	f.Residual = math.Sqrt(sum / n)
	f.SingleLoad = f.Sets > 0 && math.Sqrt(max(0, sq/n-mean*mean/(n*n))) < variedLoads
	switch {
	case f.Sets == 0:
		f.State = "typical"
	case f.Sets < settledSets || f.SingleLoad:
		f.State = "settling"
	default:
		f.State = "personal"
	}
}
