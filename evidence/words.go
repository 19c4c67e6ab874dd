package evidence

import "math"

// leastTold is the least part of the spread a finding in words may tell: below it
// the numbers of its site are noise (1).
const leastTold = 1e-9

// site turns a finding in words into the number and error that move this part as
// far as the bounds do: mean and SD of the rating cut at its bounds
// (docs/model/06-evidence.md (11)).
func (p *part) site(m *Model, obs []Observation, i int) {
	o := &obs[i]
	own := p.noise(o)
	mean, v := p.expect(m, obs, o)
	v += own
	z, mz, vz := cut(o.Low, o.High, mean, math.Sqrt(v))
	told := max(1/vz-1/v, leastTold/v)
	extra := 1 / told
	y := mean + extra*(mz-mean)/vz
	p.y[i], p.r[i] = y, own+extra
	p.wordsLog += z + math.Log(2*math.Pi*(v+extra))/2 + (y-mean)*(y-mean)/(2*(v+extra)) - math.Log(2*math.Pi)/2
}

// expect is the mean of J delta for a coming finding, skill included, and its
// variance without own noise, from what is taken in so far and without slips.
func (p *part) expect(m *Model, obs []Observation, o *Observation) (mean, v float64) {
	n := len(obs)
	across := make([]float64, len(m.Groups))
	p.across(across, o.J)
	v = dot(across, o.J) + o.Skill*o.Skill
	for _, w := range p.h.Weak {
		mean += slabMean * float64(w.Side) * o.J[w.Group]
	}
	c := make([]float64, n)
	for k := range obs {
		c[k] = dot(across, obs[k].J) + shared(o, &obs[k])
	}
	for k := range c {
		mean += c[k] * p.alpha[k]
		v -= c[k] * dot(p.inv[k*n:(k+1)*n], c)
	}
	return mean, v
}

// cut gives the log of the chance that a normal value lies between two bounds, and
// mean and variance of those that do.
func cut(low, high, mean, sd float64) (logZ, m, v float64) {
	a, b := (low-mean)/sd, (high-mean)/sd
	if a+b < 0 { // to the side on which tails are small numbers
		logZ, m, v = cut(-high, -low, -mean, sd)
		return logZ, -m, v
	}
	z := (math.Erfc(a/math.Sqrt2) - math.Erfc(b/math.Sqrt2)) / 2
	da, db := density(a), density(b)
	mean1 := (da - db) / z
	second := 1.0
	if !math.IsInf(a, 0) {
		second += a * da / z
	}
	if !math.IsInf(b, 0) {
		second -= b * db / z
	}
	return math.Log(z), mean + sd*mean1, sd * sd * (second - mean1*mean1)
}

// density of the standard normal distribution.
func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// below is the chance of a standard normal value below x.
func below(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }
