package sheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"corbel/anatomy"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// Ensure that guarding a cell and unguarding it gives the text back, and that no
// guarded text starts like a formula.
func TestGuard(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "s")
		g := Guard(s)
		if Unguard(g) != s {
			t.Fatalf("%q guarded is %q, unguarded %q", s, g, Unguard(g))
		}
		if g != "" && strings.ContainsRune("=+-@\t\r", rune(g[0])) {
			t.Fatalf("%q can be taken for a formula", g)
		}
	})
}

// Ensure that the CSV follows RFC 4180 (lines end with CRLF, quotes doubled, every
// row as long as the head) and holds every slot.
func TestCSV(t *testing.T) {
	b, c := example(t, "rosa")
	content := NewContent(b, c, exercise.Shipped, form.English, nil, "")
	out, err := CSV(content, b)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Count(out, []byte("\n")) != bytes.Count(out, []byte("\r\n")) {
		t.Error("a line does not end with CRLF")
	}
	text, ok := strings.CutPrefix(string(out), "\xef\xbb\xbf")
	if !ok {
		t.Error("a spreadsheet cannot know that the text is UTF-8")
	}
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, s := range b.Sessions {
		n += len(s.Slots)
	}
	if len(rows) != n+1 {
		t.Errorf("%d rows for %d slots", len(rows), n)
	}
	for _, row := range rows {
		if len(row) != len(rows[0]) {
			t.Errorf("a row of %d columns under a head of %d", len(row), len(rows[0]))
		}
	}
}

// Ensure that the JSON is valid and keeps session and exercise order.
func TestJSONExport(t *testing.T) {
	b, c := example(t, "tomas")
	out, err := JSON(NewContent(b, c, exercise.Shipped, form.German, nil, "R1-AAAAAA"))
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Sessions []struct {
			ID        string `json:"id"`
			Exercises []struct {
				Slot  string `json:"slot"`
				Weeks []struct {
					Doses []struct {
						Written string `json:"written"`
					} `json:"doses"`
				} `json:"weeks"`
			} `json:"exercises"`
		} `json:"sessions"`
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	for i, s := range b.Sessions {
		for j, slot := range s.Slots {
			if got.Sessions[i].Exercises[j].Slot != string(slot.ID) {
				t.Errorf("slot %d of %s is %s", j, s.ID, got.Sessions[i].Exercises[j].Slot)
			}
			for w := range b.Weeks {
				for k, d := range got.Sessions[i].Exercises[j].Weeks[w].Doses {
					want := plan.Dose{Parts: b.DoseIn(&slot, w+1).Parts[k : k+1]}
					if back, err := plan.ParseDose(d.Written); err != nil || !back.Equal(want) {
						t.Errorf("%s week %d: %q, want %q (%v)", slot.ID, w+1, d.Written, want.Canonical(), err)
					}
				}
			}
		}
	}
}

// Ensure that the JSON names side, superset and link of a slot as the block does,
// whatever the language.
func TestJSONSideSupersetLink(t *testing.T) {
	b, c := example(t, "rosa")
	b = b.Clone()
	const link = "https://example.invalid/step-down?v=2&w=3"
	slots := b.Sessions[0].Slots
	slots[0].Side, slots[1].Superset, slots[2].Superset, slots[2].Link = anatomy.Left, "B", "B", link
	for _, l := range []form.Language{form.English, form.German} {
		out, err := JSON(NewContent(b, c, exercise.Shipped, l, nil, ""))
		if err != nil {
			t.Fatal(err)
		}
		var got struct {
			Sessions []struct {
				Exercises []struct{ Side, Superset, Link *string }
			}
		}
		if err := json.Unmarshal(out, &got); err != nil {
			t.Fatal(err)
		}
		for i, s := range b.Sessions {
			for j, slot := range s.Slots {
				x := got.Sessions[i].Exercises[j]
				if x.Side == nil || x.Superset == nil || x.Link == nil {
					t.Fatalf("%s %s: a field is missing", l, slot.ID)
				}
				side := ""
				if slot.Side == anatomy.Left || slot.Side == anatomy.Right {
					side = string(slot.Side)
				}
				if diff := cmp.Diff([]string{side, slot.Superset, slot.Link}, []string{*x.Side, *x.Superset, *x.Link}); diff != "" {
					t.Errorf("%s %s: %s", l, slot.ID, diff)
				}
			}
		}
	}
}

