package store

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"corbel/body"
	"corbel/client"
	"corbel/plan"
	"corbel/practice"
)

const dose2 = "sessions[a].slots[a2].dose"

// dose returns a change of a field of Rosa's block.
func dose(id string, d *practice.Doc, at, to string) practice.Change {
	return practice.Change{ID: id, Kind: practice.BlockDoc, Doc: d.ID, Base: d.Version, What: "changed a dose",
		Edits: []practice.Edit{{At: at, Was: practice.TakeApart(d.Text)[at], To: to}}}
}

// rosa returns Rosa's block as the account sees it.
func rosa(t testing.TB, p *practice.Practice, who *practice.Account) *practice.Doc {
	t.Helper()
	d, err := p.Doc(t.Context(), who, practice.BlockDoc, "rosa-b2")
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Ensure that a change sent twice is made once, that its id serves for no other,
// and that it is taken back to the letter, once.
func TestOnceAndBack(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		before := rosa(t, p, coach)
		c := dose("0123456789abcdef", before, dose2, "3 x 4 @ 85% rir 2")
		one, err := p.Do(t.Context(), coach, c)
		if err != nil {
			t.Fatal(err)
		}
		two, err := p.Do(t.Context(), coach, c)
		if err != nil || !two.Before || two.Made != one.Made || two.Doc.Version != before.Version+1 {
			t.Errorf("sent again: %+v %v", two, err)
		}
		c.Edits[0].To = "3 x 5"
		if _, err := p.Do(t.Context(), coach, c); practice.ReasonOf(err) != practice.Reused {
			t.Errorf("another change with the same id: %v", err)
		}
		back, err := p.Undo(t.Context(), coach, practice.BlockDoc, "rosa-b2", "0123456789abcdeg")
		if err != nil {
			t.Fatal(err)
		}
		was, is := practice.TakeApart(before.Text), practice.TakeApart(back.Doc.Text)
		delete(was, "revision")
		delete(is, "revision")
		if d := cmp.Diff(was, is); d != "" {
			t.Error(d)
		}
		if _, err := p.Undo(t.Context(), coach, practice.BlockDoc, "rosa-b2", "0123456789abcdeh"); practice.ReasonOf(err) != practice.Nothing {
			t.Errorf("undone once more: %v", err)
		}
	})
}

// Ensure that changes of different fields on the same version merge, that the same
// field clashes with both values named and nothing written, and that nobody undoes
// over another's change.
func TestTwoPeople(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		other, err := p.AddAccount(t.Context(), coach, "Lea Moser", "lea@example.org", "a third plain phrase", practice.Coach)
		if err != nil {
			t.Fatal(err)
		}
		seen := rosa(t, p, coach)
		const rest = "sessions[a].slots[a2].rest"
		if _, err := p.Do(t.Context(), coach, dose("mine-00000000000001", seen, dose2, "3 x 4 @ 85% rir 2")); err != nil {
			t.Fatal(err)
		}
		if _, err := p.Do(t.Context(), other, dose("hers-00000000000001", seen, rest, "\"3:00\"")); err != nil {
			t.Errorf("another field: %v", err)
		}
		_, err = p.Do(t.Context(), other, dose("hers-00000000000002", seen, dose2, "5 x 3 @ 85%"))
		var e *practice.Error
		if !errors.As(err, &e) || e.Reason != practice.Conflict || len(e.Conflicts) != 1 || e.Conflicts[0].Theirs != "3 x 4 @ 85% rir 2" {
			t.Fatalf("the same field: %v", err)
		}
		if got := practice.TakeApart(rosa(t, p, coach).Text); got[dose2] != "3 x 4 @ 85% rir 2" || got[rest] == practice.TakeApart(seen.Text)[rest] {
			t.Errorf("after the clash: %q %q", got[dose2], got[rest])
		}
		if _, err := p.Do(t.Context(), other, dose("hers-00000000000003", rosa(t, p, other), dose2, "5 x 3 @ 85%")); err != nil {
			t.Fatal(err)
		}
		if _, err := p.Undo(t.Context(), coach, practice.BlockDoc, "rosa-b2", "mine-00000000000002"); practice.ReasonOf(err) != practice.Conflict {
			t.Errorf("undo over another's change: %v", err)
		}
	})
}

