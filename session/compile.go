package session

import (
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/effort"
	"corbel/exercise"
	"corbel/plan"
	"corbel/unit"
)

// Times between sets that nobody wrote (our judgement; key judgement), s.
const (
	changeSides   = 5.0  // from one side to the other
	changePartner = 20.0 // from one exercise of a superset to the next
	changePlace   = 30.0 // from one exercise to the next, before its own setup
	warmUpRest    = 60.0
	lastWarmUp    = 90.0 // after the last warm-up set
)

// defaultRest is the rest after a set where none is written, s, by stage (our
// judgement within the ranges of the textbook; key nsca-essentials-17).
var defaultRest = map[exercise.Stage]float64{
	exercise.Drill: 45, exercise.Main: 180, exercise.Accessory: 120, exercise.Isolation: 90, exercise.Finisher: 60,
}

// An Item is a slot as it is done in a session: the exercise, dose and place
// that hold that day.
type Item struct {
	Slot     *plan.Slot
	Exercise *exercise.Exercise
	Stage    exercise.Stage
	Dose     plan.Dose
}

// A step is one set of one side (or of both) in the order really done.
type step struct {
	item     int // place in the visit's items
	n        int // number of the set in the slot, from 1; 0 for warm-up
	side     anatomy.Side
	set      plan.Set
	load     Loaded
	link     *effort.Link
	work     effort.Work
	spread   int     // place in the spreads, by exercise and side
	before   float64 // s of setting up and changing before the set
	after    float64 // s of rest after it
	warm     bool
	proposed bool // a warm-up set that is not written
	counted  bool // counts as work: not a warm-up, not there only to restore
}

// A program is a session compiled for a client: steps in order, pools, spreads.
type program struct {
	items   []Item
	steps   []step
	pools   int
	spreads []effort.Spread
	own     map[ownKey]int
	links   map[linkKey]*effort.Link
}

// A linkKey is what a link depends on within a visit.
type linkKey struct {
	item, own int
	side      anatomy.Side
	load      unit.Kilogram
}

type ownKey struct {
	exercise string
	side     anatomy.Side
}

// A statedKey is what a link of stated shares depends on.
type statedKey struct {
	exercise *exercise.Exercise
	own      int
	side     anatomy.Side
}

// muscleCount is how many muscle groups there are; each has a left and a right
// pool, before the exercises' own pools.
var muscleCount = len(anatomy.Muscle("").Values())

// muscleIndex maps muscle groups to their place.
var muscleIndex = func() map[anatomy.Muscle]int {
	m := map[anatomy.Muscle]int{}
	for i, id := range anatomy.Muscle("").Values() {
		m[anatomy.Muscle(id)] = i
	}
	return m
}()

// poolOf returns the pool of a muscle on a side.
func poolOf(m anatomy.Muscle, side anatomy.Side) int {
	p := 2 * muscleIndex[m]
	if side == anatomy.Right {
		p++
	}
	return p
}

// compile puts the sets of a session into the order in which they are done:
// exercise by exercise, supersets in rounds, warm-up sets first, sides one after
// the other with the weak side first where the dose says so.
func (a *Athlete) compile(items []Item, place *client.Place, model *effort.Model) *program {
	p := &program{items: items, pools: 2 * muscleCount, own: map[ownKey]int{}, links: map[linkKey]*effort.Link{}}
	p.steps = make([]step, 0, mostSteps(items))
	for i := 0; i < len(items); {
		end := i + 1
		for end < len(items) && items[i].Slot.Superset != "" && items[end].Slot.Superset == items[i].Slot.Superset {
			end++
		}
		a.group(p, i, end, place)
		i = end
	}
	for i := range p.steps {
		a.link(p, &p.steps[i], model)
	}
	return p
}

// mostSteps bounds the steps of items from above.
func mostSteps(items []Item) int {
	n := 0
	for _, it := range items {
		n += workingSteps(it) + max(2*len(it.Dose.WarmUp), len(proposedWarmUps))
	}
	return n
}

// workingSteps counts the working steps of an item.
func workingSteps(it Item) int {
	n := 0
	for _, p := range it.Dose.Parts {
		n += len(p.Sets)
		if it.Exercise.Sides == exercise.EachSide && p.Sides == plan.EachSide {
			n += len(p.Sets)
		}
	}
	return n
}

