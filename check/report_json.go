package check

import (
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/effort"
	"corbel/session"
)

// A SessionReport is one session in one week.
type SessionReport struct {
	ID      string       `json:"id"`
	Week    int          `json:"week"`
	Session string       `json:"session"` // name
	Day     string       `json:"day"`     // date
	Minutes float64      `json:"minutes"`
	Low     float64      `json:"minutes_low"`
	High    float64      `json:"minutes_high"`
	Slots   []SlotReport `json:"slots"`
	Links   []Link       `json:"links"`
	Lanes   []LaneReport `json:"lanes"`
}

// A LaneReport is the capacity a muscle has left through a session, the lowest first:
// as it starts, then before and after every set, warm-up sets included.
type LaneReport struct {
	Muscle  string    `json:"muscle"`
	Side    string    `json:"side"`
	Minutes []float64 `json:"minutes"` // from the session's start
	Left    []float64 `json:"left"`    // 0 to 1
}

// A SlotReport is one exercise of a session.
type SlotReport struct {
	ID       string         `json:"id"`
	Exercise string         `json:"exercise"`
	Stage    string         `json:"stage"`
	Start    float64        `json:"start_min"`
	End      float64        `json:"end_min"`
	Sets     []SetReport    `json:"sets"`
	Reasons  []ReasonResult `json:"reasons"`
	Costs    []CostReport   `json:"costs"`
}

// A SetReport is one set; numbers that cannot be had are null, with the reason in
// why_unknown.
type SetReport struct {
	N        int      `json:"n"` // 0 for warm-up sets
	Side     string   `json:"side"`
	WarmUp   bool     `json:"warm_up"`
	Proposed bool     `json:"proposed"` // a warm-up set nobody wrote
	LoadKg   *float64 `json:"load_kg"`  // on the bar, or in each hand
	Percent  *float64 `json:"percent_1rm"`
	Reps     float64  `json:"reps"`
	Failure  float64  `json:"reps_to_failure"`
	Low      *float64 `json:"reps_low"`
	High     *float64 `json:"reps_high"`
	RIR      float64  `json:"rir"` // predicted reserve at the end
	Left     float64  `json:"capacity_left"`
	Outside  []string `json:"outside_model"`
	Unknown  string   `json:"why_unknown,omitempty"`
}

// A CostReport says what an exercise costs a later one.
type CostReport struct {
	To  string  `json:"to"`
	Per float64 `json:"reps_per_set"`
}

// A WeekReport is what a week counts.
type WeekReport struct {
	Week    int            `json:"week"`
	Muscles []MuscleReport `json:"muscles"`
	Lifts   []LiftReport   `json:"lifts"`
	Joints  []JointReport  `json:"joints"`
}

// A MuscleReport is what a week counts for a muscle; side is both where left and
// right are alike and no aim tells them apart.
type MuscleReport struct {
	Muscle     string   `json:"muscle"`
	Side       string   `json:"side"`
	Direct     float64  `json:"direct"`
	Indirect   float64  `json:"indirect"`
	Continuous float64  `json:"continuous"`
	Next       float64  `json:"next_set_percent"` // growth the next weekly set adds, % (the program's own curve)
	AimLow     *float64 `json:"aim_low"`
	AimHigh    *float64 `json:"aim_high"`
	Cap        *float64 `json:"cap"`
}

// A LiftReport is what a week counts for a judged lift.
type LiftReport struct {
	Exercise string   `json:"exercise"`
	Sets     float64  `json:"lift_sets"`
	AimLow   *float64 `json:"aim_low"`
	AimHigh  *float64 `json:"aim_high"`
}

// A JointReport is what a week asks of a joint; null where it was not asked for or
// the body is not known.
type JointReport struct {
	Joint   string   `json:"joint"`
	Peak    *float64 `json:"peak_nm"`      // the largest of any working set
	Work    *float64 `json:"work"`         // N m times repetitions, over the working sets
	Without int      `json:"sets_without"` // working sets it cannot be said of
	Unknown string   `json:"why_unknown,omitempty"`
}

// sessionReports lists every visit.
func (r *rules) sessionReports() []SessionReport {
	out := []SessionReport{}
	r.eachVisit(func(_ *session.Week, v *session.Visit) {
		s := SessionReport{ID: string(v.Session.ID), Week: v.Week, Session: v.Session.Name,
			Day: r.in.Block.Date(v.Session, v.Week).String(), Minutes: round3(v.Minutes.Mean),
			Low: round3(v.Minutes.Low), High: round3(v.Minutes.High), Slots: []SlotReport{}, Links: []Link{}}
		s.Links = append(s.Links, r.links[visitKey(v)]...)
		for i := range v.Items {
			s.Slots = append(s.Slots, r.slotReport(v, i))
		}
		s.Lanes = laneReports(v)
		out = append(out, s)
	})
	return out
}

// mostLeft is the capacity above which a muscle has no lane: it hardly works (our
// judgement; key judgement).
const mostLeft = 0.95

// laneReports lists what the muscles of a visit have left through it; left and right
// are one lane where they are alike throughout.
func laneReports(v *session.Visit) []LaneReport {
	out := []LaneReport{}
	for _, l := range v.Lanes() {
		if l.Least > mostLeft {
			continue
		}
		lane := LaneReport{Muscle: string(l.Muscle), Side: string(l.Side)}
		for _, m := range l.Moments {
			lane.Minutes, lane.Left = append(lane.Minutes, round3(m.Minute)), append(lane.Left, round3(m.Left))
		}
		other := slices.IndexFunc(out, func(o LaneReport) bool { return o.Muscle == lane.Muscle && slices.Equal(o.Left, lane.Left) })
		if other >= 0 {
			out[other].Side = string(anatomy.Both)
			continue
		}
		out = append(out, lane)
	}
	return out
}

