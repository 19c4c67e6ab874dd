package main

import (
	"fmt"

	"corbel/form"
)

// upgradeCmd is corbel upgrade. There is one version of the file forms; the
// command is here so that scripts which call it before every check keep working
// when there is a second.
type upgradeCmd struct {
	File string `arg:"" help:"Client, block, log, group, member or practice file."`
}

// Run reads the file as what it is and says that it is up to date.
func (c *upgradeCmd) Run(a *app) error {
	src, err := form.ReadFile(a.files, c.File)
	if err != nil {
		return err
	}
	d, err := form.Open(c.File, src) // refuses every version but the one there is
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "%s: a %s of form %d, the newest; nothing to do\n", c.File, kindOf(d), form.Version)
	return nil
}
