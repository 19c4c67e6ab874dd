package session

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// gen draws clients, slots and doses, with short names.
type gen struct {
	*rapid.T
	tame bool // loads in percent and counts that leave much in reserve: no set ends early
}

func (g gen) n(low, high int) int { return rapid.IntRange(low, high).Draw(g.T, "n") }
func (g gen) one(of int) bool     { return g.n(1, of) == 1 }

// pick draws one of a list.
func pick[T any](g gen, of ...T) T { return of[g.n(0, len(of)-1)] }

// often are exercises that meet each other's muscles, so that sessions of a few
// of the whole library are not strangers throughout.
var often = []string{"bench-press", "overhead-press", "fly", "pushdown", "back-squat", "split-squat", "step-up", "knee-extension", "leg-press", "one-arm-dumbbell-row",
	"pull-up-overhand", "dumbbell-curl", "dead-bug", "side-plank", "push-up", "ankle-rock", "hex-bar-deadlift", "single-leg-romanian-deadlift"}

// exercise draws one of the library, half of the time one of those done often.
func (g gen) exercise() *exercise.Exercise {
	if g.one(2) {
		return exercise.Shipped.ByID(pick(g, often...))
	}
	return pick(g, exercise.Shipped.All()...)
}

// client draws a client: lifts of any exercise by side and by hand, limits,
// shares set by hand, with or without body mass.
func (g gen) client() *client.Client {
	c := trainee()
	c.Experience = pick(g, client.Beginner, client.Some, client.Trained)
	c.Background = pick(g, client.Endurance, client.Strength, client.General)
	if g.one(5) {
		c.Measures = nil
	}
	for range g.n(0, 8) {
		l := client.Lift{On: monday.Plus(-g.n(1, 3)), Exercise: string(g.exercise().ID), Load: unit.MassOf(float64(g.n(0, 300))/2, unit.Kg), Reps: g.n(1, 20),
			PerHand: g.one(4), Side: pick(g, anatomy.NoSide, anatomy.NoSide, anatomy.Left, anatomy.Right)}
		if g.one(2) {
			l.RIR = new(float64(g.n(0, 5)))
		}
		c.Lifts = append(c.Lifts, l)
	}
	for range g.n(0, 2) {
		c.Limits = append(c.Limits, limit(g.muscle(), pick(g, anatomy.Left, anatomy.Right, anatomy.Both)))
	}
	for range g.n(0, 4) / 3 {
		c.Shares = append(c.Shares, client.ShareByCoach{Exercise: string(g.exercise().ID), Muscle: g.muscle(), Share: pick(g, 0, 0.3, 0.5, 1), Why: "seen"})
	}
	c.Aims = []client.Aim{{Exercise: "back-squat"}}
	return c
}

func (g gen) muscle() anatomy.Muscle { return anatomy.Muscle(pick(g, anatomy.Muscle("").Values()...)) }

// block draws one session of one to five slots; two may be a superset.
func (g gen) block() *plan.Block {
	b := block()
	s := &b.Sessions[0]
	for i := range g.n(1, 5) {
		s.Slots = append(s.Slots, g.slot(fmt.Sprintf("x%d", i)))
	}
	if len(s.Slots) > 1 && g.one(3) {
		at := g.n(0, len(s.Slots)-2)
		superset(s.Slots[at : at+2]...)
	}
	if g.one(10) {
		s.Place = "nowhere"
	}
	return b
}

// slot draws a slot.
func (g gen) slot(id string) plan.Slot {
	e := g.exercise()
	s := plan.Slot{ID: form.ID(id), Exercise: string(e.ID), Dose: g.dose(e)}
	if len(s.Dose.Parts) == 1 && s.Dose.Parts[0].Sides == plan.Together && e.Sides == exercise.EachSide {
		s.Side = pick(g, anatomy.NoSide, anatomy.Left, anatomy.Right)
	}
	if g.one(6) {
		s.Stage = plan.Stage(pick(g, plan.Stage("").Values()...))
	}
	if g.one(10) {
		s.Reasons = []plan.Reason{{Restore: "hip"}}
	}
	if g.one(10) {
		s.Shares = []client.ShareByCoach{{Muscle: g.muscle(), Share: pick(g, 0, 0.5, 1), Why: "seen"}}
	}
	return s
}

