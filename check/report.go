package check

import (
	"fmt"
	"slices"
	"strings"

	"corbel/client"
	"corbel/effort"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// A Report is what a check found. Its JSON form is documented in
// docs/json/check.md. Numbers are rounded to thousandths.
type Report struct {
	Form     int             `json:"form"`
	Block    string          `json:"block"`
	Client   string          `json:"client"`
	Revision int             `json:"revision"`
	On       string          `json:"on"`              // day as of which answers were judged
	Draws    int             `json:"draws"`           // draws behind ranges and shares of draws
	Computed []string        `json:"computed_shares"` // exercises for which shares of this body count
	Sessions []SessionReport `json:"sessions"`
	Weeks    []WeekReport    `json:"weeks"`
	Problems []Problem       `json:"problems"`
}

// Check applies every rule to a block. The report is the same for the same
// input, to the byte.
func Check(in Input) *Report { return Run(in).Report }

// A Checked block keeps what was worked out for its report, so that an edit is
// checked again quickly.
type Checked struct {
	Report *Report
	rules  *rules
}

// Run is Check for a block that is going to be edited.
func Run(in Input) *Checked {
	r := newRules(in)
	r.apply()
	return r.checked()
}

// Recheck applies every rule to an edited version of a block: sessions that did
// not change keep what was worked out for them. The report is that of Check
// without draws, its problems without ways out.
func Recheck(before *Checked, edited *plan.Block) *Checked {
	old := before.rules
	r := &rules{in: old.in, lang: old.lang, day: old.day, athlete: old.athlete,
		reasons: map[place][]ReasonResult{}, links: map[string][]Link{}}
	r.in.Block, r.in.Draws = edited, 0
	if r.in.On.IsZero() {
		r.day = edited.Start
	}
	if edited.Start != old.in.Block.Start || edited.Weeks != old.in.Block.Weeks { // other weeks: nothing to keep
		r.athlete = r.in.athlete(edited.Start)
		r.weeks = r.athlete.Block(edited, session.Options{Week: r.in.Week})
	} else {
		for _, w := range old.weeks {
			r.weeks = append(r.weeks, r.athlete.Trial(w, r.weeks, old.in.Block, edited, session.Try{}))
		}
	}
	for _, w := range r.weeks {
		for _, v := range w.Visits {
			v.Sets = withoutBands(v.Sets)
		}
	}
	r.apply()
	return r.checked()
}

// withoutBands returns sets without the bands that draws gave them.
func withoutBands(sets []session.SetVisit) []session.SetVisit {
	drawn := func(s session.SetVisit) bool { return s.Band != (effort.Band{}) }
	if !slices.ContainsFunc(sets, drawn) {
		return sets
	}
	sets = slices.Clone(sets)
	for i := range sets {
		sets[i].Band = effort.Band{}
	}
	return sets
}

func (r *rules) checked() *Checked {
	in := r.in
	return &Checked{rules: r, Report: &Report{
		Form: form.Version, Block: string(in.Block.ID), Client: string(in.Client.ID),
		Revision: in.Block.Revision, On: in.day().String(), Draws: in.Draws, Computed: r.computed(),
		Sessions: r.sessionReports(), Weeks: r.weekReports(), Problems: r.problems(),
	}}
}

// problems joins what the rules found with safety and places, worst first.
func (r *rules) problems() []Problem {
	keep(r.out, r.in.kept(), r.in.day())
	out := append([]Problem{}, Safety(r.in)...)
	places := Places(r.in)
	for i := range places {
		r.giveFixes(&places[i], r.otherPlaces(places[i])...)
	}
	out = append(out, places...)
	for i := range out { // a way out that does not fit this block is none
		out[i].Fixes = slices.DeleteFunc(out[i].Fixes, func(f Fix) bool { return !r.fits(&out[i], f) })
	}
	out = append(out, r.out...)
	order(out)
	return out
}

// fits says whether a way out that was offered untried can be applied and leaves
// nothing of its problem: with the slot the problem goes, else it is looked for
// again.
func (r *rules) fits(p *Problem, f Fix) bool {
	b := r.in.Block.Clone()
	if f.apply == nil || !f.apply(b) {
		return false
	}
	if _, slot := b.SlotByID(form.ID(p.At.Slot)); slot == nil {
		return true
	}
	in := r.in
	in.Block = b
	return !slices.ContainsFunc(Safety(in), func(q Problem) bool { return q.same(p) })
}

// otherPlaces are the ways out of a place the client does not have: each of
// those they have, written where the unknown one stands.
func (r *rules) otherPlaces(p Problem) []candidate {
	var out []candidate
	unknown, where := form.ID(p.Args["about"]), form.ID(p.At.Session)
	for _, place := range r.in.Client.Places {
		out = append(out, candidate{text: fmt.Sprintf(r.pick("move it to %s", "nach %s verlegen"), place.Name), apply: func(b *plan.Block) bool {
			for i := range b.Sessions {
				if s := &b.Sessions[i]; s.ID == where && s.Place == unknown {
					s.Place = place.ID
				}
			}
			for i := range b.Changes {
				if b.Changes[i].Place == unknown {
					b.Changes[i].Place = place.ID
				}
			}
			return true
		}})
	}
	return out
}

// Apply returns a copy of the block with one way out applied and the revision
// raised. The error says where the way out cannot be found: another revision, or
// another input than the one it was offered for.
func Apply(in Input, fix string) (*plan.Block, error) {
	report := Check(in)
	for _, p := range report.Problems {
		for _, f := range p.Fixes {
			if FixName(in.Block, f) != fix {
				continue
			}
			b := in.Block.Clone()
			if f.apply == nil || !f.apply(b) {
				return nil, fmt.Errorf("the way out %s cannot be applied by the program; edit the block by hand", fix)
			}
			b.Revision++
			return b, nil
		}
	}
	revision, _, ok := strings.Cut(fix, ":")
	switch {
	case !ok:
		return nil, fmt.Errorf("%q does not name a way out; check prints them as revision:problem.number, such as %d:3fa2b1c0.1", fix, in.Block.Revision)
	case revision != fmt.Sprint(in.Block.Revision):
		return nil, fmt.Errorf("the way out %s was offered for revision %s and the block is at revision %d; check it again", fix, revision, in.Block.Revision)
	}
	return nil, fmt.Errorf("there is no way out %s at revision %d; check prints those there are", fix, in.Block.Revision)
}

// FixName is the name a way out is applied by: the block's revision, a colon and
// its id, so that one offered for another revision is refused.
func FixName(b *plan.Block, f Fix) string { return fmt.Sprintf("%d:%s", b.Revision, f.ID) }

// Blocked says whether a stop stands that nobody has kept.
func (r *Report) Blocked() bool {
	for _, p := range r.Problems {
		if p.Blocks() {
			return true
		}
	}
	return false
}

// Count returns how many problems of a severity stand that nobody has kept.
func (r *Report) Count(s Severity) int {
	n := 0
	for _, p := range r.Problems {
		if p.Severity == s && p.Kept == "" {
			n++
		}
	}
	return n
}

// Open is what is still to be asked of a client before they train.
type Open struct {
	Clearance []client.ClearanceQuestion // screening questions without an answer
	Groups    []OpenGroup                // safety questions without an answer
	Waiting   []client.Answered          // answers of yes that wait for a practitioner's word
}

// An OpenGroup is a group of questions with those that are open.
type OpenGroup struct {
	Group     client.Group
	Questions []*client.Question
}

// Empty says whether nothing is open.
func (o Open) Empty() bool { return len(o.Clearance)+len(o.Groups)+len(o.Waiting) == 0 }

// Ask lists what is open on day.
func Ask(c *client.Client, day form.Date) Open {
	var o Open
	o.Clearance = c.Clearance.Open()
	open := client.OpenQuestions(c.Flags, c.Born, day)
	for _, g := range client.Asking.Groups {
		og := OpenGroup{Group: g}
		for _, q := range open {
			if q.Group == g.ID {
				og.Questions = append(og.Questions, q)
			}
		}
		if len(og.Questions) > 0 {
			o.Groups = append(o.Groups, og)
		}
	}
	for _, a := range client.Answers(c.Flags, c.Born, day) {
		if a.Answer == client.Yes && !a.Lifted(day) {
			o.Waiting = append(o.Waiting, a)
		}
	}
	return o
}
