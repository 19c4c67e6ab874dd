package sheet

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Limits on workbooks that are read (our judgement): a workbook is a zip file,
// and what it unfolds to is bounded before it is read.
const (
	maxBook  = 8 << 20  // bytes of the file
	maxUnzip = 64 << 20 // bytes it may unfold to
	maxRows  = 20_000   // rows of a tab
	maxTabs  = 60

	maxColumns = 300 // columns that are read, five times what twelve weeks need
	maxWide    = 200 // rows of more columns that are empty there, each costs time
)

// openBook opens a workbook in bounded memory. The error says what is wrong with
// the file.
func openBook(name string, data []byte) (*excelize.File, error) {
	if len(data) > maxBook {
		return nil, fmt.Errorf("%s: the workbook is larger than %d MB; delete what is not needed", name, maxBook>>20)
	}
	if bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")) {
		return nil, fmt.Errorf("%s: the workbook is protected by a password or in an old form; save it as .xlsx without a password", name)
	}
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: maxUnzip, UnzipXMLSizeLimit: maxUnzip / 4})
	if err != nil {
		if strings.Contains(err.Error(), "unzip size exceeds") {
			return nil, fmt.Errorf("%s: the workbook unfolds to more than %d MB; it is not read", name, maxUnzip>>20)
		}
		return nil, fmt.Errorf("%s: this is not a whole .xlsx workbook (%v); save or send it again", name, err)
	}
	if len(f.GetSheetList()) > maxTabs {
		f.Close()
		return nil, fmt.Errorf("%s: the workbook has more than %d tabs", name, maxTabs)
	}
	return f, nil
}

// rowsOf reads the cells of a tab as text, row by row: a file with cells far out
// costs no memory for what lies between. Empty rows at the end are left out.
func rowsOf(f *excelize.File, tab string) ([][]string, error) {
	rows, err := f.Rows(tab)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out [][]string
	wide := 0
	for n := 1; rows.Next(); n++ {
		cells, err := rows.Columns()
		if err != nil {
			return nil, err
		}
		if len(cells) > maxColumns {
			if wide++; wide > maxWide || slices.ContainsFunc(cells[maxColumns:], func(s string) bool { return s != "" }) {
				return nil, fmt.Errorf("row %d reaches over more than %d columns; delete what stands so far out", n, maxColumns)
			}
		}
		cells = slices.Clone(cells[:min(len(cells), maxColumns)])
		if !slices.ContainsFunc(cells, func(s string) bool { return s != "" }) {
			cells = nil
		}
		switch {
		case n <= maxRows:
			out = append(out, cells)
		case cells != nil:
			return nil, fmt.Errorf("more than %d rows", maxRows)
		}
	}
	for len(out) > 0 && out[len(out)-1] == nil {
		out = out[:len(out)-1]
	}
	return out, rows.Error()
}

// withoutValue finds formulas that carry no value, as programs other than
// spreadsheets write them: what they would say cannot be read.
func withoutValue(data []byte) []Unread {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil
	}
	var book struct {
		Sheets []struct {
			Name string `xml:"name,attr"`
			ID   string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
		} `xml:"sheets>sheet"`
	}
	var links struct {
		List []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	if part(z, "xl/workbook.xml", &book) != nil || part(z, "xl/_rels/workbook.xml.rels", &links) != nil {
		return nil
	}
	var out []Unread
	for _, s := range book.Sheets {
		for _, l := range links.List {
			if l.ID == s.ID {
				out = append(out, formulasOf(z, path.Base(l.Target), s.Name)...)
			}
		}
	}
	return out
}

// part decodes one part of a workbook.
func part(z *zip.Reader, name string, into any) error {
	src, err := z.Open(name)
	if err != nil {
		return err
	}
	defer src.Close()
	return xml.NewDecoder(io.LimitReader(src, maxUnzip)).Decode(into)
}

// formulasOf lists the formulas of a sheet that carry no value.
func formulasOf(z *zip.Reader, file, tab string) []Unread {
	src, err := z.Open("xl/worksheets/" + file)
	if err != nil {
		return nil
	}
	defer src.Close()
	text, err := io.ReadAll(io.LimitReader(src, maxUnzip))
	if err != nil || !bytes.Contains(text, []byte("<f")) {
		return nil
	}
	var out []Unread
	d := xml.NewDecoder(bytes.NewReader(text))
	for {
		token, err := d.Token()
		if err != nil {
			return out
		}
		start, ok := token.(xml.StartElement)
		if !ok || start.Name.Local != "c" {
			continue
		}
		var cell struct {
			At      string  `xml:"r,attr"`
			Formula *string `xml:"f"`
			Value   *string `xml:"v"`
		}
		if d.DecodeElement(&cell, &start) == nil && cell.Formula != nil && (cell.Value == nil || *cell.Value == "") && len(out) < maxRows {
			out = append(out, Unread{tab, cell.At, "=" + *cell.Formula, "this formula carries no value; open the file in a spreadsheet, save it and import it again"})
		}
	}
}
