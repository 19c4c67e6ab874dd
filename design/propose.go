package design

import (
	"fmt"
	"math"
	"slices"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/unit"
)

// A Proposal is a proposed block with what it rests on.
type Proposal struct {
	Problem *Problem
	Answer  Answer
	Bound   int64 // 1/1000 point; what no week passes
	Block   *plan.Block
	Placed  []Placed
	Dropped []Choice        // choices left out because no reason for them holds
	Weeks   []*session.Week // the block done on paper
	Changes []Change        // from the block that was to be kept
	Unmet   []string        // names of the groups of needs that are not met
}

// A Placed is a slot with the choice it was written from.
type Placed struct {
	Session form.ID `json:"session"`
	Slot    form.ID `json:"slot"`
	Option  int     `json:"option"`
	Day     int     `json:"day"`
	Sets    int     `json:"sets"`
}

// Propose builds the problem of a wish, searches it, puts each session in order and
// writes the block with the reasons that hold. The error is a *NoDesign where a
// stop stands that no choice of exercises avoids.
func Propose(w Wish) (*Proposal, error) {
	b, err := build(w)
	if err != nil {
		return nil, err
	}
	return b.propose(), nil
}

// propose searches the problem and writes its block.
func (b *builder) propose() *Proposal {
	best := searchBest(b.p, b.start(), b.w.Moves, b.w.Seed)
	if b.w.Shares != nil { // from here on few exercises are left, so that the client's own shares are at hand
		b.athlete.Under, b.led = b.w.Shares, map[[2]*exercise.Exercise][]anatomy.Muscle{}
	}
	if len(b.p.Views) > 0 { // a group is judged by its views
		best = best[:1]
	}
	b.tables = newTables(b.p)
	answer, days := b.choose(best)
	out := &Proposal{Problem: b.p, Answer: answer, Bound: Bound(b.p, best[0].Value, BoundSteps)}
	b.settle(out, days)
	out.Changes = b.changes(out)
	final := b.p.Fill(out.Answer.Choices)
	for _, n := range b.p.Needs {
		if int(final.inWeek[n.Group]) < n.Times {
			out.Unmet = append(out.Unmet, b.p.Groups[n.Group].Name)
		}
	}
	return out
}

// start lists the choices of the block that is to be kept, day by day.
func (b *builder) start() []Choice {
	var out []Choice
	if b.w.Keep == nil {
		return out
	}
	for d := range b.w.Keep.Sessions {
		for _, s := range b.w.Keep.Sessions[d].Slots {
			at := slices.IndexFunc(b.options, func(o built) bool {
				return string(o.exercise.ID) == s.Exercise && (s.Stage == "" && o.stage == o.exercise.Stage || exercise.Stage(s.Stage) == o.stage)
			})
			if d < len(b.list) && at >= 0 && b.p.Options[at].Allowed[d] {
				out = append(out, Choice{at, d, min(max(s.Dose.Count(), b.p.Options[at].Least), b.p.Options[at].Most)})
			}
		}
	}
	return out
}

// itemOf makes an item of a choice, as in the first week.
func (b *builder) itemOf(c Choice, id form.ID) session.Item {
	o := b.options[c.Option]
	slot := b.slot(c, id)
	return session.Item{Slot: &slot, Exercise: o.exercise, Stage: o.stage, Dose: withRest(slot.Dose, o.rest)}
}

// Weights of an order, against 1/1000 repetition a set (our judgement; key
// judgement).
const (
	mainWeight   = 3  // what a main lift loses counts three times
	changeWeight = 20 // other equipment than the exercise before
)

// inOrder puts the choices of a day in the cheapest order,
// docs/model/08-design.md (7).
func (b *builder) inOrder(list []Choice, day int) []Choice {
	n := len(list)
	if n < 2 {
		return list
	}
	o := Order{Must: make([]uint32, n)}
	for range n {
		o.Before, o.Next = append(o.Before, make([]int, n)), append(o.Next, make([]int, n))
	}
	b.costs(list, day, o.Before)
	for i := range n {
		for j := range n {
			x, y := b.options[list[i].Option], b.options[list[j].Option]
			if i != j && b.mustPrecede(x, y) {
				o.Must[j] |= 1 << i
			}
			if !slices.ContainsFunc(x.exercise.Equipment, func(e client.Equipment) bool { return slices.Contains(y.exercise.Equipment, e) }) {
				o.Next[i][j] = changeWeight
			}
		}
	}
	out := make([]Choice, 0, n)
	for _, i := range o.Best() {
		out = append(out, list[i])
	}
	return out
}

