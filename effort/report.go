package effort

import (
	_ "embed"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"sync"
	"text/tabwriter"
)

// Figure is a number that may be missing.
type Figure struct {
	Value float64
	Known bool
}

// known returns a figure that is there.
func known(v float64) Figure { return Figure{v, true} }

// Row holds one published figure against what the model says.
type Row struct {
	Group      string // table of the report, e.g. "sets and rest"
	Study      string
	Condition  string
	Unit       string
	Published  Figure // unknown where only a direction was published
	Direction  string // what was published in words, where no number was
	Predicted  float64
	Error      Figure // predicted against published, %
	Trial      Figure // prediction of the trial that chose the constants
	TrialError Figure // its error as printed there, %
	Fitted     bool   // whether the constants were fitted to this figure
	Status     string // how the published figure is known: seen or second hand
	Note       string // inputs that are not in the appendix, and other reservations
	Source     string // key of docs/sources.md
}

// bout is a number of equal sets of one exercise with the rest after each.
type bout struct {
	exercise string  // as in demands.csv
	variant  string  // tells apart two exercises with the same demands
	load     float64 // fraction of the 1RM
	k        float64
	goal     Goal
	sets     int
	rest     float64 // s
}

// protocol is what one group of a study did, from the first set to the last.
type protocol []bout

// measure makes the reported figure from the results of the protocols.
type measure func(runs [][]Result) float64

// trial is a row before it is computed: the study's inputs beside their source.
type trial struct {
	study, condition, unit string
	published              Figure
	direction              string
	printed, printedError  Figure
	protocols              []protocol
	measure                measure
	status, note, source   string
}

const (
	badDemandTable = "effort: a published protocol names an exercise that is not in demands.csv"
	reportRep      = 3.0 // repetition time of all protocols, s (fatigue-appendix)
)

//go:embed demands.csv
var demandsText string

// reportDemands returns the judged demands of the protocols' exercises and the
// number of muscles.
var reportDemands = sync.OnceValues(func() (map[string][]Demand, int) {
	muscles := map[string]int{}
	byExercise := map[string][]Demand{}
	for _, row := range readTable(demandsText) {
		pool, seen := muscles[row[1]]
		if !seen {
			pool = len(muscles)
			muscles[row[1]] = pool
		}
		byExercise[row[0]] = append(byExercise[row[0]], Demand{pool, number(row[2])})
	}
	return byExercise, len(muscles)
})

// A DemandTable holds, for exercises by the names of demands.csv, the share of each
// muscle by any name, 0 to 1.
type DemandTable map[string]map[string]float64

// demands gives a table's demands, and the number of muscles.
func (t DemandTable) demands() (map[string][]Demand, int) {
	muscles, byExercise := map[string]int{}, map[string][]Demand{}
	for _, exercise := range slices.Sorted(maps.Keys(t)) {
		for _, muscle := range slices.Sorted(maps.Keys(t[exercise])) {
			if _, seen := muscles[muscle]; !seen {
				muscles[muscle] = len(muscles)
			}
			byExercise[exercise] = append(byExercise[exercise], Demand{muscles[muscle], t[exercise][muscle]})
		}
	}
	return byExercise, len(muscles)
}

// ReportExercises lists the exercises of the published protocols.
func ReportExercises() []string {
	demands, _ := reportDemands()
	return slices.Sorted(maps.Keys(demands))
}

// run does a protocol from fresh and returns the result of every set.
func (m *Model) run(p protocol, demands map[string][]Demand, muscles int) []Result {
	own := map[string]int{}
	var steps []Step
	for _, b := range p {
		d, ok := demands[b.exercise]
		if !ok {
			panic(badDemandTable)
		}
		name := b.exercise + b.variant
		if _, seen := own[name]; !seen {
			own[name] = muscles + len(own)
		}
		step := Step{
			Link: m.Link(own[name], d),
			Work: Work{Load: b.load, K: b.k, Repetition: reportRep, Goal: b.goal},
			Rest: b.rest,
		}
		for range b.sets {
			steps = append(steps, step)
		}
	}
	return m.Run(NewState(muscles+len(own)), steps, nil)
}

// Report returns the published figures against the model's predictions, group by
// group. The inputs of every row stand in reportrows.go.
func Report(m *Model) []Row {
	demands, muscles := reportDemands()
	return report(m, demands, muscles)
}

// ReportWith is [Report] with other demands than those of demands.csv; every exercise
// of [ReportExercises] must stand in the table.
func ReportWith(m *Model, t DemandTable) []Row {
	demands, muscles := t.demands()
	return report(m, demands, muscles)
}

func report(m *Model, demands map[string][]Demand, muscles int) []Row {
	var rows []Row
	for _, g := range reportGroups() {
		for _, t := range g.trials {
			rows = append(rows, t.row(m, g, demands, muscles))
		}
	}
	return rows
}

// row computes a trial.
func (t trial) row(m *Model, g reportGroup, demands map[string][]Demand, muscles int) Row {
	runs := make([][]Result, len(t.protocols))
	for i, p := range t.protocols {
		runs[i] = m.run(p, demands, muscles)
	}
	r := Row{
		Group:      g.name,
		Study:      t.study,
		Condition:  t.condition,
		Unit:       t.unit,
		Published:  t.published,
		Direction:  t.direction,
		Predicted:  t.measure(runs),
		Trial:      t.printed,
		TrialError: t.printedError,
		Fitted:     g.fitted,
		Status:     t.status,
		Note:       t.note,
		Source:     t.source,
	}
	if r.Published.Known {
		r.Error = known(100 * (r.Predicted/r.Published.Value - 1))
	}
	return r
}

