package practice

import (
	"context"
	"fmt"
	"slices"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
)

// EditClient changes a client by a function, as one change on the version it was
// read at.
func (p *Practice) EditClient(ctx context.Context, who *Account, id, what, operation string, f func(*client.Client) error) (Outcome, error) {
	var doc *Doc
	err := p.Store.View(ctx, func(r Reader) (err error) { doc, err = p.seen(r, who, ClientDoc, id, operation); return err })
	if err != nil {
		return Outcome{}, err
	}
	c, err := client.Read("client", []byte(doc.Text), p.Library.Name)
	if err != nil {
		return Outcome{}, err
	}
	if err := f(c); err != nil {
		return Outcome{}, err
	}
	// what was set is read again, so that the rules of the form hold for it
	if _, err := client.Read("client", form.Write(c), p.Library.Name); err != nil {
		return Outcome{}, refused(err)
	}
	edits := Diff(TakeApart(doc.Text), TakeApart(string(form.Write(c))))
	return p.Do(ctx, who, Change{ID: operation, Kind: ClientDoc, Doc: id, Base: doc.Version, What: what, Edits: edits})
}

// AddFinding adds a finding to a client.
func (p *Practice) AddFinding(ctx context.Context, who *Account, id string, f client.Finding, operation string) error {
	if f.Exercise != "" {
		name, near := p.Library.Name(f.Exercise)
		if name == "" {
			return noExercise(f.Exercise, near)
		}
		f.Exercise = name
	}
	_, err := p.EditClient(ctx, who, id, "added a finding", operation, func(c *client.Client) error {
		c.Findings = append(c.Findings, f)
		return nil
	})
	return err
}

// Answers are what was answered to the questions before training, by id. Groups are
// those whose questions were all answered no.
type Answers struct {
	Clearance map[string]string
	Flags     map[string]client.Answer
	Groups    []string
}

// Answer writes answers into the file of a client or member, with the day and who
// asked. A question that a yes needs more words for, such as the region, says so.
func (p *Practice) Answer(ctx context.Context, who *Account, id string, a Answers, operation string) error {
	const what = "asked the questions before training"
	doc, err := p.Somebody(ctx, who, id)
	if err != nil {
		return err
	}
	if doc.Kind == ClientDoc {
		_, err := p.EditClient(ctx, who, id, what, operation, func(c *client.Client) error {
			return p.answer(who, a, &c.Clearance, &c.Flags)
		})
		return err
	}
	m, err := plan.ReadMember("member", []byte(doc.Text), p.Library.Name)
	if err != nil {
		return err
	}
	if err := p.answer(who, a, &m.Clearance, &m.Flags); err != nil {
		return err
	}
	if _, err := plan.ReadMember("member", form.Write(m), p.Library.Name); err != nil {
		return refused(err)
	}
	edits := Diff(TakeApart(doc.Text), TakeApart(string(form.Write(m))))
	_, err = p.Do(ctx, who, Change{ID: operation, Kind: MemberDoc, Doc: id, Base: doc.Version, What: what, Edits: edits})
	return err
}

// Somebody returns the document of a client or member that an account may see.
func (p *Practice) Somebody(ctx context.Context, who *Account, id string) (doc *Doc, err error) {
	err = p.Store.View(ctx, func(r Reader) (err error) { doc, err = p.person(r, who, id); return err })
	return doc, err
}

// answer writes answers into a clearance and a list of flags.
func (p *Practice) answer(who *Account, a Answers, clearance *client.Clearance, flags *[]client.Flag) error {
	asked := func(v string) client.Asked {
		return client.Asked{Answer: client.Answer(v), On: p.today(), By: who.Name}
	}
	for _, q := range clearance.Open() {
		v := a.Clearance[string(q.ID)]
		switch {
		case v == "":
		case q.ID == "active":
			clearance.Active = asked(v)
		case q.ID == "disease":
			clearance.Disease = asked(v)
		case q.ID == "symptoms":
			clearance.Symptoms = asked(v)
		case q.ID == "intensity":
			clearance.Intensity = client.Intensity(v)
		default:
			return fail(Refused, string(q.ID), "this question has no field in the client file")
		}
	}
	for _, g := range a.Groups {
		*flags = append(*flags, client.Flag{Ask: g, Answer: client.No, On: p.today(), By: who.Name})
	}
	for _, q := range client.Asking.Questions {
		if v := a.Flags[string(q.ID)]; v != client.NotAsked {
			*flags = append(*flags, client.Flag{Ask: string(q.ID), Answer: v, On: p.today(), By: who.Name})
		}
	}
	return nil
}

// MakeBlock stores a new block of a client, with an id that was never used for them.
func (p *Practice) MakeBlock(ctx context.Context, who *Account, owner string, b *plan.Block, operation string) (Outcome, error) {
	docs, err := p.Docs(ctx, who, BlockDoc, owner)
	if err != nil {
		return Outcome{}, err
	}
	for n := len(docs) + 1; ; n++ {
		id := fmt.Sprintf("%s-%d", owner, n)
		if !slices.ContainsFunc(docs, func(d Doc) bool { return d.ID == id }) {
			b.ID = form.ID(id)
			break
		}
	}
	b.Client, b.Group, b.State, b.Revision = owner+".yaml", "", plan.Draft, 1
	return p.Put(ctx, who, BlockDoc, owner, string(form.Write(b)), operation)
}