// group adds one exercise, or the rounds of a superset.
func (a *Athlete) group(p *program, from, to int, place *client.Place) {
	lists := make([][]step, to-from) // working steps of each item, round by round
	rounds := 0
	for i := from; i < to; i++ {
		lists[i-from] = a.working(p.items[i], i, place)
		if n := len(lists[i-from]); n > 0 {
			rounds = max(rounds, lists[i-from][n-1].n)
		}
		a.warmUps(p, i, lists[i-from], place)
	}
	for r := 1; r <= rounds; r++ {
		partners, last := 0, 0 // items with a set in this round, and the last of them
		for i, list := range lists {
			if slices.ContainsFunc(list, func(s step) bool { return s.n == r }) {
				partners, last = partners+1, i
			}
		}
		for i, list := range lists {
			p.round(list, r, partners > 1, i == last)
		}
	}
}

// round adds the sets of one round of one item. superset says that another item
// has a set in the round, too, last that none follows.
func (p *program) round(list []step, r int, superset, last bool) {
	first := len(p.steps)
	for _, s := range list {
		if s.n == r {
			p.steps = append(p.steps, s)
		}
	}
	if len(p.steps) == first {
		return
	}
	for i := first; i < len(p.steps)-1; i++ {
		p.steps[i].after = changeSides
	}
	s := &p.steps[len(p.steps)-1]
	if superset {
		for i := first; i < len(p.steps); i++ {
			p.steps[i].work.Marks |= effort.Superset
		}
		if !last && p.items[s.item].Dose.Rest.IsZero() {
			s.after = changePartner
		}
	}
	p.setUp(first)
}

// setUp adds the time to get to an exercise and ready for it before the first
// of its steps, docs/model/04-week.md (12), unless a step of it has been done.
func (p *program) setUp(first int) {
	s := &p.steps[first]
	for i := range p.steps[:first] {
		if p.steps[i].item == s.item {
			return
		}
	}
	s.before = float64(p.items[s.item].Exercise.Setup.Second())
	if first == 0 {
		return
	}
	// the rest after the set before is part of the change
	s.before = max(0, changePlace+s.before-p.steps[first-1].after)
}

// working lists the working sets of an item by round.
func (a *Athlete) working(it Item, index int, place *client.Place) []step {
	out := make([]step, 0, workingSteps(it))
	rest := defaultRest[it.Stage]
	if !it.Dose.Rest.IsZero() {
		rest = float64(it.Dose.Rest.Second())
	}
	for n := 1; n <= it.Dose.Count(); n++ {
		for _, part := range it.Dose.Parts {
			if n > len(part.Sets) {
				continue
			}
			for _, side := range a.sidesOf(it, part) {
				out = append(out, step{item: index, n: n, side: side, set: part.Sets[n-1], after: rest, counted: counted(it)})
			}
		}
	}
	if weak := a.weakSide(it.Exercise); it.Dose.WeakFirst && weak != anatomy.NoSide {
		slices.SortStableFunc(out, func(x, y step) int {
			if x.n != y.n {
				return x.n - y.n
			}
			return sideRank(x.side, weak) - sideRank(y.side, weak)
		})
	}
	for i := range out {
		out[i].load = a.Load(it.Exercise, out[i].side, out[i].set, it.Dose.Tempo, place)
		a.likeFirst(out[:i], &out[i], it.Exercise)
		out[i].work = out[i].load.work(a, it)
	}
	return out
}

// likeFirst gives a load that no lift is known for the fraction of the first set of
// its side with a load of its kind, by mass: what that set is written to leave says
// what the load is to the client, and a later set does not change it,
// docs/model/04-week.md (8a).
func (a *Athlete) likeFirst(earlier []step, s *step, e *exercise.Exercise) {
	guessed := func(x *step) bool {
		k := x.set.Load.Kind
		return x.load.Written && !x.load.FromMax && k != plan.PercentMax && k != plan.RepMax
	}
	if !guessed(s) {
		return
	}
	for i := range earlier {
		first := &earlier[i]
		if first.side != s.side || first.set.Load.Kind != s.set.Load.Kind || !guessed(first) {
			continue
		}
		if first.set.Load == s.set.Load {
			s.load.P = first.load.P
			return
		}
		carried := a.Carried(e)
		was, is := a.totalOf(&first.load, 0)+carried, a.totalOf(&s.load, 0)+carried
		if first.load.HasMass && s.load.HasMass && was > 0 && is > 0 {
			s.load.P = usable(first.load.P * is / was)
		}
		return
	}
}

