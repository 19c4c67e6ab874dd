package figure

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

var (
	//go:embed font/NotoSans-Regular.ttf
	regularTTF []byte
	//go:embed font/NotoSans-Bold.ttf
	boldTTF []byte
)

// pointMM is a typographic point, mm (1/72 in).
const pointMM = 25.4 / 72

// Height of the letters above and below the baseline, in sizes, with a little
// air: Noto Sans has capitals of 0.71 and descenders of 0.24.
const (
	ascent  = 0.78
	descent = 0.22
)

// A face measures one font. Measuring uses a buffer, so it is locked.
type face struct {
	mu   sync.Mutex
	font *sfnt.Font
	buf  sfnt.Buffer
}

// faces are the embedded fonts: regular and bold.
var faces = [2]*face{newFace(regularTTF), newFace(boldTTF)}

func newFace(ttf []byte) *face {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic("figure: the embedded font cannot be read: " + err.Error())
	}
	return &face{font: f}
}

func faceOf(s Style) *face {
	if s.Bold {
		return faces[1]
	}
	return faces[0]
}

// unitsPerEm is the precision of measuring, units a size.
const unitsPerEm = 1000

// Measure returns the width of a text, mm.
func Measure(text string, s Style) float64 {
	f := faceOf(s)
	f.mu.Lock()
	defer f.mu.Unlock()
	sum := 0.0
	for _, r := range text {
		g, err := f.font.GlyphIndex(&f.buf, r)
		if err != nil {
			continue
		}
		a, err := f.font.GlyphAdvance(&f.buf, g, fixed.I(unitsPerEm), 0)
		if err == nil {
			sum += float64(a) / 64 / unitsPerEm
		}
	}
	return sum * s.Size * pointMM
}

// Missing names the characters of a text that the embedded font lacks, each once.
func Missing(text string, s Style) []string {
	f := faceOf(s)
	f.mu.Lock()
	defer f.mu.Unlock()
	var out []string
	seen := map[rune]bool{}
	for _, r := range text {
		if r == '\n' || seen[r] {
			continue
		}
		seen[r] = true
		if g, err := f.font.GlyphIndex(&f.buf, r); err != nil || g == 0 {
			out = append(out, fmt.Sprintf("%q (U+%04X)", r, r))
		}
	}
	return out
}

// Height returns the height of a line of text with its leading, mm.
func (s Style) Height() float64 { return s.Size * pointMM * leading }

// leading is the distance of two baselines in sizes.
const leading = 1.28

// Wrap breaks a text at spaces into lines of at most width mm, but never at a
// no-break space (U+00A0). A word wider than that is broken inside.
func Wrap(text string, s Style, width float64) []string { return WrapAfter(text, s, width, 0) }

// WrapAfter is Wrap with a first line that is shorter by indent mm, for text that
// follows a word in another style. Where nothing fits behind that word the first
// line is empty.
func WrapAfter(text string, s Style, width, indent float64) []string {
	var out []string
	for i, para := range strings.Split(text, "\n") {
		if i > 0 {
			indent = 0
		}
		out = append(out, wrapOne(para, s, width, indent)...)
	}
	return out
}

// noBreak is the no-break space.
const noBreak = '\u00a0'

func wrapOne(para string, s Style, full, indent float64) []string {
	var out []string
	line := ""
	for _, w := range strings.FieldsFunc(para, func(r rune) bool { return r != noBreak && unicode.IsSpace(r) }) {
		width := full
		if len(out) == 0 {
			width -= indent
		}
		if indent > 0 && len(out) == 0 && line == "" && Measure(w, s) > width {
			out, width = append(out, ""), full
		}
		for Measure(w, s) > width {
			head := fitting(w, s, width)
			if line != "" {
				out = append(out, line)
				line = ""
			}
			out = append(out, w[:head])
			w = w[head:]
		}
		joined := w
		if line != "" {
			joined = line + " " + w
		}
		if Measure(joined, s) > width {
			out = append(out, line)
			joined = w
		}
		line = joined
	}
	if line != "" || len(out) == 0 {
		out = append(out, line)
	}
	return out
}

// fitting returns how many bytes of a word fit into width, at least one letter.
func fitting(w string, s Style, width float64) int {
	last := 0
	for i, r := range w {
		end := i + len(string(r))
		if last > 0 && Measure(w[:end], s) > width {
			return last
		}
		last = end
	}
	return last
}
