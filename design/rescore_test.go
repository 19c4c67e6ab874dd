package design

import (
	"slices"
	"testing"
)

// Ensure that of the best weeks that which is worth most on paper is taken, the first
// of equals, and that what is worth less on paper does not win.
func TestBestOnPaperIsTaken(t *testing.T) {
	for _, name := range []string{"rosa-client.yaml", "tomas-client.yaml"} {
		b, err := build(wishOf(t, clientFile(t, name)))
		if err != nil {
			t.Fatal(err)
		}
		best := searchBest(b.p, nil, QuickMoves, 1)
		if len(best) < keptBest/2 || len(best) > keptBest {
			t.Fatalf("%d weeks", len(best))
		}
		for i, a := range best {
			w := b.p.Fill(a.Choices)
			if w.Broken() != 0 || w.Value() != a.Value || i > 0 && a.Value >= best[i-1].Value {
				t.Errorf("%s, week %d: broken %d, value %d, said %d", name, i, w.Broken(), w.Value(), a.Value)
			}
		}
		b.tables = newTables(b.p)
		taken, days := b.choose(best)
		most := b.onPaper(days)
		for i, a := range best {
			_, ordered := b.choose([]Answer{a})
			score := b.onPaper(ordered)
			at := slices.IndexFunc(best, func(x Answer) bool { return slices.Equal(x.Choices, taken.Choices) })
			if score > most || score == most && i < at {
				t.Errorf("%s: week %d is worth %d on paper, week %d with %d was taken", name, i, score, at, most)
			}
		}
	}
}

// Ensure that the paper takes off what a session runs over its time.
func TestPaperTakesOffLateMinutes(t *testing.T) {
	b, err := build(wishOf(t, clientFile(t, "rosa-client.yaml")))
	if err != nil {
		t.Fatal(err)
	}
	b.tables = newTables(b.p)
	_, days := b.choose(searchBest(b.p, nil, QuickMoves, 1)[:1])
	before := b.onPaper(days)
	b.list[0].Minutes -= 30
	if after := b.onPaper(days); after >= before {
		t.Errorf("half an hour less: %d before, %d after", before, after)
	}
}
