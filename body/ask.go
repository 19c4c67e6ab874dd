package body

import (
	"cmp"
	"math"
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
)

// Constants of asking an exercise (our judgement; key judgement).
const (
	firstGuess   = 40.0  // kg, load at which the first postures are solved
	mostAsked    = 400.0 // kg; beyond it no largest load is given
	resolveFrom  = 0.005 // postures are solved anew while the load moves by more than this part
	resolveMost  = 20    // times
	loadStep     = 1.0   // kg, by which the moments of a load are found
	shareLoad    = 0.75  // part of the largest load at which shares are taken (product: share)
	namedGains   = 3     // limiting muscles that are named
	namedPercent = 5.0   // stronger by so much
)

// An Answer is what an exercise asks of a body: docs/model/01-body-muscles.md
// section 10. It shares nothing with the solvers.
type Answer struct {
	Exercise *exercise.Exercise
	Load     float64 // kg, at which Postures were solved, in the sense of the exercise's load
	Postures []AskedPosture
	Shares   []AskedShare // at [Answer.ShareLoad], hardest posture
	// ShareLoad is 75 % of the largest load, or Load where there is none.
	ShareLoad float64
	Largest   *LargestLoad // nil where nothing below 400 kg limits it
}

// An AskedPosture is a posture with its net joint moments.
type AskedPosture struct {
	Name         string
	Moments      Moments
	Passive      [Coordinates]float64 // N m, what passive tissue delivers of it
	BalanceError float64              // m; 0 where nothing is asked of the balance
}

// An AskedShare is a muscle's computed part of an exercise on a side.
type AskedShare struct {
	Muscle     anatomy.Muscle
	Side       anatomy.Side
	Share      float64 // 0..1 of the largest
	Activation float64 // 0..1, force-weighted mean of its parts, at the share's load
}

// A LargestLoad is the largest load of an exercise with what limits it.
type LargestLoad struct {
	Load    float64 // kg
	Posture string  // the hardest
	Low     float64 // kg, 5 to 95 % of the strengths the client may have
	High    float64
	Gains   []MuscleGain // what would raise it, the most first
}

// A MuscleGain is what a muscle's strength brings.
type MuscleGain struct {
	Muscle  string // name of the body model's group
	Side    anatomy.Side
	Percent float64 // of the largest load, for 5 % more strength
}

// An Asker asks exercises of one body; it keeps the memory of its solvers. It is not
// for several goroutines at once.
type Asker struct {
	Body     *Body
	Strength *Strength
	Belief   *StrengthBelief // for the range
	Library  *exercise.Library

	sharer Sharer
	lifter Lifter
}

// NewAsker builds a body with the strength of a level before any lift is known. The
// error says which measure is wrong.
func NewAsker(m Measures, level float64, lib *exercise.Library) (*Asker, error) {
	b, err := NewBody(m)
	if err != nil {
		return nil, err
	}
	return &Asker{Body: b, Strength: NewStrength(b.Measures.Sex, b.Measures.Mass, b.Measures.Height, level), Belief: PriorBelief(level), Library: lib}, nil
}

// LevelOf is the level of strength taken for an experience before any lift is known;
// untrained where it is not on record.
func LevelOf(e client.Experience) float64 {
	switch e {
	case client.Some:
		return LevelSomeTraining
	case client.Trained:
		return LevelTrained
	}
	return LevelUntrained
}

// Ask finds what an exercise asks of the body at a load, kg, as its text stands:
// an exercise of one side works the right. The error is an *Impossible.
func (a *Asker) Ask(e *exercise.Exercise, load float64) (*Answer, error) {
	return a.AskSide(e, load, false)
}

// AskSide is Ask with the sides exchanged if mirrored.
func (a *Asker) AskSide(e *exercise.Exercise, load float64, mirrored bool) (*Answer, error) {
	out := &Answer{Exercise: e, Load: load}
	postures := Postures(a.Library, e)
	if mirrored {
		for i, p := range postures {
			postures[i] = p.Mirror()
		}
	}
	if len(postures) == 0 {
		return nil, &Impossible{Exercise: string(e.ID), Posture: "all", Target: "posture", Why: "the library has no postures of this exercise yet"}
	}
	for _, p := range postures {
		st, err := a.stand(p, load)
		if err != nil {
			return nil, err
		}
		asked := AskedPosture{Name: p.Pose.Name, Moments: st.Moments, Passive: Passive(&st.Solved.Q, a.Strength.Mass, a.Strength.Height)}
		asked.BalanceError, _ = st.BalanceError()
		out.Postures = append(out.Postures, asked)
	}
	hardest, err := a.largest(out, postures)
	if err != nil {
		return nil, err
	}
	out.ShareLoad = load
	if out.Largest != nil {
		out.ShareLoad = shareLoad * out.Largest.Load
	}
	return out, a.shares(out, postures, hardest)
}

// stand solves a posture and its statics.
func (a *Asker) stand(p Posture, load float64) (*Statics, error) {
	s, err := a.Body.Solve(p, load)
	if err != nil {
		return nil, err
	}
	return a.Body.Statics(s)
}

