package client

import (
	"fmt"
	"time"
	_ "time/tzdata" // zones are checked on machines without a zone database too

	"corbel/anatomy"
	"corbel/form"
)

// A Namer finds an exercise by what a coach typed: id, name or abbreviation.
// It returns the id, or the nearest known ids where nothing fits.
type Namer func(typed string) (id string, near []string)

// Read reads a client file. file names it in messages; names finds exercises.
// The error is a *form.Refusal that lists everything wrong; the client is then
// nil.
func Read(file string, src []byte, names Namer) (*Client, error) {
	d, err := form.Open(file, src)
	if err != nil {
		return nil, err
	}
	c := &Client{}
	d.Fill("a client", c)
	if d.Err() == nil {
		c.check(d, names)
	}
	if err := d.Err(); err != nil {
		return nil, err
	}
	return c, nil
}

// check refuses what the types alone cannot: references, ranges, repeats.
func (c *Client) check(d *form.Doc, names Namer) {
	if c.Zone != "" {
		if _, err := time.LoadLocation(c.Zone); err != nil || c.Zone == "Local" {
			d.Refuse("zone", "unknown-zone", "%q is not a time zone; write an area and a city, such as Europe/Vienna", c.Zone)
		}
	}
	CheckConsent(d, c.Consent)
	c.checkPlaces(d)
	c.checkBody(d)
	for i := range c.Lifts {
		path := fmt.Sprintf("lifts[%d]", i)
		Resolve(d, path+".exercise", &c.Lifts[i].Exercise, names)
		c.Lifts[i].check(d, path)
	}
	for i, g := range c.Goals {
		path := fmt.Sprintf("goals[%d]", i)
		Resolve(d, path+".exercise", &c.Goals[i].Exercise, names)
		if g.Weight < 0 || g.Weight > 10 {
			d.Refuse(path+".weight", "out-of-range", "a weight of %d: write 1 to 10", g.Weight)
		}
	}
	for i, a := range c.Aims {
		path := fmt.Sprintf("aims[%d]", i)
		Resolve(d, path+".lift", &c.Aims[i].Exercise, names)
		if a.Muscle.IsZero() == (a.Exercise == "") {
			d.Refuse(path, "one-of", "an aim names either a muscle or a lift")
		}
	}
	for i := range c.Findings {
		path := fmt.Sprintf("findings[%d]", i)
		Resolve(d, path+".exercise", &c.Findings[i].Exercise, names)
		c.Findings[i].check(d, path)
	}
	c.Wishes.check(d, names)
	CheckShares(d, "shares", c.Shares, names)
	CheckFlags(d, c.Flags)
	CheckRestrictions(d, c.Restrict, names)
	CheckPain(d, c.Pain)
	checkWord(d, "clearance.cleared", c.Clearance.Cleared, "")
	for i, k := range c.Kept {
		path := fmt.Sprintf("kept[%d]", i)
		if k.Scope == KeptSlot && k.At == "" {
			d.Refuse(path, "missing-field", "a problem kept for a slot names the slot in at")
		}
		if !k.Until.IsZero() && k.Until.Before(k.On) {
			d.Refuse(path+".until", "out-of-range", "the decision ends on %s, before it was taken on %s", k.Until, k.On)
		}
	}
}

// CheckPlaces refuses double ids and places that cannot be.
func CheckPlaces(d *form.Doc, places []Place) {
	seen := map[form.ID]bool{}
	for i := range places {
		p := &places[i]
		path := fmt.Sprintf("places[%d]", i)
		if seen[p.ID] {
			d.Refuse(path+".id", "twice", "the id %q stands twice; an id is given once", p.ID)
		}
		seen[p.ID] = true
		p.check(d, path)
	}
}

// checkPlaces holds that places and days fit together.
func (c *Client) checkPlaces(d *form.Doc) {
	CheckPlaces(d, c.Places)
	for i, day := range c.Days {
		path := fmt.Sprintf("days[%d]", i)
		if c.PlaceByID(day.Place) == nil {
			d.RefuseName(path+".place", "unknown-place", fmt.Sprintf("there is no place %q in this file", day.Place), form.Near(string(day.Place), placeIDs(c.Places), 3))
		}
		if day.Minutes < 10 || day.Minutes > 240 {
			d.Refuse(path+".minutes", "out-of-range", "%d minutes: write 10 to 240", day.Minutes)
		}
	}
}

