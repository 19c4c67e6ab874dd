package sketch

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/body"
	"corbel/exercise"
)

// Heights and sizes of what carries a body, m (our judgement; key judgement).
const (
	lowest      = 0.05 // a contact higher than this stands on something
	benchHalf   = 0.15 // half the width of a bench
	benchThick  = 0.08
	seatHalf    = 0.20 // along
	seatWide    = 0.13 // across, so that arms hang free
	towerBack   = 0.60 // of the weights behind the hips
	towerHigh   = 1.55
	boxFront    = 0.08 // a box reaches this far before and behind what stands on it
	boxHalf     = 0.22
	plateBehind = 0.03
)

// supports draws what the contacts of the posture rest on.
func (g *gear) supports() {
	var back, chest, seat, feet []body.Touch
	for _, t := range g.Touches() {
		switch t.Contact.Name {
		case "back", "head", "blade":
			back = append(back, t)
		case "chest":
			chest = append(chest, t)
		case "seat", "buttock":
			seat = append(seat, t)
		case "foot", "toes", "heel", "sole":
			feet = append(feet, t)
		case "palm", "elbow", "knee":
			if low := lowestOf(t); low > 2*lowest {
				g.under("bench", t)
			}
		case "thigh-front", "thigh-back", "shank-back", "arm-back":
			g.limbPad(t)
		case "heel-hook":
			at := r3.Sub(t.Points[0], r3.Scale(rollerR, t.Normal))
			g.roller(at, t.Segment)
		case "grip":
			g.grip(t)
		}
	}
	g.trunkSupport(back, chest, seat)
	for _, t := range feet {
		g.footSupport(t)
	}
	if g.has("box") && len(seat) == 0 && g.of.Pattern == "squat" {
		g.boxBehind()
	}
	if g.machine() && len(seat) > 0 {
		g.tower(seat[0])
	}
}

// touches says whether the posture has a contact.
func (g *gear) touches(name string) bool {
	return slices.ContainsFunc(g.Posture.Pose.Contacts, func(t exercise.Term) bool { return t.Name == name })
}

// machine says whether the exercise moves the weights of a machine.
func (g *gear) machine() bool {
	l := g.of.Loads[0]
	return l == exercise.Cam || l == exercise.Stack || l == exercise.Lever
}

func lowestOf(t body.Touch) float64 {
	y := math.Inf(1)
	for _, p := range t.Points {
		y = min(y, p.Y)
	}
	return y
}

func middle(points []r3.Vec) r3.Vec {
	var m r3.Vec
	for _, p := range points {
		m = r3.Add(m, r3.Scale(1/float64(len(points)), p))
	}
	return m
}

// supine says whether the trunk lies on its back, prone on its front.
func (p *person) supine() bool { return p.Frames.Segment[body.Thorax].X.Y > 0.93 }

func (p *person) prone() bool { return p.Frames.Segment[body.Thorax].X.Y < -0.97 }

// trunkSupport draws bench, backrest and seat.
func (g *gear) trunkSupport(back, chest, seat []body.Touch) {
	switch {
	case len(back) > 0 && g.has("bench") && len(seat) == 0 && !g.has("incline-bench"):
		g.benchAcross()
	case len(back) > 0 && g.supine() && lowestOf(back[0]) > 0.15:
		g.benchAlong(append(back, seat...))
	case len(chest) > 0 && g.prone() && !g.touches("thigh-front") && lowestOf(chest[0]) > 0.15:
		g.benchAlong(chest)
	default:
		for _, t := range append(back, chest...) {
			if lowestOf(t) > 0.15 && t.Contact.Name != "head" {
				g.rest(t)
				break
			}
		}
		for _, t := range seat {
			if lowestOf(t) > 0.2 {
				g.seat(t)
			}
		}
	}
}

