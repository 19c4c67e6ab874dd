package plan

import (
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/unit"
)

// Bounds of a block (our judgement).
const (
	maxWeeks    = 12
	maxSessions = 14
	maxSlots    = 40

	maxDeloadReserve = 10   // repetitions
	lastYear         = 2199 // last year of a date
)

// ReadBlock reads a block file. names finds exercises. The error is a
// *form.Refusal that lists everything wrong; the block is then nil.
func ReadBlock(file string, src []byte, names client.Namer) (*Block, error) {
	b := &Block{}
	return readOr(file, src, "a block", b, func(d *form.Doc) { b.check(d, names) }, func(d *form.Doc) { b.resolve(d, names) })
}

// resolve finds the exercises of the slots, where other parts could not be read.
func (b *Block) resolve(d *form.Doc, names client.Namer) {
	for i := range b.Sessions {
		for j := range b.Sessions[i].Slots {
			if s := &b.Sessions[i].Slots[j]; s.Exercise != "" {
				client.Resolve(d, fmt.Sprintf("sessions[%d].slots[%d].exercise", i, j), &s.Exercise, names)
			}
		}
	}
}

// ReadLog reads a log file. names finds exercises.
func ReadLog(file string, src []byte, names client.Namer) (*Log, error) {
	l := &Log{}
	return read(file, src, "a log", l, func(d *form.Doc) { l.check(d, names) })
}

// ReadGroup reads a group file.
func ReadGroup(file string, src []byte) (*Group, error) {
	g := &Group{}
	return read(file, src, "a group", g, func(d *form.Doc) { g.check(d) })
}

// ReadMember reads a member file. names finds exercises.
func ReadMember(file string, src []byte, names client.Namer) (*Member, error) {
	m := &Member{}
	return read(file, src, "a member", m, func(d *form.Doc) { m.check(d, names) })
}

// read opens and fills a form, and checks it if its parts could be read.
func read[T any](file string, src []byte, noun string, into *T, check func(*form.Doc)) (*T, error) {
	return readOr(file, src, noun, into, check, func(*form.Doc) {})
}

// readOr is read, with what can be checked where some part could not be read.
func readOr[T any](file string, src []byte, noun string, into *T, check, rest func(*form.Doc)) (*T, error) {
	d, err := form.Open(file, src)
	if err != nil {
		return nil, err
	}
	d.Fill(noun, into)
	if d.Err() == nil {
		check(d)
	} else {
		rest(d)
	}
	if err := d.Err(); err != nil {
		return nil, err
	}
	return into, nil
}

// check refuses what the types alone cannot.
func (b *Block) check(d *form.Doc, names client.Namer) {
	fileName(d, "client", b.Client)
	fileName(d, "group", b.Group)
	if oneOf(b.Client != "", b.Group != "") != 1 {
		said := "a block names its client or its group, and this one names neither; write client: FILE.yaml or group: FILE.yaml"
		if b.Client != "" {
			said = "a block names its client or its group, and this one names both; take one out"
		}
		d.Refuse("", "one-of", "%s", said)
	}
	if b.Weeks < 1 || b.Weeks > maxWeeks {
		d.Refuse("weeks", "out-of-range", "%d weeks: write 1 to %d", b.Weeks, maxWeeks)
	}
	if b.Revision < 1 {
		d.Refuse("revision", "out-of-range", "revision %d: write 1 or more", b.Revision)
	}
	if b.Start.Time().Weekday() != time.Monday {
		monday := b.Start.Plus(-(int(b.Start.Time().Weekday()) + 6) % 7)
		d.Refuse("start", "wrong-value", "%s is a %s; a block starts on a Monday, such as %s", b.Start, b.Start.Time().Weekday(), monday)
	}
	if b.Start.Time().AddDate(0, 0, 7*maxWeeks).Year() > lastYear {
		d.Refuse("start", "out-of-range", "a block that starts on %s runs past the year %d", b.Start, lastYear)
	}
	b.checkDeload(d)
	if n := len(b.Sessions); n < 1 || n > maxSessions {
		d.Refuse("sessions", "out-of-range", "%d sessions a week: write 1 to %d", n, maxSessions)
	}
	ids := map[form.ID]bool{}
	for i := range b.Sessions {
		b.Sessions[i].check(d, fmt.Sprintf("sessions[%d]", i), b, ids, names)
	}
	b.checkReasons(d, names)
	b.checkChanges(d, names)
}

