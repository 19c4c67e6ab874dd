package practice_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"corbel/client"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// canonical returns an example as its form is written, and how to read it so again.
func canonical(t testing.TB, name string) (string, func(string) string) {
	t.Helper()
	read := func(text string) string {
		var v any
		var err error
		switch {
		case strings.HasSuffix(name, "-client.yaml"):
			v, err = client.Read(name, []byte(text), exercise.Shipped.Name)
		case strings.HasSuffix(name, "-block.yaml"):
			v, err = plan.ReadBlock(name, []byte(text), exercise.Shipped.Name)
		default:
			v, err = plan.ReadLog(name, []byte(text), exercise.Shipped.Name)
		}
		if err != nil {
			t.Fatalf("%v in\n%s", err, text)
		}
		return string(form.Write(v))
	}
	src, err := examples.Files.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return read(string(src)), read
}

var exampleDocs = []string{"rosa-client.yaml", "rosa-block.yaml", "rosa-log.yaml", "tomas-client.yaml", "tomas-block.yaml", "mila-client.yaml", "mila-block.yaml"}

// Ensure that a document taken apart and put together again is the same, letter for
// letter, and that each slot has its dose at a place of its own.
func TestApartAndTogether(t *testing.T) {
	for _, name := range exampleDocs {
		text, read := canonical(t, name)
		f := practice.TakeApart(text)
		if got := read(f.Text()); got != text {
			t.Errorf("%s: %s", name, cmp.Diff(text, got))
		}
	}
	text, _ := canonical(t, "rosa-block.yaml")
	if got := practice.TakeApart(text)["sessions[a].slots[a2].progress"]; got != "\"+1 % a week\"" && got != "+1 % a week" {
		t.Errorf("the rule of slot a2 is %q", got)
	}
}

// Ensure that the difference of two documents, merged, gives the second, and its
// inverse gives the first back.
func TestDiffMergeInverse(t *testing.T) {
	for _, kind := range []string{"-client.yaml", "-block.yaml"} {
		a, _ := canonical(t, "rosa"+kind)
		b, _ := canonical(t, "tomas"+kind)
		before, after := practice.TakeApart(a), practice.TakeApart(b)
		edits := practice.Diff(before, after)
		got, clashes := practice.Merge(before, edits)
		if len(clashes) > 0 || !cmp.Equal(got, after) {
			t.Errorf("%s: %v %s", kind, clashes, cmp.Diff(after, got))
		}
		back, clashes := practice.Merge(after, practice.Inverse(edits))
		if len(clashes) > 0 || !cmp.Equal(back, before) {
			t.Errorf("%s back: %v %s", kind, clashes, cmp.Diff(before, back))
		}
	}
}

// Ensure the law of merging over drawn edits of two people: edits of different
// fields give the same in either order and lose nothing; different edits of the
// same field clash, name it, and change nothing.
func TestMergeLaw(t *testing.T) {
	text, _ := canonical(t, "rosa-block.yaml")
	base := practice.TakeApart(text)
	var doses []string
	for place := range base {
		if strings.HasSuffix(place, ".dose") {
			doses = append(doses, place)
		}
	}
	slices.Sort(doses)
	rapid.Check(t, func(t *rapid.T) {
		draw := func(who string) []practice.Edit {
			var out []practice.Edit
			for _, at := range rapid.SliceOfNDistinct(rapid.SampledFrom(doses), 1, 4, rapid.ID).Draw(t, who) {
				out = append(out, practice.Edit{At: at, Was: base[at], To: rapid.SampledFrom([]string{"3 x 5", "2 x 8", "4 x 6"}).Draw(t, "dose")})
			}
			return out
		}
		mine, theirs := draw("mine"), draw("theirs")
		differ := ""
		for _, m := range mine {
			for _, o := range theirs {
				if m.At == o.At && m.To != o.To {
					differ = m.At
				}
			}
		}
		first, _ := practice.Merge(base, theirs)
		both, clashes := practice.Merge(first, mine)
		if differ != "" {
			if len(clashes) == 0 || !cmp.Equal(both, first) {
				t.Fatalf("%s was changed by both: clashes %v", differ, clashes)
			}
			return
		}
		other, _ := practice.Merge(base, mine)
		swapped, more := practice.Merge(other, theirs)
		if len(clashes)+len(more) > 0 || !cmp.Equal(both, swapped) {
			t.Fatalf("clashes %v %v, %s", clashes, more, cmp.Diff(both, swapped))
		}
		for _, e := range append(mine, theirs...) {
			if both[e.At] != e.To {
				t.Fatalf("%s lost %q", e.At, e.To)
			}
		}
	})
}

// Ensure that two people may add, take out and move different slots of a session,
// and clash where both move them.
func TestMergeOrder(t *testing.T) {
	const at = "sessions[a].slots.#order"
	for _, c := range []struct{ was, mine, theirs, want string }{
		{"a b c", "a x b c", "a b c y", "a x b c y"},
		{"a b c", "a c", "a b c y", "a c y"},
		{"a b c", "c a b", "a b c y", "c y a b"},
		{"a b c", "a b c y", "c a b", "c y a b"},
		{"a b c", "c b a", "b a c", ""},
	} {
		now := practice.Fields{at: c.theirs}
		got, clashes := practice.Merge(now, []practice.Edit{{At: at, Was: c.was, To: c.mine}})
		if c.want == "" {
			if len(clashes) != 1 {
				t.Errorf("%q to %q and %q: no clash", c.was, c.mine, c.theirs)
			}
			continue
		}
		gotKeys, wantKeys := strings.Fields(got[at]), strings.Fields(c.want)
		if len(clashes) > 0 || !slices.Equal(gotKeys, wantKeys) {
			t.Errorf("%q to %q and %q: %q, want %q, clashes %v", c.was, c.mine, c.theirs, got[at], c.want, clashes)
		}
	}
}

