package check

import (
	"fmt"
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
		if r.wants("spacing") {
			r.spacing(w, &found)
		}
	}
	if r.wants("load-jump") {
		r.jumps(&found)
	}
	found.sayAll()
}

// aims compares what a week counts with the client's aims and caps. An easier
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
				r.offerFixes(p, r.fewer(w, a.Muscle)...)
				return p
			})
		case got < a.Sets.Low-aimTolerance && !r.deload(w.Number):
			found.add("aim-missed "+about, a.Sets.Low-got, func() *Problem {
				p := r.say("aim-missed", Settle, at, about, a.Sets.Low-got, args())
				p.measured(round3(got), a.Sets.Low, "hard sets a week")
				r.offerFixes(p, r.more(w, a.Muscle)...)
				return p
			})
		case got > a.Sets.High+aimTolerance:
			found.add("aim-passed "+about, got-a.Sets.High, func() *Problem {
				p := r.say("aim-passed", Note, at, about, got-a.Sets.High, args())
				p.measured(round3(got), a.Sets.High, "hard sets a week")
				r.offerFixes(p, r.fewer(w, a.Muscle)...)
				return p
			})
		}
	}
}

// liftAim compares lift sets with an aim for a lift.
func (r *rules) liftAim(w *session.Week, a client.Aim, i int, found *worst) {
	got := w.Lifts[a.Exercise]
	e := r.in.Library.ByID(a.Exercise)
	if r.deload(w.Number) || got >= a.Sets.Low-aimTolerance {
		return
	}
	found.add(fmt.Sprint("lift-missed ", i), a.Sets.Low-got, func() *Problem {
		p := r.say("lift-missed", Settle, At{Week: w.Number}, a.Exercise, a.Sets.Low-got, map[string]string{
			"lift": r.name(e), "sets": r.number(got, 1), "aim": a.Sets.String(), "percent": r.liftPercent()})
		p.measured(got, a.Sets.Low, "lift sets a week")
		r.offerFixes(p, r.moreLift(w, a.Exercise)...)
		return p
	})
}

// liftPercent writes the load from which a set counts for a lift.
func (r *rules) liftPercent() string {
	if r.in.Client.Experience == client.Beginner {
		return "70"
	}
	return "80"
}

