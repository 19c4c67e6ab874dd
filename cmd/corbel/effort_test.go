package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"corbel/effort"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/sheet"
)

// asked runs one command line on 2026-12-02 and returns what it printed.
func asked(t testing.TB, args ...string) (out, errs string, code int) {
	t.Helper()
	today, err := form.ParseDate("2026-12-02")
	if err != nil {
		t.Fatal(err)
	}
	var o, e bytes.Buffer
	a := &app{out: &o, err: &e, files: diskFiles{}, library: exercise.Shipped, today: today, cache: testCache()}
	code = a.run(args)
	return o.String(), e.String(), code
}

// inExamples runs the test in a folder of its own with the example files.
func inExamples(t *testing.T) {
	t.Helper()
	dir := t.TempDir()
	list, err := examples.Files.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range list {
		src, err := examples.Files.ReadFile(f.Name())
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, f.Name()), src, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
}

// golden compares a text with a file of testdata; no line is wider than a
// terminal.
func golden(t *testing.T, file, got string) {
	t.Helper()
	for i, line := range strings.Split(got, "\n") {
		if utf8.RuneCountInString(line) > sheet.Width {
			t.Errorf("%s: line %d is wider than %d: %q", file, i+1, sheet.Width, line)
		}
	}
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s; go test -update rewrites it:\n%s", file, d)
	}
}

// testdata returns the name of a golden file, wherever the test runs.
func testdata(t *testing.T, name string) string {
	t.Helper()
	dir, err := filepath.Abs("testdata")
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, name)
}

func TestEffortGolden(t *testing.T) {
	plain, german := testdata(t, "effort.txt"), testdata(t, "effort.de.txt")
	inExamples(t)
	for _, c := range []struct {
		file string
		args []string
	}{
		{plain, []string{"effort", "100 kg x 5 rir 2"}},
		{german, []string{"effort", "92.5 kg x 4 rir 1", "--exercise", "hex-bar-deadlift", "--client", "rosa-client.yaml", "--language", "de"}},
	} {
		out, errs, code := asked(t, c.args...)
		if code != exitYes || errs != "" {
			t.Errorf("%q: exit %d, %s", c.args, code, errs)
			continue
		}
		golden(t, c.file, out)
	}
}

func TestEffortSays(t *testing.T) {
	inExamples(t)
	for _, c := range []struct {
		args string // split at |
		want string // parts, split at |
	}{
		{"225 lb x 5", "about 252 lb|Loads in lb|low estimate"},
		{"60 kg x 40", "46 % of the 1RM|above 20 repetitions|Brzycki                   out of range: it needs fewer than 37 repetitions|Lander                    out of range: it needs fewer than 38|much worse, as here"},
		{"100 kg x 1", "about 1 repetitions (80 % range 1–1.4)|only Brzycki and Lombardi"},
		{"5 @ 80 kg rpe 8", "2 said to be left"},
		{"100 kg x 5 rir 0", "5 done, none left|89 % of the 1RM"},
		{"12 kg/hand x 10 rir 2|--exercise|rear-foot-elevated-split-squat|--client|rosa-client.yaml", "Loads in kg in each hand|Garage in Hollerau|56.5 kg of body mass|lower after years of endurance sport"},
		{"15, 2 in reserve|--exercise|push-up|--client|rosa-client.yaml", "41.5 kg of body mass that move along (of 64 kg)|and here is none|not rounded to what is there"},
		{"6 @ -20 kg rir 2|--exercise|pull-up-overhand|--client|mila-client.yaml", "about -7 kg|below 0 is help|the client is a beginner"},
		{"300 lb x 3|--exercise|bench-press|--client|mila-client.yaml", ">240|the heaviest load there is"},
		{"30 lb x 3|--exercise|bench-press|--client|mila-client.yaml|--language|de", "<45|leichteste"},
		{"60 kg x 5|--client|nadja-member.yaml", "(Nadja Kolm)|No exercise is named"},
	} {
		out, errs, code := asked(t, append([]string{"effort"}, strings.Split(c.args, "|")...)...)
		if code != exitYes || errs != "" {
			t.Errorf("%s: exit %d, %s", c.args, code, errs)
		}
		for want := range strings.SplitSeq(c.want, "|") {
			if !strings.Contains(strings.Join(strings.Fields(out), " "), strings.Join(strings.Fields(want), " ")) {
				t.Errorf("%s: no %q in\n%s", c.args, want, out)
			}
		}
	}
}

