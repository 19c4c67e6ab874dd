package client

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"corbel/unit"
)

// mass reads a mass.
func mass(t interface {
	Helper()
	Fatal(...any)
}, s string) unit.Mass {
	t.Helper()
	m, err := unit.ParseMass(s)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Ensure that every load a bar and plates can make is found, and no other,
// against brute force over every number of pairs of every plate, in kilograms and
// pounds, under the most the bar holds.
func TestBarLoadsAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plate := rapid.SampledFrom([]string{"25 kg", "20 kg", "15 kg", "10 kg", "5 kg", "2.5 kg", "1.25 kg", "0.5 kg", "45 lb", "35 lb", "10 lb", "2.5 lb"})
		p := Place{ID: "p", Bars: []Bar{{Kind: "bar", Mass: mass(t, rapid.SampledFrom([]string{"20 kg", "45 lb", "15 kg"}).Draw(t, "bar"))}}}
		if rapid.Bool().Draw(t, "limited") {
			p.Bars[0].Most = mass(t, "110 kg")
		}
		for range rapid.IntRange(0, 5).Draw(t, "kinds") {
			p.Plates = append(p.Plates, Plates{Mass: mass(t, plate.Draw(t, "plate")), Pairs: rapid.IntRange(1, 3).Draw(t, "pairs")})
		}
		want := []unit.Mass{p.Bars[0].Mass}
		for _, pl := range p.Plates {
			var next []unit.Mass
			for _, w := range want {
				for n := range pl.Pairs + 1 {
					next = append(next, w.Plus(pl.Mass.Times(2*n)))
				}
			}
			want = next
		}
		want = slices.DeleteFunc(want, func(m unit.Mass) bool { return !p.Bars[0].Most.IsZero() && m.Cmp(p.Bars[0].Most) > 0 })
		slices.SortFunc(want, unit.Mass.Cmp)
		want = slices.CompactFunc(want, unit.Mass.Equal)
		got := p.BarLoads("bar")
		if !slices.EqualFunc(got, want, unit.Mass.Equal) {
			t.Fatalf("plates %v: got %v, want %v", p.Plates, got, want)
		}
		if loads := p.BarLoads("hex-bar"); len(loads) > 0 {
			t.Fatalf("a bar that is not there makes %v", loads)
		}
	})
}

// Ensure that a bar and plates of pounds make round pounds: 45 lb with pairs of
// 45 lb plates are 135, 225 and 315 lb exactly.
func TestPoundsStayRound(t *testing.T) {
	p := Place{Bars: []Bar{{Kind: "bar", Mass: mass(t, "45 lb")}}, Plates: []Plates{{Mass: mass(t, "45 lb"), Pairs: 3}}}
	var got []string
	for _, m := range p.BarLoads("bar") {
		got = append(got, m.Short(unit.Lb))
	}
	if s := strings.Join(got, ", "); s != "45 lb, 135 lb, 225 lb, 315 lb" {
		t.Errorf("got %s", s)
	}
}

// Ensure that dumbbells and stacks are listed in steps, each mass once, with the
// plate that can be laid on top.
func TestDumbbellsAndStacks(t *testing.T) {
	p := Place{
		Dumbbells: []Steps{{mass(t, "2 kg"), mass(t, "2 kg"), mass(t, "6 kg")}, {From: mass(t, "4 kg")}, {mass(t, "10 lb"), mass(t, "5 lb"), mass(t, "20 lb")}},
		Stacks:    []Stack{{For: []Equipment{"cable", "pulldown"}, Start: mass(t, "5 kg"), Step: mass(t, "5 kg"), To: mass(t, "15 kg"), Add: mass(t, "2.5 kg")}},
	}
	list := func(loads []unit.Mass) string {
		var out []string
		for _, m := range loads {
			out = append(out, m.Short(unit.Kg))
		}
		return strings.Join(out, " ")
	}
	if got := list(p.DumbbellLoads()); got != "2 kg 4 kg 4.54 kg 6 kg 6.8 kg 9.07 kg" {
		t.Errorf("dumbbells: %s", got)
	}
	if got := list(p.StackLoads("pulldown")); got != "5 kg 7.5 kg 10 kg 12.5 kg 15 kg 17.5 kg" {
		t.Errorf("stack: %s", got)
	}
	if got := p.StackLoads("leg-press"); got != nil {
		t.Errorf("a stack that is not there: %v", got)
	}
}

