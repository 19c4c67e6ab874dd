package practice

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"corbel/form"
	"corbel/plan"
)

// KeepSession keeps a session of a block by name, for the whole practice. What is about
// the client is left out.
func (p *Practice) KeepSession(ctx context.Context, who *Account, block string, session form.ID, name, operation string) (Outcome, error) {
	name = strings.TrimSpace(name)
	if name == "" {
		return Outcome{}, fail(Refused, "name", "give the session a name to find it by")
	}
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return Outcome{}, err
	}
	i := slices.IndexFunc(c.Block.Sessions, func(s plan.Session) bool { return s.ID == session })
	if i < 0 {
		return Outcome{}, fail(Conflict, string(session), "this session is no longer in the block; reload the page")
	}
	b := c.Block.Clone()
	s := b.Sessions[i]
	p.aim(c, nil, false)(&s)
	renamed(&plan.Block{}, &s)
	id, err := p.freshID(ctx, OwnDoc, "s")
	if err != nil {
		return Outcome{}, err
	}
	own := &plan.OwnSession{Form: form.Version, ID: id, Name: name, Weeks: b.Weeks, Session: s}
	return p.Put(ctx, who, OwnDoc, "", string(form.Write(own)), operation)
}

// freshID returns an id no document of a kind has: a letter and a number.
func (p *Practice) freshID(ctx context.Context, kind Kind, letter string) (id form.ID, err error) {
	err = p.Store.View(ctx, func(r Reader) error {
		docs, err := r.Docs(kind, "")
		if err != nil {
			return err
		}
		for n := len(docs) + 1; ; n++ {
			id = form.ID(fmt.Sprintf("%s%d", letter, n))
			if _, err := r.Doc(kind, string(id)); errors.Is(err, ErrNone) {
				return nil
			} else if err != nil {
				return err
			}
		}
	})
	return id, err
}

// keptSession reads a kept session as a block that has it alone.
func (p *Practice) keptSession(ctx context.Context, who *Account, id string) (*plan.Block, error) {
	doc, err := p.Doc(ctx, who, OwnDoc, id)
	if err != nil {
		return nil, err
	}
	o, err := plan.ReadOwnSession("session", []byte(doc.Text), p.Library.Name)
	if err != nil {
		return nil, err
	}
	return &plan.Block{ID: o.ID, Name: o.Name, Weeks: o.Weeks, Sessions: []plan.Session{o.Session}}, nil
}

// DropSession takes a kept session out of the practice; copies of it stay. Coaches
// alone may.
func (p *Practice) DropSession(ctx context.Context, who *Account, id string) error {
	if who.Role != Coach {
		return fail(Forbidden, "", "a coach takes kept sessions out")
	}
	return p.Store.Update(ctx, func(w Writer) error {
		if _, err := p.visible(w, who, OwnDoc, id); err != nil {
			return err
		}
		return errors.Join(w.DropDoc(OwnDoc, id), w.AddNote(Note{At: p.Now(), By: who.ID, What: "took out a kept session", Kind: OwnDoc, Doc: id}))
	})
}