// Ensure that the calendar has an event for every session and week with a stable
// uid, the revision as its sequence, CRLF ends and folded lines, local times in
// the client's zone, and all-day events without a time.
func TestCalendar(t *testing.T) {
	b, c := example(t, "rosa")
	b = b.Clone()
	if err := b.Sessions[0].At.UnmarshalText([]byte("18:30")); err != nil {
		t.Fatal(err)
	}
	content := NewContent(b, c, exercise.Shipped, form.English, nil, "")
	at := time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)
	out, err := Calendar(content, b, "Europe/Vienna", at)
	if err != nil {
		t.Fatal(err)
	}
	text := string(out)
	if n := strings.Count(text, "BEGIN:VEVENT\r\n"); n != 12 {
		t.Errorf("%d events, want 12", n)
	}
	for _, want := range []string{"UID:rosa-b2-a-week1@corbel\r\n", "DTSTART;TZID=Europe/Vienna:20261130T183000\r\n", "SEQUENCE:3\r\n", "DTSTART;VALUE=DATE:20261202\r\n", "BEGIN:VTIMEZONE\r\nTZID:Europe/Vienna\r\n", "TZOFFSETTO:+0100\r\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("the calendar lacks %q", want)
		}
	}
	for _, line := range strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n") {
		if len(line) > 75 {
			t.Errorf("a line of %d bytes: RFC 5545 folds at 75", len(line))
		}
	}
	if strings.Count(text, "\n") != strings.Count(text, "\r\n") {
		t.Error("a line does not end with CRLF")
	}
	uids := regexp.MustCompile(`UID:.*`).FindAllString(text, -1)
	b.Revision, b.Sessions[0].Name = 4, "Renamed"
	again, err := Calendar(NewContent(b, c, exercise.Shipped, form.English, nil, ""), b, "Europe/Vienna", at)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(uids, regexp.MustCompile(`UID:.*`).FindAllString(string(again), -1)); diff != "" || !strings.Contains(string(again), "SEQUENCE:4") {
		t.Errorf("uids moved or the sequence stayed: %s", diff)
	}
	if _, err := Calendar(content, b, "Nowhere/Town", at); err == nil {
		t.Error("an unknown zone was taken")
	}
}

// Ensure that a block over the change of clocks carries both offsets.
func TestCalendarOverClockChange(t *testing.T) {
	b, c := example(t, "rosa")
	b = b.Clone()
	b.Start, _ = form.ParseDate("2026-10-19")
	if err := b.Sessions[0].At.UnmarshalText([]byte("7:00")); err != nil {
		t.Fatal(err)
	}
	out, err := Calendar(NewContent(b, c, exercise.Shipped, form.English, nil, ""), b, "Europe/Vienna", time.Unix(0, 0).UTC())
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"BEGIN:DAYLIGHT", "TZOFFSETTO:+0200", "BEGIN:STANDARD", "DTSTART:20261025T030000", "TZOFFSETFROM:+0200\r\nTZOFFSETTO:+0100"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("the zone lacks %q", want)
		}
	}
}

