package body

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/optimize"
)

// drawn returns a program like that of a loaded posture: 40 rows of moments and
// 104 muscles that each act on one to six neighbouring rows, some free forces,
// and, where asked, soft rows. Needs are what muscles at about a third of their
// strength would give.
func drawn(r *rand.Rand, soft bool) *Program {
	const rows, muscles, forces = 40, 104, 12
	p := NewProgram()
	for range rows {
		p.AddRow(0, 0, RowGive)
	}
	for range muscles {
		from, n := r.IntN(rows), 1+r.IntN(6)
		var entries []Entry
		for j := from; j < min(from+n, rows); j++ {
			entries = append(entries, Entry{j, 60 * r.NormFloat64()})
		}
		p.AddMuscle(1, entries...)
	}
	for range forces {
		var entries []Entry
		for j := range rows {
			if r.IntN(3) == 0 {
				entries = append(entries, Entry{j, 200 * r.NormFloat64()})
			}
		}
		p.AddForce(8+30*r.Float64(), -0.3*r.Float64(), 0.3*r.Float64(), entries...)
	}
	for i := range muscles {
		p.addTo(p.need, i, 0.7*r.Float64())
		p.addTo(p.spread, i, 0.4*r.Float64())
	}
	if soft {
		for k := range 12 {
			p.Tie(2*k, 2*k+1, 0.3+r.Float64(), PairGive)
		}
	}
	return p
}

// dual is the dual cost of load sharing for an outside minimiser. It shares with
// the solver only the answer of a column to its pull.
type dualProblem struct {
	p           *Program
	load, bound float64
}

func (d dualProblem) cost(l []float64) float64 {
	v := 0.0
	for i := range d.p.cost {
		_, _, conjugate := d.p.response(i, d.p.dot(i, l), d.bound)
		v += conjugate
	}
	for j, e := range d.p.give {
		v += e*l[j]*l[j]/2 - l[j]*(d.p.need[j]+d.load*d.p.spread[j])
	}
	return v
}

func (d dualProblem) gradient(g, l []float64) {
	for j, e := range d.p.give {
		g[j] = e*l[j] - d.p.need[j] - d.load*d.p.spread[j]
	}
	for i := range d.p.cost {
		x, _, _ := d.p.response(i, d.p.dot(i, l), d.bound)
		d.p.addTo(g, i, x)
	}
}

// from is the cost at l less that at base, by integrating the columns' answers
// (Gauss-Legendre, three points): near base it keeps the digits that a difference
// of two costs would lose.
func (d dualProblem) from(base, l []float64) float64 {
	nodes, weights := [3]float64{-math.Sqrt(0.6), 0, math.Sqrt(0.6)}, [3]float64{5. / 18, 8. / 18, 5. / 18}
	v := 0.0
	for i := range d.p.cost {
		from, to := d.p.dot(i, base), d.p.dot(i, l)
		for k, x := range nodes {
			size, _, _ := d.p.response(i, from+(to-from)*(1+x)/2, d.bound)
			v += weights[k] * (to - from) * size
		}
	}
	for j, e := range d.p.give {
		v += (l[j] - base[j]) * (e*(l[j]+base[j])/2 - d.p.need[j] - d.load*d.p.spread[j])
	}
	return v
}

// bfgs minimises by gonum's BFGS to a gradient of 1e-9, or until its line search
// finds no further descent in doubles.
func (d dualProblem) bfgs(t testing.TB, cost func([]float64) float64, start []float64) []float64 {
	problem := optimize.Problem{Func: cost, Grad: d.gradient}
	settings := &optimize.Settings{GradientThreshold: 1e-9, Converger: optimize.NeverTerminate{}, MajorIterations: 20000}
	res, err := optimize.Minimize(problem, start, settings, &optimize.BFGS{})
	if res == nil {
		t.Fatal(err)
	}
	return res.X
}

// oracle minimises from price 0, then thrice more from there with the digits that
// the first minimum lost, and returns sizes and slacks.
func oracle(t testing.TB, p *Program, load, bound float64) (size, slack []float64) {
	d := dualProblem{p, load, bound}
	l := d.bfgs(t, d.cost, make([]float64, p.Rows()))
	for range 3 {
		base := slices.Clone(l)
		l = d.bfgs(t, func(l []float64) float64 { return d.from(base, l) }, base)
	}
	for i := range p.cost {
		x, _, _ := p.response(i, p.dot(i, l), bound)
		size = append(size, x)
	}
	for j, e := range p.give {
		slack = append(slack, e*l[j])
	}
	return size, slack
}

