package check

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/unit"
)

// Bounds of the week rules (docs/model/05-reasons.md; our judgement, key
// judgement).
const (
	jump          = 0.10 // most a load may rise from week to week
	sideShare     = 0.30 // share by which the hard sets of two sides may differ
	sideSets      = 2.0  // and by this many sets in any case
	workedSets    = 1.0  // hard sets from which a session works a muscle
	aimTolerance  = 0.05 // sets an aim may be missed by, below what anybody plans
	hoursTogether = 24   // h between sessions for the same limited or main-lift muscle
)

// weekRules looks at the weeks as a whole.
func (r *rules) weekRules() {
	var found worst
	for _, w := range r.weeks {
		if r.wants("cap-passed", "aim-missed", "aim-passed", "lift-missed") {
			r.aims(w, &found)
		}
		if r.wants("side-imbalance") {
			r.sides(w, &found)
		}
	}
	if r.wants("spacing") {
		r.spacings(&found)
	}
	if r.wants("load-jump") {
		r.jumps(&found)
	}
	found.sayAll()
}

// aims (R19, R20) compares what a week counts with the client's aims and caps. An easier
// week is not held to the low end.
func (r *rules) aims(w *session.Week, found *worst) {
	for i, a := range r.in.Client.Aims {
		at := At{Week: w.Number}
		if a.Exercise != "" {
			r.liftAim(w, a, i, found)
			continue
		}
		got := w.Of(a.Muscle.Muscle, a.Muscle.Side).Sum()
		about := a.Muscle.String()
		args := func() map[string]string {
			return map[string]string{"muscle": a.Muscle.In(r.lang), "sets": r.number(got, 1), "aim": a.Sets.String()}
		}
		switch {
		case a.Cap != nil && got > *a.Cap+aimTolerance:
			found.add("cap-passed "+about, got-*a.Cap, func() *Problem {
				more := args()
				more["cap"] = r.number(*a.Cap, 1)
				p := r.say("cap-passed", Settle, at, about, got-*a.Cap, more)
				p.measured(round3(got), *a.Cap, "hard sets a week")
				r.offerFixes(p, r.fewer(w, a.Muscle, got-*a.Cap)...)
				return p
			})
		case got < a.Sets.Low-aimTolerance && !r.deload(w.Number):
			found.add("aim-missed "+about, a.Sets.Low-got, func() *Problem {
				p := r.say("aim-missed", Settle, at, about, a.Sets.Low-got, args())
				p.measured(round3(got), a.Sets.Low, "hard sets a week")
				r.offerFixes(p, r.more(w, a.Muscle, a.Sets.Low-got)...)
				return p
			})
		case got > a.Sets.High+aimTolerance:
			found.add("aim-passed "+about, got-a.Sets.High, func() *Problem {
				p := r.say("aim-passed", Note, at, about, got-a.Sets.High, args())
				p.measured(round3(got), a.Sets.High, "hard sets a week")
				r.offerFixes(p, r.fewer(w, a.Muscle, got-a.Sets.High)...)
				return p
			})
		}
	}
}

// liftAim (R21) compares lift sets with an aim for a lift.
func (r *rules) liftAim(w *session.Week, a client.Aim, i int, found *worst) {
	got := w.Lifts[a.Exercise]
	e := r.in.Library.ByID(a.Exercise)
	if r.deload(w.Number) || got >= a.Sets.Low-aimTolerance {
		return
	}
	found.add(fmt.Sprint("lift-missed ", i), a.Sets.Low-got, func() *Problem {
		p := r.say("lift-missed", Settle, At{Week: w.Number}, a.Exercise, a.Sets.Low-got, map[string]string{
			"lift": r.name(e), "sets": r.number(got, 1), "aim": a.Sets.String(), "percent": r.number(r.liftPercent(), 0)})
		p.measured(got, a.Sets.Low, "lift sets a week")
		r.offerFixes(p, r.moreLift(p, w, a.Exercise, a.Sets.Low-got)...)
		return p
	})
}

// liftPercent returns the load from which a set counts for a lift, % of the 1RM
// (docs/model/03-session.md (21)).
func (r *rules) liftPercent() float64 {
	if r.in.Client.Experience == client.Beginner {
		return 70
	}
	return 80
}

// A part is what one slot counts for a muscle in a week.
type part struct {
	item    session.Item
	session string  // name
	sets    float64 // hard sets counted
}

