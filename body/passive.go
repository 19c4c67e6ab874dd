package body

import "math"

// Passive moments of ligaments, capsules and stretched muscle, and of the lumbar
// spine in flexion: docs/model/01-body-muscles.md (20)-(23).
const (
	passiveMass   = 75.0 // kg, taken for those measured (our judgement)
	passiveHeight = 1.75 // m, the same

	spineMoment = 80.0           // N m at spineFull (key dolan-1994, from memory)
	spineFull   = 55 * radPerDeg // full lumbar flexion (our judgement)
	spineRise   = 3.0            // how steeply it rises, 1 (our judgement)

	radPerDeg = math.Pi / 180
)

// Within these angles the passive moments of the leg were measured
// (key riener-edrich-1999; limits from memory); beyond, those of the limit hold.
const (
	passiveHipLow, passiveHipHigh     = -20.0, 120.0 // deg
	passiveKneeLow, passiveKneeHigh   = 0.0, 135.0   // deg
	passiveAnkleLow, passiveAnkleHigh = -40.0, 30.0  // deg
)

// Passive gives the moments that hold a posture without any muscle working, N m,
// for each coordinate, positive where they would make it grow. They are apart from
// what muscles must deliver, and are shown apart.
func Passive(q *Q, mass, height float64) (moments Moments) {
	if !(mass > 0 && height > 0) {
		panic(badHeight)
	}
	size := mass * height / (passiveMass * passiveHeight)
	for side := range 2 {
		hip := degrees(q[HipFlexion.Of(side)], passiveHipLow, passiveHipHigh)
		knee := degrees(q[KneeFlexion.Of(side)], passiveKneeLow, passiveKneeHigh)
		ankle := degrees(q[AnkleDorsiflexion.Of(side)], passiveAnkleLow, passiveAnkleHigh)
		moments[HipFlexion.Of(side)] = size * (math.Exp(1.4655-0.0034*knee-0.0750*hip) -
			math.Exp(1.3403-0.0226*knee+0.0305*hip) + 8.072)
		moments[KneeFlexion.Of(side)] = size * (math.Exp(1.800+0.0460*ankle-0.0352*knee+0.0217*hip) -
			math.Exp(-3.971+0.0004*ankle+0.0495*knee-0.0128*hip) - 4.820 + math.Exp(2.220-0.150*knee))
		moments[AnkleDorsiflexion.Of(side)] = size * (math.Exp(-7.9763-0.1949*ankle+0.0008*knee) -
			math.Exp(2.1016+0.0843*ankle-0.0176*knee) + 1.792)
	}
	bent := min(1, max(0, q[LumbarFlexion]/spineFull))
	moments[LumbarFlexion] = -size * spineMoment * math.Expm1(spineRise*bent) / math.Expm1(spineRise)
	return moments
}

// degrees turns an angle to degrees within limits.
func degrees(angle, low, high float64) float64 {
	return min(high, max(low, angle/radPerDeg))
}
