package sheet

import (
	"fmt"
	"strings"

	"rsc.io/qr"

	"corbel/figure"
)

// scales are the sizes tried to get a session onto one page.
var scales = []float64{1, 0.93, 0.86}

// session lays out a session: one page where it fits at a legible size, else
// pages broken between exercises.
func (l *layout) session(s *Session) {
	best := scales[0]
	for _, x := range scales {
		l.scale = x
		if l.sessionHeight(s) <= l.bottom()-margin {
			best = x
			break
		}
	}
	l.scale = best
	l.newPage()
	l.sessionHead(s, false)
	for i := range s.Rows {
		h := l.rowHeight(&s.Rows[i])
		if l.y+h > l.bottom() {
			l.newPage()
			l.sessionHead(s, true)
		}
		l.row(&s.Rows[i], h)
	}
	l.sessionFoot(s)
	l.scale = 1
}

// sessionHeight is the height a whole session takes.
func (l *layout) sessionHeight(s *Session) float64 {
	h := l.headHeight(s) + l.footHeightOf(s)
	for i := range s.Rows {
		h += l.rowHeight(&s.Rows[i])
	}
	return h
}

// headHeight is the height of the head of a session.
func (l *layout) headHeight(s *Session) float64 {
	big, small := l.style(16, true, figure.Ink), l.style(10, false, figure.Soft)
	return paraHeight(l.width(), s.Name, big) + paraHeight(l.width(), l.sub(s), small) + 3*small.Height() + 3
}

// sub is the line under the name of a session.
func (l *layout) sub(s *Session) string {
	return fmt.Sprintf("%s · %s · %s", s.Day.In(l.c.Language), s.Place, l.minutes(*s))
}

// left is the width of the left column.
func (l *layout) left() float64 { return leftShare * l.width() }

// column returns left edge and width of a week's column.
func (l *layout) column(i int) (x, w float64) {
	w = (l.width() - l.left()) / float64(len(l.c.Weeks))
	return margin + l.left() + float64(i)*w, w
}

// sessionHead writes name, day and place, and the heads of the weeks.
func (l *layout) sessionHead(s *Session, again bool) {
	name := s.Name
	if again {
		name += l.pick(" (continued)", " (Fortsetzung)")
	}
	l.y = l.para(margin, l.y, l.width(), name, l.style(16, true, figure.Ink))
	l.y = l.para(margin, l.y, l.width(), l.sub(s), l.style(10, false, figure.Soft)) + 1
	b, d, f := l.style(9.5, true, figure.Ink), l.style(9, false, figure.Soft), l.style(7.2, false, figure.Soft)
	for i, w := range l.c.Weeks {
		x, width := l.column(i)
		l.text(x+1, l.y, fmt.Sprintf(l.pick("Week %d", "Woche %d"), w), b)
		date := l.pick("left out", "fällt aus")
		if !s.Dates[i].IsZero() {
			date = WeekDay(s.Dates[i], l.c.Language) + " " + ShortDay(s.Dates[i], l.c.Language)
		}
		l.text(x+1, l.y+b.Height(), date, d)
		l.text(x+1, l.y+b.Height()+d.Height(), figure.Wrap(l.pick("load × reps, reserve", "Last × Wdh., Reserve"), f, width-2)[0], f)
	}
	l.y += b.Height() + d.Height() + f.Height() + 1
	l.rule(l.y, 0.6, figure.Ink)
}

// A leftLine is one line of the left column of a row.
type leftLine struct {
	text  string
	style figure.Style
	link  string
}

// leftLines wraps everything that stands in the left column of a row.
func (l *layout) leftLines(r *Row) []leftLine {
	var out []leftLine
	w := l.left() - l.inset() - 3
	add := func(text string, s figure.Style) {
		if text == "" {
			return
		}
		for _, line := range figure.Wrap(text, s, w) {
			out = append(out, leftLine{text: line, style: s})
		}
	}
	name := r.Label + "  " + r.Name
	if r.Side != "" {
		name += ", " + r.Side
	}
	add(name, l.style(11.5, true, figure.Ink))
	small, soft := l.style(8.8, false, figure.Ink), l.style(8.8, false, figure.Soft)
	add(l.meta(*r), soft)
	if len(r.WarmUp) > 0 {
		add(l.pick("Warm-up: ", "Aufwärmen: ")+strings.Join(r.WarmUp, ", "), small)
	}
	for _, c := range r.Cues {
		add(c, small)
	}
	for _, x := range r.Reasons {
		add(x, l.style(8.8, true, figure.Ink))
	}
	add(r.Note, small)
	if r.Link != "" {
		for _, line := range figure.Wrap(r.Link, soft, w) {
			out = append(out, leftLine{line, soft, r.Link})
		}
	}
	return out
}