// Ensure that the nearest load is taken and half goes up, as the textbook rounds
// (NSCA Essentials, 4th edition, chapter 17: 487.5 lb is done with 490 lb, 198 lb
// with 200, 157.25 with 155; key nsca-essentials-17), on bars that have steps of
// 5 lb.
func TestTextbookLoadsOnABar(t *testing.T) {
	p := Place{Bars: []Bar{{Kind: "bar", Mass: mass(t, "45 lb")}}}
	for _, m := range []string{"2.5 lb", "5 lb", "10 lb", "10 lb", "25 lb", "35 lb", "45 lb", "45 lb", "45 lb", "45 lb", "45 lb"} {
		p.Plates = append(p.Plates, Plates{Mass: mass(t, m), Pairs: 1})
	}
	loads := p.BarLoads("bar")
	for want, oneRM := range map[string][2]float64{
		"200 lb": {220, 0.90}, "155 lb": {185, 0.85}, "85 lb": {100, 0.85}, "490 lb": {650, 0.75}, "505 lb": {675, 0.75}, "320 lb": {425, 0.75}, "190 lb": {255, 0.75},
	} {
		got, ok := Nearest(loads, unit.MassOf(oneRM[0]*oneRM[1], unit.Lb))
		if !ok || got.Short(unit.Lb) != want {
			t.Errorf("%g of %g lb: %s, want %s", oneRM[1], oneRM[0], got.Short(unit.Lb), want)
		}
	}
	if _, ok := Nearest(nil, mass(t, "10 kg")); ok {
		t.Error("no loads, and yet one is nearest")
	}
}

// Ensure that a place offers what stands there, by whichever field says so.
func TestOffers(t *testing.T) {
	p := Place{Has: []Equipment{"rack", "incline-bench"}, Bars: []Bar{{Kind: "hex-bar", Mass: mass(t, "25 kg")}}, Plates: []Plates{{mass(t, "5 kg"), 1}},
		Dumbbells: []Steps{{From: mass(t, "4 kg")}}, Bands: []ElasticBand{{Name: "light"}}, Stacks: []Stack{{For: []Equipment{"cable"}}}, Boxes: []unit.Length{{}}}
	for _, e := range []Equipment{"rack", "bench", "incline-bench", "hex-bar", "plates", "dumbbells", "band", "cable", "box", "step"} {
		if !p.Offers(e) {
			t.Errorf("%s is not offered", e)
		}
	}
	for _, e := range []Equipment{"bar", "leg-press", "pull-up-bar"} {
		if p.Offers(e) {
			t.Errorf("%s is offered", e)
		}
	}
}

// Ensure that bands and ranges print as they read, and refuse what they are not.
func TestBandAndRange(t *testing.T) {
	for in, want := range map[string]string{"6-9": "6-9", " 6 – 9 ": "6-9", "4": "4", "2.5-3": "2.5-3"} {
		var b Band
		if err := b.UnmarshalText([]byte(in)); err != nil || b.String() != want {
			t.Errorf("%q: %v, %v", in, b, err)
		}
	}
	for _, in := range []string{"", "9-6", "-3", "1-200", "a-b", "NaN"} {
		var b Band
		if err := b.UnmarshalText([]byte(in)); err == nil {
			t.Errorf("%q reads as %v", in, b)
		}
	}
	for in, want := range map[string]string{"knee 0-60 deg": "knee 0-60 deg", "hip 10–90°": "hip 10-90 deg", "back 0-20": "back 0-20 deg"} {
		var r Range
		if err := r.UnmarshalText([]byte(in)); err != nil || r.String() != want {
			t.Errorf("%q: %v, %v", in, r, err)
		}
	}
	for _, in := range []string{"knee", "knee 60-0", "toe 0-10", "knee 0-300", "knee 0-60 rad", "knee NaN-60"} {
		var r Range
		if err := r.UnmarshalText([]byte(in)); err == nil {
			t.Errorf("%q reads as %v", in, r)
		}
	}
	if !(Range{"knee", 10, 50}).Inside(Range{"knee", 0, 60}) || (Range{"hip", 10, 50}).Inside(Range{"knee", 0, 60}) {
		t.Error("inside is mixed up")
	}
}

// BenchmarkBarLoads lists the loads of a well stocked bar.
func BenchmarkBarLoads(b *testing.B) {
	p := Place{Bars: []Bar{{Kind: "bar", Mass: unit.MassOf(20, unit.Kg)}}}
	for _, kg := range []float64{25, 20, 15, 10, 5, 2.5, 1.25, 0.5} {
		p.Plates = append(p.Plates, Plates{unit.MassOf(kg, unit.Kg), 3})
	}
	b.ReportAllocs()
	for b.Loop() {
		p.BarLoads("bar")
	}
}
