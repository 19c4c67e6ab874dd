package session

import (
	"math"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/effort"
	"corbel/exercise"
	"corbel/plan"
	"corbel/unit"
)

// loads of one set with what it comes to. The client weighs 80 kg; 1RMs: bench
// press 100, back squat 140, front squat 100, cable pushdown 50, dumbbell curl 20
// in each hand, split squat 20 in each hand, pull-up with 20 kg added. With the
// body carried, (1RM + carried) is 40 + 0.88·80 = 110.4 kg for the split squat and
// 20 + 0.97·80 = 97.6 kg for the pull-up.
var loadCases = []struct {
	name, exercise, dose string
	kg                   float64 // on the bar or in each hand; 0 for none
	p                    float64 // fraction of the 1RM
	percent              float64 // of the external 1RM; 0 for unknown
	unknown              string
	notThere, written    bool
}{
	{"percent", "bench-press", "3 x 5 @ 80%", 80, 0.80, 80, "", false, true},
	{"percent, rounded down", "bench-press", "3 x 5 @ 81%", 80, 0.80, 80, "", false, true},
	{"percent, half goes up", "bench-press", "3 x 5 @ 81.25%", 82.5, 0.825, 82.5, "", false, true},
	{"percent of the empty bar at least", "bench-press", "3 x 5 @ 5%", 20, 0.20, 20, "", false, true},
	{"kilograms", "bench-press", "3 x 5 @ 70 kg", 70, 0.70, 70, "", false, true},
	{"kilograms not there", "bench-press", "3 x 5 @ 71 kg", 70, 0.70, 70, "", true, true},
	// 225 lb = 102.058 kg
	{"pounds not there", "bench-press", "3 x 2 @ 225 lb", 102.5, 1.025, 102.5, "", true, true},
	// 1/(1 + 0.030·4) = 0.892857
	{"repetitions maximum", "bench-press", "3 x 3 @ 5RM", 90, 0.90, 90, "", false, true},
	// 1/(1 + 0.030·9) = 0.787402
	{"the reserve alone", "bench-press", "3 x 8 rir 2", 77.5, 0.775, 77.5, "no-load", false, false},
	{"nothing at all: 3 in reserve", "overhead-press", "3 x 8", 0, 1 / (1 + 0.030*10), 0, "no-load", false, false},
	{"nothing at all in a drill: 6 in reserve", "band-pull-apart", "3 x 8", 0, 1 / (1 + 0.033*13), 0, "no-load", false, false},
	{"percent without a lift", "overhead-press", "3 x 5 @ 80%", 0, 0.80, 80, "no-lift", false, true},
	{"repetitions maximum without a lift", "overhead-press", "3 x 3 @ 5RM", 0, 1 / 1.12, 0, "no-lift", false, true},
	// 5 + 3 repetitions: 1/(1 + 0.030·7)
	{"kilograms without a lift", "overhead-press", "3 x 5 @ 40 kg", 40, 1 / 1.21, 0, "no-lift", false, true},
	{"percent of another lift, own lift known", "front-squat", "3 x 5 @ 50% of back-squat", 70, 0.70, 70, "", false, true},
	{"percent of another lift, own lift unknown", "overhead-press", "3 x 5 @ 50% of bench-press rir 3", 50, 1 / 1.21, 0, "no-lift", false, true},
	{"percent of another lift in each hand", "hammer-curl", "3 x 5 @ 80% of dumbbell-curl rir 3", 16, 1 / (1 + 0.033*7), 0, "no-lift", false, true},
	{"percent of another lift that is not known", "front-squat", "3 x 5 @ 50% of overhead-press rir 3", 0, 1 / (1 + 0.025*7), 0, "no-lift", false, true},
	// (24 + 70.4)/110.4
	{"in each hand, with the body", "split-squat", "3 x 8/side @ 12 kg/hand", 12, 94.4 / 110.4, 60, "", false, true},
	// 12 and 14 are equally near to 13: the heavier; 28/40
	{"in each hand, rounded", "dumbbell-curl", "3 x 8 @ 13 kg/hand", 14, 0.70, 70, "", true, true},
	{"a percentage in each hand", "dumbbell-curl", "3 x 8 @ 61%", 12, 0.60, 60, "", false, true},
	{"a stack", "pushdown", "3 x 8 @ 26 kg", 25, 0.50, 50, "", true, true},
	{"the body alone", "pull-up-overhand", "3 x 5 @ body weight", 0, 77.6 / 97.6, 0, "", false, true},
	{"nothing written means the body alone", "pull-up-overhand", "3 x 5 rir 2", 0, 77.6 / 97.6, 0, "", false, true},
	{"added", "pull-up-overhand", "3 x 5 @ +10 kg", 10, 87.6 / 97.6, 50, "", false, true},
	{"taken off", "pull-up-overhand", "3 x 5 @ -15 kg", 0, 62.6 / 97.6, -75, "", false, true},
	// 0.9·97.6 - 77.6 = 10.24
	{"percent of the system", "pull-up-overhand", "3 x 2 @ 90%", 10.24, 0.90, 51.2, "", false, true},
	{"percent of the system under the body's own", "pull-up-overhand", "3 x 8 @ 70%", 0, 0.70, -46.4, "", false, true},
	{"a band", "band-pull-apart", "2 x 12 @ band light rir 3", 0, 1 / (1 + 0.033*14), 0, "band", false, true},
	{"a pin", "pushdown", "2 x 12 @ pin 7 rir 3", 0, 1 / (1 + 0.033*14), 0, "no-mass", false, true},
	{"a level", "pushdown", "2 x 12 @ level 5 rir 3", 0, 1 / (1 + 0.033*14), 0, "no-mass", false, true},
	{"as many as possible, nothing known: 10", "overhead-press", "3 x max", 0, 1 / (1 + 0.030*9), 0, "no-load", false, false},
}

