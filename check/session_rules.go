package check

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"corbel/anatomy"
	"corbel/effort"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/unit"
)

// Bounds of the session rules (docs/model/05-reasons.md; our judgement, key
// judgement).
const (
	fallsBy       = 1.0   // repetitions a predicted reserve may fall below the written one
	heavyBar      = 0.8   // fraction of 1RM from which a bar needs warm-up sets
	longestRun    = 300.0 // s: longest rest offered as a way out
	restStep      = 30.0  // s
	timeTolerance = 0.5   // min: what rounding hides
	firstRest     = 90.0  // s: rest that ways out start from where none is written
)

// sessionRules looks at every session of every week and says the worst week of
// each problem.
func (r *rules) sessionRules() {
	var found worst
	for _, rule := range []struct {
		code Code
		find func(*session.Visit, *worst)
	}{
		{"reserve-falls", r.reserves}, {"order-cost", r.orderCosts}, {"isolation-first", r.isolationFirst}, {"over-time", r.overTime},
		{"equipment-missing", r.equipment}, {"gentler", r.gentler}, {"outside-model", r.outside}, {"same-exercise", r.sameTwice},
		{"no-warm-up", r.noWarmUp}, {"load-not-there", r.loadNotThere}, {"weak-group", r.weakGroups},
	} {
		if r.wants(rule.code) {
			r.eachVisit(func(_ *session.Week, v *session.Visit) { rule.find(v, &found) })
		}
	}
	found.sayAll()
}

// key names a finding by code and slot, whatever the week.
func key(code Code, v *session.Visit, item int) string {
	return string(code) + " " + string(v.Session.ID) + " " + string(v.Items[item].Slot.ID)
}

// reserves (R8) finds sets whose predicted reserve falls a repetition or more below
// the written one.
func (r *rules) reserves(v *session.Visit, found *worst) {
	for i, s := range v.Sets {
		short, asked := s.Falls()
		if !asked || short < fallsBy {
			continue
		}
		found.add(key("reserve-falls", v, s.Item), short, func() *Problem { return r.sayReserve(v, i, short) })
	}
}

// sayReserve says that a set's reserve falls, with what earlier work costs it.
func (r *rules) sayReserve(v *session.Visit, set int, short float64) *Problem {
	s := v.Sets[set]
	it := v.Items[s.Item]
	at := slotAt(v, s.Item)
	at.Set = s.N
	low, _, _ := s.Plan.Effort.Reserve()
	args := map[string]string{
		"exercise": r.name(it.Exercise), "side": r.sideWord(s.Side), "set": fmt.Sprint(s.N),
		"asked": r.number(s.Load.Count, 1), "possible": r.number(s.Result.Repetitions, 0),
		"range": r.band(s), "cost": r.number(max(s.Fresh-s.Result.Repetitions, 0), 1), "reserve": r.number(low, 1),
	}
	sev := Settle
	if it.Stage == exercise.Drill {
		sev = Note
	}
	p := r.say("reserve-falls", sev, at, "", short, args)
	p.measured(round3(s.Result.Repetitions-s.Load.Count), low, "repetitions in reserve")
	r.offerReserve(p, v, s)
	return p
}

// sideWord writes a side in brackets, or nothing.
func (r *rules) sideWord(s anatomy.Side) string {
	if s != anatomy.Left && s != anatomy.Right {
		return ""
	}
	return " (" + s.In(r.lang) + ")"
}

// band writes the range of the repetitions that are there.
func (r *rules) band(s session.SetVisit) string {
	if s.Band == (effort.Band{}) {
		return r.pick("no range computed", "ohne Bereich berechnet")
	}
	return fmt.Sprintf(r.pick("range %s–%s", "Bereich %s–%s"), r.number(s.Band.Low, 0), r.number(s.Band.High, 0))
}

// offerReserve offers the ways out of a falling reserve (R28), each the least that
// is enough in the worst week: fewer sets where at least half of them stand,
// repetitions that fall from set to set, more rest, less load, fewer repetitions;
// then one set fewer.
func (r *rules) offerReserve(p *Problem, v *session.Visit, s session.SetVisit) {
	it := v.Items[s.Item]
	id, count, n := it.Slot.ID, it.Dose.Count(), standing(v, s.Item)
	r.offerInTurn(p,
		func() []candidate {
			if n < 1 || n == count || 2*n < count {
				return nil
			}
			return []candidate{{text: r.plural(n, "cut to 1 set", "cut to %d sets", "auf 1 Satz kürzen", "auf %d Sätze kürzen"), whole: true,
				apply: onSlot(id, func(x *plan.Slot) { x.EachDose(func(d plan.Dose) plan.Dose { return d.CutTo(n) }) })}}
		},
		func() []candidate { return r.fallingRepetitions(p, v, s) },
		func() []candidate { return r.least(p, r.longerRests(it)) },
		func() []candidate { return r.least(p, r.lighter(it, s)) },
		func() []candidate { return r.least(p, r.shorterSets(it, s)) },
		func() []candidate {
			if n == count-1 { // offered above
				return nil
			}
			return []candidate{{text: r.pick("one set fewer", "ein Satz weniger"), apply: cutSets(id, 1)}}
		})
}

