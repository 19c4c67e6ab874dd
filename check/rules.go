package check

import (
	"fmt"
	"slices"
	"unicode"
	"unicode/utf8"

	"corbel/anatomy"
	"corbel/client"
	"corbel/evidence"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/unit"
)

// rules is one run of the rules that need the sessions done on paper.
type rules struct {
	in      Input
	lang    form.Language
	day     form.Date
	athlete *session.Athlete
	weeks   []*session.Week
	out     []Problem
	reasons map[place][]ReasonResult
	links   map[string][]Link    // by session and week
	weighed *[]*evidence.Weighed // what findings say, worked out once
	offer   bool                 // whether ways out are worked out and tried
	only    *Problem             // while a way out is tried: the problem looked for
}

// A place is a slot of a session in a week.
type place struct {
	week          int
	session, slot form.ID
}

// newRules runs the block for its client.
func newRules(in Input) *rules {
	r := &rules{in: in, lang: in.Language, day: in.day(), offer: true,
		reasons: map[place][]ReasonResult{}, links: map[string][]Link{}}
	if r.lang == "" {
		r.lang = form.English
	}
	r.athlete = in.athlete(in.Block.Start)
	r.weeks = r.athlete.Block(in.Block, session.Options{Draws: in.Draws, Seed: in.Seed, Week: in.Week})
	return r
}

// athlete is the client as of a day, with the shares the input says.
func (in *Input) athlete(day form.Date) *session.Athlete {
	a := session.NewAthlete(in.Client, in.Library, in.Practice, day)
	if in.Shares != nil {
		a.Under = in.Shares
	}
	return a
}

// computed lists the exercises of the block some of whose shares are computed.
func (r *rules) computed() []string {
	out := []string{}
	for _, w := range r.weeks {
		for _, v := range w.Visits {
			for _, it := range v.Items {
				id := string(it.Exercise.ID)
				if !slices.Contains(out, id) && slices.ContainsFunc(r.athlete.Under.Shares(r.in.Client, it.Exercise, 0), func(s session.Share) bool { return s.Kind == session.Computed }) {
					out = append(out, id)
				}
			}
		}
	}
	slices.Sort(out)
	return out
}

// apply runs every rule, or while a way out is tried those that can find the
// problem it is for.
func (r *rules) apply() {
	if r.wants("reason-fails", "no-reason") {
		r.eachVisit(r.testReasons)
		defer r.reasonRules()
	}
	r.sessionRules()
	r.weekRules()
}

// wants says whether problems of any of the codes are looked for.
func (r *rules) wants(codes ...Code) bool {
	return r.only == nil || slices.Contains(codes, r.only.Code)
}

func (r *rules) pick(en, de string) string { return form.Text{En: en, De: de}.In(r.lang) }

// say adds a problem, worse the greater its harm, and returns it.
func (r *rules) say(code Code, sev Severity, at At, about string, harm float64, args map[string]string) *Problem {
	p := Problem{ID: problemID(code, at, about), Code: code, At: at, Args: map[string]string{"about": about}}
	if r.only == nil { // a trial needs no words
		p = newProblem(r.lang, code, sev, at, about, args)
		p.Text = upperFirst(p.Text)
	}
	p.harm = harm
	r.out = append(r.out, p)
	return &r.out[len(r.out)-1]
}

// upperFirst writes the first letter as a capital.
func upperFirst(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[n:]
}

// measured fills in what was measured and what is allowed.
func (p *Problem) measured(got, allowed float64, unit string) {
	p.Got, p.Allowed, p.Unit = &got, &allowed, unit
}

// number writes a number with at most decimals places, as the language does.
func (r *rules) number(x float64, decimals int) string {
	s := unit.Figures(x, decimals)
	if r.lang == form.German {
		return decimalComma(s)
	}
	return s
}

func decimalComma(s string) string {
	b := []byte(s)
	if i := slices.Index(b, '.'); i >= 0 {
		b[i] = ','
	}
	return string(b)
}

// A candidate is a way out that is still to be tried.
type candidate struct {
	text  string
	apply func(*plan.Block) bool
	swap  form.ID // slot that gets another exercise by it, or nothing
	whole bool    // offered only where the problem is gone by it
}

