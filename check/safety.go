package check

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/unit"
)

// An Input is what a check looks at. It is not changed.
type Input struct {
	Client   *client.Client
	Block    *plan.Block
	Library  *exercise.Library
	Log      *plan.Log        // may be nil
	Practice *client.Practice // may be nil
	Shares   session.Sharer   // shares without a coach's; nil for those the library states
	Draws    int              // draws behind the bands and shares, 0 for none
	Seed     uint64           // of the draws
	Moments  bool             // joint moments of every week too; they take a solved posture for every load
	Week     int              // only this week; 0 for all
	On       form.Date        // day as of which answers are judged; the block's start if zero
	Language form.Language    // of the texts; English if empty
}

// day returns the day answers are judged on.
func (in *Input) day() form.Date {
	if in.On.IsZero() {
		return in.Block.Start
	}
	return in.On
}

// kept lists what the coach kept: in the block, for the client, for all clients.
func (in *Input) kept() []client.Kept {
	out := slices.Concat(in.Client.Kept, in.Block.Kept)
	if in.Practice != nil {
		out = append(out, in.Practice.Kept...)
	}
	return out
}

// Safety applies the safety list to a block (docs/model/12-safety.md): clearance,
// emergency signs, red flags, what to ask first, restrictions, pain. Problems
// come worst first; those the coach kept with a sentence say so. A
// practitioner's restriction and an emergency sign cannot be kept.
func Safety(in Input) []Problem {
	s := newSafety(in)
	s.clearance()
	s.questions()
	s.restrictions()
	s.pain()
	s.effort()
	keep(s.out, in.kept(), s.day)
	order(s.out)
	return s.out
}

// safety is one run of the rules.
type safety struct {
	in      Input
	lang    form.Language
	day     form.Date
	use     []*use
	out     []Problem
	answers []client.Answered
	said    map[string]bool // ids of the problems said
	flag    bool            // a yes without a practitioner's word
	hurt    bool            // pain that lowers or stops work
	less    bool            // cleared for less than vigorous work
}

// A use is an exercise in a slot of the block, on the days it is done after the
// block's changes (S23). A slot in which another exercise is swapped in is two uses.
type use struct {
	session  *plan.Session
	slot     *plan.Slot // as written
	exercise *exercise.Exercise
	days     []turn
	order    int
}

// A turn is one day a use is done.
type turn struct {
	week int
	on   form.Date
	slot *plan.Slot // as it holds on the day
	dose plan.Dose
}

func newSafety(in Input) *safety {
	s := &safety{in: in, lang: in.Language, day: in.day(), said: map[string]bool{},
		answers: client.Answers(in.Client.Flags, in.Client.Born, in.day())}
	if s.lang == "" {
		s.lang = form.English
	}
	for w := 1; w <= in.Block.Weeks; w++ {
		for _, l := range in.Block.Lay(w) {
			for _, slot := range l.Slots {
				s.lay(l, slot, w)
			}
		}
	}
	slices.SortStableFunc(s.use, func(a, b *use) int { return a.order - b.order })
	return s
}

// lay adds a day to the use of a laid slot.
func (s *safety) lay(l plan.Laid, slot plan.LaidSlot, week int) {
	d := turn{week, l.On, slot.Slot, slot.Dose}
	for _, u := range s.use {
		if u.slot.ID == slot.Slot.ID && string(u.exercise.ID) == slot.Slot.Exercise {
			u.days = append(u.days, d)
			return
		}
	}
	at := slices.IndexFunc(l.Session.Slots, func(x plan.Slot) bool { return x.ID == slot.Slot.ID })
	s.use = append(s.use, &use{session: l.Session, slot: &l.Session.Slots[at], exercise: s.in.Library.ByID(slot.Slot.Exercise),
		days: []turn{d}, order: 1000*l.Index + at})
}

// say adds a problem and returns it for more to be filled in. apart tells
// problems of the same code, place and subject apart; the same one twice is said
// once.
func (s *safety) say(code Code, sev Severity, at At, about string, args map[string]string, apart ...string) *Problem {
	p := newProblem(s.lang, code, sev, at, about, args)
	if more := strings.TrimSpace(strings.Join(apart, " ")); more != "" {
		p.ID = problemID(code, at, about+" "+more)
	}
	if s.said[p.ID] {
		return &p
	}
	s.said[p.ID] = true
	s.out = append(s.out, p)
	return &s.out[len(s.out)-1]
}

func (s *safety) pick(en, de string) string { return form.Text{En: en, De: de}.In(s.lang) }