// loaded is the client of loadCases.
func loaded() *client.Client {
	return trainee(lift("bench-press", 100), lift("back-squat", 140), lift("front-squat", 100), lift("pushdown", 50), perHand("dumbbell-curl", 20),
		perHand("split-squat", 20), lift("pull-up-overhand", 20))
}

func perHand(exercise string, kg float64) client.Lift {
	l := lift(exercise, kg)
	l.PerHand = true
	return l
}

// loadOf works out the load of the first set of a dose.
func loadOf(t testing.TB, c *client.Client, exerciseID, dose string) Loaded {
	t.Helper()
	a, e, d := athlete(c), exercise.Shipped.ByID(exerciseID), mustDose(t, dose)
	return a.Load(e, anatomy.Both, d.Parts[0].Sets[0], d.Tempo, c.PlaceByID("p"))
}

// Every way to write a load comes to the fraction of the 1RM, the mass and the
// percentage worked out by hand.
func TestLoads(t *testing.T) {
	for _, c := range loadCases {
		l := loadOf(t, loaded(), c.exercise, c.dose)
		if got, has := l.Kg(); !within(float64(got), c.kg, near) || has != (c.kg > 0) {
			t.Errorf("%s: %g kg (%v), want %g", c.name, got, has, c.kg)
		}
		if !within(l.P, c.p, near) {
			t.Errorf("%s: %g of the 1RM, want %g", c.name, l.P, c.p)
		}
		if !within(l.Percent, c.percent, near) {
			t.Errorf("%s: %g %%, want %g", c.name, l.Percent, c.percent)
		}
		if l.Unknown != c.unknown || l.NotThere != c.notThere || l.Written != c.written {
			t.Errorf("%s: unknown %q, not there %v, written %v; want %q, %v, %v", c.name, l.Unknown, l.NotThere, l.Written, c.unknown, c.notThere, c.written)
		}
	}
}

// Without body mass on record a lift in which the body counts is unknown; one of
// external load is not.
func TestLoadsWithoutBodyMass(t *testing.T) {
	c := loaded()
	c.Measures = nil
	if l := loadOf(t, c, "pull-up-overhand", "3 x 5 @ +10 kg rir 2"); l.Unknown != "no-lift" || l.FromMax || !within(l.P, 1/(1+0.033*6), near) {
		t.Errorf("pull-up: %+v", l)
	}
	if l := loadOf(t, c, "bench-press", "3 x 5 @ 80%"); l.Unknown != "" || !l.FromMax {
		t.Errorf("bench press: %+v", l)
	}
	c.Measures = []client.Measure{{On: monday.Plus(3), Mass: kg(80)}}
	if l := loadOf(t, c, "pull-up-overhand", "3 x 5 @ +10 kg rir 2"); l.Unknown != "no-lift" {
		t.Errorf("body mass measured after the day counts: %+v", l)
	}
}

