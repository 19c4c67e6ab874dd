package body

// Moments of the right arm.
const (
	elbowMoment  = "elbow_flexion_r" // below 0 the elbow extends
	acrossMoment = "shoulder_horizontal_adduction_r"
	pressMiddle  = 1   // posture of the presses
	benchOfBody  = 1.0 // load of presses that are compared at one load, of body mass
	nearlyLeads  = 0.9 // of the hardest leads too (key judgement)
)

// ledBy says that one of the muscles works as hard as any that moves the load, or
// nearly so, at ten repetitions.
func ledBy(id string, leaders ...string) func(*drawnClient) bool {
	return func(d *drawnClient) bool {
		l := d.lift(id, "", nil)
		load := tenRepetitions * d.load(l)
		all, err := l.asking.poiseAll(load)
		if err != nil {
			d.failed = true
			return false
		}
		peak, hardest := l.asking.peaks(all, load), 0.0
		for i, moves := range movers(all, load) {
			if moves {
				hardest = max(hardest, peak[i])
			}
		}
		most := 0.0
		for _, m := range leaders {
			most = max(most, peak[MuscleNumber(m)])
		}
		return most >= nearlyLeads*hardest
	}
}

// behind says that a muscle works less hard than each of others in the same lift.
func behind(id, muscle string, others ...string) func(*drawnClient) bool {
	return func(d *drawnClient) bool {
		l := d.lift(id, "", nil)
		load := tenRepetitions * d.load(l)
		for _, m := range others {
			if d.activation(l, muscle, load) >= d.activation(l, m, load) {
				return false
			}
		}
		return true
	}
}

// armMore says that the arm carries more of a moment in the middle of one press
// than of another at the same load; sign is that of the moment.
func armMore(more, less, name string, sign float64) func(*drawnClient) bool {
	return func(d *drawnClient) bool {
		load := benchOfBody * d.body.Measures.Mass
		return sign*d.moments(d.lift(more, "", nil), pressMiddle, load)[name] > sign*d.moments(d.lift(less, "", nil), pressMiddle, load)[name]
	}
}

func armOrderings() []Ordering {
	return []Ordering{
		{Name: "elbow: close grip over medium", Source: "mausehund-2022", KeptBack: true, holds: armMore("close-grip-bench-press", "bench-press", elbowMoment, -1)},
		{Name: "shoulder: wide grip over medium", Source: "mausehund-2022", KeptBack: true, holds: armMore("wide-grip-bench-press", "bench-press", acrossMoment, 1)},
		{Name: "triceps: close grip over wide", Source: "mausehund-2022", KeptBack: true, holds: worksHarder("close-grip-bench-press", "wide-grip-bench-press", "triceps_lateral_medial", tenRepetitions)},
		{Name: "bench press led by the pectorals", Source: "rodriguez-ridao-2020", holds: ledBy("bench-press", "pectoralis_major_clavicular", "pectoralis_major_sternal_upper", "pectoralis_major_sternal_lower")},
		{Name: "front deltoid: incline over flat bench", Source: "rodriguez-ridao-2020", KeptBack: true, holds: worksHarder("incline-bench-press", "bench-press", "deltoid_anterior", tenRepetitions)},
		{Name: "lower pectoral: flat over incline bench", Source: "rodriguez-ridao-2020", KeptBack: true, holds: worksHarder("bench-press", "incline-bench-press", "pectoralis_major_sternal_lower", tenRepetitions)},
		{Name: "overhead press: infraspinatus behind deltoid and triceps", Source: "arm-leaders", KeptBack: true, holds: behind("overhead-press", "infraspinatus_teres_minor", "deltoid_anterior", "deltoid_middle", "triceps_lateral_medial")},
		{Name: "lateral raise led by the middle deltoid", Source: "arm-leaders", holds: ledBy("lateral-raise", "deltoid_middle")},
		{Name: "external rotation led by the infraspinatus", Source: "arm-leaders", holds: ledBy("band-external-rotation", "infraspinatus_teres_minor")},
		{Name: "barbell shrug led by the upper trapezius", Source: "arm-leaders", holds: ledBy("barbell-shrug", "trapezius_upper")},
		{Name: "preacher curl led by the elbow flexors", Source: "arm-leaders", holds: ledBy("preacher-curl", "biceps_brachii", "brachialis")},
		{Name: "overhead extension led by the triceps", Source: "arm-leaders", holds: ledBy("overhead-triceps-extension", "triceps_long", "triceps_lateral_medial")},
		{Name: "push-up led by the pectorals", Source: "arm-leaders", KeptBack: true, holds: ledBy("push-up", "pectoralis_major_clavicular", "pectoralis_major_sternal_upper", "pectoralis_major_sternal_lower")},
	}
}
