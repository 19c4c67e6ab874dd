package effort

import (
	_ "embed"
	"errors"
	"fmt"
	"math"
	"sync"
)

// ErrRange is wrapped by every error of this package that refuses a number
// outside the range of a formula; the message says which number, where, and what
// to give instead.
var ErrRange = errors.New("outside the range of the formula")

// RepetitionCap is the largest number of repetitions any function of this
// package answers or accepts (repetitions; fatigue-constants). A set that reaches
// it is not limited by the model.
const RepetitionCap = 200.0

// Equation names one of the classic formulas from repetitions to failure to the
// 1RM, docs/model/02-effort.md (10).
type Equation uint8

// The classic equations. Mayhew is the first printing, which the program uses;
// MayhewLater is the later one. BrzyckiDecimal is the printed decimal form of
// Brzycki.
const (
	Epley Equation = iota
	Brzycki
	BrzyckiDecimal
	Lander
	Lombardi
	Mayhew
	MayhewLater
	OConner
	Wathan
	equationCount
)

// equation is one row of the table of equations: fraction returns load/1RM after
// r repetitions, and limit is the number of repetitions from which it has no
// meaning (0: none below RepetitionCap).
type equation struct {
	name     string
	source   string
	limit    float64
	fraction func(r float64) float64
}

// equations holds the formulas as load fractions; the coefficients are the
// printed ones of each source.
var equations = [equationCount]equation{
	Epley:          {"Epley", "epley-1985", 0, func(r float64) float64 { return 1 / (1 + r/30) }},
	Brzycki:        {"Brzycki", "brzycki-1993", 37, func(r float64) float64 { return (37 - r) / 36 }},
	BrzyckiDecimal: {"Brzycki, decimal form", "brzycki-1993", 1.0278 / 0.0278, func(r float64) float64 { return 1.0278 - 0.0278*r }},
	Lander:         {"Lander", "lander-1985", 101.3 / 2.67123, func(r float64) float64 { return (101.3 - 2.67123*r) / 100 }},
	Lombardi:       {"Lombardi", "lombardi-1989", 0, func(r float64) float64 { return math.Pow(r, -0.10) }},
	Mayhew:         {"Mayhew, first printing", "mayhew-1992", 0, func(r float64) float64 { return (52.2 + 41.9*math.Exp(-0.055*r)) / 100 }},
	MayhewLater:    {"Mayhew, later printing", "mayhew-1992", 0, func(r float64) float64 { return (53.3 + 41.8*math.Exp(-0.055*r)) / 100 }},
	OConner:        {"O'Conner", "oconner-1989", 0, func(r float64) float64 { return 1 / (1 + 0.025*r) }},
	Wathan:         {"Wathan", "wathan-1994", 0, func(r float64) float64 { return (48.8 + 53.8*math.Exp(-0.075*r)) / 100 }},
}

const badEquation = "effort: unknown 1RM equation"

// Equations returns all equations in the order of the table in
// docs/model/02-effort.md (10).
func Equations() []Equation {
	all := make([]Equation, equationCount)
	for i := range all {
		all[i] = Equation(i)
	}
	return all
}

func (e Equation) row() *equation {
	if e >= equationCount {
		panic(badEquation)
	}
	return &equations[e]
}

// String returns the equation's name as the trade writes it.
func (e Equation) String() string { return e.row().name }

// Source returns the equation's key in docs/sources.md.
func (e Equation) Source() string { return e.row().source }

// Fraction returns the load, as a fraction of the 1RM, with which r repetitions
// to failure are possible, docs/model/02-effort.md (10). r is in repetitions from
// 1 to [RepetitionCap] and need not be whole. Brzycki has no meaning from 37
// repetitions on and Lander from 37.9: the error wraps [ErrRange]. At r = 1 only
// Brzycki and Lombardi give exactly 1.
func (e Equation) Fraction(r float64) (float64, error) {
	row := e.row()
	limit := RepetitionCap
	if row.limit > 0 {
		limit = row.limit
	}
	if !(r >= 1 && r <= limit) || r == row.limit {
		return 0, fmt.Errorf("%s equation, %g repetitions: %w: give 1 or more and less than %.3g", row.name, r, ErrRange, limit)
	}
	return row.fraction(r), nil
}

