package evidence

import (
	"slices"

	"corbel/anatomy"
	"corbel/form"
	"corbel/session"
)

// A Fall says that from the first set of an exercise to the last one side lost over two
// repetitions more than the other, in the last logged week.
type Fall struct {
	Exercise string       `json:"exercise"`
	Side     anatomy.Side `json:"side"`
	On       string       `json:"on"`
	More     float64      `json:"more"` // repetitions, done and left
	muscles  []anatomy.Muscle
}

// Bounds of a bad week (docs/model/06-evidence.md (23); our judgement, key judgement).
const (
	fallMore = 2.0 // repetitions more than the other side
	lastWeek = 7   // days
)

// falls looks for them in the last week of the logs.
func (j *Judgement) falls(in JudgeInput, a *session.Athlete) {
	all := in.logged(a)
	var last form.Date
	for _, lines := range all {
		for _, l := range lines {
			if last.Before(l.on) {
				last = l.on
			}
		}
	}
	for _, key := range sortedKeys(all) {
		if key.side != anatomy.Left && key.side != anatomy.Right {
			continue
		}
		own, other := dropOf(all[key], last), dropOf(all[liftKey{key.exercise, key.side.Other()}], last)
		for _, on := range slices.SortedFunc(keysOf(own), form.Date.Days) {
			if x, ok := other[on]; ok && own[on]-x > fallMore {
				j.Fell = append(j.Fell, Fall{key.exercise, key.side, on.String(), round(own[on] - x), in.Library.ByID(key.exercise).Direct})
			}
		}
	}
}

// dropOf is, for each day of the last week, how many repetitions, done and left, the last
// set of a side had less than its first.
func dropOf(lines []line, last form.Date) map[form.Date]float64 {
	first, end := map[form.Date]*line{}, map[form.Date]*line{}
	for i := range lines {
		l := &lines[i]
		if l.flag == FlagRepeated || !l.done.Said || l.done.Reps < 1 || last.Days(l.on) >= lastWeek {
			continue
		}
		if first[l.on] == nil || l.key.Set < first[l.on].key.Set {
			first[l.on] = l
		}
		if end[l.on] == nil || l.key.Set > end[l.on].key.Set {
			end[l.on] = l
		}
	}
	out := map[form.Date]float64{}
	for on, f := range first {
		if e := end[on]; e != f && e.done.Load == f.done.Load {
			out[on] = f.done.Reps + f.done.RIR - e.done.Reps - e.done.RIR
		}
	}
	return out
}

// worn says whether a limited group and side fell behind the other in the last week.
func worn(j *Judgement, s LimitState) bool {
	return slices.ContainsFunc(j.Fell, func(f Fall) bool {
		return f.Side == s.Side && slices.ContainsFunc(s.Groups, func(m anatomy.Muscle) bool { return slices.Contains(f.muscles, m) })
	})
}