// WriteReport writes rows, in the order of [Report], as plain text in columns: a
// table for each group with its mean absolute error, then that of all rows the
// constants were fitted to.
func WriteReport(w io.Writer, rows []Row) error {
	for i := 0; i < len(rows); {
		from := i
		for i < len(rows) && rows[i].Group == rows[from].Group {
			i++
		}
		if err := writeGroup(w, rows[from:i]); err != nil {
			return err
		}
	}
	var fitted []Row
	for _, r := range rows {
		if r.Fitted {
			fitted = append(fitted, r)
		}
	}
	_, err := fmt.Fprintf(w, "all rows the constants were fitted to, mean absolute error: %s\n", meanError(fitted))
	return err
}

func writeGroup(w io.Writer, rows []Row) error {
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(tab, "%s\nstudy\tcondition\tunit\tpublished\tpredicted\terror\tknown\tsource\tnote\n", rows[0].Group)
	for _, r := range rows {
		fmt.Fprintf(tab, "%s\t%s\t%s\t%s\t%.1f\t%s\t%s\t%s\t%s\n",
			r.Study, r.Condition, r.Unit, r.published(), r.Predicted, r.error(), r.Status, r.Source, r.Note)
	}
	if err := tab.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "mean absolute error: %s\n\n", meanError(rows))
	return err
}

func (r Row) published() string {
	if !r.Published.Known {
		return r.Direction
	}
	return fmt.Sprintf("%.4g", r.Published.Value)
}

func (r Row) error() string {
	if !r.Error.Known {
		return "-"
	}
	return fmt.Sprintf("%+.0f %%", r.Error.Value)
}

// meanError returns the mean absolute error of the rows that have one.
func meanError(rows []Row) string {
	sum, n := 0.0, 0
	for _, r := range rows {
		if r.Error.Known {
			sum += math.Abs(r.Error.Value)
			n++
		}
	}
	if n == 0 {
		return "no figures published"
	}
	return fmt.Sprintf("%.1f %% over %d rows", sum/float64(n), n)
}

// setOf measures the repetitions to failure of set i of the first protocol.
func setOf(i int) measure {
	return func(runs [][]Result) float64 { return runs[0][i].Repetitions }
}

// doneOf measures the repetitions done in set i of the first protocol.
func doneOf(i int) measure {
	return func(runs [][]Result) float64 { return runs[0][i].Done }
}

// percentOfSet measures set i in percent of set j, both of the first protocol.
func percentOfSet(i, j int) measure {
	return func(runs [][]Result) float64 { return 100 * runs[0][i].Repetitions / runs[0][j].Repetitions }
}

// percentOfOther measures set i of the first protocol in percent of that of the
// second.
func percentOfOther(i int) measure {
	return func(runs [][]Result) float64 { return 100 * runs[0][i].Repetitions / runs[1][i].Repetitions }
}

// percentOf measures set i of the first protocol in percent of a number of
// repetitions.
func percentOf(i int, of float64) measure {
	return func(runs [][]Result) float64 { return 100 * runs[0][i].Repetitions / of }
}

// total measures the repetitions done in sets from to to-1 of the first protocol;
// to 0 means all.
func total(from, to int) measure {
	return func(runs [][]Result) float64 { return sumDone(runs[0], from, to) }
}

// totalPercent measures the total of the first protocol in percent of the
// second's; from and to as in total, once for each.
func totalPercent(from1, to1, from2, to2 int) measure {
	return func(runs [][]Result) float64 {
		return 100 * sumDone(runs[0], from1, to1) / sumDone(runs[1], from2, to2)
	}
}

// meanOverRuns measures the mean of set i over all protocols.
func meanOverRuns(i int) measure {
	return func(runs [][]Result) float64 {
		sum := 0.0
		for _, run := range runs {
			sum += run[i].Repetitions
		}
		return sum / float64(len(runs))
	}
}

// meanSet measures the mean of the first protocol's sets from, from+step, ...
// below to; to 0 means to the end.
func meanSet(from, step, to int) measure {
	return func(runs [][]Result) float64 {
		if to == 0 {
			to = len(runs[0])
		}
		sum, n := 0.0, 0
		for i := from; i < to; i += step {
			sum += runs[0][i].Repetitions
			n++
		}
		return sum / float64(n)
	}
}

// regained measures how much of what a set to failure at load p took is back
// before set i, in percent of 1-p.
func regained(i int, p float64) measure {
	return func(runs [][]Result) float64 { return 100 * (runs[0][i].Capacity - p) / (1 - p) }
}

// capacityOf measures the capacity before set i, in percent.
func capacityOf(i int) measure {
	return func(runs [][]Result) float64 { return 100 * runs[0][i].Capacity }
}

// curveAt measures nothing but the repetition curve (2) at load p.
func curveAt(p, k float64) measure {
	return func([][]Result) float64 { return FreshRepetitions(p, k) }
}

func sumDone(run []Result, from, to int) float64 {
	if to == 0 {
		to = len(run)
	}
	sum := 0.0
	for _, r := range run[from:to] {
		sum += r.Done
	}
	return sum
}
