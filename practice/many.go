package practice

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"corbel/check"
	"corbel/form"
	"corbel/plan"
)

// A ManyKind is what is done to the blocks of many clients at once.
type ManyKind string

// Kinds of changes of many.
const (
	SwapMany    ManyKind = "swap"
	NoteMany    ManyKind = "note"
	PauseMany   ManyKind = "pause"
	HandOverAll ManyKind = "hand-over"
	CopyMany    ManyKind = "copy"
)

// A Many is one change of the newest blocks of many clients.
type Many struct {
	Do       ManyKind
	Clients  []string
	Exercise string         // for swap: what is done now
	To       string         // for swap: what is done instead
	Note     string         // for note: it replaces the block's note to the client
	Pause    Midway         // for pause
	Copy     Copy           // for copy
	Seen     map[string]int // versions of the blocks as they were previewed; nil asks for nothing
}

// mostAtOnce bounds the clients of one change (our judgement; key judgement).
const mostAtOnce = 500

// A Difference is what a change of many does for one client.
type Difference struct {
	Client, Name string
	Block        string // id; of a new block, what it is made for
	BlockName    string
	Version      int    // of the block it was made on; 0 for a new block
	New          bool   // a block is made
	Edits        []Edit // fields that change
	Problems     []ManyProblem
	None         string // why nothing is done
	after        *plan.Block
	before       *Case
}

// A ManyProblem is a problem that stands after a change and did not before, with the
// ways out that the program offers.
type ManyProblem struct {
	Problem check.Problem
	Swaps   []string // ways out, in words
}

// PreviewMany says what a change would do for each client, in the order given. Problems
// are judged by stated shares and without draws; a check of the block says more.
func (p *Practice) PreviewMany(ctx context.Context, who *Account, m Many, l form.Language) ([]Difference, error) {
	return p.differences(ctx, who, m, l, true)
}

