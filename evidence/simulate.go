package evidence

import (
	"math"
	"math/rand/v2"
	"slices"
)

// The generator of clients (docs/model/06-evidence.md section 8; our judgement, key
// judgement). It is fixed: figures of different versions can be held against each
// other.
const (
	simLowTau, simHighTau = 0.04, 0.08 // background, SD of ln(right/left)
	simCurve              = 0.2        // SD of ln k that is not known
	simSlips              = 0.25       // part of clients with one slip
	simSlipFirst          = 7          // among the first so many findings
	simSlipSize           = 4.         // SD of a slip that is no swap
	simK                  = 0.033      // k of drills
	simSets               = 2          // sets a side
	simUse                = 0.25       // SD of how much of the scale a client uses
)

// A Protocol says what is done with a simulated client.
type Protocol struct {
	Habitual  bool    // the five findings a coach has anyway come first
	Tests     int     // tests after them
	Chosen    bool    // by information, repeats included; else drawn
	Complaint bool    // region and side are known
	Gaussian  bool    // one Gaussian in place of none, one and two weak groups
	Sets      int     // sets a side; 0 stands for two
	WrongJ    float64 // relative SD of the error of J, in place of another body's
	Swap      bool    // the first test has its sides swapped, and no other slip is made
	Battery   bool    // the nine isolating drills in turn come first
}

// A Simulated is how a protocol did with one client.
type Simulated struct {
	Planted   Weak
	Rank      int     // of the planted group and side, from 1; 0 where none was planted
	Chance    float64 // largest chance of being clearly weak
	Right     bool    // that the group and side of that chance is clearly weak, planted so
	Covered   int     // groups whose truth lies in the 80 % interval
	Groups    int
	TopWithin bool // that of the group with the largest chance
	Called    Weak
}

// A simulated client.
type simClient struct {
	m       *Model
	r       *rand.Rand
	delta   []float64
	weak    []Weak
	j       [][]float64 // true J of each drill
	skill   []float64   // of each drill
	curve   float64     // true k over the one taken
	slipAt  int         // number of the finding that is a slip, or -1
	swapped bool        // what the slip is
	done    int
}

// newClient draws a client with weak groups of a given size (0.2: 20 % weaker). The
// sensitivities are those of another body, or those of the table wrong by a relative
// SD.
func newClient(m *Model, r *rand.Rand, weak []Weak, size []float64, wrong float64) *simClient {
	c := &simClient{m: m, r: r, weak: weak, slipAt: -1}
	tau := simLowTau + (simHighTau-simLowTau)*r.Float64()
	limb := r.NormFloat64()
	for range m.Groups {
		c.delta = append(c.delta, tau*(math.Sqrt(limbShare)*limb+math.Sqrt(1-limbShare)*r.NormFloat64()))
	}
	for i, w := range weak {
		c.delta[w.Group] -= float64(w.Side) * math.Log(1-size[i])
	}
	for i := range m.Drills {
		d := &m.Drills[i]
		j := make([]float64, len(d.J))
		for g := range j {
			if z := r.NormFloat64(); wrong > 0 {
				j[g] = d.J[g] * (1 + wrong*z)
			} else {
				j[g] = d.J[g] + d.between[g]*z
			}
		}
		c.j, c.skill = append(c.j, j), append(c.skill, skillSD*r.NormFloat64())
	}
	c.curve = math.Exp(simCurve * r.NormFloat64())
	if r.Float64() < simSlips {
		c.slipAt, c.swapped = r.IntN(simSlipFirst), r.Float64() < 0.5
	}
	return c
}

// test draws the result of a drill.
func (c *simClient) test(number, sets int) Observation {
	d := &c.m.Drills[number]
	o := d.Coming(simK, sets)
	y := dot(c.j[number], c.delta)
	if o.Measure == Repetitions || o.Measure == Reserve {
		y *= c.curve
	}
	if o.Measure != Reserve {
		y += c.skill[number]
	}
	o.Y = c.slip(y+o.SD*c.r.NormFloat64(), o.SD)
	return o
}

// video draws what a video shows.
func (c *simClient) video(measure Measure) Observation {
	o, ok := c.m.OfVideo(measure, 0)
	if !ok {
		panic("evidence: no such video finding")
	}
	scale := 0.5 + c.r.Float64()
	o.Y = c.slip(scale*dot(o.J, c.delta)+o.SD*c.r.NormFloat64(), o.SD)
	return o
}

// slip makes a finding one where it is its turn.
func (c *simClient) slip(y, sd float64) float64 {
	at := c.done
	c.done++
	switch {
	case at != c.slipAt:
		return y
	case c.swapped:
		return -y
	case c.r.Float64() < 0.5:
		return y - simSlipSize*sd
	}
	return y + simSlipSize*sd
}

// rate is a rating of both sides in a drill.
func (c *simClient) rate(exercise string) Observation {
	i := c.m.drillNumber(exercise)
	d := &c.m.Drills[i]
	o := d.OfReserve(2, 2, d.Reps-2, simK)
	use := 1 + simUse*c.r.NormFloat64()
	o.Y = c.slip(use*dot(c.j[i], c.delta)+o.SD*c.r.NormFloat64(), o.SD)
	return o
}

// drillNumber is the place of a drill; it panics if there is none.
func (m *Model) drillNumber(exercise string) int {
	for i := range m.Drills {
		if m.Drills[i].Exercise == exercise {
			return i
		}
	}
	panic("evidence: no drill " + exercise)
}