// Ensure that what a form does not read is refused with its place, and stored
// nowhere.
func TestRefused(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		seen := rosa(t, p, coach)
		for i, to := range []string{"4 y 4", "", "4 x 4\nid: b", "[]"} {
			_, err := p.Do(t.Context(), coach, dose(fmt.Sprintf("bad-000000000000%04d", i), seen, dose2, to))
			if practice.ReasonOf(err) != practice.Refused {
				t.Errorf("dose %q: %v", to, err)
			}
		}
		if d := cmp.Diff(seen, rosa(t, p, coach)); d != "" {
			t.Error(d)
		}
	})
}

// Ensure that an assistant sees and changes the clients given to them and no
// others: not by list, id, operation, log, undo, hand-over or erasure.
func TestAssistant(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := filled(t, s)
		docs, err := p.Docs(t.Context(), assistant, practice.ClientDoc, "")
		if err != nil || len(docs) != 1 || docs[0].ID == "rosa-l" {
			t.Errorf("clients of the assistant: %v %v", docs, err)
		}
		id := "foreign-0000000000001"
		_, err1 := p.Doc(t.Context(), assistant, practice.BlockDoc, "rosa-b2")
		_, err2 := p.Do(t.Context(), assistant, dose(id, rosa(t, p, coach), dose2, "3 x 5"))
		_, err3 := p.Undo(t.Context(), assistant, practice.BlockDoc, "rosa-b2", id)
		_, err4 := p.HandOver(t.Context(), assistant, "rosa-b2", id)
		_, err5 := p.Record(t.Context(), assistant, "rosa-l", plan.Entry{}, id)
		_, err6 := p.HandedOver(t.Context(), assistant, "rosa-b2")
		_, err7 := p.Put(t.Context(), assistant, practice.BlockDoc, "rosa-l", strings.Replace(rosa(t, p, coach).Text, "id: rosa-b2", "id: rosa-b9", 1), id)
		for i, err := range []error{err1, err2, err3, err4, err5, err6, err7} {
			if practice.ReasonOf(err) != practice.NotFound {
				t.Errorf("way %d to a foreign client: %v", i+1, err)
			}
		}
		if err := p.Erase(t.Context(), assistant, tomas(t, p, coach)); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("an assistant erases: %v", err)
		}
		if _, err := p.AddAccount(t.Context(), assistant, "X", "x@example.org", "a fourth plain phrase", practice.Coach); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("an assistant adds an account: %v", err)
		}
	})
}

// Ensure that the set-up link holds once, that a passphrase and an address must
// belong together, and that a device signed out is out.
func TestAccounts(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		if token, err := p.SetUpLink(t.Context()); token != "" || err != nil {
			t.Errorf("a second set-up link: %q %v", token, err)
		}
		for _, x := range [][2]string{{"ida@example.org", "four plain long word"}, {"nobody@example.org", "four plain long words"}, {"", ""}} {
			if _, err := p.SignIn(t.Context(), x[0], x[1], "a test"); practice.ReasonOf(err) != practice.Forbidden {
				t.Errorf("%v signs in: %v", x, err)
			}
		}
		token, err := p.SignIn(t.Context(), " IDA@example.org", "four plain long words", "a test")
		if err != nil {
			t.Fatal(err)
		}
		who, login, err := p.WhoIs(t.Context(), token)
		if err != nil || who.ID != coach.ID {
			t.Fatalf("who is it: %v %v", who, err)
		}
		if _, _, err := p.WhoIs(t.Context(), login.Hash); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("the stored hash signs in: %v", err)
		}
		if err := p.SignOut(t.Context(), who, login.Hash); err != nil {
			t.Fatal(err)
		}
		if _, _, err := p.WhoIs(t.Context(), token); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("signed out, yet in: %v", err)
		}
	})
}

