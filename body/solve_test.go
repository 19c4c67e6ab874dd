package body

import (
	"errors"
	"math"
	"strings"
	"testing"

	"corbel/exercise"
)

// posture reads a posture from text for a test.
func posture(t testing.TB, contacts, loads []string, targets string) Posture {
	t.Helper()
	p := exercise.Pose{Exercise: "test", Name: "pose"}
	for _, c := range contacts {
		var x exercise.Contact
		if err := x.UnmarshalText([]byte(c)); err != nil {
			t.Fatal(err)
		}
		p.Contacts = append(p.Contacts, x.Term)
	}
	for _, l := range loads {
		var x exercise.LoadAt
		if err := x.UnmarshalText([]byte(l)); err != nil {
			t.Fatal(err)
		}
		p.Loads = append(p.Loads, x.Term)
	}
	var x exercise.Targets
	if err := x.UnmarshalText([]byte(targets)); err != nil {
		t.Fatal(err)
	}
	p.Targets = x.Terms
	return Posture{Pose: p}
}

// Ensure that a posture nobody can take is refused with the target that cannot be
// met, and one that falls over with what is left over.
func TestImpossible(t *testing.T) {
	b := testBody(t, "man")
	for _, c := range []struct{ targets, want string }{
		{"stand=0,0.1H,10 balance !knee=0 thigh=0", "cannot be met"},
		{"stand=0,0.1H,10 hand-at=3m,1m,0.2m", "hand-at=3m,1m,0.2m"},
		{"stand=0,0.1H,10 !knee=170", "knee"},
		{"stand=0,0.1H,10 !knee=100 balance !ankle=-40", "cannot be met"},
	} {
		_, err := b.Solve(posture(t, []string{"foot"}, nil, c.targets), 0)
		var e *Impossible
		if !errors.As(err, &e) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.targets, err, c.want)
		}
	}
	s, err := b.Solve(posture(t, []string{"foot"}, nil, "stand=0,0.1H,10 !lean=80 !knee=5 !lumbar=0"), 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.Statics(s); err == nil || !strings.Contains(err.Error(), "the contacts cannot hold the body") {
		t.Errorf("a body that falls over: %v", err)
	}
	for _, load := range []float64{-1, math.NaN(), 1e9} {
		if _, err := b.Solve(s.Posture, load); err == nil {
			t.Errorf("a load of %g kg is taken", load)
		}
	}
}

// Ensure that a stiffer ankle brings more lean, more hip and less knee moment, and
// a longer thigh more hip moment, in the squat to level thighs (Fry 2003,
// Lorenzetti 2012: direction).
func TestSquatDirections(t *testing.T) {
	e := exercise.Shipped.ByID("back-squat")
	bottom := Postures(exercise.Shipped, e)[2]
	solve := func(m Measures, ankle string) *Moments {
		b, err := NewBody(m)
		if err != nil {
			t.Fatal(err)
		}
		p := bottom
		p.Pose.Targets = append([]exercise.Term(nil), p.Pose.Targets...)
		for i, x := range p.Pose.Targets {
			if x.Name == "ankle" {
				p.Pose.Targets[i] = posture(t, nil, nil, "!ankle="+ankle).Pose.Targets[0]
			}
		}
		s, err := b.Solve(p, 100)
		if err != nil {
			t.Fatal(err)
		}
		st, err := b.Statics(s)
		if err != nil {
			t.Fatal(err)
		}
		return &st.Moments
	}
	man := testMeasures["man"]
	long := man
	long.Thigh = 0.245 * man.Height * 1.06
	free, stiff, tall := solve(man, "28").Named(), solve(man, "21").Named(), solve(long, "28").Named()
	if !(stiff["hip_extension_r"] > free["hip_extension_r"] && stiff["knee_extension_r"] < free["knee_extension_r"]) {
		t.Errorf("stiffer ankle: hip %.0f to %.0f, knee %.0f to %.0f N m", free["hip_extension_r"], stiff["hip_extension_r"], free["knee_extension_r"], stiff["knee_extension_r"])
	}
	if !(tall["hip_extension_r"] > free["hip_extension_r"]) {
		t.Errorf("longer thigh: hip %.0f to %.0f N m", free["hip_extension_r"], tall["hip_extension_r"])
	}
}

