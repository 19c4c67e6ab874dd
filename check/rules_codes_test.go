package check

import (
	"math"
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/unit"
)

// A codeCase is a block that has a problem and one like it that has not.
type codeCase struct {
	name    string
	code    Code
	client  func(*client.Client)
	has     string
	not     string
	sev     Severity
	at      At
	got     [2]float64 // least and most measured
	allowed float64
	unit    string
	fixes   int  // ways out there are at least
	bare    bool // nothing is measured
}

func around(x float64) [2]float64 { return [2]float64{x - 1e-3, x + 1e-3} }

func aims(list ...client.Aim) func(*client.Client) {
	return func(c *client.Client) { c.Aims = list }
}

func capped(a client.Aim, most float64) client.Aim { a.Cap = &most; return a }

func lacks(equipment client.Equipment) func(*client.Client) {
	return func(c *client.Client) {
		p := &c.Places[0]
		p.Has = slices.DeleteFunc(p.Has, func(e client.Equipment) bool { return e == equipment })
	}
}

func hipLimit(c *client.Client) {
	c.Limits = []client.Limit{{Muscle: anatomy.MuscleSide{Muscle: "hip-abductors", Side: anatomy.Left}, Weakness: unit.PercentOf(15), By: "coach"}}
}

func weakQuadriceps(c *client.Client) {
	sd := unit.PercentOf(5)
	c.Limits = []client.Limit{{Muscle: anatomy.MuscleSide{Muscle: "quadriceps", Side: anatomy.Left}, Weakness: unit.PercentOf(15), SD: &sd, By: "coach"}}
}

// easier is a block of three weeks of which the second is lighter.
var easier = strings.Replace(head, "weeks: 2", "weeks: 3\ndeload: {week: 2, load: 80%}", 1) + one

