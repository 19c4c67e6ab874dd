package body

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"corbel/client"
)

// Ensure that isometric moments at level 0 meet the norms of both sexes
// (anderson-2007, danneskiold-samsoe-2009, chaffin-1999, da-fonseca-2025): those of
// legs and trunk within 10 %, hip rotation lying prone within 25 %. Two kinds are noted
// as further off in docs/model/01-body-muscles.md: curves drawn on beyond the angles
// that were measured, and the side bend, whose norm is derived from a seated test. Arm
// and girdle as their table says.
func TestNormsAreMet(t *testing.T) {
	seen := map[client.Sex]int{}
	for _, n := range Norms() {
		got := n.Predicted()
		seen[n.Sex]++
		angle := math.Round(n.Posture[n.Function.Over(Right)] / radPerDeg)
		allowed := 0.10
		switch {
		case n.Function >= ShoulderFlexing,
			n.Function == HipExternalRotating && angle == 10, n.Function == HipInternalRotating && angle == 10,
			n.Function == HipExtension && angle > 95, n.Function == KneeExtension && angle > 95,
			n.Function == TrunkBending:
			allowed = n.Tolerance
		}
		if math.Abs(got/n.Torque-1) > allowed {
			t.Errorf("%s, %s at %.0f degrees: %.1f N m, measured %.1f (%s), allowed %.0f %%",
				n.Function, n.Sex, angle, got, n.Torque, n.Source, 100*allowed)
		}
	}
	if seen[male] < 35 || seen[male] != seen[female] {
		t.Errorf("norms read: %v", seen)
	}
}

// Ensure that norms.csv holds what the curves of anderson-2007 give:
// C1 cos(C2 (C3 - q)) m g h, ages 18-25, and that only these have such sources.
func TestNormsAreTheCurves(t *testing.T) {
	curves := map[StrengthFunction]map[client.Sex][3]float64{
		HipExtension:        {male: {0.161, 0.958, 0.932}, female: {0.181, 0.697, 1.242}},
		HipFlexing:          {male: {0.113, 0.738, -0.214}, female: {0.127, 0.650, -0.350}},
		KneeExtension:       {male: {0.163, 1.258, 1.133}, female: {0.159, 1.187, 1.274}},
		KneeFlexing:         {male: {0.087, 0.869, 0.522}, female: {0.080, 0.873, 0.635}},
		AnklePlantarflexion: {male: {0.095, 1.391, 0.408}, female: {0.104, 1.399, 0.424}},
		AnkleDorsiflexing:   {male: {0.033, 1.510, -0.187}, female: {0.027, 1.079, -0.302}},
	}
	for _, n := range Norms() {
		if n.Source == "knee-extended" {
			continue
		}
		c, ok := curves[n.Function][n.Sex]
		if ok != (n.Source == "anderson-2007") {
			t.Errorf("%s, %s: source %s", n.Function, n.Sex, n.Source)
		}
		if !ok {
			continue
		}
		at := n.Function.Over(Right)
		want := c[0] * math.Cos(c[1]*(c[2]-n.Posture[at])) * n.Mass * 9.81 * n.Height
		if math.Abs(n.Torque-want) > 0.06 {
			t.Errorf("%s, %s at %.0f degrees: %.1f N m, the curve gives %.2f", n.Function, n.Sex, n.Posture[at]/radPerDeg, n.Torque, want)
		}
	}
}