// plural writes a number of things in words.
func (r *rules) plural(n int, one, many, eine, viele string) string {
	if n == 1 {
		return r.pick(one, eine)
	}
	return fmt.Sprintf(r.pick(many, viele), n)
}

// standing returns how many sets of an item come before the first whose reserve
// falls.
func standing(v *session.Visit, item int) int {
	n := v.Items[item].Dose.Count()
	for _, x := range v.Sets {
		if short, asked := x.Falls(); asked && x.Item == item && short >= fallsBy {
			n = min(n, x.N-1)
		}
	}
	return n
}

// least returns the first of a list of ever larger changes that is enough in the
// problem's week, or the second where none is; nothing of an empty list.
func (r *rules) least(p *Problem, list []candidate) []candidate {
	if len(list) == 0 {
		return nil
	}
	i := sort.Search(len(list), func(i int) bool { return r.curesWeek(p, list[i]) })
	if i == len(list) {
		i = min(1, len(list)-1)
	}
	return list[i : i+1]
}

// fallingRepetitions is the way out that writes for each set as many repetitions
// as leave the reserve, at least half of those written: set by set, since what
// one set does the next one feels.
func (r *rules) fallingRepetitions(p *Problem, v *session.Visit, s session.SetVisit) []candidate {
	it, w := v.Items[s.Item], s.Plan.Work
	if w.Kind != plan.Repetitions || w.Max || len(it.Slot.Weeks) > 0 || it.Dose.Count() < 2 || v.Week > 1 && len(it.Slot.Progress) > 0 {
		return nil
	}
	i := r.weekIndex(v.Week)
	var reps []int64
	for n := 1; n <= it.Dose.Count(); n++ {
		b := r.in.Block.Clone()
		onSlot(it.Slot.ID, writeReps(reps))(b)
		possible := int64(0)
		for _, x := range r.athlete.Trial(r.weeks[i], nil, r.in.Block, b, howToTry(p)).Visits {
			if x.Session.ID == v.Session.ID {
				possible = fitting(x, it.Slot.ID, n)
			}
		}
		if 2*possible < w.High || possible < 1 {
			return nil
		}
		reps = append(reps, possible)
	}
	words := make([]string, len(reps))
	for i, n := range reps {
		words[i] = fmt.Sprint(n)
	}
	return []candidate{{text: r.pick("repetitions ", "Wiederholungen ") + strings.Join(words, ", "), whole: true, apply: onSlot(it.Slot.ID, writeReps(reps))}}
}

// fitting returns how many repetitions set n of a slot can have, on either side,
// so that the reserve stays as written; no more than are written.
func fitting(v *session.Visit, slot form.ID, n int) int64 {
	out := int64(math.MaxInt64)
	for _, x := range v.Sets {
		if v.Items[x.Item].Slot.ID == slot && x.N == n && !x.Warm {
			low, _, _ := x.Plan.Effort.Reserve()
			out = min(out, x.Plan.Work.High, int64(x.Result.Repetitions-low))
		}
	}
	return out
}

// writeReps makes an operation that holds the first sets of a slot to as many
// repetitions as are listed.
func writeReps(reps []int64) func(*plan.Slot) {
	return func(s *plan.Slot) {
		s.EachDose(func(d plan.Dose) plan.Dose {
			for i, n := range reps {
				d = d.WithSetAt(i, atMost(n))
			}
			return d
		})
		s.KeepMoving()
	}
}

// longerRests lists longer rests between sets, up to five minutes.
func (r *rules) longerRests(it session.Item) []candidate {
	var out []candidate
	now := float64(it.Dose.Rest.Second())
	if now == 0 {
		now = firstRest
	}
	for s := (math.Floor(now/restStep) + 1) * restStep; s <= longestRun; s += restStep {
		d := unit.DurationOf(unit.Second(s))
		out = append(out, candidate{text: fmt.Sprintf(r.pick("rest %s", "%s Pause"), d.Clock()), apply: onSlot(it.Slot.ID, func(x *plan.Slot) { x.SetRest(d) })})
	}
	return out
}

