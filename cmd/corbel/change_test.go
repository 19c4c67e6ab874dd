package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/unit"
)

// blockIn reads a block file that is known to be right.
func blockIn(t *testing.T, file string) *plan.Block {
	t.Helper()
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	b, err := plan.ReadBlock(file, src, exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// changing runs corbel change on Rosa's block.
func changing(t *testing.T, args ...string) (out, errs string, code int) {
	t.Helper()
	return asked(t, append([]string{"change", "rosa-block.yaml", "--why", "a cold", "-o", "new.yaml"}, args...)...)
}

// withoutCheck cuts off what check finds, which is another test's matter.
func withoutCheck(out string) string {
	for _, head := range []string{"\nChecked again", "\nNeu geprüft"} {
		out, _, _ = strings.Cut(out, head)
	}
	return out
}

func TestChangeGolden(t *testing.T) {
	pause, pain := testdata(t, "change-pause.txt"), testdata(t, "change-pain.de.txt")
	inExamples(t)
	for _, c := range []struct {
		file string
		args []string
	}{
		{pause, []string{"--pause", "2026-12-03..2026-12-13", "--by", "Ida Brandt"}},
		{pain, []string{"--pain", "left-knee", "4", "--since", "2026-12-02", "--language", "de"}},
	} {
		out, errs, code := changing(t, append(c.args, "--force")...)
		if code != exitYes || errs != "" {
			t.Errorf("%q: exit %d, %s", c.args, code, errs)
			continue
		}
		if !strings.Contains(strings.Join(strings.Fields(out), " "), "corbel check new.yaml") {
			t.Errorf("%q: not checked again:\n%s", c.args, out)
		}
		golden(t, c.file, withoutCheck(out))
	}
}

// The written block stays, with its leading comments; the change, the revision
// and nothing else is new.
func TestChangeKeepsTheBlock(t *testing.T) {
	inExamples(t)
	const head = "# Invented.\n\n# By Ida.\n"
	src, err := os.ReadFile("rosa-block.yaml")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(src), "form: 1")
	if err := os.WriteFile("rosa-block.yaml", []byte(head+"\nform: 1 # here"+rest), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, errs, code := changing(t, "--skip", "push and pull"); code != exitYes {
		t.Fatalf("exit %d, %s", code, errs)
	}
	got, err := os.ReadFile("new.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(string(got), head+"form: 1\n") {
		t.Errorf("the comments are gone:\n%.80s", got)
	}
	old, b := blockIn(t, "rosa-block.yaml"), blockIn(t, "new.yaml")
	if len(b.Changes) != 1 || b.Revision != old.Revision+1 {
		t.Fatalf("%d changes, revision %d", len(b.Changes), b.Revision)
	}
	c := b.Changes[0]
	// Rosa's slots are called c1 to c3
	if c.ID != "c4" || c.On.String() != "2026-12-02" || c.Until != c.On || c.Session != "b" || c.Do != "skip" || c.Why != "a cold" || c.By != "coach" {
		t.Errorf("the change is %+v", c)
	}
	b.Changes, b.Revision = old.Changes, old.Revision
	if string(form.Write(b)) != string(form.Write(old)) {
		t.Error("the written block changed")
	}
}

func TestChangeLays(t *testing.T) {
	for _, c := range []struct {
		args    string // split at |
		changes int
		want    string // parts of the output, split at |
	}{
		{"--pause|2026-12-03..09", 1, "under 8: go on as written|Thursday 2026-12-03 to Wednesday 2026-12-09: no training|week 1: nothing more"},
		{"--pause|2026-12-03..2026-12-10", 8, "8 to 21|3 sets of 4 repetitions at 85 % of the 1RM"},
		{"--pause|2026-12-03..2026-12-25", 1, "over 21: test the lifts again|No dose was changed"},
		{"--pause|2026-12-18..2026-12-27", 1, "None of them falls into this block|week 4: nothing more"},
		{"--pause|2026-12-03..2026-12-10|--practice|practice.yaml", 1, "under 10: go on as written"},
		{"--pause|2026-12-03..09|--language|de", 1, "kein Training|Woche 1: nichts mehr"},
		{"--place|hotel|--on|2026-12-07|--until|2026-12-11", 1, "Monday 2026-12-07 to Friday 2026-12-11: in Hotel|Push and pull: 4 exercises, 10 sets, Hotel in Talbruck (changed)"},
		{"--place|Hotel in Talbruck", 1, "from Wednesday 2026-12-02 on: in Hotel in Talbruck"},
		{"--skip|b|--on|2026-12-09", 1, "Wednesday 2026-12-09: Push and pull: left out"},
		{"--skip|a|--until|2026-12-14", 1, "Wednesday 2026-12-02 to Monday 2026-12-14: Legs, pulling from the floor: left out"},
		{"--pain|knee|left|6|--since|2026-12-02", 4, "stops. Refer|Paste under pain: in rosa-client.yaml|- place: knee side: left on: 2026-12-02 during: 6"},
		{"--pain|left-knee 2|--with|sharp", 4, "stops. Refer|features: - sharp"},
		{"--pain|left-knee|2|--worse", 9, "a set fewer|worse: true"},
		{"--pain|low-back|3,5", 12, "low back, 3.5 of 10"},
		{"--pain|left-knee|1", 0, "the work goes on as written|new.yaml is not written"},
		{"--pain|neck|6|--on|2026-12-27", 0, "Nothing left to do in this block loads the place"},
	} {
		inExamples(t)
		travel(t)
		out, errs, code := changing(t, strings.Split(c.args, "|")...)
		if code != exitYes || errs != "" {
			t.Errorf("%s: exit %d, %s", c.args, code, errs)
			continue
		}
		flat := strings.Join(strings.Fields(out), " ")
		for want := range strings.SplitSeq(c.want, "|") {
			if !strings.Contains(flat, want) {
				t.Errorf("%s: no %q in\n%s", c.args, want, out)
			}
		}
		if _, err := os.Stat("new.yaml"); c.changes == 0 && err == nil {
			t.Errorf("%s: a file was written", c.args)
		} else if c.changes > 0 {
			if n := len(blockIn(t, "new.yaml").Changes); n != c.changes {
				t.Errorf("%s: %d changes, want %d\n%s", c.args, n, c.changes, out)
			}
		}
	}
}

// travel gives Rosa a second place and the practice a rule of its own.
func travel(t *testing.T) {
	t.Helper()
	src, err := os.ReadFile("rosa-client.yaml")
	if err != nil {
		t.Fatal(err)
	}
	out := strings.Replace(string(src), "places:\n", "places:\n  - id: hotel\n    name: Hotel in Talbruck\n    has: [mat]\n", 1)
	const practice = "form: 1\npractice: brandt\nreturn:\n  as_written_days: 10\n  lighter_days: 14\n"
	for name, text := range map[string]string{"rosa-client.yaml": out, "practice.yaml": practice} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func TestChangeRefuses(t *testing.T) {
	inExamples(t)
	if err := os.WriteFile("there.yaml", nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ args, want string }{
		{"--by|Ida", "no change is asked for"},
		{"--skip|b|--place|garage", "more than one change"},
		{"--skip|b|--why| ", "--why is empty"},
		{"--skip|b|--by| ", "--by is empty"},
		{"--pause|2026-12-03", "write the first and the last day"},
		{"--pause|2026-12-03..x", "write the first and the last day"},
		{"--pause|2026-12-03..32", "write the first and the last day"},
		{"--pause|2026-12-09..2026-12-03", "it ends on 2026-12-03, before it starts on 2026-12-09"},
		{"--pause|2026-11-09..2026-12-03", "2026-11-09 is outside the block"},
		{"--pause|2026-12-03..2027-01-03", "2027-01-03 is outside the block"},
		{"--pause|2026-12-05..06", "no session is left to do from 2026-12-05 to 2026-12-06"},
		{"--pause|2026-12-03..09|--on|2026-12-03", "leave --on and --until out"},
		{"--pause|2026-12-03..09|--practice|none.yaml", "none.yaml: there is no such file"},
		{"--place|hotel", "Rosa Lindqvist has no such place; there are garage (Garage in Hollerau)"},
		{"--place|garage", `in the place "garage" already`},
		{"--skip|z", `there is no session "z"`},
		{"--skip|b|--on|2026-12-10", "to be done on 2026-12-02, 2026-12-09"},
		{"--skip|b|--on|2026-12-09|--until|2026-12-08", "before it starts"},
		{"--skip|b|--on|2027-01-01", "outside the block"},
		{"--since|2026-12-01|--skip|b", "go with --pain"},
		{"--pain|knee|4", "which side"},
		{"--pain|left-low-back|4", "has no side"},
		{"--pain|left-knoe|4", "there are knee"},
		{"--pain|left-knee", "the level is missing"},
		{"--pain|left-knee|11", "write 0 to 10"},
		{"--pain|left-knee|NaN", "write 0 to 10"},
		{"--pain|4", "the place is missing"},
		{"--pain|left-knee|4|--with|burning", "write sharp"},
		{"--pain|left-knee|4|--on|2026-12-01|--since|2026-12-03", "is before --since"},
		{"--pain|left-knee|4|--since|2027-02-01", "outside the block"},
		{"--skip|b|-o|rosa-block.yaml", "names the block itself"},
		{"--skip|b|-o|there.yaml", "there.yaml exists"},
		{"--skip|b|-o|none/new.yaml", "none/new.yaml"},
		{"--skip|b|--language|fr", "en or de"},
	} {
		out, errs, code := changing(t, strings.Split(c.args, "|")...)
		if code != exitBad || out != "" || !strings.Contains(errs, c.want) {
			t.Errorf("%s: exit %d, %q, %q; want %q", c.args, code, out, errs, c.want)
		}
	}
	for _, c := range [][]string{
		{"change", "none.yaml", "--skip", "b", "--why", "x", "-o", "new.yaml"},
		{"change", "rosa-block.yaml", "--skip", "b", "-o", "new.yaml"},
		{"change", "rosa-block.yaml", "--skip", "b", "--why", "x"},
		{"change", "valley-block.yaml", "--pain", "left-knee", "4", "--why", "x", "-o", "new.yaml"},
	} {
		if _, errs, code := asked(t, c...); code != exitBad || errs == "" {
			t.Errorf("%q: exit %d, %q", c, code, errs)
		}
	}
	if _, err := os.Stat("new.yaml"); err == nil {
		t.Error("a refused change was written")
	}
}

// With --force the block itself may be overwritten; a change over a change keeps
// the first and gives a new id.
func TestChangeOverChange(t *testing.T) {
	inExamples(t)
	for _, skip := range []string{"a", "b"} {
		if _, errs, code := changing(t, "--skip", skip, "-o", "rosa-block.yaml", "--force"); code != exitYes {
			t.Fatalf("exit %d, %s", code, errs)
		}
	}
	b := blockIn(t, "rosa-block.yaml")
	if len(b.Changes) != 2 || b.Changes[0].ID != "c4" || b.Changes[1].ID != "c5" || b.Revision != 5 {
		t.Errorf("revision %d, changes %+v", b.Revision, b.Changes)
	}
}

// A block written to another folder still finds its client, and a group's block
// its group.
func TestChangeInAnotherFolder(t *testing.T) {
	inExamples(t)
	if err := os.Mkdir("later", 0o700); err != nil {
		t.Fatal(err)
	}
	out, errs, code := changing(t, "--skip", "b", "-o", "later/new.yaml")
	if code != exitYes || errs != "" {
		t.Fatalf("exit %d, %s", code, errs)
	}
	if b := blockIn(t, "later/new.yaml"); b.Client != "../rosa-client.yaml" {
		t.Errorf("the client is %q\n%s", b.Client, out)
	}
	group := []string{"change", "valley-block.yaml", "--skip", string(blockIn(t, "valley-block.yaml").Sessions[0].ID), "--why", "hall closed", "-o"}
	out, errs, code = asked(t, append(group, filepath.Join("later", "g1.yaml"))...)
	if code != exitYes || !strings.Contains(out, "Not checked") {
		t.Errorf("exit %d, %s\n%s", code, errs, out)
	}
	out, errs, code = asked(t, append(group, "g2.yaml", "--member", "nadja-member.yaml")...)
	if code != exitYes || !strings.Contains(out, "Checked again") {
		t.Errorf("exit %d, %s\n%s", code, errs, out)
	}
}

func TestPainPlace(t *testing.T) {
	for _, c := range []struct {
		typed string
		place anatomy.Place
		side  anatomy.Side
	}{
		{"left-knee", "knee", anatomy.Left},
		{"knee left", "knee", anatomy.Left},
		{"Right Knee", "knee", anatomy.Right},
		{"both-knee", "knee", anatomy.Both},
		{"low-back", "low-back", anatomy.NoSide},
		{"low back", "low-back", anatomy.NoSide},
		{"front of the thigh left", "front-of-thigh", anatomy.Left},
		{"linkes Knie", "knee", anatomy.Left},
		{"unterer Rücken", "low-back", anatomy.NoSide},
		{"achilles-tendon right", "achilles-tendon", anatomy.Right},
	} {
		place, side, err := painPlace([]string{c.typed})
		if err != nil || place != c.place || side != c.side {
			t.Errorf("%q: %s %s, %v; want %s %s", c.typed, side, place, err, c.side, c.place)
		}
	}
}

func TestPauseDays(t *testing.T) {
	for text, want := range map[string]string{
		"2026-12-03..2026-12-09": "2026-12-03 2026-12-09", "2026-12-03..09": "2026-12-03 2026-12-09",
		"2026-12-03 .. 9": "2026-12-03 2026-12-09", "2026-12-30..2027-01-02": "2026-12-30 2027-01-02",
	} {
		from, to, err := pauseDays(text)
		if got := from.String() + " " + to.String(); err != nil || got != want {
			t.Errorf("%s: %s, %v; want %s", text, got, err, want)
		}
	}
}

func TestRuleOfReturn(t *testing.T) {
	if client.DefaultReturn.AsWritten != 8 || client.DefaultReturn.Lighter != 21 {
		t.Error("the default rule of return differs from product and help")
	}
}

// Ensure that the lighter loads of a return are loads the place has, and none is
// heavier than what the rule gives.
func TestReturnUsesLoadsOfThePlace(t *testing.T) {
	inExamples(t)
	src, err := os.ReadFile("rosa-client.yaml")
	if err != nil {
		t.Fatal(err)
	}
	c, err := client.Read("rosa-client.yaml", src, exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	before := blockIn(t, "rosa-block.yaml")
	if _, errs, code := changing(t, "--pause", "2026-12-03..2026-12-13"); code != exitYes {
		t.Fatal(errs)
	}
	masses := 0
	for _, change := range blockIn(t, "new.yaml").Changes[len(before.Changes):] {
		ses, slot := before.SlotByID(change.Slot)
		if slot == nil || change.Do != "dose" {
			continue
		}
		place := c.PlaceByID(ses.Place)
		e := exercise.Shipped.ByID(slot.Exercise)
		for _, p := range change.Dose.Parts {
			for _, set := range p.Sets {
				if set.Load.Kind != plan.Mass && set.Load.Kind != plan.MassInHand {
					continue
				}
				masses++
				loads := session.Achievable(e, place, set.Load.Kind == plan.MassInHand)
				if !slices.ContainsFunc(loads, func(m unit.Mass) bool { return m.Kilogram() == set.Load.Mass.Kilogram() }) {
					t.Errorf("%s: %s is not a load of %s", slot.ID, set.Load.Mass, place.Name)
				}
			}
		}
	}
	if masses < 5 {
		t.Errorf("only %d masses were laid", masses)
	}
}