// Ensure the laws of strength: moments grow with mass x height, with e to the
// level, and as far as a function's own deviation says; both sides are alike; a
// weak side is weaker on that side alone; between the sexes lies between.
func TestStrengthLaws(t *testing.T) {
	q := Q{HipFlexion: 1, KneeFlexion: 1}
	q[HipFlexion.Of(Left)], q[KneeFlexion.Of(Left)] = 1, 1
	for _, f := range []StrengthFunction{HipExtension, KneeExtension, HipAbducting, TrunkExtension} {
		s := NewStrength(male, 70, 1.7, 0)
		base := s.Isometric(f, Right, &q)
		near := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got/want-1) > 0.01 {
				t.Errorf("%s, %s: %.2f N m, want %.2f", f, what, got, want)
			}
		}
		near("left side", s.Isometric(f, Left, &q), base)
		near("1.5 times the mass, 1.1 times the height", NewStrength(male, 105, 1.87, 0).Isometric(f, Right, &q), 1.65*base)
		near("level 0.7", NewStrength(male, 70, 1.7, 0.7).Isometric(f, Right, &q), base*math.Exp(0.7))
		for d := range s.Deviation {
			s.Deviation[d] = -0.3
		}
		near("all deviations -0.3", s.Isometric(f, Right, &q), base*math.Exp(-0.3))
		women := NewStrength(female, 70, 1.7, 0).Isometric(f, Right, &q)
		if mid := NewStrength("between", 70, 1.7, 0).Isometric(f, Right, &q); mid < min(base, women)*0.98 || mid > max(base, women)*1.02 {
			t.Errorf("%s: men %.1f, women %.1f, between %.1f", f, base, women, mid)
		}
	}
	s := NewStrength(female, 60, 1.65, 0)
	base := s.Isometric(HipExternalRotating, Left, &q)
	s.Scale[Left][MuscleNumber("deep_external_rotators")] = 0.7
	if weak := s.Isometric(HipExternalRotating, Left, &q); weak > 0.97*base {
		t.Errorf("left external rotation %.1f N m with weak rotators, %.1f without", weak, base)
	}
	if right := s.Isometric(HipExternalRotating, Right, &q); math.Abs(right/base-1) > 1e-9 {
		t.Errorf("right external rotation %.3f N m, left was %.3f", right, base)
	}
	s = NewStrength(female, 60, 1.65, 0)
	base = s.Isometric(KneeExtension, Right, &q)
	s.Deviation[AnklePlantarflexion] = 0.5
	if got := s.Isometric(KneeExtension, Right, &q); math.Abs(got-base) > 1e-4*base { // the gastrocnemius costs a trace when stronger
		t.Errorf("knee extension %.3f with stronger calves, %.3f without", got, base)
	}
}

// Ensure Euler's theorem: all muscles x % stronger lift x % more, so that the gains
// sum to the moment.
func TestGainsSumToTheMoment(t *testing.T) {
	for _, n := range Norms() {
		s := NewStrength(n.Sex, n.Mass, n.Height, 0)
		var l Lifter
		got := l.Largest(s.isometric(n.Function, Right, &n.Posture))
		if sum := got.GainOf(0)[0]; math.Abs(sum/got.Load-1) > 0.02 {
			t.Errorf("%s: gains sum to %.2f, the moment is %.2f N m", n.Function, sum, got.Load)
		}
	}
}

// Ensure that passive moments are those of the published formulas at angles
// worked by hand (riener-edrich-1999), and small where a body hangs relaxed.
func TestPassive(t *testing.T) {
	q := Q{HipFlexion: 90 * radPerDeg}
	p := Passive(&q, passiveMass, passiveHeight)
	// exp(1.4655-6.75) - exp(1.3403+2.745) + 8.072; exp(1.8+1.953) - exp(-3.971-1.152) - 4.82 + exp(2.22)
	if math.Abs(p[HipFlexion]+51.38) > 0.05 || math.Abs(p[KneeFlexion]-47.05) > 0.05 {
		t.Errorf("thigh bent 90 degrees, knee straight: hip %.2f, knee %.2f N m", p[HipFlexion], p[KneeFlexion])
	}
	if p[HipFlexion.Of(Left)] == p[HipFlexion] {
		t.Error("the left hip feels the right one's posture")
	}
	bent := Passive(&Q{LumbarFlexion: spineFull}, passiveMass, passiveHeight)
	some := Passive(&Q{LumbarFlexion: 20 * radPerDeg}, passiveMass, passiveHeight)
	if math.Abs(bent[LumbarFlexion]+spineMoment) > 1e-9 || some[LumbarFlexion] > -2 || some[LumbarFlexion] < -20 {
		t.Errorf("spine: %.1f N m bent fully, %.1f at 20 degrees", bent[LumbarFlexion], some[LumbarFlexion])
	}
	big := Passive(&q, 2*passiveMass, passiveHeight)
	if math.Abs(big[HipFlexion]-2*p[HipFlexion]) > 1e-9 {
		t.Error("passive moments do not grow with mass")
	}
}

// squat is the bottom of a back squat: net moments, N m, of a body of 80 kg and
// 1.78 m without load and their growth for each kg on the bar.
func squat(s *Strength, ties bool) *Posed {
	p := squatMoved(s, rand.New(rand.NewPCG(1, 1)), 0)
	if ties {
		p.Tie()
	}
	return p
}

