package store

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// many fills a practice with clients made from Tomas and Rosa in turn, each with a
// block, and returns their ids.
func many(t testing.TB, p *practice.Practice, coach *practice.Account, n int) []string {
	t.Helper()
	var ids []string
	for i := range n {
		from, block := "rosa-l", "rosa-b2"
		if i%2 == 1 {
			from, block = "tomas-f", "tomas-b1"
		}
		id := fmt.Sprintf("many-%d", i)
		c, err1 := p.Doc(t.Context(), coach, practice.ClientDoc, from)
		b, err2 := p.Doc(t.Context(), coach, practice.BlockDoc, block)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		text := strings.Replace(strings.Replace(c.Text, "id: "+from, "id: "+id, 1), "name: ", fmt.Sprintf("name: %02d ", i), 1)
		_, err1 = p.Put(t.Context(), coach, practice.ClientDoc, "", text, fmt.Sprintf("put-client-00000-%04d", i))
		_, err2 = p.Put(t.Context(), coach, practice.BlockDoc, id, strings.Replace(b.Text, "id: "+block, "id: "+id+"-1", 1), fmt.Sprintf("put-block-000000-%04d", i))
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		ids = append(ids, id)
	}
	return ids
}

// texts returns the blocks of clients without their revisions, as one text.
func texts(t *testing.T, p *practice.Practice, who *practice.Account) string {
	t.Helper()
	docs, err := p.Docs(t.Context(), who, practice.BlockDoc, "")
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, d := range docs {
		f := practice.TakeApart(d.Text)
		delete(f, "revision")
		out = append(out, f.Text())
	}
	return strings.Join(out, "\n")
}

// Ensure that a change of many is previewed without writing, done for all of them as
// previewed, done once when sent twice, and taken back at one go to the letter; and
// that undo after another's change of the same field takes nothing back.
func TestMany(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		ids := many(t, p, coach, 6)
		before := texts(t, p, coach)
		for n, m := range []practice.Many{
			{Do: practice.SwapMany, Exercise: "one-arm-dumbbell-row", To: "seated-cable-row"},
			{Do: practice.NoteMany, Note: "The hall is closed on the eighth."},
			{Do: practice.PauseMany, Pause: practice.Midway{On: day(t, "2026-12-07"), Until: day(t, "2026-12-13"), Why: "holidays"}},
		} {
			m.Clients = ids
			seen, err := p.PreviewMany(t.Context(), coach, m, form.English)
			if err != nil {
				t.Fatal(err)
			}
			if texts(t, p, coach) != before {
				t.Fatalf("%s: the preview wrote", m.Do)
			}
			m.Seen = map[string]int{}
			for _, d := range seen {
				if d.None != "" || len(d.Edits) == 0 {
					t.Errorf("%s of %s: %q, %d edits", m.Do, d.Client, d.None, len(d.Edits))
				}
				m.Seen[d.Client] = d.Version
			}
			id := fmt.Sprintf("many-0000000000-%04d", n)
			if _, err := p.DoMany(t.Context(), coach, m, form.English, id); err != nil {
				t.Fatal(m.Do, err)
			}
			after := texts(t, p, coach)
			if again, err := p.DoMany(t.Context(), coach, m, form.English, id); err != nil || again != nil || texts(t, p, coach) != after {
				t.Errorf("%s sent again: %v", m.Do, err)
			}
			for _, d := range seen {
				doc, err := p.Doc(t.Context(), coach, practice.BlockDoc, d.Block)
				if err != nil {
					t.Fatal(err)
				}
				f := practice.TakeApart(doc.Text)
				for _, e := range d.Edits {
					if f[e.At] != e.To {
						t.Errorf("%s of %s: %s is %q, previewed %q", m.Do, d.Client, e.At, f[e.At], e.To)
					}
				}
			}
			if _, err := p.DoMany(t.Context(), coach, m, form.English, id+"-late"); practice.ReasonOf(err) != practice.Conflict {
				t.Errorf("%s on versions that were seen before: %v", m.Do, err)
			}
			if back, err := p.UndoMany(t.Context(), coach, id, id+"-back"); err != nil || back != len(ids) {
				t.Errorf("%s taken back for %d: %v", m.Do, back, err)
			}
			if texts(t, p, coach) != before {
				t.Errorf("%s: taken back to something else", m.Do)
			}
		}
		m := practice.Many{Do: practice.NoteMany, Note: "One.", Clients: ids}
		if _, err := p.DoMany(t.Context(), coach, m, form.English, "many-1111111111111"); err != nil {
			t.Fatal(err)
		}
		other, err := p.AddAccount(t.Context(), coach, "Lea Moser", "lea@example.org", "a third plain phrase", practice.Coach)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.Edit(t.Context(), other, ids[5]+"-1", "wrote a note", "hers-00000000000001", func(b *plan.Block) error { b.Note = "Two."; return nil }); err != nil {
			t.Fatal(err)
		}
		after := texts(t, p, coach)
		if _, err := p.UndoMany(t.Context(), coach, "many-1111111111111", "many-1111111111112"); practice.ReasonOf(err) != practice.Conflict || !strings.Contains(err.Error(), ids[5]) {
			t.Errorf("undo over another's change: %v", err)
		}
		if texts(t, p, coach) != after {
			t.Error("an undo that clashed took something back")
		}
		if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
			t.Error(wrong, err)
		}
	})
}

