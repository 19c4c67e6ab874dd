package design

// A Choice is an option on a day with a number of sets.
type Choice struct {
	Option int `json:"option"`
	Day    int `json:"day"`
	Sets   int `json:"sets"`
}

// A Week is a choice of options for each day with its value, kept up to date with
// every change. Set is undone by the Set back, exactly, since all numbers are whole.
// It is not for use by two goroutines.
type Week struct {
	p       *Problem
	t       *tables
	sets    []int32 // by option*days + day
	on      []int32 // by option: days it stands on
	seconds []int   // by day
	count   []int   // by day
	inGroup []int32 // by group*days + day
	inWeek  []int32 // by group
	work    []int32 // by column*days + day
	total   []int32 // by column
	helpers []int32 // by pair*days + day: how many of By stand there
	viewed  []int32 // by view*columns + column: work
	used    []int32 // by view*options + option: days
	value   []int64 // by view
	short   int64   // cost of needs that are not met
	over    int     // hard rules broken, counted
}

// tables are what is looked up of a problem, made once. They are read-only.
type tables struct {
	days     int
	benefit  [][]int32 // by column, by work up to its end
	last     []int     // by column: slope beyond
	forPairs [][]int32 // by option: pairs it is For in
	byPairs  [][]int32 // by option: pairs it is By in
	near     [][]Near  // by column*days + day
	views    [][]int   // by day: views that hold it
	viewN    int
	needs    [][]int // by group: needs
	locked   map[int32]int
}

// mostTable bounds the work a table of benefits holds, 1/20 set.
const mostTable = 100 * SetUnit

// newTables makes the tables of a problem.
func newTables(p *Problem) *tables {
	t := &tables{days: len(p.Days), viewN: max(len(p.Views), 1), locked: map[int32]int{}}
	for _, c := range p.Columns {
		list, slope := c.table()
		t.benefit, t.last = append(t.benefit, list), append(t.last, slope)
	}
	t.forPairs, t.byPairs = make([][]int32, len(p.Options)), make([][]int32, len(p.Options))
	for i, x := range p.Pairs {
		t.forPairs[x.For] = append(t.forPairs[x.For], int32(i))
		for _, b := range x.By {
			t.byPairs[b] = append(t.byPairs[b], int32(i))
		}
	}
	t.near = make([][]Near, len(p.Columns)*t.days)
	for _, n := range p.Near {
		a, b := n.Column*t.days+n.A, n.Column*t.days+n.B
		t.near[a] = append(t.near[a], n)
		t.near[b] = append(t.near[b], n)
	}
	t.views = make([][]int, t.days)
	for d := range t.days {
		if len(p.Views) == 0 {
			t.views[d] = []int{0}
		}
	}
	for i, v := range p.Views {
		for _, d := range v.Days {
			t.views[d] = append(t.views[d], i)
		}
	}
	t.needs = make([][]int, len(p.Groups))
	for i, n := range p.Needs {
		t.needs[n.Group] = append(t.needs[n.Group], i)
	}
	for _, l := range p.Locks {
		t.locked[int32(l.Option*t.days+l.Day)] = l.Sets
	}
	return t
}

// table lists the value of work from 0 to the start of the last piece, and the
// slope from there, docs/model/08-design.md (3).
func (c Column) table() (list []int32, slope int) {
	list = []int32{0}
	for i, x := range c.Pieces {
		slope = x.Slope
		if i == len(c.Pieces)-1 {
			break
		}
		for range x.Length {
			if len(list) > mostTable {
				break
			}
			list = append(list, list[len(list)-1]+int32(x.Slope))
		}
	}
	return list, slope
}

// benefitOf returns the value of work for a column.
func (t *tables) benefitOf(column int, work int32) int64 {
	list := t.benefit[column]
	if int(work) < len(list) {
		return int64(list[work])
	}
	end := len(list) - 1
	return int64(list[end]) + int64(t.last[column])*int64(int(work)-end)
}

// NewWeek returns the empty week of a problem with its locks in place. Its value
// without locks and needs is 0.
func NewWeek(p *Problem) *Week { return newWeek(p, newTables(p)) }

