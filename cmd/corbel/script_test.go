package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/alecthomas/kong"

	"corbel/body"
)

// Ensure that every script in testdata/script does what it says. A script is a
// txtar archive: commands, then the files they need, each after a line
// -- NAME --. It runs in a folder of its own beside the example files, on
// 2026-12-02. Its commands are those of the usual script tests, and two more:
//
//	exits CODE ARGUMENT...   run corbel and hold its exit code
//	json                     the last run printed one JSON value
//	stdout PATTERN           the last run printed it; also stderr
//	grep PATTERN FILE        the file holds it
//	cmp FILE FILE            two files are the same; stdout is a file, too
//	cp FILE FILE             copy a file
//	exists FILE...           files are there
//
// A ! before stdout, stderr, grep or exists turns it round.
func TestScripts(t *testing.T) {
	files := scripts(t)
	for _, name := range sortedKeys(files) {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txtar"), func(t *testing.T) {
			inExamples(t)
			runScript(t, files[name])
		})
	}
}

// testCache is one cache for all tests of a run, in a folder of its own.
var testCache = sync.OnceValue(func() *body.Cache {
	dir, err := os.MkdirTemp("", "corbel-cache-*")
	if err != nil {
		panic(err)
	}
	return &body.Cache{Dir: dir, Most: body.CacheMost}
})

// TestMain takes the cache away behind the tests.
func TestMain(m *testing.M) {
	code := m.Run()
	_ = os.RemoveAll(testCache().Dir)
	os.Exit(code)
}

// scripts reads every script.
func scripts(t *testing.T) map[string]string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("testdata", "script", "*.txtar"))
	if err != nil || len(names) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	out := map[string]string{}
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out[name] = string(src)
	}
	return out
}

// sortedKeys returns the keys of a map in order.
func sortedKeys(m map[string]string) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// archive cuts a script into its commands and its files.
func archive(src string) (commands []string, files map[string]string) {
	files = map[string]string{}
	name := ""
	for line := range strings.Lines(src) {
		if head, ok := strings.CutPrefix(strings.TrimSpace(line), "-- "); ok && strings.HasSuffix(head, " --") {
			name = strings.TrimSuffix(head, " --")
			continue
		}
		if name == "" {
			commands = append(commands, strings.TrimSpace(line))
		} else {
			files[name] += line
		}
	}
	return commands, files
}

// A script is one at work: what the last run of corbel printed.
type script struct {
	t           *testing.T
	out, errors string
}

