package practice

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"sync"
	"time"

	"corbel/body"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// A Practice is the work of a practice over its store.
type Practice struct {
	Store   Store
	Library *exercise.Library
	Now     func() time.Time
	MadeBy  plan.MadeWith // versions recorded in what is handed over
	Bodies  *body.Cache   // of solved bodies; nil keeps nothing
	Random  io.Reader     // of tokens, salts and ids
	Origin  string        // where browsers reach the practice, such as http://localhost:7420; passkeys belong to it

	asked   ceremonies
	hashing chan struct{}
	counted sync.Map // block id -> checkedCase
	bodies  sync.Map // client id -> knownBody
	weighed sync.Map // client id -> knownEvidence
	judged  reports  // of blocks
	tables  tables   // blocks somebody types into
	figures sync.Map // exercise id -> SVG
	rows    sync.Map // client id and language -> knownRow
	// client id and language -> versions that what stands in weighed was made of
	weighedOf sync.Map

	queue  chan func() // work of the background; nil without one
	queued sync.Map    // name of queued work -> true
}

// hashesAtOnce bounds the passphrases hashed at a time: 19 MiB each.
const hashesAtOnce = 4

// New returns the practice in a store.
func New(s Store, lib *exercise.Library, now func() time.Time, made plan.MadeWith) *Practice {
	return &Practice{Store: s, Library: lib, Now: now, MadeBy: made, Random: rand.Reader, hashing: make(chan struct{}, hashesAtOnce)}
}

// today is the day it is.
func (p *Practice) today() form.Date { return form.DateOf(p.Now()) }

// A Change is what somebody asks for: edits of one document.
type Change struct {
	ID     string // idempotency key
	Kind   Kind
	Doc    string
	Base   int // version it was made on; 0 for a new document
	What   string
	Edits  []Edit
	Owner  string // of a new document
	undoes string
	batch  string
}

// An Outcome is what became of a change.
type Outcome struct {
	Doc    Doc  // as it stands now
	Made   int  // version the change made
	Before bool // the change had been made before
}

// operationID is how ids of operations look.
var operationID = regexp.MustCompile(`^[A-Za-z0-9-]{16,64}$`)

// maxEdits bounds one change (our judgement: a block of 12 sessions of 15 slots
// pasted whole has about 5,000 fields).
const maxEdits = 20000

// Do makes a change, once: asked again with the same id, it says what became of
// it. The error is an *Error with Conflict where somebody changed the same field
// otherwise, Refused where the document could not be read, NotFound where it is
// not one of the account's.
func (p *Practice) Do(ctx context.Context, who *Account, c Change) (Outcome, error) {
	var out Outcome
	err := p.Store.Update(ctx, func(w Writer) (err error) {
		out, err = p.do(w, who, c)
		return err
	})
	return out, err
}

// do is Do within an update.
func (p *Practice) do(w Writer, who *Account, c Change) (Outcome, error) {
	if !operationID.MatchString(c.ID) || len(c.Edits) > maxEdits {
		return Outcome{}, fail(Refused, "", "a change has an id of 16 to 64 letters, digits and hyphens, and at most %d edits", maxEdits)
	}
	doc, err := w.Doc(c.Kind, c.Doc)
	switch {
	case errors.Is(err, ErrNone) && c.Base == 0:
		doc = &Doc{Kind: c.Kind, ID: c.Doc, Owner: c.Owner}
		if c.Kind == ClientDoc || c.Kind == LogDoc || c.Kind == GroupDoc || c.Kind == MemberDoc {
			doc.Owner = c.Doc
		}
		if taken, err := p.idTaken(w, c.Kind, c.Doc); err != nil || taken {
			return Outcome{}, errors.Join(err, fail(Refused, "id", "the id %s is that of another client, group or member; give one of its own", c.Doc))
		}
	case errors.Is(err, ErrNone):
		return Outcome{}, missing(c.Kind)
	case err != nil:
		return Outcome{}, err
	}
	if ok, err := p.mayWrite(w, who, doc); err != nil || !ok {
		return Outcome{}, errors.Join(err, missing(c.Kind))
	}
	if done, err := w.Operation(c.ID); !errors.Is(err, ErrNone) {
		if err != nil {
			return Outcome{}, err
		}
		if done.Author != who.ID || done.Doc != c.Doc || done.Kind != c.Kind || done.Asked != c.hash() {
			return Outcome{}, fail(Reused, "", "the id of this change was used for another; reload the page")
		}
		return Outcome{Doc: *doc, Made: done.Version, Before: true}, nil
	}
	if c.Base > doc.Version || c.Base == 0 && doc.Version > 0 {
		return Outcome{}, fail(Conflict, "", "this %s is there already in another version; reload the page", c.Kind)
	}
	return p.commit(w, who, doc, c)
}

