package main

import (
	"fmt"
	"math"

	"corbel/body"
	"corbel/client"
	"corbel/effort"
	"corbel/evidence"
	"corbel/session"
)

// reportCmd is corbel report.
type reportCmd struct {
	Draws int `help:"Clients to draw for the published directions of the body model." default:"50"`
}

// Run prints the constants of the muscles with their residuals, then the published
// figures against what the effort model says, and the mean error over all of them.
func (c reportCmd) Run(a *app) error {
	if c.Draws < 0 || c.Draws > mostReportDraws {
		return fmt.Errorf("--draws %d: take 0 to %d", c.Draws, mostReportDraws)
	}
	if err := body.WriteReport(a.out, c.Draws); err != nil {
		return err
	}
	if err := evidence.WriteReport(a.out, reportClients); err != nil {
		return err
	}
	rows := effort.Report(effort.NewModel(effort.DefaultConstants()))
	if err := effort.WriteReport(a.out, rows); err != nil {
		return err
	}
	all, n := meanError(rows, func(effort.Row) bool { return true })
	apart, m := meanError(rows, func(r effort.Row) bool { return !r.Fitted })
	if err := a.withComputed(rows); err != nil {
		return err
	}
	fmt.Fprintf(a.out, "all %d figures published as numbers, mean absolute error: %.1f %%; the %d of them the constants were not fitted to: %.1f %%\n", n, all, m, apart)
	return nil
}

// reportExercises are the library's names of the exercises of the published
// protocols.
var reportExercises = map[string]string{
	"bench press": "bench-press", "fly": "fly", "pushdown": "pushdown", "shoulder press": "overhead-press", "leg press": "leg-press", "leg extension": "knee-extension",
	"leg curl": "lying-leg-curl", "squat": "back-squat", "pulldown": "wide-pulldown", "row": "machine-row", "curl": "barbell-curl",
}

// computedShares are the shares that checks would use for a trained man of the
// size of the norms, in place of the judged demands of the protocols.
func (a *app) computedShares() (effort.DemandTable, error) {
	who := &client.Client{Sex: "male", Experience: client.Trained}
	b, err := session.NewAthlete(who, a.library, nil, a.today).BodyOf(body.Measures{Sex: "male", Height: 1.78, Mass: 80}, a.cache)
	if err != nil {
		return nil, err
	}
	table := effort.DemandTable{}
	for _, name := range effort.ReportExercises() {
		table[name] = map[string]float64{}
		for _, s := range b.Shares(who, a.library.ByID(reportExercises[name]), 0) {
			table[name][string(s.Muscle)] = s.Value
		}
	}
	return table, nil
}

// withComputed prints the published figures that change where shares are computed,
// and the mean error over all.
func (a *app) withComputed(stated []effort.Row) error {
	table, err := a.computedShares()
	if err != nil {
		return err
	}
	rows := effort.ReportWith(effort.NewModel(effort.DefaultConstants()), table)
	fmt.Fprintln(a.out, "with the shares that checks use: published against predicted, where it differs from the above")
	for i, r := range rows {
		if math.Abs(r.Predicted-stated[i].Predicted) < 0.05 {
			continue
		}
		published := r.Direction
		if r.Published.Known {
			published = fmt.Sprintf("%.4g", r.Published.Value)
		}
		fmt.Fprintf(a.out, "%s, %s: published %s, predicted %.1f (stated shares %.1f)\n", r.Study, r.Condition, published, r.Predicted, stated[i].Predicted)
	}
	mean, n := meanError(rows, func(effort.Row) bool { return true })
	fmt.Fprintf(a.out, "mean absolute error with the shares that checks use: %.1f %% of %d figures\n\n", mean, n)
	return nil
}

// reportClients is how many simulated clients a row of the table of weak groups has.
const reportClients = 60

// mostReportDraws keeps a slip of the keyboard from running for hours.
const mostReportDraws = 10000

// meanError returns the mean absolute error, in percent, of the rows that have
// one and are wanted, and how many they are.
func meanError(rows []effort.Row, wanted func(effort.Row) bool) (mean float64, n int) {
	sum := 0.0
	for _, r := range rows {
		if r.Error.Known && wanted(r) {
			sum += math.Abs(r.Error.Value)
			n++
		}
	}
	return sum / float64(max(n, 1)), n
}
