package main

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"runtime/debug"
	"strings"

	"corbel/check"
	"corbel/client"
	"corbel/docs"
	"corbel/evidence"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/sheet"
)

var errLanguage = errors.New("--language is en or de")

// programVersion is the version of the program (docs: CHANGELOG.md).
const programVersion = "0.1.0"

// askCmd is corbel ask.
type askCmd struct {
	Client   string        `arg:"" help:"Client or member file."`
	On       form.Date     `help:"Day the questions are asked; today if left out." placeholder:"DATE"`
	Language form.Language `help:"en or de; the client's language if left out."`
}

// Run prints the open questions. The answer is no where any are open.
func (c *askCmd) Run(a *app) error {
	if c.Language != "" && c.Language != form.English && c.Language != form.German {
		return errLanguage
	}
	src, err := form.ReadFile(a.files, c.Client)
	if err != nil {
		return err
	}
	d, err := form.Open(c.Client, src)
	if err != nil {
		return err
	}
	read := a.client
	if kindOf(d) == "member" {
		read = a.member
	}
	who, err := read(c.Client)
	if err != nil {
		return err
	}
	day, lang := c.On, c.Language
	if day.IsZero() {
		day = a.today
	}
	if lang == "" {
		lang = who.Language
	}
	open := check.Ask(who, day)
	sheet.Plain{Out: a.out, Library: a.library, Language: lang}.Open(open, who)
	if !open.Empty() {
		return errNo
	}
	return nil
}

// exerciseCmd is corbel exercise.
type exerciseCmd struct {
	List    listCmd            `cmd:"" help:"List the exercises."`
	Show    exerciseShowCmd    `cmd:"" help:"Show what an exercise asks of a body: joint moments, shares of muscles, largest load."`
	Figures exerciseFiguresCmd `cmd:"" help:"Draw the exercises of the library on contact sheets."`
}

// listCmd is corbel exercise list.
type listCmd struct {
	Language form.Language `help:"en or de." default:"en" enum:"en,de"`
	JSON     bool          `help:"Print JSON (docs/json/exercise-list.md)."`
}

// An entry is one exercise of the list.
type entry struct {
	ID       string   `json:"id"`
	Version  int      `json:"version"`
	Name     string   `json:"name"`
	Stage    string   `json:"stage"`
	Pattern  string   `json:"pattern"`
	Direct   []string `json:"direct"`
	Indirect []string `json:"indirect"`
}

// Run lists the library: the id in the first column, a header on a terminal
// only, so that the output can be piped.
func (c *listCmd) Run(a *app) error {
	var list []entry
	for _, e := range a.library.All() {
		if e.Retired {
			continue
		}
		list = append(list, entry{string(e.ID), e.Version, e.Name.In(c.Language), string(e.Stage), string(e.Pattern), names(e.Direct), names(e.Indirect)})
	}
	if c.JSON {
		return writeJSON(a, list)
	}
	if a.terminal {
		fmt.Fprintf(a.out, "%-32s %-44s %-10s %s\n", "ID", "NAME", "STAGE", "DIRECT")
	}
	for _, e := range list {
		fmt.Fprintf(a.out, "%-32s %-44s %-10s %s\n", e.ID, e.Name, e.Stage, strings.Join(e.Direct, " "))
	}
	return nil
}

// names turns ids of any kind into texts.
func names[T ~string](ids []T) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return out
}

// schemaCmd is corbel schema.
type schemaCmd struct {
	Name string `arg:"" help:"client, block, log, group, member, practice or exercise."`
}

// Run prints a schema.
func (c *schemaCmd) Run(a *app) error {
	b, err := docs.Schemas.ReadFile("schema/" + c.Name + ".json")
	if err != nil {
		return fmt.Errorf("there is no form %q; known are client, block, log, group, member, practice, exercise", c.Name)
	}
	_, err = a.out.Write(b)
	return err
}

// versionCmd is corbel version.
type versionCmd struct{}

// Run prints the versions.
func (versionCmd) Run(a *app) error {
	revision := ""
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				revision = ", commit " + s.Value[:min(12, len(s.Value))]
			}
		}
	}
	fmt.Fprintf(a.out, "corbel %s%s\nlibrary %s, %d exercises\nfile form %d\n", programVersion, revision, exercise.LibraryVersion, len(a.library.All()), form.Version)
	return nil
}