// A percentage is of the external load or of the system, as the exercise
// declares, whatever fraction of the body is carried.
func TestCarried(t *testing.T) {
	a := athlete(loaded())
	for id, want := range map[string]float64{"back-squat": 0, "bench-press": 0, "pull-up-overhand": 0.97 * 80, "push-up": 0.65 * 80, "split-squat": 0.88 * 80} {
		if got := a.Carried(exercise.Shipped.ByID(id)); !within(got, want, near) {
			t.Errorf("%s: %g kg carried, want %g", id, got, want)
		}
	}
}

// Without a place nothing is rounded, no step is known and nothing is missing;
// with one the next heavier load gives the step.
func TestRoundingNeedsAPlace(t *testing.T) {
	c := loaded()
	a, e, d := athlete(c), exercise.Shipped.ByID("bench-press"), mustDose(t, "3 x 5 @ 71 kg")
	l := a.Load(e, anatomy.Both, d.Parts[0].Sets[0], d.Tempo, nil)
	if got, _ := l.Kg(); got != 71 || l.NotThere || !l.Step.IsZero() {
		t.Errorf("%+v", l)
	}
	l = a.Load(e, anatomy.Both, d.Parts[0].Sets[0], d.Tempo, c.PlaceByID("p"))
	if l.Step.Kilogram() != 2.5 || l.Asked.Kilogram() != 71 || !l.NotThere {
		t.Errorf("%+v", l)
	}
	d = mustDose(t, "3 x 5 @ 200 kg")
	if l = a.Load(e, anatomy.Both, d.Parts[0].Sets[0], d.Tempo, c.PlaceByID("p")); l.Mass.Kilogram() != 175 || !l.Step.IsZero() {
		t.Errorf("all plates on the bar: %+v", l) // 20 + 4·(20 + 10 + 5 + 2.5 + 1.25) = 175
	}
}

// What stands in a place for an exercise: bars with plates, stacks, dumbbells;
// one dumbbell where loads are by hand.
func TestAchievable(t *testing.T) {
	place := trainee().PlaceByID("p")
	for _, c := range []struct {
		exercise     string
		perHand      bool
		n            int
		first, heavy float64
	}{
		{"bench-press", false, 63, 20, 175},
		{"pushdown", false, 16, 5, 80},
		{"dumbbell-curl", true, 20, 2, 40},
		{"goblet-squat", false, 20, 2, 40},
		{"split-squat", true, 20, 2, 40},
		{"push-up", false, 0, 0, 0},
	} {
		loads := Achievable(exercise.Shipped.ByID(c.exercise), place, c.perHand)
		if len(loads) != c.n {
			t.Errorf("%s: %d loads, want %d", c.exercise, len(loads), c.n)
			continue
		}
		if c.n > 0 && (loads[0].Kilogram() != unit.Kilogram(c.first) || loads[c.n-1].Kilogram() != unit.Kilogram(c.heavy)) {
			t.Errorf("%s: %s to %s", c.exercise, loads[0], loads[c.n-1])
		}
	}
	if Achievable(exercise.Shipped.ByID("bench-press"), nil, false) != nil {
		t.Error("no place has loads")
	}
}

// Years of endurance sport flatten the curve of the legs and leave the arms.
// Leg press at 8 + 2 repetitions: 1/(1 + 0.6·0.025·9).
func TestEnduranceBackground(t *testing.T) {
	c := loaded()
	c.Background = client.Endurance
	if l := loadOf(t, c, "leg-press", "3 x 8 rir 2"); !within(l.P, 1/(1+0.6*0.025*9), near) {
		t.Errorf("leg press at %g", l.P)
	}
	if l := loadOf(t, c, "overhead-press", "3 x 8 rir 2"); !within(l.P, 1/(1+0.030*9), near) {
		t.Errorf("overhead press at %g", l.P)
	}
	a := athlete(c)
	if k, sd := a.K(exercise.Shipped.ByID("leg-press")); !within(k, 0.015, near) || sd != 0.35 {
		t.Errorf("k %g, SD %g", k, sd)
	}
}

