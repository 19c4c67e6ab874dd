package evidence

import (
	"math"
	"slices"
)

// Constants of fits (docs/model/06-evidence.md (24) to (27); key fatigue-constants, but
// for what is said to be our judgement).
const (
	fitRep       = 0.583 // repetitions, sqrt(0.5² + 0.3²): counting and day inside the set
	fitSaidBase  = 0.25  // repetitions
	fitSaidSlope = 0.25  // 1
	fitBias      = 0.8   // repetitions, prior of the RIR bias
	fitBiasSD    = 0.8
	fitRecovery  = 0.25 // SD of the ln recovery factor
	fitMaxTested = 0.03 // ln, prior of a 1RM the coach tested
	FitMaxLift   = 0.06 // ln, of one that follows from a lift on record (our judgement)
	fitMaxNone   = 0.30 // ln, without any (our judgement)
	biasRamp     = 2.0  // RIR from which the whole bias applies
	fitSteps     = 30
	fitEnough    = 1e-7
	settledSets  = 12   // varied sets after which a fit is personal
	variedLoads  = 0.06 // SD of the load, fraction of the 1RM, from which loads are varied (our judgement)
	slipFactorKg = 2.0  // times the typical load of an exercise, either way: a slip (our judgement)
	mostReps     = 200
	traitSets    = 24 // sets of a client from which the recovery is told as theirs
)

// A LoggedSet is one working set of an exercise as it was done.
type LoggedSet struct {
	Day   int     // day number; sets of one day are one session
	Load  float64 // kg, with the body mass that counts
	Reps  float64 // done
	RIR   float64 // left, as said
	Said  bool    // a reserve was said
	Rest  float64 // s before it; 0 at the first of a day
	After bool    // it belongs to the later period, for verdicts
}

// A Flag says why a logged set is not used in a fit. The set stays in the log.
type Flag string

// Flags.
const (
	FlagNone     Flag = ""
	FlagNoRIR    Flag = "no-reserve" // no reserve was said
	FlagSlip     Flag = "slip"       // a load far from all others, or no repetitions
	FlagRepeated Flag = "repeated"   // the same set stands twice; the later line counts
	FlagNoBlock  Flag = "no-block"   // the block of the entry was not given
	FlagNoSlot   Flag = "no-slot"    // the block has no such slot, and no exercise is named
)

// A Prior is what is known of an exercise before the log.
type Prior struct {
	Max, MaxSD float64 // 1RM, kg; SD of its ln. Max 0: nothing is known
	K, KSD     float64 // k of the curve; SD of its ln
}

// A Logged is the log of one exercise and side of a client.
type Logged struct {
	Sets  []LoggedSet // in the order they were done
	Prior Prior
	Rep   float64 // time of a repetition, s
	Later bool    // sets marked After may have another 1RM
}

// Traits are what all exercises of a client share.
type Traits struct {
	Bias, BiasSD         float64 // repetitions more in reserve than said
	Recovery, RecoverySD float64 // factor on both time constants of recovery; SD of its ln
	Sets                 int     // used, of all exercises
	Outside              float64 // part of them outside the 80 % range expected before their day
}

// A Fit is what a log says of one exercise of one client.
type Fit struct {
	Max, MaxSD float64 // 1RM, kg, with the body mass that counts; SD of ln
	Later      float64 // 1RM of the later period, kg; Max is then of the earlier
	LaterSD    float64 // SD of ln(Later/Max)
	LastSD     float64 // SD of ln Later
	K, KSD     float64
	Sets       int     // used
	Flags      []Flag  // of each set
	State      string  // typical, settling or personal
	Outside    float64 // part of the sets outside the 80 % range expected before their day
	Residual   float64 // SD of the residuals, repetitions
	SingleLoad bool    // loads are too alike to tell 1RM and k apart
}