// contributors lists the slots of a week that count for a muscle, most first.
func contributors(w *session.Week, m anatomy.MuscleSide) []part {
	var list []part
	for _, v := range w.Visits {
		for i, s := range v.Slots {
			if c := session.Pick(s.Work, m.Muscle, m.Side).Sum(); c > 0 {
				list = append(list, part{v.Items[i], v.Session.Name, c})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b part) int { return cmp.Compare(b.sets, a.sets) })
	return list
}

// mostSets is how many sets a way out adds to an exercise or takes off it.
const mostSets = 3

// setsFor returns how many sets of a slot, each counting as its sets do now, make
// up a number of hard sets; 1 to mostSets.
func (p part) setsFor(hard float64) int {
	each := p.sets / float64(p.item.Dose.Count())
	return min(max(int(math.Ceil(hard/each-1e-9)), 1), mostSets)
}

// fewer are the ways to less work for a muscle: sets off what counts most.
func (r *rules) fewer(w *session.Week, m anatomy.MuscleSide, by float64) []candidate {
	var out []candidate
	for _, p := range contributors(w, m) {
		n := min(p.setsFor(by), max(p.item.Dose.Count()-1, 1))
		out = append(out, candidate{text: r.plural(n, "one set fewer", "%d sets fewer", "ein Satz weniger", "%d Sätze weniger") + r.where(p), apply: cutSets(p.item.Slot.ID, n)})
	}
	return out[:min(len(out), maxFixes+1)]
}

// more are the ways to more work for a muscle: sets on what counts direct.
func (r *rules) more(w *session.Week, m anatomy.MuscleSide, by float64) []candidate {
	var out []candidate
	for _, direct := range []bool{true, false} {
		for _, p := range contributors(w, m) {
			if slices.Contains(p.item.Exercise.Direct, m.Muscle) == direct {
				n := p.setsFor(by)
				out = append(out, candidate{text: r.plural(n, "one set more", "%d sets more", "ein Satz mehr", "%d Sätze mehr") + r.where(p), apply: addSets(p.item.Slot.ID, n)})
			}
		}
	}
	return out[:min(len(out), maxFixes+1)]
}

// where names the slot a way out is about, with the session.
func (r *rules) where(p part) string {
	return r.pick(" of ", ": ") + r.name(p.item.Exercise) + " (" + p.session + ")"
}

// moreLift are the ways to more lift sets: sets more of what counts, or a load
// that counts once it is rounded to what the place has.
func (r *rules) moreLift(p *Problem, w *session.Week, lift string, by float64) []candidate {
	var more, heavier []candidate
	for _, v := range w.Visits {
		for i, it := range v.Items {
			if !it.Exercise.Counts(lift) || it.Stage == exercise.Drill {
				continue
			}
			id, where := it.Slot.ID, r.where(part{item: it, session: v.Session.Name})
			if got := v.Slots[i].LiftSets; got > 0 {
				n := part{item: it, sets: got}.setsFor(by)
				more = append(more, candidate{text: r.plural(n, "one set more", "%d sets more", "ein Satz mehr", "%d Sätze mehr") + where, apply: addSets(id, n)})
			}
			var list []candidate
			for _, above := range []float64{0, 2.5, 5, 7.5, 10} {
				percent := unit.PercentOf(r.liftPercent() + above)
				list = append(list, candidate{text: fmt.Sprintf(r.pick("%s (%s): sets of 3 at %s %%", "%s (%s): Sätze zu 3 mit %s %%"), r.name(it.Exercise), v.Session.Name, r.number(percent.Number(), 1)), apply: onSlot(id, heavyEnough(percent))})
			}
			if r.offer {
				heavier = append(heavier, r.least(p, list)...)
			}
		}
	}
	return append(more, heavier...)
}

// heavyEnough makes every set of a slot one of up to three repetitions at a
// percentage.
func heavyEnough(percent unit.Percent) func(*plan.Slot) {
	return func(s *plan.Slot) {
		s.EachDose(func(d plan.Dose) plan.Dose {
			return d.EachSet(func(set plan.Set) plan.Set {
				set.Load = plan.Load{Kind: plan.PercentMax, Percent: percent}
				set.Work = plan.Work{Low: 3, High: 3}
				return set
			})
		})
		s.KeepMoving()
	}
}

// sides (R22) finds muscles whose two sides get clearly different work, unless the
// side that gets more is the limited one.
func (r *rules) sides(w *session.Week, found *worst) {
	for _, id := range anatomy.Muscle("").Values() {
		m := anatomy.Muscle(id)
		l, rt := w.Of(m, anatomy.Left).Sum(), w.Of(m, anatomy.Right).Sum()
		more, less, side := l, rt, anatomy.Left
		if rt > l {
			more, less, side = rt, l, anatomy.Right
		}
		gap := more - less
		if gap <= sideSets || gap <= sideShare*more || r.limited(m, side) && !r.limited(m, side.Other()) {
			continue
		}
		found.add("side-imbalance "+id, gap, func() *Problem {
			p := r.say("side-imbalance", Note, At{Week: w.Number}, id, gap, map[string]string{
				"muscle": m.In(r.lang), "left": r.number(l, 1), "right": r.number(rt, 1)})
			p.measured(round3(gap), sideSets, "hard sets a week")
			r.offerFixes(p, r.evenOut(w, anatomy.MuscleSide{Muscle: m, Side: side})...)
			return p
		})
	}
}

// evenOut are the ways to even sides: a set off the slots of one side alone, or
// equal sides in a dose that treats them apart.
func (r *rules) evenOut(w *session.Week, m anatomy.MuscleSide) []candidate {
	var out []candidate
	for _, p := range contributors(w, m) {
		id, parts := p.item.Slot.ID, p.item.Dose.Parts
		switch {
		case len(parts) == 2:
			out = append(out, candidate{text: r.pick("as many sets left as right", "gleich viele Sätze links und rechts") + r.where(p),
				apply: onSlot(id, func(s *plan.Slot) { s.EachDose(evenSides) })})
		case p.item.Slot.Side != anatomy.NoSide || len(parts) == 1 && (parts[0].Sides == plan.LeftOnly || parts[0].Sides == plan.RightOnly):
			out = append(out, candidate{text: r.pick("one set fewer", "ein Satz weniger") + r.where(p), apply: cutSets(id, 1)})
		}
	}
	return out
}

// evenSides cuts both parts of a dose to the smaller number of sets.
func evenSides(d plan.Dose) plan.Dose {
	n := d.Count()
	for _, p := range d.Parts {
		n = min(n, len(p.Sets))
	}
	return d.CutTo(n)
}

// watched lists the muscles whose spacing matters: limits, and the direct
// muscles of main lifts.
func (r *rules) watched(w *session.Week) []anatomy.Muscle {
	var out []anatomy.Muscle
	add := func(m anatomy.Muscle) {
		if !slices.Contains(out, m) {
			out = append(out, m)
		}
	}
	for _, l := range r.in.Client.Limits {
		add(l.Muscle.Muscle)
	}
	for _, v := range w.Visits {
		for i, it := range v.Items {
			if r.isMain(v, i) {
				for _, m := range it.Exercise.Direct {
					add(m)
				}
			}
		}
	}
	return out
}

// spacings (R23) finds sessions too close together for the same watched muscle, from
// one week into the next too: on the same day to be settled, on neighbouring days
// a note, either a stop where pain in that region is on record.
func (r *rules) spacings(found *worst) {
	last := map[anatomy.Muscle]turnOf{}
	for _, w := range r.weeks {
		for _, m := range r.watched(w) {
			for _, v := range w.Visits {
				if !works(v, m) {
					continue
				}
				now := turnOf{v, 7*w.Number + v.Session.Day.Index()}
				if before, ok := last[m]; ok && now.day-before.day <= 1 {
					r.near(before, now, m, found)
				}
				last[m] = now
			}
		}
	}
}

// A turnOf is a visit on a day, counted through the block.
type turnOf struct {
	visit *session.Visit
	day   int
}

// works says whether a visit has counted hard sets, direct ones, for a muscle.
func works(v *session.Visit, m anatomy.Muscle) bool {
	sum := session.Count{}
	for _, s := range v.Slots {
		for _, side := range []anatomy.Side{anatomy.Left, anatomy.Right} {
			sum = sum.Add(s.Work[session.MuscleSide{Muscle: m, Side: side}])
		}
	}
	return sum.Direct/2 >= workedSets
}

// near says that two visits work a muscle within two days.
func (r *rules) near(a, b turnOf, m anatomy.Muscle, found *worst) {
	days, first, second := b.day-a.day, a.visit, b.visit
	sev, allowed := Note, 2*hoursTogether
	if days == 0 {
		sev, allowed = Settle, hoursTogether
	}
	if r.painIn(m.Region()) {
		sev = Stop
	}
	harm := float64(2 - days)
	found.add(fmt.Sprintf("spacing %s %s %s", m, first.Session.ID, second.Session.ID), harm, func() *Problem {
		about := fmt.Sprintf("%s %s", m, first.Session.ID)
		p := r.say("spacing", sev, At{Week: second.Week, Session: string(second.Session.ID)}, about, harm, map[string]string{
			"muscle": m.In(r.lang), "first": first.Session.Name, "second": second.Session.Name, "hours": fmt.Sprint(24 * days)})
		p.measured(float64(24*days), float64(allowed), "h")
		r.offerFixes(p, append(r.otherDays(second.Session), r.otherDays(first.Session)...)...)
		return p
	})
}

// painIn says whether pain in a region is on record and has not settled.
func (r *rules) painIn(region anatomy.Region) bool {
	return slices.ContainsFunc(r.in.Client.Pain, func(p client.Pain) bool {
		level, rated := p.Level()
		return p.Place.Region() == region && (p.Until.IsZero() || r.day.Before(p.Until)) && (!rated || level >= painLower || p.IsWorse() || len(p.Features) > 0)
	})
}

// otherDays are the ways to move a session: to the client's other days at the
// same place that no session has.
func (r *rules) otherDays(s *plan.Session) []candidate {
	var out []candidate
	id := s.ID
	for _, d := range r.in.Client.Days {
		taken := slices.ContainsFunc(r.in.Block.Sessions, func(x plan.Session) bool { return x.Day == d.Day })
		if d.Place != s.Place || taken {
			continue
		}
		day := d.Day
		out = append(out, candidate{text: fmt.Sprintf(r.pick("move %s to %s", "%s auf %s legen"), s.Name, day.In(r.lang)), apply: func(b *plan.Block) bool {
			for i := range b.Sessions {
				if b.Sessions[i].ID == id {
					b.Sessions[i].Day = day
					return true
				}
			}
			return false
		}})
	}
	return out
}

// jumps (R24) finds loads that rise by more than a tenth and more than one available
// step from one week to the next; an easier week between is passed over.
func (r *rules) jumps(found *worst) {
	var before *session.Week
	for _, after := range r.weeks {
		if r.deload(after.Number) {
			continue
		}
		for _, v := range after.Visits {
			for i, it := range v.Items {
				if before == nil || !sameExercise(before, it) {
					continue
				}
				was, is, step := loadOf(before, it.Slot.ID), loadOf(after, it.Slot.ID), stepOf(v, i)
				if was > 0 && is-was > jump*was+1e-9 && is-was > step+1e-9 {
					found.add(key("load-jump", v, i), is/was-1, func() *Problem { return r.sayJump(v, i, before.Number, was, is) })
				}
			}
		}
		before = after
	}
}

// sameExercise says whether a slot holds the exercise of an item in a week too.
func sameExercise(w *session.Week, it session.Item) bool {
	for _, v := range w.Visits {
		for _, x := range v.Items {
			if x.Slot.ID == it.Slot.ID {
				return x.Exercise == it.Exercise
			}
		}
	}
	return false
}

func (r *rules) sayJump(v *session.Visit, item, before int, was, is float64) *Problem {
	it := v.Items[item]
	p := r.say("load-jump", Settle, slotAt(v, item), "", is/was-1, map[string]string{
		"exercise": r.name(it.Exercise), "rise": r.number(100*(is/was-1), 0), "before": fmt.Sprint(before), "week": fmt.Sprint(v.Week)})
	p.measured(round3(100*(is/was-1)), 100*jump, "%")
	var out []candidate
	for _, rise := range []float64{jump, jump / 2, 0} {
		text := fmt.Sprintf(r.pick("at most %s %% more in week %d", "höchstens %s %% mehr in Woche %d"), r.number(100*rise, 1), v.Week)
		if rise == 0 {
			text = fmt.Sprintf(r.pick("no more than in week %d", "nicht mehr als in Woche %d"), before)
		}
		out = append(out, candidate{text: text, apply: onSlot(it.Slot.ID, writeWeek(v.Week, it.Dose, (1+rise)*was/is))})
	}
	r.offerFixes(p, out...)
	return p
}

// writeWeek writes out a dose for a week, its loads scaled by f; what the slot
// says for every week is not said twice.
func writeWeek(week int, dose plan.Dose, f float64) func(*plan.Slot) {
	return func(s *plan.Slot) {
		d := dose.EachSet(func(set plan.Set) plan.Set { return set.Scaled(f) })
		if d.Rest.Equal(s.Rest) {
			d.Rest = unit.Duration{}
		}
		if s.Tempo != "" {
			d.Tempo = plan.Tempo{}
		}
		if s.Measure != "" {
			d.Measure = nil
		}
		if week == 1 {
			s.Dose = d
			return
		}
		if s.Weeks == nil {
			s.Weeks = map[int]plan.Dose{}
		}
		s.Weeks[week] = d
	}
}

// loadOf returns the mean load of a slot's working sets in a week: kilograms
// where all are known, else the written percentages; 0 where neither is known.
func loadOf(w *session.Week, slot form.ID) float64 {
	kg, percent, n, known := 0.0, 0.0, 0.0, true
	for _, v := range w.Visits {
		for _, s := range v.Sets {
			if v.Items[s.Item].Slot.ID != slot || s.Warm || !s.Load.Written {
				continue
			}
			n++
			known = known && s.Load.HasMass
			kg += float64(s.Load.Mass.Kilogram())
			percent += s.Load.Percent
		}
	}
	switch {
	case n == 0:
		return 0
	case known:
		return kg / n
	}
	return percent / n
}

// stepOf returns the smallest step up from the loads of an item, kg, 0 where it
// is not known.
func stepOf(v *session.Visit, item int) float64 {
	step := 0.0
	for _, s := range v.Sets {
		if s.Item == item && !s.Warm {
			step = max(step, float64(s.Load.Step.Kilogram()))
		}
	}
	return step
}
