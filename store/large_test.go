package store

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// Ensure that notes of 10,000 characters, emoji, text from right to left, names of 80
// characters and a block of 12 sessions of 15 slots are stored, changed, taken back,
// packed and verified letter for letter.
func TestLarge(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		name := strings.TrimSpace(strings.Repeat("Wilhelmine Ö. ", 6))[:80]
		for i, note := range []string{strings.Repeat("abcdefghi ", 1000), strings.Repeat("🏋️‍♀️ ", 1400), "שלום, לאט למטה. " + strings.Repeat("ارفع ببطء. ", 200),
			"line one\nline two: \"quoted\" # no comment\n- no list\n  indented", "<script>alert(1)</script>'; drop table docs; --"} {
			_, err := p.EditClient(t.Context(), coach, "rosa-l", "wrote", fmt.Sprintf("large-note-000-%04d", i), func(c *client.Client) error {
				c.Note, c.Name = note, name
				return nil
			})
			if err != nil {
				t.Fatal(i, err)
			}
			who, err := p.Person(t.Context(), coach, "rosa-l")
			if err != nil || who.Client.Note != note || who.Client.Name != name {
				t.Errorf("note %d came back as %.60q, %v", i, who.Client.Note, err)
			}
		}
		if _, err := p.Edit(t.Context(), coach, "rosa-b2", "made it large", "large-block-0000001", func(b *plan.Block) error {
			one := b.Sessions[1]
			b.Sessions = nil
			for i := range 12 {
				s := one
				s.ID, s.Slots = form.ID(fmt.Sprintf("s%d", i)), nil
				for j := range 15 {
					x := one.Slots[1]
					x.ID, x.Note = form.ID(fmt.Sprintf("s%d-%d", i, j)), "🏋️‍♀️ "+strings.Repeat("slow ", 20)
					s.Slots = append(s.Slots, x)
				}
				b.Sessions = append(b.Sessions, s)
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		if c, err := p.Open(t.Context(), coach, "rosa-b2"); err != nil || slots(c.Block) != 180 {
			t.Fatalf("the large block: %v", err)
		}
		if _, err := p.Pack(t.Context(), coach, ""); err != nil {
			t.Error(err)
		}
		if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
			t.Error(wrong, err)
		}
		if out, err := p.Undo(t.Context(), coach, practice.BlockDoc, "rosa-b2", "large-undo-00000001"); err != nil || !strings.Contains(out.Doc.Text, "hex-bar-deadlift") {
			t.Errorf("taken back: %v", err)
		}
	})
}

// Ensure that a workbook somebody filled in is recorded as one change that is taken back
// at once, that the same one again records nothing, that what was recorded before stays,
// and that a cell that cannot be read is named.
func TestTakeWorkbook(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		frozen, err := p.HandOver(t.Context(), coach, "rosa-b2", "hand-000000000000001")
		if err != nil {
			t.Fatal(err)
		}
		book, _, err := p.FrozenAs(t.Context(), coach, frozen.Code, "xlsx")
		if err != nil {
			t.Fatal(err)
		}
		before, err := p.Doc(t.Context(), coach, practice.LogDoc, "rosa-l")
		if err != nil {
			t.Fatal(err)
		}
		sets := func() (n int) {
			c, err := p.Open(t.Context(), coach, "rosa-b2")
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range c.Log.Entries {
				n += len(e.Sets)
			}
			return n
		}
		had := sets()
		for i, x := range []struct {
			cells        map[string]string
			took, unread int
		}{
			{map[string]string{"H6": "12", "I6": "3"}, 1, 0},
			{map[string]string{"H6": "12", "I6": "3"}, 0, 0},
			{map[string]string{"H6": "12", "I6": "3", "H7": "12", "H8": "twelve"}, 1, 1},
		} {
			n, unread, err := p.TakeWorkbook(t.Context(), coach, "rosa-b2", typed(t, book, "Legs, one at a time", x.cells), fmt.Sprintf("workbook-0000-%04d", i))
			if err != nil || n != x.took || len(unread) != x.unread {
				t.Errorf("workbook %d: %d sets, %v, %v", i, n, unread, err)
			}
		}
		if sets() != had+2 {
			t.Errorf("%d sets, want two more than %d", sets(), had)
		}
		for i := range 2 {
			if _, err := p.Undo(t.Context(), coach, practice.LogDoc, "rosa-l", fmt.Sprintf("workbook-back-%04d", i)); err != nil {
				t.Fatal(err)
			}
		}
		if after, err := p.Doc(t.Context(), coach, practice.LogDoc, "rosa-l"); err != nil || after.Text != before.Text {
			t.Errorf("taken back to another log: %v", err)
		}
		if _, _, err := p.TakeWorkbook(t.Context(), coach, "rosa-b2", []byte("no workbook"), "workbook-bad-00001"); practice.ReasonOf(err) != practice.Refused {
			t.Errorf("no workbook: %v", err)
		}
	})
}

// typed types into cells of a workbook.
func typed(t *testing.T, book []byte, tab string, cells map[string]string) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(book))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for at, v := range cells {
		if err := f.SetCellStr(tab, at, v); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
