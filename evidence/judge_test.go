package evidence

import (
	"encoding/json"
	"io/fs"
	"math"
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

func date(t testing.TB, s string) form.Date {
	t.Helper()
	d, err := form.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// rosa reads the demo's client, block and the four logged weeks, and further logs.
func rosa(t testing.TB, more ...string) JudgeInput {
	t.Helper()
	src := func(name string) []byte {
		b, err := fs.ReadFile(examples.Files, name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	c, err := client.Read("c.yaml", src("rosa-client.yaml"), exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	b, err := plan.ReadBlock("b.yaml", src("rosa-block.yaml"), exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	in := JudgeInput{Client: c, Library: exercise.Shipped, Blocks: []*plan.Block{b}, Day: date(t, "2026-12-27")}
	for _, text := range append([]string{string(src("rosa-weeks-log.yaml"))}, more...) {
		log, err := plan.ReadLog("l.yaml", []byte(text), exercise.Shipped.Name)
		if err != nil {
			t.Fatal(err)
		}
		in.Logs = append(in.Logs, log)
	}
	return in
}

func fitOf(j *Judgement, exercise string) *FitReport {
	i := slices.IndexFunc(j.Fits, func(f FitReport) bool { return f.Exercise == exercise })
	if i < 0 {
		return nil
	}
	return &j.Fits[i]
}

// faulty is an entry with every fault a log has: a load in pounds, a slip of the
// decimal point, no reserve. (No repetitions are refused by the reader.)
const faulty = `form: 1
client: rosa-l
entries:
  - block: rosa-b2
    revision: 3
    session: a
    week: 4
    on: 2026-12-23
    sets:
      - {slot: a2, set: 1, done: "187.5 lb x 4, 4 in reserve"}
      - {slot: a2, set: 2, done: "1000 kg x 4, 3 in reserve"}
      - {slot: a2, set: 4, done: "85 kg x 4"}
`

// Ensure that a log with faults is flagged line by line, that pounds count as pounds,
// and that no line is lost.
func TestFaultsInALog(t *testing.T) {
	clean, with := Judge(rosa(t)), Judge(rosa(t, faulty))
	var got []string
	for _, f := range with.Flagged {
		if f.On == "2026-12-23" {
			got = append(got, f.Done+": "+string(f.Flag))
		}
	}
	want := []string{"1000 kg x 4, 3 in reserve: slip", "85 kg x 4: no-reserve"}
	if !slices.Equal(got, want) {
		t.Errorf("flagged %q, want %q", got, want)
	}
	// the four lines are corrections of the sets of week 4: two of those are repeated
	before, after := fitOf(clean, "hex-bar-deadlift"), fitOf(with, "hex-bar-deadlift")
	if after.Sets != before.Sets-2+1 {
		t.Errorf("%d sets used, before %d", after.Sets, before.Sets)
	}
	if math.Abs(after.Max/before.Max-1) > 0.05 {
		t.Errorf("faults move the 1RM from %.1f to %.1f", before.Max, after.Max)
	}
}

// Ensure that sets of a slot the block has not, and entries of a block that was not given,
// are told and not passed over, and that a slip is seen where no other set shows it.
func TestStraysAreTold(t *testing.T) {
	const head = "form: 1\nclient: rosa-l\nentries:\n  - {block: BLOCK, revision: 3, session: a, week: 1, on: 2026-11-30, sets: [{slot: SLOT, set: 1, done: \"1000 kg x 4, 2 in reserve\"}]}\n"
	for _, c := range []struct {
		block, slot, exercise, done string
		flag                        Flag
	}{
		{"rosa-b2", "zz", "", "zz: 1000 kg x 4, 2 in reserve", FlagNoSlot},
		{"other", "a2", "", "other, a", FlagNoBlock},
		{"rosa-b2", "a2", "hex-bar-deadlift", "1000 kg x 4, 2 in reserve", FlagSlip},
	} {
		in := rosa(t, strings.NewReplacer("BLOCK", c.block, "SLOT", c.slot).Replace(head))
		in.Logs = in.Logs[1:]
		j := Judge(in)
		if want := (FlaggedSet{Exercise: c.exercise, On: "2026-11-30", Done: c.done, Flag: c.flag}); len(j.Flagged) != 1 || j.Flagged[0] != want {
			t.Errorf("flagged %+v, want %+v", j.Flagged, want)
		}
	}
}

// Ensure that the same upload twice changes nothing and says so.
func TestUploadTwice(t *testing.T) {
	in := rosa(t)
	once := Judge(in)
	in.Logs = append(in.Logs, in.Logs[0])
	twice := Judge(in)
	if len(once.Flagged) != 0 {
		t.Errorf("flagged: %+v", once.Flagged)
	}
	sets := 0
	for _, f := range once.Fits {
		sets += f.Sets
	}
	if len(twice.Flagged) != sets || twice.Flagged[0].Flag != FlagRepeated {
		t.Errorf("%d flagged, want all %d sets", len(twice.Flagged), sets)
	}
	twice.Flagged = once.Flagged
	a, err := json.Marshal(once)
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(twice)
	if err != nil {
		t.Fatal(err)
	}
	if string(a) != string(b) {
		t.Errorf("the second upload changes the judgement:\n%s\n%s", a, b)
	}
}

// Ensure that the four weeks of the demo come to what was put into them: the left
// raise gains, the right stays, the limit weakens, and the load of every week is rating
// times minutes.
func TestFourWeeks(t *testing.T) {
	j := Judge(rosa(t))
	for _, c := range j.Tests {
		switch {
		case c.Side == "left" && c.Verdict != ProbablyBetter && c.Verdict != Better:
			t.Errorf("left raise: %+v", c)
		case c.Side == "right" && c.Verdict != NoChange:
			t.Errorf("right raise: %+v", c)
		}
	}
	if len(j.Tests) != 2 || len(j.Limits) != 1 || j.Limits[0].Now >= j.Limits[0].Before {
		t.Errorf("%d tests, limits %+v", len(j.Tests), j.Limits)
	}
	if j.Weeks[0].Load != 6*38+5*40 || j.Done.Done != 8 {
		t.Errorf("week 1: %+v, done %+v", j.Weeks[0], j.Done)
	}
	if j.Response == nil || j.Response.Built[1] > j.Response.Built[0] || j.Response.Built[0] > j.Response.Built[2] {
		t.Errorf("response %+v", j.Response)
	}
	if j.False <= 0 || j.False > 1 {
		t.Errorf("expected false better %g", j.False)
	}
}

// Ensure that a limit about which the logs say nothing stays open, however unlikely the
// findings leave it.
func TestLimitWithoutTestsStaysOpen(t *testing.T) {
	in := rosa(t)
	in.Client.Findings = in.Client.Findings[:1]
	for i := range in.Logs[0].Entries {
		in.Logs[0].Entries[i].Tests = nil
	}
	if j := Judge(in); len(j.Limits) != 1 || j.Limits[0].State != "open" {
		t.Errorf("limits %+v", j.Limits)
	}
}

// Ensure that pain in a log changes what the next block does, and says so.
func TestPainChangesTheNextBlock(t *testing.T) {
	in := rosa(t)
	next := func() *Next {
		return WhatNext(Assess(Input{Client: in.Client, Library: in.Library, Day: in.Day}), Judge(in), in.Client, "en")
	}
	find := func(n *Next, code string) string {
		for _, s := range n.Changes {
			if s.Code == code {
				return s.Text
			}
		}
		return ""
	}
	in.Client.Limits[0].SD = nil
	in.Client.Findings[2].Left, in.Client.Findings[2].Right = "0", "9" // the limit stays likely
	in.Logs[0].Entries[len(in.Logs[0].Entries)-1].Pain = nil
	good := find(next(), "sets")
	four := 4.0
	e := &in.Logs[0].Entries[len(in.Logs[0].Entries)-1]
	e.Pain = []plan.PainLog{{Place: "hip", Side: "left", Morning: &four}}
	bad := find(next(), "sets")
	if good != "" && (!strings.Contains(good, "one more") || !strings.Contains(bad, "15 % fewer")) || good == "" && bad != "" {
		t.Errorf("without pain %q, with pain %q", good, bad)
	}
	if good == "" {
		t.Error("no word on the weekly sets of the limited group")
	}
}

// Ensure that a weak side that loses over two repetitions more than the other from its first
// set to its last makes a bad week, and that the other side doing so does not.
func TestFallingSideIsABadWeek(t *testing.T) {
	for _, c := range []struct {
		side anatomy.Side
		want string
	}{{anatomy.Left, "over two repetitions more"}, {anatomy.Right, "one more"}} {
		in := rosa(t)
		in.Client.Findings[2].Left, in.Client.Findings[2].Right = "0", "9" // the limit stays likely
		e := &in.Logs[0].Entries[len(in.Logs[0].Entries)-1]
		for _, x := range in.Logs[0].Entries {
			if x.Session == "a" {
				e = &x
			}
		}
		e.On, e.Pain = date(t, "2026-12-26"), nil
		for i := range e.Sets {
			if s := &e.Sets[i]; s.Side != anatomy.NoSide && s.Slot == "a1" {
				s.Done.Work.Low, s.Done.Work.High = 10, 10
				s.Done.Effort = plan.Effort{Kind: plan.RIR, Low: 4, High: 4}
				if s.Side == c.side && s.Set == 2 {
					s.Done.Work.Low, s.Done.Work.High = 7, 7
				}
			}
		}
		in.Logs[0].Entries = append(in.Logs[0].Entries, *e)
		j := Judge(in)
		text := ""
		for _, s := range WhatNext(Assess(Input{Client: in.Client, Library: in.Library, Day: in.Day}), j, in.Client, "en").Changes {
			if s.Code == "sets" {
				text = s.Text
			}
		}
		if len(j.Fell) != 1 || j.Fell[0].Side != c.side || j.Fell[0].More != 3 || !strings.Contains(text, c.want) {
			t.Errorf("%s side falls: %+v, %q", c.side, j.Fell, text)
		}
	}
}

// Ensure that the same input gives the same bytes.
func TestSameBytes(t *testing.T) {
	in := rosa(t)
	var texts []string
	for range 2 {
		b, err := json.Marshal(WhatNext(Assess(Input{Client: in.Client, Library: in.Library, Day: in.Day}), Judge(in), in.Client, "de"))
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(b))
	}
	if texts[0] != texts[1] || strings.Contains(texts[0], "null,\"unit") {
		t.Error("two runs differ")
	}
}

// BenchmarkAssess weighs the findings of a client.
func BenchmarkAssess(b *testing.B) {
	in := rosa(b)
	for b.Loop() {
		Assess(Input{Client: in.Client, Library: in.Library, Day: in.Day})
	}
}

// BenchmarkInfer takes ten findings in.
func BenchmarkInfer(b *testing.B) {
	m := ModelOf("lower")
	var obs []Observation
	for i := range 10 {
		obs = append(obs, m.Drills[i].OfRepetitions(12, 13, 0.033, 2))
	}
	for b.Loop() {
		m.Infer(Complaint{}, obs)
	}
}
