package sketch

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/body"
)

// What makes a view telling (our judgement; key judgement): how much of the
// movement it shows, how much of the limbs' length, and less where the trunk is
// seen from its end.
const (
	travelPart, lengthPart = 0.70, 0.30
	leastTravel            = 0.06 // m of the joint that travels furthest, below which nothing moves
	endOn                  = 0.4  // what is left of the score where the trunk is seen from its end
	trunkShown             = 0.65 // part of the length of the trunk that is enough
)

// preference is added to the score of a view: heights and leans are read from level ones.
var preference = map[View]float64{Side: 0.03, Front: 0.04, ThreeQuarter: -0.04}

// View is the telling view of a figure.
func (f *Figure) View() View {
	best := Side
	for _, v := range []View{Front, ThreeQuarter} {
		if f.views[v] > f.views[best] {
			best = v
		}
	}
	if best == Front && f.backWorks() {
		return Back
	}
	return best
}

// backMore is how much more of what works must show from the back than from the
// front, and backLeast how much at least, shares (our judgement).
const backMore, backLeast = 2.6, 0.4

// backWorks says whether an upright body shows more of what works from behind.
func (f *Figure) backWorks() bool {
	p := f.poses[f.main]
	if p.Frames.Segment[body.Thorax].Y.Y < 0.8 {
		return false
	}
	shares := Stated(f.Exercise, f.Left)
	front, back := look(Front, f.Left), look(Back, f.Left)
	seen := [2]float64{}
	for _, part := range f.scenes[f.main] {
		if s := part.segment.Of(body.Right); s == body.Thigh || s == body.Shank {
			continue // legs are seen as well from either
		}
		for _, s := range part.spots {
			for i, c := range []camera{front, back} {
				seen[i] += shares[s.muscle] * max(0, r3.Dot(s.faces, c.near))
			}
		}
	}
	return seen[1] > max(backMore*seen[0], backLeast)
}

// rate scores the views.
func (f *Figure) rate() map[View]float64 {
	out := map[View]float64{}
	for v, extra := range preference {
		c := look(v, f.Left)
		travel, moves := f.travel(&c)
		score := f.length(&c)
		if moves {
			score = travelPart*travel + lengthPart*score
		}
		score *= endOn + (1-endOn)*min(1, f.trunk(&c)/trunkShown)
		out[v] = score + extra
	}
	return out
}

// joints are the points a movement is measured by.
func (p *person) joints() []r3.Vec {
	var out []r3.Vec
	for side := range 2 {
		for _, s := range []body.Segment{body.Thigh, body.Shank, body.Foot, body.UpperArm, body.Forearm} {
			out = append(out, p.Frames.Segment[s.Of(side)].Origin)
		}
		out = append(out, p.hands[side].at)
	}
	return out
}

// travel is the part of the way of all joints that a view shows, and whether
// anything moves.
func (f *Figure) travel(c *camera) (float64, bool) {
	a, b := f.poses[0].joints(), f.poses[len(f.poses)-1].joints()
	shown, all, most := 0.0, 0.0, 0.0
	for i := range a {
		d := r3.Sub(b[i], a[i])
		x, y := r3.Dot(d, c.right), r3.Dot(d, c.up)
		shown += x*x + y*y
		all += r3.Dot(d, d)
		most = max(most, r3.Norm(d))
	}
	if most < leastTravel {
		return 0, false
	}
	return shown / all, true
}

// length is the part of the length of the limbs that a view shows.
func (f *Figure) length(c *camera) float64 {
	shown, all := 0.0, 0.0
	j := f.poses[f.main].joints()
	for side := range 2 {
		limbs := j[side*6 : side*6+6]
		for _, k := range [][2]int{{0, 1}, {1, 2}, {3, 4}, {4, 5}} {
			d := r3.Sub(limbs[k[1]], limbs[k[0]])
			x, y := r3.Dot(d, c.right), r3.Dot(d, c.up)
			shown += x*x + y*y
			all += r3.Dot(d, d)
		}
	}
	return shown / all
}

// trunk is the part of the length of the trunk that a view shows.
func (f *Figure) trunk(c *camera) float64 {
	j := f.poses[f.main].joints()
	d := r3.Sub(r3.Scale(0.5, r3.Add(j[3], j[9])), r3.Scale(0.5, r3.Add(j[0], j[6])))
	return math.Hypot(r3.Dot(d, c.right), r3.Dot(d, c.up)) / r3.Norm(d)
}
