package session

import (
	"math"
	"testing"

	"corbel/body"
	"corbel/exercise"
)

// Ensure that a heavier load never lowers the peak of the joints that lift it, that
// more sets add to the work and leave the peak, and that every set is either counted or
// said to be without.
func TestJointMoments(t *testing.T) {
	c := trainee(lift("back-squat", 120), lift("overhead-press", 60))
	a := NewAthlete(c, exercise.Shipped, nil, monday)
	own, err := a.BodyOf(body.Measures{Sex: "male", Height: 1.8, Mass: 80}, nil)
	if err != nil {
		t.Fatal(err)
	}
	of := func(doses ...[2]string) (map[string]JointWeek, int) {
		b := block()
		b.Sessions[0].Slots = nil
		for i, d := range doses {
			b.Sessions[0].Slots = append(b.Sessions[0].Slots, slot(t, string(rune('a'+i)), d[0], d[1]))
		}
		b.Sessions = b.Sessions[:1]
		return own.JointMoments(a.Week(b, 1, Options{}))
	}
	light, _ := of([2]string{"back-squat", "2 x 5 @ 60 kg"})
	heavy, _ := of([2]string{"back-squat", "2 x 5 @ 100 kg"})
	more, without := of([2]string{"back-squat", "4 x 5 @ 60 kg"}, [2]string{"band-pull-apart", "2 x 10 @ band light"})
	if without != 2 {
		t.Errorf("%d sets without moments, the two with a band", without)
	}
	for _, joint := range []string{"knee", "hip", "lumbar spine"} {
		if heavy[joint].Peak <= light[joint].Peak {
			t.Errorf("%s: %.0f N m at 100 kg, %.0f at 60 kg", joint, heavy[joint].Peak, light[joint].Peak)
		}
		if more[joint].Peak != light[joint].Peak || math.Abs(more[joint].Work-2*light[joint].Work) > 0.001*light[joint].Work {
			t.Errorf("%s: four sets give peak %.0f and work %.0f; two give %.0f and %.0f", joint, more[joint].Peak, more[joint].Work, light[joint].Peak, light[joint].Work)
		}
	}
	if light["elbow"].Work > light["knee"].Work {
		t.Error("a squat works the elbow more than the knee")
	}
}