// Ensure that a swap to what a place has no equipment for is previewed as a problem
// with ways out, and that assistants change their own clients alone.
func TestManyProblems(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := filled(t, s)
		m := practice.Many{Do: practice.SwapMany, Exercise: "one-arm-dumbbell-row", To: "seated-cable-row", Clients: []string{"rosa-l", "tomas-f"}}
		seen, err := p.PreviewMany(t.Context(), coach, m, form.English)
		if err != nil {
			t.Fatal(err)
		}
		if len(seen[0].Problems) == 0 || len(seen[0].Problems[0].Swaps) == 0 {
			t.Errorf("Rosa's garage has no cable: %+v", seen[0].Problems)
		}
		if slices.ContainsFunc(seen[1].Problems, func(x practice.ManyProblem) bool { return x.Problem.Code == "equipment" }) {
			t.Errorf("Tomas's hall has one: %+v", seen[1].Problems)
		}
		for _, do := range []func() error{
			func() error { _, err := p.PreviewMany(t.Context(), assistant, m, form.English); return err },
			func() error {
				_, err := p.DoMany(t.Context(), assistant, m, form.English, "many-00000000000001")
				return err
			},
		} {
			if err := do(); practice.ReasonOf(err) != practice.NotFound {
				t.Errorf("an assistant with another's client among them: %v", err)
			}
		}
	})
}

// day returns a date that is known to be one.
func day(t testing.TB, text string) form.Date {
	t.Helper()
	d, err := form.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Ensure that a slot, a session, a week and a block go to other clients, with what is
// about the one left out, that re-aimed doses hold no mass, and that a copy is taken
// back.
func TestCopy(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		before := texts(t, p, coach)
		for n, x := range []struct {
			copy     practice.Copy
			new      bool
			sessions int // in the block after, more than before or in all
			slots    int
		}{
			{practice.Copy{Block: "rosa-b2", Slot: "b2"}, false, 0, 1},
			{practice.Copy{Block: "rosa-b2", Session: "b"}, false, 1, 4},
			{practice.Copy{Block: "rosa-b2", Week: 3, Start: day(t, "2026-12-07")}, true, 3, 11},
			{practice.Copy{Block: "rosa-b2", Start: day(t, "2026-12-07")}, true, 3, 11},
			{practice.Copy{Block: "rosa-b2", Session: "c", ReAim: true}, false, 1, 3},
		} {
			m := practice.Many{Do: practice.CopyMany, Clients: []string{"tomas-f"}, Copy: x.copy}
			seen, err := p.PreviewMany(t.Context(), coach, m, form.English)
			if err != nil {
				t.Fatal(n, err)
			}
			id := fmt.Sprintf("copy-0000000000-%04d", n)
			if _, err := p.DoMany(t.Context(), coach, m, form.English, id); err != nil {
				t.Fatal(n, err)
			}
			c, err := p.Open(t.Context(), coach, seen[0].Block)
			if err != nil {
				t.Fatal(n, err)
			}
			old := &plan.Block{}
			if !x.new {
				old = tomasBlock(t, p, coach)
			}
			if got, want := len(c.Block.Sessions), len(old.Sessions)+x.sessions; got != want || x.new != seen[0].New {
				t.Errorf("copy %d: %d sessions, want %d", n, got, want)
			}
			if got, want := slots(c.Block), slots(old)+x.slots; got != want {
				t.Errorf("copy %d: %d slots, want %d", n, got, want)
			}
			for _, word := range []string{"catches up by week 3", "pelvis", "This is the lift we measure you by"} {
				if strings.Contains(c.Doc.Text, word) {
					t.Errorf("copy %d holds %q of Rosa", n, word)
				}
			}
			if x.copy.ReAim {
				last := c.Block.Sessions[len(c.Block.Sessions)-1]
				for _, slot := range last.Slots {
					if strings.Contains(slot.Dose.Canonical(), "kg") || !strings.Contains(slot.Dose.Canonical(), "rir") {
						t.Errorf("re-aimed as %s", slot.Dose.Canonical())
					}
				}
			}
			if _, err := p.UndoMany(t.Context(), coach, id, id+"-back"); err != nil {
				t.Fatal(n, err)
			}
			if texts(t, p, coach) != before {
				t.Errorf("copy %d: taken back to something else", n)
			}
		}
	})
}

