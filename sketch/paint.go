package sketch

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/body"
	"corbel/figure"
)

// Options say how a figure is drawn.
type Options struct {
	View   View    // from where; the telling one if left out
	Size   float64 // mm of the longer side
	Grey   bool    // black, white and grey, for paper
	Tile   bool    // very small: no ghost, no hatching, no arrow
	Shares Shares  // what works; nothing is marked if left out
}

// A palette is the colours of one way of drawing.
type palette struct {
	ink, near, far, iron, frame, cord figure.Paint
	ghost, ghostInk, farIron          figure.Paint
	arrow, halo, ground               figure.Paint
	tint                              [3]figure.Paint // by step of a share
	hatch, rim                        figure.Paint    // of a muscle
}

// The palettes: the tokens of the screens and their tints, and grey for paper.
var (
	colours = palette{ink: 0x1f2430, near: 0xfffdf8, far: 0xe6dfd1, iron: 0x5c6270, frame: 0xe9e3d6, cord: 0x2f4d6b,
		ghost: 0xf6f2ea, ghostInk: 0xd9d1c3, farIron: 0xd3d4d6, arrow: 0x2f4d6b, halo: 0xfffdf8, ground: 0xf6f2ea,
		tint: [3]figure.Paint{0xf0dcd2, 0xe0b5a4, 0xc9826b}, hatch: 0xa8452a, rim: figure.NoPaint}
	greys = palette{ink: 0x000000, near: 0xffffff, far: 0xdcdcdc, iron: 0x5a5a5a, frame: 0xececec, cord: 0x000000,
		ghost: 0xf7f7f7, ghostInk: 0xc4c4c4, farIron: 0xd0d0d0, arrow: 0x000000, halo: 0xffffff, ground: 0xf7f7f7,
		tint: [3]figure.Paint{0xffffff, 0xffffff, 0xffffff}, hatch: 0x000000, rim: 0x000000}
)

// Lines of a figure of fullSize mm; smaller ones have lines that are finer, but
// not in proportion (our judgement).
const (
	fullSize              = 80.0 // mm
	outline, leastOutline = 0.40, 0.16
	tileLine              = 0.22 // of a tile, whatever its size
	border                = 0.02 // free rim of the drawing, part of its size
)

// hatchSpace are the distances of hatching lines by step of a share, mm at
// fullSize: print tells shares by density, never by colour alone.
var hatchSpace = [3]float64{2.6, 1.5, 0.85}

// A canvas collects marks in metres and turns them into a drawing.
type canvas struct {
	camera
	tone  palette
	o     Options
	line  float64 // mm
	marks []stroke
}

// A stroke is a mark in metres; one with a space above 0 is hatched, mm apart and
// at an angle.
type stroke struct {
	figure.Mark
	space, angle float64
}

// add paints a mark over what is there.
func (c *canvas) add(m figure.Mark) { c.marks = append(c.marks, stroke{Mark: m}) }

// Draw draws the figure.
func (f *Figure) Draw(o Options) *figure.Drawing {
	o.View = cmp.Or(o.View, f.View())
	o.Size = cmp.Or(o.Size, fullSize)
	c := &canvas{camera: look(o.View, f.Left), tone: colours, o: o}
	if o.Grey {
		c.tone = greys
	}
	c.line = max(leastOutline, outline*min(1, o.Size/fullSize))
	if o.Tile {
		c.line = tileLine
	}
	ghost := f.ghosted(c)
	shapes := c.shapes(f.scenes[f.main])
	c.ground(f, shapes)
	if ghost != nil {
		c.silhouette(ghost)
	}
	c.paint(painters(shapes), f.poses[f.main])
	if !o.Tile {
		c.arrows(f, shapes)
	}
	return c.fit(f.Exercise.Name.En)
}

