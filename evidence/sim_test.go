package evidence

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"sync"
	"testing"
)

// clients is how many simulated clients a cell has: 60, or 500 under CORBEL_LONG.
func clients() int {
	if os.Getenv("CORBEL_LONG") != "" {
		return 500
	}
	return 60
}

// A cell sums up a protocol over clients with one size of weakness, in percent.
type cell struct{ first, three, called, right, covered, top float64 }

func simulate(size float64, p Protocol) cell {
	key := fmt.Sprintf("%v %+v", size, p)
	if c, ok := cells[key]; ok {
		return c
	}
	n := clients()
	if p.Habitual && n == 500 {
		n = 2000 // its bars lie within two standard errors of 500 clients
	}
	cells[key] = sumUp(n, func(seed uint64) Simulated { return Simulate(ModelOf("lower"), seed, size, p) })
	return cells[key]
}

// workers is how many clients are simulated at once.
const workers = 2

// cells keeps what several tests ask for.
var cells = map[string]cell{}

func sumUp(n int, one func(seed uint64) Simulated) cell {
	c := cell{}
	calls := 0.0
	all := make([]Simulated, n)
	var wait sync.WaitGroup
	for start := range workers {
		wait.Go(func() {
			for i := start; i < n; i += workers {
				all[i] = one(uint64(i))
			}
		})
	}
	wait.Wait()
	for _, s := range all {
		if s.Rank == 1 {
			c.first += 100 / float64(n)
		}
		if s.Rank >= 1 && s.Rank <= 3 {
			c.three += 100 / float64(n)
		}
		if s.Chance > 0.8 {
			calls++
			if s.Right {
				c.right++
			}
		}
		c.covered += 100 * float64(s.Covered) / float64(s.Groups*n)
		if s.TopWithin {
			c.top += 100 / float64(n)
		}
	}
	c.called = 100 * calls / float64(n)
	c.right = 100 * c.right / math.Max(calls, 1)
	return c
}

// allowed is how far below a bar 60 clients may fall by chance alone: 1.64 standard
// errors of the part that the bar names. With 500 the bar itself holds.
func allowed(bar float64) float64 {
	if clients() == 500 {
		return 0
	}
	return 1.64 * math.Sqrt(bar*(100-bar)/float64(clients()))
}

func atLeast(t *testing.T, what string, got, bar float64) {
	t.Helper()
	t.Logf("%s: %.0f %% (bar %.0f)", what, got, bar)
	if got < bar-allowed(bar) {
		t.Errorf("%s: %.0f %%, want at least %.0f", what, got, bar)
	}
}

// Ensure that planted weaknesses are found as often as docs/model/06-evidence.md
// table 3 asks.
func TestWeakGroupsAreFound(t *testing.T) {
	for _, c := range []struct {
		what         string
		p            Protocol
		size         float64
		first, three float64
	}{
		{"7 chosen tests, 20 % weak", Protocol{Tests: 7, Chosen: true}, 0.2, 52, 72},
		{"7 chosen tests, 30 % weak", Protocol{Tests: 7, Chosen: true}, 0.3, 70, 82},
		{"9 chosen tests, 20 % weak", Protocol{Tests: 9, Chosen: true}, 0.2, 63, 80},
		{"9 chosen tests, 30 % weak", Protocol{Tests: 9, Chosen: true}, 0.3, 83, 92},
	} {
		got := simulate(c.size, c.p)
		atLeast(t, c.what+", first", got.first, c.first)
		atLeast(t, c.what+", top three", got.three, c.three)
	}
	ten := simulate(0.1, Protocol{Tests: 9, Chosen: true})
	t.Logf("9 chosen tests, 10 %% weak: %.0f / %.0f (ceiling with perfect knowledge 54 / 77)", ten.first, ten.three)
}

// Ensure that complaint, five habitual findings and two suggested tests reach their
// bars and beat two drawn tests.
func TestSuggestedTestsBeatDrawn(t *testing.T) {
	chosen, drawn := 0.0, 0.0
	for _, c := range []struct{ size, first, three float64 }{{0.2, 46, 62}, {0.3, 65, 78}} {
		got := simulate(c.size, Protocol{Habitual: true, Complaint: true, Tests: 2, Chosen: true})
		atLeast(t, "complaint, five habitual, two suggested: first", got.first, c.first)
		atLeast(t, "top three", got.three, c.three)
		random := simulate(c.size, Protocol{Habitual: true, Complaint: true, Tests: 2})
		chosen, drawn = chosen+got.first/2, drawn+random.first/2
	}
	t.Logf("suggested %.0f, drawn %.0f", chosen, drawn)
	if slack := allowed(50) * math.Sqrt2 / 2; chosen-drawn < 8-slack {
		t.Errorf("suggested tests: first in %.0f %%, drawn %.0f", chosen, drawn)
	}
}

