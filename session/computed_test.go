package session

import (
	"math"
	"testing"

	"corbel/anatomy"
	"corbel/body"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/unit"
)

// strongMan is an invented client with a body and, if wanted, a lift on record.
func strongMan(lifts ...client.Lift) *Athlete {
	day, _ := form.ParseDate("2026-11-01")
	height, _ := unit.ParseLength("182 cm")
	mass, _ := unit.ParseMass("84 kg")
	c := &client.Client{ID: "strong", Sex: "male", Experience: client.Some, Lifts: lifts,
		Measures: []client.Measure{{On: day, Height: height, Mass: mass}}}
	today, _ := form.ParseDate("2026-11-25")
	return NewAthlete(c, exercise.Shipped, nil, today)
}

// lifted is a single of an exercise, none left.
func lifted(id, load string, hand bool) client.Lift {
	day, _ := form.ParseDate("2026-11-20")
	mass, _ := unit.ParseMass(load)
	return client.Lift{On: day, Exercise: id, Load: mass, PerHand: hand, Reps: 1, RIR: new(float64)}
}

// Ensure that computed shares count where the library says so and for the muscles
// it says, that the others are the stated ones, and that a coach's word beats both.
func TestComputedShares(t *testing.T) {
	a := strongMan()
	b, err := a.NewBody(nil)
	if err != nil {
		t.Fatal(err)
	}
	kinds := func(id string) map[ShareKind]int {
		out := map[ShareKind]int{}
		for _, s := range b.Shares(a.Client, exercise.Shipped.ByID(id), 0) {
			out[s.Kind]++
			upper := len(s.Muscle.Parts()) == 0 || !counts(exercise.ComputedLower, s.Muscle)
			if e := exercise.Shipped.ByID(id); s.Kind == Computed && e.Computed == exercise.ComputedLower && upper {
				t.Errorf("%s: the share of %s is computed", id, s.Muscle)
			}
			if !(s.Value > 0 && s.Value <= 1) {
				t.Errorf("%s: %+v", id, s)
			}
		}
		return out
	}
	if k := kinds("deadlift"); k[Computed] < 4 || k[Stated] < 2 {
		t.Errorf("deadlift: %v", k)
	}
	if k := kinds("bench-press"); k[Computed] < 3 {
		t.Errorf("bench press: %v", k)
	}
	if k := kinds("plank"); k[Computed] != 0 || k[Stated] < 3 {
		t.Errorf("plank: %v", k)
	}
	squat := exercise.Shipped.ByID("back-squat")
	over := Overriding{Under: b, Client: []client.ShareByCoach{{Exercise: "back-squat", Muscle: "quadriceps", Share: 0.4, Why: "seen"}}, Day: a.Day}
	for _, s := range over.Shares(a.Client, squat, 0) {
		if s.Muscle == "quadriceps" && (s.Kind != Coach || s.Value != 0.4) {
			t.Errorf("a coach's share is %+v", s)
		}
	}
}

// Ensure that a weight carried in one hand counts for the flank and the hip of the
// other side, and that the leg that stands counts in a lunge.
func TestWorkingSide(t *testing.T) {
	a := strongMan()
	b, err := a.NewBody(nil)
	if err != nil {
		t.Fatal(err)
	}
	for id, want := range map[string]map[anatomy.Muscle]float64{
		"one-hand-carry": {"hip-abductors": 0.6, "obliques": 0.2, "spinal-erectors": 0.3},
		"split-squat":    {"quadriceps": 0.75},
	} {
		share := map[anatomy.Muscle]float64{}
		for _, s := range b.Shares(a.Client, exercise.Shipped.ByID(id), 0) {
			if s.Kind == Computed {
				share[s.Muscle] = s.Value
			}
		}
		for m, least := range want {
			if share[m] < least {
				t.Errorf("%s: %s has a share of %.2f, want %.2f", id, m, share[m], least)
			}
		}
	}
}

// Ensure that a body without height is said to be missing it, and that the shares
// are those of the working side whatever the load.
func TestBodyNeedsMeasures(t *testing.T) {
	a := strongMan()
	a.Client.Measures[0].Height = unit.Length{}
	if _, err := a.NewBody(nil); err == nil {
		t.Error("a body without height")
	}
	a = strongMan()
	b, err := a.NewBody(nil)
	if err != nil {
		t.Fatal(err)
	}
	e := exercise.Shipped.ByID("split-squat")
	light, heavy := b.Shares(a.Client, e, 5), b.Shares(a.Client, e, 40)
	for i := range light {
		if light[i] != heavy[i] {
			t.Errorf("%+v at 5 kg, %+v at 40 kg", light[i], heavy[i])
		}
	}
}

// Ensure that lifts on record move the largest loads towards them, of other lifts
// too, make their ranges narrower, and that a lift left out is predicted.
func TestLiftsOnRecord(t *testing.T) {
	plain, err := strongMan().NewBody(nil)
	if err != nil {
		t.Fatal(err)
	}
	strong, err := strongMan(lifted("back-squat", "170 kg", false), lifted("split-squat", "45 kg", true)).NewBody(nil)
	if err != nil {
		t.Fatal(err)
	}
	largest := func(b *Body, id string) body.AskedLargest {
		asked, err := b.Ask(exercise.Shipped.ByID(id), -1)
		if err != nil {
			t.Fatal(err)
		}
		return asked.Largest
	}
	for _, id := range []string{"back-squat", "front-squat", "split-squat"} {
		before, after := largest(plain, id), largest(strong, id)
		if !(after.Load > before.Load) {
			t.Errorf("%s: %.0f kg before, %.0f after", id, before.Load, after.Load)
		}
		if after.High/after.Load >= before.High/before.Load {
			t.Errorf("%s: range %.0f to %.0f before, %.0f to %.0f after", id, before.Low, before.High, after.Low, after.High)
		}
	}
	if len(strong.Lifts) != 2 {
		t.Fatalf("%d lifts", len(strong.Lifts))
	}
	for _, k := range strong.Lifts {
		if math.Abs(k.After-k.Known) > math.Abs(k.Before-k.Known) {
			t.Errorf("%s: known %.0f kg, %.0f before, %.0f after", k.Exercise.ID, k.Known, k.Before, k.After)
		}
		if !(k.LowLeft < k.LeftOut && k.LeftOut < k.HiLeft) {
			t.Errorf("%s: left out %.0f, %.0f to %.0f", k.Exercise.ID, k.LeftOut, k.LowLeft, k.HiLeft)
		}
	}
	if per := strong.Lifts[1]; per.Exercise.ID != "split-squat" || math.Abs(per.Known-45) > 0.5 {
		t.Errorf("a lift with 45 kg in each hand counts %.1f kg", per.Known)
	}
}

// Ensure that asking for several exercises at once gives what asking for each gives.
func TestAskAll(t *testing.T) {
	one, _ := strongMan().NewBody(nil)
	many, _ := strongMan().NewBody(nil)
	var all []*exercise.Exercise
	for _, id := range []string{"clamshell", "knee-extension", "side-lying-hip-abduction"} {
		all = append(all, exercise.Shipped.ByID(id))
	}
	many.AskAll(all)
	for _, e := range all {
		x, _ := one.Ask(e, -1)
		y, _ := many.Ask(e, -1)
		if x.Largest != y.Largest {
			t.Errorf("%s: %+v, with others %+v", e.ID, x.Largest, y.Largest)
		}
	}
}
