package figure

import "codeberg.org/go-pdf/fpdf"

// draw draws a placed drawing: every mark with its filling and outline.
func (p Placed) draw(f *fpdf.Fpdf) {
	scale := p.W / p.Drawing.W
	f.SetLineCapStyle("round")
	f.SetLineJoinStyle("round")
	for i := range p.Drawing.Marks {
		m := &p.Drawing.Marks[i]
		if m.Ink != NoPaint && m.Width > 0 && m.Under {
			p.stroke(f, m, 2*m.Width*scale, "D")
		}
		style := ""
		if m.Fill != NoPaint {
			f.SetFillColor(m.Fill.rgb())
			style = "F"
		}
		width := 0.0
		if m.Ink != NoPaint && m.Width > 0 && !m.Under {
			width = m.Width * scale
			style += "D"
		}
		if style != "" {
			p.stroke(f, m, width, style)
		}
	}
}

// stroke traces the rings of a mark and paints them.
func (p Placed) stroke(f *fpdf.Fpdf, m *Mark, width float64, style string) {
	if width > 0 {
		f.SetDrawColor(m.Ink.rgb())
		f.SetLineWidth(width)
		if m.Dash > 0 {
			f.SetDashPattern([]float64{m.Dash * p.W / p.Drawing.W}, 0)
			defer f.SetDashPattern([]float64{}, 0)
		}
	}
	for _, r := range m.Rings {
		p.trace(f, m, r)
	}
	f.DrawPath(style)
}

// trace walks one ring.
func (p Placed) trace(f *fpdf.Fpdf, m *Mark, r []Point) {
	scale := p.W / p.Drawing.W
	at := func(q Point) (float64, float64) { return p.X + q.X*scale, p.Y + q.Y*scale }
	for i, q := range r {
		x, y := at(q)
		switch {
		case i == 0:
			f.MoveTo(x, y)
		case !m.Curve:
			f.LineTo(x, y)
		case i%3 == 0:
			x1, y1 := at(r[i-2])
			x2, y2 := at(r[i-1])
			f.CurveBezierCubicTo(x1, y1, x2, y2, x, y)
		}
	}
	if !m.Open {
		f.ClosePath()
	}
}

// rgb splits a colour.
func (p Paint) rgb() (r, g, b int) { return int(p >> 16 & 255), int(p >> 8 & 255), int(p & 255) }
