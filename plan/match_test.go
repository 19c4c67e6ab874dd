package plan_test

import (
	"fmt"
	"testing"

	"corbel/exercise"
	"corbel/form"
	"corbel/plan"

	"pgregory.net/rapid"
)

// blockOf returns the source of a block of sessions times slots, a different
// exercise in each slot, and the exercises by slot.
func blockOf(sessions, slots int) (src string, held map[form.ID]string) {
	held = map[form.ID]string{}
	all := exercise.Shipped.All()
	src = "form: 1\nid: match\nname: A block\nclient: client.yaml\nstart: 2026-11-30\nweeks: 4\nstate: running\nrevision: 1\nsessions:\n"
	for i := range sessions {
		src += fmt.Sprintf("  - id: session-%d\n    name: Session %d\n    day: mon\n    place: home\n    slots:\n", i, i)
		for j := range slots {
			id := form.ID(fmt.Sprintf("slot-%d-%d", i, j))
			held[id] = string(all[i*slots+j].ID)
			src += fmt.Sprintf("      - id: %s\n        exercise: %s\n        dose: 3 x 8 @ 60 kg rir 2, warm-up 8 @ 30 kg\n        progress: +2.5 kg a week\n        rest: 2:00\n", id, held[id])
		}
	}
	return src, held
}

// firstWeek returns the log of a week in which every set was done as written.
func firstWeek(b *plan.Block) *plan.Log {
	l := &plan.Log{Form: 1, Client: "somebody"}
	for i := range b.Sessions {
		s := &b.Sessions[i]
		e := plan.Entry{Block: b.ID, Revision: b.Revision, Session: s.ID, Week: 1, On: b.Date(s, 1)}
		for _, slot := range s.Slots {
			for n := range b.DoseIn(&slot, 1).Count() {
				e.Sets = append(e.Sets, plan.SetLog{Slot: slot.ID, Set: n + 1})
			}
		}
		l.Entries = append(l.Entries, e)
	}
	return l
}

// matched returns the exercise each logged set was of, by slot, and refuses
// lines without a slot or out of order.
func matched(t interface{ Fatalf(string, ...any) }, b *plan.Block, l *plan.Log) map[form.ID]string {
	done := map[form.ID]string{}
	lines, n := b.Match(l), 0
	for i := range l.Entries {
		for j := range l.Entries[i].Sets {
			line := lines[n]
			n++
			if line.Entry != &l.Entries[i] || line.Set != &l.Entries[i].Sets[j] {
				t.Fatalf("line %d is another set than the log holds there", n)
			}
			if line.Slot == nil || line.Session == nil || line.Slot.ID != line.Set.Slot {
				t.Fatalf("line %d: slot %s was not found", n, line.Set.Slot)
			}
			done[line.Set.Slot] = line.Exercise
		}
	}
	if n != len(lines) {
		t.Fatalf("%d lines match, the log has %d", len(lines), n)
	}
	return done
}

// swap puts another exercise into a slot of a new revision and records the old
// one.
func swap(b *plan.Block, id form.ID, exercise string) {
	b.Revision++
	_, s := b.SlotByID(id)
	s.Was = append(s.Was, plan.Was{Exercise: s.Exercise, To: b.Revision - 1})
	s.Exercise = exercise
}

// Ensure that the log of the first week still says what was really done after
// sessions and slots were reordered and renamed, a slot went to another session
// and one exercise was swapped; and that a log of the new revision says the new
// exercise.
func TestMatchAfterRework(t *testing.T) {
	src, held := blockOf(3, 4)
	b := mustBlock(t, src)
	l := firstWeek(b)
	if len(b.Match(l)) != 3*4*3 {
		t.Fatalf("%d lines match, want 36", len(b.Match(l)))
	}
	// last session first, slots backwards, other names
	b.Sessions[0], b.Sessions[2] = b.Sessions[2], b.Sessions[0]
	for i := range b.Sessions {
		s := &b.Sessions[i]
		s.Name = "Renamed " + s.Name
		for j, k := 0, len(s.Slots)-1; j < k; j, k = j+1, k-1 {
			s.Slots[j], s.Slots[k] = s.Slots[k], s.Slots[j]
		}
	}
	moved := b.Sessions[0].Slots[0]
	b.Sessions[0].Slots = b.Sessions[0].Slots[1:]
	b.Sessions[1].Slots = append(b.Sessions[1].Slots, moved)
	swap(b, "slot-1-2", "plank")
	b = mustBlock(t, string(form.Write(b)))
	for id, exercise := range matched(t, b, l) {
		if exercise != held[id] {
			t.Errorf("slot %s: got %s, want %s", id, exercise, held[id])
		}
	}
	next := firstWeek(b)
	if got := matched(t, b, next)["slot-1-2"]; got != "plank" {
		t.Errorf("a log of revision %d says %s, want plank", b.Revision, got)
	}
}

