package form

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"
)

// Near returns at most n of the known names nearest to word by edits (insert,
// delete, change, swap of neighbours), best first, ties in the order given.
// Names further than half the word away are left out, but for those that begin
// with the word or share a whole word with it.
func Near(word string, known []string, n int) []string {
	word = fold(word)
	length := min(utf8.RuneCountInString(word), maxNear)
	type scored struct {
		name string
		cost int
	}
	var best []scored
	for _, name := range known {
		cost, akin := nearness(word, fold(name))
		if akin || cost <= 2*max(2, length/2) {
			best = append(best, scored{name, cost})
		}
	}
	slices.SortStableFunc(best, func(a, b scored) int { return cmp.Compare(a.cost, b.cost) })
	var names []string
	for _, s := range best {
		if len(names) < n && !slices.Contains(names, s.name) {
			names = append(names, s.name)
		}
	}
	return names
}

// nearness is twice the edit distance, less where name begins with word or
// shares a word of it; akin says that one of the two holds.
func nearness(word, name string) (cost int, akin bool) {
	cost = 2 * edits(word, name)
	longer := abs(utf8.RuneCountInString(name) - utf8.RuneCountInString(word))
	if len(word) >= 3 && strings.HasPrefix(name, word) {
		cost, akin = min(cost, 1+longer/4), true
	}
	for w := range strings.SplitSeq(word, "-") {
		if len(w) >= 4 && slices.Contains(strings.Split(name, "-"), w) {
			cost, akin = min(cost, 3+longer/3), true
		}
	}
	return cost, akin
}

func abs(n int) int { return max(n, -n) }

// fold lowers case and joins words with hyphens.
func fold(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return r == ' ' || r == '-' || r == '_'
	}), "-")
}

// maxNear bounds the length compared, so that a huge word costs little.
const maxNear = 60

// edits is the restricted Damerau-Levenshtein distance of a and b.
func edits(a, b string) int {
	x, y := []rune(a), []rune(b)
	x, y = x[:min(len(x), maxNear)], y[:min(len(y), maxNear)]
	before, last, now := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		now[0] = i
		for j := 1; j <= len(y); j++ {
			change := 1
			if x[i-1] == y[j-1] {
				change = 0
			}
			now[j] = min(last[j]+1, now[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				now[j] = min(now[j], before[j-2]+1)
			}
		}
		before, last, now = last, now, before
	}
	return last[len(y)]
}

// Edits returns how many edits (insert, delete, change, swap of neighbours) lie
// between two texts, letter case and joining aside; at most the first 60
// characters are compared.
func Edits(a, b string) int { return edits(fold(a), fold(b)) }
