package design

import "slices"

// Moves of each effort (our judgement: what fits a preview, a proposal and a
// night; key judgement).
const (
	QuickMoves    = 100_000
	NormalMoves   = 1_000_000
	ThoroughMoves = 5_000_000
)

// Shares of the search, in hundredths of its moves (our judgement, after trials;
// key judgement).
const (
	firstShare = 80 // the first cooling, from hot
	againFrom  = 3  // later coolings start at hot/againFrom, from the best week
	ruinEvery  = 100
	ruinCost   = 20 // moves one ruin and repair counts as
)

// An Answer is what a search found.
type Answer struct {
	Choices []Choice `json:"choices"`
	Value   int64    `json:"value"` // 1/1000 point
	Moves   int      `json:"moves"`
	Seed    uint64   `json:"seed"`
}

// Search returns the best week it finds in a number of moves: greedy start,
// coolings with single moves, and ruin and repair in between. The same problem,
// moves and seed give the same answer on every machine. start may be empty; what
// of it breaks no rule is kept at the start.
func Search(p *Problem, start []Choice, moves int, seed uint64) Answer {
	return searchBest(p, start, moves, seed)[0]
}

// keptBest is how many of the best weeks a search hands on (our judgement).
const keptBest = 10

// searchBest returns what Search does, and after it the weeks that were the best
// before it, best first, up to keptBest in all.
func searchBest(p *Problem, start []Choice, moves int, seed uint64) []Answer {
	s := newSearch(p, seed)
	s.begin(start)
	s.greedy(-1)
	s.note()
	first := moves * firstShare / 100
	if len(start) > 0 {
		first = 0
	} else {
		s.cool(first, hot)
	}
	for left := moves - first; left > 0; {
		n := min(max(left/2, moves/8), left)
		s.restore()
		s.cool(n, hot/againFrom)
		left -= n
	}
	s.restore()
	s.polish()
	out := []Answer{{Choices: s.week.Choices(), Value: s.week.Value(), Moves: moves, Seed: seed}}
	for i := 1; i < keptBest && i < s.noted; i++ {
		copy(s.best, s.tops[(s.noted-1-i)%keptBest])
		s.restore()
		out = append(out, Answer{Choices: s.week.Choices(), Value: s.now, Moves: moves, Seed: seed})
	}
	return out
}

// A search is one run.
type search struct {
	p     *Problem
	t     *tables
	week  *Week
	dice  *dice
	free  [][]int32 // by day: options that may stand there
	on    [][]int32 // by day: options that do, locked ones left out
	where []int32   // by option*days + day: place in on, or -1
	now   int64     // value of the week

	undo  []Choice // sets before the move, first change first
	best  []int32  // sets of the best week
	top   int64
	tops  [keptBest][]int32 // sets of the last weeks that were the best, in a ring
	noted int               // how many there have been
	none  bool              // no week noted yet

	locksBreak int // by how much the locks alone break rules
}

func newSearch(p *Problem, seed uint64) *search {
	t := newTables(p)
	s := &search{p: p, t: t, week: newWeek(p, t), dice: newDice(seed), none: true,
		free: make([][]int32, t.days), on: make([][]int32, t.days), where: make([]int32, len(p.Options)*t.days)}
	for i := range s.where {
		s.where[i] = -1
	}
	for d := range t.days {
		for o := range p.Options {
			if _, locked := t.locked[int32(o*t.days+d)]; !locked && p.Options[o].Allowed[d] {
				s.free[d] = append(s.free[d], int32(o))
			}
		}
	}
	s.now, s.locksBreak = s.week.Value(), s.week.over
	return s
}

// begin puts the start into the week, leaving out what breaks a rule.
func (s *search) begin(start []Choice) {
	for _, c := range start {
		if _, locked := s.t.locked[int32(c.Option*s.t.days+c.Day)]; locked {
			continue
		}
		before := s.week.over
		s.set(c.Option, c.Day, c.Sets)
		if s.week.over > before {
			s.takeBack()
		}
		s.undo = s.undo[:0]
	}
	s.now = s.week.Value()
}

