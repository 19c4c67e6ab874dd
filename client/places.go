package client

import (
	_ "embed"
	"fmt"
	"math"
	"slices"

	"corbel/form"
	"corbel/num"
	"corbel/unit"
)

//go:embed equipment.csv
var equipmentCSV string

var equipmentTable = num.ReadTable("equipment.csv", equipmentCSV)

// Equipment is a thing that stands in a place, by id.
type Equipment string

// Values lists all equipment.
func (Equipment) Values() []string { return equipmentIDs }

var equipmentIDs, equipmentRow = func() (ids []string, row map[Equipment]int) {
	row = map[Equipment]int{}
	for i := range equipmentTable.Len() {
		ids = append(ids, equipmentTable.Text(i, "id"))
		row[Equipment(ids[i])] = i
	}
	return ids, row
}()

// In returns the name of the equipment in l. It panics on an unknown id.
func (e Equipment) In(l form.Language) string {
	i := equipmentRow[e]
	if equipmentTable.Text(i, "id") != string(e) {
		panic("client: no equipment " + string(e))
	}
	return form.Text{En: equipmentTable.Text(i, "en"), De: equipmentTable.Text(i, "de")}.In(l)
}

// A Place is where a client trains and what stands there.
type Place struct {
	ID        form.ID       `form:"id,required" doc:"given once; sessions name it"`
	Name      string        `form:"name,required" doc:"as the client calls it"`
	Units     unit.MassUnit `form:"units" doc:"unit the loads there are marked in; the client's own if left out"`
	Has       []Equipment   `form:"has" doc:"what else stands there: rack, bench, cable, machines ..."`
	Bars      []Bar         `form:"bars" doc:"bars with their masses"`
	Plates    []Plates      `form:"plates" doc:"plates, in pairs"`
	Dumbbells []Steps       `form:"dumbbells" doc:"dumbbells, one line for each even run"`
	Stacks    []Stack       `form:"stacks" doc:"machines and cables with a stack"`
	Bands     []ElasticBand `form:"bands" doc:"elastic bands by the name the client knows them"`
	Benches   []string      `form:"benches" doc:"benches, where kinds matter"`
	Boxes     []unit.Length `form:"boxes" doc:"heights of boxes and steps"`
}

// A Bar is a bar without plates.
type Bar struct {
	Kind Equipment `form:"kind,required" doc:"bar, hex-bar or curl-bar"`
	Mass unit.Mass `form:"mass,required" doc:"of the empty bar"`
	Most unit.Mass `form:"most" doc:"most that fits on it, bar included"`
}

// Plates of one mass.
type Plates struct {
	Mass  unit.Mass `form:"mass,required" doc:"of one plate"`
	Pairs int       `form:"pairs,required" doc:"how many pairs, 1 to 20"`
}

// Steps is an even run of masses: first, first plus step, up to last.
type Steps struct {
	From unit.Mass `form:"from,required" doc:"lightest"`
	Step unit.Mass `form:"step" doc:"from one to the next; left out where there is only one"`
	To   unit.Mass `form:"to" doc:"heaviest"`
}

// A Stack is a machine or cable with a pin.
type Stack struct {
	For   []Equipment `form:"for,required" doc:"which machine or cable"`
	Start unit.Mass   `form:"start,required" doc:"lightest"`
	Step  unit.Mass   `form:"step,required" doc:"from pin to pin"`
	To    unit.Mass   `form:"to,required" doc:"heaviest"`
	Add   unit.Mass   `form:"add" doc:"one plate that can be laid on top"`
}

// An ElasticBand is a band as the client knows it. Its force is an estimate
// of +-25 % (our judgement; key band-force).
type ElasticBand struct {
	Name  string     `form:"name,required" doc:"level or colour as the client calls it"`
	Force unit.Force `form:"force" doc:"at twice its resting length"`
}

// BandSpread is the relative spread of a band's stated force (our judgement:
// bands of one kind and age differ that much; key band-force).
const BandSpread = 0.25

