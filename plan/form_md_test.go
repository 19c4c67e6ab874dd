package plan_test

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// manual is the page whose examples are run here.
const manual = "../docs/form.md"

var update = flag.Bool("update", false, "rewrite what is understood in "+manual)

// A fence is one fenced block of the manual.
type fence struct {
	info string
	line int // of its first line, from 1
	body []string
}

// fences returns the fenced blocks of the manual.
func fences(t testing.TB) []fence {
	t.Helper()
	src, err := os.ReadFile(manual)
	if err != nil {
		t.Fatal(err)
	}
	var out []fence
	open := false
	for i, line := range strings.Split(string(src), "\n") {
		switch {
		case !open && strings.HasPrefix(line, "```"):
			open = true
			out = append(out, fence{info: strings.TrimPrefix(line, "```"), line: i + 2})
		case open && line == "```":
			open = false
		case open:
			out[len(out)-1].body = append(out[len(out)-1].body, line)
		}
	}
	if open {
		t.Fatalf("%s: the last fence is not closed", manual)
	}
	return out
}

// An example is one input of the manual with what is understood.
type example struct {
	info, input, want string
	line              int
}

// examples returns the examples of the shorthand of all fences of a kind.
func examples(t testing.TB, infos ...string) []example {
	t.Helper()
	var out []example
	for _, f := range fences(t) {
		if !slices.Contains(infos, f.info) {
			continue
		}
		for i, line := range f.body {
			switch {
			case line == "":
			case strings.HasPrefix(line, "\t"):
				out[len(out)-1].want = line[1:]
			default:
				out = append(out, example{info: f.info, input: line, line: f.line + i})
			}
		}
	}
	return out
}

// readers say what is understood of an input, by the info string of its fence.
var readers = map[string]func(string) (string, error){
	"dose": func(s string) (string, error) {
		d, err := plan.ParseDose(s)
		return plan.Phrase{Language: form.English}.Dose(d), err
	},
	"dose-de": func(s string) (string, error) {
		d, err := plan.ParseDose(s)
		return plan.Phrase{Language: form.German}.Dose(d), err
	},
	"done": func(s string) (string, error) {
		d, err := plan.ParseDone(s)
		return plan.Phrase{Language: form.English}.Done(d), err
	},
	"progress": func(s string) (string, error) {
		var p plan.Progress
		err := p.UnmarshalText([]byte(s))
		return p.String(), err
	},
}

// understood is what the manual shows under an input.
func understood(info, input string) string {
	text, err := readers[info](input)
	if err == nil {
		return text
	}
	var e *plan.DoseError
	if !errors.As(err, &e) {
		return "error: " + err.Error()
	}
	text = fmt.Sprintf("error: column %d: %s", utf8.RuneCountInString(input[:e.Offset()])+1, e)
	if len(e.Near()) > 0 {
		text += "; nearest: " + strings.Join(e.Near(), ", ")
	}
	return text
}

// Ensure that every dose, log line and rule of progress of the manual is
// understood as it says.
func TestManualShorthand(t *testing.T) {
	if *update {
		rewriteManual(t)
	}
	for _, e := range examples(t, "dose", "dose-de", "done", "progress") {
		if got := understood(e.info, e.input); got != e.want {
			t.Errorf("%s:%d: %s\n got %s\nwant %s", manual, e.line, e.input, got, e.want)
		}
	}
}

// rewriteManual writes what is understood under every input of the manual.
func rewriteManual(t *testing.T) {
	src, err := os.ReadFile(manual)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	info := ""
	for _, line := range strings.Split(string(src), "\n") {
		run := readers[info] != nil && line != "```"
		switch {
		case run && strings.HasPrefix(line, "\t"):
			continue
		case strings.HasPrefix(line, "```"):
			info = strings.TrimPrefix(line, "```")
		}
		if out = append(out, line); run && line != "" {
			out = append(out, "\t"+understood(info, line))
		}
	}
	if err := os.WriteFile(manual, []byte(strings.Join(out, "\n")), 0o644); err != nil {
		t.Fatal(err)
	}
}

