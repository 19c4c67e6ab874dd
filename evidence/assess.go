package evidence

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/session"
)

// An Assessment is what findings say of a client. Its JSON form is documented in
// docs/json/assess.md; numbers are rounded to thousandths.
type Assessment struct {
	Form        int           `json:"form"`
	Client      string        `json:"client"`
	On          string        `json:"on"`
	Limits      []Limit       `json:"limits"`
	None        []NoLimit     `json:"none"`
	Unexplained []Unexplained `json:"unexplained"`
	NotWeighed  []Skipped     `json:"not_weighed"`
	Rivals      []Rival       `json:"rivals"`
	NextTests   []NextTest    `json:"next_tests"`
	Caps        []Cap         `json:"caps"`
	Safety      []SafetyNote  `json:"safety"` // filled in by who knows the rules
}

// A Limit is a group and side that may be weak.
type Limit struct {
	Groups []anatomy.Muscle `json:"groups"`
	Side   anatomy.Side     `json:"side"`
	Mean   float64          `json:"mean"` // how much weaker this side is, %; below 0 it is the stronger
	Low    float64          `json:"low"`  // 80 % interval
	High   float64          `json:"high"`
	Weak   float64          `json:"chance_weak"`
	Over   float64          `json:"chance_over_10pct"`
	From   []From           `json:"from"`

	mean, sd float64 // ln, of this side's weakness
}

// A From is what one finding contributed to a limit.
type From struct {
	Finding      int      `json:"finding"` // place in the client file from 1; 0 for pain or lifts on record
	Text         string   `json:"text"`
	Contribution float64  `json:"contribution"`     // log odds of "clearly weak" that fall without it
	Size         *float64 `json:"size_percent"`     // how much less this side has by it alone; null where it is no comparison in numbers
	Expected     *float64 `json:"expected_percent"` // what it would show if the group were clearly weak
}

// A NoLimit is the chance that no group of a set is clearly weak.
type NoLimit struct {
	Set    string  `json:"set"`
	Chance float64 `json:"chance"`
}

// Unexplained is a finding that fits no hypothesis.
type Unexplained struct {
	Finding int     `json:"finding"` // 0 for lifts on record
	Text    string  `json:"text"`
	Slip    float64 `json:"chance_slip"`
}

// A Rival is a question about what is not strength.
type Rival struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// A NextTest is a test that would tell.
type NextTest struct {
	Exercise string     `json:"exercise"`
	Measure  string     `json:"measure"`
	Minutes  float64    `json:"minutes"`
	Repeat   bool       `json:"repeat"` // it was done before
	Bits     float64    `json:"information_bits"`
	Rate     float64    `json:"bits_per_minute"`
	Unit     string     `json:"unit"` // of results: repetitions or percent, right less left
	Expected []Expected `json:"expected"`
	Why      string     `json:"why,omitempty"`

	rate float64 // not rounded
}

// Expected is what a hypothesis expects of a test.
type Expected struct {
	Hypothesis string  `json:"hypothesis"`
	Chance     float64 `json:"chance"`
	Result     float64 `json:"result"`
	Low        float64 `json:"low"` // 80 % interval
	High       float64 `json:"high"`
}

// A Cap is what a limited group may get.
type Cap struct {
	Muscle anatomy.Muscle `json:"muscle"`
	Side   anatomy.Side   `json:"side"`
	Hard   *float64       `json:"hard_sets"` // a week; null where the other side has no aim
	Heavy  []HeavyCap     `json:"heavy"`
	By     string         `json:"by"` // coach or computed
	Why    string         `json:"why"`
}

// A HeavyCap is what a lift may be done with.
type HeavyCap struct {
	Exercise string  `json:"exercise"`
	Percent  float64 `json:"percent_1rm"` // 0 where no heavy set is left
	Reps     []int   `json:"reps"`        // by set
}

// A SafetyNote is what has to be settled before testing.
type SafetyNote struct {
	Code   string `json:"code"`
	Action string `json:"action"`
	Text   string `json:"text"`
}

// What an assessment lists (our judgement, key judgement).
const (
	mostLimits     = 6
	leastChance    = 0.10 // chance from which a limit is listed
	mostTests      = 5
	LimitedFrom    = 0.5 // chance of being clearly weak from which a group counts as limited
	sureOver       = 0.8 // or of over 10 % less
	leastFrom      = 0.05
	heavyFraction  = 0.80 // of the 1RM: heavy sets caps are shown for
	leastDemand    = 0.30 // share from which a lift draws on a group
	unsaidLimitSD  = 0.07 // ln, of a coach's limit without one
	percent        = 100.
	secondMostLeft = 2
)