func newWeek(p *Problem, t *tables) *Week {
	w := &Week{p: p, t: t,
		sets: make([]int32, len(p.Options)*t.days), on: make([]int32, len(p.Options)),
		seconds: make([]int, t.days), count: make([]int, t.days),
		inGroup: make([]int32, len(p.Groups)*t.days), inWeek: make([]int32, len(p.Groups)),
		work: make([]int32, len(p.Columns)*t.days), total: make([]int32, len(p.Columns)),
		helpers: make([]int32, len(p.Pairs)*t.days),
		viewed:  make([]int32, t.viewN*len(p.Columns)), used: make([]int32, t.viewN*len(p.Options)),
		value: make([]int64, t.viewN)}
	for _, n := range p.Needs {
		w.short += int64(n.Times) * int64(n.Cost)
	}
	for _, l := range p.Locks {
		w.Set(l.Option, l.Day, l.Sets)
	}
	return w
}

// Sets returns the sets of an option on a day; 0 where it does not stand there.
func (w *Week) Sets(option, day int) int { return int(w.sets[option*w.t.days+day]) }

// Work returns the work of the week for a column, 1/20 set.
func (w *Week) Work(column int) int { return int(w.total[column]) }

// Seconds returns the time of a day, s.
func (w *Week) Seconds(day int) int { return w.seconds[day] }

// Broken returns by how much hard rules are broken, counted over all of them: 0
// for a week that may be written out.
func (w *Week) Broken() int { return w.over }

// ViewValue returns the value of a view, 1/1000 point.
func (w *Week) ViewValue(view int) int64 { return w.value[view] }

// parts is how finely the shares of views are judged: millionths of their best.
const parts = 1_000_000

// Value returns the value of the week, 1/1000 point: that of all days less the
// needs that are not met, docs/model/08-design.md (2). With views it is the least
// share of a view's best, in millionths, plus a twentieth of the mean share, (14).
func (w *Week) Value() int64 {
	if len(w.p.Views) == 0 {
		return w.value[0] - w.short
	}
	least, sum := int64(1)<<62, int64(0)
	for i, v := range w.p.Views {
		share := w.value[i] * parts / v.Best
		least = min(least, share)
		sum += share
	}
	return least + sum/int64(20*len(w.p.Views)) - w.short
}

// over returns by how much x passes most.
func beyond(x, most int) int { return max(x-most, 0) }

// Set gives an option a number of sets on a day, 0 to take it off.
func (w *Week) Set(option, day, sets int) {
	at := option*w.t.days + day
	old := int(w.sets[at])
	if sets == old {
		return
	}
	o := &w.p.Options[option]
	before := w.overDay(day)
	w.sets[at] = int32(sets)
	w.seconds[day] += (sets - old) * o.Set
	if old == 0 {
		w.come(option, day, 1)
	} else if sets == 0 {
		w.come(option, day, -1)
	}
	w.over += w.overDay(day) - before
	w.over += o.illegal(day, sets) - o.illegal(day, old)
	for _, v := range w.t.views[day] {
		w.value[v] -= int64(sets-old) * int64(o.Cost)
	}
	for _, x := range o.Work {
		w.addWork(x.Column, day, int32((sets-old)*x.Units))
	}
}

// overDay returns by how much time and number of a day are passed.
func (w *Week) overDay(day int) int {
	d := w.p.Days[day]
	return beyond(w.seconds[day], d.Seconds) + beyond(w.count[day], d.Most)
}

// illegal returns 1 for sets the option may not have on the day.
func (o *Option) illegal(day, sets int) int {
	if sets != 0 && (!o.Allowed[day] || sets < o.Least || sets > o.Most) {
		return 1
	}
	return 0
}