// checkDeload refuses a week outside the block and shares that raise the work.
func (b *Block) checkDeload(d *form.Doc) {
	l := b.Deload
	if l == nil {
		return
	}
	switch last := b.lastWeek(); {
	case last == 1:
		d.Refuse("deload", "out-of-range", "a block of one week has no deload; leave it out")
	case l.Week < 2 || l.Week > last:
		d.Refuse("deload.week", "out-of-range", "week %d: write a week from 2 to %d", l.Week, last)
	}
	for _, s := range []struct {
		name  string
		share unit.Percent
	}{{"sets", l.Sets}, {"load", l.Load}} {
		if x := s.share.Number(); !s.share.IsZero() && (x < 1 || x > 100) {
			d.Refuse("deload."+s.name, "out-of-range", "%s kept of the %s: write 1%% to 100%%", s.share, s.name)
		}
	}
	if l.Reserve < 0 || l.Reserve > maxDeloadReserve {
		d.Refuse("deload.reserve", "out-of-range", "%d repetitions in reserve added: write 0 to %d", l.Reserve, maxDeloadReserve)
	}
}

// lastWeek returns the last week, or the last any block can have where the
// number of weeks is itself refused.
func (b *Block) lastWeek() int {
	if b.Weeks < 1 {
		return maxWeeks
	}
	return min(b.Weeks, maxWeeks)
}

// once refuses an id that was given before.
func once(d *form.Doc, path string, ids map[form.ID]bool, id form.ID) {
	if ids[id] {
		d.Refuse(path+".id", "twice", "the id %q stands twice; an id is given once", id)
	}
	ids[id] = true
}

// check refuses what a session cannot be. Session ids and slot ids share one
// set, so that a place in the block is named by one id.
func (s *Session) check(d *form.Doc, path string, b *Block, ids map[form.ID]bool, names client.Namer) {
	once(d, path, ids, s.ID)
	if s.Minutes != 0 && (s.Minutes < 10 || s.Minutes > 240) {
		d.Refuse(path+".minutes", "out-of-range", "%d minutes: write 10 to 240", s.Minutes)
	}
	if n := len(s.Slots); n < 1 || n > maxSlots {
		d.Refuse(path+".slots", "out-of-range", "%d exercises in a session: write 1 to %d", n, maxSlots)
	}
	letters := map[string][]int{}
	for i := range s.Slots {
		sub := fmt.Sprintf("%s.slots[%d]", path, i)
		slot := &s.Slots[i]
		once(d, sub, ids, slot.ID)
		slot.check(d, sub, b, names)
		if supersetLetter.MatchString(slot.Superset) {
			letters[slot.Superset] = append(letters[slot.Superset], i)
		}
	}
	for _, l := range slices.Sorted(maps.Keys(letters)) {
		at := letters[l]
		sub := fmt.Sprintf("%s.slots[%d].superset", path, at[0])
		switch {
		case len(at) < 2:
			d.Refuse(sub, "wrong-value", "superset %s has one exercise; give its partner the same letter or leave it out", l)
		case at[len(at)-1]-at[0] != len(at)-1:
			d.Refuse(sub, "wrong-value", "the exercises of superset %s do not follow each other; move them together", l)
		}
	}
}

var supersetLetter = regexp.MustCompile(`^[A-Z]$`)

// check refuses what a slot cannot be.
func (s *Slot) check(d *form.Doc, path string, b *Block, names client.Namer) {
	client.Resolve(d, path+".exercise", &s.Exercise, names)
	s.checkWas(d, path, b.Revision, names)
	if s.Link != "" && !strings.HasPrefix(s.Link, "https://") && !strings.HasPrefix(s.Link, "http://") || strings.ContainsAny(s.Link, " \t\n\"<>") {
		d.Refuse(path+".link", "wrong-value", "%q is not an address of a page; write one that starts with https://", s.Link)
	}
	if s.Superset != "" && !supersetLetter.MatchString(s.Superset) {
		d.Refuse(path+".superset", "wrong-value", "%q is not a superset letter; write A to Z", s.Superset)
	}
	client.CheckShares(d, path+".shares", s.Shares, names)
	resolveDose(d, path+".dose", &s.Dose, names)
	for _, w := range slices.Sorted(maps.Keys(s.Weeks)) {
		sub := fmt.Sprintf("%s.weeks.%d", path, w)
		switch last := b.lastWeek(); {
		case last == 1:
			d.Refuse(sub, "out-of-range", "week %d: the block has one week, and its dose is written in dose", w)
		case w < 2 || w > last:
			d.Refuse(sub, "out-of-range", "week %d: write weeks 2 to %d; week 1 is the dose", w, last)
		}
		dose := s.Weeks[w]
		resolveDose(d, sub, &dose, names)
		s.Weeks[w] = dose
	}
	s.checkClauses(d, path)
	for _, step := range s.Progress {
		if !step.moves(s.Dose) {
			d.Refuse(path+".progress", "wrong-value", "%q does not move the dose %q; a load in kg or lb moves by kg, lb or %%, a load in %% by %%, a time by s, a distance by m", step.String(), s.Dose)
		}
	}
}

