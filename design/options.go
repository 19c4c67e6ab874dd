package design

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
	"corbel/session"
	"corbel/unit"
)

// A built is what an option of a problem means.
type built struct {
	exercise *exercise.Exercise
	index    int // in the library
	stage    exercise.Stage
	work     string // repetitions as written: 5, max, 30 s
	rest     int    // s
	left     int    // sets on the left beyond those on the right, where sides differ
	least    int
	most     int
	reserve  int // in week 1
}

// Lengths and easier week of a proposed block (our judgement; key judgement).
const (
	blockWeeks   = 4
	deloadWeek   = 4
	holdSeconds  = 25
	drillReserve = 5
)

func deload() *plan.Deload {
	d := &plan.Deload{Week: deloadWeek, Reserve: 2}
	must(d.Sets.UnmarshalText([]byte("60%")))
	must(d.Load.UnmarshalText([]byte("90%")))
	return d
}

func must(err error) {
	if err != nil {
		panic(ownText)
	}
}

const ownText = "design: a dose of our own that cannot be read"

// dose reads a dose of our own.
func dose(text string) plan.Dose {
	d, err := plan.ParseDose(text)
	must(err)
	return d
}

// text writes the dose of an option in a week: the reserve falls by one a week to
// one, for drills it stays.
func (o built) text(sets, week int) string {
	reserve := o.reserve
	if o.stage != exercise.Drill {
		reserve = max(o.reserve-(week-1), 1)
	}
	sides := ""
	if o.exercise.Sides != exercise.BothSides {
		sides = "/side"
	}
	rir := " rir " + strconv.Itoa(reserve)
	if heldStill(o.exercise) { // nobody says how many seconds were left
		rir = ""
	}
	if o.left == 0 {
		tail := ""
		if sides != "" {
			tail = " weak side first"
		}
		return fmt.Sprintf("%d x %s%s%s%s", sets, o.work, sides, rir, tail)
	}
	l, r := sets+max(o.left, 0), sets+max(-o.left, 0)
	return fmt.Sprintf("left %d x %s%s, right %d x %s%s, weak side first", l, o.work, rir, r, o.work, rir)
}

// heldStill says whether an exercise is a hold or carry: what the library counts in
// seconds.
func heldStill(e *exercise.Exercise) bool { return e.Repetition.Second() <= 1 }

// bodyAlone says whether nothing but the body is moved.
func bodyAlone(e *exercise.Exercise) bool { return e.Loads[0] == exercise.BodyWeight }

// forms lists the ways an exercise can be done in a block.
func (b *builder) forms(e *exercise.Exercise, index int) []built {
	base := built{exercise: e, index: index, stage: e.Stage}
	switch e.Stage {
	case exercise.Drill:
		base.work, base.rest, base.least, base.most, base.reserve = "10", 45, 1, 2, drillReserve
	case exercise.Main:
		base.work, base.rest, base.least, base.most, base.reserve = "5", 180, 3, 5, 3
		if b.hold {
			base.work, base.rest = "8", 150
		}
	case exercise.Accessory:
		base.work, base.rest, base.least, base.most, base.reserve = "8", 120, 2, 4, 3
	case exercise.Isolation:
		base.work, base.rest, base.least, base.most, base.reserve = "12", 90, 2, 4, 3
	default:
		base.work, base.rest, base.least, base.most, base.reserve = "12", 60, 2, 3, 3
	}
	switch {
	case heldStill(e):
		base.work = fmt.Sprintf("%d s", holdSeconds)
	case bodyAlone(e) && e.Stage != exercise.Drill:
		base.work = "max"
	}
	out := []built{base}
	if e.Stage == exercise.Drill && slices.Contains(e.May, exercise.Load) {
		work := base
		work.stage, work.rest, work.least, work.most, work.reserve = exercise.Isolation, 90, 2, 4, 3
		if bodyAlone(e) && !heldStill(e) {
			work.work = "max"
		}
		out = append(out, work)
	}
	for _, o := range out {
		if side := b.weakIn(e); side != 0 && e.Sides == exercise.EachSide && o.stage != exercise.Drill {
			o.left = side
			out = append(out, o)
		}
	}
	return out
}

