package effort

import (
	"errors"
	"math"
	"testing"
)

// Two weeks worked by hand with the sample SD.
func TestWeek(t *testing.T) {
	for _, c := range []struct {
		daily                         [7]float64
		total, mean, sd, mono, strain float64
	}{
		{[7]float64{480, 0, 360, 0, 540, 300, 0}, 1680, 240, 237.49, 1.0106, 1697.78},
		{[7]float64{300, 300, 300, 300, 300, 300, 0}, 1800, 257.14, 113.39, 2.2678, 4082.02},
	} {
		w, err := Week(c.daily)
		if err != nil || !w.Defined {
			t.Fatalf("%v: %+v, %v", c.daily, w, err)
		}
		near(t, "total", w.Total, c.total, 0)
		near(t, "mean", w.Mean, c.mean, 0.01)
		near(t, "SD", w.SD, c.sd, 0.01)
		near(t, "monotony", w.Monotony, c.mono, 0.0001)
		near(t, "strain", w.Strain, c.strain, 0.15)
	}
}

func TestWeekNotDefined(t *testing.T) {
	for _, load := range []float64{0, 0.1, 300, 1e9 / 3} {
		w, err := Week([7]float64{load, load, load, load, load, load, load})
		if err != nil || w.Defined || w.Monotony != 0 || w.Strain != 0 {
			t.Errorf("seven days of %g: %+v, %v", load, w, err)
		}
	}
	if _, err := Week([7]float64{-1}); !errors.Is(err, ErrRange) {
		t.Errorf("negative load: %v", err)
	}
}

func TestSessionLoad(t *testing.T) {
	if got, err := SessionLoad(6, 80); err != nil || got != 480 {
		t.Errorf("6 x 80 min: %g, %v", got, err)
	}
	for _, bad := range [][2]float64{{-1, 60}, {11, 60}, {math.NaN(), 60}, {5, -1}, {5, math.Inf(1)}} {
		if _, err := SessionLoad(bad[0], bad[1]); !errors.Is(err, ErrRange) {
			t.Errorf("%v: %v, want ErrRange", bad, err)
		}
	}
}