// Weaker k after years of endurance sport: the same set is a smaller 1RM.
func TestEffortJSON(t *testing.T) {
	inExamples(t)
	read := func(args ...string) sheet.Effort {
		t.Helper()
		out, errs, code := asked(t, append([]string{"effort", "100 kg x 10 rir 0", "--exercise", "back-squat", "--json"}, args...)...)
		var e sheet.Effort
		if err := json.Unmarshal([]byte(out), &e); code != exitYes || err != nil {
			t.Fatalf("exit %d, %v, %s", code, err, errs)
		}
		return e
	}
	anybody, rosa := read(), read("--client", "rosa-client.yaml")
	// by hand: 100 (1 + 0.025 · 9) = 122.5 and 100 (1 + 0.015 · 9) = 113.5
	if anybody.Max.Value != 122.5 || rosa.Max.Value != 113.5 || !rosa.Endurance || anybody.Endurance {
		t.Errorf("1RM %v and %v, want 122.5 and 113.5", anybody.Max.Value, rosa.Max.Value)
	}
	if len(anybody.Table) != 12 || len(anybody.Equations) != 9 {
		t.Errorf("%d rows, %d equations", len(anybody.Table), len(anybody.Equations))
	}
	if got := anybody.Table[9].Load.Asked; got != 100 {
		t.Errorf("10 repetitions to failure: %v kg, want the set itself", got)
	}
}

func TestEffortRefuses(t *testing.T) {
	inExamples(t)
	for _, c := range []struct{ args, want string }{
		{"", "nothing is written here"},
		{"5", "the load is missing"},
		{"100 kg", "the repetitions are missing"},
		{"100 x 5", "the unit of the load is missing"},
		{"30 s", "repetitions are needed"},
		{"band red x 12", "is not known"},
		{"pin 7 x 5", "is not known"},
		{"bw x 10", "name it with --exercise"},
		{"bw x 5|--exercise|back-squat", "of the external load, and here is none"},
		{"bw x 5|--exercise|push-up", "none is on record up to 2026-12-02"},
		{"100 kg x 5|--exercise|back-squot", "did you mean back-squat"},
		{"100 kg x 5|--client|nobody.yaml", "there is no such file"},
		{"100 kg x 5|--client|rosa-block.yaml", "rosa-block.yaml"},
		{"100 kg x 5|--language|fr", "en or de"},
		{"100 kg x 201", "out of range"},
	} {
		out, errs, code := asked(t, append([]string{"effort"}, strings.Split(c.args, "|")...)...)
		if code != exitBad || out != "" || !strings.Contains(errs, c.want) {
			t.Errorf("%s: exit %d, %q, %q; want %q", c.args, code, out, errs, c.want)
		}
	}
}

// Ensure that with the shares that checks use every published direction holds: what
// is done last, or straight after its neighbour, gets fewer repetitions than done first
// or than asked for.
func TestReportDirectionsWithComputedShares(t *testing.T) {
	a := &app{library: exercise.Shipped, today: form.DateOf(time.Date(2026, 12, 2, 0, 0, 0, 0, time.UTC)), cache: testCache()}
	table, err := a.computedShares()
	if err != nil {
		t.Fatal(err)
	}
	by := map[string]float64{}
	for _, r := range effort.ReportWith(effort.NewModel(effort.DefaultConstants()), table) {
		by[r.Source+" "+r.Condition] = r.Predicted
	}
	for _, c := range [][2]string{
		{"simao-2005 bench last", "simao-2005 bench first"}, {"simao-2005 pushdown last", "simao-2005 pushdown first"},
		{"simao-2005 curl fourth", "simao-2005 curl second"}, {"monteiro-2005 bench last", "monteiro-2005 bench first"},
		{"monteiro-2005 pushdown last", "monteiro-2005 pushdown first"}, {"senna-2019 bench after fly", "senna-2019 bench first, total of 5 sets"},
		{"senna-2019 fly after bench", "senna-2019 fly first"}, {"salles-2008 press after extension", "salles-2008 press first, mean of 4"},
		{"salles-2008 extension after press", "salles-2008 extension first"},
	} {
		less, ok1 := by[c[0]]
		more, ok2 := by[c[1]]
		if !ok1 || !ok2 || less >= more {
			t.Errorf("%s %g, %s %g", c[0], less, c[1], more)
		}
	}
	for name, most := range map[string]float64{"gentil-2007 bench after fly": 10, "gentil-2007 fly after bench": 10, "augustsson-2003 kept": 100,
		"sforzo-1996 bench last": 100, "sforzo-1996 squat last": 100} {
		if x, ok := by[name]; !ok || x >= most {
			t.Errorf("%s: %g, want fewer than %g", name, x, most)
		}
	}
}

func TestReport(t *testing.T) {
	out, errs, code := asked(t, "report", "--draws", "1")
	if code != exitYes || errs != "" {
		t.Fatalf("exit %d, %s", code, errs)
	}
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if last := lines[len(lines)-1]; !strings.HasPrefix(last, "all ") || !strings.Contains(last, "mean absolute error: ") {
		t.Errorf("the last line is %q", last)
	}
	// the shares that checks use, computed ones among them, predict as well as the
	// stated ones: at most 12 % mean error
	_, after, _ := strings.Cut(out, "mean absolute error with the shares that checks use: ")
	var mean float64
	if _, err := fmt.Sscanf(after, "%f", &mean); err != nil || !(mean > 0 && mean <= 12) {
		t.Errorf("mean error with computed shares %g %%, %v", mean, err)
	}
	if !strings.Contains(out, "mitter-2022") {
		t.Error("no row of mitter-2022")
	}
	if _, errs, code := asked(t, "report", "all"); code != exitBad || errs == "" {
		t.Errorf("report all: exit %d, %q", code, errs)
	}
}
