package store

import (
	"bufio"
	"compress/gzip"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/pressly/goose/v3"

	"corbel/exercise"
	"corbel/plan"
	"corbel/practice"
)

// oldStore makes a store of an earlier version at a place: its tables, and rows that a
// program of that version wrote.
func oldStore(t *testing.T, place string, version int64) {
	t.Helper()
	ctx := context.Background()
	s, err := openRaw(place)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	dialect, dir := goose.DialectSQLite3, "migrations/sqlite"
	if s.path == "" {
		dialect, dir = goose.DialectPostgres, "migrations/postgres"
	}
	files, err := fs.Sub(migrations, dir)
	if err != nil {
		t.Fatal(err)
	}
	p, err := goose.NewProvider(dialect, s.write, files)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(ctx, version); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(fmt.Sprintf("testdata/version-%d.jsonl.gz", version))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(z)
	lines.Buffer(nil, 1<<22)
	for lines.Scan() {
		var one struct {
			Table string
			Row   map[string]any
		}
		if err := json.Unmarshal(lines.Bytes(), &one); err != nil {
			t.Fatal(err)
		}
		var columns, places []string
		var values []any
		for i, c := range slices.Sorted(maps.Keys(one.Row)) {
			v := one.Row[c]
			if text, ok := v.(string); ok {
				if data, ok := strings.CutPrefix(text, "base64:"); ok {
					if v, err = base64.StdEncoding.DecodeString(data); err != nil {
						t.Fatal(err)
					}
				}
			}
			if x, ok := v.(float64); ok {
				v = int64(x)
			}
			columns, places, values = append(columns, c), append(places, fmt.Sprintf("$%d", i+1)), append(values, v)
		}
		if one.Table == "notes" { // numbered by the database
			i := slices.Index(columns, "seq")
			columns, values = slices.Delete(columns, i, i+1), slices.Delete(values, i, i+1)
			places = places[:len(columns)]
		}
		if _, err := s.write.ExecContext(ctx, "insert into "+one.Table+" ("+strings.Join(columns, ", ")+") values ("+strings.Join(places, ", ")+")", values...); err != nil {
			t.Fatal(one.Table, err)
		}
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
}

// openRaw opens a database without bringing its tables to the newest form.
func openRaw(place string) (*Store, error) {
	if filepath.IsAbs(place) {
		return connectFile(filepath.Join(place, File))
	}
	return connectPostgres(place)
}

// Ensure that a store that an earlier version wrote is opened and whole; that its
// people sign in, its hand-overs open, its documents read as they stood; that what was
// changed then is taken back now, in a list that is taken apart otherwise today; and
// that it verifies after all that.
func TestEarlierVersions(t *testing.T) {
	for _, where := range []string{"sqlite", "postgres"} {
		t.Run(where, func(t *testing.T) {
			place := t.TempDir()
			if where == "postgres" {
				place = address(t)
			}
			oldStore(t, place, 1)
			s := open(t, place)
			p := practice.New(s, exercise.Shipped, noon, plan.MadeWith{})
			if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
				t.Fatal(wrong, err)
			}
			token, err := p.SignIn(t.Context(), "ida@example.org", "four plain long words", "a test")
			if err != nil {
				t.Fatal(err)
			}
			coach, _, err := p.WhoIs(t.Context(), token)
			if err != nil {
				t.Fatal(err)
			}
			if data, _, err := p.FrozenAs(t.Context(), coach, "R4-DR09H1", "html"); err != nil || !strings.Contains(string(data), "Strong downhill") {
				t.Errorf("what was handed over then: %v", err)
			}
			first, err := p.TextAt(t.Context(), coach, practice.ClientDoc, "rosa-l", 1)
			if err != nil || strings.Contains(first, "reps: 18") || !strings.Contains(rosaClient(t, p, coach), "reps: 18") {
				t.Errorf("as it stood first: %v", err)
			}
			if _, err := p.EditClient(t.Context(), coach, "rosa-l", "wrote a note", "new-note-0000000001", noteTo("Two.")); err != nil {
				t.Fatal(err)
			}
			for _, id := range []string{"new-undo-0000000001", "new-undo-0000000002"} {
				if _, err := p.Undo(t.Context(), coach, practice.ClientDoc, "rosa-l", id); err != nil {
					t.Fatal(id, err)
				}
			}
			if rosaClient(t, p, coach) != first {
				t.Error("what was changed then and is taken back now is another text")
			}
			if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
				t.Error(wrong, err)
			}
		})
	}
}

// Ensure that every migration goes down and up again, and leaves the rows it does not
// know as they were.
func TestMigrationsDown(t *testing.T) {
	for _, where := range []string{"sqlite", "postgres"} {
		t.Run(where, func(t *testing.T) {
			place := t.TempDir()
			if where == "postgres" {
				place = address(t)
			}
			oldStore(t, place, 1)
			s, err := openRaw(place)
			if err != nil {
				t.Fatal(err)
			}
			dialect, dir := goose.DialectSQLite3, "migrations/sqlite"
			if s.path == "" {
				dialect, dir = goose.DialectPostgres, "migrations/postgres"
			}
			files, err := fs.Sub(migrations, dir)
			if err != nil {
				t.Fatal(err)
			}
			g, err := goose.NewProvider(dialect, s.write, files)
			if err != nil {
				t.Fatal(err)
			}
			_, err1 := g.Up(t.Context())
			_, err2 := g.DownTo(t.Context(), 1)
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			p := practice.New(open(t, place), exercise.Shipped, noon, plan.MadeWith{})
			if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
				t.Error(wrong, err)
			}
		})
	}
}

// Ensure that a store of a newer program is refused, and not touched.
func TestNewerVersion(t *testing.T) {
	onBothAt(t, func(t *testing.T, s *Store, place string) {
		filled(t, s)
		if _, err := s.write.Exec("insert into goose_db_version (version_id, is_applied) values (99, true)"); err != nil {
			t.Fatal(err)
		}
		if again, err := openAt(t.Context(), place); err == nil || !strings.Contains(err.Error(), "newer program") {
			t.Errorf("opened: %v", err)
			again.Close()
		}
	})
}