// ghosted are the shapes of the other end of the movement, or nothing where it is
// too near.
func (f *Figure) ghosted(c *canvas) []*shape {
	if f.main == f.ghost || c.o.Tile {
		return nil
	}
	if _, moves := f.travel(&c.camera); !moves {
		return nil
	}
	var out []*shape
	for i := range f.scenes[f.ghost] {
		p := &f.scenes[f.ghost][i]
		if p.fixed || p.stuff == frame || p.stuff == erase {
			continue
		}
		out = append(out, p.project(&c.camera))
	}
	return out
}

// shapes projects all but the erasers, which are painted with their limbs.
func (c *canvas) shapes(parts []part) []*shape {
	var out []*shape
	for i := range parts {
		out = append(out, parts[i].project(&c.camera))
	}
	return out
}

// silhouette paints shapes as one pale form.
func (c *canvas) silhouette(shapes []*shape) {
	m := figure.Mark{Part: "ghost", Fill: c.tone.ghost, Ink: c.tone.ghostInk, Width: c.line, Under: true}
	var wires [][]figure.Point
	for _, s := range shapes {
		if s.stuff == ring {
			wires = append(wires, s.rings...)
			continue
		}
		m.Rings = append(m.Rings, s.rings...)
	}
	if len(wires) > 0 {
		c.add(figure.Mark{Part: "ghost", Rings: wires, Fill: figure.NoPaint, Ink: c.tone.ghostInk, Width: c.line})
	}
	c.add(m)
}

// paint paints shapes in order; erasers follow the later of their two limbs.
func (c *canvas) paint(order []*shape, p *person) {
	painted := map[string]bool{}
	for _, s := range order {
		if s.stuff == erase {
			continue
		}
		c.shape(s, p)
		painted[s.name] = true
		for _, e := range order {
			if e.stuff == erase && painted[e.name] && painted[e.over] && (e.name == s.name || e.over == s.name) {
				c.add(figure.Mark{Part: "joint", Rings: e.rings, Fill: c.skin(s, p), Ink: figure.NoPaint})
			}
		}
	}
}

// skin is the tone of a part of the body: limbs of the far side are darker.
func (c *canvas) skin(s *shape, p *person) figure.Paint {
	side, ok := s.segment.Side()
	if !ok || c.o.View == Front || c.o.View == Back {
		return c.tone.near
	}
	hip := p.Frames.Segment[body.Thigh.Of(side)].Origin
	if s.segment.Of(body.Right) >= body.Scapula {
		hip = p.Frames.Segment[body.UpperArm.Of(side)].Origin
	}
	other := p.Frames.Segment[body.Thigh.Of(1-side)].Origin
	if s.segment.Of(body.Right) >= body.Scapula {
		other = p.Frames.Segment[body.UpperArm.Of(1-side)].Origin
	}
	if c.depth(hip)-c.depth(other) < -0.06*p.h {
		return c.tone.far
	}
	return c.tone.near
}

// shape paints one part.
func (c *canvas) shape(s *shape, p *person) {
	m := figure.Mark{Part: s.name, Rings: s.rings, Ink: c.tone.ink, Width: c.line, Under: true}
	switch s.stuff {
	case flesh:
		m.Fill = c.skin(s, p)
	case iron:
		m.Fill = c.tone.iron
	case frame, stack:
		m.Fill = c.tone.frame
	case cord:
		m.Fill, m.Ink = c.tone.cord, c.tone.cord
		m.Width /= 2
	case ring:
		m.Fill = c.tone.iron
		switch nearer := s.depth - c.depth(p.Frames.Segment[body.Pelvis].Origin); {
		case !s.flat():
		case nearer > 0.1: // it would hide the body
			m.Fill, m.Ink, m.Width, m.Under = figure.NoPaint, c.tone.iron, 2*c.line, false
		default: // the body stands before it
			m.Fill, m.Ink = c.tone.farIron, c.tone.iron
		}
	}
	c.add(m)
	if s.stuff == stack {
		c.plates(s)
	}
	if s.stuff == flesh {
		c.muscles(s)
	}
}