// A Day is a day the client can train.
type Day struct {
	Day     Weekday `form:"day,required" doc:"day of the week"`
	Minutes int     `form:"minutes,required" doc:"how long, 10 to 240"`
	Place   form.ID `form:"place,required" doc:"id of the place"`
}

// Weekday is a day of the week.
type Weekday string

// Values lists the days, Monday first.
func (Weekday) Values() []string {
	return []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}
}

// Index returns 0 for Monday to 6 for Sunday, or -1.
func (d Weekday) Index() int { return slices.Index(d.Values(), string(d)) }

// In returns the name of the day in l.
func (d Weekday) In(l form.Language) string {
	names := []string{"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"}
	if l == form.German {
		names = []string{"Montag", "Dienstag", "Mittwoch", "Donnerstag", "Freitag", "Samstag", "Sonntag"}
	}
	return names[d.Index()]
}

// maxLoads bounds how many loads a place is asked for at once (our judgement).
const maxLoads = 20_000

// Offers says whether the equipment stands in the place, named outright or
// through the bars, plates, dumbbells, stacks, bands, benches and boxes.
func (p *Place) Offers(e Equipment) bool {
	switch {
	case slices.Contains(p.Has, e):
		return true
	case e == "plates":
		return len(p.Plates) > 0
	case e == "dumbbells":
		return len(p.Dumbbells) > 0
	case e == "band":
		return len(p.Bands) > 0
	case e == "bench":
		return len(p.Benches) > 0 || slices.Contains(p.Has, "incline-bench")
	case e == "box" || e == "step":
		return len(p.Boxes) > 0
	}
	return slices.ContainsFunc(p.Bars, func(b Bar) bool { return b.Kind == e }) ||
		slices.ContainsFunc(p.Stacks, func(s Stack) bool { return slices.Contains(s.For, e) })
}

// BarLoads returns every total that bars of the kind and the plates of the
// place can make, plates in pairs, lightest first, each once, exactly in
// kilograms and pounds. It returns nothing where no such bar stands.
func (p *Place) BarLoads(kind Equipment) []unit.Mass {
	var loads []unit.Mass
	for _, b := range p.Bars {
		if b.Kind != kind {
			continue
		}
		sums := []unit.Mass{b.Mass}
		for _, pl := range p.Plates {
			base := sums
			for n := 1; n <= pl.Pairs; n++ {
				for _, s := range base {
					if total := sum(s, pl.Mass, 2*n); total != nil && (b.Most.IsZero() || total.Cmp(b.Most) <= 0) {
						sums = append(sums, *total)
					}
				}
			}
			if sums = distinct(sums); len(sums) > maxLoads {
				sums = sums[:maxLoads]
			}
		}
		loads = append(loads, sums...)
	}
	return distinct(loads)
}

// sum returns base plus n times each, or nil past the range of a mass.
func sum(base, each unit.Mass, n int) *unit.Mass {
	if float64(base.Kilogram())+float64(each.Kilogram())*float64(n) > 2000 {
		return nil
	}
	m := base.Plus(each.Times(n))
	return &m
}

// DumbbellLoads returns the masses of one dumbbell, lightest first.
func (p *Place) DumbbellLoads() []unit.Mass {
	var loads []unit.Mass
	for _, s := range p.Dumbbells {
		loads = append(loads, s.masses()...)
	}
	return distinct(loads)
}

// StackLoads returns the loads of the stacks for a machine, lightest first.
func (p *Place) StackLoads(e Equipment) []unit.Mass {
	var loads []unit.Mass
	for _, s := range p.Stacks {
		if !slices.Contains(s.For, e) {
			continue
		}
		run := Steps{s.Start, s.Step, s.To}.masses()
		loads = append(loads, run...)
		if s.Add.Kilogram() > 0 {
			for _, m := range run {
				if total := sum(m, s.Add, 1); total != nil {
					loads = append(loads, *total)
				}
			}
		}
	}
	return distinct(loads)
}

