//go:build tools

// These tests hold what sheet writes against other people's programs: qpdf,
// poppler, zbar, LibreOffice and Chromium, which .ci/steps/10-install puts in
// place. They run by `make tools`.
package sheet

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"corbel/exercise"
	"corbel/figure"
	"corbel/form"
)

// run runs a program and returns what it prints.
func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
	}
	return string(out)
}

// writePDF writes the sheet of an example.
func writePDF(t *testing.T, c *Content, paper figure.Paper) string {
	t.Helper()
	p, err := PDF(c, PaperOptions{paper, true}, time.Unix(0, 0))
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(name, p, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// Ensure that qpdf finds the PDF sound, that all its fonts are embedded, that its
// page has the size of the paper, and that pdftotext finds every exercise, dose,
// cue and caution, on both papers and in both languages.
func TestPDFWithOtherPrograms(t *testing.T) {
	for _, name := range []string{"rosa", "tomas", "mila", "worst"} {
		b, c := worst(t)
		if name != "worst" {
			b, c = example(t, name)
		}
		for _, paper := range []figure.Paper{figure.A4, figure.Letter} {
			for _, l := range []form.Language{form.English, form.German} {
				content := NewContent(b, c, exercise.Shipped, l, nil, "R9-XYZ987")
				file := writePDF(t, content, paper)
				if out := run(t, "qpdf", "--check", file); !strings.Contains(out, "No syntax or stream encoding errors") {
					t.Errorf("%s", out)
				}
				for _, line := range strings.Split(strings.TrimSpace(run(t, "pdffonts", file)), "\n")[2:] {
					if f := strings.Fields(line); len(f) < 5 || f[len(f)-5] != "yes" {
						t.Errorf("a font is not embedded: %s", line)
					}
				}
				if out := run(t, "pdfinfo", file); !strings.Contains(out, fmt.Sprintf("Page size:       %.5g x %.5g", paper.W*72/25.4, paper.H*72/25.4)[:22]) {
					t.Errorf("%s: the page has another size:\n%s", paper.Name, out)
				}
				text := squeeze(run(t, "pdftotext", "-raw", file, "-"))
				for _, x := range append(append([]string{content.Title, content.For, content.Note, content.WriteDown, "R9-XYZ987"}, content.Cautions...), content.HowTo...) {
					if !strings.Contains(text, squeeze(x)) {
						t.Errorf("%s %s %s: pdftotext does not find %q", name, paper.Name, l, x)
					}
				}
				for _, s := range content.Sessions {
					for _, r := range s.Rows {
						want := append(append([]string{r.Name, r.Rest, r.Note}, r.Cues...), r.Reasons...)
						for _, w := range r.Weeks {
							want = append(want, w.Lines...)
						}
						for _, x := range append(want, cautionTexts(s)...) {
							if !strings.Contains(text, squeeze(x)) {
								t.Errorf("%s %s %s: pdftotext does not find %q", name, paper.Name, l, x)
							}
						}
					}
				}
			}
		}
	}
}

// Ensure that zbarimg reads the QR code of a tutorial off the rendered page.
func TestQRCode(t *testing.T) {
	b, c := example(t, "rosa")
	b = b.Clone()
	const link = "https://example.invalid/step-down?v=2"
	b.Sessions[0].Slots[2].Link = link
	file := writePDF(t, NewContent(b, c, exercise.Shipped, form.English, nil, ""), figure.A4)
	base := filepath.Join(t.TempDir(), "page")
	run(t, "pdftoppm", "-r", "200", "-gray", "-png", "-f", "2", "-l", "2", file, base)
	pages, err := filepath.Glob(base + "*.png")
	if err != nil || len(pages) != 1 {
		t.Fatal(pages, err)
	}
	out, err := exec.Command("zbarimg", "--raw", "-q", pages[0]).Output()
	if err != nil || strings.TrimSpace(string(out)) != link {
		t.Errorf("the code says %q, %v", out, err)
	}
}

// office converts a file with LibreOffice and returns what it writes.
func office(t *testing.T, name string, data []byte, to string) []byte {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("soffice", "-env:UserInstallation=file://"+filepath.Join(dir, "profile"), "--headless", "--convert-to", to, "--outdir", filepath.Join(dir, "out"))
	if filepath.Ext(name) == ".csv" {
		cmd.Args = append(cmd.Args, "--infilter=CSV:44,34,76,1") // comma, quote, UTF-8: what its dialogue would ask
	}
	cmd.Args = append(cmd.Args, filepath.Join(dir, name))
	cmd.Env = append(os.Environ(), "HOME="+dir)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	files, err := filepath.Glob(filepath.Join(dir, "out", "*"))
	if err != nil || len(files) != 1 {
		t.Fatal(files, err)
	}
	again, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	return again
}

const (
	asXLSX = "xlsx:Calc MS Excel 2007 XML"
	asCSV  = "csv:Text - txt - csv (StarCalc):44,34,76,1"
)

// Ensure that the table of a block comes back exactly after LibreOffice has
// opened it and saved it again: CSV as CSV, CSV as workbook, workbook as workbook.
func TestTableThroughLibreOffice(t *testing.T) {
	for _, name := range []string{"rosa", "tomas"} {
		b, c := example(t, name)
		content := NewContent(b, c, exercise.Shipped, c.Language, nil, "")
		list, err1 := CSV(content, b)
		book, err2 := Workbook(content, b)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		for _, x := range []struct {
			file string
			data []byte
		}{{"a.csv", office(t, "a.csv", list, asCSV)}, {"a.xlsx", office(t, "a.csv", list, asXLSX)}, {"a.xlsx", office(t, "a.xlsx", book, asXLSX)}} {
			im, err := Import(x.file, x.data, exercise.Shipped, ImportAs{Client: b.Client})
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(held(b), held(im.Block)); diff != "" || len(im.Unread) > 0 {
				t.Errorf("%s %s: %s%v", name, x.file, diff, im.Unread)
			}
		}
	}
}

// Ensure that LibreOffice opens the workbook and saves it with every value as it
// was, and that results typed in then still come back.
func TestWorkbookThroughLibreOffice(t *testing.T) {
	b, c := example(t, "rosa")
	content := NewContent(b, c, exercise.Shipped, form.English, nil, "")
	book, err := Workbook(content, b)
	if err != nil {
		t.Fatal(err)
	}
	book = fill(t, book, b.Sessions[0].Name, map[string]string{"H6": "8", "I6": "3"})
	again := office(t, "in.xlsx", book, asXLSX)
	if diff := cellsDiffer(t, book, again); diff != "" {
		t.Error(diff)
	}
	entries, unread, err := ReadRecord("x.xlsx", again, emptyLog(), func(_, _ form.ID, _ int) form.Date { return b.Start })
	if err != nil || len(unread) > 0 || len(entries) != 1 || entries[0].Sets[0].Done.Canonical() != "8 rir 3" {
		t.Errorf("got %+v, unread %v, %v", entries, unread, err)
	}
}

// Ensure that the table of weeks prints readably: letters of 8 points or more, each
// week whole on a page that names session and exercise, nothing for programs.
func TestWeeksPrinted(t *testing.T) {
	for _, l := range []form.Language{form.English, form.German} {
		b, c := example(t, "rosa")
		list, err := Workbook(NewContent(b, c, exercise.Shipped, l, nil, ""), b)
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Join(t.TempDir(), "book.pdf")
		if err := os.WriteFile(name, office(t, "book.xlsx", list, "pdf"), 0o600); err != nil {
			t.Fatal(err)
		}
		word := form.Text{En: "week", De: "Woche"}.In(l)
		loads := form.Text{En: "loads", De: "Lasten"}.In(l)
		seen := map[int]int{}
		for _, page := range strings.Split(run(t, "pdftotext", "-layout", name, "-"), "\f") {
			head, _, _ := strings.Cut(strings.TrimLeft(page, "\n "), "\n")
			if !strings.Contains(head, loads) {
				continue
			}
			for w := 1; w <= b.Weeks; w++ {
				if strings.Contains(head, fmt.Sprintf("%s %d", word, w)) && strings.Contains(head, fmt.Sprintf("%s %d", loads, w)) && strings.HasPrefix(head, form.Text{En: "session", De: "Einheit"}.In(l)) {
					seen[w]++
				}
			}
		}
		for w := 1; w <= b.Weeks; w++ {
			if seen[w] != 1 {
				t.Errorf("%s: week %d stands whole on %d pages beside its exercises, want 1", l, w, seen[w])
			}
		}
		boxes := run(t, "pdftotext", "-bbox", name, "-")
		heads := regexp.MustCompile(`yMin="([0-9.]+)" xMax="[0-9.]+" yMax="([0-9.]+)">`+loads+`<`).FindAllStringSubmatch(boxes, -1)
		if len(heads) != b.Weeks {
			t.Errorf("%s: %d heads of loads, want %d", l, len(heads), b.Weeks)
		}
		for _, m := range heads {
			top, err1 := strconv.ParseFloat(m[1], 64)
			bottom, err2 := strconv.ParseFloat(m[2], 64)
			if err1 != nil || err2 != nil || bottom-top < 8 {
				t.Errorf("%s: a head stands from %s to %s points: too small to read", l, m[1], m[2])
			}
		}
		column := form.Text{En: "block name", De: "Blockname"}.In(l)
		if strings.Contains(run(t, "pdftotext", "-layout", name, "-"), column) {
			t.Errorf("%s: the column %q is printed", l, column)
		}
	}
}

// cellsDiffer names the first cell in which two workbooks differ.
func cellsDiffer(t *testing.T, a, b []byte) string {
	t.Helper()
	x, err := excelize.OpenReader(bytes.NewReader(a))
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	y, err := excelize.OpenReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	defer y.Close()
	for _, tab := range x.GetSheetList() {
		rows, err := x.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			for j, v := range row {
				at := fmt.Sprintf("%s%d", columnName(j), i+1)
				got, err := y.GetCellValue(tab, at)
				if err != nil || got != v {
					return fmt.Sprintf("%s!%s: %q became %q (%v)", tab, at, v, got, err)
				}
			}
		}
	}
	return ""
}

// Ensure that another reader of calendars finds every event with its times.
func TestCalendarReadsBack(t *testing.T) {
	b, c := example(t, "rosa")
	b = b.Clone()
	if err := b.Sessions[0].At.UnmarshalText([]byte("18:30")); err != nil {
		t.Fatal(err)
	}
	out, err := Calendar(NewContent(b, c, exercise.Shipped, form.English, nil, ""), b, c.Zone, time.Unix(0, 0).UTC())
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "block.ics")
	if err := os.WriteFile(name, out, 0o600); err != nil {
		t.Fatal(err)
	}
	script := "import sys, icalendar\n" +
		"c = icalendar.Calendar.from_ical(open(sys.argv[1], 'rb').read())\n" +
		"for e in c.walk('VEVENT'): print(e['uid'], e['dtstart'].dt.isoformat(), e['sequence'])\n"
	text := run(t, "/usr/bin/python3", "-c", script, name)
	if !strings.Contains(text, "rosa-b2-a-week1@corbel 2026-11-30T18:30:00+01:00 3") || strings.Count(text, "\n") != 12 {
		t.Errorf("got\n%s", text)
	}
	cal, err := ics.ParseCalendar(bytes.NewReader(out))
	if err != nil || len(cal.Events()) != 12 {
		t.Errorf("%v", err)
	}
}