// flat says whether a plate shows its face.
func (s *shape) flat() bool { return min(s.high.X-s.low.X, s.high.Y-s.low.Y) > 0.15 }

// plates draws lines across the weights of a machine.
func (c *canvas) plates(s *shape) {
	m := figure.Mark{Part: s.name, Open: true, Fill: figure.NoPaint, Ink: c.tone.ink, Width: c.line * 0.6}
	m.Rings = figure.Hatch(s.rings, 0, 0.055)
	c.add(m)
}

// faces is from which slant on a muscle is seen: a little round the edge.
const faces = -0.12

// muscles marks what works on a part of the body: a spindle clipped to the part,
// tinted and hatched by its share.
func (c *canvas) muscles(s *shape) {
	if c.o.Shares == nil {
		return
	}
	spots := slices.Clone(s.spots)
	slices.SortStableFunc(spots, func(a, b spot) int { // the busiest on top
		return cmp.Compare(c.o.Shares[a.muscle], c.o.Shares[b.muscle])
	})
	for _, x := range spots {
		n := step(c.o.Shares[x.muscle])
		if n == 0 || r3.Dot(x.faces, c.camera.near) < faces || c.o.Tile && n < 2 {
			continue
		}
		c.spindle(s, x, n)
	}
}

// spindle paints one muscle.
func (c *canvas) spindle(s *shape, x spot, n int) {
	ring := spindle(c.project(x.from), c.project(x.to), x.wide/2)
	var rings [][]figure.Point
	for _, r := range s.rings {
		if cut := figure.Clip(ring, r); len(cut) > 2 {
			rings = append(rings, cut)
		}
	}
	if len(rings) == 0 {
		return
	}
	tint := c.tone.tint[n-1]
	if c.o.Tile {
		tint = c.tone.hatch
		if n < 3 {
			tint = c.tone.tint[2]
			if c.o.Grey {
				tint = 0x9a9a9a
			}
		}
	}
	name := x.muscle.String()
	c.add(figure.Mark{Part: name, Rings: rings, Fill: tint, Ink: c.tone.rim, Width: c.line * 0.5, Under: true})
	if c.o.Tile {
		return
	}
	space := hatchSpace[n-1] * max(0.5, min(1, c.o.Size/fullSize))
	angle := math.Pi / 4
	d := figure.Point{X: c.project(x.to).X - c.project(x.from).X, Y: c.project(x.to).Y - c.project(x.from).Y}
	if d.X*d.Y > 0 { // across the fibres
		angle = -angle
	}
	hatched := figure.Mark{Part: name, Rings: cloned(rings), Open: true, Fill: figure.NoPaint, Ink: c.tone.hatch, Width: c.line * 0.55}
	c.marks = append(c.marks, stroke{hatched, space, angle})
}

// cloned copies rings.
func cloned(rings [][]figure.Point) [][]figure.Point {
	var out [][]figure.Point
	for _, r := range rings {
		out = append(out, slices.Clone(r))
	}
	return out
}

// spindle is a spindle between two points, m.
func spindle(a, b figure.Point, half float64) []figure.Point {
	dx, dy := b.X-a.X, b.Y-a.Y
	l := math.Hypot(dx, dy)
	if l < half { // seen from its end
		var out []figure.Point
		for _, d := range circle {
			out = append(out, figure.Point{X: (a.X+b.X)/2 + half*d.X, Y: (a.Y+b.Y)/2 + half*d.Y})
		}
		return out
	}
	ux, uy := dx/l, dy/l
	const n = 10
	at := func(t, w float64) figure.Point { return figure.Point{X: a.X + dx*t - uy*w, Y: a.Y + dy*t + ux*w} }
	var out []figure.Point
	for i := range n + 1 {
		t := float64(i) / n
		out = append(out, at(t, half*math.Sqrt(max(0, 1-(2*t-1)*(2*t-1)))))
	}
	for i := range n - 1 {
		t := 1 - float64(i+1)/n
		out = append(out, at(t, -half*math.Sqrt(max(0, 1-(2*t-1)*(2*t-1)))))
	}
	return out
}

