package unit

import "math"

// Grains of a length: a micrometre. An inch is 25.4 mm exactly (1959; key
// pound-1959).
const (
	micronsPerMetre = 1_000_000
	micronsPerInch  = 25_400
)

// maxLength bounds a typed length: 100 km, for a run or a walk noted as work.
const maxLength = 100_000 * micronsPerMetre

var lengthDim = dimension{
	noun: "a length",
	scales: []scale{
		{[]string{"cm"}, micronsPerMetre / 100},
		{[]string{"m", "metre", "metres", "meter", "meters"}, micronsPerMetre},
		{[]string{"mm"}, micronsPerMetre / 1000},
		{[]string{"km"}, 1000 * micronsPerMetre},
		{[]string{"in", "inch", "inches", `"`}, micronsPerInch},
		{[]string{"ft", "foot", "feet", "'"}, 12 * micronsPerInch},
		{[]string{"yd", "yard", "yards"}, 36 * micronsPerInch},
	},
	min: 0, max: maxLength, span: "0 to 100 km", examples: []string{"171 cm", "5 ft 7 in"},
}

// A LengthUnit is the unit in which lengths of the body are printed: cm or in.
type LengthUnit string

// The units of length a coach may choose; in prints feet and inches.
const (
	Cm   LengthUnit = "cm"
	Inch LengthUnit = "in"
)

// Values lists the units of length.
func (LengthUnit) Values() []string { return []string{string(Cm), string(Inch)} }

// A Length is a length of 0 to 100 km, exact in centimetres and in inches. It
// keeps the text that was typed.
type Length struct {
	microns int64
	text    string
}

// ParseLength reads a length with its unit, such as "171 cm", "1.71 m",
// "5 ft 7 in", "40 m". The error is a *SyntaxError.
func ParseLength(text string) (Length, error) {
	g, err := lengthDim.read(text)
	if err != nil {
		return Length{}, err
	}
	return Length{g, text}, nil
}

// LengthOf returns m metres, rounded to a micrometre. It panics outside 0 to
// 100 km.
func LengthOf(m Metre) Length {
	g := math.Round(float64(m) * micronsPerMetre)
	if !(g >= 0 && g <= maxLength) {
		panic("unit: length outside 0 to 100 km")
	}
	return Length{microns: int64(g)}
}

// Metre returns the length in metres.
func (l Length) Metre() Metre { return Metre(float64(l.microns) / micronsPerMetre) }

// Short writes a length of the body in u: "171 cm" or "5 ft 7 in".
func (l Length) Short(u LengthUnit) string {
	if u != Inch {
		return Figures(float64(l.microns)/(micronsPerMetre/100), 1) + " cm"
	}
	inches := int64(math.Round(float64(l.microns) / micronsPerInch))
	if inches < 12 {
		return figures(inches, 1) + " in"
	}
	return figures(inches/12, 1) + " ft " + figures(inches%12, 1) + " in"
}

// String returns what was typed, or centimetres where nothing was.
func (l Length) String() string {
	if l.text != "" {
		return l.text
	}
	return lengthDim.print(l.microns)
}

// Canonical writes the length in the last unit that was typed, in one spelling:
// metres stay metres, and 5 ft 7 in becomes 67 in.
func (l Length) Canonical() string {
	if s := lengthDim.typed(l.text); s != nil {
		return figures(l.microns, s.grains) + " " + s.names[0]
	}
	return lengthDim.print(l.microns)
}

// Equal says whether both are the same length, however they were typed.
func (l Length) Equal(k Length) bool { return l.microns == k.microns }

// IsZero says whether nothing is there: no text and no length.
func (l Length) IsZero() bool { return l.microns == 0 && l.text == "" }

// UnmarshalText reads what ParseLength reads.
func (l *Length) UnmarshalText(b []byte) (err error) { *l, err = ParseLength(string(b)); return err }

// MarshalText writes what was typed.
func (l Length) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// FormHint describes the text form for schemas and messages.
func (Length) FormHint() (what, pattern string, examples []string) {
	return lengthDim.noun, lengthDim.pattern(), lengthDim.examples
}
