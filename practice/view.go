package practice

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
)

// Value returns a text as it stands in a document as the value of a field; the
// empty text is a field that is not there.
func Value(text string) string {
	if text == "" {
		return ""
	}
	line := string(form.Write(&struct {
		V string `form:"v" doc:"a value"`
	}{text}))
	return strings.TrimSuffix(strings.TrimPrefix(line, "v: "), "\n")
}

// A ClientRow is a client in the list of clients.
type ClientRow struct {
	ID, Name string
	Group    string // of a member: id of the group they follow
	Block    string // name of the newest block, by its start; empty for none
	BlockID  string
	State    plan.State
	Ends     form.Date
	LastDone form.Date // day of the last session recorded
	Open     int       // safety questions and clearance still to be asked
	Stops    int       // problems that stop the newest block
	Settle   int
	Retest   bool   // a limit was not tested for long
	Paused   bool   // a pause holds today
	Needs    []Need // what needs the coach, most pressing first
	Waits    bool   // the block is being checked; ask again in a moment
}

// cases returns the blocks a client or member trains by.
func (p *Practice) cases(ctx context.Context, who *Account, d *Doc) (out []*Case, err error) {
	err = p.Store.View(ctx, func(r Reader) error {
		out = nil
		owner, member, err := p.follows(r, d.ID)
		if err != nil {
			return err
		}
		blocks, err := r.Docs(BlockDoc, owner)
		if err != nil {
			return err
		}
		for _, b := range blocks {
			var c *Case
			if member {
				c, err = p.openFor(r, who, b.ID, d.ID)
			} else {
				c, err = p.open(r, who, b.ID)
			}
			if err != nil {
				return err
			}
			out = append(out, c)
		}
		return nil
	})
	return out, err
}

// clientRow says what the list shows of a client, and whether nothing of it waits for
// the background.
func (p *Practice) clientRow(ctx context.Context, who *Account, h *heads, d Doc, l form.Language) (row ClientRow, settled bool, err error) {
	row = ClientRow{ID: d.ID, Name: d.Name}
	cases, err := p.cases(ctx, who, &d)
	if err != nil {
		return row, false, err
	}
	if d.Kind == MemberDoc {
		m, err := p.Doc(ctx, who, MemberDoc, d.ID)
		if err != nil {
			return row, false, err
		}
		row.Group = groupOf(m)
	}
	n := needs{row: &row, today: p.today(), l: l}
	if len(cases) == 0 {
		n.say(noBlock, "/clients/"+d.ID+"/propose", "no block yet", "noch kein Block")
		return row, true, nil
	}
	var newest *Case
	for _, c := range cases {
		if newest == nil || newest.Block.Start.Before(c.Block.Start) {
			newest = c
		}
	}
	row.Block, row.BlockID, row.State, row.Ends = newest.Block.Name, newest.Doc.ID, newest.Block.State, newest.Block.End()
	if newest.Log != nil {
		for _, e := range newest.Log.Entries {
			if row.LastDone.Before(e.On) {
				row.LastDone = e.On
			}
		}
	}
	open := check.Ask(newest.Client, p.today())
	row.Open = len(open.Clearance)
	for _, g := range open.Groups {
		row.Open += len(g.Questions)
	}
	row.Retest, row.Paused = retestDue(newest, p.today()), paused(newest.Block, p.today())
	counted, known := p.counts(newest)
	row.Stops, row.Settle, row.Waits = counted.stops, counted.settle, !known
	n.ofCase(newest)
	e, current := p.knownEvidence(ctx, who, d.ID, l, h.versions(p, d.ID, row.Group))
	n.ofEvidence(e)
	slices.SortStableFunc(row.Needs, func(a, b Need) int { return b.rank - a.rank })
	return row, known && current, nil
}

// endsSoon is how long before its end a block asks for the next, days (our
// judgement).
const endsSoon = 8

// retestAfter is how long a limit is worked on before it is tested again: a block of
// four weeks and two more, days (our judgement; key judgement).
const retestAfter = 42

