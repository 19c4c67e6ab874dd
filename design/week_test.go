package design

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// full makes a problem of full size: sessions, side, neighbours, needs.
func full(days int) *Problem {
	m := maker{r: rand.New(rand.NewPCG(77, uint64(days))), days: days, options: 200, columns: 40, minutes: 60, most: 8, sides: true}
	if days == 6 {
		m.sides = false
	}
	p := m.problem()
	if days == 6 { // what any first k of six sessions are worth
		for k := 2; k <= 6; k++ {
			view := View{Best: 1}
			for d := range k {
				view.Days = append(view.Days, d)
			}
			p.Views = append(p.Views, view)
		}
		for i, v := range p.Views {
			p.Views[i].Best = Search(p.only(v.Days), nil, ThoroughMoves, 1).Value
		}
	}
	return p
}

// wander does random moves on a search, some taken back, and calls each now and
// then.
func wander(p *Problem, seed uint64, moves, every int, each func(s *search)) {
	s := newSearch(p, seed)
	for i := range moves {
		switch {
		case i%997 == 0:
			s.ruin()
		default:
			s.move()
		}
		if s.week.over > 0 && s.dice.below(4) > 0 || s.dice.below(3) == 0 {
			s.takeBack()
		}
		s.undo = s.undo[:0]
		if i%every == every-1 {
			each(s)
		}
	}
}

// Ensure that an empty week is worth nothing, and one with locks what its choices
// are worth.
func TestEmptyWeekIsWorthNothing(t *testing.T) {
	for i := range 12 {
		p := small(i)
		p.Needs = nil
		if w := NewWeek(p); w.Value() != 0 || w.Broken() != 0 {
			t.Errorf("problem %d: value %d, broken %d", i, w.Value(), w.Broken())
		}
	}
}

// Ensure that the value kept up through 100,000 moves and undos is that of the same
// choices put in from scratch, and so are all sums.
func TestIncrementalIsFromScratch(t *testing.T) {
	for _, p := range []*Problem{small(2), frozen(t, 4), frozen(t, 6)} {
		wander(p, 5, 100_000, 10_000, func(s *search) {
			w := p.Fill(s.week.Choices())
			if w.Value() != s.week.Value() || w.over != s.week.over || w.short != s.week.short {
				t.Fatalf("value %d, from scratch %d; broken %d, from scratch %d", s.week.Value(), w.Value(), s.week.over, w.over)
			}
			for name, x := range map[string][2][]int32{"total": {s.week.total, w.total}, "work": {s.week.work, w.work}, "used": {s.week.used, w.used},
				"helpers": {s.week.helpers, w.helpers}, "groups": {s.week.inGroup, w.inGroup}, "views": {s.week.viewed, w.viewed}} {
				if !slices.Equal(x[0], x[1]) {
					t.Fatalf("%s differ from scratch", name)
				}
			}
		})
	}
}

// Ensure that the outside solver, told a plan, gives it the value the week gives
// it: 1,000 random plans, fifty to a program.
func TestProgramAndWeekAgree(t *testing.T) {
	solver(t)
	total := 0
	problems, want := 1, 100
	if long() {
		problems, want = 4, 1000
	}
	for i := range problems {
		p := small(3*i + 2)
		var plans [][]Choice
		wander(p, uint64(i), 250*40, 40, func(s *search) {
			for s.week.over > 0 {
				d := s.dice.below(s.t.days)
				s.drop(d)
			}
			s.undo = s.undo[:0]
			plans = append(plans, s.week.Choices())
		})
		for chunk := range slices.Chunk(plans[:max(want/problems, 100)], 50) {
			sum := int64(0)
			var gain, rows, bounds, binary []string
			for j, plan := range chunk {
				sum += p.Fill(plan).Value()
				g, r, b, x := programOf(p, plan, fmt.Sprintf("p%d", j))
				gain, rows, bounds, binary = append(gain, g), append(rows, r), append(bounds, b), append(binary, x)
				total++
			}
			text := "Maximize\n obj: " + strings.Join(gain, "\n ") + "\nSubject To\n" + strings.Join(rows, "\n") + "\nBounds\n" + strings.Join(bounds, "\n") + "\nBinary\n" + strings.Join(binary, "\n") + "\nEnd\n"
			value, proven := solve(t, text, 60)
			if sum < 0 {
				value = -value
			}
			if diff := value - float64(sum); !proven || diff > 0.5 || diff < -0.5 {
				t.Fatalf("problem %d: the program says %.3f, the week %d (proven: %v)", i, value, sum, proven)
			}
		}
	}
	if total < want {
		t.Errorf("only %d plans were tried", total)
	}
}

// programOf writes a plan's program with every name and row marked.
func programOf(p *Problem, plan []Choice, mark string) (gain, rows, bounds, binary string) {
	w := &lpWriter{p: p}
	w.days()
	w.columns()
	w.options()
	w.pairs()
	w.rules()
	w.fix(plan)
	name := strings.NewReplacer("x_", mark+"x_", "s_", mark+"s_", "g_", mark+"g_", "y_", mark+"y_", "z_", mark+"z_", "o_", mark+"o_", "q_", mark+"q_")
	for i, r := range w.rows {
		rows += fmt.Sprintf(" %sc%d: %s\n", mark, i, name.Replace(r))
	}
	return name.Replace(strings.Join(w.gain, "\n ")), rows, name.Replace(strings.Join(w.bounds, "\n")), name.Replace(strings.Join(w.binary, "\n "))
}

