package main

import (
	"cmp"
	"errors"
	"fmt"

	"corbel/body"
	"corbel/client"
	"corbel/form"
	"corbel/session"
	"corbel/sheet"
	"corbel/unit"
)

// exerciseShowCmd is corbel exercise show.
type exerciseShowCmd struct {
	ID       string        `arg:"" help:"Exercise, by id, name or abbreviation."`
	Client   string        `help:"Client or member file: body and experience; a body of reference size if left out." placeholder:"FILE"`
	Load     string        `help:"Load, such as 100kg; 75 % of the largest if left out." placeholder:"LOAD"`
	Side     string        `help:"Side that works, of one-sided exercises: right or left." default:"right" enum:"right,left"`
	Language form.Language `help:"en or de; the client's language, else en, if left out."`
	JSON     bool          `help:"Print JSON (docs/json/exercise.md)."`
	SVG      string        `name:"svg" help:"Draw the exercise on this body into a file instead (docs/figure.md)." placeholder:"FILE"`
	View     string        `help:"View of the drawing: side, front, three-quarter or back; the telling one if left out." placeholder:"VIEW"`
	Grey     bool          `help:"Draw in black, white and grey."`
	Tile     bool          `help:"Draw a tile of 40 pixels."`
}

// Run shows an exercise and what it asks of a body.
func (c *exerciseShowCmd) Run(a *app) error {
	if c.Language != "" && c.Language != form.English && c.Language != form.German {
		return errLanguage
	}
	if err := c.checkDrawing(); err != nil {
		return err
	}
	id, near := a.library.Name(c.ID)
	if id == "" {
		return fmt.Errorf("%q is not an exercise in the library%s", c.ID, didYouMean(near))
	}
	out := &sheet.ExerciseShown{Form: form.Version, Exercise: id, Of: a.library.ByID(id),
		Postures: []sheet.PostureShown{}, Shares: []sheet.ShareShown{}}
	b, err := c.body(a, out)
	if err != nil {
		return err
	}
	if err := c.ask(a, out, b); err != nil {
		return err
	}
	if c.SVG != "" {
		return c.draw(a, out, b.Body)
	}
	if c.JSON {
		return writeJSON(a, out)
	}
	sheet.Plain{Out: a.out, Library: a.library, Language: out.Language}.Exercise(out)
	return nil
}

// body reads the client's body and strength, with the lifts on record; without a
// client they are of reference size and of some training.
func (c *exerciseShowCmd) body(a *app, out *sheet.ExerciseShown) (*session.Body, error) {
	m := body.Measures{Sex: "between", Height: body.ReferenceHeight, Mass: body.ReferenceMass}
	out.Experience, out.Language = client.Some, form.English
	who := &client.Client{Experience: client.Some}
	if c.Client != "" {
		var err error
		who, err = a.person(c.Client)
		if err != nil {
			return nil, err
		}
		out.Client, out.Name, out.Experience = new(string(who.ID)), who.Name, who.Experience
		out.Language = cmp.Or(who.Language, form.English)
		member, err := a.isMember(c.Client)
		if err != nil {
			return nil, err
		}
		out.Reference = member && len(who.Measures) == 0
		if !out.Reference {
			if m, err = body.MeasuresOf(who, a.today); err != nil {
				return nil, fmt.Errorf("%s: %w", c.Client, err)
			}
		}
	} else {
		out.Reference = true
	}
	out.Language = cmp.Or(c.Language, out.Language)
	b, err := session.NewAthlete(who, a.library, nil, a.today).BodyOf(m, a.cache)
	if err != nil {
		return nil, fmt.Errorf("%s: %w; correct it under measures", c.Client, err)
	}
	m = b.Body.Measures
	out.Sex, out.Height, out.Mass, out.Lifts = m.Sex, m.Height, m.Mass, len(b.Lifts)
	return b, nil
}

// isMember says whether a file holds a member of a group.
func (a *app) isMember(file string) (bool, error) {
	src, err := form.ReadFile(a.files, file)
	if err != nil {
		return false, err
	}
	d, err := form.Open(file, src)
	return err == nil && kindOf(d) == "member", err
}

// load reads --load, kg; below 0 where none is given.
func (c *exerciseShowCmd) load() (float64, error) {
	if c.Load == "" {
		return -1, nil
	}
	m, err := unit.ParseMass(c.Load)
	if err != nil {
		return 0, fmt.Errorf("--load %q: %w", c.Load, err)
	}
	kg := float64(m.Kilogram())
	if kg > body.MostLoad {
		return 0, fmt.Errorf("--load %q: the body model takes 0 to %g kg; give a smaller load", c.Load, body.MostLoad)
	}
	return kg, nil
}

// ask computes what the exercise asks, where it has postures.
func (c *exerciseShowCmd) ask(a *app, out *sheet.ExerciseShown, b *session.Body) error {
	load, err := c.load()
	if err != nil {
		return err
	}
	out.State()
	postures := body.Postures(a.library, out.Of)
	if len(postures) == 0 {
		if load >= 0 {
			return fmt.Errorf("--load %q: %s has no postures yet, so nothing is computed at a load; leave --load out", c.Load, out.Exercise)
		}
		return nil
	}
	if c.Side == "left" {
		for i := range postures {
			postures[i] = postures[i].Mirror()
		}
	}
	asked, err := body.AskCached(a.cache, b.Body, b.Strength, postures, load)
	var impossible *body.Impossible
	switch {
	case errors.As(err, &impossible) && load > 0:
		return fmt.Errorf("--load %q: %w; give a smaller load, or check the measures of the client", c.Load, err)
	case errors.As(err, &impossible):
		return fmt.Errorf("%w; check the measures of the client, or choose another exercise", err)
	case err != nil:
		return err
	case load > 0 && !asked.Felt:
		return fmt.Errorf("--load %q: %s is described with body weight alone, and no load acts in its postures; leave --load out", c.Load, out.Exercise)
	}
	out.LoadGiven = load >= 0
	out.Fill(asked)
	return nil
}