// Max returns the 1RM, in the unit of load, of somebody who did r repetitions to
// failure with load, docs/model/02-effort.md (10). load must be positive and
// finite; r as in [Equation.Fraction].
func (e Equation) Max(load, r float64) (float64, error) {
	if !positive(load) {
		return 0, fmt.Errorf("%s equation, load %g: %w: give a positive load", e, load, ErrRange)
	}
	f, err := e.Fraction(r)
	if err != nil {
		return 0, err
	}
	return load / f, nil
}

//go:embed loadchart.csv
var loadChartText string

// chartPoint is one printed point of the load chart.
type chartPoint struct{ reps, fraction float64 }

var loadChart = sync.OnceValue(func() []chartPoint {
	var points []chartPoint
	for _, row := range readTable(loadChartText) {
		points = append(points, chartPoint{number(row[0]), number(row[1]) / 100})
	}
	return points
})

// ChartFraction returns the load, as a fraction of the 1RM, that the training
// load chart gives for reps repetitions (12 repetitions are 70 %), and whether it
// was interpolated on a straight line between two printed points,
// docs/model/02-effort.md (11). The chart covers 1 to 12 repetitions; others
// return an error that wraps [ErrRange].
func ChartFraction(reps float64) (fraction float64, interpolated bool, err error) {
	points := loadChart()
	last := points[len(points)-1]
	if !(reps >= 1 && reps <= last.reps) {
		return 0, false, fmt.Errorf("load chart, %g repetitions: %w: give 1 to %g", reps, ErrRange, last.reps)
	}
	for i, right := range points {
		if reps == right.reps {
			return right.fraction, false, nil
		}
		if reps < right.reps {
			left := points[i-1]
			x := (reps - left.reps) / (right.reps - left.reps)
			return left.fraction + x*(right.fraction-left.fraction), true, nil
		}
	}
	return last.fraction, false, nil
}

// Reynolds and others' regressions from the 5RM to the 1RM, 70 adults
// (kg and kg per kg; reynolds-2006).
const (
	reynoldsChestSlope  = 1.1307
	reynoldsChestOffset = 0.6999
	reynoldsChestSEE    = 2.98
	reynoldsLegSlope    = 1.0970
	reynoldsLegOffset   = 14.2546
	reynoldsLegSEE      = 16.16
)

// ReynoldsChestPress returns the chest-press 1RM, in kg, from a 5RM in kg, with
// the regression's standard error of estimate as SD, docs/model/02-effort.md (12).
func ReynoldsChestPress(fiveRM float64) (Estimate, error) {
	return reynolds("chest press", fiveRM, reynoldsChestSlope, reynoldsChestOffset, reynoldsChestSEE)
}

// ReynoldsLegPress returns the leg-press 1RM, in kg, from a 5RM in kg, with the
// regression's standard error of estimate as SD, docs/model/02-effort.md (12).
func ReynoldsLegPress(fiveRM float64) (Estimate, error) {
	return reynolds("leg press", fiveRM, reynoldsLegSlope, reynoldsLegOffset, reynoldsLegSEE)
}

func reynolds(lift string, fiveRM, slope, offset, see float64) (Estimate, error) {
	if !positive(fiveRM) {
		return Estimate{}, fmt.Errorf("%s from 5RM %g kg: %w: give a positive load", lift, fiveRM, ErrRange)
	}
	return Estimate{Value: slope*fiveRM + offset, SD: see}, nil
}

// positive reports whether x is a positive finite number.
func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }

// atLeastZero reports whether x is zero or a positive finite number.
func atLeastZero(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