// codeCases hold a case for every code of the rules. Counts are worked by hand:
// a set with up to three repetitions in reserve counts 1 for its direct muscles;
// the later ones of six sets by the reserve count a little less, since the load
// falls with what is left.
var codeCases = []codeCase{
	{name: "reserve falls over the sets", code: "reserve-falls", sev: Settle, at: At{Week: 1, Session: "a", Slot: "x", Set: 4},
		has: one + slot("x", "bench-press", "4 x 8 @ 75% rir 2", "rest: 2:00"), not: one + slot("x", "bench-press", "4 x 4 @ 75% rir 2", "rest: 2:00"),
		got: [2]float64{-5, 1}, allowed: 2, unit: "repetitions in reserve", fixes: 3},
	{name: "a drill's reserve is a note", code: "reserve-falls", sev: Note, at: At{Week: 1, Session: "a", Slot: "x", Set: 3},
		has: one + slot("x", "knee-extension", "3 x 12 @ 70% rir 3", "rest: 45 s", "stage: drill"), not: one + slot("x", "knee-extension", "1 x 6 @ 70% rir 3", "stage: drill"),
		got: [2]float64{-12, 2}, allowed: 3, unit: "repetitions in reserve", fixes: 1},
	{name: "a main lift after an isolation for its muscle", code: "order-cost", sev: Settle, at: At{Week: 1, Session: "a", Slot: "y"},
		has: one + slot("x", "knee-extension", "5 x 10 @ 70% rir 0") + slot("y", "back-squat", "4 x 5 @ 75%"), not: one + slot("y", "back-squat", "4 x 5 @ 75%") + slot("x", "knee-extension", "5 x 10 @ 70% rir 0"),
		got: [2]float64{0.5, 5}, allowed: 0.5, unit: "repetitions a set", fixes: 1},
	{name: "an isolation before its compound", code: "isolation-first", sev: Note, at: At{Week: 1, Session: "a", Slot: "x"},
		has: one + slot("x", "pushdown", "2 x 10 @ 60%") + slot("y", "bench-press", "3 x 5 @ 75%"), not: one + slot("y", "bench-press", "3 x 5 @ 75%") + slot("x", "pushdown", "2 x 10 @ 60%"),
		got: [2]float64{0, 2}, allowed: 0, unit: "repetitions a set", fixes: 1},
	{name: "more minutes than there are", code: "over-time", sev: Settle, at: At{Week: 1, Session: "a"},
		has: strings.Replace(one, "place: p", "place: p\n    minutes: 20", 1) + slot("x", "back-squat", "8 x 5 @ 70%", "rest: 3:00") + slot("y", "knee-extension", "3 x 10 @ 50%"),
		not: strings.Replace(one, "place: p", "place: p\n    minutes: 90", 1) + slot("x", "back-squat", "8 x 5 @ 70%", "rest: 3:00") + slot("y", "knee-extension", "3 x 10 @ 50%"),
		got: [2]float64{20, 60}, allowed: 20, unit: "min", fixes: 2},
	{name: "a place without the machine", code: "equipment-missing", client: lacks("knee-extension-machine"), sev: Settle, at: At{Week: 1, Session: "a", Slot: "x"},
		has: one + slot("x", "knee-extension", "2 x 10 rir 2") + slot("y", "back-squat", "2 x 5 rir 2"), not: one + slot("x", "back-squat", "2 x 10 rir 2"), bare: true, fixes: 1},
	{name: "a gentler exercise for the same muscle", code: "gentler", sev: Note, at: At{Week: 1, Session: "a", Slot: "y"},
		has: one + slot("x", "pull-up-underhand", "4 x 6 rir 2") + slot("y", "preacher-curl", "2 x 10 rir 2"), not: one + slot("y", "preacher-curl", "2 x 10 rir 2"), bare: true, fixes: 1},
	{name: "a load lighter than was measured", code: "outside-model", sev: Note, at: At{Week: 1, Session: "a"},
		has: one + slot("x", "back-squat", "2 x 10 @ 40%"), not: one + slot("x", "back-squat", "2 x 5 @ 75%"), bare: true},
	{name: "an exercise twice", code: "same-exercise", sev: Note, at: At{Week: 1, Session: "a", Slot: "y"},
		has: one + slot("x", "bench-press", "2 x 5 @ 75%") + slot("y", "bench-press", "2 x 8 @ 65%"), not: one + slot("x", "bench-press", "2 x 5 @ 75%") + slot("y", "bench-press", "2 x 8 @ 65%", "reasons: [{load: pectorals}]"), bare: true, fixes: 1},
	{name: "a heavy bar without warm-up sets", code: "no-warm-up", sev: Note, at: At{Week: 1, Session: "a", Slot: "x"},
		has: one + slot("x", "back-squat", "2 x 3 @ 85%"), not: one + slot("x", "back-squat", "2 x 3 @ 85% warm-up 8 @ 40%, 5 @ 60%, 3 @ 70%"),
		got: [2]float64{0.84, 0.86}, allowed: 0.8, unit: "of 1RM", fixes: 1},
	{name: "a load no plates make", code: "load-not-there", sev: Note, at: At{Week: 1, Session: "a", Slot: "x"},
		has: one + slot("x", "bench-press", "2 x 5 @ 71 kg"), not: one + slot("x", "bench-press", "2 x 5 @ 70 kg"),
		got: around(71), allowed: 70, unit: "kg", fixes: 1},
	{name: "a heavy set a weak group cannot carry", code: "weak-group", client: weakQuadriceps, sev: Settle, at: At{Week: 1, Session: "a", Slot: "x", Set: 1},
		has: one + slot("x", "back-squat", "4 x 7 @ 80%", "rest: 3:00"), not: one + slot("x", "back-squat", "4 x 3 @ 60%", "rest: 3:00"),
		got: [2]float64{-12, 1}, allowed: 1, unit: "repetitions left", fixes: 1},
	{name: "a cap passed", code: "cap-passed", client: aims(capped(aim("quadriceps", "", 2, 4), 4)), sev: Settle, at: At{Week: 1},
		has: one + slot("x", "knee-extension", "6 x 10 rir 2"), not: one + slot("x", "knee-extension", "4 x 10 rir 2"),
		got: [2]float64{5.9, 6}, allowed: 4, unit: "hard sets a week", fixes: 1},
	{name: "an aim missed", code: "aim-missed", client: aims(aim("quadriceps", "", 6, 9)), sev: Settle, at: At{Week: 1},
		has: one + slot("x", "knee-extension", "4 x 10 rir 2"), not: one + slot("x", "knee-extension", "6 x 10 rir 2"),
		got: around(4), allowed: 6, unit: "hard sets a week", fixes: 1},
	{name: "an aim passed", code: "aim-passed", client: aims(aim("quadriceps", "", 2, 4)), sev: Note, at: At{Week: 1},
		has: one + slot("x", "knee-extension", "5 x 10 rir 2"), not: one + slot("x", "knee-extension", "4 x 10 rir 2"),
		got: [2]float64{4.9, 5}, allowed: 4, unit: "hard sets a week", fixes: 1},
	{name: "a lift too light to count", code: "lift-missed", client: aims(client.Aim{Exercise: "back-squat", Sets: client.Band{Low: 3, High: 8}}), sev: Settle, at: At{Week: 1},
		has: one + slot("x", "back-squat", "3 x 5 @ 75%"), not: one + slot("x", "back-squat", "3 x 3 @ 85%"),
		got: around(0), allowed: 3, unit: "lift sets a week", fixes: 1},
	{name: "one side gets more", code: "side-imbalance", sev: Note, at: At{Week: 1},
		has: one + slot("x", "side-lying-hip-abduction", "left 5 x 10 rir 2, right 2 x 10 rir 2"), not: one + slot("x", "side-lying-hip-abduction", "left 4 x 10 rir 2, right 2 x 10 rir 2"),
		got: around(3), allowed: 2, unit: "hard sets a week", fixes: 1},
	{name: "the limited side may get more", code: "side-imbalance", client: hipLimit, sev: Note, at: At{Week: 1},
		has: one + slot("x", "side-lying-hip-abduction", "left 2 x 10 rir 2, right 5 x 10 rir 2"), not: one + slot("x", "side-lying-hip-abduction", "left 5 x 10 rir 2, right 2 x 10 rir 2"),
		got: around(3), allowed: 2, unit: "hard sets a week", fixes: 1},
	{name: "a main lift's muscle on neighbouring days", code: "spacing", sev: Note, at: At{Week: 1, Session: "b"},
		has: one + slot("x", "bench-press", "3 x 5 rir 2") + second("tue") + slot("z", "fly", "3 x 10 rir 2"), not: one + slot("x", "bench-press", "3 x 5 rir 2") + second("thu") + slot("z", "fly", "3 x 10 rir 2"),
		got: around(24), allowed: 48, unit: "h", fixes: 1},
	{name: "the same muscle twice a day", code: "spacing", sev: Settle, at: At{Week: 1, Session: "b"},
		has: one + slot("x", "bench-press", "3 x 5 rir 2") + second("mon") + slot("z", "fly", "3 x 10 rir 2"), not: one + slot("x", "bench-press", "3 x 5 rir 2") + second("wed") + slot("z", "fly", "3 x 10 rir 2"),
		got: around(0), allowed: 24, unit: "h", fixes: 1},
	{name: "neighbouring days of two weeks", code: "spacing", sev: Note, at: At{Week: 2, Session: "a"},
		has: one + slot("x", "bench-press", "3 x 5 rir 2") + second("sun") + slot("z", "fly", "3 x 10 rir 2"), not: one + slot("x", "bench-press", "3 x 5 rir 2") + second("sat") + slot("z", "fly", "3 x 10 rir 2"),
		got: around(24), allowed: 48, unit: "h", fixes: 1},
	{name: "spacing with pain there", code: "spacing", sev: Stop, at: At{Week: 1, Session: "b"},
		client: func(c *client.Client) {
			c.Pain = []client.Pain{{Place: "shoulder", Side: anatomy.Left, On: c.Clearance.Active.On, During: new(4.0)}}
			c.Limits = []client.Limit{{Muscle: anatomy.MuscleSide{Muscle: "front-deltoid"}, Weakness: unit.PercentOf(10), By: "coach"}}
		},
		has: one + slot("x", "overhead-press", "3 x 5 rir 2") + second("tue") + slot("z", "overhead-press", "3 x 10 rir 2"), not: one + slot("x", "overhead-press", "3 x 5 rir 2") + second("wed") + slot("z", "overhead-press", "3 x 10 rir 2"),
		got: around(24), allowed: 48, unit: "h", fixes: 1},
	{name: "a load that jumps", code: "load-jump", sev: Settle, at: At{Week: 2, Session: "a", Slot: "x"},
		has: one + slot("x", "back-squat", "2 x 5 @ 100 kg", "weeks: {2: 2 x 5 @ 120 kg}"), not: one + slot("x", "back-squat", "2 x 5 @ 100 kg", "weeks: {2: 2 x 5 @ 110 kg}"),
		got: around(20), allowed: 10, unit: "%", fixes: 1},
	{name: "one step of the dumbbells is no jump", code: "load-jump", sev: Settle, at: At{Week: 2, Session: "a", Slot: "x"},
		has: one + slot("x", "lateral-raise", "2 x 10 @ 8 kg/hand", "weeks: {2: 2 x 10 @ 12 kg/hand}"), not: one + slot("x", "lateral-raise", "2 x 10 @ 8 kg/hand", "weeks: {2: 2 x 10 @ 10 kg/hand}"),
		got: around(50), allowed: 10, unit: "%", fixes: 1},
	{name: "a jump over an easier week", code: "load-jump", sev: Settle, at: At{Week: 3, Session: "a", Slot: "x"},
		has: easier + slot("x", "back-squat", "2 x 5 @ 100 kg", "weeks: {3: 2 x 5 @ 120 kg}"), not: easier + slot("x", "back-squat", "2 x 5 @ 100 kg", "weeks: {3: 2 x 5 @ 105 kg}"),
		got: around(20), allowed: 10, unit: "%", fixes: 1},
	{name: "another exercise by a change is no jump", code: "load-jump", sev: Settle, at: At{Week: 2, Session: "a", Slot: "x"},
		has: one + slot("x", "bench-press", "2 x 5 @ 60 kg", "weeks: {2: 2 x 5 @ 80 kg}"),
		not: one + slot("x", "bench-press", "2 x 5 @ 60 kg") + "changes: [{id: c, on: 2026-12-07, by: coach, why: w, scope: slot, slot: x, do: swap, exercise: back-squat, dose: 2 x 5 @ 80 kg}]\n",
		got: around(33.333), allowed: 10, unit: "%", fixes: 1},
	{name: "a reason that fails", code: "reason-fails", sev: Settle, at: At{Week: 1, Session: "a", Slot: "x"},
		has: one + slot("x", "knee-extension", "2 x 10 rir 2", "reasons: [{load: pectorals}]"), not: one + slot("x", "knee-extension", "2 x 10 rir 2", "reasons: [{load: quadriceps}]"),
		got: around(0), allowed: 0.8, unit: "share of draws", fixes: 1},
	{name: "no reason", code: "no-reason", sev: Settle, at: At{Week: 1, Session: "a", Slot: "x"},
		has: one + slot("x", "knee-extension", "2 x 10 rir 2") + slot("y", "bench-press", "2 x 5 rir 2", "reasons: [{load: pectorals}]"), not: one + slot("x", "knee-extension", "2 x 10 rir 2", "reasons: [{load: quadriceps}]") + slot("y", "bench-press", "2 x 5 rir 2", "reasons: [{load: pectorals}]"),
		got: [2]float64{1, 8}, allowed: 0, unit: "min", fixes: 2},
	{name: "a place the client does not have", code: "unknown-place", sev: Settle, at: At{Session: "a"},
		has: strings.Replace(one, "place: p", "place: elsewhere", 1) + slot("x", "bench-press", "2 x 5 rir 2"), not: one + slot("x", "bench-press", "2 x 5 rir 2"), bare: true, fixes: 1},
}

