package figure

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// words are what wrapped texts are drawn from: short, long, with letters beyond
// ASCII, and kept together.
var words = []string{"a", "Wdh.", "knee", "Übung", "Sechskantstange", "Άσκηση", "8\u00a0×\u00a040\u00a0kg", "https://example.invalid/a/long/address", "–"}

// Ensure that wrapping loses no letter, makes no line wider than asked for unless
// a single letter is, leaves room for what stands before the first line, and
// never breaks at a no-break space where the words fit.
func TestWrap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 1, 30).Draw(t, "words"), " ")
		style := Style{Size: rapid.Float64Range(6, 24).Draw(t, "size"), Bold: rapid.Bool().Draw(t, "bold")}
		width := rapid.Float64Range(5, 180).Draw(t, "width")
		indent := rapid.Float64Range(0, width/2).Draw(t, "indent")
		lines := WrapAfter(text, style, width, indent)
		if got, want := strings.ReplaceAll(strings.Join(lines, ""), " ", ""), strings.ReplaceAll(text, " ", ""); got != want {
			t.Fatalf("%q became %q", text, lines)
		}
		for i, line := range lines {
			room := width
			if i == 0 {
				room -= indent
			}
			if Measure(line, style) > room+1e-9 && len([]rune(line)) > 1 {
				t.Fatalf("%q is %.1f mm wide, there are %.1f", line, Measure(line, style), room)
			}
			if kept := "8\u00a0×\u00a040\u00a0kg"; strings.HasSuffix(line, "8") && Measure(kept, style) <= width-indent {
				t.Fatalf("%q was broken at a no-break space", lines)
			}
		}
	})
}

// Ensure that widths add up: a text is as wide as its parts, and bold is wider.
func TestMeasure(t *testing.T) {
	s := Style{Size: 10}
	whole, parts := Measure("Back squat", s), Measure("Back", s)+Measure(" ", s)+Measure("squat", s)
	if d := whole - parts; d > 1e-9 || d < -1e-9 {
		t.Errorf("%g and %g", whole, parts)
	}
	if Measure("Back squat", Style{Size: 10, Bold: true}) <= whole {
		t.Error("bold is not wider")
	}
	if Measure("", s) != 0 {
		t.Error("nothing has a width")
	}
}

// Ensure that Latin with the letters of European languages, Greek and Cyrillic are
// in the font, and that others are named with their number.
func TestMissing(t *testing.T) {
	for _, s := range []Style{{Size: 9}, {Size: 9, Bold: true}} {
		if miss := Missing("ÄÖÜäöüß ÀÉîõñ ĄĆęłŃśźż ČĎěňřšťůž ŐŰ ĞİŞ ΑΩάώς АЯаяЁёЇїЄєҐґ “”„‘’–—×·°±½ 0123456789", s); len(miss) > 0 {
			t.Errorf("bold %v lacks %v", s.Bold, miss)
		}
		miss := Missing("練習 練", s)
		if len(miss) != 2 || !strings.Contains(miss[0], "U+7DF4") {
			t.Errorf("got %v", miss)
		}
	}
}
