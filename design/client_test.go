package design

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"testing"

	"corbel/anatomy"
	"corbel/body"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/session"
)

// Invented places of four kinds.
var places = []string{`  - id: p
    name: Hall
    has: [rack, bench, incline-bench, dip-bars, pull-up-bar, preacher-bench, mat, box, low-bar, leg-press, lying-curl-machine, knee-extension-machine]
    bars:
      - kind: bar
        mass: 20 kg
      - kind: curl-bar
        mass: 10 kg
      - kind: hex-bar
        mass: 25 kg
    plates:
      - mass: 20 kg
        pairs: 6
      - mass: 10 kg
        pairs: 2
      - mass: 5 kg
        pairs: 2
      - mass: 2.5 kg
        pairs: 2
      - mass: 1.25 kg
        pairs: 2
    dumbbells:
      - from: 2 kg
        step: 2 kg
        to: 40 kg
    stacks:
      - for: [cable, pulldown, seated-row]
        start: 5 kg
        step: 5 kg
        to: 100 kg
    bands:
      - name: light
        force: 60 N
    benches: [flat]
    boxes: [30 cm]
`, `  - id: p
    name: Garage
    has: [rack, bench, mat, box, pull-up-bar]
    bars:
      - kind: bar
        mass: 20 kg
    plates:
      - mass: 10 kg
        pairs: 4
      - mass: 5 kg
        pairs: 2
      - mass: 2.5 kg
        pairs: 1
    benches: [flat]
    boxes: [30 cm]
`, `  - id: p
    name: Living room
    has: [mat, box]
    dumbbells:
      - from: 2 kg
        step: 2 kg
        to: 20 kg
    bands:
      - name: light
        force: 60 N
    boxes: [30 cm]
`, `  - id: p
    name: Park
    has: [low-bar, pull-up-bar, dip-bars, box, mat]
    boxes: [30 cm]
`}

// invented makes a random client: twelve bodies, four places, one to five days.
func invented(t testing.TB, r *rand.Rand, i int) *client.Client {
	t.Helper()
	sex, heights, masses := "female", []int{152, 157, 162, 167, 172, 178}, []int{50, 55, 60, 66, 74, 88}
	if i%2 == 1 {
		sex, heights, masses = "male", []int{162, 168, 174, 180, 186, 194}, []int{58, 66, 74, 82, 92, 108}
	}
	size := i / 2 % 6
	var b strings.Builder
	fmt.Fprintf(&b, "form: 1\nid: c%d\nname: Client %d\nlanguage: en\nsex: %s\nborn: 1990-01-01\nexperience: %s\n", i, i, sex, []string{"beginner", "some", "trained"}[r.IntN(3)])
	fmt.Fprintf(&b, "measures:\n  - on: 2026-11-01\n    height: %d cm\n    mass: %d kg\nplaces:\n%sdays:\n", heights[size], masses[size], places[r.IntN(len(places))])
	for _, d := range [][]string{{"wed"}, {"mon", "thu"}, {"mon", "wed", "fri"}, {"mon", "tue", "thu", "sat"}, {"mon", "tue", "wed", "fri", "sat"}}[r.IntN(5)] {
		fmt.Fprintf(&b, "  - day: %s\n    minutes: %d\n    place: p\n", d, 25+5*r.IntN(14))
	}
	goals := []string{"for: general strength", "for: return", "for: size\n    muscle: quadriceps", "for: strength\n    exercise: back-squat", "for: strength\n    exercise: push-up"}
	fmt.Fprintf(&b, "goals:\n  - %s\n    weight: %d\n", goals[r.IntN(len(goals))], 1+r.IntN(10))
	if r.IntN(2) == 0 {
		fmt.Fprintf(&b, "aims:\n  - muscle: quadriceps\n    sets: %d-%d\n  - muscle: left hip-abductors\n    sets: 3-8\n    cap: %d\n", 2+r.IntN(5), 8+r.IntN(5), 6+r.IntN(4))
	}
	if r.IntN(2) == 0 {
		fmt.Fprintf(&b, "limits:\n  - muscle: %s\n    weakness: %d%%\n    by: coach\n", []string{"left hip-abductors", "right quadriceps", "left rotator-cuff"}[r.IntN(3)], 5+r.IntN(20))
	}
	if r.IntN(3) == 0 {
		fmt.Fprintf(&b, "pain:\n  - place: %s\n    side: left\n    on: 2026-11-20\n    during: %d\n    morning: 1\n", []string{"knee", "shoulder", "elbow"}[r.IntN(3)], 1+r.IntN(4))
	}
	if r.IntN(3) == 0 {
		fmt.Fprintf(&b, "restrictions:\n  - id: r\n    by: practitioner\n    on: 2026-11-01\n    action: %s\n", []string{"shoulder-abduction", "knee-extension", "spine-extension"}[r.IntN(3)])
	}
	b.WriteString("clearance:\n")
	for _, q := range []string{"active", "disease", "symptoms"} {
		fmt.Fprintf(&b, "  %s:\n    answer: %q\n    on: 2026-11-02\n", q, map[bool]string{true: "yes", false: "no"}[q == "active"])
	}
	b.WriteString("  intensity: vigorous\nflags:\n")
	for _, q := range []string{"emergency-signs", "low-back", "joints", "ask-first"} {
		fmt.Fprintf(&b, "  - ask: %s\n    answer: \"no\"\n    on: 2026-11-02\n", q)
	}
	c, err := client.Read(fmt.Sprintf("c%d.yaml", i), []byte(b.String()), exercise.Shipped.Name)
	if err != nil {
		t.Fatalf("%v\n%s", err, b.String())
	}
	return c
}

