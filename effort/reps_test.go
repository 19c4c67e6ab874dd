package effort

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

func TestClasses(t *testing.T) {
	want := map[string][2]float64{
		"upper-push": {0.030, 0.25}, "squat": {0.025, 0.25}, "single-joint": {0.033, 0.25},
		"hinge": {0.033, 0.35}, "single-leg": {0.025, 0.35}, "pull": {0.033, 0.35}, "calf-trunk": {0.020, 0.45},
	}
	if got := len(Classes()); got != len(want) {
		t.Errorf("%d classes, want %d", got, len(want))
	}
	for id, w := range want {
		c, ok := ClassByID(id)
		if !ok || c.K != w[0] || c.SDLnK != w[1] || c.Source == "" || c.Basis == "" {
			t.Errorf("class %s: %+v, want k %g, SD %g and a source", id, c, w[0], w[1])
		}
	}
	if _, ok := ClassByID("throw"); ok {
		t.Error("a class that is not in the table was found")
	}
}

// Endurance changes lower-limb classes only, and never narrows a spread.
func TestEnduranceBackground(t *testing.T) {
	for _, c := range Classes() {
		k, sd := c.For(Endurance)
		switch {
		case c.LowerLimb && (math.Abs(k-0.6*c.K) > 1e-12 || sd != 0.35):
			t.Errorf("%s: k %g, SD %g", c.ID, k, sd)
		case !c.LowerLimb && (k != c.K || sd != c.SDLnK):
			t.Errorf("%s: k %g, SD %g, want the class's own", c.ID, k, sd)
		}
		if k, sd := c.For(General); k != c.K || sd != c.SDLnK {
			t.Errorf("%s, general: k %g, SD %g", c.ID, k, sd)
		}
	}
}

// Load and repetitions are inverse to each other; one repetition is the 1RM.
func TestFreshCurve(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 1))
	for range 300 {
		n, k := 1+59*rnd.Float64(), 0.01+0.05*rnd.Float64()
		near(t, "repetitions", FreshRepetitions(FreshLoad(n, k), k), n, 1e-9)
	}
	near(t, "at 1RM", FreshRepetitions(1, 0.03), 1, 0)
	near(t, "far above 1RM", FreshRepetitions(1.5, 0.03), 0, 0)
	near(t, "next to nothing", FreshRepetitions(0.01, 0.03), RepetitionCap, 0)
}

// The ten points of the load chart from 70 to 95 % are met by k = 0.0373 with an
// rmse of 0.29 repetitions (fatigue-constants).
func TestLoadChartK(t *testing.T) {
	sum := 0.0
	points := loadChart()[1:]
	for _, p := range points {
		d := FreshRepetitions(p.fraction, 0.0373) - p.reps
		sum += d * d
	}
	if len(points) != 10 {
		t.Fatalf("%d points", len(points))
	}
	near(t, "rmse", math.Sqrt(sum/10), 0.29, 0.01)
}

// Zourdos 2016 and 2021: 10 is 0 left, 9 is 1, 7 is 3, 5 is 5.
func TestExertion(t *testing.T) {
	for _, c := range [][2]float64{{0, 10}, {0.5, 9.5}, {1, 9}, {3, 7}, {5, 5}} {
		rating, err := Exertion(c[0])
		if err != nil || rating != c[1] {
			t.Errorf("reserve %g: rating %g, %v", c[0], rating, err)
		}
		reserve, err := Reserve(c[1])
		if err != nil || reserve != c[0] {
			t.Errorf("rating %g: reserve %g, %v", c[1], reserve, err)
		}
	}
	for _, bad := range []float64{-0.5, 5.5, 1.25, math.NaN(), math.Inf(1)} {
		if _, err := Exertion(bad); !errors.Is(err, ErrRange) {
			t.Errorf("reserve %g: %v, want ErrRange", bad, err)
		}
	}
	for _, bad := range []float64{4.5, 10.5, 8.25, math.NaN()} {
		if _, err := Reserve(bad); !errors.Is(err, ErrRange) {
			t.Errorf("rating %g: %v, want ErrRange", bad, err)
		}
	}
}

func TestReserveError(t *testing.T) {
	near(t, "SD at failure", ReserveSD(0, 8), 0.3, 1e-12)
	near(t, "SD at 2 left", ReserveSD(2, 12), 0.8, 1e-12)
	near(t, "SD at 2 left of a long set", ReserveSD(2, 20), 1.2, 1e-12)
	near(t, "true reserve, failed", TrueReserve(0, SaidBias), 0, 0)
	near(t, "true reserve, 1 said", TrueReserve(1, SaidBias), 1.475, 1e-12)
	near(t, "true reserve, 3 said", TrueReserve(3, SaidBias), 3.95, 1e-12)
}

