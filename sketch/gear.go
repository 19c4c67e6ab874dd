package sketch

import (
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/body"
	"corbel/client"
	"corbel/exercise"
)

// Sizes of equipment, m. Bar and large plate by the standards of the sport of
// weightlifting as remembered; the rest is our judgement (key judgement).
const (
	barHalf, barR          = 1.10, 0.014
	sleeve                 = 0.68 // middle of the bar to the plates
	plateR, plateThick     = 0.225, 0.06
	smallPlateR            = 0.14
	hexHalf, hexReach      = 0.32, 0.36 // hex bar: half across, half along
	bellHalf, bellR, bellW = 0.065, 0.055, 0.075
	kettleR                = 0.10
	padThick               = 0.06
	rollerR, rollerHalf    = 0.045, 0.16
	cordR                  = 0.006
	bandR                  = 0.012
	postR                  = 0.02
	drillBell              = 0.6 // size of the light dumbbells of drills
	mastHalf, mastHigh     = 0.05, 2.2
	pulleyHigh, leverLong  = 2.15, 0.55
)

// gear lists the equipment of one posture. Scene fills it in.
type gear struct {
	*person
	of    *exercise.Exercise
	poses []*person // all postures, for what stands still
	parts []part
}

// has says whether the exercise needs a piece of equipment.
func (g *gear) has(names ...client.Equipment) bool {
	return slices.ContainsFunc(names, func(n client.Equipment) bool { return slices.Contains(g.of.Equipment, n) })
}

func (g *gear) add(name string, s stuff, pieces ...piece) *part {
	g.parts = append(g.parts, part{name: name, stuff: s, pieces: pieces})
	return &g.parts[len(g.parts)-1]
}

// loadKinds say which ways of loading an exercise draw a load of a posture: what
// is usually done without load is drawn without.
var loadKinds = map[string][]exercise.LoadKind{
	"trunk": {exercise.BarOnTrunk, exercise.Stack, exercise.Lever}, "pelvis": {exercise.BarOnTrunk},
	"bar": {exercise.BarInHands, exercise.PerHand, exercise.Stack, exercise.Lever, exercise.Cam, exercise.Cable}, "hand": {exercise.PerHand},
	"cable": {exercise.Cable, exercise.Stack, exercise.Band, exercise.Assisted}, "band": {exercise.Band}, "pad": {exercise.Cam, exercise.Stack, exercise.Lever},
	"sled": {exercise.Sled, exercise.Stack}, "ankle": {exercise.OnLimb}, "knee": {exercise.OnLimb},
}

// usual says whether a load is drawn.
func (g *gear) usual(name string) bool { return slices.Contains(loadKinds[name], g.of.Loads[0]) }

// loads draws what the loads of the posture hang on.
func (g *gear) loads() {
	for _, l := range g.Posture.Pose.Loads {
		if !g.usual(l.Name) {
			continue
		}
		forces := g.Pulls(l)
		switch l.Name {
		case "trunk", "pelvis":
			axis := g.Frames.Segment[forces[0].Segment].Z
			if g.has("standing-calf-machine") {
				g.shoulderPads(forces[0].Point, axis)
				continue
			}
			g.bar(forces[0].Point, axis, plateR)
		case "bar":
			g.inHands(forces)
		case "hand":
			for _, f := range forces {
				g.inHand(f.Segment)
			}
		case "cable":
			g.cable(l, forces)
		case "band":
			g.band(forces)
		case "pad":
			if forces[0].Segment.Of(body.Right) == body.Forearm {
				g.elbowMachine()
				continue
			}
			g.pad(l, forces)
		case "sled":
			g.sled(forces)
		case "ankle", "knee":
			for _, f := range forces {
				g.cuff(f)
			}
		}
	}
}