// Ensure that a set says the exercise that stands in its own line first, then
// the one a change had swapped in on that day, then the one of the slot.
func TestMatchKnowsWhatWasSwappedThatDay(t *testing.T) {
	src, held := blockOf(1, 2)
	b := mustBlock(t, src+`changes:
  - id: bar-lent-out
    on: 2026-12-07
    until: 2026-12-13
    by: coach
    why: the bar was lent out
    scope: slot
    slot: slot-0-0
    do: swap
    exercise: goblet squat
`)
	day := func(text string) form.Date {
		d, err := form.ParseDate(text)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	l := &plan.Log{Entries: []plan.Entry{
		{Block: "match", Revision: 1, Week: 1, On: day("2026-12-06"), Sets: []plan.SetLog{{Slot: "slot-0-0", Set: 1}}},
		{Block: "match", Revision: 1, Week: 2, On: day("2026-12-07"), Sets: []plan.SetLog{{Slot: "slot-0-0", Set: 1}, {Slot: "slot-0-1", Set: 1}, {Slot: "slot-0-0", Set: 2, Exercise: "plank"}}},
		{Block: "match", Revision: 1, Week: 3, On: day("2026-12-14"), Sets: []plan.SetLog{{Slot: "slot-0-0", Set: 1}, {Slot: "gone", Set: 1}}},
		{Block: "another", Revision: 1, Week: 3, On: day("2026-12-14"), Sets: []plan.SetLog{{Slot: "slot-0-0", Set: 1}}},
	}}
	want := []string{held["slot-0-0"], "goblet-squat", held["slot-0-1"], "plank", held["slot-0-0"], ""}
	lines := b.Match(l)
	if len(lines) != len(want) {
		t.Fatalf("%d lines, want %d: entries of other blocks are left out", len(lines), len(want))
	}
	for i, line := range lines {
		if line.Exercise != want[i] {
			t.Errorf("line %d: got %q, want %q", i, line.Exercise, want[i])
		}
	}
	if lines[5].Slot != nil || lines[5].Session != nil {
		t.Error("a slot that is gone was found")
	}
}

// Any order of sessions and slots, any renaming and any chain of swaps leaves
// the log of each revision with the exercises of its day.
func TestMatchUnderPermutations(t *testing.T) {
	src, held := blockOf(3, 4)
	rapid.Check(t, func(t *rapid.T) {
		b, err := plan.ReadBlock("block.yaml", []byte(src), exercise.Shipped.Name)
		if err != nil {
			t.Fatal(err)
		}
		type past struct {
			log  *plan.Log
			held map[form.ID]string
		}
		now := map[form.ID]string{}
		for id, e := range held {
			now[id] = e
		}
		var kept []past
		for range rapid.IntRange(1, 4).Draw(t, "revisions") {
			was := map[form.ID]string{}
			for id, e := range now {
				was[id] = e
			}
			kept = append(kept, past{firstWeek(b), was})
			shuffle(t, b)
			id := rapid.SampledFrom([]form.ID{"slot-0-0", "slot-1-3", "slot-2-2"}).Draw(t, "slot")
			now[id] = rapid.SampledFrom([]string{"plank", "dip", "fly", "good-morning"}).Draw(t, "exercise")
			swap(b, id, now[id])
		}
		kept = append(kept, past{firstWeek(b), now})
		for _, p := range kept {
			for id, e := range matched(t, b, p.log) {
				if e != p.held[id] {
					t.Fatalf("slot %s in the log of revision %d: got %s, want %s", id, p.log.Entries[0].Revision, e, p.held[id])
				}
			}
		}
	})
}

// shuffle deals all slots anew to renamed sessions in a new order.
func shuffle(t *rapid.T, b *plan.Block) {
	var slots []plan.Slot
	for _, s := range b.Sessions {
		slots = append(slots, s.Slots...)
	}
	slots = rapid.Permutation(slots).Draw(t, "slots")
	b.Sessions = rapid.Permutation(b.Sessions).Draw(t, "sessions")
	for i := range b.Sessions {
		b.Sessions[i].Name = rapid.SampledFrom([]string{"Push", "Pull", "Legs"}).Draw(t, "name")
		b.Sessions[i].Slots = append([]plan.Slot(nil), slots[4*i:4*i+4]...)
	}
}

// The dose of a heavy day with everything in it.
const fullDose = "3,3,2,2 @ 75,80,82.5,85% of back squat rir 3,2,2,1, warm-up 8 @ 40%, 5 @ 60%, rest 3:00, tempo 3-1-2 lower-pause-lift, measure: reps both sides, rating"

// How long one dose takes to read.
func BenchmarkParseDose(b *testing.B) {
	for _, c := range []struct{ name, text string }{{"short", "4 x 4 @ 72%"}, {"full", fullDose}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := plan.ParseDose(c.text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// How long a block of 6 sessions with 8 slots each takes to read.
func BenchmarkReadBlock(b *testing.B) {
	src, _ := blockOf(6, 8)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := plan.ReadBlock("block.yaml", []byte(src), exercise.Shipped.Name); err != nil {
			b.Fatal(err)
		}
	}
}
