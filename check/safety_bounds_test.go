package check

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// broken lists the slots, codes and weeks of the restrictions that stop.
func broken(problems []Problem) string {
	var out []string
	for _, p := range problems {
		if p.Blocks() {
			out = append(out, fmt.Sprintf("%s %s week %d", p.At.Slot, p.Code, p.At.Week))
		}
	}
	return strings.Join(out, "; ")
}

// Ensure that a bound on the load counts both hands, but one hand for work of one
// arm, looks at every set and warm-up, at the side it is for alone, and takes body
// weight for no load and a load that is no mass for a breach.
func TestLoadBounds(t *testing.T) {
	for _, x := range []struct {
		slot string
		side anatomy.Side
		ok   bool
	}{
		{"back-squat: 3 x 8 @ 30 kg", "", true}, {"back-squat: 3 x 8 @ 30.5 kg", "", false}, {"back-squat: 8,8,8 @ 20,25,31 kg", "", false},
		{"back-squat: 3 x 8 @ 66 lb", "", true}, {"back-squat: 3 x 8 @ 67 lb", "", false},
		{"back-squat: 3 x 8 @ 60%", "", false}, {"back-squat: 3 x 8 @ 10RM", "", false}, {"back-squat: 3 x 8 rir 2", "", false},
		{"back-squat: 3 x 8 @ 30 kg warm-up 5 @ 35 kg", "", false}, {"back-squat: 3 x 8 @ 30 kg warm-up 5 @ 50%", "", true},
		{"split-squat: 3 x 8/side @ 15 kg/hand", "", true}, {"split-squat: 3 x 8/side @ 16 kg/hand", "", false},
		{"walking-lunge: 3 x 8 @ 16 kg/hand", "", false}, {"single-leg-romanian-deadlift: 3 x 8/side @ 16 kg/hand", "", false},
		{"one-arm-dumbbell-row: 3 x 8/side @ 30 kg/hand", "", true}, {"one-arm-dumbbell-row: 3 x 8/side @ 31 kg/hand", "", false},
		{"single-arm-overhead-press: 3 x 8/side @ 16 kg/hand", "", true}, {"dumbbell-curl: 3 x 8 @ 16 kg/hand", "", false},
		{"back-squat: 3 x 8 @ 1900 kg/hand", "", false}, // both hands pass what a mass may be
		{"push-up: 3 x 8", "", true}, {"split-squat: 3 x 8/side", "", false}, {"dip: 3 x 8 @ body weight", "", true}, {"dip: 3 x 8 @ -20 kg", "", true}, {"dip: 3 x 8 @ +31 kg", "", false},
		{"leg-press: left 3 x 8 @ 20 kg, right 3 x 8 @ 40 kg", anatomy.Left, true}, {"leg-press: left 3 x 8 @ 20 kg, right 3 x 8 @ 40 kg", anatomy.Right, false},
		{"leg-press: left 3 x 8 @ 20 kg, right 3 x 8 @ 40 kg", "", false},
	} {
		id, _, _ := strings.Cut(x.slot, ":")
		c, b := cleared(t), only(t, x.slot)
		c.Restrict = []client.Restriction{{ID: "r", By: client.ByPractitioner, On: day(t, "2026-11-01"), Exercise: id, Side: x.side, Load: unit.MassOf(30, unit.Kg)}}
		if got := broken(applySafety(c, b, form.English)); (got == "") != x.ok {
			t.Errorf("%s, bound 30 kg %s: %q", x.slot, x.side, got)
		}
	}
}

// Ensure that a restriction with a range and a load holds to both, each a problem
// of its own.
func TestRangeAndLoad(t *testing.T) {
	c, b := cleared(t), only(t, "back-squat: 3 x 8 @ 80 kg")
	c.Restrict = []client.Restriction{{ID: "r", By: client.ByCoach, On: day(t, "2026-11-01"), Exercise: "back-squat", Load: unit.MassOf(60, unit.Kg), Range: &client.Range{Joint: "knee", To: 60}}}
	if got := broken(applySafety(c, b, form.English)); got != "s0 restriction-range week 1; s0 restriction-load week 1" {
		t.Errorf("both broken: %s", got)
	}
	b.Sessions[0].Slots[0].Range = &client.Range{Joint: "knee", To: 60}
	if got := broken(applySafety(c, b, form.English)); got != "s0 restriction-load week 1" {
		t.Errorf("load broken: %s", got)
	}
	setDose(t, b, "3 x 8 @ 60 kg")
	if got := broken(applySafety(c, b, form.English)); got != "" {
		t.Errorf("both kept: %s", got)
	}
	b.Sessions[0].Slots[0].Range.Joint = "hip"
	if got := broken(applySafety(c, b, form.English)); got != "s0 restriction-range week 1" {
		t.Errorf("range of another joint: %s", got)
	}
}