// lighter lists loads that are 5 to 20 % lighter, where the load can be scaled.
func (r *rules) lighter(it session.Item, s session.SetVisit) []candidate {
	var out []candidate
	for _, percent := range []int{5, 10, 15, 20} {
		f := 1 - float64(percent)/100
		if s.Plan.Scaled(f).Load == s.Plan.Load {
			continue
		}
		out = append(out, candidate{text: fmt.Sprintf(r.pick("%d %% less load", "%d %% weniger Last"), percent), whole: true,
			apply: onSlot(it.Slot.ID, func(x *plan.Slot) {
				x.EachDose(func(d plan.Dose) plan.Dose {
					return d.EachSet(func(set plan.Set) plan.Set { return set.Scaled(f) })
				})
				x.KeepMoving()
			})})
	}
	return out
}

// shorterSets lists fewer repetitions, down to half of those written.
func (r *rules) shorterSets(it session.Item, s session.SetVisit) []candidate {
	var out []candidate
	w := s.Plan.Work
	if w.Kind != plan.Repetitions || w.Max {
		return nil
	}
	from := ""
	if len(it.Slot.Progress) > 0 {
		from = r.pick(" from week 1 on", " ab Woche 1")
	}
	for n := w.High - 1; 2*n >= w.High && n >= 1; n-- {
		out = append(out, candidate{text: r.plural(int(n), "1 repetition a set", "%d repetitions a set", "1 Wiederholung je Satz", "%d Wiederholungen je Satz") + from, whole: true,
			apply: onSlot(it.Slot.ID, func(x *plan.Slot) {
				x.EachDose(func(d plan.Dose) plan.Dose { return d.EachSet(atMost(n)) })
				x.KeepMoving()
			})})
	}
	return out
}

// atMost holds the repetitions of a set to n.
func atMost(n int64) func(plan.Set) plan.Set {
	return func(s plan.Set) plan.Set {
		if s.Work.Kind == plan.Repetitions && !s.Work.Max {
			s.Work.Low, s.Work.High = min(s.Work.Low, n), min(s.Work.High, n)
		}
		return s
	}
}

// onSlot makes an operation on one slot of a block.
func onSlot(id form.ID, f func(*plan.Slot)) func(*plan.Block) bool {
	return func(b *plan.Block) bool {
		_, s := b.SlotByID(id)
		if s == nil {
			return false
		}
		f(s)
		return true
	}
}

// orderCosts (R9) finds main lifts that lose half a repetition a set to what comes
// before them, their own warm-up not counted.
func (r *rules) orderCosts(v *session.Visit, found *worst) {
	for to := range v.Items {
		sum, most, from := 0.0, 0.0, -1
		for i := range to {
			if c := v.Slots[i].Lost[to]; i != to {
				sum += c
				if c > most {
					most, from = c, i
				}
			}
		}
		if sum < mainCost || from < 0 || !r.isMain(v, to) {
			continue
		}
		found.add(key("order-cost", v, to), sum, func() *Problem { return r.sayOrder(v, from, to, sum, most) })
	}
}

func (r *rules) sayOrder(v *session.Visit, from, to int, sum, most float64) *Problem {
	p := r.say("order-cost", Settle, slotAt(v, to), "", sum, map[string]string{
		"exercise": r.name(v.Items[to].Exercise), "earlier": r.name(v.Items[from].Exercise),
		"sum": r.number(sum, 1), "most": r.number(most, 1),
	})
	p.measured(round3(sum), mainCost, "repetitions a set")
	main, first := v.Items[to].Slot.ID, v.Items[from].Slot.ID
	earlier := r.name(v.Items[from].Exercise)
	out := []candidate{{text: fmt.Sprintf(r.pick("do it before %s", "vor %s stellen"), earlier), apply: moveTo(main, first)}}
	if from > 0 {
		out = append(out, candidate{text: r.pick("do it first", "an den Anfang stellen"), apply: func(b *plan.Block) bool { return b.Move(main, 0) }})
	}
	r.offerFixes(p, append(out, candidate{text: fmt.Sprintf(r.pick("one set fewer of %s", "ein Satz weniger: %s"), earlier), apply: cutSets(first, 1)})...)
	return p
}

// moveTo moves a slot to where another one of its session stands.
func moveTo(id, where form.ID) func(*plan.Block) bool {
	return func(b *plan.Block) bool {
		s, _ := b.SlotByID(id)
		if s == nil {
			return false
		}
		return b.Move(id, slices.IndexFunc(s.Slots, func(x plan.Slot) bool { return x.ID == where }))
	}
}

// cutSets takes n sets off every dose of a slot; each keeps one. It does not fit
// where the first dose has no more than n.
func cutSets(id form.ID, n int) func(*plan.Block) bool {
	return func(b *plan.Block) bool {
		_, s := b.SlotByID(id)
		if s == nil || s.Dose.Count() <= n {
			return false
		}
		s.EachDose(func(d plan.Dose) plan.Dose { return d.CutTo(d.Count() - n) })
		return true
	}
}

// addSets adds n sets to every dose of a slot.
func addSets(id form.ID, n int) func(*plan.Block) bool {
	return onSlot(id, func(s *plan.Slot) {
		for range n {
			s.EachDose(func(d plan.Dose) plan.Dose { return d.WithSet() })
		}
	})
}

