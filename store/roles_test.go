package store

import (
	"fmt"
	"testing"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// An operation of the practice on a client: what it is called on, and what must come of
// it for an assistant of others.
type guarded struct {
	name string
	do   func(who *practice.Account, id string) error // id is that of an operation
	want practice.Reason
}

// guardedOperations are all that name a client, block or account of somebody else.
func guardedOperations(t *testing.T, p *practice.Practice, coach *practice.Account, code string) []guarded {
	ctx := t.Context()
	seen, err := p.Open(ctx, coach, "rosa-b2")
	if err != nil {
		t.Fatal(err)
	}
	const no, never = practice.NotFound, practice.Forbidden
	many := func(do practice.ManyKind) practice.Many {
		return practice.Many{Do: do, Clients: []string{"tomas-f", "rosa-l"}, Note: "x", Exercise: "dip", To: "push-up",
			Pause: practice.Midway{On: seen.Block.Start, Until: seen.Block.Start.Plus(3), Why: "x"}, Copy: practice.Copy{Block: "tomas-b1", Slot: "d1"}}
	}
	out := []guarded{
		{"open", func(w *practice.Account, _ string) error { _, err := p.Open(ctx, w, "rosa-b2"); return err }, no},
		{"person", func(w *practice.Account, _ string) error { _, err := p.Person(ctx, w, "rosa-l"); return err }, no},
		{"text", func(w *practice.Account, _ string) error {
			_, err := p.TextAt(ctx, w, practice.ClientDoc, "rosa-l", 1)
			return err
		}, no},
		{"client doc", func(w *practice.Account, _ string) error {
			_, err := p.Doc(ctx, w, practice.ClientDoc, "rosa-l")
			return err
		}, no},
		{"log doc", func(w *practice.Account, _ string) error {
			_, err := p.Doc(ctx, w, practice.LogDoc, "rosa-l")
			return err
		}, no},
		{"practice doc", func(w *practice.Account, _ string) error {
			_, err := p.Doc(ctx, w, practice.PracticeDoc, "house")
			return err
		}, no},
		{"rewrite", func(w *practice.Account, id string) error {
			_, err := p.Rewrite(ctx, w, practice.BlockDoc, "rosa-b2", 1, seen.Doc.Text, id)
			return err
		}, no},
		{"type", func(w *practice.Account, id string) error {
			_, err := p.Type(ctx, w, "rosa-b2", id, 1, []practice.CellEdit{{Slot: "a2", Field: "dose", To: "3 x 5"}})
			return err
		}, no},
		{"edit", func(w *practice.Account, id string) error {
			_, err := p.Edit(ctx, w, "rosa-b2", "x", id, func(b *plan.Block) error { b.Note = "x"; return nil })
			return err
		}, no},
		{"edit client", func(w *practice.Account, id string) error {
			_, err := p.EditClient(ctx, w, "rosa-l", "x", id, func(c *client.Client) error { c.Note = "x"; return nil })
			return err
		}, no},
		{"finding", func(w *practice.Account, id string) error {
			return p.AddFinding(ctx, w, "rosa-l", client.Finding{On: seen.Block.Start, What: "x", Source: "coach"}, id)
		}, no},
		{"answer", func(w *practice.Account, id string) error {
			return p.Answer(ctx, w, "rosa-l", practice.Answers{Groups: []string{"joints"}}, id)
		}, no},
		{"way out", func(w *practice.Account, id string) error {
			_, err := p.TakeWayOut(ctx, w, "rosa-b2", "x", id)
			return err
		}, no},
		{"keep", func(w *practice.Account, id string) error { return p.Keep(ctx, w, "rosa-b2", "x", "because", id) }, no},
		{"midway", func(w *practice.Account, id string) error {
			_, err := p.ChangeMidway(ctx, w, "rosa-b2", many("").Pause, id)
			return err
		}, no},
		{"undo", func(w *practice.Account, id string) error {
			_, err := p.Undo(ctx, w, practice.BlockDoc, "rosa-b2", id)
			return err
		}, no},
		{"hand over", func(w *practice.Account, id string) error { _, err := p.HandOver(ctx, w, "rosa-b2", id); return err }, no},
		{"handed over", func(w *practice.Account, _ string) error { _, err := p.HandedOver(ctx, w, "rosa-b2"); return err }, no},
		{"frozen", func(w *practice.Account, _ string) error { _, _, err := p.FrozenAs(ctx, w, code, "json"); return err }, no},
		{"preview", func(w *practice.Account, _ string) error { _, err := p.Preview(ctx, w, "rosa-b2"); return err }, no},
		{"record", func(w *practice.Account, id string) error {
			_, err := p.Record(ctx, w, "rosa-l", plan.Entry{Block: "rosa-b2", Session: "a", Week: 1, Revision: 1, On: seen.Block.Start}, id)
			return err
		}, no},
		{"record typed", func(w *practice.Account, id string) error {
			return p.RecordTyped(ctx, w, seen, practice.Recorded{Session: "a", Week: 1}, id)
		}, no},
		{"workbook", func(w *practice.Account, id string) error {
			_, _, err := p.TakeWorkbook(ctx, w, "rosa-b2", nil, id)
			return err
		}, no},
		{"begin block", func(w *practice.Account, id string) error {
			_, err := p.BeginBlock(ctx, w, "rosa-l", practice.Begin{Name: "x", Start: seen.Block.Start, Weeks: 4, From: "last"}, id)
			return err
		}, no},
		{"put block", func(w *practice.Account, id string) error {
			_, err := p.Put(ctx, w, practice.BlockDoc, "rosa-l", seen.Doc.Text, id)
			return err
		}, no},
		{"put client", func(w *practice.Account, id string) error {
			_, err := p.Put(ctx, w, practice.ClientDoc, "", rosaClient(t, p, coach), id)
			return err
		}, no},
		{"keep session", func(w *practice.Account, id string) error {
			_, err := p.KeepSession(ctx, w, "rosa-b2", "a", "x", id)
			return err
		}, no},
		{"pack", func(w *practice.Account, _ string) error { _, err := p.Pack(ctx, w, "rosa-l"); return err }, no},
		{"group as member", func(w *practice.Account, _ string) error {
			_, err := p.OpenFor(ctx, w, "valley-w1", "nadja-k")
			return err
		}, no},
		{"group hand over", func(w *practice.Account, id string) error {
			_, err := p.HandOverGroup(ctx, w, "valley-w1", id)
			return err
		}, no},
		{"pack all", func(w *practice.Account, _ string) error { _, err := p.Pack(ctx, w, ""); return err }, never},
		{"unpack", func(w *practice.Account, _ string) error { _, err := p.Unpack(ctx, w, nil); return err }, never},
		{"erase", func(w *practice.Account, _ string) error { return p.Erase(ctx, w, "rosa-l") }, never},
		{"drop session", func(w *practice.Account, _ string) error { return p.DropSession(ctx, w, "s1") }, never},
		{"add account", func(w *practice.Account, _ string) error {
			_, err := p.AddAccount(ctx, w, "X", "x@example.org", "a plain long phrase", practice.Coach)
			return err
		}, never},
		{"access", func(w *practice.Account, _ string) error { return p.SetAccess(ctx, w, w.ID, []string{"rosa-l"}) }, never},
		{"reset", func(w *practice.Account, _ string) error {
			return p.ResetPhrase(ctx, w, coach.ID, "a plain long phrase")
		}, never},
		{"remove", func(w *practice.Account, _ string) error { return p.RemoveAccount(ctx, w, coach.ID) }, never},
	}
	for _, do := range []practice.ManyKind{practice.SwapMany, practice.NoteMany, practice.PauseMany, practice.HandOverAll, practice.CopyMany} {
		out = append(out,
			guarded{"preview " + string(do), func(w *practice.Account, _ string) error {
				_, err := p.PreviewMany(ctx, w, many(do), form.English)
				return err
			}, no},
			guarded{"many " + string(do), func(w *practice.Account, id string) error {
				_, err := p.DoMany(ctx, w, many(do), form.English, id)
				return err
			}, no})
	}
	from := many(practice.CopyMany)
	from.Clients, from.Copy = []string{"tomas-f"}, practice.Copy{Block: "rosa-b2", Slot: "a2"}
	return append(out, guarded{"copy from", func(w *practice.Account, id string) error {
		_, err := p.DoMany(ctx, w, from, form.English, id)
		return err
	}, no})
}

// Ensure that no operation lets an assistant of others at a client: every one is
// refused, and says the same of a foreign id as of one that is not there, and nothing is
// written.
func TestRoles(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := worked(t, s)
		if _, err := p.Put(t.Context(), coach, practice.PracticeDoc, "", "form: 1\npractice: house\nname: House\n", "put-practice-00001"); err != nil {
			t.Fatal(err)
		}
		list, err := p.HandedOver(t.Context(), coach, "rosa-b2")
		if err != nil || len(list) == 0 {
			t.Fatal(list, err)
		}
		before := fmt.Sprint(everything(t, p, ""))
		for i, g := range guardedOperations(t, p, coach, list[0].Code) {
			if err := g.do(assistant, fmt.Sprintf("guarded-00000000%04d", i)); practice.ReasonOf(err) != g.want {
				t.Errorf("%s: %v, want %s", g.name, err, g.want)
			}
		}
		if fmt.Sprint(everything(t, p, "")) != before {
			t.Error("something was written")
		}
	})
}

// Ensure that lists, counts, search, the audit and the settings show an assistant
// nothing of others' clients.
func TestRolesInLists(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := worked(t, s)
		for _, kind := range practice.Kinds {
			docs, err := p.Docs(t.Context(), assistant, kind, "")
			if err != nil {
				t.Fatal(err)
			}
			for _, d := range docs {
				if d.Owner != "tomas-f" && kind != practice.OwnDoc {
					t.Errorf("%s %s of %s", kind, d.ID, d.Owner)
				}
			}
		}
		rows, err := p.Clients(t.Context(), assistant, "", form.English)
		if err != nil || len(rows) != 1 || rows[0].ID != "tomas-f" {
			t.Errorf("clients: %v %v", rows, err)
		}
		view, err := p.Settings(t.Context(), assistant)
		if err != nil || len(view.Accounts) != 0 || len(view.Clients) != 0 {
			t.Errorf("settings: %+v %v", view, err)
		}
		for _, n := range view.Audit {
			if n.Owner != "tomas-f" {
				t.Errorf("audit: %+v", n)
			}
		}
		whole, err := p.Settings(t.Context(), coach)
		if err != nil || len(whole.Accounts) != 2 || len(whole.Audit) <= len(view.Audit) {
			t.Errorf("the coach sees %d accounts and %d notes, %v", len(whole.Accounts), len(whole.Audit), err)
		}
		for _, a := range whole.Accounts {
			if a.Secret != "" {
				t.Error("the settings hold a hash of a passphrase")
			}
		}
	})
}

