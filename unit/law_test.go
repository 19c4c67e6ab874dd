package unit

import (
	"fmt"
	"math"
	"math/big"
	"regexp"
	"testing"

	"pgregory.net/rapid"
)

// dims lists every dimension with its name.
var dims = []struct {
	name string
	dim  *dimension
}{
	{"mass", &massDim}, {"length", &lengthDim}, {"force", &forceDim},
	{"angle", &angleDim}, {"percent", &percentDim}, {"duration", &durationDim},
}

// Whatever a dimension holds reads back as the same grains from the text of
// any of its units in any spelling.
func TestEveryUnitReadsBackWhatItWrites(t *testing.T) {
	for _, d := range dims {
		for _, s := range d.dim.scales {
			t.Run(d.name+"/"+s.names[0], func(t *testing.T) {
				rapid.Check(t, func(t *rapid.T) {
					grains := rapid.Int64Range(d.dim.min, d.dim.max).Draw(t, "grains")
					text := figures(grains, s.grains) + " " + rapid.SampledFrom(s.names).Draw(t, "name")
					got, err := d.dim.read(text)
					if err != nil || got != grains {
						t.Fatalf("%d grains are written %q and read as %d, %v", grains, text, got, err)
					}
				})
			})
		}
	}
}

// The two ends of each range are written and read without loss in every unit.
func TestEndsOfTheRangeReadBack(t *testing.T) {
	for _, d := range dims {
		for _, s := range d.dim.scales {
			for _, grains := range []int64{d.dim.min, d.dim.min + 1, d.dim.max - 1, d.dim.max} {
				text := figures(grains, s.grains) + " " + s.names[0]
				if got, err := d.dim.read(text); err != nil || got != grains {
					t.Errorf("%s: %q reads as %d, %v, want %d", d.name, text, got, err, grains)
				}
			}
		}
	}
}

// drawText returns a number with a unit of d that lies in its range most of the
// time, with blanks as people leave them.
func drawText(t *rapid.T, d *dimension) string {
	s := rapid.SampledFrom(d.scales).Draw(t, "scale")
	grains := rapid.Int64Range(d.min, d.max).Draw(t, "grains")
	value := new(big.Rat).SetFrac64(grains, s.grains)
	blank := rapid.SampledFrom([]string{"", " ", "  ", "\u00a0"})
	return blank.Draw(t, "before") + value.FloatString(rapid.IntRange(0, 4).Draw(t, "decimals")) +
		blank.Draw(t, "between") + rapid.SampledFrom(s.names).Draw(t, "name") + blank.Draw(t, "after")
}

// A typed text survives MarshalText byte for byte, and the canonical text has
// the same value and is its own canonical text.
func TestTypedTextSurvives(t *testing.T) {
	for _, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				text := drawText(t, k.dim)
				if err := k.law(text); err != nil {
					t.Fatal(err)
				}
			})
		})
	}
}

// A kind reads a text and checks the laws every accepted text must keep.
type kind struct {
	name string
	dim  *dimension
	law  func(text string) error
}

var kinds = []kind{
	{"mass", &massDim, func(s string) error {
		return lawOf(s, ParseMass, Mass.Canonical, func(m Mass) int64 { return m.grains }, &massDim)
	}},
	{"length", &lengthDim, func(s string) error {
		return lawOf(s, ParseLength, Length.Canonical, func(l Length) int64 { return l.microns }, &lengthDim)
	}},
	{"force", &forceDim, func(s string) error {
		canonical := func(f Force) string { return Force{millinewtons: f.millinewtons}.String() }
		return lawOf(s, ParseForce, canonical, func(f Force) int64 { return f.millinewtons }, &forceDim)
	}},
	{"angle", &angleDim, func(s string) error {
		canonical := func(a Angle) string { return Angle{millidegrees: a.millidegrees}.String() }
		return lawOf(s, ParseAngle, canonical, func(a Angle) int64 { return a.millidegrees }, &angleDim)
	}},
	{"percent", &percentDim, func(s string) error {
		return lawOf(s, ParsePercent, Percent.Canonical, func(p Percent) int64 { return p.thousandths }, &percentDim)
	}},
	{"duration", &durationDim, func(s string) error {
		return lawOf(s, ParseDuration, Duration.Canonical, func(d Duration) int64 { return d.ms }, &durationDim)
	}},
}

// A quantity is what all types of this package share.
type quantity interface {
	MarshalText() ([]byte, error)
	FormHint() (string, string, []string)
}

// lawOf checks one text: it is refused with a message, or its value is in
// range, its text survives, its canonical text is a fixed point of the same
// value, and the pattern for schemas lets both texts pass.
func lawOf[Q quantity](text string, parse func(string) (Q, error), canonical func(Q) string, grains func(Q) int64, d *dimension) error {
	q, err := parse(text)
	if err != nil {
		var zero Q
		if syntax, ok := err.(*SyntaxError); !ok || syntax.Msg == "" || syntax.At < 0 || syntax.At > len(text) || grains(q) != grains(zero) {
			return fmt.Errorf("%q is refused badly: %#v with %v", text, err, q)
		}
		return nil
	}
	if g := grains(q); g < d.min || g > d.max {
		return fmt.Errorf("%q has %d grains, outside %d to %d", text, g, d.min, d.max)
	}
	if kept, _ := q.MarshalText(); string(kept) != text {
		return fmt.Errorf("%q is written back as %q", text, kept)
	}
	back, err := parse(canonical(q))
	if err != nil || grains(back) != grains(q) || canonical(back) != canonical(q) {
		return fmt.Errorf("%q is canonically %q, which reads as %v, %v", text, canonical(q), back, err)
	}
	_, pattern, _ := q.FormHint()
	for _, s := range []string{text, canonical(q)} {
		if !regexp.MustCompile(pattern).MatchString(s) {
			return fmt.Errorf("the pattern %s does not take %q", pattern, s)
		}
	}
	return nil
}

