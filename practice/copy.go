package practice

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/unit"
)

// A Copy says what is copied to other clients: a slot, a session, a week or a block.
type Copy struct {
	Block   string    // id of the block it is taken from; empty for a kept session
	Kept    string    // id of a kept session
	Session form.ID   // of the block, for a session; empty otherwise
	Slot    form.ID   // for a slot
	Week    int       // for a week: its sessions as they hold become a block of one week
	Start   form.Date // Monday a copied week or block starts on; the source's if zero
	Into    form.ID   // session a slot goes into; the one of the same id, or the first
	ReAim   bool      // loads in masses become the effort they were, and are found anew for each
}

// source opens what a change copies from; nil where nothing is copied.
func (p *Practice) source(ctx context.Context, who *Account, m Many) (*Case, error) {
	if m.Do != CopyMany {
		return nil, nil
	}
	if m.Copy.Kept != "" {
		b, err := p.keptSession(ctx, who, m.Copy.Kept)
		if err != nil {
			return nil, err
		}
		return &Case{Block: b}, nil
	}
	c, err := p.Open(ctx, who, m.Copy.Block)
	if err != nil {
		return nil, err
	}
	b := c.Block
	switch {
	case m.Copy.Slot != "":
		if _, slot := b.SlotByID(m.Copy.Slot); slot == nil {
			return nil, fail(Conflict, string(m.Copy.Slot), "this exercise is no longer in the block; reload the page")
		}
	case m.Copy.Session != "":
		if !slices.ContainsFunc(b.Sessions, func(s plan.Session) bool { return s.ID == m.Copy.Session }) {
			return nil, fail(Conflict, string(m.Copy.Session), "this session is no longer in the block; reload the page")
		}
	case m.Copy.Week < 0 || m.Copy.Week > b.Weeks:
		return nil, fail(Refused, "week", "the block has weeks 1 to %d", b.Weeks)
	}
	return c, nil
}

// copyTo makes the block of a client with what is copied in it.
func (p *Practice) copyTo(d *Difference, c Copy, source *Case, say func(en, de string, args ...any)) {
	if d.Block != "" && d.Block == source.Doc.ID && (c.Slot != "" || c.Session != "") {
		say("it is taken from this block", "es stammt aus diesem Block")
		return
	}
	aim := p.aim(source, d.before.Client, c.ReAim)
	if c.Slot == "" && c.Session == "" && c.Kept == "" {
		p.copyBlock(d, c, source, aim)
		return
	}
	if d.before.Block == nil {
		say("no block yet to copy into", "noch kein Block, in den kopiert werden kann")
		return
	}
	d.after = d.before.Block.Clone()
	if c.Slot != "" {
		_, slot := source.Block.SlotByID(c.Slot)
		into := slices.IndexFunc(d.after.Sessions, func(s plan.Session) bool { return s.ID == c.Into })
		if s, _ := source.Block.SlotByID(c.Slot); into < 0 {
			into = max(0, slices.IndexFunc(d.after.Sessions, func(o plan.Session) bool { return o.ID == s.ID }))
		}
		s := plan.Session{Slots: []plan.Slot{*slot}}
		aim(&s)
		renamed(d.after, &s)
		s.Slots[0].Superset = ""
		d.after.Sessions[into].Slots = append(d.after.Sessions[into].Slots, s.Slots...)
		return
	}
	i := slices.IndexFunc(source.Block.Sessions, func(s plan.Session) bool { return s.ID == c.Session })
	s := source.Block.Clone().Sessions[max(i, 0)]
	s.Day, s.Place = freeDay(d.before.Client, d.after, s.Day), placeOn(d.before.Client, s)
	s.Minutes = 0
	aim(&s)
	renamed(d.after, &s)
	d.after.Sessions = append(d.after.Sessions, s)
}

