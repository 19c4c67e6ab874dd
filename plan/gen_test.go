package plan

import (
	"fmt"
	"strconv"
	"strings"

	"corbel/anatomy"
	"corbel/unit"

	"pgregory.net/rapid"
)

// gen draws random values of the shorthand.
type gen struct {
	t       *rapid.T
	simple  bool // no names with digits, which hold together without white space
	inBlock bool // loads and work in the middle of their range
}

func (g gen) int(low, high int, what string) int { return rapid.IntRange(low, high).Draw(g.t, what) }

func (g gen) bool(what string) bool { return rapid.Bool().Draw(g.t, what) }

func pick[T any](g gen, what string, from ...T) T { return rapid.SampledFrom(from).Draw(g.t, what) }

// dose draws a whole dose.
func (g gen) dose() Dose {
	var d Dose
	if g.bool("sides apart") {
		sides := pick(g, "sides", []DoseSides{LeftOnly, RightOnly}, []DoseSides{RightOnly, LeftOnly}, []DoseSides{LeftOnly})
		for _, s := range sides {
			d.Parts = append(d.Parts, Part{s, g.sets()})
		}
		d.WeakFirst = g.bool("weak first")
	} else {
		d.Parts = []Part{{pick(g, "side", Together, EachSide), g.sets()}}
	}
	for range g.int(0, 2, "warm-ups") {
		d.WarmUp = append(d.WarmUp, Set{Work: g.work(g.kind(), "m", false), Load: g.load(g.loadKind(), g.name())})
	}
	if g.bool("rest") {
		d.Rest = unit.DurationOf(unit.Second(g.int(0, 3600, "rest")))
		if d.Rest.IsZero() {
			d.Rest, _ = unit.ParseDuration("0 s")
		}
	}
	if g.bool("tempo") {
		d.Tempo = g.tempo()
	}
	if g.bool("measure") {
		d.Measure = g.measures()
	}
	return d
}

func (g gen) kind() WorkKind { return pick(g, "kind", Repetitions, Time, Distance) }

func (g gen) loadKind() LoadKind {
	return pick(g, "load kind", Unsaid, PercentMax, Mass, MassInHand, RepMax, BodyWeight, Added, Assisted, Band, Pin, Level)
}

// sets draws sets of one kind of work, load and effort, alike or apart.
func (g gen) sets() []Set {
	n := g.int(1, 6, "sets")
	kind, load, name := g.kind(), g.loadKind(), g.name()
	effort := pick(g, "effort kind", Unasked, RIR, RPE)
	length := pick(g, "length", "m", "km", "ft", "yd")
	apart := [3]bool{g.bool("works apart"), g.bool("loads apart") && load != BodyWeight && load != Band && load != Unsaid, g.bool("efforts apart")}
	out := make([]Set, n)
	for i := range out {
		if out[i] = (Set{g.work(kind, length, true), g.load(load, name), g.effort(effort)}); i > 0 {
			for j, keep := range []func(){func() { out[i].Work = out[0].Work }, func() { out[i].Load = out[0].Load }, func() { out[i].Effort = out[0].Effort }} {
				if !apart[j] {
					keep()
				}
			}
		}
	}
	return out
}

// work draws the work of one set.
func (g gen) work(kind WorkKind, length string, orMax bool) Work {
	w := Work{Kind: kind}
	most := map[WorkKind]int64{Repetitions: maxReps, Time: maxHold, Distance: maxWay}[kind]
	if kind == Distance {
		w.Unit = length
	}
	if w.Max = orMax && g.int(0, 4, "max") == 0; w.Max {
		return w
	}
	w.Low = rapid.Int64Range(1, most).Draw(g.t, "low")
	w.High = w.Low
	if g.int(0, 2, "range") == 0 {
		w.High = rapid.Int64Range(w.Low, most).Draw(g.t, "high")
	}
	return w
}

// name draws a free name in lower case.
func (g gen) name() string {
	names := []string{"light", "back squat", "back-squat", "kniebeuge", "extra light", "grün", "x-heavy", "farmer's carry"}
	if !g.simple {
		names = append(names, "back-squat-2", "hold-2b", "own-3-b light", "squat to a box", "lunge in place")
	}
	return pick(g, "name", names...)
}

// mass draws a mass as typed.
func (g gen) mass() unit.Mass {
	most := 2000
	if g.inBlock {
		most = 300
	}
	text := strconv.Itoa(g.int(0, most-1, "whole"))
	if g.bool("decimals") {
		text += "." + strconv.Itoa(g.int(0, 999, "decimals"))
	}
	m, err := unit.ParseMass(text + pick(g, "blank", " ", "") + pick(g, "unit", "kg", "lb", "KG", "pounds"))
	if err != nil {
		panic(err)
	}
	return m
}

