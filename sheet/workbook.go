package sheet

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"corbel/anatomy"
	"corbel/form"
	"corbel/plan"
)

// The workbook a block is exported to and a log is read back from: one tab a
// session, a row for every set the client does, with cells for what was done.
// The first rows name block, revision, session, client and the first day, so that
// a returned workbook finds its slots and dates whatever has become of the block.
const (
	bookMark     = "corbel workbook" // first cell of a session's tab
	bookHeadRow  = 5                 // row of the column heads, from 1
	bookFirstRow = 6
)

// bookColumns are the columns of a session's tab.
var bookColumns = []struct {
	key    string
	en, de string
	width  float64
}{
	{"slot", "slot", "Eintrag", 8}, {"week", "week", "Woche", 7}, {"set", "set", "Satz", 6}, {"side", "side", "Seite", 8},
	{"exercise", "exercise", "Übung", 34}, {"written", "written", "geschrieben", 34},
	{"load", "load done", "Last", 14}, {"reps", "repetitions done", "Wiederholungen", 14}, {"reserve", "in reserve", "in Reserve", 10}, {"note", "note", "Notiz", 30},
}

// Workbook writes the workbook of a block.
func Workbook(c *Content, b *plan.Block) ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	names := tabNames(c)
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	if err != nil {
		return nil, fmt.Errorf("write workbook: %w", err)
	}
	open, err := f.NewStyle(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"F0F0F0"}}, NumFmt: 49})
	if err != nil {
		return nil, fmt.Errorf("write workbook: %w", err)
	}
	for i, s := range c.Sessions {
		if _, err := f.NewSheet(names[i]); err != nil {
			return nil, fmt.Errorf("write workbook, tab %s: %w", names[i], err)
		}
		if err := sessionTab(f, names[i], c, b, s, bold, open); err != nil {
			return nil, fmt.Errorf("write workbook, tab %s: %w", names[i], err)
		}
	}
	if err := tableTab(f, c, b, bold); err != nil {
		return nil, fmt.Errorf("write workbook, tab of the weeks: %w", err)
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		return nil, fmt.Errorf("write workbook: %w", err)
	}
	f.SetActiveSheet(0)
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		return nil, fmt.Errorf("write workbook: %w", err)
	}
	return out.Bytes(), nil
}

// escape finds what a workbook takes for a character by its number (ECMA-376,
// part 1, 22.9.2.19, ST_Xstring).
var escape = regexp.MustCompile(`_x[0-9A-Fa-f]{4}_`)

// bookText guards a text and keeps _x0041_ from being read as A.
func bookText(s string) string {
	return escape.ReplaceAllStringFunc(Guard(s), func(m string) string { return "_x005F" + m })
}

// maxTab is how long the name of a tab may be (a limit of the file form).
const maxTab = 31

// tabNames makes names of sessions fit for tabs: without the characters tabs may
// not have, short enough, each once.
func tabNames(c *Content) []string {
	var out []string
	seen := map[string]bool{}
	for _, s := range c.Sessions {
		name := strings.Trim(strings.Map(func(r rune) rune {
			if strings.ContainsRune(`:\/?*[]`, r) {
				return ' '
			}
			return r
		}, s.Name), " '")
		if name == "" {
			name = s.ID
		}
		for n := 1; ; n++ {
			try := name
			if n > 1 {
				try = fmt.Sprintf("%s %d", shorten(name, maxTab-3), n)
			}
			try = shorten(try, maxTab)
			if key := strings.ToLower(try); !seen[key] && key != "sheet1" {
				seen[key] = true
				out = append(out, try)
				break
			}
		}
	}
	return out
}

func shorten(s string, n int) string {
	for utf8.RuneCountInString(s) > n {
		_, size := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-size]
	}
	return strings.TrimRight(s, " ")
}