// set changes the week and remembers how to undo it.
func (s *search) set(option, day, sets int) {
	at := option*s.t.days + day
	old := int(s.week.sets[at])
	s.undo = append(s.undo, Choice{option, day, old})
	s.week.Set(option, day, sets)
	s.list(option, day, old, sets)
}

// list keeps the lists of what stands on each day.
func (s *search) list(option, day, old, sets int) {
	at := option*s.t.days + day
	switch {
	case old == 0 && sets > 0:
		s.where[at] = int32(len(s.on[day]))
		s.on[day] = append(s.on[day], int32(option))
	case old > 0 && sets == 0:
		i, end := s.where[at], len(s.on[day])-1
		last := s.on[day][end]
		s.on[day][i] = last
		s.where[int(last)*s.t.days+day] = i
		s.on[day] = s.on[day][:end]
		s.where[at] = -1
	}
}

// takeBack undoes the move.
func (s *search) takeBack() {
	for i := len(s.undo) - 1; i >= 0; i-- {
		c := s.undo[i]
		old := int(s.week.sets[c.Option*s.t.days+c.Day])
		s.week.Set(c.Option, c.Day, c.Sets)
		s.list(c.Option, c.Day, old, c.Sets)
	}
	s.undo = s.undo[:0]
}

// note keeps the week if it is the best so far.
func (s *search) note() {
	if s.none || s.now > s.top {
		s.none, s.top = false, s.now
		s.best = append(s.best[:0], s.week.sets...)
		at := s.noted % keptBest
		s.tops[at] = append(s.tops[at][:0], s.week.sets...)
		s.noted++
	}
}

// restore brings the best week back.
func (s *search) restore() {
	for pass := range 2 { // off first, so that the order of lists depends on nothing but the best
		for o := range s.p.Options {
			for d := range s.t.days {
				want := int(s.best[o*s.t.days+d])
				_, locked := s.t.locked[int32(o*s.t.days+d)]
				switch {
				case locked:
				case pass == 0:
					s.set(o, d, 0)
				default:
					s.set(o, d, want)
				}
			}
			s.undo = s.undo[:0]
		}
	}
	s.now = s.week.Value()
}

// cool does n moves while the temperature falls.
func (s *search) cool(n int, from int64) {
	heat := temperatures(from, cold)
	for i := 0; i < n; i++ {
		t := heat[i*coolSteps/n]
		if i%ruinEvery == ruinEvery-1 {
			s.ruin()
			i += ruinCost - 1
		} else if !s.move() {
			continue
		}
		s.decide(t)
	}
}

// decide keeps the move or takes it back, docs/model/08-design.md (5).
func (s *search) decide(t int64) {
	if s.week.over <= s.broken() {
		value := s.week.Value()
		lost := s.now - value
		if lost <= 0 || lost<<(2*oneBits) < t*losses[s.dice.next()%chances] {
			s.now = value
			s.undo = s.undo[:0]
			s.note()
			return
		}
	}
	s.takeBack()
}

// broken returns by how much the locks alone break rules: what no move can mend
// may stay.
func (s *search) broken() int { return s.locksBreak }

// move changes the week at random and says whether there was something to change.
func (s *search) move() bool {
	d := s.dice.below(s.t.days)
	switch k := s.dice.below(100); {
	case k < 30:
		return s.stretch(d)
	case k < 45:
		return s.shift()
	case k < 70:
		return s.replace(d)
	case k < 85:
		return s.add(d)
	case k < 90:
		return s.drop(d)
	case k < 95:
		return s.swapDays(d)
	case k < 99:
		return s.moveDay(d)
	}
	return s.exchangeDays(d)
}

// pick returns one of what stands on a day, or -1.
func (s *search) pick(d int) int {
	if len(s.on[d]) == 0 {
		return -1
	}
	return int(s.on[d][s.dice.below(len(s.on[d]))])
}

// stretch gives an option a set more or less.
func (s *search) stretch(d int) bool {
	o := s.pick(d)
	if o < 0 {
		return false
	}
	n := s.week.Sets(o, d) + 2*s.dice.below(2) - 1
	if n < s.p.Options[o].Least || n > s.p.Options[o].Most {
		return false
	}
	s.set(o, d, n)
	return true
}

