package evidence

import "math"

// A GroupBelief is what the findings say about one group: ln(right/left).
type GroupBelief struct {
	Group               int
	WeakRight, WeakLeft float64 // chance that this side is clearly weak
	OverRight, OverLeft float64 // chance that this side has over 10 % less
	Mean, SD            float64
	Low, High           float64 // 80 % interval
}

// Weak is the chance that a side is clearly weak.
func (g *GroupBelief) Weak(s Side) float64 {
	if s == Right {
		return g.WeakRight
	}
	return g.WeakLeft
}

// Over is the chance that a side has over 10 % less.
func (g *GroupBelief) Over(s Side) float64 {
	if s == Right {
		return g.OverRight
	}
	return g.OverLeft
}

// A normal is one Gaussian of a mixture.
type normal struct{ w, mean, sd float64 }

// leastWeight is the weight of a branch below which it is left out (1).
const leastWeight = 1e-5

// mixture of delta of a group over parts and slips.
func (b *Belief) mixture(g int) []normal {
	n := len(b.Observed)
	var out []normal
	for i := range b.parts {
		p := &b.parts[i]
		w := p.w()
		if w < leastWeight {
			continue
		}
		mean, v := p.mu(g), secondMoment(p.h, g, p.tau)-p.mu(g)*p.mu(g)
		gain := p.gain[g*n : (g+1)*n]
		for k, x := range p.cross[g*n : (g+1)*n] {
			mean += x * p.alpha[k]
			v -= x * gain[k]
		}
		for _, s := range p.slips {
			if w*s.w < leastWeight {
				continue
			}
			m, x := mean, v
			if s.finding >= 0 {
				m -= gain[s.finding] * s.factor * p.alpha[s.finding]
				x += s.factor * gain[s.finding] * gain[s.finding]
			}
			out = append(out, normal{w * s.w, m, math.Sqrt(max(x, 0))})
		}
	}
	return out
}

// Chances returns, for each hypothesis of the model, its chance.
func (b *Belief) Chances() []float64 {
	out := make([]float64, len(b.Model.Hypotheses))
	for i := range b.parts {
		out[b.parts[i].at] += b.parts[i].w()
	}
	return out
}

// None is the chance that no group is clearly weak.
func (b *Belief) None() float64 { return b.Chances()[0] }

// Groups tells what is known of every group, docs/model/06-evidence.md (14).
func (b *Belief) Groups() []GroupBelief {
	out := make([]GroupBelief, len(b.Model.Groups))
	for g := range out {
		out[g] = b.group(g)
	}
	for i, c := range b.Chances() {
		for _, w := range b.Model.Hypotheses[i].Weak {
			if w.Side == Right {
				out[w.Group].WeakRight += c
			} else {
				out[w.Group].WeakLeft += c
			}
		}
	}
	return out
}

// group is Groups for one group, without the chances of being clearly weak.
func (b *Belief) group(g int) GroupBelief {
	out := GroupBelief{Group: g}
	mix := b.mixture(g)
	sum := 0.0
	for _, x := range mix {
		sum += x.w
	}
	for i := range mix {
		mix[i].w /= sum
		x := mix[i]
		out.Mean += x.w * x.mean
		out.SD += x.w * (x.sd*x.sd + x.mean*x.mean)
		out.OverRight += x.w * below((-ClearlyOver-x.mean)/x.sd)
		out.OverLeft += x.w * below((x.mean-ClearlyOver)/x.sd)
	}
	out.SD = math.Sqrt(out.SD - out.Mean*out.Mean)
	out.Low, out.High = quantile(mix, 0.1), quantile(mix, 0.9)
	return out
}

// Bounds of delta that quantiles are looked for in (ln).
// halvings bring a quantile to 1e-7 (1).
const (
	leastDelta, mostDelta = -3, 3
	halvings              = 26
)

// quantile of a mixture, by halving.
func quantile(mix []normal, q float64) float64 {
	low, high := float64(leastDelta), float64(mostDelta)
	for range halvings {
		mid := (low + high) / 2
		sum := 0.0
		for _, x := range mix {
			sum += x.w * below((mid-x.mean)/x.sd)
		}
		if sum < q {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// Slips gives, for each finding, the chance that it was a slip.
func (b *Belief) Slips() []float64 {
	out := make([]float64, len(b.Observed))
	for i := range b.parts {
		for _, s := range b.parts[i].slips {
			if s.finding >= 0 {
				out[s.finding] += b.parts[i].w() * s.w
			}
		}
	}
	return out
}

// without is the belief with one finding left out; the complaint is number
// len(Observed).
func (b *Belief) without(i int) *Belief {
	if i == len(b.Observed) {
		return b.Model.Infer(Complaint{}, b.Observed)
	}
	rest := append(append([]Observation(nil), b.Observed[:i]...), b.Observed[i+1:]...)
	return b.Model.Infer(b.Complaint, rest)
}

// Contributions gives, for each finding and last for the complaint, how far the
// log odds that a group and side is clearly weak fall when it is left out
// (docs/model/06-evidence.md (15)): by group, right then left.
func (b *Belief) Contributions() [][][2]float64 {
	now := b.weakness()
	out := make([][][2]float64, len(b.Observed)+1)
	for i := range out {
		then := b.without(i).weakness()
		out[i] = make([][2]float64, len(now))
		for g := range now {
			for s := range 2 {
				out[i][g][s] = logit(now[g][s]) - logit(then[g][s])
			}
		}
	}
	return out
}

func logit(p float64) float64 { return math.Log(p) - math.Log1p(-p) }

// weakness gives the chances of being clearly weak by group, right then left.
func (b *Belief) weakness() [][2]float64 {
	out := make([][2]float64, len(b.Model.Groups))
	for i, c := range b.Chances() {
		for _, w := range b.Model.Hypotheses[i].Weak {
			s := 0
			if w.Side == Left {
				s = 1
			}
			out[w.Group][s] += c
		}
	}
	return out
}

// Bounds from which a finding counts as fitting no hypothesis (our judgement, key
// judgement).
const (
	slipUnexplained = 0.5  // chance of a slip
	tailUnexplained = 0.05 // chance of a value so far off, given all other findings
)

// Unexplained lists the findings that fit no hypothesis: more likely a slip than
// not, or so far from what all others expect that it happens in one of twenty
// (16).
func (b *Belief) Unexplained() []int {
	var out []int
	slips := b.Slips()
	for i := range b.Observed {
		o := &b.Observed[i]
		if slips[i] > slipUnexplained || !o.Bounded && b.without(i).tail(o) < tailUnexplained {
			out = append(out, i)
		}
	}
	return out
}

// tail is the chance of a value at least as far to its side as that of a finding,
// two-sided.
func (b *Belief) tail(o *Observation) float64 {
	under := 0.0
	for i := range b.parts {
		p := &b.parts[i]
		mean, v := p.expect(b.Model, b.Observed, o)
		under += p.w() * below((o.Y-mean)/math.Sqrt(v+p.noise(o)))
	}
	return 2 * min(under, 1-under)
}
