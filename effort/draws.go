package effort

import (
	"math"
	"math/rand/v2"
	"sort"
)

// RecoverySD is the spread between people of the ln factor that scales both
// recovery time constants together (1; fatigue-constants, a prior there).
const RecoverySD = 0.25

// Standard deviations of the constants' fit: shares as they are, time constants
// as ln. From the 95 % ranges of fatigue-constants: 0.18-0.57, a factor 1.8, a
// factor 2.2, 0.41-0.65.
const (
	slowShareSD  = 0.10
	lnFastSD     = 0.30
	lnSlowSD     = 0.40
	ownShareSD   = 0.061
	smallestPart = 0.02 // drawn shares are kept in 0.02..0.98 (1; our judgement)
)

// constantsCorrelation holds the correlations between slow share, ln fast, ln
// slow and own share. The -0.97 is printed in fatigue-constants; the others are
// our own calculation: the Jacobian of the 32 published values of the report with
// the judged weights there (TestConstantsCovariance repeats it).
var constantsCorrelation = [4][4]float64{
	{1, -0.88, -0.97, -0.26},
	{-0.88, 1, 0.82, 0.27},
	{-0.97, 0.82, 1, 0.36},
	{-0.26, 0.27, 0.36, 1},
}

const badSpread = "effort: spreads must be 0 or more and finite"

// Spread is what is not known of one exercise of one client.
type Spread struct {
	LnK   float64 // SD of ln k, 1
	LnMax float64 // SD of ln 1RM for whatever else than k, 1
	Lift  float64 // k (n - 1) of the lift the 1RM was computed from, 1; 0 where there is none
}

// Spreads is everything that is drawn. Draws of different exercises are
// independent (our judgement; no data seen).
type Spreads struct {
	Exercises []Spread
	Recovery  float64 // SD of the ln recovery factor, 1: RecoverySD, or less once fitted
	Day       float64 // SD of ln strength from day to day, 1: DaySD
	Constants bool    // whether the constants' own uncertainty is drawn as well
}

// Draw is one possible client on one possible day.
type Draw struct {
	Recovery float64   // factor on both recovery time constants
	Day      float64   // factor on strength, all exercises alike
	K        []float64 // factor on k, by exercise
	Max      []float64 // factor on the 1RM, by exercise

	model Model
}

// Model returns the draw's model; links made by the base model fit it.
func (d *Draw) Model() *Model { return &d.model }

// Work returns w as it is for the drawn client: the load is the same on the bar
// but another fraction of the drawn strength, and k is the drawn one. exercise
// counts as in [Spreads.Exercises].
func (d *Draw) Work(exercise int, w Work) Work {
	w.Load /= d.Max[exercise] * d.Day
	w.K *= d.K[exercise]
	return w
}

// Drawer makes draws, docs/model/03-session.md (13). The same seed, base and
// spreads give the same draws on every machine, but for the last digits of exp.
type Drawer struct {
	rnd     *rand.Rand
	base    Constants
	spreads Spreads
	factor  [4][4]float64 // lower triangle, times its transpose is the covariance
}

// NewDrawer returns a drawer of clients around base. It panics on spreads that
// are negative or not finite and on unusable constants.
func NewDrawer(seed uint64, base Constants, spreads Spreads) *Drawer {
	ok := usable(base) && atLeastZero(spreads.Recovery) && atLeastZero(spreads.Day)
	for _, e := range spreads.Exercises {
		ok = ok && atLeastZero(e.LnK) && atLeastZero(e.LnMax) && atLeastZero(e.Lift)
	}
	if !ok {
		panic(badSpread)
	}
	return &Drawer{
		rnd:     rand.New(rand.NewPCG(seed, drawStream)),
		base:    base,
		spreads: spreads,
		factor:  constantsFactor(),
	}
}

// drawStream is the second half of the generator's seed; any fixed number does.
const drawStream = 0x636f7262656c

