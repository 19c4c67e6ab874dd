package store

import (
	"archive/zip"
	"bytes"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"corbel/examples"
	"corbel/practice"
)

// worked is a practice with a group, a change, its undo, a kept session and a
// hand-over.
func worked(t *testing.T, s *Store) (*practice.Practice, *practice.Account, *practice.Account) {
	t.Helper()
	p, coach, assistant := filled(t, s)
	grouped(t, p, coach)
	_, err1 := p.Do(t.Context(), coach, dose("change-0000000000001", rosa(t, p, coach), dose2, "3 x 4 @ 85% rir 2"))
	_, err2 := p.Undo(t.Context(), coach, practice.BlockDoc, "rosa-b2", "change-0000000000002")
	_, err3 := p.KeepSession(t.Context(), coach, "rosa-b2", "b", "Push and pull", "change-0000000000003")
	_, err4 := p.HandOver(t.Context(), coach, "rosa-b2", "change-0000000000004")
	for _, err := range []error{err1, err2, err3, err4} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return p, coach, assistant
}

// everything returns all documents with their histories and what was handed over.
func everything(t *testing.T, p *practice.Practice, owner string) (out []any) {
	t.Helper()
	if err := p.Store.View(t.Context(), func(r practice.Reader) error {
		for _, kind := range practice.Kinds {
			docs, err := r.Docs(kind, owner)
			if err != nil {
				return err
			}
			for _, d := range docs {
				ops, err := r.Operations(kind, d.ID)
				if err != nil {
					return err
				}
				frozen, err := r.FrozenOf(d.ID)
				if err != nil {
					return err
				}
				out = append(out, d, ops, frozen)
				for _, f := range frozen {
					whole, err := r.Frozen(f.Code)
					if err != nil {
						return err
					}
					out = append(out, *whole)
				}
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return out
}

// Ensure that a practice and a client go out as a zip of open forms and come in again,
// into either kind of store, without the loss of a letter, a version or a hand-over;
// that an undone change can still be seen there; and that nothing comes in twice.
func TestPack(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := worked(t, s)
		for _, owner := range []string{"", "rosa-l", "valley"} {
			data, err := p.Pack(t.Context(), coach, owner)
			if err != nil {
				t.Fatal(owner, err)
			}
			places := []string{filepath.Join(t.TempDir(), "new")}
			if owner == "" {
				places = append(places, address(t))
			}
			for _, place := range places {
				q := practice.New(open(t, place), p.Library, noon, p.MadeBy)
				if _, err := q.Unpack(t.Context(), coach, data); err != nil {
					t.Fatal(owner, err)
				}
				if d := cmp.Diff(everything(t, p, owner), everything(t, q, owner)); d != "" {
					t.Errorf("%q: %s", owner, d)
				}
				if wrong, err := q.Verify(t.Context()); err != nil || len(wrong) > 0 {
					t.Error(wrong, err)
				}
				if _, err := q.Unpack(t.Context(), coach, data); practice.ReasonOf(err) != practice.Refused {
					t.Errorf("taken in twice: %v", err)
				}
			}
		}
		for owner, want := range map[string]practice.Reason{"": practice.Forbidden, "rosa-l": practice.NotFound, "nobody": practice.NotFound, "tomas-f": ""} {
			if _, err := p.Pack(t.Context(), assistant, owner); practice.ReasonOf(err) != want {
				t.Errorf("an assistant packs %q: %v", owner, err)
			}
		}
		if _, err := p.Unpack(t.Context(), assistant, nil); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("an assistant takes in: %v", err)
		}
	})
}

// Ensure that the forms in a package are those the command line reads: a client's block
// names the client's file beside it.
func TestPackedFormsAreOpen(t *testing.T) {
	p, coach, _ := worked(t, open(t, t.TempDir()))
	data, err := p.Pack(t.Context(), coach, "rosa-l")
	if err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"rosa-l.yaml": "name: Rosa Lindqvist", "rosa-b2.yaml": "client: rosa-l.yaml", "rosa-l-log.yaml": "client: rosa-l"} {
		f, err := z.Open(name)
		if err != nil {
			t.Fatal(name, err)
		}
		text, err := io.ReadAll(f)
		if err != nil || !strings.Contains(string(text), want) {
			t.Errorf("%s does not say %q, %v", name, want, err)
		}
	}
}

// Ensure that what is no package, one that is cut short, and one somebody wrote into are
// refused with what is wrong, and that nothing of them is stored.
func TestPackRefused(t *testing.T) {
	p, coach, _ := worked(t, open(t, t.TempDir()))
	data, err := p.Pack(t.Context(), coach, "")
	if err != nil {
		t.Fatal(err)
	}
	other := practice.New(open(t, t.TempDir()), p.Library, noon, p.MadeBy)
	plain, err := examples.Files.ReadFile("rosa-client.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string][]byte{
		"no zip":          plain,
		"cut short":       data[:len(data)/2],
		"another text":    rewritten(t, data, "rosa-b2.yaml", func(s string) string { return strings.Replace(s, "Strong downhill", "Strong uphill", 1) }),
		"no form":         rewritten(t, data, "rosa-b2.yaml", func(string) string { return "form: 1\n" }),
		"history cut":     rewritten(t, data, "history/rosa-b2.yaml.json", func(string) string { return "[]" }),
		"newer":           rewritten(t, data, "contents.json", func(s string) string { return strings.Replace(s, "\"form\": 1", "\"form\": 2", 1) }),
		"unknown kind":    rewritten(t, data, "contents.json", func(s string) string { return strings.Replace(s, "\"kind\": \"log\"", "\"kind\": \"lag\"", 1) }),
		"client left out": rewritten(t, data, "contents.json", func(s string) string { return strings.Replace(s, "\"owner\": \"rosa-l\"", "\"owner\": \"rosa-x\"", 3) }),
	} {
		if _, err := other.Unpack(t.Context(), coach, bad); practice.ReasonOf(err) != practice.Refused || err.Error() == "" {
			t.Errorf("%s: %v", name, err)
		}
		if got := everything(t, other, ""); len(got) != 0 {
			t.Fatalf("%s: something was stored", name)
		}
	}
}

// rewritten returns a zip with one of its files changed.
func rewritten(t *testing.T, data []byte, name string, f func(string) string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, file := range z.File {
		r, err := file.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if file.Name == name {
			text = []byte(f(string(text)))
		}
		into, err := w.Create(file.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := into.Write(text); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
