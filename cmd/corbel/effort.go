package main

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"corbel/check"
	"corbel/client"
	"corbel/effort"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/sheet"
	"corbel/unit"
)

// effortCmd is corbel effort.
type effortCmd struct {
	Set      string        `arg:"" help:"A set as in a log, such as \"100 kg x 5 rir 2\"; with help, \"6 @ -20 kg\"."`
	Exercise string        `help:"Exercise, by id, name or abbreviation; a press of the upper body if left out." placeholder:"NAME"`
	Client   string        `help:"Client or member file: background, body mass, and the loads of the first place." placeholder:"FILE"`
	Language form.Language `help:"en or de; the client's language, else en, if left out."`
	JSON     bool          `help:"Print JSON (docs/json/effort.md)."`
}

// Constants of the answer.
const (
	// unnamedClass is the repetition class where no exercise is named (our
	// judgement: the class with the most data; key judgement).
	unnamedClass = "upper-push"
	// range80 is how many SD an 80 % range reaches to either side of a normal
	// value (1; 0.9 quantile of the standard normal distribution).
	range80 = 1.2816
	// tableReps is the most repetitions of the table, that of the load chart
	// (key nsca-load-chart).
	tableReps = 12
	// Edges of the data behind the curve: fractions of the 1RM and repetitions
	// to failure (key fatigue-constants; docs/model/02-effort.md, range of
	// validity).
	dataHeavy  = 0.90
	dataLight  = 0.65
	dataMany   = 20
	dataSingle = 2
)

// Run says what a set tells.
func (c *effortCmd) Run(a *app) error {
	if c.Language != "" && c.Language != form.English && c.Language != form.German {
		return errLanguage
	}
	done, err := plan.ParseDone(c.Set)
	if err != nil {
		return fmt.Errorf("%q: %w", c.Set, err)
	}
	q, err := c.question(a, done)
	if err != nil {
		return err
	}
	answer, err := q.answer()
	if err != nil {
		return fmt.Errorf("%q: %w", c.Set, err)
	}
	if c.JSON {
		return writeJSON(a, answer)
	}
	lang := c.Language
	if lang == "" {
		lang = q.who.Language
	}
	if lang == "" {
		lang = form.English
	}
	sheet.Plain{Out: a.out, Library: a.library, Language: lang}.Effort(answer)
	return nil
}

// A question is a set with all that bears on it.
type question struct {
	done     plan.Done
	exercise *exercise.Exercise // nil where none is named
	who      *client.Client     // never nil; empty where none is given
	athlete  *session.Athlete
	day      form.Date
	set      effort.DoneSet
	kind     plan.LoadKind
	said     bool // a reserve was said
	perHand  bool
	unit     unit.MassUnit
	unitMass float64 // kg of one unit, of both hands where perHand
}

// question reads exercise and client and works out the set.
func (c *effortCmd) question(a *app, done plan.Done) (*question, error) {
	q := &question{done: done, who: &client.Client{}, day: a.today}
	if c.Exercise != "" {
		id, near := a.library.Name(c.Exercise)
		if id == "" {
			return nil, fmt.Errorf("--exercise %q is not an exercise in the library%s", c.Exercise, didYouMean(near))
		}
		q.exercise = a.library.ByID(id)
	}
	if c.Client != "" {
		who, err := a.person(c.Client)
		if err != nil {
			return nil, err
		}
		q.who = who
	}
	q.athlete = session.NewAthlete(q.who, a.library, nil, a.today)
	if err := q.work(); err != nil {
		return nil, fmt.Errorf("%q: %w", c.Set, err)
	}
	if err := q.load(); err != nil {
		return nil, fmt.Errorf("%q: %w", c.Set, err)
	}
	return q, nil
}

// person reads a client or member file.
func (a *app) person(file string) (*client.Client, error) {
	src, err := form.ReadFile(a.files, file)
	if err != nil {
		return nil, err
	}
	d, err := form.Open(file, src)
	if err != nil {
		return nil, err
	}
	if kindOf(d) == "member" {
		return a.member(file)
	}
	return a.client(file)
}

// didYouMean lists near names.
func didYouMean(near []string) string {
	if len(near) == 0 {
		return "; corbel exercise list shows them"
	}
	return "; did you mean " + strings.Join(near, ", ") + "?"
}

