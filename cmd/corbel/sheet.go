package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"corbel/check"
	"corbel/client"
	"corbel/exercise"
	"corbel/figure"
	"corbel/form"
	"corbel/plan"
	"corbel/sheet"
)

// modelVersion is the version of the computations, recorded in blocks.
const modelVersion = "1"

// paperFlags are the flags of everything that is printed.
type paperFlags struct {
	Paper   string `help:"a4 or letter." default:"a4" enum:"a4,letter"`
	Figures string `help:"on or off: a figure beside each exercise." default:"on" enum:"on,off"`
	readerFlags
}

// readerFlags say for whom something is written.
type readerFlags struct {
	Language form.Language `help:"en or de; the client's language if left out." placeholder:"LANGUAGE"`
	Member   string        `help:"Member file, for a block of a group." placeholder:"FILE"`
}

// options returns the options of the paper.
func (p paperFlags) options() sheet.PaperOptions {
	o := sheet.PaperOptions{Paper: figure.A4, Figures: p.Figures == "on"}
	if p.Paper == "letter" {
		o.Paper = figure.Letter
	}
	return o
}

// job is a block with its client and what a check found.
type job struct {
	block  *plan.Block
	client *client.Client
	report *check.Report
	lang   form.Language
}

// printable reads and checks a block that is to be printed. Where a stop stands
// it prints the stops and answers no.
func (a *app) printable(file string, p readerFlags) (*job, error) {
	if p.Language != "" && p.Language != form.English && p.Language != form.German {
		return nil, errLanguage
	}
	b, err := a.block(file)
	if err != nil {
		return nil, err
	}
	who, err := a.trainee(file, b, p.Member)
	if err != nil {
		return nil, err
	}
	j := &job{block: b, client: who, lang: p.Language}
	if j.lang == "" {
		j.lang = who.Language
	}
	j.report = check.Check(check.Input{Client: who, Block: b, Library: a.library, Shares: a.shares(who, b), Language: j.lang, Draws: demoDraws, Seed: 1})
	standing := sheet.Standing(j.report)
	if len(standing) == 0 {
		return j, nil
	}
	fmt.Fprintf(a.out, form.Text{En: "%s is not printed: %d stops stand.\n", De: "%s wird nicht gedruckt: %d Halte stehen.\n"}.In(j.lang), file, len(standing))
	for _, x := range standing {
		fmt.Fprint(a.out, sheet.Wrap("- "+x.Text+" "+x.Why, sheet.Width, 2))
	}
	return nil, errNo
}

// content says what is printed.
func (j *job) content(lib *exercise.Library, weeks []int, code string) *sheet.Content {
	return sheet.NewContent(j.block, j.client, lib, j.lang, weeks, code)
}

// sheetCmd is corbel sheet.
type sheetCmd struct {
	Block string `arg:"" help:"Block file."`
	Week  int    `help:"Only this week; all if left out." placeholder:"N"`
	Out   string `short:"o" required:"" help:"File to write, .pdf or .html." placeholder:"FILE"`
	paperFlags
}

// Run writes the sheet of a draft.
func (c *sheetCmd) Run(a *app) error {
	ext := strings.ToLower(filepath.Ext(c.Out))
	if ext != ".pdf" && ext != ".html" {
		return fmt.Errorf("--out %s: the ending says what is written; use .pdf or .html", c.Out)
	}
	j, err := a.printable(c.Block, c.readerFlags)
	if err != nil {
		return err
	}
	var weeks []int
	if c.Week != 0 {
		if c.Week < 1 || c.Week > j.block.Weeks {
			return fmt.Errorf("--week %d: the block has weeks 1 to %d", c.Week, j.block.Weeks)
		}
		weeks = []int{c.Week}
	}
	content := j.content(a.library, weeks, "")
	var data []byte
	if ext == ".pdf" {
		data, err = sheet.PDF(content, c.options(), a.now())
	} else {
		data, err = sheet.HTML(content)
	}
	if err != nil {
		return err
	}
	return a.written(c.Out, data)
}

// now is the time of writing: midnight of the day, so that the same day gives the
// same bytes.
func (a *app) now() time.Time { return a.today.Time() }

// written writes a file whole and says so.
func (a *app) written(name string, data []byte) error {
	if err := form.WriteFile(name, data); err != nil {
		return err
	}
	a.said(name, data)
	return nil
}

// said says that a file was written.
func (a *app) said(name string, data []byte) {
	fmt.Fprintf(a.out, "%s  %d kB\n", name, (len(data)+1023)/1024)
}

// handOverCmd is corbel hand-over.
type handOverCmd struct {
	Block string `arg:"" help:"Block file."`
	Out   string `short:"o" required:"" help:"Folder to write to." placeholder:"DIR"`
	Force bool   `help:"Overwrite what an earlier hand-over wrote there."`
	paperFlags
}

// Run freezes the revision and writes sheet and exports.
func (c *handOverCmd) Run(a *app) error {
	j, err := a.printable(c.Block, c.readerFlags)
	if err != nil {
		return err
	}
	return a.handOver(j, c.Out, c.options(), c.Force)
}

