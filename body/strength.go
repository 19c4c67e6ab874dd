package body

import (
	_ "embed"
	"math"
	"math/rand/v2"
	"sync"

	"corbel/client"
	"corbel/num"
)

// A StrengthFunction is one thing a joint can be strong for. Strength is normed, and
// deviates, by function.
type StrengthFunction int

// The functions. Those of the trunk have no side.
const (
	HipExtension StrengthFunction = iota
	HipFlexing
	HipAbducting
	HipAdducting
	HipExternalRotating
	HipInternalRotating
	KneeExtension
	KneeFlexing
	AnklePlantarflexion
	AnkleDorsiflexing
	FootInverting
	FootEverting
	TrunkExtension
	TrunkFlexing
	TrunkBending
	TrunkTwisting
	ShoulderFlexing // from here on muscles of girdle, arm and hand
	ShoulderExtending
	ShoulderAbducting
	ShoulderAdducting
	ShoulderExternalRotating
	ShoulderInternalRotating
	ShoulderAdductingLevel // drawing the level arm forward
	ShoulderAbductingLevel // and back
	GirdleElevating
	GirdleProtracting
	GirdleDepressing
	GirdleRetracting
	ElbowFlexing
	ElbowExtending
	ForearmSupinating
	ForearmPronating
	Gripping

	// StrengthFunctions counts them.
	StrengthFunctions = int(Gripping) + 1
)

// functionTable says about which coordinate a function works, in which direction
// of it, which others it must keep in balance (a pure moment of the joint), and
// with which coordinate its norms change where that is not its own.
var functionTable = [StrengthFunctions]struct {
	name       string
	coordinate Coordinate
	sign       float64
	balanced   []Coordinate
	over       Coordinate
}{
	HipExtension:             {"hip_extension", HipFlexion, -1, []Coordinate{HipAbduction, HipRotation}, HipFlexion},
	HipFlexing:               {"hip_flexion", HipFlexion, 1, []Coordinate{HipAbduction, HipRotation}, HipFlexion},
	HipAbducting:             {"hip_abduction", HipAbduction, 1, []Coordinate{HipFlexion, HipRotation}, HipFlexion},
	HipAdducting:             {"hip_adduction", HipAbduction, -1, []Coordinate{HipFlexion, HipRotation}, HipFlexion},
	HipExternalRotating:      {"hip_external_rotation", HipRotation, 1, []Coordinate{HipFlexion, HipAbduction}, HipFlexion},
	HipInternalRotating:      {"hip_internal_rotation", HipRotation, -1, []Coordinate{HipFlexion, HipAbduction}, HipFlexion},
	KneeExtension:            {"knee_extension", KneeFlexion, -1, nil, KneeFlexion},
	KneeFlexing:              {"knee_flexion", KneeFlexion, 1, nil, KneeFlexion},
	AnklePlantarflexion:      {"ankle_plantarflexion", AnkleDorsiflexion, -1, nil, AnkleDorsiflexion},
	AnkleDorsiflexing:        {"ankle_dorsiflexion", AnkleDorsiflexion, 1, nil, AnkleDorsiflexion},
	FootInverting:            {"foot_inversion", FootInversion, 1, nil, FootInversion},
	FootEverting:             {"foot_eversion", FootInversion, -1, nil, FootInversion},
	TrunkExtension:           {"trunk_extension", LumbarFlexion, -1, []Coordinate{LumbarBend, LumbarTwist}, LumbarFlexion},
	TrunkFlexing:             {"trunk_flexion", LumbarFlexion, 1, []Coordinate{LumbarBend, LumbarTwist}, LumbarFlexion},
	TrunkBending:             {"trunk_bend", LumbarBend, 1, []Coordinate{LumbarFlexion, LumbarTwist}, LumbarBend},
	ShoulderFlexing:          {"shoulder_flexion", ShoulderFlexion, 1, []Coordinate{ShoulderAbduction, ShoulderHorizontalAdduction}, ArmElevation},
	ShoulderExtending:        {"shoulder_extension", ShoulderFlexion, -1, []Coordinate{ShoulderAbduction, ShoulderHorizontalAdduction}, ArmElevation},
	ShoulderAbducting:        {"shoulder_abduction", ShoulderAbduction, 1, []Coordinate{ShoulderFlexion, ShoulderHorizontalAdduction}, ArmElevation},
	ShoulderAdducting:        {"shoulder_adduction", ShoulderAbduction, -1, []Coordinate{ShoulderFlexion, ShoulderHorizontalAdduction}, ArmElevation},
	ShoulderExternalRotating: {"shoulder_external_rotation", ShoulderHorizontalAdduction, -1, []Coordinate{ShoulderFlexion, ShoulderAbduction}, ArmElevation},
	ShoulderInternalRotating: {"shoulder_internal_rotation", ShoulderHorizontalAdduction, 1, []Coordinate{ShoulderFlexion, ShoulderAbduction}, ArmElevation},
	ShoulderAdductingLevel:   {"shoulder_horizontal_adduction", ShoulderHorizontalAdduction, 1, []Coordinate{ShoulderFlexion, ShoulderAbduction}, ArmElevation},
	ShoulderAbductingLevel:   {"shoulder_horizontal_abduction", ShoulderHorizontalAdduction, -1, []Coordinate{ShoulderFlexion, ShoulderAbduction}, ArmElevation},
	GirdleElevating:          {"girdle_elevation", ClavicleElevation, 1, []Coordinate{ClavicleProtraction, ScapulaRotation}, GirdleElevation},
	GirdleProtracting:        {"girdle_protraction", ClavicleProtraction, 1, []Coordinate{ClavicleElevation, ScapulaRotation}, GirdleElevation},
	GirdleDepressing:         {"girdle_depression", ClavicleElevation, -1, []Coordinate{ClavicleProtraction, ScapulaRotation}, GirdleElevation},
	GirdleRetracting:         {"girdle_retraction", ClavicleProtraction, -1, []Coordinate{ClavicleElevation, ScapulaRotation}, GirdleElevation},
	ElbowFlexing:             {"elbow_flexion", ElbowFlexion, 1, nil, ElbowFlexion},
	ElbowExtending:           {"elbow_extension", ElbowFlexion, -1, nil, ElbowFlexion},
	ForearmSupinating:        {"forearm_supination", ForearmSupination, 1, nil, ForearmSupination},
	ForearmPronating:         {"forearm_pronation", ForearmSupination, -1, nil, ForearmSupination},
	Gripping:                 {"grip", HandGrip, 1, nil, ElbowFlexion},
	TrunkTwisting:            {"trunk_rotation", LumbarTwist, -1, []Coordinate{LumbarFlexion, LumbarBend}, LumbarTwist},
}