// compound says whether an exercise is more than one joint's work, by its
// repetition class.
func compound(e *exercise.Exercise) bool { return e.Class != "single-joint" && e.Class != "calf-trunk" }

// isolationFirst (R10) finds isolations before a compound that needs the same muscle.
func (r *rules) isolationFirst(v *session.Visit, found *worst) {
	for i, it := range v.Items {
		if it.Stage != exercise.Isolation && it.Stage != exercise.Finisher {
			continue
		}
		for j := i + 1; j < len(v.Items); j++ {
			later := v.Items[j]
			if !compound(later.Exercise) || later.Stage == exercise.Drill || later.Slot.Superset != "" && later.Slot.Superset == it.Slot.Superset {
				continue
			}
			shared := r.sharedLeading(it.Exercise, later.Exercise)
			if len(shared) == 0 {
				continue
			}
			cost := v.Slots[i].Lost[j]
			found.add(key("isolation-first", v, i), cost, func() *Problem {
				p := r.say("isolation-first", Note, slotAt(v, i), "", cost, map[string]string{
					"exercise": r.name(it.Exercise), "later": r.name(later.Exercise), "muscle": shared[0].In(r.lang), "cost": r.number(cost, 1)})
				p.measured(round3(cost), 0, "repetitions a set")
				r.offerFixes(p, candidate{text: fmt.Sprintf(r.pick("do it after %s", "nach %s stellen"), r.name(later.Exercise)), apply: moveTo(it.Slot.ID, later.Slot.ID)})
				return p
			})
			break
		}
	}
}

// available returns the minutes there are for a session, 0 if not on record.
func (r *rules) available(v *session.Visit) float64 {
	if v.Session.Minutes > 0 {
		return float64(v.Session.Minutes)
	}
	for _, d := range r.in.Client.Days {
		if d.Day == v.Session.Day {
			return float64(d.Minutes)
		}
	}
	return 0
}

// overTime (R11) finds sessions that take longer than there is time.
func (r *rules) overTime(v *session.Visit, found *worst) {
	have := r.available(v)
	if have == 0 || v.Minutes.High <= have+timeTolerance {
		return
	}
	found.add("over-time "+string(v.Session.ID), v.Minutes.High, func() *Problem {
		sev, got := Note, v.Minutes.High
		if v.Minutes.Mean > have {
			sev, got = Settle, v.Minutes.Mean
		}
		p := r.say("over-time", sev, At{Week: v.Week, Session: string(v.Session.ID)}, "", v.Minutes.High-have, map[string]string{
			"session": v.Session.Name, "minutes": r.number(v.Minutes.Mean, 0), "low": r.number(v.Minutes.Low, 0), "high": r.number(v.Minutes.High, 0), "available": r.number(have, 0)})
		p.measured(round3(got), have, "min")
		r.offerFixes(p, r.timeFixes(v, sev)...)
		return p
	})
}

// timeFixes are the ways out of too little time: a set fewer of the exercises
// latest in rank, of all but the main ones, and, where the time is short on the
// mean, without the latest one or two.
func (r *rules) timeFixes(v *session.Visit, sev Severity) []candidate {
	order := exercise.Stage("").Values()
	items := slices.Clone(v.Items)
	slices.Reverse(items)
	slices.SortStableFunc(items, func(a, b session.Item) int {
		return slices.Index(order, string(b.Stage)) - slices.Index(order, string(a.Stage))
	})
	var out []candidate
	for _, it := range items[:min(2, len(items))] {
		out = append(out, candidate{text: fmt.Sprintf(r.pick("one set fewer of %s", "ein Satz weniger: %s"), r.name(it.Exercise)), apply: cutSets(it.Slot.ID, 1)})
	}
	out = append(out, candidate{text: r.pick("one set fewer of every exercise but the main ones", "ein Satz weniger von jeder Übung außer den Hauptübungen"), apply: func(b *plan.Block) bool {
		cut := false
		for _, it := range items {
			cut = it.Stage != exercise.Main && cutSets(it.Slot.ID, 1)(b) || cut
		}
		return cut
	}})
	if sev != Settle {
		return out
	}
	name, id := r.name(items[0].Exercise), items[0].Slot.ID
	out = append(out, candidate{text: fmt.Sprintf(r.pick("leave out %s", "%s weglassen"), name), apply: func(b *plan.Block) bool { return b.Remove(id) }})
	if len(items) > 2 {
		next := items[1]
		out = append(out, candidate{text: fmt.Sprintf(r.pick("leave out %s and %s", "%s und %s weglassen"), name, r.name(next.Exercise)),
			apply: func(b *plan.Block) bool { return b.Remove(id) && b.Remove(next.Slot.ID) }})
	}
	return out
}
