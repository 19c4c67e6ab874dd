package client

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"corbel/anatomy"
	"corbel/form"
	"corbel/unit"
)

// A Finding is something seen or measured, with its error. One that names its kind
// is weighed (docs/model/06-evidence.md); one that does not is a note.
type Finding struct {
	On       form.Date     `form:"on,required" doc:"day of the finding"`
	What     string        `form:"what,required" doc:"what was seen or measured"`
	Kind     FindingKind   `form:"kind" doc:"kind, where it is to be weighed; a note without it"`
	Exercise string        `form:"exercise" doc:"in which exercise, by id"`
	Side     anatomy.Side  `form:"side" doc:"side it concerns"`
	Left     string        `form:"left" doc:"left side, number and unit: 12, 8 kg, 30 s, 6 deg"`
	Right    string        `form:"right" doc:"right side, number and unit"`
	Reps     int           `form:"reps" doc:"repetitions done on each side, for kinds reserve and effort"`
	Sets     int           `form:"sets" doc:"sets on each side; 1 if left out"`
	Harder   Degree        `form:"harder" doc:"how much harder that side was, for kind words"`
	Place    anatomy.Place `form:"place" doc:"where it is, for kind complaint"`
	Value    string        `form:"value" doc:"number and unit, such as 6 deg or 7 of 10"`
	Error    string        `form:"error" doc:"typical error in the same unit"`
	Source   FindingSource `form:"source,required" doc:"how it was found"`
	By       string        `form:"by" doc:"who found it"`
}

// FindingKind is what a finding is, so that it can be weighed.
type FindingKind string

// Kinds of findings.
const (
	ByRepetitions FindingKind = "repetitions" // possible on each side, same load
	ByLoad        FindingKind = "load"        // of each side at equal effort
	ByHold        FindingKind = "hold"        // time of each side
	ByReserve     FindingKind = "reserve"     // left on each side after the same repetitions
	ByEffort      FindingKind = "effort"      // rated 0 to 10 on each side after the same repetitions
	ByWords       FindingKind = "words"       // one side was harder, and how much
	HipShift      FindingKind = "hip-shift"   // towards a side, bottom of a squat
	KneeLine      FindingKind = "knee-line"   // further in on a side
	PelvisDrop    FindingKind = "pelvis-drop" // standing on a side
	ByRange       FindingKind = "range"       // of a joint, each side: a question, not weighed
	Complained    FindingKind = "complaint"   // where the client says it is
)

// Values lists the kinds.
func (FindingKind) Values() []string {
	return []string{string(ByRepetitions), string(ByLoad), string(ByHold), string(ByReserve), string(ByEffort), string(ByWords),
		string(HipShift), string(KneeLine), string(PelvisDrop), string(ByRange), string(Complained)}
}

// FindingSource says how something was found.
type FindingSource string

// Values lists the ways.
func (FindingSource) Values() []string {
	return []string{"video", "client", "coach", "practitioner", "test", "log"}
}

// A Degree is how much harder one side was, in words.
type Degree string

// Degrees.
const (
	Same     Degree = "same"
	ALittle  Degree = "a little"
	Clearly  Degree = "clearly"
	NotMatch Degree = "could not match"
)

// Values lists the degrees.
func (Degree) Values() []string {
	return []string{string(Same), string(ALittle), string(Clearly), string(NotMatch)}
}

// inUnit says in which unit a kind is written, with an example and its bounds.
var inUnit = map[FindingKind]struct {
	example   string
	low, high float64
}{
	ByRepetitions: {"12", 0, 200}, ByLoad: {"8 kg", 0, 2000}, ByHold: {"30 s", 0, 3600}, ByReserve: {"2", 0, 20},
	ByEffort: {"7", 0, 10}, HipShift: {"15 mm", 0, 200}, KneeLine: {"6 deg", -90, 90}, PelvisDrop: {"6 deg", -45, 45}, ByRange: {"35 deg", -180, 180},
}

// Measured reads a number with the unit of a kind: repetitions, ratings and
// reserves as they are, kg, s, mm, deg. The error says what to write.
func (k FindingKind) Measured(text string) (float64, error) {
	x, err := 0.0, error(nil)
	switch k {
	case ByLoad:
		var m unit.Mass
		m, err = unit.ParseMass(text)
		x = float64(m.Kilogram())
	case ByHold:
		var t unit.Duration
		t, err = unit.ParseDuration(text)
		x = float64(t.Second())
	case HipShift:
		x, err = millimetres(text)
	case KneeLine, PelvisDrop, ByRange:
		var a unit.Angle
		a, err = unit.ParseAngle(text)
		x = a.Degrees()
	default:
		x, err = strconv.ParseFloat(strings.TrimSpace(text), 64)
	}
	u := inUnit[k]
	if err != nil {
		return 0, fmt.Errorf("%q is not a value of the kind %s; write such as %s", text, k, u.example)
	}
	if !(x >= u.low && x <= u.high) {
		return 0, fmt.Errorf("%q is out of range for the kind %s; write %g to %g, such as %s", text, k, u.low, u.high, u.example)
	}
	return x, nil
}