// squatMoved is a squat whose joints are up to some degrees off, alike on both
// sides, and whose moments as many percent.
func squatMoved(s *Strength, r *rand.Rand, off float64) *Posed {
	by := func() float64 { return off * (2*r.Float64() - 1) }
	q := Q{LumbarFlexion: 20 * radPerDeg}
	var need, spread Moments
	need[LumbarFlexion], spread[LumbarFlexion] = -90, -2.5
	for _, j := range []struct {
		c                   Coordinate
		angle, need, spread float64
	}{{HipFlexion, 100, -55, -1}, {HipAbduction, 15, 5, 0.07}, {HipRotation, 15, -3, -0.02}, {KneeFlexion, 110, -50, -1.1},
		{AnkleDorsiflexion, 28, -14, -0.15}} {
		angle, more := (j.angle+by())*radPerDeg, 1+by()/100
		for side := range 2 {
			c := j.c.Of(side)
			q[c], need[c], spread[c] = angle, more*j.need, more*j.spread
		}
	}
	return s.Pose(&q, need, spread, false, ArmsIdle)
}

// Ensure that a posture's program takes passive moments off, holds the whole body
// in balance while forces shift, and lets a shift relieve a joint.
func TestPose(t *testing.T) {
	s := NewStrength(male, 80, 1.78, LevelUntrained)
	q := Q{HipFlexion: 90 * radPerDeg, KneeFlexion: 20 * radPerDeg, LumbarFlexion: 40 * radPerDeg}
	var need, spread Moments
	need[KneeFlexion], spread[KneeFlexion] = -200, -1
	p := s.Pose(&q, need, spread, true, ArmsIdle)
	for _, c := range []Coordinate{HipFlexion, KneeFlexion, LumbarFlexion, HipFlexion.Of(Left)} {
		if got, want := p.need[p.Rows[c]], need[c]-Passive(&q, 80, 1.78)[c]; got != want {
			t.Errorf("coordinate %d needs %g N m, want %g", c, got, want)
		}
	}
	if p.Rows[ElbowFlexion] != -1 || p.Rows[PelvisX] < 0 || p.Muscle(0, Left)-p.Muscle(0, Right) != len(Muscles()) {
		t.Errorf("rows %v", p.Rows)
	}
	var l Lifter
	alone := l.Largest(p.Program).Load
	// two forces of a foot, each of which would move the body; together they do not
	heel, toe := Moments{PelvisY: 800, KneeFlexion: 30}, Moments{PelvisY: 800, KneeFlexion: -30}
	a, b := p.Free(heel, 8, -1, 1), p.Free(toe, 8, -1, 1)
	got := l.Largest(p.Program)
	if math.Abs(got.Activation[a]+got.Activation[b]) > 1e-3 || got.Activation[a] < 0.1 {
		t.Errorf("forces shift by %g and %g", got.Activation[a], got.Activation[b])
	}
	if got.Load < alone+3 {
		t.Errorf("largest load %g with shifting forces, %g without", got.Load, alone)
	}
}

// Ensure that in the bottom of a squat the vasti lead rectus femoris, the adductor
// magnus and gluteus maximus carry the hip, both sides work alike, the deep
// rotators work though the net moment is small, and a weak one lowers the load.
func TestSquatPicture(t *testing.T) {
	s := NewStrength(male, 80, 1.78, LevelTrained)
	p := squat(s, true)
	var sharer Sharer
	a := sharer.Share(p.Program, 100, math.Inf(1)).Activation[p.First:]
	of := func(muscle string) float64 { return a[MuscleNumber(muscle)] }
	if of("vasti") < 2*of("rectus_femoris") || of("adductor_magnus") < 0.2 || of("gluteus_maximus_lower") < 0.2 ||
		of("hamstrings_medial") > of("adductor_magnus") || of("deep_external_rotators") < 0.1 {
		for i, m := range Muscles() {
			t.Logf("%-33s %.2f", m.Name, a[i])
		}
		t.Error("not the picture of a squat")
	}
	for i := range Muscles() {
		if d := a[i] - a[len(Muscles())+i]; math.Abs(d) > 1e-9 {
			t.Errorf("%s: %.4f right, %.4f left", Muscles()[i].Name, a[i], a[len(Muscles())+i])
		}
	}
	var l Lifter
	load := l.Largest(squat(s, false).Program).Load
	s.Scale[Right][MuscleNumber("deep_external_rotators")] = 0.7
	weak := l.Largest(squat(s, false).Program).Load
	t.Logf("largest load %.1f kg, with weak right deep rotators %.1f", load, weak)
	if !(weak < load) || load < 80 || load > 250 {
		t.Errorf("largest load %.1f kg, with weak right deep rotators %.1f", load, weak)
	}
}

