package main

import (
	"encoding/json"
	"math"
	"testing"

	"corbel/anatomy"
	"corbel/sheet"
)

// Ensure that what is shown of a squat and of a one-sided exercise is what the
// golden files hold, in both languages.
func TestExerciseGolden(t *testing.T) {
	plain, german := testdata(t, "exercise-show.txt"), testdata(t, "exercise-show.de.txt")
	inExamples(t)
	for _, c := range []struct {
		file string
		args []string
	}{
		{plain, []string{"exercise", "show", "back-squat", "--client", "rosa-client.yaml"}},
		{german, []string{"exercise", "show", "split-squat", "--load", "20kg", "--language", "de"}},
	} {
		out, errs, code := asked(t, c.args...)
		if code != exitYes || errs != "" {
			t.Errorf("%q: exit %d, %s", c.args, code, errs)
			continue
		}
		golden(t, c.file, out)
	}
}

// shown runs exercise show and reads its JSON.
func shown(t testing.TB, args ...string) *sheet.ExerciseShown {
	t.Helper()
	out, errs, code := asked(t, append([]string{"exercise", "show", "--json"}, args...)...)
	if code != exitYes {
		t.Fatalf("%q: exit %d, %s", args, code, errs)
	}
	var e sheet.ExerciseShown
	if err := json.Unmarshal([]byte(out), &e); err != nil {
		t.Fatal(err)
	}
	return &e
}

// Ensure that done with the other side everything changes sides.
func TestExerciseShowMirrors(t *testing.T) {
	right, left := shown(t, "split-squat", "--load", "20kg"), shown(t, "split-squat", "--load", "20kg", "--side", "left")
	other := func(e *sheet.ExerciseShown, m anatomy.Muscle, side anatomy.Side) float64 {
		for _, s := range e.Shares {
			if s.Muscle == m && s.Side == side.Other() && s.Activation != nil {
				return *s.Activation
			}
		}
		return math.NaN()
	}
	for _, s := range right.Shares {
		if s.Kind == sheet.StatedShare {
			continue
		}
		if got := other(left, s.Muscle, s.Side); !(math.Abs(got-*s.Activation) < 0.002) {
			t.Errorf("%s %s: %g, mirrored %g", s.Muscle, s.Side, *s.Activation, got)
		}
	}
	for i, p := range right.Postures {
		if r, l := p.Joints["knee_extension_r"], left.Postures[i].Joints["knee_extension_l"]; math.Abs(r-l) > 0.01 {
			t.Errorf("%s: knee %g and %g N m", p.Name, r, l)
		}
	}
}

// Ensure that the load that is left out is 75 % of the largest.
func TestExerciseShowLoad(t *testing.T) {
	e := shown(t, "hip-thrust")
	if math.Abs(*e.Load-0.75*e.Largest.Kg) > 0.001 {
		t.Errorf("%g kg of %g", *e.Load, e.Largest.Kg)
	}
	if len(e.Largest.Muscles) == 0 || e.Largest.Muscles[0].Gain <= 0 {
		t.Errorf("limited by %v", e.Largest.Muscles)
	}
}

// BenchmarkExerciseShow is the whole command without starting the program.
func BenchmarkExerciseShow(b *testing.B) {
	for b.Loop() {
		asked(b, "exercise", "show", "back-squat")
	}
}