// Ensure that load sharing finds what an independent minimiser of the same dual
// finds, bounded and unbounded, with and without soft rows.
func TestShareAgainstBFGS(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	var s Sharer
	for k := range 12 {
		p := drawn(r, k%2 == 1)
		bound := math.Inf(1)
		if k%3 == 0 {
			bound = 1
		}
		got := s.Share(p, 0.5, bound)
		size, slack := oracle(t, p, 0.5, bound)
		for i, x := range size {
			if math.Abs(got.Activation[i]-x) > 1e-6 {
				t.Errorf("program %d, column %d: %.9f, BFGS %.9f", k, i, got.Activation[i], x)
			}
		}
		for j, x := range slack {
			if math.Abs(got.Slack[j]-x) > 1e-5*math.Max(1, math.Abs(x)) { // flat directions stop BFGS at 2e-6
				t.Errorf("program %d, row %d: slack %.9f, BFGS %.9f", k, j, got.Slack[j], x)
			}
		}
	}
}

// Ensure that the answer meets the conditions of its minimum: rows balance with
// their slack, and every column answers its pull.
func TestShareConditions(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	var s Sharer
	for range 50 {
		p := drawn(r, true)
		got := s.Share(p, 1, 1)
		left := make([]float64, p.Rows())
		for j := range left {
			left[j] = p.need[j] + p.spread[j] - got.Slack[j]
		}
		for i, a := range got.Activation {
			p.addTo(left, i, -a)
			if want, _, _ := p.response(i, p.dot(i, got.Price), 1); math.Abs(want-a) > 1e-9 {
				t.Fatalf("column %d: %g, its pull asks %g", i, a, want)
			}
			if p.kind[i] == muscleColumn && (a < 0 || a > 1) {
				t.Fatalf("column %d: activation %g", i, a)
			}
		}
		for j, v := range left {
			if math.Abs(v) > 1e-6 {
				t.Fatalf("row %d is %g out of balance", j, v)
			}
		}
	}
}

// Ensure the laws of load sharing: twice the moments and twice the strength give
// the same activations; two halves of a muscle work as the whole.
func TestShareLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 20 {
		p := drawn(r, false)
		var a, b Sharer
		before := a.Share(p, 0, math.Inf(1)).Activation
		halved := NewProgram()
		for j := range p.need {
			halved.AddRow(p.need[j], p.spread[j], p.give[j])
		}
		for i := range p.cost {
			var whole, half []Entry
			for k := p.start[i]; k < p.start[i+1]; k++ {
				whole = append(whole, Entry{p.row[k], p.value[k]})
				half = append(half, Entry{p.row[k], p.value[k] / 2})
			}
			if p.kind[i] == forceColumn {
				halved.AddForce(p.cost[i], p.low[i], p.top[i], whole...)
				continue
			}
			halved.AddMuscle(0.5, half...)
			halved.AddMuscle(0.5, half...)
		}
		after := b.Share(halved, 0, math.Inf(1)).Activation
		for i, k := 0, 0; i < len(before); i++ {
			if math.Abs(before[i]-after[k]) > 1e-7 {
				t.Fatalf("column %d: %g whole, %g in halves", i, before[i], after[k])
			}
			k++
			if p.kind[i] == muscleColumn {
				k++
			}
		}
	}
}

// Ensure that slack shows what gives way: a row nothing acts on keeps its need,
// and a load beyond strength leaves slack, however large.
func TestShareGivesWay(t *testing.T) {
	p := NewProgram()
	bare := p.AddRow(30, 0, RowGive)
	worked := p.AddRow(100, 100, RowGive)
	p.AddMuscle(1, Entry{worked, 150})
	var s Sharer
	got := s.Share(p, 0, 1)
	if math.Abs(got.Slack[bare]-30) > 1e-9 || got.Slack[worked] > 1 {
		t.Errorf("slack %v", got.Slack)
	}
	if row, slack := got.Missing(p); row != bare || math.Abs(slack-30) > 1e-9 {
		t.Errorf("row %d misses most, %g", row, slack)
	}
	got = s.Share(p, 4, 1)
	if math.Abs(got.Slack[worked]-350) > 1e-6 {
		t.Errorf("slack %g beyond strength, want 350", got.Slack[worked])
	}
}

// Ensure that memory kept between programs changes nothing.
func TestSharerReuse(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	var kept Sharer
	for k := range 20 {
		p := drawn(r, k%2 == 0)
		var fresh Sharer
		a, b := kept.Share(p, 1, 1), fresh.Share(p, 1, 1)
		for i := range a.Activation {
			if a.Activation[i] != b.Activation[i] {
				t.Fatalf("program %d: %g kept, %g fresh", k, a.Activation[i], b.Activation[i])
			}
		}
	}
}

// Budget: 0.7 ms for 104 muscles and 40 rows, no allocation.
func BenchmarkShare(b *testing.B) {
	p := drawn(rand.New(rand.NewPCG(1, 1)), false)
	var s Sharer
	s.Share(p, 0.5, math.Inf(1))
	b.ReportAllocs()
	for b.Loop() {
		s.Share(p, 0.5, math.Inf(1))
	}
	b.ReportMetric(float64(s.out.Steps), "steps")
}