// weakIn returns 1 where the left side of a direct muscle is limited and the right
// is not, -1 the other way round, else 0.
func (b *builder) weakIn(e *exercise.Exercise) int {
	left, right := false, false
	for _, l := range b.w.Client.Limits {
		if slices.Contains(e.Direct, l.Muscle.Muscle) {
			left = left || l.Muscle.Side.Meets(anatomy.Left)
			right = right || l.Muscle.Side.Meets(anatomy.Right)
		}
	}
	switch {
	case left && !right:
		return 1
	case right && !left:
		return -1
	}
	return 0
}

// limitOf returns a limit that an exercise is direct work for.
func (b *builder) limitOf(e *exercise.Exercise) (client.Limit, bool) {
	i := slices.IndexFunc(b.w.Client.Limits, func(l client.Limit) bool { return slices.Contains(e.Direct, l.Muscle.Muscle) })
	if i < 0 {
		return client.Limit{}, false
	}
	return b.w.Client.Limits[i], true
}

// A measured option is what its simulation alone says.
type measured struct {
	setup, set int // s
	work       []Work
}

// once runs a form of an exercise alone with a number of sets, as in a week.
func (b *builder) once(o built, sets, week int, place *client.Place) *session.Visit {
	slot := &plan.Slot{ID: "x", Exercise: string(o.exercise.ID), Dose: dose(o.text(sets, week))}
	return b.athlete.Visit(&plan.Session{ID: "x"}, week, []session.Item{{Slot: slot, Exercise: o.exercise, Stage: o.stage, Dose: withRest(slot.Dose, o.rest)}}, place, 0, 1)
}

// withRest writes a rest into a dose.
func withRest(d plan.Dose, seconds int) plan.Dose {
	d.Rest = restOf(seconds)
	return d
}

func restOf(seconds int) unit.Duration { return unit.DurationOf(unit.Second(seconds)) }

// measure simulates a form of an exercise: time by the high end of its range, and
// what a set counts in the week in which it counts least, or most where the muscle has
// a cap.
func (b *builder) measure(o built, place *client.Place) measured {
	few, many, hardest := b.once(o, o.least, 1, place), b.once(o, o.most, 1, place), b.once(o, o.most, deloadWeek-1, place)
	out := measured{}
	high := func(v *session.Visit) float64 { return 60 * v.Minutes.High }
	each := 0.0
	if o.most > o.least {
		each = (high(many) - high(few)) / float64(o.most-o.least)
	} else {
		each = high(many) / float64(o.most)
	}
	out.set = int(math.Ceil(each))
	// After the last set its rest passes too, and the next exercise is set up.
	change := changeTime * setupHigh
	out.setup = max(int(math.Ceil(high(many)-float64(o.most)*each+change+restHigh*float64(o.rest)/2)), 0)
	for _, c := range b.muscles {
		sum := min(session.Pick(many.Slots[0].Work, c.m.Muscle, c.m.Side).Sum(), session.Pick(hardest.Slots[0].Work, c.m.Muscle, c.m.Side).Sum())
		units := int(SetUnit*sum/float64(o.most) + roundUp)
		if b.p.Columns[c.at].Cap > 0 { // towards a cap the most counts
			most := max(session.Pick(many.Slots[0].Work, c.m.Muscle, c.m.Side).Sum(), session.Pick(hardest.Slots[0].Work, c.m.Muscle, c.m.Side).Sum())
			units = int(math.Ceil(SetUnit*most/float64(o.most) - roundUp))
		}
		if units > 0 {
			out.work = append(out.work, Work{c.at, units})
		}
	}
	for _, l := range b.lifts {
		if n := min(many.Slots[0].LiftSets, hardest.Slots[0].LiftSets); n > 0 && o.exercise.Counts(l.lift) && o.stage != exercise.Drill {
			out.work = append(out.work, Work{l.at, int(SetUnit * n / float64(o.most))})
		}
	}
	return out
}

// roundUp is what a count may lack to the next 1/20 set for rounding (1/20 set).
const roundUp = 0.01

