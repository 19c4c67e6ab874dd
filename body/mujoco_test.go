//go:build mujoco

package body

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os/exec"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"corbel/unit"
)

// The exchange with testdata/mujoco/check.mjs.
type (
	mjForce struct {
		Body   int        `json:"body"` // 0 is the world, segments follow in order
		Point  [3]float64 `json:"point"`
		Vector [3]float64 `json:"vector"`
	}
	mjCase struct {
		Qpos   []float64 `json:"qpos"`
		Forces []mjForce `json:"forces"`
		solved *Statics
	}
	mjModel struct {
		XML   string   `json:"xml"`
		Cases []mjCase `json:"cases"`
	}
	mjAnswer struct {
		Models []struct {
			Cases []struct {
				Qfrc []float64 `json:"qfrc"`
				Xpos []float64 `json:"xpos"`
			} `json:"cases"`
		} `json:"models"`
	}
)

// mjcf writes the chain as a model: weights by gravity, hinges and slides in our
// order. Inertias do not matter at rest. Segments stand in depth-first order.
func mjcf(b *Body) (string, []Segment) {
	var out strings.Builder
	fmt.Fprintf(&out, `<mujoco><option gravity="0 %.17g 0"><flag contact="disable"/></option><compiler angle="radian" inertiafromgeom="false"/><worldbody>`,
		-unit.StandardGravity)
	var visited []Segment
	var walk func(s Segment)
	walk = func(s Segment) {
		visited = append(visited, s)
		l, c := b.chain[s], b.centre[s]
		fmt.Fprintf(&out, `<body name="%v" pos="%.17g %.17g %.17g"><inertial pos="%.17g %.17g %.17g" mass="%.17g" diaginertia="1 1 1"/>`,
			s, l.offset.X, l.offset.Y, l.offset.Z, c.X, c.Y, c.Z, max(b.mass[s], 1e-12))
		for i := l.first; i < l.last; i++ {
			kind, axis := "hinge", [3]int{}
			if b.hinges[i].slide {
				kind = "slide"
			}
			axis[b.hinges[i].axis] = 1
			fmt.Fprintf(&out, `<joint type="%s" axis="%d %d %d"/>`, kind, axis[0], axis[1], axis[2])
		}
		for t := range Segments {
			if b.chain[t].parent == s {
				walk(Segment(t))
			}
		}
		out.WriteString(`</body>`)
	}
	walk(Pelvis)
	out.WriteString(`</worldbody></mujoco>`)
	return out.String(), visited
}

// mjSolved turns solved statics into a case: everything but the weights.
func mjSolved(b *Body, st *Statics, visited []Segment) mjCase {
	c := mjCase{solved: st}
	index := map[Segment]int{}
	for i, s := range visited {
		index[s] = i + 1
		for h := b.chain[s].first; h < b.chain[s].last; h++ {
			c.Qpos = append(c.Qpos, b.hinges[h].sign*st.Solved.Q[b.hinges[h].coord])
		}
	}
	weights := len(b.weights(st.Solved.Frames))
	for _, f := range append(append([]Force(nil), st.External[weights:]...), st.Contacts...) {
		c.Forces = append(c.Forces, mjForce{index[f.Segment], [3]float64{f.Point.X, f.Point.Y, f.Point.Z}, [3]float64{f.Vector.X, f.Vector.Y, f.Vector.Z}})
	}
	return c
}

// Ensure that every posture of the library, and points between them, has the
// joint moments and joint centres the MuJoCo engine finds, for several bodies,
// loads and both sides.
func TestMuJoCo(t *testing.T) {
	var models []mjModel
	var orders [][]Segment
	for _, b := range testBodies(t) {
		xml, visited := mjcf(b)
		m := mjModel{XML: xml}
		for _, st := range everyStatics(t, b, true) {
			m.Cases = append(m.Cases, mjSolved(b, st, visited))
		}
		models, orders = append(models, m), append(orders, visited)
	}
	answer := runMuJoCo(t, models)
	worst, place, count := 0.0, 0.0, 0
	for k, m := range models {
		for i, c := range m.Cases {
			off, far := compare(t, c.solved, orders[k], answer.Models[k].Cases[i].Qfrc, answer.Models[k].Cases[i].Xpos)
			worst, place, count = max(worst, off), max(place, far), count+1
			if !(off <= 1e-6) || !(far <= 1e-9) {
				p := c.solved.Solved.Posture.Pose
				t.Errorf("%s, %s: moments differ by %.3g N m, joint centres by %.3g m", p.Exercise, p.Name, off, far)
			}
		}
	}
	t.Logf("%d postures, largest difference of a moment %.2g N m, of a joint centre %.2g m", count, worst, place)
	if count < 50 {
		t.Errorf("only %d postures were compared", count)
	}
}

// runMuJoCo runs the engine over all models.
func runMuJoCo(t *testing.T, models []mjModel) mjAnswer {
	t.Helper()
	in, err := json.Marshal(map[string]any{"models": models})
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", "check.mjs")
	cmd.Dir, cmd.Stdin = "testdata/mujoco", bytes.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	text, err := cmd.Output()
	if err != nil {
		t.Fatalf("node: %v\n%s\nrun npm ci in body/testdata/mujoco first", err, &stderr)
	}
	var answer mjAnswer
	if err := json.Unmarshal(text, &answer); err != nil {
		t.Fatal(err)
	}
	return answer
}

// compare returns the largest difference of moments and of joint centres. The
// engine gives one number a hinge; those of a coordinate are summed with their
// signs, and the shoulder's vector is laid on its hinges.
func compare(t *testing.T, st *Statics, visited []Segment, qfrc, xpos []float64) (moment, place float64) {
	t.Helper()
	s := st.Solved
	b, j := s.Body, 0
	for i, seg := range visited {
		o := s.Frames.Segment[seg].Origin
		p := r3.Vec{X: xpos[3*(i+1)], Y: xpos[3*(i+1)+1], Z: xpos[3*(i+1)+2]}
		place = max(place, r3.Norm(r3.Sub(o, p)))
		for h := b.chain[seg].first; h < b.chain[seg].last; h++ {
			want := qfrc[j] * b.hinges[h].sign
			j++
			got := st.Moments[b.hinges[h].coord]
			switch {
			case seg == Pelvis && !b.hinges[h].slide:
				continue // Moments holds them about the axes of the world
			case seg.right() == UpperArm:
				got = b.hinges[h].sign * r3.Dot(shoulderVector(st, seg), s.Frames.axes[h])
			}
			moment = max(moment, math.Abs(got-want))
		}
	}
	return moment, place
}

// shoulderVector is the shoulder's moment on the arm, in the world.
func shoulderVector(st *Statics, arm Segment) r3.Vec {
	side, _ := arm.Side()
	k, m := outward(side), &st.Moments
	return st.Solved.Frames.Segment[Thorax].Turn(r3.Vec{
		X: -k * m[ShoulderAbduction.Of(side)], Y: k * m[ShoulderHorizontalAdduction.Of(side)], Z: m[ShoulderFlexion.Of(side)]})
}
