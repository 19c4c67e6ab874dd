package body

import (
	"maps"
	"slices"

	"corbel/exercise"
)

// PerHand says whether a load counts in each hand in these postures.
func PerHand(postures []Posture) bool {
	return slices.ContainsFunc(postures, func(p Posture) bool {
		return slices.ContainsFunc(p.Pose.Loads, func(l exercise.Term) bool { return l.Name == "hand" })
	})
}

// Loaded says whether a load acts in some of these postures.
func Loaded(postures []Posture) bool {
	return slices.ContainsFunc(postures, func(p Posture) bool { return len(p.Pose.Loads) > 0 })
}

// LiftModel computes a lift for a strength: the largest load of its postures, kg,
// and its gains. Postures are solved once for each load. It is not for several
// goroutines at once.
func LiftModel(b *Body, postures []Posture) func(*Strength) (float64, StrengthGain) {
	a := &asking{body: b, postures: postures, solved: map[solvedAt]*poised{}}
	return func(s *Strength) (float64, StrengthGain) {
		a.strength = s
		out := &Asked{Muscles: make([]AskedMuscle, 2*len(Muscles()))}
		if a.largest(out) != nil || !out.Largest.Known {
			return LeastModel, StrengthGain{}
		}
		var gain StrengthGain
		for i := range out.Muscles {
			gain[0] += out.Muscles[i].Gain
			for _, p := range Muscles()[i%len(Muscles())].Parts {
				gain[1+p.Function] += p.Part * out.Muscles[i].Gain
			}
		}
		return out.Largest.Load, gain
	}
}

// LiftsLearned is what known lifts tell of a strength.
type LiftsLearned struct {
	Belief StrengthBelief
	Lifts  []LearnedLift
}

// A LearnedLift is one known lift with what the model says of it, kg.
type LearnedLift struct {
	LeftOut
	Before, After float64
}

// Learned moves the prior of a level by known lifts and predicts each lift from the
// others. The strength is left as it was. Answers are kept in the cache, which may
// be nil.
func Learned(b *Body, s *Strength, level float64, lifts []Lift, cache *Cache) *LiftsLearned {
	key := cacheKey("learned", b.Measures, level, liftNumbers(lifts))
	out := &LiftsLearned{}
	if cache.get(key, out) {
		return out
	}
	mine := *s
	prior := PriorBelief(level)
	prior.Apply(&mine)
	for _, l := range lifts {
		before, _ := l.Model(&mine)
		out.Lifts = append(out.Lifts, LearnedLift{Before: before})
	}
	left := prior.LeaveOut(&mine, lifts)
	out.Belief = *prior.Learn(&mine, lifts)
	for i, l := range lifts {
		out.Lifts[i].LeftOut = left[i]
		out.Lifts[i].After, _ = l.Model(&mine)
	}
	cache.put(key, out)
	return out
}

// liftNumbers are what of lifts a key needs.
func liftNumbers(lifts []Lift) map[string][2]float64 {
	out := map[string][2]float64{}
	for _, l := range lifts {
		out[l.Name] = [2]float64{l.Known, l.SD}
	}
	return out
}

// ShareOf is the share of a muscle group on a side: that of its busiest part.
func (a *Asked) ShareOf(parts []string, side int) (share float64) {
	for i := range a.Muscles {
		m := &a.Muscles[i]
		if m.Side == side && slices.Contains(parts, Muscles()[m.Muscle].Name) {
			share = max(share, m.Share)
		}
	}
	return share
}

// sortedKeys lists the keys of a map in order.
func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
