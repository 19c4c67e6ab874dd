package plan

import (
	"maps"
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/unit"
)

// Clone copies a block so deep that editing the copy leaves the block alone.
// Doses are shared: they are replaced, never changed in place.
func (b *Block) Clone() *Block {
	c := *b
	c.Sessions = slices.Clone(b.Sessions)
	for i := range c.Sessions {
		s := &c.Sessions[i]
		s.Slots = slices.Clone(s.Slots)
		for j := range s.Slots {
			s.Slots[j].Weeks = maps.Clone(s.Slots[j].Weeks)
			s.Slots[j].Reasons = slices.Clone(s.Slots[j].Reasons)
			s.Slots[j].Was = slices.Clone(s.Slots[j].Was)
		}
	}
	c.Changes = slices.Clone(b.Changes)
	c.Kept = slices.Clone(b.Kept)
	return &c
}

// Same says whether two slots are the same in everything that matters to what is
// done: texts and notes aside.
func (s *Slot) Same(o *Slot) bool {
	return s.ID == o.ID && s.Exercise == o.Exercise && s.Stage == o.Stage && s.Side == o.Side && s.Tempo == o.Tempo && s.Measure == o.Measure &&
		s.Superset == o.Superset && s.Rest.Equal(o.Rest) && s.Range == o.Range && s.Dose.Same(o.Dose) &&
		slices.EqualFunc(s.Reasons, o.Reasons, Reason.Same) && slices.Equal(s.Progress, o.Progress) &&
		slices.Equal(s.Shares, o.Shares) && maps.EqualFunc(s.Weeks, o.Weeks, Dose.Same)
}

// Same says whether two reasons claim the same, whatever their words.
func (r Reason) Same(o Reason) bool {
	alike := func(a, b *anatomy.MuscleSide) bool { return a == b || a != nil && b != nil && *a == *b }
	return alike(r.Test, o.Test) && r.Prepare == o.Prepare && r.Practise == o.Practise && alike(r.Load, o.Load) &&
		alike(r.Spare, o.Spare) && r.For == o.For && r.Restore == o.Restore
}

// Same says whether two doses are the same set for set, in everything but how
// they were typed. It is quicker than [Dose.Equal] and stricter: 100 kg and
// 220.462 lb differ.
func (d Dose) Same(e Dose) bool {
	return d.WeakFirst == e.WeakFirst && d.Rest.Equal(e.Rest) && d.Tempo.LiftFirst == e.Tempo.LiftFirst &&
		slices.Equal(d.Tempo.Figures, e.Tempo.Figures) && slices.Equal(d.Measure, e.Measure) && slices.Equal(d.WarmUp, e.WarmUp) &&
		sameParts(d.Parts, e.Parts)
}

// sameParts says whether parts are the same; those that share their memory are.
func sameParts(a, b []Part) bool {
	if len(a) > 0 && len(a) == len(b) && &a[0] == &b[0] {
		return true
	}
	return slices.EqualFunc(a, b, func(p, q Part) bool { return p.Sides == q.Sides && slices.Equal(p.Sets, q.Sets) })
}

// Same says whether two changes do the same, whoever made them and why.
func (c Change) Same(o Change) bool {
	return c.ID == o.ID && c.On == o.On && c.Until == o.Until && c.Scope == o.Scope && c.Session == o.Session && c.Slot == o.Slot &&
		c.Week == o.Week && c.Do == o.Do && c.Exercise == o.Exercise && c.Place == o.Place && c.Dose.Same(o.Dose)
}

// EachDose replaces the dose of week 1 and every written-out later dose of a slot.
func (s *Slot) EachDose(f func(Dose) Dose) {
	s.Dose = f(s.Dose)
	for w, d := range s.Weeks {
		s.Weeks[w] = f(d)
	}
}

// CutTo returns the dose with at most n sets a part, n at least 1.
func (d Dose) CutTo(n int) Dose {
	d = d.clone()
	d.Text = ""
	for i := range d.Parts {
		if sets := d.Parts[i].Sets; len(sets) > n {
			d.Parts[i].Sets = sets[:max(n, 1)]
		}
	}
	return d
}

// WithSet returns the dose with one set more of each part, like its last one; a
// part that is full stays as it is.
func (d Dose) WithSet() Dose {
	d = d.clone()
	d.Text = ""
	for i := range d.Parts {
		if sets := d.Parts[i].Sets; len(sets) < maxSets {
			d.Parts[i].Sets = append(sets, sets[len(sets)-1])
		}
	}
	return d
}

// EachSet returns the dose with every set, warm-up sets left out, replaced.
func (d Dose) EachSet(f func(Set) Set) Dose {
	d = d.clone()
	d.Text = ""
	for i := range d.Parts {
		for j := range d.Parts[i].Sets {
			d.Parts[i].Sets[j] = f(d.Parts[i].Sets[j])
		}
	}
	return d
}

// WithSetAt returns the dose with set i, from 0, of each part replaced; parts
// without such a set stay.
func (d Dose) WithSetAt(i int, f func(Set) Set) Dose {
	d = d.clone()
	d.Text = ""
	for _, p := range d.Parts {
		if i >= 0 && i < len(p.Sets) {
			p.Sets[i] = f(p.Sets[i])
		}
	}
	return d
}

