package effort

import "math"

// Constants are the parameters of the two-rate capacity model,
// docs/model/03-session.md section 2. They are identified together: change
// SlowShare, FastRecovery and SlowRecovery only as a trio.
type Constants struct {
	SlowShare    float64 // φ, part of new fatigue that is slow, 1, in (0, 1)
	FastRecovery float64 // τF, time constant of fast recovery at rest, s
	SlowRecovery float64 // τS, time constant of slow recovery, s
	OwnShare     float64 // s, part of capacity that belongs to the exercise itself, 1, in (0, 1)
	DemandPower  float64 // ρ, how strongly large demands weigh, 1
	WorkSlowing  float64 // r, how many times slower fast recovery is during the set, 1
	TempoPower   float64 // exponent of repetition time in k, 1
	ReferenceRep float64 // repetition time for which k is meant, s
}

// DefaultConstants returns the rounded constants of the fit to 32 published
// values of 11 studies (fatigue-constants; WorkSlowing: looft-2018; TempoPower:
// rbme-2007, one study; ReferenceRep: our judgement).
func DefaultConstants() Constants {
	return Constants{
		SlowShare:    0.35,
		FastRecovery: 40,
		SlowRecovery: 500,
		OwnShare:     0.55,
		DemandPower:  2,
		WorkSlowing:  15,
		TempoPower:   0.5,
		ReferenceRep: 3,
	}
}

const (
	badConstants = "effort: model constants must be finite, time constants positive, shares between 0 and 1"
	badPools     = "effort: pool number outside the state"
	badDemand    = "effort: a demand must be 0..1, for a pool of its own, named once"
	badWork      = "effort: work needs a positive finite load, k and repetition time"
	badGoal      = "effort: a goal needs repetitions or reserve of 0 or more"
	badTime      = "effort: a rest must be 0 s or longer and finite"
)

// Model is the read-only part of the capacity model. It may be shared by any
// number of goroutines; what changes is a [State] that the caller owns.
type Model struct{ c Constants }

// NewModel returns a model with constants c. It panics if they are not usable:
// they come from the program, never from a client.
func NewModel(c Constants) *Model {
	if !usable(c) {
		panic(badConstants)
	}
	return &Model{c}
}

func usable(c Constants) bool {
	share := func(x float64) bool { return x > 0 && x < 1 }
	return share(c.SlowShare) && share(c.OwnShare) &&
		positive(c.FastRecovery) && positive(c.SlowRecovery) && positive(c.WorkSlowing) &&
		positive(c.ReferenceRep) && atLeastZero(c.DemandPower) && atLeastZero(c.TempoPower)
}

// Constants returns the model's constants.
func (m *Model) Constants() Constants { return m.c }

// Demand says that an exercise asks of a pool the share Share, 0..1, of that
// muscle's own maximum when the load is the 1RM.
type Demand struct {
	Pool  int
	Share float64
}

// linkPool is one pool of a link. Its weight and inflow depend on the model's own
// share s: w = own·s + muscle·(1-s) and q = relative/N, docs/model/03-session.md
// (1) and (2), so that a link serves every draw of the constants.
type linkPool struct {
	pool     int
	own      float64 // 1 for the exercise's own pool
	muscle   float64 // a^ρ/Σa^ρ; 0 for the own pool unless it stands alone
	relative float64 // a/max a; 1 for the own pool
}

// Link ties an exercise to the pools it draws on. It is read-only once made and
// valid for every model with the same DemandPower.
type Link struct {
	pools []linkPool // ascending pool numbers
	mean  float64    // Σ muscle·relative
}

// Link builds the link of an exercise with its own pool and its demands; zero
// demands are left out, and an exercise without any demand is limited by its own
// pool alone. For work of one side the caller gives that side's pools. It panics
// if a demand is outside 0..1 or a pool is negative or named twice.
func (m *Model) Link(own int, demands []Demand) *Link {
	if own < 0 {
		panic(badPools)
	}
	sum, largest := 0.0, 0.0
	for _, d := range demands {
		if !(d.Share >= 0 && d.Share <= 1) || d.Pool < 0 {
			panic(badDemand)
		}
		if d.Share > 0 {
			sum += math.Pow(d.Share, m.c.DemandPower)
			largest = math.Max(largest, d.Share)
		}
	}
	link := &Link{}
	if largest == 0 {
		link.insert(linkPool{pool: own, own: 1, muscle: 1, relative: 1})
		return link
	}
	link.insert(linkPool{pool: own, own: 1, relative: 1})
	for _, d := range demands {
		if d.Share > 0 {
			link.insert(linkPool{pool: d.Pool, muscle: math.Pow(d.Share, m.c.DemandPower) / sum, relative: d.Share / largest})
		}
	}
	return link
}

// insert puts p at its place in the ascending list.
func (l *Link) insert(p linkPool) {
	at := len(l.pools)
	for at > 0 && l.pools[at-1].pool >= p.pool {
		at--
		if l.pools[at].pool == p.pool {
			panic(badDemand)
		}
	}
	l.pools = append(l.pools, linkPool{})
	copy(l.pools[at+1:], l.pools[at:])
	l.pools[at] = p
	l.mean += p.muscle * p.relative
}