// Ensure that a varied strength is a copy, spreads as asked, and repeats with its
// seed.
func TestVaryStrength(t *testing.T) {
	s := NewStrength(male, 80, 1.78, 0)
	sum, n := 0.0, 0.0
	for seed := range uint64(200) {
		v, again := s.Vary(rand.New(rand.NewPCG(seed, 1)), 0.2), s.Vary(rand.New(rand.NewPCG(seed, 1)), 0.2)
		for side := range v.Scale {
			if !slices.Equal(v.Scale[side], again.Scale[side]) {
				t.Fatalf("seed %d: not the same twice", seed)
			}
			for _, x := range v.Scale[side] {
				sum += math.Log(x) * math.Log(x)
				n++
			}
		}
	}
	if sd := math.Sqrt(sum / n); math.Abs(sd-0.2) > 0.01 {
		t.Errorf("spread %.3f, want 0.2", sd)
	}
	if slices.Max(s.Scale[Right]) != 1 || slices.Min(s.Scale[Left]) != 1 {
		t.Error("the strength it started from changed")
	}
}

// Ensure continuity: 1 % more of every moment and a degree in every joint change no
// activation in the squat by more than 0.05, no largest load by more than 5 %.
func TestSquatIsContinuous(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	s := NewStrength("between", 70, 1.7, LevelSomeTraining)
	var a, b Sharer
	var l Lifter
	base := squatMoved(s, r, 0)
	load := l.Largest(base.Program).Load
	base.Tie()
	before := a.Share(base.Program, 0.75*load, math.Inf(1)).Activation
	for range 50 {
		moved := squatMoved(s, r, 1)
		if got := l.Largest(moved.Program).Load; math.Abs(got/load-1) > 0.05 {
			t.Errorf("largest load %.1f kg, %.1f after a step", load, got)
		}
		moved.Tie()
		after := b.Share(moved.Program, 0.75*load, math.Inf(1)).Activation
		for i, m := range Muscles() {
			if d := after[moved.Muscle(i, Right)] - before[base.Muscle(i, Right)]; math.Abs(d) > 0.05 {
				t.Errorf("%s: activation %.3f, %+.3f after a step", m.Name, before[base.Muscle(i, Right)], d)
			}
		}
	}
}

// Ensure that load sharing of real muscles is what BFGS finds.
func TestSquatAgainstBFGS(t *testing.T) {
	for _, ties := range []bool{false, true} {
		p := squat(NewStrength(female, 62, 1.66, LevelSomeTraining), ties).Program
		for _, load := range []float64{0, 40, 90} {
			for _, bound := range []float64{1, math.Inf(1)} {
				var s Sharer
				got := s.Share(p, load, bound)
				size, _ := oracle(t, p, load, bound)
				for i, x := range size {
					if math.Abs(got.Activation[i]-x) > 1e-6 {
						t.Errorf("%g kg, column %d: %.8f, BFGS %.8f", load, i, got.Activation[i], x)
					}
				}
			}
		}
	}
}

// lift makes a known lift of a squat that needs part of its usual moments.
func lift(name string, part, known float64) Lift {
	return Lift{Name: name, Known: known, SD: 0.05, Model: func(s *Strength) (float64, StrengthGain) {
		p := squat(s, false)
		for j := range p.spread {
			p.spread[j] *= part
		}
		var l Lifter
		got := l.Largest(p.Program)
		return got.Load, got.GainOf(p.First)
	}}
}

// Ensure that known lifts move the belief: the model then meets them, is surer, and
// predicts a lift left out better than before.
func TestLearn(t *testing.T) {
	truth := NewStrength(male, 80, 1.78, 0.55)
	truth.Deviation[KneeExtension], truth.Deviation[HipExtension] = 0.2, -0.15
	lifts := []Lift{lift("full", 1, 1), lift("half", 0.5, 1), lift("light", 0.7, 1)}
	for i := range lifts {
		lifts[i].Known, _ = lifts[i].Model(truth)
	}
	s := NewStrength(male, 80, 1.78, 0)
	prior := PriorBelief(LevelUntrained)
	prior.Apply(s)
	before, gain := lifts[0].Model(s)
	after := prior.Learn(s, lifts[:2])
	load, _ := lifts[0].Model(s)
	if math.Abs(math.Log(load/lifts[0].Known)) > 0.05 || math.Abs(math.Log(before/lifts[0].Known)) < 0.3 {
		t.Errorf("known %.1f kg, model %.1f before, %.1f after", lifts[0].Known, before, load)
	}
	for i := range gain {
		gain[i] /= before
	}
	if prior.SD(&gain) < 2*after.SD(&gain) {
		t.Errorf("error %.3f before, %.3f after", prior.SD(&gain), after.SD(&gain))
	}
	if math.Abs(prior.Mean[0]-LevelUntrained) > 0 || prior.Covariance[0][0] != LevelSD*LevelSD {
		t.Error("the prior changed")
	}
	for _, o := range prior.LeaveOut(s, lifts) {
		if math.Abs(math.Log(o.Predicted/o.Known)) > 0.1 || o.Known < o.Low || o.Known > o.High {
			t.Errorf("%s: known %.1f, predicted %.1f (%.1f to %.1f)", o.Name, o.Known, o.Predicted, o.Low, o.High)
		}
	}
}