// Scaled returns the set with f times its load, where the load is a percentage
// or a mass; else as it is. Percentages are rounded to half points.
func (s Set) Scaled(f float64) Set {
	switch s.Load.Kind {
	case PercentMax:
		p := clamp(s.Load.Percent.Number()*f, 1, maxPercent)
		s.Load.Percent = unit.PercentOf(float64(int(2*p+0.5)) / 2)
	case Mass, MassInHand, Added:
		s.Load.Mass = scaled(s.Load.Mass, f)
	}
	return s
}

// Together returns the dose for both sides at once: the sets of the longest part.
func (d Dose) Together() Dose {
	d = d.clone()
	d.Text, d.WeakFirst = "", false
	for _, p := range d.Parts[1:] {
		if len(p.Sets) > len(d.Parts[0].Sets) {
			d.Parts[0] = p
		}
	}
	d.Parts = d.Parts[:1]
	d.Parts[0].Sides = Together
	return d
}

// EachSide returns the dose with sets for both sides together done on each.
func (d Dose) EachSide() Dose {
	d = d.clone()
	d.Text = ""
	for i := range d.Parts {
		if d.Parts[i].Sides == Together {
			d.Parts[i].Sides = EachSide
		}
	}
	return d
}

// KeepMoving drops the steps of the slot's rule that no longer move its dose.
func (s *Slot) KeepMoving() {
	s.Progress = slices.DeleteFunc(slices.Clone(s.Progress), func(x Step) bool { return !x.moves(s.Dose) })
}

// SetRest writes the rest after each set of the slot, in place of those written
// in its doses.
func (s *Slot) SetRest(rest unit.Duration) {
	s.Rest = rest
	s.EachDose(func(d Dose) Dose { d.Rest, d.Text = unit.Duration{}, ""; return d })
}

// Remove takes a slot out of the block, with the reasons and changes that name
// it. A session's last slot takes the session with it; the block's last session
// stays. It says whether anything was taken out.
func (b *Block) Remove(id form.ID) bool {
	s, slot := b.SlotByID(id)
	if slot == nil || len(s.Slots) == 1 && len(b.Sessions) == 1 {
		return false
	}
	letter := slot.Superset
	s.Slots = slices.DeleteFunc(s.Slots, func(x Slot) bool { return x.ID == id })
	s.loosen(letter)
	if len(s.Slots) == 0 {
		gone := s.ID
		b.Sessions = slices.DeleteFunc(b.Sessions, func(x Session) bool { return x.ID == gone })
		b.Changes = slices.DeleteFunc(b.Changes, func(c Change) bool { return c.Session == gone })
	}
	for i := range b.Sessions {
		for j := range b.Sessions[i].Slots {
			x := &b.Sessions[i].Slots[j]
			x.Reasons = slices.DeleteFunc(x.Reasons, func(r Reason) bool { return r.Prepare == id || r.For == id })
		}
	}
	b.Changes = slices.DeleteFunc(b.Changes, func(c Change) bool { return c.Slot == id })
	b.Kept = slices.DeleteFunc(b.Kept, func(k client.Kept) bool { return k.At == string(id) })
	return true
}

// loosen takes a superset letter away where one exercise is left with it, or
// where its exercises no longer follow each other.
func (s *Session) loosen(letter string) {
	if letter == "" {
		return
	}
	var at []int
	for i := range s.Slots {
		if s.Slots[i].Superset == letter {
			at = append(at, i)
		}
	}
	if len(at) >= 2 && at[len(at)-1]-at[0] == len(at)-1 {
		return
	}
	for _, i := range at {
		s.Slots[i].Superset = ""
	}
}

// Move puts a slot at a place of its session, from 0, and says whether it could.
func (b *Block) Move(id form.ID, to int) bool {
	s, slot := b.SlotByID(id)
	if slot == nil || to < 0 || to >= len(s.Slots) {
		return false
	}
	moved := *slot
	var letters []string
	for _, x := range s.Slots {
		letters = append(letters, x.Superset)
	}
	s.Slots = slices.DeleteFunc(s.Slots, func(x Slot) bool { return x.ID == id })
	s.Slots = slices.Insert(s.Slots, to, moved)
	for _, l := range letters {
		s.loosen(l)
	}
	return true
}

// Swap puts another exercise into a slot and remembers the one that stood there.
func (b *Block) Swap(id form.ID, exercise string) bool {
	_, slot := b.SlotByID(id)
	if slot == nil || slot.Exercise == exercise {
		return false
	}
	if n := len(slot.Was); n == 0 || slot.Was[n-1].To != b.Revision { // swapped twice: the first stood here
		slot.Was = append(slot.Was, Was{Exercise: slot.Exercise, To: b.Revision})
	}
	slot.Exercise = exercise
	slot.Shares = nil // they were set for the exercise that stood here
	return true
}

// WithoutClauses returns the sets of a dose alone: no rest, tempo, warm-up,
// measure or order of sides.
func (d Dose) WithoutClauses() Dose { return Dose{Parts: d.Parts} }
