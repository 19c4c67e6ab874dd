package check

import (
	"fmt"
	"slices"

	"corbel/anatomy"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// reasonRules (R25, R26) say which exercises have no reason that holds, and which declared
// reasons fail, once for a slot.
func (r *rules) reasonRules() {
	var found worst
	r.eachVisit(func(w *session.Week, v *session.Visit) {
		if r.deload(v.Week) && r.in.Block.Weeks > 1 {
			return // an easier week may leave reasons unmet
		}
		for i, it := range v.Items {
			held := false
			for _, res := range r.reasons[place{v.Week, v.Session.ID, it.Slot.ID}] {
				held = held || res.Holds
				if !res.Holds {
					found.add(key("reason-fails", v, i)+" "+res.about, 1-res.Share, func() *Problem { return r.sayFails(v, i, res) })
				}
			}
			if len(it.Slot.Reasons) == 0 {
				minutes := v.Slots[i].End.Mean - v.Slots[i].Start.Mean
				found.add(key("no-reason", v, i), minutes, func() *Problem { return r.sayNoReason(v, i, minutes) })
			}
		}
	})
	found.sayAll()
}

// sayFails says that a declared reason does not hold.
func (r *rules) sayFails(v *session.Visit, item int, res ReasonResult) *Problem {
	it := v.Items[item]
	p := r.say("reason-fails", Settle, slotAt(v, item), res.about, 1-res.Share+0.01, map[string]string{
		"exercise": r.name(it.Exercise), "reason": r.reasonText(it.Slot.Reasons[res.number]), "because": res.Because})
	p.measured(round3(res.Share), keptShare, "share of draws")
	if res.drawn { // the mean holds already, so that a trial on the mean says nothing
		r.giveFixes(p, r.sureFixes(it, res)...)
		return p
	}
	r.offerFixes(p, r.reasonFixes(it, res)...)
	return p
}

// reasonFixes are the ways out of a reason that fails: a measure where a test
// asks for none, the start of the session where earlier work is in the way, no
// exercise where it was there to build and is not needed, and no such reason.
func (r *rules) reasonFixes(it session.Item, res ReasonResult) []candidate {
	id, n := it.Slot.ID, res.number
	var out []candidate
	switch exercise.Reason(res.Reason) {
	case exercise.Test:
		if len(it.Dose.Measure) == 0 {
			out = append(out, candidate{text: r.pick("have the reserve noted down", "die Reserve notieren lassen"), apply: onSlot(id, func(s *plan.Slot) { s.Measure = "reserve" })})
		}
		out = append(out, r.doFirst(id))
	case exercise.Practise, exercise.Prepare:
		out = append(out, r.doFirst(id))
	case exercise.Load:
		if res.idle && len(it.Slot.Reasons) == 1 {
			out = append(out, r.leaveOut(it))
		}
	}
	return append(out, r.dropReason(id, n))
}

// sureFixes are the ways out that are so by what they are: an exercise that comes
// first loses nothing to others, in no draw.
func (r *rules) sureFixes(it session.Item, res ReasonResult) []candidate {
	drop := r.dropReason(it.Slot.ID, res.number)
	if res.Reason == string(exercise.Practise) {
		return []candidate{r.doFirst(it.Slot.ID), drop}
	}
	return []candidate{drop}
}

// dropReason is the way out that takes reason n off a slot, and what says the
// same again.
func (r *rules) dropReason(id form.ID, n int) candidate {
	return candidate{text: r.pick("drop this reason", "diesen Grund streichen"), apply: onSlot(id, func(s *plan.Slot) {
		if n < len(s.Reasons) {
			s.Reasons = slices.DeleteFunc(s.Reasons, s.Reasons[n].Same)
		}
	})}
}

// doFirst is the way out that moves a slot to the start of its session.
func (r *rules) doFirst(id form.ID) candidate {
	return candidate{text: r.pick("do it first", "an den Anfang stellen"), apply: func(b *plan.Block) bool { return b.Move(id, 0) }}
}

// sayNoReason says that an exercise has no reason, what it costs, and which
// reasons would hold.
func (r *rules) sayNoReason(v *session.Visit, item int, minutes float64) *Problem {
	it := v.Items[item]
	p := r.say("no-reason", Settle, slotAt(v, item), "", minutes/60+0.01, map[string]string{
		"exercise": r.name(it.Exercise), "minutes": r.number(minutes, 0)})
	p.measured(round3(minutes), 0, "min")
	if !r.offer { // reasons that would hold are costly to find
		return p
	}
	var out []candidate
	for _, reason := range r.propose(v, item) {
		out = append(out, candidate{text: fmt.Sprintf(r.pick("give the reason: %s", "Grund angeben: %s"), r.reasonText(reason)), apply: onSlot(it.Slot.ID, func(s *plan.Slot) {
			s.Reasons = append(s.Reasons, reason)
		})})
	}
	if len(out) > maxFixes-1 {
		out = out[:maxFixes-1]
	}
	r.giveFixes(p, append(out, r.leaveOut(it))...)
	return p
}

// propose lists reasons that would hold for an item: a lift it practises, a
// muscle it builds towards an aim, a later exercise it prepares, a region it
// restores.
func (r *rules) propose(v *session.Visit, item int) []plan.Reason {
	e := v.Items[item].Exercise
	var list []plan.Reason
	for _, l := range r.athlete.Judged() {
		if e.Counts(l) {
			list = append(list, plan.Reason{Practise: l})
		}
	}
	for _, m := range slices.Concat(e.Direct, e.Indirect) {
		list = append(list, plan.Reason{Load: &anatomy.MuscleSide{Muscle: m}})
	}
	if slices.Contains(e.May, exercise.Prepare) {
		for j := item + 1; j < len(v.Items); j++ {
			list = append(list, plan.Reason{Prepare: v.Items[j].Slot.ID})
		}
	}
	if slices.Contains(e.May, exercise.Restore) && len(e.Actions) > 0 {
		list = append(list, plan.Reason{Restore: e.Actions[0].Region()})
	}
	return slices.DeleteFunc(list, func(x plan.Reason) bool { return !r.alwaysHolds(v, item, x) })
}

// alwaysHolds says whether a reason would hold for an item in every week but an
// easier one.
func (r *rules) alwaysHolds(v *session.Visit, item int, reason plan.Reason) bool {
	id := v.Items[item].Slot.ID
	for _, w := range r.weeks {
		for _, x := range w.Visits {
			i := slices.IndexFunc(x.Items, func(it session.Item) bool { return it.Slot.ID == id })
			if i < 0 || r.deload(w.Number) && r.in.Block.Weeks > 1 {
				continue
			}
			quiet := &rules{in: r.in, lang: r.lang, day: r.day, athlete: r.athlete, reasons: r.reasons, links: map[string][]Link{}}
			if t := (trial{quiet, w, x, i, reason}); !t.test().Holds {
				return false
			}
		}
	}
	return true
}

// reasonText writes a reason.
func (r *rules) reasonText(x plan.Reason) string {
	slot := func(id form.ID) string {
		if _, s := r.in.Block.SlotByID(id); s != nil {
			return r.name(r.in.Library.ByID(s.Exercise))
		}
		return string(id)
	}
	var kind exercise.Reason
	var of string
	switch {
	case x.Test != nil:
		kind, of = exercise.Test, x.Test.In(r.lang)
	case x.Prepare != "":
		kind, of = exercise.Prepare, slot(x.Prepare)
	case x.Practise != "":
		kind, of = exercise.Practise, r.name(r.in.Library.ByID(x.Practise))
	case x.Load != nil:
		kind, of = exercise.Load, x.Load.In(r.lang)
	case x.Spare != nil:
		kind, of = exercise.Spare, fmt.Sprintf(r.pick("%s for %s", "%s für %s"), x.Spare.In(r.lang), slot(x.For))
	default:
		kind, of = exercise.Restore, x.Restore.In(r.lang)
	}
	return ReasonWord(kind, r.lang) + ": " + of
}

// ReasonWord returns the word for a reason in l.
func ReasonWord(x exercise.Reason, l form.Language) string {
	return map[exercise.Reason]form.Text{
		exercise.Test: {En: "test", De: "Test"}, exercise.Prepare: {En: "prepare", De: "Vorbereitung"},
		exercise.Practise: {En: "practise", De: "Üben"}, exercise.Load: {En: "load", De: "Aufbau"},
		exercise.Spare: {En: "spare", De: "Entlastung"}, exercise.Restore: {En: "restore", De: "Lockerung"},
	}[x].In(l)
}