// masses lists the run. The reader has checked that it is finite.
func (s Steps) masses() []unit.Mass {
	out := []unit.Mass{s.From.Plus(unit.Mass{})}
	if s.Step.Kilogram() == 0 {
		return out
	}
	for m := sum(s.From, s.Step, 1); m != nil && m.Cmp(s.To) <= 0 && len(out) < maxLoads; m = sum(*m, s.Step, 1) {
		out = append(out, *m)
	}
	return out
}

// distinct sorts masses and drops repeats.
func distinct(m []unit.Mass) []unit.Mass {
	slices.SortFunc(m, unit.Mass.Cmp)
	return slices.CompactFunc(m, unit.Mass.Equal)
}

// Nearest returns the achievable load nearest to want, the heavier of two
// equally near ones (half goes up, as in the textbooks), and false where there
// is none. loads must be sorted.
func Nearest(loads []unit.Mass, want unit.Mass) (unit.Mass, bool) {
	if len(loads) == 0 {
		return unit.Mass{}, false
	}
	best := loads[0]
	for _, l := range loads[1:] {
		if gap(l, want) <= gap(best, want) {
			best = l
		}
	}
	return best, true
}

// gap returns how far two masses are apart, in ten nanograms, to which a mass is
// exact: in kilograms half a plate of 2.5 lb would not be half.
func gap(a, b unit.Mass) float64 {
	const perKilogram = 1e11
	d := math.Round(float64(a.Kilogram())*perKilogram) - math.Round(float64(b.Kilogram())*perKilogram)
	return max(d, -d)
}

// check refuses what a place cannot be.
func (p *Place) check(d *form.Doc, path string) {
	for i, b := range p.Bars {
		if k := b.Kind; k != "" && equipmentTable.Text(equipmentRow[k], "loads") != "bar" {
			d.Refuse(fmt.Sprintf("%s.bars[%d].kind", path, i), "wrong-kind", "%q is not a bar; write bar, hex-bar or curl-bar", k)
		}
		if !b.Most.IsZero() && b.Most.Cmp(b.Mass) < 0 {
			d.Refuse(fmt.Sprintf("%s.bars[%d].most", path, i), "out-of-range", "the most that fits (%s) is lighter than the empty bar (%s); most includes the bar", b.Most, b.Mass)
		}
	}
	for i, pl := range p.Plates {
		if pl.Pairs < 1 || pl.Pairs > 20 {
			d.Refuse(fmt.Sprintf("%s.plates[%d].pairs", path, i), "out-of-range", "%d pairs of plates: write 1 to 20", pl.Pairs)
		}
		if pl.Mass.Kilogram() == 0 {
			d.Refuse(fmt.Sprintf("%s.plates[%d].mass", path, i), "out-of-range", "a plate has a mass above 0")
		}
	}
	for i, s := range p.Dumbbells {
		s.check(d, fmt.Sprintf("%s.dumbbells[%d]", path, i))
	}
	for i, s := range p.Stacks {
		Steps{s.Start, s.Step, s.To}.check(d, fmt.Sprintf("%s.stacks[%d]", path, i))
	}
	seen := map[string]bool{}
	for i, b := range p.Bands {
		if seen[b.Name] {
			d.Refuse(fmt.Sprintf("%s.bands[%d].name", path, i), "twice", "two bands are called %q", b.Name)
		}
		seen[b.Name] = true
	}
}

// check refuses a run that does not climb or has too many steps.
func (s Steps) check(d *form.Doc, path string) {
	from, step, to := s.From.Kilogram(), s.Step.Kilogram(), s.To.Kilogram()
	switch {
	case s.To.IsZero() != s.Step.IsZero():
		d.Refuse(path, "missing-field", "a run of masses needs both step and to, or neither")
	case !s.To.IsZero() && to < from:
		d.Refuse(path+".to", "out-of-range", "the heaviest (%s) is lighter than the lightest (%s)", s.To, s.From)
	case !s.To.IsZero() && step == 0:
		d.Refuse(path+".step", "out-of-range", "a step above 0 is needed")
	case step > 0 && float64((to-from)/step) > maxLoads:
		d.Refuse(path+".step", "out-of-range", "the run has more than %d steps", maxLoads)
	}
}
