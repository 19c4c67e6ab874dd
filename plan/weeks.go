package plan

import (
	"math"
	"slices"

	"corbel/unit"
)

// DoseIn returns the dose of a slot in a week, from week 1: the one written for
// that week, else the last one written before it moved on by the slot's rule,
// then lowered in a deload week that is not written out. A written deload week
// stands for itself: the week after it goes on where the week before left off. Rest, tempo and measure
// of the slot fill what the dose leaves out. The loads are as the rule gives
// them; rounding to what a place has is done later.
func (b *Block) DoseIn(s *Slot, week int) Dose {
	from, d := 1, s.Dose
	for w, written := range s.Weeks {
		deload := b.Deload != nil && b.Deload.Week == w && w != week
		if w <= week && w > from && !deload {
			from, d = w, written
		}
	}
	if from == week && week > 1 {
		return s.fill(d)
	}
	steps := week - from
	if b.Deload != nil && b.Deload.Week <= week && b.Deload.Week > from {
		steps-- // the deload week does not count as a step
	}
	d = s.Progress.apply(d, steps)
	if b.Deload != nil && b.Deload.Week == week && from != week {
		d = b.Deload.apply(d)
	}
	return s.fill(d)
}

// fill adds the slot's own rest, tempo and measure to a dose.
func (s *Slot) fill(d Dose) Dose {
	if d.Rest.IsZero() {
		d.Rest = s.Rest
	}
	if d.Tempo.IsZero() && s.Tempo != "" {
		if t, err := ParseTempo(s.Tempo); err == nil { // the reader has refused others
			d.Tempo = t
		}
	}
	if len(d.Measure) == 0 && s.Measure != "" {
		if m, err := ParseMeasure(s.Measure); err == nil {
			d.Measure = m
		}
	}
	return d
}

// ParseTempo reads 3-1-2 lower-pause-lift. The error is a *DoseError.
func ParseTempo(text string) (Tempo, error) {
	p, err := newParser(text)
	if err != nil {
		return Tempo{}, err
	}
	t, err := p.tempo()
	if err == nil && p.peek().kind != tokEnd {
		err = p.errorAt(p.peek(), "%q is not expected here; a tempo reads such as 3-1-2 lower-pause-lift", p.peek().text)
	}
	if err != nil {
		return Tempo{}, err
	}
	return t, nil
}

// ParseMeasure reads reps both sides, rating. The error is a *DoseError.
func ParseMeasure(text string) ([]Measure, error) {
	p, err := newParser(text)
	if err != nil {
		return nil, err
	}
	m, err := p.measures()
	if err == nil && p.peek().kind != tokEnd {
		err = p.errorAt(p.peek(), "%q is not expected here; a measure reads such as reps both sides, rating", p.peek().text)
	}
	if err != nil {
		return nil, err
	}
	return m, nil
}

// apply moves a dose on by n steps of the rule. A dose the rule cannot move (a
// band by 2.5 kg) stays as it is.
func (p Progress) apply(d Dose, n int) Dose {
	if n <= 0 || len(p) == 0 {
		return d
	}
	d = d.clone()
	for _, s := range p {
		for i := range d.Parts {
			d.Parts[i].Sets = s.apply(d.Parts[i].Sets, n)
		}
	}
	d.Text = ""
	return d
}

// moves says whether the step changes any set of a dose.
func (s Step) moves(d Dose) bool {
	if s.Unit == StepSets {
		return true
	}
	for _, p := range d.Parts {
		for _, set := range p.Sets {
			if s.step(set, 1) != set {
				return true
			}
		}
	}
	return false
}

// clone copies the dose so that its sets can be changed.
func (d Dose) clone() Dose {
	parts := make([]Part, len(d.Parts))
	for i, p := range d.Parts {
		parts[i] = Part{p.Sides, append([]Set(nil), p.Sets...)}
	}
	d.Parts = parts
	return d
}

// apply moves the sets of one part on by n weeks.
func (s Step) apply(sets []Set, n int) []Set {
	if s.Unit == StepSets {
		want := min(max(len(sets)+int(s.Amount)*n, 1), maxSets)
		for len(sets) < want {
			sets = append(sets, sets[len(sets)-1])
		}
		return sets[:want]
	}
	for i := range sets {
		sets[i] = s.step(sets[i], float64(n))
	}
	if s.Unit == StepLoad && !slices.ContainsFunc(sets, func(x Set) bool { return !x.Load.isBody() }) {
		for i := range sets {
			sets[i].Load = Load{Kind: BodyWeight}
		}
	}
	return sets
}

