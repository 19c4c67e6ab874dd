package form

import (
	"fmt"
	"strings"
)

// A Problem is one thing wrong with a file.
type Problem struct {
	File         string
	Line, Column int      // from 1; 0 where the file as a whole is meant
	Path         string   // field path such as sessions[0].slots[2].dose
	Code         string   // for machines, such as unknown-field
	Text         string   // what is wrong and what to write
	Near         []string // nearest known names, best first
	Excerpt      string   // the line of the file
}

// String writes the problem over one to three lines: place and text, the line
// with a caret under the column, the nearest names.
func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
	}
	b.WriteString(": " + p.Text)
	if len(p.Near) > 0 {
		b.WriteString("; nearest: " + strings.Join(p.Near, ", "))
	}
	if p.Line > 0 && p.Excerpt != "" {
		line, caret := excerpt(p.Excerpt, p.Column)
		number := fmt.Sprintf("%5d | ", p.Line)
		fmt.Fprintf(&b, "\n%s%s\n%s%s^", number, line, strings.Repeat(" ", len(number)), strings.Repeat(" ", caret))
	}
	return b.String()
}

// excerptWidth is how much of a long line is shown, in characters.
const excerptWidth = 72

// excerpt cuts a long line around column and returns where the caret goes.
func excerpt(line string, column int) (string, int) {
	r := []rune(strings.ReplaceAll(line, "\t", " "))
	at := min(max(column-1, 0), len(r))
	from := 0
	if at > excerptWidth-10 {
		from = at - excerptWidth/2
	}
	to := min(len(r), from+excerptWidth)
	return string(r[from:to]), at - from
}

// maxShown is how many problems of one file are listed; the rest is counted.
const maxShown = 20

// A Refusal is the error of a file that cannot be read. It lists its problems
// in the order of the file.
type Refusal struct {
	File     string
	Problems []Problem
}

// Error lists the problems, at most 20, a blank line between them.
func (r *Refusal) Error() string {
	var b strings.Builder
	for i, p := range r.Problems {
		if i == maxShown {
			fmt.Fprintf(&b, "\n\nand %d more in %s", len(r.Problems)-maxShown, r.File)
			break
		}
		if i > 0 {
			b.WriteString("\n\n")
		}
		b.WriteString(p.String())
	}
	return b.String()
}
