package form

import (
	"encoding"
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// A Position is a line and a column of a file, from 1.
type Position struct{ Line, Column int }

// A Doc is a file being read: its lines, its tree, where each value stands, and
// what is wrong so far.
type Doc struct {
	File     string
	lines    []string
	root     ast.Node
	anchors  map[string]ast.Node         // by name, while the tree is walked
	targets  map[*ast.AliasNode]ast.Node // what each alias stands for
	at       map[string]Position
	problems []Problem
	nodes    int
	aliases  int
}

// Has says whether the top of the file has a field of that name.
func (d *Doc) Has(field string) bool {
	fields, _ := d.fields(d.root)
	for _, f := range fields {
		if d.keyText(f.Key) == field {
			return true
		}
	}
	return false
}

// Fill decodes the whole file into the struct that into points to. Errors are
// collected; ask Err afterwards. noun says what the file is, for messages.
func (d *Doc) Fill(noun string, into any) {
	d.at = map[string]Position{}
	d.value(d.root, reflect.ValueOf(into).Elem(), "", noun, 0)
}

// Err returns a *Refusal with all problems in the order of the file, or nil.
func (d *Doc) Err() error {
	if len(d.problems) == 0 {
		return nil
	}
	slices.SortStableFunc(d.problems, func(a, b Problem) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return &Refusal{File: d.File, Problems: d.problems}
}

// Where returns where the value of a path stands; a path that is not in the
// file gives its nearest parent.
func (d *Doc) Where(path string) Position {
	for {
		if p, ok := d.at[path]; ok {
			return p
		}
		i := strings.LastIndexAny(path, ".[")
		if i < 0 {
			return d.at[""]
		}
		path = path[:i]
	}
}

// Refuse records what is wrong with the value at a path.
func (d *Doc) Refuse(path, code, format string, args ...any) {
	d.add(d.Where(path), code, fmt.Sprintf(format, args...)).Path = path
}

// RefuseName records an unknown name at a path, with the nearest known ones.
func (d *Doc) RefuseName(path, code, text string, near []string) {
	p := d.add(d.Where(path), code, text)
	p.Path, p.Near = path, near
}

// maxProblems is how many problems of a file are kept; nobody reads more.
const maxProblems = 1000

// add records a problem at a position and returns it for its path and nearest
// names. Past maxProblems the problem returned is not kept.
func (d *Doc) add(p Position, code, text string) *Problem {
	problem := Problem{File: d.File, Line: p.Line, Column: p.Column, Code: code, Text: text}
	if p.Line >= 1 && p.Line <= len(d.lines) {
		problem.Excerpt = d.lines[p.Line-1]
	}
	if len(d.problems) >= maxProblems {
		return &problem
	}
	d.problems = append(d.problems, problem)
	return &d.problems[len(d.problems)-1]
}

// refuse records a problem with a node.
func (d *Doc) refuse(n ast.Node, path, code, format string, args ...any) *Problem {
	p := d.add(place(n), code, fmt.Sprintf(format, args...))
	p.Path = path
	return p
}

// maxQuoted is how much of a text a message repeats, in characters.
const maxQuoted = 40

// clip shortens a text for a message.
func clip(s string) string {
	if r := []rune(s); len(r) > maxQuoted {
		return string(r[:maxQuoted]) + "..."
	}
	return s
}

// place returns where a node starts.
func place(n ast.Node) Position {
	if m, ok := n.(*ast.MappingNode); ok && len(m.Values) > 0 && !m.IsFlowStyle {
		return place(m.Values[0])
	}
	if m, ok := n.(*ast.MappingValueNode); ok {
		return place(m.Key)
	}
	if n == nil || n.GetToken() == nil || n.GetToken().Position == nil {
		return Position{1, 1}
	}
	p := n.GetToken().Position
	return Position{max(p.Line, 1), max(p.Column, 1)}
}

// follow steps through anchors and aliases. An alias stands below its anchor, so
// that this ends.
func (d *Doc) follow(n ast.Node) ast.Node {
	for {
		switch x := n.(type) {
		case *ast.AnchorNode:
			n = x.Value
		case *ast.AliasNode:
			n = d.targets[x]
		default:
			return n
		}
	}
}

// fields returns the fields of a mapping, whichever shape the parser gives it.
func (d *Doc) fields(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch n := d.follow(n).(type) {
	case *ast.MappingNode:
		return n.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}, true
	}
	return nil, false
}

// keyText returns the name of a field.
func (d *Doc) keyText(k ast.Node) string {
	if k = d.follow(k); k == nil {
		return ""
	}
	if s, ok := k.(*ast.StringNode); ok {
		return s.Value
	}
	if t := k.GetToken(); t != nil {
		return strings.TrimSpace(t.Value)
	}
	return ""
}

// hinter describes a type that is written as one text.
type hinter interface {
	FormHint() (what, pattern string, examples []string)
}

// chooser is a type that takes one of a closed list of words.
type chooser interface{ Values() []string }

// value decodes one node into v. The node budget holds for values reached
// through aliases too.
func (d *Doc) value(n ast.Node, v reflect.Value, path, noun string, depth int) {
	if d.nodes++; d.nodes > 3*maxNodes || depth > maxNesting || len(d.problems) >= maxProblems {
		if len(d.problems) == 0 {
			d.refuse(n, path, "too-many-aliases", "the aliases of this file unfold into too much; write the values out")
		}
		return
	}
	at := place(n)
	n = d.follow(n)
	d.at[path] = at
	if _, null := n.(*ast.NullNode); n == nil || null {
		d.add(at, "empty", fmt.Sprintf("nothing is written for %s; write %s or delete the line", noun, expected(v.Type()))).Path = path
		return
	}
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		d.value(n, v.Elem(), path, noun, depth)
		return
	}
	if u, ok := v.Addr().Interface().(encoding.TextUnmarshaler); ok {
		d.text(n, v, u, path, noun)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		d.structure(n, v, path, noun, depth)
	case reflect.Slice:
		d.list(n, v, path, noun, depth)
	case reflect.Map:
		d.table(n, v, path, noun, depth)
	default:
		d.plain(n, v, path, noun)
	}
}

