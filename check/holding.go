package check

import (
	"corbel/anatomy"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// Holding returns, by slot, which of the reasons a block declares hold in every
// week but an easier one (docs/model/05-reasons.md R1 to R7), by their place in
// the slot, together with the weeks that were run to see it. No problems are
// looked for.
func Holding(in Input) (map[form.ID][]plan.Reason, []*session.Week) {
	r := newRules(in)
	r.offer = false
	r.eachVisit(r.testReasons)
	fails := map[form.ID]map[int]bool{}
	for at, results := range r.reasons {
		for _, res := range results {
			if !res.Holds && !r.deload(at.week) {
				if fails[at.slot] == nil {
					fails[at.slot] = map[int]bool{}
				}
				fails[at.slot][res.number] = true
			}
		}
	}
	out := map[form.ID][]plan.Reason{}
	for i := range in.Block.Sessions {
		for _, s := range in.Block.Sessions[i].Slots {
			for n, reason := range s.Reasons {
				if !fails[s.ID][n] {
					out[s.ID] = append(out[s.ID], reason)
				}
			}
		}
	}
	return out, r.weeks
}

// Leads lists the muscles that lead both an earlier and a later exercise with the
// shares of an athlete (docs/model/05-reasons.md R2).
func Leads(a *session.Athlete, e, later *exercise.Exercise) []anatomy.Muscle {
	r := &rules{in: Input{Client: a.Client}, athlete: a}
	return r.sharedLeading(e, later)
}