func (u *use) at() At { return At{Session: string(u.session.ID), Slot: string(u.slot.ID)} }

func (u *use) name(l form.Language) string { return u.exercise.Name.In(l) }

// swapped names the exercise where it is not the one written in the slot.
func (u *use) swapped() string {
	if string(u.exercise.ID) == u.slot.Exercise {
		return ""
	}
	return string(u.exercise.ID)
}

// meets says whether the work of a day concerns a side: where one side alone
// works, the other is not concerned (S22).
func (d turn) meets(side anatomy.Side) bool {
	if d.slot.Side != anatomy.NoSide {
		return d.slot.Side.Meets(side)
	}
	return slices.ContainsFunc(d.dose.Parts, func(p plan.Part) bool { return p.Sides.Side().Meets(side) })
}

// from lists the days of the use that a report of a day can still stop: those
// from that day on, or all where it lies after the block (S23).
func (s *safety) from(u *use, on form.Date) []turn {
	if s.in.Block.End().Before(on) {
		return u.days
	}
	return slices.DeleteFunc(slices.Clone(u.days), func(d turn) bool { return d.on.Before(on) })
}

// loads says whether some of the days load a side by any of the joint actions; an
// action of the trunk or neck loads both sides.
func (u *use) loads(days []turn, actions []anatomy.Action, side anatomy.Side) bool {
	if len(actions) == 0 {
		return false
	}
	if side != anatomy.NoSide && slices.ContainsFunc(actions, func(a anatomy.Action) bool { return client.Midline(a.Region()) }) {
		side = anatomy.NoSide
	}
	return slices.ContainsFunc(days, func(d turn) bool { return d.meets(side) })
}

// inRegion lists the joint actions by which an exercise loads a region: those
// counted to it, and those that load the place of that name (S22).
func inRegion(e *exercise.Exercise, r anatomy.Region) []anatomy.Action {
	var named []anatomy.Action
	if slices.Contains(anatomy.Place("").Values(), string(r)) {
		named = anatomy.Place(r).Actions()
	}
	return slices.DeleteFunc(slices.Clone(e.Actions), func(a anatomy.Action) bool {
		return a.Region() != r && !slices.Contains(named, a)
	})
}

// A verdict of the screening: the hardest intensity without clearance, or none.
type verdict struct {
	most   client.Intensity // empty: none until cleared
	reason form.Text
	start  bool // start light to moderate
}

// screen is the ACSM 2015 pre-participation algorithm (Riebe et al. 2015; key
// acsm-2015): from active, known disease, signs or symptoms to the hardest
// intensity that needs no clearance (S2).
func screen(active, disease, symptoms bool) verdict {
	v := verdict{most: client.Vigorous, start: !active}
	switch {
	case symptoms:
		v.most, v.reason = "", form.Text{En: "signs or symptoms", De: "Zeichen oder Beschwerden"}
	case disease && !active:
		v.most, v.reason = "", form.Text{En: "a known disease and not active", De: "eine bekannte Krankheit und nicht aktiv"}
	case disease:
		v.most, v.reason = client.Moderate, form.Text{En: "a known disease", De: "eine bekannte Krankheit"}
	}
	return v
}

// harder says whether intensity a is harder than b; none is the easiest.
func harder(a, b client.Intensity) bool {
	order := []client.Intensity{"", client.Light, client.Moderate, client.Vigorous}
	return slices.Index(order, a) > slices.Index(order, b)
}

// clearance applies the screening (S1 to S3).
func (s *safety) clearance() {
	c := s.in.Client.Clearance
	if open := openClearance(c, s.lang); len(open) > 0 {
		s.say("clearance-not-asked", Stop, At{}, "clearance", map[string]string{"questions": strings.Join(open, ", ")})
		return
	}
	v := screen(c.Active.Answer == client.Yes, c.Disease.Answer == client.Yes, c.Symptoms.Answer == client.Yes)
	most, reason := v.most, v.reason.In(s.lang)
	if c.Cleared.Holds(s.day) {
		if harder(c.Intensity, most) {
			s.wordEnds(c.Cleared, "clearance", s.pick("the screening", "die Befragung vor dem Training"))
		}
		most, reason = cmp.Or(c.Cleared.Loads, client.Vigorous), c.Cleared.By
	}
	for _, a := range s.answers {
		if w := a.Cleared; a.Answer == client.Yes && a.Lifted(s.day) && w.Loads != "" && harder(most, w.Loads) {
			most, reason = w.Loads, w.By+", "+a.Question.Short.In(s.lang)
		}
	}
	s.less = harder(client.Vigorous, most)
	args := map[string]string{"reason": reason}
	switch {
	case most == "":
		s.flag = true
		s.say("clearance-needed", Stop, At{}, "clearance", args)
	case harder(c.Intensity, most):
		s.flag = true
		args["wanted"], args["allowed"] = intensityWord(c.Intensity, s.lang), intensityWord(most, s.lang)
		s.say("clearance-intensity", Stop, At{}, "clearance", args)
	case v.start:
		s.say("clearance-start", Note, At{}, "clearance", args)
	}
	for _, a := range []client.Asked{c.Active, c.Disease, c.Symptoms} {
		if s.old(a.On) {
			s.askAgain("clearance", s.pick("the screening before training", "Befragung vor dem Training"))
		}
	}
}

