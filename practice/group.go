package practice

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"corbel/client"
	"corbel/design"
	"corbel/plan"
)

// fileEnd ends the names by which documents name each other: the id of the other
// and this, so that an export can be read as files.
const fileEnd = ".yaml"

// groupMinutes are the minutes a session of a group has for the member its block is
// checked for (our judgement; key judgement).
const groupMinutes = 60

// groupOf returns the id of the group a member follows.
func groupOf(m *Doc) string {
	return strings.TrimSuffix(strings.Trim(TakeApart(m.Text)["group"], `"`), fileEnd)
}

// idTaken says whether another kind of owner has an id already: clients, groups and
// members share theirs. With no kind it says whether any has.
func (p *Practice) idTaken(r Reader, kind Kind, id string) (bool, error) {
	if kind != "" && kind != ClientDoc && kind != GroupDoc && kind != MemberDoc {
		return false, nil
	}
	for _, other := range []Kind{ClientDoc, GroupDoc, MemberDoc} {
		if other == kind {
			continue
		}
		if _, err := r.Doc(other, id); err == nil {
			return true, nil
		} else if !errors.Is(err, ErrNone) {
			return false, err
		}
	}
	return false, nil
}

// trainee returns who trains under an id: a client, or a member as a client of
// their group.
func (p *Practice) trainee(r Reader, id string) (*client.Client, error) {
	doc, err := r.Doc(ClientDoc, id)
	if err == nil {
		return client.Read("client", []byte(doc.Text), p.Library.Name)
	}
	if !errors.Is(err, ErrNone) {
		return nil, err
	}
	m, g, err := p.member(r, id)
	if err != nil {
		return nil, err
	}
	return m.AsClient(g), nil
}

// member reads a member and their group.
func (p *Practice) member(r Reader, id string) (*plan.Member, *plan.Group, error) {
	doc, err := r.Doc(MemberDoc, id)
	if errors.Is(err, ErrNone) {
		return nil, nil, missing(MemberDoc)
	}
	if err != nil {
		return nil, nil, err
	}
	m, err := plan.ReadMember("member", []byte(doc.Text), p.Library.Name)
	if err != nil {
		return nil, nil, err
	}
	g, err := p.group(r, groupOf(doc))
	return m, g, err
}

// group reads a group.
func (p *Practice) group(r Reader, id string) (*plan.Group, error) {
	doc, err := r.Doc(GroupDoc, id)
	if err != nil {
		return nil, fmt.Errorf("the group of a member or block is missing: %w", err)
	}
	return plan.ReadGroup("group", []byte(doc.Text))
}

// referenceMember is whom a block of a group is checked for as a whole: somebody of
// reference size who answered every question no. Each member is checked apart.
func (p *Practice) referenceMember(r Reader, group string, b *plan.Block) (*client.Client, error) {
	g, err := p.group(r, group)
	if err != nil {
		return nil, err
	}
	w := design.GroupWish{Group: g, Start: b.Start, Minutes: groupMinutes}
	return design.GroupClient(w, ""), nil
}

// OpenFor returns a block of a group as one member follows it, with their log.
func (p *Practice) OpenFor(ctx context.Context, who *Account, block, member string) (c *Case, err error) {
	err = p.Store.View(ctx, func(r Reader) (err error) { c, err = p.openFor(r, who, block, member); return err })
	return c, err
}

// openFor is OpenFor within a view.
func (p *Practice) openFor(r Reader, who *Account, block, member string) (*Case, error) {
	if _, err := p.visible(r, who, MemberDoc, member); err != nil {
		return nil, err
	}
	m, g, err := p.member(r, member)
	if err != nil {
		return nil, err
	}
	doc, err := r.Doc(BlockDoc, block)
	if errors.Is(err, ErrNone) || err == nil && doc.Owner != string(g.ID) {
		return nil, missing(BlockDoc)
	}
	if err != nil {
		return nil, err
	}
	b, err := plan.ReadBlock("block", []byte(doc.Text), p.Library.Name)
	if err != nil {
		return nil, err
	}
	b.Changes = append(b.Changes, m.Changes...)
	c := &Case{Doc: *doc, Block: b, Client: m.AsClient(g), Member: member, own: m.Changes}
	return c, p.addTo(r, c, member)
}

// follows returns whose blocks a client or member trains by: their own, or those of
// their group.
func (p *Practice) follows(r Reader, id string) (owner string, member bool, err error) {
	m, err := r.Doc(MemberDoc, id)
	if errors.Is(err, ErrNone) {
		return id, false, nil
	}
	if err != nil {
		return "", false, err
	}
	return groupOf(m), true, nil
}

// Members lists the members of a group that an account may see.
func (p *Practice) Members(ctx context.Context, who *Account, group string) ([]Doc, error) {
	all, err := p.Docs(ctx, who, MemberDoc, "")
	var out []Doc
	for _, m := range all {
		if groupOf(&m) == group {
			out = append(out, m)
		}
	}
	return out, err
}

// A Given is what became of one member when a block was handed over to a group.
type Given struct {
	Member, Name string
	Frozen       *Frozen
	Stops        []string // why nothing was handed over to them
}

// HandOverGroup hands a block of a group over to each of its members for whom no
// stop stands, and says of the others why not. The block is handed over where
// somebody got it.
func (p *Practice) HandOverGroup(ctx context.Context, who *Account, block, id string) ([]Given, error) {
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return nil, err
	}
	if c.Block.Group == "" {
		return nil, fail(Refused, "", "this block is one client's; hand it over to them")
	}
	members, err := p.Members(ctx, who, c.Doc.Owner)
	if err != nil {
		return nil, err
	}
	if len(members) == 0 {
		return nil, fail(Nothing, "", "this group has no members yet; add one, then hand over")
	}
	var out []Given
	for i, m := range members {
		g := Given{Member: m.ID, Name: m.Name}
		one, err := p.OpenFor(ctx, who, block, m.ID)
		if err != nil {
			return nil, err
		}
		g.Frozen, err = p.handOver(ctx, who, one, fmt.Sprintf("%s-%d", id, i))
		var stopped *Error
		switch {
		case errors.As(err, &stopped) && stopped.Reason == Stopped:
			g.Stops = stopped.Stops
		case err != nil:
			return nil, err
		}
		out = append(out, g)
	}
	return out, nil
}

// person returns the document of a client or member that an account may see.
func (p *Practice) person(r Reader, who *Account, id string) (*Doc, error) {
	doc, err := p.visible(r, who, ClientDoc, id)
	if ReasonOf(err) == NotFound {
		if m, err := p.visible(r, who, MemberDoc, id); ReasonOf(err) != NotFound {
			return m, err
		}
	}
	return doc, err
}

// People lists the clients and members of an account, by name.
func (p *Practice) People(ctx context.Context, who *Account) ([]Doc, error) {
	clients, err1 := p.Docs(ctx, who, ClientDoc, "")
	members, err2 := p.Docs(ctx, who, MemberDoc, "")
	all := append(clients, members...)
	slices.SortStableFunc(all, func(a, b Doc) int { return strings.Compare(a.Name, b.Name) })
	return all, errors.Join(err1, err2)
}
