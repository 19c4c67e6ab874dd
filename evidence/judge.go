package evidence

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"corbel/anatomy"
	"corbel/client"
	"corbel/effort"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// A JudgeInput is what a judgement looks at. It is not changed.
type JudgeInput struct {
	Client   *client.Client
	Library  *exercise.Library
	Blocks   []*plan.Block
	Logs     []*plan.Log
	Day      form.Date // nothing after it counts
	Language form.Language
}

// A Judgement says what changed and what is noise. Its JSON form is documented in
// docs/json/judge.md; numbers are rounded to thousandths.
type Judgement struct {
	Form     int          `json:"form"`
	Client   string       `json:"client"`
	On       string       `json:"on"`
	Tests    []Change     `json:"tests"`
	Lifts    []Change     `json:"lifts"`
	False    float64      `json:"expected_false_better"`
	Limits   []LimitState `json:"limits"`
	Fits     []FitReport  `json:"fits"`
	Traits   *TraitReport `json:"traits"` // null where no set is used
	Flagged  []FlaggedSet `json:"flagged"`
	Weeks    []WeekReport `json:"weeks"`
	Response *Response    `json:"response"` // null where no session was rated
	Done     Adherence    `json:"adherence"`
	Pain     []PainReport `json:"pain"`
	Fell     []Fall       `json:"fell"`
	findings []client.Finding
}

// A Change is a test or lift before and after.
type Change struct {
	Name    string       `json:"name"` // exercise
	Measure string       `json:"measure"`
	Side    anatomy.Side `json:"side"`
	Before  float64      `json:"before"`
	After   float64      `json:"after"`
	Change  float64      `json:"change_percent"` // of strength
	Error   float64      `json:"error_percent"`  // SE of the change
	From    string       `json:"error_from"`     // own, published, judgement or fit
	Verdict Verdict      `json:"verdict"`
	Trials  *int         `json:"trials_to_decide"` // null where up to 50 more would not
}

// quantile90 is how many SD a 90 % bound lies from the mean of a normal value, and
// an 80 % range reaches to each side (1; standard normal distribution).
const quantile90 = 1.2816

// Range is the 80 % range of the change, percent.
func (c Change) Range() (low, high float64) {
	return c.Change - quantile90*c.Error, c.Change + quantile90*c.Error
}

// A LimitState is what became of a limit on record.
type LimitState struct {
	Groups []anatomy.Muscle `json:"groups"`
	Side   anatomy.Side     `json:"side"`
	Before float64          `json:"chance_before"`
	Now    float64          `json:"chance_now"`
	State  string           `json:"state"` // confirmed, weakened, refuted, open
}

// A FitReport is what the log says of an exercise.
type FitReport struct {
	Exercise string       `json:"exercise"`
	Side     anatomy.Side `json:"side"`
	Max      float64      `json:"one_rm"` // kg, external load
	Low      float64      `json:"one_rm_low"`
	High     float64      `json:"one_rm_high"`
	K        float64      `json:"k"`
	Sets     int          `json:"sets"`
	State    string       `json:"state"`
	Outside  float64      `json:"outside_80"` // part of the sets outside the range expected before their day
	Warn     string       `json:"warn,omitempty"`
}

// A TraitReport is what the logs say of the client in all exercises.
type TraitReport struct {
	Bias     float64  `json:"reserve_bias"` // repetitions more in reserve than said
	BiasSD   float64  `json:"reserve_bias_sd"`
	Recovery *float64 `json:"recovery"` // factor on the times of recovery; null below 24 sets
	Sets     int      `json:"sets"`
	Outside  float64  `json:"outside_80"`
	Warn     string   `json:"warn,omitempty"`
}

// A FlaggedSet is a logged set that no fit uses; it stays in the log.
type FlaggedSet struct {
	Exercise string       `json:"exercise"`
	Side     anatomy.Side `json:"side"`
	On       string       `json:"on"`
	Done     string       `json:"done"`
	Flag     Flag         `json:"flag"`
}

// A WeekReport is the session load of a week.
type WeekReport struct {
	From     string   `json:"from"`
	Load     float64  `json:"load"`
	Monotony *float64 `json:"monotony"` // null where all days are alike
	Strain   *float64 `json:"strain"`
}

