package body

import (
	"math"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"corbel/exercise"
	"corbel/unit"
)

// Ensure that the derivative of every gauge is what finite differences find, at
// random postures.
func TestRatesAreExact(t *testing.T) {
	b := testBody(t, "woman")
	rapid.Check(t, func(t *rapid.T) {
		var q Q
		for c := range q {
			q[c] = rapid.Float64Range(-0.9, 0.9).Draw(t, "coordinate")
		}
		e := rapid.SampledFrom(posed()).Draw(t, "exercise")
		p := rapid.SampledFrom(Postures(exercise.Shipped, e)).Draw(t, "posture")
		for _, a := range b.bind(&p.Pose) {
			at := func(q Q) (float64, Q) {
				var row Q
				f := b.Frames(&q)
				return a.of(&state{b, &q, f, b.loadForces(verticalOnly(p.Pose.Loads), 40, f)}, &row), row
			}
			_, row := at(q)
			var slopes Q
			for c := range q {
				const h = 1e-5
				up, down := q, q
				up[c] += h
				down[c] -= h
				hi, _ := at(up)
				lo, _ := at(down)
				slopes[c] = wrap(hi-lo) / (2 * h)
			}
			if slices.ContainsFunc(slopes[:], func(s float64) bool { return math.Abs(s) > 10 }) {
				continue // a direction nearly leaves the plane its angle is measured in
			}
			for c, slope := range slopes {
				if math.Abs(slope-row[c]) > 1e-6*(1+math.Abs(slope)) {
					t.Fatalf("%s, %s: by %s %.9g, want %.9g", e.ID, a.text, nameOf(Coordinate(c)), row[c], slope)
				}
			}
		}
	})
}

// verticalOnly leaves out loads whose direction follows the body: their balance
// is taken at the direction of the moment.
func verticalOnly(loads []exercise.Term) []exercise.Term {
	return slices.DeleteFunc(slices.Clone(loads), func(t exercise.Term) bool { return t.Name == "cable" || t.Name == "band" || t.Name == "pad" })
}

// Ensure that the postures of the library can be taken by people of different
// build, that contacts hold them, and that the weights add up: what is left over
// is at most 0.1 % of body weight.
func TestEveryPostureStands(t *testing.T) {
	for _, b := range testBodies(t) {
		weight := b.Measures.Mass * unit.StandardGravity
		for _, st := range everyStatics(t, b, false) {
			p := st.Solved.Posture.Pose
			if st.Force > maxImbalance*weight || st.Moment > maxImbalance*weight*b.Measures.Height {
				t.Errorf("%s, %s: %.3g N and %.3g N m are left over", p.Exercise, p.Name, st.Force, st.Moment)
			}
		}
	}
}

// Ensure that where a posture asks for balance the contact forces press within 5
// mm of the authored point, and that this lies 15 mm inside the area of support.
func TestPressurePoint(t *testing.T) {
	checked := 0
	for _, b := range testBodies(t) {
		for _, st := range everyStatics(t, b, false) {
			p := st.Solved.Posture.Pose
			want, hardly := st.Asked()
			if !hardly {
				continue
			}
			checked++
			got, _ := st.Pressure(want.Y)
			if off, _ := st.BalanceError(); !(off <= 0.005) {
				t.Errorf("%.2f m, %s, %s: pressure is %.1f mm from the authored point", b.Measures.Height, p.Exercise, p.Name, off*1e3)
			}
			if in := st.inside(got); !held(&p) && !(in >= 0.015) {
				t.Errorf("%.2f m, %s, %s: pressure is %.1f mm inside the support", b.Measures.Height, p.Exercise, p.Name, in*1e3)
			}
		}
	}
	if checked < 9 {
		t.Errorf("only %d postures ask for balance", checked)
	}
}

// held says whether the body hangs on its hands: what is held needs no area.
func held(p *exercise.Pose) bool {
	return slices.ContainsFunc(p.Contacts, func(t exercise.Term) bool { return contactKinds[t.Name].fixed })
}

