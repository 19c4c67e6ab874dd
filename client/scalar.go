package client

import (
	"fmt"
	"strconv"
	"strings"

	"corbel/form"
	"corbel/unit"
)

// A Band is a lowest and a highest number, written 6-9, or one number for both.
// Range 0 to 100.
type Band struct{ Low, High float64 }

// UnmarshalText reads "6-9" or "6".
func (b *Band) UnmarshalText(text []byte) error {
	s := strings.ReplaceAll(strings.ReplaceAll(string(text), "–", "-"), " ", "")
	low, high, two := strings.Cut(s, "-")
	if !two {
		high = low
	}
	l, err1 := strconv.ParseFloat(low, 64)
	h, err2 := strconv.ParseFloat(high, 64)
	if err1 != nil || err2 != nil || !(l >= 0 && h <= 100) {
		return fmt.Errorf("%q is not a band of sets; write lowest-highest such as 6-9, within 0 to 100", text)
	}
	if l > h {
		return fmt.Errorf("the band %q runs backwards; write %s-%s", text, high, low)
	}
	*b = Band{l, h}
	return nil
}

// MarshalText writes the band.
func (b Band) MarshalText() ([]byte, error) { return []byte(b.String()), nil }

// String writes the band as 6-9.
func (b Band) String() string {
	if b.Low == b.High {
		return unit.Figures(b.Low, 2)
	}
	return unit.Figures(b.Low, 2) + "-" + unit.Figures(b.High, 2)
}

// FormHint describes bands for schemas and messages.
func (Band) FormHint() (what, pattern string, examples []string) {
	return "a band", `^ *[0-9.]+ *([-–] *[0-9.]+)? *$`, []string{"6-9"}
}

// A Range is a range of joint angles, written "knee 0-60 deg": 0 is the joint
// straight (or the limb hanging), more is more bent, raised or turned.
type Range struct {
	Joint    Joint
	From, To float64 // degrees, 0 to 180
}

// Joint is a joint whose angle a range may bound.
type Joint string

// Values lists the joints.
func (Joint) Values() []string {
	return []string{"ankle", "knee", "hip", "back", "shoulder", "elbow", "wrist"}
}

// In returns the name of the joint in l.
func (j Joint) In(l form.Language) string {
	if l == form.German {
		return map[Joint]string{"ankle": "Sprunggelenk", "knee": "Knie", "hip": "Hüfte", "back": "Rücken",
			"shoulder": "Schulter", "elbow": "Ellbogen", "wrist": "Handgelenk"}[j]
	}
	return string(j)
}

// UnmarshalText reads "knee 0-60 deg".
func (r *Range) UnmarshalText(text []byte) error {
	fail := fmt.Errorf("%q is not a range; write a joint (%s) and degrees, such as knee 0-60 deg", text, strings.Join(Joint("").Values(), ", "))
	words := strings.Fields(strings.NewReplacer("–", "-", "°", " deg").Replace(string(text)))
	if len(words) < 2 || len(words) > 3 || len(words) == 3 && words[2] != "deg" {
		return fail
	}
	from, to, ok := strings.Cut(words[1], "-")
	f, err1 := strconv.ParseFloat(from, 64)
	t, err2 := strconv.ParseFloat(to, 64)
	if !ok || err1 != nil || err2 != nil || !(f >= 0 && t <= 180 && f < t) {
		return fail
	}
	for _, j := range Joint("").Values() {
		if j == words[0] {
			*r = Range{Joint(j), f, t}
			return nil
		}
	}
	return fail
}

// MarshalText writes the range.
func (r Range) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// String writes the range as knee 0-60 deg.
func (r Range) String() string {
	return fmt.Sprintf("%s %s-%s deg", r.Joint, unit.Figures(r.From, 1), unit.Figures(r.To, 1))
}

// In writes the range in words of a language: Knie 0–60°.
func (r Range) In(l form.Language) string {
	text := fmt.Sprintf("%s %s–%s°", r.Joint.In(l), unit.Figures(r.From, 1), unit.Figures(r.To, 1))
	if l == form.German {
		return strings.ReplaceAll(text, ".", ",")
	}
	return text
}

// Inside says whether r stays inside s.
func (r Range) Inside(s Range) bool { return r.Joint == s.Joint && r.From >= s.From && r.To <= s.To }

// FormHint describes ranges for schemas and messages.
func (Range) FormHint() (what, pattern string, examples []string) {
	return "a range of a joint", "", []string{"knee 0-60 deg"}
}
