package main

import (
	"fmt"
	"math"

	"corbel/body"
	"corbel/effort"
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
	rows := effort.Report(effort.NewModel(effort.DefaultConstants()))
	if err := effort.WriteReport(a.out, rows); err != nil {
		return err
	}
	all, n := meanError(rows, func(effort.Row) bool { return true })
	apart, m := meanError(rows, func(r effort.Row) bool { return !r.Fitted })
	fmt.Fprintf(a.out, "all %d figures published as numbers, mean absolute error: %.1f %%; the %d of them the constants were not fitted to: %.1f %%\n", n, all, m, apart)
	return nil
}

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
