package client

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"corbel/examples"
	"corbel/form"
)

// someNames finds the exercises of the tests and of the examples.
func someNames(typed string) (string, []string) {
	switch typed {
	case "squat", "back squat":
		return "back-squat", nil
	case "nothing", "skwat":
		return "", []string{"back-squat"}
	}
	return typed, nil
}

// head is the least a client file says.
const head = "form: 1\nid: c\nname: C\nlanguage: en\n"

// Ensure that what a client file cannot say is refused at the line and column where
// it stands, with what to write, and that nothing is then read.
func TestRefusals(t *testing.T) {
	place := "places:\n  - id: p\n    name: P\n"
	word := "      by: Dr\n      on: 2026-11-02\n      says: fine\n"
	restriction := "restrictions:\n  - id: r\n    by: coach\n    on: 2026-11-02\n"
	pain := "pain:\n  - place: knee\n    side: left\n    on: 2026-11-02\n"
	for _, x := range []struct{ name, src, at, says string }{
		{"unknown field", "nome: x\n", "5:1", "name"},
		{"zone", "zone: Vienna\n", "5:7", "area and a city"},
		{"zone of the machine", "zone: Local\n", "5:7", "area and a city"},
		{"height without its unit's sense", "measures:\n  - on: 2026-11-02\n    height: 182 in\n", "7:13", "is the unit right"},
		{"body mass", "measures:\n  - on: 2026-11-02\n    mass: 12 kg\n", "7:11", "25 to 300 kg"},
		{"segment", "measures:\n  - on: 2026-11-02\n    segments:\n      thigh: 4 m\n", "8:14", "10 to 90 cm"},
		{"born after a measure", "born: 2026-12-01\nmeasures:\n  - on: 2026-11-02\n", "5:7", "after a measure"},
		{"no repetitions", "lifts:\n  - on: 2026-11-02\n    exercise: squat\n    reps: 0\n", "8:11", "1 to 200"},
		{"reserve below none", "lifts:\n  - on: 2026-11-02\n    exercise: squat\n    reps: 3\n    rir: -1\n", "9:10", "0 to 20"},
		{"unknown exercise", "lifts:\n  - on: 2026-11-02\n    exercise: skwat\n    reps: 3\n", "7:15", "back-squat"},
		{"bar that is none", place + "    bars:\n      - kind: rack\n        mass: 20 kg\n", "9:15", "hex-bar"},
		{"most under the bar", place + "    bars:\n      - kind: bar\n        mass: 20 kg\n        most: 15 kg\n", "11:15", "most includes the bar"},
		{"21 pairs", place + "    plates:\n      - mass: 5 kg\n        pairs: 21\n", "10:16", "1 to 20"},
		{"plate of nothing", place + "    plates:\n      - mass: 0 kg\n        pairs: 1\n", "9:15", "above 0"},
		{"run without an end", place + "    dumbbells:\n      - from: 5 kg\n        step: 5 kg\n", "9:9", "both step and to"},
		{"run that stands", place + "    dumbbells:\n      - from: 5 kg\n        step: 0 kg\n        to: 9 kg\n", "10:15", "step above 0"},
		{"run downwards", place + "    stacks:\n      - for: [cable]\n        start: 9 kg\n        step: 1 kg\n        to: 5 kg\n", "12:13", "lighter than the lightest"},
		{"run of grains", place + "    dumbbells:\n      - from: 1 kg\n        step: 0.01 g\n        to: 9 kg\n", "10:15", "steps"},
		{"band named twice", place + "    bands:\n      - name: red\n      - name: red\n", "10:15", "two bands"},
		{"place twice", place + "  - id: p\n    name: Q\n", "8:9", "twice"},
		{"day in no place", place + "days:\n  - day: mon\n    minutes: 60\n    place: q\n", "11:12", "no place \"q\""},
		{"day of a minute", place + "days:\n  - day: mon\n    minutes: 5\n    place: p\n", "10:14", "10 to 240"},
		{"aim at nothing", "aims:\n  - sets: 6-9\n", "6:5", "either a muscle or a lift"},
		{"band backwards", "aims:\n  - muscle: quadriceps\n    sets: 9-6\n", "7:11", "write 6-9"},
		{"weight of a goal", "goals:\n  - for: size\n    weight: 11\n", "7:13", "1 to 10"},
		{"share over 1", "shares:\n  - exercise: squat\n    muscle: quadriceps\n    share: 1.5\n    by: Ida\n    why: so\n", "8:12", "0 to 1"},
		{"unknown question", "flags:\n  - ask: chest-pains\n    answer: \"no\"\n    on: 2026-11-02\n", "6:10", "chest-pain"},
		{"group answered yes", "flags:\n  - ask: low-back\n    answer: \"yes\"\n    on: 2026-11-02\n", "7:13", "name the question"},
		{"joint without its region", "flags:\n  - ask: joint-locking\n    answer: \"yes\"\n    on: 2026-11-02\n", "6:5", "needs the field region"},
		{"answer without a day", "flags:\n  - ask: hernia\n    answer: \"no\"\n", "6:5", "needs its day"},
		{"answered twice", "flags:\n  - ask: hernia\n    answer: \"no\"\n    on: 2026-11-02\n  - ask: hernia\n    answer: \"yes\"\n    on: 2026-11-03\n    side: left\n", "9:10", "answered twice"},
		{"a joint answered twice", "flags:\n" + strings.Repeat("  - ask: joint-locking\n    answer: \"yes\"\n    on: 2026-11-02\n    region: knee\n    side: left\n", 2), "11:10", "answered twice"},
		{"window on a flag", "flags:\n  - ask: hernia\n    answer: \"yes\"\n    on: 2026-11-02\n    cleared:\n" + word + "      pain-window: 0-5\n", "13:20", "Achilles tendon"},
		{"window on the screening", "clearance:\n  intensity: light\n  cleared:\n    by: Dr\n    on: 2026-11-02\n    says: fine\n    pain-window: 0-5\n", "11:18", "Achilles tendon"},
		{"word that ended before", "flags:\n  - ask: hernia\n    answer: \"yes\"\n    on: 2026-11-02\n    cleared:\n" + word + "      until: 2026-11-01\n", "13:14", "before it was given"},
		{"restriction of two things", restriction + "    exercise: squat\n    region: knee\n", "6:5", "names 2"},
		{"restriction of nothing", restriction, "6:5", "names 0"},
		{"restriction twice", restriction + "    region: knee\n  - id: r\n    by: coach\n    on: 2026-11-02\n    region: hip\n", "10:9", "twice"},
		{"restriction that ended before", restriction + "    region: knee\n    until: 2026-11-01\n", "10:12", "before it was given"},
		{"range of no joint", restriction + "    exercise: squat\n    range: neck 0-60\n", "10:12", "write a joint"},
		{"pain of 11", pain + "    during: 11\n", "9:13", "0 to 10"},
		{"pain below none", pain + "    morning: -1\n", "9:14", "0 to 10"},
		{"pain that is no number", pain + "    during: .nan\n", "9:13", ""},
		{"pain without its side", "pain:\n  - place: knee\n    on: 2026-11-02\n", "6:5", "left, right or both"},
		{"pain with a side of the trunk", "pain:\n  - place: low-back\n    on: 2026-11-02\n    side: left\n", "8:11", "has no side"},
		{"pain settled before", pain + "    settled: 2026-11-01\n", "9:14", "before it was reported"},
		{"window at a knee", pain + "    word:\n" + word + "      pain-window: 0-5\n", "13:20", "Achilles tendon only"},
		{"intensity of a pain", pain + "    word:\n" + word + "      intensity: light\n", "13:18", "under clearance"},
		{"slot that is not named", "kept:\n  - code: restriction\n    scope: slot\n    why: so\n    by: Ida\n    on: 2026-11-02\n", "6:5", "names the slot"},
		{"kept until before", "kept:\n  - code: restriction\n    scope: client\n    why: so\n    by: Ida\n    on: 2026-11-02\n    until: 2026-11-01\n", "11:12", "before it was taken"},
	} {
		c, err := Read("c.yaml", []byte(head+x.src), someNames)
		var r *form.Refusal
		if c != nil || !errors.As(err, &r) {
			t.Errorf("%s: read, %v", x.name, err)
			continue
		}
		if p := r.Problems[0]; fmt.Sprintf("%d:%d", p.Line, p.Column) != x.at || !strings.Contains(p.String(), x.says) || len(r.Problems) != 1 {
			t.Errorf("%s: want %s and %q, got %d problems:\n%v", x.name, x.at, x.says, len(r.Problems), err)
		}
	}
}

