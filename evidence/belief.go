package evidence

import (
	"math"
)

// Chances of a slip: sides swapped, a miscount (our judgement, key judgement).
const (
	slipChance = 0.04
	slipFactor = 5. // times the SD of the finding
)

// A Belief is what findings say about the groups of a model. It is read-only.
type Belief struct {
	Model     *Model
	Observed  []Observation
	Complaint Complaint
	parts     []part
}

// A part is one hypothesis with one background, given the findings.
type part struct {
	h      *Hypothesis
	at     int // number of the hypothesis
	tau    float64
	second []float64 // by group, E[delta^2] before any finding
	// site is what a finding in words comes to for this part; y, r by finding.
	y, r     []float64
	inv      []float64 // n x n, inverse of the covariance of the findings
	alpha    []float64 // n, inv times (y - mean)
	cross    []float64 // groups x n, covariance of delta and the findings
	gain     []float64 // groups x n, cross times inv
	slips    []slip    // the first is none
	wordsLog float64   // what the words add to the log likelihood beside their sites
	logW     float64   // of all slips together
}

// A slip is that one finding was one, or none (finding -1).
type slip struct {
	finding int
	factor  float64 // d/(1 + d inv_ii), docs/model/06-evidence.md (12)
	w       float64 // of the part
}

// Infer takes all findings in at once, docs/model/06-evidence.md (8) to (13). The
// order of findings that are numbers does not matter.
func (m *Model) Infer(c Complaint, obs []Observation) *Belief {
	b := &Belief{Model: m, Observed: obs, Complaint: c}
	b.parts = make([]part, 0, len(m.Hypotheses)*len(backgroundSD))
	top := math.Inf(-1)
	for i := range m.Hypotheses {
		h := &m.Hypotheses[i]
		prior := h.prior * m.complaint(h, c) / float64(len(backgroundSD))
		for _, tau := range backgroundSD {
			p := part{h: h, at: i, tau: tau}
			p.take(m, obs)
			p.logW += math.Log(prior)
			top = max(top, p.logW)
			b.parts = append(b.parts, p)
		}
	}
	sum := 0.0
	for i := range b.parts {
		sum += math.Exp(b.parts[i].logW - top)
	}
	for i := range b.parts {
		b.parts[i].logW -= top + math.Log(sum)
	}
	return b
}

// w is the weight of a part.
func (p *part) w() float64 { return math.Exp(p.logW) }

// mu is the mean of delta of a group before any finding (2).
func (p *part) mu(g int) float64 { return slabMean * float64(p.h.side(g)) }

// across is the covariance of delta with J delta, all groups, into dst (3).
func (p *part) across(dst, j []float64) {
	sum := 0.0
	for _, x := range j {
		sum += x
	}
	t := p.tau * p.tau
	for g, x := range j {
		dst[g] = t * ((1-limbShare)*x + limbShare*sum)
	}
	for _, w := range p.h.Weak {
		dst[w.Group] += slabSD * slabSD * j[w.Group]
	}
}

// noise is the variance of a finding that no other shares (9).
func (p *part) noise(o *Observation) float64 {
	r := o.SD * o.SD
	if o.Use != 0 {
		r += o.Use * o.Use * p.signal(o.J)
	}
	for g, sd := range o.JSD {
		if sd != 0 {
			r += sd * sd * p.second[g]
		}
	}
	return r
}

// signal is E[(J delta)^2] before any finding.
func (p *part) signal(j []float64) float64 {
	mean, sum, v := 0.0, 0.0, 0.0
	t := p.tau * p.tau
	for _, x := range j {
		sum += x
		v += t * (1 - limbShare) * x * x
	}
	v += t * limbShare * sum * sum
	for _, w := range p.h.Weak {
		x := j[w.Group]
		mean += slabMean * float64(w.Side) * x
		v += slabSD * slabSD * x * x
	}
	return mean*mean + v
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, x := range a {
		s += x * b[i]
	}
	return s
}

// shared is the covariance that two findings share beside delta: the skill error
// of one drill.
func shared(o, q *Observation) float64 {
	if o.Drill != "" && o.Drill == q.Drill {
		return o.Skill * q.Skill
	}
	return 0
}