// work reads repetitions, reserve and curve of the set.
func (q *question) work() error {
	w := q.done.Work
	switch {
	case w == plan.Work{}:
		return errors.New("the repetitions are missing; write such as 100 kg x 5 rir 2")
	case w.Kind != plan.Repetitions:
		return errors.New("this set is a time or a distance; repetitions are needed, such as 100 kg x 5 rir 2")
	}
	q.set.Repetitions = float64(w.Low)
	if low, high, ok := q.done.Effort.Reserve(); ok {
		q.said = true
		q.set.Reserve, q.set.Bias = (low+high)/2, effort.SaidBias
	}
	if q.exercise != nil {
		q.set.K, q.set.SDLnK = q.athlete.LiftK(q.exercise)
		return nil
	}
	q.set.K, q.set.SDLnK = q.class().For(effort.General)
	return nil
}

// class returns the repetition class of the set.
func (q *question) class() effort.Class {
	id := unnamedClass
	if q.exercise != nil {
		id = string(q.exercise.Class)
	}
	class, ok := effort.ClassByID(id)
	if !ok {
		panic("corbel: no repetition class " + id)
	}
	return class
}

// load reads the load of the set and the body mass that counts with it.
func (q *question) load() error {
	l := q.done.Load
	q.unit = q.who.Units.Load
	if q.unit == "" {
		q.unit = unit.Kg
	}
	if l.Kind == plan.Unsaid && q.exercise != nil && q.exercise.Loads[0] == exercise.BodyWeight {
		l.Kind = plan.BodyWeight // nothing written means nothing but the body
	}
	q.kind = l.Kind
	kg := float64(l.Mass.Kilogram())
	switch l.Kind {
	case plan.Unsaid:
		return errors.New("the load is missing; write such as 100 kg x 5 rir 2")
	case plan.Band, plan.Pin, plan.Level:
		return errors.New("the mass of a band, a pin or a level is not known; write the load in kg or lb, such as 40 kg x 10 rir 2")
	case plan.MassInHand:
		q.perHand, kg = true, 2*kg
	case plan.Assisted:
		kg = -kg
	}
	if l.Kind != plan.BodyWeight {
		q.unit = l.Mass.Unit()
	}
	q.set.Load = kg
	q.unitMass = float64(unit.MassOf(1, q.unit).Kilogram())
	if q.perHand {
		q.unitMass *= 2
	}
	return q.carried()
}

// carried adds the body mass that moves with the load.
func (q *question) carried() error {
	body := q.kind == plan.BodyWeight || q.kind == plan.Added || q.kind == plan.Assisted
	switch {
	case q.exercise == nil && body:
		return errors.New("body weight counts differently from exercise to exercise; name it with --exercise, and the client with --client")
	case q.exercise == nil:
		return nil
	case q.exercise.PercentOf != exercise.System && body && q.set.Load <= 0:
		return fmt.Errorf("percentages of %s are of the external load, and here is none; write the load in kg or lb", q.exercise.ID)
	case q.exercise.PercentOf != exercise.System:
		return nil
	}
	if _, ok := q.who.MassOn(q.day); !ok {
		return fmt.Errorf("percentages of %s count the body mass that moves with the load, and none is on record up to %s; name a client file with a measured mass: --client FILE", q.exercise.ID, q.day)
	}
	q.set.Carried = q.athlete.Carried(q.exercise)
	return nil
}

// answer works everything out.
func (q *question) answer() (*sheet.Effort, error) {
	oneRM, err := q.set.Max()
	if err != nil {
		return nil, err
	}
	p, err := effort.Fraction(q.set.Load, oneRM.Value, q.set.Carried)
	if err != nil {
		return nil, err
	}
	class := q.class()
	counted := effort.TrueReserve(q.set.Reserve, q.set.Bias)
	n := q.set.Repetitions + counted
	e := &sheet.Effort{
		Form: form.Version, Set: q.done.Text, Done: q.done, Client: q.who.Name, Class: class.ID,
		Judged: class.Source == "judgement", Endurance: q.set.K != class.K, K: q.set.K, SDLnK: q.set.SDLnK,
		Unit: q.unit, PerHand: q.perHand, PercentOf: string(exercise.External), Carried: thousandth(q.set.Carried / float64(unit.MassOf(1, q.unit).Kilogram())),
		Reps: q.set.Repetitions, Said: q.set.Reserve, IsSaid: q.said, Counted: thousandth(counted),
		Max: q.spread(oneRM), Percent: thousandth(100 * p), Outside: outside(p, n),
	}
	if q.exercise != nil {
		e.Exercise, e.PercentOf = string(q.exercise.ID), string(q.exercise.PercentOf)
	}
	if m, ok := q.who.MassOn(q.day); ok && e.PercentOf == string(exercise.System) {
		e.BodyMass = thousandth(m.In(q.unit))
	}
	reach := range80 * effort.ReserveSD(q.set.Reserve, q.set.Repetitions)
	e.ToFailure = sheet.Spread{Value: thousandth(n), Low: thousandth(max(n-reach, q.set.Repetitions)), High: thousandth(n + reach)}
	q.table(e, oneRM.Value)
	q.equations(e, n)
	return e, nil
}

