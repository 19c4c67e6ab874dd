package design

import (
	"math"

	"corbel/exercise"
	"corbel/plan"
	"corbel/session"
)

// What the paper takes off a week, 1/1000 point (our judgement; key judgement).
const (
	lateMinute = 500  // a minute by which the high end of a session's time passes what there is
	lostLift   = 1000 // a repetition a set that a judged lift loses to what comes before it
)

// choose puts each of the best weeks into order, does it on paper and returns the one
// that is worth most there, with its days in order; of equal ones the first.
// docs/model/08-design.md (16).
func (b *builder) choose(best []Answer) (Answer, [][]Choice) {
	pick, most := 0, int64(math.MinInt64)
	var kept [][]Choice
	for i, a := range best {
		days := make([][]Choice, len(b.list))
		for _, c := range a.Choices {
			days[c.Day] = append(days[c.Day], c)
		}
		for d := range days {
			days[d] = b.inOrder(days[d], d)
		}
		score := int64(0)
		if len(best) > 1 {
			score = b.onPaper(days)
		}
		if score > most {
			pick, most, kept = i, score, days
		}
	}
	return best[pick], kept
}

// onPaper returns the value of a week with its work counted as the sessions of the
// first week give it on paper, in 1/1000 point, less what the paper takes off.
func (b *builder) onPaper(days [][]Choice) int64 {
	w := newWeek(b.p, b.tables)
	work := make([]float64, len(b.p.Columns)) // sets
	cost := 0.0
	for d, list := range days {
		for _, c := range list {
			w.Set(c.Option, c.Day, c.Sets)
		}
		if len(list) == 0 {
			continue
		}
		items := make([]session.Item, len(list))
		for i, c := range list {
			items[i] = b.itemOf(c, slotID(d, i))
		}
		v := b.athlete.Visit(&plan.Session{ID: "paper"}, 1, items, b.w.Client.PlaceByID(b.list[d].Place), 0, 1)
		cost += lateMinute * max(v.Minutes.High-float64(b.list[d].Minutes), 0)
		cost += b.count(v, work)
	}
	value := w.Value()
	for i := range work {
		value += w.t.benefitOf(i, int32(math.Round(SetUnit*work[i]))) - w.t.benefitOf(i, w.total[i])
	}
	return value - int64(math.Round(cost))
}

// count adds what a session counts for each column, and returns what its judged lifts
// lose, 1/1000 point.
func (b *builder) count(v *session.Visit, work []float64) (cost float64) {
	for i, it := range v.Items {
		for _, c := range b.muscles {
			work[c.at] += session.Pick(v.Slots[i].Work, c.m.Muscle, c.m.Side).Sum()
		}
		for _, l := range b.lifts {
			if it.Stage != exercise.Drill && it.Exercise.Counts(l.lift) {
				work[l.at] += v.Slots[i].LiftSets
			}
		}
		if b.judged(it.Exercise) && it.Stage != exercise.Drill {
			for j := range i {
				cost += lostLift * max(v.Slots[j].Lost[i], 0)
			}
		}
	}
	return cost
}
