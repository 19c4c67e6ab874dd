package check

import (
	"fmt"
	"strings"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
)

// A Report is what a check found. Its JSON form is documented in
// docs/json/check.md. Numbers are rounded to thousandths.
type Report struct {
	Form     int             `json:"form"`
	Block    string          `json:"block"`
	Client   string          `json:"client"`
	Revision int             `json:"revision"`
	On       string          `json:"on"`    // day as of which answers were judged
	Draws    int             `json:"draws"` // draws behind ranges and shares of draws
	Sessions []SessionReport `json:"sessions"`
	Weeks    []WeekReport    `json:"weeks"`
	Problems []Problem       `json:"problems"`
}

// Check applies every rule to a block. The report is the same for the same
// input, to the byte.
func Check(in Input) *Report {
	r := newRules(in)
	r.apply()
	return &Report{
		Form: form.Version, Block: string(in.Block.ID), Client: string(in.Client.ID),
		Revision: in.Block.Revision, On: in.day().String(), Draws: in.Draws,
		Sessions: r.sessionReports(), Weeks: r.weekReports(), Problems: r.problems(),
	}
}

// problems joins what the rules found with safety and places, worst first.
func (r *rules) problems() []Problem {
	keep(r.out, r.in.kept(), r.in.day())
	out := append([]Problem{}, Safety(r.in)...)
	out = append(out, Places(r.in)...)
	out = append(out, r.out...)
	order(out)
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