// handOver writes everything a client gets, and the frozen revision.
func (a *app) handOver(j *job, dir string, o sheet.PaperOptions, force bool) error {
	j.block = j.block.Clone()
	j.block.State = plan.HandedOver
	j.block.MadeWith = plan.MadeWith{Program: programVersion, Library: exercise.LibraryVersion, Model: modelVersion}
	frozen, err := sheet.Freeze(j.block, j.client, a.library, j.report, a.today)
	if err != nil {
		return err
	}
	files, err := a.handedOver(j, frozen, o)
	if err != nil {
		return err
	}
	if err := a.writeAll(dir, files, force); err != nil {
		return err
	}
	fmt.Fprintf(a.out, form.Text{En: "Handed over as %s.\n", De: "Übergeben als %s.\n"}.In(j.lang), frozen.Code)
	return nil
}

// writeAll writes files to a folder: all of them or, where one cannot be written,
// none. They lie in a folder of their own until all are there.
func (a *app) writeAll(dir string, files []namedFile, force bool) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("%s: this folder cannot be made; choose another", dir)
	}
	for _, f := range files {
		name := filepath.Join(dir, f.name)
		info, err := os.Stat(name)
		switch {
		case err != nil:
		case info.IsDir():
			return fmt.Errorf("%s is a folder, and a file of that name is to be written; choose another folder to hand over to", name)
		case !force:
			return fmt.Errorf("%s exists; an earlier hand-over lies there: choose another folder, or --force to overwrite it", name)
		}
	}
	aside, err := os.MkdirTemp(dir, ".corbel-*")
	if err != nil {
		return fmt.Errorf("%s: nothing can be written to this folder; choose another", dir)
	}
	defer os.RemoveAll(aside)
	for _, f := range files {
		if err := form.WriteFile(filepath.Join(aside, f.name), f.data); err != nil {
			return err
		}
	}
	for _, f := range files {
		name := filepath.Join(dir, f.name)
		if err := os.Rename(filepath.Join(aside, f.name), name); err != nil {
			return fmt.Errorf("%s: cannot be written: %w", name, err)
		}
		a.said(name, f.data)
	}
	return nil
}

// A namedFile is a file to be written.
type namedFile struct {
	name string
	data []byte
}

// handedOver makes the files of a hand-over; nothing is written before all of
// them are made.
func (a *app) handedOver(j *job, frozen *sheet.Frozen, o sheet.PaperOptions) ([]namedFile, error) {
	content := j.content(a.library, nil, frozen.Code)
	var files []namedFile
	var errs []error
	add := func(name string, data []byte, err error) {
		files = append(files, namedFile{name, data})
		errs = append(errs, err)
	}
	data, err := sheet.PDF(content, o, a.now())
	add("sheet.pdf", data, err)
	data, err = sheet.HTML(content)
	add("sheet.html", data, err)
	for _, format := range []string{"csv", "xlsx", "ics", "json"} {
		data, err = a.export(j, content, format)
		add("block."+format, data, err)
	}
	data, err = frozen.Write()
	add("frozen.json", data, err)
	return files, errors.Join(errs...)
}

// export writes content in a format.
func (a *app) export(j *job, c *sheet.Content, format string) ([]byte, error) {
	switch format {
	case "csv":
		return sheet.CSV(c, j.block)
	case "xlsx":
		return sheet.Workbook(c, j.block)
	case "ics":
		return sheet.Calendar(c, j.block, j.client.Zone, a.now())
	}
	return sheet.JSON(c)
}

// exportCmd is corbel export.
type exportCmd struct {
	Block  string `arg:"" help:"Block file."`
	Format string `required:"" help:"csv (the table of the weeks), xlsx (a workbook to write results into), ics (calendar) or json." enum:"csv,xlsx,ics,json" placeholder:"FORMAT"`
	Out    string `short:"o" required:"" help:"File to write." placeholder:"FILE"`
	readerFlags
}

// Run writes one export.
func (c *exportCmd) Run(a *app) error {
	j, err := a.printable(c.Block, c.readerFlags)
	if err != nil {
		return err
	}
	data, err := a.export(j, j.content(a.library, nil, ""), c.Format)
	if err != nil {
		return err
	}
	return a.written(c.Out, data)
}

// recordCmd is corbel record.
type recordCmd struct {
	Import recordImportCmd `cmd:"" help:"Read results typed into an exported workbook into a log."`
}

// recordImportCmd is corbel record import.
type recordImportCmd struct {
	Workbook string `arg:"" help:"Exported workbook with results, .xlsx."`
	Block    string `help:"Block file: the days of its sessions hold, and its slots are looked for; what the workbook says of its days and client if left out." placeholder:"FILE"`
	Out      string `short:"o" required:"" help:"Log file to write or add to." placeholder:"LOG.yaml"`
}