// Ensure that every name the library may use has a meaning here.
func TestEveryNameHasAMeaning(t *testing.T) {
	for _, n := range exercise.TargetNames() {
		if _, joint := jointNames[n]; !joint && binders[n] == nil && n != exercise.DropTarget {
			t.Errorf("target %s has no meaning", n)
		}
	}
	for _, n := range exercise.ContactNames() {
		if _, ok := contactKinds[n]; !ok {
			t.Errorf("contact %s has no meaning", n)
		}
	}
	b := testBody(t, "man")
	for _, u := range exercise.Units() {
		if l := b.length(exercise.Number{Value: 1, Unit: u}); !(l > 0) {
			t.Errorf("unit %s is %g m", u, l)
		}
	}
	var q Q
	texts := map[string]string{"trunk": "trunk=0,0", "pelvis": "pelvis=0,0", "cable": "cable=1m,1m,0", "band": "band=knee", "sled": "sled=45"}
	for _, n := range exercise.LoadNames() {
		text, ok := texts[n]
		if !ok {
			text = n
		}
		p := posture(t, nil, []string{text}, "")
		if got := b.loadForces(p.Pose.Loads, 10, b.Frames(&q)); len(got) == 0 {
			t.Errorf("load %s pushes nowhere", n)
		}
	}
}

// FuzzPosture holds that no text makes the reader, the solver or statics panic or
// give a number that is none.
func FuzzPosture(f *testing.F) {
	for _, e := range posed() {
		for _, p := range Postures(exercise.Shipped, e) {
			texts := [3]string{}
			for i, terms := range [][]exercise.Term{p.Pose.Contacts, p.Pose.Loads, p.Pose.Targets} {
				for _, t := range terms {
					texts[i] += t.Text + "\n"
				}
			}
			f.Add(texts[0], texts[1], strings.ReplaceAll(texts[2], "\n", " "), 50.0)
		}
	}
	b := testBody(f, "woman")
	f.Fuzz(func(t *testing.T, contacts, loads, targets string, load float64) {
		p := exercise.Pose{}
		for _, line := range strings.Split(contacts, "\n") {
			var x exercise.Contact
			if x.UnmarshalText([]byte(line)) == nil && len(p.Contacts) < 8 {
				p.Contacts = append(p.Contacts, x.Term)
			}
		}
		for _, line := range strings.Split(loads, "\n") {
			var x exercise.LoadAt
			if x.UnmarshalText([]byte(line)) == nil && len(p.Loads) < 8 {
				p.Loads = append(p.Loads, x.Term)
			}
		}
		var x exercise.Targets
		if x.UnmarshalText([]byte(targets)) != nil {
			return
		}
		p.Targets = x.Terms
		s, err := b.Solve(Posture{Pose: p}, load)
		if err != nil && s == nil {
			return
		}
		st, err := b.Statics(s)
		for c := range s.Q {
			if math.IsNaN(s.Q[c]) || math.IsNaN(st.Moments[c]) {
				t.Fatalf("%s is not a number (error %v)", nameOf(Coordinate(c)), err)
			}
		}
		if _, err := b.Solve(Posture{Pose: p}.Mirror(), load); err != nil && err.Error() == "" {
			t.Fatal("an error says nothing")
		}
	})
}

// BenchmarkSolve solves every posture of the library once.
func BenchmarkSolve(b *testing.B) {
	body := testBody(b, "man")
	for _, id := range []string{"back-squat", "deadlift", "split-squat", "hip-thrust", "side-plank"} {
		e := exercise.Shipped.ByID(id)
		p := Postures(exercise.Shipped, e)
		b.Run(id, func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				if _, err := body.Solve(p[i%len(p)], testLoad(e)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkLibrary solves all postures of the library with their statics.
func BenchmarkLibrary(b *testing.B) {
	body := testBody(b, "man")
	for b.Loop() {
		everyStatics(b, body, false)
	}
}

// BenchmarkStatics finds contact forces and moments of a solved posture.
func BenchmarkStatics(b *testing.B) {
	body := testBody(b, "man")
	s := solved(b, body, exercise.Shipped.ByID("back-squat"), 100)[2]
	b.ReportAllocs()
	for b.Loop() {
		if _, err := body.Statics(s); err != nil {
			b.Fatal(err)
		}
	}
}
