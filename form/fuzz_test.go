package form_test

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"corbel/form"

	"github.com/google/go-cmp/cmp"
)

// Any bytes are refused with places that exist, or give a kit that reads back
// from what is written of it.
func FuzzOpen(f *testing.F) {
	for _, s := range append([]string{
		full, manyProblems, "", "\xff\xfe", "\xef\xbb\xbfform: 1\r\nid: a\r\n", "form: 1\n---\nform: 1\n", "%YAML 1.2\n---\nform: 1\n",
		head + "place: {<<: *x}\n", head + "note: \"\\u12zz\"\n", head + "note: |2-\n  x\n", head + "note: >+\n\n  x\n\n", head + "? a\n: b\n",
		head + "tags: [&a x, *a, [*a], {b: *a}]\n", head + "tags: &a [*a]\n", head + "&a note: *a\n", head + "*a : x\n", head + "loads: {: 5 kg}\n", head + "tags: [,]\n",
		head + "tags:\n- - - x\n", head + "tags:\n-\n- x\n", head + "note: !!binary x\n", head + "\"note\" : 'it''s'\n", "{form: 1, id: a}", "form: 1\nid: a\n...\n# end\n",
		head + "note: a\n  b\n\n  c # d\n", head + "note: \"a\\\n  b\"\n", head + "price: -.inf\n", head + "count: 0b1\n", head + "steps: {1: a, 0x1: b, 01: c}\n",
	}, awkward...) {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		k, err := read(string(src))
		if err != nil {
			checkRefusal(t, src, err)
			return
		}
		written := form.Write(k)
		again, err := read(string(written))
		if err != nil {
			t.Fatalf("%v\n%s\nread from\n%q", err, written, src)
		}
		if diff := cmp.Diff(k, again, compareKits); diff != "" {
			t.Fatalf("%s\n%s\nread from\n%q", diff, written, src)
		}
	})
}

// checkRefusal holds an error to what messages promise.
func checkRefusal(t *testing.T, src []byte, err error) {
	var r *form.Refusal
	if !errors.As(err, &r) || len(r.Problems) == 0 {
		t.Fatalf("%q gives %v", src, err)
	}
	count := strings.Count(string(src), "\n") + 1
	line, column := 0, 0
	for _, p := range r.Problems {
		if p.Text == "" || p.Code == "" || p.Line < 0 || p.Line > count+1 || p.Line > 0 && p.Column < 1 || p.Line < line || p.Line == line && p.Column < column {
			t.Fatalf("%q gives %+v", src, p)
		}
		line, column = p.Line, p.Column
		if s := p.String(); utf8.Valid(src) && !utf8.ValidString(s) || len(s) > 5000 {
			t.Fatalf("%q gives the message %q", src, s)
		}
	}
}

// BenchmarkRead opens and fills a file of 50 kB.
func BenchmarkRead(b *testing.B) {
	var s strings.Builder
	s.WriteString(full[:strings.Index(full, "plates:")] + "plates:\n")
	for s.Len() < 50_000 {
		s.WriteString("  - weight: 20 kg # as marked\n    pairs: 2\n    colour: red\n")
	}
	src := s.String()
	b.SetBytes(int64(len(src)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := read(src); err != nil {
			b.Fatal(err)
		}
	}
}
