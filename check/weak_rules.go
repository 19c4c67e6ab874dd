package check

import (
	"fmt"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/client"
	"corbel/evidence"
	"corbel/exercise"
	"corbel/plan"
	"corbel/session"
)

// Bounds of rule R17a (docs/model/06-evidence.md section 7; our judgement, key
// judgement).
const (
	heavyFrom = 0.6 // fraction of the 1RM from which a set counts as heavy for a weak group
	drawsOn   = 0.3 // share from which an exercise draws on a group
)

// weakGroups (R17a) finds heavy sets that leave a limited group less than a
// repetition.
func (r *rules) weakGroups(v *session.Visit, found *worst) {
	for _, l := range r.in.Client.Limits {
		for i, it := range v.Items {
			a := evidence.DemandOf(r.in.Client, it.Exercise, l.Muscle.Muscle, r.day)
			if it.Exercise.Sides != exercise.BothSides || a < drawsOn {
				continue
			}
			r.weakGroup(v, i, l, min(a, 1), found)
		}
	}
}

// weakGroup tests the heavy sets of one item against one limit.
func (r *rules) weakGroup(v *session.Visit, item int, l client.Limit, a float64, found *worst) {
	var sets []evidence.HeavySet
	var at []int
	end := 0.0
	for i, s := range v.Sets {
		if s.Item != item || s.Warm {
			continue
		}
		if s.P >= heavyFrom {
			sets, at = append(sets, evidence.HeavySet{P: s.P, Reps: s.Result.Done, Rest: max(0, s.Start-end)}), append(at, i)
		}
		end = s.Start + s.Result.Duration
	}
	if len(sets) == 0 {
		return
	}
	rho := evidence.Prudent(evidence.OnRecord(l))
	k, _ := r.athlete.K(v.Items[item].Exercise)
	left := evidence.Carry(a, rho, k, sets)
	least := slices.Index(left, slices.Min(left))
	first := slices.IndexFunc(left, func(x float64) bool { return x < evidence.GroupReserve-lessHarm })
	if first < 0 {
		return
	}
	found.add(key("weak-group", v, item)+" "+l.Muscle.String(), evidence.GroupReserve-left[least], func() *Problem {
		return r.sayWeak(v, item, l, a, rho, k, sets, at, left, first)
	})
}

// sayWeak says which set passes the cap and what fits.
func (r *rules) sayWeak(v *session.Visit, item int, l client.Limit, a, rho, k float64, sets []evidence.HeavySet, at []int, left []float64, first int) *Problem {
	it := v.Items[item]
	planned := make([]int, len(sets))
	for i, s := range sets {
		planned[i] = max(1, int(s.Reps+0.5))
	}
	h := evidence.HeavySets(a, rho, sets[0].P, k, planned)
	where := slotAt(v, item)
	where.Set = v.Sets[at[first]].N
	p := r.say("weak-group", Settle, where, l.Muscle.String(), evidence.GroupReserve-slices.Min(left), map[string]string{
		"exercise": r.name(it.Exercise), "set": fmt.Sprint(where.Set), "muscle": l.Muscle.In(r.lang),
		"ratio": r.number(100*rho, 0), "left": r.number(left[first], 1), "fits": r.heavyWords(h),
	})
	p.measured(round3(left[first]), evidence.GroupReserve, "repetitions left")
	r.offerInTurn(p,
		func() []candidate { return r.least(p, r.fitted(it, h, sets[0].P)) },
		func() []candidate { return r.least(p, r.shorterSets(it, v.Sets[at[0]])) },
		func() []candidate { return r.least(p, r.lighter(it, v.Sets[at[0]])) })
	return p
}

// heavyWords writes load and repetitions that fit.
func (r *rules) heavyWords(h evidence.Heavy) string {
	if h.None {
		return r.pick("no heavy sets for now", "vorerst keine schweren Sätze")
	}
	var reps []string
	for _, n := range h.Reps {
		reps = append(reps, fmt.Sprint(n))
	}
	return fmt.Sprintf(r.pick("%s repetitions at %s %% of the 1RM", "%s Wiederholungen mit %s %% des 1RM"), strings.Join(reps, ", "), r.number(100*h.P, 1))
}

// fitted lists ways out that write the repetitions that fit, with the load that fits
// or a little less: the place may not have the load itself.
func (r *rules) fitted(it session.Item, h evidence.Heavy, p float64) []candidate {
	var out []candidate
	for less := range 3 {
		if h.None {
			break
		}
		f, at := (h.P-float64(less)*fitStep)/p, h
		at.P -= float64(less) * fitStep
		out = append(out, candidate{text: r.heavyWords(at), whole: true, apply: onSlot(it.Slot.ID, func(x *plan.Slot) {
			x.EachDose(func(d plan.Dose) plan.Dose {
				for i, n := range h.Reps {
					d = d.WithSetAt(i, func(s plan.Set) plan.Set { return atMost(int64(n))(s.Scaled(f)) })
				}
				return d
			})
			x.KeepMoving()
		})})
	}
	return out
}

// fitStep is the step by which a load that the place does not have is lowered, of
// the 1RM.
const fitStep = 0.025

// information is what a test of the trial's exercise would tell about which groups
// are weak, bits, and its minutes; known is false where nothing is known of the
// exercise's sensitivities.
func (t trial) information(m anatomy.MuscleSide) (bits, minutes float64, known bool) {
	e := t.v.Items[t.item].Exercise
	for _, set := range evidence.Sets() {
		model := evidence.ModelOf(set)
		d := model.Drill(string(e.ID))
		if d == nil || model.NumberOf(m.Muscle) < 0 {
			continue
		}
		k, _ := t.athlete.LiftK(e)
		o := d.Coming(k, max(1, t.v.Items[t.item].Dose.Count()))
		return t.belief(model).Information(&o, evidence.Wider), d.Minutes, true
	}
	return 0, 0, false
}

// belief is what the client's findings say of a set of groups.
func (r *rules) belief(model *evidence.Model) *evidence.Belief {
	if r.weighed == nil {
		all := evidence.Weigh(evidence.Input{Client: r.in.Client, Library: r.in.Library, Day: r.day, Language: r.lang})
		r.weighed = &all
	}
	for _, w := range *r.weighed {
		if w.Model == model {
			return w.Belief
		}
	}
	return model.Infer(evidence.Complaint{}, nil)
}