// ground draws the floor: a line where the view is level, else the piece of it the
// figure stands on.
func (c *canvas) ground(f *Figure, shapes []*shape) {
	low, high := math.Inf(1), math.Inf(-1)
	near, far := math.Inf(-1), math.Inf(1)
	for _, s := range shapes {
		if s.stuff == ring || s.name == "bar" {
			continue
		}
		low, high = min(low, s.low.X), max(high, s.high.X)
	}
	if c.level {
		y := 0.0
		c.add(figure.Mark{Part: "floor", Rings: [][]figure.Point{{{X: low - 0.12, Y: y}, {X: high + 0.12, Y: y}}},
			Open: true, Fill: figure.NoPaint, Ink: c.tone.ink, Width: c.line})
		return
	}
	x0, x1 := math.Inf(1), math.Inf(-1)
	for _, part := range f.scenes[f.main] {
		for _, piece := range part.pieces {
			for _, b := range piece {
				if b.at.Y-b.r < 0.12 {
					x0, x1 = min(x0, b.at.X), max(x1, b.at.X)
					far, near = min(far, b.at.Z), max(near, b.at.Z)
				}
			}
		}
	}
	if x0 > x1 {
		x0, x1, far, near = -0.2, 0.2, -0.2, 0.2
	}
	const rim = 0.14
	var r []figure.Point
	for _, p := range [][2]float64{{x0 - rim, far - rim}, {x1 + rim, far - rim}, {x1 + rim, near + rim}, {x0 - rim, near + rim}} {
		r = append(r, c.project(r3.Vec{X: p[0], Z: p[1]}))
	}
	c.add(figure.Mark{Part: "floor", Rings: [][]figure.Point{r}, Fill: c.tone.ground, Ink: c.tone.ghostInk, Width: c.line})
}

// fit moves the marks into a box of the asked size and hatches.
func (c *canvas) fit(title string) *figure.Drawing {
	return c.fitInto(title, c.widened(nowhere))
}

// An extent is the lowest and highest point of what is drawn.
type extent struct{ low, high figure.Point }

// nowhere is the frame of nothing.
var nowhere = extent{figure.Point{X: math.Inf(1), Y: math.Inf(1)}, figure.Point{X: math.Inf(-1), Y: math.Inf(-1)}}

// widened widens an extent by what stands on the canvas.
func (c *canvas) widened(b extent) extent {
	for _, m := range c.marks {
		for _, r := range m.Rings {
			for _, p := range r {
				b.low.X, b.low.Y = min(b.low.X, p.X), min(b.low.Y, p.Y)
				b.high.X, b.high.Y = max(b.high.X, p.X), max(b.high.Y, p.Y)
			}
		}
	}
	return b
}

// fitInto scales what stands on the canvas so that a box fills the drawing.
func (c *canvas) fitInto(title string, b extent) *figure.Drawing {
	low, high := b.low, b.high
	rim := border*c.o.Size + c.line
	scale := (c.o.Size - 2*rim) / max(high.X-low.X, high.Y-low.Y)
	d := &figure.Drawing{Title: title, W: (high.X-low.X)*scale + 2*rim, H: (high.Y-low.Y)*scale + 2*rim}
	for _, m := range c.marks {
		var rings [][]figure.Point
		for _, r := range m.Rings {
			out := make([]figure.Point, len(r))
			for i, p := range r {
				out[i] = figure.Point{X: (p.X-low.X)*scale + rim, Y: (p.Y-low.Y)*scale + rim}
			}
			rings = append(rings, out)
		}
		m.Rings = rings
		if m.space > 0 {
			m.Rings = figure.Hatch(rings, m.angle, m.space)
		}
		if len(m.Rings) > 0 {
			d.Marks = append(d.Marks, m.Mark)
		}
	}
	return d
}