// checkWas refuses earlier exercises that overlap or reach to the present.
func (s *Slot) checkWas(d *form.Doc, path string, revision int, names client.Namer) {
	seen := map[int]bool{}
	for i := range s.Was {
		w := &s.Was[i]
		sub := fmt.Sprintf("%s.was[%d]", path, i)
		client.Resolve(d, sub+".exercise", &w.Exercise, names)
		if w.To < 1 || w.To >= revision {
			d.Refuse(sub+".to_revision", "out-of-range", "revision %d: write an earlier revision than %d, the one of this file", w.To, revision)
		}
		if seen[w.To] {
			d.Refuse(sub+".to_revision", "twice", "two exercises stood here up to revision %d; keep one", w.To)
		}
		seen[w.To] = true
	}
}

// checkClauses reads tempo and measure and refuses what the dose says too.
func (s *Slot) checkClauses(d *form.Doc, path string) {
	if s.Tempo != "" {
		if _, err := ParseTempo(s.Tempo); err != nil {
			d.Refuse(path+".tempo", "wrong-value", "%s", err.Error())
		}
		if !s.Dose.Tempo.IsZero() {
			d.Refuse(path+".tempo", "twice", "the tempo stands here and in the dose; keep one")
		}
	}
	if s.Measure != "" {
		if _, err := ParseMeasure(s.Measure); err != nil {
			d.Refuse(path+".measure", "wrong-value", "%s", err.Error())
		}
		if len(s.Dose.Measure) > 0 {
			d.Refuse(path+".measure", "twice", "the measure stands here and in the dose; keep one")
		}
	}
	if !s.Rest.IsZero() && !s.Dose.Rest.IsZero() {
		d.Refuse(path+".rest", "twice", "the rest stands here and in the dose; keep one")
	}
	oneSide := s.Side == anatomy.Left || s.Side == anatomy.Right
	sided := s.Dose.sided()
	for _, w := range s.Weeks {
		sided = sided || w.sided()
	}
	if oneSide && sided {
		d.Refuse(path+".side", "twice", "the slot is for the %s side and the dose names sides too; keep one", s.Side)
	}
}

// sided says whether a dose tells the sides apart.
func (d Dose) sided() bool {
	return slices.ContainsFunc(d.Parts, func(p Part) bool { return p.Sides != Together })
}

// resolveDose turns the exercises named in loads into ids.
func resolveDose(d *form.Doc, path string, dose *Dose, names client.Namer) {
	resolve := func(sets []Set) {
		for i := range sets {
			if l := &sets[i].Load; l.Of != "" {
				id, near := names(l.Of)
				if id == "" {
					d.RefuseName(path, "unknown-exercise", fmt.Sprintf("%q is not an exercise in the library", l.Of), near)
					return
				}
				l.Of = id
			}
		}
	}
	for _, p := range dose.Parts {
		resolve(p.Sets)
	}
	resolve(dose.WarmUp)
}

// checkReasons holds that each reason says one thing and names slots there are.
func (b *Block) checkReasons(d *form.Doc, names client.Namer) {
	for i := range b.Sessions {
		for j, slot := range b.Sessions[i].Slots {
			for k := range slot.Reasons {
				r := &slot.Reasons[k]
				path := fmt.Sprintf("sessions[%d].slots[%d].reasons[%d]", i, j, k)
				client.Resolve(d, path+".practise", &r.Practise, names)
				n := oneOf(r.Test != nil, r.Prepare != "", r.Practise != "", r.Load != nil, r.Spare != nil, r.Restore != "")
				if n != 1 {
					d.Refuse(path, "one-of", "a reason says one of test, prepare, practise, load, spare, restore; this one says %d", n)
				}
				if (r.For != "") != (r.Spare != nil) {
					d.Refuse(path, "one-of", "spare names the later slot in for, and only spare does")
				}
				for name, id := range map[string]form.ID{"prepare": r.Prepare, "for": r.For} {
					b.checkSlotName(d, path+"."+name, id)
				}
			}
		}
	}
}

