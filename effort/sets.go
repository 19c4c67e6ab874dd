package effort

import "math"

// Constants of counting sets.
const (
	// fullReserve and noReserve are the reserves up to which a set counts in full
	// and from which it counts nothing (repetitions; our judgement; the direction
	// is robinson-2024).
	fullReserve = 3
	noReserve   = 8
	// countedLoad is the least load at which a set counts (fraction of the 1RM;
	// from memory: lower loads not shown to be equal).
	countedLoad = 0.30
	// directDemand and indirectDemand are the demands from which a set is counted
	// as direct and as indirect (1; our judgement, set so that the count agrees with
	// the trade's own).
	directDemand   = 0.90
	indirectDemand = 0.45
	// floorDemand is the pre-fatigued demand up to which the continuous count gives
	// nothing (1; our judgement).
	floorDemand = 0.35
	// growthRoot is the growth in percent of muscle size at one weekly set of the
	// square-root curve (%; our own curve, through the one published point
	// 0.24 % a set at 12.25 sets, pelland-2024).
	growthRoot = 1.68
	// liftLoad and beginnerLiftLoad are the loads from which a set is a lift set
	// (fraction of the 1RM; common practice).
	liftLoad         = 0.80
	beginnerLiftLoad = 0.70
)

// Weekly lift sets at which a gain in strength is detectable, the aim, and the
// number beyond which hardly more is gained (sets a week; pelland-2024, second
// hand).
const (
	LiftSetsDetectable = 1.0
	LiftSetsAim        = 2.0
	LiftSetsFlat       = 4.0
)

// Role is how an exercise is declared to train a muscle.
type Role uint8

// Roles, with what a hard set counts: 0, 0.5 and 1 (pelland-2024: of the ways to
// count indirect sets, one half had the strongest evidence).
const (
	NotTrained Role = iota
	Indirect
	Direct
)

// Count returns the sets that one hard set in this role counts, docs/model/03-session.md (16).
func (r Role) Count() float64 {
	switch r {
	case Direct:
		return 1
	case Indirect:
		return 0.5
	}
	return 0
}

// RoleOf returns the role that a demand d, relative to the exercise's largest,
// would be declared as: direct from 0.90, indirect from 0.45, else not trained.
func RoleOf(d float64) Role {
	switch {
	case d >= directDemand:
		return Direct
	case d >= indirectDemand:
		return Indirect
	}
	return NotTrained
}

// HardSet returns how much of a hard set a set with this true reserve is: 1 up to
// 3 repetitions left, falling on a straight line to 0 at 8,
// docs/model/03-session.md (15).
func HardSet(reserve float64) float64 {
	return clamp01((noReserve - reserve) / (noReserve - fullReserve))
}

// Prefatigued returns the demand d (relative to the exercise's largest, 0..1) as
// it is at the start of a set: capacity is C of the exercise and left is what the
// muscle itself has left, 1 - A - B,
//
//	d' = min(1, d C/left)          docs/model/03-session.md (17)
//
// A muscle with nothing left works at its limit: d' is 1 if d is above 0.
func Prefatigued(d, capacity, left float64) float64 {
	if d <= 0 || capacity <= 0 {
		return 0
	}
	if left <= 0 {
		return 1
	}
	return math.Min(1, d*capacity/left)
}

// Continuous returns the sets that one hard set counts for a muscle with
// pre-fatigued demand d', between 0 at 0.35 and 1 at 1, docs/model/03-session.md
// (18). It stands beside the declared count and never replaces it.
func Continuous(d float64) float64 { return clamp01((d - floorDemand) / (1 - floorDemand)) }

// SetEquivalents returns what one set counts: count is [Role.Count] or
// [Continuous], p the load as a fraction of the 1RM, reserve the true one,
// docs/model/03-session.md (19). Below 30 % of the 1RM nothing is counted.
func SetEquivalents(count, p, reserve float64) float64 {
	if p < countedLoad {
		return 0
	}
	return count * HardSet(reserve)
}

// PrefatiguedDemands appends to out the pre-fatigued demand of every muscle of l
// in state s, [Prefatigued], in ascending order of pools. The own pool is left out.
func (m *Model) PrefatiguedDemands(s *State, l *Link, out []Demand) []Demand {
	capacity := m.Capacity(s, l)
	for _, p := range l.pools {
		if p.own == 1 {
			continue
		}
		left := 1 - s.Fast[p.pool] - s.Slow[p.pool]
		out = append(out, Demand{p.pool, Prefatigued(p.relative, capacity, left)})
	}
	return out
}

// Growth returns the gain in muscle size, in percent over a training block of the
// studies behind it, at sets weekly hard sets: 1.68 √sets, docs/model/03-session.md
// (20). It is the program's own curve through one published point, not a published
// table. Fewer than 0 sets gain nothing.
func Growth(sets float64) float64 { return growthRoot * math.Sqrt(math.Max(0, sets)) }

// MarginalGrowth returns what the next set adds to [Growth], in percent.
func MarginalGrowth(sets float64) float64 { return Growth(sets+1) - Growth(sets) }

// LiftSet reports whether a set of a judged lift or its variant counts towards
// its strength: a load p of 80 % of the 1RM or more, 70 % for beginners, at any
// reserve, docs/model/03-session.md (21).
func LiftSet(p float64, beginner bool) bool {
	if beginner {
		return p >= beginnerLiftLoad
	}
	return p >= liftLoad
}

func clamp01(x float64) float64 { return math.Min(1, math.Max(0, x)) }
