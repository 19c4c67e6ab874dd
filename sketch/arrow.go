package sketch

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/body"
	"corbel/exercise"
	"corbel/figure"
)

// The arrow of the movement, m (our judgement).
const (
	arrowLeast = 0.03 // a shorter way is not shown
	arrowShort = 0.15 // a shorter one is drawn as long as this
	arrowHead  = 0.055
	arrowMost  = 0.55 // a longer way is shown in part
	loadBonus  = 1.4  // the load is preferred to a joint that travels as far
	sideBonus  = 1.35 // and so is its part on one side
)

// arrows draws the way of the load, or of the point that travels furthest, from
// the first posture to the last, moved aside to where it hides least. Where both
// sides part, each has its arrow.
func (c *canvas) arrows(f *Figure, shapes []*shape) {
	for _, way := range f.ways(&c.camera) {
		c.arrow(way, shapes)
	}
}

// arrow draws one way: start, middle and end.
func (c *canvas) arrow(way [3]figure.Point, shapes []*shape) {
	a, m, b := way[0], way[1], way[2]
	l := math.Hypot(b.X-a.X, b.Y-a.Y)
	if l < arrowLeast {
		return
	}
	if k := arrowShort / l; k > 1 {
		b = figure.Point{X: a.X + k*(b.X-a.X), Y: a.Y + k*(b.Y-a.Y)}
		m, l = figure.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}, arrowShort
	}
	n := figure.Point{X: -(b.Y - a.Y) / l, Y: (b.X - a.X) / l}
	best, least := figure.Point{}, math.Inf(1)
	for _, by := range []float64{0, 0.08, -0.08, 0.14, -0.14, 0.2, -0.2, 0.27, -0.27, 0.35, -0.35, 0.45, -0.45} {
		d := figure.Point{X: n.X * by, Y: n.Y * by}
		cost := math.Abs(by)
		for i := range 9 {
			q := bend(a, m, b, float64(i)/8)
			q.X, q.Y = q.X+d.X, q.Y+d.Y
			for _, s := range shapes {
				if s.covers(q) {
					cost += 0.08
				}
			}
			if q.Y > -0.02 {
				cost += 0.3
			}
		}
		if cost < least {
			best, least = d, cost
		}
	}
	var line []figure.Point
	for i := range 17 {
		q := bend(a, m, b, float64(i)/16)
		line = append(line, figure.Point{X: q.X + best.X, Y: q.Y + best.Y})
	}
	if long := l; long > arrowMost { // the middle of a long way
		cut := int(8 * (1 - arrowMost/long))
		line = line[cut : len(line)-cut]
	}
	c.arrowAlong(line)
}

// bend is a point of the parabola through three points.
func bend(a, m, b figure.Point, t float64) figure.Point {
	wa, wm, wb := (1-t)*(1-2*t), 4*t*(1-t), t*(2*t-1)
	return figure.Point{X: wa*a.X + wm*m.X + wb*b.X, Y: wa*a.Y + wm*m.Y + wb*b.Y}
}

// covers says whether a place lies on a shape, or near it.
func (s *shape) covers(q figure.Point) bool {
	const rim = 0.02
	if q.X < s.low.X-rim || q.X > s.high.X+rim || q.Y < s.low.Y-rim || q.Y > s.high.Y+rim {
		return false
	}
	for _, r := range s.rings {
		for _, d := range []figure.Point{{}, {X: rim}, {X: -rim}, {Y: rim}, {Y: -rim}} {
			if figure.Inside(figure.Point{X: q.X + d.X, Y: q.Y + d.Y}, r) {
				return true
			}
		}
	}
	return false
}