// checkSlotName refuses the id of a slot that the block does not hold.
func (b *Block) checkSlotName(d *form.Doc, path string, id form.ID) {
	if id == "" {
		return
	}
	if _, slot := b.SlotByID(id); slot == nil {
		d.RefuseName(path, "unknown-slot", fmt.Sprintf("there is no slot %q in this block", id), form.Near(string(id), b.slotIDs(), 3))
	}
}

func (b *Block) slotIDs() []string {
	var ids []string
	for _, s := range b.Sessions {
		for _, slot := range s.Slots {
			ids = append(ids, string(slot.ID))
		}
	}
	return ids
}

// checkChanges holds that each change says where and what.
func (b *Block) checkChanges(d *form.Doc, names client.Namer) {
	ids := map[form.ID]bool{}
	for i := range b.Changes {
		c := &b.Changes[i]
		path := fmt.Sprintf("changes[%d]", i)
		once(d, path, ids, c.ID)
		client.Resolve(d, path+".exercise", &c.Exercise, names)
		resolveDose(d, path+".dose", &c.Dose, names)
		b.checkSlotName(d, path+".slot", c.Slot)
		c.check(d, path)
		if c.Session != "" && !slices.ContainsFunc(b.Sessions, func(s Session) bool { return s.ID == c.Session }) {
			d.Refuse(path+".session", "unknown-session", "there is no session %q in this block", c.Session)
		}
		if c.Week != 0 && (c.Week < 1 || c.Week > b.lastWeek()) {
			d.Refuse(path+".week", "out-of-range", "week %d: write 1 to %d", c.Week, b.lastWeek())
		}
	}
	for i, k := range b.Kept {
		if k.Scope == client.KeptSlot {
			b.checkSlotName(d, fmt.Sprintf("kept[%d].at", i), form.ID(k.At))
		}
	}
}

// check refuses a change whose parts do not fit its scope and kind.
func (c *Change) check(d *form.Doc, path string) {
	need := map[ChangeScope]bool{"slot": c.Slot != "", "session": c.Session != "", "week": c.Week != 0, "from": true}
	if !need[c.Scope] {
		d.Refuse(path, "missing-field", "a change of scope %s names its %s", c.Scope, c.Scope)
	}
	what := map[ChangeKind]bool{"swap": c.Exercise != "" && c.Scope == "slot", "dose": !c.Dose.IsZero() && c.Scope == "slot", "place": c.Place != "", "skip": true, "pause": true}
	if !what[c.Do] {
		d.Refuse(path, "missing-field", "a change that does %s needs %s", c.Do, map[ChangeKind]string{
			"swap": "scope slot and the field exercise", "dose": "scope slot and the field dose", "place": "the field place"}[c.Do])
	}
	if !c.Until.IsZero() && c.Until.Before(c.On) {
		d.Refuse(path+".until", "out-of-range", "the change ends on %s, before it starts on %s", c.Until, c.On)
	}
}

// fileName refuses names of other files that are not relative.
func fileName(d *form.Doc, path, name string) {
	if strings.HasPrefix(name, "/") || strings.Contains(name, "\\") || strings.Contains(name, ":") {
		d.Refuse(path, "wrong-value", "%q should be a file named relative to this one, with forward slashes", name)
	}
}

// check refuses what a log cannot say.
func (l *Log) check(d *form.Doc, names client.Namer) {
	seen := map[LogKey]bool{}
	for i := range l.Entries {
		e := &l.Entries[i]
		path := fmt.Sprintf("entries[%d]", i)
		if e.Week < 1 || e.Week > maxWeeks {
			d.Refuse(path+".week", "out-of-range", "week %d: write 1 to %d", e.Week, maxWeeks)
		}
		if e.Revision < 1 {
			d.Refuse(path+".revision", "out-of-range", "revision %d: write 1 or more", e.Revision)
		}
		if e.Minutes < 0 || e.Minutes > 600 {
			d.Refuse(path+".minutes", "out-of-range", "%d minutes: write 0 to 600", e.Minutes)
		}
		level(d, path+".rating", e.Rating)
		for j := range e.Sets {
			e.checkSet(d, fmt.Sprintf("%s.sets[%d]", path, j), &e.Sets[j], seen, names)
		}
		for j, t := range e.Tests {
			t.check(d, fmt.Sprintf("%s.tests[%d]", path, j))
		}
		for j, p := range e.Pain {
			sub := fmt.Sprintf("%s.pain[%d]", path, j)
			level(d, sub+".during", p.During)
			level(d, sub+".morning", p.Morning)
			if p.Place.Sided() && p.Side == anatomy.NoSide {
				d.Refuse(sub, "missing-field", "pain in %s needs the field side: left, right or both", p.Place)
			}
			if !p.Place.Sided() && p.Side != anatomy.NoSide {
				d.Refuse(sub+".side", "wrong-value", "%s has no side; leave it out", p.Place)
			}
		}
	}
}