// sessionTab writes one session.
func sessionTab(f *excelize.File, tab string, c *Content, b *plan.Block, s Session, bold, open int) error {
	put := func(row, column int, v any) error {
		cell, err := excelize.CoordinatesToCellName(column, row)
		if err != nil {
			return err
		}
		if text, ok := v.(string); ok {
			return f.SetCellStr(tab, cell, bookText(text))
		}
		return f.SetCellValue(tab, cell, v)
	}
	head := [][]any{
		{bookMark, form.Version},
		{"block", string(b.ID), "revision", b.Revision, "session", s.ID, "client", string(c.ClientID), "first day", b.Start.Plus(s.Day.Index()).String()},
		{c.Title, c.Client, s.Name},
		{form.Text{En: "Write what you did into the grey cells: load, repetitions, how many were left. Leave empty what you did not do.",
			De: "In die grauen Felder schreiben, was getan wurde: Last, Wiederholungen, wie viele noch gegangen wären. Was ausfiel, bleibt leer."}.In(c.Language)},
	}
	for i, row := range head {
		for j, v := range row {
			if err := put(i+1, j+1, v); err != nil {
				return err
			}
		}
	}
	for j, col := range bookColumns {
		name, err := excelize.ColumnNumberToName(j + 1)
		if err != nil {
			return err
		}
		if err := put(bookHeadRow, j+1, form.Text{En: col.en, De: col.de}.In(c.Language)); err != nil {
			return err
		}
		if err := f.SetColWidth(tab, name, name, col.width); err != nil {
			return err
		}
	}
	if err := f.SetRowStyle(tab, bookHeadRow, bookHeadRow, bold); err != nil {
		return err
	}
	row := bookFirstRow
	for i, w := range c.Weeks {
		for _, r := range s.Rows {
			for _, set := range bookSets(r.Weeks[i]) {
				name := r.Name
				if r.Weeks[i].Name != "" {
					name = r.Weeks[i].Name
				}
				for j, v := range []any{r.Slot, w, set.n, anatomy.Side(set.side).In(c.Language), name, set.written} {
					if err := put(row, j+1, v); err != nil {
						return err
					}
				}
				row++
			}
		}
	}
	if row > bookFirstRow {
		if err := f.SetCellStyle(tab, fmt.Sprintf("G%d", bookFirstRow), fmt.Sprintf("J%d", row-1), open); err != nil {
			return err
		}
	}
	if err := onePageWide(f, tab); err != nil {
		return err
	}
	return f.SetPanes(tab, &excelize.Panes{Freeze: true, YSplit: bookHeadRow, TopLeftCell: fmt.Sprintf("A%d", bookFirstRow), ActivePane: "bottomLeft"})
}

// onePageWide lets a tab print on its side, one page wide.
func onePageWide(f *excelize.File, tab string) error {
	yes, sideways, wide, high := true, "landscape", 1, 0
	if err := f.SetSheetProps(tab, &excelize.SheetPropsOptions{FitToPage: &yes}); err != nil {
		return err
	}
	return f.SetPageLayout(tab, &excelize.PageLayoutOptions{Orientation: &sideways, FitToWidth: &wide, FitToHeight: &high})
}

// How the table of the weeks prints (our judgement): two weeks on a page on its
// side leave letters of 8 points, %.
const (
	weeksPrinted = 2
	printedScale = 75
)

// printedWeeks lets the table of weeks print over several pages wide enough to
// read: session, order and name stand on each, then two weeks, or rest to note.
// What follows the note is for reading back and not printed.
func printedWeeks(f *excelize.File, tab string, weeks, rows int) error {
	first := slices.IndexFunc(tableColumns, func(c tableColumn) bool { return c.key == weekColumns })
	after := first + 2*weeks
	note := slices.IndexFunc(tableColumns, func(c tableColumn) bool { return c.key == "note" }) - 1 + 2*weeks
	for at := first + 2*weeksPrinted; at < after; at += 2 * weeksPrinted {
		if err := f.InsertPageBreak(tab, columnName(at)+"1"); err != nil {
			return err
		}
	}
	if err := f.InsertPageBreak(tab, columnName(after)+"1"); err != nil {
		return err
	}
	for _, area := range []excelize.DefinedName{
		{Name: "_xlnm.Print_Area", RefersTo: fmt.Sprintf("'%s'!$A$1:$%s$%d", tab, columnName(note), rows), Scope: tab},
		{Name: "_xlnm.Print_Titles", RefersTo: fmt.Sprintf("'%s'!$A:$C,'%s'!$1:$1", tab, tab), Scope: tab},
	} {
		if err := f.SetDefinedName(&area); err != nil {
			return err
		}
	}
	sideways, scale := "landscape", uint(printedScale)
	return f.SetPageLayout(tab, &excelize.PageLayoutOptions{Orientation: &sideways, AdjustTo: &scale})
}

// A bookSet is a row of the workbook.
type bookSet struct {
	n             int
	side, written string
}

// bookSets lists the sets of a cell in the order written, sides apart.
func bookSets(c Cell) []bookSet {
	var out []bookSet
	most := 0
	for _, d := range c.Doses {
		most = max(most, d.Sets)
	}
	for n := 1; n <= most; n++ {
		for _, d := range c.Doses {
			if n > d.Sets {
				continue
			}
			sides := map[string][]string{"both": {""}, "each": {"left", "right"}, "left": {"left"}, "right": {"right"}}[d.Side]
			for _, side := range sides {
				out = append(out, bookSet{n, side, d.Each[n-1]})
			}
		}
	}
	return out
}

