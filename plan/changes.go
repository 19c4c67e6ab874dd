package plan

import (
	"fmt"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/unit"
)

// An Overlay says from which day to which changes hold, who makes them and why.
type Overlay struct {
	On    form.Date // first day
	Until form.Date // last day; zero means to the end of the block
	By    string
	Why   string
}

// One step lighter (our judgement; key judgement).
const (
	lighterPoints = 5.0  // taken off a load in percent, points of the 1RM
	lighterFactor = 0.95 // of a mass, 1
	lighterSets   = 3    // sets from which one is left out
	backDays      = 7    // days after a pause that are one step lighter
	painSets      = 2    // sets from which one is left out for pain
)

// A Comeback is what follows a pause.
type Comeback int

// Comebacks, the longer the pause the later in this list.
const (
	AsWritten  Comeback = iota // go on as written
	OneLighter                 // the first seven days one step lighter
	Retest                     // test the lifts again
)

// ComebackAfter returns what a pause of so many days asks for by a rule.
func ComebackAfter(days int, r client.ReturnRule) Comeback {
	switch {
	case days < r.AsWritten:
		return AsWritten
	case days <= r.Lighter:
		return OneLighter
	}
	return Retest
}

// Pause returns the block with all sessions from o.On to o.Until left out. Where
// lighter is not empty, it is the reason for which the sessions of the seven
// days after are one step lighter, [Dose.Lighter]. The revision rises by one; the
// written sessions stay. The error says which day is wrong, or that no session
// falls into the pause.
func (b *Block) Pause(o Overlay, lighter string) (*Block, error) {
	if err := b.inside(o); err != nil {
		return nil, err
	}
	last := b.last(o)
	if len(b.Between(o.On, last)) == 0 {
		return nil, fmt.Errorf("no session is left to do from %s to %s; a pause covers at least one", o.On, last)
	}
	changes := []Change{o.change("from", "pause")}
	if lighter != "" {
		back := Overlay{On: last.Plus(1), Until: last.Plus(backDays), By: o.By, Why: lighter}
		changes = append(changes, b.perSlot(back, "dose", func(s LaidSlot) (Dose, bool) {
			return s.Dose.Lighter(), true
		})...)
	}
	return b.with(changes), nil
}

// MoveTo returns the block with the sessions of the days in another place, by its
// id. The error says which day is wrong, or that there is nothing to move.
func (b *Block) MoveTo(place form.ID, o Overlay) (*Block, error) {
	if err := b.inside(o); err != nil {
		return nil, err
	}
	laid := b.Between(o.On, b.last(o))
	if len(laid) == 0 {
		return nil, fmt.Errorf("no session is left to do from %s to %s", o.On, b.last(o))
	}
	if !slices.ContainsFunc(laid, func(l Laid) bool { return l.Place != place }) {
		return nil, fmt.Errorf("every session from %s to %s is in the place %q already", o.On, b.last(o), place)
	}
	c := o.change("from", "place")
	c.Place = place
	return b.with([]Change{c}), nil
}

// SkipSession returns the block with a session, by its id, left out: on the day
// o.On, or on all its days up to o.Until where that is given. The error says that
// there is no such session, or on which days it could be left out.
func (b *Block) SkipSession(session form.ID, o Overlay) (*Block, error) {
	if o.Until.IsZero() {
		o.Until = o.On
	}
	var days []string
	found := false
	for _, l := range b.Between(b.Start, b.End()) {
		if l.Session.ID == session {
			days = append(days, l.On.String())
			found = found || !l.On.Before(o.On) && !o.Until.Before(l.On)
		}
	}
	if !slices.ContainsFunc(b.Sessions, func(s Session) bool { return s.ID == session }) {
		return nil, fmt.Errorf("there is no session %q in this block; there are %s", session, b.sessionNames())
	}
	if err := b.inside(o); err != nil {
		return nil, err
	}
	if len(days) == 0 {
		return nil, fmt.Errorf("session %q is left out on all its days already", session)
	}
	if !found {
		return nil, fmt.Errorf("session %q does not fall on %s; it is to be done on %s", session, o.On, strings.Join(days, ", "))
	}
	c := o.change("session", "skip")
	c.Session = session
	return b.with([]Change{c}), nil
}