// benchAcross is the bench behind shoulders that rest on its edge: it stands where
// the last posture lies on it.
func (g *gear) benchAcross() {
	top, edge := 0.0, 0.0
	for _, t := range g.poses[len(g.poses)-1].Touches() {
		if t.Contact.Name == "back" {
			m := middle(t.Points)
			top, edge = m.Y, m.X
		}
	}
	g.bench(r3.Vec{X: edge - 2*benchHalf, Y: top, Z: -0.55}, r3.Vec{X: edge, Y: top, Z: 0.55})
}

// bench draws a bench by two corners of its top.
func (g *gear) bench(a, b r3.Vec) {
	g.still("bench", frame, block(r3.Vec{X: a.X, Y: a.Y - benchThick, Z: a.Z}, b))
	inset := 0.04
	for _, x := range []float64{a.X + inset, b.X - inset} {
		for _, z := range []float64{a.Z + inset, b.Z - inset} {
			g.still("bench-leg", frame, block(r3.Vec{X: x - 0.02, Z: z - 0.02}, r3.Vec{X: x + 0.02, Y: a.Y - benchThick, Z: z + 0.02}))
		}
	}
}

// benchAlong is a bench under the trunk, from head or chest to the seat.
func (g *gear) benchAlong(on []body.Touch) {
	t := g.Frames.Segment[body.Thorax]
	head := t.At(r3.Vec{Y: g.Body.Size.ShoulderUp + g.Body.Size.Head*0.8})
	if g.prone() {
		head = t.At(r3.Vec{Y: g.Body.Size.ShoulderUp + 0.02*g.h})
	}
	hips := g.Frames.Segment[body.Pelvis].Origin
	end := hips
	if g.prone() {
		end = r3.Add(hips, r3.Scale(-0.8*g.Body.Measures.Thigh, g.Frames.Segment[body.Thigh].Y))
	}
	top := math.Inf(1)
	for _, x := range on {
		top = min(top, lowestOf(x))
	}
	for _, part := range []part{g.trunk(), g.thigh(body.Right)} { // a bench is flat: it yields where the body is lowest
		if part.name != "trunk" && !g.prone() {
			continue
		}
		for _, piece := range part.pieces {
			for _, b := range piece {
				top = min(top, b.at.Y-b.r+0.02)
			}
		}
	}
	g.bench(r3.Vec{X: min(head.X, end.X), Y: top, Z: -benchHalf}, r3.Vec{X: max(head.X, end.X), Y: top, Z: benchHalf})
}

// rest draws a pad against back or chest, from the loins to the shoulders.
func (g *gear) rest(t body.Touch) {
	f := g.Frames.Segment[body.Thorax]
	n := t.Normal // towards the body
	low, high := -0.06*g.h, g.Body.Size.ShoulderUp
	at := middle(t.Points)
	at = r3.Sub(at, r3.Scale(r3.Dot(r3.Sub(at, f.Origin), f.Y)-(low+high)/2, f.Y))
	at = r3.Sub(at, r3.Scale(padThick/2+0.004*g.h, n))
	g.add("pad", frame, box(at, r3.Scale(padThick/2, n), r3.Scale((high-low)/2, f.Y), r3.Scale(0.15, f.Z)))
	if n.Y > 0.3 { // lies on it
		g.still("post", frame, block(r3.Vec{X: at.X - 0.03, Z: -0.03}, r3.Vec{X: at.X + 0.03, Y: at.Y - padThick/2, Z: 0.03}))
	}
}