// Ensure that the manual shows what it promises: every piece of the shorthand,
// and refusals enough.
func TestManualIsComplete(t *testing.T) {
	var inputs []string
	refused := 0
	for _, e := range examples(t, "dose") {
		inputs = append(inputs, e.input)
		if strings.HasPrefix(e.want, "error: ") {
			refused++
		}
	}
	if refused < 25 {
		t.Errorf("%d refusals, want at least 25", refused)
	}
	all := strings.Join(inputs, "\n")
	for _, want := range []string{
		"4 x 4 @ 72%", "3 x 8 @ 100 kg", "3 x 10/side rir 2", "3 x 8 rpe 8", "5 x 5 @ 8RM", "3 x max @ 10RM", "3 x 8-10",
		"3,3,2,2 @ 75,80,82.5,85%", "@ 72% of back squat", "body weight", "+ 10 kg", "- 15 kg", "kg/hand", "band light", "pin 7", "level 4",
		"left 3 x 10, right 2 x 10", "weak side first", "2 x 30 s", "3 x 40 m", "30 s/side @ 16 kg/hand", "warm-up 8 @ 40 kg", "rest 3:00",
		"tempo 3-1-2\n", "tempo 3-1-2-1\n", "lower-pause-lift", "lift-pause-lower", "measure: reps both sides, rating", "3x8@100kg rir2", "225 lb",
	} {
		if !strings.Contains(all+"\n", want) {
			t.Errorf("the manual lacks %q", want)
		}
	}
	seen := map[string]bool{}
	for _, f := range fences(t) {
		seen[f.info] = true
	}
	for _, info := range []string{"dose-de", "done", "progress", "yaml client", "yaml block", "yaml log", "yaml group", "yaml member"} {
		if !seen[info] {
			t.Errorf("the manual has no example %q", info)
		}
	}
}

// fileReaders read the worked files of the manual; again reads what was
// written.
var fileReaders = map[string]func([]byte) (any, error){
	"yaml client": func(src []byte) (any, error) { return client.Read("client.yaml", src, exercise.Shipped.Name) },
	"yaml block":  func(src []byte) (any, error) { return plan.ReadBlock("block.yaml", src, exercise.Shipped.Name) },
	"yaml log":    func(src []byte) (any, error) { return plan.ReadLog("log.yaml", src, exercise.Shipped.Name) },
	"yaml group":  func(src []byte) (any, error) { return plan.ReadGroup("group.yaml", src) },
	"yaml member": func(src []byte) (any, error) { return plan.ReadMember("member.yaml", src, exercise.Shipped.Name) },
}

// worked returns the worked file of the manual with that info string.
func worked(t testing.TB, info string) string {
	t.Helper()
	for _, f := range fences(t) {
		if f.info == info {
			return strings.Join(f.body, "\n") + "\n"
		}
	}
	t.Fatalf("the manual has no example %q", info)
	return ""
}

// Ensure that the worked files of the manual are read, and that they read back
// equal after they were written.
func TestManualFiles(t *testing.T) {
	for info, read := range fileReaders {
		t.Run(info, func(t *testing.T) {
			v, err := read([]byte(worked(t, info)))
			if err != nil {
				t.Fatal(err)
			}
			src := form.Write(v)
			again, err := read(src)
			if err != nil {
				t.Fatalf("%v\n%s", err, src)
			}
			if d := diff(v, again); d != "" {
				t.Error(d)
			}
			if second := form.Write(again); string(second) != string(src) {
				t.Errorf("written twice it differs:\n%s\n%s", src, second)
			}
		})
	}
}

// Ensure that the parts of the worked block fit those of the worked log: every
// logged set finds its slot.
func TestManualLogFitsBlock(t *testing.T) {
	b, err := plan.ReadBlock("block.yaml", []byte(worked(t, "yaml block")), exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	l, err := plan.ReadLog("log.yaml", []byte(worked(t, "yaml log")), exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	lines := b.Match(l)
	if len(lines) != 5 {
		t.Errorf("%d lines match, want 5", len(lines))
	}
	for _, line := range lines {
		if line.Slot == nil || line.Exercise == "" {
			t.Errorf("slot %s of the log is not in the block", line.Set.Slot)
		}
	}
}