// A Response is the session load of the past, weighed by two times of decay, as bands.
type Response struct {
	Built     [3]float64 `json:"built_up"`          // middle, low, high; a day
	Recovered [3]float64 `json:"not_yet_recovered"` // the same
}

// An Adherence is what was done of what was planned.
type Adherence struct {
	Done    int `json:"done"`
	Planned int `json:"planned"`
}

// A PainReport is the last report of pain of a place in the logs.
type PainReport struct {
	Place   anatomy.Place `json:"place"`
	Side    anatomy.Side  `json:"side"`
	On      string        `json:"on"`
	During  *float64      `json:"during"`
	Morning *float64      `json:"morning"`
}

// Bounds of a judgement (our judgement, key judgement).
const (
	leastSets   = 2    // sets in each period for a verdict on a lift
	warnFrom    = 0.3  // part of sets outside the 80 % range that is a warning
	warnSets    = 10   // sets it needs
	confirmed   = 0.5  // chance from which a limit is confirmed
	refuted     = 0.05 // chance below which it is refuted
	weakened    = 0.7  // part of the chance before below which it is weakened
	builtDays   = 45.0 // decay of what a session builds up (key banister-defaults)
	tiredDays   = 15.0 // decay of what is not yet recovered (key banister-defaults)
	decaySpread = 1.3  // factor on both for the band
)

// figure writes a number in the unit of a kind of finding.
func figure(k client.FindingKind, x float64, unit string) string {
	text := strconv.FormatFloat(x, 'f', -1, 64)
	switch {
	case k == client.ByHold:
		return text + " s"
	case k == client.ByLoad && unit == "lb":
		return text + " lb"
	case k == client.ByLoad:
		return text + " kg"
	}
	return text
}

func (in JudgeInput) pick(en, de string) string { return form.Text{En: en, De: de}.In(in.Language) }

// Judge works out what changed.
func Judge(in JudgeInput) *Judgement {
	j := &Judgement{Form: form.Version, Client: string(in.Client.ID), On: in.Day.String(), Tests: []Change{}, Lifts: []Change{},
		Limits: []LimitState{}, Fits: []FitReport{}, Flagged: []FlaggedSet{}, Weeks: []WeekReport{}, Pain: []PainReport{}, Fell: []Fall{}}
	athlete := session.NewAthlete(in.Client, in.Library, nil, in.Day)
	j.findings = append(slices.Clone(in.Client.Findings), in.testFindings()...)
	j.Flagged = append(j.Flagged, in.strays()...)
	j.lifts(in, athlete)
	j.tests(in, athlete)
	for _, list := range [][]Change{j.Tests, j.Lifts} {
		for _, c := range list {
			if c.Verdict == Better || c.Verdict == ProbablyBetter {
				j.False += FalseBetter(c.Change, c.Error)
			}
		}
	}
	j.False = round(j.False)
	j.limits(in)
	j.load(in)
	j.pains(in)
	j.falls(in, athlete)
	return j
}

// span returns the first day of the entries and the day from which the later period
// runs: the middle of the days between.
func (in JudgeInput) span() (first, later form.Date) {
	var last form.Date
	for _, l := range in.Logs {
		for _, e := range l.Entries {
			if first.IsZero() || e.On.Before(first) {
				first = e.On
			}
			if last.Before(e.On) {
				last = e.On
			}
		}
	}
	if first.IsZero() {
		return in.Day, in.Day
	}
	return first, first.Plus((last.Days(first) + 1) / 2)
}

// A trial is one measure of a test.
type trial struct {
	on form.Date
	ln float64 // strength
	at float64 // as measured
}