// costs fills in what each exercise costs each other one that comes later: from
// the session as listed and from the same in reverse.
func (b *builder) costs(list []Choice, day int, into [][]int) {
	place := b.w.Client.PlaceByID(b.list[day].Place)
	n := len(list)
	for _, reverse := range []bool{false, true} {
		items := make([]session.Item, n)
		at := func(i int) int {
			if reverse {
				return n - 1 - i
			}
			return i
		}
		for i, c := range list {
			items[at(i)] = b.itemOf(c, form.ID(fmt.Sprint("o", i)))
		}
		v := b.athlete.Visit(&plan.Session{ID: "order"}, 1, items, place, 0, 1)
		for i := range list {
			for j := range list {
				if at(i) >= at(j) {
					continue
				}
				cost := int(math.Round(1000 * v.Slots[at(i)].Lost[at(j)]))
				if b.options[list[j].Option].stage == exercise.Main {
					cost *= mainWeight
				}
				into[i][j] = cost
			}
		}
	}
}

// mustPrecede says whether x comes before y whatever it costs: drills first,
// finishers last, the lift the client is judged by before other work, main lifts
// before what assists them, compounds before isolations for the same muscle, work
// for the trunk after what needs it steady (nsca-essentials-17; common practice).
func (b *builder) mustPrecede(x, y built) bool {
	last := func(o built) bool { return o.exercise.Pattern == "trunk" || o.exercise.Pattern == "carry" }
	rank := func(o built) int {
		switch {
		case o.stage == exercise.Drill:
			return 0
		case o.stage == exercise.Finisher:
			return 5
		case o.stage != exercise.Isolation && b.judged(o.exercise):
			return 1
		case o.stage == exercise.Main:
			return 2
		case last(o) || o.stage == exercise.Isolation:
			return 4
		}
		return 3
	}
	return rank(x) < rank(y)
}

// slot writes a choice into a slot without reasons.
func (b *builder) slot(c Choice, id form.ID) plan.Slot {
	o := b.options[c.Option]
	s := plan.Slot{ID: id, Exercise: string(o.exercise.ID), Stage: plan.Stage(o.stage), Dose: dose(o.text(c.Sets, 1)), Rest: restOf(o.rest)}
	if o.stage != exercise.Drill {
		s.Weeks = map[int]plan.Dose{}
		for week := 2; week < deloadWeek; week++ {
			s.Weeks[week] = dose(o.text(c.Sets, week))
		}
	} else if _, ok := b.limitOf(o.exercise); ok {
		s.Measure = "reserve"
		if o.exercise.Sides != exercise.BothSides {
			s.Measure = "reserve both sides"
		}
	}
	return s
}

// slotID names a place in a session: a1, a2.
func slotID(day, n int) form.ID { return form.ID(fmt.Sprintf("%c%d", 'a'+day, n+1)) }

// block writes the choices of each day, in order, with every reason they may have.
func (b *builder) block(days [][]Choice) (*plan.Block, []Placed) {
	out := b.frame()
	var placed []Placed
	for d := range days {
		ses := &out.Sessions[d]
		for n, c := range days[d] {
			id := slotID(d, n)
			ses.Slots = append(ses.Slots, b.slot(c, id))
			placed = append(placed, Placed{ses.ID, id, c.Option, d, c.Sets})
		}
		for n := range days[d] {
			ses.Slots[n].Reasons = b.claims(days[d], ses, n)
		}
	}
	out.Sessions = slices.DeleteFunc(out.Sessions, func(s plan.Session) bool { return len(s.Slots) == 0 })
	return out, placed
}

// claims lists every reason an exercise may be there for: the lift it practises,
// the limit it shows, what it prepares, the muscles it builds.
func (b *builder) claims(list []Choice, ses *plan.Session, n int) []plan.Reason {
	var out []plan.Reason
	o := b.options[list[n].Option]
	if o.stage == exercise.Drill {
		if l, ok := b.limitOf(o.exercise); ok {
			m := l.Muscle
			out = append(out, plan.Reason{Test: &m})
		}
		for _, later := range b.judgedFirst(list, n+1) {
			x := b.options[list[later].Option]
			if b.preparable(x) && (len(b.leads(o.exercise, x.exercise)) > 0 || o.exercise.Pattern == x.exercise.Pattern) {
				out = append(out, plan.Reason{Prepare: ses.Slots[later].ID})
			}
		}
		return out
	}
	for _, l := range b.lifts {
		if o.exercise.Counts(l.lift) {
			out = append(out, plan.Reason{Practise: l.lift})
		}
	}
	for _, muscles := range [][]anatomy.Muscle{o.exercise.Direct, o.exercise.Indirect} {
		for _, m := range muscles {
			side := anatomy.NoSide
			if o.left > 0 {
				side = anatomy.Left
			} else if o.left < 0 {
				side = anatomy.Right
			}
			if side != anatomy.NoSide && !b.sided(m) {
				side = anatomy.NoSide
			}
			out = append(out, plan.Reason{Load: &anatomy.MuscleSide{Muscle: m, Side: side}})
		}
	}
	return out
}

