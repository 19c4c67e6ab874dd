package evidence

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"corbel/client"
)

// draw makes findings of a simulated client.
func draw(m *Model, r *rand.Rand, tests int) []Observation {
	c := newClient(m, r, []Weak{{r.IntN(len(m.Groups)), Left}}, []float64{0.2}, 0)
	var obs []Observation
	for range tests {
		obs = append(obs, c.test(r.IntN(len(m.Drills)), 2))
	}
	if m.Set == "lower" {
		obs = append(obs, c.video(KneeLine), c.rate("step-up"))
	}
	return obs
}

// kalman takes findings in one after the other, with skill errors of drills in the
// state, and returns mean, covariance and log likelihood of one part.
func kalman(m *Model, p *part, obs []Observation) (mean []float64, cov *mat.SymDense, logLike float64) {
	g := len(m.Groups)
	drills := map[string]int{}
	for _, o := range obs {
		if _, ok := drills[o.Drill]; !ok && o.Drill != "" && o.Skill > 0 {
			drills[o.Drill] = g + len(drills)
		}
	}
	n := g + len(drills)
	x, c := mat.NewVecDense(n, nil), mat.NewDense(n, n, nil)
	for i := range g {
		x.SetVec(i, slabMean*float64(p.h.side(i)))
		for k := range g {
			c.Set(i, k, p.tau*p.tau*limbShare)
		}
		c.Set(i, i, p.tau*p.tau)
		if p.h.side(i) != 0 {
			c.Set(i, i, p.tau*p.tau+slabSD*slabSD)
		}
	}
	for i := g; i < n; i++ {
		c.Set(i, i, skillSD*skillSD)
	}
	for _, o := range obs {
		a := mat.NewVecDense(n, nil)
		for i, j := range o.J {
			a.SetVec(i, j)
		}
		if k, ok := drills[o.Drill]; ok && o.Skill > 0 {
			a.SetVec(k, 1)
		}
		var pa mat.VecDense
		pa.MulVec(c, a)
		s := mat.Dot(a, &pa) + p.noise(&o)
		nu := o.Y - mat.Dot(a, x)
		logLike -= (math.Log(s) + nu*nu/s) / 2
		x.AddScaledVec(x, nu/s, &pa)
		var outer mat.Dense
		outer.Outer(-1/s, &pa, &pa)
		c.Add(c, &outer)
	}
	cov = mat.NewSymDense(g, nil)
	for i := range g {
		mean = append(mean, x.AtVec(i))
		for k := range g {
			cov.SetSym(i, k, c.At(i, k))
		}
	}
	return mean, cov, logLike
}

// Ensure that all findings at once give the same as one after the other, by another
// route, to 1e-8.
func TestBatchIsSequential(t *testing.T) {
	for _, set := range Sets() {
		m := ModelOf(set)
		r := rand.New(rand.NewPCG(3, 4))
		obs := draw(m, r, 8)
		b := m.Infer(Complaint{}, obs)
		n := len(obs)
		for i := range b.parts {
			p := &b.parts[i]
			mean, cov, _ := kalman(m, p, obs)
			for g := range mean {
				x, v := p.mu(g), secondMoment(p.h, g, p.tau)-p.mu(g)*p.mu(g)
				for k := range n {
					x += p.cross[g*n+k] * p.alpha[k]
					v -= p.cross[g*n+k] * p.gain[g*n+k]
				}
				if math.Abs(x-mean[g]) > 1e-8 || math.Abs(v-cov.At(g, g)) > 1e-8 {
					t.Fatalf("%s part %d group %d: %.12g, %.12g; one after the other %.12g, %.12g", set, i, g, x, v, mean[g], cov.At(g, g))
				}
			}
		}
	}
}

// Ensure that the chances are those of the likelihoods by an independent route:
// every slip tried with its own, wider error.
func TestChancesByAnotherRoute(t *testing.T) {
	m := ModelOf("lower")
	obs := draw(m, rand.New(rand.NewPCG(5, 6)), 4)
	say := Complaint{Region: "hip", Side: Left}
	b := m.Infer(say, obs)
	want, sum := make([]float64, len(m.Hypotheses)), 0.0
	for i := range b.parts {
		p := &b.parts[i]
		for slip := -1; slip < len(obs); slip++ {
			varied := append([]Observation(nil), obs...)
			odds := 1.0
			if slip >= 0 {
				o := &varied[slip]
				odds = slipChance / (1 - slipChance)
				o.SD = slipFactor * math.Sqrt(p.noise(o))
				o.Use, o.JSD = 0, nil
			}
			_, _, l := kalman(m, p, varied)
			w := m.Hypotheses[p.at].prior * m.complaint(p.h, say) * odds * math.Exp(l)
			want[p.at] += w
			sum += w
		}
	}
	for i, got := range b.Chances() {
		if math.Abs(got-want[i]/sum) > 1e-8 {
			t.Errorf("hypothesis %d: %.10f, by another route %.10f", i, got, want[i]/sum)
		}
	}
}