// seat draws a seat, level or leant with the pelvis, and its foot.
func (g *gear) seat(t body.Touch) {
	f := g.Frames.Segment[body.Pelvis]
	at := middle(t.Points)
	if g.leant() {
		at = r3.Sub(f.Origin, r3.Scale(0.055*g.h+padThick/2, f.Y))
		g.add("pad", frame, box(at, r3.Scale(seatHalf*0.8, f.X), r3.Scale(padThick/2, f.Y), r3.Scale(seatWide, f.Z)))
		g.still("post", frame, block(r3.Vec{X: at.X - 0.03, Z: -0.03}, r3.Vec{X: at.X + 0.03, Y: at.Y, Z: 0.03}))
		return
	}
	top := math.Inf(1)
	for _, b := range g.trunk().pieces {
		for _, x := range b {
			top = min(top, x.at.Y-x.r)
		}
	}
	for side := range 2 {
		for _, x := range g.thigh(side).pieces[0] {
			if x.at.X < at.X+seatHalf {
				top = min(top, x.at.Y-x.r)
			}
		}
	}
	top = min(top, at.Y) + 0.015
	front := 0.16
	g.still("seat", frame, block(r3.Vec{X: at.X - seatHalf, Y: top - padThick, Z: -seatWide}, r3.Vec{X: at.X + front, Y: top, Z: seatWide}))
	g.still("post", frame, block(r3.Vec{X: at.X - 0.05, Z: -0.05}, r3.Vec{X: at.X + 0.05, Y: top - padThick, Z: 0.05}))
}

// leant says whether the pelvis lies back so far that its seat leans with it.
func (g *gear) leant() bool { return g.Frames.Segment[body.Pelvis].X.Y > 0.6 }

// tower draws the weights of a machine behind its seat.
func (g *gear) tower(t body.Touch) {
	x := middle(t.Points).X - towerBack
	if g.has("seated-calf-machine") {
		return // loaded with plates at its lever
	}
	const z, half, high = -0.42, 0.14, towerHigh // beside the seat, so that it shows from the front
	var posts []piece
	for _, at := range [][2]float64{{-half, -half}, {half, -half}, {half, half}, {-half, half}} {
		posts = append(posts, block(r3.Vec{X: x + at[0] - 0.015, Z: z + at[1] - 0.015}, r3.Vec{X: x + at[0] + 0.015, Y: high, Z: z + at[1] + 0.015}))
	}
	g.still("tower", frame, append(posts, block(r3.Vec{X: x - half, Y: high - 0.03, Z: z - half}, r3.Vec{X: x + half, Y: high, Z: z + half}))...)
	g.still("weights", stack, block(r3.Vec{X: x - 0.10, Y: 0.05, Z: z - 0.10}, r3.Vec{X: x + 0.10, Y: 0.75, Z: z + 0.10}))
}

// footSupport draws box, step or plate under a foot that is not on the floor.
func (g *gear) footSupport(t body.Touch) {
	low := lowestOf(t)
	f := g.Frames.Segment[t.Segment]
	if t.Contact.Name == "sole" {
		if f.Y.Y < 0.8 || low > lowest {
			g.footPlate(t)
		}
		return
	}
	if low > lowest {
		name := "box"
		if g.has("bench") {
			name = "bench"
		}
		g.under(name, t)
	}
}

// footPlate draws a plate square to a sole.
func (g *gear) footPlate(t body.Touch) {
	f := g.Frames.Segment[t.Segment]
	at := r3.Sub(middle(t.Points), r3.Scale(plateBehind/2, f.Y))
	g.add("foot-plate", frame, box(at, r3.Scale(0.6*g.Body.Measures.Foot, f.X), r3.Scale(plateBehind/2, f.Y), r3.Scale(0.09, f.Z)))
}

