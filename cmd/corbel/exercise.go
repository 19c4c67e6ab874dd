package main

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"corbel/anatomy"
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

// leastGain is the smallest gain that is listed, percent.
const leastGain = 0.1

// strongerBy is how much stronger a muscle is taken to be for its gain.
const strongerBy = 0.10

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
	stated(out)
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
	out.Load, out.LoadGiven = new(thousandth(asked.Load)), load >= 0
	moments(out, asked)
	computed(out, asked)
	largest(out, asked)
	return nil
}

// stated lists the shares the library states.
func stated(out *sheet.ExerciseShown) {
	for _, id := range anatomy.Muscle("").Values() {
		if x, ok := out.Of.Shares[anatomy.Muscle(id)]; ok {
			out.Shares = append(out.Shares, sheet.ShareShown{Muscle: anatomy.Muscle(id), Side: anatomy.Both, Share: x, Kind: sheet.StatedShare})
		}
	}
}

// moments lists joint moments and the passive part of them.
func moments(out *sheet.ExerciseShown, asked *body.Asked) {
	for _, p := range asked.Postures {
		shown := sheet.PostureShown{Name: p.Name, Joints: map[string]float64{}, Passive: map[string]float64{}, BalanceError: thousandth(p.BalanceError)}
		passive := body.Moments(p.Passive)
		for _, f := range body.Functions() {
			shown.Joints[f.Name] = thousandth(f.Of(&p.Moments))
			if x := thousandth(f.Of(&passive)); x != 0 {
				shown.Passive[f.Name] = x
			}
		}
		out.Postures = append(out.Postures, shown)
	}
}

// bodySides are the sides in the order of package body.
var bodySides = [2]anatomy.Side{body.Right: anatomy.Right, body.Left: anatomy.Left}

// partsOf lists the muscles of the body model that belong to a group, of a side.
func partsOf(group anatomy.Muscle, side int, asked *body.Asked) []*body.AskedMuscle {
	var out []*body.AskedMuscle
	for i := range asked.Muscles {
		m := &asked.Muscles[i]
		if m.Side == side && slices.Contains(group.Parts(), body.Muscles()[m.Muscle].Name) {
			out = append(out, m)
		}
	}
	return out
}

// computed lists the computed shares: a group counts by its busiest part.
func computed(out *sheet.ExerciseShown, asked *body.Asked) {
	for _, id := range anatomy.Muscle("").Values() {
		for side, name := range bodySides {
			parts := partsOf(anatomy.Muscle(id), side, asked)
			if len(parts) == 0 {
				continue
			}
			s := sheet.ShareShown{Muscle: anatomy.Muscle(id), Side: name, Kind: sheet.ComputedShare}
			low, high, activation := 0.0, 0.0, 0.0
			for _, m := range parts {
				s.Share, low, high = max(s.Share, m.Share), max(low, m.Low), max(high, m.High)
				activation = max(activation, m.Activation)
			}
			s.Share = thousandth(s.Share)
			s.Low, s.High, s.Activation = new(thousandth(low)), new(thousandth(high)), new(thousandth(activation))
			out.Shares = append(out.Shares, s)
		}
	}
}

// largest lists the largest load and what limits it, the most limiting first.
func largest(out *sheet.ExerciseShown, asked *body.Asked) {
	l := asked.Largest
	if !l.Known {
		out.Felt = asked.Felt
		return
	}
	out.Felt = true
	shown := &sheet.LargestShown{Kg: thousandth(l.Load), Low: thousandth(l.Low), High: thousandth(l.High), Muscles: []sheet.GainShown{}, Posture: l.Posture, Cannot: l.Cannot, Bound: l.Bound}
	out.Largest = shown
	if l.Load <= 0 || l.Bound {
		return
	}
	for _, id := range anatomy.Muscle("").Values() {
		for side, name := range bodySides {
			gain := 0.0
			for _, m := range partsOf(anatomy.Muscle(id), side, asked) {
				gain += 100 * strongerBy * m.Gain / l.Load
			}
			if math.Abs(gain) >= leastGain {
				shown.Muscles = append(shown.Muscles, sheet.GainShown{Muscle: anatomy.Muscle(id), Side: name, Gain: thousandth(gain)})
			}
		}
	}
	slices.SortStableFunc(shown.Muscles, func(x, y sheet.GainShown) int { return cmp.Compare(y.Gain, x.Gain) })
}