// ruleCodes are the codes that are not the safety list's.
var ruleCodes = strings.Fields("reserve-falls order-cost isolation-first over-time equipment-missing gentler outside-model same-exercise no-warm-up load-not-there weak-group " +
	"cap-passed aim-missed aim-passed lift-missed side-imbalance spacing load-jump reason-fails no-reason unknown-place")

// Ensure for every code that the block with the problem has it, with its place,
// severity and numbers, that each way out cures or weakens it, and that the block
// slightly changed has not.
func TestCodes(t *testing.T) {
	for _, code := range ruleCodes {
		if !slices.ContainsFunc(codeCases, func(x codeCase) bool { return string(x.code) == code }) {
			t.Errorf("no case for %s", code)
		}
	}
	for _, x := range codeCases {
		t.Run(string(x.code)+", "+x.name, func(t *testing.T) {
			for _, l := range []form.Language{form.English, form.German} {
				x.test(t, l)
			}
		})
	}
}

func (x codeCase) test(t *testing.T, l form.Language) {
	c := trainee(t)
	if x.client != nil {
		x.client(c)
	}
	in := Input{Client: c, Block: blockOf(t, x.has), Library: exercise.Shipped, Language: l}
	r := Check(in)
	p := problem(r, x.code)
	if p == nil {
		t.Fatalf("not found; there are %v", codesOf(r))
	}
	if p.Severity != x.sev || p.At != x.at {
		t.Errorf("%s at %+v, want %s at %+v", p.Severity, p.At, x.sev, x.at)
	}
	switch {
	case x.bare && (p.Got != nil || p.Allowed != nil):
		t.Errorf("measured %v of %v, want nothing", p.Got, p.Allowed)
	case !x.bare && (p.Got == nil || *p.Got < x.got[0] || *p.Got > x.got[1] || math.Abs(*p.Allowed-x.allowed) > 1e-9 || p.Unit != x.unit):
		t.Errorf("measured %v of %v %s, want %v of %v %s", deref(p.Got), deref(p.Allowed), p.Unit, x.got, x.allowed, x.unit)
	}
	if p.Text == "" || strings.ContainsAny(p.Text+p.Why, "{}|") {
		t.Errorf("text %q, why %q", p.Text, p.Why)
	}
	if len(p.Fixes) < x.fixes || len(p.Fixes) > maxFixes {
		t.Errorf("%d ways out, want %d to %d: %v", len(p.Fixes), x.fixes, maxFixes, fixTexts(p))
	}
	for _, f := range p.Fixes {
		x.applied(t, in, *p, f)
	}
	in.Block = blockOf(t, x.not)
	if p := problem(Check(in), x.code); p != nil {
		t.Errorf("the changed block has it too: %s", p.Text)
	}
}

