package plan

import (
	"strconv"
	"strings"

	"corbel/anatomy"
	"corbel/unit"
)

// Canonical writes the dose in one spelling: sets, load, effort, then weak side
// first, warm-up, rest, tempo, measure. Reading it back gives an equal dose.
func (d Dose) Canonical() string {
	var out []string
	for i, p := range d.Parts {
		s := p.canonical()
		if p.Sides == LeftOnly || p.Sides == RightOnly {
			s = string(p.Sides) + " " + s
		}
		if i < len(d.Parts)-1 {
			s += ","
		}
		out = append(out, s)
	}
	if d.WeakFirst {
		out = append(out, "weak side first")
	}
	if len(d.WarmUp) > 0 {
		out = append(out, "warm-up "+warmUp(d.WarmUp))
	}
	if !d.Rest.IsZero() {
		out = append(out, "rest "+d.Rest.Canonical())
	}
	if !d.Tempo.IsZero() {
		out = append(out, "tempo "+d.Tempo.String())
	}
	if len(d.Measure) > 0 {
		out = append(out, "measure "+measures(d.Measure))
	}
	return strings.Join(out, " ")
}

// String writes the figures and the order they run in.
func (t Tempo) String() string {
	var f []string
	for _, x := range t.Figures {
		f = append(f, strconv.Itoa(x))
	}
	order := "lower-pause-lift"
	if t.LiftFirst {
		order = "lift-pause-lower"
	}
	if len(f) == 4 {
		order += "-pause"
	}
	return strings.Join(f, "-") + " " + order
}

// String writes what is measured and on which side.
func (m Measure) String() string {
	switch m.Sides {
	case anatomy.NoSide:
		return string(m.What)
	case anatomy.Both:
		return string(m.What) + " both sides"
	}
	return string(m.What) + " " + string(m.Sides)
}

func measures(list []Measure) string {
	var out []string
	for _, m := range list {
		out = append(out, m.String())
	}
	return strings.Join(out, ", ")
}

// canonical writes one part without its left or right.
func (p Part) canonical() string {
	var b strings.Builder
	b.WriteString(workList(p.Sets))
	if p.Sides == EachSide {
		b.WriteString("/side")
	}
	if loads := loadList(p.Sets); loads != "" {
		b.WriteString(" @ " + loads)
	}
	if e := effortList(p.Sets); e != "" {
		b.WriteString(" " + e)
	}
	return b.String()
}

// all says whether every set has the same value of get.
func all[T comparable](sets []Set, get func(Set) T) bool {
	for _, s := range sets[1:] {
		if get(s) != get(sets[0]) {
			return false
		}
	}
	return true
}

// workList writes 3 x 8, or 8,8,6 where sets differ.
func workList(sets []Set) string {
	if all(sets, func(s Set) Work { return s.Work }) {
		return strconv.Itoa(len(sets)) + " x " + sets[0].Work.String()
	}
	figures := make([]string, len(sets))
	unit := ""
	for i, s := range sets {
		figures[i], unit = s.Work.figures(unit)
	}
	out := strings.Join(figures, ",")
	if unit != "" {
		out += " " + unit
	}
	return out
}

// String writes the work of one set: 8, 8-10, max, 30 s, 1:30, 40 m.
func (w Work) String() string {
	if w.Kind == Time && w.Low == w.High && !w.Max {
		return unit.DurationOf(unit.Second(float64(w.Low) / 1000)).Canonical()
	}
	f, u := w.figures("")
	if u != "" {
		return f + " " + u
	}
	return f
}

// grainsOf are the grains of one unit a distance may be typed in, µm.
var grainsOf = map[string]float64{"m": 1e6, "km": 1e9, "ft": 304_800, "yd": 914_400}

// figures writes the numbers alone and returns the unit they are in; u is the
// unit known so far.
func (w Work) figures(u string) (string, string) {
	per := 1.0
	switch {
	case w.Kind == Time:
		per, u = 1000, "s"
	case w.Kind == Distance:
		per, u = grainsOf[w.Unit], w.Unit
	}
	if w.Max {
		return "max", u
	}
	low, high := unit.Figures(float64(w.Low)/per, 9), unit.Figures(float64(w.High)/per, 9)
	if low == high {
		return low, u
	}
	return low + "-" + high, u
}