// demoDraws are the draws behind the demo's ranges.
const demoDraws = 200

// demoCmd is corbel demo.
type demoCmd struct {
	Out string `short:"o" help:"Folder to hand the demo over to; nothing is written if left out." placeholder:"DIR"`
}

// Run reads, explains and checks the built-in blocks and hands over those that
// may be.
func (c *demoCmd) Run(a *app) error {
	demo := *a
	demo.files = examples.Files
	var folders []string
	for i, name := range examples.Blocks {
		if i > 0 {
			fmt.Fprintln(a.out)
		}
		folder, err := demo.show(name, c.Out)
		if err != nil {
			return err
		}
		if folder != "" {
			folders = append(folders, folder)
		}
	}
	a.lieIn(folders)
	return nil
}

// lieIn says where what was handed over lies, and what to open.
func (a *app) lieIn(folders []string) {
	if len(folders) == 0 {
		return
	}
	fmt.Fprintln(a.out, "\nHanded over, to be opened now:")
	for _, dir := range folders {
		for _, f := range []struct{ name, what string }{
			{"sheet.pdf", "the sheet to print"}, {"sheet.html", "the same for a screen"},
			{"block.xlsx", "the workbook to write results into"}, {"block.ics", "the calendar"},
		} {
			fmt.Fprintf(a.out, "  %-28s %s\n", filepath.Join(dir, f.name), f.what)
		}
	}
}

// show shows one block of the demo and hands it over to a folder of its own,
// which it names; none where it may not be handed over.
func (a *app) show(name, dir string) (folder string, err error) {
	b, err := a.block(name)
	if err != nil {
		return "", err
	}
	who, err := a.trainee(name, b, "")
	if err != nil {
		return "", err
	}
	p := sheet.Plain{Out: a.out, Library: a.library, Language: who.Language}
	p.Client(who, b.Start)
	fmt.Fprintln(a.out)
	p.Block(b, who)
	fmt.Fprintln(a.out)
	r := check.Check(check.Input{Client: who, Block: b, Library: a.library, Shares: a.shares(who, b), Language: who.Language, Draws: demoDraws, Seed: 1})
	p.Report(r, b, who, false)
	if log := strings.TrimSuffix(name, "-block.yaml") + "-weeks-log.yaml"; a.has(log) {
		if err := a.circle(who, b, log); err != nil {
			return "", err
		}
	}
	if dir == "" {
		return "", nil
	}
	fmt.Fprintln(a.out)
	j, err := a.printable(name, readerFlags{})
	if errors.Is(err, errNo) {
		return "", nil // refused, as it should be; the reasons are printed
	}
	if err != nil {
		return "", err
	}
	folder = filepath.Join(dir, strings.TrimSuffix(name, "-block.yaml"))
	return folder, a.handOver(j, folder, paperFlags{Figures: "on"}.options(), true)
}

// has says whether a file is there.
func (a *app) has(file string) bool {
	_, err := fs.Stat(a.files, file)
	return err == nil
}

// circle closes the loop of the demo: what the findings came to before the block, the
// weeks as they were logged, what changed, and what the next block should change.
func (a *app) circle(who *client.Client, b *plan.Block, file string) error {
	log, err := a.log(file)
	if err != nil {
		return err
	}
	p := sheet.Plain{Out: a.out, Library: a.library, Language: who.Language}
	before := evidence.Input{Client: who, Library: a.library, Day: b.Start, Language: who.Language, Allowed: check.Testable(who, a.library, b.Start)}
	fmt.Fprintln(a.out)
	p.Assessment(check.Assess(before), who)
	end := b.End()
	after := before
	after.Day, after.Allowed = end, check.Testable(who, a.library, end)
	j := evidence.Judge(evidence.JudgeInput{Client: who, Library: a.library, Blocks: []*plan.Block{b}, Logs: []*plan.Log{log}, Day: end, Language: who.Language})
	p.Judgement(j, who)
	p.Next(check.Next(after, j))
	return nil
}
