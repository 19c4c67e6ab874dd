package check

import (
	"fmt"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/client"
	"corbel/effort"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/unit"
)

// equipment (R12) finds exercises whose equipment the place lacks.
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
				out = append(out, swapFor(it, e, r.name(e), r.lang))
			}
			r.offerFixes(p, append(out, r.leaveOut(it))...)
			return p
		})
	}
}

// leaveOut is the way out that removes a slot.
func (r *rules) leaveOut(it session.Item) candidate {
	return candidate{text: r.pick("leave it out", "weglassen"), apply: func(b *plan.Block) bool { return b.Remove(it.Slot.ID) }}
}

// swapFor is the way out that puts another exercise into a slot. Loads in percent
// or kilograms belong to the old exercise, so the new one takes its load by the
// reserve; sides follow the new exercise.
func swapFor(it session.Item, e *exercise.Exercise, name string, l form.Language) candidate {
	id := it.Slot.ID
	return candidate{text: fmt.Sprintf(form.Text{En: "swap for %s", De: "tauschen gegen %s"}.In(l), name), swap: id, apply: func(b *plan.Block) bool {
		if !b.Swap(id, string(e.ID)) {
			return false
		}
		_, s := b.SlotByID(id)
		if e.Sides == exercise.BothSides {
			s.Side = anatomy.NoSide
		}
		s.EachDose(func(d plan.Dose) plan.Dose {
			d.WarmUp = nil
			if e.Sides == exercise.BothSides {
				d = d.Together()
			} else if it.Exercise.Sides == exercise.BothSides && s.Side == anatomy.NoSide {
				d = d.EachSide()
			}
			return d.EachSet(byReserve)
		})
		s.KeepMoving()
		return true
	}}
}

// byReserve takes the load off a set and leaves it to the reserve: the one
// written, or two repetitions.
func byReserve(set plan.Set) plan.Set {
	set.Load = plan.Load{}
	if set.Effort.Kind == plan.Unasked && !set.Work.Max {
		set.Effort = plan.Effort{Kind: plan.RIR, Low: 20, High: 20}
	}
	return set
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

// gentler (R13) finds isolations after work for the same muscle for which the place
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
			r.offerFixes(p, swapFor(it, better, r.name(better), r.lang))
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

// outside (R14) notes, a session at a time, which exercises lie outside the model's
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

// sameTwice (R15) finds an exercise that stands twice in a session without a reason
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

// noWarmUp (R16) finds heavy bars without written warm-up sets, and offers the
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
			r.offerFixes(x, candidate{text: r.pick("write in the warm-up sets the minutes already count", "die bereits eingerechneten Aufwärmsätze eintragen"),
				apply: onSlot(it.Slot.ID, func(s *plan.Slot) {
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

// loadNotThere (R17) finds written masses the place cannot make.
func (r *rules) loadNotThere(v *session.Visit, found *worst) {
	for i := range v.Sets {
		s := &v.Sets[i]
		it := v.Items[s.Item]
		_, written := it.Slot.Weeks[v.Week]
		if !s.Load.NotThere || s.Warm || v.Week > 1 && !written {
			continue // a computed load is rounded, which is no mistake
		}
		gap := float64(s.Load.Asked.Kilogram() - s.Load.Mass.Kilogram())
		gap = max(gap, -gap)
		found.add(key("load-not-there", v, s.Item), gap, func() *Problem {
			near := s.Load.Mass.Short(s.Load.Asked.Unit())
			p := r.say("load-not-there", Note, slotAt(v, s.Item), "", gap, map[string]string{
				"exercise": r.name(it.Exercise), "asked": s.Load.Asked.Canonical(), "place": v.Place.Name, "near": near})
			p.measured(round3(float64(s.Load.Asked.Kilogram())), round3(float64(s.Load.Mass.Kilogram())), "kg")
			r.offerFixes(p, candidate{text: fmt.Sprintf(r.pick("write %s, and the nearest there is for the other sets", "%s eintragen und bei anderen Sätzen die nächstgelegene Last"), near),
				apply: onSlot(it.Slot.ID, func(x *plan.Slot) { x.EachDose(r.nearest(it.Exercise, v.Place)) })})
			return p
		})
	}
}

// nearest makes an operation on a dose that brings written masses to the nearest
// there are for an exercise at a place.
func (r *rules) nearest(e *exercise.Exercise, place *client.Place) func(plan.Dose) plan.Dose {
	return func(d plan.Dose) plan.Dose {
		return d.EachSet(func(s plan.Set) plan.Set {
			switch s.Load.Kind {
			case plan.Mass, plan.Added, plan.MassInHand:
				if near, ok := client.Nearest(session.Achievable(e, place, s.Load.Kind == plan.MassInHand), s.Load.Mass); ok {
					s.Load.Mass = near
				}
			}
			return s
		})
	}
}
