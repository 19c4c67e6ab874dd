package main

import (
	"errors"
	"fmt"
	"slices"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
)

// A want is what a file is read as: its kind, and who names it, where another
// file does.
type want struct{ kind, field, by string }

// source reads a file that is wanted as one kind. A file that is not there is
// named with what it should hold and who asked for it; a file that is surely of
// another kind is refused in one line instead of field by field.
func (a *app) source(file string, w want) ([]byte, error) {
	src, err := form.ReadFile(a.files, file)
	if err != nil {
		if w.by != "" {
			return nil, fmt.Errorf("%w (%s names it in its line %s: as the %s file)", err, w.by, w.field, w.kind)
		}
		return nil, fmt.Errorf("%w (a %s file is wanted here)", err, w.kind)
	}
	d, err := form.Open(file, src)
	if err != nil {
		return src, nil // the reader of the form says where and why
	}
	found := markedAs(d)
	if len(found) == 0 || slices.Contains(found, w.kind) {
		return src, nil
	}
	text := fmt.Sprintf("%s: this is a %s file, and a %s file is wanted here; name another file", file, found[0], w.kind)
	if w.by != "" {
		text = fmt.Sprintf("%s: this is a %s file, and %s names it in its line %s: as the %s file; correct the line", file, found[0], w.by, w.field, w.kind)
	}
	return nil, errors.New(text)
}

// markedAs lists the kinds a file may be of, by fields that only one form has.
// None means that it cannot be told.
func markedAs(d *form.Doc) []string {
	var out []string
	mark := func(kind string, has bool) {
		if has {
			out = append(out, kind)
		}
	}
	planned := d.Has("weeks") || d.Has("state") || d.Has("start")
	mark("block", planned)
	mark("log", d.Has("entries"))
	mark("group", d.Has("releases"))
	mark("member", d.Has("group") && !planned)
	mark("client", (d.Has("measures") || d.Has("lifts") || d.Has("goals") || d.Has("aims") || d.Has("clearance")) && !d.Has("group"))
	return out
}

// client reads a client file.
func (a *app) client(file string) (*client.Client, error) {
	return a.clientOf(file, want{kind: "client"})
}

// clientOf reads a client file that may be named by another.
func (a *app) clientOf(file string, w want) (*client.Client, error) {
	src, err := a.source(file, w)
	if err != nil {
		return nil, err
	}
	return client.Read(file, src, a.library.Name)
}

// block reads a block file.
func (a *app) block(file string) (*plan.Block, error) {
	src, err := a.source(file, want{kind: "block"})
	if err != nil {
		return nil, err
	}
	return plan.ReadBlock(file, src, a.library.Name)
}

// log reads a log file.
func (a *app) log(file string) (*plan.Log, error) {
	src, err := a.source(file, want{kind: "log"})
	if err != nil {
		return nil, err
	}
	return plan.ReadLog(file, src, a.library.Name)
}

// group reads a group file.
func (a *app) group(file string) (*plan.Group, error) {
	return a.groupOf(file, want{kind: "group"})
}

// groupOf reads a group file that may be named by another.
func (a *app) groupOf(file string, w want) (*plan.Group, error) {
	src, err := a.source(file, w)
	if err != nil {
		return nil, err
	}
	return plan.ReadGroup(file, src)
}

// member reads a member file and its group, and returns the member as a client.
func (a *app) member(file string) (*client.Client, error) {
	src, err := a.source(file, want{kind: "member"})
	if err != nil {
		return nil, err
	}
	m, err := plan.ReadMember(file, src, a.library.Name)
	if err != nil {
		return nil, err
	}
	g, err := a.groupOf(beside(file, m.Group), want{"group", "group", file})
	if err != nil {
		return nil, err
	}
	return m.AsClient(g), nil
}

// placeOf returns the place of the group a member trains at; empty where none is said.
func (a *app) placeOf(file string) (form.ID, error) {
	src, err := a.source(file, want{kind: "member"})
	if err != nil {
		return "", err
	}
	m, err := plan.ReadMember(file, src, a.library.Name)
	if err != nil {
		return "", err
	}
	return m.Place, nil
}

// trainee returns who a block is for: its client, or the member named.
func (a *app) trainee(blockFile string, b *plan.Block, member string) (*client.Client, error) {
	switch {
	case member != "":
		return a.member(member)
	case b.Client == "":
		return nil, fmt.Errorf("%s: this block is for a group; name a member with --member FILE", blockFile)
	}
	return a.clientOf(beside(blockFile, b.Client), want{"client", "client", blockFile})
}

// kindOf says which form a file holds, by the fields only that form has.
func kindOf(d *form.Doc) string {
	for _, k := range []struct{ field, kind string }{
		{"sessions", "block"}, {"entries", "log"}, {"releases", "group"}, {"practice", "practice"}, {"group", "member"},
	} {
		if d.Has(k.field) && !(k.kind == "block" && d.Has("clearance")) {
			return k.kind
		}
	}
	return "client"
}
