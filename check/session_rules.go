package check

import (
	"fmt"
	"slices"
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
	fallsBy    = 1.0   // repetitions a predicted reserve may fall below the written one
	heavyBar   = 0.8   // fraction of 1RM from which a bar needs warm-up sets
	longestRun = 300.0 // s: longest rest offered as a way out
	restStep   = 30.0  // s
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
		{"no-warm-up", r.noWarmUp}, {"load-not-there", r.loadNotThere},
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

// reserves finds sets whose predicted reserve falls a repetition or more below
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
	r.offerFixes(p, r.reserveFixes(it.Slot.ID, v, s)...)
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

// reserveFixes are the ways out of a falling reserve: fewer sets, more rest, less
// load, fewer repetitions.
func (r *rules) reserveFixes(id form.ID, v *session.Visit, s session.SetVisit) []candidate {
	var out []candidate
	if s.N > 1 {
		n := s.N - 1
		for _, x := range v.Sets {
			if short, asked := x.Falls(); asked && x.Item == s.Item && short >= fallsBy {
				n = min(n, x.N-1)
			}
		}
		if n >= 1 {
			text := fmt.Sprintf(r.pick("cut to %d sets", "auf %d Sätze kürzen"), n)
			if n == 1 {
				text = r.pick("cut to 1 set", "auf 1 Satz kürzen")
			}
			out = append(out, candidate{text,
				onSlot(id, func(x *plan.Slot) { x.EachDose(func(d plan.Dose) plan.Dose { return d.CutTo(n) }) })})
		}
	}
	if rest := r.restThatCures(v, s); rest > 0 {
		d := unit.DurationOf(unit.Second(rest))
		out = append(out, candidate{fmt.Sprintf(r.pick("rest %s", "%s Pause"), d.Clock()), onSlot(id, func(x *plan.Slot) { x.SetRest(d) })})
	}
	for _, f := range []float64{0.95, 0.9, 0.85} {
		if s.Plan.Scaled(f).Load != s.Plan.Load {
			out = append(out, candidate{fmt.Sprintf(r.pick("%d %% less load", "%d %% weniger Last"), int(100-100*f+0.5)),
				onSlot(id, func(x *plan.Slot) {
					x.EachDose(func(d plan.Dose) plan.Dose {
						return d.EachSet(func(set plan.Set) plan.Set { return set.Scaled(f) })
					})
				})})
			break
		}
	}
	if fewer := int64(s.Result.Repetitions - s.Load.Reserve); s.Plan.Work.Kind == plan.Repetitions && fewer >= 1 && fewer < s.Plan.Work.Low {
		out = append(out, candidate{fmt.Sprintf(r.pick("%d repetitions a set", "%d Wiederholungen je Satz"), fewer),
			onSlot(id, func(x *plan.Slot) { x.EachDose(func(d plan.Dose) plan.Dose { return d.EachSet(atMost(fewer)) }) })})
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

// restThatCures is a rest a good deal longer than the one written, s, up to five
// minutes; whether it helps is tried.
func (r *rules) restThatCures(v *session.Visit, s session.SetVisit) float64 {
	rest := float64(v.Items[s.Item].Dose.Rest.Second())
	if rest == 0 || rest >= longestRun {
		return 0
	}
	return min(longestRun, rest+restStep*max(2, float64(int(rest/restStep/2+0.5))))
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

// orderCosts finds main lifts that lose half a repetition a set to what comes
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
	r.offerFixes(p,
		candidate{fmt.Sprintf(r.pick("do it before %s", "vor %s stellen"), r.name(v.Items[from].Exercise)), moveTo(main, first)},
		candidate{r.pick("do it first", "an den Anfang stellen"), func(b *plan.Block) bool { return b.Move(main, 0) }},
		candidate{fmt.Sprintf(r.pick("one set fewer of %s", "ein Satz weniger: %s"), r.name(v.Items[from].Exercise)), cutSet(first)})
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

// cutSet takes one set off every dose of a slot; a single set stays.
func cutSet(id form.ID) func(*plan.Block) bool {
	return func(b *plan.Block) bool {
		_, s := b.SlotByID(id)
		if s == nil || s.Dose.Count() < 2 {
			return false
		}
		s.EachDose(func(d plan.Dose) plan.Dose { return d.CutTo(d.Count() - 1) })
		return true
	}
}

// addSet adds one set to every dose of a slot.
func addSet(id form.ID) func(*plan.Block) bool {
	return onSlot(id, func(s *plan.Slot) { s.EachDose(func(d plan.Dose) plan.Dose { return d.WithSet() }) })
}

// compound says whether an exercise is more than one joint's work, by its
// repetition class.
func compound(e *exercise.Exercise) bool { return e.Class != "single-joint" && e.Class != "calf-trunk" }

// isolationFirst finds isolations before a compound that needs the same muscle.
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
			shared := sharedLeading(it.Exercise, later.Exercise)
			if len(shared) == 0 {
				continue
			}
			cost := v.Slots[i].Lost[j]
			found.add(key("isolation-first", v, i), cost, func() *Problem {
				p := r.say("isolation-first", Note, slotAt(v, i), "", cost, map[string]string{
					"exercise": r.name(it.Exercise), "later": r.name(later.Exercise), "muscle": shared[0].In(r.lang), "cost": r.number(cost, 1)})
				p.measured(round3(cost), 0, "repetitions a set")
				r.offerFixes(p, candidate{fmt.Sprintf(r.pick("do it after %s", "nach %s stellen"), r.name(later.Exercise)), moveTo(it.Slot.ID, later.Slot.ID)})
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

// overTime finds sessions that take longer than there is time.
func (r *rules) overTime(v *session.Visit, found *worst) {
	have := r.available(v)
	if have == 0 || v.Minutes.High <= have {
		return
	}
	found.add("over-time "+string(v.Session.ID), v.Minutes.Mean, func() *Problem {
		sev := Note
		if v.Minutes.Mean > have {
			sev = Settle
		}
		p := r.say("over-time", sev, At{Week: v.Week, Session: string(v.Session.ID)}, "", v.Minutes.Mean-have, map[string]string{
			"session": v.Session.Name, "minutes": r.number(v.Minutes.Mean, 0), "low": r.number(v.Minutes.Low, 0), "high": r.number(v.Minutes.High, 0), "available": r.number(have, 0)})
		p.measured(round3(v.Minutes.Mean), have, "min")
		r.offerFixes(p, r.timeFixes(v)...)
		return p
	})
}

// timeFixes are the ways out of too little time: fewer sets of the exercises
// latest in rank, then none of them.
func (r *rules) timeFixes(v *session.Visit) []candidate {
	order := exercise.Stage("").Values()
	items := slices.Clone(v.Items)
	slices.Reverse(items)
	slices.SortStableFunc(items, func(a, b session.Item) int {
		return slices.Index(order, string(b.Stage)) - slices.Index(order, string(a.Stage))
	})
	var out []candidate
	for _, it := range items[:min(2, len(items))] {
		out = append(out, candidate{fmt.Sprintf(r.pick("one set fewer of %s", "ein Satz weniger: %s"), r.name(it.Exercise)), cutSet(it.Slot.ID)})
	}
	id := items[0].Slot.ID
	return append(out, candidate{fmt.Sprintf(r.pick("leave out %s", "%s weglassen"), r.name(items[0].Exercise)), func(b *plan.Block) bool { return b.Remove(id) }})
}

// equipment finds exercises whose equipment the place lacks.
func (r *rules) equipment(v *session.Visit, found *worst) {
	if v.Place == nil {
		return
	}
	for i, it := range v.Items {
		var missing []string
		for _, e := range it.Exercise.Equipment {
			if !v.Place.Offers(e) {
				missing = append(missing, e.In(r.lang))
			}
		}
		if len(missing) == 0 {
			continue
		}
		found.add(key("equipment-missing", v, i), float64(len(missing)), func() *Problem {
			p := r.say("equipment-missing", Settle, slotAt(v, i), "", float64(len(missing)), map[string]string{
				"exercise": r.name(it.Exercise), "missing": strings.Join(missing, ", "), "place": v.Place.Name})
			var out []candidate
			for _, e := range r.instead(v, i) {
				out = append(out, swapFor(it.Slot.ID, e, r.name(e), r.lang))
			}
			r.offerFixes(p, append(out, r.leaveOut(it))...)
			return p
		})
	}
}

// leaveOut is the way out that removes a slot.
func (r *rules) leaveOut(it session.Item) candidate {
	return candidate{r.pick("leave it out", "weglassen"), func(b *plan.Block) bool { return b.Remove(it.Slot.ID) }}
}

// swapFor is the way out that puts another exercise into a slot. Loads in
// percent or kilograms belong to the old exercise, so the new one takes its load
// by the reserve.
func swapFor(id form.ID, e *exercise.Exercise, name string, l form.Language) candidate {
	return candidate{fmt.Sprintf(form.Text{En: "swap for %s", De: "tauschen gegen %s"}.In(l), name), func(b *plan.Block) bool {
		if !b.Swap(id, string(e.ID)) {
			return false
		}
		_, s := b.SlotByID(id)
		s.Progress = nil
		s.EachDose(func(d plan.Dose) plan.Dose {
			d.WarmUp = nil
			return d.EachSet(func(set plan.Set) plan.Set {
				set.Load = plan.Load{}
				if set.Effort.Kind == plan.Unasked && !set.Work.Max {
					set.Effort = plan.Effort{Kind: plan.RIR, Low: 20, High: 20}
				}
				return set
			})
		})
		return true
	}}
}

// instead lists up to two exercises with the same direct muscles that the place
// has the equipment for, the same pattern first, in library order.
func (r *rules) instead(v *session.Visit, item int) []*exercise.Exercise {
	old := v.Items[item].Exercise
	var same, other []*exercise.Exercise
	for _, e := range r.in.Library.All() {
		if e == old || e.Retired || len(e.Direct) == 0 || !sameMuscles(e.Direct, old.Direct) || !r.canDo(v, e) {
			continue
		}
		if e.Pattern == old.Pattern {
			same = append(same, e)
		} else {
			other = append(other, e)
		}
	}
	out := append(same, other...)
	return out[:min(2, len(out))]
}

// sameMuscles says whether two lists name the same muscles.
func sameMuscles(a, b []anatomy.Muscle) bool {
	if len(a) != len(b) {
		return false
	}
	for _, m := range a {
		if !slices.Contains(b, m) {
			return false
		}
	}
	return true
}

// canDo says whether the place has what an exercise needs and the session does
// not hold it yet.
func (r *rules) canDo(v *session.Visit, e *exercise.Exercise) bool {
	for _, q := range e.Equipment {
		if v.Place == nil || !v.Place.Offers(q) {
			return false
		}
	}
	return !slices.ContainsFunc(v.Items, func(it session.Item) bool { return it.Exercise == e })
}

// gentleness orders the lengths at which an exercise is hardest: even loading is
// gentlest on the joint, the long muscle least (common practice).
var gentleness = map[exercise.Length]int{"even": 0, "short": 1, "middle": 2, "long": 3}

// gentler finds isolations after work for the same muscle for which the place
// has a gentler exercise of the same direct muscles (by declared load profile,
// until joint moments are computed).
func (r *rules) gentler(v *session.Visit, found *worst) {
	for i, it := range v.Items {
		if it.Stage != exercise.Isolation || len(it.Exercise.Direct) == 0 {
			continue
		}
		m := it.Exercise.Direct[0]
		before := session.Count{}
		for j := range i {
			before = before.Add(session.Pick(v.Slots[j].Work, m, anatomy.Both))
		}
		better := r.gentlest(v, it.Exercise)
		if before.Sum() < 1 || better == nil {
			continue
		}
		found.add(key("gentler", v, i), 1, func() *Problem {
			p := r.say("gentler", Note, slotAt(v, i), "", 1, map[string]string{
				"exercise": r.name(it.Exercise), "other": r.name(better), "muscle": m.In(r.lang), "before": r.number(before.Sum(), 1)})
			r.offerFixes(p, swapFor(it.Slot.ID, better, r.name(better), r.lang))
			return p
		})
	}
}

// gentlest returns the gentlest exercise of the same direct muscles and pattern
// that can be done at the place, if it is gentler.
func (r *rules) gentlest(v *session.Visit, old *exercise.Exercise) *exercise.Exercise {
	var best *exercise.Exercise
	for _, e := range r.in.Library.All() {
		if e.Retired || e.Pattern != old.Pattern || !sameMuscles(e.Direct, old.Direct) || !r.canDo(v, e) {
			continue
		}
		if gentleness[e.Hardest] < gentleness[old.Hardest] && (best == nil || gentleness[e.Hardest] < gentleness[best.Hardest]) {
			best = e
		}
	}
	return best
}

// outsideMarks are the marks that say a set lies outside the data behind the
// model; the others describe the set.
const outsideMarks = effort.LightLoad | effort.ManyRepetitions | effort.LongRest | effort.Hold | effort.Superset | effort.Capped | effort.Single

// outside notes, a session at a time, which exercises lie outside the model's
// data and why.
func (r *rules) outside(v *session.Visit, found *worst) {
	var names []string
	var marks effort.Mark
	for _, s := range v.Sets {
		m := s.Result.Marks & outsideMarks
		if s.Warm || m == 0 {
			continue
		}
		marks |= m
		if n := r.name(v.Items[s.Item].Exercise); !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	if len(names) == 0 {
		return
	}
	found.add("outside-model "+string(v.Session.ID), float64(len(names)), func() *Problem {
		return r.say("outside-model", Note, At{Week: v.Week, Session: string(v.Session.ID)}, "", float64(len(names)), map[string]string{
			"exercises": strings.Join(names, ", "), "why": r.markWords(marks)})
	})
}

// markWords writes marks in words.
func (r *rules) markWords(m effort.Mark) string {
	var out []string
	for _, x := range []struct {
		mark effort.Mark
		text form.Text
	}{
		{effort.LightLoad, form.Text{En: "load under half of the 1RM", De: "Last unter der Hälfte des 1RM"}},
		{effort.ManyRepetitions, form.Text{En: "more than 30 repetitions to failure", De: "mehr als 30 Wiederholungen bis zum Versagen"}},
		{effort.LongRest, form.Text{En: "more than 5 min since the last set", De: "mehr als 5 min seit dem letzten Satz"}},
		{effort.Hold, form.Text{En: "holds and carries", De: "Halten und Tragen"}},
		{effort.Superset, form.Text{En: "supersets", De: "Supersätze"}},
		{effort.Single, form.Text{En: "single repetitions", De: "einzelne Wiederholungen"}},
		{effort.Capped, form.Text{En: "no failure within 200 repetitions", De: "kein Versagen innerhalb von 200 Wiederholungen"}},
	} {
		if m.Has(x.mark) {
			out = append(out, x.text.In(r.lang))
		}
	}
	return strings.Join(out, ", ")
}

// sameTwice finds an exercise that stands twice in a session without a reason
// for the second time.
func (r *rules) sameTwice(v *session.Visit, found *worst) {
	for i, it := range v.Items {
		for j := range i {
			if v.Items[j].Exercise != it.Exercise || len(it.Slot.Reasons) > 0 {
				continue
			}
			found.add(key("same-exercise", v, i), 1, func() *Problem {
				p := r.say("same-exercise", Note, slotAt(v, i), "", 1, map[string]string{"exercise": r.name(it.Exercise)})
				r.offerFixes(p, r.leaveOut(it))
				return p
			})
		}
	}
}

// noWarmUp finds heavy bars without written warm-up sets, and offers the
// proposed ones.
func (r *rules) noWarmUp(v *session.Visit, found *worst) {
	for i, it := range v.Items {
		if len(it.Dose.WarmUp) > 0 {
			continue
		}
		var proposed []plan.Set
		p := 0.0
		for _, s := range v.Sets {
			if s.Item == i && s.Proposed {
				proposed = append(proposed, proposedSet(s))
			} else if s.Item == i {
				p = max(p, s.P)
			}
		}
		if p < heavyBar || len(proposed) == 0 {
			continue
		}
		found.add(key("no-warm-up", v, i), p, func() *Problem {
			x := r.say("no-warm-up", Note, slotAt(v, i), "", p, map[string]string{
				"exercise": r.name(it.Exercise), "percent": r.number(100*p, 0)})
			x.measured(round3(p), heavyBar, "of 1RM")
			r.offerFixes(x, candidate{r.pick("write the warm-up sets the minutes already count", "die bereits eingerechneten Aufwärmsätze eintragen"),
				onSlot(it.Slot.ID, func(s *plan.Slot) {
					s.EachDose(func(d plan.Dose) plan.Dose { d.WarmUp, d.Text = proposed, ""; return d })
				})})
			return x
		})
	}
}

// proposedSet turns a proposed warm-up set into one to be written, its load as a
// percentage of the 1RM.
func proposedSet(s session.SetVisit) plan.Set {
	set := s.Plan
	set.Load = plan.Load{Kind: plan.PercentMax, Percent: unit.PercentOf(float64(int(100*s.P + 0.5)))}
	return set
}

// loadNotThere finds written masses the place cannot make.
func (r *rules) loadNotThere(v *session.Visit, found *worst) {
	for _, s := range v.Sets {
		it := v.Items[s.Item]
		_, written := it.Slot.Weeks[v.Week]
		if !s.Load.NotThere || s.Warm || v.Week > 1 && !written {
			continue // a computed load is rounded, which is no mistake
		}
		gap := float64(s.Load.Asked.Kilogram() - s.Load.Mass.Kilogram())
		gap = max(gap, -gap)
		found.add(key("load-not-there", v, s.Item), gap, func() *Problem {
			return r.say("load-not-there", Note, slotAt(v, s.Item), "", gap, map[string]string{
				"exercise": r.name(it.Exercise), "asked": s.Load.Asked.Canonical(), "place": v.Place.Name,
				"near": s.Load.Mass.Short(s.Load.Asked.Unit())})
		})
	}
}
