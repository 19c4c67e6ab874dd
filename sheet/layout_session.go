package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"corbel/figure"
)

// scales are the sizes tried to get a session onto one page, the largest first.
// Our judgement: the smallest still reads at arm's length (8 points), the largest
// keeps a line of six words in a cue.
var scales = []float64{1.15, 1.1, 1.05, 1, 0.96, 0.92, 0.88, 0.87}

// weeksAcross is how many weeks stand side by side; longer blocks take more pages.
const weeksAcross = 5

// session lays out a session: one page where it fits at a legible size, else
// pages broken between exercises, evenly filled. More weeks than stand side by
// side go on pages of their own.
func (l *layout) session(s *Session) {
	n := len(l.c.Weeks)
	parts := (n + weeksAcross - 1) / weeksAcross
	for i := range parts {
		l.from, l.to = i*n/parts, (i+1)*n/parts
		l.weeks(s, i+1 < parts)
	}
	l.scale = 1
}

// weeks lays out a session for the weeks from..to-1.
func (l *layout) weeks(s *Session, more bool) {
	pages := l.fit(s)
	for i, rows := range pages {
		l.newPage()
		l.sessionHead(s, i > 0)
		for _, k := range rows {
			l.row(&s.Rows[k], l.rowHeight(&s.Rows[k]))
		}
	}
	l.sessionFoot(s)
}

// fit sets the scale and returns the rows of each page: the fewest pages there
// can be, at the largest scale that needs no more.
func (l *layout) fit(s *Session) [][]int {
	l.scale = scales[len(scales)-1]
	best := l.broken(s)
	for _, x := range scales {
		l.scale = x
		if pages := l.broken(s); len(pages) <= len(best) {
			return pages
		}
	}
	return best
}

// broken breaks a session into pages at the present scale. Exercises of a
// superset stay together where a page holds them; the foot stays with the last
// exercise. The pages are filled as evenly as the rows allow.
func (l *layout) broken(s *Session) [][]int {
	units, heights := l.units(s)
	room := l.bottom() - margin - l.headHeight(s)
	foot := l.footHeightOf(s)
	pages := packed(heights, room, foot)
	for cap := room * 0.3; cap < room; cap += room * 0.02 {
		if even := packed(heights, cap, foot*cap/room); len(even) == len(pages) && highest(heights, even, foot) <= room {
			pages = even
			break
		}
	}
	var out [][]int
	for _, p := range pages {
		var rows []int
		for _, u := range p {
			rows = append(rows, units[u]...)
		}
		out = append(out, rows)
	}
	return out
}

// units groups the rows that stay together, with the height of each group.
func (l *layout) units(s *Session) (units [][]int, heights []float64) {
	room := l.bottom() - margin - l.headHeight(s)
	for i := range s.Rows {
		if i == len(s.Rows)-1 {
			room -= l.footHeightOf(s)
		}
		h := l.rowHeight(&s.Rows[i])
		if n := len(units) - 1; n >= 0 && s.Rows[i].Mates != "" && s.Rows[i-1].Mates == s.Rows[i].Mates && heights[n]+h <= room {
			units[n], heights[n] = append(units[n], i), heights[n]+h
			continue
		}
		units, heights = append(units, []int{i}), append(heights, h)
	}
	return units, heights
}

// packed fills pages of room mm in order; the last keeps foot mm free, and takes
// the last group along where it must.
func packed(heights []float64, room, foot float64) [][]int {
	var pages [][]int
	used := math.Inf(1)
	for i, h := range heights {
		need := h
		if i == len(heights)-1 {
			need += foot
		}
		if used+need > room {
			pages, used = append(pages, nil), 0
		}
		pages[len(pages)-1] = append(pages[len(pages)-1], i)
		used += h
	}
	return pages
}

// highest is the height of the fullest page.
func highest(heights []float64, pages [][]int, foot float64) float64 {
	most := 0.0
	for i, p := range pages {
		h := 0.0
		for _, u := range p {
			h += heights[u]
		}
		if i == len(pages)-1 {
			h += foot
		}
		most = max(most, h)
	}
	return most
}