// fill types results into an exported workbook as a client would.
func fill(t *testing.T, book []byte, tab string, cells map[string]string) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(book))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for at, v := range cells {
		if err := f.SetCellStr(tab, at, v); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// Ensure that results typed into our workbook come back as log lines, that bare
// numbers take the written unit, that the same workbook twice adds nothing, and
// that cells that cannot be read are listed with their address.
func TestRecord(t *testing.T) {
	b, c := example(t, "rosa")
	book, err := Workbook(NewContent(b, c, exercise.Shipped, form.English, nil, ""), b)
	if err != nil {
		t.Fatal(err)
	}
	tab := b.Sessions[0].Name
	back := fill(t, book, tab, map[string]string{
		"H6": "8", "I6": "3", // a1 set 1 left
		"H7": "8", "I7": "5", "J7": "easier on this side",
		"G10": "77,5", "H10": "4", "I10": "3", // a2 set 1
		"G11": "80 kg", "H11": "four", // cannot be read
	})
	day := func(_, _ form.ID, week int) form.Date { return b.Start.Plus(7 * (week - 1)) }
	log := &plan.Log{Form: 1, Client: c.ID}
	entries, unread, err := ReadRecord("x.xlsx", back, log, day)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != 1 || len(entries[0].Sets) != 3 {
		t.Fatalf("got %+v", entries)
	}
	var got []string
	for _, s := range entries[0].Sets {
		got = append(got, string(s.Slot)+" "+string(s.Side)+" "+s.Done.Canonical())
	}
	if diff := cmp.Diff([]string{"a1 left 8 rir 3", "a1 right 8 rir 5", "a2  77.5 kg x 4 rir 3"}, got); diff != "" {
		t.Error(diff)
	}
	if len(unread) != 1 || unread[0].Cell != "H11" {
		t.Errorf("unread: %v", unread)
	}
	log.Entries = append(log.Entries, entries...)
	if _, err := plan.ReadLog("log", form.Write(log), exercise.Shipped.Name); err != nil {
		t.Errorf("the log does not read back: %v", err)
	}
	again, _, err := ReadRecord("x.xlsx", back, log, day)
	if err != nil || len(again) != 0 {
		t.Errorf("the same workbook twice adds %d entries, %v", len(again), err)
	}
}

// Ensure that results come back from a German workbook, with its words for sides
// and its decimals.
func TestRecordInGerman(t *testing.T) {
	b, c := example(t, "rosa")
	book, err := Workbook(NewContent(b, c, exercise.Shipped, form.German, nil, ""), b)
	if err != nil {
		t.Fatal(err)
	}
	back := fill(t, book, b.Sessions[0].Name, map[string]string{"H7": "9", "I7": "2,5", "G10": "87,5", "H10": "4"})
	entries, unread, err := ReadRecord("x.xlsx", back, &plan.Log{Form: form.Version}, nil)
	if err != nil || len(unread) > 0 || len(entries) != 1 {
		t.Fatalf("%v, %v, %+v", err, unread, entries)
	}
	var got []string
	for _, s := range entries[0].Sets {
		got = append(got, string(s.Slot)+" "+string(s.Side)+" "+s.Done.Canonical())
	}
	if diff := cmp.Diff([]string{"a1 right 9 rir 2.5", "a2  87.5 kg x 4"}, got); diff != "" {
		t.Error(diff)
	}
}

// Ensure that a workbook alone names its client and days, that results of another
// client are refused, and that a row which names no slot is reported.
func TestRecordOfTheWorkbookAlone(t *testing.T) {
	b, c := example(t, "rosa")
	book, err := Workbook(NewContent(b, c, exercise.Shipped, form.English, nil, ""), b)
	if err != nil {
		t.Fatal(err)
	}
	tab := b.Sessions[1].Name // Wednesdays
	back := fill(t, book, tab, map[string]string{"H6": "12", "A7": "", "H7": "11", "A60": "my own", "H60": "5"})
	log := &plan.Log{Form: form.Version}
	entries, unread, err := ReadRecord("x.xlsx", back, log, nil)
	if err != nil {
		t.Fatal(err)
	}
	if log.Client != c.ID || len(entries) != 1 || entries[0].On.String() != "2026-12-02" || len(entries[0].Sets) != 1 {
		t.Errorf("client %s, entries %+v", log.Client, entries)
	}
	var cells []string
	for _, u := range unread {
		cells = append(cells, u.Tab+"!"+u.Cell)
	}
	if diff := cmp.Diff([]string{tab + "!A7", tab + "!A60"}, cells); diff != "" {
		t.Errorf("%s\n%v", diff, unread)
	}
	if _, _, err := ReadRecord("x.xlsx", back, &plan.Log{Form: form.Version, Client: "somebody-else"}, nil); err == nil || !strings.Contains(err.Error(), "somebody-else") {
		t.Errorf("results of another client: %v", err)
	}
}

// Ensure that workbooks that cannot be read are refused with what is wrong, in
// bounded memory.
func TestBadWorkbooks(t *testing.T) {
	b, c := example(t, "rosa")
	book, err := Workbook(NewContent(b, c, exercise.Shipped, form.English, nil, ""), b)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		name string
		data []byte
		want string
	}{
		{"truncated", book[:len(book)/2], "not a whole .xlsx workbook"},
		{"protected", append([]byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), make([]byte, 600)...), "protected by a password"},
		{"bomb", bomb(t), "unfolds to more than"},
		{"too large", make([]byte, maxBook+1), "larger than"},
		{"not ours", emptyBook(t), "was not exported by Corbel"},
	} {
		_, _, err := ReadRecord(x.name, x.data, emptyLog(), nil)
		if err == nil || !strings.Contains(err.Error(), x.want) {
			t.Errorf("%s: got %v, want %q", x.name, err, x.want)
		}
	}
}

func emptyBook(t *testing.T) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func emptyLog() *plan.Log { return &plan.Log{Form: form.Version} }
