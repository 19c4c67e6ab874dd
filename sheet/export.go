package sheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"corbel/form"
	"corbel/plan"
)

// Guard puts an apostrophe before a text that a spreadsheet could take for a
// formula; Unguard takes it away again. A text that starts with an apostrophe of
// its own gets a second one, so that nothing is lost.
func Guard(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r'", rune(s[0])) {
		return "'" + s
	}
	return s
}

// Unguard is the inverse of Guard.
func Unguard(s string) string {
	if len(s) > 1 && s[0] == '\'' && strings.ContainsRune("=+-@\t\r'", rune(s[1])) {
		return s[1:]
	}
	return s
}

// byteOrderMark tells spreadsheets that a text is UTF-8; without it they take it
// for the letters of their own system.
const byteOrderMark = "\xef\xbb\xbf"

// CSV writes the table of a block (RFC 4180): a row a slot, the weeks side by
// side. Texts that look like formulas are guarded. What comes back from it by
// Import is the same, week by week.
func CSV(c *Content, b *plan.Block) ([]byte, error) {
	var out bytes.Buffer
	out.WriteString(byteOrderMark)
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	rows := blockTable(c, b, keysOnly)
	for _, row := range rows {
		for k := range row {
			row[k] = Guard(row[k])
		}
	}
	if err := w.WriteAll(rows); err != nil {
		return nil, fmt.Errorf("write CSV: %w", err)
	}
	return out.Bytes(), nil
}