// load draws the load of one set.
func (g gen) load(kind LoadKind, name string) Load {
	l := Load{Kind: kind}
	switch kind {
	case PercentMax:
		l.Percent = unit.PercentOf(float64(g.int(1000, 1000*maxPercent, "percent")) / 1000)
		if len(name)%2 == 0 {
			l.Of = name
		}
	case Mass, MassInHand, Added, Assisted:
		l.Mass = g.mass()
	case RepMax:
		l.Number = g.int(1, 50, "RM")
	case Pin, Level:
		l.Number = g.int(1, maxPin, "number")
	case Band:
		l.Name = name
	}
	return l
}

// effort draws a wanted effort.
func (g gen) effort(kind EffortKind) Effort {
	low, most := 0, maxReserve
	switch kind {
	case Unasked:
		return Effort{}
	case RPE:
		low, most = 10, maxRatings
	}
	e := Effort{Kind: kind, Low: g.int(low, most, "effort")}
	if e.High = e.Low; g.bool("effort range") {
		e.High = g.int(e.Low, most, "highest effort")
	}
	return e
}

// tempo draws three or four figures that are not all 0.
func (g gen) tempo() Tempo {
	t := Tempo{LiftFirst: g.bool("lift first")}
	for range g.int(3, 4, "figures") {
		t.Figures = append(t.Figures, g.int(0, maxTempo, "figure"))
	}
	if t.Seconds() == 0 {
		t.Figures[0] = 1
	}
	return t
}

// measures draws what is written down, nothing twice.
func (g gen) measures() []Measure {
	var out []Measure
	kinds := rapid.Permutation(MeasureKind("").Values()).Draw(g.t, "measures")
	for _, k := range kinds[:g.int(1, len(kinds), "how many")] {
		sides := pick(g, "sides", []anatomy.Side{anatomy.NoSide}, []anatomy.Side{anatomy.Both}, []anatomy.Side{anatomy.Left, anatomy.Right}, []anatomy.Side{anatomy.Right})
		for _, s := range sides {
			out = append(out, Measure{MeasureKind(k), s})
		}
	}
	return out
}

// done draws a line of the log.
func (g gen) done() Done {
	var d Done
	d.Load = g.load(pick(g, "load kind", Unsaid, Mass, MassInHand, BodyWeight, Added, Assisted, Band, Pin, Level), g.name())
	if d.Load.Kind == Unsaid || g.bool("work") {
		d.Work = g.work(g.kind(), pick(g, "length", "m", "km", "ft", "yd"), false)
		d.Work.High = d.Work.Low
	}
	d.Effort = g.effort(pick(g, "effort kind", Unasked, RIR, RPE))
	return d
}

// progress draws one to three steps of different kinds.
func (g gen) progress() Progress {
	var p Progress
	units := rapid.Permutation([]ProgressUnit{StepPercent, StepLoad, StepReps, StepSets, StepTime, StepWay}).Draw(g.t, "units")
	for _, u := range units[:g.int(1, 3, "steps")] {
		s := Step{Unit: u}
		switch u {
		case StepLoad:
			text := fmt.Sprintf("%d.%d %s", g.int(0, 9, "whole"), g.int(1, 9, "decimals"), pick(g, "unit", "kg", "lb"))
			s.Mass, _ = unit.ParseMass(text)
			s.Minus = g.bool("minus")
		case StepReps, StepSets:
			s.Amount = float64(g.int(1, 9, "amount"))
		default:
			s.Amount = float64(g.int(1, 1000*maxStep, "amount")) / 1000
		}
		if u != StepLoad && g.bool("minus") {
			s.Amount = -s.Amount
		}
		p = append(p, s)
	}
	return p
}

// spaced writes the tokens of a text again with other white space, none where
// the tokens stay apart without.
func (g gen) spaced(text string) string {
	toks, err := scan(text)
	if err != nil {
		panic(err)
	}
	var b strings.Builder
	for i, tok := range toks[:len(toks)-1] {
		blank := pick(g, "blank", "", "", " ", "  ", "\t", "\u00a0", "\u202f", "\n")
		if blank == "" && !sameTokens(b.String()+text[tok.at:tok.end], toks[:i+1]) {
			blank = " "
		}
		b.WriteString(blank + text[tok.at:tok.end])
	}
	if !sameTokens(b.String(), toks[:len(toks)-1]) { // a later token may reach back
		return text
	}
	return b.String() + pick(g, "end", "", " ", "\t")
}

// sameTokens says whether a text scans into these tokens.
func sameTokens(text string, want []token) bool {
	got, err := scan(text)
	if err != nil || len(got) != len(want)+1 {
		return false
	}
	for i, w := range want {
		if got[i].kind != w.kind || got[i].text != w.text {
			return false
		}
	}
	return true
}

// cased writes letters in capitals or not, at random.
func (g gen) cased(text string) string {
	var b strings.Builder
	for _, r := range text {
		if g.bool("capital") {
			b.WriteString(strings.ToUpper(string(r)))
			continue
		}
		b.WriteString(strings.ToLower(string(r)))
	}
	return b.String()
}
