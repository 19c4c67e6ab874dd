package body

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"

	"corbel/exercise"
)

// Draws of the orderings (spread: model 1 of the design; key judgement).
const (
	// OrderingHolds is the part of draws in which a published direction must hold.
	OrderingHolds   = 0.8
	orderingSeed    = 11
	drawnStrength   = 0.20        // SD of ln(strength) of each muscle
	drawnLength     = 0.03        // most a limb is longer or shorter, part
	drawnPlace      = 0.02        // most a target is off, m
	drawnAngle      = 3 * degree  // the same of angles, rad
	sixRepetitions  = 0.85        // part of the largest load of six repetitions, common practice
	tenRepetitions  = ShareLoad   // of ten
	heldBack        = 18 * degree // dorsiflexion where knees stay behind the toes
	weakerRotators  = 0.7         // of their strength
	longerThigh     = 1.06
	nearlyNoLarger  = 1.05 // "no larger" allows this
	deeperThanLevel = -12  // degrees of the thigh below level
)

// An Ordering is a published direction with what became of it.
type Ordering struct {
	Name     string
	Source   string // key of docs/sources.md
	KeptBack bool   // not looked at while the model was tuned
	Held     int    // draws in which it holds
	Draws    int    // draws in which all its postures could be taken
	holds    func(*drawnClient) bool
}

// Share is the part of draws in which the direction holds.
func (o *Ordering) Share() float64 { return float64(o.Held) / float64(max(o.Draws, 1)) }

// drawnClient is one drawn client: body, strength, and how its postures differ from the
// authored ones.
type drawnClient struct {
	body     *Body
	strength *Strength
	seed     uint64
	found    map[string]*drawnLift
	failed   bool // a posture cannot be taken
}

// drawnLift is an exercise as one drawn client does it.
type drawnLift struct {
	asking   *asking
	postures []Posture
	largest  float64 // kg; NaN before it is asked for
}

// reference is the client that is drawn around.
var reference = Measures{Sex: male, Height: 1.78, Mass: 80}

// newDrawn draws client number n.
func newDrawn(n uint64) *drawnClient {
	r := rand.New(rand.NewPCG(orderingSeed, n))
	m := reference
	b, err := NewBody(m)
	if err != nil {
		panic(badHeight)
	}
	for _, x := range []struct{ to, from *float64 }{{&m.Thigh, &b.Measures.Thigh}, {&m.Shank, &b.Measures.Shank}, {&m.Trunk, &b.Measures.Trunk},
		{&m.Foot, &b.Measures.Foot}, {&m.UpperArm, &b.Measures.UpperArm}, {&m.Forearm, &b.Measures.Forearm}} {
		*x.to = *x.from * (1 + drawnLength*(2*r.Float64()-1))
	}
	d := &drawnClient{seed: n, found: map[string]*drawnLift{}}
	d.strength = NewStrength(m.Sex, m.Mass, m.Height, LevelSomeTraining).Vary(r, drawnStrength)
	if d.body, err = NewBody(m); err != nil {
		d.failed = true
	}
	return d
}

// lift gives an exercise with its postures moved; change may replace targets first.
func (d *drawnClient) lift(id, changed string, change func(*exercise.Pose)) *drawnLift {
	key := id + " " + changed
	if l := d.found[key]; l != nil {
		return l
	}
	l := &drawnLift{asking: &asking{body: d.body, strength: d.strength}, largest: math.NaN()}
	for _, p := range Postures(exercise.Shipped, exercise.Shipped.ByID(id)) {
		if change != nil {
			p.Pose.Targets = slices.Clone(p.Pose.Targets)
			change(&p.Pose)
		}
		r := rand.New(rand.NewPCG(orderingSeed+1, d.seed)) // the same draws in every posture, so that likes are compared
		l.postures = append(l.postures, p.Vary(func() float64 { return 2*r.Float64() - 1 }, drawnPlace, drawnAngle))
	}
	l.asking.postures = l.postures
	d.found[key] = l
	return l
}

