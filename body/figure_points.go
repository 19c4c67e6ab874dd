package body

import (
	"gonum.org/v1/gonum/spatial/r3"

	"corbel/exercise"
)

// A Touch is where one contact of a posture touches, on one side.
type Touch struct {
	Contact exercise.Term
	Segment Segment
	Points  []r3.Vec // in the world, m
	Normal  r3.Vec   // square to what it touches, towards the body; up where that is a floor; length 1
}

// Touches lists where a solved posture touches floor, bench, pads and handles.
func (s *Solved) Touches() []Touch {
	var out []Touch
	for _, c := range s.Posture.Pose.Contacts {
		k, ok := contactKinds[c.Name]
		if !ok {
			continue // between two parts of the body
		}
		along := 0.0
		if len(c.Numbers) > 0 {
			along = s.Body.length(c.Numbers[0])
		}
		for _, side := range sides(c, k.segment) {
			t := Touch{Contact: c, Segment: k.segment.Of(side), Normal: world.Y}
			frame := &s.Frames.Segment[t.Segment]
			if k.normal != (r3.Vec{}) {
				t.Normal = frame.Turn(mirror(k.normal, side))
			}
			for _, p := range k.points(s.Body, along) {
				t.Points = append(t.Points, frame.At(mirror(p, side)))
			}
			out = append(out, t)
		}
	}
	return out
}

// Pulls are the forces of one of the loads of a solved posture, at 1 kg.
func (s *Solved) Pulls(load exercise.Term) []Force {
	return s.Body.loadForces([]exercise.Term{load}, 1, s.Frames)
}

// Grip is the middle of the closed hand of a side in the world.
func (s *Solved) Grip(side int) r3.Vec {
	return s.Frames.Segment[Forearm.Of(side)].At(s.Body.grip())
}

// Length gives a length of a posture for this body, m.
func (b *Body) Length(n exercise.Number) float64 { return b.length(n) }
