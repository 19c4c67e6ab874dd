package session

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// by is a share set by hand.
func by(who string, muscle anatomy.Muscle, share float64) client.ShareByCoach {
	return client.ShareByCoach{Exercise: "split-squat", Muscle: muscle, Share: share, By: who, Why: "by " + who}
}

// shares lays the case's shares over those of the split squat.
func (g sharesCase) shares(day form.Date) []Share {
	o := Overriding{Under: Library{}, Slot: g.slot, Client: g.client, Practice: g.practice, Day: day}
	return o.Shares(nil, exercise.Shipped.ByID("split-squat"), 0)
}

type sharesCase struct{ slot, client, practice []client.ShareByCoach }

// write lists the shares that are set by hand, or all.
func write(list []Share, all bool) string {
	var out []string
	for _, s := range list {
		if all || s.Kind == Coach {
			out = append(out, fmt.Sprintf("%s %g %s", s.Muscle, s.Value, s.Basis))
		}
	}
	return strings.Join(out, ", ")
}

// A slot's own share beats the client's, the client's the practice's; one that
// has run out does not count; one of another exercise neither; 0 takes the
// muscle out; a muscle the library does not name comes in.
func TestOverridesOfShares(t *testing.T) {
	gone := by("slot", "hip-abductors", 0.9)
	gone.Until = monday.Plus(-1)
	last := by("slot", "hip-abductors", 0.9)
	last.Until = monday
	elsewhere := by("client", "hip-abductors", 0.9)
	elsewhere.Exercise = "step-up"
	anySlot := by("slot", "hip-abductors", 0.8)
	anySlot.Exercise = ""
	practice, own := by("practice", "hip-abductors", 0.5), by("client", "hip-abductors", 0.6)
	for _, c := range []struct {
		name string
		sharesCase
		want string
	}{
		{"none", sharesCase{}, ""},
		{"practice", sharesCase{practice: []client.ShareByCoach{practice}}, "hip-abductors 0.5 by practice"},
		{"client beats practice", sharesCase{client: []client.ShareByCoach{own}, practice: []client.ShareByCoach{practice}}, "hip-abductors 0.6 by client"},
		{"slot beats both", sharesCase{[]client.ShareByCoach{by("slot", "hip-abductors", 0.7)}, []client.ShareByCoach{own}, []client.ShareByCoach{practice}}, "hip-abductors 0.7 by slot"},
		{"in a slot without an exercise", sharesCase{[]client.ShareByCoach{anySlot}, []client.ShareByCoach{own}, nil}, "hip-abductors 0.8 by slot"},
		{"run out", sharesCase{[]client.ShareByCoach{gone}, []client.ShareByCoach{own}, nil}, "hip-abductors 0.6 by client"},
		{"last day", sharesCase{[]client.ShareByCoach{last}, []client.ShareByCoach{own}, nil}, "hip-abductors 0.9 by slot"},
		{"another exercise", sharesCase{client: []client.ShareByCoach{elsewhere}}, ""},
		{"different muscles", sharesCase{[]client.ShareByCoach{by("slot", "calves", 0.4)}, []client.ShareByCoach{own}, nil}, "hip-abductors 0.6 by client, calves 0.4 by slot"},
		{"a muscle the library does not name", sharesCase{client: []client.ShareByCoach{by("client", "forearms", 0.3)}}, "forearms 0.3 by client"},
	} {
		got := write(c.shares(monday), false)
		if !sameWords(got, c.want) {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// sameWords compares lists whatever their order.
func sameWords(a, b string) bool {
	x, y := strings.Split(a, ", "), strings.Split(b, ", ")
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

// A share of 0 takes a muscle out, a share set on top of that puts it in again;
// the rest stays as the library states it, in the order of anatomy, with its
// kind and basis.
func TestShareOfZeroRemoves(t *testing.T) {
	c := sharesCase{client: []client.ShareByCoach{by("client", "hip-adductors", 0)}, practice: []client.ShareByCoach{by("practice", "hip-adductors", 1)}}
	got := c.shares(monday)
	stated := Library{}.Shares(nil, exercise.Shipped.ByID("split-squat"), 0)
	want := slices.DeleteFunc(slices.Clone(stated), func(s Share) bool { return s.Muscle == "hip-adductors" })
	if !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	c.slot = []client.ShareByCoach{by("slot", "hip-adductors", 0.2)}
	got = c.shares(monday)
	if len(got) != len(stated) || !strings.Contains(write(got, true), "hip-adductors 0.2 by slot") {
		t.Errorf("%v", got)
	}
	order := anatomy.Muscle("").Values()
	for i := 1; i < len(got); i++ {
		if slices.Index(order, string(got[i-1].Muscle)) >= slices.Index(order, string(got[i].Muscle)) {
			t.Errorf("%v is out of order", got)
		}
	}
	for _, s := range got {
		if s.Muscle != "hip-adductors" && (s.Kind != Stated || s.Basis != "anatomy") {
			t.Errorf("%+v", s)
		}
	}
}

// Overrides reach a session: they move what muscles have left and the count from
// shares, not the declared count; a slot's own reaches that slot alone, and the
// practice's every client.
func TestOverridesInASession(t *testing.T) {
	plain := visit(athlete(trainee()), slot(t, "a", "split-squat", "3 x 10/side rir 2"), slot(t, "b", "hip-abduction-machine", "1 x 10 rir 2"))
	if got := of(plain, "hip-abductors", anatomy.Left); got.Indirect != 1.5 || plain.Slots[0].Lost[1] == 0 {
		t.Fatalf("as stated: %+v, cost %v", got, plain.Slots[0].Lost)
	}
	removed := by("client", "hip-abductors", 0)
	who := trainee()
	who.Shares = []client.ShareByCoach{removed}
	v := visit(athlete(who), slot(t, "a", "split-squat", "3 x 10/side rir 2"), slot(t, "b", "hip-abduction-machine", "1 x 10 rir 2"))
	if got := of(v, "hip-abductors", anatomy.Left); got.Indirect != 1.5 || v.Slots[0].Lost[1] >= plain.Slots[0].Lost[1] {
		t.Errorf("taken out for the client: %+v, cost %v", got, v.Slots[0].Lost)
	}
	practice := NewAthlete(trainee(), exercise.Shipped, &client.Practice{Shares: []client.ShareByCoach{removed}}, monday)
	if v := visit(practice, slot(t, "a", "split-squat", "3 x 10/side rir 2"), slot(t, "b", "hip-abduction-machine", "1 x 10 rir 2")); v.Slots[0].Lost[1] >= plain.Slots[0].Lost[1] {
		t.Errorf("taken out for the practice: cost %v", v.Slots[0].Lost)
	}
	raised := slot(t, "a", "split-squat", "3 x 10/side rir 2")
	raised.Shares = []client.ShareByCoach{{Muscle: "hip-abductors", Share: 1, Why: "seen"}}
	v = visit(athlete(trainee()), raised, slot(t, "b", "split-squat", "3 x 10/side rir 2"))
	a, b := v.Slots[0].Work[MuscleSide{"hip-abductors", anatomy.Left}], v.Slots[1].Work[MuscleSide{"hip-abductors", anatomy.Left}]
	if a.Continuous <= 2 || b.Continuous >= 1 || a.Indirect != b.Indirect {
		t.Errorf("raised in one slot: %+v, in the other %+v", a, b)
	}
}

// fixed is a Sharer that names one muscle, by the load.
type fixed struct{}

func (fixed) Shares(_ *client.Client, _ *exercise.Exercise, load unit.Kilogram) []Share {
	if load > 50 {
		return []Share{{"pectorals", 1, Computed, "body"}}
	}
	return []Share{{"elbow-extensors", 1, Computed, "body"}}
}

// Another Sharer takes the library's place, asked with the load of each set.
func TestComputedSharesFollowTheLoad(t *testing.T) {
	a := athlete(trainee(lift("bench-press", 100)))
	a.Under = fixed{}
	v := visit(a, accessory(slot(t, "a", "bench-press", "2 x max @ 70,40 kg")))
	work := v.Slots[0].Work
	if work[MuscleSide{"pectorals", anatomy.Left}].Continuous != 1 || work[MuscleSide{"elbow-extensors", anatomy.Right}].Continuous < 0.9 {
		t.Errorf("%v", work)
	}
}

// Pick takes a side, or the mean of both where none is named.
func TestPick(t *testing.T) {
	work := map[MuscleSide]Count{{"calves", anatomy.Left}: {Direct: 4, Indirect: 1, Continuous: 3}, {"calves", anatomy.Right}: {Direct: 2}}
	for side, want := range map[anatomy.Side]Count{anatomy.Left: {4, 1, 3}, anatomy.Right: {Direct: 2}, anatomy.Both: {3, 0.5, 1.5}, anatomy.NoSide: {3, 0.5, 1.5}} {
		if got := Pick(work, "calves", side); got != want {
			t.Errorf("%q: %+v, want %+v", side, got, want)
		}
	}
	if got := Pick(nil, "calves", anatomy.Left); got != (Count{}) {
		t.Errorf("nothing counted: %+v", got)
	}
}

// A block that names an exercise the library lacks is the caller's mistake.
func TestUnknownExercisePanics(t *testing.T) {
	defer func() {
		if recover() != badExercise {
			t.Error("no panic, or another one")
		}
	}()
	visit(athlete(trainee()), plan.Slot{ID: "a", Exercise: "no-such-exercise"})
}
