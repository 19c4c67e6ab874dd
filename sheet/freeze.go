package sheet

import (
	"crypto/sha256"
	"encoding/base32"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"corbel/check"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// A Frozen revision is a block as it was handed over: with the client's measures
// of that day, the texts of its exercises and the results that were shown.
// Opening it shows those; nothing is computed again.
type Frozen struct {
	Form      int               `json:"form"`
	Code      string            `json:"code"` // short code, on every page
	On        string            `json:"handed_over"`
	Block     string            `json:"block"`     // block file as handed over, private notes left out
	Client    string            `json:"client"`    // client file of that day, private notes left out
	Exercises map[string]string `json:"exercises"` // library entries by id
	Report    *check.Report     `json:"report"`
}

// Freeze freezes a block for its client. The code is made of everything that is
// frozen, so that a changed letter changes it.
func Freeze(b *plan.Block, c *client.Client, lib *exercise.Library, r *check.Report, on form.Date) (*Frozen, error) {
	block, who := b.Clone(), *c
	block.Private, who.Private = "", ""
	for i := range block.Sessions {
		for j := range block.Sessions[i].Slots {
			block.Sessions[i].Slots[j].Private = ""
		}
	}
	f := &Frozen{Form: form.Version, On: on.String(), Block: string(form.Write(block)), Client: string(form.Write(&who)), Exercises: map[string]string{}, Report: r}
	for _, s := range b.Sessions {
		for _, slot := range s.Slots {
			f.Exercises[slot.Exercise] = string(form.Write(lib.ByID(slot.Exercise)))
		}
	}
	for _, ch := range b.Changes {
		if ch.Exercise != "" {
			f.Exercises[ch.Exercise] = string(form.Write(lib.ByID(ch.Exercise)))
		}
	}
	report, err := json.Marshal(r)
	if err != nil {
		return nil, fmt.Errorf("freeze: %w", err)
	}
	h := sha256.New()
	fmt.Fprintf(h, "%s\x00%s\x00%s\x00", f.Block, f.Client, report)
	for _, id := range slices.Sorted(maps.Keys(f.Exercises)) {
		fmt.Fprintf(h, "%s\x00", f.Exercises[id])
	}
	f.Code = fmt.Sprintf("R%d-%s", b.Revision, codeLetters.EncodeToString(h.Sum(nil))[:6])
	return f, nil
}

// codeLetters leave out letters that are misread on paper: I, L, O, U.
var codeLetters = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)

// Write writes the frozen revision as JSON.
func (f *Frozen) Write() ([]byte, error) {
	b, err := json.MarshalIndent(f, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write frozen revision: %w", err)
	}
	return append(b, '\n'), nil
}