// SkipSlots returns the block with every slot for which hit is true left out, or
// the block itself where there is none.
func (b *Block) SkipSlots(o Overlay, hit func(LaidSlot) bool) (*Block, error) {
	if err := b.inside(o); err != nil {
		return nil, err
	}
	return b.withAny(b.perSlot(o, "skip", func(s LaidSlot) (Dose, bool) { return Dose{}, hit(s) })), nil
}

// FewerSets returns the block with one set fewer on that side in every slot for
// which hit is true and that has two or more sets, [Dose.FewerSets], or the block
// itself where there is none.
func (b *Block) FewerSets(o Overlay, side anatomy.Side, hit func(LaidSlot) bool) (*Block, error) {
	if err := b.inside(o); err != nil {
		return nil, err
	}
	return b.withAny(b.perSlot(o, "dose", func(s LaidSlot) (Dose, bool) { return s.Dose.FewerSets(side), hit(s) })), nil
}

// Between returns the sessions left to do from one day to another, both
// included, as they hold after the block's changes, in the order of their days.
func (b *Block) Between(from, to form.Date) []Laid {
	var out []Laid
	for week := 1; week <= b.Weeks; week++ {
		for _, l := range b.Lay(week) {
			if !l.On.Before(from) && !to.Before(l.On) {
				out = append(out, l)
			}
		}
	}
	return out
}

// inside refuses days that are outside the block or the wrong way round.
func (b *Block) inside(o Overlay) error {
	if !o.Until.IsZero() && o.Until.Before(o.On) {
		return fmt.Errorf("it ends on %s, before it starts on %s", o.Until, o.On)
	}
	for _, day := range []form.Date{o.On, b.last(o)} {
		if day.Before(b.Start) || b.End().Before(day) {
			return fmt.Errorf("%s is outside the block, which runs from %s to %s", day, b.Start, b.End())
		}
	}
	return nil
}

// last returns the last day of an overlay.
func (b *Block) last(o Overlay) form.Date {
	if o.Until.IsZero() {
		return b.End()
	}
	return o.Until
}

// change starts a change that holds as long as the overlay.
func (o Overlay) change(scope ChangeScope, do ChangeKind) Change {
	return Change{On: o.On, Until: o.Until, By: o.By, Why: o.Why, Scope: scope, Do: do}
}

// perSlot makes a change of one kind for every slot that to names a dose for,
// from day to day, in the order of their days: one change for days that follow
// each other and come to the same. A dose that would change nothing gives none.
func (b *Block) perSlot(o Overlay, do ChangeKind, to func(LaidSlot) (Dose, bool)) []Change {
	type day struct {
		on   form.Date
		slot LaidSlot
	}
	days := map[form.ID][]day{}
	for _, l := range b.Between(o.On, b.last(o)) {
		for _, s := range l.Slots {
			days[s.Slot.ID] = append(days[s.Slot.ID], day{l.On, s})
		}
	}
	var out []Change
	for _, id := range b.slotIDs() {
		running := false // the last change of out goes on
		for _, d := range days[form.ID(id)] {
			dose, hit := to(d.slot)
			if hit = hit && !(do == "dose" && dose.Equal(d.slot.Dose)); !hit {
				running = false
				continue
			}
			dose = d.slot.Slot.unfill(dose)
			if running && out[len(out)-1].Dose.Equal(dose) {
				out[len(out)-1].Until = d.on
				continue
			}
			c := o.change("slot", do)
			c.Slot, c.Dose, c.On, c.Until = form.ID(id), dose, d.on, d.on
			out = append(out, c)
			running = true
		}
	}
	slices.SortStableFunc(out, func(x, y Change) int { return x.On.Days(y.On) })
	return out
}

