package session

import (
	"math"

	"corbel/anatomy"
	"corbel/client"
	"corbel/effort"
	"corbel/exercise"
	"corbel/plan"
	"corbel/unit"
)

// A Visit is one session in one week, done by a client on paper.
type Visit struct {
	Session *plan.Session
	Week    int
	Place   *client.Place // nil where the client has no such place
	Items   []Item
	Slots   []SlotVisit // one for each item
	Sets    []SetVisit  // in the order really done, warm-up sets included
	Minutes Minutes
	Draws   *Draws // nil without draws

	athlete *Athlete
	program *program
}

// A SlotVisit is what an exercise of a visit comes to.
type SlotVisit struct {
	Start, End Minutes   // from the start of the session, min
	Lost       []float64 // repetitions a set that each later item loses to this one, mean over its working sets; 0 for earlier items but those of the same superset
	Work       map[MuscleSide]Count
	LiftSets   float64 // working sets heavy enough to count for strength, were the exercise a judged lift; a set on each side is one
	Left       float64 // capacity left before its first working set, 0..1
	Prefatigue map[MuscleSide]float64
}

// A MuscleSide is a muscle group and one side of it, or both taken together.
type MuscleSide struct {
	Muscle anatomy.Muscle
	Side   anatomy.Side // Left or Right
}

// Count is what sets count for a muscle: by declaration, and from shares.
type Count struct {
	Direct, Indirect float64 // hard sets
	Continuous       float64 // set equivalents from shares
}

// Sum returns direct and indirect sets together.
func (c Count) Sum() float64 { return c.Direct + c.Indirect }

// Add returns the sum of two counts.
func (c Count) Add(d Count) Count {
	return Count{c.Direct + d.Direct, c.Indirect + d.Indirect, c.Continuous + d.Continuous}
}

// A SetVisit is what a set comes to.
type SetVisit struct {
	Item     int
	N        int // number in the slot, from 1; 0 for warm-up sets
	Side     anatomy.Side
	Warm     bool
	Proposed bool // a warm-up set nobody wrote
	Plan     plan.Set
	Load     Loaded
	Start    float64 // s from the start of the session
	Result   effort.Result
	Fresh    float64     // repetitions to failure without earlier work
	Band     effort.Band // of repetitions to failure; zero without draws
	P        float64     // fraction of 1RM really used
	Reserve  float64     // predicted repetitions in reserve at the end
}

// Falls says by how many repetitions the predicted reserve falls short of the
// written one, and false where none is written or the load follows the reserve.
func (s SetVisit) Falls() (short float64, asked bool) {
	if !s.Load.Asks || !s.Load.Written || s.Warm || s.Load.Max {
		return 0, false
	}
	low, _, _ := s.Plan.Effort.Reserve()
	return low - (s.Result.Repetitions - s.Load.Count), true
}

// Minutes is a time with a range, min.
type Minutes struct{ Mean, Low, High float64 }

// Add returns the sum of two times.
func (m Minutes) Add(n Minutes) Minutes {
	return Minutes{m.Mean + n.Mean, m.Low + n.Low, m.High + n.High}
}

// Ranges of times, docs/model/04-week.md (13) (our judgement; key judgement): sets
// run 15 % either way, rests 10 % shorter to 25 % longer, setting up and changing
// 30 % shorter to 50 % longer.
var (
	workRange  = [2]float64{0.85, 1.15}
	restRange  = [2]float64{0.90, 1.25}
	setupRange = [2]float64{0.70, 1.50}
)

// minutes turns seconds into minutes with a range, docs/model/04-week.md (13).
func minutes(s float64, r [2]float64) Minutes {
	return Minutes{s / 60, s / 60 * r[0], s / 60 * r[1]}
}

// Visit does a session of a week: items are the slots as they hold that day.
// draws is how many draws the bands rest on, 0 for none; seed fixes them.
func (a *Athlete) Visit(s *plan.Session, week int, items []Item, place *client.Place, draws int, seed uint64) *Visit {
	v := a.visit(s, week, items, place, Try{})
	if draws > 0 {
		v.draw(draws, seed)
	}
	return v
}

// visit is Visit without draws and without what is not asked for.
func (a *Athlete) visit(s *plan.Session, week int, items []Item, place *client.Place, how Try) *Visit {
	v := &Visit{Session: s, Week: week, Place: place, Items: items, athlete: a}
	v.program = a.compile(items, place, model)
	v.open(how)
	v.run(model, how)
	return v
}

// model is the capacity model with its own constants.
var model = effort.NewModel(reference)

// open makes room for what is asked of each slot.
func (v *Visit) open(how Try) {
	v.Slots = make([]SlotVisit, len(v.Items))
	for i := range v.Slots {
		v.Slots[i] = SlotVisit{Lost: make([]float64, len(v.Items)), Left: 1}
		if !how.Bare {
			v.Slots[i].Work, v.Slots[i].Prefatigue = map[MuscleSide]Count{}, map[MuscleSide]float64{}
		}
	}
}

