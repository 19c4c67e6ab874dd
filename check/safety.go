package check

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// An Input is what a check looks at. It is not changed.
type Input struct {
	Client   *client.Client
	Block    *plan.Block
	Library  *exercise.Library
	Log      *plan.Log        // may be nil
	Practice *client.Practice // may be nil
	Draws    int              // draws behind the bands and shares, 0 for none
	Seed     uint64           // of the draws
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
	in   Input
	lang form.Language
	day  form.Date
	use  []use
	out  []Problem
	flag bool // a yes without a practitioner's word, or open pain
}

// A use is an exercise in a slot of the block.
type use struct {
	session  *plan.Session
	slot     *plan.Slot
	exercise *exercise.Exercise
}

func newSafety(in Input) *safety {
	s := &safety{in: in, lang: in.Language, day: in.day()}
	if s.lang == "" {
		s.lang = form.English
	}
	for i := range in.Block.Sessions {
		session := &in.Block.Sessions[i]
		for j := range session.Slots {
			slot := &session.Slots[j]
			s.use = append(s.use, use{session, slot, in.Library.ByID(slot.Exercise)})
		}
	}
	return s
}

// say adds a problem and returns it for more to be filled in.
func (s *safety) say(code Code, sev Severity, at At, about string, args map[string]string) *Problem {
	s.out = append(s.out, newProblem(s.lang, code, sev, at, about, args))
	return &s.out[len(s.out)-1]
}

func (s *safety) pick(en, de string) string { return form.Text{En: en, De: de}.In(s.lang) }

func (u use) at() At { return At{Session: string(u.session.ID), Slot: string(u.slot.ID)} }

func (u use) name(l form.Language) string { return u.exercise.Name.In(l) }

// side says which side the work of a slot concerns.
func (u use) side() anatomy.Side {
	if u.slot.Side != anatomy.NoSide {
		return u.slot.Side
	}
	left, right := false, false
	for _, p := range u.slot.Dose.Parts {
		left = left || p.Sides == plan.LeftOnly
		right = right || p.Sides == plan.RightOnly
	}
	switch {
	case left && !right:
		return anatomy.Left
	case right && !left:
		return anatomy.Right
	}
	return anatomy.Both
}

// A verdict of the screening: the hardest intensity without clearance, or none.
type verdict struct {
	most   client.Intensity // empty: none until cleared
	reason form.Text
	start  bool // start light to moderate
}

// screen is the ACSM 2015 pre-participation algorithm (Riebe et al. 2015; key
// acsm-2015): from active, known disease, signs or symptoms to the hardest
// intensity that needs no clearance.
func screen(active, disease, symptoms bool) verdict {
	switch {
	case symptoms:
		return verdict{reason: form.Text{En: "signs or symptoms", De: "Zeichen oder Beschwerden"}}
	case disease && !active:
		return verdict{reason: form.Text{En: "a known disease and not active", De: "eine bekannte Krankheit und nicht aktiv"}}
	case disease:
		return verdict{most: client.Moderate, reason: form.Text{En: "a known disease", De: "eine bekannte Krankheit"}}
	}
	return verdict{most: client.Vigorous, start: !active}
}

// harder says whether intensity a is harder than b; none is the easiest.
func harder(a, b client.Intensity) bool {
	order := []client.Intensity{"", client.Light, client.Moderate, client.Vigorous}
	return slices.Index(order, a) > slices.Index(order, b)
}

// clearance applies the screening.
func (s *safety) clearance() {
	c := s.in.Client.Clearance
	if open := openClearance(c, s.lang); len(open) > 0 {
		s.say("clearance-not-asked", Stop, At{}, "clearance", map[string]string{"questions": strings.Join(open, ", ")})
		return
	}
	v := screen(c.Active.Answer == client.Yes, c.Disease.Answer == client.Yes, c.Symptoms.Answer == client.Yes)
	most := v.most
	if c.Cleared.Holds(s.day) {
		most = client.Vigorous
		if c.Cleared.Loads != "" {
			most = c.Cleared.Loads
		}
	}
	args := map[string]string{"reason": v.reason.In(s.lang)}
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
	answers := client.Answers(s.in.Client.Flags, s.in.Client.Born, s.day)
	for _, g := range client.Asking.Groups {
		s.unasked(g, answers)
		s.aged(g, answers)
	}
	for _, a := range answers {
		if a.Answer == client.Yes {
			s.yes(a)
		}
	}
}

// unasked says which questions of a group have no answer.
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
		s.say("not-asked", Stop, At{}, string(g.ID), map[string]string{
			"count": fmt.Sprint(len(open)), "of": fmt.Sprint(of), "group": g.Name.In(s.lang),
			"questions": strings.Join(open, ", "), "ids": strings.Join(ids, " "),
		})
	}
}

// answerYears is how long an answer is taken to hold (our judgement).
const answerDays = 365

// aged says where answers are older than a year.
func (s *safety) aged(g client.Group, answers []client.Answered) {
	for _, a := range answers {
		if a.Question.Group == g.ID && a.Answer.Asked() && !a.On.IsZero() && s.day.Days(a.On) > answerDays {
			s.say("ask-again", Settle, At{}, string(g.ID), map[string]string{"group": g.Name.In(s.lang)})
			return
		}
	}
}

