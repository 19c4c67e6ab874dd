package session

import (
	"fmt"
	"math"
	"strings"

	"corbel/body"
	"corbel/exercise"
	"corbel/unit"
)

// Joints are the joints whose moments a week counts, each with its functions
// ([body.Functions]), without sides.
var Joints = []struct {
	Name      string
	Functions []string
}{
	{"ankle", []string{"ankle_plantarflexion"}}, {"knee", []string{"knee_extension"}}, {"hip", []string{"hip_extension"}},
	{"lumbar spine", []string{"lumbar_extension"}}, {"shoulder", []string{"shoulder_flexion", "shoulder_abduction", "shoulder_horizontal_adduction"}}, {"elbow", []string{"elbow_flexion"}},
}

// A peaks is the largest moment of every joint function of an exercise at a load, over
// its postures, N m, without sign; nil where the posture cannot be taken.
type peaks map[string]float64

// peaksAt solves an exercise at a load; what was solved once is kept.
func (b *Body) peaksAt(e *exercise.Exercise, load unit.Kilogram) peaks {
	key := fmt.Sprintf("%s %.1f", e.ID, float64(load))
	if known, ok := b.moments.Load(key); ok {
		return known.(peaks)
	}
	out := peaks{}
	for _, p := range body.Postures(b.library, e) {
		solved, err := b.Body.Solve(p, float64(load))
		if err != nil {
			out = nil
			break
		}
		st, err := b.Body.Statics(solved)
		if err != nil {
			out = nil
			break
		}
		for _, f := range body.Functions() {
			out[f.Name] = max(out[f.Name], math.Abs(f.Of(&st.Moments)))
		}
	}
	b.moments.Store(key, out)
	return out
}

// A JointWeek is what a week asks of a joint, docs/model/04-week.md (20), (21).
type JointWeek struct {
	Peak float64 // N m, the largest of any working set
	Work float64 // N m times repetitions, over the working sets
}

// JointMoments returns what a week asks of each joint, and the working sets it cannot
// say it of: without postures or without a known load.
func (b *Body) JointMoments(w *Week) (joints map[string]JointWeek, unknown int) {
	joints = map[string]JointWeek{}
	for _, v := range w.Visits {
		for _, s := range v.Sets {
			if s.Warm {
				continue
			}
			e := v.Items[s.Item].Exercise
			load, ok := s.Load.Kg()
			if !ok && !body.Loaded(body.Postures(b.library, e)) {
				load, ok = 0, true
			}
			var at peaks
			if ok {
				at = b.peaksAt(e, load)
			}
			if len(at) == 0 {
				unknown++
				continue
			}
			for _, j := range Joints {
				x := joints[j.Name]
				m := largest(at, j.Functions)
				joints[j.Name] = JointWeek{max(x.Peak, m), x.Work + m*s.Result.Done}
			}
		}
	}
	return joints, unknown
}

// largest is the largest moment of some functions: of both sides, for postures are
// written for the right side and mirrored for the left.
func largest(at peaks, functions []string) float64 {
	out := 0.0
	for name, m := range at {
		base := strings.TrimSuffix(strings.TrimSuffix(name, "_r"), "_l")
		for _, f := range functions {
			if base == f {
				out = max(out, m)
			}
		}
	}
	return out
}
