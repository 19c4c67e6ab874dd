// Package figure turns drawings into pages. A drawing is a display list: texts,
// lines, rectangles and curves in millimetres from the top left corner. One list
// serves every writer: PDF for paper, SVG for screens.
//
// Texts are measured with the embedded font before they are drawn, so that a
// caller can lay out rows and tests can hold that no two texts overlap. It knows
// no exercises and no clients.
package figure

// Grey levels of ink, 0 black to 255 white. Pages are for black and white
// printers.
const (
	Ink   = 0
	Soft  = 90
	Hair  = 170
	Shade = 235
)

// A Style is a font and size.
type Style struct {
	Bold bool
	Size float64 // points
	Grey int     // 0 black to 255 white
}

// A Text is one line of text. Y is its baseline.
type Text struct {
	X, Y  float64 // mm
	W     float64 // width as measured, mm
	Text  string
	Style Style
	Link  string // address a click on it opens, or empty
}

// Box returns the rectangle a text covers: left, top, right, bottom, mm.
func (t Text) Box() (x0, y0, x1, y1 float64) {
	return t.X, t.Y - ascent*t.Style.Size*pointMM, t.X + t.W, t.Y + descent*t.Style.Size*pointMM
}

// A Line is a straight line.
type Line struct {
	X1, Y1, X2, Y2 float64 // mm
	Width          float64 // mm
	Grey           int
	Dash           float64 // mm; 0 for a full line
}

// A Rect is a rectangle: filled, outlined or both.
type Rect struct {
	X, Y, W, H float64 // mm
	Width      float64 // of the outline, mm; 0 for none
	Grey       int     // of the outline
	Fill       int     // grey of the filling, or NoFill
}

// NoFill leaves a rectangle empty.
const NoFill = -1

// A Curve is a cubic from 1 to 4 with its two handles.
type Curve struct {
	X1, Y1, X2, Y2, X3, Y3, X4, Y4 float64 // mm
	Width                          float64
	Grey                           int
}

// A Page is one sheet of paper.
type Page struct {
	Texts    []Text
	Lines    []Line
	Rects    []Rect
	Curves   []Curve
	Drawings []Placed
	Notes    []string // what the layout could not hold, for tests; empty on a good page
}

// Paper is the size of a sheet, mm.
type Paper struct {
	Name string
	W, H float64
}

// The papers: A4 by ISO 216, US Letter by ANSI/ASME Y14.1 (8.5 x 11 in).
var (
	A4     = Paper{"a4", 210, 297}
	Letter = Paper{"letter", 215.9, 279.4}
)

// A Document is pages on one paper.
type Document struct {
	Paper    Paper
	Title    string
	Language string // BCP 47, such as en
	Pages    []*Page
}