// raw returns the text of a scalar and how far its first character lies from
// the node's position; ok is false for lists and fields.
func raw(n ast.Node) (text string, shift int, ok bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		if t := n.GetToken().Type; t == token.DoubleQuoteType || t == token.SingleQuoteType {
			return n.Value, 1, true
		}
		return n.Value, 0, true
	case *ast.LiteralNode:
		return n.Value.Value, 0, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return strings.TrimSpace(n.GetToken().Value), 0, true
	}
	return "", 0, false
}

// text decodes a type that reads itself from one text.
func (d *Doc) text(n ast.Node, v reflect.Value, u encoding.TextUnmarshaler, path, noun string) {
	s, shift, ok := raw(n)
	if !ok {
		d.refuse(n, path, "wrong-kind", "%s should be %s", noun, expected(v.Type()))
		return
	}
	if !d.sane(n, s, path, noun) {
		return
	}
	err := u.UnmarshalText([]byte(s))
	if err == nil {
		return
	}
	p := place(n)
	var at interface{ Offset() int }
	if errors.As(err, &at) && at.Offset() <= len(s) && d.inOneLine(n, s) {
		p.Column += shift + utf8.RuneCountInString(s[:at.Offset()])
	}
	problem := d.add(p, "wrong-value", err.Error())
	problem.Path = path
	var near interface{ Near() []string }
	if errors.As(err, &near) {
		problem.Near = near.Near()
	}
}

// inOneLine says whether the text of a node stands in its line as it is, so that
// an offset in it is a column of the file.
func (d *Doc) inOneLine(n ast.Node, s string) bool {
	p := place(n)
	return p.Line <= len(d.lines) && strings.Contains(d.lines[p.Line-1], s)
}

// sane refuses texts that are too long or hold control characters: escapes in
// double quotes can bring back what the bytes did not hold.
func (d *Doc) sane(n ast.Node, s, path, noun string) bool {
	if utf8.RuneCountInString(s) > maxText {
		d.refuse(n, path, "too-large", "%s is longer than %d characters", noun, maxText)
		return false
	}
	if strings.IndexFunc(s, func(r rune) bool { return control(r) && r != '\n' }) >= 0 {
		d.refuse(n, path, "encoding", "%s holds a control character; delete it", noun)
		return false
	}
	return true
}

