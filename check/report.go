package check

import (
	"corbel/client"
	"corbel/form"
)

// A Report is what a check found. Its JSON form is documented in
// docs/json/check.md.
type Report struct {
	Form     int       `json:"form"`
	Block    string    `json:"block"`
	Client   string    `json:"client"`
	Revision int       `json:"revision"`
	On       string    `json:"on"` // day as of which answers were judged
	Problems []Problem `json:"problems"`
}

// Check applies every rule to a block. The report is the same for the same
// input, to the byte.
func Check(in Input) *Report {
	r := &Report{
		Form: form.Version, Block: string(in.Block.ID), Client: string(in.Client.ID),
		Revision: in.Block.Revision, On: in.day().String(), Problems: []Problem{},
	}
	r.Problems = append(r.Problems, Safety(in)...)
	r.Problems = append(r.Problems, Places(in)...)
	order(r.Problems)
	return r
}

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
		if a.Answer == client.Yes && !a.Cleared.Holds(day) {
			o.Waiting = append(o.Waiting, a)
		}
	}
	return o
}
