package form_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"

	"corbel/form"
	"corbel/unit"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// awkward are texts that YAML takes for something else where they stand
// without quotes.
var awkward = []string{
	"yes", "no", "Yes", "NO", "on", "off", "y", "n", "true", "False", "null", "Null", "~", "NaN", ".nan", ".inf", "-.Inf",
	"1", "-1", "+1", "1.5", ".5", "5.", "1e5", "1E5", "0x1F", "0X1f", "0o17", "0b1", "010", "1_000", "1,000", "12:30", "2026-11-30", "2026-11-30 10:00",
	"- a", "-", "--", "---", "--- a", "...", "a: b", "a:", ":a", ": a", "a #b", "#a", "a#b", "? a", "?", "*a", "&a", "!a", "%a", "@a", "`a", "|", ">", "| a",
	"[a]", "{a: b}", "a, b", "a]", "a}", "\"a\"", "'a'", "5'7\"", "a\\b", "\\u0041", "a\nb", "a\n", "\na", "a\n\n b", " a", "a ", "a\tb", "\ta", "<<", "=", "a  b",
	"ä", "日本", "😀", "a\u00a0b", "\u00a0a", "e\u0301", "=1+1", "C:\\Users", "<b>&amp;</b>", "a\u0085b", "Ⅷ", "٣", "a – b", "3×5", "a: \n b", "\u200bx", "\ufffd",
}

// drawText returns any text the reader takes: printable, not blank.
func drawText(t *rapid.T, name string) string {
	printable := rapid.RuneFrom([]rune("ab1 \n\t:#-?'\"\\{}[],&*!|>%@`~=<.0äß😀\u00a0"), unicode.L, unicode.N, unicode.P, unicode.S, unicode.M)
	return rapid.OneOf(
		rapid.SampledFrom(awkward),
		rapid.StringOfN(printable, 1, 12, -1),
		rapid.StringMatching(`[-a-z0-9:#' "]{1,8}`),
	).Filter(func(s string) bool { return strings.TrimSpace(s) != "" }).Draw(t, name)
}

// drawOptional returns a drawn value or, in one case of three, the zero value.
func drawOptional[T any](t *rapid.T, name string, draw func(t *rapid.T, name string) T) T {
	var zero T
	if rapid.IntRange(0, 2).Draw(t, name+"?") == 0 {
		return zero
	}
	return draw(t, name)
}

func drawList[T any](t *rapid.T, name string, draw func(t *rapid.T, name string) T) []T {
	var out []T
	for range rapid.IntRange(0, 3).Draw(t, name+"s") {
		out = append(out, draw(t, name))
	}
	return out
}

func drawTable[K comparable, V any](t *rapid.T, name string, key func(t *rapid.T, name string) K, draw func(t *rapid.T, name string) V) map[K]V {
	out := map[K]V{}
	for range rapid.IntRange(0, 3).Draw(t, name+"s") {
		out[key(t, name+" key")] = draw(t, name)
	}
	return out
}

func drawPointer[T any](t *rapid.T, name string, draw func(t *rapid.T, name string) T) *T {
	if rapid.Bool().Draw(t, name+"?") {
		return nil
	}
	v := draw(t, name)
	return &v
}

func drawID(t *rapid.T, name string) form.ID {
	return form.ID(rapid.StringMatching(`[a-z0-9]{1,5}(-[a-z0-9]{1,5})?`).Draw(t, name))
}

func drawInt(t *rapid.T, name string) int {
	return rapid.OneOf(rapid.IntRange(-20, 20), rapid.IntRange(math.MinInt32, math.MaxInt32)).Draw(t, name)
}

func drawFloat(t *rapid.T, name string) float64 { return rapid.Float64Range(-1e9, 1e9).Draw(t, name) }

func drawColour(t *rapid.T, name string) colour {
	return colour(rapid.SampledFrom(colour("").Values()).Draw(t, name))
}

func drawDate(t *rapid.T, name string) form.Date {
	return form.DateOf(time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)).Plus(rapid.IntRange(0, lastDay).Draw(t, name))
}

