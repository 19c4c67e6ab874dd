package check

import (
	"encoding/json"
	"fmt"
	"os"
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

// doses are what random slots are dosed with: every kind of load, work, effort
// and side.
var doses = []string{
	"3 x 8 rir 2", "4 x 4 @ 85% rir 1", "3 x 10/side rir 2", "3 x 8 @ 100 kg", "5 x 5 @ 8RM", "3 x max @ 60%", "3 x 8-10 rpe 8", "3,3,2,2 @ 75,80,82.5,85% rir 2",
	"4 x 4 @ 72% of back squat", "3 x 8 @ body weight rir 3", "3 x 5 @ +10 kg rir 1", "3 x 8 @ -15 kg", "3 x 10 @ 15 kg/hand rir 2", "2 x 15 @ band light rir 3", "3 x 12 @ pin 7",
	"left 3 x 10 rir 2, right 2 x 10 rir 2, weak side first", "2 x 30 s/side", "3 x 40 m @ 2 x 24 kg", "1 x 1 @ 100%", "10 x 3 @ 90% rest 20 s", "2 x 15 @ 30% rir 8",
	"3 x 8 @ 185 lb rir 2", "6 x 6 @ 77% rir 1 rest 1:00 tempo 4-2-2", "3 x 5 rir 2 warm-up 5 @ 50%, 3 @ 70%", "2 x 8/side rir 4 measure reserve both sides", "left 5 x 12 rir 1",
}

var progresses = []string{"", "", "+2.5 % a week", "+1 repetition a week", "+1 set a week", "+10 % a week", "+2.5 kg a week"}

// randomClient draws a client.
func randomClient(t *rapid.T) *client.Client {
	c := &client.Client{Form: 1, ID: "c", Name: "Client", Language: rapid.SampledFrom([]form.Language{form.English, form.German}).Draw(t, "language"),
		Experience: rapid.SampledFrom([]client.Experience{client.Beginner, client.Some, client.Trained, ""}).Draw(t, "experience"),
		Background: rapid.SampledFrom([]client.Background{client.Endurance, client.General, ""}).Draw(t, "background")}
	start, _ := form.ParseDate("2026-11-30")
	if rapid.Bool().Draw(t, "mass") {
		c.Measures = []client.Measure{{On: start.Plus(-10), Mass: unit.MassOf(float64(rapid.IntRange(45, 120).Draw(t, "kg")), unit.Kg)}}
	}
	place := client.Place{ID: "p", Name: "Place"}
	for _, e := range client.Equipment("").Values() {
		if rapid.IntRange(0, 9).Draw(t, e) > 1 {
			place.Has = append(place.Has, client.Equipment(e))
		}
	}
	if rapid.Bool().Draw(t, "bars") {
		place.Bars = []client.Bar{{Kind: "bar", Mass: unit.MassOf(20, unit.Kg)}, {Kind: "hex-bar", Mass: unit.MassOf(25, unit.Kg)}}
		place.Plates = []client.Plates{{Mass: unit.MassOf(20, unit.Kg), Pairs: 4}, {Mass: unit.MassOf(5, unit.Kg), Pairs: 2}}
		place.Dumbbells = []client.Steps{{From: unit.MassOf(5, unit.Kg), Step: unit.MassOf(5, unit.Kg), To: unit.MassOf(40, unit.Kg)}}
	}
	c.Places = []client.Place{place}
	for _, d := range client.Weekday("").Values()[:4] {
		c.Days = append(c.Days, client.Day{Day: client.Weekday(d), Minutes: rapid.SampledFrom([]int{20, 45, 60, 120}).Draw(t, "minutes"), Place: "p"})
	}
	two := 2.0
	for _, id := range []string{"back-squat", "bench-press", "deadlift", "overhead-press", "barbell-curl", "step-up", "hex-bar-deadlift"} {
		if rapid.IntRange(0, 2).Draw(t, id) > 0 {
			c.Lifts = append(c.Lifts, client.Lift{On: start.Plus(-20), Exercise: id, Load: unit.MassOf(float64(rapid.IntRange(20, 140).Draw(t, "load")), unit.Kg), Reps: rapid.IntRange(1, 12).Draw(t, "reps"), RIR: &two})
		}
	}
	randomWishes(t, c, start)
	return c
}

// randomWishes draws aims, caps, limits, goals, pain.
func randomWishes(t *rapid.T, c *client.Client, start form.Date) {
	for _, m := range []anatomy.MuscleSide{{Muscle: "quadriceps"}, {Muscle: "hip-abductors", Side: anatomy.Left}, {Muscle: "elbow-extensors"}, {Muscle: "gluteus-maximus"}} {
		if low := rapid.IntRange(-6, 12).Draw(t, "aim"); low > 0 {
			a := client.Aim{Muscle: m, Sets: client.Band{Low: float64(low), High: float64(low + 3)}}
			if rapid.Bool().Draw(t, "cap") {
				limit := float64(low + 1)
				a.Cap = &limit
			}
			c.Aims = append(c.Aims, a)
		}
	}
	if rapid.Bool().Draw(t, "lift aim") {
		c.Aims = append(c.Aims, client.Aim{Exercise: "back-squat", Sets: client.Band{Low: 3, High: 8}})
	}
	if rapid.Bool().Draw(t, "limit") {
		c.Limits = []client.Limit{{Muscle: anatomy.MuscleSide{Muscle: "hip-abductors", Side: anatomy.Left}, Weakness: unit.PercentOf(15), By: "coach"}, {Muscle: anatomy.MuscleSide{Muscle: "quadriceps", Side: anatomy.Right}, Weakness: unit.PercentOf(10), By: "coach"}}
	}
	if rapid.IntRange(0, 3).Draw(t, "pain") == 0 {
		level := float64(rapid.IntRange(0, 10).Draw(t, "level"))
		c.Pain = []client.Pain{{Place: "knee", Side: anatomy.Left, On: start.Plus(-3), During: &level}}
	}
}

// randomBlock draws a block; every one drawn is a valid form.
func randomBlock(t *rapid.T) *plan.Block {
	start, _ := form.ParseDate("2026-11-30")
	b := &plan.Block{Form: 1, ID: "b", Name: "Block", Client: "c.yaml", Start: start, Weeks: rapid.IntRange(1, 4).Draw(t, "weeks"), State: plan.Draft, Revision: rapid.IntRange(1, 9).Draw(t, "revision")}
	if b.Weeks > 1 && rapid.Bool().Draw(t, "deload") {
		b.Deload = &plan.Deload{Week: b.Weeks, Sets: unit.PercentOf(60), Load: unit.PercentOf(90)}
	}
	n := 0
	for i := range rapid.IntRange(1, 4).Draw(t, "sessions") {
		s := plan.Session{ID: form.ID(fmt.Sprintf("s%d", i)), Name: fmt.Sprintf("Session %d", i), Day: client.Weekday(rapid.SampledFrom(client.Weekday("").Values()).Draw(t, "day")), Place: rapid.SampledFrom([]form.ID{"p", "p", "p", "p", "nowhere"}).Draw(t, "place")}
		for range rapid.IntRange(1, 7).Draw(t, "slots") {
			n++
			s.Slots = append(s.Slots, randomSlot(t, n, b.Weeks))
		}
		for k := 1; k < len(s.Slots); k++ {
			if s.Slots[k-1].Superset == "" && rapid.IntRange(0, 7).Draw(t, "superset") == 0 {
				letter := string(rune('A' + k%26))
				s.Slots[k-1].Superset, s.Slots[k].Superset = letter, letter
				break
			}
		}
		b.Sessions = append(b.Sessions, s)
	}
	randomReasons(t, b)
	return b
}

// randomSlot draws a slot, of exercises that meet each other's muscles often.
func randomSlot(t *rapid.T, n, weeks int) plan.Slot {
	e := rapid.SampledFrom(exercise.Shipped.All()).Draw(t, "exercise")
	if rapid.Bool().Draw(t, "common") {
		e = exercise.Shipped.ByID(rapid.SampledFrom([]string{"back-squat", "bench-press", "knee-extension", "pushdown", "overhead-press", "fly", "side-lying-hip-abduction", "step-down", "preacher-curl", "pull-up-underhand", "crossed-leg-hip-lean"}).Draw(t, "which"))
	}
	for {
		s := plan.Slot{ID: form.ID(fmt.Sprintf("x%d", n)), Exercise: string(e.ID)}
		dose := rapid.SampledFrom(doses).Draw(t, "dose")
		if err := s.Dose.UnmarshalText([]byte(dose)); err != nil {
			panic(err)
		}
		for _, p := range s.Dose.Parts {
			for i := range p.Sets {
				if p.Sets[i].Load.Of != "" {
					p.Sets[i].Load.Of = "back-squat"
				}
			}
		}
		s.Dose.Text = ""
		if p := rapid.SampledFrom(progresses).Draw(t, "progress"); p != "" && weeks > 1 {
			if err := s.Progress.UnmarshalText([]byte(p)); err != nil {
				panic(err)
			}
		}
		if s.Dose.Rest.IsZero() && rapid.Bool().Draw(t, "rest") {
			s.Rest = unit.DurationOf(unit.Second(rapid.SampledFrom([]int{30, 60, 90, 180, 360}).Draw(t, "seconds")))
		}
		block := &plan.Block{Form: 1, ID: "b", Name: "b", Client: "c", Start: mustMonday(), Weeks: max(weeks, 1), State: plan.Draft, Revision: 1, Sessions: []plan.Session{{ID: "s", Name: "s", Day: "mon", Place: "p", Slots: []plan.Slot{s}}}}
		if _, err := plan.ReadBlock("x", form.Write(block), exercise.Shipped.Name); err == nil {
			return s
		}
		s.Progress = nil
		block.Sessions[0].Slots[0] = s
		if _, err := plan.ReadBlock("x", form.Write(block), exercise.Shipped.Name); err == nil {
			return s
		}
	}
}

func mustMonday() form.Date {
	d, err := form.ParseDate("2026-11-30")
	if err != nil {
		panic(err)
	}
	return d
}

// randomReasons gives most slots a reason, right or wrong.
func randomReasons(t *rapid.T, b *plan.Block) {
	var ids []form.ID
	for _, s := range b.Sessions {
		for _, x := range s.Slots {
			ids = append(ids, x.ID)
		}
	}
	for i := range b.Sessions {
		for j := range b.Sessions[i].Slots {
			x := &b.Sessions[i].Slots[j]
			m := anatomy.MuscleSide{Muscle: anatomy.Muscle(rapid.SampledFrom([]string{"quadriceps", "hip-abductors", "elbow-extensors", "pectorals"}).Draw(t, "muscle"))}
			later := rapid.SampledFrom(ids).Draw(t, "later")
			switch rapid.IntRange(0, 8).Draw(t, "reason") {
			case 0:
				x.Reasons = []plan.Reason{{Test: &anatomy.MuscleSide{Muscle: "hip-abductors", Side: anatomy.Left}}}
			case 1:
				x.Reasons = []plan.Reason{{Prepare: later}}
			case 2:
				x.Reasons = []plan.Reason{{Practise: x.Exercise}}
			case 3, 4:
				x.Reasons = []plan.Reason{{Load: &m}}
			case 5:
				x.Reasons = []plan.Reason{{Spare: &m, For: later}, {Load: &m}}
			case 6:
				x.Reasons = []plan.Reason{{Restore: "hip"}}
			}
		}
	}
}

// Ensure over random clients and blocks that nothing panics, that a report is
// JSON without NaN and the same twice, and that every way out yields a block that
// reads back and in which that problem is gone or weaker. With CORBEL_LONG set,
// ten thousand are tried and every code must come up fifty times.
func TestRandomBlocks(t *testing.T) {
	seen := map[Code]int{}
	tries := 0
	check := func(rt *rapid.T) {
		tries++
		in := Input{Client: randomClient(rt), Block: randomBlock(rt), Library: exercise.Shipped}
		in.Language = in.Client.Language
		if _, err := plan.ReadBlock("x", form.Write(in.Block), exercise.Shipped.Name); err != nil {
			rt.Fatalf("the drawn block is no form: %v", err)
		}
		report := Check(in)
		text, err := json.Marshal(report)
		if err != nil {
			rt.Fatalf("no JSON: %v", err)
		}
		if tries%10 == 0 {
			if again, _ := json.Marshal(Check(in)); string(again) != string(text) {
				rt.Fatal("two runs differ")
			}
			tryApply(rt, in, report)
		}
		for _, p := range report.Problems {
			seen[p.Code]++
			if strings.ContainsAny(p.Text+p.Why, "{}") {
				rt.Fatalf("%s has an argument left: %s %s", p.Code, p.Text, p.Why)
			}
			for _, f := range p.Fixes {
				tryFix(rt, in, p, f)
			}
		}
	}
	want := 200
	if os.Getenv("CORBEL_LONG") != "" {
		want = 10_000
	}
	for tries < want {
		rapid.Check(t, check)
		if t.Failed() {
			return
		}
	}
	if want < 10_000 {
		return
	}
	for code := range wording {
		if strings.HasPrefix(code, "clearance") || code == "emergency" || code == "ask-first" || code == "refer" || code == "ask-again" ||
			strings.HasPrefix(code, "red-flag") || strings.HasPrefix(code, "restriction") || code == "pain-word" || code == "pain-stop-refer" {
			continue // safety rules have tables of their own
		}
		if seen[Code(code)] < 50 {
			t.Errorf("%s came up %d times in %d blocks", code, seen[Code(code)], tries)
		}
	}
}

// tryFix applies a way out to a copy and looks for the problem again.
func tryFix(t *rapid.T, in Input, p Problem, f Fix) {
	b := in.Block.Clone()
	if !f.apply(b) {
		t.Fatalf("%s, %s cannot be applied", p.Code, f.Text)
	}
	b.Revision++ // as Apply does
	text := form.Write(b)
	back, err := plan.ReadBlock("x", text, exercise.Shipped.Name)
	if err != nil {
		t.Fatalf("%s, %q yields a block that does not read back: %v\n%s", p.Code, f.Text, err, text)
	}
	after := in
	after.Block = back
	r := newRules(after)
	r.offer = false
	r.apply()
	for _, q := range r.problems() {
		same := q.Code == p.Code && q.At.Session == p.At.Session && q.At.Slot == p.At.Slot && q.Args["about"] == p.Args["about"]
		if same && q.harm >= p.harm && p.harm > 0 {
			t.Fatalf("%s, %q: harm %g before, %g after\n%s\n%s", p.Code, f.Text, p.harm, q.harm, p.Text, q.Text)
		}
		if same && p.harm == 0 && q.ID == p.ID {
			t.Fatalf("%s, %q: still there", p.Code, f.Text)
		}
	}
}

// tryApply applies one way out by its name, and tries names that must be refused.
func tryApply(t *rapid.T, in Input, report *Report) {
	var names []string
	for _, p := range report.Problems {
		for _, f := range p.Fixes {
			names = append(names, FixName(in.Block, f))
		}
	}
	if len(names) == 0 {
		return
	}
	name := rapid.SampledFrom(names).Draw(t, "way out")
	b, err := Apply(in, name)
	if err != nil || b.Revision != in.Block.Revision+1 {
		t.Fatalf("%s: %v, %v", name, b, err)
	}
	_, id, _ := strings.Cut(name, ":")
	for _, wrong := range []string{fmt.Sprintf("%d:%s", in.Block.Revision+1, id), fmt.Sprintf("%d:00000000.1", in.Block.Revision), id} {
		if _, err := Apply(in, wrong); err == nil {
			t.Fatalf("%s was applied at revision %d", wrong, in.Block.Revision)
		}
	}
}
