package effort

import (
	"math"
	"testing"
)

// fourSets is 75 % of the 1RM, four sets to failure, two minutes.
func fourSets(m *Model) []Step {
	l := m.Link(1, []Demand{{0, 1}})
	steps := make([]Step, 4)
	for i := range steps {
		steps[i] = Step{Exercise: 0, Link: l, Work: Work{Load: 0.75, K: 0.0285, Repetition: 3}, Rest: 120}
	}
	return steps
}

// The bands printed for a client without a log: 13 (8-19), 9 (6-14), 7 (5-12),
// 7 (4-11) (fatigue-constants section 9; 1RM SD 6 %, as in its simulation).
func TestBandsWithoutLog(t *testing.T) {
	m := base()
	g := NewDrawer(1, m.c, Spreads{Exercises: []Spread{{LnK: 0.25, LnMax: 0.06}}, Recovery: RecoverySD, Day: DaySD, Constants: true})
	want := []Band{{8, 13, 19}, {6, 9, 14}, {5, 7, 12}, {4, 7, 11}}
	for i, b := range Bands(g, NewState(2), fourSets(m), 4000) {
		near(t, "low", b.Low, want[i].Low, 1)
		near(t, "median", b.Median, want[i].Median, 1)
		near(t, "high", b.High, want[i].High, 1.5)
	}
}

// The constants alone make 0.2-0.5 repetitions a set unsure
// (fatigue-constants section 9), and less of the first.
func TestConstantsAlone(t *testing.T) {
	m := base()
	g := NewDrawer(1, m.c, Spreads{Exercises: []Spread{{}}, Constants: true})
	for i, b := range Bands(g, NewState(2), fourSets(m), 2000) {
		sd := (b.High - b.Low) / 2.56
		if i == 0 && sd > 0.2 || i > 0 && (sd < 0.1 || sd > 0.6) {
			t.Errorf("set %d: SD %g", i+1, sd)
		}
	}
}

// Without any spread the band is the prediction.
func TestNoSpread(t *testing.T) {
	m := base()
	g := NewDrawer(1, m.c, Spreads{Exercises: []Spread{{}}})
	results := m.Run(NewState(2), fourSets(m), nil)
	for i, b := range Bands(g, NewState(2), fourSets(m), 20) {
		for _, got := range []float64{b.Low, b.Median, b.High} {
			near(t, "band", got, results[i].Repetitions, 1e-12)
		}
	}
}

// The same seed gives the same bands, another seed others.
func TestSeed(t *testing.T) {
	m := base()
	bands := func(seed uint64) []Band {
		g := NewDrawer(seed, m.c, Spreads{Exercises: []Spread{{LnK: 0.25, LnMax: 0.06}}, Recovery: RecoverySD, Day: DaySD, Constants: true})
		return Bands(g, NewState(2), fourSets(m), 200)
	}
	a, b, c := bands(7), bands(7), bands(8)
	for i := range a {
		if a[i] != b[i] {
			t.Errorf("set %d: %v and %v from one seed", i+1, a[i], b[i])
		}
		if a[i] == c[i] {
			t.Errorf("set %d: %v from two seeds", i+1, a[i])
		}
	}
}

// Draws have the spreads and correlations that were asked for.
func TestDrawMoments(t *testing.T) {
	g := NewDrawer(3, DefaultConstants(), Spreads{Exercises: []Spread{{LnK: 0.25, LnMax: 0.06}, {LnK: 0.35}}, Recovery: 0.25, Day: 0.02, Constants: true})
	const draws = 20000
	var x [5][]float64
	var d Draw
	for range draws {
		g.Next(&d)
		x[0] = append(x[0], math.Log(d.K[0]))
		x[1] = append(x[1], math.Log(d.Max[0]))
		x[2] = append(x[2], math.Log(d.Recovery))
		x[3] = append(x[3], d.Model().c.SlowShare)
		x[4] = append(x[4], math.Log(d.Model().c.SlowRecovery/500/d.Recovery))
		if d.Max[1] != 1 {
			t.Fatal("a spread of 0 was drawn")
		}
	}
	for i, want := range []float64{0.25, 0.06, 0.25, slowShareSD, lnSlowSD} {
		near(t, "SD", math.Sqrt(covariance(x[i], x[i])), want, 0.03*want)
	}
	near(t, "correlation of k and 1RM", covariance(x[0], x[1])/0.25/0.06, 0, 0.03)
	near(t, "correlation of slow share and recovery", covariance(x[3], x[4])/slowShareSD/lnSlowSD, -0.97, 0.03)
}

