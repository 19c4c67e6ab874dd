package sheet

import (
	"fmt"
	"slices"
	"time"

	"corbel/figure"
	"corbel/form"
)

// Sizes of the page, mm. Our judgement: legible at arm's length in a dim gym,
// boxes large enough for a pencil.
const (
	margin     = 12.0
	footHeight = 8.0
	leftShare  = 0.40 // of the width for name, cues and reason
	frameSize  = 16.0 // figure frame, QR code
	boxHeight  = 6.5  // of a box to write in
	boxWidth   = 8.0  // least width of a box, holds 100 × 12 in small writing
	gap        = 2.0
	rounding   = 1e-6 // heights that add up to the page fit it
)

// Options of the paper.
type PaperOptions struct {
	Paper   figure.Paper
	Figures bool // a figure beside each exercise
}

// A layout puts content on pages.
type layout struct {
	c     *Content
	o     PaperOptions
	doc   *figure.Document
	page  *figure.Page
	y     float64
	scale float64 // of texts on session pages

	from, to int  // weeks under way
	links    bool // some exercise has a link, and so a code
}

// Lay lays content out on paper: a first page with what the block is for, a page
// or more for every session, a last page for pain and sleep.
func Lay(c *Content, o PaperOptions) *figure.Document {
	l := &layout{c: c, o: o, scale: 1, doc: &figure.Document{Paper: o.Paper, Title: c.Title + ", " + c.Client, Language: string(c.Language)}}
	for _, s := range c.Sessions {
		l.links = l.links || slices.ContainsFunc(s.Rows, func(r Row) bool { return r.Link != "" })
	}
	l.first()
	for i := range c.Sessions {
		l.session(&c.Sessions[i])
	}
	l.last()
	l.feet()
	return l.doc
}

func (l *layout) pick(en, de string) string { return form.Text{En: en, De: de}.In(l.c.Language) }

func (l *layout) width() float64  { return l.o.Paper.W - 2*margin }
func (l *layout) bottom() float64 { return l.o.Paper.H - margin - footHeight }

// newPage starts a page.
func (l *layout) newPage() {
	l.page = &figure.Page{}
	l.doc.Pages = append(l.doc.Pages, l.page)
	l.y = margin
}

// style returns a style at the page's scale.
func (l *layout) style(size float64, bold bool, grey int) figure.Style {
	return figure.Style{Bold: bold, Size: size * l.scale, Grey: grey}
}

// text writes one line with its top at y and returns the y below it.
func (l *layout) text(x, y float64, text string, s figure.Style) float64 {
	if text != "" {
		l.page.Texts = append(l.page.Texts, figure.Text{X: x, Y: y + 0.8*s.Size*25.4/72, W: figure.Measure(text, s), Text: text, Style: s})
	}
	return y + s.Height()
}

// para writes a wrapped text and returns the y below it.
func (l *layout) para(x, y, w float64, text string, s figure.Style) float64 {
	for _, line := range figure.Wrap(joined(text), s, w) {
		y = l.text(x, y, line, s)
	}
	return y
}

// paraHeight returns the height para will take.
func paraHeight(w float64, text string, s figure.Style) float64 {
	return float64(len(figure.Wrap(joined(text), s, w))) * s.Height()
}

func (l *layout) rule(y, width float64, grey int) {
	l.page.Lines = append(l.page.Lines, figure.Line{X1: margin, Y1: y, X2: margin + l.width(), Y2: y, Width: width, Grey: grey})
}

// first lays out the first page: what the block is for, the week's plan, cautions,
// how its sessions hang together, how to warm up and choose loads. Cautions stand
// early, so that they stay on the first page whatever follows.
func (l *layout) first() {
	l.newPage()
	l.y = l.para(margin, l.y, l.width(), l.c.Title, l.style(22, true, figure.Ink))
	l.y = l.para(margin, l.y, l.width(), fmt.Sprintf("%s · %s – %s", l.c.Client, Day(l.c.From, l.c.Language), Day(l.c.To, l.c.Language)), l.style(12, false, figure.Soft))
	l.y += gap
	if l.c.For != "" {
		l.y = l.para(margin, l.y, l.width(), l.c.For, l.style(13, false, figure.Ink)) + gap
	}
	l.head(l.pick("The week", "Die Woche"))
	l.plan()
	l.framed(l.pick("Take care", "Bitte beachten"), l.c.Cautions)
	l.head(l.pick("How the sessions hang together", "Wie die Einheiten zusammenhängen"))
	for i := range l.c.Sessions {
		l.chain(&l.c.Sessions[i])
	}
	l.bullets(l.undrawn(), 9)
	l.head(l.pick("How to do it", "So geht es"))
	l.bullets(append(slices.Clone(l.c.HowTo), l.c.WriteDown), 10)
	if l.c.Note != "" {
		l.room(paraHeight(l.width(), l.c.Note, l.style(10.5, false, figure.Ink)) + gap)
		l.y = l.para(margin, l.y, l.width(), l.c.Note, l.style(10.5, false, figure.Ink)) + gap
	}
}