// judgedFirst lists the places from first on, those of judged lifts before others.
func (b *builder) judgedFirst(list []Choice, first int) []int {
	var out, rest []int
	for i := first; i < len(list); i++ {
		if slices.Contains(b.athlete.Judged(), string(b.options[list[i].Option].exercise.ID)) {
			out = append(out, i)
		} else {
			rest = append(rest, i)
		}
	}
	return append(out, rest...)
}

// Bounds of settling (our judgement; key judgement).
const (
	settleRounds = 12
	mostReasons  = 3
)

// settle writes the block, takes off what no reason holds for and sets that do not
// fit the time when the session is done on paper, and keeps the reasons that hold.
func (b *builder) settle(out *Proposal, days [][]Choice) {
	for round := range settleRounds {
		block, placed := b.block(days)
		in := check.Input{Client: b.w.Client, Block: block, Library: b.w.Library, Practice: b.w.Practice, Shares: b.w.Shares, Seed: b.w.Seed}
		if round > 0 {
			in.Draws = b.w.Draws
		}
		hold, weeks := check.Holding(in)
		out.Block, out.Placed, out.Weeks = block, placed, weeks
		last := round == settleRounds-1
		changed := b.shorten(weeks, days)
		changed = b.capped(weeks, days) || changed
		if !changed && !last {
			changed = b.freeLifts(weeks[0], placed, hold, days)
		}
		for d := range days {
			if !changed && !last {
				changed = b.dropIdle(out, placed, hold, days, d) || changed
			}
		}
		if !changed && round > 0 || last {
			b.keepReasons(block, hold)
			writeWarmUps(block, weeks)
			return
		}
	}
}

// freeLifts takes a set off what costs a judged lift most where it comes too tired to
// be practised, one for each session.
func (b *builder) freeLifts(w *session.Week, placed []Placed, hold map[form.ID][]plan.Reason, days [][]Choice) bool {
	changed := false
	for _, v := range w.Visits {
		for to, it := range v.Items {
			practised := slices.ContainsFunc(hold[it.Slot.ID], func(r plan.Reason) bool { return r.Practise != "" })
			if practised || it.Stage == exercise.Drill || !slices.ContainsFunc(b.lifts, func(l liftColumn) bool { return it.Exercise.Counts(l.lift) }) {
				continue
			}
			from, most := -1, 0.0
			for i := range to {
				if cost := v.Slots[i].Lost[to]; cost > most {
					from, most = i, cost
				}
			}
			if from < 0 {
				continue
			}
			at := slices.IndexFunc(placed, func(p Placed) bool { return p.Slot == v.Items[from].Slot.ID })
			if changed = b.oneLess(days, placed[at]) || changed; changed {
				break
			}
		}
	}
	return changed
}

// oneLess takes a set off a placed choice, or all of it where it has none to spare.
func (b *builder) oneLess(days [][]Choice, p Placed) bool {
	i := slices.Index(days[p.Day], Choice{p.Option, p.Day, p.Sets})
	if i < 0 || b.locked(p) {
		return false
	}
	days[p.Day] = slices.Clone(days[p.Day])
	if p.Sets > b.p.Options[p.Option].Least {
		days[p.Day][i].Sets--
	} else {
		days[p.Day] = slices.Delete(days[p.Day], i, i+1)
	}
	return true
}

// dropIdle takes the least useful exercise without a reason off a day.
func (b *builder) dropIdle(out *Proposal, placed []Placed, hold map[form.ID][]plan.Reason, days [][]Choice, d int) bool {
	worst, least := -1, int64(0)
	week := b.p.Fill(slices.Concat(days...))
	for _, p := range placed {
		at := slices.Index(days[d], Choice{p.Option, p.Day, p.Sets})
		if p.Day != d || at < 0 || len(hold[p.Slot]) > 0 || b.locked(p) {
			continue
		}
		value := week.Value()
		week.Set(p.Option, p.Day, 0)
		lost := value - week.Value()
		week.Set(p.Option, p.Day, p.Sets)
		if worst < 0 || lost < least {
			worst, least = at, lost
		}
	}
	if worst < 0 {
		return false
	}
	out.Dropped = append(out.Dropped, days[d][worst])
	days[d] = slices.Delete(slices.Clone(days[d]), worst, worst+1)
	return true
}

func (b *builder) locked(p Placed) bool {
	return slices.ContainsFunc(b.p.Locks, func(l Lock) bool { return l.Option == p.Option && l.Day == p.Day })
}

