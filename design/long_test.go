package design

import (
	"fmt"
	"testing"
)

// Seconds that the outside solver searches a frozen problem: in a test run, and with
// CORBEL_LONG=1 (our judgement).
const solverSeconds, longSolverSeconds = 3, 180

// Ensure that an exact solver that searches for a while does not find a week more
// than 1 % better than ours on the frozen problems: that is how a search that has
// got worse is found out.
func TestSolverDoesNotBeatUs(t *testing.T) {
	seconds := solverSeconds
	if long() {
		seconds = longSolverSeconds
	}
	for _, days := range []int{1, 3, 4} {
		p := frozen(t, days)
		a := Search(p, nil, NormalMoves, 1)
		theirs, proven := solve(t, lp(p), seconds)
		t.Logf("%d sessions: ours %d, cbc after %d s %.0f (proven: %v)", days, a.Value, seconds, theirs, proven)
		if theirs > 1.01*float64(a.Value) {
			t.Errorf("%d sessions: cbc finds %.0f, ours is %d", days, theirs, a.Value)
		}
	}
}

// BenchmarkTable measures the value found by moves that take about 50 ms, 200 ms,
// 1 s and 5 s of one core, mean of three seeds.
func BenchmarkTable(b *testing.B) {
	for _, days := range []int{1, 3, 4, 6} {
		p := frozen(b, days)
		for _, moves := range []int{150_000, 600_000, 3_000_000, 15_000_000} {
			b.Run(fmt.Sprintf("%d-sessions/%d-moves", days, moves), func(b *testing.B) {
				sum := int64(0)
				n := uint64(0)
				for b.Loop() {
					n++
					sum += Search(p, nil, moves, n).Value
				}
				b.ReportMetric(float64(sum)/float64(n)/PointUnit, "points")
			})
		}
	}
}
