package design

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// lp writes a problem without views as a mixed integer program in the CPLEX LP
// form, docs/model/08-design.md section 4. It is written apart from Week.
func lp(p *Problem) string { return lpFixed(p, nil) }

// lpFixed is lp with the choices of a plan fixed.
func lpFixed(p *Problem, plan []Choice) string {
	w := &lpWriter{p: p}
	w.days()
	w.columns()
	w.options()
	w.pairs()
	w.rules()
	if plan != nil {
		w.fix(plan)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Maximize\n obj: %s\nSubject To\n", strings.Join(w.gain, "\n  "))
	for i, r := range w.rows {
		fmt.Fprintf(&b, " c%d: %s\n", i, r)
	}
	fmt.Fprintf(&b, "Bounds\n%s\nBinary\n %s\nGeneral\n %s\nEnd\n", strings.Join(w.bounds, "\n"), strings.Join(w.binary, "\n "), strings.Join(w.integer, "\n "))
	return b.String()
}

type lpWriter struct {
	p                  *Problem
	gain, rows, bounds []string
	binary, integer    []string
}

func (w *lpWriter) value(v int, name string) {
	if v != 0 {
		w.gain = append(w.gain, fmt.Sprintf("%+d %s", v, name))
	}
}

func (w *lpWriter) row(format string, args ...any) {
	w.rows = append(w.rows, fmt.Sprintf(format, args...))
}

// days limits time and number.
func (w *lpWriter) days() {
	for d, day := range w.p.Days {
		var time, number []string
		for o, x := range w.p.Options {
			time = append(time, fmt.Sprintf("+ %d x_%d_%d + %d s_%d_%d", x.Setup, o, d, x.Set, o, d))
			number = append(number, fmt.Sprintf("+ x_%d_%d", o, d))
		}
		w.row("%s <= %d", strings.Join(time, "\n  "), day.Seconds)
		w.row("%s <= %d", strings.Join(number, "\n  "), day.Most)
	}
}

// workOn writes the work for a column on days.
func (w *lpWriter) workOn(c int, days ...int) string {
	var out []string
	for o, x := range w.p.Options {
		for _, k := range x.Work {
			for _, d := range days {
				if k.Column == c {
					out = append(out, fmt.Sprintf("+ %d s_%d_%d", k.Units, o, d))
				}
			}
		}
	}
	return strings.Join(out, "\n  ")
}

func (w *lpWriter) all() (out []int) {
	for d := range w.p.Days {
		out = append(out, d)
	}
	return out
}

// columns splits work into pieces. Slopes fall, so the dear pieces fill first.
func (w *lpWriter) columns() {
	for c, col := range w.p.Columns {
		work := w.workOn(c, w.all()...)
		if work == "" {
			continue
		}
		var pieces []string
		for i, x := range col.Pieces {
			name := fmt.Sprintf("g_%d_%d", c, i)
			pieces = append(pieces, "- "+name)
			w.value(x.Slope, name)
			if i < len(col.Pieces)-1 {
				w.bounds = append(w.bounds, fmt.Sprintf(" 0 <= %s <= %d", name, x.Length))
			}
		}
		w.row("%s %s = 0", work, strings.Join(pieces, " "))
		if col.Cap > 0 {
			w.row("%s <= %d", work, col.Cap)
		}
	}
}

func (w *lpWriter) options() {
	for o, x := range w.p.Options {
		for d := range w.p.Days {
			w.binary = append(w.binary, fmt.Sprintf("x_%d_%d", o, d))
			w.integer = append(w.integer, fmt.Sprintf("s_%d_%d", o, d))
			w.row("s_%d_%d - %d x_%d_%d >= 0", o, d, x.Least, o, d)
			w.row("s_%d_%d - %d x_%d_%d <= 0", o, d, x.Most, o, d)
			w.row("y_%d - x_%d_%d >= 0", o, o, d)
			w.value(x.Reward[d], fmt.Sprintf("x_%d_%d", o, d))
			w.value(-x.Cost, fmt.Sprintf("s_%d_%d", o, d))
			if !x.Allowed[d] {
				w.row("x_%d_%d = 0", o, d)
			}
		}
		w.value(-x.Use, fmt.Sprintf("y_%d", o))
	}
	for g, limits := range w.p.Groups {
		var week []string
		for d := range w.p.Days {
			var day []string
			for o, x := range w.p.Options {
				if slices.Contains(x.Groups, g) {
					day = append(day, fmt.Sprintf("+ x_%d_%d", o, d))
				}
			}
			if week = append(week, day...); len(day) > 0 {
				w.row("%s <= %d", strings.Join(day, " "), limits.Day)
			}
		}
		if len(week) > 0 {
			w.row("%s <= %d", strings.Join(week, "\n  "), limits.Week)
		}
	}
}

func (w *lpWriter) pairs() {
	for i, x := range w.p.Pairs {
		for d := range w.p.Days {
			z := fmt.Sprintf("z_%d_%d", i, d)
			w.value(x.Value, z)
			if x.Value < 0 {
				for _, b := range x.By {
					w.row("%s - x_%d_%d - x_%d_%d >= -1", z, x.For, d, b, d)
				}
				continue
			}
			w.row("%s - x_%d_%d <= 0", z, x.For, d)
			var by []string
			for _, b := range x.By {
				by = append(by, fmt.Sprintf("- x_%d_%d", b, d))
			}
			w.row("%s %s <= 0", z, strings.Join(by, " "))
		}
	}
}

func (w *lpWriter) rules() {
	for i, n := range w.p.Near {
		if work := w.workOn(n.Column, n.A, n.B); work != "" {
			w.value(-n.Cost, fmt.Sprintf("o_%d", i))
			w.row("o_%d %s >= %d", i, strings.NewReplacer("+", "-").Replace(work), -n.Free)
		}
	}
	for i, n := range w.p.Needs {
		var of []string
		for o, x := range w.p.Options {
			for d := range w.p.Days {
				if slices.Contains(x.Groups, n.Group) {
					of = append(of, fmt.Sprintf("+ x_%d_%d", o, d))
				}
			}
		}
		w.value(-n.Cost, fmt.Sprintf("q_%d", i))
		w.row("q_%d %s >= %d", i, strings.Join(of, " "), n.Times)
	}
	for _, l := range w.p.Locks {
		w.row("s_%d_%d = %d", l.Option, l.Day, l.Sets)
	}
}

func (w *lpWriter) fix(plan []Choice) {
	sets := map[[2]int]int{}
	for _, c := range plan {
		sets[[2]int{c.Option, c.Day}] = c.Sets
	}
	for o := range w.p.Options {
		for d := range w.p.Days {
			w.row("s_%d_%d = %d", o, d, sets[[2]int{o, d}])
		}
	}
}

// solver returns the outside solver, Debian's coinor-cbc, which `make test` installs.
func solver(t testing.TB) string {
	t.Helper()
	path, err := exec.LookPath("cbc")
	if err != nil {
		t.Fatal("cbc is not installed, so no optimum can be proven: run make test, or install Debian's coinor-cbc")
	}
	return path
}

// solve runs the outside solver for at most some seconds and returns the value of
// its plan and whether that is proven the best.
func solve(t testing.TB, text string, seconds int) (value float64, proven bool) {
	t.Helper()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "p.lp"), filepath.Join(dir, "p.sol")
	if err := os.WriteFile(in, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	log, err := exec.Command(solver(t), in, "sec", fmt.Sprint(seconds), "ratio", "0", "allow", "0.5", "solve", "solu", out).CombinedOutput()
	if err != nil {
		t.Fatalf("cbc: %v\n%s", err, log)
	}
	sol, err := os.ReadFile(out)
	if err != nil {
		t.Fatalf("cbc wrote no answer: %v\n%s", err, log)
	}
	head, _, _ := strings.Cut(string(sol), "\n")
	at := strings.LastIndex(head, " ")
	value, err = strconv.ParseFloat(strings.TrimSpace(head[at+1:]), 64)
	if err != nil {
		t.Fatalf("cbc says %q", head)
	}
	return math.Abs(value), strings.HasPrefix(head, "Optimal")
}

// Ensure that on twelve small problems every seed finds the best value, which an
// outside solver has proven.
func TestSearchFindsProvenOptimum(t *testing.T) {
	moves := NormalMoves / 2
	if long() {
		moves = NormalMoves
	}
	for i := range 12 {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			t.Parallel()
			p := small(i)
			if err := p.check(); err != nil {
				t.Fatal(err)
			}
			best, proven := solve(t, lp(p), 120)
			if !proven {
				t.Fatalf("cbc did not prove its answer %.0f", best)
			}
			for seed := range uint64(5) {
				a := Search(p, nil, moves, seed+1)
				if w := p.Fill(a.Choices); w.Broken() != 0 || w.Value() != a.Value {
					t.Fatalf("seed %d: broken %d, value %d but said %d", seed, w.Broken(), w.Value(), a.Value)
				}
				if math.Abs(float64(a.Value)-best) > 0.5 {
					t.Errorf("seed %d: %d, proven best %.0f", seed, a.Value, best)
				}
			}
		})
	}
}