// tests judges every side of every test that was done in both periods.
func (j *Judgement) tests(in JudgeInput, a *session.Athlete) {
	_, later := in.span()
	type testKey struct {
		exercise string
		kind     client.FindingKind
		side     anatomy.Side
	}
	all, order := map[testKey][]trial{}, []testKey{}
	for i := range j.findings {
		f := &j.findings[i]
		l, r, ok := f.Compared()
		e := in.Library.ByID(f.Exercise)
		if !ok || e == nil || in.Day.Before(f.On) {
			continue
		}
		k, _ := a.LiftK(e)
		for _, x := range []struct {
			side anatomy.Side
			at   float64
		}{{anatomy.Left, l}, {anatomy.Right, r}} {
			ln, ok := strengthOf(f, x.at, k, a.Carried(e))
			if !ok {
				continue
			}
			key := testKey{f.Exercise, f.Kind, x.side}
			if len(all[key]) == 0 {
				order = append(order, key)
			}
			all[key] = append(all[key], trial{f.On, ln, x.at})
		}
	}
	for _, key := range order {
		if c, ok := testChange(all[key], later, key.kind); ok {
			c.Name, c.Measure, c.Side = key.exercise, string(key.kind), key.side
			j.Tests = append(j.Tests, c)
		}
	}
}

// strengthOf turns a measure of one side into ln strength, up to a constant.
func strengthOf(f *client.Finding, at, k, carried float64) (float64, bool) {
	switch f.Kind {
	case client.ByRepetitions:
		return math.Log(1 + k*(max(at, 1)-1)), true
	case client.ByReserve:
		return math.Log(1 + k*(float64(f.Reps)+at-1)), true
	case client.ByEffort:
		return math.Log(1 + k*(float64(f.Reps)+mostEffort-at-1)), true
	case client.ByLoad:
		return math.Log(at + carried), true
	case client.ByHold:
		return holdPower * math.Log(at), at > 0
	}
	return 0, false
}

// errorOf is the error of one trial of a kind, ln, and where it comes from.
func errorOf(k client.FindingKind) (float64, string) {
	switch k {
	case client.ByLoad:
		return PublishedError, "published"
	case client.ByReserve, client.ByEffort:
		return ratingSD / math.Sqrt2, "judgement"
	case client.ByHold:
		return holdSD / math.Sqrt2, "judgement"
	}
	return TestSD(usualReps, simK, 1) / math.Sqrt2, "judgement"
}

// usualReps is how many repetitions a test has.
const usualReps = 12

// testChange judges trials before and after a day.
func testChange(all []trial, later form.Date, kind client.FindingKind) (Change, bool) {
	var before, after, beforeAt, afterAt []float64
	for _, t := range all {
		if t.on.Before(later) {
			before, beforeAt = append(before, t.ln), append(beforeAt, t.at)
		} else {
			after, afterAt = append(after, t.ln), append(afterAt, t.at)
		}
	}
	if len(before) == 0 || len(after) == 0 {
		return Change{}, false
	}
	err, from := errorOf(kind)
	if own, ok := TypicalError(before, after); ok && len(all) > ownTrials {
		// two trials may agree by chance: the usual error counts as two more
		free := float64(len(all) - 2)
		err, from = math.Sqrt((free*own*own+2*err*err)/(free+2)), "own"
	}
	d := mean(after) - mean(before)
	se := err * math.Sqrt(1/float64(len(before))+1/float64(len(after)))
	c := Change{Before: round(mean(beforeAt)), After: round(mean(afterAt)), Change: round(percent * d), Error: round(percent * se), From: from, Verdict: VerdictOf(d, se)}
	if more, ok := TrialsToDecide(d, err, len(before), len(after)); ok {
		c.Trials = new(more)
	}
	return c, true
}

func mean(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v / float64(len(x))
	}
	return s
}

// limits says what became of the limits on record: the chance from findings up to the
// first logged day, and from all.
func (j *Judgement) limits(in JudgeInput) {
	first, _ := in.span()
	chance := func(day form.Date, l client.Limit) (float64, *Model, int) {
		who := *in.Client
		who.Findings = j.findings
		for _, w := range Weigh(Input{Client: &who, Library: in.Library, Day: day, Language: in.Language}) {
			if g := w.Model.NumberOf(l.Muscle.Muscle); g >= 0 {
				b := w.Groups()[g]
				return b.Weak(sideOf(l.Muscle.Side)), w.Model, g
			}
		}
		return 0, nil, 0
	}
	for _, l := range in.Client.Limits {
		if sideOf(l.Muscle.Side) == 0 {
			continue
		}
		before, _, _ := chance(first.Plus(-1), l)
		now, m, g := chance(in.Day, l)
		if m == nil {
			continue
		}
		s := LimitState{Groups: m.Groups[g].Muscles, Side: l.Muscle.Side, Before: round(before), Now: round(now), State: "open"}
		switch {
		case now >= confirmed && now >= before:
			s.State = "confirmed"
		case now < refuted && now < weakened*before:
			s.State = "refuted"
		case now < weakened*before:
			s.State = "weakened"
		}
		j.Limits = append(j.Limits, s)
	}
}

