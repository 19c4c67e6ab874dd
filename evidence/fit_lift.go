package evidence

import (
	"math"
	"slices"

	"corbel/effort"
)

// A fitting is the log of one exercise with its parameters and the slopes at them.
type fitting struct {
	log       Logged
	flags     []Flag
	prior, sd [pOwn]float64
	x         [pOwn]float64
	days      [][]int // used sets of each day
	usual     float64
	weight    []float64 // 1/variance of each set, without the day
	day       []float64 // of each set: how far ln strength of its day moves it, by the prior

	res []float64       // y less prediction at x; unused sets 0
	jac [][pAll]float64 // slope of the prediction on each parameter
	sum [pAll * pAll]float64
	rhs [pAll]float64
	cov [pAll * pAll]float64

	missed int // sets outside the 80 % range expected before their day
}

func newFitting(l Logged) *fitting {
	f := &fitting{log: l, flags: usable(l.Sets, l.Prior.Max)}
	f.usual = f.usualReserve()
	f.start()
	f.prepare()
	return f
}

// start gives the prior means and SDs.
func (f *fitting) start() {
	p := f.log.Prior
	lnMax, maxSD, laterSD := math.Log(max(p.Max, 1)), p.MaxSD, sameMax
	if p.Max <= 0 {
		maxSD = fitMaxNone
		for i, s := range f.log.Sets {
			if f.flags[i] != FlagSlip {
				lnMax = math.Log(s.Load / effort.FreshLoad(max(s.Reps+s.RIR, 1), p.K))
				break
			}
		}
	}
	if f.log.Later {
		laterSD = fitMaxNone
	}
	f.prior, f.sd = [pOwn]float64{lnMax, math.Log(p.K), 0}, [pOwn]float64{maxSD, p.KSD, laterSD}
	f.x = f.prior
}

// sameMax is the SD of ln(later/earlier 1RM) where both periods have one 1RM.
const sameMax = 1e-9

// prepare works out what does not depend on the parameters.
func (f *fitting) prepare() {
	n := len(f.log.Sets)
	f.weight, f.day, f.days = make([]float64, n), make([]float64, n), nil
	f.res, f.jac = make([]float64, n), make([][pAll]float64, n)
	last := 0
	for i := range f.log.Sets {
		s := &f.log.Sets[i]
		f.weight[i] = weightAt(f.usual)
		if s.RIR < leastLeft {
			f.weight[i] = weightAt(0)
		}
		f.day[i] = effort.DaySD / (f.log.Prior.K * f.fraction(s, &f.prior))
		if f.flags[i] != FlagNone {
			continue
		}
		if len(f.days) == 0 || s.Day != last {
			f.days, last = append(f.days, nil), s.Day
		}
		f.days[len(f.days)-1] = append(f.days[len(f.days)-1], i)
	}
}

// weightAt is 1/variance of a set with a reserve, (25).
func weightAt(rir float64) float64 {
	sd := math.Hypot(fitRep, fitSaidBase+fitSaidSlope*max(rir, 0))
	return 1 / (sd * sd)
}

// usualReserve is what a client says on the mean in an exercise where any is left
// (repetitions).
func (f *fitting) usualReserve() float64 {
	sum, n := 0.0, 0.0
	for i, s := range f.log.Sets {
		if f.flags[i] == FlagNone && s.RIR >= leastLeft {
			sum, n = sum+s.RIR, n+1
		}
	}
	return sum / math.Max(n, 1)
}

// leastLeft is the reserve below which a set went to failure (repetitions).
const leastLeft = 0.5

// Bounds of a load, fraction of the 1RM, between which repetitions are predicted (1).
const leastFraction, mostFraction = 0.05, 1.5

// fraction is the load of a set, fraction of the 1RM.
func (f *fitting) fraction(s *LoggedSet, x *[pOwn]float64) float64 {
	one := x[pMax]
	if s.After {
		one += x[pLater]
	}
	return min(max(s.Load/math.Exp(one), leastFraction), mostFraction)
}