// load is the largest load of a lift, kg.
func (d *drawnClient) load(l *drawnLift) float64 {
	if math.IsNaN(l.largest) {
		out := &Asked{Muscles: make([]AskedMuscle, 2*len(Muscles()))}
		if l.asking.largest(out) != nil {
			d.failed = true
		}
		l.largest = out.Largest.Load
	}
	return l.largest
}

// moments are the moments of a posture of a lift at a load, by name; where it
// cannot be taken, none.
func (d *drawnClient) moments(l *drawnLift, posture int, load float64) map[string]float64 {
	s, err := d.body.Solve(l.postures[posture], load)
	if err == nil {
		var st *Statics
		if st, err = d.body.Statics(s); err == nil {
			named := st.Moments.Named()
			named["lean"] = s.Q[PelvisTilt] + s.Q[LumbarFlexion]
			return named
		}
	}
	d.failed = true
	return map[string]float64{}
}

// peak is the largest moment of a name over the postures of a lift.
func (d *drawnClient) peak(l *drawnLift, name string, load float64) float64 {
	most := math.Inf(-1)
	for i := range l.postures {
		most = max(most, d.moments(l, i, load)[name])
	}
	return most
}

// activation is the largest activation of a muscle of the right side over the
// postures of a lift at a load.
func (d *drawnClient) activation(l *drawnLift, muscle string, load float64) float64 {
	all, err := l.asking.poiseAll(load)
	if err != nil {
		d.failed = true
		return 0
	}
	return l.asking.peaks(all, load)[MuscleNumber(muscle)]
}

// medius is the activation of the whole gluteus medius.
func (d *drawnClient) medius(l *drawnLift, load float64) float64 {
	front, back := Muscles()[MuscleNumber("gluteus_medius_anterior")].Force, Muscles()[MuscleNumber("gluteus_medius_posterior")].Force
	return (front*d.activation(l, "gluteus_medius_anterior", load) + back*d.activation(l, "gluteus_medius_posterior", load)) / (front + back)
}

// effort is a moment as a part of what the joint can make in that posture.
func (d *drawnClient) effort(l *drawnLift, posture int, load float64, f StrengthFunction, name string) float64 {
	s, err := d.body.Solve(l.postures[posture], load)
	if err != nil {
		d.failed = true
		return 0
	}
	return d.moments(l, posture, load)[name] / d.strength.Isometric(f, Right, &s.Q)
}

// retarget replaces the numbers of targets of a pose by name.
func retarget(values map[string]float64) func(*exercise.Pose) {
	return func(p *exercise.Pose) {
		for i, t := range p.Targets {
			if v, ok := values[t.Name]; ok {
				p.Targets[i].Numbers = []exercise.Number{{Value: v, Unit: t.Numbers[0].Unit}}
			}
		}
	}
}

// stance puts the feet of a squat at a half width of body height and toes turned out.
func stance(half, out float64) func(*exercise.Pose) {
	return func(p *exercise.Pose) {
		for i, t := range p.Targets {
			if t.Name == "stand" {
				numbers := slices.Clone(t.Numbers)
				numbers[1].Value, numbers[2].Value = half, out
				p.Targets[i].Numbers = numbers
			}
		}
	}
}

// Names of moments, of the right side.
const (
	hipMoment    = "hip_extension_r"
	kneeMoment   = "knee_extension_r"
	ankleMoment  = "ankle_plantarflexion_r"
	lumbarMoment = "lumbar_extension"
	squatMiddle  = 1 // posture of the squat with the thigh at 40 degrees
	squatBottom  = 2 // with the thigh level
)

// moreAt says that one lift has more of a moment than another at the same load.
func moreAt(more, less, name string, bodies float64) func(*drawnClient) bool {
	return func(d *drawnClient) bool {
		load := bodies * d.body.Measures.Mass
		return d.peak(d.lift(more, "", nil), name, load) > d.peak(d.lift(less, "", nil), name, load)
	}
}

