package client

import (
	"corbel/anatomy"
	"corbel/form"
)

// Answered is a question with the answer that holds for it.
type Answered struct {
	Question *Question
	Answer   Answer // empty: not asked
	On       form.Date
	Region   anatomy.Region // what a yes concerns
	Side     anatomy.Side
	Cleared  *Word
	Other    bool // a yes, at an age at which the question is no flag; Answer is then no
}

// Lifted says whether a practitioner's word on record lifts a yes on day. An
// emergency sign is lifted only by a word that is no older than the answer: a
// word given before the sign did not know of it (S6).
func (a Answered) Lifted(day form.Date) bool {
	if !a.Cleared.Holds(day) {
		return false
	}
	return a.Question.Kind != Emergency || !a.Cleared.On.Before(a.On)
}

// adultAge is the age below which a practitioner is asked first (safety list
// 4; key safety-4).
const adultAge = 18

// Ages of the red flag for new severe back pain (Verhagen 2016 and national
// lists; key safety-3): under 20 or over 55.
const (
	flagYoung = 20
	flagOld   = 55
)

// Answers returns every question that applies, in the order they are asked,
// with the answer that holds: an answer to the question itself beats one to its
// group, but two answers of no count from the newer; a question with an age is
// answered from the date of birth; questions for pregnancy apply after a yes to
// it, and a yes to one of them always counts. A question answered for several
// joints comes once for each (S5).
func Answers(flags []Flag, born, day form.Date) []Answered {
	var out []Answered
	for i := range Asking.Questions {
		q := &Asking.Questions[i]
		if q.OnlyIf != "" && !saidYes(flags, q.OnlyIf) && !saidYes(flags, string(q.ID)) {
			continue
		}
		if q.From == "born" {
			out = append(out, fromBirth(q, flags, born, day))
			continue
		}
		out = append(out, answersTo(q, flags, born, day)...)
	}
	return out
}

// saidYes says whether a question was answered yes.
func saidYes(flags []Flag, id string) bool {
	for _, f := range flags {
		if f.Ask == id && f.Answer == Yes {
			return true
		}
	}
	return false
}

// fromBirth answers a question about age from the date of birth. Without one, or
// where a yes contradicts it, the answer given counts; a yes given at an age at
// which it was true has been outgrown.
func fromBirth(q *Question, flags []Flag, born, day form.Date) Answered {
	a := Answered{Question: q}
	if !born.IsZero() {
		a.Answer = No
		if day.Years(born) < adultAge {
			a.Answer = Yes
		}
	}
	for _, f := range flags {
		if f.Ask == string(q.ID) {
			a.Cleared = f.Cleared
			outgrown := !born.IsZero() && !f.On.IsZero() && f.On.Years(born) < adultAge
			if !a.Answer.Asked() || f.Answer == Yes && !outgrown {
				a.Answer, a.On = f.Answer, f.On
			}
		}
	}
	return a
}

// answersTo returns the answers given to one question, or the answer of its
// group, or one that says not asked.
func answersTo(q *Question, flags []Flag, born, day form.Date) []Answered {
	var out []Answered
	group := Answered{Question: q}
	for _, f := range flags {
		switch f.Ask {
		case string(q.ID):
			out = append(out, Answered{Question: q, Answer: f.Answer, On: f.On, Region: regionOf(q, f), Side: f.Side, Cleared: f.Cleared})
		case string(q.Group):
			if f.Answer.Asked() {
				group.Answer, group.On = f.Answer, f.On
			}
		}
	}
	if len(out) == 0 {
		out = append(out, group)
	}
	for i := range out {
		if out[i].Answer == No && group.Answer == No && out[i].On.Before(group.On) {
			out[i].On = group.On // asked again with its group
		}
		if q.Ages != "" && out[i].Answer == Yes && !born.IsZero() {
			if age := day.Years(born); age >= flagYoung && age <= flagOld {
				out[i].Answer, out[i].Other = No, true // the pain rules still hold
			}
		}
	}
	return out
}

// regionOf returns the region a yes concerns.
func regionOf(q *Question, f Flag) anatomy.Region {
	if q.Region == askedRegion {
		return f.Region
	}
	return anatomy.Region(q.Region)
}

// OpenQuestions lists the questions that apply and have no answer.
func OpenQuestions(flags []Flag, born, day form.Date) []*Question {
	var out []*Question
	for _, a := range Answers(flags, born, day) {
		if !a.Answer.Asked() {
			out = append(out, a.Question)
		}
	}
	return out
}

// Open lists the questions of the screening that have no answer.
func (c Clearance) Open() []ClearanceQuestion {
	asked := map[form.ID]bool{
		"active": c.Active.Answer.Asked(), "disease": c.Disease.Answer.Asked(),
		"symptoms": c.Symptoms.Answer.Asked(), "intensity": c.Intensity != "",
	}
	var open []ClearanceQuestion
	for _, q := range Asking.Clearance {
		if !asked[q.ID] {
			open = append(open, q)
		}
	}
	return open
}