// shift moves a set from one option to another, on whatever days.
func (s *search) shift() bool {
	d, e := s.dice.below(s.t.days), s.dice.below(s.t.days)
	o, q := s.pick(d), s.pick(e)
	if o < 0 || q < 0 || o == q && d == e {
		return false
	}
	n, m := s.week.Sets(o, d)-1, s.week.Sets(q, e)+1
	if n < s.p.Options[o].Least || m > s.p.Options[q].Most {
		return false
	}
	s.set(o, d, n)
	s.set(q, e, m)
	return true
}

// other returns an option that may stand on a day and does not, or -1.
func (s *search) other(d int) int {
	if len(s.free[d]) == 0 {
		return -1
	}
	o := int(s.free[d][s.dice.below(len(s.free[d]))])
	if s.week.Sets(o, d) > 0 {
		return -1
	}
	return o
}

// room returns how many sets of an option fit into the time left on a day; at
// least its least.
func (s *search) room(o, d int) int {
	x := &s.p.Options[o]
	left := s.p.Days[d].Seconds - s.week.seconds[d] - x.Setup
	n := x.Most
	if x.Set > 0 {
		n = min(n, left/x.Set)
	}
	return max(n, x.Least)
}

// put adds an option with a random number of the sets there is room for.
func (s *search) put(o, d int) {
	least, most := s.p.Options[o].Least, s.room(o, d)
	s.set(o, d, least+s.dice.below(most-least+1))
}

// replace puts another option in the place of one.
func (s *search) replace(d int) bool {
	o, q := s.pick(d), s.other(d)
	if o < 0 || q < 0 {
		return false
	}
	s.set(o, d, 0)
	s.put(q, d)
	return true
}

// add puts an option in.
func (s *search) add(d int) bool {
	q := s.other(d)
	if q < 0 || s.week.count[d] >= s.p.Days[d].Most {
		return false
	}
	s.put(q, d)
	return true
}

// drop takes an option off.
func (s *search) drop(d int) bool {
	o := s.pick(d)
	if o < 0 {
		return false
	}
	s.set(o, d, 0)
	return true
}

// allowed says whether an option may be moved to a day.
func (s *search) allowed(o, d int) bool {
	_, locked := s.t.locked[int32(o*s.t.days+d)]
	return !locked && s.p.Options[o].Allowed[d] && s.week.Sets(o, d) == 0
}

// swapDays exchanges two options between days.
func (s *search) swapDays(d int) bool {
	e := s.dice.below(s.t.days)
	o, q := s.pick(d), s.pick(e)
	if d == e || o < 0 || q < 0 || o == q || !s.allowed(o, e) || !s.allowed(q, d) {
		return false
	}
	n, m := s.week.Sets(o, d), s.week.Sets(q, e)
	s.set(o, d, 0)
	s.set(q, e, 0)
	s.set(o, e, n)
	s.set(q, d, m)
	return true
}

// exchangeDays puts all that stands on a day onto another and back, what is locked
// left where it is.
func (s *search) exchangeDays(d int) bool {
	e := s.dice.below(s.t.days)
	if d == e {
		return false
	}
	here, there := slices.Clone(s.on[d]), slices.Clone(s.on[e])
	changed := false
	for _, o := range here {
		if !slices.Contains(there, o) && s.allowed(int(o), e) {
			s.swapTo(int(o), d, e)
			changed = true
		}
	}
	for _, o := range there {
		if !slices.Contains(here, o) && s.allowed(int(o), d) {
			s.swapTo(int(o), e, d)
			changed = true
		}
	}
	return changed
}

// swapTo moves an option from a day to another.
func (s *search) swapTo(o, from, to int) {
	n := s.week.Sets(o, from)
	s.set(o, from, 0)
	s.set(o, to, n)
}

// moveDay moves an option to another day.
func (s *search) moveDay(d int) bool {
	e, o := s.dice.below(s.t.days), s.pick(d)
	if d == e || o < 0 || !s.allowed(o, e) {
		return false
	}
	n := s.week.Sets(o, d)
	s.set(o, d, 0)
	s.set(o, e, n)
	return true
}

