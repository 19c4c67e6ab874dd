package unit

import "math"

// Grains of a mass: ten nanograms. An international pound is 0.453 592 37 kg
// (exact since 1959; key pound-1959), so that a thousandth of a pound is a whole
// number of grains and plates of 2.5 lb or 1.25 lb add up exactly.
const (
	grainsPerKilogram = 100_000_000_000
	grainsPerPound    = 45_359_237_000
	grainsPerGram     = grainsPerKilogram / 1000
)

// maxMass bounds a typed mass: 2,000 kg. Our judgement; the heaviest sleds and
// leg presses stay below it.
const maxMass = 2000 * grainsPerKilogram

var massDim = dimension{
	noun: "a mass",
	scales: []scale{
		{[]string{"kg", "kilo", "kilos", "kgs"}, grainsPerKilogram},
		{[]string{"lb", "lbs", "pound", "pounds"}, grainsPerPound},
		{[]string{"g"}, grainsPerGram},
	},
	min: 0, max: maxMass, span: "0 to 2000 kg", examples: []string{"100 kg", "225 lb"},
}

// A MassUnit is the unit in which masses are read aloud and printed: kg or lb.
type MassUnit string

// The units of mass a coach may choose.
const (
	Kg MassUnit = "kg"
	Lb MassUnit = "lb"
)

// Values lists the units of mass.
func (MassUnit) Values() []string { return []string{string(Kg), string(Lb)} }

// grains returns the grains of one unit. An empty unit is a kilogram.
func (u MassUnit) grains() int64 {
	if u == Lb {
		return grainsPerPound
	}
	return grainsPerKilogram
}

// A Mass is a mass of 0 to 2,000 kg, exact to ten nanograms and to a
// thousandth of a pound. It keeps the text that was typed. The zero value is
// 0 kg with no text.
type Mass struct {
	grains int64
	text   string
}

// ParseMass reads a mass with its unit, such as "82.5 kg", "225 lb", "500 g".
// The error is a *SyntaxError that says where and what to write.
func ParseMass(text string) (Mass, error) {
	g, err := massDim.read(text)
	if err != nil {
		return Mass{}, err
	}
	return Mass{g, text}, nil
}

// MassOf returns amount units of mass, rounded to ten nanograms. It panics if
// the result is outside 0 to 2,000 kg or not a number: callers bound it first.
func MassOf(amount float64, u MassUnit) Mass {
	g := math.Round(amount * float64(u.grains()))
	if !(g >= 0 && g <= maxMass) {
		panic(badMass)
	}
	return Mass{grains: int64(g)}
}

const badMass = "unit: mass outside 0 to 2,000 kg"

// Kilogram returns the mass in kilograms.
func (m Mass) Kilogram() Kilogram {
	return Kilogram(float64(m.grains) / grainsPerKilogram)
}

// In returns the mass as a number of u.
func (m Mass) In(u MassUnit) float64 { return float64(m.grains) / float64(u.grains()) }

// Print writes the mass in u, such as "102.058283 kg", without the typed text.
func (m Mass) Print(u MassUnit) string {
	if u == "" {
		u = Kg
	}
	return figures(m.grains, u.grains()) + " " + string(u)
}

// Short writes the mass in u with at most two decimals, as a coach says it.
func (m Mass) Short(u MassUnit) string {
	if u == "" {
		u = Kg
	}
	return Figures(m.In(u), 2) + " " + string(u)
}

// Unit returns the unit that was typed: kg where nothing or grams were typed.
func (m Mass) Unit() MassUnit {
	for i := 0; i < len(m.text); i++ {
		if c := m.text[i] | 0x20; c >= 'a' && c <= 'z' {
			if c == 'l' || c == 'p' {
				return Lb
			}
			return Kg
		}
	}
	return Kg
}

// String returns what was typed, or kilograms where nothing was.
func (m Mass) String() string {
	if m.text != "" {
		return m.text
	}
	return massDim.print(m.grains)
}

// Canonical writes the mass in the unit it was typed in, in one spelling.
func (m Mass) Canonical() string { return m.Print(m.Unit()) }

// Cmp compares two masses exactly: -1, 0 or 1.
func (m Mass) Cmp(n Mass) int {
	switch {
	case m.grains < n.grains:
		return -1
	case m.grains > n.grains:
		return 1
	}
	return 0
}

// Equal says whether both are the same mass, however they were typed.
func (m Mass) Equal(n Mass) bool { return m.grains == n.grains }

// IsZero says whether nothing is there: no text and no mass.
func (m Mass) IsZero() bool { return m.grains == 0 && m.text == "" }

// Plus returns the sum, without text, in the unit of m. It panics past 2,000 kg.
func (m Mass) Plus(n Mass) Mass {
	if m.grains+n.grains > maxMass {
		panic(badMass)
	}
	return Mass{grains: m.grains + n.grains}
}

// Times returns n masses, without text. It panics outside 0 to 2,000 kg.
func (m Mass) Times(n int) Mass {
	if n < 0 || n > 0 && m.grains > maxMass/int64(n) {
		panic(badMass)
	}
	return Mass{grains: m.grains * int64(n)}
}

// RoundTo returns the multiple of step nearest to m, halves up (as the load
// charts of the textbooks round: 487.5 lb gives 490 lb; key nsca-essentials-17).
// Where that passes 2,000 kg it returns the multiple below. It panics if step is
// zero.
func (m Mass) RoundTo(step Mass) Mass {
	if step.grains == 0 {
		panic("unit: rounding to steps of nothing")
	}
	n := (2*m.grains + step.grains) / (2 * step.grains)
	if n*step.grains > maxMass {
		n--
	}
	return Mass{grains: n * step.grains}
}

// UnmarshalText reads what ParseMass reads.
func (m *Mass) UnmarshalText(b []byte) (err error) { *m, err = ParseMass(string(b)); return err }

// MarshalText writes what was typed.
func (m Mass) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// FormHint describes the text form for schemas and messages.
func (Mass) FormHint() (what, pattern string, examples []string) {
	return massDim.noun, massDim.pattern(), massDim.examples
}
