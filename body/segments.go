package body

import (
	_ "embed"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/client"
	"corbel/form"
	"corbel/num"
)

//go:embed segments.csv
var segmentsCSV string

//go:embed lengths.csv
var lengthsCSV string

// A Segment is one rigid part of the chain. Those of the right side are named;
// Of gives those of a side.
type Segment int

// The segments, each with its origin at its proximal joint and parallel to the
// world in upright standing.
const (
	Pelvis Segment = iota // origin midway between the hip centres
	Thorax                // with abdomen and head; origin at the lumbar joint
	Thigh
	Shank
	Foot // origin at the ankle centre
	Scapula
	UpperArm
	Forearm // with the hand

	Segments = 2 + 2*sideSegments // number of segments

	sideSegments = int(Forearm-Thigh) + 1
)

// Of gives the segment of the side; pelvis and thorax are given back.
func (s Segment) Of(side int) Segment {
	if s < Thigh {
		return s
	}
	return (s-Thigh)%Segment(sideSegments) + Thigh + Segment(side*sideSegments)
}

// Side returns the side of a segment, and false for pelvis and thorax.
func (s Segment) Side() (side int, ok bool) {
	if s < Thigh {
		return Right, false
	}
	return int(s-Thigh) / sideSegments, true
}

// right returns the segment of the right side with the same name.
func (s Segment) right() Segment { return s.Of(Right) }

// String returns the name of a segment with its side.
func (s Segment) String() string {
	name := []string{"pelvis", "thorax", "thigh", "shank", "foot", "scapula", "upper-arm", "forearm"}[s.right()]
	if side, ok := s.Side(); ok {
		return name + sideSuffix[side]
	}
	return name
}

// sideSuffix is what names carry behind them, by side.
var sideSuffix = [2]string{Right: "_r", Left: "_l"}

// Measures are the numbers a body is scaled by. Height and Mass are needed; a
// length of 0 is taken from height (equation 1).
type Measures struct {
	Sex      client.Sex // no sex stands for the mean of both norms
	Height   float64    // m, standing without shoes
	Mass     float64    // kg, rounded to whole kg
	Thigh    float64    // m, hip centre to knee centre
	Shank    float64    // m, knee centre to ankle centre
	Foot     float64    // m, heel to longest toe
	Trunk    float64    // m, hip centres to shoulder centres
	UpperArm float64    // m, shoulder centre to elbow centre
	Forearm  float64    // m, elbow centre to wrist centre
}

// Bounds of measures, wide enough for every adult (our judgement).
const (
	minHeight, maxHeight = 1.0, 2.4  // m
	minMass, maxMass     = 25., 300. // kg
	lengthSpan           = 2.0       // a measured length lies within this factor of the norm
)

// MeasuresOf returns the last known measures of a client on a day: each number
// from its newest entry up to then. The error says what is missing.
func MeasuresOf(c *client.Client, day form.Date) (Measures, error) {
	m := Measures{Sex: c.Sex}
	newest := map[*float64]form.Date{}
	take := func(into *float64, x float64, on form.Date) {
		if x > 0 && !day.Before(on) && !on.Before(newestOr(newest, into, on)) {
			*into, newest[into] = x, on
		}
	}
	for _, e := range c.Measures {
		take(&m.Height, float64(e.Height.Metre()), e.On)
		take(&m.Mass, float64(e.Mass.Kilogram()), e.On)
		take(&m.Thigh, float64(e.Segments.Thigh.Metre()), e.On)
		take(&m.Shank, float64(e.Segments.Shank.Metre()), e.On)
		take(&m.Foot, float64(e.Segments.Foot.Metre()), e.On)
		take(&m.Trunk, float64(e.Segments.Trunk.Metre()), e.On)
		take(&m.UpperArm, float64(e.Segments.UpperArm.Metre()), e.On)
		take(&m.Forearm, float64(e.Segments.Forearm.Metre()), e.On)
	}
	switch {
	case m.Height == 0:
		return m, fmt.Errorf("the client file has no height up to %s; add it under measures", day)
	case m.Mass == 0:
		return m, fmt.Errorf("the client file has no body mass up to %s; add it under measures", day)
	}
	return m, nil
}

func newestOr(newest map[*float64]form.Date, of *float64, or form.Date) form.Date {
	if d, ok := newest[of]; ok {
		return d
	}
	return or
}