// Ensure that the weeks named are those in which the restriction is broken.
func TestRestrictedWeeks(t *testing.T) {
	for _, x := range []struct {
		from, until, week string
	}{
		{"2026-11-01", "", ""}, {"2026-11-01", "2026-12-14", "(week 1–3)"}, {"2026-12-08", "", "(week 3–4)"}, {"2026-12-01", "2026-12-13", "(week 2)"},
		{"2026-12-22", "", "none"}, {"2026-11-01", "2026-11-29", "none"},
	} {
		c, b := cleared(t), only(t, "back-squat: 3 x 8 @ 80 kg") // Mondays 30 November to 21 December
		r := client.Restriction{ID: "r", By: client.ByClient, On: day(t, x.from), Exercise: "back-squat"}
		if x.until != "" {
			r.Until = day(t, x.until)
		}
		c.Restrict = []client.Restriction{r}
		p := ofCode(applySafety(c, b, form.English), "restriction")
		switch {
		case x.week == "none" && len(p) > 0, x.week != "none" && len(p) != 1:
			t.Errorf("%+v: %v", x, p)
		case x.week == "" && strings.Contains(p[0].Text, "week"), x.week != "none" && !strings.Contains(p[0].Text, x.week):
			t.Errorf("%+v: %s", x, p[0].Text)
		}
	}
}

// Ensure that what a change lays over the block is what is judged: an exercise
// swapped in breaks a restriction from its day on, one swapped out breaks it no
// more, sessions left out break nothing, and a dose laid over the written one
// counts.
func TestChangesAreJudged(t *testing.T) {
	change := func(scope, do string) plan.Change {
		return plan.Change{ID: "c1", On: day(t, "2026-12-07"), By: "coach", Why: "travel", Scope: plan.ChangeScope(scope), Do: plan.ChangeKind(do), Slot: "s0", Session: "a"}
	}
	with := func(c plan.Change, exercise, dose string) plan.Change {
		c.Exercise = exercise
		if dose != "" {
			var err error
			if c.Dose, err = plan.ParseDose(dose); err != nil {
				t.Fatal(err)
			}
		}
		return c
	}
	whole := with(change("slot", "swap"), "leg-press", "")
	whole.On = day(t, "2026-11-30")
	pause := change("from", "pause")
	pause.On = day(t, "2026-11-30")
	for _, x := range []struct {
		name, exercise string
		load           float64
		change         plan.Change
		want           string
	}{
		{"nothing changed", "back-squat", 0, plan.Change{ID: "c1", On: day(t, "2027-01-01"), Scope: "slot", Slot: "s0", Do: "skip"}, "s0 restriction week 1"},
		{"swapped out", "back-squat", 0, with(change("slot", "swap"), "leg-press", ""), "s0 restriction week 1"},
		{"swapped out from the start", "back-squat", 0, whole, ""},
		{"swapped in", "leg-press", 0, with(change("slot", "swap"), "leg-press", ""), "s0 restriction week 2"},
		{"left out after a week", "back-squat", 0, change("session", "skip"), "s0 restriction week 1"},
		{"paused for good", "back-squat", 0, pause, ""},
		{"heavier dose", "back-squat", 70, with(change("slot", "dose"), "", "3 x 5 @ 75 kg"), "s0 restriction-load week 2"},
		{"lighter dose", "back-squat", 50, with(change("slot", "dose"), "", "3 x 5 @ 40 kg"), "s0 restriction-load week 1"},
	} {
		c, b := cleared(t), only(t, "back-squat: 3 x 8 @ 60 kg")
		b.Changes = []plan.Change{x.change}
		c.Restrict = []client.Restriction{{ID: "r", By: client.ByPractitioner, On: day(t, "2026-11-01"), Exercise: x.exercise}}
		if x.load > 0 {
			c.Restrict[0].Load = unit.MassOf(x.load, unit.Kg)
		}
		if got := broken(applySafety(c, b, form.English)); got != x.want {
			t.Errorf("%s: %q, want %q", x.name, got, x.want)
		}
	}
}

// Ensure that a slot into which another exercise is swapped gives a problem for
// each exercise, with ids of their own.
func TestSwappedSlotsApart(t *testing.T) {
	c, b := cleared(t), only(t, "back-squat: 3 x 8 rir 2")
	b.Changes = []plan.Change{{ID: "c1", On: day(t, "2026-12-07"), By: "coach", Why: "knee", Scope: "slot", Slot: "s0", Do: "swap", Exercise: "leg-press"}}
	c.Pain = []client.Pain{{Place: "knee", Side: anatomy.Left, On: day(t, "2026-11-20"), During: new(8.0)}}
	p := ofCode(applySafety(c, b, form.English), "pain-stop")
	if len(p) != 2 || p[0].ID == p[1].ID || p[0].Args["exercise"] == p[1].Args["exercise"] {
		t.Errorf("%v", p)
	}
	c.Pain[0].On = day(t, "2026-12-03") // after the last squat
	if p := ofCode(applySafety(c, b, form.English), "pain-stop"); len(p) != 1 || p[0].Args["exercise"] != "Leg press" {
		t.Errorf("pain after the last squat: %v", p)
	}
}

