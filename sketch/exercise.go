package sketch

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/body"
	"corbel/exercise"
)

// ErrNoPostures says that an exercise has none to draw.
var ErrNoPostures = errors.New("no postures are written for it yet")

// A Figure is an exercise posed for one body: every posture with its equipment.
// It is read-only and may be shared.
type Figure struct {
	Exercise *exercise.Exercise
	Left     bool // the left side works
	poses    []*person
	scenes   [][]part // of each posture
	main     int      // posture that is drawn; the other end is its ghost
	ghost    int
	views    map[View]float64 // how telling each view is, 0 to 1
}

// New poses an exercise for a body under a load of kg, of one-sided exercises for
// the right side or the left. The error wraps [ErrNoPostures], or says which
// target this body cannot meet.
func New(l *exercise.Library, e *exercise.Exercise, b *body.Body, load float64, left bool) (*Figure, error) {
	var solved []*body.Solved
	for _, p := range body.Postures(l, e) {
		if left {
			p = p.Mirror()
		}
		s, err := b.Solve(p, load)
		if err != nil {
			return nil, err
		}
		solved = append(solved, s)
	}
	if len(solved) == 0 {
		return nil, fmt.Errorf("%s: %w", e.ID, ErrNoPostures)
	}
	return Pose(e, solved, left), nil
}

// Pose draws up a figure from solved postures, at least one, from the start to the
// end of the movement.
func Pose(e *exercise.Exercise, solved []*body.Solved, left bool) *Figure {
	f := &Figure{Exercise: e, Left: left}
	for _, s := range solved {
		f.poses = append(f.poses, newPerson(s))
	}
	for _, p := range f.poses {
		g := &gear{person: p, of: e, poses: f.poses}
		g.close()
		g.loads()
		g.supports()
		f.scenes = append(f.scenes, append(p.parts(), g.parts...))
	}
	f.main, f.ghost = len(f.poses)-1, 0
	if f.poses[f.main].stands() && !f.poses[0].stands() {
		f.main, f.ghost = 0, f.main
	}
	f.views = f.rate()
	return f
}

// newPerson wraps a solved posture.
func newPerson(s *body.Solved) *person {
	p := &person{Solved: s, h: s.Body.Measures.Height}
	for side := range 2 {
		p.hands[side].at = s.Grip(side)
	}
	p.turn = p.bend()
	return p
}

// upright is how far from standing joints may be while a posture still says
// nothing of the exercise, rad (our judgement).
const upright = 32 * math.Pi / 180

// stands says whether a posture is no more than standing with hanging arms.
func (p *person) stands() bool {
	for side := range 2 {
		for _, c := range []body.Coordinate{body.HipFlexion, body.KneeFlexion, body.ArmElevation, body.HipAbduction, body.AnkleDorsiflexion} {
			if math.Abs(p.Q[c.Of(side)]) > upright {
				return false
			}
		}
	}
	return p.Frames.Segment[body.Thorax].Y.Y > 0.9
}

// Reach of a hand from the wrist to what it closes on, fractions of height (our
// judgement): a bent wrist brings the fist nearer to it than a straight one.
const nearReach, farReach = 0.022, 0.066

// close decides what each hand does: it closes on a bar it reaches, holds what a
// load or a grip gives it, or lies flat where the palm carries.
func (g *gear) close() {
	for _, l := range g.Posture.Pose.Loads {
		if !g.usual(l.Name) {
			continue
		}
		for _, f := range g.Pulls(l) {
			side, sided := f.Segment.Side()
			switch {
			case sided && f.Segment.Of(body.Right) == body.Forearm:
				g.hands[side].shut = true
			case g.has("standing-calf-machine"): // its handles are where the hands are
				g.hands[body.Right].shut, g.hands[body.Left].shut = true, true
			case l.Name == "trunk" || l.Name == "pelvis":
				g.reach(f.Point, g.Frames.Segment[f.Segment].Z)
			}
		}
	}
	for _, t := range g.Touches() {
		hand := &g.hands[sideOf(t.Segment)]
		switch t.Contact.Name {
		case "grip":
			hand.shut = true
		case "palm":
			hand.flat, hand.along = true, g.fingers(t.Segment)
		}
	}
}

// reach closes both hands on a bar carried on the body, where it is within reach
// of their wrists.
func (g *gear) reach(mid, axis r3.Vec) {
	for side := range 2 {
		s := body.Forearm.Of(side)
		wrist := g.Frames.Segment[s].At(r3.Vec{Y: -g.Body.Measures.Forearm})
		grip := g.Grip(side)
		t := max(-sleeve, min(sleeve, r3.Dot(r3.Sub(grip, mid), axis)))
		at := r3.Add(mid, r3.Scale(t, axis))
		if far := r3.Norm(r3.Sub(at, wrist)); far >= nearReach*g.h && far <= farReach*g.h {
			g.hands[side] = hand{at: at, shut: true}
		}
	}
}

// fingers is where a flat hand points: level, ahead as the head does.
func (g *gear) fingers(s body.Segment) r3.Vec {
	t := g.Frames.Segment[body.Thorax]
	ahead := r3.Vec{X: t.Y.X, Z: t.Y.Z}
	if r3.Norm(ahead) < 0.3 {
		ahead = r3.Vec{X: t.X.X, Z: t.X.Z}
	}
	f := g.Frames.Segment[s].Y
	if flat := (r3.Vec{X: -f.X, Z: -f.Z}); r3.Norm(flat) > 0.7 { // the forearm itself lies
		ahead = flat
	}
	return r3.Unit(ahead)
}
