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

// Levels of pain, 0 to 10 (our judgement, stricter than the pain-monitoring
// model; key safety-5).
const (
	painLower = 3.0 // during the work: lower it, and ask
	painStop  = 5.0 // above: stop that work, and refer
)

// windowPlace is the one place for which a window of pain was tried (Silbernagel
// et al. 2007; key silbernagel-2007).
const windowPlace anatomy.Place = "achilles-tendon"

// pain applies the pain rules to every report that has not settled: what stops
// first, and of alike reports the last (S16 to S18).
func (s *safety) pain() {
	reports := s.reports()
	for _, stops := range []bool{true, false} {
		for _, p := range reports {
			if s.stops(p) == stops {
				s.onePain(p, stops)
			}
		}
	}
}

// reports lists the reports that have not settled, from the client file and from
// the log, the last first.
func (s *safety) reports() []client.Pain {
	reports := slices.Clone(s.in.Client.Pain)
	if s.in.Log != nil {
		reports = append(reports, logged(s.in.Log, s.in.Client.Pain)...)
	}
	reports = slices.DeleteFunc(reports, func(p client.Pain) bool { return settled(p, s.day) })
	slices.SortStableFunc(reports, func(a, b client.Pain) int { return b.On.Days(a.On) })
	return reports
}

// settled says whether a pain had settled by day.
func settled(p client.Pain, day form.Date) bool { return !p.Until.IsZero() && !day.Before(p.Until) }

// referred says whether a report asks for a practitioner: above 5, or with a
// feature (S17).
func referred(p client.Pain) bool {
	level, _ := p.Level()
	return level > painStop || len(p.Features) > 0
}

// lowers says whether a report lowers the work: 3 or more, worse the next morning,
// or not rated (S18).
func lowers(p client.Pain) bool {
	level, rated := p.Level()
	return !rated || level >= painLower || p.IsWorse()
}

// A PainRule is what the pain rules do with the work that loads the place.
type PainRule int

// The rules for pain, S17 and S18.
const (
	PainGoesOn PainRule = iota // as written, and ask again
	PainLowers                 // lower the work, and ask
	PainStops                  // stop that work, and refer
)

// PainRuleFor returns the rule for a report on which no practitioner has spoken.
func PainRuleFor(p client.Pain) PainRule {
	switch {
	case referred(p):
		return PainStops
	case lowers(p):
		return PainLowers
	}
	return PainGoesOn
}

// LoadsPlace says whether the work of a slot on a day loads the place and side of
// a report, by the joint actions of its exercise e; nil loads nothing (S22).
func LoadsPlace(l plan.LaidSlot, e *exercise.Exercise, p client.Pain) bool {
	if e == nil {
		return false
	}
	u := use{exercise: e, days: []turn{{slot: l.Slot, dose: l.Dose}}}
	return u.loads(u.days, onPlace(e, p.Place), p.Side)
}

// logged returns one report of each place and side in a log: the last one that
// asks for a practitioner, since a quiet day after the work was stopped says
// nothing, else the last. Left out are those of which the client file says more at
// the same day or later, or which it says had settled. A practitioner's word the
// client file has on the place goes with the report (S16).
func logged(l *plan.Log, known []client.Pain) []client.Pain {
	type key struct {
		place anatomy.Place
		side  anatomy.Side
	}
	last := map[key]client.Pain{}
	var keys []key
	for _, e := range l.Entries {
		for _, x := range e.Pain {
			k := key{x.Place, x.Side}
			p := client.Pain{Place: x.Place, Side: x.Side, On: e.On, During: x.During, Morning: x.Morning, Worse: x.Worse, Features: x.Features}
			if answered(p, known) {
				continue
			}
			old, seen := last[k]
			if !seen {
				keys = append(keys, k)
			}
			if !seen || referred(p) && !referred(old) || referred(p) == referred(old) && !e.On.Before(old.On) {
				p.Word = wordOn(p, known)
				last[k] = p
			}
		}
	}
	var out []client.Pain
	for _, k := range keys {
		out = append(out, last[k])
	}
	return out
}

// about says whether a report of the client file is about the place and side of
// one in the log.
func about(file, log client.Pain) bool {
	return file.Place == log.Place && (file.Side == log.Side || file.Side == anatomy.Both)
}

// answered says whether the client file says more of a pain in the log.
func answered(p client.Pain, known []client.Pain) bool {
	return slices.ContainsFunc(known, func(k client.Pain) bool {
		return about(k, p) && (!k.On.Before(p.On) || !k.Until.IsZero() && !k.Until.Before(p.On))
	})
}

