package body

import (
	_ "embed"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"corbel/num"
)

var update = flag.Bool("update", false, "fit muscle paths and strengths again and write their tables")

// The fit of hip paths, docs/model/01-body-muscles.md section 3: points and wrap
// radius so that arms meet the published ones, held near points from memory.
const (
	armSD    = 5.0  // mm, how near an arm should come (our judgement)
	pointSD  = 20.0 // mm, of a coordinate of a point from memory (our judgement)
	wrapSD   = 10.0 // mm
	fitTries = 40   // starts drawn about the points from memory
	fitSteps = 60

	// The published arms give too little internal rotation in extension: men
	// measured 73 N m, the muscles could make 36. dostal-1986 (from memory) has
	// 10 mm more for the front of the abductors, which is added near extension.
	inwardUntil = math.Pi / 3 // rad of hip flexion
)

// A prior is where a path runs, mm about the right hip centre at 1.70 m, from
// memory of anatomy: origin, insertion or where the thigh's part of the path
// ends, radius of wrap, side on which it passes.
type prior struct {
	muscle            string
	origin, insertion point3
	wrap              float64
	hint              point3
	inward            float64 // mm of internal rotation added near extension, see (4)
}

var priors = []prior{
	{"gluteus_maximus_upper", point3{-58, 100, -10}, point3{-25, -55, 45}, 40, point3{}, 0},
	{"gluteus_maximus_lower", point3{-75, 45, -50}, point3{-20, -110, 38}, 45, point3{}, 0},
	{"gluteus_medius_anterior", point3{25, 100, 30}, point3{-22, -12, 55}, 20, point3{}, 20},
	{"gluteus_medius_posterior", point3{-45, 85, -15}, point3{-29, -6, 52}, 20, point3{}, 0},
	{"gluteus_minimus", point3{5, 60, 12}, point3{-10, -9, 55}, 20, point3{}, 18},
	{"tensor_fasciae_latae", point3{40, 87, 41}, point3{29, -100, 60}, 20, point3{}, 0},
	{"piriformis", point3{-60, 50, -40}, point3{-15, -4, 44}, 15, point3{}, 0},
	{"deep_external_rotators", point3{-43, -35, -22}, point3{-27, -20, 40}, 15, point3{}, 0},
	{"adductor_longus_brevis_pectineus", point3{30, -18, -60}, point3{0, -140, 25}, 0, point3{}, 0},
	{"adductor_magnus", point3{-10, -52, -55}, point3{3, -250, 12}, 0, point3{}, 0},
	{"gracilis", point3{14, -38, -76}, point3{-20, -440, -20}, 0, point3{}, 0},
	{"hamstrings_medial", point3{-50, -35, -14}, point3{-20, -440, -20}, 20, point3{}, 0},
	{"biceps_femoris_long", point3{-54, -34, -17}, point3{-30, -440, 30}, 20, point3{}, 0},
	{"rectus_femoris", point3{41, 35, 13}, point3{33, -400, 0}, 25, point3{1, 0, 0}, 0},
	{"iliopsoas", point3{42, -2, -2}, point3{-19, -62, 13}, 20, point3{1, 0, 0}, 0},
	{"psoas_lumbar_part", point3{42, -2, -2}, point3{-19, -62, 13}, 20, point3{1, 0, 0}, 0},
	{"sartorius", point3{55, 65, 41}, point3{-3, -357, -42}, 20, point3{}, 0},
}

// fitted is a path as seven numbers in mm, and back.
func (p prior) numbers() []float64 {
	return []float64{p.origin[0], p.origin[1], p.origin[2], p.insertion[0], p.insertion[1], p.insertion[2], p.wrap}
}

func (p prior) path(x []float64) path {
	return path{point3{x[0], x[1], x[2]}.times(1e-3), point3{x[3], x[4], x[5]}.times(1e-3), x[6] * 1e-3, p.hint}
}

// misses lists what the fit makes small: arms against published ones, points
// against those from memory.
func (p prior) misses(arms []publishedArm, x []float64) []float64 {
	var out []float64
	at := p.path(x)
	for _, a := range arms {
		got, _ := at.at(a.hip, a.abduction, a.rotation)
		want := a.arm
		if a.hipAxis() == 2 {
			want -= p.inward * min(1, max(0, 1-a.hip/inwardUntil))
		}
		out = append(out, (1e3*got[a.hipAxis()]-want)/armSD)
	}
	for i, v := range p.numbers() {
		sd := pointSD
		if i == 6 {
			sd = wrapSD
		}
		out = append(out, (x[i]-v)/sd)
	}
	return out
}

func sumOfSquares(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v * v
	}
	return s
}

// leastSquares is damped least squares with differences for the Jacobian.
func leastSquares(f func([]float64) []float64, x []float64, steps int) ([]float64, float64) {
	r := f(x)
	cost, damp, n := sumOfSquares(r), 1e-2, len(x)
	for range steps {
		jac := make([][]float64, n)
		for i := range x {
			y := append([]float64{}, x...)
			y[i] += 1e-4
			jac[i] = f(y)
			for k := range jac[i] {
				jac[i][k] = (jac[i][k] - r[k]) / 1e-4
			}
		}
		for {
			h, g := make([]float64, n*n), make([]float64, n)
			for i := range n {
				for k, v := range jac[i] {
					g[i] -= v * r[k]
				}
				for j := range n {
					for k, v := range jac[i] {
						h[i*n+j] += v * jac[j][k]
					}
				}
				h[i*n+i] += damp * (1 + h[i*n+i])
			}
			if !factor(h, n) {
				return x, cost
			}
			backSolve(h, n, g)
			y := append([]float64{}, x...)
			for i := range y {
				y[i] += g[i]
			}
			next := f(y)
			if c := sumOfSquares(next); c < cost {
				done := cost-c < 1e-9*cost
				x, r, cost, damp = y, next, c, max(damp/5, 1e-9)
				if done {
					return x, cost
				}
				break
			}
			if damp *= 4; damp > 1e9 {
				return x, cost
			}
		}
	}
	return x, cost
}