// headHeight is the height of the head of a session.
func (l *layout) headHeight(s *Session) float64 {
	big, small := l.style(16, true, figure.Ink), l.style(10, false, figure.Soft)
	b, d := l.weekStyles()
	return paraHeight(l.width(), s.Name+l.continued(), big) + paraHeight(l.width(), l.sub(s), small) + b.Height() + d.Height() + 2
}

func (l *layout) continued() string { return l.pick(" (continued)", " (Fortsetzung)") }

// weekStyles are the styles of a week's number and date.
func (l *layout) weekStyles() (number, date figure.Style) {
	return l.style(9.5, true, figure.Ink), l.style(9, false, figure.Soft)
}

// sub is the line under the name of a session.
func (l *layout) sub(s *Session) string {
	return fmt.Sprintf("%s · %s · %s", s.Day.In(l.c.Language), s.Place, l.minutes(*s))
}

// left is the width of the left column.
func (l *layout) left() float64 { return leftShare * l.width() }

// column returns left edge and width of a week's column.
func (l *layout) column(i int) (x, w float64) {
	w = (l.width() - l.left()) / float64(l.to-l.from)
	return margin + l.left() + float64(i-l.from)*w, w
}

// sessionHead writes name, day and place, and the heads of the weeks.
func (l *layout) sessionHead(s *Session, again bool) {
	name := s.Name
	if again {
		name += l.continued()
	}
	l.y = l.para(margin, l.y, l.width(), name, l.style(16, true, figure.Ink))
	l.y = l.para(margin, l.y, l.width(), l.sub(s), l.style(10, false, figure.Soft)) + 1
	b, d := l.weekStyles()
	for i := l.from; i < l.to; i++ {
		x, width := l.column(i)
		date := l.pick("left out", "fällt aus")
		if !s.Dates[i].IsZero() {
			date = WeekDay(s.Dates[i], l.c.Language) + " " + ShortDay(s.Dates[i], l.c.Language)
		}
		l.text(x+1, l.y, fmt.Sprintf(l.pick("Week %d", "Woche %d"), l.c.Weeks[i]), b)
		l.text(x+1, l.y+b.Height(), date, fitted(date, d, width-2))
	}
	l.y += b.Height() + d.Height() + 0.6
	l.rule(l.y, 0.6, figure.Ink)
}

// fitted returns a style small enough for a text to fit a width, 6 points at the
// least.
func fitted(text string, s figure.Style, width float64) figure.Style {
	for figure.Measure(text, s) > width && s.Size > 6 {
		s.Size -= 0.25
	}
	return s
}

// shrunk returns a style up to an eighth smaller where that keeps a text on one
// line.
func shrunk(text string, s figure.Style, width float64) figure.Style {
	small := s
	small.Size *= 0.875
	if figure.Measure(text, s) > width && figure.Measure(text, small) <= width {
		for figure.Measure(text, s) > width {
			s.Size -= 0.1
		}
	}
	return s
}

// A leftLine is one line of text; a lead stands before it in bold.
type leftLine struct {
	lead, text string
	style      figure.Style
	link       string
}

func (x leftLine) bold() figure.Style {
	s := x.style
	s.Bold = true
	return s
}

// leadLines wraps a text behind a lead.
func leadLines(lead, text string, s figure.Style, w float64) []leftLine {
	first := leftLine{lead: lead, style: s}
	indent := 0.0
	if lead != "" {
		indent = figure.Measure(lead+" ", first.bold())
	}
	var out []leftLine
	for i, line := range figure.WrapAfter(joined(text), s, w, indent) {
		x := leftLine{text: line, style: s}
		if i == 0 {
			x.lead = lead
		}
		out = append(out, x)
	}
	return out
}

// write writes lines from y on and returns the y below them.
func (l *layout) write(x, y float64, lines []leftLine) float64 {
	for _, line := range lines {
		at := x
		if line.lead != "" {
			l.text(at, y, line.lead, line.bold())
			at += figure.Measure(line.lead+" ", line.bold())
		}
		n := len(l.page.Texts)
		y = l.text(at, y, line.text, line.style)
		if line.link != "" && len(l.page.Texts) > n {
			l.page.Texts[n].Link = line.link
		}
	}
	return y
}

