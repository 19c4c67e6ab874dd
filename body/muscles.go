package body

import (
	_ "embed"
	"math"
	"strconv"
	"strings"
	"sync"

	"corbel/num"
)

// The body the published moment arms belong to (key rajagopal-2016). Arms grow
// with height, forces with mass: docs/model/01-body-muscles.md (7), (10).
const (
	ReferenceHeight = 1.70 // m
	ReferenceMass   = 75.3 // kg
)

// The active force at a fibre length, docs/model/01-body-muscles.md (9).
const (
	lengthWidth = 0.45 // 1 (key rajagopal-2016): exp(-(l-1)²/0.45)
	shortFloor  = 0.3  // 1, our judgement: a rigid tendon exaggerates the change
	longFloor   = 0.6  // 1, our judgement: stretched tissue makes up for the rest

	// of muscles of girdle and arm, whose tendons are not measured: our judgement
	armPlateau  = 0.15        // 1, full force this far from the best length
	armWidth    = 0.45        // 1
	armLong     = 1.25        // 1, from here on stretched tissue makes up
	elbowMiddle = 75 * degree // where muscles of the elbow are at their best length
)

const (
	badMuscleTable = "body: the tables of muscles do not fit each other"
	badHeight      = "body: a body needs a height and a mass above 0"
)

// An Arm is the moment of 1 N of a muscle about one coordinate: positive where
// the muscle would make the coordinate grow.
type Arm struct {
	Coordinate Coordinate
	Value      float64 // m
}

// A Muscle is a group that the body has on both sides. It is read-only.
type Muscle struct {
	Name  string         // id, as in the parts of package anatomy
	Force float64        // N along the tendon at the best length, before the norms, at ReferenceMass
	Parts []StrengthPart // what it is strong for; the parts sum to 1

	optimal float64    // best fibre length, m; 0 where force does not change with length
	sine    float64    // of the pennation angle at the best length
	fibre   float64    // fibre length along the tendon in upright standing, in best lengths
	hip     *path      // nil where it does not cross the hip
	upright float64    // length of that path in upright standing, m
	hinges  []hingeArm // knee, ankle and foot
	lumbar  [3]float64
	onTrunk bool
	arm     *armLine // nil where it does not cross the shoulder
	upper   bool     // of girdle, arm or hand
	Weight  float64  // 1, or the part of a muscle that this line is
}

// A StrengthPart says how much of a muscle's strength goes with one function.
type StrengthPart struct {
	Function StrengthFunction
	Part     float64
}

// hingeArm is a moment arm about one coordinate that depends on it alone.
type hingeArm struct {
	coordinate Coordinate
	knots      knots
	upright    float64 // integral of the arm at 0
}

//go:embed muscles.csv
var musclesText string

//go:embed paths.csv
var pathsText string

//go:embed hinge-arms.csv
var hingeText string

// Muscles lists the muscles of one side, always in the same order.
func Muscles() []*Muscle { return muscleTable() }

// MuscleNumber gives the place of a muscle in [Muscles], or -1.
func MuscleNumber(name string) int {
	for i, m := range muscleTable() {
		if m.Name == name {
			return i
		}
	}
	return -1
}

var muscleTable = sync.OnceValue(func() []*Muscle {
	t := num.ReadTable("muscles", musclesText)
	var all []*Muscle
	byName := map[string]*Muscle{}
	for i := range t.Len() {
		m := &Muscle{
			Name:    t.Text(i, "muscle"),
			Force:   t.Number(i, "force"),
			optimal: t.Number(i, "optimal_fibre") / 1000,
			sine:    math.Sin(t.Number(i, "pennation") * math.Pi / 180),
			Weight:  t.Number(i, "weight"),
		}
		for _, part := range t.List(i, "functions") {
			m.Parts = append(m.Parts, readPart(part))
		}
		if m.upper = m.Parts[0].Function >= ShoulderFlexing; m.upper {
			m.fibre = 1 // in the middle of its range
		}
		all = append(all, m)
		byName[m.Name] = m
	}
	readPaths(byName)
	readHinges(byName)
	readArmLines(byName)
	return all
})

// readPart reads "hip_extension:0.5".
func readPart(text string) StrengthPart {
	name, part, _ := strings.Cut(text, ":")
	f, ok := StrengthFunctionNamed(name)
	x, err := strconv.ParseFloat(part, 64)
	if !ok || err != nil {
		panic(badMuscleTable)
	}
	return StrengthPart{f, x}
}

// readPaths gives the muscles of the hip their paths.
func readPaths(muscles map[string]*Muscle) {
	t := num.ReadTable("paths", pathsText)
	for i := range t.Len() {
		m := muscles[t.Text(i, "muscle")]
		if m == nil {
			panic(badMuscleTable)
		}
		m.fibre = t.Number(i, "fibre")
		if t.Text(i, "joint") != "hip" {
			continue
		}
		at := func(columns string) (p point3) {
			for k, axis := range []string{"x", "y", "z"} {
				p[k] = t.Number(i, columns+axis)
			}
			return p
		}
		m.hip = &path{at("origin_").times(1e-3), at("insertion_").times(1e-3), t.Number(i, "wrap") * 1e-3, at("hint_")}
		_, m.upright = m.hip.at(0, 0, 0)
	}
}

