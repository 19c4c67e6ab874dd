package body

import (
	"errors"
	"math"
	"testing"

	"corbel/anatomy"
	"corbel/exercise"
)

func testAsker(t testing.TB, name string, level float64) *Asker {
	t.Helper()
	a, err := NewAsker(testMeasures[name], level, exercise.Shipped)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func asked(t *testing.T, a *Asker, id string, load float64) *Answer {
	t.Helper()
	r, err := a.Ask(exercise.Shipped.ByID(id), load)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Ensure that every exercise with postures has an answer for three bodies: shares of
// 0 to 1 with one of 1, a range about the largest load, no number that is none, and
// the same answer twice.
func TestAskLibrary(t *testing.T) {
	every := 1
	if testing.Short() {
		every = 6
	}
	for name := range testMeasures {
		a := testAsker(t, name, LevelSomeTraining)
		for i, e := range posed() {
			if i%every != 0 {
				continue
			}
			r, err := a.Ask(e, testLoad(e))
			if err != nil {
				t.Errorf("%s, %s: %v", name, e.ID, err)
				continue
			}
			most := 0.0
			for _, s := range r.Shares {
				if !(s.Share >= 0 && s.Share <= 1) || !(s.Activation >= -1e-9) || math.IsInf(s.Activation, 0) {
					t.Errorf("%s, %s: %+v", name, e.ID, s)
				}
				most = max(most, s.Share)
			}
			if most != 1 {
				t.Errorf("%s, %s: the largest share is %g", name, e.ID, most)
			}
			if l := r.Largest; l != nil && !(l.Load > 0 && l.Low < l.Load && l.Load < l.High && l.Gains[0].Percent >= l.Gains[1].Percent) {
				t.Errorf("%s, %s: %+v", name, e.ID, l)
			}
			again, err := a.Ask(e, testLoad(e))
			if err != nil || again.ShareLoad != r.ShareLoad || again.Shares[0] != r.Shares[0] {
				t.Errorf("%s, %s: asked twice, two answers", name, e.ID)
			}
		}
	}
}

// Ensure that a mirrored exercise asks of the left what it asked of the right.
func TestAskMirror(t *testing.T) {
	a := testAsker(t, "woman", LevelTrained)
	for _, id := range []string{"split-squat", "clamshell", "step-up", "back-squat"} {
		e := exercise.Shipped.ByID(id)
		right, err := a.Ask(e, testLoad(e))
		if err != nil {
			t.Fatal(err)
		}
		left, err := a.AskSide(e, testLoad(e), true)
		if err != nil {
			t.Fatal(err)
		}
		if right.Largest == nil || math.Abs(left.Largest.Load/right.Largest.Load-1) > 1e-4 {
			t.Errorf("%s: %+v, mirrored %+v", id, right.Largest, left.Largest)
		}
		other := map[anatomy.MuscleSide]float64{}
		for _, s := range left.Shares {
			other[anatomy.MuscleSide{Muscle: s.Muscle, Side: s.Side.Other()}] = s.Share
		}
		for _, s := range right.Shares {
			if math.Abs(s.Share-other[anatomy.MuscleSide{Muscle: s.Muscle, Side: s.Side}]) > 1e-3 {
				t.Errorf("%s, %s %s: %g, mirrored %g", id, s.Muscle, s.Side, s.Share, other[anatomy.MuscleSide{Muscle: s.Muscle, Side: s.Side}])
			}
		}
	}
}

// Ensure that strength raises the largest load, and that what a muscle's gain
// promises comes about when it grows 5 % stronger at the same posture, to a tenth
// of it (the posture is solved anew, so no closer).
func TestAskGains(t *testing.T) {
	weak, strong := testAsker(t, "man", LevelUntrained), testAsker(t, "man", LevelTrained)
	for _, id := range []string{"back-squat", "deadlift", "knee-extension", "clamshell"} {
		before, after := asked(t, weak, id, 20).Largest, asked(t, strong, id, 20).Largest
		if before == nil || after == nil || after.Load < 1.3*before.Load {
			t.Errorf("%s: untrained %+v, trained %+v", id, before, after)
		}
	}
	for _, id := range []string{"back-squat", "deadlift"} {
		a := testAsker(t, "man", LevelTrained)
		l := asked(t, a, id, 100).Largest
		g := l.Gains[0]
		for side := range 2 { // symmetric: both sides, so twice the gain
			a.Strength.Scale[side][MuscleNumber(g.Muscle)] *= 1.05
		}
		got := 100 * (asked(t, a, id, 100).Largest.Load/l.Load - 1)
		if got < 0.6*2*g.Percent || got > 1.4*2*g.Percent {
			t.Errorf("%s: %s 5 %% stronger promises %.2f %%, brings %.2f %%", id, g.Muscle, 2*g.Percent, got)
		}
	}
}

// Ensure that an exercise without postures, and a load that cannot be held, are said
// to be so.
func TestAskImpossible(t *testing.T) {
	a := testAsker(t, "man", LevelTrained)
	var impossible *Impossible
	if _, err := a.Ask(exercise.Shipped.ByID("bench-press"), 60); !errors.As(err, &impossible) {
		t.Errorf("no postures: %v", err)
	}
	if _, err := a.Ask(exercise.Shipped.ByID("cable-crunch"), 500); !errors.As(err, &impossible) {
		t.Errorf("a cable that lifts the body: %v", err)
	}
	if _, err := NewAsker(Measures{Sex: "male", Height: 3, Mass: 80}, 0, exercise.Shipped); err == nil {
		t.Error("a body of 3 m is taken")
	}
}

// Ensure directions of shares and gains: the quadriceps matter more in the squat than
// in the deadlift, where the buttock leads (direction of Otsuka et al. 2021, whose
// joint moments were looked at while the postures were authored), and weaker deep
// rotators cost the clamshell more than the squat (our judgement, from anatomy).
func TestAskDirections(t *testing.T) {
	share := func(r *Answer, m anatomy.Muscle) float64 {
		for _, s := range r.Shares {
			if s.Muscle == m && s.Side == anatomy.Right {
				return s.Share
			}
		}
		return 0
	}
	for name := range testMeasures {
		a := testAsker(t, name, LevelTrained)
		squat, deadlift := asked(t, a, "back-squat", 60), asked(t, a, "deadlift", 60)
		if share(squat, "quadriceps") <= share(deadlift, "quadriceps") || share(deadlift, "gluteus-maximus") <= share(deadlift, "quadriceps") {
			t.Errorf("%s: quadriceps %g in the squat, %g in the deadlift", name, share(squat, "quadriceps"), share(deadlift, "quadriceps"))
		}
		clam := asked(t, a, "clamshell", 5)
		a.Strength.Scale[Right][MuscleNumber("deep_external_rotators")] *= 0.7
		weak, weakClam := asked(t, a, "back-squat", 60), asked(t, a, "clamshell", 5)
		if lost, lostClam := 1-weak.Largest.Load/squat.Largest.Load, 1-weakClam.Largest.Load/clam.Largest.Load; lostClam <= lost {
			t.Errorf("%s: weaker rotators cost the squat %.3f, the clamshell %.3f", name, lost, lostClam)
		}
	}
}

// The whole lower body and trunk for a new body, with largest loads and gains.
func BenchmarkAskLibrary(b *testing.B) {
	list := posed()
	for b.Loop() {
		a := testAsker(b, "man", LevelTrained)
		for _, e := range list {
			if _, err := a.Ask(e, testLoad(e)); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(len(list)), "exercises")
}
