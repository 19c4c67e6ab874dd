package practice

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"corbel/check"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/sheet"
)

// A Case is a block with its client, log and practice, read, at one version.
type Case struct {
	Doc      Doc // of the block
	Block    *plan.Block
	Client   *client.Client
	Log      *plan.Log        // nil where nothing was recorded
	Practice *client.Practice // nil where nothing was set
	Member   string           // id of the member whose view of a group's block this is

	batch string        // of the change of many it is handed over in
	own   []plan.Change // of the member, in the block beside those of the group
}

// Open returns a block with all a check needs.
func (p *Practice) Open(ctx context.Context, who *Account, block string) (c *Case, err error) {
	err = p.Store.View(ctx, func(r Reader) (err error) { c, err = p.open(r, who, block); return err })
	return c, err
}

// open is Open within a view.
func (p *Practice) open(r Reader, who *Account, block string) (*Case, error) {
	doc, err := p.visible(r, who, BlockDoc, block)
	if err != nil {
		return nil, err
	}
	c := &Case{Doc: *doc}
	if c.Block, err = plan.ReadBlock("block", []byte(doc.Text), p.Library.Name); err != nil {
		return nil, err
	}
	owner := doc.Owner
	if c.Block.Group != "" {
		c.Client, err = p.referenceMember(r, owner, c.Block)
	} else {
		c.Client, err = p.trainee(r, owner)
	}
	if err != nil {
		return nil, err
	}
	return c, p.addTo(r, c, owner)
}

// addTo reads the log of whom a case is about, and the rules of the practice.
func (p *Practice) addTo(r Reader, c *Case, owner string) error {
	log, err := r.Doc(LogDoc, owner)
	if err == nil {
		c.Log, err = plan.ReadLog("log", []byte(log.Text), p.Library.Name)
	}
	if err != nil && !errors.Is(err, ErrNone) {
		return err
	}
	rules, err := r.Docs(PracticeDoc, "")
	if err == nil && len(rules) > 0 {
		c.Practice, err = client.ReadPractice("practice", []byte(rules[0].Text), p.Library.Name)
	}
	return err
}

// input is what a check of the case needs; draws are those behind its ranges.
func (p *Practice) input(c *Case, l form.Language, draws int) check.Input {
	return check.Input{Client: c.Client, Block: c.Block, Log: c.Log, Practice: c.Practice, Library: p.Library, Shares: p.shares(c.Client, c.Block), Language: l, Draws: draws, Seed: 1}
}

// Check checks a case without ranges, for the screen.
func (p *Practice) Check(c *Case, l form.Language) *check.Report {
	return p.judged.of(p.madeOf(c)+string(l), func() *check.Report { return check.Check(p.input(c, l, 0)) })
}

// TakeWayOut applies a way out of a problem, by the name check.FixName gives it, as
// one change that is taken back like any other.
func (p *Practice) TakeWayOut(ctx context.Context, who *Account, block, fix, id string) (Outcome, error) {
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return Outcome{}, err
	}
	after, err := check.Apply(p.input(c, form.English, 0), fix)
	if err != nil {
		if done, ok := p.madeBefore(ctx, who, block, id); ok {
			return done, nil
		}
		return Outcome{}, fail(Conflict, "", "%s", err)
	}
	return p.become(ctx, who, c, after, "took a way out", id)
}

// madeBefore returns the outcome of a change with that id, where the account made
// it before: a way out that was taken is offered no longer.
func (p *Practice) madeBefore(ctx context.Context, who *Account, block, id string) (out Outcome, ok bool) {
	err := p.Store.View(ctx, func(r Reader) error {
		done, err := r.Operation(id)
		if err != nil {
			return err
		}
		doc, err := p.visible(r, who, BlockDoc, block)
		if err != nil {
			return err
		}
		ok = done.Author == who.ID && done.Kind == BlockDoc && done.Doc == block
		out = Outcome{Doc: *doc, Made: done.Version, Before: true}
		return nil
	})
	return out, ok && err == nil
}