// inside is how far a point lies inside the hull of the contact points, seen from
// above; negative is outside.
func (st *Statics) inside(p r3.Vec) float64 {
	least := math.Inf(1)
	for i, a := range st.Contacts {
		for _, c := range st.Contacts[i+1:] {
			d := r3.Vec{X: c.Point.X - a.Point.X, Z: c.Point.Z - a.Point.Z}
			if r3.Norm(d) < 1e-6 {
				continue
			}
			n := r3.Vec{X: -d.Z / r3.Norm(d), Z: d.X / r3.Norm(d)}
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, x := range st.Contacts {
				h := r3.Dot(n, r3.Sub(x.Point, a.Point))
				lo, hi = min(lo, h), max(hi, h)
			}
			h := r3.Dot(n, r3.Sub(p, a.Point))
			switch {
			case hi < 1e-9:
				least = min(least, -h)
			case lo > -1e-9:
				least = min(least, h)
			}
		}
	}
	return least
}

// Ensure that a posture with right and left exchanged has the moments with right
// and left exchanged.
func TestMirror(t *testing.T) {
	b := testBody(t, "man")
	for _, e := range posed() {
		for _, s := range solved(t, b, e, testLoad(e)) {
			st, err := b.Statics(s)
			if err != nil {
				t.Error(err)
			}
			m, err := b.Solve(s.Posture.Mirror(), s.Load)
			if err != nil {
				t.Errorf("mirrored: %v", err)
				continue
			}
			mt, err := b.Statics(m)
			if err != nil {
				t.Errorf("mirrored: %v", err)
			}
			for c := firstOfSide; c < Coordinate(Coordinates); c++ {
				other := c.Of(Left)
				if c >= lastOfSide {
					other = c.Of(Right)
				}
				if d := math.Abs(st.Moments[c] - mt.Moments[other]); !(d < 0.05) {
					t.Errorf("%s, %s: %s %.4g, mirrored %.4g", e.ID, s.Posture.Pose.Name, nameOf(c), st.Moments[c], mt.Moments[other])
				}
			}
		}
	}
}

// Ensure that symmetric postures have equal sides.
func TestSymmetric(t *testing.T) {
	b := testBody(t, "woman")
	for _, st := range everyStatics(t, b, false) {
		p := st.Solved.Posture
		if !symmetric(&p) {
			continue
		}
		for c := firstOfSide; c < lastOfSide; c++ {
			if d := math.Abs(st.Moments[c] - st.Moments[c.Of(Left)]); !(d < 1e-6) {
				t.Errorf("%s, %s: %s differs by %.3g between the sides", p.Pose.Exercise, p.Pose.Name, nameOf(c), d)
			}
		}
	}
}

// Ensure that the same posture with twice the masses and twice the load has twice
// the moments, and that in a body k times as long moments are k times as large
// where all lengths of the posture are fractions of the body.
func TestDoublingAndScaling(t *testing.T) {
	small, _ := NewBody(Measures{Sex: "male", Height: 1.5, Mass: 50})
	heavy, _ := NewBody(Measures{Sex: "male", Height: 1.5, Mass: 100})
	tall, _ := NewBody(Measures{Sex: "male", Height: 1.8, Mass: 50})
	for _, e := range posed() {
		load := testLoad(e) / 2
		for _, s := range solved(t, small, e, load) {
			st, err := small.Statics(s)
			if err != nil {
				t.Error(err)
				continue
			}
			double := again(t, heavy, s, 2*load)
			for c := range st.Moments {
				if d := math.Abs(2*st.Moments[c] - double.Moments[c]); !(d < 1e-6*(1+math.Abs(double.Moments[c]))) {
					t.Errorf("%s, %s: %s %.6g, with all weights doubled %.6g", e.ID, s.Posture.Pose.Name, nameOf(Coordinate(c)), st.Moments[c], double.Moments[c])
				}
			}
			if inMetres(&s.Posture.Pose) {
				continue
			}
			big := again(t, tall, s, load)
			for c := firstOfSide; c < Coordinate(Coordinates); c++ {
				k := 1.2
				if isLength(c) {
					k = 1
				}
				if d := math.Abs(k*st.Moments[c] - big.Moments[c]); !(d < 1e-6*(1+math.Abs(big.Moments[c]))) {
					t.Errorf("%s, %s: %s %.6g, 1.2 times as tall %.6g", e.ID, s.Posture.Pose.Name, nameOf(c), st.Moments[c], big.Moments[c])
				}
			}
		}
	}
}

