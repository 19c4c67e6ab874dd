package design

import (
	"slices"
	"testing"
)

// clashing is a problem of one day with two exercises that are both wanted.
func clashing() *Problem {
	p := &Problem{Form: Version, Days: []Day{{Name: "d", Seconds: 600, Most: 4}}, Columns: []Column{{Name: "m", Pieces: []Piece{{20, 10}, {1, -1}}}},
		Groups: []Group{{"a", 1, 9}, {"b", 1, 9}}}
	for i := range 2 {
		p.Options = append(p.Options, Option{Name: []string{"a main", "b main"}[i], Least: 2, Most: 4, Setup: 60, Set: 120, Reward: []int{0}, Allowed: []bool{true}, Work: []Work{{0, 20}}, Groups: []int{i}})
		p.Needs = append(p.Needs, Need{Group: i, Times: 1, Cost: needCost + i})
	}
	return p
}

// Ensure that for what cannot be had the smallest set of rules is named that leaves
// it open, and nothing where all can be had.
func TestSmallestClash(t *testing.T) {
	for _, x := range []struct {
		name  string
		spoil func(p *Problem)
		need  string
		want  []string
	}{
		{"all fits", func(p *Problem) { p.Days[0].Seconds = 900 }, "", nil},
		{"too short for both", func(p *Problem) { p.Days[0].Seconds = 500 }, "a", []string{"minutes +5", "need b"}},
		{"too short for one", func(p *Problem) { p.Days[0].Seconds = 200; p.Needs = p.Needs[:1] }, "a", []string{"minutes +5"}},
		{"a cap", func(p *Problem) { p.Days[0].Seconds = 900; p.Columns[0].Cap = 60 }, "a", []string{"cap m", "need b"}},
		{"one exercise", func(p *Problem) { p.Days[0].Seconds = 900; p.Days[0].Most = 1 }, "a", []string{"exercises +1", "need b"}},
		{"a lock", func(p *Problem) { p.Days[0].Seconds = 900; p.Needs = p.Needs[:1]; p.Locks = []Lock{{0, 0, 0}} }, "a", []string{"lock a"}},
		{"nowhere", func(p *Problem) { p.Days[0].Seconds = 900; p.Options[0].Allowed[0] = false }, "a", []string{clashNotThere}},
		{"twice in one day", func(p *Problem) { p.Days[0].Seconds = 900; p.Needs[0].Times = 2 }, "a", []string{clashDays}},
	} {
		p := clashing()
		x.spoil(p)
		if err := p.check(); err != nil {
			t.Fatal(err)
		}
		got := Clashes(p, Search(p, nil, clashMoves, 1))
		if x.need == "" {
			if len(got) > 0 {
				t.Errorf("%s: %v", x.name, got)
			}
			continue
		}
		if len(got) != 1 || got[0].Need != x.need || !slices.Equal(got[0].With, x.want) {
			t.Errorf("%s: %v, want %s with %v", x.name, got, x.need, x.want)
		}
	}
}

// Ensure that locks which break a rule by themselves are named with the rule, those
// that do not are not, and that a search still answers.
func TestLocksThatClash(t *testing.T) {
	p := clashing()
	p.Needs, p.Days[0].Most = nil, 2
	p.Options = append(p.Options, Option{Name: "c main", Least: 1, Most: 1, Set: 30, Reward: []int{0}, Allowed: []bool{true}})
	p.Locks = []Lock{{0, 0, 3}, {1, 0, 3}, {2, 0, 0}}
	got := Clashes(p, Search(p, nil, clashMoves, 1))
	if len(got) != 1 || got[0].Need != clashLocks || !slices.Equal(got[0].With, []string{"lock a", "lock b", "minutes +5"}) {
		t.Errorf("%v", got)
	}
}

// Ensure that at most ten prices are asked and that each is what a search with the
// rule lifted finds beyond the week there is, so none is below 0; that five minutes
// more and one exercise more are among them.
func TestPrices(t *testing.T) {
	p := frozen(t, 4)
	a := Search(p, nil, QuickMoves, 1)
	p.Locks = []Lock{{a.Choices[0].Option, a.Choices[0].Day, a.Choices[0].Sets}}
	prices := Prices(p, a)
	if len(prices) != mostPrices {
		t.Fatalf("%d prices", len(prices))
	}
	var seen []string
	for i, x := range prices {
		if x.Gain < 0 || i > 0 && x.Gain > prices[i-1].Gain {
			t.Errorf("%v", prices)
		}
		seen = append(seen, x.Rule)
	}
	for _, want := range []string{"minutes +5", "exercises +1"} {
		if !slices.Contains(seen, want) {
			t.Errorf("no price of %s: %v", want, seen)
		}
	}
	long := p.with(p.rules()[0])
	if long.Days[0].Seconds != p.Days[0].Seconds+300 || &long.Days[0] == &p.Days[0] {
		t.Error("lifting a rule changes the problem itself, or nothing")
	}
}

func BenchmarkPrice(b *testing.B) {
	p := frozen(b, 4)
	a := Search(p, nil, NormalMoves, 1)
	r := p.rules()[0]
	for b.Loop() {
		Search(p.with(r), a.Choices, priceMoves, 1)
	}
}

// BenchmarkAfterLock measures a new answer after a lock, as while a coach edits.
func BenchmarkAfterLock(b *testing.B) {
	p := frozen(b, 4)
	a := Search(p, nil, NormalMoves, 1)
	p.Locks = []Lock{{a.Choices[0].Option, a.Choices[0].Day, 0}}
	for b.Loop() {
		Search(p, a.Choices, QuickMoves, 1)
	}
}