// come puts an option on a day (by = 1) or takes it off (-1): all that does not
// depend on how many sets it has.
func (w *Week) come(option, day, by int) {
	o := &w.p.Options[option]
	w.seconds[day] += by * o.Setup
	w.count[day] += by
	w.on[option] += int32(by)
	for _, g := range o.Groups {
		w.comeGroup(g, day, by)
	}
	gain := int64(by * o.Reward[day])
	gain += int64(by) * w.pairsFor(option, day)
	gain += w.pairsBy(option, day, by)
	for _, v := range w.t.views[day] {
		w.value[v] += gain
		at := v*len(w.p.Options) + option
		if by > 0 && w.used[at] == 0 {
			w.value[v] -= int64(o.Use)
		}
		w.used[at] += int32(by)
		if w.used[at] == 0 {
			w.value[v] += int64(o.Use)
		}
	}
}

// comeGroup counts an option in a group.
func (w *Week) comeGroup(g, day, by int) {
	limits, at := w.p.Groups[g], g*w.t.days+day
	w.over -= beyond(int(w.inGroup[at]), limits.Day) + beyond(int(w.inWeek[g]), limits.Week)
	for _, n := range w.t.needs[g] {
		w.short -= int64(beyond(w.p.Needs[n].Times, int(w.inWeek[g]))) * int64(w.p.Needs[n].Cost)
	}
	w.inGroup[at] += int32(by)
	w.inWeek[g] += int32(by)
	w.over += beyond(int(w.inGroup[at]), limits.Day) + beyond(int(w.inWeek[g]), limits.Week)
	for _, n := range w.t.needs[g] {
		w.short += int64(beyond(w.p.Needs[n].Times, int(w.inWeek[g]))) * int64(w.p.Needs[n].Cost)
	}
}

// pairsFor returns what the pairs of an option are worth on a day.
func (w *Week) pairsFor(option, day int) int64 {
	sum := int64(0)
	for _, p := range w.t.forPairs[option] {
		if w.helpers[int(p)*w.t.days+day] > 0 {
			sum += int64(w.p.Pairs[p].Value)
		}
	}
	return sum
}

// pairsBy counts an option as a helper and returns what that changes.
func (w *Week) pairsBy(option, day, by int) int64 {
	sum := int64(0)
	for _, p := range w.t.byPairs[option] {
		at := int(p)*w.t.days + day
		was := w.helpers[at] > 0
		w.helpers[at] += int32(by)
		if is := w.helpers[at] > 0; is != was && w.sets[w.p.Pairs[p].For*w.t.days+day] > 0 {
			sum += int64(by * w.p.Pairs[p].Value)
		}
	}
	return sum
}

// addWork adds work for a column on a day: its value, its cap, its neighbours.
func (w *Week) addWork(column, day int, units int32) {
	at := column*w.t.days + day
	gain := w.nearCost(at)
	w.work[at] += units
	gain -= w.nearCost(at)
	for _, v := range w.t.views[day] {
		x := &w.viewed[v*len(w.p.Columns)+column]
		w.value[v] += gain - w.t.benefitOf(column, *x)
		*x += units
		w.value[v] += w.t.benefitOf(column, *x)
	}
	old := w.total[column]
	w.total[column] += units
	if limit := w.p.Columns[column].Cap; limit > 0 {
		w.over += beyond(int(w.total[column]), limit) - beyond(int(old), limit)
	}
}

// nearCost returns what the neighbours of a day cost for a column.
func (w *Week) nearCost(at int) int64 {
	sum := int64(0)
	for _, n := range w.t.near[at] {
		base := n.Column * w.t.days
		sum += int64(n.Cost) * int64(beyond(int(w.work[base+n.A]+w.work[base+n.B]), n.Free))
	}
	return sum
}

// Choices lists what stands in the week, by day and option.
func (w *Week) Choices() []Choice {
	var out []Choice
	for d := range w.t.days {
		for o := range w.p.Options {
			if n := w.Sets(o, d); n > 0 {
				out = append(out, Choice{o, d, n})
			}
		}
	}
	return out
}

// Fill puts choices into an empty week and returns it.
func (p *Problem) Fill(list []Choice) *Week {
	w := newWeek(p, newTables(p))
	for _, c := range list {
		w.Set(c.Option, c.Day, c.Sets)
	}
	return w
}