// again is the statics of another body in the very posture of a solved one.
func again(t *testing.T, b *Body, s *Solved, load float64) *Statics {
	t.Helper()
	k := b.Measures.Height / s.Body.Measures.Height
	q := s.Q
	for c := range q {
		if isLength(Coordinate(c)) {
			q[c] *= k
		}
	}
	st, err := b.Statics(&Solved{Body: b, Posture: s.Posture, Load: load, Q: q, Frames: b.Frames(&q)})
	if err != nil {
		t.Error(err)
	}
	return st
}

// inMetres says whether a load of a posture acts from a fixed point of the room.
func inMetres(p *exercise.Pose) bool {
	return slices.ContainsFunc(p.Loads, func(t exercise.Term) bool { return t.Name == "cable" })
}

// Ensure that with both feet under a bar the ground carries (m + bar) g under the
// common centre of mass.
func TestGroundCarriesAll(t *testing.T) {
	b := testBody(t, "man")
	e := exercise.Shipped.ByID("back-squat")
	for _, s := range solved(t, b, e, 100) {
		st, err := b.Statics(s)
		if err != nil {
			t.Fatal(err)
		}
		up := 0.0
		for _, c := range st.Contacts {
			up += c.Vector.Y
		}
		if want := 180 * unit.StandardGravity; math.Abs(up-want) > 1e-4*want {
			t.Errorf("the ground pushes %.2f N, want %.2f", up, want)
		}
		got, _ := st.Pressure(0)
		if c := centreOf(st.External); math.Abs(c.X-got.X) > 1e-4 {
			t.Errorf("pressure at %.4f m, centre of mass at %.4f m", got.X, c.X)
		}
	}
}

// Ensure continuity: a change of any measure by 1 % moves no moment by more than 5 %.
// A moment can be anything near 0, so 5 % is taken of the largest moment of that
// exercise over its postures, or of 40 N m where all are small. Mass counts in whole
// kilograms: one more is taken for what it is of the mass. In the long form all test
// people, larger and smaller.
func TestContinuity(t *testing.T) {
	people, factors := []string{"man"}, []float64{1.01}
	if os.Getenv("CORBEL_LONG") != "" {
		people, factors = []string{"man", "woman", "long-thigh"}, []float64{1.01, 1 / 1.01}
	}
	for _, name := range people {
		base := testBody(t, name)
		firm := everyStatics(t, base, false)
		peak := peaks(firm)
		for _, factor := range factors {
			for n, nudge := range nudges(&base.Measures, factor) {
				if testing.Short() && n > 2 {
					break
				}
				m := testMeasures[name]
				nudge(&m)
				b, err := NewBody(m)
				if err != nil {
					t.Fatal(err)
				}
				part := 1.0 // of 1 % of mass
				if d := math.Abs(b.Measures.Mass/base.Measures.Mass - 1); d > 0 {
					part = 0.01 / d
				}
				for i, near := range everyStatics(t, b, false) {
					p := near.Solved.Posture.Pose
					if c, off := largestJump(firm[i], near, peak[p.Exercise]); part*off > 0.05 {
						t.Errorf("%s: %s, %s: nudge %d moves %s by %.1f %% of the largest moment (%.4g to %.4g)", name, p.Exercise, p.Name, n, nameOf(c), 100*part*off, firm[i].Moments[c], near.Moments[c])
					}
				}
			}
		}
	}
}

