package sheet

import (
	"rsc.io/qr"

	"corbel/figure"
)

// measureBox is the width of a box for a number, mm.
const measureBox = 11.0

// A measureBlock is a box for a number with its text laid out: beside the boxes
// where that takes at most two lines, else above them.
type measureBlock struct {
	lines  []string
	style  figure.Style
	boxes  float64 // width of the boxes with their sides, mm
	above  bool
	sides  []string
	height float64
}

// measureBlock lays out a box.
func (l *layout) measureBlock(b Box) measureBlock {
	m := measureBlock{style: l.style(9.2, false, figure.Ink), sides: b.Sides}
	if len(m.sides) == 0 {
		m.sides = []string{""}
	}
	for _, side := range m.sides {
		m.boxes += measureBox + 2.5 + figure.Measure(side, m.style)
	}
	width := l.left() - l.inset() - 3
	m.lines = figure.Wrap(b.What, m.style, max(width-m.boxes, 1))
	m.height = max(l.boxSide(), float64(len(m.lines))*m.style.Height()) + 1.5
	if len(m.lines) > 2 {
		m.above = true
		m.lines = figure.Wrap(b.What, m.style, width)
		m.height = l.boxSide() + float64(len(m.lines))*m.style.Height() + 1.5
	}
	return m
}

// measureHeight is the height of a box with its text.
func (l *layout) measureHeight(b Box) float64 { return l.measureBlock(b).height }

// measure writes boxes for a number the client is asked for.
func (l *layout) measure(b Box, x, y float64) {
	m := l.measureBlock(b)
	for i, t := range m.lines {
		l.text(x, y+0.8+float64(i)*m.style.Height(), t, m.style)
	}
	if m.above {
		y += float64(len(m.lines)) * m.style.Height()
	}
	at := x + l.left() - l.inset() - 3 - m.boxes
	for _, side := range m.sides {
		at += 1.5
		l.text(at, y+0.5+(l.boxSide()-m.style.Height())/2, side, m.style)
		at += figure.Measure(side, m.style) + 1
		l.page.Rects = append(l.page.Rects, figure.Rect{X: at, Y: y + 0.5, W: measureBox, H: l.boxSide(), Width: 0.3, Grey: figure.Ink, Fill: figure.NoFill})
		at += measureBox
	}
}

// code draws a QR code of an address.
func (l *layout) code(link string, x, y float64) {
	q, err := qr.Encode(link, qr.M)
	if err != nil {
		l.page.Notes = append(l.page.Notes, "no QR code for "+link)
		return
	}
	module := l.frameSide() / float64(q.Size)
	for i := range q.Size {
		for j := range q.Size {
			if q.Black(i, j) {
				l.page.Rects = append(l.page.Rects, figure.Rect{X: x + float64(i)*module, Y: y + float64(j)*module, W: module, H: module, Fill: figure.Ink})
			}
		}
	}
}
