package evidence

import (
	"fmt"
	"math"
	"math/rand/v2"

	"corbel/body"
	"corbel/client"
	"corbel/exercise"
)

// The bodies sensitivities are the mean over (our judgement, key judgement).
const (
	secantBodies    = 8
	secantWeaker    = 0.15 // of a group and side
	secantSeed      = 7
	secantMuscleSD  = 0.10 // ln, of each muscle
	secantHeightSD  = 0.08 // m
	secantMassSD    = 0.12 // ln
	secantLevelSD   = 0.20 // ln, of strength as a whole
	secantLimbRange = 0.05 // of each limb
	// LeastJ is the sensitivity below which no row is written.
	LeastJ = 0.02
)

// A SecantBody is one of the bodies sensitivities are the mean over.
type SecantBody struct {
	Body     *body.Body
	Strength *body.Strength
}

// SecantBodies draws them: the same ones each time.
func SecantBodies() ([]SecantBody, error) {
	r := rand.New(rand.NewPCG(secantSeed, secantBodies))
	var out []SecantBody
	for i := range secantBodies {
		m := body.Measures{Sex: client.Sex("between"), Height: body.ReferenceHeight + secantHeightSD*r.NormFloat64()}
		if i%2 == 0 {
			m.Sex = "female"
		} else if i%3 == 0 {
			m.Sex = "male"
		}
		ratio := m.Height / body.ReferenceHeight
		m.Mass = body.ReferenceMass * ratio * ratio * math.Exp(secantMassSD*r.NormFloat64())
		b, err := body.NewBody(m)
		if err != nil {
			return nil, fmt.Errorf("body %d: %w", i, err)
		}
		m = b.Measures // every limb filled in
		for _, limb := range []*float64{&m.Thigh, &m.Shank, &m.Trunk, &m.Foot} {
			*limb *= 1 + secantLimbRange*(2*r.Float64()-1)
		}
		if b, err = body.NewBody(m); err != nil {
			return nil, fmt.Errorf("body %d: %w", i, err)
		}
		m = b.Measures
		s := body.NewStrength(m.Sex, m.Mass, m.Height, body.LevelSomeTraining+secantLevelSD*r.NormFloat64())
		out = append(out, SecantBody{b, s.Vary(r, secantMuscleSD)})
	}
	return out, nil
}

// Secant is J of an exercise of one side for a body and a group, docs/model/06-evidence.md
// (0): the tested side, which is the right one, less the other. ok is false where no
// largest load is known.
func (b SecantBody) Secant(postures []body.Posture, g *Group) (j float64, ok bool, err error) {
	return b.secant(postures, g, secantWeaker)
}

// secant is Secant for a group that is weaker by a part.
func (b SecantBody) secant(postures []body.Posture, g *Group, weaker float64) (j float64, ok bool, err error) {
	limit, carried, ok, err := b.limit(postures, b.Strength)
	if err != nil || !ok || limit+carried <= 0 {
		return 0, false, err
	}
	for side, sign := range [2]float64{body.Right: 1, body.Left: -1} {
		weak := b.weakened(g, weaker, side)
		with, _, ok, err := b.limit(postures, weak)
		if err != nil || !ok || with+carried <= 0 {
			return 0, false, err
		}
		j += sign * math.Log((with+carried)/(limit+carried)) / math.Log(1-weaker)
	}
	return j, true, nil
}

// SecantBoth is J of an exercise the library does with both limbs at once, for one limb of
// it: the group is weaker on both sides, which by mirror symmetry is what one limb alone
// feels of its own side.
func (b SecantBody) SecantBoth(postures []body.Posture, g *Group) (j float64, ok bool, err error) {
	limit, carried, ok, err := b.limit(postures, b.Strength)
	if err != nil || !ok || limit+carried <= 0 {
		return 0, false, err
	}
	with, _, ok, err := b.limit(postures, b.weakened(g, secantWeaker, body.Right, body.Left))
	if err != nil || !ok || with+carried <= 0 {
		return 0, false, err
	}
	return math.Log((with+carried)/(limit+carried)) / math.Log(1-secantWeaker), true, nil
}

// weakened is the body's strength with a group weaker by a part on some sides.
func (b SecantBody) weakened(g *Group, weaker float64, sides ...int) *body.Strength {
	weak := *b.Strength
	for _, side := range sides {
		weak.Scale[side] = append([]float64(nil), weak.Scale[side]...)
		for _, m := range g.Muscles {
			for _, part := range m.Parts() {
				if n := body.MuscleNumber(part); n >= 0 {
					weak.Scale[side][n] *= 1 - weaker
				}
			}
		}
	}
	return &weak
}

// limit is the largest load, kg, and the body part carried with it, kg: the gains sum
// to both.
func (b SecantBody) limit(postures []body.Posture, s *body.Strength) (load, carried float64, ok bool, err error) {
	a, err := body.Ask(b.Body, s, postures, 0)
	if err != nil {
		return 0, 0, false, err
	}
	if !a.Largest.Known || a.Largest.Bound || a.Largest.Cannot {
		return 0, 0, false, nil
	}
	sum := 0.0
	for _, m := range a.Muscles {
		sum += m.Gain
	}
	return a.Largest.Load, sum - a.Largest.Load, true, nil
}

// MeanSecant is the mean of J over bodies with its SD; n is how many bodies gave one.
func MeanSecant(bodies []SecantBody, lib *exercise.Library, e *exercise.Exercise, g *Group) (mean, sd float64, n int) {
	postures := body.Postures(lib, e)
	sum, sq := 0.0, 0.0
	for _, b := range bodies {
		secant := b.Secant
		if e.Sides != exercise.EachSide {
			secant = b.SecantBoth
		}
		j, ok, err := secant(postures, g)
		if err != nil || !ok {
			continue // this body cannot take the posture
		}
		n++
		sum += j
		sq += j * j
	}
	if n < 2 {
		return 0, 0, n
	}
	mean = sum / float64(n)
	return mean, math.Sqrt(max(0, (sq-sum*mean)/float64(n-1))), n
}
