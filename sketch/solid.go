package sketch

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/body"
	"corbel/figure"
)

// A ball is a point of a solid with its radius, m.
type ball struct {
	at r3.Vec
	r  float64
}

// A piece is the convex hull of its balls: two make a tapered limb, four a slice
// of the trunk, eight without radius a box.
type piece []ball

// A stuff is what a part is made of: it chooses the colours.
type stuff int

const (
	flesh stuff = iota
	iron        // bar, plates, dumbbells
	frame       // bench, box, machine
	cord        // cable, band
	erase       // covers the line between two limbs that join
	ring        // a plate before the body: its rim alone
	stack       // weights of a machine: a frame with lines across
)

// A part is painted as one shape: its pieces merge under one outline.
type part struct {
	name    string
	segment body.Segment // of flesh
	pieces  []piece
	stuff   stuff
	over    string // of an eraser: the part it belongs before is painted first
	spots   []spot // muscles on it
	fixed   bool   // of equipment that does not move with the body
}

// A View says from where a figure is looked at.
type View string

// The views. Side is from the client's right, or from the left where the left
// side works.
const (
	Side         View = "side"
	Front        View = "front"
	ThreeQuarter View = "three-quarter"
	Back         View = "back"
)

// Values lists the views.
func (View) Values() []string {
	return []string{string(Side), string(Front), string(ThreeQuarter), string(Back)}
}

// Angles of the three-quarter view, rad (our judgement): far enough round that
// both legs show, low enough that heights can still be compared.
const (
	quarterTurn = 40 * math.Pi / 180
	quarterRise = 14 * math.Pi / 180
)

// A camera projects without perspective.
type camera struct {
	right, up, near r3.Vec // of the picture, in the world; near points to the viewer
	level           bool   // heights are seen true: the floor is a line
}

// look is the camera of a view; left looks from the client's left.
func look(v View, left bool) camera {
	turn, rise := 0.0, 0.0
	switch v {
	case Front:
		turn = math.Pi / 2
	case Back:
		turn = -math.Pi / 2
	case ThreeQuarter:
		turn, rise = quarterTurn, quarterRise
	}
	if left && (v == Side || v == ThreeQuarter) {
		turn = math.Pi - turn
	}
	s, c := math.Sincos(turn)
	flat := r3.Vec{X: s, Z: c}
	sr, cr := math.Sincos(rise)
	up := r3.Vec{Y: 1}
	return camera{
		right: r3.Vec{X: c, Z: -s},
		up:    r3.Sub(r3.Scale(cr, up), r3.Scale(sr, flat)),
		near:  r3.Add(r3.Scale(cr, flat), r3.Scale(sr, up)),
		level: rise == 0,
	}
}

// project gives the place on the picture in m, y downward.
func (c *camera) project(p r3.Vec) figure.Point {
	return figure.Point{X: r3.Dot(p, c.right), Y: -r3.Dot(p, c.up)}
}

// depth is how near a point is, m.
func (c *camera) depth(p r3.Vec) float64 { return r3.Dot(p, c.near) }

// roundness is how many corners a circle is drawn with: at 8 mm the chord misses
// it by 0.1 mm (our judgement).
const roundness = 20

// circle are unit directions round a circle.
var circle = func() (out [roundness]figure.Point) {
	for i := range out {
		s, c := math.Sincos(2 * math.Pi * float64(i) / roundness)
		out[i] = figure.Point{X: c, Y: s}
	}
	return out
}()

// outline is the projected hull of a piece, m.
func (p piece) outline(c *camera) []figure.Point {
	points := make([]figure.Point, 0, len(p)*roundness)
	for _, b := range p {
		at := c.project(b.at)
		if b.r == 0 {
			points = append(points, at)
			continue
		}
		for _, d := range circle {
			points = append(points, figure.Point{X: at.X + b.r*d.X, Y: at.Y + b.r*d.Y})
		}
	}
	return figure.Hull(points)
}

// capsule is a tapered limb.
func capsule(a r3.Vec, ra float64, b r3.Vec, rb float64) piece { return piece{{a, ra}, {b, rb}} }

// box is a box with half sides along three axes.
func box(centre, x, y, z r3.Vec) piece {
	var out piece
	for _, sx := range []float64{-1, 1} {
		for _, sy := range []float64{-1, 1} {
			for _, sz := range []float64{-1, 1} {
				out = append(out, ball{at: r3.Add(centre, r3.Add(r3.Scale(sx, x), r3.Add(r3.Scale(sy, y), r3.Scale(sz, z))))})
			}
		}
	}
	return out
}

// block is a box along the axes of the world, from one corner to the other.
func block(low, high r3.Vec) piece {
	mid, half := r3.Scale(0.5, r3.Add(low, high)), r3.Scale(0.5, r3.Sub(high, low))
	return box(mid, r3.Vec{X: half.X}, r3.Vec{Y: half.Y}, r3.Vec{Z: half.Z})
}

// disc is a round plate: centre, axis of length 1, radius and thickness.
func disc(centre, axis r3.Vec, radius, thick float64) piece {
	u, v := square(axis)
	var out piece
	for _, end := range []float64{-0.5, 0.5} {
		c := r3.Add(centre, r3.Scale(end*thick, axis))
		for _, d := range circle {
			out = append(out, ball{at: r3.Add(c, r3.Add(r3.Scale(radius*d.X, u), r3.Scale(radius*d.Y, v)))})
		}
	}
	return out
}

// square gives two directions square to an axis and to each other.
func square(axis r3.Vec) (u, v r3.Vec) {
	u = r3.Cross(axis, r3.Vec{Y: 1})
	if r3.Norm(u) < 0.1 {
		u = r3.Cross(axis, r3.Vec{X: 1})
	}
	u = r3.Unit(u)
	return u, r3.Cross(axis, u)
}
