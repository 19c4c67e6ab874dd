package design

import (
	"fmt"
	"slices"

	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
)

// A Change says what became of an exercise of the block before, or what came new.
type Change struct {
	Session string `json:"session"`
	From    string `json:"from"` // exercise of the block before; empty for what is new
	To      string `json:"to"`   // exercise now; empty for what is gone
	Why     Why    `json:"why"`
}

// Why is the reason of a change, or of none.
type Why string

// Reasons of changes.
const (
	StaysMain    Why = "main-lift"    // main lifts stay
	StaysLimit   Why = "limit-open"   // a drill stays while its limit is open
	StaysLocked  Why = "locked"       // the coach holds it
	StaysAlone   Why = "only-one"     // nothing else of its family is there
	StaysWorth   Why = "worth-it"     // nothing else is worth more
	StaysMoved   Why = "moves"        // it stands on another day
	GoesRotated  Why = "rotates"      // another of its family takes its turn
	GoesNotThere Why = "not-there"    // the place has not what it needs
	GoesStopped  Why = "stopped"      // the safety list stops it
	GoesUnwanted Why = "unwanted"     // wished away
	GoesClosed   Why = "limit-closed" // the limit its drill showed is no longer on record
	GoesWorth    Why = "worth-more"   // the week is worth more without it
	ComesNew     Why = "new"          // it fills what is short now
)

// Worth of taking turns, 1/1000 point (our judgement; key judgement).
const (
	turnGain = 600  // another of the family of an accessory that rotates, on its day
	turnCost = 1500 // the accessory itself
)

// rotates says whether an exercise of the block before gives its place to another of
// its family: accessories and isolations do where the client wishes it, and from one
// block to the next unless the client wishes to keep; not where nothing else of the
// family may stand that day.
func (b *builder) rotates(e *exercise.Exercise, stage exercise.Stage, day int) bool {
	variety := b.w.Client.Wishes.Variety
	wanted := variety == client.Rotate || b.w.Next && variety != client.KeepExercises
	if !wanted || b.w.Few || stage != exercise.Accessory && stage != exercise.Isolation || b.judged(e) {
		return false
	}
	return b.turn(e, day) != ""
}

// turn returns another exercise of a family that may stand on a day, or nothing.
func (b *builder) turn(e *exercise.Exercise, day int) string {
	key := turnKey{e, day}
	if known, ok := b.turns[key]; ok {
		return known
	}
	b.turns[key] = ""
	for i, o := range b.w.Library.All() {
		if o != e && o.Family() == e.Family() && o.Stage != exercise.Drill && b.mayStand(o, i, day) {
			b.turns[key] = string(o.ID)
			break
		}
	}
	return b.turns[key]
}

// A turnKey is an exercise on a day.
type turnKey struct {
	e   *exercise.Exercise
	day int
}

// stageIn returns the stage an exercise has in a slot.
func stageIn(e *exercise.Exercise, s *plan.Slot) exercise.Stage {
	if s.Stage != "" {
		return exercise.Stage(s.Stage)
	}
	return e.Stage
}

// keeps is what an option earns or loses by what stood in the block before: main
// lifts and others earn by staying, drills while their limit is open, accessories
// that rotate lose, and others of their family earn on that day.
func (b *builder) keeps(o built, day int) int {
	if b.w.Keep == nil || day >= len(b.w.Keep.Sessions) {
		return 0
	}
	sum := 0
	for i := range b.w.Keep.Sessions[day].Slots {
		s := &b.w.Keep.Sessions[day].Slots[i]
		e := b.w.Library.ByID(s.Exercise)
		if e == nil {
			continue
		}
		stage := stageIn(e, s)
		same, rotates := e == o.exercise && stage == o.stage, b.rotates(e, stage, day)
		switch {
		case same && rotates:
			sum -= turnCost
		case same && b.w.Few:
			sum += fewGain
		case same && b.w.Next && stage == exercise.Drill && !b.tests(e):
		case same:
			sum += keepGain
		case rotates && o.stage != exercise.Drill && e.Family() == o.exercise.Family():
			sum = max(sum, turnGain)
		}
	}
	return sum
}

// tests says whether an exercise shows a limit on record.
func (b *builder) tests(e *exercise.Exercise) bool {
	_, ok := b.limitOf(e)
	return ok && slices.Contains(e.May, exercise.Test)
}

