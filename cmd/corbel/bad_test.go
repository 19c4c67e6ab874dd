package main

import (
	"bytes"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

var update = flag.Bool("update", false, "rewrite the expected messages")

// testApp returns a program that reads files from fsys and says what it prints.
func testApp(fsys fs.FS) (*app, *bytes.Buffer) {
	var out bytes.Buffer
	day, err := form.ParseDate("2026-11-25")
	if err != nil {
		panic(err)
	}
	return &app{out: &out, err: &out, files: fsys, library: exercise.Shipped, today: day}, &out
}

// Ensure that every bad file is refused with exit code 2 and the message its
// golden file states, and that the good file they were made from is read.
func TestBadFiles(t *testing.T) {
	dir := filepath.Join("testdata", "bad")
	list, err := os.ReadFile(filepath.Join(dir, "commands.txt"))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(list)), "\n")
	if len(lines) < 30 {
		t.Fatalf("only %d bad files", len(lines))
	}
	for _, line := range lines {
		name, command, _ := strings.Cut(line, " ")
		t.Run(name, func(t *testing.T) { badFile(t, os.DirFS(dir), name, command, name+".yaml") })
	}
	a, out := testApp(os.DirFS(dir))
	if code := a.run([]string{"show", "client-good.yaml"}); code != exitYes {
		t.Errorf("the good file: exit %d\n%s", code, out)
	}
}

// badFile runs a command on a file and compares what it says with the golden.
func badFile(t *testing.T, fsys fs.FS, name, command, file string) {
	t.Helper()
	a, out := testApp(fsys)
	code := a.run([]string{command, file})
	if code != exitBad {
		t.Errorf("exit %d, want %d", code, exitBad)
	}
	golden := filepath.Join("testdata", "bad", name+".golden")
	if *update {
		if err := os.WriteFile(golden, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if out.String() != string(want) {
		t.Errorf("says\n%s\nwant\n%s", out, want)
	}
}

// Ensure that every file in the folder of bad files is tried, and every golden
// file used: one left behind would look like a promise.
func TestBadFilesAreAllTried(t *testing.T) {
	list, err := os.ReadFile(filepath.Join("testdata", "bad", "commands.txt"))
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{"client-good": true}
	for line := range strings.Lines(string(list)) {
		name, _, _ := strings.Cut(line, " ")
		known[name] = true
	}
	for _, name := range oddFiles {
		known[name] = true
	}
	for _, pattern := range []string{"*.yaml", "*.golden"} {
		files, err := filepath.Glob(filepath.Join("testdata", "bad", pattern))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			if name := filepath.Base(f); !known[strings.TrimSuffix(name, filepath.Ext(name))] {
				t.Errorf("%s is not tried", name)
			}
		}
	}
}

// oddFiles names the files made by the test.
var oddFiles = []string{"aliases", "aliases-by-line", "nul", "utf-16", "not-utf-8", "too-large", "deep", "folder", "absent"}

// Ensure the same of files too odd or too large to keep: aliases by the megabyte
// on one line and on many, a NUL, UTF-16, no UTF-8, more than 1 MiB, deep
// nesting, a folder, no file.
func TestOddFiles(t *testing.T) {
	head := "form: 1\nid: x\nname: X\nlanguage: en\n"
	utf16 := "\xff\xfe"
	for _, r := range head {
		utf16 += string([]byte{byte(r), 0})
	}
	files := fstest.MapFS{}
	for name, text := range map[string]string{
		"aliases":         head + "note: &n x\nplaces: [" + strings.Repeat("*n,", 333_000) + "]\n",
		"aliases-by-line": head + "note: &n x\nplaces:\n" + strings.Repeat("  - *n\n", 140_000),
		"nul":             head + "note: a\x00b\n",
		"utf-16":          utf16,
		"not-utf-8":       head + "note: caf\xe9\n",
		"too-large":       head + "note: " + strings.Repeat("many words ", 100_000) + "\n",
		"deep":            head + "note: " + strings.Repeat("[", 5_000) + "\n",
	} {
		files[name+".yaml"] = &fstest.MapFile{Data: []byte(text)}
	}
	files["folder.yaml/inside"] = &fstest.MapFile{}
	for _, name := range oddFiles {
		t.Run(name, func(t *testing.T) { badFile(t, files, name, "show", name+".yaml") })
	}
	a, out := testApp(diskFiles{})
	if code := a.run([]string{"show", t.TempDir()}); code != exitBad || !strings.Contains(out.String(), "this is a folder, not a file") {
		t.Errorf("a folder: exit %d, %s", code, out)
	}
}

// FuzzReaders holds that no bytes make a reader panic or yield something beside
// an error, and that what is read can be written and read again.
func FuzzReaders(f *testing.F) {
	for _, pattern := range []string{"../../examples/*.yaml", "testdata/bad/*.yaml"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			f.Fatal(err)
		}
		for _, name := range names {
			src, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(src)
		}
	}
	lib := exercise.Shipped
	f.Fuzz(func(t *testing.T, src []byte) {
		reread(t, src, func(b []byte) (any, error) { return orNil(client.Read("x", b, lib.Name)) })
		reread(t, src, func(b []byte) (any, error) { return orNil(plan.ReadBlock("x", b, lib.Name)) })
		reread(t, src, func(b []byte) (any, error) { return orNil(plan.ReadLog("x", b, lib.Name)) })
		reread(t, src, func(b []byte) (any, error) { return orNil(plan.ReadGroup("x", b)) })
		reread(t, src, func(b []byte) (any, error) { return orNil(plan.ReadMember("x", b, lib.Name)) })
		reread(t, src, func(b []byte) (any, error) { return orNil(client.ReadPractice("x", b, lib.Name)) })
		if _, err := exercise.Read(fstest.MapFS{"x.yaml": {Data: src}}); err != nil && err.Error() == "" {
			t.Fatal("an error without a text")
		}
	})
}