// Ensure that what may stand together is read: one question for two joints, pain of
// both sides, a window for the Achilles tendon.
func TestAllowed(t *testing.T) {
	for _, src := range []string{
		"", "flags:\n  - ask: joint-locking\n    answer: \"yes\"\n    on: 2026-11-02\n    region: knee\n    side: left\n  - ask: joint-locking\n    answer: \"yes\"\n    on: 2026-11-02\n    region: knee\n    side: right\n",
		"flags:\n  - ask: hernia\n    answer: not asked\n",
		"pain:\n  - place: achilles-tendon\n    side: both\n    on: 2026-11-02\n    during: 4.5\n    word:\n      by: Dr\n      on: 2026-11-01\n      says: load it\n      pain-window: 0-5\n",
		"kept:\n  - code: restriction\n    scope: slot\n    at: s1\n    why: so\n    by: Ida\n    on: 2026-11-02\n",
	} {
		if _, err := Read("c.yaml", []byte(head+src), someNames); err != nil {
			t.Errorf("%s\n%v", src, err)
		}
	}
	c, err := Read("c.yaml", []byte(head+"lifts:\n  - on: 2026-11-02\n    exercise: squat\n    reps: 3\n"), someNames)
	if err != nil || c.Lifts[0].Exercise != "back-squat" {
		t.Errorf("an exercise by its name: %v, %v", c, err)
	}
}

