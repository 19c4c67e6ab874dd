// Package client says who trains: facts, measures over time, lifts, places and
// what stands in them, wishes, answers to the safety questions, restrictions,
// pain, limits and findings. In goes a client file, out comes a Client.
//
// It knows exercises only by id, and it judges nothing: package check does.
package client

import (
	"corbel/anatomy"
	"corbel/form"
	"corbel/unit"
)

// A Client is one person as the coach knows them. The file form is described
// in docs/form.md.
type Client struct {
	Form       int            `form:"form,required" doc:"version of the form, 1"`
	ID         form.ID        `form:"id,required" doc:"given once, never changed or reused"`
	Name       string         `form:"name,required" doc:"as it stands on the sheet"`
	Language   form.Language  `form:"language,required" doc:"language of sheet and phone"`
	Units      Units          `form:"units" doc:"units in which loads and lengths are shown; kg and cm if left out"`
	Zone       string         `form:"zone" doc:"time zone of the IANA database, such as Europe/Vienna"`
	Sex        Sex            `form:"sex" doc:"used for strength norms only"`
	Born       form.Date      `form:"born" doc:"date of birth"`
	Experience Experience     `form:"experience" doc:"experience with loaded training"`
	Background Background     `form:"background" doc:"what they have trained most; moves the repetition curve of the legs"`
	Measures   []Measure      `form:"measures" doc:"height, body mass and segment lengths, each with its date"`
	Lifts      []Lift         `form:"lifts" doc:"sets that show what they can lift, each with its date"`
	Places     []Place        `form:"places" doc:"where they train and what stands there"`
	Days       []Day          `form:"days" doc:"which days they can train, how long and where"`
	Goals      []Goal         `form:"goals" doc:"what the training is for, with weights"`
	Aims       []Aim          `form:"aims" doc:"weekly bands of hard sets for a muscle or of lift sets for a lift"`
	Wishes     Wishes         `form:"wishes" doc:"what a proposed block is to be like"`
	Clearance  Clearance      `form:"clearance" doc:"the three questions before training, and the intensity wanted"`
	Flags      []Flag         `form:"flags" doc:"answers to the safety questions; a question not asked is not cleared"`
	Restrict   []Restriction  `form:"restrictions" doc:"what somebody has ruled out"`
	Pain       []Pain         `form:"pain" doc:"where it hurts or hurt, how much, and since when"`
	Limits     []Limit        `form:"limits" doc:"what holds the client back: muscle, side, how much weaker"`
	Findings   []Finding      `form:"findings" doc:"what was seen or measured"`
	Kept       []Kept         `form:"kept" doc:"problems the coach decided to live with, and why"`
	Shares     []ShareByCoach `form:"shares" doc:"shares of muscles set by hand for this client"`
	Consent    []Consent      `form:"consent" doc:"what the client agreed to, and when"`
	Note       string         `form:"note" doc:"a note to the client; it is printed"`
	Private    string         `form:"private" doc:"for the coach alone; in no sheet and no export"`
}

// Units are the units in which things are shown.
type Units struct {
	Load   unit.MassUnit   `form:"load" doc:"kg or lb"`
	Length unit.LengthUnit `form:"length" doc:"cm or in"`
}

// Sex chooses the strength norms.
type Sex string

// Values lists the choices; between takes the mean of both norms.
func (Sex) Values() []string { return []string{"female", "male", "between"} }

// Experience with loaded training.
type Experience string

// Levels of experience.
const (
	Beginner Experience = "beginner"
	Some     Experience = "some"
	Trained  Experience = "trained"
)

// Values lists the levels.
func (Experience) Values() []string {
	return []string{string(Beginner), string(Some), string(Trained)}
}

// Background is what a client has trained most.
type Background string

// Backgrounds.
const (
	Endurance Background = "endurance"
	Strength  Background = "strength"
	General   Background = "general"
)

// Values lists the backgrounds.
func (Background) Values() []string {
	return []string{string(Endurance), string(Strength), string(General)}
}

// A Measure is what was measured of the body on one day.
type Measure struct {
	On       form.Date   `form:"on,required" doc:"day of the measure"`
	Height   unit.Length `form:"height" doc:"standing height, without shoes"`
	Mass     unit.Mass   `form:"mass" doc:"body mass"`
	Segments Segments    `form:"segments" doc:"lengths of limbs, where measured"`
	By       string      `form:"by" doc:"who measured"`
}

// Segments are measured lengths; those left out are scaled from height.
type Segments struct {
	Thigh    unit.Length `form:"thigh" doc:"hip joint to knee joint"`
	Shank    unit.Length `form:"shank" doc:"knee joint to ankle joint"`
	Foot     unit.Length `form:"foot" doc:"heel to longest toe"`
	Trunk    unit.Length `form:"trunk" doc:"hip joint to shoulder joint"`
	UpperArm unit.Length `form:"upper-arm" doc:"shoulder joint to elbow joint"`
	Forearm  unit.Length `form:"forearm" doc:"elbow joint to wrist joint"`
}

