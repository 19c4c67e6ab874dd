package design

import (
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
	"corbel/session"
)

// stands says whether an exercise stands in a block.
func stands(b *plan.Block, id string) bool {
	return slices.ContainsFunc(b.Sessions, func(s plan.Session) bool {
		return slices.ContainsFunc(s.Slots, func(x plan.Slot) bool { return x.Exercise == id })
	})
}

// Ensure that pull-ups and dips are proposed to nobody of whom it is not known that
// the body can be lifted eight times, to those who can, and to those who wish for it
// (common practice).
func TestPullUpsNeedARecord(t *testing.T) {
	hard := func(p *Proposal) (out []string) {
		for _, e := range exercise.Shipped.All() {
			if slices.Contains(e.Loads, exercise.Assisted) && stands(p.Block, string(e.ID)) {
				out = append(out, string(e.ID))
			}
		}
		return out
	}
	propose := func(lifts, wishes string) *Proposal {
		p, err := Propose(wishOf(t, lifter(t, threeDays+lifts+"goals:\n  - for: size\n    muscle: latissimus\n    weight: 9\naims:\n  - muscle: latissimus\n    sets: 10-14\n"+
			"wishes:\n  without: [one-arm-pulldown, wide-pulldown, close-grip-pulldown, straight-arm-pulldown]\n"+wishes)))
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	record := func(reps string) string {
		return "lifts:\n  - on: 2026-11-05\n    exercise: pull-up-overhand\n    reps: " + reps + "\n    rir: 1\n"
	}
	if got := hard(propose("", "")); len(got) > 0 {
		t.Errorf("nothing on record, and %v are proposed", got)
	}
	if got := hard(propose(record("3"), "")); slices.Contains(got, "pull-up-overhand") {
		t.Errorf("four repetitions at most on record, and %v are proposed", got)
	}
	if got := hard(propose(record("11"), "")); !slices.Equal(got, []string{"pull-up-overhand"}) {
		t.Errorf("twelve repetitions on record, and %v are proposed", got)
	}
	if got := hard(propose("", "  lifts:\n    - exercise: pull-up-overhand\n")); !slices.Contains(got, "pull-up-overhand") {
		t.Errorf("wished for, and %v are proposed", got)
	}
	w := groupWish(t)
	w.Moves = QuickMoves / 2
	p, _, err := ProposeGroup(w)
	if err != nil {
		t.Fatal(err)
	}
	if got := hard(p); len(got) > 0 {
		t.Errorf("%v are proposed to a whole group", got)
	}
}

// Ensure that who presses the mass of a bar is not sent to push-ups while a bench
// stands there.
func TestTooLightStaysOut(t *testing.T) {
	aims := "aims:\n  - muscle: pectorals\n    sets: 8-12\n"
	c := lifter(t, threeDays+aims)
	p, err := Propose(wishOf(t, c))
	if err != nil {
		t.Fatal(err)
	}
	if stands(p.Block, "push-up") {
		t.Error("push-ups for who is trained, with a bench and dumbbells at hand")
	}
	few := *c
	few.Experience = client.Some
	few.Wishes.Without = []string{"bench-press", "wide-grip-bench-press", "close-grip-bench-press", "incline-bench-press", "one-arm-bench-press", "machine-chest-press", "fly", "dip"}
	if p, err = Propose(wishOf(t, &few)); err != nil {
		t.Fatal(err)
	}
	if !stands(p.Block, "push-up") {
		t.Error("no push-ups for who has nothing else for the chest")
	}
}

// Ensure that the lift a client is judged by comes straight after the drills, that
// isolations come after compounds, and that its days are not neighbours where the
// week has room (nsca-essentials-17; common practice).
func TestGoalLiftFirstAndSpread(t *testing.T) {
	for _, name := range []string{"rosa-client.yaml", "tomas-client.yaml"} {
		w := wishOf(t, clientFile(t, name))
		p, err := Propose(w)
		if err != nil {
			t.Fatal(err)
		}
		lift := w.Client.Goals[0].Exercise
		var days []int
		for _, v := range p.Weeks[0].Visits {
			at := slices.IndexFunc(v.Items, func(it session.Item) bool { return string(it.Exercise.ID) == lift })
			isolated := false
			for i, it := range v.Items {
				if i < at && it.Stage != exercise.Drill {
					t.Errorf("%s, %s: %s comes before %s", name, v.Session.Name, it.Exercise.ID, lift)
				}
				if isolated && (it.Stage == exercise.Main || it.Stage == exercise.Accessory && it.Exercise.Pattern != "trunk") {
					t.Errorf("%s, %s: %s comes after an isolation", name, v.Session.Name, it.Exercise.ID)
				}
				isolated = isolated || it.Stage == exercise.Isolation
			}
			if at >= 0 {
				days = append(days, v.Session.Day.Index())
			}
		}
		if len(days) == 0 {
			t.Errorf("%s: %s stands nowhere", name, lift)
		}
		for i := 1; i < len(days); i++ {
			if days[i]-days[i-1] < liftApart {
				t.Errorf("%s: %s on the days %v", name, lift, days)
			}
		}
	}
}

// Ensure that what a limit wants is a need, paid once: one drill a week that shows
// it and single-limb work twice, and that more of it is worth no more to the need.
func TestLimitIsANeed(t *testing.T) {
	b, err := build(wishOf(t, clientFile(t, "rosa-client.yaml")))
	if err != nil {
		t.Fatal(err)
	}
	m := anatomy.MuscleSide{Muscle: "hip-abductors", Side: anatomy.Left}
	for kind, times := range map[string]int{"test": 1, "single": singleTimes} {
		at, ok := b.groups[kind+" "+m.String()]
		need := slices.IndexFunc(b.p.Needs, func(n Need) bool { return n.Group == at })
		if !ok || need < 0 || b.p.Needs[need].Times != times {
			t.Errorf("%s: group %v, need %d", kind, ok, need)
		}
	}
	p := b.propose()
	tests, single := 0, 0
	for _, c := range p.Answer.Choices {
		name := p.Problem.Options[c.Option].Name
		for _, g := range p.Problem.Options[c.Option].Groups {
			switch p.Problem.Groups[g].Name {
			case "test " + m.String():
				tests++
			case "single " + m.String():
				single++
			}
		}
		if strings.HasPrefix(name, "lateral-step-down") {
			t.Error("a restricted exercise is proposed")
		}
	}
	if tests < 1 || single < singleTimes || len(p.Unmet) > 0 {
		t.Errorf("%d drills show the limit, %d times single-limb work; unmet %v", tests, single, p.Unmet)
	}
}

// Ensure that all six sessions of a group programme have something to do and are
// named by number, since a member chooses the days.
func TestGroupHasSixFullSessions(t *testing.T) {
	w := groupWish(t)
	w.Moves = NormalMoves
	p, nested, err := ProposeGroup(w)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Block.Sessions) != groupSessions {
		t.Fatalf("%d sessions", len(p.Block.Sessions))
	}
	for _, s := range p.Block.Sessions {
		if len(s.Slots) < 4 || !strings.HasPrefix(s.Name, "Session ") {
			t.Errorf("%s has %d exercises", s.Name, len(s.Slots))
		}
	}
	for _, n := range nested {
		if n.Percent < 95 {
			t.Errorf("%d sessions have %.1f %% of their best", n.K, n.Percent)
		}
	}
}