// with returns a copy of the block with changes laid on top, each with an id that
// nothing in the block has, and the revision raised.
func (b *Block) with(changes []Change) *Block {
	c := b.Clone()
	c.Revision++
	used := map[form.ID]bool{}
	for _, s := range c.Sessions {
		used[s.ID] = true
		for _, slot := range s.Slots {
			used[slot.ID] = true
		}
	}
	for _, old := range c.Changes {
		used[old.ID] = true
	}
	n := 1
	for _, x := range changes {
		for used[changeID(n)] {
			n++
		}
		x.ID = changeID(n)
		used[x.ID] = true
		c.Changes = append(c.Changes, x)
	}
	return c
}

// withAny is with, but for no changes the block itself.
func (b *Block) withAny(changes []Change) *Block {
	if len(changes) == 0 {
		return b
	}
	return b.with(changes)
}

// changeID returns the id of the n-th change, c1, c2 and so on.
func changeID(n int) form.ID { return form.ID(fmt.Sprintf("c%d", n)) }

// sessionNames lists the sessions by id and name.
func (b *Block) sessionNames() string {
	var out []string
	for _, s := range b.Sessions {
		out = append(out, fmt.Sprintf("%s (%s)", s.ID, s.Name))
	}
	return strings.Join(out, ", ")
}

// unfill takes out of a dose what the slot says itself; fill adds it again.
func (s *Slot) unfill(d Dose) Dose {
	d.Text = ""
	if !s.Rest.IsZero() && d.Rest.Equal(s.Rest) {
		d.Rest = unit.Duration{}
	}
	if t, err := ParseTempo(s.Tempo); err == nil && t.String() == d.Tempo.String() {
		d.Tempo = Tempo{}
	}
	if m, err := ParseMeasure(s.Measure); err == nil && slices.Equal(m, d.Measure) {
		d.Measure = nil
	}
	return d
}

// Lighter returns the dose one step lighter: loads in percent five points less,
// masses times 0.95, and one set fewer where a part has three or more. Other
// loads stay. All of it is our judgement (key judgement).
func (d Dose) Lighter() Dose {
	d = d.clone()
	d.Text = ""
	d.WarmUp = slices.Clone(d.WarmUp)
	for i := range d.WarmUp {
		d.WarmUp[i].Load = d.WarmUp[i].Load.lighter()
	}
	for i := range d.Parts {
		p := &d.Parts[i]
		if n := len(p.Sets); n >= lighterSets {
			p.Sets = p.Sets[:n-1]
		}
		for j := range p.Sets {
			p.Sets[j].Load = p.Sets[j].Load.lighter()
		}
	}
	return d
}

// lighter returns the load one step lighter.
func (l Load) lighter() Load {
	switch l.Kind {
	case PercentMax:
		p := l.Percent.Number()
		l.Percent = unit.PercentOf(max(p-lighterPoints, min(p, 1)))
	case Mass, MassInHand, Added:
		l.Mass = scaled(l.Mass, lighterFactor)
	}
	return l
}

// FewerSets returns the dose with one set fewer in every part that works the side
// and has two sets or more.
func (d Dose) FewerSets(side anatomy.Side) Dose {
	d = d.clone()
	d.Text = ""
	for i := range d.Parts {
		p := &d.Parts[i]
		if n := len(p.Sets); n >= painSets && p.Sides.Side().Meets(side) {
			p.Sets = p.Sets[:n-1]
		}
	}
	return d
}

// Side returns the side of the body a part is for.
func (s DoseSides) Side() anatomy.Side {
	switch s {
	case LeftOnly:
		return anatomy.Left
	case RightOnly:
		return anatomy.Right
	}
	return anatomy.Both
}

// Side returns the side of the body the slot works on the day.
func (s LaidSlot) Side() anatomy.Side {
	if s.Slot.Side != anatomy.NoSide {
		return s.Slot.Side
	}
	side := anatomy.NoSide
	for _, p := range s.Dose.Parts {
		if x := p.Sides.Side(); side != anatomy.NoSide && x != side {
			return anatomy.Both
		} else {
			side = x
		}
	}
	return side
}