// wordOn returns the last practitioner's word the client file has on the place of
// a pain in the log that has not settled, or nil.
func wordOn(p client.Pain, known []client.Pain) *client.Word {
	var word *client.Word
	for _, k := range known {
		if about(k, p) && k.Until.IsZero() && k.Word != nil && (word == nil || !k.Word.On.Before(word.On)) {
			word = k.Word
		}
	}
	return word
}

// stops says whether a report stops the work: it asks for a practitioner, and
// no practitioner's word is on record that is as new as the report. A window of
// pain does not lift it (S19).
func (s *safety) stops(p client.Pain) bool {
	if !referred(p) {
		return false
	}
	return !p.Word.Holds(s.day) || p.Word.Window != "" || p.Word.On.Before(p.On)
}

// onePain applies the rules to one report.
func (s *safety) onePain(p client.Pain, stops bool) {
	_, rated := p.Level()
	args := map[string]string{"place": s.placeWords(p), "what": s.painWords(p)}
	word := p.Word.Holds(s.day)
	switch {
	case stops:
		s.hurt = true
		s.painAt(p, "pain-stop", Stop, args)
	case word && (p.Word.Window == "" || p.Place == windowPlace && rated && !p.IsWorse()):
		args["word"] = p.Word.By + ", " + p.Word.On.String() + ": " + p.Word.Says
		s.say("pain-word", Note, At{}, s.painKey(p), args)
		s.wordEnds(p.Word, s.painKey(p), s.placeWords(p))
	case lowers(p):
		s.hurt = true
		s.painAt(p, "pain-lower", Settle, args)
	}
}

func (s *safety) painKey(p client.Pain) string {
	return strings.TrimSuffix(string(p.Place)+" "+string(p.Side), " ")
}

// placeWords names the place and side.
func (s *safety) placeWords(p client.Pain) string {
	if p.Side == anatomy.NoSide {
		return p.Place.In(s.lang)
	}
	return p.Place.In(s.lang) + " (" + p.Side.In(s.lang) + ")"
}

// painWords says how much it hurts and what goes with it.
func (s *safety) painWords(p client.Pain) string {
	var out []string
	if level, ok := p.Level(); ok {
		out = append(out, unit.Figures(level, 1)+s.pick(" of 10", " von 10"))
	} else {
		out = append(out, s.pick("not rated", "nicht eingestuft"))
	}
	if p.IsWorse() {
		out = append(out, s.pick("worse the next morning", "am nächsten Morgen stärker"))
	}
	for _, f := range p.Features {
		out = append(out, f.In(s.lang))
	}
	return strings.Join(out, ", ") + s.pick(" on ", " am ") + p.On.String()
}

// painAt says a pain rule at every slot that still loads the place after the
// report. Work that is to stop need not be lowered too.
func (s *safety) painAt(p client.Pain, code Code, sev Severity, args map[string]string) {
	found := false
	for _, u := range s.use {
		if !u.loads(s.from(u, p.On), onPlace(u.exercise, p.Place), p.Side) {
			continue
		}
		found = true
		if code == "pain-lower" && s.said[problemID("pain-stop", u.at(), strings.TrimSpace(s.painKey(p)+" "+u.swapped()))] {
			continue
		}
		mine := maps.Clone(args)
		mine["exercise"] = u.name(s.lang)
		problem := s.say(code, sev, u.at(), s.painKey(p), mine, u.swapped())
		s.without(problem, u)
	}
	if !found && sev == Stop {
		s.say("pain-stop-refer", Settle, At{}, s.painKey(p), args)
	}
}

// onPlace lists the joint actions by which an exercise loads a place.
func onPlace(e *exercise.Exercise, p anatomy.Place) []anatomy.Action {
	return slices.DeleteFunc(p.Actions(), func(a anatomy.Action) bool { return !e.Works(a) })
}

// heavy is the share of 1RM from which a bar needs safety bars or a spotter,
// and heavyReps the repetition maximum that goes with it (the textbook's
// strength zone; key nsca-essentials-17).
const (
	heavy     = 0.85
	heavyReps = 6
)

// A Hold says why sets to failure and loads to be found by trial are not offered
// to a client (S20).
type Hold string

// The reasons, in the order in which the first that holds is said.
const (
	NoHold         Hold = ""
	HoldBeginner   Hold = "beginner"
	HoldExperience Hold = "experience" // not on record
	HoldFlag       Hold = "flag"       // a yes without a practitioner's word
	HoldPain       Hold = "pain"       // pain that lowers or stops work
	HoldLight      Hold = "light"      // cleared for light or moderate work only
)

