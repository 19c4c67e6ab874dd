package store

import (
	"bufio"
	"context"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"

	"corbel/exercise"
	"corbel/plan"
	"corbel/practice"
)

// workers edit at the same time in the process that is killed, each a field of its own.
const workers = 200

// A field of a stored block.
type field struct{ doc, at string }

// manyFields lists fields of blocks, one for each worker.
func manyFields(ctx context.Context, p *practice.Practice, who *practice.Account) (out []field, version map[string]int, text map[string]practice.Fields, err error) {
	docs, err := p.Docs(ctx, who, practice.BlockDoc, "")
	if err != nil {
		return nil, nil, nil, err
	}
	version, text = map[string]int{}, map[string]practice.Fields{}
	for _, d := range docs {
		f := practice.TakeApart(d.Text)
		version[d.ID], text[d.ID] = d.Version, f
		for _, at := range slices.Sorted(maps.Keys(f)) {
			if slot, ok := strings.CutSuffix(at, ".exercise"); ok {
				out = append(out, field{d.ID, slot + ".private"})
			}
		}
	}
	if len(out) < workers {
		return nil, nil, nil, fmt.Errorf("%d fields for %d workers", len(out), workers)
	}
	return out[:workers], version, text, nil
}

// editUntilKilled writes notes as fast as it can and prints the id of every change
// after it was acknowledged.
func editUntilKilled(place, round string) {
	ctx := context.Background()
	fail := func(err error) {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	s, err := openAt(ctx, place)
	if err != nil {
		fail(err)
	}
	p := practice.New(s, exercise.Shipped, noon, plan.MadeWith{})
	who := &practice.Account{ID: "u1", Role: practice.Coach}
	fields, version, text, err := manyFields(ctx, p, who)
	if err != nil {
		fail(err)
	}
	var print sync.Mutex
	var all sync.WaitGroup
	for w, f := range fields {
		all.Go(func() {
			was := text[f.doc][f.at]
			for i := 0; ; i++ {
				c := practice.Change{ID: fmt.Sprintf("kill-%s-%d-%08d", round, w, i), Kind: practice.BlockDoc, Doc: f.doc, Base: version[f.doc],
					What: "wrote a note", Edits: []practice.Edit{{At: f.at, Was: was, To: fmt.Sprintf("round %s note %d", round, i)}}}
				if _, err := p.Do(ctx, who, c); err != nil {
					fail(err)
				}
				was = c.Edits[0].To
				print.Lock()
				fmt.Println(c.ID, f.doc, f.at, was)
				print.Unlock()
			}
		})
	}
	all.Wait()
}

// killed is how many acknowledged changes a process makes before it is killed.
const killed = 200

// rounds is how often the process is killed: ten times in CI and in long runs.
func rounds() int {
	if os.Getenv("CI") != "" || os.Getenv("CORBEL_LONG") != "" {
		return 10
	}
	return 3
}

// Ensure that a process killed (SIGKILL) while 200 edit at once loses no change that it
// acknowledged, time after time, and that the store verifies each time.
func TestKill(t *testing.T) {
	onBothAt(t, func(t *testing.T, s *Store, place string) {
		p, coach, _ := filled(t, s)
		many(t, p, coach, 2*workers/19+1) // the two examples have 19 slots between them
		seen := 0
		for round := range rounds() {
			lines := runAndKill(t, place, fmt.Sprint(round))
			seen += len(lines)
			last := map[field]string{}
			for _, l := range lines {
				parts := strings.SplitN(l, " ", 4)
				last[field{parts[1], parts[2]}] = parts[3]
				if err := s.View(t.Context(), func(r practice.Reader) error {
					_, err := r.Operation(parts[0])
					return err
				}); err != nil {
					t.Fatalf("round %d: %s was acknowledged and is lost: %v", round, parts[0], err)
				}
			}
			_, _, now, err := manyFields(t.Context(), p, coach)
			if err != nil {
				t.Fatal(err)
			}
			for f, note := range last {
				var want, got int
				fmt.Sscanf(note, fmt.Sprintf("round %d note %%d", round), &want)
				fmt.Sscanf(now[f.doc][f.at], fmt.Sprintf("round %d note %%d", round), &got)
				if got < want || got > want+1 { // one more may have been written and not said
					t.Errorf("round %d: %v is %q, acknowledged %q", round, f, now[f.doc][f.at], note)
				}
			}
			if os.Getenv("CORBEL_LONG") == "" && round+1 < rounds() {
				continue // the history grows, and playing it with it: once at the end
			}
			if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
				t.Error(wrong, err)
			}
		}
		if err := s.Check(t.Context()); err != nil {
			t.Error(err)
		}
		if seen < rounds()*killed {
			t.Errorf("only %d changes acknowledged", seen)
		}
	})
}

// runAndKill runs the editing process, kills it after so many acknowledged
// changes, and returns every line it said.
func runAndKill(t *testing.T, place, round string) []string {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), "CORBEL_KILLED="+place, "CORBEL_ROUND="+round)
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	var lines []string
	in := bufio.NewScanner(out)
	for in.Scan() {
		lines = append(lines, in.Text())
		if len(lines) == killed {
			if err := c.Process.Kill(); err != nil {
				t.Fatal(err)
			}
		}
	}
	_ = c.Wait() // it was killed
	if len(lines) < killed {
		t.Fatalf("the process ended by itself after %d changes", len(lines))
	}
	return lines
}