// A Lift is a set that shows what the client can lift.
type Lift struct {
	On       form.Date     `form:"on,required" doc:"day of the set"`
	Exercise string        `form:"exercise,required" doc:"exercise, by id, name or abbreviation"`
	Load     unit.Mass     `form:"load" doc:"external load; left out for body weight"`
	PerHand  bool          `form:"per-hand" doc:"true where the load is in each hand"`
	Reps     int           `form:"reps,required" doc:"repetitions done"`
	RIR      *float64      `form:"rir" doc:"repetitions in reserve; 0 means none was left"`
	Side     anatomy.Side  `form:"side" doc:"side, where one was tested"`
	Typical  *unit.Percent `form:"error" doc:"typical error of the load, where known"`
}

// A Goal is one thing the training is for.
type Goal struct {
	For      GoalKind           `form:"for,required" doc:"what kind of goal"`
	Exercise string             `form:"exercise" doc:"the lift, where the goal is strength in a lift"`
	Muscle   anatomy.MuscleSide `form:"muscle" doc:"the muscle, where the goal is size"`
	Weight   int                `form:"weight" doc:"how much it counts, 1 to 10; 5 if left out"`
	Text     string             `form:"text" doc:"in the client's words"`
}

// GoalKind is the kind of a goal.
type GoalKind string

// Values lists the kinds of goals.
func (GoalKind) Values() []string {
	return []string{"strength", "size", "general strength", "return"}
}

// An Aim is a weekly band: hard sets for a muscle or lift sets for a lift.
type Aim struct {
	Muscle   anatomy.MuscleSide `form:"muscle" doc:"muscle, with its side where sides differ"`
	Exercise string             `form:"lift" doc:"a lift the client is judged by"`
	Sets     Band               `form:"sets,required" doc:"lowest and highest number of sets a week"`
	Cap      *float64           `form:"cap" doc:"most sets a week a limited muscle may get"`
}

// A Limit is what is thought to hold the client back.
type Limit struct {
	Muscle   anatomy.MuscleSide `form:"muscle,required" doc:"muscle and side"`
	Weakness unit.Percent       `form:"weakness,required" doc:"how much weaker than the rest of the body implies"`
	SD       *unit.Percent      `form:"sd" doc:"standard deviation of the weakness"`
	By       LimitSource        `form:"by,required" doc:"coach or computed"`
	On       form.Date          `form:"on" doc:"day it was set"`
	Why      string             `form:"why" doc:"what it rests on"`
}

// LimitSource says who set a limit.
type LimitSource string

// Values lists the sources.
func (LimitSource) Values() []string { return []string{"coach", "computed"} }

// Kept records a problem the coach decided to live with.
type Kept struct {
	Code  string    `form:"code,required" doc:"code of the problem, as check prints it"`
	Scope KeptScope `form:"scope,required" doc:"how far the decision reaches"`
	At    string    `form:"at" doc:"id of the slot, for scope slot"`
	About string    `form:"about" doc:"id of the question, restriction or place the problem names"`
	Why   string    `form:"why,required" doc:"the coach's sentence"`
	By    string    `form:"by,required" doc:"who decided"`
	On    form.Date `form:"on,required" doc:"day of the decision"`
	Until form.Date `form:"until" doc:"last day it holds; without it, for good"`
}

// KeptScope is how far a decision to keep a problem reaches.
type KeptScope string

// Scopes of a kept problem.
const (
	KeptSlot     KeptScope = "slot"
	KeptClient   KeptScope = "client"
	KeptPractice KeptScope = "practice"
)

// Values lists the scopes.
func (KeptScope) Values() []string {
	return []string{string(KeptSlot), string(KeptClient), string(KeptPractice)}
}

// Holds says whether the decision holds on day.
func (k Kept) Holds(day form.Date) bool {
	return !day.Before(k.On) && (k.Until.IsZero() || !k.Until.Before(day))
}

// MassOn returns the last body mass measured on or before day, or false.
func (c *Client) MassOn(day form.Date) (unit.Mass, bool) {
	var best Measure
	found := false
	for _, m := range c.Measures {
		if !m.Mass.IsZero() && !day.Before(m.On) && (!found || best.On.Before(m.On)) {
			best, found = m, true
		}
	}
	return best.Mass, found
}

// PlaceByID returns the place with that id, or nil.
func (c *Client) PlaceByID(id form.ID) *Place {
	for i := range c.Places {
		if c.Places[i].ID == id {
			return &c.Places[i]
		}
	}
	return nil
}
