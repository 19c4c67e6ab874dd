package session

import (
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
)

// A Week is the visits of one week and what they count for together.
type Week struct {
	Number int
	Visits []*Visit // in the order of their days
	Work   map[MuscleSide]Count
	Lifts  map[string]float64 // lift sets by judged lift
}

// NewWeek adds up visits. lifts are the judged lifts, by id; a set counts for a
// lift where the exercise is the lift or declared a variant of it.
func NewWeek(number int, visits []*Visit, lifts []string) *Week {
	w := &Week{Number: number, Visits: visits, Work: map[MuscleSide]Count{}, Lifts: map[string]float64{}}
	for _, v := range visits {
		for i, s := range v.Slots {
			for key, c := range s.Work {
				w.Work[key] = w.Work[key].Add(c)
			}
			for _, l := range lifts {
				if v.Items[i].Exercise.Counts(l) {
					w.Lifts[l] += s.LiftSets
				}
			}
		}
	}
	return w
}

// Of returns the count of a muscle on a side; for both or no side the mean of
// left and right.
func (w *Week) Of(m anatomy.Muscle, side anatomy.Side) Count {
	return Pick(w.Work, m, side)
}

// Pick returns the count of a muscle on a side from a map by muscle and side;
// for both or no side the mean of left and right.
func Pick(work map[MuscleSide]Count, m anatomy.Muscle, side anatomy.Side) Count {
	l, r := work[MuscleSide{m, anatomy.Left}], work[MuscleSide{m, anatomy.Right}]
	switch side {
	case anatomy.Left:
		return l
	case anatomy.Right:
		return r
	}
	sum := l.Add(r)
	return Count{sum.Direct / 2, sum.Indirect / 2, sum.Continuous / 2}
}

// Judged lists the lifts a client is judged by, each once: lifts with an aim,
// then lifts of goals.
func (a *Athlete) Judged() []string {
	var out []string
	seen := map[string]bool{}
	add := func(id string) {
		if id != "" && !seen[id] {
			seen[id] = true
			out = append(out, id)
		}
	}
	for _, aim := range a.Client.Aims {
		add(aim.Exercise)
	}
	for _, g := range a.Client.Goals {
		add(g.Exercise)
	}
	return out
}

// Options say how a block is run.
type Options struct {
	Draws int    // draws for the bands, 0 for none
	Seed  uint64 // of the draws
	Week  int    // only this week; 0 for all
}

// Block runs every session of a block, week by week.
func (a *Athlete) Block(b *plan.Block, o Options) []*Week {
	var out []*Week
	for w := 1; w <= b.Weeks; w++ {
		if o.Week != 0 && o.Week != w {
			continue
		}
		out = append(out, a.Week(b, w, o))
	}
	return out
}

// Week runs the sessions of one week as they hold after the block's changes, in
// the order of their days.
func (a *Athlete) Week(b *plan.Block, w int, o Options) *Week {
	var visits []*Visit
	for _, laid := range b.Lay(w) {
		items := a.itemsOf(laid)
		if len(items) == 0 {
			continue
		}
		seed := o.Seed + uint64(w)*1000 + uint64(laid.Index)
		visits = append(visits, a.Visit(laid.Session, w, items, a.Client.PlaceByID(laid.Place), o.Draws, seed))
	}
	return NewWeek(w, visits, a.Judged())
}

// Again returns a week of another version of a block that w is a week of: visits
// of sessions that are the same in both are used again, the others are run
// without draws.
func (a *Athlete) Again(w *Week, old, changed *plan.Block) *Week {
	return a.Trial(w, nil, old, changed, Try{})
}

// A Try says how much of a week is run to try an edit; the zero value is all.
type Try struct {
	Session form.ID // this session alone; the week then counts nothing
	Until   form.ID // up to this slot of it, with the rest of its superset
	Lean    bool    // without what each exercise costs the later ones (Lost is then 0) and the continuous count
	Bare    bool    // without what sets count for and what muscles have left, too
}

// Trial is Again for trying an edit in week after week: a session that is done
// just as in one of the weeks tried before is not run again.
func (a *Athlete) Trial(w *Week, tried []*Week, old, changed *plan.Block, how Try) *Week {
	alike := sameFrame(old, changed)
	var visits []*Visit
	for _, laid := range changed.LayOnly(w.Number, func(s *plan.Session) bool {
		return (how.Session == "" || how.Session == s.ID) && !(alike && unchanged(old, s))
	}) {
		if how.Session != "" && laid.Session.ID != how.Session {
			continue
		}
		if laid.Slots == nil { // unchanged: not laid again
			if v := w.visitOf(laid.Session.ID); v != nil {
				visits = append(visits, v)
			}
			continue
		}
		items := until(a.itemsOf(laid), how.Until)
		if len(items) == 0 {
			continue
		}
		place := a.Client.PlaceByID(laid.Place)
		if v := sameVisit(tried, laid.Session.ID, items, place); v != nil {
			clean := *v
			clean.Week, clean.Items = w.Number, items
			visits = append(visits, &clean)
			continue
		}
		visits = append(visits, a.visit(laid.Session, w.Number, items, place, how))
	}
	if how.Session != "" {
		return &Week{Number: w.Number, Visits: visits}
	}
	return NewWeek(w.Number, visits, a.Judged())
}

// until cuts items after a slot and its superset; all stay where it is not there.
func until(items []Item, slot form.ID) []Item {
	at := slices.IndexFunc(items, func(it Item) bool { return it.Slot.ID == slot })
	if at < 0 {
		return items
	}
	end := at + 1
	for end < len(items) && items[at].Slot.Superset != "" && items[end].Slot.Superset == items[at].Slot.Superset {
		end++
	}
	return items[:end]
}

// sameVisit finds a visit of a session in other weeks that is done just so.
func sameVisit(weeks []*Week, id form.ID, items []Item, place *client.Place) *Visit {
	for _, w := range weeks {
		for _, v := range w.Visits {
			if v.Session.ID == id && v.Place == place && slices.EqualFunc(v.Items, items, Item.same) {
				return v
			}
		}
	}
	return nil
}

// same says whether two items are done just the same.
func (i Item) same(o Item) bool {
	return i.Exercise == o.Exercise && i.Stage == o.Stage && (i.Slot == o.Slot || i.Slot.Same(o.Slot)) && i.Dose.Same(o.Dose)
}

// visitOf returns the visit of a session without its draws, or nil.
func (w *Week) visitOf(id form.ID) *Visit {
	for _, v := range w.Visits {
		if v.Session.ID == id {
			clean := *v
			clean.Draws = nil
			return &clean
		}
	}
	return nil
}

// sameFrame says whether two versions of a block have the same weeks, deload and
// changes.
func sameFrame(a, b *plan.Block) bool {
	deload := a.Deload == b.Deload || a.Deload != nil && b.Deload != nil && *a.Deload == *b.Deload
	return a.Start == b.Start && a.Weeks == b.Weeks && deload && slices.EqualFunc(a.Changes, b.Changes, plan.Change.Same)
}

// unchanged says whether a session stands in a block as it is, slots and all.
func unchanged(b *plan.Block, s *plan.Session) bool {
	for i := range b.Sessions {
		old := &b.Sessions[i]
		if old.ID != s.ID {
			continue
		}
		if old.Name != s.Name || old.Day != s.Day || old.Place != s.Place || old.Minutes != s.Minutes || len(old.Slots) != len(s.Slots) {
			return false
		}
		for j := range s.Slots {
			if !s.Slots[j].Same(&old.Slots[j]) {
				return false
			}
		}
		return true
	}
	return false
}