// dose draws a dose that suits the sides of an exercise.
func (g gen) dose(e *exercise.Exercise) plan.Dose {
	d := plan.Dose{WeakFirst: g.one(2)}
	sides := []plan.DoseSides{plan.Together}
	if e.Sides != exercise.BothSides {
		sides = pick(g, sides, []plan.DoseSides{plan.EachSide}, []plan.DoseSides{plan.LeftOnly, plan.RightOnly}, []plan.DoseSides{plan.RightOnly})
	}
	for _, side := range sides {
		p := plan.Part{Sides: side}
		set := g.set()
		for range g.n(1, 4) {
			if g.one(4) {
				set = g.set()
			}
			p.Sets = append(p.Sets, set)
		}
		d.Parts = append(d.Parts, p)
	}
	if g.one(2) {
		d.Rest = unit.DurationOf(unit.Second(g.n(0, 40) * 10))
	}
	if g.one(4) {
		d.Tempo = plan.Tempo{Figures: []int{g.n(0, 5), g.n(0, 2), g.n(0, 3)}}
	}
	for range g.n(0, 4) / 2 {
		w := g.set()
		w.Work.Max, w.Work.Low, w.Work.High = false, 5, 5
		d.WarmUp = append(d.WarmUp, w)
	}
	return d
}

// set draws a set.
func (g gen) set() plan.Set {
	if g.tame {
		return plan.Set{Work: plan.Work{Low: 4, High: 4}, Load: plan.Load{Kind: plan.PercentMax, Percent: unit.PercentOf(float64(g.n(30, 55)))}}
	}
	s := plan.Set{Work: plan.Work{Low: int64(g.n(1, 15))}, Load: g.load()}
	s.Work.High = s.Work.Low + int64(g.n(0, 3))
	switch g.n(0, 7) {
	case 0:
		s.Work = plan.Work{Kind: plan.Time, Low: 20_000, High: 30_000}
	case 1:
		s.Work = plan.Work{Kind: plan.Distance, Low: 30e6, High: 30e6, Unit: "m"}
	case 2:
		s.Work = plan.Work{Max: true}
	}
	switch g.n(0, 3) {
	case 0:
		s.Effort = plan.Effort{Kind: plan.RPE, Low: 70, High: 80}
	case 1, 2:
		low := g.n(0, 60)
		s.Effort = plan.Effort{Kind: plan.RIR, Low: low, High: low + g.n(0, 20)}
	}
	return s
}

// load draws a load of every kind.
func (g gen) load() plan.Load {
	l := plan.Load{Kind: pick(g, plan.Unsaid, plan.Unsaid, plan.PercentMax, plan.PercentMax, plan.Mass, plan.MassInHand, plan.RepMax, plan.BodyWeight, plan.Added, plan.Assisted, plan.Band, plan.Pin, plan.Level)}
	switch l.Kind {
	case plan.PercentMax:
		l.Percent = unit.PercentOf(float64(g.n(20, 110)))
		if g.one(4) {
			l.Of = string(g.exercise().ID)
		}
	case plan.Mass, plan.MassInHand, plan.Added, plan.Assisted:
		l.Mass = unit.MassOf(float64(g.n(1, 300))/2, unit.Kg)
	case plan.RepMax, plan.Pin, plan.Level:
		l.Number = g.n(1, 20)
	case plan.Band:
		l.Name = "light"
	}
	return l
}