// FuzzRead reads any bytes as a client file: they are refused with a place and no
// client, or give a client that reads back the same from what is written of it and
// whose places list their loads without panic.
func FuzzRead(f *testing.F) {
	names, err := fs.Glob(examples.Files, "*-client.yaml")
	if err != nil || len(names) == 0 {
		f.Fatal("no examples: ", err)
	}
	for _, n := range names {
		src, err := fs.ReadFile(examples.Files, n)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	for _, s := range []string{"", head, head + "flags: [{ask: hernia}]\n", head + "places: [{id: p, name: p, stacks: [{for: [cable], start: 1999 kg, step: 3 kg, to: 2000 kg, add: 2000 kg}]}]\n",
		head + "pain: [{place: knee, side: both, on: 2026-11-02, during: .inf}]\n", head + "restrictions: [{id: r, by: coach, on: 2026-11-02, exercise: nothing}]\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		c, err := Read("c.yaml", src, someNames)
		if err != nil {
			var r *form.Refusal
			if c != nil || !errors.As(err, &r) || len(r.Problems) == 0 {
				t.Fatalf("half read: %v, %v", c, err)
			}
			return
		}
		if len(src) < 20_000 {
			for i := range c.Places {
				p := &c.Places[i]
				for _, b := range p.Bars {
					p.BarLoads(b.Kind)
				}
				p.DumbbellLoads()
				p.StackLoads("cable")
			}
		}
		written := form.Write(c)
		again, err := Read("c.yaml", written, someNames)
		if err != nil {
			t.Fatalf("%v\n%s", err, written)
		}
		if string(form.Write(again)) != string(written) {
			t.Fatalf("%s\nreads back as\n%s", written, form.Write(again))
		}
	})
}