// maxFixes is how many ways out a problem offers.
const maxFixes = 3

// offerFixes (R27) tries candidates on a clone of the block and offers those after
// which the problem is gone, then those after which it is weaker, which say so.
func (r *rules) offerFixes(p *Problem, candidates ...candidate) {
	r.offerInTurn(p, func() []candidate { return candidates })
}

// offerInTurn is offerFixes for candidates that are costly to find: a group is
// looked for only while there is room.
func (r *rules) offerInTurn(p *Problem, groups ...func() []candidate) {
	if !r.offer {
		return
	}
	var weaker []candidate
	for _, group := range groups {
		if len(p.Fixes) == maxFixes {
			return
		}
		for _, c := range group() {
			if len(p.Fixes) == maxFixes {
				return
			}
			switch r.try(p, c) {
			case gone:
				p.offer(c)
			case less:
				if c.whole {
					continue
				}
				c.text += r.pick(" (helps, but is not enough)", " (hilft, genügt aber nicht)")
				weaker = append(weaker, c)
			}
		}
	}
	for _, c := range weaker[:min(len(weaker), maxFixes-len(p.Fixes))] {
		p.offer(c)
	}
}

// offer adds a way out.
func (p *Problem) offer(c candidate) {
	p.Fixes = append(p.Fixes, Fix{ID: fmt.Sprintf("%s.%d", p.ID, len(p.Fixes)+1), Text: c.text, apply: c.apply})
}

// giveFixes offers ways out that cure by what they are: taking the slot away, or
// giving it a reason that was found to hold. They need no trial.
func (r *rules) giveFixes(p *Problem, candidates ...candidate) {
	for _, c := range candidates {
		if r.offer && len(p.Fixes) < maxFixes && c.apply(r.in.Block.Clone()) {
			p.offer(c)
		}
	}
}

// lessHarm is how much weaker a problem must become for a way out to count.
const lessHarm = 1e-6

// An outcome is what a way out does to its problem.
type outcome int

const (
	nothing outcome = iota // it stays, or the way out does not fit
	less                   // it is weaker
	gone
)

// try says what a candidate does to a problem: in the problem's own week first,
// where that decides, then in all weeks.
func (r *rules) try(p *Problem, c candidate) outcome {
	b := r.in.Block.Clone()
	if !c.apply(b) || c.swap != "" && r.ruledOut(b, c.swap) {
		return nothing
	}
	a := &rules{in: r.in, lang: r.lang, day: r.day, athlete: r.athlete, only: p}
	a.in.Block, a.in.Draws = b, 0
	weeks := make([]*session.Week, len(r.weeks))
	var tried []*session.Week
	run := func(i int) {
		if weeks[i] == nil {
			weeks[i] = r.athlete.Trial(r.weeks[i], tried, r.in.Block, b, howToTry(p))
			tried = append(tried, weeks[i])
		}
	}
	if i := r.weekIndex(p.At.Week); i >= 0 && !slices.Contains(needWeeks, p.Code) {
		run(i)
		if a.over(weeks[i:i+1], p) == nothing {
			return nothing
		}
	}
	for i := range weeks {
		run(i)
	}
	return a.over(weeks, p)
}

// curesWeek says whether a candidate makes a problem vanish in its own week.
func (r *rules) curesWeek(p *Problem, c candidate) bool {
	b, i := r.in.Block.Clone(), r.weekIndex(p.At.Week)
	if i < 0 || !c.apply(b) {
		return false
	}
	a := &rules{in: r.in, lang: r.lang, day: r.day, athlete: r.athlete, only: p}
	a.in.Block, a.in.Draws = b, 0
	w := r.athlete.Trial(r.weeks[i], nil, r.in.Block, b, howToTry(p))
	return a.over([]*session.Week{w}, p) == gone
}

// weekIndex returns the place of a week among those run, or -1.
func (r *rules) weekIndex(week int) int {
	return slices.IndexFunc(r.weeks, func(w *session.Week) bool { return w.Number == week })
}