// copyBlock makes a new block of a week or of the whole source.
func (p *Practice) copyBlock(d *Difference, c Copy, source *Case, aim func(*plan.Session)) {
	b := source.Block.Clone()
	if c.Week > 0 {
		b = oneWeek(b, c.Week)
	} else {
		b.Changes = nil
	}
	b.Kept, b.Private, b.MadeWith = nil, "", plan.MadeWith{}
	b.State, b.Revision = plan.Draft, 1
	b.Client, b.Group = d.Client+fileEnd, ""
	if !c.Start.IsZero() {
		b.Start = c.Start
	}
	b.Note, b.For = clean(b.Note, source.Client), clean(b.For, source.Client)
	for i := range b.Sessions {
		s := &b.Sessions[i]
		s.Place, s.Minutes = placeOn(d.before.Client, *s), 0
		aim(s)
	}
	b.ID = form.ID(fmt.Sprintf("%s-%s", d.Client, strings.TrimPrefix(string(source.Block.ID), source.Doc.Owner+"-")))
	if d.Block != "" {
		b.ID = form.ID(fmt.Sprintf("%s-v%d", b.ID, d.Version))
	}
	d.New, d.after, d.Block, d.BlockName, d.Version = true, b, string(b.ID), b.Name, 0
}

// oneWeek is a block of the sessions of one week as they hold, changes laid over.
func oneWeek(b *plan.Block, week int) *plan.Block {
	out := b.Clone()
	out.Weeks, out.Deload, out.Changes, out.Sessions = 1, nil, nil, nil
	out.Start = b.Start.Plus(7 * (week - 1))
	for _, l := range b.Lay(week) {
		s := *l.Session
		s.Place, s.Slots = l.Place, nil
		for _, x := range l.Slots {
			slot := *x.Slot
			dose := x.Dose
			dose.Text = ""
			if !slot.Rest.IsZero() { // what the slot says stays with the slot
				dose.Rest = unit.Duration{}
			}
			if slot.Tempo != "" {
				dose.Tempo = plan.Tempo{}
			}
			if slot.Measure != "" {
				dose.Measure = nil
			}
			slot.Dose, slot.Weeks, slot.Progress = dose, nil, plan.Progress{}
			s.Slots = append(s.Slots, slot)
		}
		if len(s.Slots) > 0 {
			out.Sessions = append(out.Sessions, s)
		}
	}
	return out
}

// renamed gives a session and its slots ids that were never used in a block, and
// follows them where reasons name them.
func renamed(b *plan.Block, s *plan.Session) {
	used := map[form.ID]bool{}
	for _, o := range b.Sessions {
		used[o.ID] = true
		for _, x := range o.Slots {
			used[x.ID] = true
		}
	}
	n := 0
	fresh := func() form.ID {
		for n++; ; n++ {
			if id := form.ID(fmt.Sprintf("n%d-%d", b.Revision+1, n)); !used[id] {
				return id
			}
		}
	}
	s.ID = fresh()
	now := map[form.ID]form.ID{}
	s.Slots = slices.Clone(s.Slots)
	for i := range s.Slots {
		id := fresh()
		now[s.Slots[i].ID], s.Slots[i].ID = id, id
	}
	for i := range s.Slots {
		var kept []plan.Reason
		for _, r := range s.Slots[i].Reasons {
			if to := r.Prepare + r.For; to != "" {
				if now[to] == "" {
					continue // the later exercise is not here
				}
				if r.Prepare != "" {
					r.Prepare = now[to]
				} else {
					r.For = now[to]
				}
			}
			kept = append(kept, r)
		}
		s.Slots[i].Reasons = kept
	}
}

// freeDay is the day of a copied session: its own where the client trains then, else
// the client's first day without a session.
func freeDay(c *client.Client, b *plan.Block, day client.Weekday) client.Weekday {
	for _, d := range c.Days {
		if d.Day == day {
			return day
		}
	}
	for _, d := range c.Days {
		if !slices.ContainsFunc(b.Sessions, func(s plan.Session) bool { return s.Day == d.Day }) {
			return d.Day
		}
	}
	return day
}

// placeOn is where a client trains on the day of a session: as their days say, else
// their first place, else as written.
func placeOn(c *client.Client, s plan.Session) form.ID {
	for _, d := range c.Days {
		if d.Day == s.Day && d.Place != "" {
			return d.Place
		}
	}
	if c.PlaceByID(s.Place) == nil && len(c.Places) > 0 {
		return c.Places[0].ID
	}
	return s.Place
}

