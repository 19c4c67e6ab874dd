package body

import (
	"testing"

	"corbel/exercise"
)

// testMeasures are invented people of different size and build.
var testMeasures = map[string]Measures{
	"man":        {Sex: "male", Height: 1.78, Mass: 80},
	"woman":      {Sex: "female", Height: 1.65, Mass: 60},
	"long-thigh": {Sex: "between", Height: 1.70, Mass: 72, Thigh: 0.445, Trunk: 0.46, Shank: 0.42},
}

// testBodies builds the test people in a fixed order.
func testBodies(t testing.TB) []*Body {
	t.Helper()
	var out []*Body
	for _, name := range []string{"man", "woman", "long-thigh"} {
		out = append(out, testBody(t, name))
	}
	return out
}

func testBody(t testing.TB, name string) *Body {
	t.Helper()
	b, err := NewBody(testMeasures[name])
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// testLoad is an ordinary load of an exercise for the tests, kg.
func testLoad(e *exercise.Exercise) float64 {
	switch e.ID {
	case "face-pull", "pushdown": // more pulls who stands there over
		return 12
	case "cable-crunch": // 37 kg is the most a body of reference size holds
		return 25
	}
	switch e.Loads[0] {
	case exercise.BarOnTrunk, exercise.BarInHands:
		return 80
	case exercise.PerHand:
		return 15
	case exercise.BodyWeight:
		return 0
	case exercise.OnLimb, exercise.Band:
		return 5
	}
	return 40
}

// posed lists the exercises that have postures.
func posed() []*exercise.Exercise {
	var out []*exercise.Exercise
	for _, e := range exercise.Shipped.All() {
		if len(Postures(exercise.Shipped, e)) > 0 {
			out = append(out, e)
		}
	}
	return out
}

// solved solves the postures of an exercise.
func solved(t testing.TB, b *Body, e *exercise.Exercise, load float64) []*Solved {
	t.Helper()
	var out []*Solved
	for _, p := range Postures(exercise.Shipped, e) {
		s, err := b.Solve(p, load)
		if err != nil {
			t.Errorf("%.2f m: %v", b.Measures.Height, err)
		}
		out = append(out, s)
	}
	return out
}

// everyStatics solves every posture of the library at an ordinary load; with
// between also the posture half-way between neighbours, and the mirrored ones.
func everyStatics(t testing.TB, b *Body, between bool) []*Statics {
	t.Helper()
	var out []*Statics
	take := func(s *Solved) {
		st, err := b.Statics(s)
		if err != nil {
			t.Errorf("%.2f m: %v", b.Measures.Height, err)
		}
		out = append(out, st)
	}
	for _, e := range posed() {
		all := solved(t, b, e, testLoad(e))
		for i, s := range all {
			take(s)
			if !between {
				continue
			}
			if m, err := b.Solve(s.Posture.Mirror(), s.Load); err == nil {
				take(m)
			}
			if i > 0 {
				if h, err := b.Solve(Between(all[i-1], s, 0.5), s.Load); err == nil {
					if st, err := b.Statics(h); err == nil {
						out = append(out, st)
					}
				}
			}
		}
	}
	return out
}