// millimetres reads a length in mm or cm.
func millimetres(text string) (float64, error) {
	f := strings.Fields(text)
	if len(f) != 2 {
		return 0, errors.New("no unit")
	}
	x, err := strconv.ParseFloat(f[0], 64)
	switch {
	case err != nil:
		return 0, err
	case f[1] == "mm":
		return x, nil
	case f[1] == "cm":
		return 10 * x, nil
	}
	return 0, errors.New("unknown unit")
}

// Compared returns left and right of a finding that compares sides, in the unit of
// its kind. Where only value and side are given, the other side is 0. ok is false
// for notes, words and complaints.
func (f Finding) Compared() (left, right float64, ok bool) {
	if f.Left != "" && f.Right != "" {
		l, err := f.Kind.Measured(f.Left)
		r, err2 := f.Kind.Measured(f.Right)
		return l, r, err == nil && err2 == nil
	}
	if _, known := inUnit[f.Kind]; !known || f.Value == "" {
		return 0, 0, false
	}
	x, err := f.Kind.Measured(f.Value)
	switch {
	case err != nil:
		return 0, 0, false
	case f.Side == anatomy.Left:
		return x, 0, true
	}
	return 0, x, f.Side == anatomy.Right
}

// onOneSide lists the kinds that may be written as value and side.
func (k FindingKind) onOneSide() bool { return k == HipShift || k == KneeLine || k == PelvisDrop }

// check refuses a finding whose kind lacks what it is weighed by.
func (f *Finding) check(d *form.Doc, path string) {
	sided := f.Side == anatomy.Left || f.Side == anatomy.Right
	need := func(has bool, field, what string) {
		if !has {
			d.Refuse(path, "missing-field", "a finding of the kind %s needs the field %s: %s", f.Kind, field, what)
		}
	}
	if f.Kind == "" {
		if f.Left != "" || f.Right != "" || f.Reps != 0 || f.Sets != 0 || f.Harder != "" || f.Place != "" {
			d.Refuse(path, "missing-field", "a finding with left, right, reps, sets, harder or place needs the field kind, so that it can be weighed; write one of %s", strings.Join(f.Kind.Values(), ", "))
		}
		return
	}
	if f.Sets < 0 || f.Sets > maxFindingSets {
		d.Refuse(path+".sets", "out-of-range", "%d sets: write 1 to %d", f.Sets, maxFindingSets)
	}
	switch f.Kind {
	case Complained:
		need(f.Place != "", "place", "where the client says it is")
		return
	case ByWords:
		need(f.Harder != "", "harder", "same, a little, clearly or could not match")
		need(sided || f.Harder == Same, "side", "the side that was harder, left or right")
		need(f.Exercise != "", "exercise", "in which exercise")
		return
	case ByReserve, ByEffort:
		need(f.Reps > 0 && f.Reps <= 200, "reps", "repetitions done on each side, 1 to 200")
	}
	if !f.Kind.onOneSide() && f.Kind != ByRange {
		need(f.Exercise != "", "exercise", "in which exercise")
	}
	if f.Kind.onOneSide() && f.Value != "" && f.Left == "" && f.Right == "" {
		need(sided, "side", "the side of the value, left or right")
	} else {
		need(f.Left != "", "left", "the value of the left side, such as "+inUnit[f.Kind].example)
		need(f.Right != "", "right", "the value of the right side, such as "+inUnit[f.Kind].example)
	}
	for _, x := range []struct{ name, text string }{{"left", f.Left}, {"right", f.Right}, {"value", f.Value}, {"error", f.Error}} {
		if x.text == "" || x.name == "value" && !f.Kind.onOneSide() {
			continue
		}
		if _, err := f.Kind.Measured(x.text); err != nil {
			d.Refuse(path+"."+x.name, "wrong-value", "%s", err)
		}
	}
	if f.Kind == ByLoad || f.Kind == ByHold {
		if l, r, ok := f.Compared(); ok && (l <= 0 || r <= 0) {
			d.Refuse(path, "out-of-range", "a side of 0 cannot be compared by %s; write it as repetitions, or leave the finding as a note", f.Kind)
		}
	}
}

// maxFindingSets bounds the sets of a finding (our judgement).
const maxFindingSets = 20
