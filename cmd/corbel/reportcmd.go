package main

import (
	"fmt"
	"math"

	"corbel/body"
	"corbel/effort"
)

// reportCmd is corbel report.
type reportCmd struct{}

// Run prints the constants of the muscles with their residuals, then the published
// figures against what the effort model says, and the mean error over all of them.
func (reportCmd) Run(a *app) error {
	if err := body.WriteReport(a.out); err != nil {
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