// wordEnds says that a practitioner's word runs out before the block does (S12).
func (s *safety) wordEnds(w *client.Word, about, what string, apart ...string) {
	if w.Holds(s.day) && !w.Until.IsZero() && w.Until.Before(s.in.Block.End()) {
		s.say("word-ends", Settle, At{}, about, map[string]string{"what": what, "who": w.By, "until": w.Until.String(), "end": s.in.Block.End().String()}, apart...)
	}
}

// intensityWord returns the word for an intensity in l.
func intensityWord(i client.Intensity, l form.Language) string {
	if l == form.German {
		return map[client.Intensity]string{client.Light: "leicht", client.Moderate: "mittel", client.Vigorous: "hoch"}[i]
	}
	return string(i)
}

// openClearance lists the questions of the screening that have no answer.
func openClearance(c client.Clearance, l form.Language) []string {
	var open []string
	for _, q := range c.Open() {
		open = append(open, q.Text.In(l))
	}
	return open
}

// questions applies the answers to the safety questions.
func (s *safety) questions() {
	for _, g := range client.Asking.Groups {
		s.unasked(g, s.answers)
		s.aged(g, s.answers)
	}
	for _, a := range s.answers {
		switch {
		case a.Other:
			s.unrecorded(a)
		case a.Answer == client.Yes:
			s.yes(a)
		}
	}
}

// unrecorded asks for a report of severe back pain that is no flag at the
// client's age and of which the pain rules know nothing (S10).
func (s *safety) unrecorded(a client.Answered) {
	for _, p := range s.reports() {
		if p.Place == "low-back" || p.Place == "upper-back" {
			return
		}
	}
	s.flag = true
	s.say("pain-not-recorded", Settle, At{}, string(a.Question.ID), map[string]string{})
}

// unasked says which questions of a group have no answer (S4).
func (s *safety) unasked(g client.Group, answers []client.Answered) {
	var open, ids []string
	of := 0
	for _, a := range answers {
		if a.Question.Group != g.ID {
			continue
		}
		of++
		if !a.Answer.Asked() {
			open = append(open, a.Question.Short.In(s.lang))
			ids = append(ids, string(a.Question.ID))
		}
	}
	if len(open) > 0 {
		p := s.say("not-asked", Stop, At{}, string(g.ID), map[string]string{
			"count": fmt.Sprint(len(open)), "of": fmt.Sprint(of), "group": g.Name.In(s.lang),
			"questions": strings.Join(open, ", "), "ids": strings.Join(ids, " "),
		})
		p.unkeepable = slices.ContainsFunc(ids, func(id string) bool { return client.QuestionByID(id).Kind == client.Emergency })
	}
}

// answerDays is how many days an answer is taken to hold (our judgement; key
// judgement).
const answerDays = 365

// old says whether an answer of a day no longer holds; one without a day never
// did.
func (s *safety) old(on form.Date) bool { return on.IsZero() || s.day.Days(on) > answerDays }

// aged says where answers are older than a year (S11).
func (s *safety) aged(g client.Group, answers []client.Answered) {
	for _, a := range answers {
		computed := a.Question.From == "born" && a.On.IsZero()
		if a.Question.Group == g.ID && a.Answer.Asked() && !computed && s.old(a.On) {
			s.askAgain(string(g.ID), g.Name.In(s.lang))
		}
	}
}

func (s *safety) askAgain(about, group string) {
	s.say("ask-again", Settle, At{}, about, map[string]string{"group": group})
}