// Ensure that the order of findings does not matter, and that what is the same for
// mirrored findings is mirrored.
func TestOrderAndMirror(t *testing.T) {
	m := ModelOf("lower")
	obs := draw(m, rand.New(rand.NewPCG(7, 8)), 6)
	got := m.Infer(Complaint{Side: Left}, obs).Groups()
	turned, mirrored := []Observation{}, []Observation{}
	for i := range obs {
		turned = append(turned, obs[len(obs)-1-i])
		o := obs[i]
		o.Y = -o.Y
		mirrored = append(mirrored, o)
	}
	back, other := m.Infer(Complaint{Side: Left}, turned).Groups(), m.Infer(Complaint{Side: Right}, mirrored).Groups()
	for g := range got {
		if math.Abs(got[g].WeakLeft-back[g].WeakLeft) > 1e-9 || math.Abs(got[g].Low-back[g].Low) > 1e-6 {
			t.Errorf("group %d changes with the order", g)
		}
		if math.Abs(got[g].WeakLeft-other[g].WeakRight) > 1e-9 || math.Abs(got[g].Mean+other[g].Mean) > 1e-9 || math.Abs(got[g].Low+other[g].High) > 1e-6 {
			t.Errorf("group %d is not mirrored", g)
		}
	}
}

// Ensure that the chances sum to 1, and are the prior where nothing was found.
func TestPriorComesBack(t *testing.T) {
	for _, set := range Sets() {
		m := ModelOf(set)
		sum := 0.0
		for i, c := range m.Infer(Complaint{}, nil).Chances() {
			sum += c
			if math.Abs(c-m.Hypotheses[i].prior) > 1e-12 {
				t.Errorf("%s hypothesis %d: %g, prior %g", set, i, c, m.Hypotheses[i].prior)
			}
		}
		if math.Abs(sum-1) > 1e-12 || len(m.Hypotheses) != 163 {
			t.Errorf("%s: %d hypotheses sum to %g", set, len(m.Hypotheses), sum)
		}
	}
}

// sampled draws clients from the prior, weighs each by the likelihood of the
// findings, and returns the chance of each group and side being weak with its
// standard error.
func sampled(m *Model, obs []Observation, n int) (p, se [][2]float64) {
	r := rand.New(rand.NewPCG(9, 10))
	sum, sq := 0.0, 0.0
	p, se = make([][2]float64, len(m.Groups)), make([][2]float64, len(m.Groups))
	delta := make([]float64, len(m.Groups))
	for range n {
		x := r.Float64()
		h := &m.Hypotheses[0]
		for i := range m.Hypotheses {
			if h = &m.Hypotheses[i]; x < h.prior {
				break
			}
			x -= h.prior
		}
		q := part{h: h, tau: backgroundSD[r.IntN(3)], second: make([]float64, len(m.Groups))}
		limb := r.NormFloat64()
		for g := range delta {
			delta[g] = q.tau * (math.Sqrt(limbShare)*limb + math.Sqrt(1-limbShare)*r.NormFloat64())
			if s := h.side(g); s != 0 {
				delta[g] += float64(s)*slabMean + slabSD*r.NormFloat64()
			}
			q.second[g] = secondMoment(h, g, q.tau)
		}
		skill := map[string]float64{}
		w, with := 1.0, 0.0
		for i := range obs {
			o := &obs[i]
			if _, ok := skill[o.Drill]; !ok {
				skill[o.Drill] = r.NormFloat64()
			}
			mean := dot(o.J, delta) + o.Skill*skill[o.Drill]
			like := func(factor float64) float64 {
				sd := factor * math.Sqrt(q.noise(o))
				if o.Bounded {
					return below((o.High-mean)/sd) - below((o.Low-mean)/sd)
				}
				return density((o.Y-mean)/sd) / sd
			}
			one := like(1)
			with = with*one + w*like(slipFactor)*slipChance/(1-slipChance)
			w *= one
		}
		w += with
		sum += w
		sq += w * w
		for _, x := range h.Weak {
			s := 0
			if x.Side == Left {
				s = 1
			}
			p[x.Group][s] += w
		}
	}
	effective := sum * sum / sq
	for g := range p {
		for s := range 2 {
			p[g][s] /= sum
			se[g][s] = math.Sqrt(p[g][s]*(1-p[g][s])/effective) + 1e-5
		}
	}
	return p, se
}

