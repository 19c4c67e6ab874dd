package design

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// A Page is what a proposal says, docs/json/design.md. Values are in points,
// rounded to thousandths.
type Page struct {
	Form         int           `json:"form"`
	Value        float64       `json:"value"`
	Bound        float64       `json:"bound"`
	Gap          *float64      `json:"gap_percent"` // null for one session: the bound is too far off
	Shortfall    Shortfall     `json:"shortfall"`
	Moves        int           `json:"moves"`
	Seed         uint64        `json:"seed"`
	Sum          string        `json:"input_sha256"`
	Block        string        `json:"block"` // id
	Coverage     []Coverage    `json:"coverage"`
	Explanations []Explanation `json:"explanations"`
	Rules        []Price       `json:"rules"`
	Unmet        []string      `json:"unmet"`
	Clashes      []Clash       `json:"clashes"`
	Few          []Few         `json:"few_reasons"`
	Changes      []Change      `json:"changes"`
	Group        []Nested      `json:"group"`
}

// A Shortfall is what is missing to the low ends of aims.
type Shortfall struct {
	HardSets float64 `json:"hard_sets"`
	LiftSets float64 `json:"lift_sets"`
}

// A Coverage is what a muscle, or a lift, gets in the first week on paper.
type Coverage struct {
	Muscle string  `json:"muscle"` // or lift: and its id
	Side   string  `json:"side"`
	Low    float64 `json:"aim_low"`
	High   float64 `json:"aim_high"`
	Got    float64 `json:"got"`
}

// An Explanation says why a slot is there.
type Explanation struct {
	Session      string        `json:"session"`
	Slot         string        `json:"slot"`
	Exercise     string        `json:"exercise"`
	Reasons      []string      `json:"reasons"`
	Drop         Drop          `json:"drop"`
	Replacements []Replacement `json:"replacements"`
}

// A Drop is what leaving an exercise out would lose and save.
type Drop struct {
	Value   float64 `json:"value"`
	Minutes float64 `json:"minutes"`
}

// A Replacement is an exercise in the place of another, with the value the week
// would then have more (or less) than now.
type Replacement struct {
	Exercise string  `json:"exercise"`
	Value    float64 `json:"value"`
}

// A Price is what lifting a rule would bring, at least.
type Price struct {
	Rule string  `json:"rule"`
	Gain float64 `json:"gain"`
}

// A Nested is what the first k sessions of a group programme are worth.
type Nested struct {
	K        int        `json:"k"`
	Percent  float64    `json:"percent_of_best"`
	Coverage []Coverage `json:"coverage"`
}

// A Record is what is written beside a proposed block, so that it can be explained
// later: the frozen problem and where each slot comes from.
type Record struct {
	Form    int      `json:"form"`
	Block   form.ID  `json:"block"`
	Problem *Problem `json:"problem"`
	Answer  Answer   `json:"answer"`
	Bound   int64    `json:"bound"`
	Placed  []Placed `json:"placed"`
	Unmet   []string `json:"unmet"`
}

// Record returns what is written beside the block.
func (p *Proposal) Record() Record {
	return Record{Version, p.Block.ID, p.Problem, p.Answer, p.Bound, p.Placed, append([]string{}, p.Unmet...)}
}

// Bytes writes a record.
func (r Record) Bytes() []byte {
	src, err := json.Marshal(r)
	if err != nil {
		panic(badProblem)
	}
	return append(src, '\n')
}

// ReadRecord reads what stands beside a proposed block.
func ReadRecord(name string, src []byte) (Record, error) {
	var r Record
	if err := json.Unmarshal(src, &r); err != nil || r.Problem == nil {
		return r, fmt.Errorf("%s: not a design record; corbel design -o writes one beside the block", name)
	}
	if err := r.Problem.check(); err != nil {
		return r, fmt.Errorf("%s: %w; write it anew with corbel design", name, err)
	}
	for i, c := range r.Placed {
		if c.Option < 0 || c.Option >= len(r.Problem.Options) || c.Day < 0 || c.Day >= len(r.Problem.Days) || c.Sets < 1 || c.Sets > mostSets {
			return r, fmt.Errorf("%s: placed[%d] names what the problem does not have; write it anew with corbel design", name, i)
		}
	}
	return r, nil
}

// week returns the week as it is placed in the block.
func (r Record) week() *Week {
	var list []Choice
	for _, x := range r.Placed {
		list = append(list, Choice{x.Option, x.Day, x.Sets})
	}
	return r.Problem.Fill(list)
}

// points turns 1/1000 points into points.
func points(x int64) float64 { return float64(x) / PointUnit }

