package body

import (
	"math"
	"slices"
)

// The cost of activation is a^3/3 + ridge/2 a^2, docs/model/01-body-muscles.md (15).
const (
	ridge = 0.02 // 1, our judgement: makes the cost strictly convex at 0
	// RowGive is the give of a row of moments, N m squared: at full activation
	// about 0.1 N m are missing (our judgement).
	RowGive = 5.0
	// PairGive is the give of a soft row between activations, such as common
	// drive or bracing (our judgement).
	PairGive = 0.5
	// MinPrice is the smallest price of a free force: below it the program is
	// too flat to be solved in doubles.
	MinPrice = 1e-4
)

const (
	badRow     = "body: a column names a row the program does not have"
	badGive    = "body: a row needs a give above 0"
	badForce   = "body: a free force needs a price, and bounds in order"
	badNumber  = "body: a program needs finite numbers and a bound above 0"
	badMuscle  = "body: a muscle needs a weight above 0"
	badHessian = "body: the Hessian of load sharing is not positive definite"
)

// An Entry is what a column gives to a row at full activation, or at 1 of a force.
type Entry struct {
	Row   int
	Value float64
}

// A Program is one question of load sharing: rows of what must be delivered, and
// columns of who can deliver it. Rows are added first.
//
//	minimise  Σ w (a³/3 + 0.01 a²) + Σ p x²/2 + Σ s²/(2 e)
//	so that   A a + B x + s = need,   a >= 0,   low <= x <= high
//
// docs/model/01-body-muscles.md (14)-(16). Rows are N m, or activations in soft rows.
type Program struct {
	need, give []float64 // of each row
	spread     []float64 // of each row: what one unit of load adds to need

	// Columns, muscles and forces as they were added; entries of column i stand
	// at start[i] to start[i+1].
	start    []int
	row      []int
	value    []float64
	kind     []columnKind
	cost     []float64 // weight of a muscle, price of a force
	low, top []float64 // bounds of a force
}

type columnKind uint8

const (
	muscleColumn columnKind = iota
	forceColumn
)

// NewProgram returns a program without rows and columns.
func NewProgram() *Program { return &Program{start: []int{0}} }

// Rows counts the rows.
func (p *Program) Rows() int { return len(p.need) }

// Columns counts the muscles and free forces.
func (p *Program) Columns() int { return len(p.cost) }

// AddRow adds a row that needs need + load x spread and gives way at a cost of
// s²/(2 give); it returns its number. Need and spread in the row's unit, give in
// its square, above 0.
func (p *Program) AddRow(need, spread, give float64) int {
	if !(give > 0) {
		panic(badGive)
	}
	if !finite(need) || !finite(spread) {
		panic(badNumber)
	}
	p.need = append(p.need, need)
	p.spread = append(p.spread, spread)
	p.give = append(p.give, give)
	return len(p.need) - 1
}

// AddMuscle adds a muscle with the moments it makes at full activation, and
// returns its column. Weight is 1, or the part of a muscle that is split into
// lines, so that splitting changes nothing.
func (p *Program) AddMuscle(weight float64, entries ...Entry) int {
	if !(weight > 0) {
		panic(badMuscle)
	}
	return p.add(muscleColumn, weight, 0, 1, entries)
}

// AddForce adds a free force, such as a deviation of a contact force or a passive
// band: price p at least [MinPrice], between low and high, which may be infinite
// but leave 0 inside.
func (p *Program) AddForce(price, low, high float64, entries ...Entry) int {
	if !(price >= MinPrice) || !(low <= 0 && high >= 0 && low < high) {
		panic(badForce)
	}
	return p.add(forceColumn, price, low, high, entries)
}