// Next makes the next draw in d, whose slices it reuses. A 1RM that rests on a lift
// follows the drawn k, so that every drawn client did that lift,
// docs/model/03-session.md (13).
func (g *Drawer) Next(d *Draw) {
	d.Recovery = math.Exp(g.spreads.Recovery * g.rnd.NormFloat64())
	d.Day = math.Exp(g.spreads.Day * g.rnd.NormFloat64())
	d.K, d.Max = d.K[:0], d.Max[:0]
	for _, e := range g.spreads.Exercises {
		k := math.Exp(e.LnK * g.rnd.NormFloat64())
		d.K = append(d.K, k)
		d.Max = append(d.Max, math.Exp(e.LnMax*g.rnd.NormFloat64())*(1+e.Lift*k)/(1+e.Lift))
	}
	c := g.base
	if g.spreads.Constants {
		c = g.constants()
	}
	c.FastRecovery *= d.Recovery
	c.SlowRecovery *= d.Recovery
	d.model = Model{c}
}

// constants draws the constants from their covariance, docs/model/03-session.md
// (14).
func (g *Drawer) constants() Constants {
	var z, x [4]float64
	for i := range z {
		z[i] = g.rnd.NormFloat64()
	}
	for i := range x {
		for j := 0; j <= i; j++ {
			x[i] += g.factor[i][j] * z[j]
		}
	}
	part := func(v float64) float64 { return math.Min(1-smallestPart, math.Max(smallestPart, v)) }
	c := g.base
	c.SlowShare = part(c.SlowShare + x[0])
	c.FastRecovery *= math.Exp(x[1])
	c.SlowRecovery *= math.Exp(x[2])
	c.OwnShare = part(c.OwnShare + x[3])
	return c
}

// constantsFactor returns the Cholesky factor of the constants' covariance.
func constantsFactor() (l [4][4]float64) {
	sd := [4]float64{slowShareSD, lnFastSD, lnSlowSD, ownShareSD}
	for i := range l {
		for j := 0; j <= i; j++ {
			sum := constantsCorrelation[i][j] * sd[i] * sd[j]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][i] = math.Sqrt(sum)
			} else {
				l[i][j] = sum / l[j][j]
			}
		}
	}
	return l
}

// Step is one set of a session and the rest after it.
type Step struct {
	Exercise int // place in Spreads.Exercises
	Link     *Link
	Work     Work
	Rest     float64 // s
}

// Run does steps one after the other on s and appends their results to out.
func (m *Model) Run(s *State, steps []Step, out []Result) []Result {
	for i := range steps {
		out = append(out, m.Set(s, steps[i].Link, steps[i].Work))
		m.Rest(s, steps[i].Rest)
	}
	return out
}

// Band is the middle 80 % of the draws of one number.
type Band struct{ Low, Median, High float64 }

// BandOf returns the band of values, which it sorts: the 10th, 50th and 90th
// percentile, on a straight line between neighbours. No values, no band: all 0.
func BandOf(values []float64) Band {
	if len(values) == 0 {
		return Band{}
	}
	sort.Float64s(values)
	at := func(q float64) float64 {
		x := q * float64(len(values)-1)
		i := int(x)
		if i+1 == len(values) {
			return values[i]
		}
		return values[i] + (x-float64(i))*(values[i+1]-values[i])
	}
	return Band{at(0.1), at(0.5), at(0.9)}
}

// Bands returns, for every step, the 80 % band of the repetitions to failure over
// draws of g, each beginning in the state start. A caller who wants the band of
// another number runs the draws itself: [Drawer.Next], [Draw.Model], [Draw.Work].
func Bands(g *Drawer, start *State, steps []Step, draws int) []Band {
	values := make([]float64, draws*len(steps))
	state := start.Clone()
	var d Draw
	for i := range draws {
		g.Next(&d)
		state.CopyFrom(start)
		for j := range steps {
			r := d.model.Set(state, steps[j].Link, d.Work(steps[j].Exercise, steps[j].Work))
			d.model.Rest(state, steps[j].Rest)
			values[j*draws+i] = r.Repetitions
		}
	}
	bands := make([]Band, len(steps))
	for j := range steps {
		bands[j] = BandOf(values[j*draws : (j+1)*draws])
	}
	return bands
}