func placeIDs(places []Place) []string {
	var ids []string
	for _, p := range places {
		ids = append(ids, string(p.ID))
	}
	return ids
}

// Plausible bounds of measures, to catch a wrong unit (our judgement).
const (
	minHeight, maxHeight = 1.0, 2.4  // m
	minMass, maxMass     = 25.0, 300 // kg
)

// checkBody refuses measures that must be a slip of the unit.
func (c *Client) checkBody(d *form.Doc) {
	for i, m := range c.Measures {
		path := fmt.Sprintf("measures[%d]", i)
		if h := float64(m.Height.Metre()); !m.Height.IsZero() && (h < minHeight || h > maxHeight) {
			d.Refuse(path+".height", "out-of-range", "a height of %s: write 100 to 240 cm; is the unit right?", m.Height)
		}
		if kg := float64(m.Mass.Kilogram()); !m.Mass.IsZero() && (kg < minMass || kg > maxMass) {
			d.Refuse(path+".mass", "out-of-range", "a body mass of %s: write 25 to 300 kg; is the unit right?", m.Mass)
		}
		for _, s := range []struct {
			name   string
			metres float64
		}{
			{"thigh", float64(m.Segments.Thigh.Metre())}, {"shank", float64(m.Segments.Shank.Metre())},
			{"foot", float64(m.Segments.Foot.Metre())}, {"trunk", float64(m.Segments.Trunk.Metre())},
			{"upper-arm", float64(m.Segments.UpperArm.Metre())}, {"forearm", float64(m.Segments.Forearm.Metre())},
		} {
			if s.metres != 0 && (s.metres < 0.1 || s.metres > 0.9) {
				d.Refuse(path+".segments."+s.name, "out-of-range", "a segment of %.3g m: write 10 to 90 cm; is the unit right?", s.metres)
			}
		}
	}
	if !c.Born.IsZero() && len(c.Measures) > 0 && c.Measures[0].On.Before(c.Born) {
		d.Refuse("born", "out-of-range", "the date of birth lies after a measure")
	}
}

// check refuses a set that cannot be.
func (l Lift) check(d *form.Doc, path string) {
	if l.Reps < 1 || l.Reps > 200 {
		d.Refuse(path+".reps", "out-of-range", "%d repetitions: write 1 to 200", l.Reps)
	}
	if l.RIR != nil && (*l.RIR < 0 || *l.RIR > 20) {
		d.Refuse(path+".rir", "out-of-range", "%g repetitions in reserve: write 0 to 20", *l.RIR)
	}
}

// Resolve turns what was typed for an exercise into its id, or refuses it with
// the three nearest names. An empty text stays empty.
func Resolve(d *form.Doc, path string, typed *string, names Namer) {
	if *typed == "" {
		return
	}
	id, near := names(*typed)
	if id == "" {
		d.RefuseName(path, "unknown-exercise", fmt.Sprintf("%q is not an exercise in the library", *typed), near)
		return
	}
	*typed = id
}

// CheckFlags refuses answers to unknown questions, double answers, and group
// answers that say yes.
func CheckFlags(d *form.Doc, flags []Flag) {
	seen := map[string]bool{}
	for i, f := range flags {
		path := fmt.Sprintf("flags[%d]", i)
		q := QuestionByID(f.Ask)
		group := GroupByID(f.Ask)
		switch {
		case q == nil && group == nil:
			d.RefuseName(path+".ask", "unknown-question", fmt.Sprintf("%q is not a safety question; corbel ask lists them", f.Ask), form.Near(f.Ask, questionIDs(), 3))
		case group != nil && f.Answer == Yes:
			d.Refuse(path+".answer", "wrong-value", "a group is answered no as a whole; for a yes name the question itself")
		case f.Answer == Yes && q != nil && q.Region == askedRegion && f.Region == "":
			d.Refuse(path, "missing-field", "a yes to %q needs the field region: which joint it is", f.Ask)
		}
		key := f.Ask
		if q != nil && q.Region == askedRegion {
			key += " " + string(f.Region)
		}
		if q != nil && q.sided() {
			key += " " + string(f.Side)
		}
		if seen[key] {
			d.Refuse(path+".ask", "twice", "%q is answered twice; keep the newer answer", f.Ask)
		}
		seen[key] = true
		if f.Answer.Asked() && f.On.IsZero() {
			d.Refuse(path, "missing-field", "the answer to %q needs its day: on", f.Ask)
		}
		checkWord(d, path+".cleared", f.Cleared, "")
	}
}

