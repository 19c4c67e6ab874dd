package plan

import (
	"slices"

	"corbel/form"
)

// A Laid session is a session of one week with the block's changes laid over it.
type Laid struct {
	Session *Session
	Index   int // place in the block
	On      form.Date
	Place   form.ID
	Slots   []LaidSlot // those that are done, in order
	Changes []*Change  // changes that touched the session
}

// A LaidSlot is a slot with the exercise and dose that hold on the day. Slot is
// the written one, or a copy with the new exercise where it is swapped.
type LaidSlot struct {
	Slot   *Slot
	Dose   Dose
	Change *Change // the change that touched it, or nil
}

// Lay returns the sessions of a week as they hold after the block's changes, in
// the order of their days; sessions that are skipped or fall into a pause are
// left out. The written block is not changed.
func (b *Block) Lay(week int) []Laid {
	return b.LayOnly(week, func(*Session) bool { return true })
}

// LayOnly is Lay for the sessions wanted; the others stand in the result in their
// places, without slots, whether they are done or not.
func (b *Block) LayOnly(week int, wanted func(*Session) bool) []Laid {
	var out []Laid
	for i := range b.Sessions {
		s := &b.Sessions[i]
		l := Laid{Session: s, Index: i, On: b.Date(s, week), Place: s.Place}
		if !wanted(s) {
			out = append(out, l)
			continue
		}
		for j := range s.Slots {
			l.Slots = append(l.Slots, LaidSlot{Slot: &s.Slots[j], Dose: b.DoseIn(&s.Slots[j], week)})
		}
		done := true
		for k := range b.Changes {
			if c := &b.Changes[k]; c.touches(&l, week) {
				done = c.lay(&l) && done
			}
		}
		if done && len(l.Slots) > 0 {
			out = append(out, l)
		}
	}
	slices.SortStableFunc(out, func(x, y Laid) int { return x.On.Days(y.On) })
	return out
}

// touches says whether a change reaches a session in a week.
func (c *Change) touches(l *Laid, week int) bool {
	if l.On.Before(c.On) || !c.Until.IsZero() && c.Until.Before(l.On) {
		return false
	}
	switch c.Scope {
	case "session":
		return c.Session == l.Session.ID
	case "week":
		return c.Week == week
	case "slot":
		return slices.ContainsFunc(l.Session.Slots, func(s Slot) bool { return s.ID == c.Slot })
	}
	return true
}

// lay changes a laid session and says whether it is still done.
func (c *Change) lay(l *Laid) bool {
	l.Changes = append(l.Changes, c)
	if c.Scope != "slot" {
		switch c.Do {
		case "place":
			l.Place = c.Place
		case "skip", "pause":
			return false
		}
		return true
	}
	for i := range l.Slots {
		if l.Slots[i].Slot.ID == c.Slot {
			c.laySlot(l, i)
			return true
		}
	}
	return true
}

// laySlot changes one slot of a laid session.
func (c *Change) laySlot(l *Laid, i int) {
	s := &l.Slots[i]
	s.Change = c
	if c.Do == "skip" || c.Do == "pause" {
		l.Slots = slices.Delete(l.Slots, i, i+1)
		return
	}
	if c.Do == "swap" {
		changed := *s.Slot
		changed.Exercise = c.Exercise
		changed.Shares = nil // they were set for the exercise that stood here
		s.Slot = &changed
	}
	if !c.Dose.IsZero() {
		s.Dose = s.Slot.fill(c.Dose)
	}
}