func drawMass(t *rapid.T, name string) unit.Mass {
	text := rapid.SampledFrom([]string{"82.5 kg", "45lb", " 5 kg", "1 kg 500 g", "0 kg", "225 LBS", "5\u00a0kg ", ".5 kg"}).Draw(t, name)
	m, err := unit.ParseMass(text)
	if err != nil {
		t.Fatal(err)
	}
	if rapid.Bool().Draw(t, name+" typed") {
		return m
	}
	return unit.MassOf(rapid.Float64Range(0.001, 1999).Draw(t, name), unit.Kg)
}

func drawDuration(t *rapid.T, name string) unit.Duration {
	return unit.DurationOf(unit.Second(rapid.Float64Range(0.001, 86_400).Draw(t, name)))
}

func drawName(t *rapid.T, name string) form.Text {
	return form.Text{En: drawOptional(t, name, drawText), De: drawOptional(t, name, drawText)}
}

func drawBox(t *rapid.T, name string) box {
	return box{Room: drawOptional(t, name, drawText), Shelf: drawOptional(t, name, drawInt), Inner: drawPointer(t, name, func(t *rapid.T, name string) box2 {
		return box2{Label: drawOptional(t, name, drawText), Names: drawName(t, name)}
	})}
}

// drawKit returns any kit that can be read.
func drawKit(t *rapid.T) kit {
	return kit{
		Form: 1, ID: drawID(t, "id"), Name: drawName(t, "name"), Bought: drawOptional(t, "bought", drawDate), Colour: drawOptional(t, "colour", drawColour),
		Note: drawOptional(t, "note", drawText), Tags: drawList(t, "tag", drawText), Count: drawOptional(t, "count", drawInt), Spare: drawPointer(t, "spare", drawInt),
		Price: drawOptional(t, "price", drawFloat), Share: drawPointer(t, "share", drawFloat), Hired: rapid.Bool().Draw(t, "hired"), Weight: drawOptional(t, "weight", drawMass),
		Rests: drawList(t, "rest", drawDuration), Plates: drawList(t, "plate", func(t *rapid.T, name string) plate {
			return plate{Weight: drawMass(t, name), Pairs: drawOptional(t, name, drawInt), Colour: drawOptional(t, name, drawColour)}
		}),
		Box: drawPointer(t, "box", drawBox), Place: drawOptional(t, "place", drawBox), Loads: drawTable(t, "load", drawText, drawMass), Steps: drawTable(t, "step", drawInt, drawText),
		Owners: drawTable(t, "owner", drawID, drawBox), Lists: drawTable(t, "list", drawText, func(t *rapid.T, name string) []string { return drawList(t, name, drawText) }),
		Checked: drawList(t, "checked", drawDate), private: "not written",
	}
}

// What Write writes reads back to an equal value, and to the same bytes again.
func TestWriteReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawKit(t)
		src := form.Write(want)
		got, err := read(string(src))
		if err != nil {
			t.Fatalf("%v\n%s", err, src)
		}
		if diff := cmp.Diff(want, got, compareKits); diff != "" {
			t.Fatalf("%s\n%s", diff, src)
		}
		if again := form.Write(got); string(again) != string(src) {
			t.Fatalf("written again as\n%s\nfirst\n%s", again, src)
		}
	})
}

// Each awkward text survives alone: as a text, in a list, as a field name.
func TestWriteAwkwardTexts(t *testing.T) {
	for _, s := range awkward {
		want := kit{Form: 1, ID: "bar", Note: s, Tags: []string{s, s}, Loads: map[string]unit.Mass{s: unit.MassOf(1, unit.Kg)}}
		src := form.Write(want)
		got, err := read(string(src))
		if diff := cmp.Diff(want, got, compareKits); err != nil || diff != "" {
			t.Errorf("%q: %v\n%s\n%s", s, err, diff, src)
		}
	}
}

