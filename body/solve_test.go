package body

import (
	"errors"
	"math"
	"math/rand/v2"
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
		if _, ok := contactKinds[n]; !ok && n != armOnTrunk {
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

// Ensure the directions of published comparisons that net moments alone decide, for
// three bodies.
func TestPublishedDirections(t *testing.T) {
	peak := func(b *Body, id, function string, load float64) float64 {
		most := math.Inf(-1)
		for _, s := range solved(t, b, exercise.Shipped.ByID(id), load) {
			st, err := b.Statics(s)
			if err != nil {
				t.Fatal(err)
			}
			most = max(most, st.Moments.Named()[function])
		}
		return most
	}
	for _, b := range testBodies(t) {
		load := b.Measures.Mass
		for _, c := range []struct {
			what, more, less, function string
		}{
			{"Swinton 2011: hexagonal bar, lumbar down", "deadlift", "hex-bar-deadlift", "lumbar_extension"},
			{"Swinton 2011: hexagonal bar, hip down", "deadlift", "hex-bar-deadlift", "hip_extension_r"},
			{"Swinton 2011: hexagonal bar, ankle down", "deadlift", "hex-bar-deadlift", "ankle_plantarflexion_r"},
			{"Swinton 2011: hexagonal bar, knee up", "hex-bar-deadlift", "deadlift", "knee_extension_r"},
			{"Krzyszkowski 2020: equal load, hip back over front", "back-squat", "front-squat", "hip_extension_r"},
			{"Krzyszkowski 2020: equal load, knee front over back", "front-squat", "back-squat", "knee_extension_r"},
			{"Otsuka 2021: knee, squat over hip thrust", "back-squat", "hip-thrust", "knee_extension_r"},
			{"Otsuka 2021: knee, hip thrust over deadlift", "hip-thrust", "deadlift", "knee_extension_r"},
			{"Escamilla 2000: wide style, less lumbar", "deadlift", "wide-stance-deadlift", "lumbar_extension"},
		} {
			more, less := peak(b, c.more, c.function, load), peak(b, c.less, c.function, load)
			if !(more > less) {
				t.Errorf("%.2f m, %s: %s %.0f, %s %.0f N m", b.Measures.Height, c.what, c.more, more, c.less, less)
			}
		}
		floor := solved(t, b, exercise.Shipped.ByID("deadlift"), load)[0]
		low := solved(t, b, exercise.Shipped.ByID("romanian-deadlift"), load)[2]
		for s, sign := range map[*Solved]float64{floor: 1, low: -1} {
			st, err := b.Statics(s)
			if err != nil {
				t.Fatal(err)
			}
			if knee := st.Moments.Named()["knee_extension_r"]; !(sign*knee > 0) {
				t.Errorf("Lee 2018: %s, knee extension %.0f N m", s.Posture.Pose.Exercise, knee)
			}
		}
	}
}

// Ensure that a hip shift of 3 cm loads the near side at hip and knee, and that it
// mirrors.
func TestHipShift(t *testing.T) {
	for _, b := range testBodies(t) {
		p := Postures(exercise.Shipped, exercise.Shipped.ByID("back-squat"))[2]
		right, left := statics(t, b, p.HipShift(0.03), 80), statics(t, b, p.HipShift(0.03).Mirror(), 80)
		r, l := right.Moments.Named(), left.Moments.Named()
		for _, f := range []string{"hip_extension", "knee_extension"} {
			if !(r[f+"_r"] > 1.05*r[f+"_l"]) {
				t.Errorf("%.2f m: %s %.0f on the near side, %.0f on the far one", b.Measures.Height, f, r[f+"_r"], r[f+"_l"])
			}
			if d := math.Abs(r[f+"_r"] - l[f+"_l"]); !(d < 0.05) {
				t.Errorf("%s: mirrored it differs by %.3g N m", f, d)
			}
		}
	}
}

// statics solves a posture and finds its moments.
func statics(t *testing.T, b *Body, p Posture, load float64) *Statics {
	t.Helper()
	s, err := b.Solve(p, load)
	if err != nil {
		t.Fatal(err)
	}
	st, err := b.Statics(s)
	if err != nil {
		t.Fatal(err)
	}
	return st
}

// Ensure that postures whose targets are drawn anew, 2 cm and 3 degrees at most,
// can nearly all be taken, and that the drawing leaves the original alone.
func TestVary(t *testing.T) {
	b := testBody(t, "woman")
	r := rand.New(rand.NewPCG(1, 2))
	tried, failed, draws := 0, 0, 5
	if testing.Short() {
		draws = 1
	}
	for _, e := range posed() {
		for _, p := range Postures(exercise.Shipped, e) {
			before, _ := b.Solve(p, testLoad(e))
			for range draws {
				tried++
				s, err := b.Solve(p.Vary(func() float64 { return 2*r.Float64() - 1 }, 0.02, 3*degree), testLoad(e))
				if err == nil {
					_, err = b.Statics(s)
				}
				if err != nil {
					failed++
					t.Log(err)
				}
			}
			if after, _ := b.Solve(p, testLoad(e)); after.Q != before.Q {
				t.Errorf("%s, %s: drawing changes the posture", e.ID, p.Pose.Name)
			}
		}
	}
	if failed > tried/20 {
		t.Errorf("%d of %d drawn postures cannot be taken", failed, tried)
	}
}

// Ensure that the moments are those of weights and loads plus each push times its
// effect, that no push of a one-way contact pulls, and that two hands that pull a
// bar apart leave the body as a whole alone.
func TestFreedoms(t *testing.T) {
	for _, b := range testBodies(t) {
		for _, st := range everyStatics(t, b, false) {
			var sum Moments
			for _, f := range st.External {
				e := b.Effect(st.Solved.Frames, f)
				sum.add(1, &e)
			}
			for _, f := range st.Freedoms {
				sum.add(f.Now, &f.Effect)
				if f.OneWay && f.Now < 0 {
					t.Errorf("%s pulls", f.Name)
				}
				if f.Kind != Pull {
					continue
				}
				for c := PelvisX; c <= PelvisYaw; c++ {
					if math.Abs(f.Effect[c]) > 1e-9 {
						t.Errorf("pulling the bar moves the body by %.3g", f.Effect[c])
					}
				}
			}
			for c := range sum {
				if Coordinate(c).Of(Right) == HandGrip {
					continue // not linear in the force
				}
				if math.Abs(sum[c]-st.Moments[c]) > 1e-6 {
					t.Errorf("%s: %.6g, summed %.6g", nameOf(Coordinate(c)), st.Moments[c], sum[c])
				}
			}
		}
	}
}
