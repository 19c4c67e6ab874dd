package effort

import (
	_ "embed"
	"fmt"
	"math"
	"sync"
)

// Constants of load, repetitions and reserve.
const (
	// EnduranceFactor multiplies k of lower-limb classes for clients with an
	// endurance background (1; our judgement from one study, richens-cleather-2014:
	// 39.9 against 17.9 repetitions at 70 % gives 0.43, drawn towards 1).
	EnduranceFactor = 0.6
	// EnduranceSD is SD(ln k) for those clients and classes (1; our judgement).
	EnduranceSD = 0.35
	// SaidBias is how many repetitions more than said are truly in reserve
	// (repetitions; halperin-2022, 95 % interval 0.17-1.73).
	SaidBias = 0.95
	// biasRamp is the said reserve from which the whole bias applies: nobody
	// under-reports a set that failed (repetitions; our judgement).
	biasRamp = 2
	// DaySD is the day-to-day SD of ln strength (1; fatigue-constants, it
	// reproduces the test-retest error of mitter-2022).
	DaySD = 0.02
	// reserveSDBase, reserveSDSlope, reserveSDLong and longSet make the SD of a
	// reported reserve (repetitions, 1, 1, repetitions; our judgement between
	// refalo-2024 and zourdos-2021).
	reserveSDBase  = 0.3
	reserveSDSlope = 0.25
	reserveSDLong  = 0.05
	longSet        = 12
	// maxReserveRated is the largest reserve the rating scale tells apart
	// (repetitions; zourdos-2016).
	maxReserveRated = 5
)

// Class is a repetition class of exercises: how strongly repetitions to failure
// depend on load, before anything is known of the client.
type Class struct {
	ID        string  // as the exercise files write it, e.g. "upper-push"
	K         float64 // k of (2), 1
	SDLnK     float64 // spread of ln k between people, 1
	LowerLimb bool    // whether an endurance background changes k
	Basis     string  // where k comes from, in words
	Source    string  // key of docs/sources.md
}

// Background is what a client's training years were mostly made of.
type Background uint8

// Backgrounds a class can be asked for.
const (
	General   Background = iota // strength training or nothing in particular
	Endurance                   // years of running, cycling, rowing and the like
)

//go:embed classes.csv
var classesText string

var classTable = sync.OnceValue(func() []Class {
	var out []Class
	for _, r := range readTable(classesText) {
		out = append(out, Class{r[0], number(r[1]), number(r[2]), r[3] == "yes", r[4], r[5]})
	}
	return out
})

// Classes returns all repetition classes in the order of the table.
func Classes() []Class { return append([]Class(nil), classTable()...) }

// ClassByID returns the class with the given id, e.g. "squat".
func ClassByID(id string) (Class, bool) {
	for _, c := range classTable() {
		if c.ID == id {
			return c, true
		}
	}
	return Class{}, false
}

// For returns k and SD(ln k) of the class for somebody with background b:
// lower-limb classes get k times [EnduranceFactor] and at least [EnduranceSD]
// after years of endurance sport.
func (c Class) For(b Background) (k, sdLnK float64) {
	if b != Endurance || !c.LowerLimb {
		return c.K, c.SDLnK
	}
	return c.K * EnduranceFactor, math.Max(c.SDLnK, EnduranceSD)
}

const badCurve = "effort: repetition curve needs a positive finite load fraction, k and repetitions"

// FreshRepetitions returns the repetitions to failure of a fresh client at load
// p, a fraction of the 1RM,
//
//	n = 1 + (1-p)/(k p)          docs/model/02-effort.md (2)
//
// at least 0 and at most [RepetitionCap]. Recovery inside the set is left out;
// [Model.Fresh] has it. It panics unless p and k are positive and finite.
func FreshRepetitions(p, k float64) float64 {
	if !positive(p) || !positive(k) {
		panic(badCurve)
	}
	return math.Min(RepetitionCap, math.Max(0, 1+(1-p)/(k*p)))
}

