// Corbel is a workbench for a strength coach who works at a distance. This
// command reads the files a practice keeps and answers on the terminal.
package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"corbel/body"
	"corbel/exercise"
	"corbel/form"
)

// Exit codes.
const (
	exitYes = 0 // the answer is yes, or the work is done
	exitNo  = 1 // the answer is no: a stop stands, questions are open
	exitBad = 2 // bad input
)

// errNo says that the answer is no; it has been printed already.
var errNo = errors.New("no")

// commands are the commands of the program, one field each.
type commands struct {
	Check    checkCmd    `cmd:"" help:"Check a block against its client: safety, sets, reasons, week."`
	Show     showCmd     `cmd:"" help:"Show a client, block, log, group or member in plain words."`
	Ask      askCmd      `cmd:"" help:"Print the safety questions still to be asked of a client."`
	Design   designCmd   `cmd:"" help:"Propose a block for a client, with a reason for every exercise."`
	Why      whyCmd      `cmd:"" help:"Say why each exercise of a proposed block is there, and what could stand there instead."`
	Compare  compareCmd  `cmd:"" help:"Put two blocks of a client side by side."`
	Sheet    sheetCmd    `cmd:"" help:"Write the sheet of a block, PDF or HTML."`
	HandOver handOverCmd `cmd:"" name:"hand-over" help:"Freeze a revision and write its sheet and exports."`
	Export   exportCmd   `cmd:"" help:"Write a block as CSV, workbook, calendar or JSON."`
	Import   importCmd   `cmd:"" help:"Read a table, workbook or CSV, into a block: hand-made or exported."`
	Record   recordCmd   `cmd:"" help:"Take in what clients did."`
	Change   changeCmd   `cmd:"" help:"Lay a change over a block in mid-block: pause, place, pain, a session left out."`
	Assess   assessCmd   `cmd:"" help:"Say what findings come to: which groups may be weak, which test would tell, what they may get."`
	Judge    judgeCmd    `cmd:"" help:"Say what changed and what is noise: tests, lifts, limits, fits of the logs."`
	Next     nextCmd     `cmd:"" help:"Assess, judge, and say what the next block should change."`
	Effort   effortCmd   `cmd:"" help:"Say what a set tells: repetitions to failure, 1RM, loads for other sets."`
	Report   reportCmd   `cmd:"" help:"Print the published figures against what the body and effort models say."`
	Exercise exerciseCmd `cmd:"" help:"The exercise library."`
	Body     bodyCmd     `cmd:"" help:"What a client's body can hold in every exercise, and what limits it."`
	Cache    cacheCmd    `cmd:"" help:"The cache of solved bodies."`
	Serve    serveCmd    `cmd:"" help:"Open the workbench in the browser."`
	Backup   backupCmd   `cmd:"" help:"Write the whole practice to one file, while it is used."`
	Restore  restoreCmd  `cmd:"" help:"Put a backup into a folder where no practice lies; whom you erased since stays erased."`
	Verify   verifyCmd   `cmd:"" help:"Read the whole practice and hold every document to its history."`
	Pack     packCmd     `cmd:"" help:"Write a client, a group or the whole practice as a zip of open forms."`
	Unpack   unpackCmd   `cmd:"" help:"Take a zip of open forms into a practice."`
	Erase    eraseCmd    `cmd:"" help:"Take everything about a client out of a practice, for good."`
	Upgrade  upgradeCmd  `cmd:"" help:"Bring a file to the newest form; there is one form so far."`
	Schema   schemaCmd   `cmd:"" help:"Print the JSON Schema of a file form."`
	Demo     demoCmd     `cmd:"" help:"Show the built-in demo: clients and blocks, read, explained, checked, handed over."`
	Version  versionCmd  `cmd:"" help:"Print the versions of program, library and file form."`
}

// An app is what every command works with.
type app struct {
	out, err io.Writer
	terminal bool // out is a terminal
	files    fs.FS
	library  *exercise.Library
	today    form.Date
	cache    *body.Cache // of solved bodies; nil keeps nothing
}

func main() {
	a := &app{out: os.Stdout, err: os.Stderr, files: diskFiles{}, library: exercise.Shipped, today: form.DateOf(time.Now()), cache: cacheOf(os.Getenv, os.UserCacheDir, time.Now)}
	if info, err := os.Stdout.Stat(); err == nil {
		a.terminal = info.Mode()&os.ModeCharDevice != 0
	}
	os.Exit(a.run(os.Args[1:]))
}

// run parses and runs one command line and returns the exit code.
func (a *app) run(args []string) int {
	var c commands
	code := -1
	parser, err := kong.New(&c, kong.Name("corbel"), kong.Writers(a.out, a.err),
		kong.Description("A workbench for a strength coach who works at a distance. Exit 0: yes or done; 1: the answer is no; 2: bad input."),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true}),
		kong.Exit(func(n int) { code = n }))
	if err != nil {
		panic(err)
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	ctx, err := parser.Parse(loadsLast(args))
	if code >= 0 {
		return code // help was asked for
	}
	if err != nil {
		return a.finish(fmt.Errorf("%w; %s says how", err, helpFor(err)))
	}
	return a.finish(ctx.Run(a))
}

// loadsLast moves arguments such as "-15 kg x 5" behind a --, so that a load that
// is taken off is not read as a flag. No flag starts with a digit.
func loadsLast(args []string) []string {
	isLoad := func(s string) bool { return len(s) > 1 && s[0] == '-' && s[1] >= '0' && s[1] <= '9' }
	if slices.Contains(args, "--") || !slices.ContainsFunc(args, isLoad) {
		return args
	}
	var out, loads []string
	for i, arg := range args {
		// what follows a flag such as --draws is its value, and is refused there
		if isLoad(arg) && (i == 0 || !strings.HasPrefix(args[i-1], "--") || strings.Contains(args[i-1], "=")) {
			loads = append(loads, arg)
			continue
		}
		out = append(out, arg)
	}
	return append(append(out, "--"), loads...)
}

// helpFor names the command line that explains the command a wrong line meant.
func helpFor(err error) string {
	var wrong *kong.ParseError
	if errors.As(err, &wrong) && wrong.Context != nil && wrong.Context.Selected() != nil {
		return "`corbel " + wrong.Context.Selected().Path() + " --help`"
	}
	return "`corbel --help`"
}

// finish prints an error and picks the exit code.
func (a *app) finish(err error) int {
	switch {
	case err == nil:
		return exitYes
	case errors.Is(err, errNo):
		return exitNo
	}
	fmt.Fprintln(a.err, err)
	return exitBad
}

// diskFiles opens files by any path of this machine, `..` and all, which
// os.DirFS does not.
type diskFiles struct{}

// Open opens a file; a folder is refused by form.ReadFile.
func (diskFiles) Open(name string) (fs.File, error) { return os.Open(name) }

// beside returns the name of a file that another file names relative to itself.
func beside(file, name string) string { return path.Join(path.Dir(file), name) }
