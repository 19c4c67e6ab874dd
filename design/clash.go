package design

import "slices"

// A Clash is a smallest set of wishes and rules that cannot all hold.
type Clash struct {
	Need string   `json:"need"` // what cannot be had as often as wished; locks, where they break a rule by themselves
	With []string `json:"with"` // rules, each of which would have to give way for it; see Price
}

// Names in a clash beside those of rules.
const (
	clashLocks    = "locks"     // need: the locks by themselves
	clashNotThere = "not-there" // with: no day has an exercise for it that may stand there
	clashDays     = "days"      // with: fewer days than times
)

// clashMoves is the length of a search that asks whether a need can be met with some
// rules in force; mostPaired is up to how many rules every pair is tried (our
// judgement; key judgement).
const (
	clashMoves = 20_000
	mostPaired = 12
	clashCost  = 1_000_000 // 1/1000 point, more than any week is worth
)

// Clashes says for every need that the answer does not meet which rules stand against
// it: the smallest set of them, as far as searches can tell, that by itself leaves it
// open, one rule before two, two before more; and which locks break a rule by
// themselves.
func Clashes(p *Problem, answer Answer) []Clash {
	out := []Clash{}
	if c, ok := lockClash(p); ok {
		out = append(out, c)
	}
	w := p.Fill(answer.Choices)
	for i, n := range p.Needs {
		if int(w.inWeek[n.Group]) < n.Times {
			if with := needClash(p, i, answer.Seed); len(with) > 0 {
				out = append(out, Clash{p.Groups[n.Group].Name, with})
			}
		}
	}
	return out
}

// needClash names the rules that leave a need open.
func needClash(p *Problem, need int, seed uint64) []string {
	n := p.Needs[need]
	days := make([]bool, len(p.Days))
	for _, o := range p.Options {
		if slices.Contains(o.Groups, n.Group) {
			for d, ok := range o.Allowed {
				days[d] = days[d] || ok
			}
		}
	}
	there := len(slices.DeleteFunc(days, func(ok bool) bool { return !ok }))
	switch {
	case there == 0:
		return []string{clashNotThere}
	case there < n.Times && p.Groups[n.Group].Day == 1:
		return []string{clashDays}
	}
	rules := slices.DeleteFunc(p.rules(), func(r rule) bool { return r.name == "need "+p.Groups[n.Group].Name || r.free == nil })
	open := func(inForce []rule) bool {
		q := p.with()
		for _, r := range rules {
			if !slices.ContainsFunc(inForce, func(x rule) bool { return x.name == r.name }) {
				r.free(q)
			}
		}
		for i := range q.Needs { // those in force weigh as much as the one that is asked for
			q.Needs[i].Cost = clashCost
		}
		w := q.Fill(Search(q, nil, clashMoves, seed).Choices)
		return slices.ContainsFunc(q.Needs, func(x Need) bool { return int(w.inWeek[x.Group]) < x.Times })
	}
	return names(smallest(rules, open))
}

// smallest returns the smallest set of rules that is still in the way: one of them,
// two, or else what is left when none can be left out.
func smallest(rules []rule, inTheWay func([]rule) bool) []rule {
	for _, r := range rules {
		if inTheWay([]rule{r}) {
			return []rule{r}
		}
	}
	for i := range rules {
		for j := range i {
			if len(rules) <= mostPaired && inTheWay([]rule{rules[j], rules[i]}) {
				return []rule{rules[j], rules[i]}
			}
		}
	}
	left := slices.Clone(rules)
	if !inTheWay(left) {
		return nil
	}
	for i := 0; i < len(left); {
		without := slices.Delete(slices.Clone(left), i, i+1)
		if inTheWay(without) {
			left = without
		} else {
			i++
		}
	}
	return left
}

// lockClash names the locks that break a rule by themselves, with the rule, as few as
// still break it; false where they break none.
func lockClash(p *Problem) (Clash, bool) {
	if NewWeek(p).Broken() == 0 {
		return Clash{}, false
	}
	q := p.with()
	for i := 0; i < len(q.Locks); {
		l := q.Locks
		q.Locks = slices.Delete(slices.Clone(l), i, i+1)
		if NewWeek(q).Broken() == 0 {
			q.Locks = l
			i++
		}
	}
	out := Clash{Need: clashLocks, With: []string{}}
	for _, l := range q.Locks {
		out.With = append(out.With, "lock "+p.exerciseOf(l.Option))
	}
	for _, r := range q.rules() {
		if r.free == nil || slices.Contains(out.With, r.name) {
			continue
		}
		f := q.with()
		r.free(f)
		if NewWeek(f).Broken() == 0 {
			out.With = append(out.With, r.name)
		}
	}
	return out, true
}

func names(list []rule) []string {
	out := []string{}
	for _, r := range list {
		out = append(out, r.name)
	}
	return out
}