// FreshLoad returns the load, a fraction of the 1RM, at which n repetitions are
// possible, the inverse of [FreshRepetitions],
//
//	p = 1/(1 + k (n-1))          docs/model/02-effort.md (3)
//
// It panics unless n is at least 1 and k positive, both finite.
func FreshLoad(n, k float64) float64 {
	if !(n >= 1) || !positive(n) || !positive(k) {
		panic(badCurve)
	}
	return 1 / (1 + k*(n-1))
}

// Exertion returns the rating on the 10-point scale for a reserve of 0 to 5
// repetitions in half steps, RPE = 10 - RIR, docs/model/02-effort.md (4). The
// scale does not tell larger reserves apart: they return an error.
func Exertion(reserve float64) (float64, error) {
	if !(reserve >= 0 && reserve <= maxReserveRated) || !halfStep(reserve) {
		return 0, fmt.Errorf("reserve %g repetitions: %w: give 0 to 5 in half steps", reserve, ErrRange)
	}
	return 10 - reserve, nil
}

// Reserve returns the repetitions in reserve that a rating of 5 to 10 in half
// steps stands for, the inverse of [Exertion].
func Reserve(rating float64) (float64, error) {
	if !(rating >= 10-maxReserveRated && rating <= 10) || !halfStep(rating) {
		return 0, fmt.Errorf("rating %g: %w: give 5 to 10 in half steps", rating, ErrRange)
	}
	return 10 - rating, nil
}

func halfStep(x float64) bool { return math.Trunc(2*x) == 2*x }

// TrueReserve returns the repetitions that were probably left when the client
// said `said`, docs/model/02-effort.md (5). bias is the client's own or
// [SaidBias], in repetitions; it applies in full from two repetitions on and not
// at all to a set that failed.
func TrueReserve(said, bias float64) float64 {
	return said + bias*math.Min(1, said/biasRamp)
}

// ReserveSD returns the SD, in repetitions, of a reserve reported after a set of
// reps repetitions, docs/model/02-effort.md (6).
func ReserveSD(reserve, reps float64) float64 {
	return reserveSDBase + reserveSDSlope*reserve + reserveSDLong*math.Max(0, reps-longSet)
}

// Estimate is a value with its standard deviation, both in the same unit.
type Estimate struct{ Value, SD float64 }

// DoneSet is a set as it was done and reported.
type DoneSet struct {
	Load        float64 // external load, kg; negative for assistance
	Carried     float64 // body mass moved with it, kg; 0 where the load alone counts
	Repetitions float64 // done, 1 to RepetitionCap
	Reserve     float64 // repetitions left, as the client said, 0 or more
	Bias        float64 // repetitions more than said per (5): SaidBias, the client's own, or 0
	K           float64 // k of the exercise, 1
	SDLnK       float64 // spread of ln k, 1
}

// Max returns the external load, in kg, of the client's 1RM and its SD from one
// set, docs/model/02-effort.md (7) and (8). The SD holds the spread of k, the
// error of the reported reserve and the day, to first order. Inputs out of range
// return an error that wraps [ErrRange].
func (d DoneSet) Max() (Estimate, error) {
	if err := d.check(); err != nil {
		return Estimate{}, err
	}
	n := d.Repetitions + TrueReserve(d.Reserve, d.Bias)
	p := FreshLoad(n, d.K)
	system := (d.Load + d.Carried) / p
	sd := lnLoadSD(n, d.K, d.SDLnK, ReserveSD(d.Reserve, d.Repetitions), DaySD)
	return Estimate{Value: system - d.Carried, SD: system * sd}, nil
}

