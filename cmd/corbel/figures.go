package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"corbel/body"
	"corbel/exercise"
	"corbel/figure"
	"corbel/form"
	"corbel/sheet"
	"corbel/sketch"
)

// checkDrawing refuses flags of drawings that make no sense together.
func (c *exerciseShowCmd) checkDrawing() error {
	views := sketch.View("").Values()
	switch {
	case c.View != "" && !slices.Contains(views, c.View):
		return fmt.Errorf("--view %q: a view is one of %s", c.View, strings.Join(views, ", "))
	case c.SVG == "" && (c.View != "" || c.Grey || c.Tile):
		return errors.New("--view, --grey and --tile say how to draw; add --svg FILE to draw into")
	case c.SVG != "" && c.JSON:
		return errors.New("--svg and --json: one of them at a time")
	}
	return nil
}

// tileSize is a tile of 40 CSS pixels, mm.
const tileSize = 40 * 25.4 / 96

// draw writes the drawing of an exercise with the shares a sheet shows.
func (c *exerciseShowCmd) draw(a *app, out *sheet.ExerciseShown, b *body.Body) error {
	load := 0.0
	if out.Load != nil {
		load = *out.Load
	}
	left := c.Side == "left" && out.Of.Sides != exercise.BothSides
	f, err := sketch.New(a.library, out.Of, b, load, left)
	if errors.Is(err, sketch.ErrNoPostures) {
		return fmt.Errorf("%s cannot be drawn: %w", out.Exercise, sketch.ErrNoPostures)
	}
	if err != nil {
		return fmt.Errorf("%w; check the measures of the client, or choose another exercise", err)
	}
	o := sketch.Options{View: sketch.View(c.View), Grey: c.Grey, Tile: c.Tile, Shares: sheet.FigureShares(a.library, out.Of, left)}
	if c.Tile {
		o.Size = tileSize
	}
	d := f.Draw(o)
	d.Title = out.Of.Name.In(out.Language)
	return a.drawn(c.SVG, figure.SVG(d))
}

// drawn writes a file and says so.
func (a *app) drawn(name string, data []byte) error {
	if err := form.WriteFile(name, data); err != nil {
		return err
	}
	a.said(name, data)
	return nil
}

// exerciseFiguresCmd is corbel exercise figures.
type exerciseFiguresCmd struct {
	Out      string        `short:"o" help:"Folder to write contact sheets to." required:"" placeholder:"FOLDER"`
	Client   string        `help:"Client file: body; a body of reference size if left out." placeholder:"FILE"`
	Grey     bool          `help:"Draw in black, white and grey."`
	Language form.Language `help:"en or de." default:"en"`
}

// A contact sheet: figures a row and a sheet, and mm of each.
const contactAcross, contactMany, contactSize = 5, 25, 44.0

// Run draws every exercise that has postures, a contact sheet for every 25.
func (c *exerciseFiguresCmd) Run(a *app) error {
	if c.Language != form.English && c.Language != form.German {
		return errLanguage
	}
	show := exerciseShowCmd{Client: c.Client}
	b, err := show.body(a, &sheet.ExerciseShown{})
	if err != nil {
		return err
	}
	var all []figure.Captioned
	for _, e := range a.library.All() {
		f, err := sketch.New(a.library, e, b.Body, 0, false)
		if errors.Is(err, sketch.ErrNoPostures) {
			continue
		}
		if err != nil {
			return fmt.Errorf("%w; check the measures of the client", err)
		}
		d := f.Draw(sketch.Options{Grey: c.Grey, Size: contactSize, Shares: sheet.FigureShares(a.library, e, false)})
		all = append(all, figure.Captioned{Drawing: d, Text: e.Name.In(c.Language)})
	}
	tone := "colour"
	if c.Grey {
		tone = "grey"
	}
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return fmt.Errorf("%s: this folder cannot be made; choose another", c.Out)
	}
	for i := 0; i < len(all); i += contactMany {
		name := filepath.Join(c.Out, fmt.Sprintf("figures-%s-%d.svg", tone, i/contactMany+1))
		if err := a.drawn(name, figure.ContactSheet(all[i:min(i+contactMany, len(all))], contactAcross, contactSize)); err != nil {
			return err
		}
	}
	return nil
}