// A Body is one client's chain of rigid segments. It is read-only and may be
// shared.
type Body struct {
	Measures Measures // as scaled: mass in whole kg, every length filled in
	Size     Size
	mass     [Segments]float64 // kg
	centre   [Segments]r3.Vec  // centre of mass in the segment's frame, m
	chain    [Segments]link
	hinges   []hinge
	paths    [Segments][]int // hinges that move a segment, from the root
}

// Size holds the lengths of a body that have no place in Measures, m.
type Size struct {
	AnkleHeight, FootBreadth    float64
	Head                        float64 // shoulder centres to vertex
	HipHalf, ShoulderHalf       float64 // midline to joint centre
	LumbarBack, LumbarUp        float64 // lumbar joint from the hip centres
	ShoulderFront, ShoulderUp   float64 // shoulder centres from the lumbar joint
	ThoraxFront                 float64
	HeelBack, BallFront, ToeTip float64 // from the ankle centre
	HeelHalf, BallHalf          float64 // half breadths of the sole
	Grip, Palm                  float64 // from the wrist along the forearm
}

// NewBody scales the chain to measures (equations 1 to 3). The error says which
// measure is out of range.
func NewBody(m Measures) (*Body, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	b := &Body{Measures: m}
	b.Measures.Mass = math.Round(m.Mass)
	b.scale()
	b.weigh()
	b.link()
	return b, nil
}

// check refuses measures no adult has.
func (m *Measures) check() error {
	if !(m.Height >= minHeight && m.Height <= maxHeight) {
		return fmt.Errorf("a height of %.3g m: the body model is for %g to %g m", m.Height, minHeight, maxHeight)
	}
	if !(m.Mass >= minMass && m.Mass <= maxMass) {
		return fmt.Errorf("a body mass of %.3g kg: the body model is for %g to %g kg", m.Mass, minMass, maxMass)
	}
	for _, l := range m.lengths() {
		norm := fraction(l.name) * m.Height
		if x := *l.at; x != 0 && !(x >= norm/lengthSpan && x <= norm*lengthSpan) {
			return fmt.Errorf("%s of %.3g m at a height of %.3g m: expected is about %.2f m", l.name, x, m.Height, norm)
		}
	}
	return nil
}

// A measuredLength is a length a client may bring.
type measuredLength struct {
	name string // in lengths.csv
	at   *float64
}

// lengths lists the lengths a client may bring.
func (m *Measures) lengths() []measuredLength {
	return []measuredLength{{"thigh", &m.Thigh}, {"shank", &m.Shank}, {"foot", &m.Foot}, {"trunk", &m.Trunk},
		{"upper-arm", &m.UpperArm}, {"forearm", &m.Forearm}}
}

var lengthTable = num.ReadTable("lengths", lengthsCSV)

// fraction returns a length as a fraction of its scale.
func fraction(name string) float64 {
	for i := range lengthTable.Len() {
		if lengthTable.Text(i, "length") == name {
			return lengthTable.Number(i, "fraction")
		}
	}
	panic("body: no length " + name)
}

// scale fills in the lengths the client did not bring (equation 1).
func (b *Body) scale() {
	m := &b.Measures
	for _, l := range m.lengths() {
		if *l.at == 0 {
			*l.at = fraction(l.name) * m.Height
		}
	}
	h, trunk, foot := m.Height, m.Trunk, m.Foot
	breadth := fraction("foot-breadth") * h
	b.Size = Size{
		AnkleHeight: fraction("ankle-height") * h, FootBreadth: breadth, Head: fraction("head") * h,
		HipHalf: fraction("hip-half") * h, ShoulderHalf: fraction("shoulder-half") * h,
		LumbarBack: fraction("lumbar-back") * trunk, LumbarUp: fraction("lumbar-up") * trunk,
		ShoulderFront: fraction("shoulder-front") * trunk, ShoulderUp: fraction("shoulder-up") * trunk,
		ThoraxFront: fraction("thorax-front") * h,
		HeelBack:    fraction("heel-back") * foot, BallFront: fraction("ball-front") * foot,
		ToeTip:   (1 - fraction("heel-back")) * foot,
		HeelHalf: fraction("heel-half") * breadth / 2, BallHalf: breadth / 2,
		Grip: fraction("grip") * h, Palm: fraction("palm") * h,
	}
}

// A part is a row of segments.csv for one body: its mass as a fraction of the
// body, its length and the distance of its centre from the upper end, in m of
// the reference subject.
type part struct{ mass, centre, length float64 }