// The examples of each kind are right texts, and so are those of its schema.
func TestExamplesAreAccepted(t *testing.T) {
	for _, k := range kinds {
		for _, example := range k.dim.examples {
			if _, err := k.dim.read(example); err != nil && example != "3:00" {
				t.Errorf("%s: %v", k.name, err)
			}
			if err := k.law(example); err != nil {
				t.Errorf("%s: %v", k.name, err)
			}
		}
	}
}

// drawMass returns any mass of at most most grains.
func drawMass(t *rapid.T, name string, least, most int64) Mass {
	return Mass{grains: rapid.Int64Range(least, most).Draw(t, name)}
}

// Addition of masses commutes and associates exactly, has 0 as its neutral
// element, and Times is repeated addition.
func TestMassAddition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawMass(t, "a", 0, maxMass/4), drawMass(t, "b", 0, maxMass/4), drawMass(t, "c", 0, maxMass/4)
		if !a.Plus(b).Equal(b.Plus(a)) || !a.Plus(b).Plus(c).Equal(a.Plus(b.Plus(c))) || !a.Plus(Mass{}).Equal(a) {
			t.Fatalf("the sums of %v, %v, %v depend on their order", a, b, c)
		}
		n := rapid.IntRange(0, 4).Draw(t, "n")
		sum := Mass{}
		for range n {
			sum = sum.Plus(a)
		}
		if !a.Times(n).Equal(sum) {
			t.Fatalf("%d times %v is %v, added up %v", n, a, a.Times(n), sum)
		}
	})
}

// Cmp orders masses as their kilograms do, opposite for swapped arguments, and
// is 0 exactly where Equal holds.
func TestMassOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawMass(t, "a", 0, maxMass), drawMass(t, "b", 0, maxMass)
		if a.Cmp(b) != -b.Cmp(a) || (a.Cmp(b) == 0) != a.Equal(b) {
			t.Fatalf("%v and %v are ordered two ways", a, b)
		}
		if a.Cmp(b) < 0 && a.Kilogram() >= b.Kilogram() {
			t.Fatalf("%v is below %v, but its kilograms are not", a, b)
		}
	})
}

// RoundTo gives a multiple of the step no further than half a step away (a
// whole one at the top of the range), keeps multiples, and never changes order.
func TestMassRoundTo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := drawMass(t, "step", 1, maxMass/10)
		a, b := drawMass(t, "a", 0, maxMass), drawMass(t, "b", 0, maxMass)
		got := a.RoundTo(step)
		if got.grains%step.grains != 0 || got.grains > maxMass {
			t.Fatalf("%v to steps of %v is %v", a, step, got)
		}
		away := 2 * (got.grains - a.grains)
		if away > step.grains || away <= -step.grains && got.grains+step.grains <= maxMass {
			t.Fatalf("%v to steps of %v is %v, more than half a step away", a, step, got)
		}
		if !got.RoundTo(step).Equal(got) {
			t.Fatalf("%v is rounded twice to another mass", got)
		}
		if a.Cmp(b)*got.Cmp(b.RoundTo(step)) < 0 {
			t.Fatalf("rounding to %v swaps %v and %v", step, a, b)
		}
	})
}

// A mass in kilograms or pounds is the same mass again, and MassOf undoes In to
// within a grain, which is all that a float of that size can promise.
func TestMassInUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawMass(t, "a", 0, maxMass-1)
		for _, u := range []MassUnit{Kg, Lb, ""} {
			if b := MassOf(a.In(u), u); b.grains-a.grains > 1 || a.grains-b.grains > 1 {
				t.Fatalf("%v is %v %s, which is %v", a, a.In(u), u, b)
			}
			if b, err := ParseMass(a.Print(u)); err != nil || !b.Equal(a) {
				t.Fatalf("%v prints as %s, which is %v, %v", a, a.Print(u), b, err)
			}
		}
	})
}

// The float quantities are the typed ones in SI.
func TestSIValues(t *testing.T) {
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12*math.Abs(want) {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	length, _ := ParseLength("5 ft 7 in")
	angle, _ := ParseAngle("-90 deg")
	force, _ := ParseForce("120.5 N")
	percent, _ := ParsePercent("82.5%")
	time, _ := ParseDuration("1 h 10 min")
	near("5 ft 7 in", float64(length.Metre()), 67*0.0254)
	near("-90 deg", float64(angle.Radian()), -math.Pi/2)
	near("120.5 N", float64(force.Newton()), 120.5)
	near("82.5%", percent.Fraction(), 0.825)
	near("82.5% as a number", percent.Number(), 82.5)
	near("1 h 10 min", float64(time.Second()), 4200)
	near("the weight of 10 kg", float64(Kilogram(10).Weight()), 98.0665)
}