func (p *Program) add(kind columnKind, cost, low, high float64, entries []Entry) int {
	from := len(p.row)
	for _, e := range entries {
		if e.Row < 0 || e.Row >= len(p.need) {
			panic(badRow)
		}
		if !finite(e.Value) {
			panic(badNumber)
		}
		if e.Value != 0 {
			p.enter(from, e)
		}
	}
	p.start = append(p.start, len(p.row))
	p.kind = append(p.kind, kind)
	p.cost = append(p.cost, cost)
	p.low = append(p.low, low)
	p.top = append(p.top, high)
	return len(p.cost) - 1
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// enter adds an entry to the last column, which starts at from: rows stand in
// order, and two entries of one row become one.
func (p *Program) enter(from int, e Entry) {
	at := len(p.row)
	for at > from && p.row[at-1] > e.Row {
		at--
	}
	if at > from && p.row[at-1] == e.Row {
		p.value[at-1] += e.Value
		return
	}
	p.row = slices.Insert(p.row, at, e.Row)
	p.value = slices.Insert(p.value, at, e.Value)
}

// Tie adds a soft row that wants column i at ratio times column j: common drive
// when both are one muscle's parts, bracing when they are antagonists.
func (p *Program) Tie(i, j int, ratio, give float64) int {
	r := p.AddRow(0, 0, give)
	p.insert(i, Entry{r, 1})
	p.insert(j, Entry{r, -ratio})
	return r
}

// insert adds an entry of a new row to a column that is there.
func (p *Program) insert(column int, e Entry) {
	at := p.start[column+1]
	p.row = slices.Insert(p.row, at, e.Row)
	p.value = slices.Insert(p.value, at, e.Value)
	for i := column + 1; i < len(p.start); i++ {
		p.start[i]++
	}
}

// entries gives a column's rows, rising, and its values.
func (p *Program) entries(column int) ([]int, []float64) {
	from, to := p.start[column], p.start[column+1]
	return p.row[from:to], p.value[from:to:to]
}

// dot returns the column's entries times x.
func (p *Program) dot(column int, x []float64) float64 {
	rows, values := p.entries(column)
	s := 0.0
	for k, i := range rows {
		s += values[k] * x[i]
	}
	return s
}

// addTo adds f times the column to x.
func (p *Program) addTo(x []float64, column int, f float64) {
	rows, values := p.entries(column)
	for k, i := range rows {
		x[i] += f * values[k]
	}
}

// addOuter adds f times the column's outer product to the lower triangle of the
// Rows x Rows matrix h.
func (p *Program) addOuter(h []float64, column int, f float64) {
	n := len(p.need)
	rows, values := p.entries(column)
	for k, i := range rows {
		v := f * values[k]
		line := h[i*n : i*n+i+1]
		for l, j := range rows[:k+1] {
			line[j] += v * values[l]
		}
	}
}

// Sharing is the answer to a [Program]. Its slices have the lengths of the
// program's columns and rows and belong to the solver that gave them.
type Sharing struct {
	Activation []float64 // of each column: activation, or size of a free force
	Slack      []float64 // of each row: what is missing
	Price      []float64 // of each row: dual, cost of one more unit of need
	Steps      int       // Newton steps
	Residual   float64   // largest error of a row at the end
}

// Missing returns the row whose slack is largest against the root of its give,
// and that slack: what gives way first.
func (s *Sharing) Missing(p *Program) (row int, slack float64) {
	worst := -1.0
	for j, v := range s.Slack {
		if m := math.Abs(v) / math.Sqrt(p.give[j]); m > worst {
			worst, row, slack = m, j, v
		}
	}
	return row, slack
}

// A Sharer solves programs; it keeps its memory from one to the next. The zero
// value is ready. It is not for several goroutines at once.
type Sharer struct {
	out           Sharing
	hessian, step []float64
	pull, turn    []float64 // of each column: c = column x price, and its change
	rise          []float64 // of each column: slope of its answer in c
	size          []float64 // gradient of each row
	rough         bool      // a millionth of the largest need is near enough
}

const (
	shareTol      = 1e-12 // of a row's balance, relative to the largest need
	roughTol      = 1e-6  // the same, where only ranges are asked
	shareNear     = 1e-9  // the same, where steps no longer help
	shareSteps    = 200
	shareHalvings = 40
	middling      = 0.1   // activation the first guess takes for granted
	shareRounding = 4e-14 // of the dual cost: below it descent cannot be told
	sufficient    = 1e-4  // part of the promised descent a step must bring
)

// Share shares the program's need, load x spread included, with activations up to
// bound: math.Inf(1) for the picture of who works (an activation above 1 says
// "impossible at this load"), 1 for what is possible. It always has an answer;
// the slack tells what cannot be delivered. Load is finite, though a largest load
// need not be. The result is valid until the next
// call.
func (s *Sharer) Share(p *Program, load, bound float64) *Sharing {
	return s.ShareNear(p, load, bound, nil)
}

// ShareNear is [Sharer.Share] that starts at prices of a program like this one; with
// none it finds its own start. The answer is the same.
func (s *Sharer) ShareNear(p *Program, load, bound float64, prices []float64) *Sharing {
	if !finite(load) || !(bound > 0) {
		panic(badNumber)
	}
	s.reset(p)
	scale := 1.0
	for j, b := range p.need {
		s.out.Slack[j] = b + load*p.spread[j]
		scale = max(scale, math.Abs(s.out.Slack[j]))
	}
	need := s.out.Slack // until the end, when slack takes its place
	if len(prices) == p.Rows() {
		copy(s.out.Price, prices)
		for i := range s.pull {
			s.pull[i] = p.dot(i, s.out.Price)
		}
	} else {
		s.begin(p, need)
	}
	value, last := s.value(p, need, bound, 0), math.Inf(1)
	for s.out.Steps = 0; s.out.Steps < shareSteps; s.out.Steps++ {
		s.gradient(p, need)
		if s.out.Residual <= shareTol*scale || s.rough && s.out.Residual <= roughTol*scale || s.out.Residual <= shareNear*scale && s.out.Residual > last/2 {
			break // there, or as near as rounding allows
		}
		last = s.out.Residual
		slope := s.newton(p)
		t := 1.0
		next := s.value(p, need, bound, t)
		if next > value+sufficient*t*slope+shareRounding*math.Abs(value) {
			t = s.lowest(p, need, bound)
			next = s.value(p, need, bound, t)
		}
		value = next
		s.advance(p, t)
	}
	for j, l := range s.out.Price {
		s.out.Slack[j] = p.give[j] * l
	}
	return &s.out
}

// begin sets the prices that would be right if every muscle answered its pull, of
// either sign, with the slope it has at a middling activation.
func (s *Sharer) begin(p *Program, need []float64) {
	n := p.Rows()
	for j, e := range p.give {
		s.hessian[j*n+j] = e
	}
	for i, k := range p.kind {
		slope := 1 / p.cost[i]
		if k == muscleColumn {
			slope /= 2*middling + ridge
		}
		p.addOuter(s.hessian, i, slope)
	}
	copy(s.out.Price, need)
	if !factor(s.hessian, n) {
		panic(badHessian)
	}
	backSolve(s.hessian, n, s.out.Price)
	for i := range s.pull {
		s.pull[i] = p.dot(i, s.out.Price)
	}
}

// reset makes room and starts at price 0.
func (s *Sharer) reset(p *Program) {
	n, m := p.Rows(), p.Columns()
	s.out.Activation = sized(s.out.Activation, m)
	s.out.Slack = sized(s.out.Slack, n)
	s.out.Price = sized(s.out.Price, n)
	s.hessian = sized(s.hessian, n*n)
	s.step = sized(s.step, n)
	s.size = sized(s.size, n)
	s.pull = sized(s.pull, m)
	s.turn = sized(s.turn, m)
	s.rise = sized(s.rise, m)
}

// sized returns a slice of length n, all 0, in the memory of x where it suffices.
func sized(x []float64, n int) []float64 {
	if cap(x) < n {
		return make([]float64, n)
	}
	x = x[:n]
	clear(x)
	return x
}

// response gives, for a column pulled with c, its size, the slope of the size in
// c, and the conjugate of its cost, docs/model/01-body-muscles.md (17).
func (p *Program) response(i int, c, bound float64) (size, slope, conjugate float64) {
	w := p.cost[i]
	if p.kind[i] == forceColumn {
		x := c / w
		if x < p.low[i] || x > p.top[i] {
			x = min(max(x, p.low[i]), p.top[i])
			return x, 0, c*x - w*x*x/2
		}
		return x, 1 / w, c * x / 2
	}
	if c <= 0 {
		return 0, 0, 0
	}
	root := math.Sqrt(ridge*ridge + 4*c/w)
	a := 2 * (c / w) / (root + ridge)
	if a > bound {
		return bound, 0, bound * (c - w*bound*(bound/3+ridge/2))
	}
	return a, 1 / (w * root), a * (c - w*a*(a/3+ridge/2))
}

// value is the dual cost at price + t step; it leaves what columns answer there in
// Activation and rise.
func (s *Sharer) value(p *Program, need []float64, bound, t float64) float64 {
	v := 0.0
	for i := range s.pull {
		var conjugate float64
		s.out.Activation[i], s.rise[i], conjugate = p.response(i, s.pull[i]+t*s.turn[i], bound)
		v += conjugate
	}
	for j, b := range need {
		l := s.out.Price[j] + t*s.step[j]
		v += l * (p.give[j]*l/2 - b)
	}
	return v
}

// slope is the slope of the dual cost along the step, at price + t step.
func (s *Sharer) slope(p *Program, need []float64, bound, t float64) float64 {
	g := 0.0
	for i, c := range s.turn {
		if c != 0 {
			size, _, _ := p.response(i, s.pull[i]+t*c, bound)
			g += c * size
		}
	}
	for j, d := range s.step {
		g += d * (p.give[j]*(s.out.Price[j]+t*d) - need[j])
	}
	return g
}

// lowest finds where along the step, between 0 and 1, the dual cost is lowest.
func (s *Sharer) lowest(p *Program, need []float64, bound float64) float64 {
	low, high := 0.0, 1.0
	for range shareHalvings {
		t := (low + high) / 2
		if s.slope(p, need, bound, t) > 0 {
			high = t
		} else {
			low = t
		}
		if high-low < 0.01*high {
			break
		}
	}
	if low == 0 {
		return high
	}
	return low
}

// gradient leaves the gradient in size and the largest of it in Residual.
func (s *Sharer) gradient(p *Program, need []float64) {
	g := s.size
	for j, b := range need {
		g[j] = p.give[j]*s.out.Price[j] - b
	}
	for i, size := range s.out.Activation {
		if size != 0 {
			p.addTo(g, i, size)
		}
	}
	s.out.Residual = 0
	for _, v := range g {
		s.out.Residual = max(s.out.Residual, math.Abs(v))
	}
}

// newton leaves the Newton step in step and its effect on the columns in turn, and
// returns the slope of the dual cost along it.
func (s *Sharer) newton(p *Program) (slope float64) {
	n := p.Rows()
	clear(s.hessian)
	for j, e := range p.give {
		s.hessian[j*n+j] = e
		s.step[j] = -s.size[j]
	}
	for i, rise := range s.rise {
		if rise != 0 {
			p.addOuter(s.hessian, i, rise)
		}
	}
	if !factor(s.hessian, n) {
		panic(badHessian)
	}
	backSolve(s.hessian, n, s.step)
	for i := range s.turn {
		s.turn[i] = p.dot(i, s.step)
	}
	return dotProduct(s.size, s.step)
}

// advance moves the prices along the step.
func (s *Sharer) advance(p *Program, t float64) {
	for j := range s.out.Price {
		s.out.Price[j] += t * s.step[j]
	}
	for i := range s.pull {
		s.pull[i] += t * s.turn[i]
	}
}
