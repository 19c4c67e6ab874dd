package effort

import (
	"math"
	"strings"
	"testing"
)

// The predictions of the trial that chose the constants come out again, to 2 % or
// half a unit of the last printed place.
func TestReportAgainstTrial(t *testing.T) {
	for _, r := range Report(base()) {
		if !r.Trial.Known {
			continue
		}
		printed := 0.05 // half a unit of the last place
		if r.Trial.Value == math.Trunc(r.Trial.Value) {
			printed = 0.5
		}
		near(t, r.Study+", "+r.Condition, r.Predicted, r.Trial.Value, math.Max(0.02*r.Trial.Value, printed))
	}
}

// The published figures are met within the errors printed for them, and one point
// for their rounding.
func TestReportAgainstPublished(t *testing.T) {
	for _, r := range Report(base()) {
		if !r.TrialError.Known {
			continue
		}
		if allowed := math.Abs(r.TrialError.Value) + 1; math.Abs(r.Error.Value) > allowed {
			if r.Source == "augustsson-2003" && math.Abs(r.Error.Value) < 2 {
				continue // its inputs are not in the appendix, see reportrows.go
			}
			t.Errorf("%s, %s: %+.1f %%, printed %+.0f %%", r.Study, r.Condition, r.Error.Value, r.TrialError.Value)
		}
	}
}

// Bench press, 14 men: the rmse of the one-parameter curve is 0.07 repetitions.
func TestReportBenchRMSE(t *testing.T) {
	sum := 0.0
	for _, r := range Report(base())[:3] {
		sum += (r.Predicted - r.Published.Value) * (r.Predicted - r.Published.Value)
	}
	near(t, "rmse", math.Sqrt(sum/3), 0.07, 0.005)
}

// Published totals that the constants were not fitted to, to a third of their
// spread (1.5 repetitions); at 1 min the model is 2.4 too high and is known to be.
func TestReportWillardson(t *testing.T) {
	for _, r := range Report(base()) {
		if r.Source != "willardson-2005" {
			continue
		}
		miss := math.Abs(r.Predicted - r.Published.Value)
		if allowed := map[bool]float64{true: 2.5, false: 1.5}[strings.HasPrefix(r.Condition, "1 min")]; miss > allowed {
			t.Errorf("%s: %g off", r.Condition, miss)
		}
	}
}

// Directions that were published without figures.
func TestReportDirections(t *testing.T) {
	by := map[string]float64{}
	for _, r := range Report(base()) {
		by[r.Source+" "+r.Condition] = r.Predicted
	}
	for _, c := range [][2]string{
		{"simao-2005 bench last", "simao-2005 bench first"},
		{"simao-2005 pushdown last", "simao-2005 pushdown first"},
		{"simao-2005 curl fourth", "simao-2005 curl second"},
		{"monteiro-2005 bench last", "monteiro-2005 bench first"},
		{"monteiro-2005 pushdown last", "monteiro-2005 pushdown first"},
	} {
		less, ok1 := by[c[0]]
		more, ok2 := by[c[1]]
		if !ok1 || !ok2 || less >= more {
			t.Errorf("%s %g, %s %g", c[0], less, c[1], more)
		}
	}
}

// Every row says where it is from, and has a figure or a direction.
func TestReportRows(t *testing.T) {
	rows := Report(base())
	fitted, sum := 0, 0.0
	for _, r := range rows {
		if r.Source == "" || r.Status == "" || r.Unit == "" || !r.Trial.Known || r.Published.Known == (r.Direction != "") {
			t.Errorf("incomplete row %+v", r)
		}
		if r.Fitted {
			fitted++
			sum += math.Abs(r.Error.Value)
		}
	}
	// 32 values, mean absolute error 6.3 % (fatigue-constants section 1)
	if fitted != 32 {
		t.Errorf("%d fitted rows, want 32", fitted)
	}
	near(t, "mean absolute error", sum/float64(fitted), 6.3, 0.1)
}

func TestWriteReport(t *testing.T) {
	var b strings.Builder
	if err := WriteReport(&b, Report(base())); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"published", "six pulls, 3 x 8RM", "miranda-2007", "over 32 rows"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("%q is not in the report", want)
		}
	}
}
