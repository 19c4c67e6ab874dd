package main

import (
	"errors"
	"fmt"

	"corbel/anatomy"
	"corbel/body"
	"corbel/client"
	"corbel/form"
	"corbel/sheet"
	"corbel/unit"
)

// showExerciseCmd is corbel exercise show.
type showExerciseCmd struct {
	ID       string        `arg:"" help:"Exercise, by id, name or abbreviation."`
	Client   string        `help:"Client or member file; a reference body if left out." placeholder:"FILE"`
	Load     string        `help:"Load as the exercise takes it, such as 100kg: on the bar, in each hand, on the stack; nothing if left out." placeholder:"LOAD"`
	Side     anatomy.Side  `help:"Working side of an exercise of one side: left or right." placeholder:"SIDE"`
	Language form.Language `help:"en or de; the client's language, else en, if left out."`
	JSON     bool          `help:"Print JSON (docs/json/exercise.md)."`
}

// reference is the body that is shown where no client is named (our judgement: the
// middle of both norms, some training).
var reference = body.Measures{Sex: "between", Height: 1.72, Mass: 72}

// Run says what an exercise asks of a body.
func (c *showExerciseCmd) Run(a *app) error {
	if c.Language != "" && c.Language != form.English && c.Language != form.German {
		return errLanguage
	}
	if c.Side != "" && c.Side != anatomy.Left && c.Side != anatomy.Right {
		return fmt.Errorf("--side %s: write left or right", c.Side)
	}
	id, near := a.library.Name(c.ID)
	if id == "" {
		return fmt.Errorf("%q is not an exercise in the library%s", c.ID, didYouMean(near))
	}
	load := 0.0
	if c.Load != "" {
		m, err := unit.ParseMass(c.Load)
		if err != nil {
			return fmt.Errorf("--load %q: %w", c.Load, err)
		}
		if load = float64(m.Kilogram()); load < 0 || load > maxShown {
			return fmt.Errorf("--load %s: write a load from 0 to %d kg", c.Load, maxShown)
		}
	}
	asker, who, lang, err := c.asker(a)
	if err != nil {
		return err
	}
	e := a.library.ByID(id)
	answer, err := asker.AskSide(e, load, c.Side == anatomy.Left)
	var impossible *body.Impossible
	if err != nil && !errors.As(err, &impossible) {
		return err
	}
	r := sheet.NewExerciseReport(e, string(who.ID), load, answer)
	if err != nil {
		r.WhyUnknown, r.Why = "impossible", impossible.Error()
		if len(body.Postures(a.library, e)) == 0 {
			r.WhyUnknown = "no-postures"
			r.Why = form.Text{En: "The library has no postures of this exercise yet, so nothing is computed.", De: "Die Bibliothek hat noch keine Stellungen dieser Übung; es wird nichts berechnet."}.In(lang)
		}
	}
	if c.JSON {
		return writeJSON(a, r)
	}
	sheet.Plain{Out: a.out, Library: a.library, Language: lang}.Exercise(r, who.Name)
	return nil
}

// asker builds the body, with its strength by experience, and names it.
func (c *showExerciseCmd) asker(a *app) (*body.Asker, *client.Client, form.Language, error) {
	who, m, lang := &client.Client{Experience: client.Some}, reference, c.Language
	if c.Client != "" {
		var err error
		if who, err = a.person(c.Client); err != nil {
			return nil, nil, "", err
		}
		if m, err = body.MeasuresOf(who, a.today); err != nil {
			return nil, nil, "", fmt.Errorf("%s: %w", c.Client, err)
		}
		if lang == "" {
			lang = who.Language
		}
	}
	if lang == "" {
		lang = form.English
	}
	if who.Name == "" {
		who.Name = form.Text{En: "a reference body of 1.72 m and 72 kg, some training", De: "ein Bezugskörper von 1,72 m und 72 kg, etwas Training"}.In(lang)
	}
	asker, err := body.NewAsker(m, body.LevelOf(who.Experience), a.library)
	if err != nil {
		return nil, nil, "", fmt.Errorf("%s: %w", c.Client, err)
	}
	return asker, who, lang, nil
}