// fit finds the best path of a prior over many starts.
func (p prior) fit(arms []publishedArm) ([]float64, float64) {
	r := rand.New(rand.NewPCG(1, 1))
	f := func(x []float64) []float64 { return p.misses(arms, x) }
	best, cost := leastSquares(f, p.numbers(), fitSteps)
	for range fitTries {
		x := p.numbers()
		for i := range x {
			x[i] += 0.75 * pointSD * r.NormFloat64()
		}
		if y, c := leastSquares(f, x, fitSteps); c < cost {
			best, cost = y, c
		}
	}
	return best, cost
}

// hipArmsOf gives the published hip arms of each muscle.
func hipArmsOf() map[string][]publishedArm {
	arms := map[string][]publishedArm{}
	for _, a := range publishedArms() {
		if a.hipAxis() >= 0 {
			arms[a.muscle] = append(arms[a.muscle], a)
		}
	}
	arms["psoas_lumbar_part"] = arms["iliopsoas"]
	return arms
}

// publishedLength is one row of published-lengths.csv.
type publishedLength struct {
	muscle string
	q      Q
	length float64 // best lengths
}

//go:embed published-lengths.csv
var lengthsText string

func publishedLengths() []publishedLength {
	t := num.ReadTable("published-lengths", lengthsText)
	var out []publishedLength
	for i := range t.Len() {
		l := publishedLength{muscle: t.Text(i, "muscle"), length: t.Number(i, "length")}
		for c, column := range map[Coordinate]string{HipFlexion: "hip_flexion", KneeFlexion: "knee_flexion", AnkleDorsiflexion: "ankle_dorsiflexion"} {
			l.q[c] = t.Number(i, column) * math.Pi / 180
		}
		out = append(out, l)
	}
	return out
}

// fitFibre finds the fibre length in upright standing from the published lengths.
func fitFibre(m Muscle, all []publishedLength) (fibre, rms float64) {
	f := func(x []float64) (out []float64) {
		m.fibre = x[0]
		for _, l := range all {
			if l.muscle == m.Name || m.Name == "psoas_lumbar_part" && l.muscle == "iliopsoas" {
				_, got := m.Arms(nil, &l.q, Right)
				out = append(out, got-l.length)
			}
		}
		return out
	}
	best, cost := []float64{1}, math.Inf(1)
	for _, start := range []float64{0.6, 0.8, 1, 1.2} {
		if x, c := leastSquares(f, []float64{start}, fitSteps); c < cost {
			best, cost = x, c
		}
	}
	return best[0], math.Sqrt(cost / float64(len(f(best))))
}

// Ensure that the shipped paths are the best fit to the published arms from the
// points from memory. With -update, fit and write them.
func TestFitPaths(t *testing.T) {
	arms, lengths := hipArmsOf(), publishedLengths()
	var table strings.Builder
	table.WriteString("muscle,joint,origin_x,origin_y,origin_z,insertion_x,insertion_y,insertion_z,wrap,hint_x,hint_y,hint_z,fibre,source\n" +
		"id,id,mm at 1.70 m from the joint centre,mm,mm,mm,mm,mm,mm,1,1,1,best lengths in upright standing,key\n")
	done := map[string]prior{}
	for _, p := range priors {
		done[p.muscle] = p
	}
	for _, m := range Muscles() {
		if m.optimal == 0 || m.upper {
			continue
		}
		copied, joint, x := *m, "none", make([]float64, 7)
		p, crosses := done[m.Name]
		if crosses {
			best, cost := p.fit(arms[m.Name])
			joint, x = "hip", best
			shipped := p.misses(arms[m.Name], m.fitted())
			if !*update && sumOfSquares(shipped) > 1.01*cost+0.1 {
				t.Errorf("%s: the shipped path costs %.2f, the best %.2f", m.Name, sumOfSquares(shipped), cost)
			}
			fresh := p.path(x)
			copied.hip = &fresh
			_, copied.upright = fresh.at(0, 0, 0)
		}
		fibre, rms := fitFibre(copied, lengths)
		if !*update && math.Abs(fibre-m.fibre) > 0.01 {
			t.Errorf("%s: fibre %.3f, the best %.3f", m.Name, m.fibre, fibre)
		}
		t.Logf("%-33s fibre length within %.3f rms", m.Name, rms)
		fmt.Fprintf(&table, "%s,%s,%.1f,%.1f,%.1f,%.1f,%.1f,%.1f,%.1f,%g,%g,%g,%.3f,muscle-paths-fit\n", m.Name, joint,
			x[0], x[1], x[2], x[3], x[4], x[5], x[6], p.hint[0], p.hint[1], p.hint[2], fibre)
	}
	if *update {
		if err := os.WriteFile("paths.csv", []byte(table.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// fitted gives a shipped path as the numbers of the fit.
func (m *Muscle) fitted() []float64 {
	if m.hip == nil {
		return make([]float64, 7)
	}
	o, i := m.hip.origin.times(1e3), m.hip.insertion.times(1e3)
	return []float64{o[0], o[1], o[2], i[0], i[1], i[2], m.hip.wrap * 1e3}
}
