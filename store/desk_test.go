package store

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"corbel/check"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// Ensure that cells typed as texts are stored as typed, that one bad dose refuses
// them all with its place, and that a cell somebody else changed clashes.
func TestType(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		seen := rosa(t, p, coach)
		was := practice.TakeApart(seen.Text)[dose2]
		good := []practice.CellEdit{{Slot: "a2", Field: "dose", Was: was, To: "3 x 5 @ 80% rir 2"}, {Slot: "a2", Field: "weeks.3", To: "2 x 3 @ 90%"}}
		bad := append(slices.Clone(good), practice.CellEdit{Slot: "b1", Field: "weeks.2", To: "3 y 5"})
		if _, err := p.Type(t.Context(), coach, "rosa-b2", "type-0000000000001", seen.Version, bad); practice.ReasonOf(err) != practice.Refused || !strings.Contains(err.Error(), "b1 weeks.2") {
			t.Errorf("a bad dose: %v", err)
		}
		out, err := p.Type(t.Context(), coach, "rosa-b2", "type-0000000000002", seen.Version, good)
		if err != nil {
			t.Fatal(err)
		}
		f := practice.TakeApart(out.Doc.Text)
		if f[dose2] != "3 x 5 @ 80% rir 2" || f["sessions[a].slots[a2].weeks.3"] != "2 x 3 @ 90%" {
			t.Errorf("stored %q and %q", f[dose2], f["sessions[a].slots[a2].weeks.3"])
		}
		good[0].To = "5 x 5"
		if _, err := p.Type(t.Context(), coach, "rosa-b2", "type-0000000000003", seen.Version, good); practice.ReasonOf(err) != practice.Conflict {
			t.Errorf("typed over another's dose: %v", err)
		}
	})
}

// Ensure that a way out is taken once, makes its problem go, and is taken back to the
// letter.
func TestWayOut(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		seen := rosa(t, p, coach)
		if _, err := p.Type(t.Context(), coach, "rosa-b2", "type-0000000000001", seen.Version,
			[]practice.CellEdit{{Slot: "a2", Field: "dose", Was: practice.TakeApart(seen.Text)[dose2], To: "9 x 8 @ 88% rir 2"}}); err != nil {
			t.Fatal(err)
		}
		before := rosa(t, p, coach)
		c, err := p.Open(t.Context(), coach, "rosa-b2")
		if err != nil {
			t.Fatal(err)
		}
		r := p.Check(c, form.English)
		i := slices.IndexFunc(r.Problems, func(x check.Problem) bool { return len(x.Fixes) > 0 && x.At.Slot == "a2" })
		if i < 0 {
			t.Fatal("9 x 8 at 88 % has no problem with a way out")
		}
		fix := check.FixName(c.Block, r.Problems[i].Fixes[0])
		one, err := p.TakeWayOut(t.Context(), coach, "rosa-b2", fix, "fix-00000000000001")
		if err != nil {
			t.Fatal(err)
		}
		if two, err := p.TakeWayOut(t.Context(), coach, "rosa-b2", fix, "fix-00000000000001"); err != nil || two.Made != one.Made {
			t.Errorf("taken again: %v", err)
		}
		back, err := p.Undo(t.Context(), coach, practice.BlockDoc, "rosa-b2", "fix-00000000000002")
		if err != nil {
			t.Fatal(err)
		}
		was, is := practice.TakeApart(before.Text), practice.TakeApart(back.Doc.Text)
		delete(was, "revision")
		delete(is, "revision")
		if d := cmp.Diff(was, is); d != "" {
			t.Error(d)
		}
	})
}

// Ensure that exercises are added with a new id, moved, swapped and taken out, that
// an unknown one is refused with the nearest names, and that undo brings one back
// where it stood.
func TestArrange(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		n := 0
		do := func(what, slot, exercise string) error {
			n++
			_, err := p.Edit(t.Context(), coach, "rosa-b2", what, fmt.Sprintf("arrange-00000000%04d", n), func(b *plan.Block) error {
				return p.Arrange(b, what, form.ID(slot), "a", exercise, "3 x 8 rir 2")
			})
			return err
		}
		order := func() string { return practice.TakeApart(rosa(t, p, coach).Text)["sessions[a].slots.#order"] }
		if err := do("swap", "a2", "hex bar deadlif"); practice.ReasonOf(err) != practice.Refused || !strings.Contains(err.Error(), "hex-bar-deadlift") {
			t.Errorf("an unknown exercise: %v", err)
		}
		for _, x := range [][3]string{{"add", "", "goblet-squat"}, {"up", "a2", ""}, {"swap", "a1", "clamshell"}, {"out", "a3", ""}} {
			if err := do(x[0], x[1], x[2]); err != nil {
				t.Fatal(x, err)
			}
		}
		if got := strings.Fields(order()); len(got) != 4 || got[0] != "a2" || got[1] != "a1" || got[2] != "a4" {
			t.Errorf("the order is %v", got)
		}
		if _, err := p.Undo(t.Context(), coach, practice.BlockDoc, "rosa-b2", "arrange-back-0000001"); err != nil {
			t.Fatal(err)
		}
		if got := strings.Fields(order()); len(got) != 5 || got[2] != "a3" {
			t.Errorf("the order after undo is %v", got)
		}
	})
}

