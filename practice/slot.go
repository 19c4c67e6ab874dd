package practice

import (
	"context"
	"slices"
	"strings"

	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// SlotFields are the fields of a slot that a board sets beside its dose; the empty
// text takes one away.
type SlotFields struct {
	Rest, Tempo, Measure, Superset, Note, Private string
}

// SetSlot sets fields of a slot as one change. What the form does not allow is refused
// with its place.
func (p *Practice) SetSlot(ctx context.Context, who *Account, block, slot string, f SlotFields, id string) (Outcome, error) {
	return p.Edit(ctx, who, block, "set fields of an exercise", id, func(b *plan.Block) error {
		_, s := b.SlotByID(form.ID(slot))
		if s == nil {
			return fail(Conflict, slot, "somebody took this exercise out of the block meanwhile; reload the page")
		}
		rest := unit.Duration{}
		if text := strings.TrimSpace(f.Rest); text != "" {
			var err error
			if rest, err = unit.ParseDuration(text); err != nil {
				return &Error{Reason: Refused, At: "rest", Text: err.Error()}
			}
		}
		s.SetRest(rest)
		s.Tempo, s.Measure, s.Superset = strings.TrimSpace(f.Tempo), strings.TrimSpace(f.Measure), strings.TrimSpace(f.Superset)
		s.Note, s.Private = strings.TrimSpace(f.Note), strings.TrimSpace(f.Private)
		return p.readable(b)
	})
}

// readable reads a block that was set by hand by the rules of its form.
func (p *Practice) readable(b *plan.Block) error {
	_, err := plan.ReadBlock("block", form.Write(b), p.Library.Name)
	return refused(err)
}

// MoveTo moves a slot to the end of another session as one change.
func (p *Practice) MoveTo(ctx context.Context, who *Account, block, slot, session, id string) (Outcome, error) {
	return p.Edit(ctx, who, block, "moved an exercise to another session", id, func(b *plan.Block) error {
		from, s := b.SlotByID(form.ID(slot))
		to := slices.IndexFunc(b.Sessions, func(x plan.Session) bool { return string(x.ID) == session })
		switch {
		case s == nil:
			return fail(Conflict, slot, "somebody took this exercise out of the block meanwhile; reload the page")
		case to < 0:
			return fail(Refused, "session", "there is no session %q in this block", session)
		case string(from.ID) == session:
			return fail(Refused, "session", "it stands in that session already")
		case len(from.Slots) == 1:
			return fail(Refused, "session", "a session needs an exercise, and this is its last")
		}
		moved := *s
		moved.Superset = "" // it was done in turn with what stays behind
		from.Slots = slices.DeleteFunc(from.Slots, func(x plan.Slot) bool { return x.ID == moved.ID })
		b.Sessions[to].Slots = append(b.Sessions[to].Slots, moved)
		return p.readable(b)
	})
}

// A Past is a change of a document, for people.
type Past struct {
	Operation
	Name string // of who made it
}

// History lists the changes of a document, newest first.
func (p *Practice) History(ctx context.Context, who *Account, kind Kind, id string) (out []Past, err error) {
	err = p.Store.View(ctx, func(r Reader) error {
		out = nil
		if _, err := p.visible(r, who, kind, id); err != nil {
			return err
		}
		ops, err := r.Operations(kind, id)
		if err != nil {
			return err
		}
		names := map[string]string{}
		accounts, err := r.Accounts()
		for _, a := range accounts {
			names[a.ID] = a.Name
		}
		for _, o := range slices.Backward(ops) {
			out = append(out, Past{o, names[o.Author]})
		}
		return err
	})
	return out, err
}
