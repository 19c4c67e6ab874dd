package web

import (
	"cmp"
	"fmt"
	"slices"

	"corbel/anatomy"
	"corbel/check"
	"corbel/form"
	"corbel/practice"
)

// A dayShown is a session of a week.
type dayShown struct {
	ID, Name, On, Minutes string
	Exercises             []string
	Settle                int
}

// days lists the sessions of the board's week in the order of their days.
func (s *server) days(v *visit, b *practice.Board) (out []dayShown) {
	for _, x := range b.Report.Sessions {
		if x.Week != b.Week {
			continue
		}
		d := dayShown{ID: x.ID, Name: x.Session, On: x.Day, Minutes: fmt.Sprintf("%s min (%s–%s)", v.number(x.Minutes, 0), v.number(x.Low, 0), v.number(x.High, 0))}
		for _, slot := range x.Slots {
			d.Exercises = append(d.Exercises, s.practice.ExerciseName(slot.Exercise, v.language()))
		}
		for _, p := range b.Report.Problems {
			if p.At.Session == x.ID && (p.At.Week == 0 || p.At.Week == b.Week) && p.Severity != check.Note && p.Kept == "" {
				d.Settle++
			}
		}
		out = append(out, d)
	}
	slices.SortStableFunc(out, func(a, b dayShown) int { return cmp.Compare(a.On, b.On) })
	for i := range out {
		if day, err := form.ParseDate(out[i].On); err == nil {
			out[i].On = day.Time().Format(v.say("Mon 2 Jan", "02.01."))
		}
	}
	return out
}

// A muscleWeek is how far a muscle is worked on each day of a week.
type muscleWeek struct {
	Name string
	Days []muscleDay
	Bar  bar
}

// A muscleDay is how far a muscle falls on a day, as a step of shading from 0 to 3
// and in words.
type muscleDay struct {
	Step int
	Text string
}

// Steps of shading by the least capacity left on a day (our judgement; key
// judgement): below each the next step begins.
var shadeBelow = [3]float64{0.95, 0.85, 0.7}

// muscleDays lists the muscles that fall in a week, by day.
func (s *server) muscleDays(v *visit, b *practice.Board) (out []muscleWeek) {
	type key struct {
		muscle, side string
	}
	var sessions []check.SessionReport
	for _, x := range b.Report.Sessions {
		if x.Week == b.Week {
			sessions = append(sessions, x)
		}
	}
	slices.SortStableFunc(sessions, func(a, b check.SessionReport) int { return cmp.Compare(a.Day, b.Day) })
	least := map[key][]float64{}
	for i, x := range sessions {
		for _, l := range x.Lanes {
			sides := []string{l.Side}
			if l.Side == string(anatomy.Both) {
				sides = []string{string(anatomy.Left), string(anatomy.Right)}
			}
			for _, side := range sides {
				k := key{l.Muscle, side}
				if least[k] == nil {
					least[k] = slices.Repeat([]float64{1}, len(sessions))
				}
				least[k][i] = slices.Min(l.Left)
			}
		}
	}
	for _, id := range anatomy.Muscle("").Values() {
		left, right := least[key{id, string(anatomy.Left)}], least[key{id, string(anatomy.Right)}]
		switch {
		case left == nil && right == nil:
		case slices.Equal(left, right):
			out = append(out, v.muscleRow(id, anatomy.Both, left))
		default:
			if left != nil {
				out = append(out, v.muscleRow(id, anatomy.Left, left))
			}
			if right != nil {
				out = append(out, v.muscleRow(id, anatomy.Right, right))
			}
		}
	}
	return out
}

// muscleRow is one muscle over the days of a week.
func (v *visit) muscleRow(id string, side anatomy.Side, left []float64) muscleWeek {
	row := muscleWeek{Name: anatomy.MuscleSide{Muscle: anatomy.Muscle(id), Side: side}.In(v.language())}
	if side == anatomy.Both {
		row.Name = anatomy.Muscle(id).In(v.language())
	}
	for _, x := range left {
		d := muscleDay{}
		for _, below := range shadeBelow {
			if x < below {
				d.Step++
			}
		}
		if d.Step > 0 {
			d.Text = fmt.Sprintf("%d %%", int(100*x+0.5))
		}
		row.Days = append(row.Days, d)
	}
	return row
}

// weekLifts lists the lift sets of a week.
func (s *server) weekLifts(v *visit, b *practice.Board) (out [][3]string) {
	for _, w := range b.Report.Weeks {
		if w.Week != b.Week {
			continue
		}
		for _, l := range w.Lifts {
			aim := ""
			if l.AimLow != nil && l.AimHigh != nil {
				aim = v.number(*l.AimLow, 0) + "–" + v.number(*l.AimHigh, 0)
			}
			out = append(out, [3]string{s.practice.ExerciseName(l.Exercise, v.language()), v.number(l.Sets, 1), aim})
		}
	}
	return out
}

// problemsOfWeek lists what is to be settled about the week as a whole, and counts of
// spacing and aims.
func problemsOfWeek(b *practice.Board) (out []check.Problem) {
	for _, p := range b.Report.Problems {
		if (p.At.Week == 0 || p.At.Week == b.Week) && p.At.Slot == "" && p.Kept == "" {
			out = append(out, p)
		}
	}
	return out
}