func (d DoneSet) check() error {
	switch {
	case !positive(d.Load+d.Carried) || !atLeastZero(d.Carried):
		return fmt.Errorf("set done, load %g kg with %g kg carried: %w: the sum must be above 0", d.Load, d.Carried, ErrRange)
	case !(d.Repetitions >= 1 && d.Repetitions <= RepetitionCap):
		return fmt.Errorf("set done, %g repetitions: %w: give 1 to %g", d.Repetitions, ErrRange, RepetitionCap)
	case !(d.Reserve >= 0 && d.Reserve <= RepetitionCap):
		return fmt.Errorf("set done, reserve %g repetitions: %w: give 0 to %g", d.Reserve, ErrRange, RepetitionCap)
	case !atLeastZero(math.Abs(d.Bias)) || d.Repetitions+TrueReserve(d.Reserve, d.Bias) < 1:
		return fmt.Errorf("set done, reserve bias %g repetitions: %w: repetitions and reserve must come to 1 or more", d.Bias, ErrRange)
	case !positive(d.K) || !atLeastZero(d.SDLnK):
		return fmt.Errorf("set done, k %g with SD %g: %w: k must be above 0", d.K, d.SDLnK, ErrRange)
	}
	return nil
}

// AskedSet is a set to be given.
type AskedSet struct {
	Max         float64 // external load of the 1RM, kg; negative for assistance
	SDLnMax     float64 // SD of ln(1RM with the carried mass), 1
	Carried     float64 // body mass moved with the load, kg
	Repetitions float64 // wanted, 1 to RepetitionCap
	Reserve     float64 // wanted true reserve, 0 or more
	K           float64 // k of the exercise, 1
	SDLnK       float64 // spread of ln k, 1
}

// Load returns the external load, in kg, with which the set is met fresh, and the
// SD of the load that would truly meet it, docs/model/02-effort.md (9). A
// negative load means help: the client's body alone is too heavy for the set.
func (a AskedSet) Load() (Estimate, error) {
	if err := a.check(); err != nil {
		return Estimate{}, err
	}
	n := a.Repetitions + a.Reserve
	system := (a.Max + a.Carried) * FreshLoad(n, a.K)
	sd := lnLoadSD(n, a.K, a.SDLnK, 0, math.Hypot(DaySD, a.SDLnMax))
	return Estimate{Value: system - a.Carried, SD: system * sd}, nil
}

func (a AskedSet) check() error {
	switch {
	case !positive(a.Max+a.Carried) || !atLeastZero(a.Carried):
		return fmt.Errorf("set asked, 1RM %g kg with %g kg carried: %w: the sum must be above 0", a.Max, a.Carried, ErrRange)
	case !(a.Repetitions >= 1 && a.Repetitions <= RepetitionCap):
		return fmt.Errorf("set asked, %g repetitions: %w: give 1 to %g", a.Repetitions, ErrRange, RepetitionCap)
	case !(a.Reserve >= 0 && a.Reserve <= RepetitionCap):
		return fmt.Errorf("set asked, reserve %g repetitions: %w: give 0 to %g", a.Reserve, ErrRange, RepetitionCap)
	case !positive(a.K) || !atLeastZero(a.SDLnK) || !atLeastZero(a.SDLnMax):
		return fmt.Errorf("set asked, k %g with SD %g, 1RM SD %g: %w: k must be above 0", a.K, a.SDLnK, a.SDLnMax, ErrRange)
	}
	return nil
}

// Fraction returns the load as a fraction of the 1RM, both with the carried mass,
//
//	p = (load + carried)/(oneRM + carried)          docs/model/02-effort.md (1)
//
// all in kg. An unusable pair returns an error that wraps [ErrRange].
func Fraction(load, oneRM, carried float64) (float64, error) {
	if !positive(load+carried) || !positive(oneRM+carried) || !atLeastZero(carried) {
		return 0, fmt.Errorf("load %g kg of 1RM %g kg with %g kg carried: %w: both sums must be above 0", load, oneRM, carried, ErrRange)
	}
	return (load + carried) / (oneRM + carried), nil
}

// lnLoadSD returns the SD of ln(1 + k (n-1)) joined with a further SD of ln
// strength, to first order, docs/model/02-effort.md (8).
func lnLoadSD(n, k, sdLnK, sdN, sdLnStrength float64) float64 {
	p := FreshLoad(n, k)
	byK := k * (n - 1) * p * sdLnK
	byN := k * p * sdN
	return math.Sqrt(byK*byK + byN*byN + sdLnStrength*sdLnStrength)
}
