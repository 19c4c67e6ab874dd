package store

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"

	"corbel/exercise"
	"corbel/plan"
	"corbel/practice"
)

// workers edit at the same time in the process that is killed.
const workers = 8

// editUntilKilled changes doses as fast as it can and prints the id of every
// change after it was acknowledged.
func editUntilKilled(place, round string) {
	ctx := context.Background()
	s, err := openAt(ctx, place)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	p := practice.New(s, exercise.Shipped, noon, plan.MadeWith{})
	who := &practice.Account{ID: "u1", Role: practice.Coach}
	doc, err := p.Doc(ctx, who, practice.BlockDoc, "rosa-b2")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	slots := []string{"sessions[a].slots[a1]", "sessions[a].slots[a2]", "sessions[a].slots[a3]", "sessions[a].slots[a4]",
		"sessions[b].slots[b1]", "sessions[b].slots[b2]", "sessions[b].slots[b3]", "sessions[b].slots[b4]"}
	var print sync.Mutex
	var all sync.WaitGroup
	for w := range workers {
		all.Go(func() {
			at := slots[w] + ".private"
			was := practice.TakeApart(doc.Text)[at]
			for i := 0; ; i++ {
				c := practice.Change{ID: fmt.Sprintf("kill-%s-%d-%08d", round, w, i), Kind: practice.BlockDoc, Doc: doc.ID, Base: doc.Version,
					What: "wrote a note", Edits: []practice.Edit{{At: at, Was: was, To: fmt.Sprintf("round %s note %d", round, i)}}}
				if _, err := p.Do(ctx, who, c); err != nil {
					fmt.Fprintln(os.Stderr, err)
					os.Exit(1)
				}
				was = c.Edits[0].To
				print.Lock()
				fmt.Println(c.ID, at, was)
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

// Ensure that a process killed (SIGKILL) while eight edit at once loses no change
// that it acknowledged, time after time, and that the store verifies each time.
func TestKill(t *testing.T) {
	onBothAt(t, func(t *testing.T, s *Store, place string) {
		p, coach, _ := filled(t, s)
		seen := 0
		for round := range rounds() {
			lines := runAndKill(t, place, fmt.Sprint(round))
			seen += len(lines)
			last := map[string]string{}
			for _, l := range lines {
				parts := strings.SplitN(l, " ", 3)
				last[parts[1]] = parts[2]
				if err := s.View(t.Context(), func(r practice.Reader) error {
					_, err := r.Operation(parts[0])
					return err
				}); err != nil {
					t.Fatalf("round %d: %s was acknowledged and is lost: %v", round, parts[0], err)
				}
			}
			now := practice.TakeApart(rosa(t, p, coach).Text)
			for at, note := range last {
				var want, got int
				fmt.Sscanf(note, fmt.Sprintf("round %d note %%d", round), &want)
				fmt.Sscanf(now[at], fmt.Sprintf("round %d note %%d", round), &got)
				if got < want || got > want+1 { // one more may have been written and not said
					t.Errorf("round %d: %s is %q, acknowledged %q", round, at, now[at], note)
				}
			}
		}
		if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
			t.Error(wrong, err)
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