// Ensure that a session is recorded as written with nothing typed, that what was
// typed replaces it, that a bad line names its set and records nothing, and that the
// same session recorded again corrects it.
func TestRecordTyped(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		c, err := p.Open(t.Context(), coach, "rosa-b2")
		if err != nil {
			t.Fatal(err)
		}
		entries := len(c.Log.Entries)
		in := practice.Recorded{Session: "c", Week: 4, Sets: map[string]string{"c1 1 left": "12 kg x"}}
		if err := p.RecordTyped(t.Context(), coach, c, in, "record-000000000001"); practice.ReasonOf(err) != practice.Refused || !strings.Contains(err.Error(), "set 1 left") {
			t.Errorf("a bad line: %v", err)
		}
		in.Sets = map[string]string{"c1 1 left": "10 kg x 9, 2 in reserve", "c3 1 left": "- ran out of time"}
		for i := range 2 {
			if c, err = p.Open(t.Context(), coach, "rosa-b2"); err != nil {
				t.Fatal(err)
			}
			in.Note = fmt.Sprint("note ", i)
			if err := p.RecordTyped(t.Context(), coach, c, in, fmt.Sprintf("record-00000000001%d", i)); err != nil {
				t.Fatal(err)
			}
		}
		if c, err = p.Open(t.Context(), coach, "rosa-b2"); err != nil {
			t.Fatal(err)
		}
		if len(c.Log.Entries) != entries+1 {
			t.Fatalf("%d entries, want one more than %d", len(c.Log.Entries), entries)
		}
		var e plan.Entry
		for _, x := range c.Log.Entries {
			if x.Session == "c" && x.Week == 4 {
				e = x
			}
		}
		if e.Note != "note 1" || len(e.Skipped) != 1 || e.Skipped[0].Why != "ran out of time" || e.Sets[0].Done.String() != "10 kg x 9, 2 in reserve" {
			t.Errorf("recorded %+v", e)
		}
		_, rows, err := p.Sheet(c, "c", 4, form.English)
		if err != nil || e.Sets[1].Done.String() != rows[1].Done || rows[1].Done == "" {
			t.Errorf("a set as written is recorded as %q of %+v, %v", e.Sets[1].Done, rows[1], err)
		}
	})
}

// Ensure that a whole file written over an older version keeps what others changed
// meanwhile, and clashes where both wrote the same field.
func TestRewrite(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		seen := rosa(t, p, coach)
		if _, err := p.Do(t.Context(), coach, dose("first-00000000000001", seen, dose2, "3 x 4 @ 85% rir 2")); err != nil {
			t.Fatal(err)
		}
		mine := strings.Replace(seen.Text, "name: Strong downhill", "name: Strong uphill", 1)
		out, err := p.Rewrite(t.Context(), coach, practice.BlockDoc, "rosa-b2", seen.Version, mine, "rewrite-000000000001")
		if err != nil || out.Doc.Name != "Strong uphill" || practice.TakeApart(out.Doc.Text)[dose2] != "3 x 4 @ 85% rir 2" {
			t.Errorf("%s %v", out.Doc.Name, err)
		}
		mine = strings.Replace(seen.Text, "4 x 4 @ 88% rir 2-3", "5 x 2 @ 90%", 1)
		if _, err := p.Rewrite(t.Context(), coach, practice.BlockDoc, "rosa-b2", seen.Version, mine, "rewrite-000000000002"); practice.ReasonOf(err) != practice.Conflict {
			t.Errorf("both wrote the dose: %v", err)
		}
	})
}

// Ensure that what was handed over is had in every format, by those alone who may
// see its client, and that the list of clients puts those in need first.
func TestFormatsAndClients(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := filled(t, s)
		f, err := p.HandOver(t.Context(), coach, "rosa-b2", "hand-000000000000001")
		if err != nil {
			t.Fatal(err)
		}
		for format, start := range map[string]string{"pdf": "%PDF-", "html": "<!", "xlsx": "PK", "ics": "BEGIN:VCALENDAR", "csv": "", "json": "{"} {
			data, _, err := p.FrozenAs(t.Context(), coach, f.Code, format)
			if err != nil || len(data) < 100 || !strings.HasPrefix(string(data), start) {
				t.Errorf("%s: %d bytes, %v", format, len(data), err)
			}
			if _, _, err := p.FrozenAs(t.Context(), assistant, f.Code, format); practice.ReasonOf(err) != practice.NotFound {
				t.Errorf("%s for an assistant of others: %v", format, err)
			}
		}
		rows, err := p.Clients(t.Context(), coach, "", form.German)
		if err != nil || len(rows) != 2 {
			t.Fatalf("%d clients, %v", len(rows), err)
		}
		if rows, err := p.Clients(t.Context(), coach, "LIND rosa", form.English); err != nil || len(rows) != 1 || rows[0].ID != "rosa-l" {
			t.Errorf("searched: %v %v", rows, err)
		}
		if rows, err := p.Clients(t.Context(), assistant, "rosa", form.English); err != nil || len(rows) != 0 {
			t.Errorf("an assistant finds others' clients: %v %v", rows, err)
		}
	})
}