// Ensure that gains summed to level and deviations are what finite differences of
// the largest load give.
func TestGainOf(t *testing.T) {
	const h = 1e-4
	s := NewStrength(male, 80, 1.78, 0.3)
	p := squat(s, false)
	var l Lifter
	gain := l.Largest(p.Program).GainOf(p.First)
	for i := range gain {
		at := func(d float64) float64 {
			moved := *s
			moved.Scale = [2][]float64{slices.Clone(s.Scale[0]), slices.Clone(s.Scale[1])}
			if i == 0 {
				moved.Level += d
			} else {
				moved.Deviation[i-1] += d
			}
			return l.Largest(squat(&moved, false).Program).Load
		}
		if slope := (at(h) - at(-h)) / (2 * h); math.Abs(slope-gain[i]) > 1e-3*(1+math.Abs(slope)) {
			t.Errorf("parameter %d: gain %.5f, differences %.5f", i, gain[i], slope)
		}
	}
}

// Ensure that no strength, posture or need makes the solvers fail: rows balance,
// nothing is NaN, activations keep their bounds.
func TestDrawnPostures(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	var s Sharer
	var l Lifter
	for k := range 500 {
		x := NewStrength("between", 45+80*r.Float64(), 1.5+0.5*r.Float64(), 1.2*r.NormFloat64())
		for f := range x.Deviation {
			x.Deviation[f] = DeviationSD * r.NormFloat64()
		}
		x.Scale[k%2][r.IntN(len(Muscles()))] = 0.5
		right, left := drawnPosture(r), drawnPosture(r)
		var need, spread Moments
		for c := range right {
			if Coordinate(c) >= firstOfSide && Coordinate(c) < lastOfSide {
				right[Coordinate(c).Of(Left)] = left[c]
			}
		}
		for c := range need {
			need[c], spread[c] = 150*r.NormFloat64(), 2*r.NormFloat64()
		}
		p := x.Pose(&right, need, spread, k%3 == 0, Arms(k%3))
		got := l.Largest(p.Program)
		if !(got.Residual <= 1e-7) || math.IsNaN(got.Load) {
			t.Errorf("draw %d: largest load %g, residual %g after %d steps", k, got.Load, got.Residual, got.Steps)
		}
		p.Tie()
		share := s.Share(p.Program, 300*r.Float64(), 1)
		if !(share.Residual <= 1e-6) || share.Steps >= shareSteps {
			t.Errorf("draw %d: sharing stops with %g after %d steps", k, share.Residual, share.Steps)
		}
		for i, a := range share.Activation {
			if p.kind[i] == muscleColumn && !(a >= 0 && a <= 1) {
				t.Errorf("draw %d, column %d: activation %g", k, i, a)
			}
		}
	}
}

// Budget: 0.3 ms for both legs and the trunk, ties included; the oracle below at
// least ten times slower.
func BenchmarkShareSquat(b *testing.B) {
	p := squat(NewStrength(male, 80, 1.78, LevelTrained), true).Program
	var s Sharer
	for b.Loop() {
		s.Share(p, 100, math.Inf(1))
	}
	b.ReportMetric(float64(s.out.Steps), "steps")
}

func BenchmarkShareSquatBFGS(b *testing.B) {
	p := squat(NewStrength(male, 80, 1.78, LevelTrained), true).Program
	d := dualProblem{p, 100, math.Inf(1)}
	for b.Loop() {
		d.bfgs(b, d.cost, make([]float64, p.Rows()))
	}
}

// Budget: 0.5 ms with all gains.
func BenchmarkLargestSquat(b *testing.B) {
	p := squat(NewStrength(male, 80, 1.78, LevelTrained), false).Program
	var l Lifter
	for b.Loop() {
		l.Largest(p)
	}
}

// Budget: 50 µs for all muscles of one posture.
func BenchmarkAddMuscles(b *testing.B) {
	s := NewStrength(male, 80, 1.78, LevelTrained)
	b.ReportAllocs()
	for b.Loop() {
		squat(s, false)
	}
}
