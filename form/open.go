package form

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
)

// Limits on a file. Our judgement: twenty times the largest real file seen, and
// low enough that no file costs more than a second or 100 MB.
const (
	maxSize    = 1 << 20 // bytes
	maxLine    = 50_000  // bytes of one line: a longest text, four bytes a character
	maxNesting = 40      // levels of lists and fields
	maxAliases = 200     // uses of a YAML anchor
	maxNodes   = 100_000 // values after aliases are followed
	maxText    = 10_000  // characters of one text
	maxList    = 2_000   // entries of one list
)

// ReadFile returns the bytes of a file of at most 1 MiB. The error names the
// file and what to do.
func ReadFile(fsys fs.FS, name string) ([]byte, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, whole(name, "no-file", cannotOpen(err))
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, whole(name, "no-file", "this is a folder, not a file")
	}
	src, err := io.ReadAll(io.LimitReader(f, maxSize+1))
	if err != nil {
		return nil, whole(name, "no-file", cannotOpen(err))
	}
	return src, nil
}

// cannotOpen says in plain words why a file cannot be had.
func cannotOpen(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "there is no such file; check the name and the folder"
	case errors.Is(err, fs.ErrPermission):
		return "this file may not be read; change its permissions"
	case errors.Is(err, fs.ErrInvalid):
		return "this is not a file name that can be opened"
	}
	return "this file cannot be read: " + err.Error()
}

// whole is the refusal of a file for one reason without a line.
func whole(file, code, text string) *Refusal {
	return &Refusal{File: file, Problems: []Problem{{File: file, Code: code, Text: text}}}
}

// Open parses src as one YAML document whose top is a list of fields, checks
// the limits and the `form` field, and returns it for Fill. The error is a
// *Refusal.
func Open(file string, src []byte) (*Doc, error) {
	d := &Doc{File: file}
	if len(src) > maxSize {
		return nil, whole(file, "too-large", "the file is larger than 1 MiB; no client, block or log needs that; split it")
	}
	src = bytes.TrimPrefix(src, []byte("\xef\xbb\xbf"))
	src = bytes.ReplaceAll(src, []byte("\r\n"), []byte("\n"))
	d.lines = strings.Split(string(src), "\n")
	if d.checkBytes(src); len(d.problems) > 0 {
		return nil, d.Err()
	}
	root, err := d.parse(src)
	if err != nil {
		d.syntax(err)
	}
	if err := d.Err(); err != nil {
		return nil, err
	}
	d.top(root)
	if err := d.Err(); err != nil {
		return nil, err
	}
	return d, nil
}

// checkBytes refuses what is not plain UTF-8 text of sane shape.
func (d *Doc) checkBytes(src []byte) {
	if bytes.HasPrefix(src, []byte("\xff\xfe")) || bytes.HasPrefix(src, []byte("\xfe\xff")) {
		d.add(Position{}, "encoding", "the file is UTF-16; save it as UTF-8")
		return
	}
	for i, line := range d.lines {
		if column, code, text := checkLine(line); code != "" {
			d.add(Position{i + 1, column}, code, text)
			return
		}
	}
}

// checkLine returns where and why a line is refused, or an empty code.
func checkLine(line string) (column int, code, text string) {
	if len(line) > maxLine {
		return 1, "too-large", fmt.Sprintf("the line is longer than %d bytes; break it", maxLine)
	}
	if !utf8.ValidString(line) {
		return 1, "encoding", "the line is not UTF-8; save the file as UTF-8"
	}
	if n := strings.IndexFunc(line, control); n >= 0 {
		column = utf8.RuneCountInString(line[:n]) + 1
		switch line[n] {
		case 0:
			return column, "encoding", "a NUL byte stands here; this is not a text file, or it is UTF-16; save it as UTF-8"
		case '\r':
			return column, "encoding", "a lone carriage return stands here; end each line with a line feed"
		}
		return column, "encoding", "a control character stands here; delete it"
	}
	rest := strings.TrimLeft(line, " \t")
	indent := line[:len(line)-len(rest)]
	if rest == "" {
		return 0, "", ""
	}
	if n := strings.IndexByte(indent, '\t'); n >= 0 {
		return n + 1, "tab", "a tab stands at the start of the line; write two spaces for each level"
	}
	if len(indent) > 8*maxNesting {
		return 1, "too-deep", fmt.Sprintf("lists and fields are nested deeper than %d levels", maxNesting)
	}
	return 0, "", ""
}

