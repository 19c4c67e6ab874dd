package effort

import (
	"errors"
	"math"
	"testing"
)

// near fails unless got is within tol of want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6f, want %.6f within %g", what, got, want, tol)
	}
}

// The 1RM from 100 units of load, to two decimals: arithmetic from the printed
// formulas, done apart from this program.
func TestMax(t *testing.T) {
	columns := []Equation{Epley, Brzycki, BrzyckiDecimal, Lombardi, Mayhew, MayhewLater, OConner, Wathan, Lander}
	rows := []struct {
		reps float64
		want [9]float64
	}{
		{1, [9]float64{103.33, 100.00, 100.00, 100.00, 108.86, 107.69, 102.50, 101.30, 101.39}},
		{2, [9]float64{106.67, 102.86, 102.86, 107.18, 111.44, 110.20, 105.00, 105.15, 104.21}},
		{3, [9]float64{110.00, 105.88, 105.89, 111.61, 113.99, 112.69, 107.50, 108.98, 107.20}},
		{5, [9]float64{116.67, 112.50, 112.51, 117.46, 119.01, 117.58, 112.50, 116.58, 113.71}},
		{8, [9]float64{126.67, 124.14, 124.16, 123.11, 126.29, 124.66, 120.00, 127.67, 125.11}},
		{10, [9]float64{133.33, 133.33, 133.37, 125.89, 130.93, 129.17, 125.00, 134.75, 134.07}},
		{12, [9]float64{140.00, 144.00, 144.05, 128.21, 135.40, 133.50, 130.00, 141.50, 144.41}},
		{15, [9]float64{150.00, 163.64, 163.72, 131.10, 141.72, 139.63, 137.50, 150.91, 163.31}},
	}
	for _, row := range rows {
		for i, e := range columns {
			got, err := e.Max(100, row.reps)
			if err != nil {
				t.Fatalf("%s at %g repetitions: %v", e, row.reps, err)
			}
			near(t, e.String(), got, row.want[i], 0.01)
		}
	}
}

// Load fractions by repetitions of a published teaching table (second hand), to
// within 0.0002.
func TestFractionTeachingTable(t *testing.T) {
	for _, row := range []struct{ reps, mayhew, lander, brzycki float64 }{
		{2, 0.9074, 0.9595, 0.9722},
		{5, 0.8505, 0.8794, 0.8888},
		{8, 0.8022, 0.7993, 0.8054},
		{10, 0.7741, 0.7458, 0.7498},
		{12, 0.7490, 0.6924, 0.6942},
		{15, 0.7161, 0.6123, 0.6108},
	} {
		for _, c := range []struct {
			e    Equation
			want float64
		}{{MayhewLater, row.mayhew}, {Lander, row.lander}, {BrzyckiDecimal, row.brzycki}} {
			got, err := c.e.Fraction(row.reps)
			if err != nil {
				t.Fatal(err)
			}
			near(t, c.e.String(), got, c.want, 0.0002)
		}
	}
}

// Epley and Brzycki agree at ten repetitions; Epley is above before, below after.
func TestEpleyMeetsBrzycki(t *testing.T) {
	for r := 1.0; r < 37; r += 0.25 {
		epley, _ := Epley.Max(100, r)
		brzycki, _ := Brzycki.Max(100, r)
		switch {
		case r == 10:
			near(t, "Epley at 10", epley, brzycki, 1e-9)
			near(t, "Epley at 10", epley, 400.0/3, 1e-9)
		case r < 10 && epley <= brzycki, r > 10 && epley >= brzycki:
			t.Errorf("%g repetitions: Epley %g, Brzycki %g", r, epley, brzycki)
		}
	}
}

// At one repetition only Brzycki and Lombardi give the load itself.
func TestOneRepetition(t *testing.T) {
	for _, e := range Equations() {
		got, err := e.Max(100, 1)
		if err != nil {
			t.Fatal(err)
		}
		exact := math.Abs(got-100) < 1e-9
		if want := e == Brzycki || e == BrzyckiDecimal || e == Lombardi; exact != want {
			t.Errorf("%s: 1RM of a single at 100 is %g", e, got)
		}
	}
}

