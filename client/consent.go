package client

import (
	"fmt"

	"corbel/form"
)

// A Consent is what a client agreed to: for what, when, and to whom they said so.
type Consent struct {
	Purpose   Purpose   `form:"purpose,required" doc:"what is agreed to"`
	On        form.Date `form:"on,required" doc:"day it was given"`
	By        string    `form:"by" doc:"who asked"`
	Withdrawn form.Date `form:"withdrawn" doc:"day it was taken back"`
	Note      string    `form:"note" doc:"how it was given, such as by letter, or by whom for a minor"`
}

// Purpose is what data are kept for.
type Purpose string

// Purposes of consent (our judgement; key judgement).
const (
	ForTraining Purpose = "training" // name, measures, blocks and logs
	ForHealth   Purpose = "health"   // answers to the safety questions, pain, findings
	ForVideo    Purpose = "video"    // films and pictures of lifts
	ForContact  Purpose = "contact"  // messages beside the sheets
)

// Values lists the purposes.
func (Purpose) Values() []string {
	return []string{string(ForTraining), string(ForHealth), string(ForVideo), string(ForContact)}
}

// Holds says whether the consent stands on a day.
func (c Consent) Holds(day form.Date) bool {
	return !day.Before(c.On) && (c.Withdrawn.IsZero() || day.Before(c.Withdrawn))
}

// Consents says whether a client agreed to a purpose, as of a day.
func (c *Client) Consents(to Purpose, day form.Date) bool {
	for _, one := range c.Consent {
		if one.Purpose == to && one.Holds(day) {
			return true
		}
	}
	return false
}

// CheckConsent refuses a consent that was taken back before it was given.
func CheckConsent(d *form.Doc, list []Consent) {
	for i, c := range list {
		if !c.Withdrawn.IsZero() && c.Withdrawn.Before(c.On) {
			d.Refuse(fmt.Sprintf("consent[%d].withdrawn", i), "wrong-value", "%s is before %s, when it was given", c.Withdrawn, c.On)
		}
	}
}

// A Retention says how long a client is kept after the last that happened with them.
type Retention struct {
	Months int    `form:"months,required" doc:"months after the last session, change or hand-over, 1 to 240"`
	Why    string `form:"why" doc:"what the time rests on"`
}

// mostMonths bounds the time a client is kept (our judgement; key judgement).
const mostMonths = 240

// Until returns the last day of keeping what last happened on a day.
func (r Retention) Until(last form.Date) form.Date {
	return form.DateOf(last.Time().AddDate(0, r.Months, 0))
}