// usable flags sets that no fit uses. best is the 1RM before the log, kg; 0 for none.
func usable(sets []LoggedSet, best float64) []Flag {
	var loads []float64
	for _, s := range sets {
		if s.Load > 0 && s.Reps > 0 {
			loads = append(loads, s.Load)
		}
	}
	slices.Sort(loads)
	flags := make([]Flag, len(sets))
	for i, s := range sets {
		switch {
		case s.Reps < 1 || s.Reps > mostReps || s.Load <= 0:
			flags[i] = FlagSlip
		case s.Load > slipFactorKg*loads[len(loads)/2] || s.Load*slipFactorKg < loads[len(loads)/2]:
			flags[i] = FlagSlip
		case best > 0 && s.Load > slipFactorKg*best:
			flags[i] = FlagSlip
		case !s.Said:
			flags[i] = FlagNoRIR
		}
	}
	return flags
}

// A History is what the logs of one client say of all exercises: a 1RM and a curve for
// each, one reserve bias and one recovery for the client
// (docs/model/06-evidence.md (24) to (27)). A later session moves it by Add.
type History struct {
	lifts []*fitting
	bias  [pShared]float64 // reserve bias and ln recovery
	cov   [pShared * pShared]float64
}

// Parameters of an exercise: ln 1RM, ln k, ln(later/earlier 1RM); those that all
// exercises share follow.
const (
	pMax = iota
	pK
	pLater
	pOwn
	pBias     = pOwn
	pRecovery = pOwn + 1
	pAll      = pOwn + 2
	pShared   = pAll - pOwn
)

// priorShared are mean and SD of what exercises share.
var priorShared = [2][pShared]float64{{fitBias, 0}, {fitBiasSD, fitRecovery}}

// Refit fits one exercise for itself: RefitAll of it alone.
func Refit(sets []LoggedSet, prior Prior, rep float64, later bool) Fit {
	return RefitAll([]Logged{{sets, prior, rep, later}}).Fit(0)
}

// RefitAll fits a client's 1RMs, curves, recovery and reserve bias to all logged sets,
// with the prior rows, by damped least squares; the day error is integrated out.
func RefitAll(lifts []Logged) *History {
	h := &History{bias: priorShared[0]}
	for _, l := range lifts {
		h.lifts = append(h.lifts, newFitting(l))
	}
	h.linearise()
	h.descend()
	h.settle()
	h.covariances()
	for _, l := range h.lifts {
		l.checked(h.bias)
	}
	return h
}

// descend takes damped steps until the cost stays.
func (h *History) descend() {
	cost, damp := h.cost(), firstDamp
	for range fitSteps {
		tried := h.step(damp)
		c := tried.cost()
		if !(c < cost) {
			if damp *= 10; damp > mostDamp {
				return
			}
			continue
		}
		done := cost-c < fitEnough
		tried.linearise()
		h.bias, h.lifts, cost, damp = tried.bias, tried.lifts, c, damp/10
		if done {
			return
		}
	}
}

// settle goes on to where the sums of slopes and residuals are 0, which is near the least
// cost: slopes are not quite those of the cost (linearise).
func (h *History) settle() {
	cost := h.cost()
	for range settleSteps {
		next := h.step(0)
		c := next.cost()
		if !(c < cost+settleCost) {
			return
		}
		next.linearise()
		h.bias, h.lifts = next.bias, next.lifts
	}
}

// settleSteps are the steps of settle; settleCost is how far the cost may rise (1).
const settleSteps, settleCost = 3, 0.5

// Bounds of the damping (1).
const firstDamp, mostDamp = 1e-3, 1e6

// linearise sums up the slopes of all sets at the parameters there are.
func (h *History) linearise() {
	for _, l := range h.lifts {
		l.linearise(h.bias)
	}
}

// cost is half the weighted squares of residuals and prior rows.
func (h *History) cost() float64 {
	c := 0.0
	for i, x := range h.bias {
		z := (x - priorShared[0][i]) / priorShared[1][i]
		c += z * z / 2
	}
	for _, l := range h.lifts {
		c += l.cost(h.bias)
	}
	return c
}