// Ensure that a restriction of a side concerns the weeks in which that side works:
// a dose of a later week may bring it in.
func TestSideOfLaterWeeks(t *testing.T) {
	c, b := cleared(t), only(t, "step-up: left 3 x 8 rir 2")
	d, err := plan.ParseDose("3 x 8/side rir 2")
	if err != nil {
		t.Fatal(err)
	}
	b.Sessions[0].Slots[0].Weeks = map[int]plan.Dose{3: d}
	c.Restrict = []client.Restriction{{ID: "r", By: client.ByPractitioner, On: day(t, "2026-11-01"), Region: "knee", Side: anatomy.Right}}
	if got := broken(applySafety(c, b, form.English)); got != "s0 restriction week 3" {
		t.Errorf("%q", got)
	}
	c.Restrict[0] = client.Restriction{ID: "r", By: client.ByPractitioner, On: day(t, "2026-11-01"), Action: "spine-rotation", Side: anatomy.Right}
	b = only(t, "one-arm-dumbbell-row: left 3 x 8 rir 2")
	if got := broken(applySafety(c, b, form.English)); got != "s0 restriction week 1" {
		t.Errorf("turning of the trunk has no side: %q", got)
	}
}

// Ensure over random decisions of any code, scope, subject and place that none
// lifts a practitioner's restriction, an emergency sign or an emergency sign that
// nobody asked about, and that a coach's or client's restriction is kept exactly by
// a decision that names it and holds.
func TestWhatCanBeKept(t *testing.T) {
	codes := slices.Sorted(maps.Keys(wording))
	kept, tried := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		g := gen{rt}
		c, b := cleared(t), only(t, "back-squat: 3 x 8 @ 80 kg")
		c.Flags[0].Answer = "not asked" // the emergency signs
		c.Flags = append(c.Flags, client.Flag{Ask: "fainting", Answer: client.Yes, On: b.Start})
		by := pick(g, client.ByPractitioner, client.ByCoach, client.ByClient)
		code := pick(g, "restriction", "restriction-range", "restriction-load")
		r := client.Restriction{ID: "r", By: by, On: day(t, "2026-11-01"), Exercise: "back-squat"}
		switch code {
		case "restriction-range":
			r.Range = &client.Range{Joint: "knee", To: 60}
		case "restriction-load":
			r.Load = unit.MassOf(60, unit.Kg)
		}
		c.Restrict = []client.Restriction{r}
		holds := false
		practice := &client.Practice{}
		for range g.n(0, 4) {
			k := client.Kept{Code: pick(g, code, code, pick(g, append(codes, "emergency", "not-asked", "")...)), Scope: pick(g, client.KeptSlot, client.KeptClient, client.KeptPractice),
				At: pick(g, "s0", "s0", "s1", ""), About: pick(g, "", "r", "fainting", "emergency-signs"), Why: "I know her.", By: "Coach",
				On: day(t, pick(g, "2026-11-02", "2026-12-09")), Until: day(t, pick(g, "2026-12-10", "2027-12-10"))}
			if g.one(4) {
				k.Until = day(t, "2026-11-29")
				k.On = day(t, "2026-11-02")
			}
			lasts := !k.Until.Before(b.Start) && !k.Until.Before(k.On)
			holds = holds || k.Code == code && lasts && (k.Scope != client.KeptSlot || k.At == "s0") && (k.About == "" || k.About == "r")
			into := pick(g, &c.Kept, &b.Kept, &practice.Kept)
			*into = append(*into, k)
		}
		got := stops(Safety(Input{Client: c, Block: b, Library: exercise.Shipped, Practice: practice}))
		want := []string{"not-asked emergency-signs", "emergency fainting", code + " r"}
		if holds && by != client.ByPractitioner {
			want, kept = want[:2], kept+1
		}
		slices.Sort(got)
		slices.Sort(want)
		if tried++; !slices.Equal(got, want) {
			rt.Fatalf("%s by %s, kept %+v %+v %+v: stops %v, want %v", code, by, c.Kept, b.Kept, practice.Kept, got, want)
		}
	})
	if kept == 0 || kept == tried {
		t.Errorf("%d of %d were kept: the test is one-sided", kept, tried)
	}
}

// Ensure that a decision for a slot that names no slot keeps nothing, not even what
// lies at no slot, and one for the client keeps that.
func TestKeptForNoSlot(t *testing.T) {
	for scope, want := range map[client.KeptScope]int{client.KeptSlot: 1, client.KeptClient: 0} {
		c, b := cleared(t), wholeBody(t)
		c.Flags = append(c.Flags, client.Flag{Ask: "hernia", Answer: client.Yes, On: b.Start})
		c.Kept = []client.Kept{{Code: "ask-first", Scope: scope, Why: "His surgeon wrote.", By: "Coach", On: day(t, "2026-11-02")}}
		if got := stops(applySafety(c, b, form.English)); len(got) != want {
			t.Errorf("scope %s: stops %v", scope, got)
		}
	}
}
