package sketch

import (
	_ "embed"
	"fmt"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/anatomy"
	"corbel/body"
	"corbel/exercise"
	"corbel/num"
)

//go:embed spots.csv
var spotsCSV string

// A mark is where a muscle is drawn on the right side: a spindle from one point to
// another of a part. It is read-only.
type mark struct {
	muscle   anatomy.Muscle
	part     string // of the right side, without its side
	from, to r3.Vec // fractions of height, y of limbs in limb lengths
	wide     float64
	faces    r3.Vec
}

// marks are the rows of spots.csv.
var marks = readMarks()

func readMarks() []mark {
	t := num.ReadTable("spots", spotsCSV)
	var out []mark
	for i := range t.Len() {
		n := func(c string) float64 { return t.Number(i, c) }
		out = append(out, mark{muscle: anatomy.Muscle(t.Text(i, "muscle")), part: t.Text(i, "part"), wide: n("wide"),
			from: r3.Vec{X: n("x0"), Y: n("y0"), Z: n("z0")}, to: r3.Vec{X: n("x1"), Y: n("y1"), Z: n("z1")},
			faces: r3.Unit(r3.Vec{X: n("nx"), Y: n("ny"), Z: n("nz")})})
	}
	return out
}

// A spot is a muscle on a part of a posed body.
type spot struct {
	muscle   anatomy.MuscleSide
	from, to r3.Vec
	wide     float64 // m
	faces    r3.Vec
}

// partSegments are the segments in whose frames the marks of a part stand.
var partSegments = map[string]body.Segment{"trunk": body.Thorax, "pelvis": body.Pelvis, "head": body.Thorax, "thigh": body.Thigh, "shank": body.Shank,
	"upper-arm": body.UpperArm, "forearm": body.Forearm}

// spots lists the muscles of a part by its name.
func (p *person) spots(name string) []spot {
	var list []spot
	for i := range marks {
		m := &marks[i]
		for side, word := range sideNames {
			s := partSegments[m.part].Of(side)
			if name == m.part || name == s.String() || name == "trunk" && m.part == "pelvis" {
				list = append(list, p.spot(m, s, side, word))
			}
		}
	}
	return list
}

// sideNames are the sides in the order of package body.
var sideNames = [2]anatomy.Side{body.Right: anatomy.Right, body.Left: anatomy.Left}

// spot poses a mark.
func (p *person) spot(m *mark, s body.Segment, side int, word anatomy.Side) spot {
	k := out(side)
	at := func(v r3.Vec) r3.Vec {
		switch m := &p.Body.Measures; s.Of(body.Right) {
		case body.Thigh:
			v.Y *= m.Thigh / p.h
		case body.Shank:
			v.Y *= m.Shank / p.h
		case body.UpperArm:
			v.Y *= m.UpperArm / p.h
		case body.Forearm:
			v.Y *= m.Forearm / p.h
		}
		if m.part == "head" {
			return p.skull(p.turn, v.X, v.Y, k*v.Z)
		}
		return p.of(s, v.X, v.Y, k*v.Z)
	}
	f := p.Frames.Segment[s]
	n := m.faces
	n.Z *= k
	return spot{muscle: anatomy.MuscleSide{Muscle: m.muscle, Side: word}, from: at(m.from), to: at(m.to), wide: m.wide * p.h, faces: f.Turn(n)}
}

// Shares say how much each muscle of each side works, 0 to 1.
type Shares map[anatomy.MuscleSide]float64

// Stated are the shares an exercise states. Those of a one-sided exercise hold for
// the working side; the trunk works on both.
func Stated(e *exercise.Exercise, left bool) Shares {
	s := Shares{}
	for m, x := range e.Shares {
		for side, word := range sideNames {
			if e.Sides == exercise.BothSides || trunkMuscle(m) || (side == body.Left) == left {
				s[anatomy.MuscleSide{Muscle: m, Side: word}] = x
			}
		}
	}
	return s
}

// trunkMuscle says whether a muscle is drawn on the trunk, but for those that move
// an arm.
func trunkMuscle(m anatomy.Muscle) bool {
	switch m {
	case "pectorals", "latissimus", "middle-back", "rotator-cuff", "serratus-anterior", "lower-trapezius", "upper-trapezius":
		return false
	}
	for i := range marks {
		if marks[i].muscle == m {
			return strings.HasPrefix(marks[i].part, "trunk")
		}
	}
	panic(fmt.Sprintf("sketch: no spot for %s", m))
}

// steps of a share: from these on a muscle is shown, plainly and strongly (our
// judgement; key judgement).
var shareSteps = [3]float64{0.15, 0.40, 0.70}

// step is 0 for a muscle that is not shown, else 1 to 3.
func step(share float64) int {
	n := 0
	for _, s := range shareSteps {
		if share >= s {
			n++
		}
	}
	return n
}