// Holds count a repetition for every 3 s, carries the time they take at 1 m/s; a
// tempo sets the time of a repetition, and slow repetitions lower the load that
// leaves a reserve: k_T = k (8 s/3 s)^0.5.
func TestWorkOfASet(t *testing.T) {
	c := loaded()
	if l := loadOf(t, c, "side-plank", "2 x 30 s/side"); l.Count != 10 || l.RepTime != 3 || l.Marks != effort.Hold {
		t.Errorf("hold: %+v", l)
	}
	if l := loadOf(t, c, "two-hand-carry", "2 x 40 m"); !within(l.Count, 40./3, near) || l.RepTime != 3 || l.Marks != effort.Hold {
		t.Errorf("carry: %+v", l)
	}
	if l := loadOf(t, c, "bench-press", "2 x 8-10 @ 70% rir 2-4"); l.Count != 9 || l.Reserve != 3 || !l.Asks {
		t.Errorf("ranges: %+v", l)
	}
	l := loadOf(t, c, "overhead-press", "2 x 8 rir 2 tempo 4-2-2")
	if want := 1 / (1 + 0.030*math.Sqrt(8./3)*9); l.RepTime != 8 || !within(l.P, want, near) {
		t.Errorf("tempo: %g of the 1RM at %g s, want %g at 8 s", l.P, l.RepTime, want)
	}
}

// Where the load follows the reserve, it falls from set to set and the reserve
// stays near the written one: (1) leaves out the recovery inside a set, which
// adds up to one repetition, two where a set takes a minute. Where the load
// is written, it stays and the reserve falls.
func TestFreeLoadsFollowTheReserve(t *testing.T) {
	a := athlete(trainee())
	for _, dose := range []string{"4 x 10 rir 2 rest 1:00", "4 x 6 rir 1 rest 1:30", "4 x 8 rir 3 rest 2:00 tempo 4-2-2"} {
		v := visit(a, slot(t, "a", "pushdown", dose))
		for i, s := range v.Sets {
			if more := s.Reserve - s.Load.Reserve; more < -0.5 || more > 2 {
				t.Errorf("%s: set %d ends with %g in reserve", dose, i+1, s.Reserve)
			}
			if i > 0 && s.P >= v.Sets[i-1].P {
				t.Errorf("%s: set %d is at %g, the one before at %g", dose, i+1, s.P, v.Sets[i-1].P)
			}
			if _, asked := s.Falls(); asked {
				t.Errorf("%s: set %d falls short of a reserve the load follows", dose, i+1)
			}
		}
	}
	v := visit(a, slot(t, "a", "pushdown", "3 x 8 @ 60% rir 2 rest 2:00"))
	for i, s := range v.Sets[1:] {
		if s.P != 0.60 || s.Reserve >= v.Sets[i].Reserve {
			t.Errorf("written: set %d at %g with %g in reserve", i+2, s.P, s.Reserve)
		}
	}
}

// Falls compares the predicted reserve, below 0 where the set cannot be done,
// with the low end of the written one.
func TestFalls(t *testing.T) {
	a := athlete(trainee(lift("bench-press", 100)))
	v := visit(a, slot(t, "a", "bench-press", "2 x 10 @ 85% rir 1-2 rest 1:00"), slot(t, "b", "bench-press", "1 x 5 @ 85%"), slot(t, "c", "bench-press", "1 x max @ 60% rir 1"))
	for _, s := range working(v, 0) {
		short, asked := s.Falls()
		if want := 1 - (s.Result.Repetitions - 10); !asked || !within(short, want, near) || short < 1 {
			t.Errorf("falls short by %g (%v), want %g", short, asked, want)
		}
	}
	for _, item := range []int{1, 2} {
		if _, asked := working(v, item)[0].Falls(); asked {
			t.Errorf("slot %d asks for no reserve it could fall short of", item)
		}
	}
}

