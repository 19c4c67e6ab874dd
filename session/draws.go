package session

import (
	"corbel/effort"
)

// Draws are the same visit for many possible clients on many possible days.
type Draws struct {
	Number int
	Reps   [][]float64   // by set of the visit, by draw: repetitions to failure
	Falls  [][]float64   // by set, by draw: predicted reserve
	Lost   [][][]float64 // by item, by later item, by draw: repetitions a set
}

// draw runs the visit for n drawn clients and fills the bands,
// docs/model/03-session.md (13) and (14), docs/model/04-week.md (2).
func (v *Visit) draw(n int, seed uint64) {
	p := v.program
	d := &Draws{Number: n}
	v.Draws = d
	d.Reps, d.Falls = matrix(len(p.steps), n), matrix(len(p.steps), n)
	for range v.Items {
		d.Lost = append(d.Lost, matrix(len(v.Items), n))
	}
	g := effort.NewDrawer(seed, effort.DefaultConstants(), effort.Spreads{
		Exercises: p.spreads, Recovery: effort.RecoverySD, Day: effort.DaySD, Constants: true})
	var one effort.Draw
	for i := range n {
		g.Next(&one)
		v.drawOnce(&one, i)
	}
	counts := make([]float64, len(v.Items))
	for _, s := range v.Sets {
		if !s.Warm {
			counts[s.Item]++
		}
	}
	for from := range d.Lost {
		for to := range d.Lost[from] {
			for i := range d.Lost[from][to] {
				if counts[to] > 0 {
					d.Lost[from][to][i] /= counts[to]
				}
			}
		}
	}
	sorted := make([]float64, n)
	for i := range v.Sets {
		copy(sorted, d.Reps[i])
		v.Sets[i].Band = effort.BandOf(sorted)
	}
}

func matrix(rows, columns int) [][]float64 {
	cells := make([]float64, rows*columns)
	out := make([][]float64, rows)
	for i := range out {
		out[i] = cells[i*columns : (i+1)*columns]
	}
	return out
}

// drawOnce runs the visit for one drawn client.
func (v *Visit) drawOnce(one *effort.Draw, i int) {
	p, d := v.program, v.Draws
	model := one.Model()
	x := effort.NewSession(model, effort.NewState(p.pools))
	var losses []effort.Loss
	for j := range p.steps {
		s := &p.steps[j]
		x.Rest(s.before)
		w := s.follow(model, x.State(), one.K[s.spread])
		if s.load.Written || s.warm {
			w = one.Work(s.spread, w)
		}
		acc := x.Set(s.link, w, losses[:0])
		losses = acc.Losses
		d.Reps[j][i], d.Falls[j][i] = acc.Repetitions, acc.Reserve
		if !s.warm {
			for _, l := range losses {
				if from := p.steps[l.Set].item; from != s.item {
					d.Lost[from][s.item][i] += l.Repetitions
				}
			}
		}
		x.Rest(s.after)
	}
}

// Share returns in how many of the draws a claim holds, 0..1; without draws it is
// 1 or 0 by the claim on the mean (draw -1).
func (v *Visit) Share(holds func(draw int) bool) float64 {
	if v.Draws == nil {
		if holds(-1) {
			return 1
		}
		return 0
	}
	n := 0
	for i := range v.Draws.Number {
		if holds(i) {
			n++
		}
	}
	return float64(n) / float64(v.Draws.Number)
}

// LostIn returns the repetitions a set that item to loses to item from, in a
// draw, or the mean for draw -1.
func (v *Visit) LostIn(draw, from, to int) float64 {
	if draw < 0 {
		return v.Slots[from].Lost[to]
	}
	return v.Draws.Lost[from][to][draw]
}

// ReserveIn returns the predicted reserve of a set in a draw, or the mean for -1.
func (v *Visit) ReserveIn(draw, set int) float64 {
	if draw < 0 {
		return v.Sets[set].Reserve
	}
	return v.Draws.Falls[set][draw]
}
