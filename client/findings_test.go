package client

import (
	"errors"
	"strings"
	"testing"

	"corbel/form"
)

// finding returns a client file with one finding.
func finding(lines string) []byte {
	return []byte(head + "findings:\n  - on: 2026-11-02\n    what: seen\n    source: test\n    " + strings.ReplaceAll(lines, "\n", "\n    ") + "\n")
}

// Ensure that a finding that cannot be weighed is refused with what is missing.
func TestFindingsThatCannotBeWeighed(t *testing.T) {
	for _, x := range []struct{ lines, says string }{
		{"left: 12\nright: 10", "needs the field kind"},
		{"kind: repetitions\nexercise: squat\nleft: 12", "needs the field right"},
		{"kind: repetitions\nleft: 12\nright: 10", "needs the field exercise"},
		{"kind: reserve\nexercise: squat\nleft: 2\nright: 5", "needs the field reps"},
		{"kind: reserve\nexercise: squat\nreps: 12\nleft: 2\nright: 25", "0 to 20"},
		{"kind: load\nexercise: squat\nleft: 8\nright: 12 kg", "such as 8 kg"},
		{"kind: load\nexercise: squat\nleft: 0 kg\nright: 12 kg", "cannot be compared"},
		{"kind: hold\nexercise: squat\nleft: 30 kg\nright: 30 s", "such as 30 s"},
		{"kind: words\nexercise: squat\nharder: clearly", "needs the field side"},
		{"kind: words\nexercise: squat\nside: left", "needs the field harder"},
		{"kind: hip-shift\nvalue: 15 mm", "needs the field side"},
		{"kind: hip-shift\nvalue: 15 kg\nside: left", "such as 15 mm"},
		{"kind: knee-line\nleft: 100 deg\nright: 0 deg", "-90 to 90"},
		{"kind: complaint\nside: left", "needs the field place"},
		{"kind: repetitions\nexercise: squat\nleft: 12\nright: 10\nsets: 21", "1 to 20"},
		{"kind: strength", "pelvis-drop"},
	} {
		c, err := Read("c.yaml", finding(x.lines), someNames)
		var r *form.Refusal
		if !errors.As(err, &r) || c != nil || !strings.Contains(err.Error(), x.says) {
			t.Errorf("%q: %v, want %q", x.lines, err, x.says)
		}
	}
}

// Ensure that findings are read in the unit of their kind, with a value and side as
// with left and right.
func TestFindingsAreRead(t *testing.T) {
	for _, x := range []struct {
		lines       string
		left, right float64
		ok          bool
	}{
		{"kind: repetitions\nexercise: squat\nleft: 12\nright: 10.5", 12, 10.5, true},
		{"kind: load\nexercise: squat\nleft: 20 lb\nright: 10 kg", 9.07184740, 10, true},
		{"kind: hold\nexercise: squat\nleft: 1:10\nright: 45 s", 70, 45, true},
		{"kind: hip-shift\nside: right\nvalue: 1.5 cm", 0, 15, true},
		{"kind: knee-line\nside: left\nvalue: 7 deg\nerror: 3 deg", 7, 0, true},
		{"kind: complaint\nplace: knee\nside: left", 0, 0, false},
		{"value: 6 deg", 0, 0, false},
	} {
		c, err := Read("c.yaml", finding(x.lines), someNames)
		if err != nil {
			t.Errorf("%q: %v", x.lines, err)
			continue
		}
		l, r, ok := c.Findings[0].Compared()
		if ok != x.ok || abs(l-x.left) > 1e-9 || abs(r-x.right) > 1e-9 {
			t.Errorf("%q: %g, %g, %v, want %g, %g, %v", x.lines, l, r, ok, x.left, x.right, x.ok)
		}
	}
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}