// mayWrite says whether an account may change a document. A new client belongs to
// coaches.
func (p *Practice) mayWrite(r Reader, who *Account, d *Doc) (bool, error) {
	if d.Version > 0 || d.Kind == OwnDoc {
		return maySee(r, who, d)
	}
	var owners []Kind
	switch d.Kind {
	case BlockDoc:
		owners = []Kind{ClientDoc, GroupDoc}
	case LogDoc:
		owners = []Kind{ClientDoc, MemberDoc}
	default:
		return who.Role == Coach, nil
	}
	for _, kind := range owners {
		switch _, err := r.Doc(kind, d.Owner); {
		case err == nil:
			return may(r, who, d.Owner)
		case !errors.Is(err, ErrNone):
			return false, err
		}
	}
	return false, nil
}

// hash tells what was asked for.
func (c *Change) hash() string {
	b, err := json.Marshal([]any{c.Kind, c.Doc, c.Edits, c.undoes})
	if err != nil {
		panic("practice: a change cannot be hashed")
	}
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

// commit merges a change into its document and writes both.
func (p *Practice) commit(w Writer, who *Account, doc *Doc, c Change) (Outcome, error) {
	before := Fields{}
	if doc.Version > 0 {
		before = TakeApart(doc.Text)
	}
	after, clashes := Merge(before, c.Edits)
	if len(clashes) > 0 {
		return Outcome{}, &Error{Reason: Conflict, At: clashes[0].At, Text: "somebody else changed this meanwhile; nothing was written: look at both and choose", Conflicts: clashes}
	}
	if doc.Version > 0 && c.Kind == BlockDoc { // what a swap leaves behind names the revision before
		after["revision"] = strconv.Itoa(revisionOf(before) + 1)
	}
	read, err := p.read(c.Kind, doc, after.Text())
	if err != nil {
		return Outcome{}, err
	}
	edits := Diff(before, TakeApart(read.text))
	if !slices.ContainsFunc(edits, func(e Edit) bool { return doc.Version == 0 || c.Kind != BlockDoc || e.At != "revision" }) {
		return Outcome{Doc: *doc, Made: doc.Version}, nil
	}
	if c.Kind == MemberDoc {
		group := groupOf(&Doc{Text: read.text})
		if _, err := w.Doc(GroupDoc, group); errors.Is(err, ErrNone) {
			return Outcome{}, fail(Refused, "group", "there is no group %q in this practice; write the id of one, such as valley.yaml", group)
		} else if err != nil {
			return Outcome{}, err
		}
	}
	now := p.Now()
	doc.Version++
	doc.Text, doc.Name, doc.Changed, doc.Owner = read.text, read.name, now, read.owner
	op := Operation{ID: c.ID, Author: who.ID, At: now, Kind: c.Kind, Doc: c.Doc, Base: c.Base, Version: doc.Version,
		What: c.What, Edits: edits, Asked: c.hash(), Undoes: c.undoes, Batch: c.batch, Layout: layout}
	err = errors.Join(w.PutDoc(*doc), w.AddOperation(op),
		w.AddNote(Note{At: now, By: who.ID, What: c.What, Kind: c.Kind, Doc: c.Doc, Owner: doc.Owner}))
	return Outcome{Doc: *doc, Made: doc.Version}, err
}

// revisionOf returns the revision of a block.
func revisionOf(f Fields) int {
	n := 0
	fmt.Sscan(f["revision"], &n) // what was stored had been read
	return n
}

// what was read of a document.
type readDoc struct {
	id, text, name, owner string
}

// read reads the text of a document by its form and writes it as its form is
// written.
func (p *Practice) read(kind Kind, doc *Doc, text string) (readDoc, error) {
	out := readDoc{owner: doc.Owner}
	switch kind {
	case ClientDoc:
		c, err := client.Read("client", []byte(text), p.Library.Name)
		if err != nil {
			return out, refused(err)
		}
		out.id, out.name, out.text = string(c.ID), c.Name, string(form.Write(c))
		out.owner = out.id
	case BlockDoc:
		b, err := plan.ReadBlock("block", []byte(text), p.Library.Name)
		if err != nil {
			return out, refused(err)
		}
		if b.Group != "" {
			b.Group = doc.Owner + fileEnd
		} else {
			b.Client = doc.Owner + fileEnd
		}
		out.id, out.name, out.text = string(b.ID), b.Name, string(form.Write(b))
	case LogDoc:
		l, err := plan.ReadLog("log", []byte(text), p.Library.Name)
		if err != nil {
			return out, refused(err)
		}
		out.id, out.name, out.text = string(l.Client), "log", string(form.Write(l))
		out.owner = out.id
	case GroupDoc:
		g, err := plan.ReadGroup("group", []byte(text))
		if err != nil {
			return out, refused(err)
		}
		out.id, out.name, out.text = string(g.ID), g.Name, string(form.Write(g))
		out.owner = out.id
	case MemberDoc:
		m, err := plan.ReadMember("member", []byte(text), p.Library.Name)
		if err != nil {
			return out, refused(err)
		}
		out.id, out.name, out.text = string(m.ID), m.Name, string(form.Write(m))
		out.owner = out.id
	case OwnDoc:
		o, err := plan.ReadOwnSession("session", []byte(text), p.Library.Name)
		if err != nil {
			return out, refused(err)
		}
		out.id, out.name, out.text = string(o.ID), o.Name, string(form.Write(o))
	case PracticeDoc:
		pr, err := client.ReadPractice("practice", []byte(text), p.Library.Name)
		if err != nil {
			return out, refused(err)
		}
		out.id, out.name, out.text = string(pr.ID), pr.Name, string(form.Write(pr))
	default:
		return out, fail(NotFound, "", "there are no documents of the kind %q", kind)
	}
	if doc.ID != "" && out.id != doc.ID {
		return out, fail(Refused, "id", "the id of a %s is given once; it is %s and cannot become %s", kind, doc.ID, out.id)
	}
	return out, nil
}

// Undo takes back the account's last change of a document that is not taken back
// yet, where nobody has changed the same fields since. id is the id of the new
// operation.
func (p *Practice) Undo(ctx context.Context, who *Account, kind Kind, docID, id string) (Outcome, error) {
	var out Outcome
	err := p.Store.Update(ctx, func(w Writer) error {
		doc, err := p.visible(w, who, kind, docID)
		if err != nil {
			return err
		}
		if done, err := w.Operation(id); err == nil && done.Author == who.ID && done.Doc == docID && done.Undoes != "" {
			out = Outcome{Doc: *doc, Made: done.Version, Before: true}
			return nil
		}
		last, err := w.LastOperation(kind, docID, who.ID)
		if errors.Is(err, ErrNone) || err == nil && last.Version == 1 {
			return fail(Nothing, "", "you have changed nothing here that could be taken back")
		}
		if err != nil {
			return err
		}
		made, err := p.editsOf(w, doc, last)
		if err != nil {
			return err
		}
		edits := slices.DeleteFunc(Inverse(made), func(e Edit) bool { return e.At == "revision" })
		out, err = p.do(w, who, Change{ID: id, Kind: kind, Doc: docID, Base: doc.Version, What: "took back: " + last.What, Edits: edits, undoes: last.ID})
		return err
	})
	return out, err
}

// visible returns a document that an account may see.
func (p *Practice) visible(r Reader, who *Account, kind Kind, id string) (*Doc, error) {
	doc, err := r.Doc(kind, id)
	if errors.Is(err, ErrNone) {
		return nil, missing(kind)
	}
	if err != nil {
		return nil, err
	}
	if ok, err := maySee(r, who, doc); err != nil || !ok {
		return nil, errors.Join(err, missing(kind))
	}
	return doc, nil
}

// Doc returns a document that an account may see.
func (p *Practice) Doc(ctx context.Context, who *Account, kind Kind, id string) (doc *Doc, err error) {
	err = p.Store.View(ctx, func(r Reader) (err error) { doc, err = p.visible(r, who, kind, id); return err })
	return doc, err
}

// Docs lists the documents of a kind that an account may see: of one client, or of
// all where owner is empty.
func (p *Practice) Docs(ctx context.Context, who *Account, kind Kind, owner string) (docs []Doc, err error) {
	err = p.Store.View(ctx, func(r Reader) error {
		all, err := r.Docs(kind, owner)
		if err != nil {
			return err
		}
		docs = nil
		for _, d := range all {
			ok, err := maySee(r, who, &d)
			if err != nil {
				return err
			}
			if ok {
				docs = append(docs, d)
			}
		}
		return nil
	})
	return docs, err
}

// Put stores a document as its form is written: a new one, or a new text of one
// that is there, as a change of the fields that differ.
func (p *Practice) Put(ctx context.Context, who *Account, kind Kind, owner, text, id string) (Outcome, error) {
	doc := &Doc{Kind: kind, Owner: owner}
	read, err := p.read(kind, doc, text)
	if err != nil {
		return Outcome{}, err
	}
	doc.ID = read.id
	base, before := 0, Fields{}
	err = p.Store.View(ctx, func(r Reader) error {
		old, err := r.Doc(kind, doc.ID)
		if errors.Is(err, ErrNone) {
			return nil
		}
		if err == nil && owner != "" && old.Owner != owner {
			return fail(Refused, "id", "the id %s is that of another %s; give one of its own", doc.ID, kind)
		}
		if err == nil {
			base, before = old.Version, TakeApart(old.Text)
		}
		return err
	})
	if err != nil {
		return Outcome{}, err
	}
	edits := Diff(before, TakeApart(read.text))
	what := "wrote a new " + string(kind)
	if base > 0 {
		edits = slices.DeleteFunc(edits, func(e Edit) bool { return e.At == "revision" && kind == BlockDoc })
		what = "wrote the " + string(kind)
	}
	return p.Do(ctx, who, Change{ID: id, Kind: kind, Doc: doc.ID, Base: base, What: what, Edits: edits, Owner: read.owner})
}
