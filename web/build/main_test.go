package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// Ensure that the scripts that are served are those that their sources build.
func TestBuiltScriptsAreUpToDate(t *testing.T) {
	for _, name := range islands {
		want, err := build("..", name)
		if err != nil {
			t.Fatal(err)
		}
		have, err := os.ReadFile(filepath.Join("..", "static", name+".js"))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(have, want) {
			t.Errorf("web/static/%s.js is not what web/island builds; run go generate ./web", name)
		}
	}
}

// Ensure that a source that does not parse is refused with its place.
func TestBrokenSource(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "island"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "island", "x.ts"), []byte("let a = 1\nlet a b = 2\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := build(dir, "x"); err == nil || !bytes.Contains([]byte(err.Error()), []byte("x.ts:2:")) {
		t.Errorf("a broken source gave %v", err)
	}
}