// plain decodes texts, words of a closed list, numbers and yes/no.
func (d *Doc) plain(n ast.Node, v reflect.Value, path, noun string) {
	s, _, ok := raw(n)
	if !ok {
		d.refuse(n, path, "wrong-kind", "%s should be %s", noun, expected(v.Type()))
		return
	}
	switch v.Kind() {
	case reflect.String:
		d.words(n, v, s, path, noun)
	case reflect.Bool:
		b, isBool := n.(*ast.BoolNode)
		if !isBool {
			d.refuse(n, path, "wrong-kind", "%s should be true or false, not %q", noun, clip(s))
			return
		}
		v.SetBool(b.Value)
	case reflect.Int:
		i, err := strconv.ParseInt(s, 10, 32)
		if _, isInt := n.(*ast.IntegerNode); err != nil || !isInt {
			d.refuse(n, path, "wrong-kind", "%s should be a whole number%s, not %q", noun, unquoted(n, s), clip(s))
			return
		}
		v.SetInt(i)
	case reflect.Float64:
		f, err := strconv.ParseFloat(s, 64)
		if !isNumber(n) || err != nil || math.Abs(f) > maxFloat {
			d.refuse(n, path, "wrong-kind", "%s should be a number%s, not %q", noun, unquoted(n, s), clip(s))
			return
		}
		v.SetFloat(f)
	default:
		panic("form: a field of type " + v.Type().String() + " cannot be read")
	}
}

// maxFloat bounds a plain number. No measure of a person or a week comes near.
const maxFloat = 1e9

// plainNumber matches the numbers that stand in files.
var plainNumber = regexp.MustCompile(`^[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?$`)

// isNumber says whether a node is a number without quotes. The YAML parser takes
// 1e3 for a text.
func isNumber(n ast.Node) bool {
	switch n.(type) {
	case *ast.IntegerNode, *ast.FloatNode, *ast.StringNode:
		t := n.GetToken()
		return t.Type != token.SingleQuoteType && t.Type != token.DoubleQuoteType && plainNumber.MatchString(t.Value)
	}
	return false
}

// unquoted adds to a message that a number in quotes is a text.
func unquoted(n ast.Node, s string) string {
	if _, ok := n.(*ast.StringNode); ok && plainNumber.MatchString(s) && !isNumber(n) {
		return " without quotes"
	}
	return ""
}

// words decodes a text or a word of a closed list.
func (d *Doc) words(n ast.Node, v reflect.Value, s, path, noun string) {
	if c, ok := v.Interface().(chooser); ok {
		known := c.Values()
		if !slices.Contains(known, s) {
			p := d.refuse(n, path, "unknown-word", "%s cannot be %q; write one of %s", noun, clip(s), shortList(known))
			if len(known) > maxListed {
				p.Near = Near(s, known, 3)
			}
			return
		}
	}
	if strings.TrimSpace(s) == "" {
		d.refuse(n, path, "empty", "nothing is written for %s; write a text or delete the line", noun)
		return
	}
	if !d.sane(n, s, path, noun) {
		return
	}
	v.SetString(s)
}

// maxListed is how many words of a closed list a message shows.
const maxListed = 12

// shortList joins words for a message, cut after maxListed.
func shortList(words []string) string {
	if len(words) <= maxListed {
		return strings.Join(words, ", ")
	}
	return strings.Join(words[:maxListed], ", ") + fmt.Sprintf(" and %d more", len(words)-maxListed)
}

// list decodes a list. One value where a list is expected is refused, so that
// no file means two things.
func (d *Doc) list(n ast.Node, v reflect.Value, path, noun string, depth int) {
	seq, ok := n.(*ast.SequenceNode)
	if !ok {
		d.refuse(n, path, "wrong-kind", "%s should be a list; start each entry with `- `", noun)
		return
	}
	if len(seq.Values) > maxList {
		d.refuse(n, path, "too-large", "%s has more than %d entries", noun, maxList)
		return
	}
	out := reflect.MakeSlice(v.Type(), len(seq.Values), len(seq.Values))
	for i, item := range seq.Values {
		d.value(item, out.Index(i), fmt.Sprintf("%s[%d]", path, i), "an entry of "+noun, depth+1)
	}
	v.Set(out)
}

// maxKey bounds a free field name, in bytes.
const maxKey = 200