// bodies is the cache of solved bodies the invented clients share.
var bodies = sync.OnceValue(func() *body.Cache {
	dir, err := os.MkdirTemp("", "corbel-design-*")
	if err != nil {
		panic(err)
	}
	return &body.Cache{Dir: dir, Most: body.CacheMost}
})

// TestMain takes the cache away behind the tests.
func TestMain(m *testing.M) {
	code := m.Run()
	_ = os.RemoveAll(bodies().Dir)
	os.Exit(code)
}

// Ensure that invented clients of twelve sizes, on the solved body of each, get blocks without a stop, with
// reasons that hold for every exercise, and inside their minutes when the sessions
// are done on paper: 30 of them, 300 with CORBEL_LONG=1.
func TestInventedClients(t *testing.T) {
	n := 30
	if long() {
		n = 300
	}
	designed, slots := 0, 0
	for i := range n {
		w := wishOf(t, invented(t, rand.New(rand.NewPCG(uint64(i), 9)), i))
		w.Moves, w.Draws = QuickMoves/2, 50
		own, err := session.NewAthlete(w.Client, w.Library, nil, w.Start).NewBody(bodies())
		if err != nil {
			t.Fatal(err)
		}
		w.Shares = own
		p, err := Propose(w)
		var none *NoDesign
		if errors.As(err, &none) {
			t.Logf("client %d: %s", i, none.Why)
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		designed++
		slots += len(p.Placed)
		holdsUp(t, w, p)
		for _, week := range p.Weeks {
			for _, v := range week.Visits {
				if v.Minutes.High > float64(v.Session.Minutes) {
					t.Errorf("client %d: %s takes up to %.1f of %d min", i, v.Session.Name, v.Minutes.High, v.Session.Minutes)
				}
			}
		}
		if bound := p.Bound; bound < p.Answer.Value {
			t.Errorf("client %d: value %d over the bound %d", i, p.Answer.Value, bound)
		}
	}
	if 10*designed < 9*n || slots < 5*designed {
		t.Errorf("only %d of %d clients got a block, with %d exercises", designed, n, slots)
	}
}

// seeded returns a generator of random numbers.
func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 9)) }

// restriction is a practitioner's, of a joint action.
func restriction(t *testing.T, i int, action string) client.Restriction {
	t.Helper()
	return client.Restriction{ID: form.ID(fmt.Sprint("r", i)), By: client.ByPractitioner, On: date(t, "2026-11-01"), Action: anatomy.Action(action)}
}