// predict writes the repetitions to failure of each set.
func (f *fitting) predict(x *[pOwn]float64, recovery float64, n []float64) {
	c := effort.DefaultConstants()
	r := math.Exp(recovery)
	c.FastRecovery *= r
	c.SlowRecovery *= r
	m := effort.NewModel(c)
	link, state := m.Link(0, nil), effort.NewState(1)
	k := math.Exp(x[pK])
	for i := range f.log.Sets {
		s := &f.log.Sets[i]
		if f.flags[i] == FlagSlip || f.flags[i] == FlagRepeated {
			n[i] = 0
			continue
		}
		if i > 0 && s.Day != f.log.Sets[i-1].Day {
			state.Reset()
		} else {
			m.Rest(state, s.Rest)
		}
		n[i] = m.Set(state, link, effort.Work{Load: f.fraction(s, x), K: k, Repetition: f.log.Rep, Goal: effort.Count(s.Reps)}).Repetitions
	}
}

// left is how many repetitions are left where a client with a bias says so many, chapter
// 02 (5).
func left(rir, bias float64) float64 { return rir + max(bias, leastBias)*min(1, rir/biasRamp) }

// said is the reserve a client with a bias says where so many remain, and its
// slopes on left and bias: chapter 02 (5) turned round, (24).
func said(remain, bias float64) (rir, onLeft, onBias float64) {
	bias = max(bias, leastBias)
	if rir = remain - bias; rir >= biasRamp {
		return rir, 1, -1
	}
	c := 1 / (1 + bias/biasRamp)
	return remain * c, c, -remain * c * c / biasRamp
}

// leastBias keeps a reserve that is said a rising one of what is left (repetitions).
const leastBias = -1.5

// residual turns predictions into the reserve said less the one expected, (24); unused
// sets 0.
func (f *fitting) residual(bias float64, n []float64) {
	for i := range f.log.Sets {
		s := &f.log.Sets[i]
		if f.flags[i] != FlagNone {
			n[i] = 0
			continue
		}
		rir, _, _ := said(n[i]-s.Reps, bias)
		n[i] = s.RIR - rir
	}
}

// cost is half the weighted squares of residuals and prior rows at the parameters.
func (f *fitting) cost(bias [pShared]float64) float64 {
	n := make([]float64, len(f.log.Sets))
	f.predict(&f.x, bias[pRecovery-pOwn], n)
	f.residual(bias[pBias-pOwn], n)
	c := 0.0
	for _, at := range f.days {
		sq, g, gg := 0.0, 0.0, 0.0
		for _, i := range at {
			w := f.weight[i]
			sq += w * n[i] * n[i]
			g += w * f.day[i] * n[i]
			gg += w * f.day[i] * f.day[i]
		}
		c += (sq - g*g/(1+gg)) / 2
	}
	for i, x := range f.x {
		z := (x - f.prior[i]) / f.sd[i]
		c += z * z / 2
	}
	return c
}

// derivativeStep is the step of central differences (ln).
const derivativeStep = 1e-4

// linearise works out residuals and slopes at the parameters and sums them up, the day
// error integrated out (26). What a reserve adds to the slopes is taken at the usual one
// of the exercise: that of a set scatters with its own error, and the bias of the client
// would come out too high by half a repetition.
func (f *fitting) linearise(bias [pShared]float64) {
	f.predict(&f.x, bias[pRecovery-pOwn], f.res)
	f.residual(bias[pBias-pOwn], f.res)
	_, onLeft, onBias := said(left(f.usual, bias[pBias-pOwn]), bias[pBias-pOwn])
	up, down := make([]float64, len(f.res)), make([]float64, len(f.res))
	for _, k := range []int{pMax, pK, pRecovery} {
		a, b, ra, rb := f.x, f.x, bias[pRecovery-pOwn], bias[pRecovery-pOwn]
		if k == pRecovery {
			ra, rb = ra+derivativeStep, rb-derivativeStep
		} else {
			a[k] += derivativeStep
			b[k] -= derivativeStep
		}
		f.predict(&a, ra, up)
		f.predict(&b, rb, down)
		for i := range f.jac {
			f.jac[i][k] = onLeft * (up[i] - down[i]) / (2 * derivativeStep)
		}
	}
	for i := range f.log.Sets {
		s, j := &f.log.Sets[i], &f.jac[i]
		j[pBias], j[pLater] = onBias, 0
		if s.After {
			j[pLater] = j[pMax] // a day is of one period
		}
	}
	f.sum, f.rhs = [pAll * pAll]float64{}, [pAll]float64{}
	for _, at := range f.days {
		f.add(at, &f.sum, &f.rhs)
	}
}

