package effort

import "math"

// curve is the capacity of one exercise during one set,
//
//	C(t) = 1 - A(t) - B(t)          docs/model/03-session.md (5)
//
// where A and B, the weighted fast and slow fatigue, run exponentially from fast
// and slow towards fastLimit and slowLimit with the time constants tf and ts, in
// seconds. Because Σ w q = 1 the pools need not be known one by one.
type curve struct {
	inflow               float64 // u, 1/s
	fast, slow           float64
	fastLimit, slowLimit float64
	tf, ts               float64
}

// start returns C(0).
func (c *curve) start() float64 { return 1 - c.fast - c.slow }

// at returns C(t) and its slope, 1/s.
func (c *curve) at(t float64) (value, slope float64) {
	ef, es := math.Expm1(-t/c.tf), math.Expm1(-t/c.ts)
	a, b := c.fastLimit-c.fast, c.slowLimit-c.slow
	return c.start() + a*ef + b*es, -a/c.tf*(1+ef) - b/c.ts*(1+es)
}

// timeTol is how exactly a time to failure is solved, in seconds: far below one
// part in a million of a repetition.
const timeTol = 1e-11

// maxSteps bounds the solver; Newton needs 3 to 6 steps, bisection at most 60.
const maxSteps = 100

// timeTo returns the first time, in seconds, at which capacity is down to p,
// which must not be above C(0). It reports false if that is not reached up to
// last.
func (c *curve) timeTo(p, last float64) (float64, bool) {
	lo, hi := c.bracket(last)
	if end, _ := c.at(hi); end > p {
		return 0, false
	}
	t := lo
	for range maxSteps {
		value, slope := c.at(t)
		if value >= p {
			lo = t
		} else {
			hi = t
		}
		next := t - (value-p)/slope
		if !(next >= lo && next <= hi) {
			next = lo + (hi-lo)/2
		}
		if math.Abs(next-t) <= timeTol*(1+t) {
			return next, true
		}
		t = next
	}
	return t, true
}

// bracket returns the part of 0..last on which capacity falls. A sum of two
// exponentials turns at most once, so there is one such part.
func (c *curve) bracket(last float64) (lo, hi float64) {
	a, b := (c.fastLimit-c.fast)/c.tf, (c.slowLimit-c.slow)/c.ts
	if a >= 0 && b >= 0 {
		return 0, last // the usual case: falls all the way
	}
	turn := math.Log(-a/b) / (1/c.tf - 1/c.ts)
	turns := turn > 0 && turn < last // false for NaN and where nothing turns
	falling := a+b > 0
	switch {
	case falling && turns:
		return 0, turn
	case !falling && turns:
		return turn, last
	case falling:
		return 0, last
	}
	return 0, 0
}
