package store

import (
	"context"
	"fmt"
	"reflect"
	"testing"
	"time"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// Ensure that the list, whose rows are kept, says after every kind of change and on the
// next day what a practice that has kept nothing says, with a background and without.
func TestListIsFresh(t *testing.T) {
	for _, background := range []bool{false, true} {
		p, coach, assistant := filled(t, open(t, t.TempDir()))
		grouped(t, p, coach)
		for _, id := range []string{"rosa-l", "tomas-f"} { // without a body to solve it is quick
			if _, err := p.EditClient(t.Context(), coach, id, "x", "bare-00000000000-"+id, func(c *client.Client) error { c.Measures = nil; return nil }); err != nil {
				t.Fatal(err)
			}
		}
		if err := p.SetAccess(t.Context(), coach, assistant.ID, []string{"tomas-f", "valley"}); err != nil {
			t.Fatal(err)
		}
		if background {
			ctx, stop := context.WithCancel(t.Context())
			p.StartBackground(ctx, func(problem any) { t.Error(problem) })
			t.Cleanup(stop)
		}
		list := func(p *practice.Practice, who *practice.Account) []practice.ClientRow {
			for {
				rows, err := p.Clients(t.Context(), who, "", form.English)
				if err != nil {
					t.Fatal(err)
				}
				waits := false
				for _, r := range rows {
					waits = waits || r.Waits
				}
				if !waits {
					return rows
				}
				time.Sleep(time.Millisecond)
			}
		}
		agree := func(after string) {
			t.Helper()
			settled := list(p, coach)
			if background { // evidence that is older is shown until it is weighed anew
				for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline); {
					time.Sleep(20 * time.Millisecond)
					again := list(p, coach)
					if reflect.DeepEqual(settled, again) {
						break
					}
					settled = again
				}
			}
			for _, who := range []*practice.Account{coach, assistant} {
				bare := practice.New(p.Store, p.Library, p.Now, p.MadeBy)
				bare.Bodies = p.Bodies
				if want, got := fmt.Sprintf("%+v", list(bare, who)), fmt.Sprintf("%+v", list(p, who)); want != got {
					t.Errorf("background %v, after %s:\n%s\nwant\n%s", background, after, got, want)
				}
			}
		}
		agree("nothing")
		agree("nothing again")
		for _, x := range []struct {
			what string
			do   func() error
		}{
			{"a block", func() error {
				_, err := p.Edit(t.Context(), coach, "rosa-b2", "x", "fresh-000000000001", func(b *plan.Block) error { b.Name, b.State = "Renamed", plan.Running; return nil })
				return err
			}},
			{"a client", func() error {
				_, err := p.EditClient(t.Context(), coach, "tomas-f", "x", "fresh-000000000002", func(c *client.Client) error { c.Clearance.Disease = client.Asked{}; return nil })
				return err
			}},
			{"a log", func() error {
				_, err := p.Record(t.Context(), coach, "rosa-l", plan.Entry{Block: "rosa-b2", Revision: 1, Session: "b", Week: 1, On: form.DateOf(p.Now()), Pain: []plan.PainLog{{Place: "knee", Side: "left"}}}, "fresh-000000000003")
				return err
			}},
			{"a group's block", func() error {
				_, err := p.Edit(t.Context(), coach, "valley-w1", "x", "fresh-000000000004", func(b *plan.Block) error { b.Name = "Winter two"; return nil })
				return err
			}},
			{"undo", func() error {
				_, err := p.Undo(t.Context(), coach, practice.BlockDoc, "rosa-b2", "fresh-000000000005")
				return err
			}},
			{"the rules", func() error { return p.SetRetention(t.Context(), coach, 12, "", "fresh-000000000006") }},
			{"other access", func() error {
				return p.SetAccess(t.Context(), coach, assistant.ID, []string{"rosa-l"})
			}},
			{"the next week", func() error { p.Now = func() time.Time { return noon().AddDate(0, 0, 9) }; return nil }},
			{"erasure", func() error { return p.Erase(t.Context(), coach, "tomas-f") }},
		} {
			if err := x.do(); err != nil {
				t.Fatal(x.what, err)
			}
			agree(x.what)
		}
	}
}
