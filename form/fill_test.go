package form_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"corbel/form"
	"corbel/unit"

	"github.com/google/go-cmp/cmp"
)

// full is a kit with every field written in the ways a coach may write it.
const full = `# a comment
form: 1   # another one
id: "bar-20"
name: {en: Bar, de: Stange}
bought: 2026-02-28
colour: no
note: >
  folded
  text
tags: [on, "off", 12, ~x, 1.50, 0x1F]
count: -3
spare: 0
price: 1e2
share: 0.5
hired: true
weight: 45 lb
rests:
- 90 s
- 1:30
plates:
  - weight: 20 kg
    pairs: 2
  - {weight: '2.5 lb', colour: yes}
box:
  room: hall
  inner:
    label: |
      two
      lines
    names:
      en: Inner
place: {}
loads:
  back squat: 100 kg
  "a: b": 5 lb
steps:
  2: two
  10: ten
owners:
  anna: {shelf: 1}
lists:
  cues: [chest up]
checked: [2026-01-01]
`

// Every kind of value is read, comments are ignored, and yes, no, on and off
// are texts.
func TestFillReadsEveryKind(t *testing.T) {
	got, err := read(full)
	if err != nil {
		t.Fatal(err)
	}
	none, half := 0, 0.5
	day := func(s string) form.Date { d, err := form.ParseDate(s); must(t, err); return d }
	mass := func(s string) unit.Mass { m, err := unit.ParseMass(s); must(t, err); return m }
	rest := func(s string) unit.Duration { d, err := unit.ParseDuration(s); must(t, err); return d }
	want := kit{
		Form: 1, ID: "bar-20", Name: form.Text{En: "Bar", De: "Stange"}, Bought: day("2026-02-28"), Colour: "no",
		Note: "folded text\n", Tags: []string{"on", "off", "12", "~x", "1.50", "0x1F"}, Count: -3, Spare: &none,
		Price: 100, Share: &half, Hired: true, Weight: mass("45 lb"), Rests: []unit.Duration{rest("90 s"), rest("1:30")},
		Plates: []plate{{Weight: mass("20 kg"), Pairs: 2}, {Weight: mass("2.5 lb"), Colour: "yes"}},
		Box:    &box{Room: "hall", Inner: &box2{Label: "two\nlines\n", Names: form.Text{En: "Inner"}}},
		Loads:  map[string]unit.Mass{"back squat": mass("100 kg"), "a: b": mass("5 lb")},
		Steps:  map[int]string{2: "two", 10: "ten"}, Owners: map[form.ID]box{"anna": {Shelf: 1}},
		Lists: map[string][]string{"cues": {"chest up"}}, Checked: []form.Date{day("2026-01-01")},
	}
	if diff := cmp.Diff(want, got, compareKits); diff != "" {
		t.Error(diff)
	}
}

// Windows line ends and a byte order mark change nothing.
func TestFillReadsWindowsFiles(t *testing.T) {
	want, err := read(full)
	must(t, err)
	got, err := read("\xef\xbb\xbf" + strings.ReplaceAll(full, "\n", "\r\n"))
	must(t, err)
	if diff := cmp.Diff(want, got, compareKits); diff != "" {
		t.Error(diff)
	}
}

// An anchor's value is read again wherever its alias stands, and a name that
// stands twice means the one above.
func TestFillFollowsAliases(t *testing.T) {
	got, err := read(head + lines(
		"note: &x first", "place: &p {room: &room hall, shelf: 2}", "box: *p",
		"tags: [*x, &x second, *x, *room]", "name: {&k en: Bar}"))
	must(t, err)
	want := kit{Form: 1, ID: "bar", Note: "first", Place: box{Room: "hall", Shelf: 2}, Box: &box{Room: "hall", Shelf: 2},
		Tags: []string{"first", "second", "second", "hall"}, Name: form.Text{En: "Bar"}}
	if diff := cmp.Diff(want, got, compareKits); diff != "" {
		t.Error(diff)
	}
}