// orNil keeps a nil pointer nil as any.
func orNil[T any](v *T, err error) (any, error) {
	if v == nil {
		return nil, err
	}
	return v, err
}

// reread reads, writes and reads again.
func reread(t *testing.T, src []byte, read func([]byte) (any, error)) {
	t.Helper()
	v, err := read(src)
	if (v == nil) == (err == nil) {
		t.Fatalf("half read: %v, %v", v, err)
	}
	if err != nil {
		return
	}
	text := form.Write(v)
	w, err := read(text)
	if err != nil {
		t.Fatalf("what was read is written as\n%s\nand refused: %v", text, err)
	}
	if again := form.Write(w); !bytes.Equal(again, text) {
		t.Fatalf("written\n%s\nthen\n%s", text, again)
	}
}

// Ensure that the exit codes of bad command lines are 2 and those of help 0.
func TestCommandLines(t *testing.T) {
	for _, x := range []struct {
		args string
		code int
		want string
	}{
		{"", exitYes, "Usage"}, {"--help", exitYes, "hand-over"}, {"chek x", exitBad, "unexpected argument"}, {"check", exitBad, "`corbel check --help` says how"}, {"nothing", exitBad, "`corbel --help` says how"},
		{"schema nothing", exitBad, "known are client"}, {"version", exitYes, "96 exercises"}, {"exercise list", exitYes, "back-squat "},
		{"show --language fr x.yaml", exitBad, "en or de"}, {"sheet x.yaml -o x.doc", exitBad, ".pdf or .html"},
	} {
		a, out := testApp(fstest.MapFS{})
		if code := a.run(strings.Fields(x.args)); code != x.code || !strings.Contains(out.String(), x.want) {
			t.Errorf("%q: exit %d, says %q, want exit %d and %q", x.args, code, out, x.code, x.want)
		}
	}
	a, out := testApp(fstest.MapFS{})
	a.run([]string{"exercise", "list"})
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if len(lines) != 96 || strings.HasPrefix(lines[0], "ID") {
		t.Errorf("%d lines, the first %q: want 96 and no head when not on a terminal", len(lines), lines[0])
	}
	for _, l := range lines {
		if id := strings.Fields(l)[0]; exercise.Shipped.ByID(id) == nil {
			t.Errorf("the first column holds %q", id)
		}
	}
}
