package corbel_test

import (
	"encoding/csv"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// keyInComment finds the keys that comments name: (key acsm-2015).
var keyInComment = regexp.MustCompile(`\bkeys? ([a-z0-9]+(?:-[a-z0-9]+)+)`)

// keyInYAML finds the keys in data files.
var keyInYAML = regexp.MustCompile(`(?m)^\s*(?:source|basis): ([a-z0-9-]+)$`)

// keyInGo finds quoted keys with a year in code and tables.
var keyInGo = regexp.MustCompile(`"([a-z-]+-(?:19|20)\d\d[a-z]?)"`)

// Ensure that every source key used in code and data stands in docs/sources.md.
func TestEverySourceIsListed(t *testing.T) {
	listed := map[string]bool{}
	page, err := os.ReadFile("docs/sources.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile("`([a-z0-9-]+)`").FindAllStringSubmatch(string(page), -1) {
		listed[m[1]] = true
	}
	used := 0
	err = filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (path == "demo" || path == "bin" || path == ".git" || d.Name() == "testdata") {
			return filepath.SkipDir // written by make, or not ours to source
		}
		if d.IsDir() {
			return nil
		}
		for _, key := range keysIn(t, path) {
			used++
			if !listed[key] {
				t.Errorf("%s names the source %q, which docs/sources.md does not list", path, key)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if used < 100 {
		t.Errorf("only %d keys were found: the search is broken", used)
	}
}

// keysIn lists the source keys a file names.
func keysIn(t *testing.T, path string) []string {
	var res []*regexp.Regexp
	switch filepath.Ext(path) {
	case ".csv":
		return lastColumn(t, path)
	case ".go":
		if strings.HasSuffix(path, "_test.go") {
			return nil
		}
		res = []*regexp.Regexp{keyInComment, keyInGo}
	case ".yaml":
		res = []*regexp.Regexp{keyInYAML}
	}
	if res == nil || strings.HasPrefix(path, "examples") {
		return nil
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var keys []string
	for _, re := range res {
		for _, m := range re.FindAllStringSubmatch(string(text), -1) {
			keys = append(keys, m[1])
		}
	}
	return keys
}

// lastColumn lists the sources of a table.
func lastColumn(t *testing.T, path string) []string {
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	var keys []string
	for _, row := range rows[min(2, len(rows)):] {
		keys = append(keys, row[len(row)-1])
	}
	return keys
}
