package plan

import (
	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/unit"
	"fmt"
	"strconv"
	"strings"
)

// A Block is weeks of sessions for one client or one group. The file form is
// described in docs/form.md.
type Block struct {
	Form     int           `form:"form,required" doc:"version of the form, 1"`
	ID       form.ID       `form:"id,required" doc:"given once, never changed or reused"`
	Name     string        `form:"name,required" doc:"as it stands on the sheet"`
	Client   string        `form:"client" doc:"client file, named relative to this file; this or group"`
	Group    string        `form:"group" doc:"group file, named relative to this file, for a block many members follow"`
	Start    form.Date     `form:"start,required" doc:"Monday of the first week"`
	Weeks    int           `form:"weeks,required" doc:"number of weeks, 1 to 12"`
	State    State         `form:"state,required" doc:"draft, handed over, running or closed"`
	Revision int           `form:"revision,required" doc:"rises with every change; logs name it"`
	MadeWith MadeWith      `form:"made_with" doc:"versions of program, library and model it was written with"`
	For      string        `form:"for" doc:"what the block is for, in the client's words"`
	Deload   *Deload       `form:"deload" doc:"an easier week"`
	Sessions []Session     `form:"sessions,required" doc:"the sessions of a week, in order"`
	Changes  []Change      `form:"changes" doc:"changes in mid-block, laid over what is written"`
	Kept     []client.Kept `form:"kept" doc:"problems the coach decided to live with, and why"`
	Note     string        `form:"note" doc:"a note to the client; it is printed"`
	Private  string        `form:"private" doc:"for the coach alone; in no sheet and no export"`
}

// State of a block.
type State string

// States in order.
const (
	Draft      State = "draft"
	HandedOver State = "handed over"
	Running    State = "running"
	Closed     State = "closed"
)

// Values lists the states in order.
func (State) Values() []string {
	return []string{string(Draft), string(HandedOver), string(Running), string(Closed)}
}

// MadeWith records what a block was written with.
type MadeWith struct {
	Program string `form:"program" doc:"version of the program"`
	Library string `form:"library" doc:"version of the exercise library"`
	Model   string `form:"model" doc:"version of the computations"`
}

// A Deload is a week with less: fewer sets, lower loads, more in reserve.
type Deload struct {
	Week    int          `form:"week,required" doc:"which week"`
	Sets    unit.Percent `form:"sets" doc:"share of the sets kept, rounded up"`
	Load    unit.Percent `form:"load" doc:"share of the load kept"`
	Reserve int          `form:"reserve" doc:"repetitions in reserve added"`
}

// A Session is one visit, repeated every week of the block.
type Session struct {
	ID      form.ID        `form:"id,required" doc:"given once, independent of name and order"`
	Name    string         `form:"name,required" doc:"as it stands on the sheet"`
	Day     client.Weekday `form:"day,required" doc:"day of the week"`
	Place   form.ID        `form:"place,required" doc:"id of a place of the client"`
	At      TimeOfDay      `form:"at" doc:"time of day it starts, such as 18:00, for the calendar"`
	Minutes int            `form:"minutes" doc:"time there is; the client's minutes of that day if left out"`
	Note    string         `form:"note" doc:"a note to the client; it is printed"`
	Slots   []Slot         `form:"slots,required" doc:"exercises in order"`
}

// A Slot is an exercise in a session. Its id stays when it is moved, when the
// session is renamed and when the exercise is swapped.
type Slot struct {
	ID       form.ID               `form:"id,required" doc:"given once in a block, never reused"`
	Exercise string                `form:"exercise,required" doc:"exercise, by id, name or abbreviation"`
	Stage    Stage                 `form:"stage" doc:"place in the session; the exercise's usual one if left out"`
	Side     anatomy.Side          `form:"side" doc:"left or right where only one side works"`
	Dose     Dose                  `form:"dose,required" doc:"dose of week 1"`
	Weeks    map[int]Dose          `form:"weeks" doc:"doses of later weeks that are written out"`
	Progress Progress              `form:"progress" doc:"rule for the weeks not written out"`
	Rest     unit.Duration         `form:"rest" doc:"rest after each set"`
	Tempo    string                `form:"tempo" doc:"three or four figures with their order"`
	Measure  string                `form:"measure" doc:"what the client writes down"`
	Superset string                `form:"superset" doc:"a letter; slots of a session with the same letter are done in turn"`
	Range    *client.Range         `form:"range" doc:"joint range the client is told to stay in"`
	Reasons  []Reason              `form:"reasons" doc:"why it is there"`
	Lock     bool                  `form:"lock" doc:"true keeps the slot as it is when the program proposes"`
	Link     string                `form:"link" doc:"a tutorial for the client, starting with https:// or http://"`
	Note     string                `form:"note" doc:"a note to the client; it is printed"`
	Private  string                `form:"private" doc:"for the coach alone; in no sheet and no export"`
	Shares   []client.ShareByCoach `form:"shares" doc:"shares of muscles set by hand for this slot"`
	Was      []Was                 `form:"was" doc:"exercises that stood here in earlier revisions"`
}

// Stage is the place of an exercise in a session; package exercise lists them
// too, a test holds the lists equal.
type Stage string

// Values lists the stages in the order of a session.
func (Stage) Values() []string {
	return []string{"drill", "main", "accessory", "isolation", "finisher"}
}

