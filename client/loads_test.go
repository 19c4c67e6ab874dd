package client

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"corbel/unit"
)

// Ensure over random pairs of loads in pounds and kilograms that exactly half way
// the heavier is taken, and a thousandth of a pound to either side the nearer.
func TestHalfGoesUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom([]unit.MassUnit{unit.Kg, unit.Lb}).Draw(t, "unit")
		low := rapid.IntRange(0, 1400).Draw(t, "quarters")
		gap := rapid.IntRange(1, 80).Draw(t, "gap")
		quarter := func(n float64) unit.Mass { return unit.MassOf(n/4, u) }
		loads := []unit.Mass{quarter(float64(low)), quarter(float64(low + gap))}
		half := quarter(float64(low) + float64(gap)/2)
		if got, _ := Nearest(loads, half); !got.Equal(loads[1]) {
			t.Fatalf("%s between %v: %s", half.Print(u), loads, got.Print(u))
		}
		if got, _ := Nearest(loads, unit.MassOf(half.In(u)-0.001, u)); !got.Equal(loads[0]) {
			t.Fatalf("under half: %s", got.Print(u))
		}
	})
}

// Ensure that the nearest load is the first of none nearer, against a look at every
// load.
func TestNearestAgainstAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var loads []unit.Mass
		for range rapid.IntRange(1, 20).Draw(t, "loads") {
			loads = append(loads, unit.MassOf(float64(rapid.IntRange(0, 800).Draw(t, "load"))/4, unit.Kg))
		}
		loads = distinct(loads)
		want := unit.MassOf(float64(rapid.IntRange(0, 1700).Draw(t, "want"))/8, unit.Kg)
		got, ok := Nearest(loads, want)
		for _, l := range loads {
			if !ok || gap(l, want) < gap(got, want) || gap(l, want) == gap(got, want) && got.Cmp(l) < 0 {
				t.Fatalf("%s of %v for %s; %s is nearer or as near and heavier", got, loads, want, l)
			}
		}
	})
}

// Ensure that the textbook's loads on a set that offers steps of 5 lb come out as
// the book prints them: its three-repetition scenarios and its light day (NSCA
// Essentials, 4th edition, chapter 17; key nsca-essentials-17). Stated set: 45 lb
// bar, two pairs of 45 lb, one of 25, two of 10, one of 5 and 2.5 lb; for the light
// day a 15 lb bar, since 45 lb is not in question there.
func TestTextbookScenarios(t *testing.T) {
	p := Place{Bars: []Bar{{Kind: "bar", Mass: mass(t, "45 lb")}}, Plates: []Plates{
		{mass(t, "45 lb"), 2}, {mass(t, "25 lb"), 1}, {mass(t, "10 lb"), 2}, {mass(t, "5 lb"), 1}, {mass(t, "2.5 lb"), 1}}}
	loads := p.BarLoads("bar")
	for _, x := range []struct {
		lb   float64
		want string
	}{
		{115 / 0.93 * 0.75, "95 lb"},               // 3RM hang clean 115: 1RM 124, three quarters 95
		{110 / 0.93 * 0.75, "90 lb"},               // 3RM push jerk 110: 1RM 118, three quarters 90
		{95 * 0.80, "75 lb"}, {90 * 0.80, "70 lb"}, // light day
		{155 * 0.80, "125 lb"}, {85 * 0.80, "70 lb"},
		{220 * 0.90, "200 lb"}, {185 * 0.85, "155 lb"}, {100 * 0.85, "85 lb"}, {255 * 0.75, "190 lb"},
	} {
		if got, ok := Nearest(loads, unit.MassOf(x.lb, unit.Lb)); !ok || got.Short(unit.Lb) != x.want {
			t.Errorf("%.2f lb: %s, want %s", x.lb, got.Short(unit.Lb), x.want)
		}
	}
}

// Ensure that runs that end at the heaviest mass there may be stop there, and that
// a plate on top of it is left out rather than added past it.
func TestRunsAtTheBound(t *testing.T) {
	p := Place{Dumbbells: []Steps{{mass(t, "1994 kg"), mass(t, "3 kg"), mass(t, "2000 kg")}},
		Stacks: []Stack{{For: []Equipment{"cable"}, Start: mass(t, "1000 kg"), Step: mass(t, "999 kg"), To: mass(t, "2000 kg"), Add: mass(t, "500 kg")}},
		Bars:   []Bar{{Kind: "bar", Mass: mass(t, "1500 kg")}}, Plates: []Plates{{mass(t, "250 kg"), 2}}}
	for name, x := range map[string]struct {
		got  []unit.Mass
		want []string
	}{
		"dumbbells": {p.DumbbellLoads(), []string{"1994 kg", "1997 kg", "2000 kg"}},
		"stack":     {p.StackLoads("cable"), []string{"1000 kg", "1500 kg", "1999 kg"}},
		"bar":       {p.BarLoads("bar"), []string{"1500 kg", "2000 kg"}},
	} {
		var want []unit.Mass
		for _, w := range x.want {
			want = append(want, mass(t, w))
		}
		if !slices.EqualFunc(x.got, want, unit.Mass.Equal) {
			t.Errorf("%s: %v, want %v", name, x.got, want)
		}
	}
}

// Ensure that a well stocked place is bounded in how many loads it lists, lightest
// first, each once.
func TestLoadsAreBounded(t *testing.T) {
	p := Place{Bars: []Bar{{Kind: "bar", Mass: mass(t, "20 kg")}}}
	for n := range 12 {
		p.Plates = append(p.Plates, Plates{unit.MassOf(0.001*float64(int(1)<<n), unit.Kg), 20})
	}
	p.Plates = append(p.Plates, Plates{mass(t, "0.0001 kg"), 20})
	loads := p.BarLoads("bar")
	if len(loads) > maxLoads || len(loads) < 1000 {
		t.Errorf("%d loads", len(loads))
	}
	for i := 1; i < len(loads); i++ {
		if loads[i-1].Cmp(loads[i]) >= 0 {
			t.Fatalf("%s before %s", loads[i-1], loads[i])
		}
	}
}