// slotReport describes one item of a visit.
func (r *rules) slotReport(v *session.Visit, i int) SlotReport {
	it := v.Items[i]
	s := SlotReport{ID: string(it.Slot.ID), Exercise: it.Slot.Exercise, Stage: string(it.Stage),
		Start: round3(v.Slots[i].Start.Mean), End: round3(v.Slots[i].End.Mean), Sets: []SetReport{}, Reasons: []ReasonResult{}, Costs: []CostReport{}}
	for _, res := range r.reasons[place{v.Week, v.Session.ID, it.Slot.ID}] {
		res.Share = round3(res.Share)
		s.Reasons = append(s.Reasons, res)
	}
	for _, set := range v.Sets {
		if set.Item == i {
			s.Sets = append(s.Sets, setReport(set))
		}
	}
	for to, cost := range v.Slots[i].Lost {
		if c := round3(cost); to != i && c > 0 {
			s.Costs = append(s.Costs, CostReport{string(v.Items[to].Slot.ID), c})
		}
	}
	return s
}

// setReport describes one set.
func setReport(s session.SetVisit) SetReport {
	out := SetReport{N: s.N, Side: string(s.Side), WarmUp: s.Warm, Proposed: s.Proposed,
		Reps: round3(s.Load.Count), Failure: round3(s.Result.Repetitions), RIR: round3(s.Reserve),
		Left: round3(s.Result.Capacity), Outside: marks(s.Result.Marks), Unknown: s.Load.Unknown}
	if kg, ok := s.Load.Kg(); ok {
		x := round3(float64(kg))
		out.LoadKg = &x
	}
	if s.Load.Percent > 0 {
		x := round3(s.Load.Percent)
		out.Percent = &x
	}
	if s.Load.Max {
		out.Reps = round3(s.Result.Done)
	}
	if s.Band != (effort.Band{}) {
		low, high := round3(s.Band.Low), round3(s.Band.High)
		out.Low, out.High = &low, &high
	}
	return out
}

// marks lists the names of marks, none as an empty list.
func marks(m effort.Mark) []string {
	out := []string{}
	for bit := effort.Mark(1); bit != 0; bit <<= 1 {
		if m.Has(bit) && bit&outsideMarks != 0 {
			out = append(out, bit.String())
		}
	}
	return out
}

// weekReports lists what every week counts.
func (r *rules) weekReports() []WeekReport {
	out := []WeekReport{}
	for _, w := range r.weeks {
		x := WeekReport{Week: w.Number, Muscles: []MuscleReport{}, Lifts: []LiftReport{}, Joints: r.joints(w)}
		for _, id := range anatomy.Muscle("").Values() {
			x.Muscles = append(x.Muscles, r.muscleReports(w, anatomy.Muscle(id))...)
		}
		for _, l := range r.athlete.Judged() {
			x.Lifts = append(x.Lifts, r.liftReport(w, l))
		}
		out = append(out, x)
	}
	return out
}

// muscleReports describes a muscle: one row where its sides are alike, else one
// for each side; none where nothing is counted and no aim is set.
func (r *rules) muscleReports(w *session.Week, m anatomy.Muscle) []MuscleReport {
	l, rt := w.Of(m, anatomy.Left), w.Of(m, anatomy.Right)
	sided := slices.ContainsFunc(r.in.Client.Aims, func(a client.Aim) bool {
		return a.Muscle.Muscle == m && (a.Muscle.Side == anatomy.Left || a.Muscle.Side == anatomy.Right)
	})
	sides := []anatomy.Side{anatomy.Both}
	if sided || round3(l.Sum()) != round3(rt.Sum()) {
		sides = []anatomy.Side{anatomy.Left, anatomy.Right}
	}
	var out []MuscleReport
	for _, side := range sides {
		c := w.Of(m, side)
		x := MuscleReport{Muscle: string(m), Side: string(side), Direct: round3(c.Direct), Indirect: round3(c.Indirect),
			Continuous: round3(c.Continuous), Next: round3(effort.MarginalGrowth(c.Sum()))}
		if a, ok := r.aimFor(anatomy.MuscleSide{Muscle: m, Side: side}); ok {
			x.AimLow, x.AimHigh, x.Cap = &a.Sets.Low, &a.Sets.High, a.Cap
		}
		if x.AimLow != nil || round3(c.Sum()) > 0 {
			out = append(out, x)
		}
	}
	return out
}

// liftReport describes a judged lift.
func (r *rules) liftReport(w *session.Week, lift string) LiftReport {
	x := LiftReport{Exercise: lift, Sets: round3(w.Lifts[lift])}
	for _, a := range r.in.Client.Aims {
		if a.Exercise == lift {
			x.AimLow, x.AimHigh = &a.Sets.Low, &a.Sets.High
		}
	}
	return x
}

// joints lists what a week asks of the joints, where the input wants it and the body
// is known.
func (r *rules) joints(w *session.Week) []JointReport {
	out := []JointReport{}
	own, ok := r.in.Shares.(*session.Body)
	why := ""
	switch {
	case !r.in.Moments:
		why = "not asked for"
	case !ok:
		why = "no height or body mass on record"
	}
	if why != "" {
		for _, j := range session.Joints {
			out = append(out, JointReport{Joint: j.Name, Unknown: why})
		}
		return out
	}
	found, unknown := own.JointMoments(w)
	for _, j := range session.Joints {
		peak, work := round3(found[j.Name].Peak), round3(found[j.Name].Work)
		out = append(out, JointReport{Joint: j.Name, Peak: &peak, Work: &work, Without: unknown})
	}
	return out
}
