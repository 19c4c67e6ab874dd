package figure

import (
	"bytes"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// somePoints draws points of a square of 100 mm.
func somePoints(t *rapid.T, name string, least int) []Point {
	var out []Point
	for range rapid.IntRange(least, 25).Draw(t, name+" count") {
		out = append(out, Point{rapid.Float64Range(0, 100).Draw(t, "x"), rapid.Float64Range(0, 100).Draw(t, "y")})
	}
	return out
}

// area is the area of a ring, above 0 in the sense of [Hull].
func area(r []Point) float64 {
	sum := 0.0
	for i, p := range r {
		q := r[(i+1)%len(r)]
		sum += p.X*q.Y - q.X*p.Y
	}
	return sum / 2
}

// outside is how far a point lies outside a convex ring, as the worst of its sides.
func outside(p Point, convex []Point) float64 {
	worst := math.Inf(-1)
	for i, a := range convex {
		b := convex[(i+1)%len(convex)]
		if l := math.Hypot(b.X-a.X, b.Y-a.Y); l > 1e-9 {
			worst = max(worst, -cross(a, b, p)/l)
		}
	}
	return worst
}

// Ensure that a hull is convex, holds all its points and turns one way.
func TestHull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := somePoints(t, "points", 3)
		hull := Hull(points)
		if len(hull) < 3 {
			return // all on a line
		}
		if area(hull) < 0 {
			t.Fatalf("the hull %v turns the other way", hull)
		}
		for i := range hull {
			if cross(hull[i], hull[(i+1)%len(hull)], hull[(i+2)%len(hull)]) < -1e-9 {
				t.Fatalf("the hull %v is not convex", hull)
			}
		}
		for _, p := range points {
			if outside(p, hull) > 1e-6 {
				t.Fatalf("%v lies outside %v", p, hull)
			}
		}
	})
}

// Ensure that what is clipped lies in both rings, is no larger than either, and that
// clipping with oneself or with something larger changes nothing.
func TestClip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := Hull(somePoints(t, "a", 4)), Hull(somePoints(t, "b", 4))
		if len(a) < 3 || len(b) < 3 || area(a) < 1 || area(b) < 1 {
			return
		}
		both := Clip(a, b)
		if x := area(both); x > area(a)+1e-6 || x > area(b)+1e-6 || x < -1e-6 {
			t.Fatalf("%g of %g and %g", x, area(a), area(b))
		}
		for _, p := range both {
			if outside(p, a) > 1e-6 || outside(p, b) > 1e-6 {
				t.Fatalf("%v lies outside", p)
			}
		}
		if back := area(Clip(b, a)); math.Abs(back-area(both)) > 1e-6 {
			t.Fatalf("%g one way, %g the other", area(both), back)
		}
		if same := area(Clip(a, []Point{{-1, -1}, {101, -1}, {101, 101}, {-1, 101}})); math.Abs(same-area(a)) > 1e-6 {
			t.Fatalf("%g of %g are left in a larger square", same, area(a))
		}
	})
}

// Ensure that hatching covers its share: lines lie inside, a given distance apart,
// and their length times that distance is about the area.
func TestHatch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ring := Hull(somePoints(t, "ring", 4))
		if len(ring) < 3 || area(ring) < 400 {
			return
		}
		space := rapid.Float64Range(0.3, 1).Draw(t, "space")
		angle := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "angle")
		length := 0.0
		for _, l := range Hatch([][]Point{ring, ring}, angle, space) {
			if outside(l[0], ring) > 1e-6 || outside(l[1], ring) > 1e-6 {
				t.Fatalf("%v leaves the ring", l)
			}
			length += math.Hypot(l[1].X-l[0].X, l[1].Y-l[0].Y)
		}
		if covered := length * space; math.Abs(covered-area(ring)) > 0.1*area(ring)+150*space {
			t.Fatalf("lines stand for %g mm², the ring has %g", covered, area(ring))
		}
	})
}

// Ensure that a drawing comes out of both writers, filled, outlined, dashed, curved
// and merged, with the same bytes each time.
func TestDrawingIsWritten(t *testing.T) {
	square := [][]Point{{{1, 1}, {9, 1}, {9, 9}, {1, 9}}}
	d := &Drawing{W: 10, H: 10, Title: "a & b", Marks: []Mark{
		{Rings: square, Fill: 0xa8452a, Ink: 0, Width: 0.4, Under: true},
		{Rings: square, Fill: NoPaint, Ink: 0x1f2430, Width: 0.3, Dash: 1},
		{Rings: [][]Point{{{1, 1}, {2, 5}, {8, 5}, {9, 1}}}, Open: true, Curve: true, Fill: NoPaint, Ink: 0, Width: 0.2},
	}}
	svg := SVG(d)
	for _, want := range []string{`aria-label="a &amp; b"`, `d="M1 1l8 0 0 8-8 0z" fill="#a8452a" paint-order="stroke" stroke="#000000" stroke-width="0.8"`,
		`stroke-dasharray="1"`, `d="M1 1c1 4 7 4 8 0" fill="none"`} {
		if !bytes.Contains(svg, []byte(want)) {
			t.Errorf("the SVG lacks %s:\n%s", want, svg)
		}
	}
	doc := &Document{Paper: A4, Title: "t", Language: "en", Pages: []*Page{{Drawings: []Placed{{X: 20, Y: 20, W: 30, Drawing: d}}}}}
	one, err := PDF(doc, time.Unix(0, 0))
	if err != nil {
		t.Fatal(err)
	}
	two, err := PDF(doc, time.Unix(0, 0))
	if err != nil || !bytes.Equal(one, two) {
		t.Errorf("other bytes the second time: %v", err)
	}
	empty, err := PDF(&Document{Paper: A4, Title: "t", Language: "en", Pages: []*Page{{}}}, time.Unix(0, 0))
	if err != nil || len(one) <= len(empty) {
		t.Errorf("%d bytes with a drawing, %d without: %v", len(one), len(empty), err)
	}
}