// under draws a box or bench under a contact, as high as it is.
func (g *gear) under(name string, t body.Touch) {
	low, high := t.Points[0], t.Points[0]
	for _, p := range t.Points {
		low = r3.Vec{X: min(low.X, p.X), Y: min(low.Y, p.Y), Z: min(low.Z, p.Z)}
		high = r3.Vec{X: max(high.X, p.X), Y: min(high.Y, p.Y), Z: max(high.Z, p.Z)}
	}
	if t.Contact.Name == "toes" {
		front := g.Body.Size.ToeTip - g.Body.Size.BallFront
		f := g.Frames.Segment[t.Segment]
		if f.X.Y > -0.6 && f.Y.Y > 0 { // on the ball, the heel hangs free
			low.X, high.X = low.X-0.02, high.X+front+0.12
		} else { // on the instep or the tips
			low.X, high.X = low.X-0.30, high.X+0.08
			high.Y = min(high.Y, lowestBetween(g.leg(sideOf(t.Segment)).pieces[2:], low.X, high.X))
		}
	} else {
		low.X, high.X = low.X-boxFront, high.X+boxFront
	}
	z := (low.Z + high.Z) / 2
	half := boxHalf
	if t.Contact.Name == "toes" && name == "box" {
		half = 0.10
	}
	if name == "bench" {
		g.bench(r3.Vec{X: low.X, Y: high.Y, Z: z - 0.40}, r3.Vec{X: high.X, Y: high.Y, Z: z + 0.40})
		return
	}
	from, to := z-half, z+half
	if g.has("step") || g.has("box") { // stands clear of the other leg
		if k := out(sideOf(t.Segment)); k > 0 {
			from, to = low.Z-0.01, low.Z+0.30
		} else {
			from, to = high.Z-0.30, high.Z+0.01
		}
	}
	g.still(name, frame, block(r3.Vec{X: low.X, Z: from}, r3.Vec{X: high.X, Y: high.Y, Z: to}))
}

// lowestBetween is how low pieces hang between two places ahead, m.
func lowestBetween(pieces []piece, from, to float64) float64 {
	const steps = 8
	low := math.Inf(1)
	for _, p := range pieces {
		for i := range p {
			for k := range i + 1 {
				for n := range steps + 1 {
					t := float64(n) / steps
					at := r3.Add(r3.Scale(1-t, p[i].at), r3.Scale(t, p[k].at))
					if r := (1-t)*p[i].r + t*p[k].r; at.X+r > from && at.X-r < to {
						low = min(low, at.Y-r)
					}
				}
			}
		}
	}
	return low
}

func sideOf(s body.Segment) int {
	side, _ := s.Side()
	return side
}

// boxBehind is the box that a squat ends on: under the buttocks of the lowest
// posture.
func (g *gear) boxBehind() {
	best := g.poses[0]
	for _, p := range g.poses {
		if p.Frames.Segment[body.Pelvis].Origin.Y < best.Frames.Segment[body.Pelvis].Origin.Y {
			best = p
		}
	}
	top, back := math.Inf(1), math.Inf(1)
	for side := range 2 {
		for _, b := range append(best.thigh(side).pieces[0][:2:2], best.trunk().pieces[0]...) {
			top, back = min(top, b.at.Y-b.r), min(back, b.at.X-b.r)
		}
	}
	heel := best.Frames.Segment[body.Foot].Origin.X - best.Body.Size.HeelBack
	g.still("box", frame, block(r3.Vec{X: back - 0.12, Z: -0.25}, r3.Vec{X: min(heel-0.02, back+0.15), Y: top, Z: 0.25}))
}

// limbRadius is how thick thigh or shank are at a place along them, m.
func (p *person) limbRadius(s body.Segment, along float64) float64 {
	switch s.Of(body.Right) {
	case body.Thigh:
		return p.h * (hipR + (kneeR-hipR)*along)
	case body.UpperArm:
		return p.h * (shoulderR + (elbowR-shoulderR)*along)
	}
	return p.h * (kneeR + (ankleR-kneeR)*along)
}

