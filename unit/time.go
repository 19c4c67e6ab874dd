package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// maxDuration bounds a typed duration: 24 hours, in milliseconds.
const maxDuration = 24 * 3600 * 1000

var durationDim = dimension{
	noun: "a time",
	scales: []scale{
		{[]string{"s", "sec", "secs", "second", "seconds"}, 1000},
		{[]string{"min", "mins", "minute", "minutes"}, 60_000},
		{[]string{"h", "hour", "hours"}, 3_600_000},
	},
	min: 0, max: maxDuration, span: "0 s to 24 h", examples: []string{"3:00", "90 s", "2 min"},
}

// A Duration is a time of 0 to 24 hours in whole milliseconds. It keeps the
// text that was typed.
type Duration struct {
	ms   int64
	text string
}

// ParseDuration reads "3:00" (minutes and seconds), "90 s", "2 min",
// "1 h 10 min". The error is a *SyntaxError.
func ParseDuration(text string) (Duration, error) {
	if m, s, ok := strings.Cut(strings.Trim(text, blanks), ":"); ok {
		return clock(text, m, s)
	}
	ms, err := durationDim.read(text)
	if err != nil {
		return Duration{}, err
	}
	return Duration{ms, text}, nil
}

// clock reads minutes and seconds, the two sides of a colon in text.
func clock(text, m, s string) (Duration, error) {
	minutes, err1 := strconv.ParseUint(m, 10, 16)
	seconds, err2 := strconv.ParseUint(s, 10, 16)
	if err1 != nil || err2 != nil || len(s) != 2 || seconds > 59 {
		return Duration{}, durationDim.fail(text, 0, fmt.Sprintf("%q is not minutes and seconds", clip(text)))
	}
	ms := int64(minutes*60+seconds) * 1000
	if ms > maxDuration {
		return Duration{}, durationDim.fail(text, 0, clip(strings.Trim(text, blanks))+" is outside "+durationDim.span)
	}
	return Duration{ms, text}, nil
}

// DurationOf returns s seconds, rounded to a millisecond. It panics outside 0
// to 24 hours.
func DurationOf(s Second) Duration {
	ms := math.Round(float64(s) * 1000)
	if !(ms >= 0 && ms <= maxDuration) {
		panic("unit: time outside 0 to 24 hours")
	}
	return Duration{ms: int64(ms)}
}

// Second returns the time in seconds.
func (d Duration) Second() Second { return Second(float64(d.ms) / 1000) }

// Clock writes minutes and seconds, "3:00"; parts of a second are rounded.
func (d Duration) Clock() string {
	s := (d.ms + 500) / 1000
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// Canonical writes a time as a coach writes a rest or a hold: whole seconds
// under a minute and odd parts of seconds as "30 s", else "1:30".
func (d Duration) Canonical() string {
	if d.ms%1000 != 0 || d.ms < 60_000 {
		return figures(d.ms, 1000) + " s"
	}
	return d.Clock()
}

// String returns what was typed, or the canonical text where nothing was.
func (d Duration) String() string {
	if d.text != "" {
		return d.text
	}
	return d.Canonical()
}

// Equal says whether both are the same time, however they were typed.
func (d Duration) Equal(e Duration) bool { return d.ms == e.ms }

// IsZero says whether nothing is there: no text and no time.
func (d Duration) IsZero() bool { return d.ms == 0 && d.text == "" }

// UnmarshalText reads what ParseDuration reads.
func (d *Duration) UnmarshalText(b []byte) (err error) {
	*d, err = ParseDuration(string(b))
	return err
}

// MarshalText writes what was typed.
func (d Duration) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// FormHint describes the text form for schemas and messages.
func (Duration) FormHint() (what, pattern string, examples []string) {
	return durationDim.noun, "^[" + blanks + "]*[0-9]+:[0-5][0-9][" + blanks + "]*$|" + durationDim.pattern(), durationDim.examples
}