// run does the session once with the model's own constants, with the account of
// what each set costs the later ones unless it is not asked for.
func (v *Visit) run(model *effort.Model, how Try) {
	p := v.program
	x := newDoer(model, p.pools, how.Lean)
	clock := 0.0
	var at Minutes
	var losses []effort.Loss
	var demands []effort.Demand
	started, worked := make([]bool, len(v.Items)), make([]bool, len(v.Items))
	v.Sets = make([]SetVisit, 0, len(p.steps))
	for i := range p.steps {
		s := &p.steps[i]
		if !started[s.item] {
			v.Slots[s.item].Start, started[s.item] = at, true
		}
		x.Rest(s.before)
		clock += s.before
		at = at.Add(minutes(s.before, setupRange))
		w := s.follow(model, x.State(), 1)
		if !s.warm && !worked[s.item] {
			v.Slots[s.item].Left, worked[s.item] = model.Capacity(x.State(), s.link), true
		}
		if !s.warm && !how.Bare {
			v.prefatigue(s, x.State())
		}
		if !how.Lean {
			demands = model.PrefatiguedDemands(x.State(), s.link, demands[:0])
		}
		acc := x.Set(s.link, w, losses[:0])
		losses = acc.Losses
		if i > 0 && p.otherSide(i) {
			acc.Marks &^= effort.ShortRest
		}
		set := SetVisit{Item: s.item, N: s.n, Side: s.side, Warm: s.warm, Proposed: s.proposed, Plan: s.set,
			Load: s.load, Start: clock, Result: acc.Result, Fresh: acc.Fresh, P: w.Load, Reserve: acc.Reserve}
		v.book(s, losses)
		if !how.Bare {
			v.count(s, set, demands)
		}
		v.Sets = append(v.Sets, set)
		clock += acc.Duration + s.after
		at = at.Add(minutes(acc.Duration, workRange))
		v.Slots[s.item].End = at
		if i < len(p.steps)-1 {
			x.Rest(s.after)
			at = at.Add(minutes(s.after, restRange))
		}
	}
	v.Minutes = at
	v.meanLosses()
	if !how.Bare {
		v.liftSets()
	}
}

// A doer does sets one after another, with the account of what each costs the
// later ones or without it.
type doer struct {
	model *effort.Model
	state *effort.State
	books *effort.Session // nil without the account
}

func newDoer(m *effort.Model, pools int, lean bool) *doer {
	d := &doer{model: m, state: effort.NewState(pools)}
	if !lean {
		d.books = effort.NewSession(m, d.state)
		d.state = d.books.State()
	}
	return d
}

// State returns the state now, to be read.
func (d *doer) State() *effort.State { return d.state }

// Rest lets dt seconds pass.
func (d *doer) Rest(dt float64) {
	if d.books != nil {
		d.books.Rest(dt)
		return
	}
	d.model.Rest(d.state, dt)
}

// Set does one set.
func (d *doer) Set(l *effort.Link, w effort.Work, into []effort.Loss) effort.Account {
	if d.books != nil {
		return d.books.Set(l, w, into)
	}
	return effort.Account{Result: d.model.Set(d.state, l, w), Losses: into}
}

// otherSide says whether a step follows one of the same exercise on the opposite
// side: what rests short there is not what worked.
func (p *program) otherSide(i int) bool {
	a, b := p.steps[i-1], p.steps[i]
	return a.item == b.item && a.side != b.side && a.side != anatomy.Both && b.side != anatomy.Both
}

// follow returns the work of a step: where the dose leaves the load to the
// client's reserve, the load falls with the capacity that is left, so that the
// reserve stays as written, docs/model/04-week.md (1). times is the client's k
// over the usual one: who loses fewer repetitions to load takes more of it, (2).
func (s *step) follow(m *effort.Model, state *effort.State, times float64) effort.Work {
	w := s.work
	if s.load.Written || s.warm {
		return w
	}
	w.K *= times
	if times != 1 && w.Load < 1 {
		w.Load = 1 / (1 + (1/w.Load-1)*times)
	}
	w.Load = math.Max(w.Load*m.Capacity(state, s.link), smallestLoad)
	return w
}

// smallestLoad keeps a load above nothing, fraction of 1RM.
const smallestLoad = 0.02

// prefatigue notes what each muscle of an exercise has left before its first
// working set on its side.
func (v *Visit) prefatigue(s *step, state *effort.State) {
	left := v.Slots[s.item].Prefatigue
	for m := range v.Items[s.item].Exercise.Shares {
		for _, side := range []anatomy.Side{anatomy.Left, anatomy.Right} {
			if _, known := left[MuscleSide{m, side}]; !known && s.side.Meets(side) {
				pool := poolOf(m, side)
				left[MuscleSide{m, side}] = 1 - state.Fast[pool] - state.Slow[pool]
			}
		}
	}
}