// changes compares a proposal with the block before, session by session.
func (b *builder) changes(p *Proposal) []Change {
	out := []Change{}
	if b.w.Keep == nil {
		return out
	}
	for d := range b.list {
		session := fmt.Sprintf("s%d", d+1)
		var fresh []*exercise.Exercise
		for _, x := range p.Placed {
			if x.Day == d && !b.stoodOn(b.options[x.Option].exercise, d) {
				fresh = append(fresh, b.options[x.Option].exercise)
			}
		}
		if d < len(b.w.Keep.Sessions) {
			for i := range b.w.Keep.Sessions[d].Slots {
				c := b.change(&b.w.Keep.Sessions[d].Slots[i], d, p, &fresh)
				c.Session = session
				out = append(out, c)
			}
		}
		for _, e := range fresh {
			out = append(out, Change{session, "", string(e.ID), ComesNew})
		}
	}
	return moved(out)
}

// moved joins what is gone from one day and new on another.
func moved(list []Change) []Change {
	gone := map[string]int{} // times
	for _, c := range list {
		if c.To == "" && c.Why == GoesWorth {
			gone[c.From]++
		}
	}
	left := map[string]int{}
	for i := range list {
		if c := &list[i]; c.From == "" && gone[c.To] > left[c.To] {
			left[c.To]++
			c.From, c.Why = c.To, StaysMoved
		}
	}
	return slices.DeleteFunc(list, func(c Change) bool {
		if c.To != "" || c.Why != GoesWorth || left[c.From] == 0 {
			return false
		}
		left[c.From]--
		return true
	})
}

// stoodOn says whether an exercise stood on a day of the block before.
func (b *builder) stoodOn(e *exercise.Exercise, day int) bool {
	return day < len(b.w.Keep.Sessions) && slices.ContainsFunc(b.w.Keep.Sessions[day].Slots, func(s plan.Slot) bool { return s.Exercise == string(e.ID) })
}

// change says what became of a slot; what takes its turn is taken off the list of
// what is new.
func (b *builder) change(s *plan.Slot, day int, p *Proposal, fresh *[]*exercise.Exercise) Change {
	e := b.w.Library.ByID(s.Exercise)
	if e == nil {
		return Change{From: s.Exercise, Why: GoesNotThere}
	}
	stage := stageIn(e, s)
	stays := slices.ContainsFunc(p.Placed, func(x Placed) bool { return x.Day == day && b.options[x.Option].exercise == e })
	if stays {
		return Change{From: s.Exercise, To: s.Exercise, Why: b.whyStays(s, e, stage, day)}
	}
	out := Change{From: s.Exercise, Why: b.whyGoes(s, e, stage, day)}
	at := slices.IndexFunc(*fresh, func(f *exercise.Exercise) bool { return f.Family() == e.Family() })
	if at < 0 && out.Why == GoesRotated {
		out.Why = GoesWorth
	}
	if at < 0 {
		at = slices.IndexFunc(*fresh, func(f *exercise.Exercise) bool { return f.Pattern == e.Pattern && f.Stage == e.Stage })
	}
	if at >= 0 {
		out.To = string((*fresh)[at].ID)
		*fresh = slices.Delete(*fresh, at, at+1)
	}
	return out
}

// whyStays says why a slot stays.
func (b *builder) whyStays(s *plan.Slot, e *exercise.Exercise, stage exercise.Stage, day int) Why {
	variety := b.w.Next && b.w.Client.Wishes.Variety != client.KeepExercises || b.w.Client.Wishes.Variety == client.Rotate
	switch {
	case s.Lock:
		return StaysLocked
	case stage == exercise.Main || b.judged(e):
		return StaysMain
	case stage == exercise.Drill && b.tests(e):
		return StaysLimit
	case variety && (stage == exercise.Accessory || stage == exercise.Isolation) && b.turn(e, day) == "":
		return StaysAlone
	}
	return StaysWorth
}

// whyGoes says why a slot does not stay.
func (b *builder) whyGoes(s *plan.Slot, e *exercise.Exercise, stage exercise.Stage, day int) Why {
	index := slices.Index(b.w.Library.All(), e)
	place := b.w.Client.PlaceByID(b.list[day].Place)
	switch {
	case b.stopped[fmt.Sprintf("x%d-%d", day, index)]:
		return GoesStopped
	case slices.Contains(b.w.Client.Wishes.Without, string(e.ID)):
		return GoesUnwanted
	case place == nil || slices.ContainsFunc(e.Equipment, func(q client.Equipment) bool { return !place.Offers(q) }):
		return GoesNotThere
	case slices.ContainsFunc(s.Reasons, func(r plan.Reason) bool { return r.Test != nil }) && !b.tests(e):
		return GoesClosed
	case b.rotates(e, stage, day):
		return GoesRotated
	}
	return GoesWorth
}