// room starts a new page where h mm do not fit any more.
func (l *layout) room(h float64) {
	if l.y+h > l.bottom() {
		l.newPage()
	}
}

// head writes a heading.
func (l *layout) head(text string) {
	s := l.style(12, true, figure.Ink)
	l.room(s.Height() + 12)
	l.y += gap
	l.y = l.text(margin, l.y, text, s) + 1
}

// bullets writes sentences with a dash each.
func (l *layout) bullets(list []string, size float64) {
	s := l.style(size, false, figure.Ink)
	for _, t := range list {
		l.room(paraHeight(l.width()-4, t, s))
		l.text(margin, l.y, "–", s)
		l.y = l.para(margin+4, l.y, l.width()-4, t, s) + 0.8
	}
}

// framed writes sentences in a frame.
func (l *layout) framed(title string, list []string) {
	head, s := l.style(11, true, figure.Ink), l.style(10, false, figure.Ink)
	w := l.width() - 8
	h := head.Height() + 5
	for _, t := range list {
		h += paraHeight(w, t, s) + 0.8
	}
	l.y += gap
	l.room(h)
	l.page.Rects = append(l.page.Rects, figure.Rect{X: margin, Y: l.y, W: l.width(), H: h, Width: 0.5, Grey: figure.Ink, Fill: figure.NoFill})
	y := l.text(margin+4, l.y+2, title, head)
	for _, t := range list {
		y = l.para(margin+4, y, w, t, s) + 0.8
	}
	l.y += h + gap
}

// chainBoxes is how many boxes of a chain stand in a line.
const chainBoxes = 6

// chain draws a session as a chain of boxes, six in a line, with arcs from an
// exercise to the later one it helps.
func (l *layout) chain(s *Session) {
	name := l.style(9.5, true, figure.Ink)
	l.room(name.Height() + 14)
	l.y = l.text(margin, l.y, s.Name, name)
	arcs := l.arcsOf(s)
	for from := 0; from < len(s.Rows); from += chainBoxes {
		l.chainLine(s, from, min(from+chainBoxes, len(s.Rows)), arcs)
	}
	l.y++
}

// chainLine draws the boxes of the rows from..to-1 and the arcs between them.
func (l *layout) chainLine(s *Session, from, to int, arcs []arcOf) {
	small := l.style(7.5, false, figure.Ink)
	w := (l.width() + 1.5) / float64(max(min(len(s.Rows), chainBoxes), 4))
	lines, most := make([][]string, to-from), 1
	for i := from; i < to; i++ {
		lines[i-from] = figure.Wrap(s.Rows[i].Label+" "+s.Rows[i].Name, small, w-3.5)
		most = max(most, len(lines[i-from]))
	}
	var here []arcOf
	for _, a := range arcs {
		if a.from >= from && a.to < to {
			here = append(here, a)
		}
	}
	top := 0.0
	if len(here) > 0 {
		top = 7
	}
	h := float64(most)*small.Height() + 2
	l.room(top + h + 2)
	l.y += top
	for i := range lines {
		x := margin + float64(i)*w
		l.page.Rects = append(l.page.Rects, figure.Rect{X: x, Y: l.y, W: w - 1.5, H: h, Width: 0.3, Grey: figure.Soft, Fill: figure.NoFill})
		y := l.y + 1
		for _, t := range lines[i] {
			y = l.text(x+1, y, t, small)
		}
	}
	for k, a := range here {
		l.arc(margin+(float64(a.from-from)+0.5)*w-0.75, margin+(float64(a.to-from)+0.5)*w-0.75, l.y, a.word, k, small)
	}
	l.y += h + 1.5
}