// Ensure that a field of a slot that somebody took out clashes instead of bringing
// a part of it back.
func TestEditOfGoneSlot(t *testing.T) {
	text, _ := canonical(t, "rosa-block.yaml")
	now := practice.TakeApart(text)
	for place := range now {
		if strings.HasPrefix(place, "sessions[a].slots[a3].") {
			delete(now, place)
		}
	}
	_, clashes := practice.Merge(now, []practice.Edit{{At: "sessions[a].slots[a3].private", To: "watch the knee"}})
	if len(clashes) != 1 {
		t.Errorf("clashes %v, want one", clashes)
	}
}

// Ensure that two people who add to the same list without ids at once lose nothing:
// lifts, measures, findings and reasons of different keys merge, in either order; the
// same key with different values clashes, and changing an entry does not touch the
// others.
func TestMergeLists(t *testing.T) {
	const lift = "  - on: 2026-11-20\n    exercise: push-up\n    reps: 18\n    rir: 1\n"
	const measure = "  - on: 2026-11-20\n    mass: 65 kg\n"
	text, read := canonical(t, "rosa-client.yaml")
	with := func(list, entry string) practice.Fields {
		return practice.TakeApart(read(strings.Replace(text, "\n"+list+":\n", "\n"+list+":\n"+entry, 1)))
	}
	base := practice.TakeApart(text)
	for _, c := range []struct {
		name         string
		mine, theirs practice.Fields
		clash        bool
	}{
		{"two lifts", with("lifts", lift), with("lifts", strings.Replace(lift, "push-up", "dip", 1)), false},
		{"lifts of two days", with("lifts", lift), with("lifts", strings.Replace(lift, "11-20", "11-21", 1)), false},
		{"the same lift", with("lifts", lift), with("lifts", lift), false},
		{"a lift and a measure", with("lifts", lift), with("measures", measure), false},
		{"two measures", with("measures", measure), with("measures", strings.Replace(measure, "11-20", "11-21", 1)), false},
		{"one lift otherwise", with("lifts", lift), with("lifts", strings.Replace(lift, "reps: 18", "reps: 19", 1)), true},
		{"one day weighed twice", with("measures", measure), with("measures", strings.Replace(measure, "65 kg", "66 kg", 1)), true},
	} {
		first, clashes := practice.Merge(base, practice.Diff(base, c.theirs))
		both, more := practice.Merge(first, practice.Diff(base, c.mine))
		if len(clashes) > 0 || (len(more) > 0) != c.clash {
			t.Errorf("%s: clashes %v", c.name, more)
		}
		if c.clash {
			continue
		}
		got := read(both.Text())
		for place, value := range c.mine {
			if after := practice.TakeApart(got)[place]; !strings.HasSuffix(place, "#order") && after != value {
				t.Errorf("%s: my %s is %q, want %q", c.name, place, after, value)
			}
		}
		for place, value := range c.theirs {
			if after := practice.TakeApart(got)[place]; !strings.HasSuffix(place, "#order") && after != value {
				t.Errorf("%s: their %s is %q, want %q", c.name, place, after, value)
			}
		}
	}
}

// Ensure that two lifts of the same day, exercise and side are both kept, each at a
// place of its own.
func TestSameKeyTwice(t *testing.T) {
	const lift = "  - on: 2026-11-20\n    exercise: push-up\n    reps: 18\n"
	text, read := canonical(t, "rosa-client.yaml")
	text = read(strings.Replace(text, "\nlifts:\n", "\nlifts:\n"+lift+strings.Replace(lift, "18", "12", 1), 1))
	f := practice.TakeApart(text)
	if f["lifts[2026-11-20|push-up|].reps"] != "18" || f["lifts[2026-11-20|push-up|~2].reps"] != "12" || read(f.Text()) != text {
		t.Errorf("%q %q", f["lifts[2026-11-20|push-up|].reps"], f["lifts[2026-11-20|push-up|~2].reps"])
	}
}

// Ensure that no place and no value, whoever wrote them, makes putting together or
// merging panic: what comes out is read by its form, which refuses it.
func TestAnyPlaces(t *testing.T) {
	text, _ := canonical(t, "rosa-block.yaml")
	base := practice.TakeApart(text)
	rapid.Check(t, func(t *rapid.T) {
		piece := rapid.SampledFrom([]string{"sessions", "a", "a1", "[", "]", ".", "..", "#order", "[a]", "slots", "dose", "~2", "|", "\n", "- ", ": ", ""})
		draw := func(what string) string {
			return strings.Join(rapid.SliceOfN(piece, 0, 8).Draw(t, what), "")
		}
		var edits []practice.Edit
		for range rapid.IntRange(1, 5).Draw(t, "edits") {
			edits = append(edits, practice.Edit{At: draw("place"), Was: draw("was"), To: draw("to")})
		}
		for _, f := range []practice.Fields{{}, base} {
			if after, clashes := practice.Merge(f, edits); len(clashes) == 0 {
				_, _ = plan.ReadBlock("block", []byte(after.Text()), exercise.Shipped.Name)
			}
			all := practice.Fields{}
			for _, e := range edits {
				all[e.At] = e.To
			}
			_ = all.Text()
		}
	})
}