// linesHeight is the height of lines.
func linesHeight(lines []leftLine) float64 {
	h := 0.0
	for _, x := range lines {
		h += x.style.Height()
	}
	return h
}

// leftLines wraps what stands beside the weeks of a row: name, reasons, rest and
// tempo, warm-up, note, link.
func (l *layout) leftLines(r *Row) []leftLine {
	var out []leftLine
	w := l.left() - l.inset() - 3
	name := r.Label + "  " + r.Name
	if r.Side != "" {
		name += ", " + r.Side
	}
	out = append(out, leadLines("", name, l.style(12, true, figure.Ink), w)...)
	ink, soft := l.style(9.2, false, figure.Ink), l.style(9.2, false, figure.Soft)
	for _, x := range r.Reasons {
		out = append(out, leadLines("", x, ink, w)...)
	}
	if meta := l.meta(*r); meta != "" {
		out = append(out, leadLines("", upperFirst(meta), soft, w)...)
	}
	if len(r.WarmUp) > 0 {
		out = append(out, leadLines(l.pick("Warm-up:", "Aufwärmen:"), strings.Join(kept(r.WarmUp), ", "), ink, w)...)
	}
	if r.Note != "" {
		out = append(out, leadLines("", r.Note, l.style(9.2, true, figure.Ink), w)...)
	}
	if r.Link != "" {
		for _, line := range figure.Wrap(r.Link, soft, w) {
			out = append(out, leftLine{text: line, style: soft, link: r.Link})
		}
	}
	return out
}

// kept keeps texts from being broken inside: 8 × 40 kg.
func kept(texts []string) []string {
	out := slices.Clone(texts)
	for i := range out {
		out[i] = strings.ReplaceAll(out[i], " ", "\u00a0")
	}
	return out
}

// frame is the side of the frame for a figure, and of a QR code, mm.
func (l *layout) frameSide() float64 { return frameSize * max(1, l.scale) }

// inset is the width of the column for frames and codes.
func (l *layout) inset() float64 {
	if l.o.Figures || l.links {
		return l.frameSide() + 2.5
	}
	return 0
}

// insetHeight is the height of the frame and code of a row.
func (l *layout) insetHeight(r *Row) float64 {
	h := 0.0
	if l.o.Figures {
		h += l.frameSide() + 1.5
	}
	if r.Link != "" {
		h += l.frameSide() + 1.5
	}
	return h
}

// cueGap is the gap between the columns of cues, mm.
const cueGap = 4.0

// cueLeft is how far from the margin the cues of a row start: below the frame,
// or beside a code that reaches further down than the weeks.
func (l *layout) cueLeft(r *Row) float64 {
	if l.insetHeight(r) > l.upperHeight(r)+1 {
		return l.inset()
	}
	return 0
}

// cueColumns wraps the cues of a row side by side under its weeks.
func (l *layout) cueColumns(r *Row) (columns [][]leftLine, width, height float64) {
	n := float64(len(r.Cues))
	if n == 0 {
		return nil, 0, 0
	}
	width = (l.width() - l.cueLeft(r) - (n-1)*cueGap) / n
	for _, cue := range r.Cues {
		lead, text := leadOf(cue)
		lines := leadLines(lead, text, l.style(9.2, false, figure.Ink), width)
		columns = append(columns, lines)
		height = max(height, linesHeight(lines))
	}
	return columns, width, height + 1.2
}

// upperHeight is the height of a row above its cues.
func (l *layout) upperHeight(r *Row) float64 {
	h := linesHeight(l.leftLines(r))
	for _, b := range r.Measure {
		h += l.measureHeight(b)
	}
	return max(h, l.cellsHeight(r))
}

// rowHeight is the height of a row with its air.
func (l *layout) rowHeight(r *Row) float64 {
	_, _, cues := l.cueColumns(r)
	return max(l.upperHeight(r)+cues, l.insetHeight(r)) + 2*l.air()
}

// rowAir is the air above and below an exercise, mm (our judgement).
const rowAir = 1.5