// checkSet refuses a set logged twice or out of range.
func (e *Entry) checkSet(d *form.Doc, path string, s *SetLog, seen map[LogKey]bool, names client.Namer) {
	client.Resolve(d, path+".exercise", &s.Exercise, names)
	if s.Set < 1 || s.Set > 2*maxSets {
		d.Refuse(path+".set", "out-of-range", "set %d: write 1 to %d", s.Set, 2*maxSets)
	}
	if s.Side == anatomy.Both {
		d.Refuse(path+".side", "wrong-value", "a logged set is of the left or the right side; leave side out for both at once")
	}
	if k := e.Key(s); seen[k] {
		d.Refuse(path, "twice", "set %d of slot %s is logged twice in week %d; keep the right line", s.Set, s.Slot, e.Week)
	} else {
		seen[k] = true
	}
}

// check refuses a test without a number or with both forms of one.
func (t TestLog) check(d *form.Doc, path string) {
	sides := t.Left != nil || t.Right != nil
	if sides == (t.Value != nil) {
		d.Refuse(path, "one-of", "a test holds either value, or left and right")
	}
	if !finite(t.Left) || !finite(t.Right) || !finite(t.Value) {
		d.Refuse(path, "out-of-range", "a test holds numbers from 0 to 100000")
	}
}

// check refuses what a group cannot be.
func (g *Group) check(d *form.Doc) {
	if x := g.Days; d.Has("days") && (x.Low < 1 || x.High > maxSessions || x.Low != math.Trunc(x.Low) || x.High != math.Trunc(x.High)) {
		d.Refuse("days", "out-of-range", "%s sessions a week: write whole numbers from 1 to %d, such as 2-4", x, maxSessions)
	}
	if _, err := time.LoadLocation(g.Zone); err != nil || g.Zone == "Local" {
		d.Refuse("zone", "unknown-zone", "%q is not a time zone; write an area and a city, such as Europe/Vienna", g.Zone)
	}
	ids := map[form.ID]bool{}
	for i, r := range g.Releases {
		path := fmt.Sprintf("releases[%d]", i)
		once(d, path, ids, r.ID)
		fileName(d, path+".block", r.Block)
		if i > 0 && !g.Releases[i-1].On.Before(r.On) {
			d.Refuse(path+".on", "out-of-range", "releases stand oldest first; %s is not after %s", r.On, g.Releases[i-1].On)
		}
	}
	client.CheckPlaces(d, g.Places)
}

// check refuses what a member cannot be.
func (m *Member) check(d *form.Doc, names client.Namer) {
	fileName(d, "group", m.Group)
	if m.Size < 0 || m.Size > 6 {
		d.Refuse("size", "out-of-range", "size %d: write 1 to 6", m.Size)
	}
	if m.Sessions != 0 && (m.Sessions < 2 || m.Sessions > 6) {
		d.Refuse("sessions", "out-of-range", "%d sessions a week: write 2 to 6", m.Sessions)
	}
	client.CheckConsent(d, m.Consent)
	client.CheckFlags(d, m.Flags)
	client.CheckRestrictions(d, m.Restrict, names)
	client.CheckPain(d, m.Pain)
	ids := map[form.ID]bool{}
	for i := range m.Changes {
		c := &m.Changes[i]
		path := fmt.Sprintf("changes[%d]", i)
		once(d, path, ids, c.ID)
		client.Resolve(d, path+".exercise", &c.Exercise, names)
		resolveDose(d, path+".dose", &c.Dose, names)
		c.check(d, path)
	}
}

// Latest returns the release in force on day, or nil before the first.
func (g *Group) Latest(day form.Date) *Release {
	var best *Release
	for i := range g.Releases {
		if !day.Before(g.Releases[i].On) {
			best = &g.Releases[i]
		}
	}
	return best
}