// yes applies one answer of yes (S6, S8, S9).
func (s *safety) yes(a client.Answered) {
	q := a.Question
	if a.Lifted(s.day) {
		s.wordEnds(a.Cleared, string(q.ID), q.Short.In(s.lang), string(a.Region), string(a.Side))
		return
	}
	s.flag = true
	args := map[string]string{"question": q.Short.In(s.lang), "source": q.Source}
	switch q.Kind {
	case client.Emergency:
		s.say("emergency", Stop, At{}, string(q.ID), args).unkeepable = true
	case client.RedFlag:
		s.redFlag(a, args)
	case client.AskFirst:
		s.say("ask-first", Stop, At{}, string(q.ID), args)
	case client.Refer:
		s.say("refer", Settle, At{}, string(q.ID), args)
	}
}

// redFlag stops every slot that loads the region of a red flag (S7).
func (s *safety) redFlag(a client.Answered, args map[string]string) {
	side, which := a.Side, ""
	if client.Midline(a.Region) {
		side = anatomy.NoSide
	}
	if a.Question.Region != string(a.Region) {
		which = string(a.Region) // asked of every joint: one question, several answers
	}
	args["region"] = a.Region.In(s.lang)
	if side != anatomy.NoSide {
		args["region"] += ", " + side.In(s.lang)
	}
	found := false
	for _, u := range s.use {
		if !u.loads(s.from(u, a.On), inRegion(u.exercise, a.Region), side) {
			continue
		}
		found = true
		mine := maps.Clone(args)
		mine["exercise"] = u.name(s.lang)
		p := s.say("red-flag", Stop, u.at(), string(a.Question.ID), mine, which, string(side), u.swapped())
		s.without(p, u)
	}
	if !found {
		s.say("red-flag-refer", Settle, At{}, string(a.Question.ID), args, which, string(side))
	}
}

// without offers to take back the change that swapped an exercise in, and to take
// a slot out of the block, unless it is all there is.
func (s *safety) without(p *Problem, u *use) {
	offer := func(en, de string, apply func(*plan.Block) bool) {
		p.Fixes = append(p.Fixes, Fix{ID: fmt.Sprintf("%s.%d", p.ID, len(p.Fixes)+1), Text: s.pick(en, de), apply: apply})
	}
	id := u.slot.ID
	if in := u.swapped(); in != "" {
		offer("take the swap back", "den Tausch zurücknehmen", func(b *plan.Block) bool {
			n := len(b.Changes)
			b.Changes = slices.DeleteFunc(b.Changes, func(c plan.Change) bool { return c.Slot == id && c.Do == "swap" && c.Exercise == in })
			return len(b.Changes) < n
		})
	}
	if len(s.in.Block.Sessions) > 1 || len(s.in.Block.Sessions[0].Slots) > 1 {
		offer("take it out of the block", "aus dem Block nehmen", func(b *plan.Block) bool { return b.Remove(id) })
	}
}

// restrictions applies what somebody has ruled out, day by day.
func (s *safety) restrictions() {
	for _, r := range s.in.Client.Restrict {
		for _, u := range s.use {
			if days := u.under(r); len(days) > 0 {
				s.restrict(r, u, days)
			}
		}
	}
}

// midline says whether a restriction concerns both sides of the body whatever it
// says.
func midline(r client.Restriction) bool {
	return r.Action != "" && client.Midline(r.Action.Region()) || r.Region != "" && client.Midline(r.Region)
}

// under lists the days on which a use does what a restriction is about (S13).
func (u *use) under(r client.Restriction) []turn {
	if r.Exercise != string(u.exercise.ID) && (r.Action == "" || !u.exercise.Works(r.Action)) && (r.Region == "" || len(inRegion(u.exercise, r.Region)) == 0) {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(u.days), func(d turn) bool {
		return !r.Holds(d.on) || !d.meets(r.Side) && !midline(r)
	})
}

// restrict says how a use breaks a restriction on the days it is under it, if it
// does (S14, S15).
func (s *safety) restrict(r client.Restriction, u *use, days []turn) {
	if r.Range == nil && r.Load.IsZero() {
		s.breaks("restriction", r, u, days, map[string]string{"what": r.What(s.lang, u.name(s.lang))})
		return
	}
	if r.Range != nil {
		outside := slices.DeleteFunc(slices.Clone(days), func(d turn) bool { return d.slot.Range != nil && d.slot.Range.Inside(*r.Range) })
		s.breaks("restriction-range", r, u, outside, map[string]string{"what": s.rangeWords(*r.Range), "range": r.Range.String()})
	}
	if r.Load.IsZero() {
		return
	}
	var over []turn
	got := ""
	for _, d := range days {
		if g := s.overLoad(r, u, d); g != "" {
			over, got = append(over, d), cmp.Or(got, g)
		}
	}
	s.breaks("restriction-load", r, u, over, map[string]string{"allowed": r.Load.String(), "got": got})
}