// An arcOf is a link between two boxes of a chain.
type arcOf struct {
	from, to int
	word     string
}

// arcsOf lists the links inside a session, at most three: more would cross.
func (l *layout) arcsOf(s *Session) []arcOf {
	at := map[string]int{}
	for i, r := range s.Rows {
		at[r.Slot] = i
	}
	var out []arcOf
	for _, f := range l.c.Flow {
		from, ok1 := at[f.From]
		to, ok2 := at[f.To]
		if ok1 && ok2 && len(out) < 3 {
			out = append(out, arcOf{from, to, f.Kind})
		}
	}
	return out
}

// undrawn writes the links no arc shows: between sessions, between two lines of a
// chain, beyond the third of a session.
func (l *layout) undrawn() []string {
	drawn := map[FlowLink]bool{}
	for i := range l.c.Sessions {
		s := &l.c.Sessions[i]
		for _, a := range l.arcsOf(s) {
			if a.from/chainBoxes == a.to/chainBoxes {
				drawn[FlowLink{s.Rows[a.from].Slot, s.Rows[a.to].Slot, a.word}] = true
			}
		}
	}
	var out []string
	for _, f := range l.c.Flow {
		if !drawn[f] {
			out = append(out, l.c.linkText(f))
		}
	}
	if n := len(out) - undrawnLines; n > 1 {
		out = append(out[:undrawnLines], fmt.Sprintf(l.pick("and %d more; the page for screens lists them", "und %d weitere; die Seite für den Bildschirm nennt sie"), n))
	}
	return out
}

// undrawnLines is how many links are written out on paper (our judgement: more
// would push the week's plan off the first page).
const undrawnLines = 6

// arc draws an arc above the boxes from x1 to x2 with an arrow; the first arc
// carries its word where there is room.
func (l *layout) arc(x1, x2, y float64, word string, k int, s figure.Style) {
	h := 4.5 - 0.9*float64(k)
	l.page.Curves = append(l.page.Curves, figure.Curve{X1: x1, Y1: y, X2: x1, Y2: y - h*1.3, X3: x2, Y3: y - h*1.3, X4: x2, Y4: y - 0.3, Width: 0.35, Grey: figure.Ink})
	for _, dx := range []float64{-0.9, 0.9} {
		l.page.Lines = append(l.page.Lines, figure.Line{X1: x2 + dx, Y1: y - 1.7, X2: x2, Y2: y - 0.3, Width: 0.35, Grey: figure.Ink})
	}
	if w := figure.Measure(word, s); k == 0 && w < x2-x1-2 {
		l.text((x1+x2)/2-w/2, y-h-2.8, word, s)
	}
}

// plan writes the days of the week with their sessions, minutes and dates.
func (l *layout) plan() {
	s, b := l.style(10, false, figure.Ink), l.style(10, true, figure.Ink)
	shares := []float64{0, 0.13, 0.42, 0.64, 1}
	for _, x := range l.c.Sessions {
		texts := []string{x.Day.In(l.c.Language), x.Name, l.minutes(x), l.dates(x.Dates)}
		h := 0.0
		for i, t := range texts {
			h = max(h, paraHeight((shares[i+1]-shares[i])*l.width()-3, t, s))
		}
		l.room(h)
		for i, t := range texts {
			style := s
			if i == 0 {
				style = b
			}
			l.para(margin+shares[i]*l.width(), l.y, (shares[i+1]-shares[i])*l.width()-3, t, style)
		}
		l.y += h + 0.6
	}
}

// minutes writes how long a session takes.
func (l *layout) minutes(s Session) string {
	return fmt.Sprintf(l.pick("about %.0f min (%.0f–%.0f)", "etwa %.0f min (%.0f–%.0f)"), s.Minutes.Mean, s.Minutes.Low, s.Minutes.High)
}