// isBody says whether nothing is added to the body or taken off.
func (l Load) isBody() bool {
	return (l.Kind == Added || l.Kind == Assisted) && l.Mass.Kilogram() == 0
}

// step moves one set on by n weeks.
func (s Step) step(set Set, n float64) Set {
	w, l := &set.Work, &set.Load
	switch s.Unit {
	case StepPercent:
		switch l.Kind {
		case PercentMax:
			l.Percent = unit.PercentOf(clamp(l.Percent.Number()+s.Amount*n, 1, maxPercent))
		case Mass, MassInHand, Added:
			l.Mass = scaled(l.Mass, 1+s.Amount*n/100)
		}
	case StepLoad:
		l.Mass = s.moveMass(*l, n)
	case StepReps:
		w.add(Repetitions, s.Amount*n, 1, maxReps)
	case StepTime:
		w.add(Time, s.Amount*n, 1000, maxHold)
	case StepWay:
		w.add(Distance, s.Amount*n, 1e6, float64(maxWay))
	}
	return set
}

// moveMass adds a mass n times; assistance shrinks as the rule adds. A load that
// is added or taken off stops at body weight.
func (s Step) moveMass(l Load, n float64) unit.Mass {
	by := s.Mass.In(l.Mass.Unit()) * n
	if s.Minus != (l.Kind == Assisted) {
		by = -by
	}
	switch l.Kind {
	case Mass, MassInHand, Added, Assisted:
		return massOf(l.Mass.In(l.Mass.Unit())+by, l.Mass.Unit())
	}
	return l.Mass
}

// maxComputed bounds a computed load, kg (our judgement: above any barbell).
const maxComputed = 800

// massOf returns a load of amount u, at least 0, in that unit.
func massOf(amount float64, u unit.MassUnit) unit.Mass {
	most := unit.MassOf(maxComputed, unit.Kg).In(u)
	m := unit.MassOf(clamp(amount, 0, most), u)
	if u == unit.Lb { // a mass knows its unit by its text alone
		if in, err := unit.ParseMass(m.Print(u)); err == nil {
			return in
		}
	}
	return m
}

// scaled returns f times m in the unit m was typed in.
func scaled(m unit.Mass, f float64) unit.Mass {
	return massOf(m.In(m.Unit())*f, m.Unit())
}

// add moves work of one kind by units of so many grains. It stays within one
// unit and most grains.
func (w *Work) add(kind WorkKind, by, grains, most float64) {
	if w.Kind != kind || w.Max {
		return
	}
	move := func(x int64) int64 {
		return int64(math.Round(clamp(float64(x)+by*grains, min(grains, float64(x)), most)))
	}
	w.Low, w.High = move(w.Low), move(w.High)
}

func clamp(x, low, high float64) float64 { return math.Min(math.Max(x, low), high) }

// apply lowers a dose in the deload week.
func (l Deload) apply(d Dose) Dose {
	d = d.clone()
	d.Text = ""
	for i := range d.Parts {
		sets := d.Parts[i].Sets
		if !l.Sets.IsZero() {
			keep := int(math.Ceil(float64(len(sets))*l.Sets.Fraction() - 1e-9))
			sets = sets[:min(max(keep, 1), len(sets))]
		}
		for j := range sets {
			l.lower(&sets[j])
		}
		d.Parts[i].Sets = sets
	}
	return d
}

// lower takes load off one set and adds repetitions in reserve.
func (l Deload) lower(s *Set) {
	if !l.Load.IsZero() {
		switch s.Load.Kind {
		case PercentMax:
			s.Load.Percent = unit.PercentOf(clamp(s.Load.Percent.Number()*l.Load.Fraction(), 1, maxPercent))
		case Mass, MassInHand, Added:
			s.Load.Mass = scaled(s.Load.Mass, l.Load.Fraction())
		}
	}
	switch s.Effort.Kind {
	case RIR:
		s.Effort.Low = min(s.Effort.Low+10*l.Reserve, maxReserve)
		s.Effort.High = min(s.Effort.High+10*l.Reserve, maxReserve)
	case RPE:
		s.Effort.Low = max(s.Effort.Low-10*l.Reserve, 10)
		s.Effort.High = max(s.Effort.High-10*l.Reserve, 10)
	}
}
