package form_test

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"

	"corbel/form"
)

const badEscape = "a backslash in double quotes starts a special character, and this one is not complete; write two backslashes for one"

// What is not one YAML document of plain fields is refused at its place, with
// what to do in words that need no knowledge of YAML.
func TestOpenRefusals(t *testing.T) {
	for _, c := range []struct{ src, want string }{
		// the file as a whole
		{"", "0:0 empty: the file is empty; it should start with `form: 1`"},
		{"\n# nothing\n", "0:0 empty: the file is empty; it should start with `form: 1`"},
		{"- a\n- b\n", "1:1 not-fields: the file should be a list of fields, starting with `form: 1`"},
		{"hello\n", "1:1 not-fields: the file should be a list of fields, starting with `form: 1`"},
		{"id: a\n", "1:1 form-version: the form version is missing; start the file with `form: 1`"},
		{"form: one\n", "1:7 form-version: the form version is a whole number; write `form: 1`"},
		{"form: \"1\"\n", "1:7 form-version: the form version is a whole number; write `form: 1`"},
		{"form:\n", "1:7 form-version: the form version is a whole number; write `form: 1`"},
		{"form: 2\nfuture: {}\n", "1:7 form-version: form 2 is not known to this program, which reads form 1; a newer program may have written the file"},
		{"form: 1\n---\nform: 1\n", "3:1 two-documents: a second document starts here; write one client, block or log a file"},
		{"form: 1\n--- x\n", "2:5 two-documents: a second document starts here; write one client, block or log a file"},
		{"form: 1\n...\nid: bar\n", "3:1 two-documents: a second document starts here; write one client, block or log a file"},
		{"%YAML 1.2\n---\nform: 1\n", "1:1 syntax: a text that starts with % stands here; put it in double quotes"},

		// bytes
		{"\xff\xfef\x00o\x00", "0:0 encoding: the file is UTF-16; save it as UTF-8"},
		{"\xfe\xff\x00f\x00o", "0:0 encoding: the file is UTF-16; save it as UTF-8"},
		{"f\x00o\x00", "1:2 encoding: a NUL byte stands here; this is not a text file, or it is UTF-16; save it as UTF-8"},
		{head + "note: \xe4\n", "3:1 encoding: the line is not UTF-8; save the file as UTF-8"},
		{head + "note: ü\x07\n", "3:8 encoding: a control character stands here; delete it"},
		{head + "note: a\u2028b\n", "3:8 encoding: a control character stands here; delete it"},
		{"form: 1\rid: bar\r", "1:8 encoding: a lone carriage return stands here; end each line with a line feed"},
		{head + "place:\n\troom: hall\n", "4:1 tab: a tab stands at the start of the line; write two spaces for each level"},
		{head + "place:\n  \troom: hall\n", "4:3 tab: a tab stands at the start of the line; write two spaces for each level"},
		{head + "note: " + strings.Repeat("x", 50_000) + "\n", "3:1 too-large: the line is longer than 50000 bytes; break it"},

		// signs in texts that YAML takes for its own
		{head + "note: squat: heavy\n", "3:7 syntax: a colon and a space stand inside this text; put the whole text in double quotes"},
		{head + "note: *hard*\n", "3:7 alias: *hard* stands for nothing above; put a text that starts with * in double quotes"},
		{head + "note: !important\n", "3:7 tag: a text that starts with ! stands here; put it in double quotes"},
		{head + "note: !!str x\n", "3:7 tag: a text that starts with ! stands here; put it in double quotes"},
		{head + "note: @home\n", "3:7 syntax: a text cannot start with this character; put it in double quotes"},
		{head + "note: `x`\n", "3:7 syntax: a text cannot start with this character; put it in double quotes"},
		{head + "note: &\n", "3:7 syntax: a text that starts with & must be in double quotes"},
		{head + "note: & x\n", "3:7 syntax: a text that starts with & must be in double quotes"},
		{head + "note: ? x\n", "3:7 syntax: a question mark and a space stand at the start of this text; put it in double quotes"},
		{head + "? note\n: x\n", "3:1 syntax: a question mark and a space stand at the start of this text; put it in double quotes"},
		{head + "note: - x\n", "3:7 syntax: a list entry (- ...) cannot stand here; put it on its own line, or the text in double quotes"},
		{head + "note: > 80 kg\n", "3:7 syntax: | or > opens a text of several lines and stands alone on its line; put a text that starts with it in double quotes"},
		{head + "note: ] x\n", "3:7 syntax: a ] stands here without its [; delete it, or put the text in double quotes"},

		// quotes, brackets, indents
		{head + "note: \"x\ncount: 1\n", "3:7 syntax: the closing quote is missing"},
		{head + "note: 'x\ncount: 1\n", "3:7 syntax: the closing quote is missing"},
		{head + `note: "C:\data"` + "\n", "3:11 syntax: a backslash in double quotes starts a special character; write two backslashes for one"},
		{head + `note: "\u12`, "3:8 syntax: the special character after the backslash is not complete"},
		{head + `note: "\u12zz is wrong"` + "\n", "3:8 syntax: " + badEscape},
		{head + `note: "C:\\users \xg0"` + "\n", "3:18 syntax: " + badEscape},
		{head + `note: "a` + "\n" + `  ü \Uzz beside"` + "\n", "4:5 syntax: " + badEscape},
		{head + "note: \"x\" y\n", "3:11 syntax: this line does not fit the lines above; check its indent"},
		{head + "tags: [a, b\ncount: 1\n", "4:1 syntax: a comma or the closing bracket is missing"},
		{head + "tags: [a, b\n", "3:7 syntax: the closing ] is missing"},
		{head + "place: {room: hall\n", "3:8 syntax: the closing } is missing"},
		{head + "tags: [, b]\n", "3:8 syntax: nothing stands before this comma; delete it"},
		{head + "place:\n  room: hall\n shelf: 2\n", "5:2 syntax: this line does not fit the lines above; check its indent"},
		{head + "note: a\n  count: 2\n", "3:7 syntax: this text goes on in the next line, which is indented further and holds a colon; check the indent"},
		{head + "tags:\n- a\nb\n", "5:1 syntax: a field name and a colon are expected here; check the indent and the colon"},
		{head + "count\n", "3:1 syntax: a field name and a colon are expected here; check the indent and the colon"},

		// anchors and merges
		{head + "note: *x\ntags: [&x a]\n", "3:7 alias: *x stands for nothing above; put a text that starts with * in double quotes"},
		{head + "tags: &x [*x]\n", "3:11 alias: *x stands for nothing above; put a text that starts with * in double quotes"},
		{head + "place: &x {inner: *x}\n", "3:19 alias: *x stands for nothing above; put a text that starts with * in double quotes"},
		{head + "place: &x {room: a}\nbox: {<<: *x}\n", "4:7 merge: merge keys (<<) are not read; write the fields out"},
	} {
		t.Run(caseOf(c.src), func(t *testing.T) {
			problems := refusal(t, c.src)
			if got := short(problems[0]); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}

// Backslashes mean nothing outside double quotes.
func TestBackslashes(t *testing.T) {
	got, err := read(head + lines(`tags: [C:\users, 'D:\xyz', "E:\\users", "\u00fc\x41\U0001F600", "F:\\", \u] # "\u`, `note: |`, `  "\u"`))
	must(t, err)
	want := []string{`C:\users`, `D:\xyz`, `E:\users`, "üA😀", `F:\`, `\u`}
	if !slices.Equal(got.Tags, want) || got.Note != "\"\\u\"\n" {
		t.Errorf("%q and %q, want %q", got.Tags, got.Note, want)
	}
}

// quickBytes is how much no refusal may allocate, in all and not at once. Work
// and allocation go together here; time is for the benchmarks.
const quickBytes = 600 << 20

// fill repeats a text up to the largest file.
func fill(before, s, after string) string {
	return before + strings.Repeat(s, (1<<20-len(before)-len(after))/len(s)) + after
}

// Files made to cost time or memory are refused at small cost, and deep nesting
// does not exhaust the stack.
func TestBombsAreRefusedFast(t *testing.T) {
	nest := func(open, closing string, n int) string {
		return head + "tags: " + strings.Repeat(open, n) + strings.Repeat(closing, n) + "\n"
	}
	for _, c := range []struct{ name, src, code string }{
		{"larger than 1 MiB", strings.Repeat("#\n", 1<<19+1), "too-large"},
		{"flow lists", nest("[", "]", 20_000), "too-deep"},
		{"flow lists never closed", nest("[", "", 40_000), "too-deep"},
		{"flow fields", nest("{a: ", "}", 9_000), "too-deep"},
		{"brackets closed before in a text", head + "note: \"" + strings.Repeat("]", 20_000) + "\"\ntags: " + strings.Repeat("[", 20_000), "too-deep"},
		{"block lists on a line", head + "tags:\n  " + strings.Repeat("- ", 20_000) + "x\n", "too-deep"},
		{"block lists over lines", head + "tags:\n" + stairs("-", 300), "too-deep"},
		{"block fields over lines", head + stairs("a:", 300), "too-deep"},
		{"indent", head + "tags:\n" + strings.Repeat(" ", 40_000) + "- x\n", "too-deep"},
		{"question marks", head + "tags:\n  " + strings.Repeat("? ", 20_000) + "x\n", "syntax"},
		{"anchors in a row", head + "tags: " + strings.Repeat("&a ", 15_000) + "x\n", "too-many-aliases"},
		{"tags in a row", head + "tags: " + strings.Repeat("!a ", 15_000) + "x\n", "tag"},
		{"empty entries", fill(head+"tags:\n", "- \n", ""), "too-large"},
		{"entries", fill(head+"tags:\n", "- x\n", ""), "too-large"},
		{"entries in brackets", fill(head+"tags: [", "x,\n", "]\n"), "too-large"},
		{"empty fields", fill(head, "a:\n", ""), "too-large"},
		{"fields", fill(head, "a: b\n", ""), "too-large"},
		{"fields in braces", fill(head+"place: {", "a,\n", "}\n"), "too-large"},
		{"fields of free names", head + "loads:\n" + strings.Repeat("  a: 1 kg\n", 2001), "too-large"},
		{"free names in braces", head + "loads: {" + strings.Repeat("a: 1 kg,\n", 2001) + "}\n", "too-large"},
		{"list of more than 2000", head + "tags:\n" + strings.Repeat("- x\n", 2001), "too-large"},
		{"documents", fill(head, "---\n", ""), "too-large"},
		{"colons", fill(head, ":\n", ""), "too-large"},
		{"closing brackets", fill(head, "]\n", ""), "too-large"},
		{"open quote over lines", fill(head+"note: \"", "x\n", ""), "syntax"},
		{"escapes", fill(head+"note: \"", "\\n\\\n", "\"\n"), "empty"},
		{"text over lines", fill(head+"note: x\n", "  x\n", ""), "too-large"},
		{"text of empty lines", fill(head+"note: x\n", "\n", "  x\n"), "too-large"},
		{"aliases", fill(head+"note: &x y\ntags:\n", "- *x\n", ""), "too-many-aliases"},
		{"aliases just below", head + "note: &x y\ntags:\n" + strings.Repeat("- *x\n", 201), "too-many-aliases"},
		{"lists of aliases of lists", laughs(), "too-many-aliases"},
		{"long names under aliases", longNames(), "too-large"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			problems := refusal(t, c.src)
			message := (&form.Refusal{File: "kit.yaml", Problems: problems}).Error()
			runtime.ReadMemStats(&after)
			if problems[0].Code != c.code {
				t.Errorf("refused as %.300s, want %s", short(problems[0]), c.code)
			}
			if allocated := after.TotalAlloc - before.TotalAlloc; allocated > quickBytes {
				t.Errorf("took %d MB", allocated>>20)
			}
			if len(message) > 20_000 {
				t.Errorf("the message has %d bytes", len(message))
			}
		})
	}
}

// stairs nests s over lines, one space deeper each.
func stairs(s string, n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + s + "\n")
	}
	return b.String()
}

// laughs is a table of lists of 2,000 entries behind 200 aliases: 400,000
// values from 5 kB.
func laughs() string {
	var b strings.Builder
	b.WriteString(head + "lists:\n  a0: &a [" + strings.Repeat("x,", 1999) + "x]\n")
	for i := range 199 {
		fmt.Fprintf(&b, "  a%d: *a\n", i+1)
	}
	return b.String()
}

// longNames is laughs with names of 4,000 bytes, each of which would stand in
// the path of 2,000 values.
func longNames() string {
	return strings.ReplaceAll(laughs(), "  a1", "  a1"+strings.Repeat("x", 4000))
}

// Bombs just below the limits are read, at small cost too.
func TestLargestFilesAreRead(t *testing.T) {
	for name, src := range map[string]string{
		"list":    head + "tags:\n" + strings.Repeat("- x\n", 2000),
		"text":    head + "note: \"" + strings.Repeat("𝄞", 10_000) + "\"\n",
		"table":   head + "steps:\n" + numbered(2000),
		"aliases": head + "note: &x y\ntags:\n" + strings.Repeat("- *x\n", 200),
		"lists":   head + "lists:\n  a: &a [" + strings.Repeat("x,", 1999) + "x]\n" + "  b: *a\n",
		"comment": fill(head, "# x\n", ""),
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := read(src); err != nil {
				t.Fatal(err)
			}
		})
	}
}

// numbered returns n fields named by their numbers.
func numbered(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "  %d: x\n", i)
	}
	return b.String()
}
