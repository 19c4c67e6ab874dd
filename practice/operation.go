package practice

import (
	"maps"
	"slices"
	"strings"
	"time"
)

// An Operation is one change of one document. Its id is given by who makes it,
// before it is sent: sent twice, it is applied once.
type Operation struct {
	ID      string    `json:"id"`      // idempotency key, 16 to 64 letters, digits and dashes
	Author  string    `json:"author"`  // id of an account
	At      time.Time `json:"at"`      // when it was applied
	Kind    Kind      `json:"kind"`    // kind of the document
	Doc     string    `json:"doc"`     // id of the document
	Base    int       `json:"base"`    // version of the document it was made on
	Version int       `json:"version"` // version it made
	What    string    `json:"what"`    // what was done, for people; names nobody
	Edits   []Edit    `json:"edits"`   // what really changed
	Asked   string    `json:"asked"`   // hash of what was asked for
	Undoes  string    `json:"undoes"`  // id of the operation it takes back
	Layout  int       `json:"layout"`  // how the document was taken apart for Edits; see layout
	Batch   string    `json:"batch"`   // id of the change of many it is part of; empty for one alone
}

// An Edit changes one field from one value to another. A field that is not there
// has the empty value.
type Edit struct {
	At  string `json:"at"`
	Was string `json:"was"`
	To  string `json:"to"`
}

// Inverse returns the edits that take edits back.
func Inverse(edits []Edit) []Edit {
	out := make([]Edit, len(edits))
	for i, e := range edits {
		out[i] = Edit{e.At, e.To, e.Was}
	}
	return out
}

// Diff returns the edits that turn one document into another, by place.
func Diff(before, after Fields) []Edit {
	var out []Edit
	places := map[string]bool{}
	for p := range before {
		places[p] = true
	}
	for p := range after {
		places[p] = true
	}
	for _, p := range slices.Sorted(maps.Keys(places)) {
		if before[p] != after[p] {
			out = append(out, Edit{p, before[p], after[p]})
		}
	}
	return out
}

// Merge returns the fields with edits made on an older version. An edit of a field
// that nobody touched since is applied; one that makes what already stands is
// nothing; orders of lists are merged entry by entry; all else is a clash, and then
// nothing is applied.
func Merge(now Fields, edits []Edit) (Fields, []Clash) {
	out := maps.Clone(now)
	there, new := now.entries(), brought(edits)
	var clashes []Clash
	for _, e := range edits {
		have := now[e.At]
		switch {
		case have == e.To:
		case have != e.Was && strings.HasSuffix(e.At, "."+orderField):
			merged, ok := mergeOrder(strings.Fields(e.Was), strings.Fields(e.To), strings.Fields(have))
			if !ok {
				clashes = append(clashes, Clash{e.At, e.Was, e.To, have})
				continue
			}
			out[e.At] = strings.Join(merged, " ")
		case have != e.Was || gone(e, there, new):
			clashes = append(clashes, Clash{e.At, e.Was, e.To, have})
		case e.To == "":
			delete(out, e.At)
		default:
			out[e.At] = e.To
		}
	}
	if len(clashes) > 0 {
		return now, clashes
	}
	return out, nil
}

// brought returns the entries of lists that edits bring or keep.
func brought(edits []Edit) map[string]bool {
	out := map[string]bool{}
	for _, e := range edits {
		if list, ok := strings.CutSuffix(e.At, "."+orderField); ok {
			for _, key := range strings.Fields(e.To) {
				out[list+"["+key+"]"] = true
			}
		}
	}
	return out
}

// gone says whether an edit writes into an entry of a list that somebody took out:
// the entry is neither there nor brought by the same edits.
func gone(e Edit, there, brought map[string]bool) bool {
	end := strings.LastIndexByte(e.At, ']')
	if end < 0 || e.To == "" {
		return false
	}
	entry := e.At[:end+1]
	return !there[entry] && !brought[entry]
}

// mergeOrder lays the change from was to mine over theirs: what mine took out goes,
// what mine brought in comes after the entry it stands behind, and a new order of
// what all three have is taken from the one side that made it. False where both
// did.
func mergeOrder(was, mine, theirs []string) ([]string, bool) {
	common := func(list []string) []string {
		return slices.DeleteFunc(slices.Clone(list), func(k string) bool {
			return !slices.Contains(was, k) || !slices.Contains(mine, k) || !slices.Contains(theirs, k)
		})
	}
	w, m, t := common(was), common(mine), common(theirs)
	base, other := theirs, mine
	switch {
	case slices.Equal(w, m):
	case slices.Equal(w, t):
		base, other = mine, theirs
	case !slices.Equal(m, t):
		return nil, false
	}
	out := slices.DeleteFunc(slices.Clone(base), func(k string) bool {
		return slices.Contains(was, k) && !slices.Contains(other, k)
	})
	for i, k := range other {
		if slices.Contains(was, k) || slices.Contains(out, k) {
			continue
		}
		at := 0
		if i > 0 {
			at = slices.Index(out, other[i-1]) + 1
		}
		out = slices.Insert(out, at, k)
	}
	return out, true
}