// moreOfOwn says that one lift has more of a moment than another, each at a part
// of its own largest load.
func moreOfOwn(more, less, name string, part float64) func(*drawnClient) bool {
	return func(d *drawnClient) bool {
		m, l := d.lift(more, "", nil), d.lift(less, "", nil)
		return d.peak(m, name, part*d.load(m)) > d.peak(l, name, part*d.load(l))
	}
}

// worksHarder says that a muscle works harder in one lift than in another, each at
// a part of its own largest load.
func worksHarder(more, less, muscle string, part float64) func(*drawnClient) bool {
	return func(d *drawnClient) bool {
		m, l := d.lift(more, "", nil), d.lift(less, "", nil)
		return d.activation(m, muscle, part*d.load(m)) > d.activation(l, muscle, part*d.load(l))
	}
}

// blockedKnees compares a squat with knees kept back to a free one.
func blockedKnees(name string, up bool) func(*drawnClient) bool {
	return func(d *drawnClient) bool {
		free, back := d.lift("back-squat", "", nil), d.lift("back-squat", "blocked", retarget(map[string]float64{"ankle": heldBack / degree}))
		load := d.body.Measures.Mass
		f, b := d.moments(free, squatBottom, load)[name], d.moments(back, squatBottom, load)[name]
		return up == (b > f)
	}
}

// orderings lists what is published, in the order of the report.
func orderings() []Ordering {
	all := slices.Concat(squatOrderings(), liftOrderings(), muscleOrderings(), armOrderings())
	for i := range all {
		if all[i].holds == nil {
			panic("body: an ordering without its test")
		}
	}
	return all
}

func squatOrderings() []Ordering {
	return []Ordering{
		{Name: "knees kept back: hip moment up", Source: "fry-2003", holds: blockedKnees(hipMoment, true)},
		{Name: "knees kept back: knee moment down", Source: "fry-2003", holds: blockedKnees(kneeMoment, false)},
		{Name: "knees kept back: more lean", Source: "lorenzetti-2012", holds: blockedKnees("lean", true)},
		{Name: "narrow and turned out: more than natural", Source: "lorenzetti-2018", KeptBack: true, holds: stanceCosts(0.08, 42)},
		{Name: "wide and straight: more than natural", Source: "lorenzetti-2018", KeptBack: true, holds: stanceCosts(0.16, 0)},
		{Name: "equal load: hip, back over front squat", Source: "krzyszkowski-2020", holds: moreAt("back-squat", "front-squat", hipMoment, 1)},
		{Name: "equal load: knee, front over back squat", Source: "krzyszkowski-2020", holds: moreAt("front-squat", "back-squat", kneeMoment, 1)},
		{Name: "effort of the knee grows with depth", Source: "bryanton-2012", KeptBack: true, holds: func(d *drawnClient) bool {
			l, load := d.lift("back-squat", "", nil), d.body.Measures.Mass
			return d.effort(l, squatBottom, load, KneeExtension, kneeMoment) > d.effort(l, squatMiddle, load, KneeExtension, kneeMoment)
		}},
		{Name: "effort of the hip grows with depth", Source: "bryanton-2012", KeptBack: true, holds: func(d *drawnClient) bool {
			l, load := d.lift("back-squat", "", nil), d.body.Measures.Mass
			return d.effort(l, squatBottom, load, HipExtension, hipMoment) > d.effort(l, squatMiddle, load, HipExtension, hipMoment)
		}},
		{Name: "effort of the hip grows with load, more than the knee's", Source: "bryanton-2012", KeptBack: true, holds: func(d *drawnClient) bool {
			l := d.lift("back-squat", "", nil)
			light, heavy := 0.5*d.load(l), 0.9*d.load(l)
			grows := func(f StrengthFunction, name string) float64 {
				return d.effort(l, squatBottom, heavy, f, name) / d.effort(l, squatBottom, light, f, name)
			}
			return grows(HipExtension, hipMoment) > max(1, grows(KneeExtension, kneeMoment))
		}},
		{Name: "sum of hip and knee largest near the level thigh", Source: "yoshioka-2014", KeptBack: true, holds: func(d *drawnClient) bool {
			l, deep := d.lift("back-squat", "", nil), d.lift("back-squat", "deep", retarget(map[string]float64{"thigh": deeperThanLevel}))
			sum := func(l *drawnLift, posture int) float64 {
				m := d.moments(l, posture, 0)
				return m[hipMoment] + m[kneeMoment]
			}
			level := sum(l, squatBottom)
			return level > sum(l, squatMiddle) && sum(deep, squatBottom) < nearlyNoLarger*level
		}},
		{Name: "longer thigh: hip moment up", Source: "fry-2003", holds: func(d *drawnClient) bool {
			long := *d
			m := d.body.Measures
			m.Thigh *= longerThigh
			b, err := NewBody(m)
			if err != nil {
				return false
			}
			long.body, long.found = b, map[string]*drawnLift{}
			load := d.body.Measures.Mass
			up := long.moments(long.lift("back-squat", "", nil), squatBottom, load)[hipMoment] > d.moments(d.lift("back-squat", "", nil), squatBottom, load)[hipMoment]
			d.failed = d.failed || long.failed
			return up
		}},
		{Name: "hips 3 cm to the right: right hip and knee up", Source: "judgement", holds: func(d *drawnClient) bool {
			l := d.lift("back-squat", "", nil)
			shifted := &drawnLift{postures: []Posture{l.postures[squatBottom].HipShift(0.03)}}
			m := d.moments(shifted, 0, d.body.Measures.Mass)
			return m["hip_extension_r"] > m["hip_extension_l"] && m["knee_extension_r"] > m["knee_extension_l"]
		}},
	}
}