// All that is wrong with a file is said in one run, in the order of the file,
// with the place, what to write and the nearest known name.
func TestFillReportsEverythingAtOnce(t *testing.T) {
	src := lines(
		"form: 1",
		"naem: {en: Bar}",
		"bought: 2026-02-29",
		"colour: purple",
		"colour: red",
		"note:",
		"tags: legs",
		"count: 2.5",
		"spare: \"3\"",
		"price: cheap",
		"hired: yes",
		"weight: \"82,5 kg\"",
		"rests: [90 s, ä 3:75, 4]",
		"plates:",
		"  - pairs: 2",
		"    pairs: 3",
		"  - 20 kg",
		"  - {weight: 20 kg, colors: red}",
		"box: [hall]",
		"loads: {squat: heavy, squat: 5 kg, bench press: }",
		"steps: {one: two}",
		"owners: {Anna: {shelf: 1}}",
		"checked: [2026-1-1, 1899-12-31]",
	)
	_, err := read(src)
	if err == nil {
		t.Fatal("the file is read")
	}
	want := strings.ReplaceAll(strings.TrimPrefix(manyProblems, "\n"), "'", "`")
	var all []string
	var r *form.Refusal
	if !errors.As(err, &r) {
		t.Fatalf("the error is a %T", err)
	}
	for _, p := range r.Problems {
		all = append(all, p.String())
	}
	if diff := cmp.Diff(want, strings.Join(all, "\n")+"\n"); diff != "" {
		t.Error(diff)
	}
}

// Of many problems twenty are shown and the rest is counted.
func TestRefusalIsCut(t *testing.T) {
	_, err := read(head + strings.Repeat("x: 1\n", 25))
	if s := err.Error(); strings.Count(s, "\n\n") != 20 || !strings.HasSuffix(s, "\n\nand 5 more in kit.yaml") {
		t.Error(s)
	}
	if n := len(refusal(t, head+"tags:\n"+strings.Repeat("- []\n", 1900))); n != 1000 {
		t.Errorf("%d problems are kept", n)
	}
}

// One thing is wrong with each of these files.
func TestFillRefusals(t *testing.T) {
	long := strings.Repeat("x", 10_001)
	for _, c := range []struct{ src, want string }{
		{head + "note: null\n", "3:7 empty: nothing is written for note; write a text or delete the line"},
		{head + "note: ~\n", "3:7 empty: nothing is written for note; write a text or delete the line"},
		{head + "note: \" \"\n", "3:7 empty: nothing is written for note; write a text or delete the line"},
		{head + "weight:\ncount: 1\n", "3:8 empty: nothing is written for weight; write a mass such as 100 kg or 225 lb or delete the line"},
		{head + "weight: \"\"\n", "3:10 wrong-value: nothing is written here; write a mass such as 100 kg or 225 lb"},
		{head + "weight: 82.5\n", "3:13 wrong-value: the unit of 82.5 is missing; write a mass such as 100 kg or 225 lb"},
		{head + "weight: '82.5 ü'\n", `3:15 wrong-value: "ü" is not a unit of a mass; known are kg, lb, g; write a mass such as 100 kg or 225 lb`},
		{head + "weight: [5 kg]\n", "3:9 wrong-kind: weight should be a mass such as 100 kg or 225 lb"},
		{head + "tags:\n- a\n-\n", "5:3 empty: nothing is written for an entry of tags; write a text or delete the line"},
		{head + "tags: legs\n", "3:7 wrong-kind: tags should be a list; start each entry with `- `"},
		{head + "tags: {a: b}\n", "3:7 wrong-kind: tags should be a list; start each entry with `- `"},
		{head + "tags: [[a]]\n", "3:8 wrong-kind: an entry of tags should be a text"},
		{head + "place: hall\n", "3:8 wrong-kind: place should be fields, each on a line as `name: value`; known are room, shelf, inner"},
		{head + "loads: [5 kg]\n", "3:8 wrong-kind: loads should be fields, each on a line as `name: value`"},
		{head + "count: 0x10\n", `3:8 wrong-kind: count should be a whole number, not "0x10"`},
		{head + "count: 99999999999\n", `3:8 wrong-kind: count should be a whole number, not "99999999999"`},
		{head + "count: true\n", `3:8 wrong-kind: count should be a whole number, not "true"`},
		{head + "price: .inf\n", `3:8 wrong-kind: price should be a number, not ".inf"`},
		{head + "price: .nan\n", `3:8 wrong-kind: price should be a number, not ".nan"`},
		{head + "price: 1e10\n", `3:8 wrong-kind: price should be a number, not "1e10"`},
		{head + "price: \"5\"\n", `3:8 wrong-kind: price should be a number without quotes, not "5"`},
		{head + "price: 1,5\n", `3:8 wrong-kind: price should be a number, not "1,5"`},
		{head + "hired: True story\n", `3:8 wrong-kind: hired should be true or false, not "True story"`},
		{head + "colour: Red\n", `3:9 unknown-word: colour cannot be "Red"; write one of red, green, blue, yes, no`},
		{head + "note: " + long + "\n", "3:7 too-large: note is longer than 10000 characters"},
		{head + "weight: " + long + "\n", "3:9 too-large: weight is longer than 10000 characters"},
		{head + long[:300] + ": 5\n", `3:1 unknown-field: "` + long[:40] + `..." is not a field of the kit; known are form, id, name, bought, colour, note, tags, count, spare, price, share, hired and 10 more`},
		{head + "loads: {" + long[:300] + ": 5 kg}\n", "3:9 too-large: a field name of loads is longer than 200 characters"},
		{head + `note: "a\u0000b"` + "\n", "3:7 encoding: note holds a control character; delete it"},
		{head + `note: "a\x1bb"` + "\n", "3:7 encoding: note holds a control character; delete it"},
		{head + `weight: "5 kg\a"` + "\n", "3:9 encoding: weight holds a control character; delete it"},
		{"form: 1\nid: Leg Day\n", `2:5 wrong-value: "Leg Day" is not an id; write lower-case words and digits joined by hyphens, such as leg-day`},
		{"form: 1\nid: Übung 1\n", `2:5 wrong-value: "Übung 1" is not an id; write lower-case words and digits joined by hyphens, such as uebung-1`},
		{"form: 1\nnote: a\n", `1:1 missing-field: the kit needs the field "id": names the kit for life`},
		{head + "plates: [{}]\n", `3:10 missing-field: an entry of plates needs the field "weight": mass of the plate`},
		{head + "id: bar\n", `3:1 twice: "id" stands twice; delete one`},
		{head + "steps: {1: a, 1: b}\n", `3:15 twice: "1" stands twice in steps; delete one`},
	} {
		t.Run(caseOf(c.src), func(t *testing.T) {
			problems := refusal(t, c.src)
			if got := short(problems[0]); got != c.want || len(problems) != 1 {
				t.Errorf("%d problems, the first\n%s\nwant\n%s", len(problems), got, c.want)
			}
		})
	}
}