// Ensure that a plan that breaks a rule has no value in the program.
func TestProgramRefusesBrokenRules(t *testing.T) {
	solver(t)
	p := small(1)
	tried := 0
	wander(p, 3, 4000, 100, func(s *search) {
		for s.week.over == 0 {
			if !s.add(0) {
				s.stretch(0)
			}
			s.undo = s.undo[:0]
		}
		if tried++; tried > 5 {
			return
		}
		dir := t.TempDir()
		in := filepath.Join(dir, "p.lp")
		if err := os.WriteFile(in, []byte(lpFixed(p, s.week.Choices())), 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(solver(t), in, "solve").CombinedOutput()
		if err != nil || !bytes.Contains(out, []byte("infeasible")) {
			t.Errorf("the program takes a plan that breaks rules by %d: %v\n%s", s.week.over, err, out)
		}
	})
	if tried < 5 {
		t.Errorf("only %d broken plans were met", tried)
	}
}

// frozenFloors are the sessions of the frozen problems with the least value the
// normal effort may find, 1/1000 point (with views 1/1,000,000 of the best).
var frozenFloors = map[int]int64{1: 78_600, 3: 269_000, 4: 338_000, 6: 1_015_000}

// frozen reads a frozen problem of full size.
func frozen(t testing.TB, days int) *Problem {
	t.Helper()
	name := fmt.Sprintf("testdata/full-%d.json", days)
	src, err := os.ReadFile(name)
	if os.Getenv("CORBEL_FREEZE") != "" {
		src, err = full(days).Bytes(), nil
		if err := os.WriteFile(name, src, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	p, err := Read(name, src)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(p.Bytes(), src) {
		t.Fatalf("%s is not written as it was read", name)
	}
	return p
}

// Ensure that a problem whose parts contradict each other is refused by name.
func TestReadRefuses(t *testing.T) {
	good := small(2)
	for want, spoil := range map[string]func(*Problem){
		"only form 1":            func(p *Problem) { p.Form = 2 },
		"days: there are 1":      func(p *Problem) { p.Days = nil },
		"worth more a set":       func(p *Problem) { p.Columns[0].Pieces[1].Slope = 10_000 },
		"options[3].least":       func(p *Problem) { p.Options[3].Least = 0 },
		"options[3].groups":      func(p *Problem) { p.Options[3].Groups = []int{4, 2} },
		"joins an option":        func(p *Problem) { p.Pairs[0].By = []int{p.Pairs[0].For} },
		"near[0].b":              func(p *Problem) { p.Near[0].B = 0 },
		"has rewards for 1 days": func(p *Problem) { p.Options[0].Reward = []int{1} },
		"has no neighbours":      func(p *Problem) { p.Views = []View{{Days: []int{0}, Best: 1}} },
		"must be over 0":         func(p *Problem) { p.Near, p.Views = nil, []View{{Days: []int{0}}} },
	} {
		p, err := Read("good", good.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		spoil(p)
		src, _ := json.Marshal(p)
		if _, err := Read("p.json", src); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want %q, got %v", want, err)
		}
	}
	if _, err := Read("p.json", []byte("{")); err == nil {
		t.Error("half a file was read")
	}
}

// long says whether the long tests are asked for.
func long() bool { return os.Getenv("CORBEL_LONG") != "" }

// seeds is how many seeds a test on the frozen problems tries.
func seeds() uint64 {
	if long() {
		return 5
	}
	return 1
}

// Ensure that the same problem, moves and seed give the same choices, and that
// they are those of every machine: the sum is stored.
func TestSameSeedSameAnswer(t *testing.T) {
	p := frozen(t, 4)
	a, b := Search(p, nil, QuickMoves, 7), Search(p, nil, QuickMoves, 7)
	src, _ := json.Marshal(a)
	if again, _ := json.Marshal(b); !bytes.Equal(src, again) {
		t.Fatal("two runs differ")
	}
	sum := sha256.Sum256(fmt.Appendf(src, "%d", Bound(p, a.Value, 50)))
	if got := hex.EncodeToString(sum[:8]); got != answerSum {
		t.Errorf("the answer has the sum %s, stored is %s: the search or the machine has changed", got, answerSum)
	}
	if c := Search(p, nil, QuickMoves, 8); slices.Equal(a.Choices, c.Choices) {
		t.Error("another seed gives the same choices")
	}
}

// answerSum is the sum of the answer to the frozen problem of four sessions.
const answerSum = "98b52ed1a38f9a04"

// Ensure that locks stay, that a lock of 0 keeps an option out, and that a week is
// found around them.
func TestLocksStay(t *testing.T) {
	p := frozen(t, 4)
	a := Search(p, nil, QuickMoves, 1)
	p.Locks = []Lock{{a.Choices[0].Option, a.Choices[0].Day, 0}, {3, 1, p.Options[3].Least}, {a.Choices[5].Option, a.Choices[5].Day, a.Choices[5].Sets}}
	p.Options[3].Allowed[1] = true
	for seed := range uint64(3) {
		b := Search(p, a.Choices, QuickMoves, seed)
		w := p.Fill(b.Choices)
		for _, l := range p.Locks {
			if got := w.Sets(l.Option, l.Day); got != l.Sets {
				t.Errorf("lock %v: %d sets", l, got)
			}
		}
		if w.Broken() != 0 || w.Value() != b.Value {
			t.Errorf("broken %d, value %d, said %d", w.Broken(), w.Value(), b.Value)
		}
	}
}