// readHinges gives the muscles of knee, ankle, foot and trunk their arms.
func readHinges(muscles map[string]*Muscle) {
	coordinates := map[string]Coordinate{"knee_flexion": KneeFlexion, "ankle_dorsiflexion": AnkleDorsiflexion, "foot_inversion": FootInversion,
		"elbow_flexion": ElbowFlexion, "forearm_supination": ForearmSupination, "clavicle_elevation": ClavicleElevation,
		"clavicle_protraction": ClavicleProtraction, "scapula_rotation": ScapulaRotation, "hand_grip": HandGrip}
	trunk := map[string]int{"lumbar_extension": 0, "lumbar_bend_to_own_side": 1, "lumbar_twist_to_own_side": 2}
	t := num.ReadTable("hinge-arms", hingeText)
	for i := 0; i < t.Len(); {
		name, coordinate := t.Text(i, "muscle"), t.Text(i, "coordinate")
		var angle, arm []float64
		for ; i < t.Len() && t.Text(i, "muscle") == name && t.Text(i, "coordinate") == coordinate; i++ {
			angle = append(angle, t.Number(i, "angle")*math.Pi/180)
			arm = append(arm, t.Number(i, "arm")/1000)
		}
		m := muscles[name]
		if m == nil {
			panic(badMuscleTable)
		}
		if k, ok := trunk[coordinate]; ok {
			m.lumbar[k], m.onTrunk = arm[0], true
			continue
		}
		c, ok := coordinates[coordinate]
		if !ok {
			panic(badMuscleTable)
		}
		h := hingeArm{coordinate: c, knots: newKnots(angle, arm)}
		_, h.upright = h.knots.at(0)
		if c == ElbowFlexion {
			_, h.upright = h.knots.at(elbowMiddle)
		}
		m.hinges = append(m.hinges, h)
	}
}

// Arms appends the muscle's moment arms on a side in a posture to dst, m, for a
// body of ReferenceHeight, and gives its fibre length in best lengths:
// docs/model/01-body-muscles.md (6), (8). Arms grow with height.
func (m *Muscle) Arms(dst []Arm, q *Q, side int) ([]Arm, float64) {
	shorter := 0.0 // than in upright standing, m
	if m.hip != nil {
		arms, length := m.hip.at(q[HipFlexion.Of(side)], q[HipAbduction.Of(side)], q[HipRotation.Of(side)])
		shorter += m.upright - length
		for i, a := range arms {
			dst = append(dst, Arm{(HipFlexion + Coordinate(i)).Of(side), a})
		}
	}
	if m.arm != nil {
		arms, length := m.arm.at(q, side)
		shorter += m.arm.middle - length
		dst = append(dst, Arm{ShoulderAbduction.Of(side), arms.shoulder[0]}, Arm{ShoulderHorizontalAdduction.Of(side), arms.shoulder[1]}, Arm{ShoulderFlexion.Of(side), arms.shoulder[2]})
		if !m.arm.onBlade {
			dst = append(dst, Arm{ClavicleElevation.Of(side), arms.girdle[0]}, Arm{ClavicleProtraction.Of(side), arms.girdle[1]}, Arm{ScapulaRotation.Of(side), arms.girdle[2]})
		}
	}
	for _, h := range m.hinges {
		c := h.coordinate.Of(side)
		if c >= Coordinate(Coordinates) {
			dst = append(dst, Arm{c, h.knots.arm[0]})
			continue
		}
		arm, area := h.knots.at(q[c])
		shorter += area - h.upright
		dst = append(dst, Arm{c, arm})
	}
	if m.onTrunk {
		s := 1.0
		if side == Left {
			s = -1
		}
		dst = append(dst, Arm{LumbarFlexion, -m.lumbar[0]}, Arm{LumbarBend, s * m.lumbar[1]}, Arm{LumbarTwist, -s * m.lumbar[2]})
	}
	if m.optimal == 0 {
		return dst, 1
	}
	along := max(0, m.fibre-shorter/m.optimal)
	return dst, math.Sqrt(along*along + m.sine*m.sine)
}

// lengthFactor is the active force at a fibre length, in parts of the best.
func (m *Muscle) lengthFactor(l float64) float64 {
	if m.upper {
		beyond := max(0, math.Abs(l-1)-armPlateau) / armWidth
		floor := shortFloor
		if l > armLong {
			floor = longFloor
		}
		return max(floor, math.Exp(-beyond*beyond))
	}
	floor := shortFloor
	if l > 1 {
		floor = longFloor
	}
	return max(floor, math.Exp(-(l-1)*(l-1)/lengthWidth))
}
