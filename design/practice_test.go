package design

import (
	"fmt"
	"slices"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
	"corbel/session"
)

// lifter is an invented client with three days in a hall where everything stands,
// some goals and aims, and the questions answered.
func lifter(t *testing.T, more string) *client.Client {
	t.Helper()
	text := "form: 1\nid: lifter\nname: Lifter\nlanguage: en\nsex: male\nborn: 1990-01-01\nexperience: trained\nmeasures:\n  - on: 2026-11-01\n    height: 178 cm\n    mass: 80 kg\nplaces:\n" + places[0] +
		"days:\n" + more + "clearance:\n"
	for _, q := range []string{"active", "disease", "symptoms"} {
		text += fmt.Sprintf("  %s:\n    answer: %q\n    on: 2026-11-02\n", q, map[bool]string{true: "yes", false: "no"}[q == "active"])
	}
	text += "  intensity: vigorous\nflags:\n"
	for _, q := range []string{"emergency-signs", "low-back", "joints", "ask-first"} {
		text += fmt.Sprintf("  - ask: %s\n    answer: \"no\"\n    on: 2026-11-02\n", q)
	}
	c, err := client.Read("lifter.yaml", []byte(text), exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

const threeDays = "  - day: mon\n    minutes: 75\n    place: p\n  - day: wed\n    minutes: 60\n    place: p\n  - day: fri\n    minutes: 75\n    place: p\n"

// Ensure that one weak group on one side, with a big lift that uses it, gives
// unasked what the trade does (common practice): a drill before the lift that tests
// and prepares, the lift inside the cap, single-limb work that carries the volume,
// no heavy lift after work that tires the group.
func TestWeakGroupAndBigLift(t *testing.T) {
	for _, x := range []struct{ group, lift string }{
		{"left gluteus-maximus", "deadlift"}, {"right gluteus-maximus", "back-squat"}, {"left hamstrings", "romanian-deadlift"}, {"right hamstrings", "deadlift"},
		{"left quadriceps", "back-squat"}, {"right quadriceps", "front-squat"}, {"left hip-adductors", "back-squat"}, {"left quadriceps", "hex-bar-deadlift"},
	} {
		t.Run(x.group+" "+x.lift, func(t *testing.T) {
			w := wishOf(t, lifter(t, threeDays+"goals:\n  - for: strength\n    exercise: "+x.lift+"\n    weight: 8\naims:\n  - muscle: "+x.group+"\n    sets: 8-12\n    cap: 12\n"+
				"limits:\n  - muscle: "+x.group+"\n    weakness: 15%\n    by: coach\n"))
			w.Moves = 2 * QuickMoves
			p, err := Propose(w)
			if err != nil {
				t.Fatal(err)
			}
			holdsUp(t, w, p)
			weakGroup(t, p, w.Client.Limits[0].Muscle, x.lift)
		})
	}
}

// weakGroup holds what stands above against a proposal.
func weakGroup(t *testing.T, p *Proposal, m anatomy.MuscleSide, lift string) {
	t.Helper()
	drilled, single, total := false, 0.0, 0.0
	for _, v := range p.Weeks[0].Visits {
		main := slices.IndexFunc(v.Items, func(it session.Item) bool { return string(it.Exercise.ID) == lift })
		for i, it := range v.Items {
			_, s := p.Block.SlotByID(it.Slot.ID)
			tests := slices.ContainsFunc(s.Reasons, func(r plan.Reason) bool { return r.Test != nil })
			prepares := slices.ContainsFunc(s.Reasons, func(r plan.Reason) bool { return main >= 0 && r.Prepare == v.Items[main].Slot.ID })
			drilled = drilled || i < main && tests && prepares
			if i < main && it.Stage != exercise.Drill && v.Slots[i].Lost[main] > 0.5 {
				t.Errorf("%s comes before the lift and costs it %.2f repetitions a set", it.Exercise.ID, v.Slots[i].Lost[main])
			}
			n := session.Pick(v.Slots[i].Work, m.Muscle, m.Side).Sum()
			if it.Stage != exercise.Main {
				total += n
				if it.Exercise.Sides == exercise.EachSide {
					single += n
				}
			}
		}
	}
	if !drilled {
		t.Error("no drill before the lift tests and prepares")
	}
	if p.Weeks[0].Of(m.Muscle, m.Side).Sum() > 12.05 {
		t.Errorf("%s gets %.1f sets, over its cap", m, p.Weeks[0].Of(m.Muscle, m.Side).Sum())
	}
	if single < 2 || 2*single < total {
		t.Errorf("single-limb work counts %.1f of %.1f sets beside the lift", single, total)
	}
	if t.Failed() {
		for _, s := range p.Block.Sessions {
			for _, x := range s.Slots {
				t.Log(s.Name, x.Exercise, x.Stage, x.Dose, reasonWords(x.Reasons))
			}
		}
	}
}

// Ensure that a size goal for a small muscle that compounds also train gets
// compounds first, fewer direct sets than alone, and the gentler isolation (common
// practice).
func TestSmallMuscleAfterCompounds(t *testing.T) {
	goal := "goals:\n  - for: size\n    muscle: elbow-extensors\n    weight: 8\naims:\n  - muscle: elbow-extensors\n    sets: 10-14\n"
	direct := func(more string) (sets float64, first bool, hardest []exercise.Length) {
		w := wishOf(t, lifter(t, threeDays+goal+more))
		w.Moves = 2 * QuickMoves
		p, err := Propose(w)
		if err != nil {
			t.Fatal(err)
		}
		holdsUp(t, w, p)
		first = true
		for _, v := range p.Weeks[0].Visits {
			isolated := false
			for i, it := range v.Items {
				trains := slices.Contains(it.Exercise.Direct, "elbow-extensors")
				if it.Stage == exercise.Isolation && trains {
					isolated = true
					sets += session.Pick(v.Slots[i].Work, "elbow-extensors", anatomy.NoSide).Direct
					hardest = append(hardest, it.Exercise.Hardest)
				} else if isolated && it.Exercise.Shares["elbow-extensors"] >= 0.5 && it.Stage != exercise.Drill {
					first = false
				}
			}
		}
		return sets, first, hardest
	}
	alone := 0.0
	var without string
	for _, e := range exercise.Shipped.All() { // alone: nothing else trains the muscle
		if e.Stage != exercise.Isolation && e.Shares["elbow-extensors"] >= 0.3 {
			without += "    - " + string(e.ID) + "\n"
		}
	}
	alone, _, _ = direct("wishes:\n  without:\n" + without)
	sets, first, hardest := direct("  - muscle: pectorals\n    sets: 8-12\n")
	if !first {
		t.Error("an isolation comes before a compound for the same muscle")
	}
	if sets >= alone {
		t.Errorf("%.1f direct sets of isolations beside compounds, %.1f alone", sets, alone)
	}
	for _, h := range hardest {
		if h == "long" {
			t.Errorf("an isolation that is hardest long stands there, with gentler ones at hand: %v", hardest)
		}
	}
}

// Ensure that one machine removed changes at most the slots that need it and three
// more, and that few changes keep nine tenths of a block.
func TestOneMachineRemoved(t *testing.T) {
	c := lifter(t, threeDays+"goals:\n  - for: general strength\naims:\n  - muscle: quadriceps\n    sets: 10-14\n  - muscle: hamstrings\n    sets: 8-12\n")
	w := wishOf(t, c)
	before, err := Propose(w)
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, gone := range []client.Equipment{"leg-press", "knee-extension-machine", "lying-curl-machine", "pull-up-bar", "dip-bars"} {
		without := *c
		without.Places = []client.Place{c.Places[0]}
		without.Places[0].Has = slices.DeleteFunc(slices.Clone(c.Places[0].Has), func(e client.Equipment) bool { return e == gone })
		needs := 0
		for _, s := range before.Block.Sessions {
			for _, x := range s.Slots {
				if slices.Contains(exercise.Shipped.ByID(x.Exercise).Equipment, gone) {
					needs++
				}
			}
		}
		if needs == 0 {
			continue
		}
		tried++
		w2 := w
		w2.Client, w2.Keep = &without, before.Block
		after, err := Propose(w2)
		if err != nil {
			t.Fatal(err)
		}
		kept, all := keptSlots(before.Block, after.Block)
		if lost := all - kept; lost > needs+3 {
			t.Errorf("without %s %d slots of %d go, %d need it", gone, lost, all, needs)
		}
		holdsUp(t, w2, after)
	}
	if tried == 0 {
		t.Error("no machine was used at all")
	}
	few := w
	few.Keep, few.Few, few.Seed = before.Block, true, 9
	after, err := Propose(few)
	if err != nil {
		t.Fatal(err)
	}
	if kept, all := keptSlots(before.Block, after.Block); 10*kept < 9*all {
		t.Errorf("few changes keep %d of %d slots", kept, all)
	}
}

// keptSlots counts the exercises that stand in the same session of both blocks.
func keptSlots(before, after *plan.Block) (kept, all int) {
	for _, s := range before.Sessions {
		i := slices.IndexFunc(after.Sessions, func(x plan.Session) bool { return x.Day == s.Day })
		for _, x := range s.Slots {
			all++
			if i >= 0 && slices.ContainsFunc(after.Sessions[i].Slots, func(y plan.Slot) bool { return y.Exercise == x.Exercise }) {
				kept++
			}
		}
	}
	return kept, all
}