// nudges are changes of each measure of a body by a factor; of the mass by 1 kg.
func nudges(of *Measures, factor float64) []func(*Measures) {
	return []func(*Measures){
		func(m *Measures) { m.Height *= factor }, func(m *Measures) { m.Mass += math.Copysign(1, factor-1) }, func(m *Measures) { m.Thigh = of.Thigh * factor },
		func(m *Measures) { m.Shank = of.Shank * factor }, func(m *Measures) { m.Trunk = of.Trunk * factor },
		func(m *Measures) { m.Foot = of.Foot * factor }, func(m *Measures) { m.UpperArm = of.UpperArm * factor },
		func(m *Measures) { m.Forearm = of.Forearm * factor },
	}
}

// peaks are the largest joint moments of each exercise, N m, at least 40.
func peaks(all []*Statics) map[string]float64 {
	most := map[string]float64{}
	for _, st := range all {
		id := st.Solved.Posture.Pose.Exercise
		for c := LumbarFlexion; c < Coordinate(Coordinates); c++ {
			if !isLength(c) {
				most[id] = max(most[id], math.Abs(st.Moments[c]), 40)
			}
		}
	}
	return most
}

// largestJump compares joint moments, as a fraction of a given one.
func largestJump(a, b *Statics, of float64) (at Coordinate, off float64) {
	for c := LumbarFlexion; c < Coordinate(Coordinates); c++ {
		if d := math.Abs(a.Moments[c]-b.Moments[c]) / of; !isLength(c) && d > off {
			at, off = c, d
		}
	}
	return at, off
}

// Ensure that half-way postures meet half-way targets, and that the ends of the
// way are the solved postures themselves.
func TestBetween(t *testing.T) {
	b := testBody(t, "man")
	for _, e := range posed() {
		all := solved(t, b, e, testLoad(e))
		for i := 1; i < len(all); i++ {
			from, to := all[i-1], all[i]
			for at, end := range map[float64]*Solved{0: from, 1: to} {
				s, err := b.Solve(Between(from, to, at), from.Load)
				if err != nil {
					t.Errorf("%v", err)
				}
				for c := range s.Q {
					if d := math.Abs(s.Q[c] - end.Q[c]); d > 0.02 && !slack(Coordinate(c)) {
						t.Errorf("%s: %s is %.3g off at the end of the way", s.Posture.Pose.Name, nameOf(Coordinate(c)), d)
					}
				}
			}
			if _, err := b.Solve(Between(from, to, 0.5), from.Load); err != nil {
				t.Errorf("%v", err)
			}
		}
	}
}

// slack are coordinates that mean little in a hanging arm.
func slack(c Coordinate) bool {
	c = c.Of(Right)
	return c == ArmPlane || c == ArmRotation
}