// JSON writes the content for programs (docs/json/export.md).
func JSON(c *Content) ([]byte, error) {
	type dose struct {
		Side    string `json:"side"`
		Sets    int    `json:"sets"`
		Work    string `json:"work"`
		Load    string `json:"load"`
		Effort  string `json:"effort"`
		Written string `json:"written"`
	}
	type week struct {
		Week  int    `json:"week"`
		Date  string `json:"date"`
		Doses []dose `json:"doses"` // empty where it is left out
	}
	type row struct {
		Slot     string   `json:"slot"`
		Order    string   `json:"order"`
		Exercise string   `json:"exercise"`
		Name     string   `json:"name"`
		Side     string   `json:"side"`     // left, right, or empty
		Superset string   `json:"superset"` // its letter, or empty
		Link     string   `json:"link"`     // to a tutorial, or empty
		Rest     string   `json:"rest"`
		Tempo    string   `json:"tempo"`
		WarmUp   []string `json:"warm_up"`
		Cues     []string `json:"cues"`
		Reasons  []string `json:"reasons"`
		Note     string   `json:"note"`
		Weeks    []week   `json:"weeks"`
	}
	type session struct {
		ID    string `json:"id"`
		Name  string `json:"name"`
		Day   string `json:"day"`
		Place string `json:"place"`
		Rows  []row  `json:"exercises"`
	}
	out := struct {
		Form     int       `json:"form"`
		Block    string    `json:"name"`
		Code     string    `json:"code"`
		Revision int       `json:"revision"`
		From     string    `json:"from"`
		To       string    `json:"to"`
		Cautions []string  `json:"cautions"`
		Sessions []session `json:"sessions"`
	}{Form: form.Version, Block: c.Title, Code: c.Code, Revision: c.Revision, From: c.From.String(), To: c.To.String(), Cautions: c.Cautions, Sessions: []session{}}
	for _, s := range c.Sessions {
		js := session{ID: s.ID, Name: s.Name, Day: string(s.Day), Place: s.Place, Rows: []row{}}
		for _, r := range s.Rows {
			jr := row{Slot: r.Slot, Order: r.Label, Exercise: r.Exercise, Name: r.Name, Side: r.OneSide, Superset: r.Mates, Link: r.Link, Rest: r.Rest, Tempo: r.Tempo,
				WarmUp: orEmpty(r.WarmUp), Cues: orEmpty(r.Cues), Reasons: orEmpty(r.Reasons), Note: r.Note, Weeks: []week{}}
			for i, cell := range r.Weeks {
				w := week{Week: c.Weeks[i], Date: s.Dates[i].String(), Doses: []dose{}}
				for _, d := range cell.Doses {
					w.Doses = append(w.Doses, dose{d.Side, d.Sets, d.Work, d.Load, d.Effort, d.Written})
				}
				jr.Weeks = append(jr.Weeks, w)
			}
			js.Rows = append(js.Rows, jr)
		}
		out.Sessions = append(out.Sessions, js)
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(out); err != nil {
		return nil, fmt.Errorf("write JSON: %w", err)
	}
	return b.Bytes(), nil
}

func orEmpty(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

// Calendar writes an event for every session of every shown week (RFC 5545, CRLF).
// The uid is made of block, session and week, the sequence is the revision, so
// that a new revision moves the old events. Sessions with a time of day start in
// the client's zone; those without are events of the day. at is the time of
// writing.
func Calendar(c *Content, b *plan.Block, zone string, at time.Time) ([]byte, error) {
	cal := ics.NewCalendar()
	cal.SetProductId("-//Corbel//block " + string(b.ID) + "//EN")
	cal.SetMethod(ics.MethodPublish)
	loc, err := time.LoadLocation(zone)
	if err != nil {
		return nil, fmt.Errorf("calendar: the time zone %q is not known", zone)
	}
	timed := false
	for i, s := range c.Sessions {
		for w, date := range s.Dates {
			if date.IsZero() {
				continue
			}
			e := cal.AddEvent(fmt.Sprintf("%s-%s-week%d@corbel", b.ID, s.ID, c.Weeks[w]))
			e.SetDtStampTime(at)
			e.SetSequence(b.Revision)
			e.SetSummary(s.Name)
			e.SetLocation(s.Place)
			e.SetDescription(eventText(c, s, w))
			start := b.Sessions[i].At
			if start.IsZero() || zone == "" {
				e.SetAllDayStartAt(date.Time())
				e.SetAllDayEndAt(date.Plus(1).Time())
				continue
			}
			timed = true
			hour, minute := start.Clock()
			t := date.Time()
			from := time.Date(t.Year(), t.Month(), t.Day(), hour, minute, 0, 0, loc)
			to := from.Add(time.Duration(max(s.Minutes.High, 10)) * time.Minute)
			tz := ics.WithTZID(zone)
			e.SetProperty(ics.ComponentPropertyDtStart, from.Format("20060102T150405"), tz)
			e.SetProperty(ics.ComponentPropertyDtEnd, to.Format("20060102T150405"), tz)
		}
	}
	text := cal.Serialize(ics.WithNewLineWindows)
	if timed {
		text = strings.Replace(text, "BEGIN:VEVENT", zoneRules(zone, loc, c.From, c.To)+"BEGIN:VEVENT", 1)
	}
	return []byte(text), nil
}

// eventText lists the exercises of a session in a week.
func eventText(c *Content, s Session, w int) string {
	var out []string
	for _, r := range s.Rows {
		if cell := r.Weeks[w]; !cell.Skipped {
			name := r.Name
			if cell.Name != "" {
				name = cell.Name
			}
			out = append(out, r.Label+" "+name+": "+strings.Join(cell.Lines, ", "))
		}
	}
	return strings.Join(append(out, c.Cautions[0]), "\n")
}

// zoneRules writes a VTIMEZONE that holds for the days of the block: one
// observance for its start and one for each change of the clocks within it.
func zoneRules(zone string, loc *time.Location, from, to form.Date) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\r\n", args...) }
	line("BEGIN:VTIMEZONE")
	line("TZID:%s", zone)
	first := from.Plus(-1).Time()
	_, before := first.In(loc).Zone()
	observance(line, time.Date(first.Year(), 1, 1, 0, 0, 0, 0, time.UTC), before, before, first.In(loc))
	for t := first; t.Before(to.Plus(2).Time()); t = t.Add(time.Hour) {
		at := t.Add(time.Hour).In(loc)
		if _, after := at.Zone(); after != before {
			observance(line, t.Add(time.Hour).Add(time.Duration(before)*time.Second), before, after, at)
			before = after
		}
	}
	line("END:VTIMEZONE")
	return b.String()
}

// observance writes one observance of a zone: local is the wall clock before the
// change.
func observance(line func(string, ...any), local time.Time, before, after int, at time.Time) {
	kind := "STANDARD"
	if at.IsDST() {
		kind = "DAYLIGHT"
	}
	name, _ := at.Zone()
	line("BEGIN:%s", kind)
	line("DTSTART:%s", local.UTC().Format("20060102T150405"))
	line("TZOFFSETFROM:%s", offset(before))
	line("TZOFFSETTO:%s", offset(after))
	line("TZNAME:%s", name)
	line("END:%s", kind)
}

// offset writes seconds east of Greenwich as +0100.
func offset(s int) string {
	sign := '+'
	if s < 0 {
		sign, s = '-', -s
	}
	return fmt.Sprintf("%c%02d%02d", sign, s/3600, s/60%60)
}
