package web

import (
	"html/template"
	"strconv"
	"strings"

	"corbel/anatomy"
	"corbel/check"
	"corbel/form"
	"corbel/sketch"
)

// A bar is what a week counts for a muscle, in pixels of a drawing 140 wide.
type bar struct {
	Name, Sets, Aim  string
	HasAim           bool
	AimX, AimW       float64
	Direct, Indirect float64
}

const (
	barWide = 140.0
	barMost = 20.0 // hard sets at the right end
)

// barsOf lays out the hard sets of a week.
func barsOf(r *check.Report, week int, l form.Language) (out []bar) {
	num := func(x float64, digits int) string { return decimal(x, digits, l) }
	muscle := ""
	px := func(sets float64) float64 { return min(sets/barMost, 1) * barWide }
	for _, w := range r.Weeks {
		if w.Week != week {
			continue
		}
		for _, m := range w.Muscles {
			if m.Direct+m.Indirect < leastShown && m.AimLow == nil && m.Cap == nil {
				continue
			}
			b := bar{Name: anatomy.MuscleSide{Muscle: anatomy.Muscle(m.Muscle), Side: anatomy.Side(m.Side)}.In(l), Sets: num(m.Direct+m.Indirect, 1),
				Direct: px(m.Direct)}
			b.Indirect = min(px(m.Indirect), barWide-b.Direct)
			if m.AimLow != nil && m.AimHigh != nil {
				b.HasAim, b.AimX, b.AimW = true, px(*m.AimLow), px(*m.AimHigh)-px(*m.AimLow)
				b.Aim = num(*m.AimLow, 0) + "–" + num(*m.AimHigh, 0)
			}
			if m.Cap != nil {
				b.Aim = strings.TrimPrefix(b.Aim+", ≤ "+num(*m.Cap, 0), ", ")
			}
			if k := len(out) - 1; k >= 0 && muscle == m.Muscle && out[k].same(b) {
				out[k].Name = anatomy.Muscle(m.Muscle).In(l) // both sides alike
				continue
			}
			muscle = m.Muscle
			out = append(out, b)
		}
	}
	return out
}

// same says whether two bars show the same sets and aims.
func (b bar) same(o bar) bool { return b.Sets == o.Sets && b.Aim == o.Aim }

// leastShown is how many hard sets a week a muscle without an aim is listed from (our
// judgement; key judgement).
const leastShown = 0.5

// barWords are the functions of pages that draw bars.
func barWords(l form.Language) template.FuncMap {
	pick := func(en, de string) string { return form.Text{En: en, De: de}.In(l) }
	return template.FuncMap{
		"bars":      func(r *check.Report, week int) []bar { return barsOf(r, week, l) },
		"percentof": func(x float64) float64 { return 100 * min(x, 1) },
		"viewname": func(x sketch.View) string {
			return map[sketch.View]string{sketch.Side: pick("side", "Seite"), sketch.Front: pick("front", "vorn"), sketch.ThreeQuarter: pick("oblique", "schräg"), sketch.Back: pick("back", "hinten")}[x]
		},
		"percent": func(x float64) string { return strconv.FormatFloat(100*x, 'f', 0, 64) + " %" },
	}
}
