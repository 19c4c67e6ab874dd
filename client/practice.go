package client

import (
	"fmt"

	"corbel/anatomy"
	"corbel/form"
)

// A Practice is what holds for all clients of a coach: shares set by hand,
// problems kept for all, and how a client comes back after a pause.
type Practice struct {
	Form      int            `form:"form,required" doc:"version of the form, 1"`
	ID        form.ID        `form:"practice,required" doc:"id of the practice"`
	Name      string         `form:"name" doc:"as it stands on sheets"`
	Shares    []ShareByCoach `form:"shares" doc:"shares of muscles set by hand for all clients"`
	Kept      []Kept         `form:"kept" doc:"problems kept for all clients, and why"`
	Retention *Retention     `form:"retention" doc:"how long clients are kept after the last that happened with them; for good if left out"`
	Return    *ReturnRule    `form:"return" doc:"how a client comes back after a pause; under 8 days as written and up to 21 days a step lighter if left out"`
}

// ShareByCoach is a share of a muscle set by hand.
type ShareByCoach struct {
	Exercise string         `form:"exercise" doc:"exercise, by id or name; in a slot it is left out"`
	Muscle   anatomy.Muscle `form:"muscle,required" doc:"muscle group"`
	Share    float64        `form:"share,required" doc:"its part in the exercise, 0 to 1"`
	By       string         `form:"by,required" doc:"who set it"`
	Why      string         `form:"why,required" doc:"what it rests on"`
	Until    form.Date      `form:"until" doc:"last day it holds; without it, for good"`
}

// Holds says whether the share holds on day.
func (s ShareByCoach) Holds(day form.Date) bool {
	return s.Until.IsZero() || !s.Until.Before(day)
}

// ReturnRule says how a client comes back after a pause (our judgement; key
// judgement).
type ReturnRule struct {
	AsWritten int `form:"as_written_days,required" doc:"pauses under this many days change nothing"`
	Lighter   int `form:"lighter_days,required" doc:"pauses up to this many days: the first week back one step lighter; longer ones ask for a retest"`
}

// DefaultReturn is the rule where the practice has none: under 8 days as
// written, 8 to 21 days one step lighter, longer: retest (our judgement).
var DefaultReturn = ReturnRule{AsWritten: 8, Lighter: 21}

// ReadPractice reads a practice file. The error is a *form.Refusal.
func ReadPractice(file string, src []byte, names Namer) (*Practice, error) {
	d, err := form.Open(file, src)
	if err != nil {
		return nil, err
	}
	p := &Practice{}
	d.Fill("a practice", p)
	if d.Err() == nil {
		CheckShares(d, "shares", p.Shares, names)
		for i, s := range p.Shares {
			if s.Exercise == "" {
				d.Refuse(fmt.Sprintf("shares[%d]", i), "missing-field", "a share of a practice names its exercise")
			}
		}
		if r := p.Retention; r != nil && (r.Months < 1 || r.Months > mostMonths) {
			d.Refuse("retention.months", "out-of-range", "%d months: write 1 to %d", r.Months, mostMonths)
		}
		if r := p.Return; r != nil && (r.AsWritten < 1 || r.Lighter < r.AsWritten || r.Lighter > 365) {
			d.Refuse("return", "out-of-range", "write as_written_days from 1 and lighter_days no less, up to 365")
		}
	}
	if err := d.Err(); err != nil {
		return nil, err
	}
	return p, nil
}

// CheckShares refuses shares outside 0 to 1 and unknown exercises.
func CheckShares(d *form.Doc, path string, list []ShareByCoach, names Namer) {
	for i := range list {
		at := fmt.Sprintf("%s[%d]", path, i)
		Resolve(d, at+".exercise", &list[i].Exercise, names)
		if s := list[i].Share; !(s >= 0 && s <= 1) {
			d.Refuse(at+".share", "out-of-range", "a share of %g: write 0 to 1", s)
		}
	}
}
