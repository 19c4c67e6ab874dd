package body

import "math"

// point3 is a point or a vector: forward, up, to the right; metres for points.
type point3 [3]float64

func (a point3) add(b point3) point3    { return point3{a[0] + b[0], a[1] + b[1], a[2] + b[2]} }
func (a point3) minus(b point3) point3  { return point3{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }
func (a point3) times(f float64) point3 { return point3{f * a[0], f * a[1], f * a[2]} }
func (a point3) dot(b point3) float64   { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a point3) length() float64        { return math.Sqrt(a.dot(a)) }
func (a point3) cross(b point3) point3 {
	return point3{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// rotated turns a about the z axis (axis 2), x axis (0) or y axis (1).
func (a point3) rotated(axis int, angle float64) point3 {
	s, c := math.Sincos(angle)
	i, j := (axis+1)%3, (axis+2)%3
	b := a
	b[i], b[j] = c*a[i]-s*a[j], s*a[i]+c*a[j]
	return b
}

// A path runs from the pelvis to the thigh, about the right hip. Points are
// relative to the hip centre in upright standing, metres at [ReferenceHeight].
type path struct {
	origin    point3  // on the pelvis
	insertion point3  // on the thigh, or where the thigh's part of the path ends
	wrap      float64 // radius of the sphere about the hip centre, m; 0 has none
	hint      point3  // side of the centre on which it passes, in the pelvis; 0 leaves it free
}

// hipArms are the moments of 1 N along a path about the axes of hip flexion,
// abduction and external rotation, m, as [Coordinate] counts them.
type hipArms [3]float64

// at gives the arms and the length of the path, m, at hip angles in rad:
// docs/model/01-body-muscles.md (1)-(5). The angles are those of a right hip; a
// mirrored left hip has the same.
func (p path) at(flexion, abduction, rotation float64) (hipArms, float64) {
	const x, y, z = 0, 1, 2
	turned := func(v point3) point3 { // from the thigh to the pelvis
		return v.rotated(y, -rotation).rotated(x, -abduction).rotated(z, flexion)
	}
	moment, length := p.pull(turned(p.insertion))
	return hipArms{
		moment[z],
		-moment.dot(point3{1, 0, 0}.rotated(z, flexion)),
		-moment.dot(turned(point3{0, 1, 0})),
	}, length
}

// pull gives the moment of 1 N about the hip centre on a thigh whose insertion
// stands at to, and the length of the path.
func (p path) pull(to point3) (moment point3, length float64) {
	line := p.origin.minus(to)
	straight := line.length()
	u := line.times(1 / straight)
	moment = to.cross(u)
	arm := moment.length()
	along := -to.dot(u) // from the insertion to the point nearest to the centre
	if p.wrap <= 0 || along <= 0 || along >= straight || arm == 0 {
		return moment, straight
	}
	wrong := p.hint.dot(to.add(u.times(along))) < 0
	if arm >= p.wrap && !wrong {
		return moment, straight
	}
	a, b := p.origin.length(), to.length()
	r := min(p.wrap, a, b)
	angle := math.Acos(max(-1, min(1, p.origin.dot(to)/(a*b))))
	if wrong {
		angle = 2*math.Pi - angle
		r = -r
	}
	q := math.Abs(r)
	arc := angle - math.Acos(q/a) - math.Acos(q/b)
	return moment.times(r / arm), math.Sqrt(a*a-q*q) + math.Sqrt(b*b-q*q) + q*arc
}

// A knots is a moment arm that was published at some angles: linear between
// them, constant beyond.
type knots struct {
	angle []float64 // rad, rising
	arm   []float64 // m
	area  []float64 // integral of the arm from the first angle, m
}

// newKnots completes a table of arms.
func newKnots(angle, arm []float64) knots {
	k := knots{angle: angle, arm: arm, area: make([]float64, len(angle))}
	for i := 1; i < len(angle); i++ {
		k.area[i] = k.area[i-1] + (angle[i]-angle[i-1])*(arm[i]+arm[i-1])/2
	}
	return k
}

// at gives the arm at an angle, rad, and its integral from the first angle, m:
// the path is shorter by it.
func (k knots) at(q float64) (arm, area float64) {
	n := len(k.angle)
	if n == 0 {
		return 0, 0
	}
	if q <= k.angle[0] {
		return k.arm[0], (q - k.angle[0]) * k.arm[0]
	}
	if q >= k.angle[n-1] {
		return k.arm[n-1], k.area[n-1] + (q-k.angle[n-1])*k.arm[n-1]
	}
	i := 1
	for q > k.angle[i] {
		i++
	}
	t := (q - k.angle[i-1]) / (k.angle[i] - k.angle[i-1])
	arm = k.arm[i-1] + t*(k.arm[i]-k.arm[i-1])
	return arm, k.area[i-1] + (q-k.angle[i-1])*(arm+k.arm[i-1])/2
}
