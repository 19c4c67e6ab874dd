package session

import (
	"math"
	"slices"
	"testing"

	"corbel/exercise"
)

// Ensure that a lane starts full, stays between 0 and 1, never
// falls during rest (in a set what does not work recovers), and has, as the first working set of an exercise starts, what the
// visit says that its muscles have left.
func TestLanes(t *testing.T) {
	check(t, func(t gen) {
		v := NewAthlete(t.client(), exercise.Shipped, nil, monday).Week(t.block(), 1, Options{}).Visits[0]
		lanes := v.Lanes()
		for i, l := range lanes {
			if i > 0 && lanes[i-1].Least > l.Least {
				t.Errorf("lanes are not in order of what is left: %v after %v", l.Least, lanes[i-1].Least)
			}
			if l.Moments[0] != (Moment{0, 1}) || len(l.Moments) != 1+2*len(v.Sets) {
				t.Errorf("%s %s: %d moments for %d sets, the first %v", l.Muscle, l.Side, len(l.Moments), len(v.Sets), l.Moments[0])
			}
			for k := 1; k < len(l.Moments); k++ {
				was, is, working := l.Moments[k-1].Left, l.Moments[k].Left, k%2 == 0
				if is < 0 || is > 1 || !working && is < was-1e-9 {
					t.Errorf("%s %s: from %v to %v at moment %d", l.Muscle, l.Side, was, is, k)
				}
			}
		}
		for i, slot := range v.Slots {
			for ms, left := range slot.Prefatigue {
				first := slices.IndexFunc(v.Sets, func(s SetVisit) bool { return s.Item == i && !s.Warm && s.Side.Meets(ms.Side) })
				lane := slices.IndexFunc(lanes, func(l Lane) bool { return l.MuscleSide == ms })
				if first < 0 || lane < 0 {
					continue
				}
				if got := lanes[lane].Moments[1+2*first].Left; math.Abs(got-left) > 1e-12 {
					t.Errorf("%s: %s %s has %v left in its lane, %v in the visit", v.Items[i].Slot.ID, ms.Muscle, ms.Side, got, left)
				}
			}
		}
	})
}