// weight returns w of (1) for a model with own share s.
func (p *linkPool) weight(s float64) float64 { return p.own*s + p.muscle*(1-s) }

// norm returns N of (2), which makes Σ w q = 1.
func (l *Link) norm(s float64) float64 { return s + (1-s)*l.mean }

// State is the fatigue of every pool, as fractions of the fresh maximum, 0 when
// fresh. Copy it with [State.CopyFrom] to try something and go back.
type State struct {
	Fast []float64 // A, fast fatigue of each pool
	Slow []float64 // B, slow fatigue of each pool, as long as Fast

	sets     int     // sets done
	sinceSet float64 // rest since the last set, s
}

// NewState returns a fresh state of the given number of pools.
func NewState(pools int) *State {
	both := make([]float64, 2*pools)
	return &State{Fast: both[:pools:pools], Slow: both[pools:]}
}

// CopyFrom makes s equal to o, which must have as many pools; nothing is shared.
func (s *State) CopyFrom(o *State) {
	if len(s.Fast) != len(o.Fast) || len(s.Slow) != len(o.Slow) {
		panic(badPools)
	}
	copy(s.Fast, o.Fast)
	copy(s.Slow, o.Slow)
	s.sets, s.sinceSet = o.sets, o.sinceSet
}

// Clone returns a copy of s that shares nothing with it.
func (s *State) Clone() *State {
	c := NewState(len(s.Fast))
	c.CopyFrom(s)
	return c
}

// Reset makes s fresh again.
func (s *State) Reset() {
	clear(s.Fast)
	clear(s.Slow)
	s.sets, s.sinceSet = 0, 0
}

// goalKind says what ends a set.
type goalKind uint8

const (
	untilFailure goalKind = iota
	untilCount
	untilReserve
)

// Goal says how many repetitions a set is to have. The zero value is a set to
// failure.
type Goal struct {
	kind goalKind
	n    float64
}

// ToFailure asks for all repetitions that are possible.
func ToFailure() Goal { return Goal{} }

// Count asks for n repetitions, or as many as are possible.
func Count(n float64) Goal { return Goal{untilCount, n} }

// InReserve asks for all repetitions but the last n possible ones.
func InReserve(n float64) Goal { return Goal{untilReserve, n} }

// Work is one set to be done.
type Work struct {
	Load       float64 // p, fraction of the 1RM, above 0
	K          float64 // k at the reference repetition time, 1
	Repetition float64 // T, time of one repetition, s
	Goal       Goal
	WarmUp     bool // leads up to work: tires by (10b)
	Marks      Mark // what only the caller knows: Hold, Superset
}

// Result is what one set comes to. Repetitions are real numbers; round down for
// display in a plan.
type Result struct {
	Repetitions float64 // n, possible to failure, 0..RepetitionCap
	Capacity    float64 // C before the set, fraction of the fresh maximum
	Done        float64 // repetitions done
	Reserve     float64 // repetitions left at the end
	Duration    float64 // of the set, s
	Marks       Mark
}

// Rest lets dt seconds pass without work, docs/model/03-session.md (6). It panics
// if dt is negative or not finite.
func (m *Model) Rest(s *State, dt float64) {
	if !atLeastZero(dt) {
		panic(badTime)
	}
	fast, slow := math.Exp(-dt/m.c.FastRecovery), math.Exp(-dt/m.c.SlowRecovery)
	for i := range s.Fast {
		s.Fast[i] *= fast
	}
	for i := range s.Slow {
		s.Slow[i] *= slow
	}
	s.sinceSet += dt
}

// Capacity returns C of (3), the part of the fresh maximum that is left for the
// exercise: capacity for further sets, not maximal force.
func (m *Model) Capacity(s *State, l *Link) float64 {
	fast, slow := m.fatigue(s, l)
	return 1 - fast - slow
}

// fatigue returns the weighted fast and slow fatigue of the link's pools.
func (m *Model) fatigue(s *State, l *Link) (fast, slow float64) {
	if l.pools[len(l.pools)-1].pool >= len(s.Fast) {
		panic(badPools)
	}
	for i := range l.pools {
		p := &l.pools[i]
		w := p.weight(m.c.OwnShare)
		fast += w * s.Fast[p.pool]
		slow += w * s.Slow[p.pool]
	}
	return fast, slow
}

// Fresh returns the repetitions to failure of a fresh client, recovery inside the
// set included, docs/model/03-session.md (7): at load p (fraction of the 1RM),
// with k at the reference repetition time and a repetition of rep seconds. They
// do not depend on the exercise's demands.
func (m *Model) Fresh(p, k, rep float64) float64 {
	w := Work{Load: p, K: k, Repetition: rep}
	n, _ := m.possible(m.curve(w, 0, 0), w)
	return n
}

