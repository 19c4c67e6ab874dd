package form

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// slowEdits is the restricted Damerau-Levenshtein distance by its definition.
// Source: Boytsov 2011, Indexing methods for approximate dictionary searching,
// ACM Journal of Experimental Algorithmics 16:1.1, section 2.1 (from memory).
func slowEdits(a, b string) int {
	if a == "" || b == "" {
		return len(a) + len(b)
	}
	change := 1
	if a[0] == b[0] {
		change = 0
	}
	least := min(slowEdits(a[1:], b)+1, slowEdits(a, b[1:])+1, slowEdits(a[1:], b[1:])+change)
	if len(a) > 1 && len(b) > 1 && a[0] == b[1] && a[1] == b[0] {
		least = min(least, slowEdits(a[2:], b[2:])+1)
	}
	return least
}

// The table and the recursion agree, and the distance is symmetric, 0 only for
// equal words, and within the difference and the maximum of the lengths.
func TestEditsAgreeWithTheDefinition(t *testing.T) {
	word := rapid.StringMatching(`[abc]{0,6}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		got := edits(a, b)
		if want := slowEdits(a, b); got != want {
			t.Fatalf("%q to %q costs %d, by the definition %d", a, b, got, want)
		}
		if got != edits(b, a) || (got == 0) != (a == b) || got < abs(len(a)-len(b)) || got > max(len(a), len(b)) {
			t.Fatalf("%q to %q costs %d", a, b, got)
		}
	})
}

// Distances worked by hand.
func TestEditsByHand(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"squat", "squat", 0}, {"squat", "squta", 1}, {"squat", "sqat", 1}, {"squat", "squaat", 1}, {"squat", "squad", 1},
		{"kitten", "sitting", 3}, {"ca", "abc", 3}, {"übung", "ubung", 1}, {"übung", "büung", 1},
		{strings.Repeat("x", 1000), strings.Repeat("x", 60) + "y", 0}, // only the first 60 characters count
	} {
		if got := edits(c.a, c.b); got != c.want {
			t.Errorf("%.20q to %.20q costs %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

// What a coach may mistype and what is offered, best first.
func TestNear(t *testing.T) {
	names := []string{"back-squat", "front-squat", "split-squat", "bench-press", "leg-press", "deadlift", "romanian-deadlift", "row", "run"}
	for _, c := range []struct {
		word string
		n    int
		want []string
	}{
		{"back-squat", 1, []string{"back-squat"}},
		{"Back Squat", 1, []string{"back-squat"}},
		{"back_sqaut", 1, []string{"back-squat"}},
		{"squat", 3, []string{"back-squat", "front-squat", "split-squat"}},
		{"squat", 2, []string{"back-squat", "front-squat"}},
		{"ben", 1, []string{"bench-press"}},
		{"deadlfit", 2, []string{"deadlift"}},
		{"deadlift", 2, []string{"deadlift", "romanian-deadlift"}},
		{"rom", 1, []string{"row"}},
		{"rnu", 1, []string{"run"}},
		{"swim", 3, nil},
		{"deadlift", 0, nil},
		{strings.Repeat("x", 100_000), 3, nil},
	} {
		if got := Near(c.word, names, c.n); !slices.Equal(got, c.want) {
			t.Errorf("%.20q is near %v, want %v", c.word, got, c.want)
		}
	}
}

// Near gives known names only, no more than asked for, none twice, costs that
// never fall, and the word itself first where it is known.
func TestNearLaws(t *testing.T) {
	word := rapid.StringMatching(`[a-c]{1,4}(-[a-c]{1,4})?`)
	rapid.Check(t, func(t *rapid.T) {
		known, w, n := rapid.SliceOf(word).Draw(t, "known"), word.Draw(t, "word"), rapid.IntRange(0, 5).Draw(t, "n")
		got := Near(w, known, n)
		if len(got) > n {
			t.Fatalf("%d names of %d", len(got), n)
		}
		last := 0
		for i, name := range got {
			if !slices.Contains(known, name) || slices.Contains(got[:i], name) {
				t.Fatalf("%q in %v is not known or stands twice", name, got)
			}
			if cost, _ := nearness(w, name); cost < last {
				t.Fatalf("%v is not in order of cost", got)
			} else {
				last = cost
			}
		}
		if n > 0 && slices.Contains(known, w) && got[0] != w {
			t.Fatalf("%q is known, but %v is offered", w, got)
		}
	})
}