// checkWord refuses a word that ended before it was given, a pain window for
// anything but the Achilles tendon, and an intensity for a pain, which the
// clearance alone may set. place is empty for words that are not about a pain.
func checkWord(d *form.Doc, path string, w *Word, place anatomy.Place) {
	if w == nil {
		return
	}
	if !w.Until.IsZero() && w.Until.Before(w.On) {
		d.Refuse(path+".until", "out-of-range", "the word ends on %s, before it was given on %s", w.Until, w.On)
	}
	switch {
	case w.Window != "" && place == "":
		d.Refuse(path+".pain-window", "wrong-value", "a pain window belongs to the word on a pain of the Achilles tendon; leave it out here")
	case w.Window != "" && place != "achilles-tendon":
		d.Refuse(path+".pain-window", "wrong-value", "a pain window is known for the Achilles tendon only; for %s write the practitioner's word as a restriction", place)
	}
	if w.Loads != "" && place != "" {
		d.Refuse(path+".intensity", "wrong-value", "the intensity that is cleared belongs under clearance, cleared; for %s write a restriction", place)
	}
}

// CheckRestrictions refuses double ids and restrictions that name nothing.
func CheckRestrictions(d *form.Doc, rs []Restriction, names Namer) {
	seen := map[form.ID]bool{}
	for i := range rs {
		r := &rs[i]
		path := fmt.Sprintf("restrictions[%d]", i)
		Resolve(d, path+".exercise", &r.Exercise, names)
		n := 0
		for _, said := range []bool{r.Exercise != "", r.Action != "", r.Region != ""} {
			if said {
				n++
			}
		}
		if n != 1 {
			d.Refuse(path, "one-of", "a restriction names one of exercise, action and region; this one names %d", n)
		}
		if seen[r.ID] {
			d.Refuse(path+".id", "twice", "the id %q stands twice; an id is given once", r.ID)
		}
		seen[r.ID] = true
		if !r.Until.IsZero() && r.Until.Before(r.On) {
			d.Refuse(path+".until", "out-of-range", "the restriction ends on %s, before it was given on %s", r.Until, r.On)
		}
	}
}

// CheckPain refuses levels outside 0 to 10 and a missing or needless side.
func CheckPain(d *form.Doc, pain []Pain) {
	for i, p := range pain {
		path := fmt.Sprintf("pain[%d]", i)
		for _, x := range []struct {
			name  string
			level *float64
		}{{"during", p.During}, {"morning", p.Morning}} {
			if x.level != nil && !(*x.level >= 0 && *x.level <= 10) {
				d.Refuse(path+"."+x.name, "out-of-range", "a level of %g: write 0 to 10", *x.level)
			}
		}
		if !p.Until.IsZero() && p.Until.Before(p.On) {
			d.Refuse(path+".settled", "out-of-range", "the pain had settled on %s, before it was reported on %s", p.Until, p.On)
		}
		if p.Place == "" {
			continue
		}
		if p.Place.Sided() && p.Side == anatomy.NoSide {
			d.Refuse(path, "missing-field", "pain in %s needs the field side: left, right or both", p.Place)
		}
		if !p.Place.Sided() && p.Side != anatomy.NoSide {
			d.Refuse(path+".side", "wrong-value", "%s has no side; leave it out", p.Place)
		}
		checkWord(d, path+".word", p.Word, p.Place)
	}
}