// arrowAlong paints a line with a head at its end, over a halo.
func (c *canvas) arrowAlong(line []figure.Point) {
	end, back := line[len(line)-1], line[len(line)-4]
	l := math.Hypot(end.X-back.X, end.Y-back.Y)
	u := figure.Point{X: (end.X - back.X) / l, Y: (end.Y - back.Y) / l}
	at := func(x, y float64) figure.Point {
		return figure.Point{X: end.X + u.X*x - u.Y*y, Y: end.Y + u.Y*x + u.X*y}
	}
	head := []figure.Point{at(0.012, 0), at(-arrowHead, arrowHead*0.55), at(-arrowHead, -arrowHead*0.55)}
	shaft := line[:len(line)-1]
	width := 2.2 * c.line
	c.add(figure.Mark{Part: "arrow", Rings: [][]figure.Point{shaft}, Open: true, Fill: figure.NoPaint, Ink: c.tone.halo, Width: width + 3*c.line})
	c.add(figure.Mark{Part: "arrow", Rings: [][]figure.Point{head}, Fill: c.tone.arrow, Ink: c.tone.halo, Width: 1.5 * c.line, Under: true})
	c.add(figure.Mark{Part: "arrow", Rings: [][]figure.Point{shaft}, Open: true, Fill: figure.NoPaint, Ink: c.tone.arrow, Width: width})
	c.add(figure.Mark{Part: "arrow", Rings: [][]figure.Point{head}, Fill: c.tone.arrow, Ink: figure.NoPaint})
}

// A track is where one point is in every posture.
type track struct {
	at     []r3.Vec
	weight float64
}

// tracks lists what may carry an arrow: joints, hips, the load.
func (f *Figure) tracks() []track {
	var out []track
	for i, p := range f.poses {
		points := append(p.joints(), p.Frames.Segment[body.Pelvis].Origin)
		n := len(points)
		loads := p.loadPoints(f.Exercise)
		points = append(append(points, middle(loads)), loads...)
		for k, at := range points {
			if i == 0 {
				out = append(out, track{weight: 1})
				if k > n {
					out[k].weight = sideBonus
				} else if k == n {
					out[k].weight = loadBonus
				}
			}
			if k < len(out) {
				out[k].at = append(out[k].at, at)
			}
		}
	}
	return out
}

// ways are start, middle and end of the way of the point that travels furthest,
// and of its fellow of the other side where that goes the other way.
func (f *Figure) ways(c *camera) [][3]figure.Point {
	if len(f.poses) < 2 {
		return nil
	}
	tracks := f.tracks()
	best, most := -1, 0.0
	for k, t := range tracks {
		w := t.way(c)
		if far := t.weight * math.Hypot(w[2].X-w[0].X, w[2].Y-w[0].Y); far > most+1e-6 {
			best, most = k, far
		}
	}
	if best < 0 {
		return nil
	}
	out := [][3]figure.Point{tracks[best].way(c)}
	for k := range tracks {
		if a, b := tracks[best], tracks[k]; a.weight == b.weight && mirrored(a, b) && len(out) < 2 {
			if w := b.way(c); (w[2].X-w[0].X)*(out[0][2].X-out[0][0].X) < 0 {
				out = append(out, w)
			}
		}
	}
	return out
}

// mirrored says whether two points move alike on both sides.
func mirrored(a, b track) bool {
	for i := range a.at {
		d := r3.Vec{X: a.at[i].X - b.at[i].X, Y: a.at[i].Y - b.at[i].Y, Z: a.at[i].Z + b.at[i].Z}
		if r3.Norm(d) > 0.02 {
			return false
		}
	}
	return true
}

// way is the start, middle and end of a track on the picture.
func (t *track) way(c *camera) [3]figure.Point {
	n := len(t.at)
	first, last := c.project(t.at[0]), c.project(t.at[n-1])
	mid := figure.Point{X: (first.X + last.X) / 2, Y: (first.Y + last.Y) / 2}
	if n > 2 {
		m := c.project(t.at[n/2])
		along := (m.X-first.X)*(last.X-first.X) + (m.Y-first.Y)*(last.Y-first.Y)
		l := (last.X-first.X)*(last.X-first.X) + (last.Y-first.Y)*(last.Y-first.Y)
		if along > 0.3*l && along < 0.7*l { // no parabola through one that turns back
			mid = m
		}
	}
	return [3]figure.Point{first, mid, last}
}

// loadPoints are where the load acts, or the middle of the hips without one.
func (p *person) loadPoints(e *exercise.Exercise) []r3.Vec {
	g := gear{person: p, of: e}
	var points []r3.Vec
	for _, l := range p.Posture.Pose.Loads {
		if g.usual(l.Name) {
			for _, x := range p.Pulls(l) {
				points = append(points, x.Point)
			}
		}
	}
	if len(points) == 0 {
		return []r3.Vec{p.Frames.Segment[body.Pelvis].Origin}
	}
	return points
}
