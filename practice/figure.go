package practice

import (
	"errors"

	"corbel/body"
	"corbel/figure"
	"corbel/sheet"
	"corbel/sketch"
)

// Figure draws an exercise as SVG on a body of the reference size, with the muscles
// hatched that a sheet hatches; an empty one where it has no postures yet. The error says
// that there is no such exercise. A figure once drawn is kept in memory.
func (p *Practice) Figure(id string) ([]byte, error) {
	if known, ok := p.figures.Load(id); ok {
		return known.([]byte), nil
	}
	e := p.Library.ByID(id)
	if e == nil {
		return nil, fail(NotFound, "", "there is no exercise %q", id)
	}
	b, err := body.NewBody(body.Measures{Height: body.ReferenceHeight, Mass: body.ReferenceMass})
	if err != nil {
		return nil, err
	}
	f, err := sketch.New(p.Library, e, b, 0, false)
	if errors.Is(err, sketch.ErrNoPostures) {
		return figure.SVG(&figure.Drawing{W: figureSize, H: figureSize}), nil // a page has a place for it all the same
	}
	if err != nil {
		return nil, err
	}
	svg := figure.SVG(f.Draw(sketch.Options{Shares: sheet.FigureShares(p.Library, e, false), Size: figureSize}))
	p.figures.Store(id, svg)
	return svg, nil
}

// figureSize is the size a figure on a screen is drawn for, mm.
const figureSize = 30

// Drawn says whether there is a figure of an exercise.
func (p *Practice) Drawn(id string) bool {
	e := p.Library.ByID(id)
	return e != nil && len(body.Postures(p.Library, e)) > 0
}