// inset is the width of the frame column.
func (l *layout) inset() float64 {
	if l.o.Figures {
		return frameSize + 2
	}
	return 0
}

// leftHeight is the height of the left column of a row.
func (l *layout) leftHeight(r *Row) float64 {
	h := 0.0
	for _, x := range l.leftLines(r) {
		h += x.style.Height()
	}
	for _, b := range r.Measure {
		h += l.measureHeight(b)
	}
	frame := 0.0
	if l.o.Figures {
		frame = frameSize
	}
	if r.Link != "" {
		if l.o.Figures {
			frame += frameSize + 1.5
		} else {
			h += frameSize + 1.5
		}
	}
	return max(h, frame)
}

// rowHeight is the height of a row with its air.
func (l *layout) rowHeight(r *Row) float64 {
	h := l.leftHeight(r)
	for i := range r.Weeks {
		h = max(h, l.cellHeight(r, &r.Weeks[i], i))
	}
	return h + 3.5
}

// cellLines wraps the lines of a cell.
func (l *layout) cellLines(c *Cell, i int) []leftLine {
	var out []leftLine
	_, w := l.column(i)
	if c.Skipped {
		return []leftLine{{text: l.pick("left out", "fällt aus"), style: l.style(9, false, figure.Soft)}}
	}
	texts := c.Lines
	if c.Name != "" {
		texts = append([]string{c.Name}, texts...)
	}
	for _, t := range texts {
		s := l.style(9.3, false, figure.Ink)
		if strings.Contains(t, "×") || t == c.Name {
			s = l.style(10.5, true, figure.Ink)
		}
		for _, line := range figure.Wrap(t, s, w-2) {
			out = append(out, leftLine{text: line, style: s})
		}
	}
	return out
}

// boxRows is how many rows of boxes a cell has, and how many a row.
func boxRows(r *Row, c *Cell) (rows, across int) {
	if c.Skipped || c.Sets == 0 {
		return 0, 1
	}
	across = min(c.Sets, boxesARow)
	rows = (c.Sets + across - 1) / across
	if r.Sides {
		rows *= 2
	}
	return rows, across
}

func (l *layout) cellHeight(r *Row, c *Cell, i int) float64 {
	h := 0.0
	for _, x := range l.cellLines(c, i) {
		h += x.style.Height()
	}
	rows, _ := boxRows(r, c)
	return h + float64(rows)*(boxHeight+0.6) + 0.8
}

// row writes one exercise.
func (l *layout) row(r *Row, h float64) {
	top := l.y + 1.5
	l.leftColumn(r, top)
	for i := range r.Weeks {
		l.cell(r, i, top)
	}
	l.y += h
	l.rule(l.y, 0.25, figure.Hair)
}

// leftColumn writes the left column of a row.
func (l *layout) leftColumn(r *Row, top float64) {
	x := margin + l.inset()
	if l.o.Figures {
		l.frame(r, margin, top+0.5)
	}
	y := top
	for _, line := range l.leftLines(r) {
		n := len(l.page.Texts)
		y = l.text(x, y, line.text, line.style)
		if line.link != "" && len(l.page.Texts) > n {
			l.page.Texts[n].Link = line.link
		}
	}
	for _, b := range r.Measure {
		l.measure(b, x, y)
		y += l.measureHeight(b)
	}
	if r.Link != "" {
		if l.o.Figures {
			l.code(r.Link, margin, top+frameSize+2)
		} else {
			l.code(r.Link, x, y+1)
		}
	}
}

