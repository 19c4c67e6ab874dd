package main

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"corbel/examples"
	"corbel/exercise"
	"corbel/practice"
	"corbel/store"
)

// keeping returns a folder with a practice of two clients, and how to run a command.
func keeping(t *testing.T) (dir string, run func(want int, args ...string) string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "data")
	a := &app{files: diskFiles{}, library: exercise.Shipped}
	s, err := store.OpenSQLite(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	p := a.practice(s)
	for _, d := range []struct {
		kind        practice.Kind
		owner, file string
	}{{practice.ClientDoc, "", "rosa-client.yaml"}, {practice.BlockDoc, "rosa-l", "rosa-block.yaml"}, {practice.ClientDoc, "", "tomas-client.yaml"}} {
		text, err := examples.Files.ReadFile(d.file)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.Put(t.Context(), program, d.kind, d.owner, string(text), "put-00000-"+strings.TrimSuffix(d.file, ".yaml")); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return dir, func(want int, args ...string) string {
		t.Helper()
		var out bytes.Buffer
		a.out, a.err = &out, &out
		if code := a.run(args); code != want {
			t.Fatalf("corbel %s: exit %d, want %d\n%s", strings.Join(args, " "), code, want, out.String())
		}
		return out.String()
	}
}

// Ensure that a practice is backed up, verified and restored, that who was erased since
// is in no byte of what a backup made before brings back, and that a restored practice
// goes on.
func TestBackupRestoreErase(t *testing.T) {
	dir, run := keeping(t)
	backup := filepath.Join(t.TempDir(), "monday.db")
	if said := run(exitYes, "verify", "--data", dir); !strings.Contains(said, "whole: 3 documents") {
		t.Error(said)
	}
	run(exitYes, "backup", backup, "--data", dir)
	run(exitBad, "backup", backup, "--data", dir)
	run(exitBad, "restore", backup, "--data", dir)
	run(exitBad, "erase", "rosa-l", "--data", dir)
	run(exitYes, "erase", "rosa-l", "--sure", "--data", dir)
	run(exitBad, "erase", "rosa-l", "--sure", "--data", dir)
	if inFiles(t, dir, "Lindqvist") || inFiles(t, dir, "rosa-l") {
		t.Error("she is still in the files")
	}
	if !inFiles(t, filepath.Dir(backup), "Lindqvist") {
		t.Fatal("she is not in the backup made before")
	}
	for _, f := range []string{store.File, store.File + "-wal", store.File + "-shm"} {
		if err := os.Remove(filepath.Join(dir, f)); err != nil && !os.IsNotExist(err) {
			t.Fatal(err)
		}
	}
	if said := run(exitYes, "restore", backup, "--data", dir); !strings.Contains(said, "1 erased since") || !strings.Contains(said, "whole: 1 documents") {
		t.Error(said)
	}
	if inFiles(t, dir, "Lindqvist") || inFiles(t, dir, "rosa-l") || !inFiles(t, dir, "Ferenc") {
		t.Error("the restored files hold her, or lost him")
	}
	elsewhere := filepath.Join(t.TempDir(), "elsewhere")
	list := filepath.Join(dir, store.ErasedFile)
	if said := run(exitYes, "restore", backup, "--data", elsewhere, "--erased", list); !strings.Contains(said, "1 erased since") || inFiles(t, elsewhere, "Lindqvist") {
		t.Errorf("elsewhere: %s", said)
	}
	run(exitBad, "restore", backup, "--data", filepath.Join(t.TempDir(), "x"), "--erased", "nothing-here")
	run(exitBad, "verify", "--data", t.TempDir())
}

// Ensure that a client goes from one practice to another as a zip, and that a damaged
// store is found and not called whole.
func TestPackUnpack(t *testing.T) {
	dir, run := keeping(t)
	zip, other := filepath.Join(t.TempDir(), "rosa.zip"), filepath.Join(t.TempDir(), "other")
	run(exitYes, "pack", "-o", zip, "--client", "rosa-l", "--data", dir)
	run(exitBad, "pack", "-o", zip, "--client", "rosa-l", "--data", dir)
	run(exitBad, "pack", "-o", zip+"2", "--client", "nobody", "--data", dir)
	if said := run(exitYes, "unpack", zip, "--data", other); !strings.Contains(said, "2 documents") {
		t.Error(said)
	}
	run(exitBad, "unpack", zip, "--data", other)
	run(exitYes, "verify", "--data", other)
	name := filepath.Join(other, store.File)
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, bytes.Replace(data, []byte("name: Strong downhill"), []byte("name: Strong downhi.."), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	if said := run(exitNo, "verify", "--data", other); !strings.Contains(said, "rosa-b2") {
		t.Error(said)
	}
}

// inFiles says whether a text stands in any file of a folder.
func inFiles(t *testing.T, dir, text string) (found bool) {
	t.Helper()
	if err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(name)
		found = found || bytes.Contains(data, []byte(text))
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return found
}
