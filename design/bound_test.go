package design

import (
	"fmt"
	"testing"
)

// Ensure that at normal effort the frozen problems of full size are worth no less
// than their stored floors and no more than the bound, break no rule, and that the
// bound is not idle.
func TestFrozenBetweenFloorAndBound(t *testing.T) {
	for _, days := range []int{1, 3, 4, 6} {
		p := frozen(t, days)
		for seed := range seeds() {
			a := Search(p, nil, NormalMoves, seed+1)
			bound := Bound(p, a.Value, BoundSteps)
			if w := p.Fill(a.Choices); w.Broken() != 0 || w.Value() != a.Value {
				t.Errorf("%d sessions, seed %d: broken %d; value %d, said %d", days, seed+1, w.Broken(), w.Value(), a.Value)
			}
			if a.Value < frozenFloors[days] || a.Value > bound {
				t.Errorf("%d sessions, seed %d: value %d, floor %d, bound %d", days, seed+1, a.Value, frozenFloors[days], bound)
			}
			if bound > a.Value+a.Value/3 {
				t.Errorf("%d sessions: the bound %d says nothing about %d", days, bound, a.Value)
			}
			t.Logf("%d sessions, seed %d: %d, bound %d (%.2f %%)", days, seed+1, a.Value, bound, 100*float64(bound-a.Value)/float64(a.Value))
		}
	}
}

// Ensure that no week that breaks no rule passes the bound, whatever the prices
// have come to.
func TestNoWeekPassesTheBound(t *testing.T) {
	for i := range 6 {
		p := small(2 * i)
		a := Search(p, nil, QuickMoves, 1)
		for _, steps := range []int{1, 2, 5, 20, 100, 600} {
			if b := Bound(p, a.Value, steps); b < a.Value {
				t.Errorf("problem %d, %d steps: bound %d under the value %d", i, steps, b, a.Value)
			}
		}
	}
}

// Ensure that in the frozen group every number of sessions in listed order has at
// least 95 % of its own best.
func TestGroupNested(t *testing.T) {
	p := frozen(t, 6)
	a := Search(p, nil, NormalMoves, 1)
	w := p.Fill(a.Choices)
	for i, v := range p.Views {
		share := float64(w.ViewValue(i)) / float64(v.Best)
		if share < 0.95 {
			t.Errorf("%d sessions: %.1f %% of their best", len(v.Days), 100*share)
		}
	}
}

func BenchmarkSearch(b *testing.B) {
	for _, days := range []int{1, 4, 6} {
		for _, effort := range []int{QuickMoves, NormalMoves} {
			b.Run(fmt.Sprintf("%d-sessions-%d-moves", days, effort), func(b *testing.B) {
				p := frozen(b, days)
				for b.Loop() {
					Search(p, nil, effort, 1)
				}
			})
		}
	}
}

func BenchmarkBound(b *testing.B) {
	p := frozen(b, 4)
	a := Search(p, nil, QuickMoves, 1)
	for b.Loop() {
		Bound(p, a.Value, BoundSteps)
	}
}