// The latest lift up to the day counts; of lifts of one day that of the side, and
// for both sides together the weaker one.
func TestWhichLiftCounts(t *testing.T) {
	c := trainee()
	of := func(days int, side anatomy.Side, load float64) client.Lift {
		return client.Lift{On: monday.Plus(days), Exercise: "one-arm-dumbbell-row", Load: kg(load), Reps: 1, Side: side}
	}
	e := exercise.Shipped.ByID("one-arm-dumbbell-row")
	for _, x := range []struct {
		name  string
		lifts []client.Lift
		want  map[anatomy.Side]float64
	}{
		{"each side its own", []client.Lift{of(-5, anatomy.Left, 30), of(-5, anatomy.Right, 20)}, map[anatomy.Side]float64{anatomy.Left: 30, anatomy.Right: 20, anatomy.Both: 20}},
		{"in the other order", []client.Lift{of(-5, anatomy.Right, 20), of(-5, anatomy.Left, 30)}, map[anatomy.Side]float64{anatomy.Left: 30, anatomy.Right: 20, anatomy.Both: 20}},
		{"the later one", []client.Lift{of(-5, anatomy.NoSide, 30), of(-9, anatomy.Left, 20)}, map[anatomy.Side]float64{anatomy.Left: 30, anatomy.Right: 30}},
		{"a later one of the other side", []client.Lift{of(-9, anatomy.NoSide, 20), of(-5, anatomy.Left, 30)}, map[anatomy.Side]float64{anatomy.Left: 30, anatomy.Right: 20}},
		{"its own of the same day", []client.Lift{of(-5, anatomy.NoSide, 30), of(-5, anatomy.Left, 20)}, map[anatomy.Side]float64{anatomy.Left: 20, anatomy.Right: 30}},
		{"of the day itself", []client.Lift{of(0, anatomy.NoSide, 30)}, map[anatomy.Side]float64{anatomy.Both: 30}},
		{"not yet", []client.Lift{of(1, anatomy.NoSide, 30)}, map[anatomy.Side]float64{anatomy.Both: 0}},
	} {
		c.Lifts = x.lifts
		a := athlete(c)
		for side, want := range x.want {
			if m, ok := a.Max(e, side); !within(m.External, want, near) || ok != (want > 0) {
				t.Errorf("%s: %s %g kg, want %g", x.name, side, m.External, want)
			}
		}
	}
}

// A lift with a said reserve is corrected for reserves being said too low: 5
// repetitions and 2 in reserve at 100 kg are 7.95, so the bench press is
// 100·(1 + 0.030·6.95) = 120.85 kg (docs/model/02-effort.md (5), (7)).
func TestMaxOfASaidReserve(t *testing.T) {
	l := lift("bench-press", 100)
	l.Reps, l.RIR = 5, new(2.0)
	if m, ok := athlete(trainee(l)).Max(exercise.Shipped.ByID("bench-press"), anatomy.Both); !ok || !within(m.External, 120.85, 1e-9) {
		t.Errorf("%+v, want 120.85 kg", m)
	}
}

// Loads that cannot be known stay in the range the model can run, whatever is
// written; an exercise the library does not hold is no lift.
func TestLoadsStayInRange(t *testing.T) {
	c := loaded()
	for _, dose := range []string{"1 x 1 @ 500 kg", "1 x 1 @ 0.1 kg", "1 x 1 @ 120%", "1 x 200 rir 20", "1 x 1 @ 120% of back-squat", "1 x 5 @ 70% of no-such-lift"} {
		for _, id := range []string{"bench-press", "pull-up-overhand", "dumbbell-curl", "ankle-rock"} {
			if l := loadOf(t, c, id, dose); !(l.P > 0 && l.P <= 1.5) {
				t.Errorf("%s %s: %g of the 1RM", id, dose, l.P)
			}
		}
	}
	var bare plan.Set
	if l := athlete(c).Load(exercise.Shipped.ByID("bench-press"), anatomy.Both, bare, plan.Tempo{}, nil); !(l.P > 0 && l.P <= 1) {
		t.Errorf("an empty set: %+v", l)
	}
}
