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
		n.Posture[LumbarFlexion] = t.Number(i, "lumbar_flexion") * math.Pi / 180
		all = append(all, n)
	}
	return all
})

// Predicted is the model's moment for the norm at level 0, N m.
func (n *Norm) Predicted() float64 {
	return NewStrength(n.Sex, n.Mass, n.Height, LevelUntrained).Isometric(n.Function, Right, &n.Posture)
}