// exactly and roughly are the two ways weeks are compared: to the last digit,
// and but for sums in another order.
var (
	exactly = cmp.Options{cmpopts.EquateEmpty()}
	roughly = cmp.Options{cmpopts.EquateEmpty(), cmpopts.EquateApprox(near, near)}
)

// results are the numbers of a visit, without what they are of.
type results struct {
	Sets    []SetVisit
	Slots   []SlotVisit
	Minutes Minutes
	Draws   *Draws
}

// resultsOf takes the numbers of a week.
func resultsOf(w *Week) (visits []results, work map[MuscleSide]Count, lifts map[string]float64) {
	for _, v := range w.Visits {
		visits = append(visits, results{v.Sets, v.Slots, v.Minutes, v.Draws})
	}
	return visits, w.Work, w.Lifts
}

// tester is a test or a case of a random one.
type tester interface {
	Helper()
	Fatalf(format string, args ...any)
	Errorf(format string, args ...any)
}

// sameWeek complains where two weeks differ in any number.
func sameWeek(t tester, got, want *Week, how cmp.Options) {
	t.Helper()
	a, work, lifts := resultsOf(got)
	b, otherWork, otherLifts := resultsOf(want)
	if d := cmp.Diff(a, b, how) + cmp.Diff(work, otherWork, how) + cmp.Diff(lifts, otherLifts, how); d != "" {
		t.Fatalf("%s", d)
	}
}

// finite complains about every number of x that is none, wherever it stands.
func finite(t tester, where string, x reflect.Value) {
	switch x.Kind() {
	case reflect.Float64:
		if f := x.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			t.Errorf("%s is %g", where, f)
		}
	case reflect.Slice:
		for i := range x.Len() {
			finite(t, fmt.Sprintf("%s[%d]", where, i), x.Index(i))
		}
	case reflect.Map:
		for _, k := range x.MapKeys() {
			finite(t, fmt.Sprintf("%s[%v]", where, k), x.MapIndex(k))
		}
	case reflect.Pointer:
		if !x.IsNil() {
			finite(t, where, x.Elem())
		}
	case reflect.Struct:
		for i := range x.NumField() {
			if f := x.Type().Field(i); f.IsExported() {
				finite(t, where+"."+f.Name, x.Field(i))
			}
		}
	}
}

// sound complains about numbers that no session can have.
func sound(t tester, w *Week) {
	t.Helper()
	visits, work, lifts := resultsOf(w)
	finite(t, "visits", reflect.ValueOf(visits))
	finite(t, "work", reflect.ValueOf(work))
	finite(t, "lifts", reflect.ValueOf(lifts))
	for _, v := range visits {
		if m := v.Minutes; !(m.Low <= m.Mean && m.Mean <= m.High && m.Low >= 0) {
			t.Errorf("minutes %+v", m)
		}
		for i, s := range v.Sets {
			if s.Result.Done < 0 || s.Reserve < 0 || s.Result.Repetitions > s.Fresh+near || s.P <= 0 || i > 0 && s.Start < v.Sets[i-1].Start {
				t.Errorf("set %d: %+v", i+1, s)
			}
			if b := s.Band; v.Draws != nil && !(0 <= b.Low && b.Low <= b.Median && b.Median <= b.High) {
				t.Errorf("set %d: band %+v", i+1, b)
			}
		}
		for i, s := range v.Slots {
			if s.Left > 1 || s.Start.Mean > s.End.Mean {
				t.Errorf("slot %d: %+v", i+1, s)
			}
		}
	}
}

// describe writes a session for a failing law.
func describe(b *plan.Block) string {
	var out []string
	for _, s := range b.Sessions[0].Slots {
		out = append(out, fmt.Sprintf("%s %s %s", s.Exercise, s.Side, s.Dose.Canonical()))
	}
	return strings.Join(out, "; ")
}

// check runs a law over random cases.
func check(t *testing.T, law func(g gen)) {
	t.Helper()
	rapid.Check(t, func(rt *rapid.T) { law(gen{T: rt}) })
}
