package main

import (
	"errors"

	"corbel/check"
	"corbel/client"
	"corbel/evidence"
	"corbel/form"
	"corbel/sheet"
)

// judgeFiles are the files of corbel judge and corbel next.
type judgeFiles struct {
	Client   string        `arg:"" help:"Client file."`
	Block    []string      `help:"Block file the logs belong to; may be given several times." placeholder:"FILE"`
	Log      []string      `help:"Log file; may be given several times." placeholder:"FILE"`
	On       form.Date     `help:"Day as of which is judged; today if left out." placeholder:"DATE"`
	Language form.Language `help:"en or de; the client's language if left out."`
	JSON     bool          `help:"Print JSON (docs/json/judge.md, docs/json/next.md)."`
}

// judgeCmd is corbel judge.
type judgeCmd struct{ judgeFiles }

// nextCmd is corbel next.
type nextCmd struct{ judgeFiles }

// read reads the files and judges.
func (c *judgeFiles) read(a *app) (*client.Client, evidence.Input, *evidence.Judgement, error) {
	who, in, err := a.evidence(c.Client, c.On, c.Language)
	if err != nil {
		return nil, in, nil, err
	}
	if len(c.Log) > 0 && len(c.Block) == 0 {
		return nil, in, nil, errors.New("--log needs --block FILE: a log names slots, and the block says which exercises they held")
	}
	j := evidence.JudgeInput{Client: who, Library: a.library, Day: in.Day, Language: in.Language}
	for _, file := range c.Block {
		b, err := a.block(file)
		if err != nil {
			return nil, in, nil, err
		}
		j.Blocks = append(j.Blocks, b)
	}
	for _, file := range c.Log {
		l, err := a.log(file)
		if err != nil {
			return nil, in, nil, err
		}
		if l.Client != who.ID {
			return nil, in, nil, errors.New(file + ": this log is of the client " + string(l.Client) + ", and " + c.Client + " is " + string(who.ID) + "; name that client's log")
		}
		j.Logs = append(j.Logs, l)
	}
	return who, in, evidence.Judge(j), nil
}

// Run says what changed and what is noise.
func (c *judgeCmd) Run(a *app) error {
	who, in, j, err := c.read(a)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(a, j)
	}
	sheet.Plain{Out: a.out, Library: a.library, Language: in.Language}.Judgement(j, who)
	return nil
}

// Run says what the next block should change.
func (c *nextCmd) Run(a *app) error {
	who, in, j, err := c.read(a)
	if err != nil {
		return err
	}
	n := check.Next(in, j)
	if c.JSON {
		return writeJSON(a, n)
	}
	p := sheet.Plain{Out: a.out, Library: a.library, Language: in.Language}
	p.Assessment(n.Assess, who)
	p.Judgement(j, who)
	p.Next(n)
	return nil
}