// exerciseOf returns the id of the exercise of an option.
func (p *Problem) exerciseOf(option int) string {
	id, _, _ := strings.Cut(p.Options[option].Name, " ")
	return id
}

// replacements is how many are shown.
const replacements = 3

// Explain says for each slot of the record that is still in the block with its
// exercise what it is there for, what leaving it out would cost, and what could
// stand there instead. Every number is the difference of two exact values.
func (r Record) Explain(b *plan.Block) []Explanation {
	w := r.week()
	out := []Explanation{}
	for _, x := range r.Placed {
		_, s := b.SlotByID(x.Slot)
		if s == nil || s.Exercise != r.Problem.exerciseOf(x.Option) {
			continue
		}
		e := Explanation{Session: string(x.Session), Slot: string(x.Slot), Exercise: s.Exercise, Reasons: reasonWords(s.Reasons)}
		value, seconds := w.Value(), w.Seconds(x.Day)
		w.Set(x.Option, x.Day, 0)
		e.Drop = Drop{points(value - w.Value()), math.Round(float64(seconds-w.Seconds(x.Day))/6) / 10}
		e.Replacements = r.instead(w, x, value)
		w.Set(x.Option, x.Day, x.Sets)
		out = append(out, e)
	}
	return out
}

// instead lists the best exercises for the place of one that has been taken off.
func (r Record) instead(w *Week, x Placed, value int64) []Replacement {
	out := r.ranked(w, x, value, true)
	return out[:min(len(out), replacements)]
}

// ranked lists every exercise for the place of one that has been taken off, best
// first; strict leaves out what would break a rule of the week.
func (r Record) ranked(w *Week, x Placed, value int64, strict bool) []Replacement {
	best := map[string]int64{}
	before := w.Broken()
	for o := range r.Problem.Options {
		q := &r.Problem.Options[o]
		id := r.Problem.exerciseOf(o)
		if !q.Allowed[x.Day] || w.Sets(o, x.Day) > 0 || id == r.Problem.exerciseOf(x.Option) {
			continue
		}
		for n := q.Least; n <= q.Most; n++ {
			w.Set(o, x.Day, n)
			gain := w.Value() - value
			if old, ok := best[id]; (!strict || w.Broken() <= before) && (!ok || gain > old) {
				best[id] = gain
			}
		}
		w.Set(o, x.Day, 0)
	}
	out := []Replacement{}
	for id, gain := range best {
		out = append(out, Replacement{id, points(gain)})
	}
	slices.SortFunc(out, func(a, b Replacement) int {
		return cmp.Or(cmp.Compare(b.Value, a.Value), cmp.Compare(a.Exercise, b.Exercise))
	})
	return out
}

// reasonWords writes reasons as machine words: kind and what it is of.
func reasonWords(list []plan.Reason) []string {
	out := []string{}
	for _, r := range list {
		switch {
		case r.Test != nil:
			out = append(out, "test "+r.Test.String())
		case r.Prepare != "":
			out = append(out, "prepare "+string(r.Prepare))
		case r.Practise != "":
			out = append(out, "practise "+r.Practise)
		case r.Load != nil:
			out = append(out, "load "+r.Load.String())
		case r.Spare != nil:
			out = append(out, "spare "+r.Spare.String())
		default:
			out = append(out, "restore "+string(r.Restore))
		}
	}
	return out
}

// Page returns what the proposal says.
func (p *Proposal) Page() Page {
	r := p.Record()
	value := p.Answer.Value + p.Problem.Fill(p.Answer.Choices).short // needs that are not met are named, not counted
	out := Page{Form: Version, Value: points(value), Bound: points(p.Bound), Moves: p.Answer.Moves, Seed: p.Answer.Seed, Sum: p.Problem.Sum(),
		Block: string(p.Block.ID), Coverage: p.coverage(), Explanations: r.Explain(p.Block), Rules: []Price{}, Unmet: r.Unmet, Clashes: Clashes(p.Problem, p.Answer), Few: p.few(), Changes: p.Changes, Group: []Nested{}}
	if len(p.Problem.Days) > 1 && value > 0 {
		gap := math.Round(1000*float64(p.Bound-value)/float64(value)) / 10
		out.Gap = &gap
	}
	for _, c := range out.Coverage {
		missing := max(c.Low-c.Got, 0)
		if strings.HasPrefix(c.Muscle, liftPrefix) {
			out.Shortfall.LiftSets += missing
		} else {
			out.Shortfall.HardSets += missing
		}
	}
	out.Shortfall.HardSets, out.Shortfall.LiftSets = Tenth(out.Shortfall.HardSets), Tenth(out.Shortfall.LiftSets)
	return out
}