// become changes the block of a case into another, as one change.
func (p *Practice) become(ctx context.Context, who *Account, c *Case, after *plan.Block, what, id string) (Outcome, error) {
	edits := Diff(TakeApart(c.Doc.Text), TakeApart(string(form.Write(after))))
	edits = slices.DeleteFunc(edits, func(e Edit) bool { return e.At == "revision" })
	return p.Do(ctx, who, Change{ID: id, Kind: BlockDoc, Doc: c.Doc.ID, Base: c.Doc.Version, What: what, Edits: edits})
}

// Edit changes a block by a function, as one change on the version it was read at.
func (p *Practice) Edit(ctx context.Context, who *Account, block, what, id string, f func(*plan.Block) error) (Outcome, error) {
	if done, ok := p.madeBefore(ctx, who, block, id); ok {
		return done, nil
	}
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return Outcome{}, err
	}
	after := c.Block.Clone()
	if err := f(after); err != nil {
		return Outcome{}, err
	}
	return p.become(ctx, who, c, after, what, id)
}

// HandOver freezes the block as it stands, where no stop stands, and says so in it.
// The frozen revision stays as it is for ever. Handed over again unchanged, it is
// the same one.
func (p *Practice) HandOver(ctx context.Context, who *Account, block, id string) (*Frozen, error) {
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return nil, err
	}
	if c.Block.Group != "" {
		return nil, fail(Refused, "", "this block is a group's: hand it over to its members")
	}
	return p.handOver(ctx, who, c, id)
}

// handOver hands a case over.
func (p *Practice) handOver(ctx context.Context, who *Account, c *Case, id string) (*Frozen, error) {
	report := check.Check(p.input(c, c.Client.Language, Draws))
	if standing := sheet.Standing(report); len(standing) > 0 {
		e := fail(Stopped, "", "%d stops stand; settle them before handing over: %s", len(standing), standing[0].Text)
		for _, s := range standing {
			e.Stops = append(e.Stops, s.Text)
		}
		return nil, e
	}
	var out Frozen
	err := p.Store.Update(ctx, func(w Writer) error {
		b, err := p.markHandedOver(w, who, c, id)
		if err != nil {
			return err
		}
		report.Revision = b.Revision // handing over made one more
		f, err := sheet.Freeze(b, c.Client, p.Library, report, p.today())
		if err != nil {
			return err
		}
		data, err := f.Write()
		if err != nil {
			return err
		}
		out = Frozen{Code: f.Code, Block: c.Doc.ID, Owner: c.owner(), Revision: b.Revision, At: p.Now(), By: who.ID, Data: data}
		if old, err := w.Frozen(f.Code); err == nil {
			out = *old
			return nil
		}
		return w.AddFrozen(out)
	})
	if err != nil {
		return nil, err
	}
	return &out, nil
}

// owner returns the id of whom the case is about.
func (c *Case) owner() string {
	if c.Member != "" {
		return c.Member
	}
	return c.Doc.Owner
}

// markHandedOver writes into the block of a case that it is handed over, and returns
// it as whom the case is about follows it.
func (p *Practice) markHandedOver(w Writer, who *Account, c *Case, id string) (*plan.Block, error) {
	now, err := w.Doc(BlockDoc, c.Doc.ID)
	if err != nil || now.Version != c.Doc.Version {
		return nil, errors.Join(err, fail(Conflict, "", "the block was changed while it was handed over; look at it and hand over again"))
	}
	b, err := plan.ReadBlock("block", []byte(now.Text), p.Library.Name)
	if err != nil {
		return nil, err
	}
	if b.State == plan.Draft {
		b.State = plan.HandedOver
	}
	b.MadeWith = p.MadeBy
	edits := Diff(TakeApart(now.Text), TakeApart(string(form.Write(b))))
	if len(edits) > 0 {
		made, err := p.do(w, who, Change{ID: id, Kind: BlockDoc, Doc: now.ID, Base: now.Version, What: "handed over", Edits: edits, batch: c.batch})
		if err != nil {
			return nil, err
		}
		if b, err = plan.ReadBlock("block", []byte(made.Doc.Text), p.Library.Name); err != nil {
			return nil, err
		}
	}
	b.Changes = append(b.Changes, c.own...)
	return b, nil
}