// retestDue says whether a limit was neither found nor tested for retestAfter days.
func retestDue(c *Case, today form.Date) bool {
	var last form.Date
	for _, l := range c.Client.Limits {
		if last.Before(l.On) {
			last = l.On
		}
	}
	if last.IsZero() {
		return false
	}
	if c.Log != nil {
		for _, e := range c.Log.Entries {
			if len(e.Tests) > 0 && last.Before(e.On) {
				last = e.On
			}
		}
	}
	return today.Days(last) > retestAfter
}

// paused says whether a pause holds today.
func paused(b *plan.Block, today form.Date) bool {
	return slices.ContainsFunc(b.Changes, func(c plan.Change) bool {
		return c.Do == "pause" && !today.Before(c.On) && (c.Until.IsZero() || !c.Until.Before(today))
	})
}

// A checkedCase is how many problems a case had, by the day and the texts it was made of.
type checkedCase struct {
	of            string
	stops, settle int
}

// counts returns how many problems of a case stop and are to be settled; what was
// counted once is kept by block until a text or the day changes. Where there is a
// background, a case that is not known yet is counted there.
func (p *Practice) counts(c *Case) (found checkedCase, known bool) {
	of := p.madeOf(c)
	key := c.Doc.ID + " " + c.Member
	if v, ok := p.counted.Load(key); ok && v.(checkedCase).of == of {
		return v.(checkedCase), true
	}
	count := func() {
		r := p.Check(c, form.English)
		p.counted.Store(key, checkedCase{of, r.Count(check.Stop), r.Count(check.Settle)})
	}
	if p.later("count "+key, count) {
		return checkedCase{}, false
	}
	count()
	v, _ := p.counted.Load(key)
	return v.(checkedCase), true
}

// A Person is a client with what a page shows of them.
type Person struct {
	Doc     Doc
	Client  *client.Client
	Group   string        // of a member: id of the group they follow
	Blocks  []*plan.Block // newest first
	Log     *plan.Log     // nil where nothing was recorded
	Open    check.Open
	Frozen  []Frozen
	Account *Account
}

