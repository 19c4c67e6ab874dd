package sketch

import (
	"math"

	"corbel/figure"
)

// A shape is a projected part.
type shape struct {
	*part
	rings     [][]figure.Point // of each piece, m
	flats     [][]flat         // of each piece
	low, high figure.Point
	depth     float64 // mean, m
}

// A flat is a projected ball: its place, how near its skin is, and its radius.
type flat struct {
	at       figure.Point
	depth, r float64
}

// project makes a shape of a part.
func (p *part) project(c *camera) *shape {
	s := &shape{part: p, low: figure.Point{X: math.Inf(1), Y: math.Inf(1)}, high: figure.Point{X: math.Inf(-1), Y: math.Inf(-1)}}
	n := 0.0
	for _, piece := range p.pieces {
		r := piece.outline(c)
		s.rings = append(s.rings, r)
		for _, q := range r {
			s.low.X, s.low.Y = min(s.low.X, q.X), min(s.low.Y, q.Y)
			s.high.X, s.high.Y = max(s.high.X, q.X), max(s.high.Y, q.Y)
		}
		flats := make([]flat, len(piece))
		for i, b := range piece {
			d := c.depth(b.at)
			flats[i] = flat{c.project(b.at), d + b.r/2, b.r}
			s.depth += d
			n++
		}
		s.flats = append(s.flats, flats)
	}
	s.depth /= n
	return s
}

// samples a side is how finely an overlap of two shapes is looked at.
const samples = 7

// nearer is how much nearer a is than b where both lie over one another, m, and
// false where they do not.
func nearer(a, b *shape) (float64, bool) {
	x0, x1 := max(a.low.X, b.low.X), min(a.high.X, b.high.X)
	y0, y1 := max(a.low.Y, b.low.Y), min(a.high.Y, b.high.Y)
	if x0 >= x1 || y0 >= y1 {
		return 0, false
	}
	sum, n := 0.0, 0
	for i := range samples {
		for k := range samples {
			q := figure.Point{X: x0 + (x1-x0)*(float64(i)+0.5)/samples, Y: y0 + (y1-y0)*(float64(k)+0.5)/samples}
			da, in := a.at(q)
			if !in {
				continue
			}
			if db, in := b.at(q); in {
				sum += da - db
				n++
			}
		}
	}
	if n == 0 {
		return 0, false
	}
	return sum / float64(n), true
}

// at is the depth of the nearest piece at a place, m.
func (s *shape) at(q figure.Point) (float64, bool) {
	best, in := math.Inf(-1), false
	for i, r := range s.rings {
		if !figure.Inside(q, r) {
			continue
		}
		in = true
		sum, weight := 0.0, 0.0
		for _, b := range s.flats[i] {
			w := 1.0
			if b.r > 0 {
				d := (b.at.X-q.X)*(b.at.X-q.X) + (b.at.Y-q.Y)*(b.at.Y-q.Y) + 1e-5
				w = 1 / (d * d)
			}
			sum += w * b.depth
			weight += w
		}
		best = max(best, sum/weight)
	}
	return best, in
}

// painters puts shapes in the order they are painted: what lies behind first.
// Where they lie behind one another in a ring, the deepest goes first.
func painters(shapes []*shape) []*shape {
	n := len(shapes)
	behind := make([][]bool, n) // behind[i][j]: i is painted before j
	for i := range behind {
		behind[i] = make([]bool, n)
	}
	for i := range n {
		for j := range i {
			switch d, over := nearer(shapes[i], shapes[j]); {
			case !over:
			case d < 0:
				behind[i][j] = true
			default:
				behind[j][i] = true
			}
		}
	}
	done := make([]bool, n)
	var out []*shape
	for range n {
		best, bestFree := -1, false
		for j := range n {
			if done[j] {
				continue
			}
			free := true
			for i := range n {
				free = free && (done[i] || !behind[i][j])
			}
			if best < 0 || free && !bestFree || free == bestFree && shapes[j].depth < shapes[best].depth {
				best, bestFree = j, free
			}
		}
		done[best] = true
		out = append(out, shapes[best])
	}
	return out
}