// bar draws a barbell by its middle and direction.
func (g *gear) bar(mid, axis r3.Vec, plate float64) {
	end := func(k float64) r3.Vec { return r3.Add(mid, r3.Scale(k, axis)) }
	g.add("bar", iron, capsule(end(-barHalf), barR, end(barHalf), barR))
	for _, k := range []float64{-1, 1} {
		g.add("plate", ring, disc(end(k*sleeve), axis, plate, plateThick))
		g.add("hub", iron, disc(end(k*(sleeve+plateThick)), axis, 0.025, 0.08))
	}
}

// barAxis is the line of a bar held in both hands: through both, level across the
// body.
func (p *person) barAxis() (mid, axis r3.Vec) {
	r, l := p.Grip(body.Right), p.Grip(body.Left)
	return r3.Scale(0.5, r3.Add(r, l)), r3.Unit(r3.Sub(r, l))
}

// lightPatterns are done with loads for which large plates would be out of place.
var lightPatterns = []exercise.Pattern{"curl", "triceps", "raise", "fly", "cuff"}

// inHands draws what both hands hold.
func (g *gear) inHands(forces []body.Force) {
	mid, axis := g.barAxis()
	up := r3.Vec{Y: 1}
	switch {
	case len(forces) == 1:
		g.inHand(forces[0].Segment)
	case g.has("hex-bar"):
		g.hexBar(mid)
	case g.has("kettlebell"):
		g.kettlebell(mid)
	case g.has("dumbbells"): // one for both hands, upright
		t := g.Frames.Segment[body.Thorax]
		axis, size := r3.Unit(r3.Add(r3.Scale(0.4, t.Y), up)), 1.3 // held by its upper head
		g.dumbbell(r3.Sub(mid, r3.Scale(size*(bellHalf+bellW/2), axis)), axis, size)
	case slices.Contains(lightPatterns, g.of.Pattern):
		g.bar(mid, axis, smallPlateR)
	default:
		g.bar(mid, axis, plateR)
	}
}

// elbowMachine draws handle and levers that turn about the elbows.
func (g *gear) elbowMachine() {
	mid, axis := g.barAxis()
	g.add("handle", iron, capsule(r3.Add(mid, r3.Scale(0.32, axis)), barR, r3.Sub(mid, r3.Scale(0.32, axis)), barR))
	for side := range 2 {
		beside := r3.Vec{Z: out(side) * 0.075}
		elbow := g.Frames.Segment[body.Forearm.Of(side)].Origin
		g.add("lever", frame, capsule(r3.Add(g.Grip(side), beside), 0.014, r3.Add(elbow, beside), 0.02))
	}
}

// inHand draws a dumbbell or kettlebell in the hand of a forearm.
func (g *gear) inHand(s body.Segment) {
	side, _ := s.Side()
	if g.has("kettlebell") && !g.has("dumbbells") {
		g.kettlebell(g.Grip(side))
		return
	}
	size := 1.0
	if g.of.Stage == exercise.Drill {
		size = drillBell
	}
	g.dumbbell(g.Grip(side), g.Frames.Segment[s].X, size)
}

func (g *gear) dumbbell(at, axis r3.Vec, size float64) {
	half := min(1, size) * bellHalf
	heads := []piece{capsule(r3.Sub(at, r3.Scale(half, axis)), barR, r3.Add(at, r3.Scale(half, axis)), barR)}
	for _, k := range []float64{-1, 1} {
		heads = append(heads, disc(r3.Add(at, r3.Scale(k*size*(bellHalf+bellW/2), axis)), axis, size*bellR, size*bellW))
	}
	g.add("dumbbell", iron, heads...)
}

func (g *gear) kettlebell(hand r3.Vec) {
	down := r3.Sub(hand, r3.Vec{Y: kettleR * 1.5})
	g.add("kettlebell", iron, piece{{down, kettleR}},
		capsule(r3.Add(down, r3.Vec{X: kettleR * 0.7, Y: kettleR * 0.6}), barR, r3.Add(hand, r3.Vec{X: 0.05}), barR),
		capsule(r3.Add(down, r3.Vec{X: -kettleR * 0.7, Y: kettleR * 0.6}), barR, r3.Add(hand, r3.Vec{X: -0.05}), barR),
		capsule(r3.Add(hand, r3.Vec{X: -0.05}), barR, r3.Add(hand, r3.Vec{X: 0.05}), barR))
}

