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

// rules is one run of the rules that need the sessions done on paper.
type rules struct {
	in      Input
	lang    form.Language
	day     form.Date
	athlete *session.Athlete
	weeks   []*session.Week
	out     []Problem
	reasons map[place][]ReasonResult
	links   map[string][]Link // by session and week
	offer   bool              // whether ways out are worked out and tried
	only    *Problem          // while a way out is tried: the problem looked for
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
	r.athlete = session.NewAthlete(in.Client, in.Library, in.Practice, in.Block.Start)
	r.weeks = r.athlete.Block(in.Block, session.Options{Draws: in.Draws, Seed: in.Seed, Week: in.Week})
	return r
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
	p := newProblem(r.lang, code, sev, at, about, args)
	p.harm = harm
	r.out = append(r.out, p)
	return &r.out[len(r.out)-1]
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
}

// maxFixes is how many ways out a problem offers.
const maxFixes = 3

// offerFixes tries candidates on a clone of the block and offers those after
// which the problem is gone or weaker. weekly problems look at the whole week,
// others at their session alone.
func (r *rules) offerFixes(p *Problem, candidates ...candidate) {
	if !r.offer {
		return
	}
	for _, c := range candidates {
		if len(p.Fixes) == maxFixes {
			return
		}
		if r.cures(p, c) {
			p.Fixes = append(p.Fixes, Fix{ID: fmt.Sprintf("%s.%d", p.ID, len(p.Fixes)+1), Text: c.text, apply: c.apply})
		}
	}
}

// giveFixes offers ways out that cure by what they are: taking the slot away, or
// giving it a reason that was found to hold. They need no trial.
func (r *rules) giveFixes(p *Problem, candidates ...candidate) {
	for _, c := range candidates {
		if r.offer && len(p.Fixes) < maxFixes && c.apply(r.in.Block.Clone()) {
			p.Fixes = append(p.Fixes, Fix{ID: fmt.Sprintf("%s.%d", p.ID, len(p.Fixes)+1), Text: c.text, apply: c.apply})
		}
	}
}

// lessHarm is how much weaker a problem must become for a way out to count.
const lessHarm = 1e-6

// cures says whether a candidate makes the problem vanish or weaker.
func (r *rules) cures(p *Problem, c candidate) bool {
	b := r.in.Block.Clone()
	if !c.apply(b) {
		return false
	}
	after := r.without(b, p)
	after.apply()
	for _, q := range after.out {
		if q.ID == p.ID || q.Code == p.Code && q.At.Session == p.At.Session && q.At.Slot == p.At.Slot && q.Args["about"] == p.Args["about"] {
			return q.harm < p.harm-lessHarm
		}
	}
	return true
}

// without runs another block of the same client without draws and without
// looking for ways out, for one problem alone; visits of sessions that did not
// change are used again.
func (r *rules) without(b *plan.Block, p *Problem) *rules {
	in := r.in
	in.Block, in.Draws = b, 0
	a := &rules{in: in, lang: r.lang, day: r.day, athlete: r.athlete, reasons: map[place][]ReasonResult{}, links: map[string][]Link{}, only: p}
	for _, w := range r.weeks {
		a.weeks = append(a.weeks, r.athlete.Again(w, r.in.Block, b))
	}
	return a
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
	if !seen || harm > old.harm {
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
