package unit

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
)

// A scale is one unit of a dimension: its spellings, the first of which is
// printed, and how many grains it holds.
type scale struct {
	names  []string
	grains int64
}

// A dimension is a kind of quantity with its units, its range and an example.
type dimension struct {
	noun     string
	scales   []scale
	min, max int64  // grains, both allowed
	span     string // min and max in words
	examples []string
	signed   bool
}

// blanks are the characters that may stand around numbers and units.
const blanks = " \u00a0"

// maxFigures bounds the figures of a number, so that a long line of digits is
// refused rather than rounded. It is what the longest canonical text has: 2,000
// kg to ten nanograms.
const maxFigures = 15

// A SyntaxError says what is wrong with a typed quantity, and where in it.
type SyntaxError struct {
	Text string // what was typed
	At   int    // offset of the trouble in Text, bytes
	Msg  string // what is wrong and what to write
}

// Error returns the message alone; the caller knows the place.
func (e *SyntaxError) Error() string { return e.Msg }

// Offset returns where in the text the trouble lies, in bytes.
func (e *SyntaxError) Offset() int { return e.At }

// read turns text such as "82.5 kg" or "5 ft 7 in" into grains. A number
// without a unit is refused: which unit was meant cannot be known.
func (d *dimension) read(text string) (int64, error) {
	if strings.Trim(text, blanks) == "" {
		return 0, d.fail(text, 0, "nothing is written here")
	}
	total := new(big.Rat)
	var last *term
	for rest := strings.TrimLeft(text, blanks); rest != ""; rest = strings.TrimLeft(rest, blanks) {
		t, after, err := d.term(text, rest, last == nil)
		if err != nil {
			return 0, err
		}
		if last != nil {
			if at, msg := d.follows(*last, t); msg != "" {
				return 0, d.fail(text, at, msg)
			}
		}
		total.Add(total, new(big.Rat).Mul(t.value, new(big.Rat).SetInt64(t.scale.grains)))
		last, rest = &t, after
	}
	grains, ok := round(total)
	if !ok || grains < d.min || grains > d.max {
		return 0, d.fail(text, 0, clip(strings.Trim(text, blanks))+" is outside "+d.span)
	}
	return grains, nil
}

// A term is one number with its unit, as typed.
type term struct {
	number string
	value  *big.Rat
	scale  *scale
	at     int // offset in the whole text, bytes
}

// term takes a number and its unit off the front of rest, the end of text.
func (d *dimension) term(text, rest string, first bool) (term, string, error) {
	at := len(text) - len(rest)
	number, after := cutNumber(rest, first && d.signed)
	switch {
	case number == "" && first && (strings.HasPrefix(rest, "-") || strings.HasPrefix(rest, "−")) && !d.signed:
		return term{}, "", d.fail(text, at, d.noun+" is never negative")
	case number == "":
		return term{}, "", d.fail(text, at, fmt.Sprintf("%q is not %s", clip(text), d.noun))
	case strings.HasPrefix(after, ","):
		return term{}, "", d.fail(text, at+len(number), "a comma stands in the number; decimals take a point, thousands no mark")
	case strings.HasPrefix(after, "."):
		return term{}, "", d.fail(text, at+len(number), "the number has two decimal points")
	case figureCount(number) > maxFigures:
		return term{}, "", d.fail(text, at, fmt.Sprintf("%s has more than %d figures", clip(number), maxFigures))
	}
	value, ok := new(big.Rat).SetString(number)
	if !ok {
		panic(badNumber)
	}
	unit := strings.TrimLeft(after, blanks)
	name, after := cutUnit(unit)
	if name == "" {
		return term{}, "", d.fail(text, at+len(number), fmt.Sprintf("the unit of %s is missing", number))
	}
	s := d.scale(name)
	if s == nil {
		return term{}, "", d.fail(text, len(text)-len(unit), fmt.Sprintf("%q is not a unit of %s; known are %s", clip(name), d.noun, d.units()))
	}
	return term{number, value, s, at}, after, nil
}

const badNumber = "unit: digits with one point are not a number"

// follows says where and why b cannot stand behind a, or returns no message. It
// can where a is whole and b is the rest of it in a smaller unit of the same
// system: 5 ft 7 in, 1 h 30 min.
func (d *dimension) follows(a, b term) (at int, msg string) {
	large, small := a.scale.names[0], b.scale.names[0]
	switch {
	case b.scale.grains >= a.scale.grains:
		return b.at, "after " + large + " only a smaller unit can follow"
	case a.scale.grains%b.scale.grains != 0:
		return b.at, large + " and " + small + " cannot stand in one value"
	case !a.value.IsInt():
		return a.at, "only the last number can have decimals"
	case b.value.Cmp(big.NewRat(a.scale.grains, b.scale.grains)) >= 0:
		return b.at, b.number + " " + small + " is not less than 1 " + large
	}
	return 0, ""
}

