package evidence

import (
	"cmp"
	"math"
	"slices"
)

// gaussian infers with one Gaussian prior in place of none, one and two weak groups:
// the same variance of every group. It is what the recommended model is held
// against, and is not used for clients.
func (m *Model) gaussian(c Complaint, obs []Observation) *Belief {
	one := &Model{Set: m.Set, Groups: m.Groups, Drills: m.Drills, Hypotheses: []Hypothesis{{prior: 1}}}
	weak := (ChanceOne + 2*ChanceTwo) / float64(len(m.Groups))
	tau := math.Sqrt(backgroundSD[1]*backgroundSD[1] + weak*(slabMean*slabMean+slabSD*slabSD))
	p := part{h: &one.Hypotheses[0], tau: tau}
	p.take(one, obs)
	p.logW = 0
	return &Belief{Model: one, Observed: obs, Complaint: c, parts: []part{p}}
}

// bySize lists groups and sides by how large the difference is taken to be.
func (b *Belief) bySize() []Weak {
	all := b.Groups()
	slices.SortStableFunc(all, func(x, y GroupBelief) int { return cmp.Compare(math.Abs(y.Mean), math.Abs(x.Mean)) })
	var out []Weak
	for _, g := range all {
		s := Left
		if g.Mean < 0 {
			s = Right
		}
		out = append(out, Weak{g.Group, s})
	}
	for _, w := range slices.Clone(out) {
		out = append(out, Weak{w.Group, -w.Side})
	}
	return out
}

// entropy is how many bits a coming test takes off the entropy of delta.
func (b *Belief) entropy(o *Observation) float64 {
	p := &b.parts[0]
	_, v := p.expect(b.Model, b.Observed, o)
	return math.Log2(1+v/p.noise(o)) / 2
}
