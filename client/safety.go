package client

import (
	_ "embed"
	"fmt"

	"corbel/anatomy"
	"corbel/form"
	"corbel/unit"
)

// An Answer to a question. The zero value means not asked.
type Answer string

// Answers.
const (
	NotAsked Answer = ""
	Yes      Answer = "yes"
	No       Answer = "no"
)

// Values lists what a form may say; "not asked" may be written out.
func (Answer) Values() []string { return []string{string(Yes), string(No), "not asked"} }

// Asked says whether the question was asked.
func (a Answer) Asked() bool { return a == Yes || a == No }

// Clearance holds the answers of the pre-participation screening (ACSM 2015;
// key acsm-2015).
type Clearance struct {
	Active    Asked     `form:"active" doc:"regular exercise now"`
	Disease   Asked     `form:"disease" doc:"known heart, metabolic or kidney disease"`
	Symptoms  Asked     `form:"symptoms" doc:"signs or symptoms of such a disease"`
	Intensity Intensity `form:"intensity" doc:"hardest intensity wanted"`
	Cleared   *Word     `form:"cleared" doc:"a practitioner's word, where one was asked for"`
}

// Asked is an answer with its date and who asked.
type Asked struct {
	Answer Answer    `form:"answer,required" doc:"yes, no or not asked"`
	On     form.Date `form:"on" doc:"day of the answer"`
	By     string    `form:"by" doc:"who asked"`
}

// IsZero says whether nothing was written.
func (a Asked) IsZero() bool { return a == Asked{} }

// Intensity of training by the bands of the screening.
type Intensity string

// Intensities.
const (
	Light    Intensity = "light"
	Moderate Intensity = "moderate"
	Vigorous Intensity = "vigorous"
)

// Values lists the intensities.
func (Intensity) Values() []string {
	return []string{string(Light), string(Moderate), string(Vigorous)}
}

// A Word is what a practitioner said, on record.
type Word struct {
	By     string     `form:"by,required" doc:"name and profession"`
	On     form.Date  `form:"on,required" doc:"day it was given"`
	Says   string     `form:"says,required" doc:"what was said"`
	Until  form.Date  `form:"until" doc:"last day it holds; without it, until further notice"`
	Window PainWindow `form:"pain-window" doc:"for an Achilles tendon: pain allowed by the practitioner"`
	Loads  Intensity  `form:"intensity" doc:"hardest intensity cleared; vigorous if left out"`
}

// PainWindow is a window of pain a practitioner allows during tendon loading.
type PainWindow string

// Values lists the windows: only the one the tendon trials used.
func (PainWindow) Values() []string { return []string{"0-5"} }

// Holds says whether there is a word and it has not run out by day. A word given
// after day counts: it is on record now.
func (w *Word) Holds(day form.Date) bool {
	return w != nil && (w.Until.IsZero() || !w.Until.Before(day))
}

// A Flag is the answer to one safety question, or to all of a group at once.
type Flag struct {
	Ask     string         `form:"ask,required" doc:"id of a question, or of a group answered no as a whole"`
	Answer  Answer         `form:"answer,required" doc:"yes, no or not asked"`
	On      form.Date      `form:"on" doc:"day of the answer"`
	By      string         `form:"by" doc:"who asked"`
	Region  anatomy.Region `form:"region" doc:"which region a yes concerns, for questions about joints"`
	Side    anatomy.Side   `form:"side" doc:"which side"`
	Note    string         `form:"note" doc:"what was said"`
	Cleared *Word          `form:"cleared" doc:"a practitioner's word on this answer"`
}

