package exercise

import (
	"bufio"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"corbel/form"
)

// the80 reads the list of exercises the library must hold.
func the80(t *testing.T) []string {
	t.Helper()
	f, err := os.Open("testdata/the-80.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var ids []string
	for s := bufio.NewScanner(f); s.Scan(); {
		ids = append(ids, strings.Fields(s.Text())...)
	}
	return ids
}

// Ensure that each of the eighty is there and found by id and by both names.
func TestTheEighty(t *testing.T) {
	ids := the80(t)
	if len(ids) != 80 {
		t.Fatalf("the list holds %d", len(ids))
	}
	for _, id := range ids {
		e := Shipped.ByID(id)
		if e == nil {
			t.Errorf("%s is missing", id)
			continue
		}
		for _, n := range []string{id, strings.ReplaceAll(id, "-", " "), e.Name.En, strings.ToUpper(e.Name.De)} {
			if got, near := Shipped.Name(n); got != id {
				t.Errorf("%q finds %q, near %v, want %s", n, got, near, id)
			}
		}
	}
}

// Ensure that a mistyped name brings the right exercise among the three nearest.
func TestNearestNames(t *testing.T) {
	for typed, want := range map[string]string{
		"back sqat": "back-squat", "hexbar deadlft": "hex-bar-deadlift", "pres up": "push-up",
		"overhad press": "overhead-press", "triceps extension": "overhead-triceps-extension",
		"Kniebeuge": "back-squat", "side lying abduction": "side-lying-hip-abduction",
	} {
		id, near := Shipped.Name(typed)
		if id != want && !slices.Contains(near, want) {
			t.Errorf("%q: got %q, near %v, want %s", typed, id, near, want)
		}
		if len(near) > 3 {
			t.Errorf("%q: %d names", typed, len(near))
		}
	}
}

// Ensure that the shares rise as practice has it (common practice): triceps
// from overhead press over dip and close-grip bench to the isolations, elbow
// flexors from shrug over row and underhand pull-up to the curl.
func TestSharesClimb(t *testing.T) {
	share := func(id, muscle string) float64 {
		for m, s := range Shipped.ByID(id).Shares {
			if string(m) == muscle {
				return s
			}
		}
		return 0
	}
	for _, c := range []struct {
		muscle string
		ids    []string
	}{
		{"elbow-extensors", []string{"overhead-press", "dip", "close-grip-bench-press", "overhead-triceps-extension"}},
		{"elbow-extensors", []string{"bench-press", "close-grip-bench-press", "lying-triceps-extension"}},
		{"elbow-flexors", []string{"barbell-shrug", "bent-over-barbell-row", "pull-up-underhand", "barbell-curl"}},
	} {
		for i := 1; i < len(c.ids); i++ {
			if a, b := share(c.ids[i-1], c.muscle), share(c.ids[i], c.muscle); a >= b {
				t.Errorf("%s: %s %g, %s %g", c.muscle, c.ids[i-1], a, c.ids[i], b)
			}
		}
	}
}

// Ensure that earlier ids keep working, that two exercises may not share a
// name, and that a file whose parts contradict each other is refused.
func TestReadRefuses(t *testing.T) {
	src, err := files.ReadFile("library/plank.yaml")
	if err != nil {
		t.Fatal(err)
	}
	plank := string(src)
	read := func(edits ...string) (*Library, error) {
		return Read(fstest.MapFS{
			"plank.yaml": {Data: []byte(plank)},
			"other.yaml": {Data: []byte(strings.NewReplacer(append([]string{"id: plank", "id: other"}, edits...)...).Replace(plank))},
		})
	}
	if _, err := read(); err == nil || !strings.Contains(err.Error(), "names both") {
		t.Errorf("two planks: %v", err)
	}
	l, err := Read(fstest.MapFS{"plank.yaml": {Data: []byte(strings.Replace(plank, "version: 1\n", "version: 1\nwas: [front-hold]\n", 1))}})
	if err != nil {
		t.Fatal(err)
	}
	if id, _ := l.Name("front hold"); id != "plank" {
		t.Errorf("the earlier id finds %q", id)
	}
	for _, c := range []struct{ old, new, want string }{
		{"carried: 0", "carried: 7\n#", "write 0 to 1"},
		{"version: 1", "version: one", "whole number"},
		{"pattern: trunk", "pattern: trunkk", "pattern cannot be"},
	} {
		_, err := Read(fstest.MapFS{"plank.yaml": {Data: []byte(strings.Replace(plank, c.old, c.new, 1))}})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.new, err, c.want)
		}
	}
}

// Ensure that written entries read back equal: the form loses nothing.
func TestEntriesRoundTrip(t *testing.T) {
	written := fstest.MapFS{}
	for _, e := range Shipped.All() {
		written[string(e.ID)+".yaml"] = &fstest.MapFile{Data: form.Write(e)}
	}
	l, err := Read(written)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range l.All() {
		if string(form.Write(e)) != string(form.Write(Shipped.All()[i])) {
			t.Errorf("%s changes when written and read", e.ID)
		}
	}
}