// control says whether r is a control character that no text needs.
func control(r rune) bool {
	return r < ' ' && r != '\t' || r == 0x7f || r >= 0x80 && r < 0xa0 && r != 0x85 || r == 0x2028 || r == 0x2029 || r == 0xfeff
}

// parse runs the YAML parser within limits. The parser is not ours: should it
// panic, the file is refused as unreadable instead of taking the program down.
func (d *Doc) parse(src []byte) (f *ast.File, err error) {
	defer func() {
		if p := recover(); p != nil {
			f, err = nil, errUnreadable
		}
	}()
	tokens := lexer.Tokenize(string(src))
	if d.checkTokens(tokens); len(d.problems) > 0 {
		return nil, nil
	}
	return parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
}

var errUnreadable = errors.New("this cannot be read as YAML")

// hints turns the parser's jargon into what to do. The first that fits is said.
var hints = []struct{ has, say string }{
	{"tab character", "a tab stands here; write spaces"},
	{"character '\t'", "a tab stands here; write spaces"},
	{"mapping value is not allowed", "a colon and a space stand inside this text; put the whole text in double quotes"},
	{"end character of", "the closing quote is missing"},
	{"unknown escape", "a backslash in double quotes starts a special character; write two backslashes for one"},
	{"escaped UTF", "the special character after the backslash is not complete"},
	{"surrogate", "the special character after the backslash is not complete"},
	{"sequence end token", "the closing ] is missing"},
	{"mapping end token", "the closing } is missing"},
	{"corresponding to ']'", "a ] stands here without its [; delete it, or put the text in double quotes"},
	{"corresponding to '}'", "a } stands here without its {; delete it, or put the text in double quotes"},
	{"must be specified", "a comma or the closing bracket is missing"},
	{"found ','", "nothing stands before this comma; delete it"},
	{"reserved character", "a text cannot start with this character; put it in double quotes"},
	{"cannot start any token", "a text cannot start with this character; put it in double quotes"},
	{"header option", "| or > opens a text of several lines and stands alone on its line; put a text that starts with it in double quotes"},
	{"multi-line content", "| or > opens a text of several lines, and none follows; put a text that starts with it in double quotes"},
	{"sequence entries", "a list entry (- ...) cannot stand here; put it on its own line, or the text in double quotes"},
	{"alias", "a text that starts with * must be in double quotes"},
	{"anchor", "a text that starts with & must be in double quotes"},
	{"tag is not", "a text that starts with ! must be in double quotes"},
	{"document separator", "--- divides two files; write one client, block or log a file"},
	{"value is not allowed in this context", "this line does not fit the lines above; check its indent"},
	{"non-map value", "a field name and a colon are expected here; check the indent and the colon"},
	{"implicit line break", "a field name is expected here; check the indent and the colon"},
	{"unexpected key name", "a field name and its colon stand on one line; check the line above"},
	{"unexpected", "this line does not fit the lines above; check its indent, colon and quotes"},
	{"", "this cannot be read; check the indent, colons and quotes of this line and the one above"},
}

// syntax records a parser error with a hint in plain words.
func (d *Doc) syntax(err error) {
	var ye yaml.Error
	if !errors.As(err, &ye) || ye.GetToken() == nil || ye.GetToken().Position == nil {
		d.add(Position{}, "syntax", "this cannot be read as YAML; look for an unclosed quote or bracket, or a wrong indent")
		return
	}
	text := ""
	for _, h := range hints {
		if strings.Contains(ye.GetMessage(), h.has) {
			text = h.say
			break
		}
	}
	p := ye.GetToken().Position
	if strings.Contains(ye.GetMessage(), "mapping value is not allowed") && !d.colonAfter(p.Line, p.Column) {
		text = "this text goes on in the next line, which is indented further and holds a colon; check the indent"
	}
	if q, ok := d.openQuote(p.Line - 1); ok {
		d.add(q, "syntax", "a quote opens here and is not closed on this line; close it, or put a text of several lines behind `|`")
		return
	}
	d.add(Position{max(p.Line, 1), max(p.Column, 1)}, "syntax", text)
}

// quoteOpens matches a value that starts with a double quote which its line does
// not close.
var quoteOpens = regexp.MustCompile(`^(?:\s*-)*\s*(?:[^"'#:]+:)?\s+"(?:[^"\\]|\\.)*$`)

