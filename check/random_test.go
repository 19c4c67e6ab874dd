package check

import (
	"encoding/json"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// Sizes of the random test; CORBEL_LONG asks for the long one (make long).
const (
	fewBlocks, manyBlocks = 200, 10_000
	raceBlocks            = 20 // of go test -short, which the race detector slows
	someFixes             = 10 // ways out of a block tried in the short test
	eachCode              = 50 // times a code must come up in the long test
)

// Ensure over random clients and blocks that nothing panics, that a report is
// JSON without NaN and the same twice, and that every way out yields a block that
// reads back the same and in which that problem is gone or weaker.
func TestRandomBlocks(t *testing.T) {
	want, seen, tries := fewBlocks, map[Code]int{}, 0
	if testing.Short() {
		want = raceBlocks
	}
	if os.Getenv("CORBEL_LONG") != "" {
		want = manyBlocks
		if n, err := strconv.Atoi(os.Getenv("CORBEL_BLOCKS")); err == nil {
			want = n // a smaller budget of time
		}
	}
	for tries < want {
		rapid.Check(t, func(rt *rapid.T) {
			tries++
			g := gen{rt}
			in := Input{Client: g.client(), Block: g.block(), Library: exercise.Shipped}
			in.Language = in.Client.Language
			if g.one(20) && len(in.Block.Sessions) < 3 {
				in.Draws, in.Seed = 20, 1
			}
			readsBack(rt, in)
			checked := Run(in)
			tryReport(rt, in, checked.Report, want == fewBlocks || g.one(4))
			offered := 0
			for _, p := range checked.Report.Problems {
				seen[p.Code]++
				offered += len(p.Fixes)
			}
			every := 1 // in the short test some ways out of each block are tried
			if want == fewBlocks {
				every = 1 + offered/someFixes
			}
			i := g.n(0, every-1)
			for _, p := range checked.Report.Problems {
				for _, f := range p.Fixes {
					if i++; i%every == 0 {
						tryFix(rt, in, p, f)
					}
				}
			}
			if g.one(10) {
				tryApply(rt, g, in, checked)
			}
		})
		if t.Failed() {
			return
		}
	}
	for code := range wording {
		if n := seen[Code(code)]; want >= manyBlocks && n < eachCode {
			t.Errorf("%s came up %d times in %d blocks", code, n, tries)
		}
	}
	t.Logf("%d blocks: %v", tries, seen)
}

// readsBack holds that client and block are valid forms.
func readsBack(t *rapid.T, in Input) {
	if _, err := client.Read("c", form.Write(in.Client), in.Library.Name); err != nil {
		t.Fatalf("the drawn client is no form: %v", err)
	}
	if _, err := plan.ReadBlock("x", form.Write(in.Block), in.Library.Name); err != nil {
		t.Fatalf("the drawn block is no form: %v", err)
	}
}

// tryReport holds that a report is JSON, says everything, and is the same twice.
func tryReport(t *rapid.T, in Input, report *Report, twice bool) {
	text, err := json.Marshal(report)
	if err != nil {
		t.Fatalf("no JSON: %v", err)
	}
	if twice {
		if again, _ := json.Marshal(Check(in)); string(again) != string(text) {
			t.Fatal("two runs differ")
		}
	}
	ids := map[string]bool{}
	for i, p := range report.Problems {
		if strings.ContainsAny(p.Text+p.Why, "{}|") {
			t.Fatalf("%s has an argument left: %s %s", p.Code, p.Text, p.Why)
		}
		if ids[p.ID] {
			t.Fatalf("the id %s of %s stands twice", p.ID, p.Code)
		}
		ids[p.ID] = true
		if i > 0 && report.Problems[i-1].Severity.rank() > p.Severity.rank() {
			t.Fatalf("%s stands after a lesser problem", p.Code)
		}
	}
}

// tryFix applies a way out to a copy and looks for the problem again.
func tryFix(t *rapid.T, in Input, p Problem, f Fix) {
	b := in.Block.Clone()
	if !f.apply(b) {
		t.Fatalf("%s, %s cannot be applied", p.Code, f.Text)
	}
	b.Revision++ // as Apply does
	text := form.Write(b)
	back, err := plan.ReadBlock("x", text, exercise.Shipped.Name)
	if err != nil {
		t.Fatalf("%s, %q yields a block that does not read back: %v\n%s", p.Code, f.Text, err, text)
	}
	if again := form.Write(back); string(again) != string(text) {
		t.Fatalf("%s, %q yields a block that reads back otherwise:\n%s\n%s", p.Code, f.Text, text, again)
	}
	after := in
	after.Block = back
	if p.Code != "reason-fails" {
		after.Draws = 0
	}
	r := newRules(after)
	r.offer = false
	for _, q := range r.again(&p) {
		if !q.same(&p) {
			continue
		}
		if q.harm >= p.harm {
			t.Fatalf("%s, %q: harm %g before, %g after\n%s\n%s\n%s", p.Code, f.Text, p.harm, q.harm, p.Text, q.Text, form.Write(in.Block))
		}
		if in.Draws == 0 && !strings.HasSuffix(f.Text, ")") {
			t.Fatalf("%s, %q: harm %g before, %g after, not gone", p.Code, f.Text, p.harm, q.harm)
		}
	}
}

// again lists the problems of the kind of one: of all rules where the safety
// rules found it.
func (r *rules) again(p *Problem) []Problem {
	if p.harm == 0 {
		r.apply()
		return r.problems()
	}
	r.only = p
	r.apply()
	return r.out
}

// tryRecheck holds that an edited block checked again gives what a fresh check
// gives.
func tryRecheck(t *rapid.T, in Input, before *Checked, edited *plan.Block) {
	in.Block, in.Draws = edited, 0
	fresh := newRules(in)
	fresh.offer = false
	fresh.apply()
	a, _ := json.Marshal(fresh.checked().Report)
	b, _ := json.Marshal(Recheck(before, edited).Report)
	if string(a) != string(b) {
		t.Fatalf("checked again: %s\nfresh: %s", b, a)
	}
}

// tryApply applies one way out by its name, and tries names that must be refused.
func tryApply(t *rapid.T, g gen, in Input, before *Checked) {
	report := before.Report
	var names []string
	for _, p := range report.Problems {
		for _, f := range p.Fixes {
			names = append(names, FixName(in.Block, f))
		}
	}
	if len(names) == 0 {
		return
	}
	name := pick(g, names...)
	b, err := Apply(in, name)
	if err == nil {
		tryRecheck(t, in, before, b)
	}
	if err != nil || b.Revision != in.Block.Revision+1 {
		t.Fatalf("%s: %v, %v", name, b, err)
	}
	_, id, _ := strings.Cut(name, ":")
	for _, wrong := range []string{fmt.Sprintf("%d:%s", in.Block.Revision+1, id), fmt.Sprintf("%d:00000000.1", in.Block.Revision), id} {
		if _, err := Apply(in, wrong); err == nil {
			t.Fatalf("%s was applied at revision %d", wrong, in.Block.Revision)
		}
	}
}
