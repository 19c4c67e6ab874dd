package form

import (
	"fmt"

	"github.com/goccy/go-yaml/token"
)

// maxTokens bounds the words and signs of a file. The YAML parser copies its
// tokens for every empty value; this keeps that below a second.
const maxTokens = 100_000

// A tokenLimit holds the tokens of a file to the limits before the parser, which
// recurses and copies, sees them.
type tokenLimit struct {
	flow   int      // open [ and {
	dashes int      // list entries begun on this line
	line   int      // line of the token before
	levels []fields // fields of the open levels, by column
	marks  int      // anchors and aliases
}

// fields counts the fields that stand side by side at a column.
type fields struct{ column, count int }

// checkTokens refuses what the parser would take too long for, and what is YAML
// but not in the form: tags, merge keys, directives, `? ` keys.
func (d *Doc) checkTokens(tokens token.Tokens) {
	var l tokenLimit
	for i, t := range tokens {
		if t.Type == token.InvalidType {
			return // the parser says what is wrong here
		}
		at := Position{max(t.Position.Line, 1), max(t.Position.Column, 1)}
		if i >= maxTokens {
			d.add(at, "too-large", fmt.Sprintf("the file holds more than %d words and signs; split it", maxTokens))
			return
		}
		if code, text := l.next(t); code != "" {
			d.add(at, code, text)
			return
		}
	}
}

// next takes one token and returns a code and what is wrong, or nothing.
func (l *tokenLimit) next(t *token.Token) (code, text string) {
	if t.Position.Line != l.line {
		l.line, l.dashes = t.Position.Line, 0
	}
	switch t.Type {
	case token.TagType:
		return "tag", "a text that starts with ! stands here; put it in double quotes"
	case token.MergeKeyType:
		return "merge", "merge keys (<<) are not read; write the fields out"
	case token.DirectiveType:
		return "syntax", "a text that starts with % stands here; put it in double quotes"
	case token.MappingKeyType:
		return "syntax", "a question mark and a space stand at the start of this text; put it in double quotes"
	case token.AnchorType, token.AliasType:
		if l.marks++; l.marks > 2*maxAliases {
			return "too-many-aliases", fmt.Sprintf("more than %d anchors and aliases (&name, *name) stand in the file; write the values out", 2*maxAliases)
		}
	case token.SequenceStartType, token.MappingStartType:
		l.flow++
	case token.SequenceEndType, token.MappingEndType:
		l.flow = max(l.flow-1, 0)
	case token.SequenceEntryType:
		l.dashes++
		l.leave(t.Position.Column)
	case token.MappingValueType:
		if l.flow == 0 && t.Prev != nil && l.field(t.Prev.Position.Column) > maxList {
			return "too-large", fmt.Sprintf("more than %d fields stand side by side here; split the file", maxList)
		}
	}
	if l.flow > maxNesting || l.dashes > maxNesting {
		return "too-deep", fmt.Sprintf("lists and fields are nested deeper than %d levels", maxNesting)
	}
	return "", ""
}

// leave closes the levels to the right of a column.
func (l *tokenLimit) leave(column int) {
	for n := len(l.levels); n > 0 && l.levels[n-1].column > column; n-- {
		l.levels = l.levels[:n-1]
	}
}

// field counts a field at a column and returns how many stand there by now.
func (l *tokenLimit) field(column int) int {
	l.leave(column)
	if n := len(l.levels); n == 0 || l.levels[n-1].column < column {
		l.levels = append(l.levels, fields{column: column})
	}
	top := &l.levels[len(l.levels)-1]
	top.count++
	return top.count
}