// air is the air of the present scale: where texts are small it is smaller still,
// since a millimetre an exercise often saves a page.
func (l *layout) air() float64 {
	x := min(1, l.scale)
	return rowAir * x * x
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
		s := l.style(9.6, false, figure.Ink)
		if strings.Contains(t, "×") || t == c.Name {
			s = l.style(11, true, figure.Ink)
		}
		t = joined(strings.ReplaceAll(t, " × ", "\u00a0×\u00a0"))
		s = shrunk(t, s, w-2.5)
		for _, line := range figure.Wrap(t, s, w-2.5) {
			out = append(out, leftLine{text: line, style: s})
		}
	}
	return out
}

// boxRows is how many rows of boxes a cell has, and how many a row: filled
// evenly, so that four sets are two and two.
func (l *layout) boxRows(r *Row, c *Cell) (rows, across int) {
	if c.Skipped || c.Sets == 0 {
		return 0, 1
	}
	_, w := l.column(l.from)
	most := min(max(int((w-2)/boxWidth), 2), 6)
	rows = (c.Sets + most - 1) / most
	across = (c.Sets + rows - 1) / rows
	if r.Sides {
		rows *= 2
	}
	return rows, across
}

// boxSide is the height of a box to write in, mm.
func (l *layout) boxSide() float64 { return boxHeight * max(1, l.scale) }

// fieldsStyle is the style of the words above the boxes.
func (l *layout) fieldsStyle(text string) figure.Style {
	_, w := l.column(l.from)
	return fitted(text, figure.Style{Size: 7.4, Grey: figure.Soft}, w-2.5)
}

// doseHeight is the height of the doses of a row: boxes start below the highest.
func (l *layout) doseHeight(r *Row) float64 {
	h := 0.0
	for i := l.from; i < l.to; i++ {
		h = max(h, linesHeight(l.cellLines(&r.Weeks[i], i)))
	}
	return h
}

// cellsHeight is the height of the weeks of a row.
func (l *layout) cellsHeight(r *Row) float64 {
	most := 0
	for i := l.from; i < l.to; i++ {
		rows, _ := l.boxRows(r, &r.Weeks[i])
		most = max(most, rows)
	}
	h := l.doseHeight(r)
	if most > 0 {
		h += l.fieldsStyle("").Height() + float64(most)*(l.boxSide()+0.6) + 1
	}
	return h
}

// row writes one exercise: name and weeks above, cues side by side below.
func (l *layout) row(r *Row, h float64) {
	top := l.y + l.air()
	l.leftColumn(r, top)
	shown := false
	for i := l.from; i < l.to; i++ {
		shown = l.cell(r, i, top, !shown) || shown
		if i > l.from {
			x, _ := l.column(i)
			l.page.Lines = append(l.page.Lines, figure.Line{X1: x - 0.3, Y1: top, X2: x - 0.3, Y2: top + l.cellsHeight(r) - 0.5, Width: 0.15, Grey: figure.Hair})
		}
	}
	columns, width, _ := l.cueColumns(r)
	y := top + l.upperHeight(r) + 1.2
	for i, lines := range columns {
		l.write(margin+l.cueLeft(r)+float64(i)*(width+cueGap), y, lines)
	}
	if r.Mates != "" {
		l.page.Lines = append(l.page.Lines, figure.Line{X1: margin - 2.5, Y1: top, X2: margin - 2.5, Y2: l.y + h - 1, Width: 0.9, Grey: figure.Ink})
	}
	l.y += h
	l.rule(l.y, 0.25, figure.Hair)
}

// leftColumn writes what stands beside the weeks of a row.
func (l *layout) leftColumn(r *Row, top float64) {
	x, y := margin+l.inset(), top+0.5
	if l.o.Figures {
		l.frame(r, margin, y)
		y += l.frameSide() + 1.5
	}
	if r.Link != "" {
		l.code(r.Link, margin, y)
	}
	y = l.write(x, top, l.leftLines(r))
	for _, b := range r.Measure {
		l.measure(b, x, y)
		y += l.measureHeight(b)
	}
}