// breaks says that a restriction is broken on the days, where there are any.
func (s *safety) breaks(code Code, r client.Restriction, u *use, days []turn, args map[string]string) {
	if len(days) == 0 {
		return
	}
	maps.Copy(args, map[string]string{"exercise": u.name(s.lang), "who": s.who(r), "when": s.when(u, days), "reason": "", "may": s.mayKeep(r)})
	if r.Why != "" {
		args["reason"] = " (" + r.Why + ")"
	}
	at := u.at()
	at.Week = days[0].week
	p := s.say(code, Stop, at, string(r.ID), args, u.swapped())
	p.unkeepable = r.By == client.ByPractitioner
	s.without(p, u)
}

// rangeWords writes a joint range in words.
func (s *safety) rangeWords(r client.Range) string {
	return fmt.Sprintf("%s %s–%s°", r.Joint.In(s.lang), unit.Figures(r.From, 1), unit.Figures(r.To, 1))
}

// who names the source of a restriction.
func (s *safety) who(r client.Restriction) string {
	name := map[client.RestrictionSource]form.Text{
		client.ByPractitioner: {En: "the practitioner", De: "der medizinischen Fachperson"},
		client.ByCoach:        {En: "the coach", De: "dem Coach"},
		client.ByClient:       {En: "the client", De: "der Klientin oder dem Klienten"},
	}[r.By].In(s.lang)
	if r.Who != "" {
		name = r.Who
	}
	return name
}

// mayKeep says whether the coach may keep the problem.
func (s *safety) mayKeep(r client.Restriction) string {
	if r.By == client.ByPractitioner {
		return s.pick("A practitioner's word comes first; this cannot be kept.", "Das Wort einer medizinischen Fachperson geht vor; das kann nicht beibehalten werden.")
	}
	return s.pick("The coach may keep it with a written reason.", "Der Coach kann es mit schriftlicher Begründung beibehalten.")
}

// when says in which weeks, where it is not every time.
func (s *safety) when(u *use, days []turn) string {
	if len(days) == len(u.days) {
		return ""
	}
	text := s.pick(" (week ", " (Woche ") + fmt.Sprint(days[0].week)
	if last := days[len(days)-1].week; last != days[0].week {
		text += "–" + fmt.Sprint(last)
	}
	return text + ")"
}

// overLoad says how the load of a day passes the bound of a restriction, or
// nothing. A load that is not written as a mass cannot be held to the bound;
// warm-up sets in other units are taken to be lighter than the work (S15).
func (s *safety) overLoad(r client.Restriction, u *use, d turn) string {
	for _, p := range d.dose.Parts {
		if !midline(r) && !p.Sides.Side().Meets(r.Side) {
			continue
		}
		for _, set := range p.Sets {
			kg, known := setMass(set.Load, u.exercise)
			switch {
			case !known:
				return s.pick("its load is not written as a mass, so it cannot be held to that", "die Last ist nicht als Masse angegeben und lässt sich daran nicht messen")
			case kg > r.Load.Kilogram():
				return s.tooMuch(set.Load)
			}
		}
	}
	for _, set := range d.dose.WarmUp {
		if kg, known := setMass(set.Load, u.exercise); known && kg > r.Load.Kilogram() {
			return s.tooMuch(set.Load)
		}
	}
	return ""
}

func (s *safety) tooMuch(l plan.Load) string {
	return s.pick("the slot says ", "geschrieben sind ") + l.String()
}

// setMass returns the external mass a set is done with, kg, both hands together,
// and whether it is known from the dose alone.
func setMass(l plan.Load, e *exercise.Exercise) (unit.Kilogram, bool) {
	switch l.Kind {
	case plan.Mass, plan.Added:
		return l.Mass.Kilogram(), true
	case plan.MassInHand:
		if oneHand(e) {
			return l.Mass.Kilogram(), true
		}
		return 2 * l.Mass.Kilogram(), true
	case plan.BodyWeight, plan.Assisted:
		return 0, true
	case plan.Unsaid:
		return 0, slices.Equal(e.Loads, []exercise.LoadKind{exercise.BodyWeight})
	}
	return 0, false
}

// oneHand says whether a load in each hand is held in one hand at a time: the
// exercise is done side by side and the arm does the work. A lunge is done side by
// side with a load in both hands.
func oneHand(e *exercise.Exercise) bool {
	return e.Sides == exercise.EachSide && slices.ContainsFunc(e.Actions, func(a anatomy.Action) bool {
		return a.Region() == "shoulder" || a.Region() == "elbow"
	})
}
