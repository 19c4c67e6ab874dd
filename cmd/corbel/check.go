package main

import (
	"encoding/json"

	"corbel/check"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/sheet"
)

// checkCmd is corbel check.
type checkCmd struct {
	Block    string        `arg:"" help:"Block file."`
	Member   string        `help:"Member file, for a block of a group." placeholder:"FILE"`
	Log      string        `help:"Log file; pain reported there counts." placeholder:"FILE"`
	On       form.Date     `help:"Day as of which answers are judged; the block's start if left out." placeholder:"DATE"`
	Language form.Language `help:"Language of the answer: en or de." default:"en" enum:"en,de"`
	JSON     bool          `help:"Print JSON (docs/json/check.md)."`
}

// Run checks a block. The answer is no where a stop stands.
func (c *checkCmd) Run(a *app) error {
	in, err := c.input(a)
	if err != nil {
		return err
	}
	r := check.Check(in)
	if c.JSON {
		if err := writeJSON(a, r); err != nil {
			return err
		}
	} else {
		sheet.Plain{Out: a.out, Library: a.library, Language: c.Language}.Report(r, in.Block, in.Client)
	}
	if r.Blocked() {
		return errNo
	}
	return nil
}

// input reads the files a check needs.
func (c *checkCmd) input(a *app) (check.Input, error) {
	b, err := a.block(c.Block)
	if err != nil {
		return check.Input{}, err
	}
	who, err := a.trainee(c.Block, b, c.Member)
	if err != nil {
		return check.Input{}, err
	}
	in := check.Input{Client: who, Block: b, Library: a.library, On: c.On, Language: c.Language}
	if c.Log != "" {
		if in.Log, err = a.log(c.Log); err != nil {
			return check.Input{}, err
		}
	}
	return in, nil
}

// writeJSON prints a value as indented JSON.
func writeJSON(a *app, v any) error {
	e := json.NewEncoder(a.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// showCmd is corbel show.
type showCmd struct {
	File     string        `arg:"" help:"Client, block, log, group or member file."`
	Language form.Language `help:"en or de; the client's language if left out."`
}

// Run shows a file in plain words.
func (c *showCmd) Run(a *app) error {
	if c.Language != "" && c.Language != form.English && c.Language != form.German {
		return errLanguage
	}
	src, err := form.ReadFile(a.files, c.File)
	if err != nil {
		return err
	}
	d, err := form.Open(c.File, src)
	if err != nil {
		return err
	}
	switch kindOf(d) {
	case "block":
		return c.block(a)
	case "log":
		l, err := a.log(c.File)
		if err != nil {
			return err
		}
		c.plain(a, form.English).Log(l)
		return nil
	case "group":
		g, err := a.group(c.File)
		if err != nil {
			return err
		}
		c.plain(a, g.Language).Group(g)
		return nil
	}
	return c.person(a, kindOf(d))
}

// plain returns the writer in the language asked for, or in the file's own.
func (c *showCmd) plain(a *app, own form.Language) sheet.Plain {
	if c.Language != "" {
		own = c.Language
	}
	return sheet.Plain{Out: a.out, Library: a.library, Language: own}
}

// block shows a block with its client or group.
func (c *showCmd) block(a *app) error {
	b, err := a.block(c.File)
	if err != nil {
		return err
	}
	who, err := a.owner(c.File, b)
	if err != nil {
		return err
	}
	c.plain(a, who.Language).Block(b, who)
	return nil
}

// owner returns the client of a block, or its group as one.
func (a *app) owner(file string, b *plan.Block) (*client.Client, error) {
	if b.Client != "" {
		return a.client(beside(file, b.Client))
	}
	g, err := a.group(beside(file, b.Group))
	if err != nil {
		return nil, err
	}
	return &client.Client{Name: g.Name, Language: g.Language, Places: g.Places}, nil
}

// person shows a client or member.
func (c *showCmd) person(a *app, kind string) error {
	read := a.client
	if kind == "member" {
		read = a.member
	}
	who, err := read(c.File)
	if err != nil {
		return err
	}
	c.plain(a, who.Language).Client(who, a.today)
	return nil
}