// Written files are laid out for people: fields in the order of the type, no
// quotes where none are needed, nothing for what is empty.
func TestWriteLayout(t *testing.T) {
	k, err := read(full)
	must(t, err)
	want := `form: 1
id: bar-20
name:
  en: Bar
  de: Stange
bought: 2026-02-28
colour: no
note: "folded text\n"
tags:
  - "on"
  - "off"
  - "12"
  - "~x"
  - "1.50"
  - "0x1F"
count: -3
spare: 0
price: 100
share: 0.5
hired: true
weight: 45 lb
rests:
  - 90 s
  - "1:30"
plates:
  - weight: 20 kg
    pairs: 2
  - weight: 2.5 lb
    colour: yes
box:
  room: hall
  inner:
    label: "two\nlines\n"
    names:
      en: Inner
loads:
  "a: b": 5 lb
  back squat: 100 kg
steps:
  2: two
  10: ten
owners:
  anna:
    shelf: 1
lists:
  cues:
    - chest up
checked:
  - 2026-01-01
`
	if diff := cmp.Diff(want, string(form.Write(k))); diff != "" {
		t.Error(diff)
	}
	empty := kit{Form: 1, ID: "a", Box: &box{Inner: &box2{}}, Tags: []string{}, Place: box{}, Lists: map[string][]string{"none": nil}, Owners: map[form.ID]box{"anna": {}}}
	want = "form: 1\nid: a\nbox:\n  inner: {}\nowners:\n  anna: {}\nlists:\n  none: []\n"
	if diff := cmp.Diff(want, string(form.Write(empty))); diff != "" {
		t.Error(diff)
	}
}

// names lists what is in a folder.
func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	must(t, err)
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return strings.Join(out, " ")
}

// A file is replaced whole, keeps its permissions, and leaves nothing beside it.
func TestWriteFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "a.yaml")
	for i, text := range []string{"new\n", "changed\n", ""} {
		must(t, form.WriteFile(name, []byte(text)))
		if got, err := os.ReadFile(name); err != nil || string(got) != text {
			t.Errorf("%q, %v, want %q", got, err, text)
		}
		if info, err := os.Stat(name); err != nil || info.Mode().Perm() != []os.FileMode{0o644, 0o600, 0o600}[i] {
			t.Errorf("%v, %v", info.Mode(), err)
		}
		must(t, os.Chmod(name, 0o600))
	}
	if got := names(t, filepath.Dir(name)); got != "a.yaml" {
		t.Errorf("the folder holds %s", got)
	}
}

// Where the rename or the folder fails, the old file stays whole, no temporary
// file is left, and the error names the file that was meant.
func TestWriteFileFails(t *testing.T) {
	dir := t.TempDir()
	must(t, os.Mkdir(filepath.Join(dir, "taken"), 0o755))
	must(t, os.WriteFile(filepath.Join(dir, "taken", "old"), nil, 0o644))
	must(t, os.WriteFile(filepath.Join(dir, "file"), []byte("old"), 0o644))
	for _, name := range []string{"taken", "absent/a.yaml", "file/a.yaml"} {
		err := form.WriteFile(filepath.Join(dir, name), []byte("new"))
		if err == nil || !strings.HasPrefix(err.Error(), "write "+filepath.Join(dir, name)+": ") || strings.Contains(err.Error(), ".corbel-") {
			t.Errorf("%s: %v", name, err)
		}
		if got := names(t, dir); got != "file taken" {
			t.Errorf("%s: the folder holds %s", name, got)
		}
	}
	if got, _ := os.ReadFile(filepath.Join(dir, "file")); string(got) != "old" {
		t.Errorf("the old file holds %q", got)
	}
}

// What is no form is a programmer's mistake.
func TestWritePanics(t *testing.T) {
	for name, v := range map[string]any{
		"channel": struct {
			A chan int `form:"a"`
		}{make(chan int)},
		"list of lists": struct {
			A [][]string `form:"a"`
		}{[][]string{{"a"}}},
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if s, ok := recover().(string); !ok || !strings.HasPrefix(s, "form: ") {
					t.Errorf("the panic is %v", s)
				}
			}()
			form.Write(v)
			t.Error("no panic")
		})
	}
}