// step is the history one damped step further: exercises are eliminated one by one, what
// they share is solved for, and each follows. It is not linearised.
func (h *History) step(damp float64) *History {
	s, rhs := h.eliminated(damp)
	inv, _ := invert(s[:], pShared)
	next := &History{bias: h.bias, lifts: make([]*fitting, len(h.lifts))}
	var move [pShared]float64
	for i := range move {
		move[i] = dot(inv[i*pShared:(i+1)*pShared], rhs[:])
		next.bias[i] += move[i]
	}
	for n, l := range h.lifts {
		moved := *l
		a, b := l.block(damp)
		for i := range pOwn {
			for k := range pOwn {
				right := b[k]
				for j := range pShared {
					right -= l.sum[k*pAll+pOwn+j] * move[j]
				}
				moved.x[i] += a[i*pOwn+k] * right
			}
		}
		next.lifts[n] = &moved
	}
	return next
}

// eliminated is the normal matrix of what is shared, and its right side, once the
// exercises are eliminated.
func (h *History) eliminated(damp float64) (s [pShared * pShared]float64, rhs [pShared]float64) {
	for i := range pShared {
		v := 1 / (priorShared[1][i] * priorShared[1][i])
		s[i*pShared+i] = v
		rhs[i] = -(h.bias[i] - priorShared[0][i]) * v
	}
	for _, l := range h.lifts {
		for i := range pShared {
			rhs[i] += l.rhs[pOwn+i]
			for k := range pShared {
				s[i*pShared+k] += l.sum[(pOwn+i)*pAll+pOwn+k]
			}
		}
	}
	for i := range pShared {
		s[i*pShared+i] *= 1 + damp
	}
	for _, l := range h.lifts {
		a, b := l.block(damp)
		for i := range pShared {
			for j := range pOwn {
				g := 0.0 // row i of B' A^-1
				for k := range pOwn {
					g += l.sum[(pOwn+i)*pAll+k] * a[k*pOwn+j]
				}
				rhs[i] -= g * b[j]
				for k := range pShared {
					s[i*pShared+k] -= g * l.sum[j*pAll+pOwn+k]
				}
			}
		}
	}
	s[pShared] = s[1] // exactly symmetric
	return s, rhs
}

// covariances fills in what is uncertain about each exercise and about what is shared.
func (h *History) covariances() {
	s, _ := h.eliminated(0)
	inv, _ := invert(s[:], pShared)
	copy(h.cov[:], inv)
	for _, l := range h.lifts {
		l.covariance(inv)
	}
}

// Fit is what the logs say of an exercise.
func (h *History) Fit(lift int) Fit { return h.lifts[lift].fit() }

// Traits are what the logs say of the client.
func (h *History) Traits() Traits {
	t := Traits{Bias: h.bias[0], BiasSD: math.Sqrt(h.cov[0]), Recovery: math.Exp(h.bias[1]), RecoverySD: math.Sqrt(h.cov[pShared+1])}
	for _, l := range h.lifts {
		used := l.used()
		t.Sets += used
		t.Outside += float64(l.missed)
	}
	t.Outside /= math.Max(float64(t.Sets), 1)
	return t
}

// addSteps is how often the sets of a new session are linearised again.
const addSteps = 3

// Add takes in one more session: for each exercise, by its place in RefitAll, the sets
// done in it. Earlier sets count by their slopes at the fit there was, so that this
// takes as long after a year as after a week; RefitAll goes through all sets again.
func (h *History) Add(session map[int][]LoggedSet) {
	before := make([]*fitting, len(h.lifts))
	fresh := make([]*fitting, len(h.lifts))
	for n, l := range h.lifts {
		kept := *l
		before[n] = &kept
		if sets := session[n]; len(sets) > 0 {
			fresh[n] = l.extended(sets)
		}
	}
	at := h.bias
	together := func() {
		for n, l := range h.lifts {
			l.moved(before[n], at, h.bias)
			if f := fresh[n]; f != nil {
				f.x = l.x
				f.linearise(h.bias)
				l.take(f)
			}
		}
	}
	together()
	for n, f := range fresh {
		if f != nil {
			h.lifts[n].missed += f.misses(before[n].cov, nil)
		}
	}
	for range addSteps {
		next := h.step(0)
		h.bias, h.lifts = next.bias, next.lifts
		together()
	}
	h.covariances()
	for n, l := range h.lifts {
		if f := fresh[n]; f != nil {
			l.join(f)
		}
	}
}
