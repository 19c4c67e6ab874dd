package body

import "math"

// Parameters of strength: the common level, then a deviation for each function.
const strengthParameters = 1 + StrengthFunctions

// A StrengthGain is how a largest load, or its logarithm, changes with the
// strength parameters: the level first, then the deviations.
type StrengthGain [strengthParameters]float64

const badLift = "body: a known lift needs a load and an error above 0"

// GainOf sums the gains of all muscles into those of level and deviations. First
// is the column that [Strength.AddMuscles] returned.
func (l *Largest) GainOf(first int) (g StrengthGain) {
	for side := range 2 {
		for i, m := range Muscles() {
			gain := l.Gain[first+side*len(Muscles())+i]
			g[0] += gain
			for _, p := range m.Parts {
				g[1+p.Function] += p.Part * gain
			}
		}
	}
	return g
}

// A StrengthBelief is what is known of a client's strength: the mean and the
// covariance of level and deviations, docs/model/01-body-muscles.md (24)-(26).
type StrengthBelief struct {
	Mean       [strengthParameters]float64
	Covariance [strengthParameters][strengthParameters]float64
}

// PriorBelief is the belief about a client of a training level before any lift is
// known.
func PriorBelief(level float64) *StrengthBelief {
	b := &StrengthBelief{}
	b.Mean[0] = level
	b.Covariance[0][0] = LevelSD * LevelSD
	for f := range StrengthFunctions {
		b.Covariance[1+f][1+f] = DeviationSD * DeviationSD
	}
	return b
}

// Apply sets a strength to the belief's mean.
func (b *StrengthBelief) Apply(s *Strength) {
	s.Level = b.Mean[0]
	copy(s.Deviation[:], b.Mean[1:])
	s.Belief = b
}

// SD is the standard deviation of a quantity that changes with strength as g says.
func (b *StrengthBelief) SD(g *StrengthGain) float64 {
	v := 0.0
	for i := range g {
		for j := range g {
			v += g[i] * b.Covariance[i][j] * g[j]
		}
	}
	return math.Sqrt(max(0, v))
}

// A Lift is a largest load that is known of a client.
type Lift struct {
	Name  string
	Known float64 // load lifted once, kg; above 0
	SD    float64 // error of ln(known/model) beside strength: of technique, posture, model; 1
	// Model computes the lift for a strength: the largest load, kg, and its gains.
	Model func(*Strength) (load float64, gain StrengthGain)
}

// ModelSpread is how far a lift may be from the largest load that the model holds,
// beside the spread of strength, ln (our judgement): the model is static, lifts are
// done in motion and with skill.
const ModelSpread = 0.15

const (
	learnSteps = 12
	learnTol   = 1e-6
	// LeastModel keeps the logarithm finite where the model says that not even
	// the body can be held: kg, our judgement.
	LeastModel = 1.0
)

// Learn moves level and deviations so that the model meets the known lifts as far
// as their errors ask: Gauss-Newton on the logarithms of the loads, the model
// solved anew at each step, (25). The belief b stays as it is; the strength s is
// left at the new mean.
func (b *StrengthBelief) Learn(s *Strength, lifts []Lift) *StrengthBelief {
	after := *b
	for range learnSteps {
		after.Apply(s)
		before := after.Mean
		// Kalman updates, one lift after another, of the belief before any lift,
		// with the model made linear at the present mean.
		next := *b
		for i := range lifts {
			next.update(s, &lifts[i], &before)
		}
		after = next
		worst := 0.0
		for i, m := range after.Mean {
			worst = max(worst, math.Abs(m-before[i]))
		}
		if worst < learnTol {
			break
		}
	}
	after.Apply(s)
	return &after
}

// update takes in one lift, whose model stands at the strength s with parameters at.
func (b *StrengthBelief) update(s *Strength, l *Lift, at *[strengthParameters]float64) {
	if !(l.Known > 0 && l.SD > 0) {
		panic(badLift)
	}
	load, gain := l.Model(s)
	if math.IsInf(load, 1) {
		return // the lift asks nothing of the muscles and tells nothing
	}
	load = max(load, LeastModel)
	miss := math.Log(l.Known / load)
	var carried [strengthParameters]float64 // covariance x gain
	spread := l.SD * l.SD
	for i := range gain {
		gain[i] /= load
		miss -= gain[i] * (b.Mean[i] - at[i])
	}
	for i := range gain {
		for j := range gain {
			carried[i] += b.Covariance[i][j] * gain[j]
		}
	}
	for i, g := range gain {
		spread += g * carried[i]
	}
	for i, c := range carried {
		b.Mean[i] += c * miss / spread
		for j, d := range carried {
			b.Covariance[i][j] -= c * d / spread
		}
	}
}

// A LeftOut is a lift predicted from all others.
type LeftOut struct {
	Name             string
	Known, Predicted float64 // kg
	Low, High        float64 // kg: the range of 90 % of such clients
}

// rangeWidth is the half width of a 90 % range in standard deviations.
const rangeWidth = 1.645

// LeaveOut predicts each lift from the others, so that the error can be shown.
func (b *StrengthBelief) LeaveOut(s *Strength, lifts []Lift) []LeftOut {
	var out []LeftOut
	for i, l := range lifts {
		others := append(append([]Lift{}, lifts[:i]...), lifts[i+1:]...)
		belief := b.Learn(s, others)
		load, gain := l.Model(s)
		for k := range gain {
			gain[k] /= max(load, LeastModel)
		}
		sd := math.Hypot(belief.SD(&gain), l.SD)
		out = append(out, LeftOut{l.Name, l.Known, load, load * math.Exp(-rangeWidth*sd), load * math.Exp(rangeWidth*sd)})
	}
	b.Learn(s, lifts)
	return out
}