// contributors lists the slots of a week that count for a muscle, most first.
func contributors(w *session.Week, m anatomy.MuscleSide) []session.Item {
	type share struct {
		item session.Item
		sets float64
	}
	var list []share
	for _, v := range w.Visits {
		for i, s := range v.Slots {
			if c := session.Pick(s.Work, m.Muscle, m.Side).Sum(); c > 0 {
				list = append(list, share{v.Items[i], c})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b share) int {
		switch {
		case a.sets > b.sets:
			return -1
		case a.sets < b.sets:
			return 1
		}
		return 0
	})
	var out []session.Item
	for _, s := range list {
		out = append(out, s.item)
	}
	return out
}

// fewer are the ways to less work for a muscle: a set off what counts most.
func (r *rules) fewer(w *session.Week, m anatomy.MuscleSide) []candidate {
	var out []candidate
	for _, it := range contributors(w, m) {
		out = append(out, candidate{fmt.Sprintf(r.pick("one set fewer of %s", "ein Satz weniger: %s"), r.name(it.Exercise)), cutSet(it.Slot.ID)})
	}
	return out[:min(len(out), maxFixes)]
}

// more are the ways to more work for a muscle: a set on what counts direct.
func (r *rules) more(w *session.Week, m anatomy.MuscleSide) []candidate {
	var out []candidate
	for _, direct := range []bool{true, false} {
		for _, it := range contributors(w, m) {
			if slices.Contains(it.Exercise.Direct, m.Muscle) == direct && len(out) < maxFixes {
				out = append(out, candidate{fmt.Sprintf(r.pick("one set more of %s", "ein Satz mehr: %s"), r.name(it.Exercise)), addSet(it.Slot.ID)})
			}
		}
	}
	return out
}

// moreLift are the ways to more lift sets: a set more, or a load that counts.
func (r *rules) moreLift(w *session.Week, lift string) []candidate {
	var out []candidate
	for _, v := range w.Visits {
		for _, it := range v.Items {
			if !it.Exercise.Counts(lift) || it.Stage == exercise.Drill {
				continue
			}
			id := it.Slot.ID
			out = append(out,
				candidate{fmt.Sprintf(r.pick("one set more of %s", "ein Satz mehr: %s"), r.name(it.Exercise)), addSet(id)},
				candidate{fmt.Sprintf(r.pick("%s at %s %% in sets of 3", "%s mit %s %% in Sätzen zu 3"), r.name(it.Exercise), r.liftPercent()), onSlot(id, r.heavyEnough)})
		}
	}
	return out
}

// heavyEnough makes every set of a slot one that counts for the lift: the
// percentage that does, three repetitions at most.
func (r *rules) heavyEnough(s *plan.Slot) {
	p := unit.PercentOf(80)
	if r.in.Client.Experience == client.Beginner {
		p = unit.PercentOf(70)
	}
	s.Progress = nil
	s.EachDose(func(d plan.Dose) plan.Dose {
		return d.EachSet(func(set plan.Set) plan.Set {
			set.Load = plan.Load{Kind: plan.PercentMax, Percent: p}
			set.Work = plan.Work{Low: 3, High: 3}
			return set
		})
	})
}

// sides finds muscles whose two sides get clearly different work, unless the
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
	for _, it := range contributors(w, m) {
		id := it.Slot.ID
		switch {
		case len(it.Dose.Parts) == 2:
			out = append(out, candidate{fmt.Sprintf(r.pick("equal sets left and right of %s", "gleich viele Sätze links und rechts: %s"), r.name(it.Exercise)),
				onSlot(id, func(s *plan.Slot) { s.EachDose(evenSides) })})
		case it.Slot.Side != anatomy.NoSide || len(it.Dose.Parts) == 1 && (it.Dose.Parts[0].Sides == plan.LeftOnly || it.Dose.Parts[0].Sides == plan.RightOnly):
			out = append(out, candidate{fmt.Sprintf(r.pick("one set fewer of %s", "ein Satz weniger: %s"), r.name(it.Exercise)), cutSet(id)})
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

// spacing finds sessions too close together for the same watched muscle: on the
// same day to be settled, on neighbouring days a note, either a stop where pain
// in that region is on record.
func (r *rules) spacing(w *session.Week, found *worst) {
	for _, m := range r.watched(w) {
		var last *session.Visit
		for _, v := range w.Visits {
			if !works(v, m) {
				continue
			}
			if last != nil {
				r.near(w, last, v, m, found)
			}
			last = v
		}
	}
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
func (r *rules) near(w *session.Week, a, b *session.Visit, m anatomy.Muscle, found *worst) {
	days := b.Session.Day.Index() - a.Session.Day.Index()
	if days > 1 {
		return
	}
	sev := Note
	if days == 0 {
		sev = Settle
	}
	if r.painIn(m.Region()) {
		sev = Stop
	}
	harm := float64(2 - days)
	found.add(fmt.Sprintf("spacing %s %s %s", m, a.Session.ID, b.Session.ID), harm, func() *Problem {
		p := r.say("spacing", sev, At{Week: w.Number, Session: string(b.Session.ID)}, string(m), harm, map[string]string{
			"muscle": m.In(r.lang), "first": a.Session.Name, "second": b.Session.Name, "hours": fmt.Sprint(24 * days)})
		p.measured(float64(24*days), hoursTogether, "h")
		r.offerFixes(p, r.otherDays(b.Session)...)
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
		out = append(out, candidate{fmt.Sprintf(r.pick("move it to %s", "auf %s legen"), day.In(r.lang)), func(b *plan.Block) bool {
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

// jumps finds loads that rise by more than a tenth and more than one available
// step from one week to the next.
func (r *rules) jumps(found *worst) {
	for n := 1; n < len(r.weeks); n++ {
		before, after := r.weeks[n-1], r.weeks[n]
		if r.deload(before.Number) {
			continue
		}
		for _, v := range after.Visits {
			for i, it := range v.Items {
				was, is, step := loadOf(before, it.Slot), loadOf(after, it.Slot), stepOf(v, i)
				if was > 0 && is-was > jump*was+1e-9 && is-was > step+1e-9 {
					found.add(key("load-jump", v, i), is/was-1, func() *Problem { return r.sayJump(v, i, was, is) })
				}
			}
		}
	}
}

func (r *rules) sayJump(v *session.Visit, item int, was, is float64) *Problem {
	it := v.Items[item]
	p := r.say("load-jump", Settle, slotAt(v, item), "", is/was-1, map[string]string{
		"exercise": r.name(it.Exercise), "rise": r.number(100*(is/was-1), 0), "before": fmt.Sprint(v.Week - 1), "week": fmt.Sprint(v.Week)})
	p.measured(round3(100*(is/was-1)), 100*jump, "%")
	week, id, f := v.Week, it.Slot.ID, (1+jump)*was/is
	dose := it.Dose
	r.offerFixes(p, candidate{fmt.Sprintf(r.pick("at most %d %% more in week %d", "höchstens %d %% mehr in Woche %d"), int(100*jump), week), onSlot(id, func(s *plan.Slot) {
		if s.Weeks == nil {
			s.Weeks = map[int]plan.Dose{}
		}
		d := dose.EachSet(func(set plan.Set) plan.Set { return set.Scaled(f) })
		d.Rest, d.Tempo, d.Measure = plan.Dose{}.Rest, plan.Tempo{}, nil
		if week == 1 {
			s.Dose = d
		} else {
			s.Weeks[week] = d
		}
	})})
	return p
}

// loadOf returns the mean load of a slot's working sets in a week: kilograms
// where all are known, else the written percentages; 0 where neither is known.
func loadOf(w *session.Week, slot *plan.Slot) float64 {
	kg, percent, n, known := 0.0, 0.0, 0.0, true
	for _, v := range w.Visits {
		for _, s := range v.Sets {
			if v.Items[s.Item].Slot.ID != slot.ID || s.Warm || !s.Load.Written {
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

// reasonRules say which exercises have no reason that holds, and which declared
// reasons fail, once for a slot.
func (r *rules) reasonRules() {
	var found worst
	r.eachVisit(func(w *session.Week, v *session.Visit) {
		if r.deload(v.Week) && len(r.weeks) > 1 {
			return // an easier week may leave reasons unmet
		}
		for i, it := range v.Items {
			held := false
			for _, res := range r.reasons[place{v.Week, v.Session.ID, it.Slot.ID}] {
				held = held || res.Holds
				if !res.Holds {
					found.add(fmt.Sprint(key("reason-fails", v, i), res.number), 1-res.Share, func() *Problem { return r.sayFails(v, i, res) })
				}
			}
			if len(it.Slot.Reasons) == 0 {
				minutes := v.Slots[i].End.Mean - v.Slots[i].Start.Mean
				found.add(key("no-reason", v, i), minutes, func() *Problem { return r.sayNoReason(w, v, i, minutes) })
			}
		}
	})
	found.sayAll()
}

// sayFails says that a declared reason does not hold.
func (r *rules) sayFails(v *session.Visit, item int, res ReasonResult) *Problem {
	it := v.Items[item]
	p := r.say("reason-fails", Settle, slotAt(v, item), fmt.Sprintf("%d %s %s", res.number, res.Reason, res.Of), 1-res.Share+0.01, map[string]string{
		"exercise": r.name(it.Exercise), "reason": ReasonWord(exercise.Reason(res.Reason), r.lang), "because": res.Because})
	p.measured(round3(res.Share), keptShare, "share of draws")
	id, n := it.Slot.ID, res.number
	first := candidate{r.pick("do it first", "an den Anfang stellen"), func(b *plan.Block) bool { return b.Move(id, 0) }}
	drop := candidate{r.pick("drop this reason", "diesen Grund streichen"), onSlot(id, func(s *plan.Slot) {
		if n < len(s.Reasons) {
			s.Reasons = slices.Delete(s.Reasons, n, n+1)
		}
	})}
	if res.Reason == string(exercise.Test) || res.Reason == string(exercise.Practise) || res.Reason == string(exercise.Prepare) {
		r.offerFixes(p, first, drop)
	} else {
		r.offerFixes(p, drop)
	}
	return p
}

// sayNoReason says that an exercise has no reason, what it costs, and which
// reasons would hold.
func (r *rules) sayNoReason(w *session.Week, v *session.Visit, item int, minutes float64) *Problem {
	it := v.Items[item]
	p := r.say("no-reason", Settle, slotAt(v, item), "", minutes/60+0.01, map[string]string{
		"exercise": r.name(it.Exercise), "minutes": r.number(minutes, 0)})
	p.measured(round3(minutes), 0, "min")
	var out []candidate
	for _, reason := range r.propose(w, v, item) {
		out = append(out, candidate{fmt.Sprintf(r.pick("give the reason: %s", "Grund angeben: %s"), r.reasonText(reason)), onSlot(it.Slot.ID, func(s *plan.Slot) {
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
func (r *rules) propose(w *session.Week, v *session.Visit, item int) []plan.Reason {
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
	var out []plan.Reason
	for _, reason := range list {
		quiet := &rules{in: r.in, lang: r.lang, day: r.day, athlete: r.athlete, reasons: r.reasons, links: map[string][]Link{}}
		if t := (trial{quiet, w, v, item, reason}); t.test().Holds {
			out = append(out, reason)
		}
	}
	return out
}

// reasonText writes a proposed reason.
func (r *rules) reasonText(x plan.Reason) string {
	switch {
	case x.Practise != "":
		return ReasonWord(exercise.Practise, r.lang) + " " + r.name(r.in.Library.ByID(x.Practise))
	case x.Load != nil:
		return ReasonWord(exercise.Load, r.lang) + " " + x.Load.In(r.lang)
	case x.Prepare != "":
		if _, s := r.in.Block.SlotByID(x.Prepare); s != nil {
			return ReasonWord(exercise.Prepare, r.lang) + " " + r.name(r.in.Library.ByID(s.Exercise))
		}
	}
	return ReasonWord(exercise.Restore, r.lang) + " " + x.Restore.In(r.lang)
}

// ReasonWord returns the word for a reason in l.
func ReasonWord(x exercise.Reason, l form.Language) string {
	return map[exercise.Reason]form.Text{
		exercise.Test: {En: "test", De: "Test"}, exercise.Prepare: {En: "prepare", De: "Vorbereitung"},
		exercise.Practise: {En: "practise", De: "Üben"}, exercise.Load: {En: "load", De: "Aufbau"},
		exercise.Spare: {En: "spare", De: "Entlastung"}, exercise.Restore: {En: "restore", De: "Lockerung"},
	}[x].In(l)
}
