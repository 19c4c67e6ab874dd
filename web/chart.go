package web

import (
	"strconv"

	"corbel/evidence"
	"corbel/form"
)

// An intervalChart is the picture of limits with their intervals: places in CSS
// pixels of a drawing 560 wide.
type intervalChart struct {
	Label                           string
	Height, Bottom, Foot, Zero, Ten float64
	Rows                            []intervalRow
}

// An intervalRow is one group and side.
type intervalRow struct {
	Name, Chance, Class       string
	Y, TextY, Low, Mean, High float64
}

// Places of the chart, px: strength against what the body implies runs from -40 to
// +20 % between left and right.
const (
	chartLeft, chartRight = 190.0, 486.0
	chartLow, chartHigh   = -40.0, 20.0 // %
	chartTop, chartStep   = 34.0, 31.0
	mostLimits            = 8
)

// across is the place of a strength in percent against what the body implies.
func across(x float64) float64 {
	x = min(max(x, chartLow), chartHigh)
	return chartLeft + (x-chartLow)/(chartHigh-chartLow)*(chartRight-chartLeft)
}

// limitChart lays out the leading limits.
func limitChart(a *evidence.Assessment, l form.Language) intervalChart {
	c := intervalChart{Label: form.Text{En: "Strength of muscle groups with 80 % intervals", De: "Kraft von Muskelgruppen mit 80-%-Bereichen"}.In(l), Zero: across(0), Ten: across(-10)}
	for i, x := range a.Limits[:min(len(a.Limits), mostLimits)] {
		y := chartTop + float64(i)*chartStep
		row := intervalRow{Name: evidence.GroupName(x.Groups, x.Side, l), Chance: strconv.FormatFloat(100*x.Weak, 'f', 0, 64) + " %",
			Y: y, TextY: y + 4, Low: across(-x.High), Mean: across(-x.Mean), High: across(-x.Low), Class: "rest"}
		if x.Weak >= 0.5 {
			row.Class = "lead"
		}
		c.Rows = append(c.Rows, row)
	}
	c.Bottom = chartTop + float64(len(c.Rows))*chartStep - 10
	c.Foot, c.Height = c.Bottom+18, c.Bottom+26
	return c
}