// Ensure that a decision and a word hold from their first to their last day, and
// that a word counts before it was given.
func TestHolds(t *testing.T) {
	d := func(s string) form.Date {
		x, err := form.ParseDate(s)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	k := Kept{On: d("2026-11-02"), Until: d("2026-11-30")}
	r := Restriction{On: d("2026-11-02"), Until: d("2026-11-30")}
	w := &Word{On: d("2026-11-02"), Until: d("2026-11-30")}
	share := ShareByCoach{Until: d("2026-11-30")}
	for day, in := range map[string]bool{"2026-11-01": false, "2026-11-02": true, "2026-11-30": true, "2026-12-01": false} {
		early := day == "2026-11-01"
		if k.Holds(d(day)) != in || r.Holds(d(day)) != in || w.Holds(d(day)) != (in || early) || share.Holds(d(day)) != (in || early) {
			t.Errorf("%s: kept %v, restriction %v, word %v, share %v", day, k.Holds(d(day)), r.Holds(d(day)), w.Holds(d(day)), share.Holds(d(day)))
		}
	}
	k.Until, r.Until, w.Until, share.Until = form.Date{}, form.Date{}, form.Date{}, form.Date{}
	if far := d("2099-01-01"); !k.Holds(far) || !r.Holds(far) || !w.Holds(far) || !share.Holds(far) {
		t.Error("without a last day it ends")
	}
	if w = nil; w.Holds(d("2026-11-02")) {
		t.Error("no word holds")
	}
}

// Ensure over random bands and ranges that what is printed reads back the same, and
// that what is no band or range is refused.
func TestBandsAndRanges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := float64(rapid.IntRange(0, 1000).Draw(t, "low")) / 10
		high := float64(rapid.IntRange(int(low*10), 1000).Draw(t, "high")) / 10
		b := Band{low, high}
		var back Band
		if err := back.UnmarshalText([]byte(b.String())); err != nil || back != b {
			t.Fatalf("%v prints as %s, reads back as %v, %v", b, b, back, err)
		}
		from := float64(rapid.IntRange(0, 1799).Draw(t, "from")) / 10
		r := Range{Joint(rapid.SampledFrom(Joint("").Values()).Draw(t, "joint")), from, float64(rapid.IntRange(int(from*10)+1, 1800).Draw(t, "to")) / 10}
		var again Range
		if err := again.UnmarshalText([]byte(r.String())); err != nil || again != r {
			t.Fatalf("%v prints as %s, reads back as %v, %v", r, r, again, err)
		}
		other := Range{r.Joint, r.From - 1, r.To + 1}
		if !r.Inside(r) || !r.Inside(other) || other.Inside(r) {
			t.Fatalf("%v in %v", r, other)
		}
	})
	for _, s := range []string{"6-9", "6 - 9", "6–9", "6", " 6-9 "} {
		var b Band
		if err := b.UnmarshalText([]byte(s)); err != nil || b.Low != 6 {
			t.Errorf("%q: %v, %v", s, b, err)
		}
	}
	for _, s := range []string{"", "-", "6-", "-6", "6-9-12", "9-6", "101", "0-101", "nan", "6-nan", "inf", "six", "6,5"} {
		if err := new(Band).UnmarshalText([]byte(s)); err == nil {
			t.Errorf("band %q was read", s)
		}
	}
	for _, s := range []string{"knee 0-60 deg", "knee 0-60", "knee 0–60°", "knee  0-60  deg"} {
		var r Range
		if err := r.UnmarshalText([]byte(s)); err != nil || r != (Range{"knee", 0, 60}) {
			t.Errorf("%q: %v, %v", s, r, err)
		}
	}
	for _, s := range []string{"", "knee", "knee 60", "knee 60-0", "knee 0-181", "knee -5-60", "toe 0-60", "knee 0-60 rad", "knee 0-nan", "0-60 knee", "knee 30-30"} {
		if err := new(Range).UnmarshalText([]byte(s)); err == nil {
			t.Errorf("range %q was read", s)
		}
	}
}

// Ensure that every question belongs to a group, names a source, and that what the
// lists refer to is there.
func TestQuestionsHoldTogether(t *testing.T) {
	ids := questionIDs()
	if sorted := slices.Sorted(slices.Values(ids)); len(slices.Compact(sorted)) != len(ids) {
		t.Error("an id names two questions or groups")
	}
	for _, q := range Asking.Questions {
		if GroupByID(string(q.Group)) == nil || q.OnlyIf != "" && QuestionByID(q.OnlyIf) == nil || q.Kind == "" || q.Source == "" {
			t.Errorf("%s: group %q, only if %q, source %q", q.ID, q.Group, q.OnlyIf, q.Source)
		}
		if q.Kind == RedFlag && q.Region == "" {
			t.Errorf("%s: a red flag without a region", q.ID)
		}
	}
	if len(Asking.Clearance) != 4 {
		t.Errorf("%d questions of the screening", len(Asking.Clearance))
	}
}
