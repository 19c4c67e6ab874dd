package plan

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"corbel/form"
)

// tokenKind is a kind of token of the shorthand.
type tokenKind int

const (
	tokEnd    tokenKind = iota
	tokNumber           // digits, at most one point
	tokWord             // letters, joined by hyphens or apostrophes inside
	tokTimes            // x, ×, *
	tokSign             // one of @ % , / : + - ( ) ; & .
)

// A token is a piece of the shorthand with its place.
type token struct {
	kind tokenKind
	text string // words in lower case
	at   int    // byte offset
	end  int
}

// maxDose bounds the length of a dose, in bytes.
const maxDose = 400

// signs are the characters that stand for themselves.
const signs = "@%,/:+-();&."

// scan cuts text into tokens; white space only separates. A character the
// shorthand does not know ends the scan with an error.
func scan(text string) ([]token, error) {
	if len(text) > maxDose {
		return nil, &DoseError{Text: text, At: 0, Msg: "this is longer than 400 bytes; put explanations into note"}
	}
	var toks []token
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		start := i
		switch {
		case unicode.IsSpace(r) || r == '\u00a0' || r == '\u202f':
			i += size
			continue
		case r >= '0' && r <= '9':
			i = numberEnd(text, i)
			toks = append(toks, token{tokNumber, text[start:i], start, i})
		case r == '×' || r == '*' || (r == 'x' || r == 'X') && timesHere(toks, text[i+1:]):
			i += size
			toks = append(toks, token{tokTimes, "x", start, i})
		case unicode.IsLetter(r):
			i = wordEnd(text, i)
			toks = append(toks, token{tokWord, strings.ToLower(text[start:i]), start, i})
		case r == '–' || r == '—' || r == '−' || r == '‑':
			i += size
			toks = append(toks, token{tokSign, "-", start, i})
		case strings.ContainsRune(signs, r):
			i += size
			toks = append(toks, token{tokSign, string(r), start, i})
		default:
			return nil, &DoseError{Text: text, At: i, Msg: "the character " + string(r) + " has no meaning here; leave it out, or put words into note"}
		}
	}
	return append(toks, token{tokEnd, "", len(text), len(text)}), nil
}

// timesHere says whether an x after toks and before rest multiplies: behind a
// number always, behind a word or % where it does not start a longer word.
func timesHere(toks []token, rest string) bool {
	if len(toks) == 0 {
		return false
	}
	last := toks[len(toks)-1]
	if last.kind != tokWord && last.text != "%" {
		return last.kind == tokNumber
	}
	return wordEnd("x"+rest, 0) == 1 || strings.HasPrefix(strings.ToLower(rest), "max")
}

// numberEnd returns where the number that starts at i ends.
func numberEnd(s string, i int) int {
	point := false
	for i < len(s) && (s[i] >= '0' && s[i] <= '9' || s[i] == '.' && !point && i+1 < len(s) && s[i+1] >= '0' && s[i+1] <= '9') {
		point = point || s[i] == '.'
		i++
	}
	return i
}

// wordEnd returns where the word that starts at i ends; marks over letters
// belong to it, and hyphens and apostrophes between letters.
func wordEnd(s string, i int) int {
	for i < len(s) {
		r, size := utf8.DecodeRuneInString(s[i:])
		if unicode.IsLetter(r) || unicode.IsMark(r) {
			i += size
			continue
		}
		next, _ := utf8.DecodeRuneInString(s[min(i+size, len(s)):])
		if (r == '-' || r == '\'' || r == '’') && unicode.IsLetter(next) {
			i += size
			continue
		}
		break
	}
	return i
}

// A DoseError says what is wrong with a dose or a log line, and where.
type DoseError struct {
	Text string   // the whole text
	At   int      // byte offset of the trouble
	Msg  string   // what is wrong and what to write
	near []string // nearest known words
}

// Error returns the message; the reader adds the place.
func (e *DoseError) Error() string { return e.Msg }

// Offset returns where in the text the trouble lies, in bytes.
func (e *DoseError) Offset() int { return e.At }

// Near returns the nearest known words.
func (e *DoseError) Near() []string { return e.near }

// keywords start a clause of the shorthand; they end a free name before them.
var keywords = []string{"rir", "rpe", "rest", "tempo", "measure", "warm-up", "weak", "left", "right", "in", "to", "each", "per", "reserve", "failure"}

// otherWords are known words that may stand inside a free name too.
var otherWords = []string{"max", "band", "pin", "level", "body weight", "kg", "lb", "side", "sec", "min", "m", "km", "ft", "yd", "reps"}

// near returns the nearest of the known words that are not w itself.
func near(w string, known []string) []string {
	return form.Near(w, slices.DeleteFunc(slices.Clone(known), func(k string) bool { return k == w }), 3)
}

// nearKeyword returns the nearest words for a mistyped one.
func nearKeyword(w string) []string {
	return near(w, slices.Concat(keywords, otherWords))
}
