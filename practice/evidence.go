package practice

import (
	"context"
	"slices"

	"corbel/check"
	"corbel/client"
	"corbel/evidence"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// shares are the shares of a client's body for a block, as `corbel check` takes
// them; nil, for the stated ones, where height or mass is missing. A body is solved
// once for what the client file says of it.
func (p *Practice) shares(c *client.Client, b *plan.Block) session.Sharer {
	own := p.body(c, b.Start)
	if own == nil {
		return nil
	}
	own.AskAll(session.Computable(b, p.Library))
	return own
}

// A knownBody is a solved body with what it was made of.
type knownBody struct {
	of   string
	body *session.Body
}

// body returns the client's body on a day, or nil where something is missing.
func (p *Practice) body(c *client.Client, day form.Date) *session.Body {
	of := hashOf(day.String() + string(form.Write(c)))
	if known, ok := p.bodies.Load(c.ID); ok && known.(knownBody).of == of {
		return known.(knownBody).body
	}
	own, err := session.NewAthlete(c, p.Library, nil, day).NewBody(p.Bodies)
	if err != nil {
		return nil
	}
	p.bodies.Store(c.ID, knownBody{of, own})
	return own
}

// Evidence is what findings and logs of a client say.
type Evidence struct {
	Assess *evidence.Assessment
	Judge  *evidence.Judgement
	Next   *evidence.Next
}

// A knownEvidence is an evidence with what it was made of.
type knownEvidence struct {
	of  string
	out *Evidence
}

// Evidence weighs findings and logs of a client, as of today.
func (p *Practice) Evidence(c *Person, l form.Language) *Evidence {
	of := p.today().String() + string(l) + c.Doc.Text
	for _, b := range c.Blocks {
		of += string(form.Write(b))
	}
	if c.Log != nil {
		of += string(form.Write(c.Log))
	}
	of = hashOf(of)
	key := c.Doc.ID + " " + string(l)
	if known, ok := p.weighed.Load(key); ok && known.(knownEvidence).of == of {
		return known.(knownEvidence).out
	}
	in := evidence.Input{Client: c.Client, Library: p.Library, Day: p.today(), Language: l, Allowed: check.Testable(c.Client, p.Library, p.today())}
	j := evidence.JudgeInput{Client: c.Client, Library: p.Library, Day: p.today(), Language: l, Blocks: slices.Clone(c.Blocks)}
	slices.SortStableFunc(j.Blocks, func(a, b *plan.Block) int { return a.Start.Days(b.Start) })
	if c.Log != nil {
		j.Logs = []*plan.Log{c.Log}
	}
	out := &Evidence{Judge: evidence.Judge(j)}
	out.Next = check.Next(in, out.Judge)
	out.Assess = out.Next.Assess
	p.weighed.Store(key, knownEvidence{of, out})
	return out
}

// knownEvidence is the evidence of a client as it was last weighed, for the list; nil
// where it was not yet. Where it was not weighed of these versions, it is weighed in the
// background, where there is one; current says that it was.
func (p *Practice) knownEvidence(ctx context.Context, who *Account, id string, l form.Language, of string) (e *Evidence, current bool) {
	key := id + " " + string(l)
	weighed := func() bool { at, ok := p.weighedOf.Load(key); return ok && at == of }
	weigh := func() {
		if c, err := p.Person(context.WithoutCancel(ctx), who, id); err == nil {
			p.Evidence(c, l)
			p.weighedOf.Store(key, of)
		}
	}
	if !weighed() && !p.later("weigh "+key, weigh) {
		weigh()
	}
	if known, ok := p.weighed.Load(key); ok {
		e = known.(knownEvidence).out
	}
	return e, weighed()
}