// plannedHeavy are the heavy sets caps are shown for, repetitions with two in reserve.
var plannedHeavy = []int{8, 6, 5, 5}

// Assess weighs all findings of a client and says what they come to. The same
// client gives the same bytes.
func Assess(in Input) *Assessment {
	a := &Assessment{Form: form.Version, Client: string(in.Client.ID), On: in.Day.String(),
		Limits: []Limit{}, None: []NoLimit{}, Unexplained: []Unexplained{}, Rivals: []Rival{}, NextTests: []NextTest{}, Caps: []Cap{}, Safety: []SafetyNote{}}
	all := Weigh(in)
	for _, w := range all {
		a.None = append(a.None, NoLimit{w.Model.Set, round(w.None())})
		a.Limits = append(a.Limits, in.limits(w)...)
		slips := w.Slips()
		for _, i := range w.Unexplained() {
			a.Unexplained = append(a.Unexplained, Unexplained{w.From[i].Number, w.From[i].Text, round(slips[i])})
		}
		a.NextTests = append(a.NextTests, in.nextTests(w)...)
	}
	slices.SortStableFunc(a.Limits, func(x, y Limit) int { return cmp.Compare(y.Weak, x.Weak) })
	slices.SortStableFunc(a.NextTests, func(x, y NextTest) int { return cmp.Compare(y.rate, x.rate) })
	a.Limits = a.Limits[:min(len(a.Limits), mostLimits)]
	a.NextTests = a.NextTests[:min(len(a.NextTests), mostTests)]
	a.NotWeighed = in.notWeighed()
	a.Rivals = in.rivals(all)
	if t, ok := in.rangeTest(); ok {
		a.NextTests = append([]NextTest{t}, a.NextTests...)
	}
	a.Caps = in.caps(a.Limits)
	return a
}

// round rounds to thousandths.
func round(x float64) float64 {
	x = math.Round(1000*x) / 1000
	if x == 0 {
		return 0 // no negative nought
	}
	return x
}

// weaker turns a weakness in ln into percent.
func weaker(ln float64) float64 { return round(percent * (1 - math.Exp(-ln))) }

// limits lists the groups that may be weak.
func (in Input) limits(w *Weighed) []Limit {
	groups, contributions := w.Groups(), w.Contributions()
	var out []Limit
	for _, x := range w.Leaders(mostLimits) {
		g := groups[x.Group]
		if g.Weak(x.Side) < leastChance && len(out) > secondMostLeft {
			break
		}
		s := float64(x.Side)
		l := Limit{Groups: w.Model.Groups[x.Group].Muscles, Side: x.Side.Of(), Mean: weaker(s * g.Mean),
			Weak: round(g.Weak(x.Side)), Over: round(g.Over(x.Side)), From: []From{}, mean: s * g.Mean, sd: g.SD}
		l.Low, l.High = weaker(s*g.Low), weaker(s*g.High)
		if x.Side == Right {
			l.Low, l.High = l.High, l.Low
		}
		at := 0
		if x.Side == Left {
			at = 1
		}
		for i, c := range contributions {
			if v := c[x.Group][at]; math.Abs(v) >= leastFrom {
				l.From = append(l.From, in.from(w, i, x, v))
			}
		}
		slices.SortStableFunc(l.From, func(x, y From) int { return cmp.Compare(math.Abs(y.Contribution), math.Abs(x.Contribution)) })
		out = append(out, l)
	}
	return out
}

// from names a finding by its observation; the last is the complaint.
func (in Input) from(w *Weighed, i int, x Weak, v float64) From {
	switch {
	case i < len(w.From):
		f := From{Finding: w.From[i].Number, Text: w.From[i].Text, Contribution: round(v)}
		if o := &w.Observed[i]; o.Drill != "" && !o.Bounded {
			f.Size = new(weaker(float64(x.Side) * o.Y))
			f.Expected = new(weaker(slabMean * o.J[x.Group]))
		}
		return f
	case w.Complains >= 0:
		return From{Finding: w.Complains + 1, Text: in.Client.Findings[w.Complains].What, Contribution: round(v)}
	}
	return From{Text: in.pick("pain on record", "vermerkter Schmerz"), Contribution: round(v)}
}

func (in Input) pick(en, de string) string { return form.Text{En: en, De: de}.In(in.Language) }

