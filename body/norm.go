package body

import (
	_ "embed"
	"math"
	"sync"

	"corbel/client"
	"corbel/num"
)

//go:embed norms.csv
var normsText string

// A Norm is one measured isometric strength: the largest pure moment of a
// function in a posture, of young adults of one sex.
type Norm struct {
	Function     StrengthFunction
	Sex          client.Sex
	Torque       float64 // N m
	Aim          float64 // N m, what strength.csv is fitted to: see pool
	Mass, Height float64 // of those measured, kg, m
	Posture      Q
	Tolerance    float64 // how near the model is to come, part of the torque
	Source       string  // key of docs/sources.md
}

// Norms lists the norms that strength.csv is fitted to.
func Norms() []Norm { return normList() }

var normList = sync.OnceValue(func() []Norm {
	t := num.ReadTable("norms", normsText)
	var all []Norm
	for i := range t.Len() {
		f, ok := StrengthFunctionNamed(t.Text(i, "function"))
		if !ok {
			panic(badMuscleTable)
		}
		n := Norm{
			Function:  f,
			Sex:       client.Sex(t.Text(i, "sex")),
			Torque:    t.Number(i, "torque"),
			Mass:      t.Number(i, "mass"),
			Height:    t.Number(i, "height"),
			Tolerance: t.Number(i, "tolerance") / 100,
			Source:    t.Text(i, "source"),
		}
		for side := range 2 {
			n.Posture[HipFlexion.Of(side)] = t.Number(i, "hip_flexion") * math.Pi / 180
			n.Posture[KneeFlexion.Of(side)] = t.Number(i, "knee_flexion") * math.Pi / 180
			n.Posture[AnkleDorsiflexion.Of(side)] = t.Number(i, "ankle_dorsiflexion") * math.Pi / 180
		}
		for side := range 2 {
			n.Posture[ArmPlane.Of(side)] = t.Number(i, "arm_plane") * math.Pi / 180
			n.Posture[ArmElevation.Of(side)] = t.Number(i, "arm_raise") * math.Pi / 180
			n.Posture[ElbowFlexion.Of(side)] = t.Number(i, "elbow") * math.Pi / 180
		}
		n.Posture[LumbarFlexion] = t.Number(i, "lumbar_flexion") * math.Pi / 180
		n.Aim = n.Torque
		all = append(all, n)
	}
	pool(all)
	return all
})

// The curves of anderson-2007 rest on some fifteen people a sex, with an SD of 15
// to 33 % between people, and are drawn on beyond the angles that were measured.
const (
	// pooledMost is how far a sex is moved towards the mean of both: about two
	// standard errors of a curve (ln, our judgement).
	pooledMost = 0.07
	// pooledFrom is the angle from which a curve counts as drawn on and both sexes
	// have the same strength for their size (our judgement).
	pooledFrom = 95 * radPerDeg
)

// pool moves the two sexes of one curve at one angle towards each other in the
// torque per weight and height, docs/model/01-body-muscles.md (12a).
func pool(all []Norm) {
	const curves = "anderson-2007"
	for i := range all {
		a := &all[i]
		for j := range all[:i] {
			b := &all[j]
			if a.Source != curves || b.Source != curves || a.Function != b.Function || a.Sex == b.Sex || a.Posture != b.Posture {
				continue
			}
			gap := math.Log(a.Torque / (a.Mass * a.Height) / (b.Torque / (b.Mass * b.Height)))
			move := gap / 2
			if c := a.Function.Over(Right); a.Posture[c] < pooledFrom {
				move = min(max(move, -pooledMost), pooledMost)
			}
			a.Aim, b.Aim = a.Torque*math.Exp(-move), b.Torque*math.Exp(move)
		}
	}
}

// Predicted is the model's moment for the norm at level 0, N m.
func (n *Norm) Predicted() float64 {
	return NewStrength(n.Sex, n.Mass, n.Height, LevelUntrained).Isometric(n.Function, Right, &n.Posture)
}
