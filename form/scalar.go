package form

import (
	"fmt"
	"regexp"
	"strings"
	"time"
)

// Version is the version of the file forms this program reads and writes.
const Version = 1

// Languages in which texts are kept.
const (
	English Language = "en"
	German  Language = "de"
)

// A Language is a language Corbel speaks.
type Language string

// Values lists the languages.
func (Language) Values() []string { return []string{string(English), string(German)} }

// A Text is one text in every language.
type Text struct {
	En string `form:"en" doc:"English"`
	De string `form:"de" doc:"German"`
}

// In returns the text in l, or in the other language where l lacks it.
func (t Text) In(l Language) string {
	if l == German && t.De != "" || t.En == "" {
		return t.De
	}
	return t.En
}

// An ID names a thing for life: lower-case letters and digits in words joined
// by hyphens, at most 60 characters. It is never derived from order or name.
type ID string

var idPattern = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

const maxID = 60

// UnmarshalText checks an id.
func (id *ID) UnmarshalText(b []byte) error {
	if s := string(b); len(s) <= maxID && idPattern.MatchString(s) {
		*id = ID(s)
		return nil
	}
	return fmt.Errorf("%q is not an id; write lower-case words and digits joined by hyphens, such as %s", clip(string(b)), suggestID(string(b)))
}

// MarshalText writes the id.
func (id ID) MarshalText() ([]byte, error) { return []byte(id), nil }

// FormHint describes ids for schemas and messages.
func (ID) FormHint() (what, pattern string, examples []string) {
	return "an id", idPattern.String(), []string{"leg-day"}
}

// ascii spells the German letters that an id cannot hold.
var ascii = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "ß", "ss")

// suggestID makes an id out of any text, or gives an example.
func suggestID(s string) string {
	words := strings.FieldsFunc(ascii.Replace(strings.ToLower(s)), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	})
	id := strings.Join(words, "-")
	if id == "" || len(id) > maxID {
		return "leg-day"
	}
	return id
}

// A Date is a calendar day without time or zone, in the years 1900 to 2199.
// The zero value means no date.
type Date struct{ days int32 } // days since 1 January 1900, plus 1

var epoch = time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)

const (
	firstYear, lastYear = 1900, 2199
	dateLayout          = "2006-01-02"
	secondsPerDay       = 24 * 60 * 60
)

// DateOf returns the day of t in its own zone. It panics outside 1900 to 2199.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	if y < firstYear || y > lastYear {
		panic("form: date outside 1900 to 2199")
	}
	return Date{int32((time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix()-epoch.Unix())/secondsPerDay) + 1}
}

// ParseDate reads a day written as 2026-11-30.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(dateLayout, strings.TrimSpace(s))
	if err != nil {
		return Date{}, fmt.Errorf("%q is not a date of the calendar; write year-month-day, such as 2026-11-30", clip(s))
	}
	if t.Year() < firstYear || t.Year() > lastYear {
		return Date{}, fmt.Errorf("%q is outside the years %d to %d", s, firstYear, lastYear)
	}
	return DateOf(t), nil
}

// Time returns midnight UTC of the day. It panics for the zero date.
func (d Date) Time() time.Time {
	if d.IsZero() {
		panic("form: no date")
	}
	return epoch.AddDate(0, 0, int(d.days-1))
}

// IsZero says whether no date is there.
func (d Date) IsZero() bool { return d.days == 0 }

// Plus returns the day n days later. It panics past the year 2199.
func (d Date) Plus(n int) Date { return DateOf(d.Time().AddDate(0, 0, n)) }

// Days returns how many days d lies after e. Both must be dates.
func (d Date) Days(e Date) int { return int(d.days) - int(e.days) }

// Before says whether d is earlier than e.
func (d Date) Before(e Date) bool { return d.days < e.days }

// Years returns the whole years from birth to d.
func (d Date) Years(birth Date) int {
	a, b := d.Time(), birth.Time()
	years := a.Year() - b.Year()
	if a.Month() < b.Month() || a.Month() == b.Month() && a.Day() < b.Day() {
		years--
	}
	return years
}

// String writes the day as 2026-11-30, or nothing for no date.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.Time().Format(dateLayout)
}

// UnmarshalText reads what ParseDate reads.
func (d *Date) UnmarshalText(b []byte) (err error) { *d, err = ParseDate(string(b)); return err }

// MarshalText writes the day.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// FormHint describes dates for schemas and messages.
func (Date) FormHint() (what, pattern string, examples []string) {
	return "a date", `^\s*[0-9]{4}-[0-9]{2}-[0-9]{2}\s*$`, []string{"2026-11-30"}
}
