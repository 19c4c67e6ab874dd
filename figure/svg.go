package figure

import (
	"bytes"
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"
)

// SVG writes a drawing for screens: a picture that needs nothing else. The bytes
// are the same for the same drawing.
func SVG(d *Drawing) []byte {
	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%smm" height="%smm"`,
		short(d.W), short(d.H), short(d.W), short(d.H))
	d.body(&out, "")
	out.WriteByte('\n')
	return out.Bytes()
}

// Inline writes a drawing as part of a page of HTML. Its marks carry the id, so
// that [Again] can show them a second time.
func Inline(d *Drawing, id string) []byte {
	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg viewBox="0 0 %s %s"`, short(d.W), short(d.H))
	d.body(&out, id)
	return out.Bytes()
}

// Again shows a drawing that stands earlier on the page of HTML.
func Again(d *Drawing, id string) []byte {
	return fmt.Appendf(nil, `<svg viewBox="0 0 %s %s" role="img" aria-label="%s"><use href="#%s"/></svg>`,
		short(d.W), short(d.H), html.EscapeString(d.Title), html.EscapeString(id))
}

// A Captioned is a drawing with a line of text under it.
type Captioned struct {
	Drawing *Drawing
	Text    string
}

// Height of a caption and the space between drawings, mm.
const captionHeight, captionSize, contactGap = 6.0, 2.8, 3.0

// ContactSheet writes drawings side by side, across in a row, each in a square of
// size mm, on white.
func ContactSheet(list []Captioned, across int, size float64) []byte {
	var out bytes.Buffer
	rows := (len(list) + across - 1) / across
	w, h := float64(across)*(size+contactGap)+contactGap, float64(rows)*(size+captionHeight+contactGap)+contactGap
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%smm" height="%smm"><rect width="100%%" height="100%%" fill="#fffdf8"/>`,
		short(w), short(h), short(w), short(h))
	for i, c := range list {
		d := c.Drawing
		x, y := contactGap+float64(i%across)*(size+contactGap), contactGap+float64(i/across)*(size+captionHeight+contactGap)
		fmt.Fprintf(&out, `<svg x="%s" y="%s" width="%s" height="%s" viewBox="0 0 %s %s"`, short(x+(size-d.W)/2), short(y+(size-d.H)/2), short(d.W), short(d.H), short(d.W), short(d.H))
		d.body(&out, "")
		fmt.Fprintf(&out, `<text x="%s" y="%s" font-family="Noto Sans, sans-serif" font-size="%s" text-anchor="middle" fill="#1f2430">%s</text>`,
			short(x+size/2), short(y+size+captionHeight*0.6), short(captionSize), html.EscapeString(c.Text))
	}
	out.WriteString("</svg>\n")
	return out.Bytes()
}

// body writes what follows the size of a drawing.
func (d *Drawing) body(out *bytes.Buffer, id string) {
	if d.Title != "" {
		fmt.Fprintf(out, ` role="img" aria-label="%s"`, html.EscapeString(d.Title))
	}
	out.WriteString(`><g stroke-linecap="round" stroke-linejoin="round"`)
	if id != "" {
		fmt.Fprintf(out, ` id="%s"`, html.EscapeString(id))
	}
	out.WriteByte('>')
	for i := range d.Marks {
		d.Marks[i].svg(out)
	}
	out.WriteString("</g></svg>")
}

// svg writes one mark as a path: steps from point to point, hundredths of a mm.
func (m *Mark) svg(out *bytes.Buffer) {
	out.WriteString(`<path d="`)
	for _, r := range m.Rings {
		var at, from [2]int // where the pen is; where a curve began
		for i, p := range r {
			q := [2]int{int(math.Round(p.X * 100)), int(math.Round(p.Y * 100))}
			switch {
			case i == 0:
				out.WriteByte('M')
				from = [2]int{}
			case m.Curve && i%3 == 1:
				out.WriteByte('c')
				from = at
			case !m.Curve && i == 1:
				out.WriteByte('l')
				from = at
			case !m.Curve:
				from = at
			}
			step(out, q[0]-from[0])
			step(out, q[1]-from[1])
			at = q
		}
		if !m.Open {
			out.WriteByte('z')
		}
	}
	out.WriteString(`" fill="` + m.Fill.svg() + `"`)
	if m.Ink != NoPaint && m.Width > 0 {
		width := m.Width
		if m.Under {
			width *= 2
			out.WriteString(` paint-order="stroke"`)
		}
		fmt.Fprintf(out, ` stroke="%s" stroke-width="%s"`, m.Ink.svg(), short(width))
		if m.Dash > 0 {
			fmt.Fprintf(out, ` stroke-dasharray="%s"`, short(m.Dash))
		}
	}
	out.WriteString("/>")
}

// step writes a number of hundredths, set off from the one before it.
func step(out *bytes.Buffer, hundredths int) {
	s := short(float64(hundredths) / 100)
	if rest, ok := strings.CutPrefix(s, "0."); ok {
		s = "." + rest
	} else if rest, ok := strings.CutPrefix(s, "-0."); ok {
		s = "-." + rest
	}
	if last := out.Bytes()[out.Len()-1]; s[0] != '-' && last != 'M' && last != 'l' && last != 'c' {
		out.WriteByte(' ')
	}
	out.WriteString(s)
}

// svg writes a colour.
func (p Paint) svg() string {
	if p == NoPaint {
		return "none"
	}
	return fmt.Sprintf("#%06x", int32(p))
}

// short writes mm with at most two decimals.
func short(x float64) string {
	s := strconv.FormatFloat(x, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}
