package evidence

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s: %.5f, want %.5f", what, got, want)
	}
}

// Ensure the indices of check values 8.1 (derived there; formulas of Robinson and of
// the angle: Robinson 1987, Zifchock 2008).
func TestIndices(t *testing.T) {
	for _, x := range [][7]float64{
		{45, 50, 90, 10, 5.263, 10.526, 3.348}, {80, 100, 80, 20, 11.111, 22.222, 7.045}, {100, 80, 80, 20, 11.111, -22.222, -7.045},
		{95, 100, 95, 5, 2.564, 5.128, 1.632}, {60, 100, 60, 40, 25, 50, 15.596}, {50, 50, 100, 0, 0, 0, 0},
	} {
		i, err := Indices(x[0], x[1])
		if err != nil {
			t.Fatal(err)
		}
		for n, got := range []float64{i.Symmetry, i.Difference, i.Bilateral, i.Robinson, i.Angle} {
			near(t, "index", got, x[n+2], 0.001)
		}
	}
	if _, err := Indices(0, 50); err == nil {
		t.Error("a side of 0 is compared")
	}
}

// Ensure errors of measurement as in check values 8.2: worked A and B (derived), and
// the data of Shrout & Fleiss 1979.
func TestErrorsOfMeasurement(t *testing.T) {
	one, two := []float64{100, 110, 95, 120, 105}, []float64{102, 108, 98, 123, 104}
	var rows [][]float64
	var differences []float64
	for i := range one {
		rows, differences = append(rows, []float64{one[i], two[i]}), append(differences, two[i]-one[i])
	}
	sd, _ := TypicalError(differences)
	near(t, "typical error", sd/math.Sqrt2, 1.6583, 1e-4)
	near(t, "MDC", MDC(sd/math.Sqrt2), 4.5966, 1e-4)
	icc := ICCs(rows)
	near(t, "ICC(1,1)", icc.One, 0.97088, 1e-5)
	near(t, "ICC(2,1)", icc.Two, 0.97087, 1e-5)
	near(t, "ICC(3,1)", icc.Three, 0.97035, 1e-5)
	near(t, "SEM", SEM(20, 0.95), 4.4721, 1e-4)
	near(t, "MDC", MDC(SEM(20, 0.95)), 12.3961, 1e-3)
	near(t, "SEM", SEM(12, 0.90), 3.7947, 1e-4)
	near(t, "MDC", MDC(SEM(12, 0.90)), 10.5185, 1e-3)
	s := ICCs([][]float64{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}})
	for i, got := range []float64{s.One, s.Two, s.Three, s.OneK, s.TwoK, s.ThreeK} {
		near(t, "Shrout and Fleiss", got, []float64{0.1657, 0.2898, 0.7148, 0.4428, 0.6201, 0.9093}[i], 1e-4)
	}
}

// Ensure that 10 % from one trial a side at a CV of 4.2 % is no evidence: the noise is
// 11.6 % with one trial and 6.7 % with three (Grgic 2020; Exell 2012), and the model
// does not call it.
func TestTenPercentFromOneTrialIsNoEvidence(t *testing.T) {
	near(t, "one trial", 100*DifferenceNoise(PublishedError, 1), 11.64, 0.01)
	near(t, "three trials", 100*DifferenceNoise(PublishedError, 3), 6.72, 0.01)
	if v := VerdictOf(math.Log(1.10), PublishedError*math.Sqrt2); v == Better {
		t.Errorf("10 %% from one trial is called %q", v)
	}
	m := ModelOf("lower")
	b := m.Infer(Complaint{}, []Observation{m.Drill("side-lying-hip-abduction").OfLoads(45, 50, 1)})
	if g := b.Groups()[0]; g.WeakLeft > 0.25 {
		t.Errorf("one test of 10 %%: clearly weak %.2f", g.WeakLeft)
	}
}

// Ensure that verdicts are symmetrical, grow with the change, and that the trials to
// decide really decide.
func TestVerdictLaws(t *testing.T) {
	opposite := map[Verdict]Verdict{Better: Worse, ProbablyBetter: ProbablyWorse, NoChange: NoChange, ProbablyWorse: ProbablyBetter, Worse: Better}
	for x := -0.3; x < 0.3; x += 0.007 {
		if VerdictOf(-x, 0.05) != opposite[VerdictOf(x, 0.05)] {
			t.Errorf("%g: %s and %s", x, VerdictOf(x, 0.05), VerdictOf(-x, 0.05))
		}
		for before := 1; before < 5; before++ {
			if more, ok := TrialsToDecide(x, 0.04, before, 1); ok && more > 0 {
				se := func(n int) float64 { return 0.04 * math.Sqrt(1/float64(before)+1/float64(1+n)) }
				if v := VerdictOf(x, se(more)); v != Better && v != Worse {
					t.Errorf("%g: %d trials more give %q", x, more, v)
				}
				if v := VerdictOf(x, se(more-1)); v == Better || v == Worse {
					t.Errorf("%g: %d trials more are too many", x, more)
				}
			}
		}
	}
	near(t, "false better", FalseBetter(1.96, 1), 0.025, 1e-4)
}
