package design

// MostOrdered is the most exercises of a session that are put in order exactly:
// time and memory double with each (16 take 40 ms and 8 MB).
const MostOrdered = 16

// An Order is what the order of the exercises of one session costs, in whole
// numbers: 1/1000 of a repetition a set, or what is worth as much.
type Order struct {
	Before [][]int  // cost of i anywhere before j
	Next   [][]int  // cost of j straight after i
	Must   []uint32 // by j: bits of those that must come before it
}

// Cost returns the cost of an order, and false where one comes too early.
func (o Order) Cost(order []int) (cost int, ok bool) {
	done := uint32(0)
	for at, j := range order {
		if o.Must[j]&^done != 0 {
			return 0, false
		}
		for _, i := range order[:at] {
			cost += o.Before[i][j]
		}
		if at > 0 {
			cost += o.Next[order[at-1]][j]
		}
		done |= 1 << j
	}
	return cost, true
}

// unreached is the cost of what no order reaches.
const unreached = int32(1) << 30

// Best returns the cheapest order, the first in index order of equal ones, by
// dynamic programming over the sets of exercises done and the last of them,
// docs/model/08-design.md (7), (8); nil where Must goes round in a ring. It panics
// on more than MostOrdered exercises.
func (o Order) Best() []int {
	n := len(o.Must)
	if n > MostOrdered {
		panic(tooLong)
	}
	if n == 0 {
		return []int{}
	}
	// rest[set*n+last] is the least cost of all that follows.
	full := uint32(1)<<n - 1
	rest := make([]int32, (int(full)+1)*n)
	add := make([]int32, n)
	for set := full; set > 0; set-- {
		for j := range n { // what j costs after all of set
			add[j] = 0
			for i := range n {
				if set>>i&1 == 1 && i != j {
					add[j] += int32(o.Before[i][j])
				}
			}
		}
		for last := range n {
			if set>>last&1 == 0 {
				continue
			}
			rest[int(set)*n+last] = o.follow(rest, set, last, add)
		}
	}
	return o.trace(rest, full)
}

const tooLong = "design: more exercises in a session than can be put in order"

// follow returns the least cost of what follows a set of exercises, the last known.
func (o Order) follow(rest []int32, set uint32, last int, add []int32) int32 {
	n := len(o.Must)
	if set == uint32(1)<<n-1 {
		return 0
	}
	best := unreached
	for j := range n {
		if set>>j&1 == 1 || o.Must[j]&^set != 0 {
			continue
		}
		if c := rest[int(set|1<<j)*n+j]; c < unreached {
			best = min(best, c+add[j]+int32(o.Next[last][j]))
		}
	}
	return best
}

// trace walks the cheapest way from the empty session.
func (o Order) trace(rest []int32, full uint32) []int {
	n := len(o.Must)
	var out []int
	set := uint32(0)
	for set != full {
		best, pick := unreached, -1
		for j := range n {
			if set>>j&1 == 1 || o.Must[j]&^set != 0 {
				continue
			}
			c := rest[int(set|1<<j)*n+j]
			if c >= unreached {
				continue
			}
			for _, i := range out {
				c += int32(o.Before[i][j])
			}
			if len(out) > 0 {
				c += int32(o.Next[out[len(out)-1]][j])
			}
			if c < best {
				best, pick = c, j
			}
		}
		if pick < 0 {
			return nil
		}
		out, set = append(out, pick), set|1<<pick
	}
	return out
}