// Ensure that seven chosen tests find as much as twelve drawn ones.
func TestChosenTestsSaveTests(t *testing.T) {
	seven, twelve := 0.0, 0.0
	for _, size := range []float64{0.2, 0.3} {
		seven += simulate(size, Protocol{Tests: 7, Chosen: true}).first / 2
		twelve += simulate(size, Protocol{Tests: 12}).first / 2
	}
	t.Logf("7 chosen %.0f, 12 drawn %.0f", seven, twelve)
	if seven < twelve-allowed(60)*math.Sqrt2/2 {
		t.Errorf("7 chosen: %.0f, 12 drawn: %.0f", seven, twelve)
	}
}

// Ensure that nobody is called weak who is not, and that calls and ranges are honest
// over clients such as the prior expects.
func TestCallsAreHonest(t *testing.T) {
	none := simulate(0, Protocol{Tests: 9, Chosen: true})
	t.Logf("no weakness: over 0.8 in %.1f %%", none.called)
	if none.called > 4+allowed(4) {
		t.Errorf("no weakness: over 0.8 in %.1f %%", none.called)
	}
	all := sumUp(clients(), func(seed uint64) Simulated {
		return SimulatePrior(ModelOf("lower"), seed, Protocol{Tests: 9, Chosen: true})
	})
	t.Logf("prior population: called %.0f %%, right %.0f %%, covered %.1f %%, top %.0f %%", all.called, all.right, all.covered, all.top)
	calls := all.called * float64(clients()) / 100
	if bar := 80 - 164*math.Sqrt(0.16/math.Max(calls, 1)); all.right < 80 && (clients() == 500 || all.right < bar) {
		t.Errorf("calls over 0.8 are right in %.0f %%", all.right)
	}
	if slack := allowed(80) / 2; all.covered < 76-slack || all.covered > 86+slack {
		t.Errorf("80 %% intervals cover %.1f %%", all.covered)
	}
}

// Ensure that sensitivities that are 25 % off lose at most five points, and that one
// test with sides swapped never yields a call.
func TestErrorsAreBorne(t *testing.T) {
	right, wrong := 0.0, 0.0
	for _, size := range []float64{0.2, 0.3} {
		right += simulate(size, Protocol{Tests: 9, Chosen: true}).first / 2
		wrong += simulate(size, Protocol{Tests: 9, Chosen: true, WrongJ: 0.25}).first / 2
	}
	t.Logf("J as tabled %.0f, 25 %% off %.0f", right, wrong)
	if wrong < right-5-allowed(75)*math.Sqrt2/2 {
		t.Errorf("J 25 %% off: first in %.0f %% instead of %.0f", wrong, right)
	}
	m := ModelOf("lower")
	for seed := range uint64(clients()) {
		if s := Simulate(m, seed, 0, Protocol{Tests: 1, Chosen: true, Swap: true}); s.Chance > 0.8 {
			t.Errorf("seed %d: one swapped test gives %.2f", seed, s.Chance)
		}
	}
}

// Ensure that none, one or two weak groups find more than a single Gaussian does.
func TestBetterThanOneGaussian(t *testing.T) {
	spike, gauss := 0.0, 0.0
	for _, size := range []float64{0.2, 0.3} {
		spike += simulate(size, Protocol{Tests: 9, Chosen: true}).first / 2
		gauss += simulate(size, Protocol{Tests: 9, Chosen: true, Gaussian: true}).first / 2
	}
	t.Logf("none, one or two: %.0f, one Gaussian: %.0f", spike, gauss)
	if spike < gauss+5-allowed(75)*math.Sqrt2/2 {
		t.Errorf("none, one or two: %.0f, one Gaussian: %.0f", spike, gauss)
	}
}

// Ensure that 0.1 bit sorts drills as clients come to be known, and that 0.3 bit would pass
// next to none (docs/decision/0015-information-of-a-test.md).
func TestBoundOfInformation(t *testing.T) {
	m := ModelOf("lower")
	last := 101.0
	for _, tests := range []int{0, 3, 7} {
		low, high, n := 0.0, 0.0, 0.0
		for seed := range uint64(20) {
			r := rand.New(rand.NewPCG(seed, 1))
			c := newClient(m, r, []Weak{{r.IntN(len(m.Groups)), Left}}, []float64{0.2}, 0)
			b := m.Infer(Complaint{}, nil)
			if tests > 0 {
				b = c.run(Protocol{Tests: tests, Chosen: true})
			}
			for i := range m.Drills {
				o := m.Drills[i].Coming(simK, simSets)
				bits := b.Information(&o, Wider)
				n++
				if bits >= 0.1 {
					low++
				}
				if bits >= 0.3 {
					high++
				}
			}
		}
		part := 100 * low / n
		t.Logf("%d tests: over 0.1 bit %.0f %% of the drills, over 0.3 bit %.0f %%", tests, part, 100*high/n)
		if part >= last || part < 5 || high > 0.1*n {
			t.Errorf("%d tests: over 0.1 bit %.0f %%, over 0.3 bit %.0f %%", tests, part, 100*high/n)
		}
		last = part
	}
}
