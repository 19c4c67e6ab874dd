package design

import (
	"fmt"
	"slices"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
	"corbel/effort"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// A Wish is what a block is proposed from.
type Wish struct {
	Client   *client.Client
	Library  *exercise.Library
	Practice *client.Practice // may be nil
	Shares   session.Sharer   // shares the reasons are tested with; nil for those the library states, with which the search works
	Start    form.Date        // Monday of the first week
	Caps     Capper           // caps beyond the client file's; may be nil
	Keep     *plan.Block      // block whose exercises are to stay; may be nil
	Few      bool             // few changes: keeping counts more
	Next     bool             // Keep is the block before: its accessories take turns within their families unless the client wishes to keep
	Moves    int              // moves of the search
	Seed     uint64
	Draws    int // draws the reasons are tested in

	group bool // for a group programme
}

// A Capper says what a limited muscle may get a week beyond what the client file
// says: hard sets, and false where nothing is known.
type Capper interface {
	Cap(c *client.Client, m anatomy.MuscleSide) (sets float64, ok bool)
}

// A NoDesign says why nothing can be proposed.
type NoDesign struct{ Why string }

// Error returns why.
func (e *NoDesign) Error() string { return e.Why }

// Worth of what the training is for, 1/1000 point (our judgement: a set that is
// short of its aim is worth a point or two, a reason about one set; key judgement).
const (
	aimSet       = 1600 // a hard set up to the low end of an aim
	liftSet      = 2400 // a lift set up to the low end
	goalSet      = 1200 // a hard set of a muscle a goal of size names, without an aim
	generalSet   = 500  // a hard set of any muscle where a goal is general strength
	anySet       = 120  // a hard set of any other muscle
	insideAim    = 12   // a set between the ends of an aim is worth so many times less than one up to it
	groupSecond  = 2    // for a group, who does more sessions is to find more in them: the second as many sets are worth so many times less
	groupThird   = 4    // and groupLast sets after them
	beyondAim    = 3    // a set beyond costs a third of what one up to it is worth
	useCost      = 250  // one exercise more to learn
	setCost      = 60   // effort of any set
	lightCost    = 500  // of a set with the body alone that is too light for the client
	lengthCost   = 25   // of a set, for each step from even to long load of an isolation
	practiseGain = 700  // a judged lift, once it comes
	testGain     = 400  // a drill that shows a limit, each time
	prepareGain  = 400  // a drill before what it prepares
	liftReady    = 500  // a judged lift after a drill that prepares it
	liftPrepare  = 1300 // beside it, where the drill is for a limit and the lift is judged
	afterGain    = 250  // an isolation after a compound for the same muscle
	singleGain   = 300  // single-limb work for a muscle limited on one side; as much less for work of both sides
	keepGain     = 800  // a slot that stays
	fewGain      = 3000 // a slot that stays, where few changes are asked
	needCost     = 20000
	singleNeed   = 3000 // single-limb work for a muscle limited on one side, each time it is short of singleTimes
	testNeed     = 2000 // a drill that shows a limit, once a week
	nearCost     = 30   // of 1/20 set beyond nearFree on neighbouring days
	nearFree     = 4    // hard sets
	liftApart    = 3    // days from one day of a judged lift to the next that cost nothing
	liftFree     = 3    // lift sets of two nearer days that cost nothing: those of one
	liftNear     = 15   // of 1/20 lift set beyond them
)

// capMargin is what is kept free under a cap, percent: in a session a set may count
// more than alone (our judgement).
const capMargin = 5

// singleTimes is how often a week single-limb work for a muscle limited on one side
// is wanted (common practice: twice; our judgement).
const singleTimes = 2

// Sets of aims where none is written (low, high; our judgement within the ranges of
// pelland-2024; key judgement).
const (
	sizeLow, sizeHigh       = 10, 16
	generalLow, generalHigh = 4, 10
	groupLast               = 8
	otherLow, otherHigh     = 2, 8
)

// columns lists what the week is counted for: muscles, sides apart where an aim
// or limit tells them apart, then judged lifts.
func (b *builder) columns() {
	for _, id := range anatomy.Muscle("").Values() {
		m := anatomy.Muscle(id)
		sides := []anatomy.Side{anatomy.NoSide}
		if b.sided(m) {
			sides = []anatomy.Side{anatomy.Left, anatomy.Right}
		}
		for _, side := range sides {
			b.muscleColumn(anatomy.MuscleSide{Muscle: m, Side: side})
		}
	}
	for _, lift := range b.athlete.Judged() {
		b.liftColumn(lift)
	}
}

// sided says whether the sides of a muscle are told apart.
func (b *builder) sided(m anatomy.Muscle) bool {
	for _, a := range b.w.Client.Aims {
		if a.Muscle.Muscle == m && (a.Muscle.Side == anatomy.Left || a.Muscle.Side == anatomy.Right) {
			return true
		}
	}
	return slices.ContainsFunc(b.w.Client.Limits, func(l client.Limit) bool {
		return l.Muscle.Muscle == m && (l.Muscle.Side == anatomy.Left || l.Muscle.Side == anatomy.Right)
	})
}

// aim returns the aim of a muscle: that of the side itself before one of both.
func (b *builder) aim(m anatomy.MuscleSide) (client.Aim, bool) {
	best, found := client.Aim{}, false
	for _, a := range b.w.Client.Aims {
		if a.Muscle.Muscle == m.Muscle && a.Muscle.Side.Meets(m.Side) && (!found || a.Muscle.Side == m.Side) {
			best, found = a, true
		}
	}
	return best, found
}

// muscleColumn adds the column of a muscle.
func (b *builder) muscleColumn(m anatomy.MuscleSide) {
	aim, ok := b.aim(m)
	low, high, worth := float64(otherLow), float64(otherHigh), anySet
	for _, g := range b.w.Client.Goals {
		weight := g.Weight
		if weight == 0 {
			weight = 5
		}
		switch {
		case g.For == "size" && g.Muscle.Muscle == m.Muscle && g.Muscle.Side.Meets(m.Side):
			worth = max(worth, goalSet*(5+weight)/10)
			low, high = sizeLow, sizeHigh
		case (g.For == "general strength" || g.For == "return" || g.For == "size" && g.Muscle.IsZero()) && low != sizeLow:
			worth = max(worth, generalSet*(5+weight)/10)
			low, high = generalLow, generalHigh
		}
	}
	limit := 0
	if ok {
		low, high, worth = aim.Sets.Low, aim.Sets.High, max(worth, aimSet)
		if aim.Cap != nil {
			limit = int(*aim.Cap * SetUnit)
		}
	}
	if b.w.Caps != nil {
		if sets, known := b.w.Caps.Cap(b.w.Client, m); known && (limit == 0 || int(sets*SetUnit) < limit) {
			limit = int(sets * SetUnit)
		}
	}
	b.column(m.String(), low, high, worth, limit-limit*capMargin/100)
	at := len(b.p.Columns) - 1
	if !ok { // what we take for usual is no aim of the client
		b.p.Columns[at].Low, b.p.Columns[at].High = 0, 0
	}
	b.muscles = append(b.muscles, muscleColumn{m, at})
}

// column adds a column with an aim: full worth up to its low end, a little up to
// its high end, a cost beyond.
func (b *builder) column(name string, low, high float64, worth, limit int) {
	slope := max(worth/SetUnit, 1)
	c := Column{Name: name, Low: int(low * SetUnit), High: int(high * SetUnit), Cap: limit}
	if c.Low > 0 {
		c.Pieces = append(c.Pieces, Piece{c.Low, slope})
	}
	switch {
	case b.w.group: // who comes oftener finds less in a set, and still something
		c.Pieces = append(c.Pieces, Piece{c.Low, slope / groupSecond}, Piece{groupLast * SetUnit, slope / groupThird})
	case c.High > c.Low:
		c.Pieces = append(c.Pieces, Piece{c.High - c.Low, slope / insideAim})
	}
	c.Pieces = append(c.Pieces, Piece{1, -max(slope/beyondAim, 1)})
	b.p.Columns = append(b.p.Columns, c)
}

// liftColumn adds the column of a judged lift.
func (b *builder) liftColumn(lift string) {
	low, high := effort.LiftSetsAim, effort.LiftSetsFlat
	for _, a := range b.w.Client.Aims {
		if a.Exercise == lift {
			low, high = a.Sets.Low, a.Sets.High
		}
	}
	b.column(liftPrefix+lift, low, high, liftSet, 0)
	b.lifts = append(b.lifts, liftColumn{lift, len(b.p.Columns) - 1})
}

type muscleColumn struct {
	m  anatomy.MuscleSide
	at int
}

type liftColumn struct {
	lift string
	at   int
}

// days makes a session of each day the client can train.
func (b *builder) days() error {
	c := b.w.Client
	if len(c.Days) == 0 {
		return &NoDesign{fmt.Sprintf("%s has no days on record; write days with minutes and place into the client file", c.ID)}
	}
	if len(c.Days) > mostDays {
		return &NoDesign{fmt.Sprintf("%s has %d days; a week is designed for at most %d", c.ID, len(c.Days), mostDays)}
	}
	b.list = slices.Clone(c.Days)
	slices.SortStableFunc(b.list, func(x, y client.Day) int { return x.Day.Index() - y.Day.Index() })
	for i, d := range b.list {
		name := fmt.Sprintf("%s %d", d.Day, i+1)
		b.p.Days = append(b.p.Days, Day{Name: name, Seconds: 60 * d.Minutes, Most: min(c.Wishes.Exercises(), MostOrdered)})
	}
	return nil
}

// allowed asks the safety list about every exercise on every day: which may stand
// where. A stop that no choice of exercises avoids is why nothing is proposed.
func (b *builder) allowed() error {
	block := b.frame()
	for i := range block.Sessions {
		for j, e := range b.w.Library.All() {
			block.Sessions[i].Slots = append(block.Sessions[i].Slots, plan.Slot{ID: form.ID(fmt.Sprintf("x%d-%d", i, j)), Exercise: string(e.ID), Dose: dose("2 x 10 rir 3")})
		}
	}
	b.stopped, b.doubt = map[string]bool{}, map[string]bool{}
	for _, p := range check.Safety(check.Input{Client: b.w.Client, Block: block, Library: b.w.Library, Practice: b.w.Practice}) {
		switch {
		case p.At.Slot == "" && p.Blocks():
			return &NoDesign{p.Text}
		case p.Blocks():
			b.stopped[p.At.Slot] = true
		case p.Severity == check.Settle && p.Kept == "":
			b.doubt[p.At.Slot] = true
		}
	}
	return nil
}

// frame is the block without exercises.
func (b *builder) frame() *plan.Block {
	c := b.w.Client
	out := &plan.Block{Form: form.Version, ID: c.ID + "-proposed", Name: "-", Client: string(c.ID), Start: b.w.Start, Weeks: blockWeeks, State: plan.Draft, Revision: 1,
		Deload: deload()}
	for i, d := range b.list {
		s := plan.Session{ID: form.ID(fmt.Sprintf("s%d", i+1)), Name: d.Day.In(c.Language), Day: d.Day, Place: d.Place, Minutes: d.Minutes}
		if b.w.group { // a member chooses the days
			s.Name = fmt.Sprintf("%s %d", form.Text{En: "Session", De: "Einheit"}.In(c.Language), i+1)
		}
		out.Sessions = append(out.Sessions, s)
	}
	return out
}

// mayStand says whether an exercise may stand on a day: not stopped, not unwanted,
// equipment there.
func (b *builder) mayStand(e *exercise.Exercise, index, day int) bool {
	place := b.w.Client.PlaceByID(b.list[day].Place)
	if b.beyondThem(e) {
		return false
	}
	if e.Retired || b.stopped[fmt.Sprintf("x%d-%d", day, index)] || slices.Contains(b.w.Client.Wishes.Without, string(e.ID)) || place == nil {
		return false
	}
	for _, q := range e.Equipment {
		if !place.Offers(q) {
			return false
		}
	}
	for _, m := range e.Direct { // painful regions rest a day: spacing
		if b.hurts(m.Region()) && !b.spaced[day] {
			return false
		}
	}
	return true
}

// Repetitions with nothing but the body that make a set worth proposing, and beyond
// which the body alone is too light, fresh and to failure; and how much of the body,
// moved by both sides, is light for who is trained (our judgement; key judgement).
const (
	fewestOwn = 8.0
	mostOwn   = 25.0
	lightOwn  = 0.7
)

// ownRepetitions returns how many repetitions with nothing but the body a lift on
// record means, and false where there is none.
func (b *builder) ownRepetitions(e *exercise.Exercise) (n float64, known bool) {
	m, ok := b.athlete.Max(e, anatomy.NoSide)
	carried := b.athlete.Carried(e)
	if !ok || carried <= 0 || m.External+carried <= 0 {
		return 0, false
	}
	p := carried / (m.External + carried)
	if p >= 1 {
		return 1, true
	}
	k, _ := b.athlete.LiftK(e)
	return 1 + (1-p)/(k*p), true
}

// beyondThem says whether an exercise lifts the whole body by the arms and nothing
// says that the client can do it often enough: what the library lets be assisted is
// proposed where a lift on record shows it, or where the client is judged by it,
// wishes for it or did it in the block before.
func (b *builder) beyondThem(e *exercise.Exercise) bool {
	if !bodyAlone(e) || !slices.Contains(e.Loads, exercise.Assisted) {
		return false
	}
	if n, known := b.ownRepetitions(e); known {
		return n < fewestOwn
	}
	wished := slices.ContainsFunc(b.w.Client.Wishes.Lifts, func(l client.WishedLift) bool { return l.Exercise == string(e.ID) })
	return !wished && !b.judged(e) && !b.stood(e)
}

// stood says whether an exercise stands in the block that is to be kept.
func (b *builder) stood(e *exercise.Exercise) bool {
	if b.w.Keep == nil {
		return false
	}
	return slices.ContainsFunc(b.w.Keep.Sessions, func(s plan.Session) bool {
		return slices.ContainsFunc(s.Slots, func(x plan.Slot) bool { return x.Exercise == string(e.ID) })
	})
}

// tooLight says whether the body alone is too light for a client: by a lift on record,
// or for who is trained where both sides move little of it.
func (b *builder) tooLight(o built) bool {
	if o.work != "max" || o.exercise.Pattern == "trunk" {
		return false
	}
	if n, known := b.ownRepetitions(o.exercise); known {
		return n > mostOwn
	}
	return b.w.Client.Experience == client.Trained && o.exercise.Sides == exercise.BothSides && o.exercise.Carried < lightOwn
}

// hurts says whether pain that has not settled is on record in a region.
func (b *builder) hurts(r anatomy.Region) bool {
	return slices.ContainsFunc(b.w.Client.Pain, func(p client.Pain) bool {
		return p.Place.Region() == r && p.Until.IsZero() && check.PainRuleFor(p) != check.PainGoesOn
	})
}

// spacedDays picks days with at least one between them, round the week.
func (b *builder) spacedDays() {
	last, first := -9, -9
	b.spaced = make([]bool, len(b.list))
	for i, d := range b.list {
		at := d.Day.Index()
		if at-last < 2 || first >= 0 && first+7-at < 2 {
			continue
		}
		b.spaced[i], last = true, at
		if first < 0 {
			first = at
		}
	}
}

// builder builds a problem from a wish.
type builder struct {
	w       Wish
	p       *Problem
	athlete *session.Athlete
	list    []client.Day
	hold    bool // heavy loads and failure are not for now

	stopped, doubt map[string]bool
	spaced         []bool
	muscles        []muscleColumn
	lifts          []liftColumn
	options        []built
	groups         map[string]int
	tables         *tables            // of the problem, once it is built
	turns          map[turnKey]string // another exercise of the family, by exercise and day
	led            map[[2]*exercise.Exercise][]anatomy.Muscle
}