// Tenth rounds to tenths, as pages show sets.
func Tenth(x float64) float64 { return math.Round(10*x) / 10 }

// coverage compares the first week on paper with the aims; columns that have
// neither an aim nor work are left out.
func (p *Proposal) coverage() []Coverage {
	out := []Coverage{}
	for _, c := range p.Problem.Columns {
		x := Coverage{Muscle: c.Name, Low: float64(c.Low) / SetUnit, High: float64(c.High) / SetUnit}
		if lift, ok := strings.CutPrefix(c.Name, liftPrefix); ok {
			x.Got = p.Weeks[0].Lifts[lift]
		} else {
			var m anatomy.MuscleSide
			if err := m.UnmarshalText([]byte(c.Name)); err != nil {
				panic(badProblem)
			}
			x.Muscle, x.Side = string(m.Muscle), string(m.Side)
			x.Got = Tenth(session.Pick(p.Weeks[0].Work, m.Muscle, m.Side).Sum())
		}
		out = append(out, x)
	}
	return out
}

// liftPrefix marks the column of a judged lift.
const liftPrefix = "lift:"

// A rule is something that may be lifted from a problem, under the name it has in
// prices and clashes: by a step, for its price, or wholly (nil where it forbids
// nothing).
type rule struct {
	name string
	lift func(q *Problem)
	free func(q *Problem)
}

// rules lists the rules of a problem, those a coach can change first: minutes, number
// of exercises, caps, needs, locks, rest between days, how often a pattern or a stage
// may stand in a session.
func (p *Problem) rules() []rule {
	days := func(change func(d *Day)) func(q *Problem) {
		return func(q *Problem) {
			for i := range q.Days {
				change(&q.Days[i])
			}
		}
	}
	out := []rule{
		{"minutes +5", days(func(d *Day) { d.Seconds += 300 }), days(func(d *Day) { d.Seconds = mostNumber })},
		{"exercises +1", days(func(d *Day) { d.Most++ }), days(func(d *Day) { d.Most = mostOptions })},
	}
	for i, c := range p.Columns {
		if c.Cap > 0 {
			off := func(q *Problem) { q.Columns[i].Cap = 0 }
			out = append(out, rule{"cap " + c.Name, off, off})
		}
	}
	for i, n := range p.Needs {
		off := func(q *Problem) { q.Needs[i].Times = 0 }
		out = append(out, rule{"need " + p.Groups[n.Group].Name, off, off})
	}
	for _, l := range p.Locks {
		off := func(q *Problem) { q.Locks = slices.DeleteFunc(q.Locks, func(x Lock) bool { return x == l }) }
		out = append(out, rule{"lock " + p.exerciseOf(l.Option), off, off})
	}
	if len(p.Near) > 0 {
		out = append(out, rule{"rest", func(q *Problem) { q.Near = nil }, nil})
	}
	groups := func(prefix string, by int) func(q *Problem) {
		return func(q *Problem) {
			for i := range q.Groups {
				if strings.HasPrefix(q.Groups[i].Name, prefix) {
					q.Groups[i].Day += by
				}
			}
		}
	}
	return append(out, rule{"pattern +1", groups("pattern ", 1), groups("pattern ", mostOptions)}, rule{"stage +1", groups("stage ", 1), groups("stage ", mostOptions)})
}

// with returns the problem with rules lifted.
func (p *Problem) with(lifted ...rule) *Problem {
	q := *p
	q.Days, q.Columns, q.Needs, q.Groups, q.Locks = slices.Clone(p.Days), slices.Clone(p.Columns), slices.Clone(p.Needs), slices.Clone(p.Groups), slices.Clone(p.Locks)
	for _, r := range lifted {
		r.lift(&q)
	}
	return &q
}

// Prices asks what lifting each of the rules would bring, at most ten of them, by a
// new search from the answer. What is found is a least: a longer search may find
// more.
func Prices(p *Problem, answer Answer) []Price {
	out := []Price{}
	list := p.rules()
	for _, r := range list[:min(len(list), mostPrices)] {
		q := p.with(r)
		base := q.Fill(answer.Choices).Value()
		a := Search(q, answer.Choices, priceMoves, answer.Seed)
		out = append(out, Price{r.name, points(max(a.Value-base, 0))})
	}
	slices.SortStableFunc(out, func(a, b Price) int { return cmp.Compare(b.Gain, a.Gain) })
	return out
}

// Bounds of prices (our judgement; key judgement).
const (
	mostPrices = 10
	priceMoves = 300_000
)
