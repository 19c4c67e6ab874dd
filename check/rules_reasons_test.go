package check

import (
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// A reasonCase is a slot x with a first reason and what its test says.
type reasonCase struct {
	name   string
	client func(*client.Client)
	block  string
	holds  bool
	says   string // part of the sentence, numbers included
}

func reasons(list ...string) string { return "reasons: [" + strings.Join(list, ", ") + "]" }

func judgedBench(c *client.Client) {
	c.Goals = []client.Goal{{For: "strength", Exercise: "bench-press"}}
}

var drillDose, raise = "2 x 8/side rir 4", "side-lying-hip-abduction"

// reasonCases hold for every kind of reason a case that holds and one for each
// condition that fails.
var reasonCases = []reasonCase{
	// test: on record, direct work, a measure, a fresh muscle
	{"test holds", hipLimit, slot("x", raise, drillDose, "measure: reserve both sides", reasons("{test: left hip-abductors}")), true, "100 % left"},
	{"test of a limit not on record", nil, slot("x", raise, drillDose, "measure: reserve both sides", reasons("{test: left hip-abductors}")), false, "not on record"},
	{"test of the other side", hipLimit, slot("x", raise, drillDose, "measure: reserve both sides", reasons("{test: right hip-abductors}")), false, "not on record"},
	{"test by an exercise for other muscles", hipLimit, slot("x", "knee-extension", "2 x 8 rir 4", "measure: reserve", reasons("{test: left hip-abductors}")), false, "not direct work"},
	{"test without a measure", hipLimit, slot("x", raise, drillDose, reasons("{test: left hip-abductors}")), false, "no measure"},
	{"test after work for the muscle", hipLimit, slot("w", "hip-abduction-machine", "3 x 12 @ 70%") + slot("x", raise, drillDose, "measure: reserve both sides", reasons("{test: left hip-abductors}")), false, "% of its capacity"},
	{"test of the side that comes second, tired", func(c *client.Client) {
		hipLimit(c)
		c.Limits[0].Muscle.Side = anatomy.Right
	}, slot("w", "hip-abduction-machine", "3 x 12 @ 70%") + slot("x", raise, drillDose, "measure: reserve both sides", reasons("{test: right hip-abductors}")), false, "% of its capacity"},
	{"test after work and its own warm-up", hipLimit, slot("w", "hip-abduction-machine", "3 x 12 @ 70%") + slot("x", raise, "2 x 8/side rir 4 warm-up 5 @ 30%", "measure: reserve both sides", reasons("{test: left hip-abductors}")), false, "% of its capacity"},
	// prepare: later, shared muscle or pattern, under half a repetition a set
	{"prepare by a muscle", nil, slot("x", "lateral-band-walk", "1 x 8/side rir 8", reasons("{prepare: y}")) + slot("y", "step-down", "2 x 8/side @ body weight rir 3"), true, "hip abductors first and costs it 0.4"},
	{"prepare by a pattern", nil, slot("x", "back-squat", "1 x 5 @ 40%", reasons("{prepare: y}")) + slot("y", "front-squat", "2 x 5 rir 3"), true, "costs it 0.1"},
	{"prepare what came before", nil, slot("y", "step-down", "2 x 8/side @ body weight rir 3") + slot("x", "lateral-band-walk", "1 x 8/side rir 8", reasons("{prepare: y}")), false, "does not come later"},
	{"prepare what has nothing in common", nil, slot("x", "barbell-curl", "1 x 8 rir 8", reasons("{prepare: y}")) + slot("y", "step-down", "2 x 8/side @ body weight rir 3"), false, "neither leads with a muscle of Step-down nor has its pattern"},
	{"prepare at too high a cost", nil, slot("x", "knee-extension", "5 x 12 @ 70%", reasons("{prepare: y}")) + slot("y", "back-squat", "3 x 5 @ 75%"), false, "quadriceps first and costs it"},
	// practise: the lift or a variant, judged, at most half a repetition a set
	{"practise the lift", judgedBench, slot("x", "bench-press", "3 x 5 @ 75%", reasons("{practise: bench-press}")), true, "cost it nothing"},
	{"practise a variant", judgedBench, slot("x", "close-grip-bench-press", "3 x 5 @ 75%", reasons("{practise: bench-press}")), true, "cost it nothing"},
	{"practise by another exercise", judgedBench, slot("x", "overhead-press", "3 x 5 @ 75%", reasons("{practise: bench-press}")), false, "not Bench press or a variant"},
	{"practise a lift nobody judges", nil, slot("x", "bench-press", "3 x 5 @ 75%", reasons("{practise: bench-press}")), false, "not judged"},
	{"practise after tiring work", judgedBench, slot("w", "pushdown", "5 x 10 @ 70% rir 0") + slot("v", "fly", "4 x 12 rir 0") + slot("x", "bench-press", "3 x 5 @ 75%", reasons("{practise: bench-press}")), false, "earlier exercises cost it"},
	// load: a counted hard set, inside the cap, needed for the aim
	{"load without an aim", nil, slot("x", "knee-extension", "2 x 10 rir 2", reasons("{load: quadriceps}")), true, "counts 2 of the week's 2 hard sets; no aim is set"},
	{"load for an aim", aims(aim("quadriceps", "", 2, 6)), slot("x", "knee-extension", "2 x 10 rir 2", reasons("{load: quadriceps}")), true, "the aim is 2-6"},
	{"load by an indirect set", nil, slot("x", "bench-press", "1 x 5 rir 2", reasons("{load: elbow-extensors}")), true, "counts 0.5 of the week's 0.5"},
	{"load of a muscle it does not work", nil, slot("x", "knee-extension", "2 x 10 rir 2", reasons("{load: pectorals}")), false, "counts 0 of the week's 0"},
	{"load too easy to count", nil, slot("x", "knee-extension", "2 x 10 rir 8", reasons("{load: quadriceps}")), false, "at least half a hard set"},
	{"load over a full cap", aims(capped(aim("quadriceps", "", 1, 2), 2)), slot("w", "knee-extension", "2 x 10 rir 2") + slot("x", "back-squat", "2 x 5 rir 2", reasons("{load: quadriceps}")), false, "the cap of 2 is full without it"},
	{"load where the aim is met without it", aims(aim("quadriceps", "", 2, 6)), slot("w", "knee-extension", "2 x 10 rir 2") + slot("x", "back-squat", "2 x 5 rir 2", reasons("{load: quadriceps}")), false, "the aim of 2-6 is met without it"},
	// spare: later in the week, counted there, one set saved
	{"spare in the session", nil, slot("x", "bench-press", "4 x 5 rir 2", reasons("{spare: elbow-extensors, for: y}")) + slot("y", "pushdown", "1 x 10 rir 2"), true, "sets of Triceps pushdown saved for the same aim: 2"},
	{"spare later in the week", nil, slot("x", "bench-press", "2 x 5 rir 2", reasons("{spare: elbow-extensors, for: y}")) + second("thu") + slot("y", "pushdown", "1 x 10 rir 2"), true, "saved for the same aim: 1"},
	{"spare for what came before", nil, slot("y", "pushdown", "1 x 10 rir 2") + slot("x", "bench-press", "4 x 5 rir 2", reasons("{spare: elbow-extensors, for: y}")), false, "does not come later in the week"},
	{"spare for an exercise not counted", nil, slot("x", "bench-press", "4 x 5 rir 2", reasons("{spare: elbow-extensors, for: y}")) + slot("y", "knee-extension", "1 x 10 rir 2"), false, "is not counted for this muscle"},
	{"spare less than a set", nil, slot("x", "bench-press", "1 x 5 rir 2", reasons("{spare: elbow-extensors, for: y}")) + slot("y", "pushdown", "1 x 10 rir 2"), false, "saved for the same aim: 0.5"},
	// restore: may restore, moves the region, low load
	{"restore holds", nil, slot("x", "ankle-rock", "1 x 10/side", reasons("{restore: foot-and-ankle}")), true, "light, moves the region"},
	{"restore by a heavy lift", nil, slot("x", "back-squat", "1 x 10 @ 40%", reasons("{restore: hip}")), false, "not an exercise for range"},
	{"restore of another region", nil, slot("x", "ankle-rock", "1 x 10/side", reasons("{restore: shoulder}")), false, "does not move the shoulder"},
}

// reasonOf returns the outcome of the first reason of slot x.
func reasonOf(t *testing.T, r *Report) ReasonResult {
	t.Helper()
	for _, s := range r.Sessions {
		for _, x := range s.Slots {
			if x.ID == "x" && len(x.Reasons) > 0 {
				return x.Reasons[0]
			}
		}
	}
	t.Fatal("slot x has no reason")
	return ReasonResult{}
}

// Ensure that every reason holds or fails by its conditions, says so with its
// numbers, and gives a problem just where it fails.
func TestReasons(t *testing.T) {
	for _, x := range reasonCases {
		t.Run(x.name, func(t *testing.T) {
			c := trainee(t)
			if x.client != nil {
				x.client(c)
			}
			r := Check(Input{Client: c, Block: blockOf(t, one+x.block), Library: exercise.Shipped, Language: form.English})
			got := reasonOf(t, r)
			if got.Holds != x.holds || !strings.Contains(got.Because, x.says) {
				t.Errorf("%t: %s; want %t: %s", got.Holds, got.Because, x.holds, x.says)
			}
			if want := map[bool]float64{true: 1, false: 0}[x.holds]; got.Share != want {
				t.Errorf("share without draws %g, want %g", got.Share, want)
			}
			failed := slices.ContainsFunc(r.Problems, func(p Problem) bool { return p.Code == "reason-fails" && p.At.Slot == "x" })
			if failed == x.holds {
				t.Errorf("a problem: %t", failed)
			}
		})
	}
}

// Ensure that the load up to which work restores is half of the 1RM.
func TestRestoreAsksForLowLoad(t *testing.T) {
	c := trainee(t)
	i := slices.IndexFunc(exercise.Shipped.All(), func(e *exercise.Exercise) bool {
		return slices.Contains(e.May, exercise.Restore) && !onlyBody(e)
	})
	if i < 0 {
		t.Fatal("no exercise that restores is loaded")
	}
	e := exercise.Shipped.All()[i]
	for dose, want := range map[string]bool{"1 x 10 @ 40%": true, "1 x 10 @ 60%": false} {
		b := blockOf(t, one+slot("x", string(e.ID), dose, reasons("{restore: "+string(e.Actions[0].Region())+"}")))
		if got := reasonOf(t, Check(Input{Client: c, Block: b, Library: exercise.Shipped})); got.Holds != want {
			t.Errorf("%s %s: %t, %s", e.ID, dose, got.Holds, got.Because)
		}
	}
}

// Ensure that with draws a reason holds in a share of them, that 80 % is enough,
// and that the sentence says the share where it is not all.
func TestShareOfDraws(t *testing.T) {
	c := trainee(t)
	judgedBench(c)
	seen := map[string]bool{}
	for _, first := range []string{"1 x 5 @ 50%", "2 x 10 @ 50%", "3 x 10 @ 50%", "3 x 10 @ 60%", "3 x 12 @ 60%", "4 x 10 @ 65%", "5 x 10 @ 70%"} {
		b := blockOf(t, one+slot("w", "pushdown", first)+slot("x", "bench-press", "3 x 5 @ 75%", reasons("{practise: bench-press}")))
		in := Input{Client: c, Block: b, Library: exercise.Shipped, Draws: 200, Seed: 1, Language: form.English}
		got := reasonOf(t, Check(in))
		if got.Holds != (got.Share >= 0.8) {
			t.Errorf("%s: holds %t in %g of the draws", first, got.Holds, got.Share)
		}
		if n := got.Share * 200; n < 0 || n > 200 || n != float64(int(n+0.5)) {
			t.Errorf("%s: a share of %g is no number of 200 draws", first, got.Share)
		}
		if told := strings.Contains(got.Because, "% of the draws"); told != (got.Share < 1) {
			t.Errorf("%s: share %g: %s", first, got.Share, got.Because)
		}
		switch {
		case got.Share == 1:
			seen["all"] = true
		case got.Holds:
			seen["most"] = true
		default:
			seen["few"] = true
		}
	}
	if len(seen) < 3 {
		t.Errorf("the doses reach only %v", seen)
	}
}

// Ensure that a reason that holds on the mean and in too few draws is a problem
// with ways out that need no trial, and that they are so.
func TestReasonFailsInDrawsAlone(t *testing.T) {
	c := trainee(t)
	judgedBench(c)
	for sets := 1; sets <= 8; sets++ {
		b := blockOf(t, one+slot("w", "pushdown", string(rune('0'+sets))+" x 6 @ 60%")+slot("x", "bench-press", "3 x 5 @ 75%", reasons("{practise: bench-press}")))
		in := Input{Client: c, Block: b, Library: exercise.Shipped, Draws: 200, Seed: 1}
		mean := in
		mean.Draws = 0
		if got := reasonOf(t, Check(in)); got.Holds || !reasonOf(t, Check(mean)).Holds {
			continue
		}
		p := problem(Check(in), "reason-fails")
		if len(p.Fixes) != 2 {
			t.Fatalf("ways out %v, want two", fixTexts(p))
		}
		for _, f := range p.Fixes {
			after, err := Apply(in, FixName(b, f))
			if err != nil {
				t.Fatal(err)
			}
			next := in
			next.Block = after
			if q := problem(Check(next), "reason-fails"); q != nil {
				t.Errorf("%s: %s", f.Text, q.Text)
			}
		}
		return
	}
	t.Fatal("no dose lies between the mean and the draws")
}

// Ensure that reasons that hold become links with their amounts, and those that
// fail do not.
func TestLinks(t *testing.T) {
	b := blockOf(t, one+slot("x", "bench-press", "4 x 5 rir 2", reasons("{spare: elbow-extensors, for: z}", "{prepare: y}"))+
		slot("y", "overhead-press", "1 x 5 @ 60%")+slot("z", "pushdown", "1 x 10 rir 2", reasons("{prepare: x}")))
	r := Check(Input{Client: trainee(t), Block: b, Library: exercise.Shipped, Week: 1})
	links := r.Sessions[0].Links
	i := slices.IndexFunc(links, func(l Link) bool { return l.Kind == "spare" })
	if i < 0 || links[i] != (Link{From: "x", To: "z", Kind: "spare", Amount: 2, Unit: "sets"}) {
		t.Errorf("links %+v", links)
	}
	if slices.ContainsFunc(links, func(l Link) bool { return l.From == "z" }) {
		t.Errorf("a reason that fails is a link: %+v", links)
	}
}

// Ensure that a slot without reasons is offered those that would hold in every
// week, and that it holds them once given.
func TestProposals(t *testing.T) {
	c := trainee(t)
	judgedBench(c)
	for _, x := range []struct{ block, want string }{
		{slot("x", "bench-press", "3 x 5 @ 80% rir 2"), "give the reason: practise: Bench press"},
		{slot("x", "knee-extension", "3 x 10 rir 2"), "give the reason: load: quadriceps"},
		{slot("x", "ankle-rock", "1 x 10/side rir 10"), "give the reason: restore: foot and ankle"},
	} {
		in := Input{Client: c, Block: blockOf(t, one+x.block), Library: exercise.Shipped}
		p := problem(Check(in), "no-reason")
		if p == nil || len(p.Fixes) == 0 || p.Fixes[0].Text != x.want {
			t.Errorf("%s: offered %v, want %q", x.block, p, x.want)
			continue
		}
		after, err := Apply(in, FixName(in.Block, p.Fixes[0]))
		if err != nil {
			t.Fatal(err)
		}
		in.Block = after
		if got := reasonOf(t, Check(in)); !got.Holds {
			t.Errorf("%s: %s", p.Fixes[0].Text, got.Because)
		}
	}
	// a reason that fails in week 2 is not proposed
	in := Input{Client: c, Block: blockOf(t, one+slot("x", "knee-extension", "3 x 10 rir 2", "weeks: {2: 3 x 10 rir 8}")), Library: exercise.Shipped}
	if p := problem(Check(in), "no-reason"); slices.ContainsFunc(fixTexts(p), func(s string) bool { return strings.Contains(s, "quadriceps") }) {
		t.Errorf("offered %v", fixTexts(p))
	}
}

// Ensure that every kind of reason has a word in both languages and a text that
// names what it is about.
func TestReasonWords(t *testing.T) {
	seen := map[string]bool{}
	for _, l := range []form.Language{form.English, form.German} {
		for _, k := range exercise.Reason("").Values() {
			w := ReasonWord(exercise.Reason(k), l)
			if w == "" || seen[string(l)+w] {
				t.Errorf("%s in %s: %q", k, l, w)
			}
			seen[string(l)+w] = true
		}
	}
	b := blockOf(t, one+slot("x", "bench-press", "4 x 5 rir 2"))
	r := newRules(Input{Client: trainee(t), Block: b, Library: exercise.Shipped, Language: form.English})
	for want, reason := range map[string]plan.Reason{"prepare: Bench press": {Prepare: "x"}, "prepare: gone": {Prepare: "gone"}, "restore: hip": {Restore: "hip"}} {
		if got := r.reasonText(reason); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