// stanceCosts says that hips and knees carry more in all in a stance than at a
// shoulder's width with feet turned out by 21 degrees.
func stanceCosts(half, out float64) func(*drawnClient) bool {
	return func(d *drawnClient) bool {
		whole := func(half, out float64) float64 {
			l := d.lift("back-squat", fmt.Sprintf("feet %g, %g", half, out), stance(half, out))
			m := d.moments(l, squatBottom, d.body.Measures.Mass/2)
			sum := 0.0
			for _, f := range []string{hipMoment, "hip_abduction_r", "hip_external_rotation_r", kneeMoment} {
				sum += m[f] * m[f]
			}
			return math.Sqrt(sum)
		}
		return whole(half, out) > whole(0.11, 21)
	}
}

func liftOrderings() []Ordering {
	all := []Ordering{
		{Name: "hexagonal bar: lumbar down", Source: "swinton-2011", holds: moreAt("deadlift", "hex-bar-deadlift", lumbarMoment, 1)},
		{Name: "hexagonal bar: hip down", Source: "swinton-2011", holds: moreAt("deadlift", "hex-bar-deadlift", hipMoment, 1)},
		{Name: "hexagonal bar: ankle down", Source: "swinton-2011", holds: moreAt("deadlift", "hex-bar-deadlift", ankleMoment, 1)},
		{Name: "hexagonal bar: knee up", Source: "swinton-2011", holds: moreAt("hex-bar-deadlift", "deadlift", kneeMoment, 1)},
		{Name: "knee: extensor in the deadlift, flexor in the Romanian", Source: "lee-2018", holds: func(d *drawnClient) bool {
			load := d.body.Measures.Mass
			return d.moments(d.lift("deadlift", "", nil), 0, load)[kneeMoment] > 0 && d.moments(d.lift("romanian-deadlift", "", nil), 2, load)[kneeMoment] < 0
		}},
		{Name: "knee: squat over hip thrust", Source: "otsuka-2021", holds: moreOfOwn("back-squat", "hip-thrust", kneeMoment, sixRepetitions)},
		{Name: "knee: hip thrust over deadlift", Source: "otsuka-2021", holds: moreOfOwn("hip-thrust", "deadlift", kneeMoment, sixRepetitions)},
	}
	for _, more := range []string{"hip-thrust", "deadlift"} {
		for _, x := range []struct{ joint, name string }{{"hip", hipMoment}, {"lumbosacral", lumbarMoment}} {
			all = append(all, Ordering{Name: x.joint + ": " + strings.ReplaceAll(more, "-", " ") + " over squat", Source: "otsuka-2021", KeptBack: true,
				holds: moreOfOwn(more, "back-squat", x.name, sixRepetitions)})
		}
	}
	return all
}