func covariance(x, y []float64) float64 {
	mx, my, sum := 0.0, 0.0, 0.0
	for i := range x {
		mx, my = mx+x[i]/float64(len(x)), my+y[i]/float64(len(y))
	}
	for i := range x {
		sum += (x[i] - mx) * (y[i] - my)
	}
	return sum / float64(len(x)-1)
}

// The factor times its transpose is the covariance.
func TestConstantsFactor(t *testing.T) {
	l, sd := constantsFactor(), [4]float64{slowShareSD, lnFastSD, lnSlowSD, ownShareSD}
	for i := range l {
		for j := range l {
			got := 0.0
			for k := range l {
				got += l[i][k] * l[j][k]
			}
			near(t, "covariance", got, constantsCorrelation[i][j]*sd[i]*sd[j], 1e-12)
		}
	}
}

// The correlations that no document prints follow from the 32 fitted figures of
// the report: Jacobian by central differences, weights as in fatigue-constants
// (7 % of a total, 0.5-1 repetition of a set, 6 points of a percentage), inverse
// of its square.
func TestConstantsCovariance(t *testing.T) {
	steps := [4]func(*Constants, float64){
		func(c *Constants, h float64) { c.SlowShare += h },
		func(c *Constants, h float64) { c.FastRecovery *= math.Exp(h) },
		func(c *Constants, h float64) { c.SlowRecovery *= math.Exp(h) },
		func(c *Constants, h float64) { c.OwnShare += h },
	}
	const h = 0.01
	var jacobian [4][]float64
	for i, step := range steps {
		up, down := DefaultConstants(), DefaultConstants()
		step(&up, h)
		step(&down, -h)
		a, b := fittedRows(up), fittedRows(down)
		if len(a) != 32 {
			t.Fatalf("%d fitted figures, want 32", len(a))
		}
		for j := range a {
			jacobian[i] = append(jacobian[i], (a[j].Predicted-b[j].Predicted)/(2*h)/weightSD(a[j]))
		}
	}
	var normal [4][4]float64
	for i := range normal {
		for j := range normal {
			for k := range jacobian[i] {
				normal[i][j] += jacobian[i][k] * jacobian[j][k]
			}
		}
	}
	cov := invert(normal)
	for i := range cov {
		for j := range cov {
			near(t, "correlation", cov[i][j]/math.Sqrt(cov[i][i]*cov[j][j]), constantsCorrelation[i][j], 0.01)
		}
	}
}

func fittedRows(c Constants) []Row {
	var out []Row
	for _, r := range Report(NewModel(c)) {
		if r.Fitted {
			out = append(out, r)
		}
	}
	return out
}

// weightSD is the error allowed to a published figure in the fit.
func weightSD(r Row) float64 {
	switch v := r.Published.Value; {
	case r.Unit[0] == '%' && v <= 100:
		return 6
	case v > 15:
		return 0.07 * v
	case v > 8:
		return 1
	}
	return 0.5
}

// invert returns the inverse of a positive definite matrix, by elimination.
func invert(a [4][4]float64) (b [4][4]float64) {
	for i := range b {
		b[i][i] = 1
	}
	for i := range a {
		d := a[i][i]
		for j := range a {
			a[i][j], b[i][j] = a[i][j]/d, b[i][j]/d
		}
		for k := range a {
			if f := a[k][i]; k != i {
				for j := range a {
					a[k][j] -= f * a[i][j]
					b[k][j] -= f * b[i][j]
				}
			}
		}
	}
	return b
}

func TestBandOf(t *testing.T) {
	var v []float64
	for i := range 11 {
		v = append(v, float64(10-i))
	}
	if got := BandOf(v); got != (Band{1, 5, 9}) {
		t.Errorf("band of 0..10: %v", got)
	}
	if got := BandOf([]float64{3}); got != (Band{3, 3, 3}) {
		t.Errorf("band of one: %v", got)
	}
	if got := BandOf(nil); got != (Band{}) {
		t.Errorf("band of none: %v", got)
	}
}