// load sums up rated sessions week by week, and by decay.
func (j *Judgement) load(in JudgeInput) {
	daily := map[form.Date]float64{}
	seen := map[string]bool{}
	var first, last form.Date
	for _, b := range in.Blocks {
		for _, log := range in.Logs {
			for _, e := range log.Entries {
				id := fmt.Sprint(e.Block, e.Session, e.Week, e.On)
				if e.Block != b.ID || seen[id] || in.Day.Before(e.On) {
					continue
				}
				seen[id] = true
				j.Done.Done++
				if last.Before(e.On) {
					last = e.On
				}
				if first.IsZero() || e.On.Before(first) {
					first = e.On
				}
				if e.Rating != nil {
					if load, err := effort.SessionLoad(*e.Rating, float64(e.Minutes)); err == nil {
						daily[e.On] += load
					}
				}
			}
		}
		for w := 1; w <= b.Weeks; w++ {
			for _, l := range b.Lay(w) {
				if !last.Before(l.On) {
					j.Done.Planned++
				}
			}
		}
	}
	if len(daily) == 0 {
		return
	}
	monday := first.Plus(-((int(first.Time().Weekday()) + 6) % 7))
	for ; !last.Before(monday); monday = monday.Plus(7) {
		var week [7]float64
		for d := range week {
			week[d] = daily[monday.Plus(d)]
		}
		w, err := effort.Week(week)
		if err != nil {
			panic("evidence: a week of session loads: " + err.Error())
		}
		r := WeekReport{From: monday.String(), Load: round(w.Total)}
		if w.Defined {
			r.Monotony, r.Strain = new(round(w.Monotony)), new(round(w.Strain))
		}
		j.Weeks = append(j.Weeks, r)
	}
	j.Response = &Response{decayed(daily, last, builtDays), decayed(daily, last, tiredDays)}
}

// decayed is the mean daily load of the past with a time of decay, with a band.
func decayed(daily map[form.Date]float64, at form.Date, days float64) [3]float64 {
	sum := func(tau float64) float64 {
		x := 0.0
		for _, d := range slices.SortedFunc(keysOf(daily), func(x, y form.Date) int { return x.Days(y) }) {
			x += daily[d] * math.Exp(-float64(at.Days(d))/tau) / tau
		}
		return x
	}
	a, b := sum(days/decaySpread), sum(days*decaySpread)
	return [3]float64{round(sum(days)), round(min(a, b)), round(max(a, b))}
}

func keysOf(m map[form.Date]float64) func(func(form.Date) bool) {
	return func(yield func(form.Date) bool) {
		for d := range m {
			if !yield(d) {
				return
			}
		}
	}
}

// pains lists the last report of each place.
func (j *Judgement) pains(in JudgeInput) {
	for _, log := range in.Logs {
		for _, e := range log.Entries {
			if in.Day.Before(e.On) {
				continue
			}
			for _, p := range e.Pain {
				r := PainReport{p.Place, p.Side, e.On.String(), p.During, p.Morning}
				i := slices.IndexFunc(j.Pain, func(x PainReport) bool { return x.Place == p.Place && x.Side == p.Side })
				switch {
				case i < 0:
					j.Pain = append(j.Pain, r)
				case cmp.Compare(j.Pain[i].On, r.On) <= 0:
					j.Pain[i] = r
				}
			}
		}
	}
}

// Findings are the client's findings with those of the logs: what the next assessment
// weighs.
func (j *Judgement) Findings() []client.Finding { return j.findings }