// Ends of the ranges of times (docs/model/04-week.md (13); key judgement).
const (
	changeTime = 30.0 // s
	setupHigh  = 1.5
	restHigh   = 1.25
)

// addOptions adds every form of every exercise that may stand somewhere.
func (b *builder) addOptions() {
	for index, e := range b.w.Library.All() {
		allowed := make([]bool, len(b.list))
		first := -1
		for d := range b.list {
			if allowed[d] = b.mayStand(e, index, d); allowed[d] && first < 0 {
				first = d
			}
		}
		if first < 0 {
			continue
		}
		for _, o := range b.forms(e, index) {
			b.addOption(o, allowed, b.w.Client.PlaceByID(b.list[first].Place))
		}
	}
}

// addOption adds one form with its rewards and groups.
func (b *builder) addOption(o built, allowed []bool, place *client.Place) {
	m := b.measure(o, place)
	name := string(o.exercise.ID) + " " + string(o.stage)
	if o.left != 0 {
		name += " weak side more"
	}
	x := Option{Name: name, Least: o.least, Most: o.most, Setup: m.setup, Set: m.set, Cost: setCost, Use: useCost, Allowed: slices.Clone(allowed), Work: m.work}
	if b.tooLight(o) {
		x.Cost += lightCost
	}
	if o.stage == exercise.Isolation {
		x.Cost += lengthCost * slices.Index([]exercise.Length{"even", "short", "middle", "long"}, o.exercise.Hardest)
	}
	for d := range b.list {
		x.Reward = append(x.Reward, b.reward(o, d))
	}
	x.Groups = []int{b.group("stage "+string(o.stage), stageMost[o.stage], 100), b.group("pattern "+string(o.exercise.Pattern), 2, 100), b.group(string(o.exercise.ID), 1, 2)}
	if o.stage == exercise.Main { // one main lift of a pattern a session: the second would find the muscles tired
		x.Groups = append(x.Groups, b.group("main "+string(o.exercise.Pattern), 1, 100))
	}
	if l, ok := b.limitOf(o.exercise); ok && o.stage == exercise.Drill {
		x.Groups = append(x.Groups, b.group("test "+l.Muscle.String(), 1, 2))
	}
	for _, l := range b.w.Client.Limits {
		if b.single(o, l) {
			x.Groups = append(x.Groups, b.group("single "+l.Muscle.String(), singleTimes, 100))
		}
	}
	for _, l := range b.lifts {
		if string(o.exercise.ID) == l.lift && o.stage != exercise.Drill {
			x.Groups = append(x.Groups, b.group("lift "+l.lift, 1, 3))
		}
	}
	slices.Sort(x.Groups)
	x.Groups = slices.Compact(x.Groups)
	b.p.Options = append(b.p.Options, x)
	b.options = append(b.options, o)
}

// single says whether an option is single-limb work that trains what is limited on
// one side directly.
func (b *builder) single(o built, l client.Limit) bool {
	one := l.Muscle.Side == anatomy.Left || l.Muscle.Side == anatomy.Right
	return one && o.exercise.Sides == exercise.EachSide && o.stage != exercise.Drill && o.stage != exercise.Main && slices.Contains(o.exercise.Direct, l.Muscle.Muscle)
}

// stageMost is how many exercises of a stage a session has at most (our judgement;
// key judgement).
var stageMost = map[exercise.Stage]int{exercise.Drill: 2, exercise.Main: 2, exercise.Accessory: 4, exercise.Isolation: 3, exercise.Finisher: 1}

// group returns the index of a group, made where it is new.
func (b *builder) group(name string, day, week int) int {
	if at, ok := b.groups[name]; ok {
		return at
	}
	b.p.Groups = append(b.p.Groups, Group{Name: name, Day: day, Week: week})
	b.groups[name] = len(b.p.Groups) - 1
	return b.groups[name]
}

