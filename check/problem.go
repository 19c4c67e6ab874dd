// Package check judges a block against its client: safety first, then (as the
// later stages are built) reasons, links, aims, caps, spacing and minutes. Out
// comes a report of problems, each with a place, what was measured, what is
// allowed, why, and ways out.
//
// A poor plan is an ordinary result, not an error. It never diagnoses.
package check

import (
	"cmp"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
)

// Severity is how hard a problem weighs.
type Severity string

// Severities, worst first.
const (
	Stop   Severity = "stop"   // nothing may be handed over
	Settle Severity = "settle" // to be settled before hand-over
	Note   Severity = "note"   // to be known
)

// rank orders severities, worst first.
func (s Severity) rank() int { return slices.Index([]Severity{Stop, Settle, Note}, s) }

// In returns the word for the severity in l.
func (s Severity) In(l form.Language) string {
	if l == form.German {
		return map[Severity]string{Stop: "Halt", Settle: "zu klären", Note: "Hinweis"}[s]
	}
	return map[Severity]string{Stop: "stop", Settle: "to settle", Note: "note"}[s]
}

// Code names a kind of problem, for machines.
type Code string

// At says where a problem lies. Empty fields mean the whole.
type At struct {
	Week    int    `json:"week,omitempty"`
	Session string `json:"session,omitempty"`
	Slot    string `json:"slot,omitempty"`
	Set     int    `json:"set,omitempty"`
}

// A Problem is one thing to know, settle or stop for.
type Problem struct {
	ID       string            `json:"id"`       // hash of code and place
	Code     Code              `json:"code"`     // see docs/json/check.md
	Severity Severity          `json:"severity"` // stop, settle, note
	At       At                `json:"at"`
	Args     map[string]string `json:"args,omitempty"`
	Text     string            `json:"text"`           // what is wrong, in the report's language
	Got      *float64          `json:"got"`            // measured
	Allowed  *float64          `json:"allowed"`        // allowed
	Unit     string            `json:"unit,omitempty"` // of both
	Why      string            `json:"why,omitempty"`  // the rule, finding or source behind it
	Fixes    []Fix             `json:"fixes"`
	Kept     string            `json:"kept,omitempty"` // the coach's sentence, where it was kept

	unkeepable bool    // a practitioner's restriction or an emergency sign
	harm       float64 // how bad it is, to compare before and after a fix and to order by
}

// A Fix is a way out of a problem. Its id is the problem's, a point and a number.
type Fix struct {
	ID   string `json:"id"`
	Text string `json:"text"`

	apply func(*plan.Block) bool // changes a clone; false where it does not fit
}

// Keepable says whether the coach may keep the problem, with a sentence.
func (p Problem) Keepable() bool { return !p.unkeepable && p.Kept == "" }

// Blocks says whether the problem keeps the block from being handed over: a
// stop that the coach has not kept with a written reason.
func (p Problem) Blocks() bool { return p.Severity == Stop && p.Kept == "" }

//go:embed messages.yaml
var messagesYAML []byte

// A message is the wording of one code.
type message struct {
	Text form.Text `form:"text,required" doc:"what is wrong, with {arguments}"`
	Why  form.Text `form:"why" doc:"the rule behind it"`
}

// wording is the shipped wording of every code.
var wording = func() map[string]message {
	var m struct {
		Form  int                `form:"form,required" doc:"version"`
		Codes map[string]message `form:"codes,required" doc:"wording by code"`
	}
	d, err := form.Open("messages.yaml", messagesYAML)
	if err != nil {
		panic(err)
	}
	d.Fill("the messages", &m)
	if err := d.Err(); err != nil {
		panic(err)
	}
	return m.Codes
}()

// newProblem builds a problem with its wording in l. about tells problems of the
// same code and place apart (a question, a restriction). It panics on a code
// without wording.
func newProblem(l form.Language, code Code, s Severity, at At, about string, args map[string]string) Problem {
	m, ok := wording[string(code)]
	if !ok {
		panic("check: no wording for " + string(code))
	}
	if about != "" {
		args["about"] = about
	}
	return Problem{
		ID: problemID(code, at, about), Code: code, Severity: s, At: at, Args: args,
		Text: fillIn(m.Text.In(l), args), Why: fillIn(m.Why.In(l), args), Fixes: []Fix{},
	}
}

// problemID hashes code, place and what it is about into eight hexadecimal
// digits: the same problem keeps its id from run to run.
func problemID(code Code, at At, about string) string {
	h := sha256.Sum256(fmt.Appendf(nil, "%s|%d|%s|%s|%d|%s", code, at.Week, at.Session, at.Slot, at.Set, about))
	return hex.EncodeToString(h[:4])
}

// fillIn puts arguments into {names}; {name|one|many} becomes one where the
// argument is 1, else many. What is no argument stays as it is.
func fillIn(text string, args map[string]string) string {
	var out strings.Builder
	for {
		before, rest, ok := strings.Cut(text, "{")
		out.WriteString(before)
		if !ok {
			return out.String()
		}
		name, after, _ := strings.Cut(rest, "}")
		name, choice, either := strings.Cut(name, "|")
		value, known := args[name]
		switch one, many, _ := strings.Cut(choice, "|"); {
		case either && value == "1":
			out.WriteString(one)
		case either:
			out.WriteString(many)
		case known:
			out.WriteString(value)
		default:
			out.WriteString("{" + name + "}")
		}
		text = after
	}
}

// keep marks the problems the coach decided to live with on day; a decision taken
// after it is on record now and counts. A problem that may not be kept stays as it
// is (S24).
func keep(problems []Problem, kept []client.Kept, day form.Date) {
	for i := range problems {
		p := &problems[i]
		for _, k := range kept {
			if p.unkeepable || k.Code != string(p.Code) || !k.Holds(later(day, k.On)) ||
				k.Scope == client.KeptSlot && (k.At == "" || k.At != p.At.Slot) ||
				k.About != "" && k.About != p.Args["about"] {
				continue
			}
			p.Kept = k.Why
		}
	}
}

// later returns the later of two days.
func later(a, b form.Date) form.Date {
	if a.Before(b) {
		return b
	}
	return a
}

// order sorts problems by severity, kept ones last within it, then by harm. The sort is stable, so rules keep their own order.
func order(problems []Problem) {
	slices.SortStableFunc(problems, func(a, b Problem) int {
		return cmp.Or(
			cmp.Compare(a.Severity.rank(), b.Severity.rank()),
			cmp.Compare(len(a.Kept), 0)-cmp.Compare(len(b.Kept), 0),
			cmp.Compare(b.harm, a.harm),
		)
	})
}
