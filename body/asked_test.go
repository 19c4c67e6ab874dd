package body

import (
	"math"
	"reflect"
	"testing"

	"corbel/exercise"
)

// Ensure that what is asked of the test people is finite, between 0 and 1 where it
// is a share, led by a muscle that moves the load, and the same twice.
func TestAsk(t *testing.T) {
	for _, name := range []string{"back-squat", "hip-thrust", "clamshell", "standing-calf-raise", "plank"} {
		e := exercise.Shipped.ByID(name)
		b := testBody(t, "man")
		s := NewStrength(b.Measures.Sex, b.Measures.Mass, b.Measures.Height, LevelSomeTraining)
		got, err := Ask(b, s, Postures(exercise.Shipped, e), -1)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		again, err := Ask(b, s, Postures(exercise.Shipped, e), -1)
		if err != nil || !reflect.DeepEqual(got, again) {
			t.Errorf("%s: not the same twice, %v", name, err)
		}
		leads := 0.0
		for _, m := range got.Muscles {
			if !(m.Low >= 0 && m.Low <= m.Share && m.Share <= m.High && m.High <= 1 && m.Activation >= 0) || math.IsInf(m.Activation, 1) {
				t.Errorf("%s: %+v", name, m)
			}
			if m.Moves {
				leads = max(leads, m.Share)
			}
		}
		if leads != 1 {
			t.Errorf("%s: the leading muscle has a share of %g", name, leads)
		}
		t.Logf("%s: %+v", name, got.Largest)
	}
}

// Ensure that every exercise with postures can be asked of a small person, and that
// more strength never lowers a largest load.
func TestAskEverything(t *testing.T) {
	b := testBody(t, "woman")
	for n, e := range posed() {
		if testing.Short() && n%6 != 0 {
			continue // fewer under the race detector
		}
		var load [2]float64
		for i, level := range []float64{LevelSomeTraining, LevelTrained} {
			s := NewStrength(b.Measures.Sex, b.Measures.Mass, b.Measures.Height, level)
			got, err := Ask(b, s, Postures(exercise.Shipped, e), -1)
			if err != nil {
				t.Errorf("%s: %v", e.ID, err)
				continue
			}
			l := got.Largest
			if l.Known && !(l.Low <= l.Load && l.Load <= l.High) {
				t.Errorf("%s: %+v", e.ID, l)
			}
			load[i] = l.Load
		}
		if load[1] < load[0] {
			t.Errorf("%s: %g kg, and with more strength %g", e.ID, load[0], load[1])
		}
	}
}

// Ensure that loads nobody lifts are refused.
func TestAskRefuses(t *testing.T) {
	b := testBody(t, "man")
	s := NewStrength(b.Measures.Sex, b.Measures.Mass, b.Measures.Height, LevelUntrained)
	for _, load := range []float64{MostLoad + 1, math.Inf(1), math.NaN()} {
		if _, err := Ask(b, s, Postures(exercise.Shipped, exercise.Shipped.ByID("back-squat")), load); err == nil {
			t.Errorf("%g kg is taken", load)
		}
	}
}

// BenchmarkAsk is one exercise of a new body: postures, largest load, shares.
func BenchmarkAsk(b *testing.B) {
	body := testBody(b, "man")
	s := NewStrength(body.Measures.Sex, body.Measures.Mass, body.Measures.Height, LevelUntrained)
	p := Postures(exercise.Shipped, exercise.Shipped.ByID("back-squat"))
	for b.Loop() {
		if _, err := Ask(body, s, p, -1); err != nil {
			b.Fatal(err)
		}
	}
}

// Ensure that the mirrored postures ask the same of the other side.
func TestAskMirror(t *testing.T) {
	e := exercise.Shipped.ByID("clamshell")
	b := testBody(t, "woman")
	s := NewStrength(b.Measures.Sex, b.Measures.Mass, b.Measures.Height, LevelUntrained)
	postures := Postures(exercise.Shipped, e)
	right, err := Ask(b, s, postures, 5)
	if err != nil {
		t.Fatal(err)
	}
	for i := range postures {
		postures[i] = postures[i].Mirror()
	}
	left, err := Ask(b, s, postures, 5)
	if err != nil {
		t.Fatal(err)
	}
	n := len(Muscles())
	for i := range right.Muscles {
		r, l := right.Muscles[i], left.Muscles[(i+n)%(2*n)]
		if math.Abs(r.Activation-l.Activation) > 1e-6 || math.Abs(r.Share-l.Share) > 1e-4 {
			t.Errorf("%s: %g and %g", Muscles()[r.Muscle].Name, r.Activation, l.Activation)
		}
	}
}
