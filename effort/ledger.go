package effort

import "math"

// Before is the set number under which the account books fatigue that was there
// when the session began.
const Before = -1

// Loss is what one earlier set costs the present one through one pool.
type Loss struct {
	Set         int     // number of the earlier set in the session, from 0; or Before
	Pool        int     // pool through which it acts
	Own         bool    // the exercise's own pool: the same exercise repeated
	Capacity    float64 // capacity lost at the start, fraction of the fresh maximum, (11)
	Repetitions float64 // repetitions lost, (12)
}

// Account is a set with what it could have been fresh and why it is less. The
// capacities of Losses sum to 1 - Capacity and their repetitions to Lost, exactly
// but for rounding (under 1e-9).
type Account struct {
	Result
	Fresh  float64 // repetitions to failure without any earlier work
	Lost   float64 // Fresh - Repetitions
	Losses []Loss  // by pool, within a pool in the order of the sets
}

// booking is the fatigue that one set left in one pool, at that set's end, with
// the pool's ages at that time.
type booking struct {
	set        int
	fast, slow float64
	fastAge    float64
}

// Session is a model with a state and a ledger of what each set left in each
// pool. Between sets the state is linear in what was put in, so the account is
// exact. It is for showing why; a search uses [Model.Set] alone.
type Session struct {
	model *Model
	state *State
	sets  int
	// decay so far, in time constants: of fast fatigue by pool, of slow fatigue
	// for all pools, since slow recovery does not stop during work
	fastAge []float64
	slowAge float64
	ends    []float64   // slowAge at the end of each set
	ledger  [][]booking // by pool
}

// NewSession returns a session that begins with a copy of start.
func NewSession(m *Model, start *State) *Session {
	x := &Session{
		model:   m,
		state:   start.Clone(),
		fastAge: make([]float64, len(start.Fast)),
		ledger:  make([][]booking, len(start.Fast)),
	}
	for i := range start.Fast {
		if start.Fast[i] != 0 || start.Slow[i] != 0 {
			x.ledger[i] = append(x.ledger[i], booking{set: Before, fast: start.Fast[i], slow: start.Slow[i]})
		}
	}
	return x
}

// State returns the session's state now; the caller may read and copy it but not
// change it.
func (x *Session) State() *State { return x.state }

// Rest lets dt seconds pass without work, as [Model.Rest].
func (x *Session) Rest(dt float64) {
	x.model.Rest(x.state, dt)
	x.age(nil, dt)
}

// Set does one set, as [Model.Set], and accounts for what earlier sets cost it.
// Losses are appended to into, which may be nil; give back the slice of the set
// before to save the allocation.
func (x *Session) Set(l *Link, w Work, into []Loss) Account {
	m := x.model
	fast, slow := m.fatigue(x.state, l)
	c := m.curve(w, fast, slow)
	losses := x.losses(l, into)
	a := Account{Result: m.Set(x.state, l, w), Fresh: m.Fresh(w.Load, w.K, w.Repetition)}
	a.Lost = a.Fresh - a.Repetitions
	a.Losses = x.inRepetitions(losses, len(into), c, a, w.Repetition)
	x.age(l, a.Duration)
	x.book(l, c.inflow*w.tires(a.Reserve), a.Duration)
	return a
}

// losses lists what is left of each earlier set in each pool of l, as capacity,
// docs/model/03-session.md (11). Repetitions holds the fast part for the moment.
func (x *Session) losses(l *Link, out []Loss) []Loss {
	for i := range l.pools {
		p := &l.pools[i]
		w := p.weight(x.model.c.OwnShare)
		for _, b := range x.ledger[p.pool] {
			fast := w * b.fast * math.Exp(b.fastAge-x.fastAge[p.pool])
			slow := w * b.slow * math.Exp(x.end(b.set)-x.slowAge)
			out = append(out, Loss{Set: b.set, Pool: p.pool, Own: p.own == 1, Capacity: fast + slow, Repetitions: fast})
		}
	}
	return out
}

func (x *Session) end(set int) float64 {
	if set == Before {
		return 0
	}
	return x.ends[set]
}

// inRepetitions splits the lost repetitions among the losses from index from on,
// in proportion to what is left of each at the moment of failure,
// docs/model/03-session.md (12).
func (x *Session) inRepetitions(losses []Loss, from int, c curve, a Account, rep float64) []Loss {
	t := math.Max(0, a.Repetitions-1) * rep
	fastLeft, slowLeft := math.Exp(-t/c.tf), math.Exp(-t/c.ts)
	sum := 0.0
	for i := from; i < len(losses); i++ {
		fast := losses[i].Repetitions
		losses[i].Repetitions = fast*fastLeft + (losses[i].Capacity-fast)*slowLeft
		sum += losses[i].Repetitions
	}
	each := 0.0
	if sum > 0 {
		each = a.Lost / sum
	}
	for i := from; i < len(losses); i++ {
		losses[i].Repetitions *= each
	}
	return losses
}

// age lets dt seconds of decay pass: in work for the pools of l, at rest for all
// others.
func (x *Session) age(l *Link, dt float64) {
	tf := x.model.c.FastRecovery
	rest, work := dt/tf, dt/(tf*x.model.c.WorkSlowing)
	for i := range x.fastAge {
		x.fastAge[i] += rest
	}
	if l != nil {
		for i := range l.pools {
			x.fastAge[l.pools[i].pool] += work - rest
		}
	}
	x.slowAge += dt / x.model.c.SlowRecovery
}

// book enters what the set that just ended put into its pools.
func (x *Session) book(l *Link, u, dt float64) {
	x.ends = append(x.ends, x.slowAge)
	set := x.sets
	x.sets++
	if dt == 0 {
		return
	}
	k := x.model.c
	tf, ts := k.WorkSlowing*k.FastRecovery, k.SlowRecovery
	fast := -(1 - k.SlowShare) * u * tf * math.Expm1(-dt/tf)
	slow := -k.SlowShare * u * ts * math.Expm1(-dt/ts)
	norm := l.norm(k.OwnShare)
	for i := range l.pools {
		p := &l.pools[i]
		q := p.relative / norm
		x.ledger[p.pool] = append(x.ledger[p.pool], booking{set, q * fast, q * slow, x.fastAge[p.pool]})
	}
}