// aim returns what is done to each copied session: what is about the other client is
// taken out, and loads in masses are re-aimed where that is asked for.
func (p *Practice) aim(source *Case, to *client.Client, reAim bool) func(*plan.Session) {
	var reserves map[form.ID]map[int]float64
	if reAim && source.Client != nil {
		reserves = p.reserves(source)
	}
	return func(s *plan.Session) {
		s.Note = clean(s.Note, source.Client)
		s.Slots = slices.Clone(s.Slots)
		for i := range s.Slots {
			x := &s.Slots[i]
			anonymous(x, source.Client)
			if reAim {
				x.Weeks = maps.Clone(x.Weeks)
				x.EachDose(func(d plan.Dose) plan.Dose { return reAimed(d, reserves[x.ID]) })
			}
		}
	}
}

// anonymous takes out of a slot what is about the client it was written for.
func anonymous(x *plan.Slot, c *client.Client) {
	x.Private, x.Was, x.Shares, x.Lock = "", nil, nil, false
	x.Note = clean(x.Note, c)
	x.Reasons = slices.DeleteFunc(slices.Clone(x.Reasons), func(r plan.Reason) bool { return r.Test != nil })
	for i := range x.Reasons {
		x.Reasons[i].Because = ""
		for _, m := range []**anatomy.MuscleSide{&x.Reasons[i].Load, &x.Reasons[i].Spare} {
			if *m != nil && (*m).Side != anatomy.NoSide {
				*m = &anatomy.MuscleSide{Muscle: (*m).Muscle}
			}
		}
	}
}

// clean returns a note, or nothing where it names the client it was written for.
func clean(note string, c *client.Client) string {
	if c == nil {
		return note
	}
	for _, word := range strings.Fields(strings.ToLower(c.Name)) {
		if len(word) > 2 && strings.Contains(strings.ToLower(note), word) {
			return ""
		}
	}
	return note
}

// reserves are the repetitions in reserve of each set of a block for its client, by
// slot and set, in week 1, where their lifts say so.
func (p *Practice) reserves(c *Case) map[form.ID]map[int]float64 {
	out := map[form.ID]map[int]float64{}
	a := session.NewAthlete(c.Client, p.Library, c.Practice, c.Block.Start)
	for _, v := range a.Week(c.Block, 1, session.Options{}).Visits {
		for _, s := range v.Sets {
			id := v.Items[s.Item].Slot.ID
			if s.Warm || s.P <= 0 {
				continue
			}
			if out[id] == nil {
				out[id] = map[int]float64{}
			}
			if had, ok := out[id][s.N]; !ok || s.Reserve < had {
				out[id][s.N] = s.Reserve
			}
		}
	}
	return out
}

// mostReserve bounds the reserve a re-aimed set asks for: what is further from failure
// is not told by repetitions in reserve (our judgement; key judgement).
const mostReserve = 6

// reAimed returns a dose for somebody else: loads in masses go, the effort they were
// stays or is written; each side does the same; percentages and the body's own weight
// stay as they are.
func reAimed(d plan.Dose, reserves map[int]float64) plan.Dose {
	if len(d.Parts) > 1 {
		d = d.Together().EachSide()
	}
	d.WeakFirst = false
	if slices.ContainsFunc(d.WarmUp, func(s plan.Set) bool { return ofOne(s.Load) }) {
		d.WarmUp = nil // the program proposes one for the load it finds
	}
	n := 0
	return d.EachSet(func(s plan.Set) plan.Set {
		n++
		if !ofOne(s.Load) {
			return s
		}
		if s.Effort.Kind == plan.Unasked && !s.Work.Max {
			r, ok := reserves[n]
			if !ok {
				return s // nothing says how hard it was: as written
			}
			tenths := 10 * int(math.Round(min(max(r, 0), mostReserve)))
			s.Effort = plan.Effort{Kind: plan.RIR, Low: tenths, High: tenths}
		}
		s.Load = plan.Load{}
		return s
	})
}

// ofOne says whether a load was chosen for one client: another's may be another.
func ofOne(l plan.Load) bool {
	switch l.Kind {
	case plan.Mass, plan.MassInHand, plan.Added, plan.Assisted, plan.RepMax, plan.Pin, plan.Level:
		return true
	}
	return false
}