// shorten takes a set off, or an exercise that has no more to give, from the end of
// each session whose time on paper may pass what there is.
func (b *builder) shorten(weeks []*session.Week, days [][]Choice) bool {
	changed := false
	long := map[form.ID]bool{}
	for _, w := range weeks {
		for _, v := range w.Visits {
			if v.Minutes.High > float64(v.Session.Minutes) {
				long[v.Session.ID] = true
			}
		}
	}
	for d := range days {
		if n := len(days[d]); n > 0 && long[form.ID(fmt.Sprintf("s%d", d+1))] {
			days[d] = slices.Clone(days[d])
			c := &days[d][n-1]
			if c.Sets--; c.Sets < b.p.Options[c.Option].Least {
				days[d] = days[d][:n-1]
			}
			changed = true
		}
	}
	return changed
}

// capped takes a set off an exercise that counts for a muscle whose cap is passed
// on paper: a set may count more in a session than alone.
func (b *builder) capped(weeks []*session.Week, days [][]Choice) bool {
	changed := false
	for _, c := range b.muscles {
		limit := b.p.Columns[c.at].Cap
		over := func(w *session.Week) bool {
			return limit > 0 && w.Of(c.m.Muscle, c.m.Side).Sum() > float64(limit)/SetUnit
		}
		if !slices.ContainsFunc(weeks, over) {
			continue
		}
		changed = b.less(days, c.at) || changed
	}
	return changed
}

// less takes a set off where the week loses least for the work it saves, of the
// choices that count for a column; all of a choice only where none has a set to spare,
// and never a judged lift.
func (b *builder) less(days [][]Choice, column int) bool {
	week := b.p.Fill(slices.Concat(days...))
	for _, whole := range []bool{false, true} {
		worst, least := Choice{}, int64(0)
		for _, c := range slices.Concat(days...) {
			o := &b.p.Options[c.Option]
			at := slices.IndexFunc(o.Work, func(w Work) bool { return w.Column == column })
			if at < 0 || whole && b.judged(b.options[c.Option].exercise) || b.locked(Placed{Option: c.Option, Day: c.Day}) || !whole && c.Sets == o.Least {
				continue
			}
			fewer := c.Sets - 1
			if fewer < o.Least {
				fewer = 0
			}
			value := week.Value()
			week.Set(c.Option, c.Day, fewer)
			saved := int64((c.Sets - fewer) * o.Work[at].Units)
			if lost := (value - week.Value()) * SetUnit / max(saved, 1); worst.Sets == 0 || lost < least {
				worst, least = c, lost
			}
			week.Set(c.Option, c.Day, c.Sets)
		}
		if worst.Sets > 0 {
			return b.oneLess(days, Placed{Option: worst.Option, Day: worst.Day, Sets: worst.Sets})
		}
	}
	return false
}

// keepReasons leaves each slot the reasons that hold: all but what it builds, at
// most two, then one muscle.
func (b *builder) keepReasons(block *plan.Block, hold map[form.ID][]plan.Reason) {
	for i := range block.Sessions {
		for j := range block.Sessions[i].Slots {
			s := &block.Sessions[i].Slots[j]
			var kept []plan.Reason
			builds := false
			for _, r := range hold[s.ID] {
				if len(kept) == mostReasons || r.Load != nil && builds || r.Prepare != "" && slices.ContainsFunc(kept, func(k plan.Reason) bool { return k.Prepare != "" }) {
					continue
				}
				builds = builds || r.Load != nil
				kept = append(kept, r)
			}
			s.Reasons = kept
		}
	}
}

// writeWarmUps writes in the warm-up sets that the minutes already count, where the
// lift is on record: each week's in percent of the 1RM.
func writeWarmUps(block *plan.Block, weeks []*session.Week) {
	for _, w := range weeks {
		for _, v := range w.Visits {
			for i, it := range v.Items {
				_, s := block.SlotByID(it.Slot.ID)
				sets := warmUps(v, i)
				if s == nil || len(sets) == 0 || w.Number == deloadWeek {
					continue
				}
				if w.Number == 1 {
					s.Dose.WarmUp, s.Dose.Text = sets, ""
				} else if d, ok := s.Weeks[w.Number]; ok {
					d.WarmUp, d.Text = sets, ""
					s.Weeks[w.Number] = d
				}
			}
		}
	}
}

// warmUps lists the proposed warm-up sets of an item of a visit, once for both
// sides.
func warmUps(v *session.Visit, item int) []plan.Set {
	var out []plan.Set
	for _, s := range v.Sets {
		if s.Item != item || !s.Proposed || !s.Load.FromMax || s.Side == anatomy.Right {
			continue
		}
		set := s.Plan
		set.Load = plan.Load{Kind: plan.PercentMax, Percent: unit.PercentOf(math.Floor(100*s.P + 0.5))}
		out = append(out, set)
	}
	return out
}