// book adds what a working set loses to each other item, docs/model/04-week.md
// (14).
func (v *Visit) book(s *step, losses []effort.Loss) {
	if s.warm {
		return
	}
	for _, l := range losses {
		if from := v.program.steps[l.Set].item; from != s.item {
			v.Slots[from].Lost[s.item] += l.Repetitions
		}
	}
}

// meanLosses turns sums of losses into means over the working sets.
func (v *Visit) meanLosses() {
	n := make([]float64, len(v.Items))
	for _, s := range v.Sets {
		if !s.Warm {
			n[s.Item]++
		}
	}
	for i := range v.Slots {
		for j := range v.Slots[i].Lost {
			if n[j] > 0 {
				v.Slots[i].Lost[j] /= n[j]
			}
		}
	}
}

// liftSets counts the working sets of each item that are heavy enough to count
// for strength, docs/model/04-week.md (19): a set on each side is one set.
func (v *Visit) liftSets() {
	beginner := v.athlete.Client.Experience == client.Beginner
	left, right := make([]float64, len(v.Items)), make([]float64, len(v.Items))
	for i, s := range v.Sets {
		if !v.program.steps[i].counted || s.Result.Done == 0 || !effort.LiftSet(liftFraction(s), beginner) {
			continue
		}
		if s.Side.Meets(anatomy.Left) {
			left[s.Item]++
		}
		if s.Side.Meets(anatomy.Right) {
			right[s.Item]++
		}
	}
	for i := range v.Slots {
		v.Slots[i].LiftSets = max(left[i], right[i])
	}
}

// count adds what a working set counts for its muscles, by side,
// docs/model/04-week.md (16) to (18). A set without a repetition is none.
func (v *Visit) count(s *step, set SetVisit, demands []effort.Demand) {
	if s.warm || !s.counted || set.Result.Done == 0 {
		return
	}
	e := v.Items[s.item].Exercise
	slot := &v.Slots[s.item]
	add := func(m anatomy.Muscle, c Count) {
		for _, side := range []anatomy.Side{anatomy.Left, anatomy.Right} {
			if s.side.Meets(side) {
				key := MuscleSide{m, side}
				slot.Work[key] = slot.Work[key].Add(c)
			}
		}
	}
	for _, m := range e.Direct {
		add(m, Count{Direct: effort.SetEquivalents(effort.Direct.Count(), set.P, set.Reserve)})
	}
	for _, m := range e.Indirect {
		add(m, Count{Indirect: effort.SetEquivalents(effort.Indirect.Count(), set.P, set.Reserve)})
	}
	for _, d := range demands {
		m := anatomy.Muscle(anatomy.Muscle("").Values()[d.Pool/2])
		side := anatomy.Left
		if d.Pool%2 == 1 {
			side = anatomy.Right
		}
		key := MuscleSide{m, side}
		slot.Work[key] = slot.Work[key].Add(Count{Continuous: effort.SetEquivalents(effort.Continuous(d.Share), set.P, set.Reserve)})
	}
}

// liftFraction is the fraction of the 1RM a set is judged by as a lift set: the
// percentage of the external load where it is known.
func liftFraction(s SetVisit) float64 {
	p := s.P
	if s.Load.Percent > 0 {
		p = s.Load.Percent / 100
	}
	if l := s.Plan.Load; l.Kind == plan.PercentMax && l.Of == "" && l.Percent.Fraction()-p <= roundedAway {
		p = max(p, l.Percent.Fraction())
	}
	return p
}

// roundedAway is how much less than the percentage written a load may be for what the
// place has and still count as written (fraction of the 1RM; our judgement).
const roundedAway = 0.02

const badExercise = "session: a block names an exercise that the library does not hold"

// itemsOf turns the slots of a laid session into items. It panics where the
// library lacks an exercise: the reader of blocks refuses those.
func (a *Athlete) itemsOf(l plan.Laid) []Item {
	out := make([]Item, 0, len(l.Slots))
	for _, s := range l.Slots {
		e := a.Library.ByID(s.Slot.Exercise)
		if e == nil {
			panic(badExercise)
		}
		stage := exercise.Stage(s.Slot.Stage)
		if stage == "" {
			stage = e.Stage
		}
		out = append(out, Item{Slot: s.Slot, Exercise: e, Stage: stage, Dose: s.Dose})
	}
	return out
}

// Kg returns the mass of a set in kilograms as a coach writes it: on the bar, or
// in each hand.
func (l Loaded) Kg() (unit.Kilogram, bool) { return l.Mass.Kilogram(), l.HasMass }