// add sums the slopes of one day up, by Sherman and Morrison.
func (f *fitting) add(at []int, sum *[pAll * pAll]float64, rhs *[pAll]float64) {
	var u [pAll]float64
	gr, gg := 0.0, 0.0
	for _, i := range at {
		w, g, j := f.weight[i], f.day[i], &f.jac[i]
		gr += w * g * f.res[i]
		gg += w * g * g
		for a := range pAll {
			u[a] += w * g * j[a]
			rhs[a] += w * j[a] * f.res[i]
			for b := range pAll {
				sum[a*pAll+b] += w * j[a] * j[b]
			}
		}
	}
	for a := range pAll {
		rhs[a] -= u[a] * gr / (1 + gg)
		for b := range pAll {
			sum[a*pAll+b] -= u[a] * u[b] / (1 + gg)
		}
	}
}

// block is the inverse of an exercise's own normal matrix, and its right side.
func (f *fitting) block(damp float64) (inv []float64, b [pOwn]float64) {
	var a [pOwn * pOwn]float64
	for i := range pOwn {
		for k := range pOwn {
			a[i*pOwn+k] = f.sum[i*pAll+k]
		}
		v := 1 / (f.sd[i] * f.sd[i])
		a[i*pOwn+i] = (a[i*pOwn+i] + v) * (1 + damp)
		b[i] = f.rhs[i] - (f.x[i]-f.prior[i])*v
	}
	inv, _ = invert(a[:], pOwn)
	return inv, b
}

// covariance fills in cov from that of what is shared.
func (f *fitting) covariance(s []float64) {
	a, _ := f.block(0)
	var g [pOwn * pShared]float64 // A^-1 B
	for i := range pOwn {
		for k := range pShared {
			for j := range pOwn {
				g[i*pShared+k] += a[i*pOwn+j] * f.sum[j*pAll+pOwn+k]
			}
		}
	}
	f.cov = [pAll * pAll]float64{}
	for i := range pOwn {
		for k := range pOwn {
			f.cov[i*pAll+k] = a[i*pOwn+k]
		}
	}
	for i := range pOwn {
		for k := range pShared {
			x := 0.0
			for j := range pShared {
				x -= g[i*pShared+j] * s[j*pShared+k]
			}
			f.cov[i*pAll+pOwn+k], f.cov[(pOwn+k)*pAll+i] = x, x
			for j := range pOwn {
				f.cov[i*pAll+j] -= x * g[j*pShared+k]
			}
		}
	}
	for i := range pShared {
		for k := range pShared {
			f.cov[(pOwn+i)*pAll+pOwn+k] = s[i*pShared+k]
		}
	}
}

// checked counts the sets outside the 80 % range that the sets of earlier days of the
// exercise let expect, by their slopes.
func (f *fitting) checked(bias [pShared]float64) {
	f.missed = 0
	var sum [pAll * pAll]float64
	var rhs [pAll]float64
	for i := range pAll {
		sd, x, mean := 0.0, 0.0, 0.0
		if i < pOwn {
			sd, x, mean = f.sd[i], f.x[i], f.prior[i]
		} else {
			sd, mean = priorShared[1][i-pOwn], priorShared[0][i-pOwn]
			x = bias[i-pOwn]
		}
		sum[i*pAll+i] = 1 / (sd * sd)
		rhs[i] = (mean - x) / (sd * sd)
	}
	for _, at := range f.days {
		inv, _ := invert(sum[:], pAll)
		var move [pAll]float64
		for i := range move {
			move[i] = dot(inv[i*pAll:(i+1)*pAll], rhs[:])
		}
		f.missed += f.misses(*(*[pAll * pAll]float64)(inv), move[:], at...)
		f.add(at, &sum, &rhs)
	}
}

