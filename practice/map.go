package practice

import (
	"corbel/anatomy"
	"corbel/body"
	"corbel/evidence"
	"corbel/figure"
	"corbel/sketch"
)

// Shown on the map of the body: groups that are weak with at least this chance, and
// pain that has not settled (our judgement; key judgement).
const leastOnMap = 0.1

// Map draws the client's body from the front and from the back with what may be weak
// and where it hurts, as SVG to stand in a page. A body without measures is drawn as
// one of the reference size.
func (p *Practice) Map(c *Person, a *evidence.Assessment, id string) []byte {
	m, err := body.MeasuresOf(c.Client, p.today())
	if err != nil {
		m = body.Measures{Sex: c.Client.Sex, Height: body.ReferenceHeight, Mass: body.ReferenceMass}
	}
	b, err := body.NewBody(m)
	if err != nil {
		return nil
	}
	var marks []sketch.Finding
	for _, l := range a.Limits {
		if l.Weak < leastOnMap {
			continue
		}
		for _, muscle := range l.Groups {
			marks = append(marks, sketch.Finding{Muscle: muscle, Side: l.Side, Weight: l.Weak})
		}
	}
	for _, pain := range c.Client.Pain {
		if pain.Until.IsZero() {
			side := pain.Side
			if side == anatomy.NoSide {
				side = anatomy.Both
			}
			marks = append(marks, sketch.Finding{Region: pain.Place.Region(), Side: side, Weight: 1})
		}
	}
	return figure.Inline(sketch.Map(b, marks, sketch.Options{}), id)
}