// limbPad draws a pad against a thigh or shank.
func (g *gear) limbPad(t body.Touch) {
	f := g.Frames.Segment[t.Segment]
	at := middle(t.Points)
	if at.Y < lowest {
		return // lies on the floor
	}
	long := map[body.Segment]float64{body.Thigh: g.Body.Measures.Thigh, body.Shank: g.Body.Measures.Shank, body.UpperArm: g.Body.Measures.UpperArm}[t.Segment.Of(body.Right)]
	down := r3.Dot(r3.Sub(f.Origin, at), f.Y)
	axis := r3.Sub(f.Origin, r3.Scale(down, f.Y))
	if t.Contact.Name == "thigh-back" {
		return // the seat carries it
	}
	at = r3.Sub(axis, r3.Scale(g.limbRadius(t.Segment, down/long)+padThick/2, t.Normal))
	g.add("pad", frame, box(at, r3.Scale(padThick/2, t.Normal), r3.Scale(0.09, f.Y), r3.Scale(0.09, f.Z)))
	if t.Normal.Y > 0.3 { // leans on a stand
		if t.Normal.Y > 0.9 {
			g.still("post", frame, block(r3.Vec{X: at.X - 0.03, Z: -0.03}, r3.Vec{X: at.X + 0.03, Y: at.Y - padThick/2, Z: 0.03}))
			return
		}
		g.still("post", frame, capsule(r3.Vec{X: at.X, Y: at.Y - padThick/2, Z: 0}, 0.025, r3.Vec{X: at.X - 0.1, Z: 0, Y: 0.025}, 0.025))
	}
}

// roller draws a padded roller across.
func (g *gear) roller(at r3.Vec, s body.Segment) {
	axis := g.Frames.Segment[s].Z
	g.add("roller", frame, disc(at, axis, rollerR, 0.12))
}

// pad draws the roller a machine pushes with, and its lever to the joint it turns
// about.
func (g *gear) pad(l exercise.Term, forces []body.Force) {
	for _, f := range forces {
		s := f.Segment
		frameOf := g.Frames.Segment[s]
		long := g.Body.Measures.Shank
		if s.Of(body.Right) == body.Thigh {
			long = g.Body.Measures.Thigh
		}
		along := r3.Norm(r3.Sub(f.Point, frameOf.Origin)) / long
		push := r3.Unit(f.Vector)
		if s.Of(body.Right) == body.Thigh {
			at := r3.Sub(f.Point, r3.Scale(g.limbRadius(s, along)+padThick/2, push))
			u := frameOf.Y
			g.add("pad", frame, box(at, r3.Scale(padThick/2, push), r3.Scale(0.09, u), r3.Scale(0.06, r3.Cross(push, u))))
			continue
		}
		at := r3.Sub(f.Point, r3.Scale(g.limbRadius(s, along)+rollerR, push))
		g.roller(at, s)
		k := out(sideOf(s))
		beside := r3.Scale(k*0.075, frameOf.Z)
		g.add("lever", frame, capsule(r3.Add(at, beside), 0.016, r3.Add(frameOf.Origin, beside), 0.022))
	}
	if g.has("seated-calf-machine") { // plates hang before the knees
		knee := middle([]r3.Vec{forces[0].Point, forces[len(forces)-1].Point})
		at := r3.Add(knee, r3.Vec{X: 0.30, Y: 0.10})
		g.add("lever", frame, capsule(r3.Add(knee, r3.Vec{Y: 0.09}), 0.02, at, 0.02), capsule(at, 0.02, r3.Vec{X: at.X, Y: 0.02}, 0.02))
		g.add("plate", iron, disc(at, r3.Vec{Z: 1}, 0.12, 0.08))
	}
}

// sled draws the plate of a leg press and the rail it runs on.
func (g *gear) sled(forces []body.Force) {
	mid := r3.Vec{}
	for _, f := range forces {
		mid = r3.Add(mid, r3.Scale(1/float64(len(forces)), f.Point))
	}
	run := r3.Unit(r3.Scale(-1, forces[0].Vector))
	up := r3.Cross(r3.Vec{Z: 1}, run)
	at := r3.Add(mid, r3.Scale(plateBehind, run))
	g.add("foot-plate", frame, box(at, r3.Scale(plateBehind*0.8, run), r3.Scale(0.24, up), r3.Vec{Z: 0.26}))
	rail := func(z float64) piece {
		a := r3.Add(r3.Add(at, r3.Scale(-0.26, up)), r3.Scale(0.55, run))
		b := r3.Add(r3.Add(at, r3.Scale(-0.26, up)), r3.Scale(-0.16, run))
		a.Z, b.Z = z, z
		return capsule(a, 0.02, b, 0.02)
	}
	for _, z := range []float64{-0.32, 0.32} {
		r := rail(z)
		foot := r3.Add(r[0].at, r3.Scale(-0.1, run))
		g.still("rail", frame, r, capsule(foot, 0.02, r3.Vec{X: foot.X, Y: 0.02, Z: z}, 0.02))
	}
	for _, z := range []float64{-0.36, 0.36} {
		c := r3.Add(at, r3.Scale(0.16, run))
		g.add("plate", ring, disc(r3.Vec{X: c.X, Y: c.Y, Z: z}, r3.Vec{Z: 1}, plateR*0.8, plateThick))
	}
}