// yes applies one answer of yes.
func (s *safety) yes(a client.Answered) {
	if a.Cleared.Holds(s.day) {
		return
	}
	q := a.Question
	args := map[string]string{"question": q.Short.In(s.lang), "source": q.Source}
	switch q.Kind {
	case client.Emergency:
		s.flag = true
		s.say("emergency", Stop, At{}, string(q.ID), args).unkeepable = true
	case client.RedFlag:
		s.flag = true
		s.redFlag(a, args)
	case client.AskFirst:
		s.flag = true
		s.say("ask-first", Stop, At{}, string(q.ID), args)
	case client.Refer:
		s.say("refer", Settle, At{}, string(q.ID), args)
	}
}

// redFlag stops every slot that loads the region of a red flag.
func (s *safety) redFlag(a client.Answered, args map[string]string) {
	args["region"] = a.Region.In(s.lang)
	found := false
	for _, u := range s.use {
		if !u.exercise.LoadsRegion(a.Region) || !u.side().Meets(a.Side) {
			continue
		}
		found = true
		mine := maps.Clone(args)
		mine["exercise"] = u.name(s.lang)
		p := s.say("red-flag", Stop, u.at(), string(a.Question.ID), mine)
		s.without(p, u)
	}
	if !found {
		s.say("red-flag-refer", Settle, At{}, string(a.Question.ID), args)
	}
}

// without is the fix that takes a slot out of the block.
func (s *safety) without(p *Problem, u use) {
	id := u.slot.ID
	p.Fixes = append(p.Fixes, Fix{
		ID: fmt.Sprintf("%s.%d", p.ID, len(p.Fixes)+1), Text: s.pick("take it out of the block", "aus dem Block nehmen"),
		apply: func(b *plan.Block) bool { return b.Remove(id) }})
}

// restrictions applies what somebody has ruled out, session by session.
func (s *safety) restrictions() {
	for _, r := range s.in.Client.Restrict {
		for _, u := range s.use {
			if r.Exercise == u.slot.Exercise || r.Action != "" && u.exercise.Works(r.Action) || r.Region != "" && u.exercise.LoadsRegion(r.Region) {
				if weeks := s.weeksOf(r, u); len(weeks) > 0 && u.side().Meets(r.Side) {
					s.restrict(r, u, weeks)
				}
			}
		}
	}
}

// weeksOf lists the weeks in which a session falls under a restriction.
func (s *safety) weeksOf(r client.Restriction, u use) []int {
	var weeks []int
	for w := 1; w <= s.in.Block.Weeks; w++ {
		if r.Holds(s.in.Block.Date(u.session, w)) {
			weeks = append(weeks, w)
		}
	}
	return weeks
}

// restrict says how a slot breaks a restriction, if it does.
func (s *safety) restrict(r client.Restriction, u use, weeks []int) {
	args := map[string]string{
		"exercise": u.name(s.lang), "who": s.who(r), "when": s.when(weeks),
		"reason": "", "may": s.mayKeep(r), "what": r.What(s.lang, u.name(s.lang)),
	}
	if r.Why != "" {
		args["reason"] = " (" + r.Why + ")"
	}
	at := u.at()
	at.Week = weeks[0]
	var p *Problem
	switch {
	case r.Range != nil && u.slot.Range != nil && u.slot.Range.Inside(*r.Range) && r.Load.IsZero():
		return
	case r.Range != nil && (u.slot.Range == nil || !u.slot.Range.Inside(*r.Range)):
		args["what"], args["range"] = s.rangeWords(*r.Range), r.Range.String()
		p = s.say("restriction-range", Stop, at, string(r.ID), args)
	case !r.Load.IsZero():
		got := s.overLoad(r.Load, u, weeks)
		if got == "" {
			return
		}
		args["allowed"], args["got"] = r.Load.String(), got
		p = s.say("restriction-load", Stop, at, string(r.ID), args)
	default:
		p = s.say("restriction", Stop, at, string(r.ID), args)
	}
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

// when says in which weeks, where it is not the whole block.
func (s *safety) when(weeks []int) string {
	if len(weeks) == s.in.Block.Weeks {
		return ""
	}
	text := s.pick(" (week ", " (Woche ") + fmt.Sprint(weeks[0])
	if last := weeks[len(weeks)-1]; last != weeks[0] {
		text += "–" + fmt.Sprint(last)
	}
	return text + ")"
}

// overLoad says how the load of a slot passes a bound in the given weeks, or
// nothing. A load that is not written as a mass cannot be held to the bound.
func (s *safety) overLoad(most unit.Mass, u use, weeks []int) string {
	for _, w := range weeks {
		for _, p := range s.in.Block.DoseIn(u.slot, w).Parts {
			for _, set := range p.Sets {
				m, known := setMass(set.Load, u.exercise)
				switch {
				case !known:
					return s.pick("its load is not written as a mass, so it cannot be held to that", "die Last ist nicht als Masse angegeben und lässt sich daran nicht messen")
				case m.Cmp(most) > 0:
					return s.pick("the slot says ", "geschrieben sind ") + m.Canonical()
				}
			}
		}
	}
	return ""
}

// setMass returns the external mass a set is done with, both hands together,
// and whether it is known from the dose alone.
func setMass(l plan.Load, e *exercise.Exercise) (unit.Mass, bool) {
	switch l.Kind {
	case plan.Mass, plan.Added:
		return l.Mass, true
	case plan.MassInHand:
		if e.Sides == exercise.BothSides {
			return l.Mass.Times(2), true
		}
		return l.Mass, true
	case plan.BodyWeight, plan.Assisted:
		return unit.Mass{}, true
	case plan.Unsaid:
		return unit.Mass{}, slices.Equal(e.Loads, []exercise.LoadKind{exercise.BodyWeight})
	}
	return unit.Mass{}, false
}
