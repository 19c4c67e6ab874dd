package practice

import (
	"context"
	"errors"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/body"
	"corbel/client"
	"corbel/exercise"
	"corbel/figure"
	"corbel/form"
	"corbel/session"
	"corbel/sheet"
	"corbel/sketch"
)

// An ExerciseView is an exercise with what it asks of a body.
type ExerciseView struct {
	Of    *exercise.Exercise
	Who   *client.Client // nil for the body of reference size
	Page  sheet.ExercisePage
	Shown *sheet.ExerciseShown
	Views []sketch.View
	Why   string // why nothing was computed
}

// Exercise returns an exercise with what it asks of a client's body, or of one of
// reference size where no client is named.
func (p *Practice) Exercise(ctx context.Context, who *Account, id, owner string, l form.Language) (*ExerciseView, error) {
	e := p.Library.ByID(id)
	if e == nil {
		return nil, fail(NotFound, "", "there is no exercise %q", id)
	}
	out := &ExerciseView{Of: e, Shown: &sheet.ExerciseShown{Form: form.Version, Exercise: id, Of: e, Language: l, Experience: client.Some, Reference: true}}
	out.Shown.State()
	b, c, err := p.bodyFor(ctx, who, owner)
	if err != nil {
		return nil, err
	}
	out.Who = c
	switch {
	case b == nil:
		out.Why = form.Text{En: "the client file gives no height or body mass, so nothing is computed for this body", De: "in der Klientendatei fehlen Größe oder Masse, darum ist für diesen Körper nichts berechnet"}.In(l)
	case len(body.Postures(p.Library, e)) > 0:
		asked, err := b.Ask(e, -1)
		if err != nil {
			out.Why = err.Error()
			break
		}
		s, m := out.Shown, b.Body.Measures
		s.Sex, s.Height, s.Mass, s.Lifts = m.Sex, m.Height, m.Mass, len(b.Lifts)
		if c != nil {
			s.Client, s.Name, s.Experience, s.Reference = new(string(c.ID)), c.Name, c.Experience, false
		}
		s.Fill(asked)
		out.Views = []sketch.View{sketch.Side, sketch.Front, sketch.ThreeQuarter, sketch.Back}
	}
	out.Page = out.Shown.Page(l)
	return out, nil
}

// bodyFor is the body of a client an account may see, or the one of reference size;
// nil where the client file has no measures.
func (p *Practice) bodyFor(ctx context.Context, who *Account, owner string) (*session.Body, *client.Client, error) {
	if owner == "" {
		b, err := p.reference()
		return b, nil, err
	}
	doc, err := p.Doc(ctx, who, ClientDoc, owner)
	if err != nil {
		return nil, nil, err
	}
	c, err := client.Read("client", []byte(doc.Text), p.Library.Name)
	if err != nil {
		return nil, nil, err
	}
	return p.body(c, p.today()), c, nil
}

// reference is a body of reference size and of some training.
func (p *Practice) reference() (*session.Body, error) {
	if known, ok := p.bodies.Load(referenceBody); ok {
		return known.(knownBody).body, nil
	}
	c := &client.Client{Experience: client.Some}
	b, err := session.NewAthlete(c, p.Library, nil, p.today()).BodyOf(body.Measures{Sex: "between", Height: body.ReferenceHeight, Mass: body.ReferenceMass}, p.Bodies)
	if err != nil {
		return nil, err
	}
	p.bodies.Store(referenceBody, knownBody{body: b})
	return b, nil
}

// referenceBody is the key of the body of reference size; ids of clients have no
// spaces.
const referenceBody = form.ID("reference body")

// A FigureWish says how a figure is to be drawn.
type FigureWish struct {
	Client string // whose body; of reference size if empty
	View   sketch.View
	Frames int // pictures from the start of the movement to its end and back; 0 for one with its ghost
}

// mostFrames bounds a film (our judgement).
const mostFrames = 24