// Person returns a client with blocks, log and open questions.
func (p *Practice) Person(ctx context.Context, who *Account, id string) (*Person, error) {
	out := &Person{Account: who}
	err := p.Store.View(ctx, func(r Reader) error {
		doc, err := p.person(r, who, id)
		if err != nil {
			return err
		}
		out.Doc, out.Blocks, out.Frozen = *doc, nil, nil
		if out.Client, err = p.trainee(r, id); err != nil {
			return err
		}
		owner, member, err := p.follows(r, id)
		if err != nil {
			return err
		}
		if out.Group = ""; member {
			out.Group = owner
		}
		blocks, err := r.Docs(BlockDoc, owner)
		if err != nil {
			return err
		}
		for _, d := range blocks {
			b, err := plan.ReadBlock("block", []byte(d.Text), p.Library.Name)
			if err != nil {
				return err
			}
			frozen, err := r.FrozenOf(d.ID)
			if err != nil {
				return err
			}
			frozen = slices.DeleteFunc(frozen, func(f Frozen) bool { return f.Owner != id })
			out.Blocks, out.Frozen = append(out.Blocks, b), append(out.Frozen, frozen...)
		}
		log, err := r.Doc(LogDoc, id)
		if err == nil {
			out.Log, err = plan.ReadLog("log", []byte(log.Text), p.Library.Name)
		}
		if !errors.Is(err, ErrNone) {
			return err
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(out.Blocks, func(a, b *plan.Block) int { return b.Start.Days(a.Start) })
	out.Open = check.Ask(out.Client, p.today())
	return out, nil
}

// A Cell is a dose of one week in the table of a block.
type Cell struct {
	Week  int
	Field string // dose, or weeks.3
	Typed string // what is written; empty where the week follows from others
	Comes string // what the week comes to
}

// A TableRow is a slot in the table of a block.
type TableRow struct {
	Slot, Exercise, Name, Rest string
	Cells                      []Cell
	First, Last                bool
}

// A TableSession is a session in the table of a block.
type TableSession struct {
	Session *plan.Session
	Rows    []TableRow
}

// Table lays a block out as slots by weeks, in a language.
func (p *Practice) Table(c *Case, l form.Language) []TableSession {
	var out []TableSession
	for i := range c.Block.Sessions {
		s := &c.Block.Sessions[i]
		t := TableSession{Session: s}
		for j := range s.Slots {
			slot := &s.Slots[j]
			row := TableRow{Slot: string(slot.ID), Exercise: slot.Exercise, Name: p.ExerciseName(slot.Exercise, l), Rest: slot.Rest.String(), First: j == 0, Last: j == len(s.Slots)-1}
			for w := 1; w <= c.Block.Weeks; w++ {
				cell := Cell{Week: w, Field: fmt.Sprintf("weeks.%d", w), Comes: c.Block.DoseIn(slot, w).WithoutClauses().Canonical()}
				if d, ok := slot.Weeks[w]; ok {
					cell.Typed = d.String()
				}
				if w == 1 {
					cell.Field, cell.Typed = "dose", slot.Dose.String()
				}
				row.Cells = append(row.Cells, cell)
			}
			t.Rows = append(t.Rows, row)
		}
		out = append(out, t)
	}
	return out
}

// ExerciseName returns the name of an exercise in a language.
func (p *Practice) ExerciseName(id string, l form.Language) string {
	if e := p.Library.ByID(id); e != nil {
		return e.Name.In(l)
	}
	return id
}

// A CellEdit is a field of a slot that was typed over, as texts.
type CellEdit struct {
	Slot  string `json:"slot"`
	Field string `json:"field"` // dose, weeks.N or rest
	Was   string `json:"was"`
	To    string `json:"to"`
}

// Type changes cells of a block's table as one change.
func (p *Practice) Type(ctx context.Context, who *Account, block, id string, base int, cells []CellEdit) (Outcome, error) {
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return Outcome{}, err
	}
	change := Change{ID: id, Kind: BlockDoc, Doc: block, Base: base, What: "typed doses"}
	for _, e := range cells {
		s, slot := c.Block.SlotByID(form.ID(e.Slot))
		if slot == nil {
			return Outcome{}, fail(Conflict, e.Slot, "somebody took this exercise out of the block meanwhile; reload the page")
		}
		var week int
		if _, err := fmt.Sscanf(e.Field, "weeks.%d", &week); err != nil && e.Field != "dose" && e.Field != "rest" {
			return Outcome{}, fail(Refused, e.Field, "there is no such field in the table")
		}
		if e.Field != "rest" && e.To != "" {
			if _, err := plan.ParseDose(e.To); err != nil {
				return Outcome{}, &Error{Reason: Refused, At: e.Slot + " " + e.Field, Text: err.Error()}
			}
		}
		at := fmt.Sprintf("sessions[%s].slots[%s].%s", s.ID, slot.ID, e.Field)
		change.Edits = append(change.Edits, Edit{At: at, Was: Value(e.Was), To: Value(strings.TrimSpace(e.To))})
	}
	return p.Do(ctx, who, change)
}

// A SetRow is one set of a session to be recorded.
type SetRow struct {
	Slot, Name string
	Set        int
	Side       anatomy.Side
	Written    string // as it was asked for
	Done       string // what is recorded when nothing is typed; empty where a number must be
	First      bool   // first set of its slot
	Skipped    string // why it was left out
}

// Key is how the set is named in [Recorded].
func (r SetRow) Key() string {
	return strings.TrimSpace(fmt.Sprintf("%s %d %s", r.Slot, r.Set, r.Side))
}

// Sheet returns the sets of a session in a week, as they were asked for. The error
// says that there is no such session in that week.
func (p *Practice) Sheet(c *Case, session string, week int, l form.Language) (*plan.Laid, []SetRow, error) {
	if week < 1 || week > c.Block.Weeks {
		return nil, nil, fail(NotFound, "", "the block has weeks 1 to %d", c.Block.Weeks)
	}
	for _, laid := range c.Block.Lay(week) {
		if string(laid.Session.ID) != session {
			continue
		}
		var out []SetRow
		for _, s := range laid.Slots {
			out = append(out, p.setRows(s, l)...)
		}
		return &laid, out, nil
	}
	return nil, nil, fail(NotFound, "", "there is no session %q in week %d", session, week)
}

// setRows lists the sets of a slot, each side apart where sides work apart.
func (p *Practice) setRows(s plan.LaidSlot, l form.Language) []SetRow {
	var out []SetRow
	count := map[anatomy.Side]int{}
	for _, part := range s.Dose.Parts {
		sides := []anatomy.Side{s.Slot.Side}
		switch part.Sides {
		case plan.EachSide:
			sides = []anatomy.Side{anatomy.Left, anatomy.Right}
		case plan.LeftOnly:
			sides = []anatomy.Side{anatomy.Left}
		case plan.RightOnly:
			sides = []anatomy.Side{anatomy.Right}
		}
		for _, set := range part.Sets {
			for _, side := range sides {
				count[side]++
				row := SetRow{Slot: string(s.Slot.ID), Name: p.ExerciseName(s.Slot.Exercise, l), Set: count[side], Side: side, First: len(out) == 0}
				row.Written = strings.TrimPrefix(plan.Dose{Parts: []plan.Part{{Sets: []plan.Set{set}}}}.Canonical(), "1 x ")
				if w := set.Work; !w.Max && w.Low > 0 {
					w.High = w.Low
					row.Done = plan.Done{Work: w}.String()
				}
				out = append(out, row)
			}
		}
	}
	return out
}

// TextAt returns a document as it stood at a version.
func (p *Practice) TextAt(ctx context.Context, who *Account, kind Kind, id string, version int) (text string, err error) {
	err = p.Store.View(ctx, func(r Reader) error {
		doc, err := p.visible(r, who, kind, id)
		if err != nil {
			return err
		}
		text, err = p.textAt(r, doc, version)
		return err
	})
	return text, err
}

// seen returns a document as an account sees it. Where the account made the change with
// that id before, it is as it stood then: the same form sent again asks for the same
// change, which Do then finds made, and another change under that id is found out.
func (p *Practice) seen(r Reader, who *Account, kind Kind, id, operation string) (*Doc, error) {
	doc, err := p.visible(r, who, kind, id)
	if err != nil {
		return nil, err
	}
	done, err := r.Operation(operation)
	switch {
	case errors.Is(err, ErrNone):
		return doc, nil
	case err != nil:
		return nil, err
	case done.Author != who.ID || done.Kind != kind || done.Doc != id || done.Base == 0:
		return doc, nil
	}
	out := *doc
	out.Version = done.Base
	out.Text, err = p.textAt(r, doc, done.Base)
	return &out, err
}

// Rewrite stores a whole new text of a document that was seen at a version: the
// fields that differ are one change on that version.
func (p *Practice) Rewrite(ctx context.Context, who *Account, kind Kind, id string, base int, text, operation string) (Outcome, error) {
	before, err := p.TextAt(ctx, who, kind, id, base)
	if err != nil {
		return Outcome{}, err
	}
	doc, err := p.Doc(ctx, who, kind, id)
	if err != nil {
		return Outcome{}, err
	}
	read, err := p.read(kind, doc, text)
	if err != nil {
		return Outcome{}, err
	}
	edits := slices.DeleteFunc(Diff(TakeApart(before), TakeApart(read.text)), func(e Edit) bool { return e.At == "revision" && kind == BlockDoc })
	return p.Do(ctx, who, Change{ID: operation, Kind: kind, Doc: id, Base: base, What: "wrote the " + string(kind), Edits: edits})
}