// cell writes one week of an exercise with its boxes to write in, and says
// whether it has any. fields asks for the words above them.
func (l *layout) cell(r *Row, i int, top float64, fields bool) bool {
	c := &r.Weeks[i]
	x, w := l.column(i)
	l.write(x+1, top, l.cellLines(c, i))
	rows, across := l.boxRows(r, c)
	if rows == 0 {
		return false
	}
	y := top + l.doseHeight(r) + 0.4
	if fields {
		l.text(x+1, y, c.Fields, l.fieldsStyle(c.Fields))
	}
	y += l.fieldsStyle("").Height() + 0.2
	sides := 1
	if r.Sides {
		sides = 2
	}
	bw := (w - 2.5) / float64(across)
	for k := range rows {
		l.boxes(x+1, y, bw, min(across, c.Sets-k/sides*across), sides, k)
		y += l.boxSide() + 0.6
	}
	return true
}

// boxes draws a row of boxes, with the letter of the side in the first.
func (l *layout) boxes(x, y, w float64, n, sides, k int) {
	for j := range n {
		l.page.Rects = append(l.page.Rects, figure.Rect{X: x + float64(j)*w, Y: y, W: w - 0.6, H: l.boxSide(), Width: 0.25, Grey: figure.Soft, Fill: figure.NoFill})
	}
	if sides == 2 {
		letter := []string{l.pick("L", "L"), l.pick("R", "R")}[k%2]
		l.text(x+0.6, y+0.4, letter, figure.Style{Size: 7.4, Grey: figure.Soft})
	}
}

// A foot is what stands under a session: changes and note, cautions in two
// columns, and the sentence of every page.
type foot struct {
	above   []leftLine
	columns [2][]leftLine
	below   []leftLine
}

// footOf lays out the foot of a session.
func (l *layout) footOf(s *Session) foot {
	var f foot
	small := figure.Style{Size: 8.6 * min(1, l.scale)}
	strong := figure.Style{Size: small.Size, Bold: true}
	for _, c := range s.Changes {
		f.above = append(f.above, leadLines(l.pick("Changed", "Geändert"), c, small, l.width())...)
	}
	if s.Note != "" {
		f.above = append(f.above, leadLines("", s.Note, small, l.width())...)
	}
	half := (l.width() - cueGap) / 2
	var each [][]leftLine
	for _, c := range s.Cautions {
		each = append(each, leadLines(strings.Join(c.Labels, ", "), c.Text, small, half))
	}
	f.columns[0], f.columns[1] = balanced(each)
	if len(each) > 0 {
		f.above = append(f.above, leadLines(l.pick("Take care", "Bitte beachten"), "", small, l.width())...)
	}
	f.below = leadLines("", l.c.Cautions[0], strong, l.width())
	return f
}

// balanced puts texts into two columns, in order, the higher as low as can be.
func balanced(each [][]leftLine) (left, right []leftLine) {
	best := math.Inf(1)
	for k := range len(each) + 1 {
		a, b := slices.Concat(each[:k]...), slices.Concat(each[k:]...)
		if h := max(linesHeight(a), linesHeight(b)); h < best {
			best, left, right = h, a, b
		}
	}
	return left, right
}

// footHeightOf is the height of the foot of a session.
func (l *layout) footHeightOf(s *Session) float64 {
	f := l.footOf(s)
	return l.air() + linesHeight(f.above) + max(linesHeight(f.columns[0]), linesHeight(f.columns[1])) + 1 + linesHeight(f.below) + 0.5
}

// sessionFoot writes the foot of a session; where not even an empty page holds
// it, line by line on as many pages as it takes.
func (l *layout) sessionFoot(s *Session) {
	f := l.footOf(s)
	if l.y+l.footHeightOf(s) > l.bottom() {
		for _, line := range slices.Concat(f.above, f.columns[0], f.columns[1], f.below) {
			l.room(line.style.Height())
			l.y = l.write(margin, l.y, []leftLine{line})
		}
		return
	}
	y := l.write(margin, l.y+l.air(), f.above)
	half := (l.width() - cueGap) / 2
	a := l.write(margin, y, f.columns[0])
	b := l.write(margin+half+cueGap, y, f.columns[1])
	l.y = l.write(margin, max(a, b)+1, f.below)
}
