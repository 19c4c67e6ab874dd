package design

import (
	"fmt"
	"math/rand/v2"
)

// A maker makes invented problems that look like those of clients: muscles with
// aims, exercises with stages, patterns, minutes and pairs.
type maker struct {
	r       *rand.Rand
	days    int
	options int
	columns int
	minutes int
	most    int
	sides   bool // exercises of one side, neighbours and needs
}

func (m maker) problem() *Problem {
	p := &Problem{Form: Version}
	for d := range m.days {
		p.Days = append(p.Days, Day{Name: fmt.Sprintf("d%d", d), Seconds: 60 * (m.minutes - 5 + m.r.IntN(11)), Most: m.most})
	}
	for c := range m.columns {
		low := SetUnit * (2*m.days + m.r.IntN(2*m.days+1))
		weight := 6 + m.r.IntN(14)
		col := Column{Name: fmt.Sprintf("m%d", c), Low: low, High: low + SetUnit*4, Pieces: []Piece{{low / 2, 5 * weight}, {low / 2, 3 * weight}, {SetUnit * 4, weight}, {1, -2 * weight}}}
		if m.r.IntN(8) == 0 {
			col.Cap = low + SetUnit*2
		}
		p.Columns = append(p.Columns, col)
	}
	for i := range 5 {
		p.Groups = append(p.Groups, Group{Name: fmt.Sprintf("stage%d", i), Day: []int{2, 2, 4, 3, 2}[i], Week: 2 * m.days * []int{2, 2, 4, 3, 2}[i]})
	}
	patterns := 12
	for i := range patterns {
		p.Groups = append(p.Groups, Group{Name: fmt.Sprintf("pattern%d", i), Day: 2, Week: 2 * m.days})
	}
	for i := range m.options {
		m.option(p, i, patterns)
	}
	m.pairs(p)
	if m.sides {
		m.rules(p)
	}
	return p
}

// option adds an exercise: one to three leading muscles, some helping ones.
func (m maker) option(p *Problem, i, patterns int) {
	stage := m.r.IntN(5)
	o := Option{Name: fmt.Sprintf("e%d", i), Least: 2, Most: 3 + m.r.IntN(3), Setup: 30 + 15*m.r.IntN(6), Set: 60 + 15*m.r.IntN(13), Cost: m.r.IntN(250), Use: 100 + m.r.IntN(300)}
	for range m.days {
		o.Reward = append(o.Reward, m.r.IntN(900))
		o.Allowed = append(o.Allowed, m.r.IntN(20) > 0)
	}
	used := map[int]bool{}
	for j := range 1 + m.r.IntN(4) {
		c := m.r.IntN(m.columns)
		if used[c] {
			continue
		}
		used[c] = true
		o.Work = append(o.Work, Work{c, []int{20, 20, 10, 10, 10}[min(j+m.r.IntN(2), 4)]})
	}
	p.Groups = append(p.Groups, Group{Name: o.Name, Day: 1, Week: 2})
	o.Groups = []int{stage, 5 + m.r.IntN(patterns), len(p.Groups) - 1}
	p.Options = append(p.Options, o)
}

// pairs joins options of a later stage with some of an earlier one.
func (m maker) pairs(p *Problem) {
	for i, o := range p.Options {
		if o.Groups[0] == 0 || m.r.IntN(2) == 0 {
			continue
		}
		var by []int
		for j, q := range p.Options {
			if q.Groups[0] < o.Groups[0] && m.r.IntN(6) == 0 {
				by = append(by, j)
			}
		}
		if len(by) > 0 {
			value := 300 + m.r.IntN(500)
			if m.r.IntN(5) == 0 {
				value = -value
			}
			p.Pairs = append(p.Pairs, Pair{Name: fmt.Sprintf("p%d", i), For: i, By: by, Value: value})
		}
	}
}

// rules adds neighbours and needs.
func (m maker) rules(p *Problem) {
	for d := range m.days - 1 {
		for range 3 {
			p.Near = append(p.Near, Near{Column: m.r.IntN(m.columns), A: d, B: d + 1, Free: 3 * SetUnit, Cost: 3 + m.r.IntN(10)})
		}
	}
	for range 2 {
		p.Needs = append(p.Needs, Need{Group: 5 + m.r.IntN(len(p.Groups)-5), Times: 1 + m.r.IntN(2), Cost: 20_000})
	}
}

// small are the twelve problems an exact solver can finish: 30 to 60 exercises,
// one session.
func small(i int) *Problem {
	m := maker{r: rand.New(rand.NewPCG(uint64(i), 8)), days: 1, options: 30 + 30*i/11, columns: 20, minutes: 50, most: 6}
	if i%3 == 2 {
		m.days, m.most, m.minutes, m.sides, m.columns = 2, 3, 25, true, 14
	}
	return m.problem()
}
