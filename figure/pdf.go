package figure

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// PDF writes a document as PDF with the embedded font, vectors only. The bytes
// are the same for the same document: at stands in for the time of writing. The
// error names characters the font lacks.
func PDF(d *Document, at time.Time) ([]byte, error) {
	if err := d.complete(); err != nil {
		return nil, err
	}
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: d.Paper.W, Ht: d.Paper.H}})
	f.SetCatalogSort(true)
	f.SetCreationDate(at)
	f.SetModificationDate(at)
	f.SetTitle(d.Title, true)
	f.SetLang(d.Language)
	f.SetCreator("Corbel", true)
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes(family, "", bytes.Clone(regularTTF))
	f.AddUTF8FontFromBytes(family, "B", bytes.Clone(boldTTF))
	for _, p := range d.Pages {
		f.AddPage()
		p.draw(f)
	}
	var out bytes.Buffer
	if err := f.Output(&out); err != nil {
		return nil, fmt.Errorf("write PDF: %w", err)
	}
	return out.Bytes(), nil
}

const family = "sheet"

// complete says which characters of the document the font lacks.
func (d *Document) complete() error {
	var lines []string
	for i, p := range d.Pages {
		for _, t := range p.Texts {
			if miss := Missing(t.Text, t.Style); len(miss) > 0 {
				lines = append(lines, fmt.Sprintf("page %d, %q: the sheet's font lacks %s", i+1, t.Text, strings.Join(miss, ", ")))
			}
		}
	}
	if len(lines) > 0 {
		return fmt.Errorf("%s; write Latin, Greek or Cyrillic letters there", strings.Join(lines, "\n"))
	}
	return nil
}

// draw draws a page: fillings first, then drawings and lines, texts last.
func (p *Page) draw(f *fpdf.Fpdf) {
	for _, r := range p.Rects {
		r.draw(f)
	}
	for _, d := range p.Drawings {
		d.draw(f)
	}
	f.SetLineCapStyle("round")
	for _, l := range p.Lines {
		f.SetDrawColor(l.Grey, l.Grey, l.Grey)
		f.SetLineWidth(l.Width)
		if l.Dash > 0 {
			f.SetDashPattern([]float64{l.Dash, l.Dash}, 0)
		}
		f.Line(l.X1, l.Y1, l.X2, l.Y2)
		if l.Dash > 0 {
			f.SetDashPattern([]float64{}, 0)
		}
	}
	for _, c := range p.Curves {
		f.SetDrawColor(c.Grey, c.Grey, c.Grey)
		f.SetLineWidth(c.Width)
		f.CurveBezierCubic(c.X1, c.Y1, c.X2, c.Y2, c.X3, c.Y3, c.X4, c.Y4, "D")
	}
	for _, t := range p.Texts {
		style := ""
		if t.Style.Bold {
			style = "B"
		}
		f.SetFont(family, style, t.Style.Size)
		f.SetTextColor(t.Style.Grey, t.Style.Grey, t.Style.Grey)
		f.Text(t.X, t.Y, t.Text)
		if t.Link != "" {
			x0, y0, x1, y1 := t.Box()
			f.LinkString(x0, y0, x1-x0, y1-y0, t.Link)
		}
	}
}

func (r Rect) draw(f *fpdf.Fpdf) {
	style := ""
	if r.Fill != NoFill {
		f.SetFillColor(r.Fill, r.Fill, r.Fill)
		style += "F"
	}
	if r.Width > 0 {
		f.SetDrawColor(r.Grey, r.Grey, r.Grey)
		f.SetLineWidth(r.Width)
		style += "D"
	}
	if style != "" {
		f.Rect(r.X, r.Y, r.W, r.H, style)
	}
}