// loadList writes one load for all sets, or one for each where they differ.
func loadList(sets []Set) string {
	first := sets[0].Load
	if all(sets, func(s Set) string { return s.Load.String() }) {
		return first.String()
	}
	var figures []string
	sameUnit := all(sets, func(s Set) unit.MassUnit { return s.Load.Mass.Unit() })
	for i, s := range sets {
		f := s.Load.figures()
		switch {
		case i == len(sets)-1:
		case !sameUnit:
			f += " " + string(s.Load.Mass.Unit())
		case len(sets) == 2 && looksDecimal(true, sets[1].Load.figures()): // 10 kg,5 kg
			f += figuresUnit(s.Load)
		}
		figures = append(figures, f)
	}
	return first.before() + strings.Join(figures, ",") + sets[len(sets)-1].Load.after()
}

// figuresUnit writes what stands behind the figures of each load of a list.
func figuresUnit(l Load) string {
	if l.Kind == PercentMax {
		return "%"
	}
	return strings.TrimSuffix(l.after(), "/hand")
}

// String writes one load: 72%, 100 kg, 15 kg/hand, 8RM, body weight, +10 kg,
// -15 kg, band light, pin 7, level 3.
func (l Load) String() string { return l.before() + l.figures() + l.after() }

// before writes what stands in front of the figures.
func (l Load) before() string {
	switch l.Kind {
	case Added:
		return "+"
	case Assisted:
		return "-"
	case Pin:
		return "pin "
	case Level:
		return "level "
	}
	return ""
}

// figures writes the number or name alone.
func (l Load) figures() string {
	switch l.Kind {
	case PercentMax:
		return strings.TrimSuffix(l.Percent.Canonical(), "%")
	case Mass, MassInHand, Added, Assisted:
		return strings.TrimSuffix(l.Mass.Canonical(), " "+string(l.Mass.Unit()))
	case RepMax, Pin, Level:
		return strconv.Itoa(l.Number)
	case BodyWeight:
		return "body weight"
	case Band:
		return "band " + l.Name
	}
	return ""
}

// after writes what stands behind the figures.
func (l Load) after() string {
	switch l.Kind {
	case PercentMax:
		if l.Of != "" {
			return "% of " + l.Of
		}
		return "%"
	case Mass, Added, Assisted:
		return " " + string(l.Mass.Unit())
	case MassInHand:
		return " " + string(l.Mass.Unit()) + "/hand"
	case RepMax:
		return "RM"
	}
	return ""
}

// effortList writes one effort for all sets, or one for each.
func effortList(sets []Set) string {
	if all(sets, func(s Set) Effort { return s.Effort }) {
		return sets[0].Effort.String()
	}
	var figures []string
	for _, s := range sets {
		figures = append(figures, s.Effort.figures())
	}
	return sets[0].Effort.word() + strings.Join(figures, ",")
}

func (e Effort) word() string {
	switch e.Kind {
	case RIR:
		return "rir "
	case RPE:
		return "rpe "
	}
	return ""
}

// String writes rir 2, rir 1-2 or rpe 8.
func (e Effort) String() string {
	if e.Kind == Unasked {
		return ""
	}
	return e.word() + e.figures()
}

func (e Effort) figures() string {
	low, high := unit.Figures(float64(e.Low)/10, 1), unit.Figures(float64(e.High)/10, 1)
	if low == high {
		return low
	}
	return low + "-" + high
}

// warmUp writes 8 @ 40%, 5 @ 60%.
func warmUp(sets []Set) string {
	var out []string
	for _, s := range sets {
		text := s.Work.String()
		if l := s.Load.String(); l != "" {
			text += " @ " + l
		}
		out = append(out, text)
	}
	return strings.Join(out, ", ")
}