// frame draws the frame a figure will stand in, with the number of the exercise.
func (l *layout) frame(r *Row, x, y float64) {
	l.page.Rects = append(l.page.Rects, figure.Rect{X: x, Y: y, W: frameSize, H: frameSize, Width: 0.3, Grey: figure.Hair, Fill: figure.NoFill})
	s := l.style(20, true, figure.Hair)
	w := figure.Measure(r.Label, s)
	l.text(x+(frameSize-w)/2, y+(frameSize-s.Height())/2, r.Label, s)
}

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
	m := measureBlock{style: l.style(8.5, false, figure.Ink), sides: b.Sides}
	if len(m.sides) == 0 {
		m.sides = []string{""}
	}
	for _, side := range m.sides {
		m.boxes += measureBox + 2.5 + figure.Measure(side, m.style)
	}
	width := l.left() - l.inset() - 3
	m.lines = figure.Wrap(b.What, m.style, max(width-m.boxes, 1))
	m.height = max(boxHeight, float64(len(m.lines))*m.style.Height()) + 1.5
	if len(m.lines) > 2 {
		m.above = true
		m.lines = figure.Wrap(b.What, m.style, width)
		m.height = boxHeight + float64(len(m.lines))*m.style.Height() + 1.5
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
		l.text(at, y+boxHeight/2-1.5, side, m.style)
		at += figure.Measure(side, m.style) + 1
		l.page.Rects = append(l.page.Rects, figure.Rect{X: at, Y: y + 0.5, W: measureBox, H: boxHeight, Width: 0.3, Grey: figure.Ink, Fill: figure.NoFill})
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
	module := frameSize / float64(q.Size)
	for i := range q.Size {
		for j := range q.Size {
			if q.Black(i, j) {
				l.page.Rects = append(l.page.Rects, figure.Rect{X: x + float64(i)*module, Y: y + float64(j)*module, W: module, H: module, Fill: figure.Ink})
			}
		}
	}
}

// cell writes one week of an exercise with its boxes to write in.
func (l *layout) cell(r *Row, i int, top float64) {
	c := &r.Weeks[i]
	x, w := l.column(i)
	y := top
	for _, line := range l.cellLines(c, i) {
		y = l.text(x+1, y, line.text, line.style)
	}
	rows, across := boxRows(r, c)
	y += 0.8
	bw := (w - 2) / float64(across)
	sides := 1
	if r.Sides {
		sides = 2
	}
	soft := l.style(7, false, figure.Soft)
	for k := range rows {
		left := c.Sets - k/sides*across
		for j := range min(across, left) {
			l.page.Rects = append(l.page.Rects, figure.Rect{X: x + 1 + float64(j)*bw, Y: y, W: bw - 0.6, H: boxHeight, Width: 0.25, Grey: figure.Soft, Fill: figure.NoFill})
			if sides == 2 && j == 0 {
				letter := "L"
				if k%2 == 1 {
					letter = "R"
				}
				l.text(x+1.6, y+0.4, letter, soft)
			}
		}
		y += boxHeight + 0.6
	}
}

// footHeightOf is the height of the foot of a session.
func (l *layout) footHeightOf(s *Session) float64 {
	small := l.style(8.2, false, figure.Ink)
	h := 2.0
	for _, t := range l.footTexts(s) {
		h += paraHeight(l.width(), t, small) + 0.5
	}
	return h
}

// footTexts are the sentences under a session: changes, note, cautions.
func (l *layout) footTexts(s *Session) []string {
	var out []string
	for _, c := range s.Changes {
		out = append(out, l.pick("Changed ", "Geändert ")+c)
	}
	if s.Note != "" {
		out = append(out, s.Note)
	}
	if len(s.Cautions) > 0 {
		out = append(out, l.pick("Take care: ", "Bitte beachten: ")+strings.Join(s.Cautions, " "))
	}
	return append(out, l.c.Cautions[0])
}

// sessionFoot writes the sentences under a session.
func (l *layout) sessionFoot(s *Session) {
	small := l.style(8.2, false, figure.Ink)
	l.y += 1.5
	for _, t := range l.footTexts(s) {
		for _, line := range figure.Wrap(t, small, l.width()) {
			l.room(small.Height())
			l.y = l.text(margin, l.y, line, small)
		}
		l.y += 0.5
	}
}