// hexBar draws the frame round the body, its handles at the hands, and the plates
// at its sides.
func (g *gear) hexBar(mid r3.Vec) {
	at := func(x, z float64) r3.Vec { return r3.Add(mid, r3.Vec{X: x, Z: z}) }
	corners := []r3.Vec{at(0, hexHalf*1.25), at(hexReach, hexHalf*0.7), at(hexReach, -hexHalf*0.7), at(0, -hexHalf*1.25), at(-hexReach, -hexHalf*0.7), at(-hexReach, hexHalf*0.7)}
	for i := range corners {
		g.add("bar", iron, capsule(corners[i], barR, corners[(i+1)%len(corners)], barR))
	}
	for side := range 2 {
		grip := g.hands[side].at
		k := out(side)
		g.add("handle", iron, capsule(r3.Add(grip, r3.Vec{X: hexReach * 0.45}), barR, r3.Sub(grip, r3.Vec{X: hexReach * 0.45}), barR))
		g.add("bar", iron, capsule(at(0, k*hexHalf*1.25), barR, at(0, k*(sleeve+0.1)), barR))
		g.add("plate", ring, disc(at(0, k*sleeve), r3.Vec{Z: 1}, plateR, plateThick))
		g.add("hub", iron, disc(at(0, k*(sleeve+plateThick)), r3.Vec{Z: 1}, 0.025, 0.08))
	}
}

// cable draws the cable, what is held, and the mast it comes from.
func (g *gear) cable(l exercise.Term, forces []body.Force) {
	to := r3.Vec{}
	for _, f := range forces {
		to = r3.Add(to, r3.Scale(1/float64(len(forces)), g.pulley(l, f)))
	}
	held := r3.Vec{}
	for _, f := range forces {
		held = r3.Add(held, r3.Scale(1/float64(len(forces)), f.Point))
	}
	if g.machine() && !g.has("cable", "pulldown", "seated-row") {
		for _, f := range forces {
			g.arm(f)
		}
		return
	}
	if g.has("pulldown") && to.Y > pulleyHigh { // the pulley hangs in reach
		to = r3.Add(held, r3.Scale((pulleyHigh-held.Y)/(to.Y-held.Y), r3.Sub(to, held)))
	}
	if len(forces) == 2 && r3.Norm(r3.Sub(forces[0].Point, forces[1].Point)) > 0.1 {
		u := r3.Scale(0.1, r3.Unit(r3.Sub(forces[0].Point, forces[1].Point)))
		g.add("handle", iron, capsule(r3.Add(forces[0].Point, u), barR, r3.Sub(forces[1].Point, u), barR))
	} else {
		for _, f := range forces {
			if f.Segment.Of(body.Right) != body.Forearm {
				g.cuff(f)
				continue
			}
			g.add("handle", iron, capsule(r3.Add(f.Point, r3.Vec{Y: 0.05}), barR, r3.Sub(f.Point, r3.Vec{Y: 0.05}), barR))
		}
	}
	elastic := g.of.Loads[0] == exercise.Band
	r := cordR
	if elastic {
		r = bandR
	}
	g.add("cable", cord, capsule(held, r, to, r))
	if elastic { // tied to a post
		g.still("post", frame, capsule(r3.Vec{X: to.X, Y: postR, Z: to.Z}, postR, r3.Vec{X: to.X, Y: to.Y + 0.1, Z: to.Z}, postR))
		return
	}
	g.mast(held, to)
}

// cuff draws a strap or a weight round a limb.
func (g *gear) cuff(f body.Force) {
	g.add("cuff", iron, disc(f.Point, g.Frames.Segment[f.Segment].Y, 0.028*g.h, 0.05))
}

