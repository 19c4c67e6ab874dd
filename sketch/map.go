package sketch

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/anatomy"
	"corbel/body"
	"corbel/figure"
)

// A Finding is something to mark on the map of a body: a region or a muscle, with
// its side; how strongly from 0 to 1.
type Finding struct {
	Region anatomy.Region
	Muscle anatomy.Muscle // instead of a region
	Side   anatomy.Side   // both sides if none is told apart
	Weight float64
}

// regionSpots are the places of regions on the right side: part, place on it as in
// spots.csv, and radius, fractions of height. All show from both sides.
var regionSpots = map[anatomy.Region][]struct {
	part    string
	x, y, z float64
	r       float64
}{
	"foot-and-ankle": {{"shank", 0, -1, 0, 0.034}},
	"knee":           {{"shank", 0, 0, 0, 0.038}},
	"hip":            {{"thigh", 0, 0, 0.012, 0.046}},
	"low-back":       {{"trunk", -0.03, 0.01, 0.026, 0.040}},
	"upper-back":     {{"trunk", -0.03, 0.135, 0.034, 0.044}},
	"neck":           {{"head", -0.004, 0.030, 0.008, 0.026}},
	"shoulder":       {{"upper-arm", 0, 0.03, 0, 0.038}},
	"elbow":          {{"forearm", 0, 0, 0, 0.030}},
	"wrist-and-hand": {{"forearm", 0, -1.02, 0, 0.030}},
}

// mapArm is how far the arms stand from the body on the map, rad; mapTurn turns
// the palms forward, so that elbow flexors and extensors face front and back.
const mapArm, mapTurn, mapLeg = 18 * math.Pi / 180, 0.0, 6 * math.Pi / 180

// Map draws a body from the front and from the back with findings marked. The
// drawing says left and right as the client has them: from the front the right
// side is on the left. Options' view, shares and tile are not read.
func Map(b *body.Body, findings []Finding, o Options) *figure.Drawing {
	var q body.Q
	for side := range 2 {
		q[body.ArmElevation.Of(side)], q[body.ArmRotation.Of(side)] = mapArm, mapTurn
		q[body.HipAbduction.Of(side)] = mapLeg
		q[body.ForearmSupination.Of(side)] = math.Pi / 2
	}
	q[body.PelvisY] = b.Measures.Thigh + b.Measures.Shank + b.Size.AnkleHeight
	p := newPerson(&body.Solved{Body: b, Q: q, Frames: b.Frames(&q)})
	c := &canvas{tone: colours, o: o}
	if c.o.Size == 0 {
		c.o.Size = fullSize
	}
	if o.Grey {
		c.tone = greys
	}
	c.line = max(leastOutline, outline*min(1, c.o.Size/fullSize))
	c.o.Shares = Shares{}
	for _, f := range findings {
		for _, side := range f.sides() {
			if f.Muscle != "" {
				k := anatomy.MuscleSide{Muscle: f.Muscle, Side: side}
				c.o.Shares[k] = max(c.o.Shares[k], f.Weight)
			}
		}
	}
	shift := 0.0
	for _, v := range []View{Front, Back} {
		c.camera, c.o.View = look(v, false), v
		from := len(c.marks)
		shapes := c.shapes(p.parts())
		c.paint(painters(shapes), p)
		c.regions(p, findings, v)
		for k := from; k < len(c.marks); k++ {
			m := &c.marks[k]
			m.Rings = cloned(m.Rings)
			for _, r := range m.Rings {
				for i := range r {
					r[i].X += shift
				}
			}
		}
		shift = mapApart * p.h
	}
	return c.fit("body, front and back")
}

// mapApart is the distance of the two figures of a map, fractions of height.
const mapApart = 0.56

// sides lists the sides a finding holds for.
func (f *Finding) sides() []anatomy.Side {
	if f.Side == anatomy.Left || f.Side == anatomy.Right {
		return []anatomy.Side{f.Side}
	}
	return sideNames[:]
}

// regions marks regions with a hatched circle; those of the back are fainter from
// the front.
func (c *canvas) regions(p *person, findings []Finding, v View) {
	for _, f := range findings {
		n := step(f.Weight)
		if f.Muscle != "" || n == 0 {
			continue
		}
		spots, ok := regionSpots[f.Region]
		if !ok {
			panic("sketch: no place for region " + string(f.Region))
		}
		for _, side := range f.sides() {
			for _, s := range spots {
				if (f.Region == "low-back" || f.Region == "upper-back") && v == Front {
					continue
				}
				c.patch(c.project(p.place(s.part, r3.Vec{X: s.x, Y: s.y, Z: s.z}, side)), s.r*p.h, n, string(f.Region)+" "+string(side))
			}
		}
	}
}

// place is a point of a part of a side, as in spots.csv.
func (p *person) place(part string, at r3.Vec, side anatomy.Side) r3.Vec {
	k := body.Right
	if side == anatomy.Left {
		k = body.Left
	}
	m := mark{part: part, from: at, to: at}
	return p.spot(&m, partSegments[part].Of(k), k, side).from
}

// patch paints a hatched circle with a rim.
func (c *canvas) patch(at figure.Point, r float64, n int, name string) {
	ring := make([]figure.Point, roundness)
	for i, d := range circle {
		ring[i] = figure.Point{X: at.X + r*d.X, Y: at.Y + r*d.Y}
	}
	rings := [][]figure.Point{ring}
	c.add(figure.Mark{Part: name, Rings: rings, Fill: c.tone.tint[n-1], Ink: c.tone.hatch, Width: c.line})
	c.marks = append(c.marks, stroke{figure.Mark{Part: name, Rings: [][]figure.Point{append([]figure.Point(nil), ring...)}, Open: true, Fill: figure.NoPaint, Ink: c.tone.hatch, Width: c.line * 0.55},
		hatchSpace[n-1] * max(0.5, min(1, c.o.Size/fullSize)), math.Pi / 4})
}