// reward is what an option is worth for standing on a day.
func (b *builder) reward(o built, day int) int {
	sum := 0
	if _, ok := b.limitOf(o.exercise); ok && o.stage == exercise.Drill && slices.Contains(o.exercise.May, exercise.Test) {
		sum += testGain
	}
	if b.onWeakSide(o.exercise) && o.stage != exercise.Drill && o.stage != exercise.Main {
		if o.exercise.Sides == exercise.EachSide {
			sum += singleGain
		} else {
			sum -= singleGain
		}
	}
	if b.judged(o.exercise) && o.stage != exercise.Drill {
		sum += practiseGain
	}
	if b.doubt[fmt.Sprintf("x%d-%d", day, o.index)] {
		sum -= practiseGain
	}
	return sum + b.keeps(o, day)
}

// judged says whether an exercise is a lift the client is judged by.
func (b *builder) judged(e *exercise.Exercise) bool {
	return slices.Contains(b.athlete.Judged(), string(e.ID))
}

// onWeakSide says whether an exercise counts for a muscle that is limited on one
// side.
func (b *builder) onWeakSide(e *exercise.Exercise) bool {
	return slices.ContainsFunc(b.w.Client.Limits, func(l client.Limit) bool {
		one := l.Muscle.Side == anatomy.Left || l.Muscle.Side == anatomy.Right
		return one && (slices.Contains(e.Direct, l.Muscle.Muscle) || slices.Contains(e.Indirect, l.Muscle.Muscle))
	})
}

// addPairs joins drills with what they prepare, each paid once a day whatever the
// number of exercises it prepares, and isolations with the compounds before them.
func (b *builder) addPairs() {
	for i, o := range b.options {
		var led, drills, limited, compounds []int
		for j, q := range b.options {
			if q.exercise == o.exercise {
				continue
			}
			switch {
			case b.prepares(o, q):
				led = append(led, j)
			case b.prepares(q, o):
				drills = append(drills, j)
				if _, ok := b.limitOf(q.exercise); ok {
					limited = append(limited, j)
				}
			case (q.stage == exercise.Main || q.stage == exercise.Accessory) && len(o.exercise.Direct) > 0 && slices.Contains(q.exercise.Direct, o.exercise.Direct[0]):
				compounds = append(compounds, j)
			}
		}
		b.pair("prepares "+b.p.Options[i].Name, i, led, prepareGain)
		switch {
		case b.judged(o.exercise) && o.stage != exercise.Isolation:
			b.pair("prepared "+b.p.Options[i].Name, i, drills, liftReady)
			b.pair("prepared with the limit "+b.p.Options[i].Name, i, limited, liftPrepare)
		case o.stage == exercise.Isolation:
			b.pair("after "+b.p.Options[i].Name, i, compounds, afterGain)
		}
	}
}

// preparable says whether an option is a lift or accessory that a drill is there for;
// work for the trunk and carries need none.
func (b *builder) preparable(o built) bool {
	return o.stage == exercise.Main || o.stage != exercise.Drill && b.judged(o.exercise) ||
		o.stage == exercise.Accessory && o.exercise.Pattern != "trunk" && o.exercise.Pattern != "carry"
}

// prepares says whether an option is a drill that gets a lift or accessory going.
func (b *builder) prepares(o, later built) bool {
	return o.stage == exercise.Drill && b.preparable(later) &&
		slices.Contains(o.exercise.May, exercise.Prepare) && len(b.leads(o.exercise, later.exercise)) > 0
}

func (b *builder) pair(name string, of int, by []int, value int) {
	if len(by) > 0 {
		b.p.Pairs = append(b.p.Pairs, Pair{Name: name, For: of, By: by, Value: value})
	}
}

// leads lists the muscles an earlier exercise gets going for a later one, by the
// same rule as the check (docs/model/05-reasons.md R2), each pair asked once.
func (b *builder) leads(e, later *exercise.Exercise) []anatomy.Muscle {
	key := [2]*exercise.Exercise{e, later}
	if known, ok := b.led[key]; ok {
		return known
	}
	b.led[key] = check.Leads(b.athlete, e, later)
	return b.led[key]
}