// fail builds the error with an example of what is right.
func (d *dimension) fail(text string, at int, msg string) error {
	return &SyntaxError{Text: text, At: at, Msg: msg + "; write " + d.noun + " such as " + strings.Join(d.examples, " or ")}
}

// maxQuoted is how much of a typed text a message repeats, in characters.
const maxQuoted = 40

// clip shortens a typed text for a message.
func clip(s string) string {
	if r := []rune(s); len(r) > maxQuoted {
		return string(r[:maxQuoted]) + "..."
	}
	return s
}

// scale finds a unit by any of its spellings, in capitals or not, or returns
// nil. Equal length keeps out the letters beyond ASCII that fold to k and s.
func (d *dimension) scale(name string) *scale {
	for i := range d.scales {
		for _, n := range d.scales[i].names {
			if len(n) == len(name) && strings.EqualFold(n, name) {
				return &d.scales[i]
			}
		}
	}
	return nil
}

// typed returns the scale of the last unit in text, or nil where none is.
func (d *dimension) typed(text string) (last *scale) {
	for rest := strings.TrimLeft(text, blanks); rest != ""; rest = strings.TrimLeft(rest, blanks) {
		t, after, err := d.term(text, rest, last == nil)
		if err != nil {
			return nil
		}
		last, rest = t.scale, after
	}
	return last
}

// numberPattern matches what cutNumber takes, without the sign.
const numberPattern = `([0-9]+\.?[0-9]*|\.[0-9]+)`

// pattern is a regular expression for what read accepts, in the part of the
// syntax that JSON Schema and package regexp share. It does not know the range
// nor the rules of follows.
func (d *dimension) pattern() string {
	var names []string
	for _, s := range d.scales {
		for _, n := range s.names {
			names = append(names, anyCase(n))
		}
	}
	sign := ""
	if d.signed {
		sign = "[-+]?"
	}
	space, unit := "["+blanks+"]*", "("+strings.Join(names, "|")+")"
	more := ""
	if len(d.scales) > 1 {
		more = "(" + space + numberPattern + space + unit + ")*"
	}
	return "^" + space + sign + numberPattern + space + unit + more + space + "$"
}

// anyCase is a pattern for s in capitals or not.
func anyCase(s string) string {
	var b strings.Builder
	for _, r := range s {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			b.WriteString("[" + strings.ToLower(string(r)) + strings.ToUpper(string(r)) + "]")
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

// units lists the printed spelling of every unit.
func (d *dimension) units() string {
	names := make([]string, len(d.scales))
	for i, s := range d.scales {
		names[i] = s.names[0]
	}
	return strings.Join(names, ", ")
}

// print writes grains in the first unit of the dimension.
func (d *dimension) print(grains int64) string {
	return figures(grains, d.scales[0].grains) + " " + d.scales[0].names[0]
}

// figureCount counts the digits of a number.
func figureCount(number string) int {
	return len(strings.TrimLeft(strings.Replace(number, ".", "", 1), "+-"))
}

// cutNumber takes a number off the front of s.
func cutNumber(s string, signed bool) (number, rest string) {
	i := 0
	if signed && i < len(s) && (s[i] == '-' || s[i] == '+') {
		i++
	}
	start, point := i, false
	for i < len(s) && (s[i] >= '0' && s[i] <= '9' || s[i] == '.' && !point) {
		point = point || s[i] == '.'
		i++
	}
	if i == start || s[start:i] == "." {
		return "", s
	}
	return s[:i], s[i:]
}

// cutUnit takes letters or a unit sign off the front of s.
func cutUnit(s string) (name, rest string) {
	if strings.HasPrefix(s, `"`) || strings.HasPrefix(s, "'") || strings.HasPrefix(s, "%") {
		return s[:1], s[1:]
	}
	for i, r := range s {
		if r >= '0' && r <= '9' || r == ' ' || r == '\u00a0' || r == ',' || r == ';' || r == '+' || r == '-' {
			return s[:i], s[i:]
		}
	}
	return s, ""
}

// round returns the nearest whole number, halves up, and whether it fits.
func round(r *big.Rat) (int64, bool) {
	two := big.NewInt(2)
	num := new(big.Int).Add(new(big.Int).Mul(r.Num(), two), r.Denom())
	q, _ := new(big.Int).DivMod(num, new(big.Int).Mul(r.Denom(), two), new(big.Int))
	return q.Int64(), q.IsInt64()
}

// maxDecimals is enough for the largest unit: a kilogram is 1e11 grains.
const maxDecimals = 11

// figures writes grains/per as the shortest decimal that reads back as the same
// grains.
func figures(grains, per int64) string {
	value, unit := new(big.Rat).SetFrac64(grains, per), new(big.Rat).SetInt64(per)
	for decimals := 0; ; decimals++ {
		s := value.FloatString(decimals)
		back, _ := new(big.Rat).SetString(s)
		if got, ok := round(back.Mul(back, unit)); ok && got == grains || decimals == maxDecimals {
			return s
		}
	}
}

// Figures writes x with at most decimals places and no needless noughts.
func Figures(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}
