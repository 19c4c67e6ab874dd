package figure

import (
	"cmp"
	"math"
	"slices"
)

// A Point is a place on a drawing: mm from its top left corner.
type Point struct{ X, Y float64 }

// A Paint is a colour, 0xRRGGBB, or NoPaint.
type Paint int32

// NoPaint leaves a mark without filling or without outline.
const NoPaint Paint = -1

// A Mark is one thing drawn: rings that are filled and outlined together, or open
// lines.
type Mark struct {
	Part  string    // what it shows, such as "thigh_r"; for tests and screens
	Rings [][]Point // filled where any of them winds round; closed unless Open
	Open  bool
	Curve bool // a ring is a start and then two handles and an end for every cubic
	Fill  Paint
	Ink   Paint   // of the outline
	Width float64 // of the outline, mm
	Under bool    // the outline lies under the filling: rings that overlap become one shape
	Dash  float64 // mm; 0 for a full line
}

// A Drawing is marks in the order they are painted, in a box of W by H mm.
type Drawing struct {
	W, H  float64
	Title string // what is drawn, for who cannot see it
	Marks []Mark
}

// A Placed is a drawing on a page, its top left corner at X, Y, W mm wide.
type Placed struct {
	X, Y, W float64
	Drawing *Drawing
}

// Hull is the smallest convex ring around points, turning left where Y grows
// downward; fewer than three points are given back.
func Hull(points []Point) []Point {
	p := slices.Clone(points)
	slices.SortFunc(p, func(a, b Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	p = slices.Compact(p)
	if len(p) < 3 {
		return p
	}
	out := make([]Point, 0, len(p)+1)
	grow := func(from int, q Point) {
		for len(out) >= from+2 && cross(out[len(out)-2], out[len(out)-1], q) <= 0 {
			out = out[:len(out)-1]
		}
		out = append(out, q)
	}
	for _, q := range p {
		grow(0, q)
	}
	lower := len(out) - 1
	for _, q := range slices.Backward(p[:len(p)-1]) {
		grow(lower, q)
	}
	return out[:len(out)-1]
}

// cross is twice the area of a triangle, above 0 where c lies left of a to b.
func cross(a, b, c Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }

// Clip is the part of a ring inside a convex ring as [Hull] gives it.
func Clip(ring, convex []Point) []Point {
	out := ring
	for i := range convex {
		a, b := convex[i], convex[(i+1)%len(convex)]
		in := out
		out = nil
		for k, q := range in {
			p := in[(k+len(in)-1)%len(in)]
			dp, dq := cross(a, b, p), cross(a, b, q)
			if (dp < 0) != (dq < 0) {
				t := dp / (dp - dq)
				out = append(out, Point{p.X + t*(q.X-p.X), p.Y + t*(q.Y-p.Y)})
			}
			if dq >= 0 {
				out = append(out, q)
			}
		}
	}
	return out
}

// Hatch lists parallel lines, space mm apart and at an angle in rad from the X
// axis, where any of the rings is. Lines lie on a grid of the whole drawing, so
// that neighbours match.
func Hatch(rings [][]Point, angle, space float64) [][]Point {
	sin, cos := math.Sincos(angle)
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range rings {
		for _, p := range r {
			v := p.Y*cos - p.X*sin
			low, high = min(low, v), max(high, v)
		}
	}
	var out [][]Point
	for k := math.Ceil(low / space); k*space <= high; k++ {
		for _, s := range spans(rings, sin, cos, k*space) {
			if s[1]-s[0] < space/4 { // a dot
				continue
			}
			at := func(u float64) Point { return Point{u*cos - k*space*sin, u*sin + k*space*cos} }
			out = append(out, []Point{at(s[0]), at(s[1])})
		}
	}
	return out
}

// spans are the stretches of one line inside any ring, merged.
func spans(rings [][]Point, sin, cos, v float64) [][2]float64 {
	var all [][2]float64
	for _, r := range rings {
		var cuts []float64
		for i, q := range r {
			p := r[(i+len(r)-1)%len(r)]
			vp, vq := p.Y*cos-p.X*sin-v, q.Y*cos-q.X*sin-v
			if (vp < 0) != (vq < 0) {
				t := vp / (vp - vq)
				cuts = append(cuts, (1-t)*(p.X*cos+p.Y*sin)+t*(q.X*cos+q.Y*sin))
			}
		}
		slices.Sort(cuts)
		for i := 0; i+1 < len(cuts); i += 2 {
			all = append(all, [2]float64{cuts[i], cuts[i+1]})
		}
	}
	slices.SortFunc(all, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
	var out [][2]float64
	for _, s := range all {
		if n := len(out) - 1; n >= 0 && s[0] <= out[n][1] {
			out[n][1] = max(out[n][1], s[1])
			continue
		}
		out = append(out, s)
	}
	return out
}

// Inside says whether a point lies in a ring.
func Inside(p Point, ring []Point) bool {
	in := false
	for i, q := range ring {
		o := ring[(i+len(ring)-1)%len(ring)]
		if (o.Y > p.Y) != (q.Y > p.Y) && p.X < o.X+(p.Y-o.Y)/(q.Y-o.Y)*(q.X-o.X) {
			in = !in
		}
	}
	return in
}
