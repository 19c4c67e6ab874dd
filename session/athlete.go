package session

import (
	"math"
	"slices"
	"sync"

	"corbel/anatomy"
	"corbel/client"
	"corbel/effort"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// An Athlete is a client as the effort model sees them on one day. It is
// read-only once made and may be shared.
type Athlete struct {
	Client   *client.Client
	Library  *exercise.Library
	Practice *client.Practice // may be nil
	Under    Sharer           // shares without a coach's overrides
	Day      form.Date        // day lifts and body mass are taken of
	mass     float64          // body mass, kg; 0 if not on record

	loads sync.Map // loadsKey to []unit.Mass: what places make, worked out once
	links sync.Map // statedKey to *effort.Link: of stated shares, worked out once
}

// A loadsKey is what the loads of a place depend on.
type loadsKey struct {
	exercise *exercise.Exercise
	place    *client.Place
	perHand  bool
}

// achievable is [Achievable], worked out once for an athlete.
func (a *Athlete) achievable(e *exercise.Exercise, place *client.Place, perHand bool) []unit.Mass {
	key := loadsKey{e, place, perHand}
	if known, ok := a.loads.Load(key); ok {
		return known.([]unit.Mass)
	}
	loads := Achievable(e, place, perHand)
	a.loads.Store(key, loads)
	return loads
}

// NewAthlete returns the client as of day, with the library's stated shares.
func NewAthlete(c *client.Client, lib *exercise.Library, p *client.Practice, day form.Date) *Athlete {
	a := &Athlete{Client: c, Library: lib, Practice: p, Under: Library{}, Day: day}
	if m, ok := c.MassOn(day); ok {
		a.mass = float64(m.Kilogram())
	}
	return a
}

// Bounds of a load, fraction of the 1RM, where what is written comes to less or more
// (our judgement; key judgement).
const leastFraction, mostFraction = 0.05, 1.5

// usable keeps a fraction of the 1RM in its bounds.
func usable(p float64) float64 { return min(max(p, leastFraction), mostFraction) }

// Constants of what is not written down (our judgement; key judgement).
const (
	unsaidReserve = 3.0  // reserve taken where a dose asks for no effort
	drillReserve  = 6.0  // the same for a drill
	unsaidSD      = 0.08 // SD of ln load where a load is taken from the dose alone
	holdRep       = 3.0  // s of a hold or carry that count as one repetition
	walkingPace   = 1.0  // m/s of a carry
	unsaidMax     = 10.0 // repetitions a load is taken to allow where as many as possible are asked and no lift is on record
	bandSD        = 0.25 // SD of ln load of a band (client.BandSpread)
)

// K returns k of the repetition curve and the SD of ln k for an exercise.
func (a *Athlete) K(e *exercise.Exercise) (k, sd float64) {
	c, ok := effort.ClassByID(string(e.Class))
	if !ok {
		panic("session: no repetition class " + string(e.Class))
	}
	if a.Client.Background == client.Endurance {
		return c.For(effort.Endurance)
	}
	return c.For(effort.General)
}

// LiftK is K at the exercise's own repetition time, docs/model/04-week.md (6a): the
// pace of a lift on record and of an N-RM.
func (a *Athlete) LiftK(e *exercise.Exercise) (k, sd float64) {
	k, sd = a.K(e)
	if t := float64(e.Repetition.Second()); t > 0 {
		k *= slower(t)
	}
	return k, sd
}

// Carried returns the body mass that counts with the load, kg: 0 for lifts whose
// percentages are of the external load, and where no body mass is on record.
func (a *Athlete) Carried(e *exercise.Exercise) float64 {
	if e.PercentOf != exercise.System {
		return 0
	}
	return e.Carried * a.mass
}

// A Max is the 1RM of an exercise as a lift on record implies it.
type Max struct {
	External float64 // external load, kg, both hands together; may be negative
	SDLn     float64 // SD of ln(external + carried) from the said reserve and the day
	Tied     float64 // k (n - 1) of the lift, by which it follows k, chapter 03 (13)
	From     client.Lift
}

// Max returns the 1RM of an exercise on a side, from the latest lift on record
// up to the athlete's day, and false where there is none or where the body mass
// it needs is not on record. Of lifts of one day that of the side itself counts,
// for both sides together that of the weaker. A reserve that was not said counts
// as 0, so the 1RM is then a low estimate.
func (a *Athlete) Max(e *exercise.Exercise, side anatomy.Side) (Max, bool) {
	var best *client.Lift
	for i := range a.Client.Lifts {
		l := &a.Client.Lifts[i]
		if l.Exercise != string(e.ID) || a.Day.Before(l.On) || !l.Side.Meets(side) {
			continue
		}
		if best == nil || best.On.Before(l.On) || best.On == l.On && a.closer(e, l, best, side) {
			best = l
		}
	}
	if best == nil || e.PercentOf == exercise.System && a.mass == 0 {
		return Max{}, false
	}
	return a.maxFrom(e, *best)
}

// closer says whether of two lifts of one day l says more of a side than m: it is
// of that side, or it is the weaker one of the other side.
func (a *Athlete) closer(e *exercise.Exercise, l, m *client.Lift, side anatomy.Side) bool {
	if l.Side == side || m.Side == side || l.Side == m.Side {
		return l.Side == side
	}
	x, ok := a.maxFrom(e, *l)
	y, known := a.maxFrom(e, *m)
	return ok && known && x.External < y.External
}

// maxFrom computes the 1RM a lift implies, docs/model/02-effort.md (7).
func (a *Athlete) maxFrom(e *exercise.Exercise, l client.Lift) (Max, bool) {
	load := float64(l.Load.Kilogram())
	if l.PerHand {
		load *= 2
	}
	reserve, bias := 0.0, 0.0
	if l.RIR != nil {
		reserve, bias = *l.RIR, effort.SaidBias
	}
	k, _ := a.LiftK(e)
	carried := a.Carried(e)
	m, err := effort.DoneSet{Load: load, Carried: carried, Repetitions: float64(l.Reps), Reserve: reserve, Bias: bias, K: k}.Max()
	if err != nil {
		return Max{}, false
	}
	n := float64(l.Reps) + effort.TrueReserve(reserve, bias)
	return Max{External: m.Value, SDLn: m.SD / (m.Value + carried), Tied: k * (n - 1), From: l}, true
}

// A Loaded is what the load of a set comes to for this client at a place.
type Loaded struct {
	P        float64   // fraction of the 1RM, with the carried mass where it counts
	SDLn     float64   // SD of ln of the true fraction, k left out
	Tied     float64   // Max.Tied of the lift behind P; 0 where there is none
	Written  bool      // the load is fixed by the dose; else it follows the reserve
	Mass     unit.Mass // what stands on the bar or in each hand, rounded to what the place has
	HasMass  bool
	Asked    unit.Mass // before rounding
	Step     unit.Mass // smallest step from Mass upwards at the place, 0 if unknown
	PerHand  bool
	Percent  float64 // of the 1RM, external load; 0 if unknown
	Unknown  string  // why mass or percentage cannot be had, a code: no-lift, no-mass, band; no-load where the dose leaves the load open (Mass is then what a lift on record suggests fresh)
	FromMax  bool    // P rests on a lift on record
	Reserve  float64 // reserve the dose asks for, mean of its range
	Asks     bool    // the dose asks for a reserve
	Count    float64 // repetitions, mean of the range; seconds / 3 for holds
	Max      bool    // as many as possible
	RepTime  float64 // s
	Marks    effort.Mark
	NotThere bool // the load written cannot be made at the place
}

// Load works out the load of one set, docs/model/04-week.md (3) to (9). place may
// be nil.
func (a *Athlete) Load(e *exercise.Exercise, side anatomy.Side, set plan.Set, tempo plan.Tempo, place *client.Place) Loaded {
	l := a.work(e, set, tempo)
	low, high, asks := set.Effort.Reserve()
	l.Reserve, l.Asks = (low+high)/2, asks
	if !asks {
		l.Reserve = unsaidReserve
		if e.Stage == exercise.Drill {
			l.Reserve = drillReserve
		}
	}
	k, _ := a.K(e)
	n := max(l.Count+l.Reserve, 1)
	if l.Max {
		n = unsaidMax
	}
	l.P, l.SDLn = effort.FreshLoad(n, k*slower(l.RepTime)), unsaidSD
	a.fromDose(&l, e, side, set.Load, place)
	if l.P <= 0 || l.P > mostFraction {
		l.P = usable(l.P)
	}
	return l
}

// work fills in repetitions, their time and marks, docs/model/04-week.md (10).
func (a *Athlete) work(e *exercise.Exercise, set plan.Set, tempo plan.Tempo) Loaded {
	l := Loaded{RepTime: float64(e.Repetition.Second()), Max: set.Work.Max}
	if t := float64(tempo.Seconds()); t > 0 {
		l.RepTime = t
	}
	mean := float64(set.Work.Low+set.Work.High) / 2
	switch set.Work.Kind {
	case plan.Repetitions:
		l.Count = mean
	case plan.Time:
		l.Count, l.RepTime, l.Marks = mean/1000/holdRep, holdRep, effort.Hold
	case plan.Distance:
		l.Count, l.RepTime, l.Marks = mean/1e6/walkingPace/holdRep, holdRep, effort.Hold
	}
	if l.RepTime <= 0 {
		l.RepTime = holdRep
	}
	return l
}

// reference holds the model's own constants.
var reference = effort.DefaultConstants()

// slower returns the factor on k of repetitions that take t seconds,
// docs/model/03-session.md (4).
func slower(t float64) float64 {
	if t == reference.ReferenceRep {
		return 1
	}
	return math.Pow(t/reference.ReferenceRep, reference.TempoPower)
}

// fromDose moves the load from what the reserve implies to what is written.
func (a *Athlete) fromDose(l *Loaded, e *exercise.Exercise, side anatomy.Side, load plan.Load, place *client.Place) {
	if load.Kind == plan.Unsaid && e.Loads[0] == exercise.BodyWeight {
		load.Kind = plan.BodyWeight // nothing written means nothing but the body
	}
	switch load.Kind {
	case plan.Unsaid:
		l.Unknown = "no-load"
		a.suggest(l, e, side, place)
	case plan.PercentMax:
		l.Written = true
		a.percent(l, e, side, load, place)
	case plan.RepMax:
		k, _ := a.LiftK(e)
		l.Written = true
		l.P = effort.FreshLoad(float64(load.Number), k)
		a.massFor(l, e, side, place)
	case plan.Mass, plan.MassInHand, plan.Added, plan.Assisted, plan.BodyWeight:
		l.Written = true
		a.writtenMass(l, e, side, load, place)
	default: // band, pin, level: known to the client by name, not in newtons
		l.Written = true
		l.Unknown = "no-mass"
		if load.Kind == plan.Band {
			l.Unknown, l.SDLn = "band", bandSD
		}
	}
}

// suggest gives a load that meets the reserve fresh, where a lift is on record,
// docs/model/04-week.md (4) with the fraction of (3).
func (a *Athlete) suggest(l *Loaded, e *exercise.Exercise, side anatomy.Side, place *client.Place) {
	if m, ok := a.Max(e, side); ok {
		l.SDLn, l.Tied, l.FromMax = m.SDLn, m.Tied, true
		a.put(l, e, l.P*(m.External+a.Carried(e))-a.Carried(e), m, place)
	}
}

// percent resolves 72% and 72% of another lift, docs/model/04-week.md (4), (5).
func (a *Athlete) percent(l *Loaded, e *exercise.Exercise, side anatomy.Side, load plan.Load, place *client.Place) {
	of := e
	if load.Of != "" && load.Of != string(e.ID) {
		of = a.Library.ByID(load.Of)
	}
	if of == nil { // the reader refuses exercises the library does not hold
		l.Unknown = "no-lift"
		return
	}
	m, ok := a.Max(of, side)
	fraction := load.Percent.Fraction()
	if of == e {
		l.P, l.Percent = fraction, 100*fraction
		l.SDLn = effort.DaySD // a percentage of a true 1RM; the day is drawn apart
		if ok {
			l.SDLn, l.Tied, l.FromMax = m.SDLn, m.Tied, true
		}
	}
	if !ok {
		l.Unknown = "no-lift"
		return
	}
	carried := a.Carried(of)
	external := fraction*(m.External+carried) - carried
	if of == e {
		a.put(l, e, external, m, place)
		return
	}
	own, known := a.Max(e, side)
	if !known {
		l.PerHand = m.From.PerHand && slices.Contains(e.Loads, exercise.PerHand)
		a.setMass(l, e, external, place)
		l.Unknown = "no-lift"
		return
	}
	a.put(l, e, external, own, place)
	l.SDLn, l.Tied, l.FromMax = own.SDLn, own.Tied, true // the mass on the bar is what it is
}

// massFor gives the mass of a load known as a fraction, docs/model/04-week.md (6).
func (a *Athlete) massFor(l *Loaded, e *exercise.Exercise, side anatomy.Side, place *client.Place) {
	m, ok := a.Max(e, side)
	if !ok {
		l.Unknown = "no-lift"
		return
	}
	l.SDLn, l.Tied, l.FromMax = m.SDLn, m.Tied, true
	a.put(l, e, l.P*(m.External+a.Carried(e))-a.Carried(e), m, place)
}

// writtenMass resolves a written mass, body weight included,
// docs/model/04-week.md (7), (8).
func (a *Athlete) writtenMass(l *Loaded, e *exercise.Exercise, side anatomy.Side, load plan.Load, place *client.Place) {
	external := float64(load.Mass.Kilogram())
	switch load.Kind {
	case plan.Assisted:
		external = -external
	case plan.MassInHand:
		l.PerHand = true
		external *= 2
	}
	a.keepMass(l, e, load, place)
	m, ok := a.Max(e, side)
	if !ok {
		l.Unknown = "no-lift"
		return
	}
	external = a.totalOf(l, external)
	p, err := effort.Fraction(external, m.External, a.Carried(e))
	if err != nil {
		l.Unknown = "no-lift"
		return
	}
	l.P, l.SDLn, l.Tied, l.FromMax = p, m.SDLn, m.Tied, true
	if m.External > 0 {
		l.Percent = 100 * external / m.External
	}
}

// totalOf returns the external load after rounding to what the place has.
func (a *Athlete) totalOf(l *Loaded, external float64) float64 {
	if !l.HasMass || external < 0 {
		return external
	}
	total := float64(l.Mass.Kilogram())
	if l.PerHand {
		total *= 2
	}
	return total
}

// put enters an external load, rounds it to what the place has, and brings the
// fraction and percentage in line with it.
func (a *Athlete) put(l *Loaded, e *exercise.Exercise, external float64, m Max, place *client.Place) {
	l.PerHand = m.From.PerHand
	a.setMass(l, e, external, place)
	carried := a.Carried(e)
	if p, err := effort.Fraction(a.totalOf(l, external), m.External, carried); err == nil {
		l.P = p
	}
	if m.External > 0 {
		l.Percent = 100 * a.totalOf(l, external) / m.External
	}
}

// maxExternal bounds a computed load, kg (unit.Mass holds up to 2,000).
const maxExternal = 1000

// setMass enters a computed external load, kg, rounded to what the place has.
func (a *Athlete) setMass(l *Loaded, e *exercise.Exercise, external float64, place *client.Place) {
	if external <= 0 || external > maxExternal {
		return
	}
	if l.PerHand {
		external /= 2
	}
	l.Asked = unit.MassOf(external, unit.Kg)
	l.Mass, l.HasMass = l.Asked, true
	a.roundLoad(l, e, place)
}

// keepMass enters a written mass, and says where the place cannot make it.
func (a *Athlete) keepMass(l *Loaded, e *exercise.Exercise, load plan.Load, place *client.Place) {
	if load.Kind == plan.BodyWeight || load.Kind == plan.Assisted {
		return
	}
	l.Asked, l.Mass, l.HasMass = load.Mass, load.Mass, true
	a.roundLoad(l, e, place)
	l.NotThere = !l.Mass.Equal(l.Asked)
}

// roundLoad moves the mass to the nearest load of the place and notes the step up,
// docs/model/04-week.md (9).
func (a *Athlete) roundLoad(l *Loaded, e *exercise.Exercise, place *client.Place) {
	loads := a.achievable(e, place, l.PerHand)
	i, _ := slices.BinarySearchFunc(loads, l.Mass, unit.Mass.Cmp) // lightest first: the nearest is this one or the one before
	near, ok := client.Nearest(loads[max(i-1, 0):min(i+1, len(loads))], l.Mass)
	if !ok {
		return
	}
	l.Mass = near
	for _, m := range loads[max(i-1, 0):] {
		if m.Cmp(near) > 0 {
			l.Step = unit.MassOf(m.In(unit.Kg)-near.In(unit.Kg), unit.Kg)
			return
		}
	}
}

// Achievable lists the loads a place has for an exercise, lightest first: the
// masses of one dumbbell where loads are by hand, else what bars and plates or a
// stack make, else dumbbells. Nothing where the place has no such loads.
func Achievable(e *exercise.Exercise, place *client.Place, perHand bool) []unit.Mass {
	if place == nil {
		return nil
	}
	if perHand {
		return place.DumbbellLoads()
	}
	for _, q := range e.Equipment {
		if loads := place.BarLoads(q); len(loads) > 0 {
			return loads
		}
		if loads := place.StackLoads(q); len(loads) > 0 {
			return loads
		}
	}
	for _, q := range e.Equipment {
		if q == "dumbbells" || q == "kettlebell" {
			return place.DumbbellLoads()
		}
	}
	return nil
}