// over runs the rules over weeks for the problem alone and says what became of it.
func (r *rules) over(weeks []*session.Week, p *Problem) outcome {
	r.weeks, r.out = weeks, nil
	r.reasons, r.links = map[place][]ReasonResult{}, map[string][]Link{}
	r.apply()
	out := gone
	for _, q := range r.out {
		switch {
		case !q.same(p):
		case q.harm >= p.harm-lessHarm:
			return nothing
		default:
			out = less
		}
	}
	return out
}

// same says whether q is p found again, in whatever week.
func (q *Problem) same(p *Problem) bool {
	return q.ID == p.ID || q.Code == p.Code && q.At.Session == p.At.Session && q.At.Slot == p.At.Slot && q.Args["about"] == p.Args["about"]
}

// ruledOut (R29) says whether a slot of a block stands against the safety rules so that
// nothing may be handed over: no way out puts such an exercise in.
func (r *rules) ruledOut(b *plan.Block, slot form.ID) bool {
	in := r.in
	in.Block = b
	return slices.ContainsFunc(Safety(in), func(p Problem) bool { return p.Severity == Stop && p.At.Slot == string(slot) })
}

// needWeeks lists the codes that are found between weeks or in all of them.
var needWeeks = []Code{"load-jump", "spacing", "reason-fails", "no-reason"}

// howToTry says how much of a week shows whether a problem is gone.
func howToTry(p *Problem) session.Try {
	alone := session.Try{Session: form.ID(p.At.Session), Lean: true}
	bare := session.Try{Session: alone.Session, Lean: true, Bare: true}
	switch p.Code {
	case "reserve-falls":
		bare.Until = form.ID(p.At.Slot)
		return bare
	case "over-time", "equipment-missing", "outside-model", "same-exercise", "no-warm-up", "load-not-there", "weak-group":
		return bare
	case "gentler":
		return alone
	case "order-cost", "isolation-first":
		return session.Try{Session: alone.Session}
	case "reason-fails", "no-reason":
		return session.Try{}
	}
	return session.Try{Lean: true}
}

// slotAt names the place of an item.
func slotAt(v *session.Visit, item int) At {
	return At{Week: v.Week, Session: string(v.Session.ID), Slot: string(v.Items[item].Slot.ID)}
}

// name returns the name of an exercise.
func (r *rules) name(e *exercise.Exercise) string { return e.Name.In(r.lang) }

// deload says whether a week is the easier one.
func (r *rules) deload(week int) bool {
	return r.in.Block.Deload != nil && r.in.Block.Deload.Week == week
}

// eachVisit calls f for every visit of every week; while a way out is tried, for
// those of the problem's session.
func (r *rules) eachVisit(f func(w *session.Week, v *session.Visit)) {
	for _, w := range r.weeks {
		for _, v := range w.Visits {
			if r.only == nil || r.only.At.Session == string(v.Session.ID) {
				f(w, v)
			}
		}
	}
}

// A finding is a problem found in one week, kept as the worst of all weeks.
type finding struct {
	harm float64
	say  func() *Problem
}

// worst collects findings by key in the order first seen, and says the worst of
// each once all weeks are looked at: a coach settles a slot, not four weeks.
type worst struct {
	keys []string
	best map[string]finding
}

func (w *worst) add(key string, harm float64, say func() *Problem) {
	if w.best == nil {
		w.best = map[string]finding{}
	}
	old, seen := w.best[key]
	if !seen {
		w.keys = append(w.keys, key)
	}
	if !seen || round3(harm) > round3(old.harm) { // of two alike the first, whatever the last bits say
		w.best[key] = finding{harm, say}
	}
}

func (w *worst) sayAll() {
	for _, k := range w.keys {
		w.best[k].say()
	}
}

// isMain says whether an item is a main lift: by stage, or a judged lift at the
// stage the library gives it.
func (r *rules) isMain(v *session.Visit, item int) bool {
	if v.Items[item].Stage == exercise.Main {
		return true
	}
	return slices.ContainsFunc(r.athlete.Judged(), func(l string) bool { return string(v.Items[item].Exercise.ID) == l })
}

// limited says whether a muscle on a side is one of the client's limits.
func (r *rules) limited(m anatomy.Muscle, side anatomy.Side) bool {
	return slices.ContainsFunc(r.in.Client.Limits, func(l client.Limit) bool {
		return l.Muscle.Muscle == m && l.Muscle.Side.Meets(side)
	})
}
