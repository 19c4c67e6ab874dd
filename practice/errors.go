package practice

import (
	"errors"
	"fmt"
	"strings"

	"corbel/form"
)

// Reason says what kind of error the world made, so that a screen or a program
// can answer it.
type Reason string

// Reasons of errors.
const (
	NotFound  Reason = "not-found" // not there, or not for this account
	Forbidden Reason = "forbidden" // the role does not allow it
	Refused   Reason = "refused"   // what was written cannot be read
	Conflict  Reason = "conflict"  // somebody else changed the same field
	Stopped   Reason = "stopped"   // a stop stands
	Reused    Reason = "reused"    // the id of a change was used for another
	Nothing   Reason = "nothing"   // there is nothing to do
	TooMany   Reason = "too-many"  // too many tries
)

// An Error is what the world did wrong: what kind, where, and what to do.
type Error struct {
	Reason    Reason
	At        string // place in the document, such as sessions[a].slots[a1].dose
	Text      string // what is wrong and what to do
	Conflicts []Clash
	Stops     []string // what stands, for Stopped
}

// Error writes place and text.
func (e *Error) Error() string {
	if e.At == "" {
		return e.Text
	}
	return e.At + ": " + e.Text
}

// A Clash is a field that two people changed to different values.
type Clash struct {
	At     string `json:"at"`
	Was    string `json:"was"`    // what the change started from
	Mine   string `json:"mine"`   // what the change wants
	Theirs string `json:"theirs"` // what stands there now
}

// ReasonOf returns the reason of an error, or nothing for errors of another kind.
func ReasonOf(err error) Reason {
	var e *Error
	if errors.As(err, &e) {
		return e.Reason
	}
	return ""
}

func fail(r Reason, at, text string, args ...any) *Error {
	return &Error{Reason: r, At: at, Text: fmt.Sprintf(text, args...)}
}

// missing is the one answer for what is not there and what is not for this
// account, so that nobody learns which ids exist.
func missing(kind Kind) *Error {
	return fail(NotFound, "", "there is no such %s, or it is not one of yours", kind)
}

// refused turns the refusal of a form into an error with the place of its first
// problem and the texts of all.
func refused(err error) error {
	var r *form.Refusal
	if !errors.As(err, &r) || len(r.Problems) == 0 {
		return err
	}
	var texts []string
	for _, p := range r.Problems {
		text := p.Text
		if len(p.Near) > 0 {
			text += "; nearest: " + strings.Join(p.Near, ", ")
		}
		texts = append(texts, text)
	}
	return fail(Refused, r.Problems[0].Path, "%s", strings.Join(texts, "; "))
}