// addRules adds what joins days and what is needed.
func (b *builder) addRules() {
	c := b.w.Client
	for _, l := range c.Wishes.Lifts {
		b.need(l.Exercise, max(l.Times, 1))
	}
	for _, l := range b.athlete.Judged() {
		if !slices.ContainsFunc(c.Wishes.Lifts, func(w client.WishedLift) bool { return w.Exercise == l }) {
			b.need(l, 1)
		}
	}
	b.limitNeeds()
	for i := 1; i < len(b.list); i++ {
		if b.list[i].Day.Index()-b.list[i-1].Day.Index() > 1 {
			continue
		}
		for _, m := range b.muscles {
			b.p.Near = append(b.p.Near, Near{Column: m.at, A: i - 1, B: i, Free: nearFree * SetUnit, Cost: nearCost})
		}
	}
	b.spreadLifts()
}

// spreadLifts keeps the days of a judged lift apart where the week has days further
// apart: less than liftApart days between two of them cost.
func (b *builder) spreadLifts() {
	for i := range b.list {
		for j := i + 1; j < len(b.list); j++ {
			gap := b.list[j].Day.Index() - b.list[i].Day.Index()
			if gap >= liftApart {
				continue
			}
			for _, l := range b.lifts {
				b.p.Near = append(b.p.Near, Near{Column: l.at, A: i, B: j, Free: liftFree * SetUnit, Cost: liftNear})
			}
		}
	}
}

// limitNeeds asks for what a limit wants done every week, as far as something there
// can do it: one drill that shows it, and single-limb work where one side is limited.
// More of it earns nothing.
func (b *builder) limitNeeds() {
	for _, l := range b.w.Client.Limits {
		if at, ok := b.groups["test "+l.Muscle.String()]; ok {
			b.p.Needs = append(b.p.Needs, Need{Group: at, Times: 1, Cost: testNeed})
		}
		if at, ok := b.groups["single "+l.Muscle.String()]; ok {
			b.p.Needs = append(b.p.Needs, Need{Group: at, Times: min(singleTimes, len(b.list)), Cost: singleNeed})
		}
	}
}

// need asks for a lift some times a week.
func (b *builder) need(lift string, times int) {
	if at, ok := b.groups[lift]; ok {
		b.p.Groups[at].Week = max(b.p.Groups[at].Week, times)
		b.p.Needs = append(b.p.Needs, Need{Group: at, Times: times, Cost: needCost})
		return
	}
	b.p.Groups = append(b.p.Groups, Group{Name: lift, Day: 1, Week: times})
	b.p.Needs = append(b.p.Needs, Need{Group: len(b.p.Groups) - 1, Times: times, Cost: needCost})
}

// lock holds the slots a coach has locked in the block to be kept.
func (b *builder) lock() {
	if b.w.Keep == nil {
		return
	}
	for d := range b.w.Keep.Sessions {
		for _, s := range b.w.Keep.Sessions[d].Slots {
			if !s.Lock || d >= len(b.list) {
				continue
			}
			at := slices.IndexFunc(b.options, func(o built) bool {
				return string(o.exercise.ID) == s.Exercise && (s.Stage == "" || exercise.Stage(s.Stage) == o.stage)
			})
			if at >= 0 {
				b.p.Locks = append(b.p.Locks, Lock{Option: at, Day: d, Sets: min(max(s.Dose.Count(), b.p.Options[at].Least), b.p.Options[at].Most)})
			}
		}
	}
}

// Build makes the problem of a wish, and what its options mean. The error is a
// *NoDesign where a stop stands that no choice of exercises avoids.
func build(w Wish) (*builder, error) {
	b := &builder{w: w, p: &Problem{Form: Version}, groups: map[string]int{}, turns: map[turnKey]string{}, led: map[[2]*exercise.Exercise][]anatomy.Muscle{}, athlete: session.NewAthlete(w.Client, w.Library, w.Practice, w.Start)}
	b.hold = check.HoldOn(w.Client, w.Start) != check.NoHold
	if err := b.days(); err != nil {
		return nil, err
	}
	b.spacedDays()
	if err := b.allowed(); err != nil {
		return nil, err
	}
	b.columns()
	b.addOptions()
	b.addPairs()
	b.addRules()
	b.lock()
	if err := b.p.check(); err != nil {
		panic(badBuild + err.Error())
	}
	return b, nil
}

const badBuild = "design: a problem of our own contradicts itself: "