// HoldOn returns why sets to failure are not offered to a client on a day, by the
// same rules as a block's check.
func HoldOn(c *client.Client, day form.Date) Hold {
	s := newSafety(Input{Client: c, Block: &plan.Block{Start: day}, On: day})
	s.clearance()
	s.questions()
	s.pain()
	return s.hold()
}

// hold returns why sets to failure are not offered, once the questions and pain
// were gone through.
func (s *safety) hold() Hold {
	switch {
	case s.in.Client.Experience == client.Beginner:
		return HoldBeginner
	case s.in.Client.Experience == "":
		return HoldExperience
	case s.flag:
		return HoldFlag
	case s.hurt:
		return HoldPain
	case s.less:
		return HoldLight
	}
	return NoHold
}

// effort holds back sets to failure and loads to be found from beginners and
// flagged clients, and reminds of safety bars. It comes last, since it depends
// on the flags (S20, S21).
func (s *safety) effort() {
	whom := map[Hold]string{
		HoldBeginner:   s.pick("beginners", "Anfängern"),
		HoldExperience: s.pick("a client whose experience is not on record", "Klienten ohne Angabe zur Erfahrung"),
		HoldFlag:       s.pick("a client with an open flag or pain", "Klienten mit offenem Warnzeichen oder Schmerz"),
		HoldPain:       s.pick("a client with an open flag or pain", "Klienten mit offenem Warnzeichen oder Schmerz"),
		HoldLight:      s.pick("a client cleared for light or moderate work only", "Klienten, die nur für leichte oder mittlere Arbeit freigegeben sind"),
	}[s.hold()]
	for _, u := range s.use {
		failure, find, bars := s.demands(u)
		args := map[string]string{"exercise": u.name(s.lang), "whom": whom}
		if failure && whom != "" {
			args["what"] = s.pick("sets to failure", "Sätze bis zum Muskelversagen")
			s.say("not-for-now", Settle, u.at(), "failure", args, u.swapped())
		} else if find && whom != "" {
			args["what"] = s.pick("loads to be found by trial", "Lasten zum Herantasten")
			s.say("not-for-now", Settle, u.at(), "find-load", args, u.swapped())
		}
		if u.exercise.Spotter == "bars" && (bars || failure) {
			s.say("spotter", Note, u.at(), "", map[string]string{"exercise": u.name(s.lang)}, u.swapped())
		}
	}
}

// demands says whether any day of a use asks for failure, for a heavy load to be
// found by trial (few repetitions at an effort without a load), or for a heavy
// bar: by its percentage, or by repetitions and reserve that few could pass.
func (s *safety) demands(u *use) (failure, find, bars bool) {
	for _, d := range u.days {
		for _, p := range d.dose.Parts {
			for _, set := range p.Sets {
				low, high, asked := set.Effort.Reserve()
				l := set.Load
				few := asked && set.Work.Kind == plan.Repetitions && set.Work.High > 0 && set.Work.High <= heavyReps
				failure = failure || asked && high == 0 || set.Work.Max && (!asked || high < 1)
				find = find || l.Kind == plan.RepMax || l.Kind == plan.Unsaid && few && u.exercise.Stage == exercise.Main
				bars = bars || l.Kind == plan.PercentMax && l.Percent.Fraction() >= heavy || l.Kind == plan.RepMax && l.Number <= heavyReps ||
					few && float64(set.Work.High)+low <= heavyReps
			}
		}
	}
	return failure, find, bars
}

// Places says which sessions are, as written or after a change, at places the
// client does not have.
func Places(in Input) []Problem {
	var out []Problem
	for i := range in.Block.Sessions {
		ses := &in.Block.Sessions[i]
		for _, place := range placesOf(in.Block, ses) {
			if in.Client.PlaceByID(place) == nil {
				out = append(out, newProblem(in.Language, "unknown-place", Settle, At{Session: string(ses.ID)}, string(place), map[string]string{
					"session": ses.Name, "place": fmt.Sprintf("%q", place)}))
			}
		}
	}
	return out
}

// placesOf lists the places of a session, the written one first.
func placesOf(b *plan.Block, s *plan.Session) []form.ID {
	places := []form.ID{s.Place}
	for w := 1; w <= b.Weeks; w++ {
		for _, l := range b.Lay(w) {
			if l.Session == s && !slices.Contains(places, l.Place) {
				places = append(places, l.Place)
			}
		}
	}
	return places
}