// HandedOver lists what was handed over of a block, newest first.
func (p *Practice) HandedOver(ctx context.Context, who *Account, block string) (list []Frozen, err error) {
	err = p.Store.View(ctx, func(r Reader) error {
		if _, err := p.visible(r, who, BlockDoc, block); err != nil {
			return err
		}
		list, err = r.FrozenOf(block)
		return err
	})
	return list, err
}

// Record writes one session as it was done into the client's log. An entry of the
// same block, session, week and day is written anew.
func (p *Practice) Record(ctx context.Context, who *Account, owner string, e plan.Entry, id string) (Outcome, error) {
	return p.record(ctx, who, owner, "recorded a session", id, func(l *plan.Log) {
		if i := slices.IndexFunc(l.Entries, e.SameSession); i >= 0 {
			l.Entries[i] = e
		} else {
			l.Entries = append(l.Entries, e)
		}
	})
}

// record changes the log of a client by a function, as one change; it is made where
// there is none.
func (p *Practice) record(ctx context.Context, who *Account, owner, what, id string, f func(*plan.Log)) (Outcome, error) {
	log, base, before := &plan.Log{Form: form.Version, Client: form.ID(owner)}, 0, Fields{}
	err := p.Store.View(ctx, func(r Reader) error {
		if ok, err := may(r, who, owner); err != nil || !ok {
			return errors.Join(err, missing(ClientDoc))
		}
		if done, err := r.Operation(id); err == nil && done.Base == 0 && done.Kind == LogDoc && done.Doc == owner {
			return nil // the first session of the log, sent again
		}
		doc, err := p.seen(r, who, LogDoc, owner, id)
		if ReasonOf(err) == NotFound {
			return nil
		}
		if err != nil {
			return err
		}
		base, before = doc.Version, TakeApart(doc.Text)
		log, err = plan.ReadLog("log", []byte(doc.Text), p.Library.Name)
		return err
	})
	if err != nil {
		return Outcome{}, err
	}
	f(log)
	edits := Diff(before, TakeApart(string(form.Write(log))))
	return p.Do(ctx, who, Change{ID: id, Kind: LogDoc, Doc: owner, Base: base, What: what, Edits: edits, Owner: owner})
}

// Erase takes everything about a client or member out of the store, its journals and
// the caches, and remembers a hash of the id, so that no backup brings them back.
// Coaches alone may.
func (p *Practice) Erase(ctx context.Context, who *Account, owner string) error {
	if who.Role != Coach {
		return fail(Forbidden, "", "a coach erases clients")
	}
	err := p.Store.Update(ctx, func(w Writer) error {
		if _, err := p.person(w, who, owner); err != nil {
			return err
		}
		if err := p.erase(w, owner); err != nil {
			return err
		}
		return w.AddNote(Note{At: p.Now(), By: who.ID, What: "erased a client"})
	})
	if err != nil {
		return err
	}
	return p.forgetCaches(ctx, owner)
}

// erase takes a client out of the rows.
func (p *Practice) erase(w Writer, owner string) error {
	return errors.Join(w.Erase(owner), w.PutErased(Erased{Hash: hashOf(owner), At: p.Now()}))
}

// forgetCaches takes a client out of everything that is kept beside the rows.
func (p *Practice) forgetCaches(ctx context.Context, owner string) error {
	p.bodies.Delete(form.ID(owner))
	p.weighed.Clear()
	p.counted.Clear()
	p.judged.Clear()
	p.tables.forget()
	p.rows.Clear()
	p.weighedOf.Clear()
	if p.Bodies != nil {
		if _, err := p.Bodies.Clear(); err != nil {
			return fmt.Errorf("the client is erased; the cache of solved bodies, which names nobody, could not be emptied: %w", err)
		}
	}
	return p.Store.Tidy(ctx)
}

