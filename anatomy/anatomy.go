// Package anatomy names what training is spoken of in: muscle groups, sides,
// joint actions, regions of the body, and the places where a client may say it
// hurts. The names are data (CSV beside this file), in English and German.
//
// A muscle here is a group as coaches count it; the body model's finer parts
// stand in muscles.csv and are summed into these.
package anatomy

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"

	"corbel/form"
	"corbel/num"
)

var (
	//go:embed muscles.csv
	musclesCSV string
	//go:embed actions.csv
	actionsCSV string
	//go:embed regions.csv
	regionsCSV string
	//go:embed pain-places.csv
	placesCSV string
)

// The closed lists by id.
type (
	Muscle string // a muscle group, such as hip-abductors
	Action string // a joint action that works under load, such as knee-extension
	Region string // a region of the body, such as low-back
	Place  string // where it may hurt, such as knee
)

// A Side is a side of the body, or both, or none told apart.
type Side string

// Sides of the body.
const (
	NoSide Side = ""
	Left   Side = "left"
	Right  Side = "right"
	Both   Side = "both"
)

// Values lists the sides a form may name.
func (Side) Values() []string { return []string{string(Left), string(Right), string(Both)} }

// Other returns the opposite of left or right, else the same side.
func (s Side) Other() Side {
	switch s {
	case Left:
		return Right
	case Right:
		return Left
	}
	return s
}

// Meets says whether work on side s concerns side t: equal sides do, and both
// or an unnamed side meets every side.
func (s Side) Meets(t Side) bool {
	return s == t || s == Both || t == Both || s == NoSide || t == NoSide
}

// In returns the word for the side in l.
func (s Side) In(l form.Language) string {
	words := map[Side]form.Text{
		Left: {En: "left", De: "links"}, Right: {En: "right", De: "rechts"}, Both: {En: "both sides", De: "beide Seiten"},
	}
	return words[s].In(l)
}

// A list is one closed list with its names.
type list struct {
	ids   []string
	row   map[string]int
	table *num.Table
}

func newList(name, csv string) list {
	l := list{row: map[string]int{}, table: num.ReadTable(name, csv)}
	for i := range l.table.Len() {
		id := l.table.Text(i, "id")
		l.ids = append(l.ids, id)
		l.row[id] = i
	}
	return l
}

// name returns the name of an id. It panics on an unknown id: readers check.
func (l list) name(id string) form.Text {
	i, ok := l.row[id]
	if !ok {
		panic("anatomy: " + l.table.Name + " has no " + id)
	}
	return form.Text{En: l.table.Text(i, "en"), De: l.table.Text(i, "de")}
}

var (
	muscles = newList("muscles.csv", musclesCSV)
	actions = newList("actions.csv", actionsCSV)
	regions = newList("regions.csv", regionsCSV)
	places  = newList("pain-places.csv", placesCSV)
)

// Values lists all muscle groups.
func (Muscle) Values() []string { return muscles.ids }

// In returns the name of the muscle group in l.
func (m Muscle) In(l form.Language) string { return muscles.name(string(m)).In(l) }

// Region returns the region the muscle group is counted to.
func (m Muscle) Region() Region { return Region(muscles.table.Text(muscles.row[string(m)], "region")) }

// Parts lists the body model's groups that make up the muscle group.
func (m Muscle) Parts() []string { return muscles.table.List(muscles.row[string(m)], "parts") }

// Values lists all joint actions.
func (Action) Values() []string { return actions.ids }

// In returns the name of the joint action in l.
func (a Action) In(l form.Language) string { return actions.name(string(a)).In(l) }

// Region returns the region the joint action loads.
func (a Action) Region() Region { return Region(actions.table.Text(actions.row[string(a)], "region")) }

// Values lists all regions.
func (Region) Values() []string { return regions.ids }

// In returns the name of the region in l.
func (r Region) In(l form.Language) string { return regions.name(string(r)).In(l) }

// Values lists all places where it may hurt.
func (Place) Values() []string { return places.ids }

// In returns the name of the place in l.
func (p Place) In(l form.Language) string { return places.name(string(p)).In(l) }

// Region returns the region of the place.
func (p Place) Region() Region { return Region(places.table.Text(places.row[string(p)], "region")) }

// Sided says whether the place has a left and a right.
func (p Place) Sided() bool { return places.table.Text(places.row[string(p)], "sides") == "two" }

// Actions lists the joint actions that load the place (our judgement, from
// which muscles and joints lie there; key pain-places).
func (p Place) Actions() []Action {
	var out []Action
	for _, a := range places.table.List(places.row[string(p)], "actions") {
		out = append(out, Action(a))
	}
	return out
}

// A MuscleSide is a muscle group with its side, written "left hip-abductors"
// or "quadriceps" where no side is told apart.
type MuscleSide struct {
	Muscle Muscle
	Side   Side
}

// nameError is an unknown name with the nearest known ones.
type nameError struct {
	text string
	near []string
}

func (e *nameError) Error() string  { return e.text }
func (e *nameError) Near() []string { return e.near }

// UnmarshalText reads a muscle group by id or name in either language, with a
// side before or after it.
func (m *MuscleSide) UnmarshalText(b []byte) error {
	var words []string
	side := NoSide
	for _, w := range strings.Fields(strings.ToLower(string(b))) {
		switch w {
		case "left", "links":
			side = Left
		case "right", "rechts":
			side = Right
		case "both":
			side = Both
		default:
			words = append(words, w)
		}
	}
	name := strings.Join(words, " ")
	for _, id := range muscles.ids {
		t := muscles.name(id)
		if slices.Contains([]string{id, strings.ReplaceAll(id, "-", " "), strings.ToLower(t.En), strings.ToLower(t.De)}, name) {
			*m = MuscleSide{Muscle(id), side}
			return nil
		}
	}
	return &nameError{fmt.Sprintf("%q is not a muscle group Corbel knows", name), form.Near(name, muscles.ids, 3)}
}

// MarshalText writes the side, if any, and the id.
func (m MuscleSide) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// String writes the side, if any, and the id.
func (m MuscleSide) String() string {
	if m.Side == NoSide {
		return string(m.Muscle)
	}
	return string(m.Side) + " " + string(m.Muscle)
}

// IsZero says whether no muscle is named.
func (m MuscleSide) IsZero() bool { return m.Muscle == "" }

// In returns the muscle and its side in words.
func (m MuscleSide) In(l form.Language) string {
	if m.Side == NoSide {
		return m.Muscle.In(l)
	}
	return m.Muscle.In(l) + ", " + m.Side.In(l)
}

// FormHint describes the text form for schemas and messages.
func (MuscleSide) FormHint() (what, pattern string, examples []string) {
	return "a muscle group, with its side where it matters,", "", []string{"left hip-abductors", "quadriceps"}
}
