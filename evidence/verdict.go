package evidence

import (
	"errors"
	"math"
)

// Bounds of verdicts (docs/model/06-evidence.md (28); key judgement).
const (
	surely   = 1.96
	probably = 1.0
	// ownTrials is how many trials give a client's own typical error.
	ownTrials = 3
	// PublishedError is the typical error of one maximal test, ln (key grgic-2020).
	PublishedError = loadSD
	mostMoreTrials = 50
)

// A Verdict says whether something changed.
type Verdict string

// Verdicts.
const (
	Better         Verdict = "better"
	ProbablyBetter Verdict = "probably better"
	NoChange       Verdict = "no clear change"
	ProbablyWorse  Verdict = "probably worse"
	Worse          Verdict = "worse"
)

// VerdictOf judges a change against its standard error.
func VerdictOf(change, se float64) Verdict {
	switch z := change / se; {
	case z >= surely:
		return Better
	case z >= probably:
		return ProbablyBetter
	case z <= -surely:
		return Worse
	case z <= -probably:
		return ProbablyWorse
	}
	return NoChange
}

// FalseBetter is the chance that what is called better is not: that the true change is
// not above 0.
func FalseBetter(change, se float64) float64 { return below(-change / se) }

// TrialsToDecide is how many trials more, after those there are, would bring the change
// seen beyond 1.96 standard errors or show that it is within; ok is false where no
// number up to 50 does: more trials before would be needed.
func TrialsToDecide(change, err float64, before, after int) (more int, ok bool) {
	for more = range mostMoreTrials + 1 {
		if math.Abs(change) >= surely*err*math.Sqrt(1/float64(before)+1/float64(after+more)) {
			return more, true
		}
	}
	return 0, false
}

// TypicalError is the SD of repeated measures of one person: the pooled SD within
// columns of trials (Hopkins, key hopkins-2000). It needs two trials or more.
func TypicalError(trials ...[]float64) (sd float64, ok bool) {
	sum, free := 0.0, 0
	for _, t := range trials {
		mean := 0.0
		for _, x := range t {
			mean += x / float64(len(t))
		}
		for _, x := range t {
			sum += (x - mean) * (x - mean)
		}
		free += max(len(t)-1, 0)
	}
	if free == 0 {
		return 0, false
	}
	return math.Sqrt(sum / float64(free)), true
}

// SEM is the standard error of measurement from SD and ICC; MDC the change that
// measurement error alone passes in one of twenty (key weir-2005, from memory).
func SEM(sd, icc float64) float64 { return sd * math.Sqrt(1-icc) }

// MDC is the minimal detectable change at 95 %.
func MDC(sem float64) float64 { return surely * math.Sqrt2 * sem }

// An Index compares two sides.
type Index struct {
	Symmetry   float64 // weaker / stronger x 100
	Difference float64 // (max - min) / max x 100
	Bilateral  float64 // (stronger - weaker) / (stronger + weaker) x 100
	Robinson   float64 // (right - left) / half their sum x 100
	Angle      float64 // (45° - arctan(left/right)) / 90° x 100
}

// Indices gives the usual indices of two sides, in percent (key asymmetry-indices).
// "10 %" means another thing in each: one is named wherever a number is shown. Both
// sides must be above 0.
func Indices(left, right float64) (Index, error) {
	if !(left > 0 && right > 0) {
		return Index{}, errors.New("both sides must be above 0 to be compared")
	}
	low, high := min(left, right), max(left, right)
	a := 45 - math.Atan(left/right)*180/math.Pi
	return Index{100 * low / high, 100 * (high - low) / high, 100 * (high - low) / (high + low), 100 * (right - left) / (0.5 * (right + left)), a / 90 * 100}, nil
}

// An ICC holds the six intraclass correlations of targets rated by judges (key
// shrout-fleiss-1979): single ratings, then means of all judges.
type ICC struct{ One, Two, Three, OneK, TwoK, ThreeK float64 }

// ICCs computes them; rows are targets, columns judges or trials.
func ICCs(x [][]float64) ICC {
	n, k := float64(len(x)), float64(len(x[0]))
	grand := 0.0
	for _, row := range x {
		for _, v := range row {
			grand += v / (n * k)
		}
	}
	between, judges, total := 0.0, 0.0, 0.0
	for _, row := range x {
		m := 0.0
		for _, v := range row {
			m += v / k
			total += (v - grand) * (v - grand)
		}
		between += k * (m - grand) * (m - grand)
	}
	for j := range x[0] {
		m := 0.0
		for _, row := range x {
			m += row[j] / n
		}
		judges += n * (m - grand) * (m - grand)
	}
	msb, msw := between/(n-1), (total-between)/(n*(k-1))
	msj, mse := judges/(k-1), (total-between-judges)/((n-1)*(k-1))
	return ICC{(msb - msw) / (msb + (k-1)*msw), (msb - mse) / (msb + (k-1)*mse + k*(msj-mse)/n), (msb - mse) / (msb + (k-1)*mse),
		(msb - msw) / msb, (msb - mse) / (msb + (msj-mse)/n), (msb - mse) / msb}
}

// DifferenceNoise is the noise of a difference of sides, which counts as evidence when it passes what one side varies by
// alone: 1.96 sqrt 2 CV / sqrt(trials) (key exell-2012; derived).
func DifferenceNoise(cv float64, trials int) float64 {
	return surely * math.Sqrt2 * cv / math.Sqrt(float64(trials))
}