// Forget erases again who was erased before and came back with a backup, by a list of
// hashes and those the store holds, and returns how many that were.
func (p *Practice) Forget(ctx context.Context, list []Erased) (back int, err error) {
	var gone []string
	err = p.Store.Update(ctx, func(w Writer) error {
		gone = nil
		known, err := w.Erased()
		if err != nil {
			return err
		}
		at := map[string]bool{}
		for _, e := range append(known, list...) {
			at[e.Hash] = true
			if err := w.PutErased(e); err != nil {
				return err
			}
		}
		for _, kind := range []Kind{ClientDoc, MemberDoc, GroupDoc} {
			docs, err := w.Docs(kind, "")
			if err != nil {
				return err
			}
			for _, d := range docs {
				if at[hashOf(d.ID)] {
					gone = append(gone, d.ID)
					if err := w.Erase(d.ID); err != nil {
						return err
					}
				}
			}
		}
		return nil
	})
	for _, id := range gone {
		err = errors.Join(err, p.forgetCaches(ctx, id))
	}
	return len(gone), err
}

// Verify reads every document by its form, plays all its operations again from
// nothing, and returns what does not agree. A whole store gives none.
func (p *Practice) Verify(ctx context.Context) (wrong []string, err error) {
	err = p.Store.View(ctx, func(r Reader) error {
		wrong = nil
		for _, kind := range Kinds {
			docs, err := r.Docs(kind, "")
			if err != nil {
				return err
			}
			for _, d := range docs {
				if text, err := p.replay(r, &d); err != nil {
					wrong = append(wrong, fmt.Sprintf("%s %s: %v", kind, d.ID, err))
				} else if text != d.Text {
					wrong = append(wrong, fmt.Sprintf("%s %s: its operations do not make its text", kind, d.ID))
				}
			}
		}
		return nil
	})
	return wrong, err
}

// replay makes a document from its operations.
func (p *Practice) replay(r Reader, d *Doc) (string, error) {
	ops, err := r.Operations(d.Kind, d.ID)
	if err != nil {
		return "", err
	}
	return p.playBack(d, ops)
}

// playBack makes the text of a document from operations.
func (p *Practice) playBack(d *Doc, ops []Operation) (string, error) {
	f, in := Fields{}, layout
	if len(ops) > 0 {
		in = ops[0].Layout
	}
	for i, op := range ops {
		if op.Version != i+1 {
			return "", fmt.Errorf("operation %d stands at version %d", i+1, op.Version)
		}
		if op.Layout > layout || op.Layout < in {
			return "", fmt.Errorf("version %d: was made by another program, in the layout %d; take a newer one", op.Version, op.Layout)
		}
		if op.Layout != in {
			read, err := p.read(d.Kind, d, f.Text())
			if err != nil {
				return "", err
			}
			f, in = TakeApart(read.text), op.Layout
		}
		for _, e := range op.Edits {
			if f[e.At] != e.Was {
				return "", fmt.Errorf("version %d: %s was not what the operation changed", op.Version, e.At)
			}
			f[e.At] = e.To
			if e.To == "" {
				delete(f, e.At)
			}
		}
	}
	if len(ops) != d.Version {
		return "", fmt.Errorf("version %d has %d operations", d.Version, len(ops))
	}
	read, err := p.read(d.Kind, d, f.Text())
	return read.text, err
}

// editsOf returns the edits of an operation in the layout of today.
func (p *Practice) editsOf(r Reader, d *Doc, op *Operation) ([]Edit, error) {
	if op.Layout == layout {
		return op.Edits, nil
	}
	before, err1 := p.textAt(r, d, op.Version-1)
	after, err2 := p.textAt(r, d, op.Version)
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	return Diff(TakeApart(before), TakeApart(after)), nil
}

// textAt is a document as it stood at a version, from 1.
func (p *Practice) textAt(r Reader, d *Doc, version int) (string, error) {
	if version == d.Version {
		return d.Text, nil
	}
	ops, err := r.Operations(d.Kind, d.ID)
	if err != nil {
		return "", err
	}
	then := *d
	then.Version = min(max(version, 0), len(ops))
	return p.playBack(&then, ops[:then.Version])
}