// nextTests ranks the drills that may be done by information a minute.
func (in Input) nextTests(w *Weighed) []NextTest {
	athlete := session.NewAthlete(in.Client, in.Library, nil, in.Day)
	var out []NextTest
	for i := range w.Model.Drills {
		d := &w.Model.Drills[i]
		e := in.Library.ByID(d.Exercise)
		if e == nil || in.Allowed != nil && in.Allowed(e) != "" {
			continue
		}
		k, _ := athlete.LiftK(e)
		o := d.Coming(k, simSets)
		t := NextTest{Exercise: d.Exercise, Measure: string(d.Measure), Minutes: d.Minutes, Expected: []Expected{}}
		for _, f := range w.Observed {
			t.Repeat = t.Repeat || f.Drill == d.Exercise
		}
		bits := w.Information(&o, in.Scope)
		t.rate = bits / d.Minutes
		t.Bits, t.Rate = round(bits), round(t.rate)
		scale := in.unit(d, k, &t)
		for _, p := range w.worthTelling(d, &o) {
			t.Expected = append(t.Expected, Expected{in.hypothesis(w, p.at), round(p.W),
				round(scale * p.Mean), round(scale * (p.Mean - prudent*p.SD)), round(scale * (p.Mean + prudent*p.SD))})
		}
		out = append(out, t)
	}
	slices.SortStableFunc(out, func(x, y NextTest) int { return cmp.Compare(y.rate, x.rate) })
	return out[:min(len(out), mostTests)]
}

// unit says in which unit results of a drill are told and what one ln is in it.
func (in Input) unit(d *Drill, k float64, t *NextTest) float64 {
	if d.Measure == Repetitions || d.Measure == Reserve {
		t.Unit = "repetitions"
		return (1 + k*(d.Reps-1)) / k
	}
	t.Unit = "percent"
	if d.Measure == Hold {
		return percent / holdPower
	}
	return percent
}

// worthTelling keeps the predictions of the two leading groups and sides, of the group
// the drill asks most on its likelier side, each alone weak, and of no weak group.
func (w *Weighed) worthTelling(d *Drill, o *Observation) []Prediction {
	most := 0
	for g, j := range d.J {
		if math.Abs(j) > math.Abs(d.J[most]) {
			most = g
		}
	}
	asked := Weak{most, Right}
	if p := w.weakness()[most]; p[1] > p[0] {
		asked.Side = Left
	}
	wanted := append(w.Leaders(2), asked)
	all := w.Predict(o)
	out := slices.DeleteFunc(slices.Clone(all), func(p Prediction) bool {
		h := &w.Model.Hypotheses[p.at]
		return len(h.Weak) != 1 || !slices.Contains(wanted, h.Weak[0])
	})
	return append(out, all[0])
}

// hypothesis says what a hypothesis takes for weak.
func (in Input) hypothesis(w *Weighed, at int) string {
	h := w.Model.Hypotheses[at]
	if len(h.Weak) == 0 {
		return in.pick("none clearly weak", "keine deutlich schwach")
	}
	text := ""
	for i, x := range h.Weak {
		if i > 0 {
			text += ", "
		}
		text += GroupName(w.Model.Groups[x.Group].Muscles, x.Side.Of(), in.Language)
	}
	return text
}

// GroupName names the muscles of a group and its side.
func GroupName(muscles []anatomy.Muscle, side anatomy.Side, l form.Language) string {
	text := ""
	for i, m := range muscles {
		if i > 0 {
			text += form.Text{En: " with ", De: " mit "}.In(l)
		}
		text += m.In(l)
	}
	return form.Text{En: side.In(l) + " " + text, De: text + " " + side.In(l)}.In(l)
}

// rangeOpens is the difference of a range from which it is asked about first, deg
// (our judgement, key judgement).
const rangeOpens = 5.0

// ankleDrill is the exercise by which the range of the ankle is compared.
const ankleDrill = "ankle-rock"

// rangeTest puts the range of the ankle first where a shift or knee line was seen, or
// the complaint is the ankle, and no range is on record.
func (in Input) rangeTest() (NextTest, bool) {
	wanted := false
	for _, f := range in.Client.Findings {
		wanted = wanted || f.Kind == client.HipShift || f.Kind == client.KneeLine || f.Kind == client.Complained && f.Place == "ankle"
		if f.Kind == client.ByRange && (f.Exercise == ankleDrill || f.Exercise == "") {
			return NextTest{}, false
		}
	}
	e := in.Library.ByID(ankleDrill)
	if !wanted || e == nil || in.Allowed != nil && in.Allowed(e) != "" {
		return NextTest{}, false
	}
	return NextTest{Exercise: ankleDrill, Measure: string(client.ByRange), Minutes: 2, Unit: "deg", Expected: []Expected{},
		Why: in.pick("Range comes first: a stiff ankle moves hip and knee line whatever the strength. Write it down as a finding of the kind range.",
			"Beweglichkeit zuerst: Ein steifes Sprunggelenk verschiebt Hüfte und Knie, gleich wie stark die Muskeln sind. Als Befund der Art range notieren.")}, true
}