// Was records the exercise of a slot up to a revision.
type Was struct {
	Exercise string `form:"exercise,required" doc:"exercise that stood here"`
	To       int    `form:"to_revision,required" doc:"last revision it stood here"`
}

// A Reason says why an exercise is there. Exactly one of the first six is
// given; for goes with spare, because with any.
type Reason struct {
	Test     *anatomy.MuscleSide `form:"test" doc:"a suspected limit it shows"`
	Prepare  form.ID             `form:"prepare" doc:"slot of a later exercise it gets going"`
	Practise string              `form:"practise" doc:"lift the client is judged by"`
	Load     *anatomy.MuscleSide `form:"load" doc:"muscle it builds"`
	Spare    *anatomy.MuscleSide `form:"spare" doc:"muscle it has already worked for a later exercise"`
	For      form.ID             `form:"for" doc:"slot of the later exercise, for spare"`
	Restore  anatomy.Region      `form:"restore" doc:"region whose range or ease it restores"`
	Because  string              `form:"because" doc:"in the client's words"`
}

// A Change is laid over the written block from a day on; the block stays.
type Change struct {
	ID       form.ID     `form:"id,required" doc:"given once"`
	On       form.Date   `form:"on,required" doc:"first day it holds"`
	Until    form.Date   `form:"until" doc:"last day it holds; without it, to the end of the block"`
	By       string      `form:"by,required" doc:"who made it"`
	Why      string      `form:"why,required" doc:"the reason"`
	Scope    ChangeScope `form:"scope,required" doc:"how far it reaches"`
	Session  form.ID     `form:"session" doc:"session, for scope session"`
	Slot     form.ID     `form:"slot" doc:"slot, for scope slot"`
	Week     int         `form:"week" doc:"week, for scope week"`
	Do       ChangeKind  `form:"do,required" doc:"what is done"`
	Exercise string      `form:"exercise" doc:"the new exercise, for swap"`
	Dose     Dose        `form:"dose" doc:"the new dose, for swap and dose"`
	Place    form.ID     `form:"place" doc:"the new place, for place"`
}

// ChangeScope is how far a change reaches.
type ChangeScope string

// Values lists the scopes: a slot, a session, a week, or everything from a day.
func (ChangeScope) Values() []string { return []string{"slot", "session", "week", "from"} }

// ChangeKind is what a change does.
type ChangeKind string

// Values lists the kinds of changes.
func (ChangeKind) Values() []string { return []string{"swap", "dose", "skip", "pause", "place"} }

// Date returns the day of a session in a week of the block, from week 1. Start
// is a Monday; the reader holds that.
func (b *Block) Date(s *Session, week int) form.Date {
	return b.Start.Plus(7*(week-1) + max(s.Day.Index(), 0))
}

// End returns the last day of the block.
func (b *Block) End() form.Date { return b.Start.Plus(7*b.Weeks - 1) }

// SlotByID returns a slot with its session, or nils.
func (b *Block) SlotByID(id form.ID) (*Session, *Slot) {
	for i := range b.Sessions {
		for j := range b.Sessions[i].Slots {
			if b.Sessions[i].Slots[j].ID == id {
				return &b.Sessions[i], &b.Sessions[i].Slots[j]
			}
		}
	}
	return nil, nil
}

// ExerciseAt returns the exercise a slot held at a revision.
func (s *Slot) ExerciseAt(revision int) string {
	best, to := s.Exercise, 0
	for _, w := range s.Was {
		if w.To >= revision && (to == 0 || w.To < to) {
			best, to = w.Exercise, w.To
		}
	}
	return best
}

// TimeOfDay is a time of day in hours and minutes, written 18:00. The zero value
// means none was given.
type TimeOfDay struct {
	given        bool
	hour, minute int
}

// UnmarshalText reads 0:00 to 23:59.
func (t *TimeOfDay) UnmarshalText(b []byte) error {
	h, m, ok := strings.Cut(string(b), ":")
	hour, err1 := strconv.Atoi(h)
	minute, err2 := strconv.Atoi(m)
	if !ok || err1 != nil || err2 != nil || len(m) != 2 || len(h) > 2 || hour < 0 || hour > 23 || minute < 0 || minute > 59 {
		return fmt.Errorf("%q is not a time of day; write hours and minutes such as 18:00", b)
	}
	*t = TimeOfDay{true, hour, minute}
	return nil
}

// MarshalText writes the time of day.
func (t TimeOfDay) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// String writes the time of day as 18:00, or nothing for none.
func (t TimeOfDay) String() string {
	if !t.given {
		return ""
	}
	return fmt.Sprintf("%02d:%02d", t.hour, t.minute)
}

// IsZero says whether none was given.
func (t TimeOfDay) IsZero() bool { return !t.given }

// Equal says whether both are the same time, or both none.
func (t TimeOfDay) Equal(u TimeOfDay) bool { return t == u }

// Clock returns hours and minutes.
func (t TimeOfDay) Clock() (hour, minute int) { return t.hour, t.minute }

// FormHint describes times of day for schemas and messages.
func (TimeOfDay) FormHint() (what, pattern string, examples []string) {
	return "a time of day", `^[0-9]{1,2}:[0-5][0-9]$`, []string{"18:00"}
}