// String gives the name that tables and JSON use.
func (f StrengthFunction) String() string { return functionTable[f].name }

// Of gives the coordinate of the function's joint on a side, and the direction in
// which it works: +1 where it makes the coordinate grow.
func (f StrengthFunction) Of(side int) (Coordinate, float64) {
	t := &functionTable[f]
	if (f == TrunkBending || f == TrunkTwisting) && side == Left {
		return t.coordinate, -t.sign // to its own side
	}
	return t.coordinate.Of(side), t.sign
}

// Over gives the coordinate that the norms of the function change with: its own,
// for abduction and rotation of the hip how far the hip is bent.
func (f StrengthFunction) Over(side int) Coordinate { return functionTable[f].over.Of(side) }

// StrengthFunctionNamed finds a function by its name.
func StrengthFunctionNamed(name string) (StrengthFunction, bool) {
	for f := range functionTable {
		if functionTable[f].name == name {
			return StrengthFunction(f), true
		}
	}
	return 0, false
}

// What is taken for the strength of a client before any lift is known; our
// judgement, of ln(factor over norm). docs/model/01-body-muscles.md (11).
const (
	LevelUntrained    = 0.0
	LevelSomeTraining = 0.3
	LevelTrained      = 0.7
	LevelSD           = 0.35 // of the common level
	DeviationSD       = 0.20 // of each function about the level
)