// complain draws region and side of a complaint.
func (c *simClient) complain() Complaint {
	var regions []string
	for _, g := range c.m.Groups {
		if !slices.Contains(regions, g.Region) {
			regions = append(regions, g.Region)
		}
	}
	out := Complaint{Region: regions[c.r.IntN(len(regions))], Side: Left}
	if c.r.Float64() < 0.5 {
		out.Side = Right
	}
	if len(c.weak) == 0 {
		return out
	}
	w := c.weak[c.r.IntN(len(c.weak))]
	if c.r.Float64() < complaintOwn {
		out.Region = c.m.Groups[w.Group].Region
	} else {
		for out.Region == c.m.Groups[w.Group].Region {
			out.Region = regions[c.r.IntN(len(regions))]
		}
	}
	if out.Side = w.Side; c.r.Float64() > complaintSide {
		out.Side = -w.Side
	}
	return out
}

// battery holds one isolating drill for each group of the legs and trunk.
var battery = []string{"side-lying-hip-abduction", "seated-hip-external-rotation", "bent-knee-hip-extension",
	"standing-hip-adduction", "seated-leg-curl", "knee-extension", "standing-hip-flexion", "standing-calf-raise", "side-lying-trunk-raise"}

// run follows a protocol and returns the belief it ends with.
func (c *simClient) run(p Protocol) *Belief {
	var say Complaint
	if p.Complaint {
		say = c.complain()
	}
	if p.Swap {
		c.slipAt, c.swapped = 0, true
	}
	var obs []Observation
	sets := p.Sets
	if sets == 0 {
		sets = simSets
	}
	if p.Habitual {
		obs = append(obs, c.video(HipShift), c.video(KneeLine), c.rate("side-lying-hip-abduction"),
			c.rate("split-squat"), c.test(c.m.drillNumber("step-up"), sets))
	}
	infer := func() *Belief {
		if p.Gaussian {
			return c.m.gaussian(say, obs)
		}
		return c.m.Infer(say, obs)
	}
	b := infer()
	for i := range p.Tests {
		next := c.r.IntN(len(c.m.Drills))
		switch {
		case p.Battery && i < len(battery):
			next = c.m.drillNumber(battery[i])
		case p.Chosen:
			next = b.choose(sets)
		}
		obs = append(obs, c.test(next, sets))
		if p.Chosen || i == p.Tests-1 {
			b = infer()
		}
	}
	return b
}

// choose is the number of the drill that tells most a minute.
func (b *Belief) choose(sets int) int {
	best, most := 0, -1.0
	for i := range b.Model.Drills {
		d := &b.Model.Drills[i]
		o := d.Coming(simK, sets)
		bits := b.Information(&o, Wider)
		if len(b.Model.Hypotheses) == 1 {
			bits = b.entropy(&o)
		}
		if bits /= d.Minutes; bits > most {
			best, most = i, bits
		}
	}
	return best
}

// Simulate follows a protocol with a client of a seed with one group weaker by a
// size, on a side and in a group that are drawn; 0 for no weak group.
func Simulate(m *Model, seed uint64, size float64, p Protocol) Simulated {
	r := rand.New(rand.NewPCG(seed, 1))
	var weak []Weak
	var sizes []float64
	if size > 0 {
		w := Weak{r.IntN(len(m.Groups)), Left}
		if r.Float64() < 0.5 {
			w.Side = Right
		}
		weak, sizes = []Weak{w}, []float64{size}
	}
	return newClient(m, r, weak, sizes, p.WrongJ).judge(p, false)
}

// SimulatePrior follows a protocol with a client drawn as the prior expects them.
func SimulatePrior(m *Model, seed uint64, p Protocol) Simulated {
	r := rand.New(rand.NewPCG(seed, 2))
	x := r.Float64()
	var h *Hypothesis
	for i := range m.Hypotheses {
		if h = &m.Hypotheses[i]; x < h.prior {
			break
		}
		x -= h.prior
	}
	var sizes []float64
	for range h.Weak {
		sizes = append(sizes, 1-math.Exp(-(slabMean+slabSD*r.NormFloat64())))
	}
	return newClient(m, r, h.Weak, sizes, p.WrongJ).judge(p, true)
}

// judge runs a protocol and holds the outcome against the truth, with ranges where
// asked.
func (c *simClient) judge(p Protocol, ranges bool) Simulated {
	b := c.run(p)
	out := Simulated{Groups: len(c.m.Groups)}
	order := b.Leaders(2 * len(c.m.Groups))
	if p.Gaussian {
		order = b.bySize()
	}
	out.Called = order[0]
	if len(c.weak) > 0 {
		out.Planted = c.weak[0]
		for i, w := range order {
			if w == out.Planted {
				out.Rank = i + 1
			}
		}
	}
	for _, w := range c.weak {
		out.Right = out.Right || w == out.Called
	}
	chance := b.weakness()[out.Called.Group]
	if out.Chance = chance[0]; out.Called.Side == Left {
		out.Chance = chance[1]
	}
	if !ranges {
		return out
	}
	for _, g := range b.Groups() {
		in := c.delta[g.Group] >= g.Low && c.delta[g.Group] <= g.High
		if in {
			out.Covered++
		}
		if g.Group == out.Called.Group {
			out.TopWithin = in
		}
	}
	return out
}