// shown turns kilograms into the unit of the answer, of one hand where loads are
// by hand. Body mass is not by hand.
func (q *question) shown(kg float64) float64 { return thousandth(kg / q.unitMass) }

// spread turns an estimate in kilograms into the unit of the answer.
func (q *question) spread(e effort.Estimate) sheet.Spread {
	reach := range80 * e.SD
	return sheet.Spread{Value: q.shown(e.Value), Low: q.shown(e.Value - reach), High: q.shown(e.Value + reach)}
}

// thousandth rounds to thousandths.
func thousandth(x float64) float64 { return math.Round(1000*x) / 1000 }

// outside lists what lies outside the data behind the curve.
func outside(p, n float64) []string {
	out := []string{}
	switch {
	case n < dataSingle:
		out = append(out, "single")
	case n > dataMany:
		out = append(out, "many")
	case p > dataHeavy:
		out = append(out, "heavy")
	case p < dataLight:
		out = append(out, "light")
	}
	return out
}

// table fills in the loads of other sets and the load chart, rounded to what the
// client's first place has for the exercise.
func (q *question) table(e *sheet.Effort, oneRM float64) {
	var loads []unit.Mass
	if q.exercise != nil && len(q.who.Places) > 0 {
		place := &q.who.Places[0]
		loads = session.Achievable(q.exercise, place, q.perHand)
		e.Place, e.NoLoads = place.Name, len(loads) == 0
	}
	if q.who.ID != "" {
		e.HeldBack = string(check.HoldOn(q.who, q.day))
	}
	for reps := 1; reps <= tableReps; reps++ {
		e.Table = append(e.Table, q.row(e, oneRM, reps, loads))
	}
}

const badTableSet = "corbel: a set of the table has no load"

// row fills in one row of the table.
func (q *question) row(e *sheet.Effort, oneRM float64, reps int, loads []unit.Mass) sheet.EffortRow {
	row := sheet.EffortRow{Repetitions: reps}
	asked, err := effort.AskedSet{Max: oneRM, Carried: q.set.Carried, Repetitions: float64(reps), K: q.set.K, SDLnK: q.set.SDLnK}.Load()
	if err != nil {
		panic(badTableSet)
	}
	row.Load = q.there(asked.Value, loads)
	chart, between, err := effort.ChartFraction(float64(reps))
	if err != nil {
		panic(badTableSet)
	}
	row.ChartPercent, row.Interpolated = thousandth(100*chart), between
	if oneRM > 0 {
		l := q.there(chart*oneRM, loads)
		row.Chart = &l
	}
	return row
}

// there rounds a load in kilograms to what a place has. Loads below the lightest
// by more than half a step, or above the heaviest, are marked so.
func (q *question) there(kg float64, loads []unit.Mass) sheet.EffortLoad {
	l := sheet.EffortLoad{Asked: q.shown(kg)}
	if len(loads) == 0 || kg <= 0 {
		return l
	}
	hands := 1.0
	if q.perHand {
		hands = 2
	}
	lightest, heaviest := loads[0].In(q.unit), loads[len(loads)-1].In(q.unit)
	step := 0.0
	if len(loads) > 1 {
		step = loads[1].In(q.unit) - lightest
	}
	near, _ := client.Nearest(loads, unit.MassOf(min(kg/hands, maxShown), unit.Kg))
	at := thousandth(near.In(q.unit))
	l.Rounded = &at
	switch {
	case l.Asked < lightest-step/2:
		l.Edge = "below"
	case l.Asked > heaviest+step/2:
		l.Edge = "above"
	}
	return l
}

// maxShown bounds a computed load, kg (unit.Mass holds up to 2,000).
const maxShown = 1999

// equations fills in the classic equations; none where there is no external load.
func (q *question) equations(e *sheet.Effort, n float64) {
	e.Equations = []sheet.EquationRow{}
	if q.set.Load <= 0 {
		return
	}
	for _, eq := range effort.Equations() {
		row := sheet.EquationRow{Name: eq.String(), Source: eq.Source()}
		if m, err := eq.Max(q.set.Load, n); err == nil {
			shown := q.shown(m)
			row.Max = &shown
		} else {
			row.Below = firstRefused(eq)
		}
		e.Equations = append(e.Equations, row)
	}
}

// firstRefused returns the first whole number of repetitions an equation refuses.
func firstRefused(eq effort.Equation) float64 {
	r := 1.0
	for {
		if _, err := eq.Fraction(r); err != nil {
			return r
		}
		r++
	}
}