// differences works out what a change does for each client.
func (p *Practice) differences(ctx context.Context, who *Account, m Many, l form.Language, judge bool) ([]Difference, error) {
	if err := p.fits(&m); err != nil {
		return nil, err
	}
	out := make([]Difference, len(m.Clients))
	source, err := p.source(ctx, who, m)
	if err != nil {
		return nil, err
	}
	err = p.Store.View(ctx, func(r Reader) error {
		for i, id := range m.Clients {
			if err := p.newestFor(r, who, id, &out[i]); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	p.each(len(out), func(i int) {
		d := &out[i]
		p.change(d, &m, source, who, l)
		if d.None == "" && m.Do != HandOverAll {
			d.Edits = slices.DeleteFunc(Diff(d.was(), TakeApart(string(form.Write(d.after)))), func(e Edit) bool { return e.At == "revision" && !d.New })
			if len(d.Edits) == 0 {
				d.None = form.Text{En: "nothing changes", De: "es ändert sich nichts"}.In(l)
			}
		}
		if d.None == "" && judge {
			p.judge(d, m.Do, l)
		}
	})
	return out, nil
}

// was are the fields of the block before the change.
func (d *Difference) was() Fields {
	if d.New {
		return Fields{}
	}
	return TakeApart(d.before.Doc.Text)
}

// each runs f for 0 to n-1 on all processors.
func (p *Practice) each(n int, f func(i int)) {
	var all sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), n) {
		all.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	all.Wait()
}

// fits refuses a change that cannot be meant, and finds its exercises.
func (p *Practice) fits(m *Many) error {
	if len(m.Clients) == 0 || len(m.Clients) > mostAtOnce {
		return fail(Refused, "clients", "choose 1 to %d clients", mostAtOnce)
	}
	seen := map[string]bool{}
	for _, id := range m.Clients {
		if seen[id] {
			return fail(Refused, "clients", "the client %s is chosen twice", id)
		}
		seen[id] = true
	}
	switch m.Do {
	case SwapMany:
		for at, name := range map[string]*string{"exercise": &m.Exercise, "to": &m.To} {
			id, near := p.Library.Name(*name)
			if id == "" {
				none := noExercise(*name, near)
				none.At = at
				return none
			}
			*name = id
		}
	case PauseMany:
		m.Pause.Do = PauseDays
	case NoteMany, HandOverAll, CopyMany:
	default:
		return fail(Refused, "do", "many are changed by swap, note, pause, hand-over or copy")
	}
	return nil
}

// newestFor reads the newest block of a client into a difference.
func (p *Practice) newestFor(r Reader, who *Account, id string, d *Difference) error {
	doc, err := p.visible(r, who, ClientDoc, id)
	if err != nil {
		return err
	}
	d.Client, d.Name = id, doc.Name
	blocks, err := r.Docs(BlockDoc, id)
	if err != nil {
		return err
	}
	for _, b := range blocks {
		c, err := p.open(r, who, b.ID)
		if err != nil {
			return err
		}
		if d.before == nil || d.before.Block.Start.Before(c.Block.Start) {
			d.before = c
		}
	}
	if d.before != nil {
		d.Block, d.BlockName, d.Version = d.before.Doc.ID, d.before.Block.Name, d.before.Doc.Version
		return nil
	}
	c := &Case{Doc: Doc{Kind: BlockDoc, Owner: id}}
	if c.Client, err = p.trainee(r, id); err != nil {
		return err
	}
	d.before = c
	return p.addTo(r, c, id)
}

// change makes the block after the change, or says why there is none.
func (p *Practice) change(d *Difference, m *Many, source *Case, who *Account, l form.Language) {
	say := func(en, de string, args ...any) { d.None = fmt.Sprintf(form.Text{En: en, De: de}.In(l), args...) }
	if m.Do == CopyMany {
		p.copyTo(d, m.Copy, source, say)
		return
	}
	if d.before.Block == nil {
		say("no block yet", "noch kein Block")
		return
	}
	d.after = d.before.Block.Clone()
	switch m.Do {
	case SwapMany:
		swapped := false
		for _, s := range d.before.Block.Sessions {
			for _, x := range s.Slots {
				if x.Exercise == m.Exercise {
					swapped = d.after.Swap(x.ID, m.To) || swapped
				}
			}
		}
		if !swapped {
			say("%s is not in the block", "%s steht nicht im Block", p.ExerciseName(m.Exercise, l))
		}
	case NoteMany:
		d.after.Note = strings.TrimSpace(m.Note)
	case PauseMany:
		after, _, err := p.LayOver(d.before, m.Pause, who.Name, d.before.Client.Language)
		if err != nil {
			d.None = err.Error()
			return
		}
		d.after = after
	}
}

// judge finds the problems that stand after the change and did not before; a block to
// be handed over shows those that stop it.
func (p *Practice) judge(d *Difference, do ManyKind, l form.Language) {
	in := check.Input{Client: d.before.Client, Block: d.after, Log: d.before.Log, Practice: d.before.Practice, Library: p.Library, Language: l, Seed: 1}
	if do == HandOverAll {
		in.Block = d.before.Block
	}
	had := map[string]bool{}
	if d.before.Block != nil && do != HandOverAll {
		before := in
		before.Block = d.before.Block
		for _, x := range check.Check(before).Problems {
			had[x.ID] = true
		}
	}
	for _, x := range check.Check(in).Problems {
		if had[x.ID] || x.Kept != "" || x.Severity == check.Note || do == HandOverAll && !x.Blocks() {
			continue
		}
		m := ManyProblem{Problem: x}
		for _, f := range x.Fixes {
			m.Swaps = append(m.Swaps, f.Text)
		}
		d.Problems = append(d.Problems, m)
	}
}

// DoMany makes a change for all the clients for whom there is something to do, all or
// none of them, and returns what was done. Handing over is each client's own: who is
// stopped is named, and the others get theirs. It is taken back by [Practice.UndoMany]
// with the same id.
func (p *Practice) DoMany(ctx context.Context, who *Account, m Many, l form.Language, id string) ([]Difference, error) {
	if !operationID.MatchString(id + "-0000") {
		return nil, fail(Refused, "", "a change of many has an id of 16 to 59 letters, digits and hyphens")
	}
	if done, err := p.batch(ctx, who, id); err != nil || done {
		return nil, err
	}
	list, err := p.differences(ctx, who, m, l, false)
	if err != nil {
		return nil, err
	}
	for _, d := range list {
		if seen, ok := m.Seen[d.Client]; ok && seen != d.Version {
			return nil, fail(Conflict, d.Client, "the block of %s was changed since you looked; look again", d.Name)
		}
	}
	if m.Do == HandOverAll {
		return list, p.handOverAll(ctx, who, list, id)
	}
	err = p.Store.Update(ctx, func(w Writer) error {
		for i := range list {
			d := &list[i]
			if d.None != "" {
				continue
			}
			c := Change{ID: fmt.Sprintf("%s-%04d", id, i), Kind: BlockDoc, Doc: d.Block, Base: d.Version, What: "changed many: " + string(m.Do), Edits: d.Edits, batch: id}
			if d.New {
				c.Owner, c.Doc = d.Client, string(d.after.ID)
			}
			if _, err := p.do(w, who, c); err != nil {
				var e *Error
				if errors.As(err, &e) {
					e.At = strings.TrimPrefix(d.Client+" "+e.At, " ")
				}
				return err
			}
		}
		return nil
	})
	return list, err
}

// batch says whether a change of many was made before, by this account.
func (p *Practice) batch(ctx context.Context, who *Account, id string) (done bool, err error) {
	err = p.Store.View(ctx, func(r Reader) error {
		ops, err := r.Batch(id)
		done = len(ops) > 0
		if done && ops[0].Author != who.ID {
			return fail(Reused, "", "the id of this change was used for another; reload the page")
		}
		return err
	})
	return done, err
}

// handOverAll hands over to each client, and says of those who are stopped why.
func (p *Practice) handOverAll(ctx context.Context, who *Account, list []Difference, id string) error {
	for i := range list {
		d := &list[i]
		if d.None != "" {
			continue
		}
		d.before.batch = id
		_, err := p.handOver(ctx, who, d.before, fmt.Sprintf("%s-%04d", id, i))
		var e *Error
		switch {
		case errors.As(err, &e) && (e.Reason == Stopped || e.Reason == Conflict):
			d.None = e.Text
		case err != nil:
			return err
		}
	}
	return nil
}

// UndoMany takes a change of many back, for all of them or for none: where somebody
// changed the same fields since, the error names the client and both values.
func (p *Practice) UndoMany(ctx context.Context, who *Account, batch, id string) (clients int, err error) {
	err = p.Store.Update(ctx, func(w Writer) error {
		clients = 0
		ops, err := w.Batch(batch)
		if err != nil {
			return err
		}
		if len(ops) == 0 || ops[0].Author != who.ID {
			return fail(Nothing, "", "you have made no such change of many")
		}
		for i, op := range ops {
			doc, err := p.visible(w, who, op.Kind, op.Doc)
			if err != nil {
				return err
			}
			if op.Version == 1 { // a block that was made goes, where nobody worked on it
				if doc.Version > 1 {
					return fail(Conflict, op.Doc, "the block %s was worked on since; it is not taken away", doc.Name)
				}
				if err := w.DropDoc(op.Kind, op.Doc); err != nil {
					return err
				}
				clients++
				continue
			}
			made, err := p.editsOf(w, doc, &op)
			if err != nil {
				return err
			}
			edits := slices.DeleteFunc(Inverse(made), func(e Edit) bool { return e.At == "revision" })
			out, err := p.do(w, who, Change{ID: fmt.Sprintf("%s-%04d", id, i), Kind: op.Kind, Doc: op.Doc, Base: doc.Version, What: "took back: " + op.What, Edits: edits, undoes: op.ID, batch: id})
			var e *Error
			if errors.As(err, &e) {
				e.At = strings.TrimPrefix(op.Doc+" "+e.At, " ")
			}
			if err != nil {
				return err
			}
			if !out.Before {
				clients++
			}
		}
		return nil
	})
	return clients, err
}
