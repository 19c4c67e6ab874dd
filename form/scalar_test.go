package form_test

import (
	"strings"
	"testing"
	"time"

	"corbel/form"

	"pgregory.net/rapid"
)

// lastDay is the number of days from 1900-01-01 to 2199-12-31: 300 years of
// which 73 are leap years (every fourth but 1900 and 2100).
const lastDay = 300*365 + 73 - 1

// first is the first day there is.
func first() form.Date { return form.DateOf(time.Date(1900, 1, 1, 12, 0, 0, 0, time.UTC)) }

// Every day of the range is its neighbours' neighbour, has the calendar date
// that package time gives it, and reads back from its text.
func TestEveryDay(t *testing.T) {
	want := time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)
	day := first()
	for n := range lastDay + 1 {
		if !day.Time().Equal(want) || day.String() != want.Format(time.DateOnly) || day.Days(first()) != n {
			t.Fatalf("day %d is %v, want %v", n, day, want)
		}
		if back, err := form.ParseDate(day.String()); err != nil || back != day {
			t.Fatalf("%v reads back as %v, %v", day, back, err)
		}
		want = want.AddDate(0, 0, 1)
		if n < lastDay {
			next := day.Plus(1)
			if !day.Before(next) || next.Before(day) || next.Plus(-1) != day {
				t.Fatalf("%v follows %v", next, day)
			}
			day = next
		}
	}
	if day.String() != "2199-12-31" {
		t.Errorf("the last day is %v", day)
	}
}

// Plus and Days undo each other, and Years counts birthdays as package time does.
func TestDateArithmetic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := first().Plus(rapid.IntRange(0, lastDay).Draw(t, "a"))
		b := first().Plus(rapid.IntRange(0, lastDay).Draw(t, "b"))
		if a.Plus(b.Days(a)) != b || a.Days(b) != -b.Days(a) || a.Before(b) != (a.Days(b) < 0) {
			t.Fatalf("%v and %v lie %d days apart", a, b, b.Days(a))
		}
		if b.Before(a) {
			a, b = b, a
		}
		// a birthday on 29 February falls on 1 March where there is none
		years := b.Years(a)
		if a.Time().AddDate(years, 0, 0).After(b.Time()) || !a.Time().AddDate(years+1, 0, 0).After(b.Time()) {
			t.Fatalf("%d years from %v to %v", years, a, b)
		}
	})
}

// The hour and the zone of a moment do not move its day.
func TestDateOfKeepsTheZone(t *testing.T) {
	for _, offset := range []int{-12, 0, 14} {
		moment := time.Date(2026, 3, 29, 23, 59, 59, 0, time.FixedZone("", offset*3600))
		if got := form.DateOf(moment).String(); got != "2026-03-29" {
			t.Errorf("%v is on %s", moment, got)
		}
	}
}

// Leap days of the calendar and days that are none.
func TestParseDate(t *testing.T) {
	for s, ok := range map[string]bool{
		"2024-02-29": true, "2000-02-29": true, "2026-02-29": false, "1900-02-29": false, "2100-02-29": false,
		"1900-01-01": true, "1899-12-31": false, "2199-12-31": true, "2200-01-01": false, " 2026-11-30 ": true,
		"2026-04-31": false, "2026-13-01": false, "2026-00-01": false, "2026-1-1": false, "26-01-01": false, "20260101": false,
		"2026-11-30T00:00:00Z": false, "30.11.2026": false, "11/30/2026": false, "": false, "today": false, "2026-11-3０": false,
	} {
		d, err := form.ParseDate(s)
		if (err == nil) != ok || ok && d.String() != strings.TrimSpace(s) || !ok && !d.IsZero() {
			t.Errorf("%q reads as %v, %v", s, d, err)
		}
	}
	for s, want := range map[string]string{
		"30.11.2026": `"30.11.2026" is not a date of the calendar; write year-month-day, such as 2026-11-30`,
		"2200-01-01": `"2200-01-01" is outside the years 1900 to 2199`,
	} {
		if _, err := form.ParseDate(s); err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
	var none form.Date
	if !none.IsZero() || none.String() != "" || first().IsZero() {
		t.Error("the zero date is not none")
	}
}

// A day outside the range and the day of no date are programmer's mistakes.
func TestDatePanics(t *testing.T) {
	for name, f := range map[string]func(){
		"DateOf": func() { form.DateOf(time.Date(1899, 12, 31, 0, 0, 0, 0, time.UTC)) },
		"Plus":   func() { first().Plus(lastDay + 1) },
		"Time":   func() { form.Date{}.Time() },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if s, ok := recover().(string); !ok || !strings.HasPrefix(s, "form: ") {
					t.Errorf("the panic is %q", s)
				}
			}()
			f()
			t.Error("no panic")
		})
	}
}

// Ids are lower-case words with single hyphens; a refusal offers one.
func TestID(t *testing.T) {
	for _, ok := range []string{"a", "1", "leg-day", "a-1-b", "2026", strings.Repeat("a", 60)} {
		var id form.ID
		if err := id.UnmarshalText([]byte(ok)); err != nil || string(id) != ok {
			t.Errorf("%q: %q, %v", ok, id, err)
		}
	}
	for bad, suggestion := range map[string]string{
		"": "leg-day", "-a": "a", "a-": "a", "a--b": "a-b", "A": "a", "Leg Day": "leg-day", "Müllers Größe": "muellers-groesse", "a_b": "a-b", "a\n": "a",
		"日本": "leg-day", strings.Repeat("a", 61): "leg-day",
	} {
		id := form.ID("before")
		err := id.UnmarshalText([]byte(bad))
		if err == nil || !strings.HasSuffix(err.Error(), "such as "+suggestion) || id != "before" || len(err.Error()) > 200 {
			t.Errorf("%q: %q, %v, want the suggestion %s", bad, id, err, suggestion)
		}
	}
}

// A text is given in the language asked for, or in the other.
func TestTextIn(t *testing.T) {
	both, en, de := form.Text{En: "bar", De: "Stange"}, form.Text{En: "bar"}, form.Text{De: "Stange"}
	for _, c := range []struct {
		text form.Text
		l    form.Language
		want string
	}{
		{both, form.English, "bar"}, {both, form.German, "Stange"}, {en, form.German, "bar"}, {de, form.English, "Stange"}, {form.Text{}, form.German, ""},
	} {
		if got := c.text.In(c.l); got != c.want {
			t.Errorf("%v in %s is %q, want %q", c.text, c.l, got, c.want)
		}
	}
}
