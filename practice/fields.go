package practice

import (
	"slices"
	"strconv"
	"strings"
)

// Fields is a document taken apart: the value of every field by its place, as it
// stands in the file. A place is such as sessions[a].slots[a1].weeks.3: lists whose
// entries have ids are addressed by them, so that moving and renaming change no
// place; lists of what a client or slot has more than one of by what tells their
// entries apart, such as lifts[2026-11-06|hex-bar-deadlift|], a second one of the same
// key with ~2 behind it. The order of such a list is a field of its own,
// sessions[a].slots.#order; every other list is one value.
type Fields map[string]string

// orderField is the field that holds the order of a list.
const orderField = "#order"

// Layout is the version of how a document is taken apart. Operations say which they
// were made in; what was stored in an older one is laid out anew when it is played.
//
//	1: entries, flags and kept problems by their fields, lists with ids by these
//	2: every list below by its fields
const layout = 2

// keysOf names, by list, the fields that tell its entries apart; id for all others.
var keysOf = map[string][]string{
	"entries":  {"block", "session", "week", "on"},
	"flags":    {"ask", "region", "side"},
	"kept":     {"code", "scope", "at", "about"},
	"measures": {"on"},
	"lifts":    {"on", "exercise", "side"},
	"days":     {"day"},
	"goals":    {"for", "exercise", "muscle"},
	"aims":     {"muscle", "lift"},
	"pain":     {"place", "side", "on"},
	"limits":   {"muscle", "side"},
	"findings": {"on", "kind", "exercise", "side"},
	"consent":  {"purpose", "on"},
	"shares":   {"exercise", "muscle"},
	"reasons":  {"test", "prepare", "practise", "load", "spare", "restore"},
	"was":      {"exercise", "to_revision"},
	"sets":     {"slot", "set", "side"},
	"tests":    {"slot", "measure"},
	"skipped":  {"slot"},
}

// badLayout says that a text is not laid out as form.Write lays it out.
const badLayout = "practice: a document is not laid out as the form is written"

// TakeApart returns the fields of a document that form.Write wrote. It panics on
// any other layout: documents are written before they are taken apart.
func TakeApart(text string) Fields {
	f := Fields{}
	f.mapping("", strings.Split(strings.TrimSuffix(text, "\n"), "\n"), 0)
	return f
}

// depth counts the spaces a line starts with.
func depth(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }

// mapping reads lines of `key: value` at an indent.
func (f Fields) mapping(at string, lines []string, indent int) {
	for i := 0; i < len(lines); {
		key, value, ok := strings.Cut(lines[i][indent:], ":")
		if !ok || depth(lines[i]) != indent {
			panic(badLayout)
		}
		place := key
		if at != "" {
			place = at + "." + key
		}
		end := i + 1
		for end < len(lines) && depth(lines[end]) > indent {
			end++
		}
		switch inner := lines[i+1 : end]; {
		case len(inner) == 0:
			f[place] = strings.TrimPrefix(value, " ")
		case strings.HasPrefix(inner[0][indent+2:], "- "):
			f.list(place, key, inner, indent+2)
		default:
			f.mapping(place, inner, indent+2)
		}
		i = end
	}
}

// list reads entries that start with a dash at an indent.
func (f Fields) list(place, name string, lines []string, indent int) {
	var items [][]string
	for _, l := range lines {
		if depth(l) == indent {
			items = append(items, nil)
		}
		items[len(items)-1] = append(items[len(items)-1], l)
	}
	var keys []string
	seen := map[string]int{}
	for _, item := range items {
		key := itemKey(name, item, indent)
		if seen[key]++; seen[key] > 1 && key != "" && keysOf[name] != nil {
			key += "~" + strconv.Itoa(seen[key])
		}
		if key != "" && !slices.Contains(keys, key) {
			keys = append(keys, key)
		}
	}
	if len(keys) != len(items) {
		cut := make([]string, len(lines))
		for i, l := range lines {
			cut[i] = l[indent:]
		}
		f[place] = "\n" + strings.Join(cut, "\n")
		return
	}
	for i, item := range items {
		body := slices.Clone(item)
		body[0] = strings.Repeat(" ", indent+2) + item[0][indent+2:]
		f.mapping(place+"["+keys[i]+"]", body, indent+2)
	}
	f[place+"."+orderField] = strings.Join(keys, " ")
}