// table decodes fields with free names into a map from text or whole number.
func (d *Doc) table(n ast.Node, v reflect.Value, path, noun string, depth int) {
	fields, ok := d.fields(n)
	if !ok {
		d.refuse(n, path, "wrong-kind", "%s should be fields, each on a line as `name: value`", noun)
		return
	}
	if len(fields) > maxList {
		d.refuse(n, path, "too-large", "%s has more than %d fields", noun, maxList)
		return
	}
	out := reflect.MakeMap(v.Type())
	for _, f := range fields {
		name, problems := d.keyText(f.Key), len(d.problems)
		if len(name) > maxKey {
			d.refuse(f.Key, path, "too-large", "a field name of %s is longer than %d characters", noun, maxKey)
			continue
		}
		key := reflect.New(v.Type().Key()).Elem()
		if d.value(f.Key, key, path+"."+name, "a field name of "+noun, depth+1); len(d.problems) > problems {
			continue
		}
		if out.MapIndex(key).IsValid() {
			d.refuse(f.Key, path, "twice", "%q stands twice in %s; delete one", clip(name), noun)
			continue
		}
		item := reflect.New(v.Type().Elem()).Elem()
		d.value(f.Value, item, path+"."+name, name, depth+1)
		out.SetMapIndex(key, item)
	}
	v.Set(out)
}

// structure decodes fields with known names.
func (d *Doc) structure(n ast.Node, v reflect.Value, path, noun string, depth int) {
	fields, ok := d.fields(n)
	if !ok {
		d.refuse(n, path, "wrong-kind", "%s should be fields, each on a line as `name: value`; known are %s", noun, shortList(fieldNames(v.Type())))
		return
	}
	known := fieldIndex(v.Type())
	seen := map[string]bool{}
	for _, f := range fields {
		name := d.keyText(f.Key)
		i, ok := known[name]
		switch {
		case !ok:
			p := d.refuse(f.Key, join(path, name), "unknown-field", "%q is not a field of %s; known are %s", clip(name), noun, shortList(fieldNames(v.Type())))
			p.Near = Near(name, fieldNames(v.Type()), 1)
		case seen[name]:
			d.refuse(f.Key, join(path, name), "twice", "%q stands twice; delete one", name)
		default:
			d.value(f.Value, v.Field(i), join(path, name), name, depth+1)
		}
		seen[name] = true
	}
	for _, f := range fieldsOf(v.Type()) {
		if f.required && !seen[f.name] {
			d.refuse(n, path, "missing-field", "%s needs the field %q: %s", noun, f.name, f.doc)
		}
	}
}

// join appends a field name to a path.
func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

// A field is one field of a form type.
type field struct {
	name     string
	doc      string
	required bool
	index    int
	typ      reflect.Type
}

// fieldsOf lists the form fields of a struct type in order.
func fieldsOf(t reflect.Type) []field {
	var out []field
	for i := range t.NumField() {
		name, opt, _ := strings.Cut(t.Field(i).Tag.Get("form"), ",")
		if name == "" || name == "-" {
			continue
		}
		out = append(out, field{name, t.Field(i).Tag.Get("doc"), opt == "required", i, t.Field(i).Type})
	}
	return out
}

// fieldNames lists the names of the form fields of a struct type.
func fieldNames(t reflect.Type) []string {
	var names []string
	for _, f := range fieldsOf(t) {
		names = append(names, f.name)
	}
	return names
}

// fieldIndex maps field names to struct fields.
func fieldIndex(t reflect.Type) map[string]int {
	m := map[string]int{}
	for _, f := range fieldsOf(t) {
		m[f.name] = f.index
	}
	return m
}

// expected says in words what a value of type t looks like.
func expected(t reflect.Type) string {
	if t.Kind() == reflect.Pointer {
		return expected(t.Elem())
	}
	zero := reflect.Zero(t).Interface()
	if h, ok := zero.(hinter); ok {
		what, _, examples := h.FormHint()
		return what + " such as " + strings.Join(examples, " or ")
	}
	if c, ok := zero.(chooser); ok {
		return "one of " + shortList(c.Values())
	}
	switch t.Kind() {
	case reflect.Struct:
		return "fields (" + shortList(fieldNames(t)) + ")"
	case reflect.Slice:
		return "a list"
	case reflect.Map:
		return "fields"
	case reflect.Int:
		return "a whole number"
	case reflect.Float64:
		return "a number"
	case reflect.Bool:
		return "true or false"
	}
	return "a text"
}

// sortedKeys lists the keys of a map from text or whole number, in order.
func sortedKeys(v reflect.Value) []reflect.Value {
	keys := map[string]reflect.Value{}
	for _, k := range v.MapKeys() {
		text := fmt.Sprint(k.Interface())
		if k.Kind() == reflect.Int {
			text = fmt.Sprintf("%012d", k.Int())
		}
		keys[text] = k
	}
	var out []reflect.Value
	for _, t := range slices.Sorted(maps.Keys(keys)) {
		out = append(out, keys[t])
	}
	return out
}