// Ensure that the names of joint functions turn signs as documented, by the
// moments of single known forces (right side in neutral standing).
func TestFunctionSigns(t *testing.T) {
	b := testBody(t, "man")
	var q Q
	f := b.Frames(&q)
	at := func(s Segment) r3.Vec { return f.Segment[s].At(r3.Vec{Y: -0.3}) }
	for _, c := range []struct {
		function string
		segment  Segment
		point    r3.Vec
		force    r3.Vec
	}{
		{"lumbar_extension", Thorax, f.Segment[Thorax].At(r3.Vec{Y: 0.3}), r3.Vec{X: 1}},
		{"lumbar_bend_right", Thorax, f.Segment[Thorax].At(r3.Vec{Y: 0.3}), r3.Vec{Z: -1}},
		{"lumbar_twist_left", Thorax, f.Segment[Thorax].At(r3.Vec{Z: 0.3}), r3.Vec{X: -1}},
		{"hip_extension_r", Thigh, at(Thigh), r3.Vec{X: 1}},
		{"hip_abduction_r", Thigh, at(Thigh), r3.Vec{Z: -1}},
		{"hip_external_rotation_r", Thigh, f.Segment[Thigh].At(r3.Vec{X: 0.3}), r3.Vec{Z: -1}},
		{"knee_extension_r", Shank, at(Shank), r3.Vec{X: -1}},
		{"ankle_plantarflexion_r", Foot, f.Segment[Foot].At(r3.Vec{X: 0.3}), r3.Vec{Y: 1}},
		{"ankle_inversion_r", Foot, f.Segment[Foot].At(r3.Vec{Z: -0.3}), r3.Vec{Y: -1}},
		{"shoulder_flexion_r", UpperArm, at(UpperArm), r3.Vec{X: -1}},
		{"shoulder_abduction_r", UpperArm, at(UpperArm), r3.Vec{Z: -1}},
		{"shoulder_horizontal_adduction_r", UpperArm, f.Segment[UpperArm].At(r3.Vec{Z: 0.3}), r3.Vec{X: -1}},
		{"elbow_flexion_r", Forearm, at(Forearm), r3.Vec{X: -1}},
		{"forearm_supination_r", Forearm, f.Segment[Forearm].At(r3.Vec{X: 0.3}), r3.Vec{Z: -1}},
	} {
		e := b.Effect(f, Force{c.segment, c.point, c.force})
		if got := e.Named()[c.function]; math.Abs(got-0.3) > 1e-9 {
			t.Errorf("%s: %.3g N m, want 0.3", c.function, got)
		}
		mirrored := Force{c.segment.Of(Left), mirror(c.point, Left), mirror(c.force, Left)}
		if _, sided := c.segment.Side(); sided {
			e := b.Effect(f, mirrored)
			name := c.function[:len(c.function)-1] + "l"
			if got := e.Named()[name]; math.Abs(got-0.3) > 1e-9 {
				t.Errorf("%s: %.3g N m, want 0.3", name, got)
			}
		}
	}
	shoulder := b.Effect(f, Force{Forearm, at(Forearm), r3.Vec{Y: -1}})
	if got := shoulder.Named()["girdle_elevation_r"]; math.Abs(got-1) > 1e-9 {
		t.Errorf("girdle elevation %.3g N, want 1", got)
	}
}

// Ensure that a contact that slides has no shear, and that load sharing turns the
// push under a foot by no more than shearShift of its pressure.
func TestShearOfContacts(t *testing.T) {
	b := testBody(t, "man")
	for _, st := range everyStatics(t, b, false) {
		if st.Solved.Posture.Pose.Exercise != "hip-adduction-machine" {
			continue
		}
		for _, f := range st.Freedoms {
			if f.Name == "thigh-back" && f.Kind != Press {
				t.Errorf("a thigh that slides has a freedom of kind %d", f.Kind)
			}
		}
	}
	e := exercise.Shipped.ByID("glute-bridge")
	a := &asking{body: b, strength: NewStrength(male, 80, 1.78, LevelSomeTraining), postures: Postures(exercise.Shipped, e)}
	for _, p := range a.postures {
		q, err := a.poise(p, 120)
		if err != nil {
			t.Fatal(err)
		}
		st, share := q.statics, a.sharer.Share(q.Program, 120, math.Inf(1))
		first := q.Columns() - len(st.Freedoms)
		for n, s := range st.patches {
			press, turned := 0.0, 0.0
			for i, f := range st.Freedoms {
				if f.patch == n {
					x := share.Activation[first+i] * st.Total
					press += r3.Dot(f.dir, s.normal) * (f.Now + x)
					turned += r3.Dot(f.dir, s.t1) * x
				}
			}
			if s.sole && math.Abs(turned) > shearShift*press+5 { // rows give way by a few newtons
				t.Errorf("%s: the push under a foot turns by %.0f N at a pressure of %.0f N", p.Pose.Name, turned, press)
			}
		}
	}
}