// applied applies a way out by its name and looks for the problem again: gone, or
// weaker where the text says that it is not enough.
func (x codeCase) applied(t *testing.T, in Input, p Problem, f Fix) {
	b, err := Apply(in, FixName(in.Block, f))
	if err != nil {
		t.Fatalf("%s: %v", f.Text, err)
	}
	if b.Revision != 2 || in.Block.Revision != 1 {
		t.Errorf("%s: revisions %d and %d, want 2 and 1", f.Text, b.Revision, in.Block.Revision)
	}
	in.Block = blockOf(t, string(form.Write(b)))
	gone := true
	for _, q := range Check(in).Problems {
		if q.same(&p) {
			gone = false
			if q.harm >= p.harm {
				t.Errorf("%s: harm %g, before %g", f.Text, q.harm, p.harm)
			}
		}
	}
	if weak := strings.HasSuffix(f.Text, "enough)") || strings.HasSuffix(f.Text, "nicht)"); gone == weak {
		t.Errorf("%s: gone %t", f.Text, gone)
	}
}

// Ensure that Apply refuses a way out of another revision and names it does not
// know, with a sentence that says what to do, and leaves its block alone.
func TestApplyRefuses(t *testing.T) {
	in := Input{Client: trainee(t), Block: blockOf(t, codeCases[0].has), Library: exercise.Shipped}
	fix := problem(Check(in), "reserve-falls").Fixes[0]
	for name, want := range map[string]string{
		"2:" + fix.ID: "check it again", "1:00000000.1": "check prints those there are", fix.ID: "does not name a way out", "": "does not name a way out",
	} {
		if b, err := Apply(in, name); err == nil || b != nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", name, err, want)
		}
	}
	if _, err := Apply(in, FixName(in.Block, fix)); err != nil {
		t.Error(err)
	}
	if in.Block.Revision != 1 || in.Block.Sessions[0].Slots[0].Dose.Count() != 4 {
		t.Error("Apply changed the block it was given")
	}
}
