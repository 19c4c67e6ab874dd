package practice

import (
	"context"
	"errors"
	"maps"
	"slices"
	"time"

	"corbel/client"
	"corbel/design"
	"corbel/evidence"
	"corbel/form"
	"corbel/plan"
	"corbel/sheet"
)

// A Begin says what a new block begins with.
type Begin struct {
	Name  string
	Start form.Date
	Weeks int
	From  string // design, last or days
	// what every session of days begins with; a session has at least one exercise
	Exercise, Dose string
}

// BeginBlock makes a new block: proposed by the program, as the last one stands, or
// with an empty session on each of the client's days.
func (p *Practice) BeginBlock(ctx context.Context, who *Account, owner string, in Begin, operation string) (Outcome, error) {
	c, err := p.Person(ctx, who, owner)
	if err != nil {
		return Outcome{}, err
	}
	if in.Start.IsZero() || in.Start.Time().Weekday() != time.Monday {
		return Outcome{}, fail(Refused, "start", "a block starts on a Monday; choose one")
	}
	if in.Weeks < 1 || in.Weeks > 12 {
		return Outcome{}, fail(Refused, "weeks", "a block has 1 to 12 weeks")
	}
	var b *plan.Block
	switch in.From {
	case "design":
		var proposal *design.Proposal
		if proposal, err = p.Propose(c, ProposalWish{Start: in.Start, Keep: len(c.Blocks) > 0, Next: true, Seed: 1}); err == nil {
			b = proposal.Block
		}
	case "last":
		if len(c.Blocks) == 0 {
			return Outcome{}, fail(Refused, "from", "there is no block yet to begin with")
		}
		b = c.Blocks[0].Clone()
		b.Changes, b.Kept, b.Deload = nil, nil, nil
	case "days":
		b, err = p.onDays(c.Client, in)
	default:
		return Outcome{}, fail(Refused, "from", "choose what the block begins with")
	}
	if err != nil {
		return Outcome{}, err
	}
	b.Start, b.Weeks = in.Start, in.Weeks
	if b.Deload != nil && b.Deload.Week > b.Weeks {
		b.Deload = nil
	}
	for i := range b.Sessions {
		for j := range b.Sessions[i].Slots {
			maps.DeleteFunc(b.Sessions[i].Slots[j].Weeks, func(w int, _ plan.Dose) bool { return w > b.Weeks })
		}
	}
	if in.Name != "" {
		b.Name = in.Name
	}
	return p.MakeBlock(ctx, who, owner, b, operation)
}

// onDays is a block with a session on each of the client's days, which begins with one
// exercise.
func (p *Practice) onDays(c *client.Client, in Begin) (*plan.Block, error) {
	id, near := p.Library.Name(in.Exercise)
	if id == "" {
		return nil, noExercise(in.Exercise, near)
	}
	dose, err := plan.ParseDose(in.Dose)
	if err != nil {
		return nil, &Error{Reason: Refused, At: "dose", Text: err.Error()}
	}
	if len(c.Days) == 0 {
		return nil, fail(Refused, "days", "the client file names no days to train on; add them first")
	}
	b := &plan.Block{Form: form.Version, Name: in.Start.String()}
	for i, d := range c.Days {
		letter := string(rune('a' + i))
		b.Sessions = append(b.Sessions, plan.Session{ID: form.ID(letter), Name: d.Day.In(c.Language), Day: d.Day, Place: d.Place, Minutes: d.Minutes,
			Slots: []plan.Slot{{ID: form.ID(letter + "1"), Exercise: id, Dose: dose}}})
	}
	return b, nil
}

// A ProposalWish says how a block is to be proposed.
type ProposalWish struct {
	Start form.Date // a Monday
	Keep  bool      // exercises of the newest block stay where they are worth it
	Few   bool      // and as little changes as can be
	Next  bool      // with Keep: the block follows it, and accessories take turns within their families
	Seed  uint64
}

