package design

import (
	"cmp"
	"slices"
)

// Constants of the bound (our judgement, after trials; key judgement).
const (
	BoundSteps  = 600 // steps of prices
	patience    = 15  // steps without a better bound before the step is halved
	priceBits   = 10  // prices are in 1/1024 of 1/1000 point
	firstStride = 64  // the stride is counted in 1/64
)

// Bound returns a value that no week of the problem passes, in the units of
// Week.Value, by relaxing with prices what joins options and days,
// docs/model/08-design.md section 6. known is the value of some week; it sets the
// stride and not what holds. All numbers are whole, so the bound is the same on
// every machine.
func Bound(p *Problem, known int64, steps int) int64 {
	if len(p.Views) == 0 {
		return newRelaxed(p).descend(known, steps)
	}
	least, sum := int64(1)<<62, int64(0)
	for _, v := range p.Views { // each view for itself: no week does better in any, (15)
		q := p.only(v.Days)
		share := ceilDiv(newRelaxed(q).descend(v.Best, steps)*parts, v.Best)
		least = min(least, share)
		sum += share
	}
	return least + ceilDiv(sum, int64(20*len(p.Views)))
}

func ceilDiv(a, b int64) int64 {
	q := a / b
	if a%b > 0 {
		q++
	}
	return q
}

// relaxed is a problem with its prices.
type relaxed struct {
	p      *Problem
	days   int
	work   []int64 // by column: price of a unit, from the last slope up
	time   []int64 // by day: price of a second
	onDay  []int64 // by group*days + day
	inWeek []int64 // by group
	help   []int64 // by pair*days + day: what a helper earns

	extra []int64 // by option: its use, spread over the days it can stand on
	gain  []gainOf
	pairs [][]int32 // by option: pairs it is a helper of
	own   [][]int32

	// What the prices' best answer leaves over, by the same indices.
	slackWork, slackTime, slackDay, slackWeek, slackHelp []int64
}

type gainOf struct {
	option int32
	sets   int32
	gain   int64
}

func newRelaxed(p *Problem) *relaxed {
	n := len(p.Days)
	r := &relaxed{p: p, days: n, work: make([]int64, len(p.Columns)), time: make([]int64, n), onDay: make([]int64, len(p.Groups)*n),
		inWeek: make([]int64, len(p.Groups)), help: make([]int64, len(p.Pairs)*n), extra: make([]int64, len(p.Options)),
		pairs: make([][]int32, len(p.Options)), own: make([][]int32, len(p.Options)),
		slackWork: make([]int64, len(p.Columns)), slackTime: make([]int64, n), slackDay: make([]int64, len(p.Groups)*n),
		slackWeek: make([]int64, len(p.Groups)), slackHelp: make([]int64, len(p.Pairs)*n)}
	for i, x := range p.Pairs {
		if x.Value <= 0 { // left out: no week is worth less for it
			continue
		}
		r.own[x.For] = append(r.own[x.For], int32(i))
		for _, b := range x.By {
			r.pairs[b] = append(r.pairs[b], int32(i))
		}
		for d := range n {
			r.help[i*n+d] = int64(x.Value) << priceBits / 2
		}
	}
	for i, o := range p.Options {
		days := 0
		for _, ok := range o.Allowed {
			if ok {
				days++
			}
		}
		for _, g := range o.Groups {
			days = min(days, p.Groups[g].Week)
		}
		if days > 0 {
			r.extra[i] = int64(o.Use) << priceBits / int64(days)
		}
	}
	for i, c := range p.Columns {
		r.work[i] = int64(c.Pieces[0].Slope) << priceBits / 2
		r.work[i] = max(r.work[i], int64(c.Pieces[len(c.Pieces)-1].Slope)<<priceBits)
	}
	return r
}

// descend moves the prices against what is left over and returns the least bound
// met, 1/1000 point, rounded up.
func (r *relaxed) descend(known int64, steps int) int64 {
	best, stride, stale := int64(1)<<62, int64(firstStride), 0
	for range steps {
		bound := r.solve()
		if bound < best {
			best, stale = bound, 0
		} else if stale++; stale > patience {
			stride, stale = max(stride/2, 1), 0
		}
		r.step(bound-known<<priceBits, stride)
	}
	return ceilDiv(best, 1<<priceBits)
}

// solve answers the relaxed problem at the prices: the bound, 1/1024 of 1/1000
// point, and what is left over of each relaxed rule.
func (r *relaxed) solve() int64 {
	sum := int64(0)
	for i, c := range r.p.Columns {
		value, work := c.bestAt(r.work[i])
		sum += value
		r.slackWork[i] = -work
	}
	for d, day := range r.p.Days {
		r.slackTime[d] = int64(day.Seconds)
		sum += r.time[d] * int64(day.Seconds)
	}
	for g, limits := range r.p.Groups {
		r.slackWeek[g] = int64(limits.Week)
		sum += r.inWeek[g] * int64(limits.Week)
		for d := range r.days {
			r.slackDay[g*r.days+d] = int64(limits.Day)
			sum += r.onDay[g*r.days+d] * int64(limits.Day)
		}
	}
	clear(r.slackHelp)
	for d := range r.days {
		sum += r.day(d)
	}
	return sum
}