// Worked by hand: 100 kg x 5 with 2 left, k 0.03, no bias: n = 7, 100 · 1.18.
func TestDoneSetWorked(t *testing.T) {
	e, err := DoneSet{Load: 100, Repetitions: 5, Reserve: 2, K: 0.03, SDLnK: 0.25}.Max()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "1RM", e.Value, 118, 1e-9)
	// by k 0.18/1.18·0.25 = 0.038136, by reserve 0.03/1.18·0.8 = 0.020339, day 0.02
	near(t, "SD", e.SD, 118*math.Sqrt(0.038136*0.038136+0.020339*0.020339+0.0004), 1e-3)
	// with 60 kg of the body moved: 160 · 1.18 - 60
	e, _ = DoneSet{Load: 100, Carried: 60, Repetitions: 5, Reserve: 2, K: 0.03}.Max()
	near(t, "1RM with carried mass", e.Value, 128.8, 1e-9)
}

// What is asked from an estimated 1RM is what was done.
func TestAskedMeetsDone(t *testing.T) {
	rnd := rand.New(rand.NewPCG(2, 2))
	for range 300 {
		d := DoneSet{Load: 200*rnd.Float64() - 20, Carried: 40 + 40*rnd.Float64(), Repetitions: 1 + 20*rnd.Float64(),
			Reserve: 5 * rnd.Float64(), K: 0.015 + 0.03*rnd.Float64(), SDLnK: 0.25}
		max, err := d.Max()
		if err != nil {
			t.Fatal(err)
		}
		load, err := AskedSet{Max: max.Value, Carried: d.Carried, Repetitions: d.Repetitions, Reserve: d.Reserve, K: d.K, SDLnK: d.SDLnK}.Load()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "load", load.Value, d.Load, 1e-9)
		p, err := Fraction(load.Value, max.Value, d.Carried)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "repetitions", FreshRepetitions(p, d.K), d.Repetitions+d.Reserve, 1e-9)
	}
}

// The first-order SD agrees with drawing k, the reserve and the day.
func TestDoneSetSDAgainstDraws(t *testing.T) {
	d := DoneSet{Load: 80, Carried: 30, Repetitions: 8, Reserve: 2, K: 0.03, SDLnK: 0.25}
	e, _ := d.Max()
	rnd := rand.New(rand.NewPCG(3, 3))
	sum, square := 0.0, 0.0
	const draws = 20000
	for range draws {
		n := d.Repetitions + d.Reserve + ReserveSD(d.Reserve, d.Repetitions)*rnd.NormFloat64()
		k := d.K * math.Exp(d.SDLnK*rnd.NormFloat64())
		x := 110*(1+k*(n-1))*math.Exp(DaySD*rnd.NormFloat64()) - 30
		sum, square = sum+x, square+x*x
	}
	mean := sum / draws
	sd := math.Sqrt(square/draws - mean*mean)
	near(t, "SD", e.SD, sd, 0.06*sd)
}

func TestEstimatesRefuse(t *testing.T) {
	good := DoneSet{Load: 100, Repetitions: 5, Reserve: 2, K: 0.03}
	for name, change := range map[string]func(*DoneSet){
		"load":     func(d *DoneSet) { d.Load = -1 },
		"carried":  func(d *DoneSet) { d.Carried = -1 },
		"reps":     func(d *DoneSet) { d.Repetitions = 0 },
		"reserve":  func(d *DoneSet) { d.Reserve = -1 },
		"bias":     func(d *DoneSet) { d.Bias = -10 },
		"bias nan": func(d *DoneSet) { d.Bias = math.NaN() },
		"k":        func(d *DoneSet) { d.K = 0 },
		"nan":      func(d *DoneSet) { d.Load = math.NaN() },
	} {
		d := good
		change(&d)
		if _, err := d.Max(); !errors.Is(err, ErrRange) {
			t.Errorf("%s: %v, want ErrRange", name, err)
		}
	}
	for name, a := range map[string]AskedSet{
		"max":     {Max: 0, Repetitions: 5, K: 0.03},
		"reps":    {Max: 100, Repetitions: 0, K: 0.03},
		"reserve": {Max: 100, Repetitions: 5, Reserve: -1, K: 0.03},
		"k":       {Max: 100, Repetitions: 5},
	} {
		if _, err := a.Load(); !errors.Is(err, ErrRange) {
			t.Errorf("%s: %v, want ErrRange", name, err)
		}
	}
	if _, err := Fraction(50, -60, 60); !errors.Is(err, ErrRange) {
		t.Errorf("fraction of nothing: %v, want ErrRange", err)
	}
}