// Ensure that a problem is kept with who, when and why, and that one nobody may keep, one
// without a reason and one that is gone are refused.
func TestKeep(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		seen := rosa(t, p, coach)
		if _, err := p.Type(t.Context(), coach, "rosa-b2", "type-0000000000001", seen.Version,
			[]practice.CellEdit{{Slot: "a2", Field: "dose", Was: practice.TakeApart(seen.Text)[dose2], To: "9 x 8 @ 88% rir 2"}}); err != nil {
			t.Fatal(err)
		}
		c, err := p.Open(t.Context(), coach, "rosa-b2")
		if err != nil {
			t.Fatal(err)
		}
		r := p.Check(c, form.English)
		id := ""
		for _, x := range r.Problems {
			if x.Keepable() && x.At.Slot == "a2" {
				id = x.ID
			}
		}
		if id == "" {
			t.Fatal("no problem of a2 can be kept")
		}
		if err := p.Keep(t.Context(), coach, "rosa-b2", id, " ", "keep-00000000000001"); practice.ReasonOf(err) != practice.Refused {
			t.Errorf("without a reason: %v", err)
		}
		if err := p.Keep(t.Context(), coach, "rosa-b2", "nothing", "because", "keep-00000000000001"); practice.ReasonOf(err) != practice.Conflict {
			t.Errorf("a problem that is gone: %v", err)
		}
		for range 2 { // sent twice
			if err := p.Keep(t.Context(), coach, "rosa-b2", id, "She has done it before.", "keep-00000000000002"); err != nil {
				t.Fatal(err)
			}
		}
		if c, err = p.Open(t.Context(), coach, "rosa-b2"); err != nil {
			t.Fatal(err)
		}
		if len(c.Block.Kept) != 1 || c.Block.Kept[0].By != "Ida Brandt" || c.Block.Kept[0].Why != "She has done it before." {
			t.Errorf("kept: %+v", c.Block.Kept)
		}
		for _, x := range p.Check(c, form.English).Problems {
			if x.ID == id && x.Kept == "" {
				t.Errorf("still open: %s", x.Text)
			}
		}
	})
}