// bestAt returns the most that work is worth at a price, with that work, inside
// the cap, docs/model/08-design.md (10).
func (c Column) bestAt(price int64) (value, work int64) {
	room := int64(c.Cap)
	if c.Cap == 0 {
		room = 1 << 40
	}
	for i, x := range c.Pieces {
		n := int64(x.Length)
		gain := int64(x.Slope)<<priceBits - price
		if i == len(c.Pieces)-1 {
			n = room
		}
		if n = min(n, room); gain <= 0 || n == 0 {
			break
		}
		value, work, room = value+gain*n, work+n, room-n
	}
	return value, work
}

// day picks the best options of a day at the prices, (11).
func (r *relaxed) day(d int) int64 {
	r.gain = r.gain[:0]
	for o := range r.p.Options {
		if r.p.Options[o].Allowed[d] {
			if g := r.optionGain(o, d); g.gain > 0 {
				r.gain = append(r.gain, g)
			}
		}
	}
	slices.SortFunc(r.gain, func(a, b gainOf) int {
		return cmp.Or(cmp.Compare(b.gain, a.gain), cmp.Compare(a.option, b.option))
	})
	sum := int64(0)
	for _, g := range r.gain[:min(len(r.gain), r.p.Days[d].Most)] {
		sum += g.gain
		r.take(int(g.option), d, int64(g.sets))
	}
	return sum
}

// optionGain returns what an option is worth on a day at the prices.
func (r *relaxed) optionGain(o, d int) gainOf {
	x := &r.p.Options[o]
	once := int64(x.Reward[d])<<priceBits - r.time[d]*int64(x.Setup) - r.extra[o]
	each := -int64(x.Cost)<<priceBits - r.time[d]*int64(x.Set)
	for _, k := range x.Work {
		each += r.work[k.Column] * int64(k.Units)
	}
	for _, g := range x.Groups {
		once -= r.inWeek[g] + r.onDay[g*r.days+d]
	}
	for _, p := range r.own[o] {
		once += int64(r.p.Pairs[p].Value)<<priceBits - r.help[int(p)*r.days+d]
	}
	for _, p := range r.pairs[o] {
		once += r.help[int(p)*r.days+d]
	}
	sets := x.Least
	if each > 0 {
		sets = x.Most
	}
	return gainOf{int32(o), int32(sets), once + each*int64(sets)}
}

// take counts what an option uses of the relaxed rules.
func (r *relaxed) take(o, d int, sets int64) {
	x := &r.p.Options[o]
	r.slackTime[d] -= int64(x.Setup) + sets*int64(x.Set)
	for _, k := range x.Work {
		r.slackWork[k.Column] += sets * int64(k.Units)
	}
	for _, g := range x.Groups {
		r.slackWeek[g]--
		r.slackDay[g*r.days+d]--
	}
	for _, p := range r.own[o] {
		r.slackHelp[int(p)*r.days+d]--
	}
	for _, p := range r.pairs[o] {
		r.slackHelp[int(p)*r.days+d]++
	}
}

// Weights of the rules in a step: seconds and units of work are small change, the
// others whole things (our judgement, after trials; key judgement).
const (
	workWeight, timeWeight, countWeight = 1, 1, 400
)

// step moves every price against what is left over, docs/model/08-design.md (12).
func (r *relaxed) step(gap, stride int64) {
	norm := int64(1)
	add := func(list []int64, prices []int64, weight int64, free bool) {
		for i, s := range list {
			if free || prices[i] > 0 || s < 0 {
				norm += weight * s * s
			}
		}
	}
	add(r.slackWork, r.work, workWeight, true)
	add(r.slackTime, r.time, timeWeight, false)
	add(r.slackDay, r.onDay, countWeight, false)
	add(r.slackWeek, r.inWeek, countWeight, false)
	add(r.slackHelp, r.help, countWeight, true)
	rate := max(gap, 1) / firstStride * stride
	move := func(price, slack, weight int64) int64 { return price - rate*slack/norm*weight }
	for i, c := range r.p.Columns {
		r.work[i] = move(r.work[i], r.slackWork[i], workWeight)
		if c.Cap == 0 {
			r.work[i] = max(r.work[i], int64(c.Pieces[len(c.Pieces)-1].Slope)<<priceBits)
		}
	}
	for i := range r.time {
		r.time[i] = max(move(r.time[i], r.slackTime[i], timeWeight), 0)
	}
	for i := range r.onDay {
		r.onDay[i] = max(move(r.onDay[i], r.slackDay[i], countWeight), 0)
	}
	for i := range r.inWeek {
		r.inWeek[i] = max(move(r.inWeek[i], r.slackWeek[i], countWeight), 0)
	}
	for i := range r.help {
		most := max(int64(r.p.Pairs[i/r.days].Value), 0) << priceBits
		r.help[i] = min(max(move(r.help[i], r.slackHelp[i], countWeight), 0), most)
	}
}
