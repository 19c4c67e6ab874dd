package sheet

import (
	"fmt"

	"corbel/anatomy"
	"corbel/form"
)

// An ExercisePage is what an exercise asks of a body, in words and rows for a screen.
type ExercisePage struct {
	Facts    [][2]string // name and text
	Postures []string
	Moments  []MomentRow
	Passive  []MomentRow
	Shares   []ShareRow
	Counting string // which shares checks use
}

// A ShareRow is the share of a muscle, stated and computed, as texts; Part is the
// computed one, or the stated one where none is computed, 0 to 1.
type ShareRow struct {
	Muscle, Stated, Computed, Activation string
	Part                                 float64
}

// Page puts an exercise into words and rows.
func (e *ExerciseShown) Page(l form.Language) ExercisePage {
	p := Plain{Language: l}
	out := ExercisePage{}
	fact := func(en, de, text string) {
		if text != "" {
			out.Facts = append(out.Facts, [2]string{p.pick(en, de), text})
		}
	}
	fact("Direct", "Direkt", p.muscleNames(e.Of.Direct))
	fact("Indirect", "Indirekt", p.muscleNames(e.Of.Indirect))
	if len(e.Postures) > 0 {
		fact("Body", "Körper", p.bodyWords(e))
		fact("Load", "Last", p.loadWords(e))
		fact("Largest load", "Größte Last", p.largestWords(e))
		if e.Largest != nil {
			fact("Limited by", "Begrenzt durch", p.limitWords(e.Largest))
		}
		out.Moments = p.momentRows(e, func(s PostureShown) map[string]float64 { return s.Joints }, "")
		out.Passive = p.momentRows(e, func(s PostureShown) map[string]float64 { return s.Passive }, "")
		out.Counting = p.counting(e.Of.Computed)
	}
	for _, s := range e.Postures {
		out.Postures = append(out.Postures, p.posture(s.Name))
	}
	out.Shares = p.shareRows(e)
	return out
}

// shareRows lists the shares that are worth showing.
func (p Plain) shareRows(e *ExerciseShown) (out []ShareRow) {
	for _, id := range anatomy.Muscle("").Values() {
		m := anatomy.Muscle(id)
		stated, rows := sharesOf(e, m)
		for _, r := range rows {
			if stated == "" && r.Share < leastShare {
				continue
			}
			row := ShareRow{Muscle: m.In(p.Language), Stated: decimalsIn(stated, p.Language), Part: r.Share}
			if r.Side == anatomy.Left || r.Side == anatomy.Right {
				row.Muscle += ", " + r.Side.In(p.Language)
			}
			if r.Kind == ComputedShare {
				row.Computed = fmt.Sprintf("%s (%s–%s)", p.number(r.Share, 2), p.number(*r.Low, 2), p.number(*r.High, 2))
				row.Activation = p.number(*r.Activation, 2)
			}
			out = append(out, row)
		}
	}
	return out
}