// itemKey returns what tells an entry of a list apart, or nothing where it has no
// id.
func itemKey(name string, item []string, indent int) string {
	names, ok := keysOf[name]
	if !ok {
		names = []string{"id"}
	}
	parts := make([]string, len(names))
	for i, l := range item {
		if i > 0 && depth(l) != indent+2 {
			continue
		}
		key, value, _ := strings.Cut(l[indent+2:], ": ")
		if n := slices.Index(names, key); n >= 0 {
			parts[n] = strings.NewReplacer(" ", "_", ".", "_", "[", "_", "]", "_").Replace(strings.Trim(value, `"`))
		}
	}
	if !ok && parts[0] == "" {
		return ""
	}
	return strings.Join(parts, "|")
}

// A branch is a part of a document that is being put together.
type branch struct {
	leaf  string
	names []string // of the branches below, in the order they are written
	below map[string]*branch
	list  bool
}

// down returns the branch below with that name, made where it is missing.
func (b *branch) down(name string) *branch {
	if b.below == nil {
		b.below = map[string]*branch{}
	}
	if b.below[name] == nil {
		b.below[name] = &branch{}
		b.names = append(b.names, name)
	}
	return b.below[name]
}

// Text puts a document together again. Reading and writing it as its form gives
// the layout TakeApart takes.
func (f Fields) Text() string {
	root := &branch{}
	places := make([]string, 0, len(f))
	for place := range f {
		places = append(places, place)
	}
	slices.Sort(places)
	there := f.entries()
	for _, place := range places {
		if list, ok := strings.CutSuffix(place, "."+orderField); ok {
			at := root.at(list)
			at.list = true
			for _, key := range strings.Fields(f[place]) {
				if there[list+"["+key+"]"] {
					at.down(key)
				}
			}
			continue
		}
	}
	for _, place := range places {
		if !strings.HasSuffix(place, "."+orderField) {
			root.at(place).leaf = f[place]
		}
	}
	var b strings.Builder
	root.write(&b, 0)
	return b.String()
}

// entries returns the entries of lists in which any field lies.
func (f Fields) entries() map[string]bool {
	out := map[string]bool{}
	for place := range f {
		for i := range len(place) - 1 {
			if place[i] == ']' && place[i+1] == '.' {
				out[place[:i+1]] = true
			}
		}
	}
	return out
}

// at returns the branch at a place.
func (b *branch) at(place string) *branch {
	for place != "" {
		end := strings.IndexAny(place, ".[")
		if end < 0 {
			return b.down(place)
		}
		b = b.down(place[:end])
		if place[end] == '.' {
			place = place[end+1:]
			continue
		}
		close := strings.IndexByte(place, ']')
		if close <= end { // no place of ours: the form refuses it
			return b.down(place)
		}
		b.list = true
		b = b.down(place[end+1 : close])
		place = strings.TrimPrefix(place[close+1:], ".")
	}
	return b
}

// write writes the branches below, one field a line.
func (b *branch) write(out *strings.Builder, indent int) {
	pad := strings.Repeat("  ", indent)
	for _, name := range b.names {
		n := b.below[name]
		switch {
		case b.list:
			var inner strings.Builder
			n.write(&inner, indent+1)
			if inner.Len() > 0 {
				out.WriteString(pad + "- " + strings.TrimLeft(inner.String(), " "))
			}
		case len(n.names) > 0:
			out.WriteString(pad + name + ":\n")
			n.write(out, indent+1)
		case strings.HasPrefix(n.leaf, "\n"):
			out.WriteString(pad + name + ":" + strings.ReplaceAll(n.leaf, "\n", "\n"+pad+"  ") + "\n")
		default:
			out.WriteString(pad + name + ": " + n.leaf + "\n")
		}
	}
}
