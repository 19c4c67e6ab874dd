package unit

import "math"

var (
	forceDim = dimension{
		noun:   "a force",
		scales: []scale{{[]string{"N", "newton", "newtons"}, 1000}},
		min:    0, max: 20_000 * 1000, span: "0 to 20000 N", examples: []string{"120 N"},
	}
	angleDim = dimension{
		noun:   "an angle",
		scales: []scale{{[]string{"deg", "°", "degree", "degrees"}, 1000}},
		min:    -360 * 1000, max: 360 * 1000, span: "-360 to 360 deg", examples: []string{"28 deg"}, signed: true,
	}
)

// A Force is a force of 0 to 20,000 N in whole millinewtons. It keeps the text
// that was typed.
type Force struct {
	millinewtons int64
	text         string
}

// ParseForce reads "120 N". The error is a *SyntaxError.
func ParseForce(text string) (Force, error) {
	g, err := forceDim.read(text)
	if err != nil {
		return Force{}, err
	}
	return Force{g, text}, nil
}

// Newton returns the force in newtons.
func (f Force) Newton() Newton { return Newton(float64(f.millinewtons) / 1000) }

// String returns what was typed, or newtons where nothing was.
func (f Force) String() string {
	if f.text != "" {
		return f.text
	}
	return forceDim.print(f.millinewtons)
}

// Equal says whether both are the same force, however they were typed.
func (f Force) Equal(g Force) bool { return f.millinewtons == g.millinewtons }

// IsZero says whether nothing is there.
func (f Force) IsZero() bool { return f.millinewtons == 0 && f.text == "" }

// UnmarshalText reads what ParseForce reads.
func (f *Force) UnmarshalText(b []byte) (err error) { *f, err = ParseForce(string(b)); return err }

// MarshalText writes what was typed.
func (f Force) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// FormHint describes the text form for schemas and messages.
func (Force) FormHint() (what, pattern string, examples []string) {
	return forceDim.noun, forceDim.pattern(), forceDim.examples
}

// An Angle is an angle of -360 to 360 degrees in whole thousandths of a degree.
// It keeps the text that was typed.
type Angle struct {
	millidegrees int64
	text         string
}

// ParseAngle reads "28 deg" or "28°". The error is a *SyntaxError.
func ParseAngle(text string) (Angle, error) {
	g, err := angleDim.read(text)
	if err != nil {
		return Angle{}, err
	}
	return Angle{g, text}, nil
}

// Degrees returns the angle in degrees.
func (a Angle) Degrees() float64 { return float64(a.millidegrees) / 1000 }

// Radian returns the angle in radians.
func (a Angle) Radian() Radian { return Radian(a.Degrees() * math.Pi / 180) }

// String returns what was typed, or degrees where nothing was.
func (a Angle) String() string {
	if a.text != "" {
		return a.text
	}
	return angleDim.print(a.millidegrees)
}

// Equal says whether both are the same angle, however they were typed.
func (a Angle) Equal(b Angle) bool { return a.millidegrees == b.millidegrees }

// IsZero says whether nothing is there.
func (a Angle) IsZero() bool { return a.millidegrees == 0 && a.text == "" }

// UnmarshalText reads what ParseAngle reads.
func (a *Angle) UnmarshalText(b []byte) (err error) { *a, err = ParseAngle(string(b)); return err }

// MarshalText writes what was typed.
func (a Angle) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// FormHint describes the text form for schemas and messages.
func (Angle) FormHint() (what, pattern string, examples []string) {
	return angleDim.noun, angleDim.pattern(), angleDim.examples
}

var percentDim = dimension{
	noun:   "a percentage",
	scales: []scale{{[]string{"%", "percent"}, 1000}},
	min:    0, max: 1000 * 1000, span: "0% to 1000%", examples: []string{"90%"},
}

// A Percent is a percentage of 0 to 1,000 in whole thousandths. It keeps the
// text that was typed.
type Percent struct {
	thousandths int64
	text        string
}

// ParsePercent reads "90%" or "82.5 %". The error is a *SyntaxError.
func ParsePercent(text string) (Percent, error) {
	g, err := percentDim.read(text)
	if err != nil {
		return Percent{}, err
	}
	return Percent{g, text}, nil
}

// PercentOf returns p percent. It panics outside 0 to 1,000.
func PercentOf(p float64) Percent {
	g := math.Round(p * 1000)
	if !(g >= 0 && g <= 1000*1000) {
		panic("unit: percentage outside 0 to 1,000")
	}
	return Percent{thousandths: int64(g)}
}

// Fraction returns the percentage as a fraction, 90 % as 0.9.
func (p Percent) Fraction() float64 { return float64(p.thousandths) / 100_000 }

// Number returns the percentage as a number, 90 % as 90.
func (p Percent) Number() float64 { return float64(p.thousandths) / 1000 }

// Canonical writes the percentage in one spelling, "82.5%".
func (p Percent) Canonical() string { return figures(p.thousandths, 1000) + "%" }

// String returns what was typed, or the canonical text where nothing was.
func (p Percent) String() string {
	if p.text != "" {
		return p.text
	}
	return p.Canonical()
}

// Equal says whether both are the same percentage, however they were typed.
func (p Percent) Equal(q Percent) bool { return p.thousandths == q.thousandths }

// IsZero says whether nothing is there.
func (p Percent) IsZero() bool { return p.thousandths == 0 && p.text == "" }

// UnmarshalText reads what ParsePercent reads.
func (p *Percent) UnmarshalText(b []byte) (err error) { *p, err = ParsePercent(string(b)); return err }

// MarshalText writes what was typed.
func (p Percent) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// FormHint describes the text form for schemas and messages.
func (Percent) FormHint() (what, pattern string, examples []string) {
	return percentDim.noun, percentDim.pattern(), percentDim.examples
}