// Propose proposes a block for a client from aims, limits, days and locks; nothing is
// stored. The error says where a stop stands that no choice of exercises avoids.
func (p *Practice) Propose(c *Person, w ProposalWish) (*design.Proposal, error) {
	if w.Start.IsZero() || w.Start.Time().Weekday() != time.Monday {
		return nil, fail(Refused, "start", "a block starts on a Monday; choose one")
	}
	in := design.Wish{Client: c.Client, Library: p.Library, Shares: p.shares(c.Client, &plan.Block{Start: w.Start}), Start: w.Start, Few: w.Keep && w.Few,
		Moves: design.NormalMoves, Seed: w.Seed, Draws: Draws,
		Caps: evidence.CapsOf(evidence.Input{Client: c.Client, Library: p.Library, Day: w.Start, Language: c.Client.Language})}
	if w.Keep && len(c.Blocks) > 0 {
		in.Keep, in.Next = c.Blocks[0], w.Next
	}
	out, err := design.Propose(in)
	var none *design.NoDesign
	if errors.As(err, &none) {
		return nil, fail(Refused, "", "%s", none.Why)
	}
	if err != nil {
		return nil, &Error{Reason: Refused, Text: err.Error()}
	}
	return out, nil
}

// Accept stores a proposed block as a new draft, without the slots that are left out.
// It is proposed again from the same wish, which gives the same block.
func (p *Practice) Accept(ctx context.Context, who *Account, owner string, w ProposalWish, left []string, name, operation string) (Outcome, error) {
	c, err := p.Person(ctx, who, owner)
	if err != nil {
		return Outcome{}, err
	}
	out, err := p.Propose(c, w)
	if err != nil {
		return Outcome{}, err
	}
	b := out.Block.Clone()
	for _, id := range left {
		if !b.Remove(form.ID(id)) {
			return Outcome{}, fail(Refused, id, "a session needs an exercise; leave one in, or take the session out later")
		}
	}
	if name != "" {
		b.Name = name
	}
	return p.MakeBlock(ctx, who, owner, b, operation)
}

// TakeWorkbook reads results typed into a workbook of ours and records what is new.
// It returns how many sets were taken in, and the cells that could not be read.
func (p *Practice) TakeWorkbook(ctx context.Context, who *Account, block string, data []byte, operation string) (sets int, unread []sheet.Unread, err error) {
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return 0, nil, err
	}
	log := c.Log
	if log == nil {
		log = &plan.Log{Form: form.Version, Client: form.ID(c.Doc.Owner)}
	}
	day := func(b, session form.ID, week int) form.Date {
		i := slices.IndexFunc(c.Block.Sessions, func(s plan.Session) bool { return s.ID == session })
		if b != c.Block.ID || i < 0 {
			return form.Date{}
		}
		return c.Block.Date(&c.Block.Sessions[i], week)
	}
	entries, unread, err := sheet.ReadRecord("workbook", data, log, day)
	if err != nil {
		return 0, nil, &Error{Reason: Refused, At: "workbook", Text: err.Error()}
	}
	if len(entries) == 0 {
		return 0, unread, nil
	}
	for i := range entries {
		sets += len(entries[i].Sets)
	}
	_, err = p.record(ctx, who, c.Doc.Owner, "took in a workbook", operation, func(l *plan.Log) {
		for _, e := range entries {
			mergeEntry(l, e)
		}
	})
	if err != nil {
		return 0, unread, err
	}
	return sets, unread, nil
}

// mergeEntry adds what an entry brings to the entry of the same session and day, or as one of
// its own. What was recorded before stays.
func mergeEntry(l *plan.Log, e plan.Entry) {
	i := slices.IndexFunc(l.Entries, e.SameSession)
	if i < 0 {
		l.Entries = append(l.Entries, e)
		return
	}
	old := &l.Entries[i]
	for j := range e.Sets {
		key := e.Key(&e.Sets[j])
		if !slices.ContainsFunc(old.Sets, func(s plan.SetLog) bool { return old.Key(&s) == key }) {
			old.Sets = append(old.Sets, e.Sets[j])
		}
	}
	if old.Note == "" {
		old.Note = e.Note
	}
}
