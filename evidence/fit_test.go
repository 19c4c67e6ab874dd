package evidence

import (
	"math"
	"math/rand/v2"
	"testing"

	"corbel/effort"
)

// A trainedClient is a client of the fits' own model, with a true 1RM and curve.
type trainedClient struct{ max, k, bias, recovery float64 }

func drawTrained(r *rand.Rand) trainedClient {
	return trainedClient{100 * math.Exp(0.06*r.NormFloat64()), 0.03 * math.Exp(0.25*r.NormFloat64()), fitBias + fitBiasSD*r.NormFloat64(), math.Exp(fitRecovery * r.NormFloat64())}
}

// log does sessions of three sets at varied loads and rests.
func (c trainedClient) log(r *rand.Rand, sessions int, gain float64) []LoggedSet {
	consts := effort.DefaultConstants()
	consts.FastRecovery *= c.recovery
	consts.SlowRecovery *= c.recovery
	m := effort.NewModel(consts)
	var out []LoggedSet
	for day := range sessions {
		strength := c.max * math.Exp(effort.DaySD*r.NormFloat64())
		after := day >= sessions/2
		if after {
			strength *= 1 + gain
		}
		link, state := m.Link(0, nil), effort.NewState(1)
		for set := range 3 {
			load := 100 * (0.65 + 0.10*float64((day+set)%3))
			rest := 0.0
			if set > 0 {
				rest = 90 + 60*float64((day+set)%3)
				m.Rest(state, rest)
			}
			w := effort.Work{Load: load / strength, K: c.k, Repetition: 3}
			trial := state.Clone()
			n := m.Set(trial, link, w).Repetitions + 0.583*r.NormFloat64()
			rir := 1 + 2*r.Float64()
			reps := math.Max(1, math.Floor(n-rir))
			w.Goal = effort.Count(reps)
			m.Set(state, link, w)
			left := math.Max(0, n-reps)
			said := left - c.bias // so that said and bias come to what is left, chapter 02 (5)
			if said < biasRamp {
				said = left / (1 + c.bias/biasRamp)
			}
			said = math.Max(0, said+(0.25+0.25*said)*r.NormFloat64())
			out = append(out, LoggedSet{Day: day, Load: load, Reps: reps, RIR: said, Said: true, Rest: rest, After: after})
		}
	}
	return out
}

// error of the mean repetitions to failure, fresh, at 65, 75 and 85 %.
func (c trainedClient) errorOf(f Fit) float64 {
	m := effort.NewModel(effort.DefaultConstants())
	sum := 0.0
	for _, load := range []float64{65, 75, 85} {
		truth, got := m.Fresh(load/c.max, c.k, 3), m.Fresh(load/f.Max, f.K, 3)
		sum += (got/truth - 1) * (got/truth - 1) / 3
	}
	return sum
}

// Ensure that 12 varied sets predict repetitions to about 9 %, that ln k is not biased
// by 0.03, and that the fit beats the prior (reference: fatigue model, section 5).
func TestTwelveVariedSets(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	before, after, bias, n := 0.0, 0.0, 0.0, 120
	for range n {
		c := drawTrained(r)
		prior := Prior{Max: 100, MaxSD: 0.06, K: 0.03, KSD: 0.25}
		f := Refit(c.log(r, 4, 0), prior, 3, false)
		before += c.errorOf(Fit{Max: 100, K: 0.03}) / float64(n)
		after += c.errorOf(f) / float64(n)
		bias += math.Log(f.K/c.k) / float64(n)
		if f.State != "personal" || f.Sets != 12 {
			t.Errorf("state %s after %d sets", f.State, f.Sets)
		}
	}
	t.Logf("error before %.1f %%, after 12 sets %.1f %%, bias of ln k %.3f", 100*math.Sqrt(before), 100*math.Sqrt(after), bias)
	if math.Sqrt(after) > 0.11 || math.Abs(bias) > 0.03 {
		t.Errorf("error %.3f, bias of ln k %.3f", math.Sqrt(after), bias)
	}
}

// Ensure that a change of the 1RM is found, and that none is called where there is
// none, more often than verdicts allow.
func TestChangeOfTheMaximum(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	n, found, false95 := 60, 0, 0
	for range n {
		c := drawTrained(r)
		prior := Prior{Max: 100, MaxSD: 0.06, K: 0.03, KSD: 0.25}
		f := Refit(c.log(r, 12, 0.10), prior, 3, true)
		if v := VerdictOf(math.Log(f.Later/f.Max), f.LaterSD); v == Better || v == ProbablyBetter {
			found++
		}
		f = Refit(c.log(r, 12, 0), prior, 3, true)
		if v := VerdictOf(math.Log(f.Later/f.Max), f.LaterSD); v == Better || v == Worse {
			false95++
		}
	}
	t.Logf("10 %% more found in %d of %d, none called changed in %d", found, n, false95)
	if found < n*8/10 || false95 > n/7 {
		t.Errorf("10 %% more found in %d of %d; changed without change in %d", found, n, false95)
	}
}

// Ensure that a log with faults is flagged set by set, that nothing is dropped or
// doubled, and that faults do not move the fit.
func TestFaultyLog(t *testing.T) {
	r := rand.New(rand.NewPCG(25, 26))
	c := drawTrained(r)
	prior := Prior{Max: 100, MaxSD: 0.06, K: 0.03, KSD: 0.25}
	good := c.log(r, 5, 0)
	clean := Refit(good, prior, 3, false)
	bad := append([]LoggedSet(nil), good...)
	bad = append(bad, LoggedSet{Day: 20, Load: 1000, Reps: 5, RIR: 2, Said: true}, LoggedSet{Day: 21, Load: 80, Reps: 0, Said: true}, LoggedSet{Day: 22, Load: 75, Reps: 8})
	f := Refit(bad, prior, 3, false)
	if len(f.Flags) != len(bad) || f.Sets != clean.Sets {
		t.Fatalf("%d flags for %d sets, %d used", len(f.Flags), len(bad), f.Sets)
	}
	for i, want := range []Flag{FlagSlip, FlagSlip, FlagNoRIR} {
		if got := f.Flags[len(good)+i]; got != want {
			t.Errorf("set %d: flag %q, want %q", i, got, want)
		}
	}
	near(t, "1RM", f.Max, clean.Max, 1e-6)
	near(t, "k", f.K, clean.K, 1e-8)
	if empty := Refit(nil, prior, 3, false); empty.State != "typical" || math.Abs(empty.Max-100) > 1e-6 {
		t.Errorf("without a log: %s, %g", empty.State, empty.Max)
	}
}
