package main

import (
	"fmt"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
)

// client reads a client file.
func (a *app) client(file string) (*client.Client, error) {
	src, err := form.ReadFile(a.files, file)
	if err != nil {
		return nil, err
	}
	return client.Read(file, src, a.library.Name)
}

// block reads a block file.
func (a *app) block(file string) (*plan.Block, error) {
	src, err := form.ReadFile(a.files, file)
	if err != nil {
		return nil, err
	}
	return plan.ReadBlock(file, src, a.library.Name)
}

// log reads a log file.
func (a *app) log(file string) (*plan.Log, error) {
	src, err := form.ReadFile(a.files, file)
	if err != nil {
		return nil, err
	}
	return plan.ReadLog(file, src, a.library.Name)
}

// group reads a group file.
func (a *app) group(file string) (*plan.Group, error) {
	src, err := form.ReadFile(a.files, file)
	if err != nil {
		return nil, err
	}
	return plan.ReadGroup(file, src)
}

// member reads a member file and its group, and returns the member as a client.
func (a *app) member(file string) (*client.Client, error) {
	src, err := form.ReadFile(a.files, file)
	if err != nil {
		return nil, err
	}
	m, err := plan.ReadMember(file, src, a.library.Name)
	if err != nil {
		return nil, err
	}
	g, err := a.group(beside(file, m.Group))
	if err != nil {
		return nil, err
	}
	return m.AsClient(g), nil
}

// trainee returns who a block is for: its client, or the member named.
func (a *app) trainee(blockFile string, b *plan.Block, member string) (*client.Client, error) {
	switch {
	case member != "":
		return a.member(member)
	case b.Client == "":
		return nil, fmt.Errorf("%s: this block is for a group; name a member with --member FILE", blockFile)
	}
	return a.client(beside(blockFile, b.Client))
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
