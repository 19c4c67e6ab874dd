package evidence

import (
	"math"

	"corbel/client"
)

// A Measure is how sides were compared.
type Measure string

// Measures of a finding.
const (
	Repetitions Measure = "repetitions" // same load, as many as possible, or done and left together
	Load        Measure = "load"        // what each side lifts at equal effort
	Hold        Measure = "hold"        // s
	Reserve     Measure = "reserve"     // repetitions left, or a rating 0 to 10, after the same load and repetitions
	Words       Measure = "words"       // harder on one side: same, a little, clearly, could not match
	HipShift    Measure = "hip-shift"   // mm, bottom of a squat
	KneeLine    Measure = "knee-line"   // deg further in
	PelvisDrop  Measure = "pelvis-drop" // deg
)

// Errors of findings (docs/model/06-evidence.md, table 2).
const (
	repSD        = 1.0     // repetitions to failure (our judgement, key judgement)
	rounding     = 1. / 12 // repetitions², of whole repetitions
	executionSD  = 0.02    // ln, execution and day (key judgement)
	skillSD      = 0.03    // ln, of a drill: a repeat shares it (key judgement)
	loadSD       = 0.042   // ln, one trial (key grgic-2020)
	calfSD       = 0.052   // ln, heel raises (key heel-raise)
	holdSD       = 0.08    // ln (key judgement)
	holdPower    = 0.5     // strength goes with the root of the time (key fatigue-constants)
	ratingSD     = 0.065   // ln (key judgement)
	ratingSlope  = 0.8     // of a rated difference to a true one (key judgement)
	ratingUse    = 0.5     // of y: how a client uses the scale (key judgement)
	curveSpread  = 0.2     // of y: k is not known (key judgement)
	shiftSpread  = 0.29    // of J, uniform between half and one and a half
	statedSpread = 0.25    // of J (key judgement)
	shiftSD      = 16.     // mm, camera 10, habit 12 (key judgement)
	kneeSD       = 6.      // deg, both sides and habit (key munro-2012)
	dropSD       = 5.      // deg (key judgement)
)

// An Observation is a finding as the model reads it: y = J delta + error, where
// delta is ln(right/left) of each group.
type Observation struct {
	Measure Measure
	Drill   string    // observations of one drill share its skill error; empty for none
	J, JSD  []float64 // by group; JSD is the error of J
	Y       float64   // ln(right/left), mm to the right or deg right more than left
	SD      float64   // of Y, without what follows
	Skill   float64   // SD that repeats of the drill share
	Use     float64   // SD as a part of Y
	// Low and High bound what is not known to be a number: words. Y is not used.
	Low, High float64
	Bounded   bool
}

// logNoise fills in J and its error, and the spread of a log finding.
func (d *Drill) observe(m Measure, y, sd, skill, use float64) Observation {
	return Observation{Measure: m, Drill: d.Exercise, J: d.J, JSD: d.SD, Y: y, SD: sd, Skill: skill, Use: use}
}

// TestSD is the SD of ln(right/left) of a test by repetitions without what a
// repeat shares: reps repetitions a side with a curve of k, sets a side.
func TestSD(reps, k float64, sets int) float64 {
	kp := k / (1 + k*(reps-1))
	return math.Sqrt(2 * (kp*kp*(repSD*repSD+rounding) + executionSD*executionSD) / float64(max(sets, 1)))
}

// OfRepetitions is a side test by repetitions possible at the same load,
// docs/model/06-evidence.md (6): n is done and left together, k of the curve.
func (d *Drill) OfRepetitions(left, right, k float64, sets int) Observation {
	mean := max((left+right)/2, 1)
	p := 1 / (1 + k*(mean-1))
	sd := TestSD(mean, k, sets)
	if d.Exercise == "standing-calf-raise" {
		sd = math.Sqrt(calfSD*calfSD-skillSD*skillSD) / math.Sqrt(float64(max(sets, 1)))
	}
	return d.observe(Repetitions, k*p*(right-left), sd, skillSD, curveSpread)
}

// OfLoads is a side test by load at equal effort; left and right include the body
// part carried, in one unit (6).
func (d *Drill) OfLoads(left, right float64, sets int) Observation {
	return d.observe(Load, math.Log(right/left), math.Sqrt2*loadSD/math.Sqrt(float64(max(sets, 1))), skillSD, 0)
}

// OfHolds is a side test by the time a hold lasts, s (6).
func (d *Drill) OfHolds(left, right float64, sets int) Observation {
	return d.observe(Hold, holdPower*math.Log(right/left), holdSD/math.Sqrt(float64(max(sets, 1))), skillSD, curveSpread)
}

// OfReserve is a rating of both sides after the same load and reps repetitions: in
// reserve, or 10 less a rating of effort (6).
func (d *Drill) OfReserve(left, right, reps, k float64) Observation {
	n := max(reps+(left+right)/2, 1)
	p := 1 / (1 + k*(n-1))
	return d.observe(Reserve, k*p*(right-left)/ratingSlope, ratingSD, 0, ratingUse)
}

// degreeBounds are the bounds of words in ln(stronger/weaker) (our judgement, key
// judgement).
var degreeBounds = map[client.Degree][2]float64{
	client.Same: {-0.03, 0.03}, client.ALittle: {0.03, 0.08}, client.Clearly: {0.08, 0.16}, client.NotMatch: {0.16, math.Inf(1)},
}

// OfWords is a rating in words: harder is the side that was harder (6).
func (d *Drill) OfWords(deg client.Degree, harder Side) Observation {
	o := d.observe(Words, 0, ratingSD, 0, 0)
	b := degreeBounds[deg]
	if harder == Right && deg != client.Same {
		b[0], b[1] = -b[1], -b[0]
	}
	o.Low, o.High, o.Bounded = b[0], b[1], true
	return o
}

// seen are what video shows, docs/model/06-evidence.md (7): units of the finding for
// each unit of delta.
var seen = map[Measure]struct {
	sd, spread float64
	by         map[string]float64
}{
	HipShift:   {shiftSD, shiftSpread, map[string]float64{"hip-rotators": 16, "gluteus-maximus": 35, "hip-adductors": 19, "quadriceps": 31}},
	KneeLine:   {kneeSD, statedSpread, map[string]float64{"hip-abductors": -6, "gluteus-maximus": -5}},
	PelvisDrop: {dropSD, statedSpread, map[string]float64{"hip-abductors": -12, "hip-rotators": -2, "gluteus-maximus": -3, "trunk-side": -3}},
}

// OfVideo is a hip shift (mm to the right), or right less left of a knee line or
// pelvis drop in stance on that leg (deg). ok is false where the model has none of
// its groups.
func (m *Model) OfVideo(measure Measure, y float64) (o Observation, ok bool) {
	row, known := seen[measure]
	o = Observation{Measure: measure, Y: y, SD: row.sd, J: make([]float64, len(m.Groups)), JSD: make([]float64, len(m.Groups))}
	for id, j := range row.by {
		if g := m.Number(id); g >= 0 {
			o.J[g], o.JSD[g], ok = j, row.spread*math.Abs(j), true
		}
	}
	return o, ok && known
}
