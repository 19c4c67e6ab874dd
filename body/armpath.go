package body

import (
	_ "embed"
	"math"

	"corbel/num"
)

//go:embed arm-paths.csv
var armPathsText string

// An armLine runs from the trunk or the blade to the upper arm, or from the blade
// over it to the forearm. Points are relative to the shoulder centre of the hanging
// right arm, m at [ReferenceHeight], in the axes of the segment they sit on.
type armLine struct {
	line    path // hint in the thorax
	onBlade bool // origin on the blade, else on the trunk
	optimal float64
	middle  float64 // length in the middle of its range, m
}

// readArmLines gives the muscles of the shoulder their lines.
func readArmLines(muscles map[string]*Muscle) {
	t := num.ReadTable("arm-paths", armPathsText)
	for i := range t.Len() {
		m := muscles[t.Text(i, "muscle")]
		if m == nil {
			panic(badMuscleTable)
		}
		at := func(columns string, scale float64) (p point3) {
			for k, axis := range []string{"x", "y", "z"} {
				p[k] = t.Number(i, columns+axis) * scale
			}
			return p
		}
		const mm = 1e-3 * ReferenceHeight / girdleHeight
		m.arm = &armLine{line: path{at("origin_", mm), at("insertion_", mm), t.Number(i, "wrap") * mm, at("hint_", 1)},
			onBlade: t.Text(i, "origin_on") == "blade", optimal: m.optimal}
		m.arm.middle = m.arm.middleLength()
	}
}

// middleLength is the middle of the line's lengths over postures of the arm that
// published arms are given for.
func (a *armLine) middleLength() float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, plane := range []float64{0, math.Pi / 2} {
		for raise := 0.0; raise <= 135; raise += 45 {
			var q Q
			q[ArmPlane], q[ArmElevation] = plane, raise*degree
			_, length := a.at(&q, Right)
			low, high = min(low, length), max(high, length)
		}
	}
	return (low + high) / 2
}

// armArms are the moments of 1 N along a line: about the shoulder (abduction,
// horizontal adduction, flexion in the axes of the thorax), about the inner end of
// the clavicle (elevation, protraction) and the turn of the blade.
type armArms struct {
	shoulder [3]float64
	girdle   [3]float64
}

// at gives the arms and the length of a line on a side in a posture, m:
// docs/model/01-body-arms.md (3)-(6).
func (a *armLine) at(q *Q, side int) (arms armArms, length float64) {
	raise, plane := q[ArmElevation.Of(side)], q[ArmPlane.Of(side)]
	const x, y, z = 0, 1, 2
	centre := point3{q[GirdleProtraction.Of(side)], q[GirdleElevation.Of(side)], 0}
	insertion := a.line.insertion.rotated(y, -q[ArmRotation.Of(side)]).rotated(y, -plane).rotated(x, -raise).rotated(y, plane)
	origin := a.line.origin.minus(centre)
	if a.onBlade {
		origin = scapulaTurned(a.line.origin, raise, q[GirdleProtraction.Of(side)])
	}
	moment, length := path{origin, insertion, a.line.wrap, a.line.hint}.pull(insertion)
	arms.shoulder = [3]float64{-moment[x], moment[y], moment[z]}
	if a.onBlade {
		return arms, length // inside blade and arm: nothing for the clavicle
	}
	force := a.line.towards(origin, insertion, moment)
	scale := ReferenceHeight / girdleHeight
	inner := point3{sternoclavicular.X, sternoclavicular.Y, sternoclavicular.Z}.times(scale).minus(centre)
	outer := scapulaTurned(point3{acromioclavicular.X, acromioclavicular.Y, acromioclavicular.Z}.times(scale), raise, q[GirdleProtraction.Of(side)])
	about := origin.minus(inner).cross(force)
	axis := scapulaTurned(point3{scapulaAxis.X, scapulaAxis.Y, scapulaAxis.Z}, raise, q[GirdleProtraction.Of(side)])
	arms.girdle = [3]float64{-about[x], about[y], origin.minus(outer).cross(force).dot(axis)}
	return arms, length
}

// towards is the direction in which a line pulls the arm where it leaves the
// trunk: straight to the insertion, or along the tangent to the sphere it wraps.
func (p path) towards(origin, insertion, moment point3) point3 {
	straight := origin.minus(insertion)
	straight = straight.times(1 / straight.length())
	arm, a := moment.length(), origin.length()
	if arm == 0 || a <= arm || insertion.cross(straight).minus(moment).length() < 1e-12 {
		return straight
	}
	e, n := origin.times(-1/a), moment.times(1/arm)
	return e.times(math.Sqrt(1 - arm*arm/(a*a))).add(n.cross(e).times(arm / a)).times(-1)
}
