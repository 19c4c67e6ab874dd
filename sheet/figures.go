package sheet

import (
	"html/template"
	"maps"
	"sync"

	"corbel/body"
	"corbel/client"
	"corbel/exercise"
	"corbel/figure"
	"corbel/form"
	"corbel/session"
	"corbel/sketch"
)

// A posedKey is an exercise and the side that works.
type posedKey struct {
	exercise string
	left     bool
}

// key is what the figure of a row shows.
func (r *Row) key() posedKey { return posedKey{r.Exercise, r.OneSide == "left"} }

// figures poses exercises for one client, each once and when it is first asked for:
// exports that draw nothing pose nothing. It may be shared.
type figures struct {
	lib  *exercise.Library
	who  *client.Client
	day  form.Date // measures count up to here
	mu   sync.Mutex
	done map[posedKey]*sketch.Figure // nil where there is nothing to draw
}

// references keeps the body of reference size of each library, whose shares figures
// show: they say what an exercise works, which differs little from body to body.
var references sync.Map // *exercise.Library to func() *session.Body

// reference is the body of reference size, with some training.
func reference(lib *exercise.Library) *session.Body {
	once, _ := references.LoadOrStore(lib, sync.OnceValue(func() *session.Body {
		who := &client.Client{Experience: client.Some}
		b, err := session.NewAthlete(who, lib, nil, form.Date{}).BodyOf(body.Measures{Sex: "between", Height: body.ReferenceHeight, Mass: body.ReferenceMass}, nil)
		if err != nil {
			panic("sheet: the reference body: " + err.Error())
		}
		return b
	}))
	return once.(func() *session.Body)()
}

// FigureShares are the shares a figure hatches, by one rule for paper, screen and
// drawing: on a body of reference size the computed share of every muscle for which the
// library says it is good enough, on its own side; the stated one of the others.
func FigureShares(lib *exercise.Library, e *exercise.Exercise, left bool) sketch.Shares {
	out := sketch.Stated(e, left)
	maps.Copy(out, reference(lib).Sided(e, left))
	return out
}

// bodies are those tried in turn: the client's own where measures are known, and
// one of reference size for postures that are out of its reach.
func (f *figures) bodies() []*body.Body {
	var out []*body.Body
	if m, err := body.MeasuresOf(f.who, f.day); err == nil {
		if b, err := body.NewBody(m); err == nil {
			out = append(out, b)
		}
	}
	plain, err := body.NewBody(body.Measures{Sex: f.who.Sex, Height: body.ReferenceHeight, Mass: body.ReferenceMass})
	if err != nil {
		panic("sheet: the reference body: " + err.Error())
	}
	return append(out, plain)
}

// of poses an exercise without load, or returns nil where it has no postures.
func (f *figures) of(k posedKey) *sketch.Figure {
	f.mu.Lock()
	defer f.mu.Unlock()
	if x, ok := f.done[k]; ok {
		return x
	}
	f.done[k] = nil
	e := f.lib.ByID(k.exercise)
	if e == nil || e.Postures == nil {
		return nil
	}
	for _, b := range f.bodies() {
		if x, err := sketch.New(f.lib, e, b, 0, k.left); err == nil {
			f.done[k] = x
			break
		}
	}
	return f.done[k]
}

// draw draws the figure of a row, or nothing where its exercise has no postures.
func (c *Content) draw(r *Row, o sketch.Options) *figure.Drawing {
	f := c.figures.of(r.key())
	if f == nil {
		return nil
	}
	o.Shares = FigureShares(c.figures.lib, f.Exercise, f.Left)
	d := f.Draw(o)
	d.Title = f.Exercise.Name.In(c.Language)
	return d
}

// screenFigure is the size a figure on the page for screens is drawn for, mm.
const screenFigure = 60.0

// inlineFigures writes figures into HTML: the first time whole, later by
// reference.
func (c *Content) inlineFigures() func(Row) template.HTML {
	seen := map[posedKey]bool{}
	return func(r Row) template.HTML {
		d := c.draw(&r, sketch.Options{Size: screenFigure})
		if d == nil {
			return ""
		}
		id := "figure-" + r.Exercise
		if r.key().left {
			id += "-left"
		}
		if seen[r.key()] {
			return template.HTML(figure.Again(d, id))
		}
		seen[r.key()] = true
		return template.HTML(figure.Inline(d, id))
	}
}

// tallFigure is how much higher than its frame is wide a figure may be, where the
// row has the height (our judgement).
const tallFigure = 1.7

// fitting draws the figure of a row as large as its frame and the height of the row
// allow.
func (l *layout) fitting(r *Row) *figure.Drawing {
	side := l.frameSide()
	tall := side
	if r.Link == "" { // else a code stands below
		tall = max(side, min(tallFigure*side, l.upperHeight(r)-1))
	}
	d := l.c.draw(r, sketch.Options{Size: tall, Grey: true})
	if d != nil && d.W > side {
		d = l.c.draw(r, sketch.Options{Size: tall * side / d.W, Grey: true})
	}
	return d
}

// frame draws the figure of an exercise in its frame, or its number where it has
// none.
func (l *layout) frame(r *Row, x, y float64) {
	side := l.frameSide()
	if d := l.fitting(r); d != nil {
		l.page.Drawings = append(l.page.Drawings, figure.Placed{X: x + (side-d.W)/2, Y: y + max(0, (side-d.H)/2), W: d.W, Drawing: d})
		return
	}
	l.page.Rects = append(l.page.Rects, figure.Rect{X: x, Y: y, W: side, H: side, Width: 0.3, Grey: figure.Hair, Fill: figure.NoFill})
	s := l.style(20, true, figure.Hair)
	w := figure.Measure(r.Label, s)
	l.text(x+(side-w)/2, y+(side-s.Height())/2, r.Label, s)
}
