package body

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"corbel/client"
)

// The fit of strength.csv, docs/model/01-body-muscles.md section 5.
const (
	typicalFactor = 0.55 // of the published forces; the norms ask for about this (our judgement)
	typicalArm    = 0.85 // of the same, of girdle and arm
	factorSD      = 0.5  // ln, about it: weak, so that the norms decide
	bendSD        = 0.4  // ln, of a factor about the line between its neighbours
	torqueSD      = 0.02 // ln, how near a moment should come to its norm
)

// strengthFit is the fit of one sex: its factors are those the package uses, so
// they are put back after use.
type strengthFit struct {
	norms []Norm
	knots []*float64 // ln factor, in the order of the norms
}

func newStrengthFit(sex client.Sex) strengthFit {
	table := normTable()
	s, at := strengthFit{}, map[StrengthFunction]int{}
	for _, n := range Norms() {
		if n.Sex != sex {
			continue
		}
		number := 0
		if sex == male {
			number = 1
		}
		s.norms = append(s.norms, n)
		s.knots = append(s.knots, &table[number][n.Function].factor[at[n.Function]])
		at[n.Function]++
	}
	return s
}

func (s strengthFit) numbers() (x []float64) {
	for _, k := range s.knots {
		x = append(x, *k)
	}
	return x
}

func (s strengthFit) set(x []float64) {
	for i, k := range s.knots {
		*k = x[i]
	}
}

// misses lists what the fit makes small.
func (s strengthFit) misses(x []float64) (out []float64) {
	s.set(x)
	for _, n := range s.norms {
		out = append(out, math.Log(n.Predicted()/n.Aim)/(torqueSD*n.Tolerance/0.1))
	}
	for i, v := range x {
		typical := typicalFactor
		if s.norms[i].Function >= ShoulderFlexing {
			typical = typicalArm
		}
		out = append(out, (v-math.Log(typical))/factorSD)
		if i > 1 && s.norms[i-2].Function == s.norms[i].Function {
			out = append(out, ((x[i-2]+v)/2-x[i-1])/bendSD)
		}
	}
	return out
}

// Ensure that the shipped factors are the best fit to the norms. With -update,
// fit and write them.
func TestFitStrength(t *testing.T) {
	var table strings.Builder
	table.WriteString("function,sex,angle,factor,source\nid,id,deg of the coordinate it changes with,part of the force of muscles.csv,key\n")
	steps := 1 // enough to see whether there is anything to gain
	if *update {
		steps = 60
	}
	for _, sex := range []client.Sex{male, female} {
		s := newStrengthFit(sex)
		shipped := s.numbers()
		best, cost := leastSquares(s.misses, shipped, steps)
		had := sumOfSquares(s.misses(shipped))
		s.set(shipped)
		if !*update && had > 1.02*cost+0.2 {
			t.Errorf("%s: the shipped factors cost %.2f, the best %.2f", sex, had, cost)
		}
		for i, n := range s.norms {
			c := n.Function.Over(Right)
			fmt.Fprintf(&table, "%s,%s,%.0f,%.3f,strength-fit\n", n.Function, sex, n.Posture[c]*180/math.Pi, math.Exp(best[i]))
		}
	}
	if *update {
		if err := os.WriteFile("strength.csv", []byte(table.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
