package invented_test

import (
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"corbel/anatomy"
	"corbel/body"
	"corbel/client"
	"corbel/evidence"
	"corbel/exercise"
	"corbel/form"
	"corbel/invented"
	"corbel/plan"
	"corbel/practice"
	"corbel/store"
)

// on returns the clock of a day in the week.
func on(day int) func() time.Time {
	return func() time.Time { return time.Date(2026, 12, day, 9, 30, 0, 0, time.UTC) }
}

// solved is the cache of solved bodies of all practices of a test run: the clients of
// the demo have few bodies between them.
func solved(t *testing.T) *body.Cache {
	t.Helper()
	dir, err := cacheDir()
	if err != nil {
		t.Fatal(err)
	}
	return &body.Cache{Dir: dir, Most: body.CacheMost, Now: on(7)}
}

var cacheDir = sync.OnceValues(func() (string, error) { return os.MkdirTemp("", "corbel-demo-") })

func TestMain(m *testing.M) {
	code := m.Run()
	if dir, err := cacheDir(); err == nil {
		os.RemoveAll(dir)
	}
	os.Exit(code)
}

// filled returns a practice with the demo in it.
func filled(t *testing.T, now func() time.Time) (*practice.Practice, *practice.Account, *practice.Account) {
	t.Helper()
	s, err := store.OpenSQLite(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	p := practice.New(s, exercise.Shipped, now, plan.MadeWith{Program: "test", Library: "1", Model: "1"})
	p.Bodies = solved(t)
	if err := invented.Fill(t.Context(), p); err != nil {
		t.Fatal(err)
	}
	var who []*practice.Account
	for _, sign := range []invented.Sign{invented.Coach, invented.Assistant} {
		token, err := p.SignIn(t.Context(), sign.Email, sign.Phrase, "a test")
		if err != nil {
			t.Fatal(err)
		}
		a, _, err := p.WhoIs(t.Context(), token)
		if err != nil {
			t.Fatal(err)
		}
		who = append(who, a)
	}
	return p, who[0], who[1]
}

// Ensure that the demo holds a client of every state there is, as the list of clients
// and their pages show it, on the first and on the last day of a week.
func TestEveryState(t *testing.T) {
	for _, day := range []int{7, 13} {
		p, coach, assistant := filled(t, on(day))
		rows, err := p.Clients(t.Context(), coach, "", form.English)
		if err != nil || len(rows) != 12 {
			t.Fatalf("%d clients, %v", len(rows), err)
		}
		row := func(id string) practice.ClientRow {
			return rows[slices.IndexFunc(rows, func(r practice.ClientRow) bool { return r.ID == id })]
		}
		person := func(id string) *practice.Person {
			out, err := p.Person(t.Context(), coach, id)
			if err != nil {
				t.Fatal(id, err)
			}
			return out
		}
		today := form.DateOf(p.Now())
		for state, holds := range map[string]bool{
			invented.New:         row("elin-v").BlockID == "" && !person("elin-v").Open.Empty(),
			invented.OpenAnswer:  row("samir-d").Open > 0 && row("samir-d").State == plan.Draft && row("samir-d").Stops > 0,
			invented.Draft:       row("petra-o").State == plan.Draft && row("petra-o").Stops == 0 && row("petra-o").Open == 0,
			invented.HandedOver:  row("tomas-f").State == plan.HandedOver && len(person("tomas-f").Frozen) == 1,
			invented.Running:     row("rosa-l").State == plan.Running && len(person("rosa-l").Log.Entries) >= 6,
			invented.Pain:        slices.ContainsFunc(person("berta-h").Log.Entries, func(e plan.Entry) bool { return len(e.Pain) > 0 && e.Pain[0].Side == anatomy.Left }),
			invented.Ending:      !row("kilian-n").Ends.Before(today) && row("kilian-n").Ends.Days(today) < 7,
			invented.RetestDue:   row("olga-b").Retest && !row("rosa-l").Retest,
			invented.Paused:      row("jakob-t").Paused && !row("kilian-n").Paused,
			invented.GroupMember: row("nadja-k").Group == "valley" && row("nadja-k").BlockID == "valley-w1",
			invented.RedFlag:     slices.ContainsFunc(person("mila-r").Client.Flags, func(f client.Flag) bool { return f.Answer == client.Yes }) && row("mila-r").Stops > 0,
			invented.Stalled:     stalled(p.Evidence(person("emil-s"), form.English), "overhead-press"),
		} {
			if !holds {
				t.Errorf("day %d: nobody is %q", day, state)
			}
		}
		for id, want := range map[string]struct{ first, to string }{
			"berta-h": {"pain: knee, left", "/clients/berta-h"}, "mila-r": {"to stop for", "/blocks/mila-r-1"}, "elin-v": {"no block yet", "/clients/elin-v/propose"},
			"olga-b": {"retest due", "/clients/olga-b"}, "kilian-n": {"block ends", "/clients/kilian-n/propose"},
		} {
			needs := row(id).Needs
			if len(needs) == 0 || !strings.Contains(needs[0].Text, want.first) || !strings.HasPrefix(needs[0].To, want.to) {
				t.Errorf("day %d: %s needs %v first, not %q at %s", day, id, needs, want.first, want.to)
			}
		}
		if !slices.ContainsFunc(row("emil-s").Needs, func(n practice.Need) bool { return n.Text == "a lift does not rise" }) {
			t.Errorf("day %d: the list does not say that a lift of emil-s is stalled: %v", day, row("emil-s").Needs)
		}
		if rows[0].ID != "berta-h" {
			t.Errorf("day %d: %s stands first; pain comes before all else", day, rows[0].ID)
		}
		if seen, err := p.Clients(t.Context(), assistant, "", form.English); err != nil || len(seen) != 4 {
			t.Errorf("the assistant sees %d of 12, %v", len(seen), err)
		}
		if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
			t.Error(wrong, err)
		}
	}
}

// stalled says whether a lift was judged and did not get better.
func stalled(e *practice.Evidence, lift string) bool {
	i := slices.IndexFunc(e.Judge.Lifts, func(c evidence.Change) bool { return c.Name == lift })
	return i >= 0 && e.Judge.Lifts[i].Verdict != evidence.Better && e.Judge.Lifts[i].Verdict != evidence.ProbablyBetter
}

// Ensure that the same day gives the same bytes, and that nothing is filled twice.
func TestSameBytes(t *testing.T) {
	all := func(p *practice.Practice, who *practice.Account) (out []any) {
		for _, kind := range practice.Kinds {
			docs, err := p.Docs(t.Context(), who, kind, "")
			if err != nil {
				t.Fatal(err)
			}
			for _, d := range docs {
				if err := p.Store.View(t.Context(), func(r practice.Reader) error {
					ops, err := r.Operations(kind, d.ID)
					out = append(out, d, ops)
					return err
				}); err != nil {
					t.Fatal(err)
				}
			}
		}
		return out
	}
	p, coach, _ := filled(t, on(9))
	q, other, _ := filled(t, on(9))
	if d := cmp.Diff(all(p, coach), all(q, other)); d != "" {
		t.Error(d)
	}
	if err := invented.Fill(t.Context(), p); err == nil {
		t.Error("the demo was filled into a practice that has people")
	}
}