// take works the findings in: numbers first, then words one by one.
func (p *part) take(m *Model, obs []Observation) {
	n, groups := len(obs), len(m.Groups)
	p.second = make([]float64, groups)
	for g := range p.second {
		p.second[g] = secondMoment(p.h, g, p.tau)
	}
	p.y, p.r = make([]float64, n), make([]float64, n)
	p.cross = make([]float64, groups*n)
	col := make([]float64, groups)
	for i := range obs {
		p.across(col, obs[i].J)
		for g, x := range col {
			p.cross[g*n+i] = x
		}
	}
	open := math.Inf(1)
	words := false
	for i := range obs {
		p.y[i], p.r[i] = obs[i].Y, p.noise(&obs[i])
		if obs[i].Bounded {
			p.r[i], words = open, true // not taken in yet
		}
	}
	p.solve(m, obs)
	if words {
		for i := range obs {
			if obs[i].Bounded {
				p.site(m, obs, i)
				p.solve(m, obs)
			}
		}
	}
	p.slipsOf(obs)
	p.gain = make([]float64, groups*n)
	for g := range groups {
		for i := range n {
			s := 0.0
			for k := range n {
				s += p.cross[g*n+k] * p.inv[k*n+i]
			}
			p.gain[g*n+i] = s
		}
	}
}

// solve fills in inverse, alpha and the log likelihood of the findings that are
// taken in: those of finite r.
func (p *part) solve(m *Model, obs []Observation) {
	n := len(obs)
	s, nu := make([]float64, n*n), make([]float64, n)
	logLike := 0.0
	for i := range obs {
		if math.IsInf(p.r[i], 1) {
			s[i*n+i] = 1 // apart from all others, and of no weight
			continue
		}
		nu[i] = p.y[i]
		for _, w := range p.h.Weak {
			nu[i] -= slabMean * float64(w.Side) * obs[i].J[w.Group]
		}
		for k := 0; k <= i; k++ {
			if math.IsInf(p.r[k], 1) {
				continue
			}
			c := shared(&obs[i], &obs[k])
			for g, x := range obs[k].J {
				if x != 0 {
					c += x * p.cross[g*n+i]
				}
			}
			s[i*n+k], s[k*n+i] = c, c
		}
		s[i*n+i] += p.r[i]
	}
	inv, logDet := invert(s, n)
	p.inv = inv
	for i := range n {
		if math.IsInf(p.r[i], 1) {
			inv[i*n+i] = 0
		}
	}
	p.alpha = make([]float64, n)
	for i := range n {
		p.alpha[i] = dot(inv[i*n:(i+1)*n], nu)
		logLike -= nu[i] * p.alpha[i] / 2
	}
	p.logW = logLike - logDet/2 + p.wordsLog
}

// slipsOf weighs the slips: none, or one of the findings (12).
func (p *part) slipsOf(obs []Observation) {
	n := len(obs)
	odds := math.Log(slipChance / (1 - slipChance))
	logs := make([]float64, 1, n+1)
	p.slips = append(p.slips, slip{finding: -1})
	for i := range n {
		d := (slipFactor*slipFactor - 1) * p.noise(&obs[i])
		ii := p.inv[i*n+i]
		f := d / (1 + d*ii)
		logs = append(logs, odds-math.Log1p(d*ii)/2+f*p.alpha[i]*p.alpha[i]/2)
		p.slips = append(p.slips, slip{finding: i, factor: f})
	}
	top := 0.0
	for _, l := range logs {
		top = max(top, l)
	}
	sum := 0.0
	for i := range p.slips {
		p.slips[i].w = math.Exp(logs[i] - top)
		sum += p.slips[i].w
	}
	for i := range p.slips {
		p.slips[i].w /= sum
	}
	p.logW += top + math.Log(sum)
}

const badCovariance = "evidence: the covariance of findings is not positive"

// invert returns the inverse of a symmetric positive n x n matrix and the log of
// its determinant. It panics if the matrix is not positive: ours always is.
func invert(s []float64, n int) (inv []float64, logDet float64) {
	l := make([]float64, n*n)
	for i := range n {
		for j := 0; j <= i; j++ {
			x := s[i*n+j]
			for k := range j {
				x -= l[i*n+k] * l[j*n+k]
			}
			if i != j {
				l[i*n+j] = x / l[j*n+j]
				continue
			}
			if !(x > 0) {
				panic(badCovariance)
			}
			l[i*n+i] = math.Sqrt(x)
			logDet += math.Log(x)
		}
	}
	low := make([]float64, n*n) // inverse of l
	for i := range n {
		low[i*n+i] = 1 / l[i*n+i]
		for j := range i {
			x := 0.0
			for k := j; k < i; k++ {
				x -= l[i*n+k] * low[k*n+j]
			}
			low[i*n+j] = x / l[i*n+i]
		}
	}
	inv = make([]float64, n*n)
	for i := range n {
		for j := 0; j <= i; j++ {
			x := 0.0
			for k := i; k < n; k++ {
				x += low[k*n+i] * low[k*n+j]
			}
			inv[i*n+j], inv[j*n+i] = x, x
		}
	}
	return inv, logDet
}