// Ensure that a hand-over is frozen: changed afterwards, the block leaves it as it
// was, and handing over unchanged gives the same one.
func TestFrozen(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		first, err := p.HandOver(t.Context(), coach, "rosa-b2", "hand-000000000000001")
		if err != nil {
			t.Fatal(err)
		}
		again, err := p.HandOver(t.Context(), coach, "rosa-b2", "hand-000000000000002")
		if err != nil || again.Code != first.Code {
			t.Fatalf("handed over again: not %s; %v", first.Code, err)
		}
		if _, err := p.Do(t.Context(), coach, dose("after-00000000000001", rosa(t, p, coach), dose2, "3 x 4 @ 85% rir 2")); err != nil {
			t.Fatal(err)
		}
		if err := s.View(t.Context(), func(r practice.Reader) error {
			f, err := r.Frozen(first.Code)
			if err == nil && (!bytes.Equal(f.Data, first.Data) || !bytes.Contains(f.Data, []byte("4 x 4 @ 88%"))) {
				t.Error("the frozen revision changed")
			}
			return err
		}); err != nil {
			t.Fatal(err)
		}
	})
}

// Ensure that 200 changes by many at once, all on the version first seen and each
// of its own field, are all there, and the store verifies.
func TestManyAtOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		seen := rosa(t, p, coach)
		var places []string
		for at := range practice.TakeApart(seen.Text) {
			if strings.HasSuffix(at, ".rest") {
				places = append(places, at)
			}
		}
		var all sync.WaitGroup
		for i, at := range places {
			all.Go(func() {
				if _, err := p.Do(t.Context(), coach, dose(fmt.Sprintf("many-000000000000%04d", i), seen, at, fmt.Sprintf("\"1:%02d\"", i+1))); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		now := practice.TakeApart(rosa(t, p, coach).Text)
		for i, at := range places {
			if want := fmt.Sprintf("\"1:%02d\"", i+1); strings.Trim(now[at], `"`) != strings.Trim(want, `"`) {
				t.Errorf("%s is %s, want %s", at, now[at], want)
			}
		}
		if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
			t.Error(wrong, err)
		}
	})
}

// Ensure that an erased client is nowhere in the rows, and for SQLite nowhere in the
// bytes of the data folder.
func TestErase(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, _ := filled(t, s)
		cache := t.TempDir()
		if s.path != "" { // the cache is the same whatever the database
			p.Bodies = &body.Cache{Dir: cache, Most: body.CacheMost, Now: noon}
		}
		if _, err := p.HandOver(t.Context(), coach, "rosa-b2", "hand-000000000000001"); err != nil {
			t.Fatal(err)
		}
		if s.path != "" {
			if err := s.Tidy(t.Context()); err != nil || !inFolder(t, filepath.Dir(s.path), "Lindqvist") {
				t.Fatalf("the name is not in the files before: %v", err)
			}
		}
		if s.path == "" {
			p.Bodies = nil
		} else if files(t, cache) == 0 {
			t.Fatal("no body was solved before")
		}
		if err := p.Erase(t.Context(), coach, "rosa-l"); err != nil {
			t.Fatal(err)
		}
		if n := files(t, cache); n != 0 {
			t.Errorf("%d solved bodies are left", n)
		}
		for _, table := range []string{"docs", "operations", "frozen", "notes", "access"} {
			found, err := s.read.Query("select * from " + table)
			if err != nil {
				t.Fatal(err)
			}
			columns, _ := found.Columns()
			for found.Next() {
				row := make([]any, len(columns))
				for i := range row {
					row[i] = new(any)
				}
				if err := found.Scan(row...); err != nil {
					t.Fatal(err)
				}
				for i := range row {
					if text := fmt.Sprintf("%s", *row[i].(*any)); strings.Contains(text, "Lindqvist") || strings.Contains(text, "rosa-") {
						t.Errorf("%s still holds %.80s", table, text)
					}
				}
			}
			found.Close()
		}
		if s.path == "" {
			erasedFromTables(t, s)
			return
		}
		for _, word := range []string{"Lindqvist", "rosa-l", "rosa-b2", "pelvis drops"} {
			if inFolder(t, filepath.Dir(s.path), word) {
				t.Errorf("%q is still in the files", word)
			}
		}
	})
}

