package form

import (
	"fmt"
	"strings"
	"unicode/utf8"

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

// checkTokens refuses what the parser would take too long for or read wrong, and
// what is YAML but not in the form: tags, merge keys, directives, `? ` keys.
func (d *Doc) checkTokens(tokens token.Tokens) {
	var l tokenLimit
	bad, count, before := badEscapes(d.lines), 0, token.UnknownType
	for _, t := range tokens {
		at := Position{max(t.Position.Line, 1), max(t.Position.Column, 1)}
		// an escape belongs to the last token that starts above it
		for ; len(bad) > 0 && !at.above(bad[0]); bad = bad[1:] {
			if before == token.DoubleQuoteType {
				d.add(bad[0], "syntax", badEscape)
				return
			}
		}
		before = t.Type
		switch t.Type {
		case token.InvalidType:
			return // the parser says what is wrong here
		case token.CommentType:
			continue
		}
		if count++; count > maxTokens {
			d.add(at, "too-large", fmt.Sprintf("the file holds more than %d words and signs; split it", maxTokens))
			return
		}
		if code, text := l.next(t); code != "" {
			d.add(at, code, text)
			return
		}
	}
	if len(bad) > 0 && before == token.DoubleQuoteType {
		d.add(bad[0], "syntax", badEscape)
	}
}

const badEscape = "a backslash in double quotes starts a special character, and this one is not complete; write two backslashes for one"

// above says whether p stands above q, or before it in the same line.
func (p Position) above(q Position) bool {
	return p.Line < q.Line || p.Line == q.Line && p.Column < q.Column
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

// badEscapes lists where \x, \u and \U stand without their hexadecimal digits.
// In double quotes the parser would make up a character from what follows.
func badEscapes(lines []string) []Position {
	var bad []Position
	for i, line := range lines {
		for at := strings.IndexByte(line, '\\'); at >= 0 && at+1 < len(line); {
			if digits := escapeDigits[line[at+1]]; !hexadecimal(line[at+2:], digits) {
				bad = append(bad, Position{i + 1, utf8.RuneCountInString(line[:at]) + 1})
			}
			next := strings.IndexByte(line[at+2:], '\\')
			if next < 0 {
				break
			}
			at += 2 + next
		}
		if len(bad) > maxProblems {
			break
		}
	}
	return bad
}

// escapeDigits is how many digits follow the letter of an escape by number.
var escapeDigits = map[byte]int{'x': 2, 'u': 4, 'U': 8}

// hexadecimal says whether s begins with n hexadecimal digits.
func hexadecimal(s string, n int) bool {
	return len(s) >= n && strings.Trim(s[:n], "0123456789abcdefABCDEF") == ""
}