// Heights of rows that wrap (our judgement): the width of a column is counted in
// figures of the usual letters of a spreadsheet, and other letters run wider.
const (
	wideLetters = 0.8  // letters to a figure's width, 1
	lineHeight  = 15.0 // of a line of 11 points, points
)

// tableTab writes the table of the block with its weeks side by side: first the
// days of the sessions, then a row a slot (table.go).
func tableTab(f *excelize.File, c *Content, b *plan.Block, bold int) error {
	tab := freeTab(f, form.Text{En: "Weeks", De: "Wochen"}.In(c.Language))
	if _, err := f.NewSheet(tab); err != nil {
		return err
	}
	rows := blockTable(c, b, c.Language)
	for i, row := range rows {
		for j, text := range row {
			if text == "" {
				continue
			}
			cell, err := excelize.CoordinatesToCellName(j+1, i+1)
			if err != nil {
				return err
			}
			if err := f.SetCellStr(tab, cell, bookText(text)); err != nil {
				return err
			}
		}
	}
	if err := tableLook(f, tab, rows, len(c.Weeks), bold); err != nil {
		return err
	}
	if err := daysTab(f, c, bold); err != nil {
		return err
	}
	if err := printedWeeks(f, tab, len(c.Weeks), len(rows)); err != nil {
		return err
	}
	return f.SetPanes(tab, &excelize.Panes{Freeze: true, XSplit: 3, YSplit: 1, TopLeftCell: "D2", ActivePane: "bottomRight"})
}

// tableLook sets widths, heights and styles of the table of the weeks.
func tableLook(f *excelize.File, tab string, rows [][]string, weeks, bold int) error {
	wrapped, err := f.NewStyle(&excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
	if err != nil {
		return err
	}
	if err := f.SetCellStyle(tab, "A2", fmt.Sprintf("%s%d", columnName(len(rows[0])-1), len(rows)), wrapped); err != nil {
		return err
	}
	if err := f.SetRowStyle(tab, 1, 1, bold); err != nil {
		return err
	}
	var widths []float64
	for _, col := range tableColumns {
		if col.key == weekColumns {
			widths = append(widths, slices.Repeat([]float64{28, 12}, weeks)...)
			continue
		}
		widths = append(widths, col.width)
	}
	for j, w := range widths {
		if err := f.SetColWidth(tab, columnName(j), columnName(j), w); err != nil {
			return err
		}
	}
	for i, row := range rows[1:] {
		lines := 1
		for j, text := range row {
			lines = max(lines, strings.Count(Wrap(text, int(widths[j]*wideLetters), 0), "\n"))
		}
		if err := f.SetRowHeight(tab, i+2, float64(lines)*lineHeight); err != nil {
			return err
		}
	}
	return nil
}

// freeTab returns a name no tab has.
func freeTab(f *excelize.File, name string) string {
	for i := 1; ; i++ {
		try := name
		if i > 1 {
			try = fmt.Sprintf("%s %d", name, i)
		}
		if at, err := f.GetSheetIndex(try); err != nil || at < 0 {
			return try
		}
	}
}

// daysTab writes the days of the sessions.
func daysTab(f *excelize.File, c *Content, bold int) error {
	tab := freeTab(f, form.Text{En: "Days", De: "Tage"}.In(c.Language))
	if _, err := f.NewSheet(tab); err != nil {
		return err
	}
	head := []any{form.Text{En: "session", De: "Einheit"}.In(c.Language), form.Text{En: "day", De: "Tag"}.In(c.Language), "min"}
	for _, w := range c.Weeks {
		head = append(head, fmt.Sprintf("%s %d", form.Text{En: "week", De: "Woche"}.In(c.Language), w))
	}
	if err := f.SetSheetRow(tab, "A1", &head); err != nil {
		return err
	}
	if err := f.SetRowStyle(tab, 1, 1, bold); err != nil {
		return err
	}
	for i, s := range c.Sessions {
		row := []any{bookText(s.Name), s.Day.In(c.Language), int(s.Minutes.Mean + 0.5)}
		for _, d := range s.Dates {
			row = append(row, d.String())
		}
		if err := f.SetSheetRow(tab, fmt.Sprintf("A%d", i+2), &row); err != nil {
			return err
		}
	}
	last, err := excelize.ColumnNumberToName(len(head))
	if err != nil {
		return err
	}
	if err := f.SetColWidth(tab, "B", last, 12); err != nil {
		return err
	}
	if err := onePageWide(f, tab); err != nil {
		return err
	}
	return f.SetColWidth(tab, "A", "A", 34)
}