// A Restriction rules something out. Exactly one of exercise, action and region
// says what; range and load soften it to a bound.
type Restriction struct {
	ID       form.ID           `form:"id,required" doc:"given once, for messages"`
	By       RestrictionSource `form:"by,required" doc:"who gave it; a practitioner's beats every permission"`
	Who      string            `form:"who" doc:"name of who gave it"`
	On       form.Date         `form:"on,required" doc:"day it was given"`
	Until    form.Date         `form:"until" doc:"last day it holds; without it, until further notice"`
	Exercise string            `form:"exercise" doc:"an exercise, by id or name"`
	Action   anatomy.Action    `form:"action" doc:"a joint action under load"`
	Region   anatomy.Region    `form:"region" doc:"a region of the body"`
	Side     anatomy.Side      `form:"side" doc:"which side; both if left out"`
	Range    *Range            `form:"range" doc:"only within this joint angle"`
	Load     unit.Mass         `form:"load" doc:"only up to this load"`
	Why      string            `form:"why" doc:"reason, as given"`
}

// Holds says whether the restriction holds on day.
func (r Restriction) Holds(day form.Date) bool {
	return !day.Before(r.On) && (r.Until.IsZero() || !r.Until.Before(day))
}

// What names what is ruled out, in l; exercise names come from the caller.
func (r Restriction) What(l form.Language, exercise string) string {
	what := exercise
	switch {
	case r.Action != "":
		what = r.Action.In(l)
	case r.Region != "":
		what = r.Region.In(l)
	}
	if r.Side != anatomy.NoSide {
		what += ", " + r.Side.In(l)
	}
	beyond := form.Text{En: "beyond", De: "über"}.In(l)
	if r.Range != nil {
		what += fmt.Sprintf(", %s %s", form.Text{En: "outside", De: "außerhalb"}.In(l), r.Range.In(l))
	}
	if !r.Load.IsZero() {
		what += fmt.Sprintf(", %s %s", beyond, r.Load)
	}
	return what
}

// RestrictionSource says who gave a restriction.
type RestrictionSource string

// Sources of restrictions.
const (
	ByPractitioner RestrictionSource = "practitioner"
	ByCoach        RestrictionSource = "coach"
	ByClient       RestrictionSource = "client"
)

// Values lists the sources.
func (RestrictionSource) Values() []string {
	return []string{string(ByPractitioner), string(ByCoach), string(ByClient)}
}

// Pain is where it hurts, how much, and what goes with it. Levels run from 0 to
// 10.
type Pain struct {
	Place    anatomy.Place `form:"place,required" doc:"where, from the closed list"`
	Side     anatomy.Side  `form:"side" doc:"which side, where the place has two"`
	On       form.Date     `form:"on,required" doc:"day of the report"`
	During   *float64      `form:"during" doc:"during the work, 0 to 10"`
	Morning  *float64      `form:"morning" doc:"the next morning, 0 to 10"`
	Worse    bool          `form:"worse" doc:"worse the next morning than before the session"`
	Features []PainFeature `form:"features" doc:"what goes with it"`
	Until    form.Date     `form:"settled" doc:"day it had settled"`
	Note     string        `form:"note" doc:"in the client's words"`
	Word     *Word         `form:"word" doc:"a practitioner's word on it"`
}

// PainFeature is a feature of pain that stops the work.
type PainFeature string

// Values lists the features.
func (PainFeature) Values() []string {
	return []string{"sharp", "spreading", "swelling", "giving way"}
}

// In returns the word for a feature in a language.
func (f PainFeature) In(l form.Language) string {
	return map[PainFeature]form.Text{
		"sharp": {En: "sharp", De: "stechend"}, "spreading": {En: "spreading", De: "ausstrahlend"},
		"swelling": {En: "with swelling", De: "mit Schwellung"}, "giving way": {En: "with giving way", De: "mit Nachgeben"},
	}[f].In(l)
}

// IsWorse says whether the next morning was worse: said so, or a higher number
// than during the work.
func (p Pain) IsWorse() bool {
	return p.Worse || p.Morning != nil && p.During != nil && *p.Morning > *p.During
}

// Level returns the highest level reported, 0 to 10, and whether one was.
func (p Pain) Level() (float64, bool) {
	level, ok := 0.0, false
	for _, x := range []*float64{p.During, p.Morning} {
		if x != nil {
			level, ok = max(level, *x), true
		}
	}
	return level, ok
}