// More repetitions never mean a lower 1RM, in any equation.
func TestMaxRisesWithRepetitions(t *testing.T) {
	for _, e := range Equations() {
		before := 0.0
		for r := 1.0; r <= RepetitionCap; r += 0.5 {
			got, err := e.Max(80, r)
			if err != nil {
				break // past the equation's range
			}
			if got <= before || math.IsInf(got, 0) {
				t.Fatalf("%s at %g repetitions: %g after %g", e, r, got, before)
			}
			before = got
		}
	}
}

func TestEquationRefuses(t *testing.T) {
	for _, c := range []struct {
		e          Equation
		load, reps float64
	}{
		{Brzycki, 100, 37}, {Brzycki, 100, 40}, {BrzyckiDecimal, 100, 37}, {Lander, 100, 38},
		{Epley, 0, 5}, {Epley, -5, 5}, {Epley, math.NaN(), 5}, {Epley, math.Inf(1), 5},
		{Epley, 100, 0.5}, {Epley, 100, math.NaN()}, {Epley, 100, 201}, {Lombardi, 100, 0},
	} {
		if got, err := c.e.Max(c.load, c.reps); !errors.Is(err, ErrRange) {
			t.Errorf("%s, %g x %g: got %g, %v; want ErrRange", c.e, c.load, c.reps, got, err)
		}
	}
	if _, err := Brzycki.Max(100, 36); err != nil {
		t.Errorf("Brzycki at 36 repetitions: %v", err)
	}
}

// Worked sums with Epley: 100 x 5 with two left; the load for 8 with two left.
func TestEpleyWithReserve(t *testing.T) {
	max, _ := Epley.Max(100, 5+2)
	near(t, "1RM", max, 123.33, 0.01)
	f, _ := Epley.Fraction(8 + 2)
	near(t, "load", 150*f, 112.50, 0.01)
}

func TestChartFraction(t *testing.T) {
	for reps, want := range []float64{1: 100, 95, 93, 90, 87, 85, 83, 80, 77, 75, 72.5, 70} {
		if reps == 0 {
			continue
		}
		got, between, err := ChartFraction(float64(reps))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "chart", 100*got, want, 1e-9)
		if between != (reps == 11) {
			t.Errorf("%d repetitions: interpolated = %v", reps, between)
		}
	}
	if got, between, _ := ChartFraction(2.5); math.Abs(got-0.94) > 1e-9 || !between {
		t.Errorf("2.5 repetitions: %g, interpolated %v", got, between)
	}
	for _, reps := range []float64{0, 0.99, 12.01, 15, math.NaN()} {
		if _, _, err := ChartFraction(reps); !errors.Is(err, ErrRange) {
			t.Errorf("%g repetitions: %v, want ErrRange", reps, err)
		}
	}
}

// The textbook's scenarios that use the chart (pounds; nsca-essentials ch. 17).
func TestChartScenarios(t *testing.T) {
	for _, c := range []struct{ load, from, to, want float64 }{
		{300, 10, 1, 400},    // 10RM 300: 1RM 400
		{220, 1, 4, 198},     // four repetitions of 1RM 220
		{650, 1, 10, 487.5},  // deadlift
		{425, 1, 10, 318.75}, // bench press
		{115, 3, 1, 123.66},  // 3RM hang clean
		{110, 3, 1, 118.28},  // 3RM push jerk
	} {
		from, _, _ := ChartFraction(c.from)
		to, _, _ := ChartFraction(c.to)
		near(t, "load", c.load/from*to, c.want, 0.01)
	}
}

// Reynolds 2006, abstract: chest press and leg press.
func TestReynolds(t *testing.T) {
	chest, err := ReynoldsChestPress(100)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "chest press", chest.Value, 113.77, 0.01)
	near(t, "chest press SEE", chest.SD, 2.98, 0)
	leg, _ := ReynoldsLegPress(200)
	near(t, "leg press", leg.Value, 233.65, 0.01)
	near(t, "leg press SEE", leg.SD, 16.16, 0)
	if _, err := ReynoldsLegPress(0); !errors.Is(err, ErrRange) {
		t.Errorf("5RM 0: %v, want ErrRange", err)
	}
}