// A caller can add problems at the path of a value; a path that is not written
// gives its nearest parent.
func TestRefuseAtAPath(t *testing.T) {
	d, err := form.Open("kit.yaml", []byte(head+lines("plates:", "  - weight: 20 kg", "    pairs: 2", "  - weight: 5 kg")))
	must(t, err)
	var k kit
	d.Fill("the kit", &k)
	must(t, d.Err())
	if !d.Has("plates") || d.Has("box") || d.Has("weight") {
		t.Error("Has looks beside the top fields")
	}
	d.Refuse("plates[1].pairs", "absent", "no pairs of %d kg", 5)
	d.RefuseName("plates[0].weight", "unknown", "no such plate", []string{"25 kg"})
	d.Refuse("nowhere", "absent", "nothing")
	var got []string
	for _, p := range d.Err().(*form.Refusal).Problems {
		got = append(got, fmt.Sprint(p.Path, " ", short(p), p.Near))
	}
	want := []string{"nowhere 1:1 absent: nothing[]", "plates[0].weight 4:13 unknown: no such plate[25 kg]", "plates[1].pairs 6:5 absent: no pairs of 5 kg[]"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// The caret stands under the column, in long lines and in lines with umlauts.
func TestExcerpt(t *testing.T) {
	p := refusal(t, head+"tags: ["+strings.Repeat("\"ü\", ", 30)+"{}]\n")[0]
	line, caret, ok := strings.Cut(p.String()[strings.IndexByte(p.String(), '\n')+1:], "\n")
	if !ok || []rune(line)[len([]rune(caret))-1] != '{' || len([]rune(line)) > 80 {
		t.Errorf("\n%s\n%s", line, caret)
	}
}

// A file that cannot be had is refused in plain words.
func TestReadFile(t *testing.T) {
	files := fstest.MapFS{"a.yaml": {Data: []byte(head)}, "dir/b.yaml": {}, "big.yaml": {Data: make([]byte, 1<<21)}}
	if src, err := form.ReadFile(files, "a.yaml"); err != nil || string(src) != head {
		t.Errorf("%q, %v", src, err)
	}
	if src, err := form.ReadFile(files, "big.yaml"); err != nil || len(src) != 1<<20+1 {
		t.Errorf("%d bytes, %v: more than the limit is read", len(src), err)
	}
	for name, want := range map[string]string{
		"c.yaml":     "c.yaml: there is no such file; check the name and the folder",
		"dir":        "dir: this is a folder, not a file",
		"a.yaml/b.c": "a.yaml/b.c: there is no such file; check the name and the folder",
	} {
		if _, err := form.ReadFile(files, name); err == nil || err.Error() != want {
			t.Errorf("%s: %v, want %s", name, err, want)
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
