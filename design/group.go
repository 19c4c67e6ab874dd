package design

import (
	"slices"

	"corbel/check"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// A GroupWish is what a group programme is proposed from. The programme is designed
// for a body of reference size with every question answered no: what a member may
// not do is found out by checking the block for the member.
type GroupWish struct {
	Group   *plan.Group
	Library *exercise.Library
	Start   form.Date
	Place   form.ID // place it is designed for; the first if empty
	Minutes int     // of each session
	Any     bool    // members do any sessions, not the first ones in listed order
	Keep    *plan.Block
	Next    bool // Keep is the release before: accessories take turns within their families
	Moves   int
	Seed    uint64
	Draws   int
}

// Sizes of a group programme (six sessions, a member does 2 to 6), and the age of
// whom it is designed for (d; our judgement; key judgement).
const (
	groupSessions = 6
	fewestOfGroup = 2
	referenceAge  = 35 * 365
)

// GroupClient is the client a group programme is designed for, training at a place: one
// of reference size with every question answered no.
func GroupClient(w GroupWish, place form.ID) *client.Client {
	g := w.Group
	c := &client.Client{Form: form.Version, ID: g.ID, Name: g.Name, Language: g.Language, Places: g.Places, Experience: client.Some, Born: w.Start.Plus(-referenceAge),
		Goals: []client.Goal{{For: "general strength", Weight: 5}}}
	for i := range groupSessions {
		c.Days = append(c.Days, client.Day{Day: client.Weekday(client.Weekday("").Values()[i]), Minutes: w.Minutes, Place: place})
	}
	say := func(a client.Answer) client.Asked { return client.Asked{Answer: a, On: w.Start} }
	c.Clearance = client.Clearance{Active: say("yes"), Disease: say("no"), Symptoms: say("no"), Intensity: client.Vigorous}
	for _, q := range client.Asking.Groups {
		c.Flags = append(c.Flags, client.Flag{Ask: string(q.ID), Answer: client.No, On: w.Start})
	}
	return c
}

// ProposeGroup proposes six sessions of which a member does the first k of 2 to 6,
// or any k: the least share of what k sessions could be at best is made as large as
// can be, docs/model/08-design.md (14). What each k is worth is in the page's group.
func ProposeGroup(w GroupWish) (*Proposal, []Nested, error) {
	place := w.Place
	if place == "" && len(w.Group.Places) > 0 {
		place = w.Group.Places[0].ID
	}
	b, err := build(Wish{Client: GroupClient(w, place), Library: w.Library, Start: w.Start, Keep: w.Keep, Next: w.Next, Moves: w.Moves, Seed: w.Seed, Draws: w.Draws, group: true})
	if err != nil {
		return nil, nil, err
	}
	b.p.Near = nil // a member chooses the days
	b.p.Views = views(b.p, w.Any, w.Moves, w.Seed)
	out := b.propose()
	return out, b.nested(out), nil
}

// views lists the choices of sessions that are judged, each with the best value
// that its sessions can have alone, by a search of its own.
func views(p *Problem, any bool, moves int, seed uint64) []View {
	var out []View
	best := map[int]int64{}
	for set := 1; set < 1<<groupSessions; set++ {
		var days []int
		for d := range groupSessions {
			if set>>d&1 == 1 {
				days = append(days, d)
			}
		}
		listed := set&(set+1) == 0 // the first k
		if k := len(days); k >= fewestOfGroup && (any || listed) {
			if best[k] == 0 { // every day is like the others: one search for each k
				first := make([]int, k)
				for i := range first {
					first[i] = i
				}
				best[k] = max(Search(p.only(first), nil, moves, seed).Value, 1)
			}
			out = append(out, View{Days: days, Best: best[k]})
		}
	}
	slices.SortStableFunc(out, func(a, b View) int { return len(a.Days) - len(b.Days) })
	return out
}

// nested says what each number of sessions is worth, the worst of its views, and
// what its first sessions cover.
func (b *builder) nested(p *Proposal) []Nested {
	out := []Nested{}
	w := p.Record().week()
	for k := fewestOfGroup; k <= groupSessions; k++ {
		x := Nested{K: k, Percent: 1e9, Coverage: []Coverage{}}
		for i, v := range b.p.Views {
			if len(v.Days) == k {
				x.Percent = min(x.Percent, Tenth(100*float64(w.ViewValue(i))/float64(v.Best)))
			}
		}
		for _, c := range b.muscles {
			sum := 0
			for d := range k {
				sum += int(w.work[c.at*w.t.days+d])
			}
			if sum > 0 {
				x.Coverage = append(x.Coverage, Coverage{Muscle: string(c.m.Muscle), Side: string(c.m.Side), Got: Tenth(float64(sum) / SetUnit)})
			}
		}
		out = append(out, x)
	}
	return out
}

// Overlay says, for a member, which slots of a block their answers and restrictions
// rule out, or the place they train at has not the equipment for, with the exercise
// that the same problem would put there instead: of those the member may do there, the
// one that loses least. place may be nil: each session is then at its own.
func (r Record) Overlay(b *plan.Block, m *client.Client, place *client.Place, lib *exercise.Library) ([]Swap, []check.Problem) {
	problems := check.Safety(check.Input{Client: m, Block: b, Library: lib})
	out := []Swap{}
	now := b.Clone() // with the swaps so far, so that no exercise comes twice
	for _, x := range r.Placed {
		ses, s := now.SlotByID(x.Slot)
		if s == nil {
			continue
		}
		at := place
		if at == nil {
			at = m.PlaceByID(ses.Place)
		}
		swap := Swap{Slot: string(x.Slot), From: s.Exercise}
		stop := slices.IndexFunc(problems, func(p check.Problem) bool { return p.Blocks() && p.At.Slot == string(x.Slot) })
		switch e := lib.ByID(s.Exercise); {
		case stop >= 0:
			swap.Why = problems[stop].Text
		case e != nil && !hasAll(at, e):
			swap.NotThere = true
		default:
			continue
		}
		swap.To = r.allowedFor(now, x, m, at, lib)
		if swap.To != "" {
			now.Swap(x.Slot, swap.To)
		}
		out = append(out, swap)
	}
	return out, problems
}

// hasAll says whether a place has all the equipment of an exercise.
func hasAll(place *client.Place, e *exercise.Exercise) bool {
	return place == nil || !slices.ContainsFunc(e.Equipment, func(q client.Equipment) bool { return !place.Offers(q) })
}

// A Swap is an exercise of a group's block that a member may not do, with another;
// To is empty where none is allowed.
type Swap struct {
	Slot string `json:"slot"`
	From string `json:"from"`
	To   string `json:"to"`
	Why  string `json:"why"` // what rules it out; empty where the equipment is missing

	NotThere bool `json:"not_there"` // the place has not what it needs
}

// allowedFor returns the best replacement, one of the same family before others, that the safety list lets the member do,
// that the place has the equipment for, and that does not stand in the session yet.
func (r Record) allowedFor(b *plan.Block, x Placed, m *client.Client, place *client.Place, lib *exercise.Library) string {
	w := r.week()
	value := w.Value()
	w.Set(x.Option, x.Day, 0)
	ses, old := b.SlotByID(x.Slot)
	list := r.ranked(w, x, value, true)
	kept := map[string]bool{} // those that break no rule of the programme, before those that do
	for _, q := range list {
		kept[q.Exercise] = true
	}
	for _, q := range r.ranked(w, x, value, false) {
		if !kept[q.Exercise] {
			list = append(list, q)
		}
	}
	if was := lib.ByID(old.Exercise); was != nil {
		far := func(q Replacement) int {
			if !kept[q.Exercise] {
				return furthest
			}
			return further(was, lib.ByID(q.Exercise))
		}
		slices.SortStableFunc(list, func(p, q Replacement) int { return far(p) - far(q) })
	}
	for _, q := range list {
		e := lib.ByID(q.Exercise)
		there := slices.ContainsFunc(ses.Slots, func(s plan.Slot) bool { return s.Exercise == q.Exercise })
		try := b.Clone()
		if e == nil || there || !hasAll(place, e) || !try.Swap(x.Slot, q.Exercise) {
			continue
		}
		stopped := slices.ContainsFunc(check.Safety(check.Input{Client: m, Block: try, Library: lib}), func(p check.Problem) bool {
			return p.Blocks() && p.At.Slot == string(x.Slot)
		})
		if !stopped {
			return q.Exercise
		}
	}
	return ""
}

// furthest is how far what breaks a rule of the programme is from anything.
const furthest = 3

// further says how far an exercise is from another: 0 for one of its family, 1 for one
// that trains the same muscle first, 2 for any other.
func further(was, e *exercise.Exercise) int {
	switch {
	case e == nil:
		return 3
	case e.Family() == was.Family():
		return 0
	case len(e.Direct) > 0 && slices.Contains(was.Direct, e.Direct[0]):
		return 1
	}
	return 2
}