// runScript runs one script and stops at the first command that fails.
func runScript(t *testing.T, src string) {
	t.Helper()
	commands, files := archive(src)
	for name, text := range files {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s := &script{t: t}
	for i, line := range commands {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if err := s.do(words(line)); err != nil {
			t.Fatalf("line %d: %s\n%v\nstdout\n%s\nstderr\n%s", i+1, line, err, s.out, s.errors)
		}
	}
}

// words splits a line at spaces; a text in single quotes stays whole.
func words(line string) []string {
	var out []string
	for i, part := range strings.Split(line, "'") {
		if i%2 == 1 {
			out = append(out, part)
		} else {
			out = append(out, strings.Fields(part)...)
		}
	}
	return out
}

// do runs one command of a script.
func (s *script) do(args []string) error {
	want := true
	if args[0] == "!" {
		want, args = false, args[1:]
	}
	name, args := args[0], args[1:]
	if need := map[string]int{"stdout": 1, "stderr": 1, "grep": 2, "cmp": 2, "cp": 2, "exits": 1, "exists": 1}; len(args) < need[name] {
		return fmt.Errorf("%s needs %d arguments", name, need[name])
	}
	switch name {
	case "exits":
		return s.exits(args)
	case "json":
		if !json.Valid([]byte(s.out)) {
			return fmt.Errorf("not one JSON value")
		}
		return nil
	case "stdout":
		return holds([]byte(s.out), args[0], want)
	case "stderr":
		return holds([]byte(s.errors), args[0], want)
	case "grep":
		text, err := s.read(args[1])
		if err != nil {
			return err
		}
		return holds(text, args[0], want)
	case "cmp":
		return s.same(args[0], args[1])
	case "cp":
		text, err := s.read(args[0])
		if err != nil {
			return err
		}
		return os.WriteFile(args[1], text, 0o600)
	case "exists":
		for _, file := range args {
			if _, err := os.Stat(file); (err == nil) != want {
				return fmt.Errorf("%s: there: %v, want %v", file, err == nil, want)
			}
		}
		return nil
	}
	return fmt.Errorf("there is no command %q", name)
}

// exits runs corbel and holds its exit code. Errors go to stderr alone, so that
// what is printed can be piped.
func (s *script) exits(args []string) error {
	want, err := strconv.Atoi(args[0])
	if err != nil {
		return err
	}
	var code int
	s.out, s.errors, code = asked(s.t, args[1:]...)
	switch {
	case code != want:
		return fmt.Errorf("exit %d, want %d", code, want)
	case code == exitBad && (s.out != "" || s.errors == ""):
		return fmt.Errorf("bad input speaks on stderr alone")
	case code != exitBad && s.errors != "":
		return fmt.Errorf("an answer does not speak on stderr")
	}
	return nil
}

// read reads a file of the script; stdout is what the last run printed.
func (s *script) read(name string) ([]byte, error) {
	if name == "stdout" {
		return []byte(s.out), nil
	}
	return os.ReadFile(name)
}

// same compares two files byte by byte.
func (s *script) same(x, y string) error {
	a, err := s.read(x)
	if err != nil {
		return err
	}
	b, err := s.read(y)
	if err != nil {
		return err
	}
	if !bytes.Equal(a, b) {
		return fmt.Errorf("%s and %s differ", x, y)
	}
	return nil
}

// holds looks for a pattern in a text, line by line.
func holds(text []byte, pattern string, want bool) error {
	re, err := regexp.Compile("(?m)" + pattern)
	if err != nil {
		return err
	}
	if re.Match(text) != want {
		return fmt.Errorf("holds %q: %v, want %v", pattern, !want, want)
	}
	return nil
}

// wayOut finds the name of a way out in what check prints.
var wayOut = regexp.MustCompile(`(?m)^  (\d+:[0-9a-f]{8}\.\d+) `)

// Ensure that a way out that check prints is written when it is asked for by
// name: to another file, one revision on, while the block stays.
func TestApplyWritesAWayOut(t *testing.T) {
	inExamples(t)
	out, _, _ := asked(t, "check", "mila-block.yaml", "--language", "de")
	name := wayOut.FindStringSubmatch(out)
	if name == nil {
		t.Fatalf("no way out in\n%s", out)
	}
	before, err := os.ReadFile("mila-block.yaml")
	if err != nil {
		t.Fatal(err)
	}
	said, errs, code := asked(t, "check", "mila-block.yaml", "--apply", name[1], "--out", "after.yaml")
	if code != exitYes || said != "after.yaml written, revision 2\n" {
		t.Fatalf("exit %d, %s%s", code, said, errs)
	}
	if b := blockIn(t, "after.yaml"); b.Revision != 2 {
		t.Errorf("revision %d", b.Revision)
	}
	if after, err := os.ReadFile("mila-block.yaml"); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the block itself changed, %v", err)
	}
	// a name is good for one revision only
	if _, errs, code := asked(t, "check", "after.yaml", "--apply", name[1], "-o", "again.yaml"); code != exitBad {
		t.Errorf("applied twice: exit %d, %s", code, errs)
	}
}

// Ensure that the scripts try every command with every flag it has, so that a
// new one cannot come in untried.
func TestEveryCommandAndFlagIsTried(t *testing.T) {
	parser, err := kong.New(&commands{})
	if err != nil {
		t.Fatal(err)
	}
	var lines [][]string
	for _, src := range scripts(t) {
		cmds, _ := archive(src)
		for _, line := range cmds {
			if w := words(line); len(w) > 2 && w[0] == "exits" {
				lines = append(lines, w[2:])
			}
		}
	}
	for _, leaf := range parser.Model.Leaves(true) {
		path := strings.Fields(leaf.Path())
		for _, f := range leaf.Flags {
			if !triedIn(lines, path, f) {
				t.Errorf("no script tries corbel %s --%s", leaf.Path(), f.Name)
			}
		}
		if !slices.ContainsFunc(lines, func(l []string) bool { return begins(l, path) }) {
			t.Errorf("no script tries corbel %s", leaf.Path())
		}
	}
}

// triedIn says whether a line of the scripts gives a command a flag.
func triedIn(lines [][]string, path []string, f *kong.Flag) bool {
	return slices.ContainsFunc(lines, func(l []string) bool {
		return begins(l, path) && (slices.Contains(l, "--"+f.Name) || f.Short != 0 && slices.Contains(l, "-"+string(f.Short)))
	})
}

// begins says whether a command line is of the command path.
func begins(line, path []string) bool {
	return len(line) >= len(path) && slices.Equal(line[:len(path)], path)
}