// Ensure that enumeration agrees with long sampling, for numbers and for words.
func TestEnumerationAgainstSampling(t *testing.T) {
	m := ModelOf("lower")
	side, rot := m.Drill("side-lying-hip-abduction"), m.Drill("seated-hip-external-rotation")
	for name, obs := range map[string][]Observation{
		"numbers": {side.OfRepetitions(9, 14, 0.033, 2), rot.OfRepetitions(12, 13, 0.033, 1), side.OfRepetitions(10, 13, 0.033, 1)},
		"words":   {side.OfWords(client.NotMatch, Left), rot.OfWords(client.Same, 0), side.OfWords(client.Clearly, Left)},
		"both":    {side.OfWords(client.ALittle, Right), side.OfReserve(1, 5, 12, 0.033)},
	} {
		n := 300_000
		want, se := sampled(m, obs, n)
		for g, got := range m.Infer(Complaint{}, obs).weakness() {
			for s := range 2 {
				// words are taken in as the normal value of the same mean and SD
				if math.Abs(got[s]-want[g][s]) > 4*se[g][s]+0.004 {
					t.Errorf("%s: %s side %d: %.4f, sampled %.4f (SE %.4f)", name, m.Groups[g].ID, s, got[s], want[g][s], se[g][s])
				}
			}
		}
	}
}

// Ensure that information is never negative and that more sets never tell less.
func TestInformationLaws(t *testing.T) {
	m := ModelOf("lower")
	r := rand.New(rand.NewPCG(11, 12))
	for range 6 {
		b := m.Infer(Complaint{}, draw(m, r, r.IntN(5)))
		for i := range m.Drills {
			d := &m.Drills[i]
			last := 0.0
			for _, sets := range []int{1, 2, 4} {
				o := d.Coming(0.033, sets)
				for _, scope := range []Scope{Wider, Settle} {
					x := b.Information(&o, scope)
					if x < 0 || x > math.Log2(float64(len(m.Hypotheses))) {
						t.Errorf("%s: %g bits", d.Exercise, x)
					}
					if scope == Wider {
						if x < last-1e-6 {
							t.Errorf("%s: %d sets tell %g bits, fewer %g", d.Exercise, sets, x, last)
						}
						last = x
					}
				}
			}
		}
	}
}

// Ensure that the sum over a grid is the information by an independent, finer sum.
func TestInformationByAnotherRoute(t *testing.T) {
	m := ModelOf("lower")
	b := m.Infer(Complaint{}, draw(m, rand.New(rand.NewPCG(13, 14)), 3))
	for i := range m.Drills {
		o := m.Drills[i].Coming(0.033, 2)
		all := b.Predict(&o)
		want, step := 0.0, 1e-4
		for y := -1.5; y < 1.5; y += step {
			f := 0.0
			for _, p := range all {
				f += p.W * density((y-p.Mean)/p.SD) / p.SD
			}
			if f > 0 {
				want -= step * f * math.Log2(f)
			}
		}
		for _, p := range all {
			want -= p.W * math.Log2(p.SD*math.Sqrt(2*math.Pi*math.E))
		}
		if got := b.Information(&o, Wider); math.Abs(got-want) > 0.01 {
			t.Errorf("%s: %.4f bits, by a finer sum %.4f", m.Drills[i].Exercise, got, want)
		}
	}
}

// entropyOf is the entropy of the hypotheses, bits.
func entropyOf(b *Belief) float64 {
	h := 0.0
	for _, c := range b.Chances() {
		if c > 0 {
			h -= c * math.Log2(c)
		}
	}
	return h
}

// after is the entropy that is left on average once a test is done, and then others.
func after(b *Belief, tests []Observation) float64 {
	if len(tests) == 0 {
		return entropyOf(b)
	}
	all := b.Predict(&tests[0])
	sum, left := 0.0, 0.0
	for y := -0.6; y <= 0.6; y += 0.06 {
		f := 0.0
		for _, p := range all {
			f += p.W * density((y-p.Mean)/p.SD) / p.SD
		}
		o := tests[0]
		o.Y = y
		left += f * after(b.Model.Infer(b.Complaint, append(append([]Observation(nil), b.Observed...), o)), tests[1:])
		sum += f
	}
	return left / sum
}

// Ensure that the information of a test is the entropy it takes off on average, and
// that two tests never tell less than one.
func TestMoreTestsNeverTellLess(t *testing.T) {
	m := ModelOf("lower")
	b := m.Infer(Complaint{}, draw(m, rand.New(rand.NewPCG(15, 16)), 2))
	start := entropyOf(b)
	one := m.Drill("side-lying-hip-abduction").Coming(0.033, 2)
	two := m.Drill("seated-hip-external-rotation").Coming(0.033, 2)
	first, both := after(b, []Observation{one}), after(b, []Observation{one, two})
	// 0.04 bits: a coming test is not expected to be a slip, and its noise is taken
	// on average
	if got := b.Information(&one, Wider); math.Abs(start-first-got) > 0.04 {
		t.Errorf("information %.3f bits, entropy falls by %.3f", got, start-first)
	}
	if both > first || first > start {
		t.Errorf("entropy %.3f, after one test %.3f, after two %.3f", start, first, both)
	}
}