// Set does one set of the exercise behind l and changes s to its end; rest before
// and after it is the caller's, by [Model.Rest]. It panics if w is not usable or
// a pool of l is not in s. It allocates nothing.
func (m *Model) Set(s *State, l *Link, w Work) Result {
	fast, slow := m.fatigue(s, l)
	c := m.curve(w, fast, slow)
	n, capped := m.possible(c, w)
	done := w.Goal.repetitions(n)
	r := Result{
		Repetitions: n,
		Capacity:    c.start(),
		Done:        done,
		Reserve:     n - done,
		Duration:    done * w.Repetition,
	}
	r.Marks = w.Marks | m.remarks(s, w, r)
	if capped {
		r.Marks |= Capped
	}
	m.advance(s, l, c.inflow*w.tires(r.Reserve), r.Duration)
	s.sets++
	s.sinceSet = 0
	return r
}

// tires returns the part of its inflow that a set with this reserve leaves,
// docs/model/03-session.md (10b).
func (w Work) tires(reserve float64) float64 {
	if w.WarmUp {
		return HardSet(reserve)
	}
	return 1
}

// repetitions returns how many of n possible repetitions the goal takes,
// docs/model/03-session.md (10).
func (g Goal) repetitions(n float64) float64 {
	if !atLeastZero(g.n) {
		panic(badGoal)
	}
	switch g.kind {
	case untilCount:
		return math.Min(n, g.n)
	case untilReserve:
		return math.Max(0, n-g.n)
	}
	return n
}

// remarks returns what the model itself finds to say about a set.
func (m *Model) remarks(s *State, w Work, r Result) Mark {
	var marks Mark
	put := func(when bool, mark Mark) {
		if when {
			marks |= mark
		}
	}
	put(w.Load < lightLoad, LightLoad)
	put(r.Repetitions > manyRepetitions, ManyRepetitions)
	put(s.sets > 0 && s.sinceSet < shortRest, ShortRest)
	put(s.sets > 0 && s.sinceSet > longRest, LongRest)
	put(w.Goal.kind == untilCount && w.Goal.n <= 1 || FreshRepetitions(w.Load, m.tempoK(w)) < 2, Single)
	put(r.Capacity < w.Load, Spent)
	put(w.Goal.kind == untilCount && r.Done < w.Goal.n, Unfinished)
	put(w.Goal.kind == untilReserve && r.Reserve < w.Goal.n, Unfinished)
	return marks
}

// tempoK returns k at the set's own repetition time, docs/model/03-session.md (4).
func (m *Model) tempoK(w Work) float64 {
	if w.Repetition == m.c.ReferenceRep {
		return w.K
	}
	return w.K * math.Pow(w.Repetition/m.c.ReferenceRep, m.c.TempoPower)
}

// curve prepares the course of capacity during w from the weighted fast and slow
// fatigue at its start.
func (m *Model) curve(w Work, fast, slow float64) curve {
	if !positive(w.Load) || !positive(w.K) || !positive(w.Repetition) {
		panic(badWork)
	}
	u := m.tempoK(w) * w.Load / w.Repetition
	tf, ts := m.c.WorkSlowing*m.c.FastRecovery, m.c.SlowRecovery
	return curve{
		inflow:    u,
		fast:      fast,
		slow:      slow,
		fastLimit: (1 - m.c.SlowShare) * u * tf,
		slowLimit: m.c.SlowShare * u * ts,
		tf:        tf,
		ts:        ts,
	}
}

// possible returns the repetitions to failure, docs/model/03-session.md (7) to
// (9), and whether the cap was reached.
func (m *Model) possible(c curve, w Work) (n float64, capped bool) {
	if c.start() < w.Load {
		return math.Max(0, 1-(w.Load-c.start())/(m.tempoK(w)*w.Load)), false
	}
	t, found := c.timeTo(w.Load, (RepetitionCap-1)*w.Repetition)
	if !found {
		return RepetitionCap, true
	}
	return 1 + t/w.Repetition, false
}

// advance lets dt seconds of work pass, docs/model/03-session.md (5): the link's
// pools fill with inflow u, all others recover as at rest.
func (m *Model) advance(s *State, l *Link, u, dt float64) {
	if dt == 0 {
		return
	}
	tf, ts := m.c.WorkSlowing*m.c.FastRecovery, m.c.SlowRecovery
	fastRest, slow := math.Exp(-dt/m.c.FastRecovery), math.Exp(-dt/ts)
	fastWork := math.Exp(-dt / tf)
	fastIn := -(1 - m.c.SlowShare) * u * tf * math.Expm1(-dt/tf)
	slowIn := -m.c.SlowShare * u * ts * math.Expm1(-dt/ts)
	norm := l.norm(m.c.OwnShare)
	next := 0
	for i := range s.Fast {
		if next < len(l.pools) && l.pools[next].pool == i {
			q := l.pools[next].relative / norm
			s.Fast[i] = s.Fast[i]*fastWork + q*fastIn
			s.Slow[i] = s.Slow[i]*slow + q*slowIn
			next++
			continue
		}
		s.Fast[i] *= fastRest
		s.Slow[i] *= slow
	}
}