// caps works out what limited groups may get: those on record, and the computed ones
// that are likely enough.
func (in Input) caps(limits []Limit) []Cap {
	out := []Cap{}
	seen := map[anatomy.MuscleSide]bool{}
	add := func(m anatomy.Muscle, side anatomy.Side, mean, sd float64, by string) {
		key := anatomy.MuscleSide{Muscle: m, Side: side}
		if !seen[key] {
			seen[key] = true
			out = append(out, in.cap(m, side, mean, sd, by))
		}
	}
	for _, l := range in.Client.Limits {
		mean, sd := OnRecord(l)
		add(l.Muscle.Muscle, l.Muscle.Side, mean, sd, string(l.By))
	}
	for _, l := range limits {
		if l.Weak >= LimitedFrom || l.Over >= sureOver {
			add(l.Groups[0], l.Side, l.mean, l.sd, "computed")
		}
	}
	return out
}

// OnRecord turns a limit on record into mean and SD of the weakness, ln.
func OnRecord(l client.Limit) (mean, sd float64) {
	w := l.Weakness.Number() / percent
	mean, sd = -math.Log(1-min(w, 0.95)), unsaidLimitSD
	if l.SD != nil {
		sd = l.SD.Number() / percent / (1 - min(w, 0.95))
	}
	return mean, sd
}

func (in Input) cap(m anatomy.Muscle, side anatomy.Side, mean, sd float64, by string) Cap {
	c := Cap{Muscle: m, Side: side, Heavy: []HeavyCap{}, By: by}
	pain := slices.ContainsFunc(in.Client.Pain, func(p client.Pain) bool {
		return p.Until.IsZero() && p.Side.Meets(side) && p.Place.Region() == m.Region()
	})
	if aim, ok := in.otherAim(m, side); ok {
		c.Hard = new(round(WeeklyStart(math.Exp(-mean), aim, pain)))
	}
	athlete := session.NewAthlete(in.Client, in.Library, nil, in.Day)
	for _, id := range athlete.Judged() {
		e := in.Library.ByID(id)
		if a := DemandOf(in.Client, e, m, in.Day); e.Sides == exercise.BothSides && a >= leastDemand {
			k, _ := athlete.LiftK(e)
			h := HeavySets(a, Prudent(mean, sd), heavyFraction, k, plannedHeavy)
			c.Heavy = append(c.Heavy, HeavyCap{id, round(percent * h.P), append([]int{}, h.Reps...)})
		}
	}
	c.Why = fmt.Sprintf(in.pick("Our judgement: strength reckoned with %.0f %% of the other side; load and repetitions decide what the weak group keeps, the number of sets does not. One hard set more after a good week, 15 %% fewer after a bad one. Work of one side: each side its own load at equal reserve, the weak side first.",
		"Unser Urteil: gerechnet wird mit %.0f %% der anderen Seite; Last und Wiederholungen entscheiden, was die schwache Gruppe behält, nicht die Zahl der Sätze. Nach einer guten Woche ein harter Satz mehr, nach einer schlechten 15 %% weniger. Einseitige Übungen: jede Seite mit eigener Last bei gleicher Reserve, die schwache Seite zuerst."), percent*Prudent(mean, sd))
	return c
}

// DemandOf is the share of a muscle in an exercise, the coach's own first.
func DemandOf(c *client.Client, e *exercise.Exercise, m anatomy.Muscle, day form.Date) float64 {
	for _, s := range c.Shares {
		if s.Exercise == string(e.ID) && s.Muscle == m && s.Holds(day) {
			return s.Share
		}
	}
	return e.Shares[m]
}

// otherAim is the high end of the aim of the other side: what it is taken to bear.
func (in Input) otherAim(m anatomy.Muscle, side anatomy.Side) (float64, bool) {
	best, found := 0.0, false
	for _, a := range in.Client.Aims {
		if a.Muscle.Muscle == m && a.Muscle.Side.Meets(side.Other()) && (!found || a.Muscle.Side == side.Other()) {
			best, found = a.Sets.High, true
		}
	}
	return best, found
}
