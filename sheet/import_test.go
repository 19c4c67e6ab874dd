package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// bomb is a zip that unfolds to far more than is read: half a gigabyte of
// noughts.
func bomb(t testing.TB) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, name := range []string{"[Content_Types].xml", "xl/workbook.xml", "xl/worksheets/sheet1.xml"} {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		zeros := make([]byte, 1<<20)
		for range 200 {
			if _, err := w.Write(zeros); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// book makes a workbook of tables by tab, with merged cells and hidden rows.
func book(t testing.TB, tabs []string, rows map[string][][]any, then func(*excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for _, tab := range tabs {
		if _, err := f.NewSheet(tab); err != nil {
			t.Fatal(err)
		}
		for i, row := range rows[tab] {
			if err := f.SetSheetRow(tab, fmt.Sprintf("A%d", i+1), &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	if then != nil {
		then(f)
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// formulas puts formulas into cells that keep the values they have, as a
// spreadsheet saves them.
func formulas(t testing.TB, f *excelize.File, tab string, by map[string]string) {
	t.Helper()
	for at, formula := range by {
		value, err := f.GetCellValue(tab, at)
		if err != nil || value == "" {
			t.Fatalf("%s holds %q, %v", at, value, err)
		}
		if err := f.SetCellFormula(tab, at, formula); err != nil {
			t.Fatal(err)
		}
		if got, err := f.GetCellValue(tab, at); err != nil || got != value {
			t.Fatalf("%s: the value %q became %q, %v", at, value, got, err)
		}
	}
}

// layouts are ten tables as coaches make them, clean and dirty. want lists
// "session: exercise dose [week n: dose] rest note" of what must be read; unread
// is how many cells are reported.
func layouts(t testing.TB) []struct {
	name, file string
	data       []byte
	want       []string
	unread     int
} {
	csv := func(lines ...string) []byte { return []byte(strings.Join(lines, "\n") + "\n") }
	return []struct {
		name, file string
		data       []byte
		want       []string
		unread     int
	}{
		{"plain English", "a.csv", csv("Day,Exercise,Sets,Reps,Load (kg),Rest,Notes",
			"Monday,Back squat,4,5,82.5,3:00,deep", "Monday,Romanian deadlift,3,8-10,60,120 s,", "Wednesday,Bench press,4,6,70,2 min,\"pause, then press\""),
			[]string{"Monday: back-squat 4 x 5 @ 82.5 kg rest 3:00 | deep", "Monday: romanian-deadlift 3 x 8-10 @ 60 kg rest 2:00", "Wednesday: bench-press 4 x 6 @ 70 kg rest 2:00 | pause, then press"}, 0},
		{"German, semicolons, comma decimals, day only once", "b.csv", csv("Plan;;;;;", "Tag;Übung;Sätze;Wdh.;Gewicht (kg);Pause",
			"Montag;Kniebeuge;4;5;82,5;3 min", ";Rumänisches Kreuzheben;3;8-10;60;120", "Mittwoch;Bankdrücken;4;6;70;2:00"),
			[]string{"Montag: back-squat 4 x 5 @ 82.5 kg rest 3:00", "Montag: romanian-deadlift 3 x 8-10 @ 60 kg rest 2:00", "Mittwoch: bench-press 4 x 6 @ 70 kg rest 2:00"}, 0},
		{"columns in another order, dose in one cell", "c.csv", csv("Notes\tRest\tSets x Reps\tExercise", "slow\t90 s\t3x8 @ 60 kg\tfront squat", "\t1:00\t2 x 30 s\tPlank"),
			[]string{"Session: front-squat 3 x 8 @ 60 kg rest 1:30 | slow", "Session: plank 2 x 30 s rest 1:00"}, 0},
		{"weeks side by side under merged heads", "d.xlsx", book(t, []string{"Block"}, map[string][][]any{"Block": {
			{"", "Week 1", "", "", "Week 2", "", ""}, {"Exercise", "Sets", "Reps", "Load", "Sets", "Reps", "Load"},
			{"Hex bar deadlift", 4, 5, 90, 4, 4, 95}, {"Split squat", 3, "8/side", "10 kg/hand", 3, "10/side", "10 kg/hand"}}},
			func(f *excelize.File) { _ = f.MergeCell("Block", "B1", "D1"); _ = f.MergeCell("Block", "E1", "G1") }),
			[]string{"Session: hex-bar-deadlift 4 x 5 @ 90 kg [2: 4 x 4 @ 95 kg]", "Session: split-squat 3 x 8/side @ 10 kg/hand [2: 3 x 10/side @ 10 kg/hand]"}, 0},
		{"weeks as columns of doses", "e.csv", csv("Exercise,Week 1,Week 2,Week 3", "Deadlift,3 x 5 @ 80%,3 x 4 @ 82.5%,3 x 3 @ 85%", "Pull-up underhand,3 x 6,3 x 7,4 x 6"),
			[]string{"Session: deadlift 3 x 5 @ 80% [2: 3 x 4 @ 82.5%] [3: 3 x 3 @ 85%]", "Session: pull-up-underhand 3 x 6 [2: 3 x 7] [3: 4 x 6]"}, 0},
		{"a tab a session", "f.xlsx", book(t, []string{"Legs", "Press"}, map[string][][]any{
			"Legs":  {{"Exercise", "Sets", "Reps", "RIR"}, {"Leg press", 3, 12, 2}, {"Seated leg curl", 3, 12, 2}},
			"Press": {{"Exercise", "Sets", "Reps", "RPE"}, {"Overhead press", 4, 5, 8}}}, nil),
			[]string{"Legs: leg-press 3 x 12 rir 2", "Legs: seated-leg-curl 3 x 12 rir 2", "Press: overhead-press 4 x 5 rpe 8"}, 0},
		{"headings between exercises, blank rows, numbers before names", "g.csv", csv("Exercise,Sets,Reps", "Session A,,", "1. Goblet squat,3,10", ",,", "A2. Push-up,3,max", "Session B,,", "B1 Dip,3,8"),
			[]string{"Session A: goblet-squat 3 x 10 | 1. Goblet squat", "Session A: push-up 3 x max | A2. Push-up", "Session B: dip 3 x 8 | B1 Dip"}, 0},
		{"typos, curly quotes, brackets, an unknown exercise", "h.csv", csv("Exercise,Sets,Reps,Notes", "Bulgarien spilt squat,3,8,", "Bnech press (pause),3,5,“hold” it", "Hip thrsut,3,10,", "Underwater basket lift,2,9,"),
			[]string{"Session: bench-press 3 x 5 | \"hold\" it; Bnech press (pause)", "Session: hip-thrust 3 x 10 | Hip thrsut"}, 2},
		{"units in cells, each side, body weight, bands, ranges", "i.csv", csv("Exercise,Sets,Reps,Weight,Rest,Tempo", "One-arm dumbbell row,3,10/side,16kg,60-90 s,2-0-2", "Push-up,3,8 to 12,BW,45,", "Band pull-apart,2,15,band light,0:45,201", "Dip,3,6,+10 kg,3 min,oddly slow"),
			[]string{"Session: one-arm-dumbbell-row 3 x 10/side @ 16 kg rest 1:30 tempo 2-0-2", "Session: push-up 3 x 8-12 @ body weight rest 45 s", "Session: band-pull-apart 2 x 15 @ band light rest 45 s tempo 2-0-1", "Session: dip 3 x 6 @ +10 kg rest 3:00 | oddly slow"}, 1},
		{"hidden rows, formulas, a week column, text around", "j.xlsx", book(t, []string{"Plan"}, map[string][][]any{"Plan": {
			{"For the winter"}, {"Week", "Session", "Exercise", "Sets", "Reps", "Load kg"}, {1, "A", "Back squat", 3, 5, 80}, {2, "A", "Back squat", 3, 5, 82.5}, {1, "A", "Plank", 2, "40 s"}, {"", "", "", "", "stretch well"}}},
			func(f *excelize.File) {
				_ = f.SetRowVisible("Plan", 5, false)
				formulas(t, f, "Plan", map[string]string{"F4": "F3+2.5", "D3": "1+2"})
			}),
			[]string{"A: back-squat 3 x 5 @ 80 kg [2: 3 x 5 @ 82.5 kg]", "A: plank 2 x 40 s"}, 1},
	}
}

// Ensure that ten layouts come in: at least nine in ten exercises recognised, the
// rest reported with its cell, nothing lost, and the block reads back.
func TestTenLayouts(t *testing.T) {
	rows, read := 0, 0
	start, _ := form.ParseDate("2026-11-30")
	for _, l := range layouts(t) {
		t.Run(l.name, func(t *testing.T) {
			im, err := Import(l.file, l.data, exercise.Shipped, ImportAs{Client: "client.yaml", Start: start})
			if err != nil {
				t.Fatal(err)
			}
			rows, read = rows+im.Rows, read+im.Read
			var got []string
			for _, s := range im.Block.Sessions {
				for _, slot := range s.Slots {
					got = append(got, describe(s, slot))
				}
			}
			if strings.Join(got, "\n") != strings.Join(l.want, "\n") {
				t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(l.want, "\n"))
			}
			if len(im.Unread) != l.unread {
				t.Errorf("unread %v, want %d", im.Unread, l.unread)
			}
			for _, u := range im.Unread {
				if u.Cell == "" || u.Why == "" {
					t.Errorf("a cell is reported without its place or reason: %+v", u)
				}
			}
			if _, err := plan.ReadBlock("x", form.Write(im.Block), exercise.Shipped.Name); err != nil {
				t.Errorf("the block does not read back: %v", err)
			}
		})
	}
	if float64(read) < 0.9*float64(rows) {
		t.Errorf("%d of %d exercises recognised", read, rows)
	}
}

// Ensure that rests a spreadsheet took for times of the day are read as they were
// typed.
func TestRestsTakenForTimes(t *testing.T) {
	start, _ := form.ParseDate("2026-11-30")
	for typed, want := range map[string]string{"3:00": "3:00", "03:00:00": "3:00", "03:00:00 AM": "3:00", "2:30 am": "2:30", "00:01:30": "1:30", "12:00:45 AM": "45 s", "12:30:00 PM": "12:30"} {
		im, err := Import("x.csv", []byte("Exercise,Sets,Reps,Rest\nBack squat,3,5,"+typed+"\n"), exercise.Shipped, ImportAs{Client: "client.yaml", Start: start})
		if err != nil {
			t.Fatal(err)
		}
		if got := im.Block.Sessions[0].Slots[0].Rest.Canonical(); got != want || len(im.Unread) > 0 {
			t.Errorf("%q: got %s, want %s; %v", typed, got, want, im.Unread)
		}
	}
}

// Ensure that sets in columns of their own are one dose and not weeks, that a load
// that cannot be read costs the load alone, that a pair of dumbbells and
// abbreviated implements are understood, and that nothing of a row whose exercise
// is not known is lost.
func TestOddTables(t *testing.T) {
	start, _ := form.ParseDate("2026-11-30")
	for _, x := range []struct {
		name, text string
		want       []string
		unread     []string
	}{
		{"set by set", "Exercise,Set 1,Set 2,Set 3,RPE\nBack squat,5x100,5x105,5x110,8\nBench press,8 @ 60kg,8 @ 60kg,6 @ 62.5kg,\nPush-up,12,10,max,\nDip,8,fast,6,\n",
			[]string{"back-squat 3 x 5 @ 100,105,110 kg rpe 8", "bench-press 8,8,6 @ 60,60,62.5 kg", "push-up 12,10,max", "dip 1 x max rir 3 | 8, fast, 6"}, []string{"C5", "A5"}},
		{"loads", "Übung;Satz x Wdh;kg;Anmerkung\nAusfallschritte;3x10 je Bein;2x12;\nKniebeuge;3 x 5;schwer;tief\n",
			[]string{"walking-lunge 3 x 10/side @ 12 kg/hand", "back-squat 3 x 5 | tief; schwer"}, []string{"C3"}},
		{"names", "Exercise,Sets,Reps,Notes\nDB shrug,3,12,\nBB back squat,3,5,\n", []string{"dumbbell-shrug 3 x 12", "back-squat 3 x 5 | BB back squat"}, nil},
	} {
		im, err := Import("x.csv", []byte(x.text), exercise.Shipped, ImportAs{Client: "client.yaml", Start: start})
		if err != nil {
			t.Fatal(err)
		}
		var got, cells []string
		for _, slot := range im.Block.Sessions[0].Slots {
			got = append(got, strings.TrimPrefix(describe(im.Block.Sessions[0], slot), "Session: "))
		}
		for _, u := range im.Unread {
			cells = append(cells, u.Cell)
		}
		if diff := cmp.Diff(x.want, got) + cmp.Diff(x.unread, cells); diff != "" || im.Block.Weeks != 1 {
			t.Errorf("%s, %d weeks: %s\n%v", x.name, im.Block.Weeks, diff, im.Unread)
		}
	}
	im, err := Import("x.csv", []byte("Exercise,Sets,Reps,Load,Tempo,Cue,Clip,Notes\nPlank,2,30 s,,,,,\nZorbing,3,9,40 kg,3-1-1,roll,film 7,slowly\n"), exercise.Shipped, ImportAs{Client: "client.yaml", Start: start})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []string{"Zorbing", "3", "9", "40 kg", "3-1-1", "roll", "film 7", "slowly"} {
		if !strings.Contains(im.Block.Sessions[0].Note, x) {
			t.Errorf("%q is lost: %q", x, im.Block.Sessions[0].Note)
		}
	}
}

// describe writes a slot on one line.
func describe(s plan.Session, slot plan.Slot) string {
	text := s.Name + ": " + slot.Exercise + " " + slot.Dose.Canonical()
	for w := 2; w <= 12; w++ {
		if d, ok := slot.Weeks[w]; ok {
			text += fmt.Sprintf(" [%d: %s]", w, d.Canonical())
		}
	}
	if !slot.Rest.IsZero() {
		text += " rest " + slot.Rest.Canonical()
	}
	if slot.Tempo != "" {
		text += " tempo " + slot.Tempo
	}
	if slot.Note != "" {
		text += " | " + slot.Note
	}
	return text
}

// Ensure that files that are no tables are refused with what to do.
func TestImportRefuses(t *testing.T) {
	start, _ := form.ParseDate("2026-11-30")
	for _, x := range []struct {
		name string
		data []byte
		want string
	}{
		{"a.csv", []byte("some,text\nwithout,heads\n"), "row of heads"},
		{"b.csv", []byte{0xff, 0xfe, 'a', 0}, "not UTF-8"},
		{"c.xlsx", []byte("PK\x03\x04 nothing"), "not a whole .xlsx"},
		{"d.xlsx", bomb(t), "unfolds to more than"},
		{"e.csv", nil, "row of heads"},
	} {
		_, err := Import(x.name, x.data, exercise.Shipped, ImportAs{Client: "client.yaml", Start: start})
		if err == nil || !strings.Contains(err.Error(), x.want) {
			t.Errorf("%s: got %v, want %q", x.name, err, x.want)
		}
	}
}

// sheetXML replaces the first sheet of a workbook.
func sheetXML(t testing.TB, rows string) []byte {
	t.Helper()
	in := book(t, []string{"Plan"}, map[string][][]any{"Plan": {{"x"}}}, nil)
	z, err := zip.NewReader(bytes.NewReader(in), int64(len(in)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		dst, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(f.Name, "xl/worksheets/sheet") {
			_, err = io.WriteString(dst, `<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`+rows+`</sheetData></worksheet>`)
		} else {
			src, openErr := f.Open()
			if openErr != nil {
				t.Fatal(openErr)
			}
			_, err = io.Copy(dst, src)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// protected is a workbook under a password, as a spreadsheet saves it.
func protected(t testing.TB) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	var out bytes.Buffer
	if err := f.Write(&out, excelize.Options{Password: "secret"}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// readers reads a workbook in both ways there are.
func readers(data []byte) map[string]error {
	start, _ := form.ParseDate("2026-11-30")
	_, err1 := Import("x.xlsx", data, exercise.Shipped, ImportAs{Client: "client.yaml", Start: start})
	_, _, err2 := ReadRecord("x.xlsx", data, emptyLog(), func(_, _ form.ID, _ int) form.Date { return start })
	return map[string]error{"import": err1, "record import": err2}
}

// memoryLimit is what reading a hostile workbook may take in all, bytes. Our
// judgement: four times what it may unfold to.
const memoryLimit = 4 * maxUnzip

// Ensure that a protected workbook, one cut off anywhere, one that unfolds to half
// a gigabyte and one with cells at the far end of many rows are refused or read in
// bounded memory, and never make a panic.
func TestHostileWorkbooks(t *testing.T) {
	var far strings.Builder
	far.WriteString(`<row r="1"><c r="A1" t="inlineStr"><is><t>Exercise</t></is></c><c r="B1" t="inlineStr"><is><t>Sets</t></is></c><c r="C1" t="inlineStr"><is><t>Reps</t></is></c></row>`)
	for i := 2; i < 400; i++ {
		fmt.Fprintf(&far, `<row r="%d"><c r="A%d" t="inlineStr"><is><t>Plank</t></is></c><c r="B%d"><v>2</v></c><c r="C%d"><v>9</v></c><c r="XFD%d"><v>1</v></c></row>`, i, i, i, i, i)
	}
	for _, x := range []struct {
		name, want string
		data       []byte
	}{
		{"protected", "protected by a password", protected(t)},
		{"bomb", "unfolds to more than", bomb(t)},
		{"cells far out", "more than 300 columns", sheetXML(t, far.String())},
		{"a row far down", "more than 20000 rows", sheetXML(t, `<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="A1048576"><v>1</v></c></row>`)},
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		errs := readers(x.data)
		runtime.ReadMemStats(&after)
		if got := after.TotalAlloc - before.TotalAlloc; got > memoryLimit {
			t.Errorf("%s: reading it took %d MB", x.name, got>>20)
		}
		for how, err := range errs {
			if x.want != "" && (err == nil || !strings.Contains(err.Error(), x.want)) {
				t.Errorf("%s, %s: got %v, want %q", x.name, how, err, x.want)
			}
		}
	}
	b, c := example(t, "rosa")
	whole, err := Workbook(NewContent(b, c, exercise.Shipped, form.English, nil, ""), b)
	if err != nil {
		t.Fatal(err)
	}
	for n := 0; n < len(whole)-1; n += len(whole) / 40 {
		for how, err := range readers(whole[:n]) {
			if err == nil {
				t.Errorf("%s took the first %d of %d bytes for a workbook", how, n, len(whole))
			}
		}
	}
}

// Ensure that a formula without a value is named with its cell, for what it would
// say cannot be known.
func TestFormulaWithoutValue(t *testing.T) {
	start, _ := form.ParseDate("2026-11-30")
	data := book(t, []string{"Plan"}, map[string][][]any{"Plan": {{"Exercise", "Sets", "Reps"}, {"Back squat", 3, 5}}}, func(f *excelize.File) {
		_ = f.SetCellValue("Plan", "B2", nil)
		_ = f.SetCellFormula("Plan", "B2", "1+2")
	})
	im, err := Import("x.xlsx", data, exercise.Shipped, ImportAs{Client: "client.yaml", Start: start})
	if err != nil {
		t.Fatal(err)
	}
	if len(im.Unread) != 1 || im.Unread[0].String() != `Plan!B2: "=1+2": this formula carries no value; open the file in a spreadsheet, save it and import it again` {
		t.Errorf("got %v", im.Unread)
	}
}

// Ensure that a table of 5,000 rows comes in whole: every row recognised, none
// lost without a word.
func TestFiveThousandRows(t *testing.T) {
	start, _ := form.ParseDate("2026-11-30")
	im, err := Import("x.csv", manyRows(), exercise.Shipped, ImportAs{Client: "client.yaml", Start: start})
	if err != nil {
		t.Fatal(err)
	}
	if im.Rows != 5000 || im.Read != 5000 {
		t.Errorf("%d of %d rows recognised", im.Read, im.Rows)
	}
	slots := 0
	for _, s := range im.Block.Sessions {
		slots += len(s.Slots)
	}
	if slots != 12*maxPerVisit || len(im.Block.Sessions) != 12 {
		t.Errorf("%d slots in %d sessions", slots, len(im.Block.Sessions))
	}
	if len(im.Unread) == 0 {
		t.Error("rows beyond what a session holds were dropped in silence")
	}
	if _, err := plan.ReadBlock("x", form.Write(im.Block), exercise.Shipped.Name); err != nil {
		t.Error(err)
	}
}

// FuzzImportCSV holds that no table makes the import panic and that what it
// yields reads back.
func FuzzImportCSV(f *testing.F) {
	for _, l := range layouts(f) {
		if strings.HasSuffix(l.file, ".csv") {
			f.Add(string(l.data))
		}
	}
	start, _ := form.ParseDate("2026-11-30")
	f.Fuzz(func(t *testing.T, text string) {
		im, err := Import("x.csv", []byte(text), exercise.Shipped, ImportAs{Client: "client.yaml", Start: start})
		if err != nil {
			return
		}
		if _, err := plan.ReadBlock("x", form.Write(im.Block), exercise.Shipped.Name); err != nil {
			t.Fatalf("%q comes in as a block that does not read back: %v", text, err)
		}
	})
}

// manyRows is a table of 5,000 rows.
func manyRows() []byte {
	lines := []string{"Session,Week,Exercise,Sets,Reps,Load,Rest"}
	for i := range 5000 {
		lines = append(lines, fmt.Sprintf("S%d,%d,%s,3,%d,%d kg,90 s", i%12, 1+i/12%4, []string{"Back squat", "Bnech press", "Plank", "Overhead press"}[i%4], 5+i%5, 40+i%60))
	}
	return []byte(strings.Join(lines, "\n"))
}

// BenchmarkImport reads a table of 5,000 rows, as CSV and as a workbook: budget
// 1 s.
func BenchmarkImport(b *testing.B) {
	start, _ := form.ParseDate("2026-11-30")
	var rows [][]any
	for _, line := range strings.Split(string(manyRows()), "\n") {
		var row []any
		for _, cell := range strings.Split(line, ",") {
			row = append(row, cell)
		}
		rows = append(rows, row)
	}
	for name, data := range map[string][]byte{"x.csv": manyRows(), "x.xlsx": book(b, []string{"Plan"}, map[string][][]any{"Plan": rows}, nil)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Import(name, data, exercise.Shipped, ImportAs{Client: "c.yaml", Start: start}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