// grip draws what a hand holds fast: a bar overhead or a handle.
func (g *gear) grip(t body.Touch) {
	side := sideOf(t.Segment)
	at := g.hands[side].at
	switch {
	case g.has("pull-up-bar", "low-bar"):
		if side == body.Left { // one bar for both
			mid, axis := g.barAxis()
			end := func(k float64) r3.Vec { return r3.Add(mid, r3.Scale(k, axis)) }
			g.still("bar", iron, capsule(end(-0.65), barR, end(0.65), barR))
			for _, k := range []float64{-0.65, 0.65} {
				e := end(k)
				low := 0.0
				if e.Y > 1.5 { // hangs from above
					low = e.Y + 0.3
				}
				g.still("post", frame, capsule(e, 0.02, r3.Vec{X: e.X, Y: low, Z: e.Z}, 0.02))
			}
		}
	case g.has("dip-bars"):
		g.still("bar", iron, capsule(r3.Add(at, r3.Vec{X: 0.3}), barR*1.3, r3.Sub(at, r3.Vec{X: 0.3}), barR*1.3))
		g.still("post", frame, capsule(r3.Add(at, r3.Vec{X: 0.25}), 0.02, r3.Vec{X: at.X + 0.25, Z: at.Z}, 0.02))
	default:
		f := g.Frames.Segment[body.Forearm.Of(side)]
		g.add("handle", iron, capsule(r3.Add(at, r3.Scale(0.06, f.X)), barR, r3.Sub(at, r3.Scale(0.06, f.X)), barR))
	}
}

// shoulderPads are the yoke of a standing calf machine.
func (g *gear) shoulderPads(at, axis r3.Vec) {
	f := g.Frames.Segment[body.Thorax]
	for side := range 2 {
		k := out(side)
		p := g.of2(f, 0.004, g.Body.Size.ShoulderUp/g.h+0.030, k*0.062)
		p = r3.Add(p, r3.Scale(padThick/2, f.Y))
		g.add("pad", frame, box(p, r3.Scale(0.09, f.X), r3.Scale(padThick/2, f.Y), r3.Scale(0.05, f.Z)))
		g.add("lever", frame, capsule(r3.Add(p, r3.Scale(0.04, f.Y)), 0.018, r3.Add(p, r3.Vec{X: 0.55, Y: 0.02}), 0.018))
	}
	for side := range 2 { // to steady with
		grip := g.hands[side].at
		u := r3.Scale(0.05, f.Z)
		g.add("handle", iron, capsule(r3.Sub(grip, u), barR, r3.Add(grip, u), barR))
	}
	x := at.X + 0.62
	g.still("mast", frame, block(r3.Vec{X: x - 0.04, Z: -0.06}, r3.Vec{X: x + 0.04, Y: 1.9, Z: 0.06}))
	g.still("weights", stack, block(r3.Vec{X: x - 0.09, Y: 0.05, Z: -0.12}, r3.Vec{X: x + 0.09, Y: 0.7, Z: 0.12}))
}

// of2 is a point of a frame in fractions of height.
func (g *gear) of2(f body.Frame, x, y, z float64) r3.Vec {
	return f.At(r3.Scale(g.h, r3.Vec{X: x, Y: y, Z: z}))
}
