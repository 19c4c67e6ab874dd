package body

import (
	"encoding/gob"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"regexp"
	"testing"
	"time"

	"corbel/exercise"
)

// cacheAsk asks an exercise of the test man through a cache.
func cacheAsk(t testing.TB, c *Cache, id string) *Asked {
	t.Helper()
	b := testBody(t, "man")
	s := NewStrength(b.Measures.Sex, b.Measures.Mass, b.Measures.Height, LevelSomeTraining)
	got, err := AskCached(c, b, s, Postures(exercise.Shipped, exercise.Shipped.ByID(id)), -1)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// Ensure that a kept answer comes back bit for bit, that files have no name in them
// or about them, and that another strength, load or body is another file.
func TestCacheKeeps(t *testing.T) {
	c := &Cache{Dir: t.TempDir(), Most: CacheMost}
	fresh, kept := cacheAsk(t, c, "clamshell"), cacheAsk(t, c, "clamshell")
	if !reflect.DeepEqual(fresh, kept) || !reflect.DeepEqual(fresh, cacheAsk(t, nil, "clamshell")) {
		t.Error("the kept answer is another one")
	}
	b := testBody(t, "man")
	s := NewStrength(b.Measures.Sex, b.Measures.Mass, b.Measures.Height, LevelSomeTraining)
	postures := Postures(exercise.Shipped, exercise.Shipped.ByID("clamshell"))
	s.Deviation[HipAbducting] += 1e-15
	for _, load := range []float64{-1, 3} {
		if _, err := AskCached(c, b, s, postures, load); err != nil {
			t.Fatal(err)
		}
	}
	list, err := os.ReadDir(c.Dir)
	if err != nil || len(list) != 3 {
		t.Fatalf("%d files, %v; want 3", len(list), err)
	}
	for _, f := range list {
		raw, err := os.ReadFile(filepath.Join(c.Dir, f.Name()))
		if !regexp.MustCompile(`^[0-9a-f]{64}$`).MatchString(f.Name()) || err != nil || regexp.MustCompile(`(?i)clamshell`).Match(raw) {
			t.Errorf("%s names what it is, %v", f.Name(), err)
		}
	}
}

// Ensure that a damaged file is computed anew and replaced, whatever is wrong with it.
func TestDamagedCache(t *testing.T) {
	c := &Cache{Dir: t.TempDir(), Most: CacheMost}
	want := cacheAsk(t, c, "clamshell")
	list, _ := os.ReadDir(c.Dir)
	path := filepath.Join(c.Dir, list[0].Name())
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	turned := append([]byte(nil), whole...)
	turned[len(turned)/2] ^= 1
	for name, damaged := range map[string][]byte{"empty": nil, "cut short": whole[:len(whole)/2], "one bit": turned, "text": []byte("not an answer at all, and long enough for a sum of thirty-two bytes")} {
		if err := os.WriteFile(path, damaged, 0o600); err != nil {
			t.Fatal(err)
		}
		if got := cacheAsk(t, c, "clamshell"); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: another answer", name)
		}
		if again, err := os.ReadFile(path); err != nil || !reflect.DeepEqual(again, whole) {
			t.Errorf("%s: the file was not replaced, %v", name, err)
		}
	}
}

// Ensure that what was not used longest goes when the cache is full, and that
// clearing leaves nothing.
func TestCacheShrinks(t *testing.T) {
	c := &Cache{Dir: t.TempDir(), Most: CacheMost, Now: time.Now}
	for i := range 5 {
		c.put(fmt.Sprint(i), make([]byte, 1000))
		old := time.Now().Add(time.Duration(i-10) * time.Hour)
		if err := os.Chtimes(filepath.Join(c.Dir, fmt.Sprint(i)), old, old); err != nil {
			t.Fatal(err)
		}
	}
	var into []byte
	if !c.get("0", &into) { // used now
		t.Fatal("nothing was kept")
	}
	_, size := c.Size()
	c.Most = size
	c.put("new", make([]byte, 1000))
	if c.get("1", &into) || !c.get("0", &into) || !c.get("4", &into) || !c.get("new", &into) {
		t.Error("another file than the one not used longest went")
	}
	if n, err := c.Clear(); n != 5 || err != nil {
		t.Errorf("cleared %d, %v", n, err)
	}
	if n, size := c.Size(); n != 0 || size != 0 {
		t.Errorf("%d files of %d bytes are left", n, size)
	}
	if n, err := (&Cache{Dir: filepath.Join(c.Dir, "none")}).Clear(); n != 0 || err != nil {
		t.Errorf("a cache that is not there: %d, %v", n, err)
	}
}

// Ensure that a folder nobody can write costs time, not answers.
func TestCacheWithoutFolder(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if got := cacheAsk(t, &Cache{Dir: filepath.Join(file, "in"), Most: CacheMost}, "clamshell"); got.Largest.Load <= 0 {
		t.Errorf("%+v", got.Largest)
	}
}

// Ensure that processes which fill one cache at once all get the right answers, and
// leave it whole.
func TestTwoProcesses(t *testing.T) {
	const folder, answer = "CORBEL_TEST_CACHE", "CORBEL_TEST_ANSWER"
	ids := []string{"clamshell", "side-lying-hip-abduction", "knee-extension"}
	if dir := os.Getenv(folder); dir != "" { // the other process
		f, err := os.Create(os.Getenv(answer))
		if err != nil {
			t.Fatal(err)
		}
		enc := gob.NewEncoder(f)
		c := &Cache{Dir: dir, Most: 20 << 10} // so small that files go while others read
		for range 3 {
			for _, id := range ids {
				if err := enc.Encode(cacheAsk(t, c, id)); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		return
	}
	dir, out := t.TempDir(), t.TempDir()
	var running []*exec.Cmd
	for i := range 3 {
		cmd := exec.Command(os.Args[0], "-test.run=^TestTwoProcesses$")
		cmd.Env = append(os.Environ(), folder+"="+dir, answer+"="+filepath.Join(out, fmt.Sprint(i)))
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		running = append(running, cmd)
	}
	for i, cmd := range running {
		if err := cmd.Wait(); err != nil {
			t.Errorf("process %d: %v", i, err)
		}
	}
	for i := range running {
		f, err := os.Open(filepath.Join(out, fmt.Sprint(i)))
		if err != nil {
			t.Fatal(err)
		}
		dec := gob.NewDecoder(f)
		for range 3 {
			for _, id := range ids {
				got := &Asked{}
				if err := dec.Decode(got); err != nil {
					t.Fatalf("process %d: %v", i, err)
				}
				if id == ids[0] && !reflect.DeepEqual(got, cacheAsk(t, nil, id)) {
					t.Errorf("process %d got another answer for %s", i, id)
				}
			}
		}
		f.Close()
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "new-*")); len(left) > 0 {
		t.Errorf("files begun and left: %v", left)
	}
}

// Budget: 1 ms for an answer that is kept.
func BenchmarkAskCached(b *testing.B) {
	c := &Cache{Dir: b.TempDir(), Most: CacheMost}
	cacheAsk(b, c, "back-squat")
	for b.Loop() {
		cacheAsk(b, c, "back-squat")
	}
}