// tomasBlock is the block of the examples as it is written.
func tomasBlock(t *testing.T, p *practice.Practice, who *practice.Account) *plan.Block {
	t.Helper()
	text, err := p.TextAt(t.Context(), who, practice.BlockDoc, "tomas-b1", 1)
	if err != nil {
		t.Fatal(err)
	}
	b, err := plan.ReadBlock("block", []byte(text), p.Library.Name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// slots counts the slots of a block.
func slots(b *plan.Block) (n int) {
	for _, s := range b.Sessions {
		n += len(s.Slots)
	}
	return n
}

// Ensure that a session is kept by name without what is about its client, seen by all,
// copied from, and taken out by a coach alone.
func TestOwnSession(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := filled(t, s)
		out, err := p.KeepSession(t.Context(), coach, "rosa-b2", "a", "Legs from the floor", "keep-00000000000001")
		if err != nil {
			t.Fatal(err)
		}
		for _, word := range []string{"rosa", "Rosa", "This is the lift", "left"} {
			if word != "left" && strings.Contains(out.Doc.Text, word) {
				t.Errorf("it holds %q:\n%s", word, out.Doc.Text)
			}
		}
		list, err := p.Docs(t.Context(), assistant, practice.OwnDoc, "")
		if err != nil || len(list) != 1 || list[0].Name != "Legs from the floor" {
			t.Fatalf("%v %v", list, err)
		}
		m := practice.Many{Do: practice.CopyMany, Clients: []string{"tomas-f"}, Copy: practice.Copy{Kept: list[0].ID}}
		if _, err := p.DoMany(t.Context(), assistant, m, form.English, "copy-00000000000001"); err != nil {
			t.Fatal(err)
		}
		c, err := p.Open(t.Context(), assistant, "tomas-b1")
		if err != nil || len(c.Block.Sessions) != 3 || c.Block.Sessions[2].Name != "Legs, pulling from the floor" {
			t.Errorf("copied: %v", err)
		}
		if err := p.DropSession(t.Context(), assistant, list[0].ID); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("an assistant took it out: %v", err)
		}
		if err := p.DropSession(t.Context(), coach, list[0].ID); err != nil {
			t.Fatal(err)
		}
		if list, err := p.Docs(t.Context(), coach, practice.OwnDoc, ""); err != nil || len(list) != 0 {
			t.Errorf("still there: %v %v", list, err)
		}
	})
}

// BenchmarkPreview40 previews a swap for 40 clients.
func BenchmarkPreview40(b *testing.B) {
	p, coach, _ := filled(b, open(b, b.TempDir()))
	m := practice.Many{Do: practice.SwapMany, Exercise: "one-arm-dumbbell-row", To: "seated-cable-row", Clients: many(b, p, coach, 40)}
	for b.Loop() {
		if seen, err := p.PreviewMany(b.Context(), coach, m, form.English); err != nil || len(seen) != 40 {
			b.Fatal(err)
		}
	}
}

// Ensure that many are handed over to at once, that who is stopped is named and keeps
// nobody else waiting, and that what was handed over stays when its mark is taken back.
func TestHandOverMany(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		if _, err := p.EditClient(t.Context(), coach, "tomas-f", "x", "unasked-0000000001", func(c *client.Client) error { c.Flags = nil; return nil }); err != nil {
			t.Fatal(err)
		}
		before := texts(t, p, coach)
		m := practice.Many{Do: practice.HandOverAll, Clients: []string{"tomas-f", "rosa-l"}}
		seen, err := p.PreviewMany(t.Context(), coach, m, form.English)
		if err != nil || len(seen[0].Problems) == 0 || len(seen[1].Problems) != 0 || texts(t, p, coach) != before {
			t.Fatalf("previewed: %+v %v", seen, err)
		}
		done, err := p.DoMany(t.Context(), coach, m, form.English, "hand-many-0000000001")
		if err != nil || !strings.Contains(done[0].None, "stops stand") || done[1].None != "" {
			t.Fatalf("handed over: %q %q %v", done[0].None, done[1].None, err)
		}
		if list, err := p.HandedOver(t.Context(), coach, "rosa-b2"); err != nil || len(list) != 1 {
			t.Errorf("%d sheets, %v", len(list), err)
		}
		if back, err := p.UndoMany(t.Context(), coach, "hand-many-0000000001", "hand-back-0000000001"); err != nil || back != 1 || texts(t, p, coach) != before {
			t.Errorf("taken back for %d: %v", back, err)
		}
		if list, err := p.HandedOver(t.Context(), coach, "rosa-b2"); err != nil || len(list) != 1 {
			t.Errorf("%d sheets after, %v", len(list), err)
		}
	})
}
