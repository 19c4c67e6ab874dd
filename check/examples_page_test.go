package check_test

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"corbel/check"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/sheet"
)

var update = flag.Bool("update", false, "rewrite the excerpts in "+examplesPage)

// examplesPage is the page whose excerpts are held against the program.
const examplesPage = "../docs/examples.md"

// A passage is an excerpt of the page: the command above it and the place of its
// lines.
type passage struct {
	command    string
	start, end int // lines of the excerpt, from 0, end excluded
}

// passages finds the excerpts: a fence of text whose first line is "$ corbel
// check ...".
func passages(lines []string) []passage {
	var out []passage
	for i := 0; i < len(lines)-1; i++ {
		command, ok := strings.CutPrefix(lines[i+1], "$ corbel ")
		if lines[i] != "```text" || !ok {
			continue
		}
		p := passage{command: command, start: i + 2}
		for i += 2; lines[i] != "```"; i++ {
		}
		p.end = i
		out = append(out, p)
	}
	return out
}

// printed returns what a command of the page prints, line by line. A remark behind
// it says what is changed in the block first.
func printed(t *testing.T, command string) []string {
	t.Helper()
	var out strings.Builder
	command, remark, _ := strings.Cut(command, "#")
	words := strings.Fields(command)
	if len(words) < 2 || words[0] != "check" {
		t.Fatalf("%q is not a check", command)
	}
	p, all, who := sheet.Plain{Out: &out, Library: exercise.Shipped, Language: form.English}, false, ""
	for i, w := range words[2:] {
		switch w {
		case "--all":
			all = true
		case "--member":
			who = words[i+3]
		case "--language":
			p.Language = form.Language(words[i+3])
		}
	}
	in := example(t, words[1], who)
	in.Language = p.Language
	if remark != "" {
		in = changed(t, in, remarked(t, remark))
	}
	p.Report(check.Check(in), in.Block, in.Client, all)
	return strings.Split(out.String(), "\n")
}

// remarked makes the change a remark asks for: "a1 at the place of a2", "z4
// exercise: barbell-curl" or "a3 dose: 4 x 14/side".
func remarked(t *testing.T, remark string) func(*plan.Block) bool {
	t.Helper()
	words := strings.Fields(remark)
	if len(words) < 3 {
		t.Fatalf("the remark %q says no change", remark)
	}
	id, what, how := form.ID(words[0]), words[1], strings.Join(words[2:], " ")
	return func(b *plan.Block) bool {
		switch what {
		case "exercise:":
			return b.Swap(id, how)
		case "dose:":
			return slotOf(t, b, id).Dose.UnmarshalText([]byte(how)) == nil
		case "at": // the place of another
			s, _ := b.SlotByID(id)
			return b.Move(id, slices.IndexFunc(s.Slots, func(x plan.Slot) bool { return x.ID == form.ID(words[len(words)-1]) }))
		}
		return false
	}
}

// gap stands in an excerpt for lines that are left out.
const gap = "[...]"

// Ensure that every excerpt of docs/examples.md is what the program prints, but
// for blanks at the ends of lines. With -update each run of lines is replaced by
// what stands now.
func TestExamplesPage(t *testing.T) {
	src, err := os.ReadFile(examplesPage)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(src), "\n")
	list := passages(lines)
	if len(list) < 5 {
		t.Fatalf("only %d excerpts", len(list))
	}
	for i := len(list) - 1; i >= 0; i-- { // from the end, so that places stay
		p := list[i]
		output := printed(t, p.command)
		for j := range output {
			output[j] = strings.TrimRight(output[j], " ")
		}
		now, problem := renewed(lines[p.start:p.end], output)
		if problem != "" {
			t.Errorf("%s: line %d, %s: %s", examplesPage, p.start+1, p.command, problem)
		}
		lines = slices.Replace(lines, p.start, p.end, now...)
	}
	text := strings.Join(lines, "\n")
	if text == string(src) {
		return
	}
	if !*update {
		t.Fatalf("%s is not what the program prints; run go test ./check -run TestExamplesPage -update and read the difference", examplesPage)
	}
	if err := os.WriteFile(examplesPage, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// renewed returns an excerpt as the output has it now: each run of lines between
// gaps from its first line on, or the line with the same first words where that is
// gone, as many lines as the run has.
func renewed(excerpt, output []string) (now []string, problem string) {
	from := 0
	for i := 0; i < len(excerpt); {
		if excerpt[i] == gap {
			now = append(now, gap)
			i++
			continue
		}
		end := i
		for end < len(excerpt) && excerpt[end] != gap {
			end++
		}
		at := slices.Index(output[from:], excerpt[i])
		if at < 0 {
			at = slices.IndexFunc(output[from:], func(s string) bool { return s != "" && firstWords(s) == firstWords(excerpt[i]) })
		}
		if at < 0 || from+at+end-i > len(output) {
			return excerpt, fmt.Sprintf("nothing is printed that starts like %q", excerpt[i])
		}
		at += from
		now = append(now, output[at:at+end-i]...)
		from, i = at+end-i, end
	}
	return now, ""
}

// firstWords returns the first three words of a line.
func firstWords(s string) string {
	w := strings.Fields(s)
	return strings.Join(w[:min(3, len(w))], " ")
}