// erasedFromTables holds that no file of a PostgreSQL database has the name. The journal
// of the server is another matter: docs/operations.md.
func erasedFromTables(t *testing.T, s *Store) {
	t.Helper()
	if _, err := s.write.Exec("checkpoint"); err != nil {
		t.Fatal(err)
	}
	var dir, base string
	if err := s.read.QueryRow("select current_setting('data_directory'), 'base/' || oid from pg_database where datname = current_database()").Scan(&dir, &base); err != nil {
		t.Fatal(err)
	}
	if !inFolder(t, filepath.Join(dir, base), "Ferenc") {
		t.Fatal("the name of another client is in no file: this looks in the wrong place")
	}
	for _, word := range []string{"Lindqvist", "rosa-b2", "pelvis drops"} {
		if inFolder(t, filepath.Join(dir, base), word) {
			t.Errorf("%q is still in the files", word)
		}
	}
}

// files counts the files of a folder.
func files(t *testing.T, dir string) (n int) {
	t.Helper()
	if err := filepath.WalkDir(dir, func(_ string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			n++
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return n
}

// inFolder says whether a text stands in any file of a folder.
func inFolder(t *testing.T, dir, text string) bool {
	t.Helper()
	found := false
	err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(name)
		found = found || bytes.Contains(data, []byte(text))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// Ensure that a backup made while the store is written to is whole, restores to the
// same documents, and overwrites nothing.
func TestBackup(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	p, coach, _ := filled(t, s)
	file := filepath.Join(t.TempDir(), "backup.db")
	stop := make(chan struct{})
	var writing sync.WaitGroup
	writing.Go(func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				return
			default:
			}
			if _, err := p.Do(t.Context(), coach, dose(fmt.Sprintf("while-00000000000%04d", i), rosa(t, p, coach), dose2, fmt.Sprintf("%d x 4 @ 80%%", i%5+1))); err != nil {
				t.Error(err)
				return
			}
		}
	})
	err := s.Backup(t.Context(), file)
	close(stop)
	writing.Wait()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Backup(t.Context(), file); err == nil {
		t.Error("a backup was overwritten")
	}
	to := filepath.Join(t.TempDir(), "new")
	if err := Restore(t.Context(), file, to); err != nil {
		t.Fatal(err)
	}
	if err := Restore(t.Context(), file, to); err == nil {
		t.Error("a store was overwritten")
	}
	restored := practice.New(open(t, to), p.Library, noon, p.MadeBy)
	if wrong, err := restored.Verify(t.Context()); err != nil || len(wrong) > 0 {
		t.Error(wrong, err)
	}
	if docs, err := restored.Docs(t.Context(), coach, practice.ClientDoc, ""); err != nil || len(docs) != 2 {
		t.Errorf("%d clients restored, %v", len(docs), err)
	}
	bad := filepath.Join(t.TempDir(), "bad.db")
	if err := os.WriteFile(bad, []byte("not a database"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := Restore(t.Context(), bad, filepath.Join(t.TempDir(), "x")); err == nil {
		t.Error("a file that is no backup was restored")
	}
}

// Ensure that the folder of the data is closed to others.
func TestFolderIsClosed(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data")
	open(t, dir)
	if info, err := os.Stat(dir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("%v %v", info.Mode(), err)
	}
}

// Ensure that a folder may be named from where one stands, with spaces and signs in it,
// and that its backup is read back the same way.
func TestFolderFromWhereOneStands(t *testing.T) {
	t.Chdir(t.TempDir())
	const dir = "my practice #1?"
	s, err := OpenSQLite(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Backup(t.Context(), "a backup.db"); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, File)); err != nil {
		t.Error("the database is not where it was asked for:", err)
	}
	if err := Restore(t.Context(), "a backup.db", "again"); err != nil {
		t.Error(err)
	}
}

// noteTo writes the note to a client.
func noteTo(text string) func(*client.Client) error {
	return func(c *client.Client) error {
		c.Note = text
		return nil
	}
}
