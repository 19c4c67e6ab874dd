package design

import (
	"cmp"
	"slices"

	"corbel/plan"
)

// A Few is a session of which fewer than a third of the exercises are there for more
// than load, with what prevents a third: the exercises that would have to go, what
// that loses, and the wishes they serve.
type Few struct {
	Session string   `json:"session"`
	Other   int      `json:"other"`   // exercises with a reason beside load
	All     int      `json:"all"`     // exercises
	Without []string `json:"without"` // exercises that would have to go for a third
	Aims    []string `json:"aims"`    // aims of the client that would then be missed
	Muscles []string `json:"muscles"` // without such an aim: what the goals would lose most of
	Value   float64  `json:"value"`   // points lost
}

// fewWishes is how many muscles are named where no aim is missed.
const fewWishes = 3

// few lists the sessions short of a third, by exact differences of the week as it is
// placed.
func (p *Proposal) few() []Few {
	out := []Few{}
	w := p.Record().week()
	for i := range p.Block.Sessions {
		s := &p.Block.Sessions[i]
		other := 0
		var load []Placed
		for j := range s.Slots {
			if slices.ContainsFunc(s.Slots[j].Reasons, func(r plan.Reason) bool { return r.Load == nil }) {
				other++
			} else if at := slices.IndexFunc(p.Placed, func(x Placed) bool { return x.Slot == s.Slots[j].ID }); at >= 0 {
				load = append(load, p.Placed[at])
			}
		}
		if 3*other < len(s.Slots) {
			x := Few{Session: string(s.ID), Other: other, All: len(s.Slots)}
			p.prevented(w, &x, load)
			out = append(out, x)
		}
	}
	return out
}

// prevented takes off what a third asks for, least worth first, says what that
// loses, and puts it back.
func (p *Proposal) prevented(w *Week, x *Few, load []Placed) {
	before := w.Value()
	had := slices.Clone(w.total)
	left := slices.Clone(load)
	for n := x.All; 3*x.Other < n && len(left) > 0; n-- {
		least, cost := 0, int64(0)
		for i, q := range left {
			value := w.Value()
			w.Set(q.Option, q.Day, 0)
			if lost := value - w.Value(); i == 0 || lost < cost {
				least, cost = i, lost
			}
			w.Set(q.Option, q.Day, q.Sets)
		}
		w.Set(left[least].Option, left[least].Day, 0)
		x.Without = append(x.Without, p.Problem.exerciseOf(left[least].Option))
		left = slices.Delete(left, least, least+1)
	}
	x.Value = points(before - w.Value())
	x.Aims, x.Muscles = p.missed(w, had)
	for _, q := range load {
		w.Set(q.Option, q.Day, q.Sets)
	}
}

// missed names the aims that fall short of their low ends, and where there are none
// the columns that lose most.
func (p *Proposal) missed(w *Week, had []int32) (aims, muscles []string) {
	type loss struct {
		name string
		lost int64
	}
	aims, muscles = []string{}, []string{}
	var list []loss
	for i, c := range p.Problem.Columns {
		if w.total[i] == had[i] {
			continue
		}
		if c.Low > 0 && int(w.total[i]) < c.Low {
			aims = append(aims, c.Name)
		}
		list = append(list, loss{c.Name, w.t.benefitOf(i, had[i]) - w.t.benefitOf(i, w.total[i])})
	}
	if len(aims) > 0 {
		return aims, muscles
	}
	slices.SortStableFunc(list, func(a, b loss) int { return cmp.Compare(b.lost, a.lost) })
	for _, l := range list[:min(len(list), fewWishes)] {
		muscles = append(muscles, l.name)
	}
	return aims, muscles
}