var segmentTable = num.ReadTable("segments", segmentsCSV)

// parts reads the parts of the body for a sex; no sex is the mean of both.
func parts(sex client.Sex) map[string]part {
	female := 0.5
	switch sex {
	case "female":
		female = 1
	case "male":
		female = 0
	}
	mix := func(row int, column string) float64 {
		return female*segmentTable.Number(row, column+"_f") + (1-female)*segmentTable.Number(row, column+"_m")
	}
	out, total := map[string]part{}, 0.0
	for i := range segmentTable.Len() {
		p := part{mix(i, "mass") / 100, mix(i, "centre") / 100 * mix(i, "length") / 1000, mix(i, "length") / 1000}
		name := segmentTable.Text(i, "part")
		out[name] = p
		total += p.mass * float64(sidesOf(name))
	}
	for name, p := range out { // printed masses sum to 99.99 or 100.00 %
		p.mass /= total
		out[name] = p
	}
	return out
}

// sidesOf says how many times the body has a part.
func sidesOf(part string) int {
	switch part {
	case "head", "upper-trunk", "middle-trunk", "lower-trunk":
		return 1
	}
	return 2
}

// shoulderHeight is the height of the shoulder centres above the hip centres of
// the reference subjects, m (key leva-1996).
var shoulderHeight = map[client.Sex]float64{"female": 0.4979, "male": 0.5155}

// neckHeight is the height of C7 above the hip centres, m (key leva-1996).
var neckHeight = map[client.Sex]float64{"female": 0.6148, "male": 0.6033}

// ofSex reads a pair of values; no sex is the mean of both.
func ofSex(by map[client.Sex]float64, sex client.Sex) float64 {
	if x, ok := by[sex]; ok {
		return x
	}
	return (by["female"] + by["male"]) / 2
}

// weigh sets mass and centre of mass of every segment (equations 2, 3).
func (b *Body) weigh() {
	m, p := b.Measures, parts(b.Measures.Sex)
	shoulder := ofSex(shoulderHeight, m.Sex)
	lower, middle, upper, head := p["lower-trunk"], p["middle-trunk"], p["upper-trunk"], p["head"]
	// heights of the centres above the hip centres, in the reference subject
	yLower := lower.length - lower.centre
	yMiddle := lower.length + middle.length - middle.centre
	yUpper := lower.length + middle.length + upper.length - upper.centre
	yHead := ofSex(neckHeight, m.Sex) + head.length - head.centre
	thorax := middle.mass + upper.mass + head.mass
	yThorax := (middle.mass*yMiddle + upper.mass*yUpper + head.mass*yHead) / thorax
	b.set(Pelvis, lower.mass, r3.Vec{Y: yLower / shoulder * m.Trunk})
	b.set(Thorax, thorax, r3.Vec{X: b.Size.ThoraxFront, Y: yThorax/shoulder*m.Trunk - b.Size.LumbarUp})
	fore, hand := p["forearm"], p["hand"]
	arm := (fore.mass*fore.centre + hand.mass*(fore.length+hand.centre)) / (fore.mass + hand.mass)
	for side := range 2 {
		b.set(Thigh.Of(side), p["thigh"].mass, down(m.Thigh*p["thigh"].centre/p["thigh"].length))
		b.set(Shank.Of(side), p["shank"].mass, down(m.Shank*p["shank"].centre/p["shank"].length))
		b.set(Foot.Of(side), p["foot"].mass, r3.Vec{
			X: m.Foot*p["foot"].centre/p["foot"].length - b.Size.HeelBack, Y: -b.Size.AnkleHeight / 2})
		b.set(UpperArm.Of(side), p["upper-arm"].mass, down(m.UpperArm*p["upper-arm"].centre/p["upper-arm"].length))
		b.set(Forearm.Of(side), fore.mass+hand.mass, down(m.Forearm*arm/fore.length))
	}
}

func (b *Body) set(s Segment, fraction float64, centre r3.Vec) {
	b.mass[s], b.centre[s] = fraction*b.Measures.Mass, centre
}

// down is a point below the origin of a segment, m.
func down(by float64) r3.Vec { return r3.Vec{Y: -by} }

// Mass returns the mass of a segment, kg.
func (b *Body) Mass(s Segment) float64 { return b.mass[s] }

// Centre returns the centre of mass in the frame of its segment, m.
func (b *Body) Centre(s Segment) r3.Vec { return b.centre[s] }