// A Strength is how strong one client is. The zero Scale is filled by
// [NewStrength]; change levels, deviations and scales freely before use.
type Strength struct {
	Sex          client.Sex
	Mass, Height float64                    // kg, m
	Level        float64                    // ln(factor over norm), common to all functions
	Deviation    [StrengthFunctions]float64 // the same, of each function about the level
	Scale        [2][]float64               // of each side, of each of [Muscles]: 1, or less of a weak muscle
	Belief       *StrengthBelief            // how sure level and deviations are; nil: as before any lift is known
}

// NewStrength returns the strength of the norms at a level. Mass in kg and height
// in m come from a client who has been read, so both are above 0.
func NewStrength(sex client.Sex, mass, height, level float64) *Strength {
	if !(mass > 0 && height > 0) {
		panic(badHeight)
	}
	s := &Strength{Sex: sex, Mass: mass, Height: height, Level: level}
	for side := range s.Scale {
		s.Scale[side] = make([]float64, len(Muscles()))
		for i := range s.Scale[side] {
			s.Scale[side][i] = 1
		}
	}
	return s
}

// Vary returns a copy in which each muscle of each side is stronger or weaker by
// chance: ln of the factor is normal with the given spread.
func (s *Strength) Vary(r *rand.Rand, spread float64) *Strength {
	varied := *s
	for side, scales := range s.Scale {
		varied.Scale[side] = make([]float64, len(scales))
		for i, x := range scales {
			varied.Scale[side][i] = x * math.Exp(spread*r.NormFloat64())
		}
	}
	return &varied
}

// A MusclePull is what one muscle can do in a posture.
type MusclePull struct {
	Muscle *Muscle
	Side   int
	Force  float64 // N at full activation
	Fibre  float64 // fibre length in best lengths
	Arms   []Arm   // m, for this body
}

// Pull computes a muscle's force and arms in a posture:
// docs/model/01-body-muscles.md (6)-(12). Arms are appended to dst.
func (s *Strength) Pull(dst []Arm, number, side int, q *Q) MusclePull {
	m := Muscles()[number]
	arms, fibre := m.Arms(dst, q, side)
	for i := range arms {
		arms[i].Value *= s.Height / ReferenceHeight
	}
	rise := s.Level
	for _, p := range m.Parts {
		rise += p.Part * (normFactor(p.Function, s.Sex, q, side) + s.Deviation[p.Function])
	}
	force := m.Force * s.Mass / ReferenceMass * m.lengthFactor(fibre) * math.Exp(rise) * s.Scale[side][number]
	return MusclePull{m, side, force, fibre, arms}
}

// Rows says which row of a [Program] balances each coordinate, or -1.
type Rows [MomentCount]int

// NoRows is a body without rows.
func NoRows() Rows {
	var r Rows
	for i := range r {
		r[i] = -1
	}
	return r
}

// AddMuscles adds all muscles of both sides to a program whose rows balance
// coordinates, those of the right side first, in the order of [Muscles]. It
// returns the column of the first; a muscle that acts on no row of the program
// has a column all the same.
func (s *Strength) AddMuscles(p *Program, rows *Rows, q *Q) (first int) {
	first = p.Columns()
	var arms [12]Arm
	var entries [12]Entry
	for side := range s.Scale {
		for i := range Muscles() {
			pull := s.Pull(arms[:0], i, side, q)
			list := entries[:0]
			for _, a := range pull.Arms {
				if r := rows[a.Coordinate]; r >= 0 {
					list = append(list, Entry{r, a.Value * pull.Force})
				}
			}
			p.AddMuscle(pull.Muscle.Weight, list...)
		}
	}
	return first
}

//go:embed ties.csv
var tiesText string

// tie is one row of ties.csv.
type tie struct {
	muscle, like int
	ratio        float64
}

var tieList = sync.OnceValue(func() (list []tie) {
	t := num.ReadTable("ties", tiesText)
	for i := range t.Len() {
		x := tie{MuscleNumber(t.Text(i, "muscle")), MuscleNumber(t.Text(i, "like")), t.Number(i, "ratio")}
		if x.muscle < 0 || x.like < 0 {
			panic(badMuscleTable)
		}
		list = append(list, x)
	}
	return list
})