// ruin takes some options off a day and fills the day again, best first.
func (s *search) ruin() {
	d := s.dice.below(s.t.days)
	for range 1 + s.dice.below(3) {
		if o := s.pick(d); o >= 0 {
			s.set(o, d, 0)
		}
	}
	s.greedy(d)
}

// greedy adds what gains most for its time, set counts tried from least to most,
// until nothing gains; on one day, or on all (-1). Changes are left to be undone.
func (s *search) greedy(only int) {
	for {
		bestO, bestD, bestN, bestRate := -1, 0, 0, int64(0)
		base := s.week.Value()
		for d := range s.t.days {
			if only >= 0 && d != only || s.week.count[d] >= s.p.Days[d].Most {
				continue
			}
			for i := range s.free[d] {
				o := int(s.free[d][i])
				if only >= 0 && s.dice.next()%4 != 0 { // a repair looks at some only
					continue
				}
				if s.week.Sets(o, d) > 0 || s.tooLong(o, d) {
					continue
				}
				n := s.p.Options[o].Least
				before := s.week.over
				s.week.Set(o, d, n)
				gain := s.week.Value() - base
				if s.week.over <= before && gain > 0 {
					if rate := gain * 1000 / int64(s.p.Options[o].Setup+n*s.p.Options[o].Set+60); rate > bestRate {
						bestO, bestD, bestN, bestRate = o, d, n, rate
					}
				}
				s.week.Set(o, d, 0)
			}
		}
		if bestO < 0 {
			break
		}
		s.set(bestO, bestD, bestN)
		s.lengthen(bestO, bestD)
	}
	if only < 0 {
		s.undo = s.undo[:0]
		s.now = s.week.Value()
	}
}

// tooLong says whether even the least of an option does not fit on a day.
func (s *search) tooLong(o, d int) bool {
	x := &s.p.Options[o]
	return s.week.seconds[d]+x.Setup+x.Least*x.Set > s.p.Days[d].Seconds
}

// lengthen adds sets to an option while they gain and fit.
func (s *search) lengthen(o, d int) {
	for n := s.week.Sets(o, d); n < s.p.Options[o].Most; n++ {
		value, before := s.week.Value(), s.week.over
		s.week.Set(o, d, n+1)
		gains := s.week.over <= before && s.week.Value() > value
		s.week.Set(o, d, n)
		if !gains {
			return
		}
		s.set(o, d, n+1)
	}
}

// polish climbs from the best week until no single set, option or exchange gains.
func (s *search) polish() {
	s.now = s.week.Value()
	for s.climb() {
		s.note()
	}
	s.note()
}

// climb does the first single change that gains, and says whether there was one.
func (s *search) climb() bool {
	broken := s.broken()
	better := func() bool {
		value := s.week.Value()
		if s.week.over <= broken && value > s.now {
			s.now, s.undo = value, s.undo[:0]
			return true
		}
		s.takeBack()
		return false
	}
	for d := range s.t.days {
		for _, o32 := range s.free[d] {
			o := int(o32)
			had := s.week.Sets(o, d)
			for n := s.p.Options[o].Least - 1; n <= s.p.Options[o].Most; n++ {
				if n == had || n < s.p.Options[o].Least && had == 0 {
					continue
				}
				if n < s.p.Options[o].Least {
					s.set(o, d, 0)
				} else {
					s.set(o, d, n)
				}
				if better() {
					return true
				}
			}
			if had == 0 && s.exchange(o, d, better) {
				return true
			}
		}
	}
	return false
}

// exchange tries an option in the place of each that stands on its day.
func (s *search) exchange(o, d int, better func() bool) bool {
	for i := 0; i < len(s.on[d]); i++ {
		q := int(s.on[d][i])
		for n := s.p.Options[o].Least; n <= s.p.Options[o].Most; n++ {
			s.set(q, d, 0)
			s.set(o, d, n)
			if better() {
				return true
			}
		}
	}
	return false
}