// Frames draws a movement as pictures of one size: from the start to the end and
// back, or a single picture with the start ghosted.
func (p *Practice) Frames(ctx context.Context, who *Account, id string, w FigureWish) ([][]byte, error) {
	e := p.Library.ByID(id)
	if e == nil {
		return nil, fail(NotFound, "", "there is no exercise %q", id)
	}
	if w.View != "" && !slices.Contains(w.View.Values(), string(w.View)) || w.Frames < 0 || w.Frames > mostFrames {
		return nil, fail(Refused, "view", "a view is one of %s, with up to %d pictures", strings.Join(sketch.View("").Values(), ", "), mostFrames)
	}
	b, _, err := p.bodyFor(ctx, who, w.Client)
	if err != nil {
		return nil, err
	}
	if b == nil {
		if b, err = p.reference(); err != nil {
			return nil, err
		}
	}
	solved, err := p.solved(e, b.Body)
	if err != nil {
		return nil, err
	}
	o := sketch.Options{View: w.View, Size: largeFigure, Shares: sheet.FigureShares(p.Library, e, false)}
	whole := sketch.Pose(e, solved, false)
	if w.Frames == 0 {
		return [][]byte{figure.SVG(whole.Draw(o))}, nil
	}
	if o.View == "" {
		o.View = whole.View()
	}
	return film(e, solved, o, w.Frames)
}

// largeFigure is the size of a figure on its own page, mm.
const largeFigure = 90

// solved are the postures of an exercise on a body.
func (p *Practice) solved(e *exercise.Exercise, b *body.Body) (out []*body.Solved, err error) {
	for _, posture := range body.Postures(p.Library, e) {
		s, err := b.Solve(posture, 0)
		if err != nil {
			return nil, fail(Refused, "", "%s; check the measures of the client", err)
		}
		out = append(out, s)
	}
	if len(out) == 0 {
		return nil, fail(NotFound, "", "there is no figure of %s yet", e.ID)
	}
	return out, nil
}

// film draws the movement between solved postures and back again.
func film(e *exercise.Exercise, solved []*body.Solved, o sketch.Options, frames int) ([][]byte, error) {
	var steps []*body.Solved
	half := max(frames/2, 1)
	for k := range half + 1 {
		at := float64(k) / float64(half) * float64(len(solved)-1)
		from := int(at)
		s := solved[from]
		if rest := at - float64(from); rest > 0 {
			var err error
			s, err = s.Body.Solve(body.Between(solved[from], solved[from+1], rest), 0)
			var cannot *body.Impossible
			if errors.As(err, &cannot) {
				continue // between two postures the targets may clash: the picture is left out
			}
			if err != nil {
				return nil, err
			}
		}
		steps = append(steps, s)
	}
	var out [][]byte
	for _, d := range sketch.Pose(e, steps, false).Film(o) {
		out = append(out, figure.SVG(d))
	}
	for k := len(out) - 2; k > 0; k-- {
		out = append(out, out[k])
	}
	return out, nil
}

// An ExerciseRow is an exercise in the list of the library.
type ExerciseRow struct {
	ID, Name, Stage string
	Direct          string // muscles
	Drawn           bool
}

// Exercises lists the exercises that have all words typed in their names, their
// muscles, their equipment or what they may be there for, in a language.
func (p *Practice) Exercises(typed string, l form.Language) (out []ExerciseRow) {
	words := strings.Fields(strings.ToLower(typed))
	exact, _ := p.Library.Name(typed)
	for _, e := range p.Library.All() {
		if e.Retired {
			continue
		}
		var muscles []string
		for _, m := range e.Direct {
			muscles = append(muscles, m.In(l))
		}
		text := strings.ToLower(strings.Join(searchText(e, l), " "))
		if string(e.ID) != exact && slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text, w) }) {
			continue
		}
		row := ExerciseRow{ID: string(e.ID), Name: e.Name.In(l), Stage: e.Stage.In(l), Direct: strings.Join(muscles, ", "), Drawn: len(body.Postures(p.Library, e)) > 0}
		if row.ID == exact && typed != "" {
			out = slices.Insert(out, 0, row)
			continue
		}
		out = append(out, row)
	}
	return out
}

// searchText is what an exercise is found by.
func searchText(e *exercise.Exercise, l form.Language) []string {
	out := []string{string(e.ID), e.Name.En, e.Name.De, e.Stage.In(l), string(e.Pattern)}
	out = append(out, e.Short.En...)
	out = append(out, e.Short.De...)
	out = append(out, e.Words.En...)
	out = append(out, e.Words.De...)
	for _, list := range [][]anatomy.Muscle{e.Direct, e.Indirect} {
		for _, m := range list {
			out = append(out, m.In(l))
		}
	}
	for _, q := range e.Equipment {
		out = append(out, string(q))
	}
	for _, r := range e.May {
		out = append(out, string(r))
	}
	return out
}
