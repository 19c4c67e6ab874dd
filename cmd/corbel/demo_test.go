package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Ensure that the demo says what its golden file states; go test -update
// rewrites it, and the difference is read like code.
func TestDemoGolden(t *testing.T) {
	out, errs, code := asked(t, "demo")
	if code != exitYes || errs != "" {
		t.Fatalf("exit %d, %s", code, errs)
	}
	for i, line := range strings.Split(out, "\n") {
		if strings.TrimRight(line, " \t") != line {
			t.Errorf("line %d ends in blanks: %q", i+1, line)
		}
	}
	golden(t, testdata(t, "demo.golden"), out)
}

// privateLine finds the private notes of a file.
var privateLine = regexp.MustCompile(`(?m)^ *private: (.+)$`)

// privateTexts returns the private sentences of the examples. A sentence on more
// than one line would escape the pattern, so there must be as many as fields.
func privateTexts(t *testing.T) []string {
	t.Helper()
	var out []string
	files, err := filepath.Glob("*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		src, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		found := privateLine.FindAllStringSubmatch(string(src), -1)
		if n := strings.Count(string(src), "private:"); n != len(found) {
			t.Fatalf("%s: %d private notes, %d found", f, n, len(found))
		}
		for _, m := range found {
			out = append(out, m[1])
		}
	}
	if len(out) < 2 {
		t.Fatalf("only %d private notes in the examples", len(out))
	}
	return out
}

// privateWithin says which private sentence a text holds, however its lines are
// broken: four words in a row give one away.
func privateWithin(text string, secrets []string) string {
	flat := strings.Join(strings.Fields(text), " ")
	for _, s := range secrets {
		if w := strings.Fields(s); strings.Contains(flat, strings.Join(w[:min(4, len(w))], " ")) {
			return s
		}
	}
	return ""
}

// Ensure that what is private to the coach stands in no answer and in no file
// that is handed over, in either language.
func TestPrivateStaysPrivate(t *testing.T) {
	inExamples(t)
	secrets := privateTexts(t)
	lines := []string{"demo", "demo -o handed", "check rosa-block.yaml --json", "check rosa-block.yaml --log rosa-log.yaml",
		"ask rosa-client.yaml --language de", "ask rosa-client.yaml", "effort 12,rir,2 --exercise push-up --client rosa-client.yaml",
		"change rosa-block.yaml --skip b --why cold -o changed.out", "upgrade rosa-client.yaml"}
	for _, format := range []string{"csv", "ics", "json", "xlsx"} {
		lines = append(lines, "export rosa-block.yaml --format "+format+" -o handed/rosa."+format)
	}
	files, err := filepath.Glob("*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		lines = append(lines, "show "+f, "show "+f+" --language de")
		if strings.HasSuffix(f, "-block.yaml") && !strings.HasPrefix(f, "valley") {
			lines = append(lines, "check "+f, "check "+f+" --all --language de")
		}
	}
	for _, line := range lines {
		args := strings.Fields(line)
		for i := range args {
			args[i] = strings.ReplaceAll(args[i], ",", " ")
		}
		out, errs, code := asked(t, args...)
		if code == exitBad {
			t.Errorf("%s: exit %d, %s", line, code, errs)
		}
		if s := privateWithin(out+errs, secrets); s != "" {
			t.Errorf("corbel %s prints %q", line, s)
		}
	}
	handedOver := 0
	err = filepath.Walk("handed", func(name string, info os.FileInfo, err error) error {
		if err != nil || info.IsDir() {
			return err
		}
		src, err := os.ReadFile(name)
		if s := privateWithin(string(src), secrets); s != "" {
			t.Errorf("%s holds %q", name, s)
		}
		handedOver++
		return err
	})
	if err != nil || handedOver < 10 {
		t.Errorf("%d files handed over, %v", handedOver, err)
	}
}
