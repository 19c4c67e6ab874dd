package session

import (
	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
	"corbel/unit"
)

// FitChanges turns the masses of doses that changes lay over a block into loads the
// place has where they are done first: the heaviest that is not above what the change
// gives, else the lightest there is. The changes are among those of the block.
func FitChanges(b *plan.Block, changes []plan.Change, c *client.Client, lib *exercise.Library) {
	for _, ch := range changes {
		e, place := doneWhere(b, ch, c, lib)
		if ch.Do != "dose" || e == nil {
			continue
		}
		for i := range ch.Dose.WarmUp {
			fitLoad(&ch.Dose.WarmUp[i].Load, e, place)
		}
		for _, p := range ch.Dose.Parts {
			for i := range p.Sets {
				fitLoad(&p.Sets[i].Load, e, place)
			}
		}
	}
}

// fitLoad makes a mass one the place has.
func fitLoad(l *plan.Load, e *exercise.Exercise, place *client.Place) {
	loads := Achievable(e, place, l.Kind == plan.MassInHand)
	if len(loads) == 0 || l.Kind != plan.Mass && l.Kind != plan.MassInHand {
		return
	}
	under := loads[0]
	for _, m := range loads {
		if m.Kilogram() <= l.Mass.Kilogram() {
			under = m
		}
	}
	if u := l.Mass.Unit(); u != under.Unit() { // a mass knows its unit by its text alone
		if in, err := unit.ParseMass(under.Print(u)); err == nil {
			under = in
		}
	}
	l.Mass = under
}

// doneWhere returns what is done in the slot of a change, and at which place, on the
// first day it holds.
func doneWhere(b *plan.Block, ch plan.Change, c *client.Client, lib *exercise.Library) (*exercise.Exercise, *client.Place) {
	for _, l := range b.Between(ch.On, b.End()) {
		for _, s := range l.Slots {
			if s.Slot.ID == ch.Slot {
				return lib.ByID(s.Slot.Exercise), c.PlaceByID(l.Place)
			}
		}
	}
	return nil, nil
}