// program builds the program of a posture solved at a load: moments grow with the
// load on a straight line at a fixed posture, (27).
func (a *Asker) program(st *Statics) (*Posed, error) {
	more := *st.Solved
	more.Load += loadStep
	heavier, err := a.Body.Statics(&more)
	if err != nil {
		return nil, err
	}
	var need, spread [Coordinates]float64
	for c := range need {
		spread[c] = (heavier.Moments[c] - st.Moments[c]) / loadStep
		need[c] = st.Moments[c] - st.Solved.Load*spread[c]
	}
	p := a.Strength.Pose(&st.Solved.Q, need, spread, true)
	for _, f := range st.Freedoms {
		effect, low := f.Effect, math.Inf(-1)
		for c := range effect {
			effect[c] *= st.Total
		}
		if f.OneWay {
			low = -f.Now / st.Total
		}
		p.Free(effect, 2*f.Price, low, math.Inf(1))
	}
	return p, nil
}

// largest finds the largest load over the postures, each solved anew as its load
// moves, and returns the place of the hardest posture.
func (a *Asker) largest(out *Answer, postures []Posture) (hardest int, err error) {
	best := math.Inf(1)
	for i, p := range postures {
		load, found, gains, spread, err := a.largestOf(p)
		if err != nil {
			return 0, err
		}
		if found && load < best {
			best, hardest = load, i
			out.Largest = &LargestLoad{Load: load, Posture: p.Pose.Name, Gains: gains,
				Low: load * math.Exp(-rangeSD*spread), High: load * math.Exp(rangeSD*spread)}
		}
	}
	return hardest, nil
}

// rangeSD is how many SD the range of 5 to 95 % reaches to either side (1; 0.95
// quantile of the standard normal distribution).
const rangeSD = 1.645

// largestOf finds the largest load of one posture, and false where there is none
// from 0 to 400 kg; spread is the SD of its logarithm.
func (a *Asker) largestOf(p Posture) (load float64, found bool, gains []MuscleGain, spread float64, err error) {
	at := firstGuess
	for range resolveMost {
		st, err := a.stand(p, at)
		if err != nil {
			return a.tooHeavy(p, at, err)
		}
		posed, err := a.program(st)
		if err != nil {
			return 0, false, nil, 0, err
		}
		r := a.lifter.Largest(posed.Program)
		load = r.Load
		if load > mostAsked || load <= 0 {
			return 0, false, nil, 0, nil
		}
		if math.Abs(load-at) <= resolveFrom*at {
			g := r.GainOf(posed.First)
			for i := range g {
				g[i] /= load
			}
			return load, true, a.gains(r, posed, load), a.Belief.SD(&g), nil
		}
		at = load
	}
	return load, false, nil, 0, nil
}

// tooHeavy passes on that a posture cannot be taken: at the first guess it counts,
// at a load that came out of the search it says that there is no such load.
func (a *Asker) tooHeavy(p Posture, at float64, err error) (float64, bool, []MuscleGain, float64, error) {
	if _, light := a.stand(p, 0); light != nil {
		return 0, false, nil, 0, err
	}
	return at, false, nil, 0, nil
}

// gains lists the muscles that limit a load, the most first.
func (a *Asker) gains(r *Largest, p *Posed, load float64) []MuscleGain {
	var out []MuscleGain
	for side := range 2 {
		for i, m := range Muscles() {
			percent := namedPercent * r.Gain[p.Muscle(i, side)] / load
			out = append(out, MuscleGain{m.Name, sideNames[side], percent})
		}
	}
	slices.SortStableFunc(out, func(x, y MuscleGain) int { return cmp.Compare(y.Percent, x.Percent) })
	return out[:namedGains]
}

var sideNames = [2]anatomy.Side{Right: anatomy.Right, Left: anatomy.Left}

// shares finds the shares at the hardest posture: activations without a bound,
// joined to the muscles coaches count by the forces of their parts, over the
// largest of them, (28).
func (a *Asker) shares(out *Answer, postures []Posture, hardest int) error {
	st, err := a.stand(postures[hardest], out.ShareLoad)
	if err != nil {
		return err
	}
	p, err := a.program(st)
	if err != nil {
		return err
	}
	p.Tie()
	activation := a.sharer.Share(p.Program, out.ShareLoad, math.Inf(1)).Activation
	most := 0.0
	for _, id := range anatomy.Muscle("").Values() {
		m := anatomy.Muscle(id)
		for side := range 2 {
			sum, force := 0.0, 0.0
			for _, part := range m.Parts() {
				if i := MuscleNumber(part); i >= 0 {
					f := a.Strength.Pull(nil, i, side, &st.Solved.Q).Force
					sum, force = sum+f*activation[p.Muscle(i, side)], force+f
				}
			}
			if force > 0 {
				out.Shares = append(out.Shares, AskedShare{Muscle: m, Side: sideNames[side], Activation: sum / force})
				most = max(most, sum/force)
			}
		}
	}
	for i := range out.Shares {
		if most > 0 {
			out.Shares[i].Share = out.Shares[i].Activation / most
		}
	}
	return nil
}