// misses counts those of the sets (all used ones if none is named) that lie outside the
// 80 % range at parameters moved by move with covariance cov.
func (f *fitting) misses(cov [pAll * pAll]float64, move []float64, at ...int) int {
	if len(at) == 0 {
		at = slices.Concat(f.days...)
	}
	missed := 0
	for _, i := range at {
		j := f.jac[i][:]
		r, v := f.res[i], 1/f.weight[i]+f.day[i]*f.day[i]
		if move != nil {
			r -= dot(j, move)
		}
		for a := range pAll {
			v += j[a] * dot(cov[a*pAll:(a+1)*pAll], j)
		}
		if math.Abs(r) > prudent*math.Sqrt(v) {
			missed++
		}
	}
	return missed
}

// used is how many sets count.
func (f *fitting) used() int {
	n := 0
	for _, at := range f.days {
		n += len(at)
	}
	return n
}

// extended is the fitting of further sets of the exercise, alone.
func (f *fitting) extended(sets []LoggedSet) *fitting {
	next := *f
	flags := usable(slices.Concat(f.log.Sets, sets), f.log.Prior.Max)
	next.log.Sets, next.flags = sets, flags[len(f.log.Sets):]
	next.prepare()
	return &next
}

// moved takes over the sums of earlier sets as they are at other parameters, by their
// slopes.
func (f *fitting) moved(from *fitting, at, bias [pShared]float64) {
	f.sum, f.rhs = from.sum, from.rhs
	for i := range pAll {
		for k := range pOwn {
			f.rhs[i] -= from.sum[i*pAll+k] * (f.x[k] - from.x[k])
		}
		for k := range pShared {
			f.rhs[i] -= from.sum[i*pAll+pOwn+k] * (bias[k] - at[k])
		}
	}
}

// take adds the sums of further sets.
func (f *fitting) take(g *fitting) {
	for i := range f.sum {
		f.sum[i] += g.sum[i]
	}
	for i := range f.rhs {
		f.rhs[i] += g.rhs[i]
	}
}

// join keeps further sets whose sums were taken.
func (f *fitting) join(g *fitting) {
	first := len(f.log.Sets)
	for _, at := range g.days {
		day := make([]int, len(at))
		for i, n := range at {
			day[i] = first + n
		}
		f.days = append(slices.Clip(f.days), day)
	}
	f.log.Sets, f.flags = slices.Concat(f.log.Sets, g.log.Sets), slices.Concat(f.flags, g.flags)
	f.weight, f.day = slices.Concat(f.weight, g.weight), slices.Concat(f.day, g.day)
	f.res, f.jac = slices.Concat(f.res, g.res), slices.Concat(f.jac, g.jac)
}

// fit turns parameters into what is told of an exercise, with its state (27).
func (f *fitting) fit() Fit {
	at := func(i, k int) float64 { return f.cov[i*pAll+k] }
	out := Fit{Flags: f.flags, Sets: f.used(), Max: math.Exp(f.x[pMax]), MaxSD: math.Sqrt(at(pMax, pMax)), K: math.Exp(f.x[pK]), KSD: math.Sqrt(at(pK, pK))}
	out.Later, out.LaterSD = out.Max*math.Exp(f.x[pLater]), math.Sqrt(at(pLater, pLater))
	out.LastSD = math.Sqrt(at(pMax, pMax) + 2*at(pMax, pLater) + at(pLater, pLater))
	n := math.Max(float64(out.Sets), 1)
	out.Outside = float64(f.missed) / n
	sum, mean, sq := 0.0, 0.0, 0.0
	for _, day := range f.days {
		for _, i := range day {
			load := f.log.Sets[i].Load / out.Max
			mean, sq, sum = mean+load, sq+load*load, sum+f.res[i]*f.res[i]
		}
	}
	out.Residual = math.Sqrt(sum / n)
	out.SingleLoad = out.Sets > 0 && math.Sqrt(max(0, sq/n-mean*mean/(n*n))) < variedLoads
	switch {
	case out.Sets == 0:
		out.State = "typical"
	case out.Sets < settledSets || out.SingleLoad:
		out.State = "settling"
	default:
		out.State = "personal"
	}
	return out
}
