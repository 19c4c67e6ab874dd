package design

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
)

// randomOrder makes an order problem of n exercises; half have precedences.
func randomOrder(r *rand.Rand, n int) Order {
	o := Order{Must: make([]uint32, n)}
	for range n {
		before, next := make([]int, n), make([]int, n)
		for j := range n {
			before[j], next[j] = r.IntN(1000)-200, r.IntN(200)
		}
		o.Before, o.Next = append(o.Before, before), append(o.Next, next)
	}
	if n > 2 && r.IntN(2) == 0 {
		rank := r.Perm(n)
		for range 2 {
			i, j := r.IntN(n), r.IntN(n)
			if rank[i] < rank[j] {
				o.Must[j] |= 1 << i
			}
		}
	}
	return o
}

// permute calls f for every order of n things.
func permute(n int, f func([]int)) {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	var rec func(k int)
	rec = func(k int) {
		if k == n {
			f(list)
			return
		}
		for i := k; i < n; i++ {
			list[k], list[i] = list[i], list[k]
			rec(k + 1)
			list[k], list[i] = list[i], list[k]
		}
	}
	rec(0)
}

// Ensure that the order is the best of all permutations, up to seven exercises.
func TestOrderIsBestOfAll(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for n := range 8 {
		for range 40 {
			o := randomOrder(r, n)
			best, found := 0, false
			permute(n, func(list []int) {
				if c, ok := o.Cost(list); ok && (!found || c < best) {
					best, found = c, true
				}
			})
			got := o.Best()
			if c, ok := o.Cost(got); !found || !ok || c != best || len(got) != n {
				t.Fatalf("%d exercises: cost %d (%v), best %d; order %v", n, c, ok, best, got)
			}
		}
	}
}

// Ensure that a ring of precedences has no order, and that equal orders give the
// first by index.
func TestOrderOfRingAndTies(t *testing.T) {
	o := randomOrder(rand.New(rand.NewPCG(2, 2)), 4)
	o.Must = []uint32{2, 1, 0, 0}
	if got := o.Best(); got != nil {
		t.Errorf("a ring has the order %v", got)
	}
	zero := Order{Must: make([]uint32, 5)}
	for range 5 {
		zero.Before, zero.Next = append(zero.Before, make([]int, 5)), append(zero.Next, make([]int, 5))
	}
	if got := zero.Best(); !slices.Equal(got, []int{0, 1, 2, 3, 4}) {
		t.Errorf("no costs give the order %v", got)
	}
}

func BenchmarkOrder(b *testing.B) {
	for _, n := range []int{8, 10, 12} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			o := randomOrder(rand.New(rand.NewPCG(3, 3)), n)
			for b.Loop() {
				o.Best()
			}
		})
	}
}
