package check

import (
	"fmt"
	"maps"
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

// pain applies the pain rules to every report that has not settled, from the
// client file and from the log.
func (s *safety) pain() {
	reports := append([]client.Pain(nil), s.in.Client.Pain...)
	if s.in.Log != nil {
		reports = append(reports, logged(s.in.Log, reports)...)
	}
	for _, p := range reports {
		if !p.Until.IsZero() && !s.day.Before(p.Until) {
			continue
		}
		s.onePain(p)
	}
}

// logged returns the last report of each place and side in a log, leaving out
// those the client file says more of, at the same day or later.
func logged(l *plan.Log, known []client.Pain) []client.Pain {
	type key struct {
		place anatomy.Place
		side  anatomy.Side
	}
	last := map[key]client.Pain{}
	var keys []key
	for _, e := range l.Entries {
		for _, p := range e.Pain {
			k := key{p.Place, p.Side}
			old, seen := last[k]
			if seen && e.On.Before(old.On) {
				continue
			}
			if !seen {
				keys = append(keys, k)
			}
			last[k] = client.Pain{Place: p.Place, Side: p.Side, On: e.On, During: p.During, Morning: p.Morning, Worse: p.Worse, Features: p.Features}
		}
	}
	var out []client.Pain
	for _, k := range keys {
		newer := false
		for _, p := range known {
			newer = newer || p.Place == k.place && p.Side == k.side && !p.On.Before(last[k].On)
		}
		if !newer {
			out = append(out, last[k])
		}
	}
	return out
}

// onePain applies the rules to one report.
func (s *safety) onePain(p client.Pain) {
	level, rated := p.Level()
	stop := level > painStop || len(p.Features) > 0
	during := p.During != nil && *p.During >= painLower
	lower := during || p.IsWorse() || !rated || level >= painLower
	args := map[string]string{"place": s.placeWords(p), "what": s.painWords(p)}
	word := p.Word.Holds(s.day)
	window := word && p.Word.Window != "" && !p.IsWorse() && !stop
	switch {
	case stop && !(word && p.Word.Window == ""):
		s.flag = true
		s.painAt(p, "pain-stop", Stop, args)
	case word && (window || p.Word.Window == ""):
		args["word"] = p.Word.By + ", " + p.Word.On.String() + ": " + p.Word.Says
		s.say("pain-word", Note, At{}, s.painKey(p), args)
	case lower:
		s.flag = true
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
		out = append(out, featureWord(f, s.lang))
	}
	return strings.Join(out, ", ") + s.pick(" on ", " am ") + p.On.String()
}

// featureWord returns the word for a feature of pain in l.
func featureWord(f client.PainFeature, l form.Language) string {
	if l == form.German {
		return map[client.PainFeature]string{"sharp": "stechend", "spreading": "ausstrahlend", "swelling": "mit Schwellung", "giving way": "mit Nachgeben"}[f]
	}
	return map[client.PainFeature]string{"sharp": "sharp", "spreading": "spreading", "swelling": "with swelling", "giving way": "with giving way"}[f]
}

// painAt says a pain rule at every slot that loads the place.
func (s *safety) painAt(p client.Pain, code Code, sev Severity, args map[string]string) {
	found := false
	for _, u := range s.use {
		if !loadsPlace(u.exercise, p.Place) || !u.side().Meets(p.Side) {
			continue
		}
		found = true
		mine := maps.Clone(args)
		mine["exercise"] = u.name(s.lang)
		problem := s.say(code, sev, u.at(), s.painKey(p), mine)
		s.without(problem, u)
	}
	if !found && sev == Stop {
		s.say("pain-stop-refer", Settle, At{}, s.painKey(p), args)
	}
}

// loadsPlace says whether a joint action of the exercise loads the place.
func loadsPlace(e *exercise.Exercise, p anatomy.Place) bool {
	for _, a := range p.Actions() {
		if e.Works(a) {
			return true
		}
	}
	return false
}

// heavy is the share of 1RM from which a bar needs safety bars or a spotter,
// and heavyReps the repetition maximum that goes with it (the textbook's
// strength zone; key nsca-essentials-17).
const (
	heavy     = 0.85
	heavyReps = 6
)

// effort holds back sets to failure and loads to be found from beginners and
// flagged clients, and reminds of safety bars. It comes last, since it depends
// on the flags.
func (s *safety) effort() {
	whom := ""
	switch {
	case s.in.Client.Experience == client.Beginner:
		whom = s.pick("beginners", "Anfängern")
	case s.in.Client.Experience == "":
		whom = s.pick("a client whose experience is not on record", "Klienten ohne Angabe zur Erfahrung")
	case s.flag:
		whom = s.pick("a client with an open flag or pain", "Klienten mit offenem Warnzeichen oder Schmerz")
	}
	for _, u := range s.use {
		failure, find, bars := s.demands(u)
		args := map[string]string{"exercise": u.name(s.lang), "whom": whom}
		if failure && whom != "" {
			args["what"] = s.pick("sets to failure", "Sätze bis zum Muskelversagen")
			s.say("not-for-now", Settle, u.at(), "failure", args)
		} else if find && whom != "" {
			args["what"] = s.pick("loads to be found by trial", "Lasten zum Herantasten")
			s.say("not-for-now", Settle, u.at(), "find-load", args)
		}
		if u.exercise.Spotter == "bars" && (bars || failure) {
			s.say("spotter", Note, u.at(), "", map[string]string{"exercise": u.name(s.lang)})
		}
	}
}

// demands says whether any week of a slot asks for failure, for a heavy load to
// be found by trial (few repetitions at an effort without a load), or for a
// heavy bar.
func (s *safety) demands(u use) (failure, find, bars bool) {
	for w := 1; w <= s.in.Block.Weeks; w++ {
		for _, p := range s.in.Block.DoseIn(u.slot, w).Parts {
			for _, set := range p.Sets {
				_, high, asked := set.Effort.Reserve()
				none := asked && high == 0
				failure = failure || none || set.Work.Max && (!asked || high < 1)
				l := set.Load
				find = find || l.Kind == plan.RepMax || l.Kind == plan.Unsaid && asked && set.Work.Kind == plan.Repetitions &&
					set.Work.High > 0 && set.Work.High <= heavyReps && u.exercise.Stage == exercise.Main
				bars = bars || l.Kind == plan.PercentMax && l.Percent.Fraction() >= heavy || l.Kind == plan.RepMax && l.Number <= heavyReps
			}
		}
	}
	return failure, find, bars
}

// Places says which sessions are at places the client does not have.
func Places(in Input) []Problem {
	var out []Problem
	for _, ses := range in.Block.Sessions {
		if in.Client.PlaceByID(ses.Place) == nil {
			l := in.Language
			out = append(out, newProblem(l, "unknown-place", Settle, At{Session: string(ses.ID)}, string(ses.Place), map[string]string{
				"session": ses.Name, "place": fmt.Sprintf("%q", ses.Place)}))
		}
	}
	return out
}