// counted says whether the sets of an item count as work for its muscles: what
// is there only to restore range does not.
func counted(it Item) bool {
	if len(it.Slot.Reasons) > 0 {
		return slices.ContainsFunc(it.Slot.Reasons, func(r plan.Reason) bool { return r.Restore == "" })
	}
	return slices.ContainsFunc(it.Exercise.May, func(r exercise.Reason) bool { return r != exercise.Restore })
}

// sideRank orders the weak side before the other.
func sideRank(s, weak anatomy.Side) int {
	if s == weak {
		return 0
	}
	return 1
}

// sidesOf lists the sides a part of a dose is done on, in order.
func (a *Athlete) sidesOf(it Item, part plan.Part) []anatomy.Side {
	switch {
	case part.Sides == plan.LeftOnly:
		return []anatomy.Side{anatomy.Left}
	case part.Sides == plan.RightOnly:
		return []anatomy.Side{anatomy.Right}
	case it.Slot.Side == anatomy.Left || it.Slot.Side == anatomy.Right:
		return []anatomy.Side{it.Slot.Side}
	case it.Exercise.Sides == exercise.EachSide && part.Sides == plan.EachSide:
		return []anatomy.Side{anatomy.Left, anatomy.Right}
	}
	return []anatomy.Side{anatomy.Both}
}

// weakSide returns the side on which a limited muscle of the exercise lies, or
// NoSide.
func (a *Athlete) weakSide(e *exercise.Exercise) anatomy.Side {
	for _, l := range a.Client.Limits {
		if (l.Muscle.Side == anatomy.Left || l.Muscle.Side == anatomy.Right) && e.Shares[l.Muscle.Muscle] > 0 {
			return l.Muscle.Side
		}
	}
	return anatomy.NoSide
}

// work turns a load into work for the capacity model. An alternating exercise
// done on both sides takes twice the time for each side's repetitions, and k is
// kept at the pace of one, docs/model/04-week.md (11).
func (l Loaded) work(a *Athlete, it Item) effort.Work {
	k, _ := a.K(it.Exercise)
	w := effort.Work{Load: l.P, K: k, Repetition: l.RepTime, Goal: effort.Count(l.Count), Marks: l.Marks}
	if l.Max {
		w.Goal = effort.ToFailure()
		if l.Asks && l.Reserve > 0 {
			w.Goal = effort.InReserve(l.Reserve)
		}
	}
	if it.Exercise.Sides != exercise.BothSides && it.Slot.Side == anatomy.NoSide && alternates(it) {
		w.Repetition *= 2
		w.K /= sqrt2
	}
	return w
}

const sqrt2 = 1.4142135623730951

// alternates says whether both sides work in turn within one set.
func alternates(it Item) bool {
	each := slices.ContainsFunc(it.Dose.Parts, func(p plan.Part) bool { return p.Sides == plan.EachSide })
	return it.Exercise.Sides == exercise.Alternating && each
}

// link ties a step to the pools of its muscles and to its own pool, and to the
// spread of its exercise and side.
func (a *Athlete) link(p *program, s *step, model *effort.Model) {
	it := p.items[s.item]
	key := ownKey{string(it.Exercise.ID), s.side}
	if it.Exercise.Sides == exercise.BothSides {
		key.side = anatomy.Both
	}
	if _, ok := p.own[key]; !ok {
		p.own[key] = p.pools
		p.pools++
		_, sd := a.K(it.Exercise)
		p.spreads = append(p.spreads, effort.Spread{LnK: sd})
	}
	s.spread = p.own[key] - 2*muscleCount
	spread := &p.spreads[s.spread] // of several loads the one known least
	spread.LnMax, spread.Lift = max(spread.LnMax, s.load.SDLn), max(spread.Lift, s.load.Tied)
	load := s.load.Mass.Kilogram()
	under := a.sharer(it.Slot)
	_, plain := under.(steady)
	stated, cached := statedKey{it.Exercise, p.own[key], s.side}, linkKey{s.item, p.own[key], s.side, load}
	if known, ok := a.links.Load(stated); ok && plain { // stated shares are the same for every load and slot
		s.link = known.(*effort.Link)
		return
	}
	if s.link = p.links[cached]; s.link != nil {
		return
	}
	var demands []effort.Demand
	for _, share := range under.Shares(a.Client, it.Exercise, load) {
		for _, side := range []anatomy.Side{anatomy.Left, anatomy.Right} {
			if s.side.Meets(side) {
				demands = append(demands, effort.Demand{Pool: poolOf(share.Muscle, side), Share: share.Value})
			}
		}
	}
	s.link = model.Link(p.own[key], demands)
	p.links[cached] = s.link
	if plain {
		a.links.Store(stated, s.link)
	}
}