// Run adds what a workbook says to a log. Unread cells are listed and the answer
// is then no; what could be read is written all the same.
func (c *recordImportCmd) Run(a *app) error {
	log := &plan.Log{Form: form.Version}
	var b *plan.Block
	var on func(block, session form.ID, week int) form.Date
	if c.Block != "" {
		var err error
		if b, err = a.block(c.Block); err != nil {
			return err
		}
		who, err := a.owner(c.Block, b)
		if err != nil {
			return err
		}
		log.Client, on = who.ID, dayOf(b)
	}
	if _, err := os.Stat(c.Out); err == nil {
		old, err := a.log(c.Out)
		if err != nil {
			return err
		}
		log = old
	}
	data, err := os.ReadFile(c.Workbook)
	if err != nil {
		return fmt.Errorf("%s: there is no such file, or it cannot be read", c.Workbook)
	}
	entries, unread, err := sheet.ReadRecord(c.Workbook, data, log, on)
	if err != nil {
		return err
	}
	n := 0
	for _, e := range entries {
		n += len(e.Sets)
		for _, s := range e.Sets {
			if b == nil {
				continue
			}
			if _, slot := b.SlotByID(s.Slot); slot == nil {
				unread = append(unread, sheet.Unread{Tab: string(e.Session), Cell: string(s.Slot), Text: s.Done.String(), Why: "the block holds no such slot; the line was kept in the log"})
			}
		}
	}
	log.Entries = append(log.Entries, entries...)
	switch {
	case n > 0:
		if err := form.WriteFile(c.Out, form.Write(log)); err != nil {
			return err
		}
		fmt.Fprintf(a.out, "%s: %s added\n", c.Out, counted(n, "set"))
	case len(unread) > 0:
		fmt.Fprintf(a.out, "%s: nothing added; what stands in the workbook could not be read\n", c.Out)
	default:
		fmt.Fprintf(a.out, "%s: nothing to add; the workbook holds no results that the log has not\n", c.Out)
	}
	for _, u := range unread {
		fmt.Fprintln(a.out, "not read: "+u.String())
	}
	if len(unread) > 0 {
		return errNo
	}
	return nil
}

// counted writes a number of things: 1 set, 2 sets.
func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// dayOf gives the day of a session of a block, or its first day.
func dayOf(b *plan.Block) func(block, session form.ID, week int) form.Date {
	return func(_, session form.ID, week int) form.Date {
		for i := range b.Sessions {
			if b.Sessions[i].ID == session {
				return b.Date(&b.Sessions[i], week)
			}
		}
		return b.Start.Plus(7 * (week - 1))
	}
}

// importCmd is corbel import.
type importCmd struct {
	File   string    `arg:"" help:"Table, .xlsx or .csv: made by hand in any layout, or exported."`
	Client string    `help:"Client file the block is for, named relative to the block; client.yaml if neither it nor a group is named." placeholder:"FILE"`
	Group  string    `help:"Group file in the client's stead, for a block many members follow." placeholder:"FILE"`
	Start  form.Date `help:"Monday of the first week; what the table says, else the next Monday, if left out." placeholder:"DATE"`
	Out    string    `short:"o" required:"" help:"Block file to write." placeholder:"BLOCK.yaml"`
	Force  bool      `help:"Overwrite the block file."`
}

// Run writes the block a table comes to and lists what could not be read. The
// answer is no where anything could not.
func (c *importCmd) Run(a *app) error {
	if _, err := os.Stat(c.Out); err == nil && !c.Force {
		return fmt.Errorf("%s exists; choose another name, or --force to overwrite it", c.Out)
	}
	switch {
	case c.Client != "" && c.Group != "":
		return errors.New("--client and --group: a block is for one client or one group; take one out")
	case c.Client == "" && c.Group == "":
		c.Client = "client.yaml"
	}
	data, err := os.ReadFile(c.File)
	if err != nil {
		return fmt.Errorf("%s: there is no such file, or it cannot be read", c.File)
	}
	monday := a.today.Plus((8 - int(a.today.Time().Weekday())) % 7)
	im, err := sheet.Import(c.File, data, a.library, sheet.ImportAs{Client: c.Client, Group: c.Group, Start: c.Start, Monday: monday})
	if err != nil {
		return err
	}
	out := form.Write(im.Block)
	if _, err := plan.ReadBlock(c.Out, out, a.library.Name); err != nil {
		return fmt.Errorf("%s: the table does not make a block: %w", c.File, err)
	}
	if err := form.WriteFile(c.Out, out); err != nil {
		return err
	}
	fmt.Fprintf(a.out, "%s: %d of %s recognised, %s, %s\n", c.Out, im.Read, counted(im.Rows, "exercise"), counted(len(im.Block.Sessions), "session"), counted(im.Block.Weeks, "week"))
	for _, g := range im.Guesses {
		fmt.Fprintln(a.out, "taken: "+g)
	}
	for _, u := range im.Unread {
		fmt.Fprintln(a.out, "not read: "+u.String())
	}
	if len(im.Unread) > 0 {
		return errNo
	}
	return nil
}
