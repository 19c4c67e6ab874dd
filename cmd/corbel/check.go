package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"

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
	Practice string        `help:"Practice file." placeholder:"FILE"`
	Week     int           `help:"Only this week; all if left out." placeholder:"N"`
	Draws    int           `help:"Draws behind the ranges; 0 for none." default:"200"`
	Seed     uint64        `help:"Seed of the draws." default:"1"`
	All      bool          `help:"Show every problem, not five a session."`
	Apply    string        `help:"Apply a way out by the name check prints, such as 3:da783c07.1, and write the block to --out." placeholder:"NAME"`
	Out      string        `short:"o" help:"File to write the changed block to." placeholder:"FILE"`
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
	if c.Apply != "" {
		return c.apply(a, in)
	}
	r := check.Check(in)
	if c.JSON {
		if err := writeJSON(a, r); err != nil {
			return err
		}
	} else {
		sheet.Plain{Out: a.out, Library: a.library, Language: c.Language}.Report(r, in.Block, in.Client, c.All)
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
	if c.Week < 0 || c.Week > b.Weeks {
		return check.Input{}, fmt.Errorf("--week %d: the block has weeks 1 to %d", c.Week, b.Weeks)
	}
	if c.Draws < 0 || c.Draws > maxDraws {
		return check.Input{}, fmt.Errorf("--draws %d: write 0 to %d", c.Draws, maxDraws)
	}
	in := check.Input{Client: who, Block: b, Library: a.library, Shares: a.shares(who, b), On: c.On, Language: c.Language, Week: c.Week, Draws: c.Draws, Seed: c.Seed, Moments: c.JSON}
	if c.Practice != "" {
		src, err := form.ReadFile(a.files, c.Practice)
		if err != nil {
			return check.Input{}, err
		}
		if in.Practice, err = client.ReadPractice(c.Practice, src, a.library.Name); err != nil {
			return check.Input{}, err
		}
	}
	if c.Log != "" {
		if in.Log, err = a.log(c.Log); err != nil {
			return check.Input{}, err
		}
	}
	return in, nil
}

// maxDraws bounds the draws, so that a check ends within seconds.
const maxDraws = 2000

// apply writes the block with one way out applied.
func (c *checkCmd) apply(a *app, in check.Input) error {
	if c.Out == "" {
		return errors.New("--apply needs --out FILE: the changed block is written there, this one stays")
	}
	if sameFile(c.Out, c.Block) {
		return errors.New("--out names the block itself; write the changed block to another file")
	}
	b, err := check.Apply(in, c.Apply)
	if err != nil {
		return err
	}
	src, err := form.ReadFile(a.files, c.Block)
	if err != nil {
		return err
	}
	if err := form.WriteFile(c.Out, append(headComments(src), form.Write(b)...)); err != nil {
		return err
	}
	fmt.Fprintf(a.out, form.Text{En: "%s written, revision %d\n", De: "%s geschrieben, Fassung %d\n"}.In(c.Language), c.Out, b.Revision)
	return nil
}

// sameFile says whether two names mean the same file.
func sameFile(x, y string) bool {
	a, err1 := os.Stat(x)
	b, err2 := os.Stat(y)
	return err1 == nil && err2 == nil && os.SameFile(a, b)
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
		return a.clientOf(beside(file, b.Client), want{"client", "client", file})
	}
	g, err := a.groupOf(beside(file, b.Group), want{"group", "group", file})
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
