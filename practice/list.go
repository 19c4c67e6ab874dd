package practice

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"corbel/form"
)

// A knownRow is a row of the list of clients with the versions it was made of.
type knownRow struct {
	of  string
	row ClientRow
}

// rowsAtOnce is how many rows of the list are made while somebody waits for it (our
// judgement: a tenth of a second); the others are made in the background.
const rowsAtOnce = 20

// heads are the clients and members an account may see, by name, and what versions
// of documents there are of each owner. The texts are not read.
type heads struct {
	people []Doc
	of     map[string]string
}

// heads reads what versions there are.
func (p *Practice) heads(ctx context.Context, who *Account) (*heads, error) {
	var out *heads
	err := p.Store.View(ctx, func(r Reader) error {
		out = &heads{of: map[string]string{}}
		all, err := r.Heads()
		if err != nil {
			return err
		}
		versions := map[string]*strings.Builder{}
		for _, d := range all {
			if versions[d.Owner] == nil {
				versions[d.Owner] = &strings.Builder{}
			}
			fmt.Fprintf(versions[d.Owner], "%s %s %d %d;", d.Kind, d.ID, d.Version, d.Changed.UnixNano())
			if d.Kind != ClientDoc && d.Kind != MemberDoc {
				continue
			}
			ok, err := may(r, who, d.ID)
			if err != nil {
				return err
			}
			if ok {
				out.people = append(out.people, d)
			}
		}
		for owner, v := range versions {
			out.of[owner] = v.String()
		}
		return nil
	})
	return out, err
}

// versions says what a row of the list is made of: the day, what belongs to the
// practice, to the client and to the group they follow.
func (h *heads) versions(p *Practice, id, group string) string {
	return p.today().String() + h.of[""] + h.of[id] + h.of[group]
}

// Clients lists the clients of an account, those in need first, then by name. Only
// names with all the words of query are listed. A row is made anew when a document
// behind it has changed, or the day.
func (p *Practice) Clients(ctx context.Context, who *Account, query string, l form.Language) ([]ClientRow, error) {
	h, err := p.heads(ctx, who)
	if err != nil {
		return nil, err
	}
	words, made := strings.Fields(strings.ToLower(query)), 0
	var out []ClientRow
	for _, d := range h.people {
		name := strings.ToLower(d.Name)
		if slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(name, w) }) {
			continue
		}
		row, ok := p.knownRow(h, d.ID, l)
		switch {
		case ok:
		case made >= rowsAtOnce && p.later("row "+d.ID+" "+string(l), func() { _, _ = p.makeRow(context.WithoutCancel(ctx), who, h, d, l) }): // asked for again, where it fails
			row = ClientRow{ID: d.ID, Name: d.Name, Waits: true}
		default:
			made++
			if row, err = p.makeRow(ctx, who, h, d, l); err != nil {
				return nil, err
			}
		}
		out = append(out, row)
	}
	slices.SortStableFunc(out, func(a, b ClientRow) int { return b.rank() - a.rank() })
	return out, nil
}

// knownRow returns a row that was made of the versions that stand.
func (p *Practice) knownRow(h *heads, id string, l form.Language) (ClientRow, bool) {
	v, ok := p.rows.Load(id + " " + string(l))
	if !ok {
		return ClientRow{}, false
	}
	known := v.(knownRow)
	return known.row, known.of == h.versions(p, id, known.row.Group)
}

// makeRow makes a row and keeps it, once nothing of it waits for the background.
func (p *Practice) makeRow(ctx context.Context, who *Account, h *heads, d Doc, l form.Language) (ClientRow, error) {
	row, settled, err := p.clientRow(ctx, who, h, d, l)
	if err == nil && settled {
		p.rows.Store(d.ID+" "+string(l), knownRow{h.versions(p, d.ID, row.Group), row})
	}
	return row, err
}