// AddTies adds the soft rows of common drive and bracing for the muscles that
// AddMuscles added from column first on. They are for the picture of who works;
// the largest load goes without.
func AddTies(p *Program, first int) {
	for side := range 2 {
		from := first + side*len(Muscles())
		for _, t := range tieList() {
			p.Tie(from+t.muscle, from+t.like, t.ratio, PairGive)
		}
	}
}

// What ligaments, capsule and the trunk's own stiffness take up about axes that a
// posture leaves near their middle, N m for a body of passiveMass and
// passiveHeight, at a price that makes all of it cost bandCost (our judgement).
const (
	passiveBand = 5.0
	bandCost    = 0.05
)

// AddBands adds the passive bands of hip abduction, hip rotation, bend and twist
// of the trunk, where the program has their rows.
func (s *Strength) AddBands(p *Program, rows *Rows) {
	size := passiveBand * s.Mass * s.Height / (passiveMass * passiveHeight)
	for _, c := range []Coordinate{HipAbduction, HipRotation, HipAbduction.Of(Left), HipRotation.Of(Left), LumbarBend, LumbarTwist} {
		if rows[c] >= 0 {
			p.AddForce(2*bandCost, -1, 1, Entry{rows[c], size})
		}
	}
}

// Isometric is the largest pure moment, N m, of a function on a side in a
// posture, active parts only: docs/model/01-body-muscles.md (13). Other joints
// are held.
func (s *Strength) Isometric(f StrengthFunction, side int, q *Q) float64 {
	p := s.isometric(f, side, q)
	var l Lifter
	return l.Largest(p).Load
}

// isometric is the program of that moment; its columns are those of AddMuscles.
func (s *Strength) isometric(f StrengthFunction, side int, q *Q) *Program {
	p, rows := NewProgram(), NoRows()
	c, sign := f.Of(side)
	rows[c] = p.AddRow(0, sign, RowGive)
	for _, b := range functionTable[f].balanced {
		rows[b.Of(side)] = p.AddRow(0, 0, RowGive)
	}
	s.AddMuscles(p, &rows, q)
	return p
}

//go:embed strength.csv
var strengthText string

// The sexes that have norms.
const (
	female client.Sex = "female"
	male   client.Sex = "male"
)

// normKnots are the factors of one function: ln(factor) by the angle of its
// coordinate, rad.
type normKnots struct{ angle, factor []float64 }

// normTable holds the factors of women, then of men.
var normTable = sync.OnceValue(func() (table [2][StrengthFunctions]normKnots) {
	t := num.ReadTable("strength", strengthText)
	for i := range t.Len() {
		f, ok := StrengthFunctionNamed(t.Text(i, "function"))
		if !ok {
			panic(badMuscleTable)
		}
		sex := 0
		if t.Text(i, "sex") == string(male) {
			sex = 1
		}
		k := &table[sex][f]
		k.angle = append(k.angle, t.Number(i, "angle")*math.Pi/180)
		k.factor = append(k.factor, math.Log(t.Number(i, "factor")))
	}
	return table
})

// normFactor is ln of what a function's muscles have of their table's force, in a
// posture, so that isometric moments meet the norms. Between the sexes it is the
// mean.
func normFactor(f StrengthFunction, sex client.Sex, q *Q, side int) float64 {
	c := f.Over(side)
	table := normTable()
	switch sex {
	case female:
		return table[0][f].at(q[c])
	case male:
		return table[1][f].at(q[c])
	}
	return (table[0][f].at(q[c]) + table[1][f].at(q[c])) / 2
}

// at interpolates, constant beyond the ends.
func (k *normKnots) at(q float64) float64 {
	n := len(k.angle)
	if n == 0 || q <= k.angle[0] {
		return k.factor[0]
	}
	for i := 1; i < n; i++ {
		if q <= k.angle[i] {
			t := (q - k.angle[i-1]) / (k.angle[i] - k.angle[i-1])
			return k.factor[i-1] + t*(k.factor[i]-k.factor[i-1])
		}
	}
	return k.factor[n-1]
}
