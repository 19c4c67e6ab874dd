package sheet

import (
	"io/fs"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"corbel/client"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// Ensure that wrapping loses and adds no word, keeps lines within the width where
// the words allow, and ends no line between a number and its unit.
func TestWrap(t *testing.T) {
	parted := regexp.MustCompile(`[0-9]\n *(kg|lb|s|min|h|cm|mm|m|%)([^\pL\pN]|$)`)
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.SampledFrom([]string{"14", "kg", "lb", "s", "min", "%", "cm", "a", "with", "in each hand", "3", "repetitions,", "12.5", "kg,", "0", "m/s", "Übung"}), 0, 40).Draw(t, "words")
		width, hang := rapid.IntRange(12, 40).Draw(t, "width"), rapid.IntRange(0, 5).Draw(t, "hang")
		text := strings.Join(words, " ")
		out := Wrap(text, width, hang)
		if got := strings.Join(strings.Fields(out), " "); got != text {
			t.Fatalf("%q became %q", text, got)
		}
		for _, line := range strings.Split(out, "\n") {
			if utf8.RuneCountInString(line) > width && strings.Contains(strings.TrimSpace(joined(line)), " ") {
				t.Fatalf("a line wider than %d: %q", width, line)
			}
		}
		if m := parted.FindString(out); m != "" {
			t.Fatalf("%q parts a number from its unit: %q", out, m)
		}
	})
	if got, want := Wrap("up to 14 kg", 10, 0), "up to\n14 kg\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Ensure that a log prints its pain in either language: place, side, slot, both
// levels, and what went with it.
func TestLogPrintsPain(t *testing.T) {
	src, err := fs.ReadFile(examples.Files, "rosa-log.yaml")
	if err != nil {
		t.Fatal(err)
	}
	log, err := plan.ReadLog("rosa-log.yaml", src, exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	level := 4.5
	log.Entries[0].Pain = append(log.Entries[0].Pain, plan.PainLog{Place: "low-back", Morning: &level, Worse: true, Features: []client.PainFeature{"sharp", "giving way"}})
	for l, want := range map[form.Language][]string{
		form.English: {"pain: knee left, in a3, 1 of 10 during the work, 0 of 10 the next morning", "pain: low back, 4.5 of 10 the next morning, worse the next morning, sharp, with giving way"},
		form.German:  {"Schmerz: Knie links, in a3, 1 von 10 bei der Arbeit, 0 von 10 am nächsten Morgen", "4,5 von 10 am nächsten Morgen, am nächsten Morgen stärker, stechend, mit Nachgeben"},
	} {
		var out strings.Builder
		Plain{Out: &out, Library: exercise.Shipped, Language: l}.Log(log)
		text := strings.Join(strings.Fields(out.String()), " ")
		for _, x := range want {
			if !strings.Contains(text, x) {
				t.Errorf("%s: no %q in\n%s", l, x, out.String())
			}
		}
	}
}

// Ensure that docs/json/effort.md names every field of an effort and of what it
// holds, each behind the field that holds it.
func TestEffortPage(t *testing.T) {
	text, err := os.ReadFile("../docs/json/effort.md")
	if err != nil {
		t.Fatal(err)
	}
	var rows []string
	for _, line := range strings.Split(string(text), "\n") {
		if strings.HasPrefix(line, "| `") {
			rows = append(rows, strings.Split(line, " | ")[0])
		}
	}
	if len(rows) < 20 {
		t.Fatalf("%d rows of fields", len(rows))
	}
	effortFields(t, rows, "", reflect.TypeFor[Effort]())
}

// effortFields holds that every field of a type has its row: `holder.field`, or
// `field` beside a neighbour of the same holder.
func effortFields(t *testing.T, rows []string, holder string, typ reflect.Type) {
	t.Helper()
	for i := range typ.NumField() {
		f := typ.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "" || name == "-" {
			continue
		}
		kind, inner := f.Type, holder+name
		for kind.Kind() == reflect.Slice || kind.Kind() == reflect.Pointer {
			if kind.Kind() == reflect.Slice {
				inner += "[]"
			}
			kind = kind.Elem()
		}
		if kind.Kind() == reflect.Struct && kind.NumField() > 0 && kind.Field(0).Tag.Get("json") != "" {
			effortFields(t, rows, inner+".", kind)
			continue
		}
		if !slices.ContainsFunc(rows, func(row string) bool {
			return strings.Contains(row, "`"+holder+name+"`") || holder != "" && strings.HasPrefix(row, "| `"+holder) && strings.Contains(row, "`"+name+"`")
		}) {
			t.Errorf("docs/json/effort.md lacks %s%s", holder, name)
		}
	}
}