func muscleOrderings() []Ordering {
	return []Ordering{
		{Name: "gluteus medius: lying on the side over step-up", Source: "macaskill-2014", KeptBack: true, holds: func(d *drawnClient) bool {
			lying, up := d.lift("side-lying-hip-abduction", "", nil), d.lift("step-up", "", nil)
			return d.medius(lying, tenRepetitions*d.load(lying)) > d.medius(up, tenRepetitions*d.load(up))
		}},
		{Name: "gluteus medius: lying on the side over lunge", Source: "distefano-2009", KeptBack: true, holds: func(d *drawnClient) bool {
			return d.medius(d.lift("side-lying-hip-abduction", "", nil), 0) > d.medius(d.lift("walking-lunge", "", nil), 0)
		}},
		{Name: "gluteus medius: lunge over clamshell", Source: "distefano-2009", KeptBack: true, holds: func(d *drawnClient) bool {
			return d.medius(d.lift("walking-lunge", "", nil), 0) > d.medius(d.lift("clamshell", "", nil), 0)
		}},
		{Name: "upper gluteus maximus: hip thrust over squat", Source: "contreras-2015", KeptBack: true, holds: worksHarder("hip-thrust", "back-squat", "gluteus_maximus_upper", tenRepetitions)},
		{Name: "lower gluteus maximus: hip thrust over squat", Source: "contreras-2015", KeptBack: true, holds: worksHarder("hip-thrust", "back-squat", "gluteus_maximus_lower", tenRepetitions)},
		{Name: "biceps femoris: hip thrust over squat", Source: "contreras-2015", KeptBack: true, holds: worksHarder("hip-thrust", "back-squat", "biceps_femoris_long", tenRepetitions)},
		{Name: "rectus femoris below half of the vasti in the squat", Source: "rectus-femoris-squat", holds: func(d *drawnClient) bool {
			l := d.lift("back-squat", "", nil)
			load := tenRepetitions * d.load(l)
			return d.activation(l, "rectus_femoris", load) < d.activation(l, "vasti", load)/2
		}},
		{Name: "weaker right deep rotators cost the clamshell more than the squat", Source: "rotators-clamshell", KeptBack: true, holds: func(d *drawnClient) bool {
			weak := *d
			s := *d.strength
			s.Scale = [2][]float64{slices.Clone(s.Scale[0]), s.Scale[1]}
			s.Scale[Right][MuscleNumber("deep_external_rotators")] *= weakerRotators
			weak.strength, weak.found = &s, map[string]*drawnLift{}
			left := func(id string) float64 { return weak.load(weak.lift(id, "", nil)) / d.load(d.lift(id, "", nil)) }
			return left("clamshell") < left("back-squat") && left("back-squat") <= 1
		}},
	}
}

// Orderings draws clients around a reference one and counts in how many each
// published direction holds. Draws go to all processors; the counts do not depend
// on how many there are.
func Orderings(draws int) []Ordering { return hold(orderings(), draws) }

func hold(all []Ordering, draws int) []Ordering {
	type answer struct{ held, failed bool }
	answers := make([][]answer, draws)
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for n := range next {
				d := newDrawn(uint64(n))
				for i := range all {
					d.failed = false
					held := all[i].holds(d)
					answers[n] = append(answers[n], answer{held, d.failed})
				}
			}
		})
	}
	for n := range draws {
		next <- n
	}
	close(next)
	wait.Wait()
	for _, row := range answers {
		for i, a := range row {
			if !a.failed {
				all[i].Draws++
				if a.held {
					all[i].Held++
				}
			}
		}
	}
	return all
}