// arm draws the handle of a machine and the lever that it moves, which hangs from
// above the middle of the hand's way.
func (g *gear) arm(f body.Force) {
	side := sideOf(f.Segment)
	var pivot r3.Vec
	for _, p := range g.poses {
		pivot = r3.Add(pivot, r3.Scale(1/float64(len(g.poses)), p.Grip(side)))
	}
	beside := r3.Vec{Z: out(side) * 0.09}
	pivot = r3.Add(pivot, r3.Add(beside, r3.Vec{X: -0.05, Y: leverLong}))
	g.add("handle", iron, capsule(r3.Sub(f.Point, r3.Scale(0.7, beside)), barR, r3.Add(f.Point, beside), barR))
	seat := g.Frames.Segment[body.Pelvis].Origin.X - towerBack
	g.still("beam", frame, capsule(pivot, 0.024, r3.Vec{X: seat, Y: towerHigh, Z: pivot.Z}, 0.024))
	g.add("lever", frame, capsule(r3.Add(f.Point, beside), 0.018, pivot, 0.024))
}

// pulley is the end of a cable away from a force.
func (g *gear) pulley(l exercise.Term, f body.Force) r3.Vec {
	v := r3.Vec{X: g.Body.Length(l.Numbers[0]), Y: g.Body.Length(l.Numbers[1]), Z: g.Body.Length(l.Numbers[2])}
	if side, ok := f.Segment.Side(); ok {
		v.Z *= out(side)
	}
	return v
}

// mast draws the column of a cable beyond its pulley, with its weights.
func (g *gear) mast(held, to r3.Vec) {
	k := 1.0
	if to.X < g.poses[0].Frames.Segment[body.Pelvis].Origin.X-0.2 {
		k = -1
	}
	x := to.X + k*0.16
	if to.Y > 1.5 { // pulls from above: the column stands clear of the body
		feet := held.X
		for _, p := range g.poses {
			for side := range 2 {
				feet = k * max(k*feet, k*p.Frames.Segment[body.Foot.Of(side)].Origin.X)
			}
		}
		x = k * max(k*to.X+0.16, k*feet+0.45)
	}
	high := max(mastHigh, to.Y+0.1)
	g.add("pulley", frame, disc(to, r3.Vec{Z: 1}, 0.05, 0.03))
	g.still("mast", frame, block(r3.Vec{X: x - mastHalf, Z: -0.08}, r3.Vec{X: x + mastHalf, Y: high, Z: 0.08}),
		block(r3.Vec{X: min(x, to.X), Y: to.Y + 0.05, Z: -0.03}, r3.Vec{X: max(x, to.X), Y: to.Y + 0.09, Z: 0.03}))
	g.still("weights", stack, block(r3.Vec{X: x - 0.09, Y: 0.05, Z: -0.12}, r3.Vec{X: x + 0.09, Y: 0.6, Z: 0.12}))
}

// still adds equipment that does not move with the body.
func (g *gear) still(name string, s stuff, pieces ...piece) {
	g.add(name, s, pieces...).fixed = true
}

// band draws an elastic band round both legs.
func (g *gear) band(forces []body.Force) {
	if len(forces) != 2 {
		return
	}
	r := 0.03 * g.h
	u := r3.Unit(r3.Sub(forces[0].Point, forces[1].Point))
	if forces[0].Segment.Of(body.Right) == body.Forearm {
		g.add("band", cord, capsule(forces[0].Point, bandR, forces[1].Point, bandR))
		return
	}
	along := g.Frames.Segment[forces[0].Segment].Y
	across := r3.Unit(r3.Cross(along, u))
	for _, k := range []float64{-1, 1} {
		g.add("band", cord, capsule(r3.Add(forces[0].Point, r3.Scale(k*r, across)), bandR, r3.Add(forces[1].Point, r3.Scale(k*r, across)), bandR))
	}
}