// openQuote finds the first quote up to a line (inclusive) that stays open at its end. The
// parser runs on to the next quote, wherever that is, and complains there.
func (d *Doc) openQuote(line int) (Position, bool) {
	for i, text := range d.lines[:min(max(line, 0), len(d.lines))] {
		if quoteOpens.MatchString(text) {
			return Position{i + 1, utf8.RuneCountInString(text[:strings.IndexByte(text, '"')]) + 1}, true
		}
	}
	return Position{}, false
}

// colonAfter says whether a colon that makes a field stands in a line from a
// column on.
func (d *Doc) colonAfter(line, column int) bool {
	if line < 1 || line > len(d.lines) {
		return true
	}
	r := []rune(d.lines[line-1])
	rest := string(r[min(max(column-1, 0), len(r)):])
	return strings.Contains(rest, ": ") || strings.HasSuffix(rest, ":")
}

// top finds the one mapping of the file, counts its nodes and checks `form`.
func (d *Doc) top(f *ast.File) {
	var body ast.Node
	for _, doc := range f.Docs {
		if doc.Body == nil {
			continue
		}
		if body != nil {
			d.add(place(doc.Body), "two-documents", "a second document starts here; write one client, block or log a file")
			return
		}
		body = doc.Body
	}
	if body == nil {
		d.add(Position{}, "empty", "the file is empty; it should start with `form: 1`")
		return
	}
	d.anchors, d.targets = map[string]ast.Node{}, map[*ast.AliasNode]ast.Node{}
	if d.count(body, 0); len(d.problems) > 0 {
		return
	}
	fields, ok := d.fields(body)
	if !ok {
		d.add(place(body), "not-fields", "the file should be a list of fields, starting with `form: 1`")
		return
	}
	d.root = body
	d.version(fields)
}

// count walks the tree once, collects anchors and holds the limits.
func (d *Doc) count(n ast.Node, depth int) {
	if n == nil || len(d.problems) > 0 {
		return
	}
	d.nodes++
	switch {
	case depth > maxNesting:
		d.add(place(n), "too-deep", fmt.Sprintf("lists and fields are nested deeper than %d levels", maxNesting))
	case d.nodes > maxNodes:
		d.add(place(n), "too-large", fmt.Sprintf("the file holds more than %d values", maxNodes))
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		for _, v := range n.Values {
			d.count(v.Key, depth+1)
			d.count(v.Value, depth+1)
		}
	case *ast.MappingValueNode:
		d.count(n.Key, depth+1)
		d.count(n.Value, depth+1)
	case *ast.SequenceNode:
		for _, v := range n.Values {
			d.count(v, depth+1)
		}
	case *ast.AnchorNode:
		// an anchor holds from its end on, so that no value contains itself
		d.count(n.Value, depth+1)
		d.anchors[n.Name.GetToken().Value] = n.Value
	case *ast.AliasNode:
		d.alias(n)
	}
}

// alias ties an alias to the anchor above it.
func (d *Doc) alias(n *ast.AliasNode) {
	name := n.Value.GetToken().Value
	target, ok := d.anchors[name]
	if d.aliases++; d.aliases > maxAliases {
		d.add(place(n), "too-many-aliases", fmt.Sprintf("more than %d aliases (*name) stand in the file; write the values out", maxAliases))
		return
	}
	if !ok {
		d.add(place(n), "alias", fmt.Sprintf("*%s stands for nothing above; put a text that starts with * in double quotes", clip(name)))
		return
	}
	d.targets[n] = target
}

// version checks the form field before anything else, so that a newer file is
// not reported as a heap of unknown fields.
func (d *Doc) version(fields []*ast.MappingValueNode) {
	for _, f := range fields {
		if d.keyText(f.Key) != "form" {
			continue
		}
		n, ok := d.follow(f.Value).(*ast.IntegerNode)
		if !ok {
			d.add(place(f.Value), "form-version", "the form version is a whole number; write `form: 1`")
			return
		}
		if v := n.GetToken().Value; v != strconv.Itoa(Version) {
			d.add(place(n), "form-version", fmt.Sprintf("form %s is not known to this program, which reads form %d; a newer program may have written the file", clip(v), Version))
		}
		return
	}
	d.add(Position{1, 1}, "form-version", "the form version is missing; start the file with `form: 1`")
}