// last lays out the page for pain and sleep.
func (l *layout) last() {
	l.scale = 1
	l.newPage()
	l.y = l.text(margin, l.y, l.pick("Pain and sleep", "Schmerz und Schlaf"), l.style(16, true, figure.Ink))
	l.y = l.para(margin, l.y, l.width(), l.pick(
		"Pain 0 to 10, during the work and the next morning, with its place and side. From 3, or when it is worse the next morning: do less of what loads the place, and ask. Above 5, sharp, spreading, with swelling or giving way: stop that work and see a practitioner.",
		"Schmerz 0 bis 10, bei der Arbeit und am nächsten Morgen, mit Ort und Seite. Ab 3 oder wenn er am nächsten Morgen stärker ist: weniger von dem tun, was die Stelle belastet, und nachfragen. Über 5, stechend, ausstrahlend, mit Schwellung oder Nachgeben: diese Arbeit beenden und eine medizinische Fachperson aufsuchen."), l.style(9.5, false, figure.Ink)) + gap
	heads := []string{l.pick("day", "Tag"), l.pick("sleep, h", "Schlaf, h"), l.pick("pain: place, side", "Schmerz: Ort, Seite"), l.pick("during", "dabei"), l.pick("morning", "morgens"), l.pick("note", "Notiz")}
	shares := []float64{0.17, 0.11, 0.24, 0.10, 0.11, 0.27}
	s := l.style(9, true, figure.Soft)
	l.columns(heads, shares, s)
	var days []form.Date
	for _, w := range l.c.Weeks {
		for d := range 7 {
			days = append(days, l.c.From.Plus(7*(w-1)+d))
		}
	}
	h := max(6.2, min(8, (l.bottom()-l.y)/float64(len(days))))
	for _, d := range days {
		if l.y+h > l.bottom()+rounding {
			l.newPage()
			l.columns(heads, shares, s)
		}
		l.text(margin+0.5, l.y+h/2-2, WeekDay(d, l.c.Language)+" "+ShortDay(d, l.c.Language), l.style(9, false, figure.Ink))
		l.y += h
		l.rule(l.y, 0.2, figure.Hair)
		x := margin
		for _, share := range shares[:len(shares)-1] {
			x += share * l.width()
			l.page.Lines = append(l.page.Lines, figure.Line{X1: x, Y1: l.y - h, X2: x, Y2: l.y, Width: 0.2, Grey: figure.Hair})
		}
	}
}

// columns writes column heads over a rule.
func (l *layout) columns(heads []string, shares []float64, s figure.Style) {
	x := margin
	for i, h := range heads {
		l.text(x+0.5, l.y, h, s)
		x += shares[i] * l.width()
	}
	l.y += s.Height() + 0.5
	l.rule(l.y, 0.4, figure.Ink)
}

// feet writes the foot of every page: block, client, code, page number.
func (l *layout) feet() {
	s := figure.Style{Size: 8, Grey: figure.Soft}
	code := l.c.Code
	if code == "" {
		code = l.pick("draft, not handed over", "Entwurf, nicht übergeben")
	}
	for i, p := range l.doc.Pages {
		l.page = p
		y := l.o.Paper.H - margin - s.Height()
		right := fmt.Sprintf("%s · %d/%d", code, i+1, len(l.doc.Pages))
		w := figure.Measure(right, s)
		left := figure.Wrap(l.c.Title+" · "+l.c.Client, s, l.width()-w-6)[0]
		l.text(margin, y, left, s)
		l.text(margin+l.width()-w, y, right, s)
	}
}

var months = map[form.Language][]string{
	form.English: {"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"},
	form.German:  {"Jan.", "Feb.", "März", "Apr.", "Mai", "Juni", "Juli", "Aug.", "Sept.", "Okt.", "Nov.", "Dez."},
}

// Day writes a date in words: 30 Nov 2026, 30. Nov. 2026.
func Day(d form.Date, l form.Language) string {
	return fmt.Sprintf("%s %d", ShortDay(d, l), d.Time().Year())
}

// ShortDay writes a date without its year.
func ShortDay(d form.Date, l form.Language) string {
	t := d.Time()
	name := months[l][t.Month()-1]
	if l == form.German {
		return fmt.Sprintf("%d. %s", t.Day(), name)
	}
	return fmt.Sprintf("%d %s", t.Day(), name)
}

// WeekDay writes the day of the week in short.
func WeekDay(d form.Date, l form.Language) string {
	names := []string{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"}
	if l == form.German {
		names = []string{"So", "Mo", "Di", "Mi", "Do", "Fr", "Sa"}
	}
	return names[d.Time().Weekday()]
}

// PDF lays content out and writes it; at is the time of writing.
func PDF(c *Content, o PaperOptions, at time.Time) ([]byte, error) {
	return figure.PDF(Lay(c, o), at)
}
