package practice

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"corbel/plan"
)

// Names in a package of open forms.
const (
	contentsFile  = "contents.json"
	historyFolder = "history/"
	frozenFolder  = "handed-over/"
)

// packForm is the version of the package.
const packForm = 1

// Bounds of a package that is read (our judgement; key judgement).
const (
	mostPackFiles = 50000
	mostPackBytes = 1 << 30 // unpacked
	mostFileBytes = 64 << 20
)

// contents says what is in a package.
type contents struct {
	Form   int          `json:"form"`
	Docs   []packedDoc  `json:"documents"`
	Frozen []packedCopy `json:"handed_over"`
}

// A packedDoc is a document in a package.
type packedDoc struct {
	File    string    `json:"file"`
	Kind    Kind      `json:"kind"`
	ID      string    `json:"id"`
	Owner   string    `json:"owner"`
	Version int       `json:"version"`
	Changed time.Time `json:"changed"`
}

// A packedCopy is a frozen revision in a package.
type packedCopy struct {
	Code     string    `json:"code"`
	Block    string    `json:"block"`
	Owner    string    `json:"owner"`
	Revision int       `json:"revision"`
	At       time.Time `json:"at"`
	By       string    `json:"by"`
}

// Pack writes a client, member or group with blocks, log and what was handed over, or
// the whole practice where owner is empty, as a zip of open forms. The whole history is
// beside them. A client is had by those who may see them, the practice by coaches
// alone. Accounts are not in it.
func (p *Practice) Pack(ctx context.Context, who *Account, owner string) ([]byte, error) {
	if owner == "" && who.Role != Coach {
		return nil, fail(Forbidden, "", "a coach takes the practice out")
	}
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	list := contents{Form: packForm}
	err := p.Store.View(ctx, func(r Reader) error {
		if owner != "" {
			if ok, err := may(r, who, owner); err != nil || !ok {
				return errors.Join(err, missing(ClientDoc))
			}
			if taken, err := p.idTaken(r, "", owner); err != nil || !taken {
				return errors.Join(err, missing(ClientDoc))
			}
		}
		owners, err := p.packedWith(r, owner)
		if err != nil {
			return err
		}
		return p.pack(r, z, &list, owners)
	})
	if err != nil {
		return nil, err
	}
	data, err := json.MarshalIndent(list, "", "  ")
	if err != nil {
		return nil, err
	}
	if err := errors.Join(add(z, contentsFile, data, p.Now()), z.Close()); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// packedWith returns whose documents a package holds: nobody's in particular for the
// whole practice, a group with its members.
func (p *Practice) packedWith(r Reader, owner string) ([]string, error) {
	out := []string{owner}
	if owner == "" {
		return out, nil
	}
	members, err := r.Docs(MemberDoc, "")
	for _, m := range members {
		if groupOf(&m) == owner {
			out = append(out, m.ID)
		}
	}
	return out, err
}

// pack writes the documents and frozen revisions of owners.
func (p *Practice) pack(r Reader, z *zip.Writer, list *contents, owners []string) error {
	names := map[string]bool{}
	for _, kind := range Kinds {
		var docs []Doc
		for _, owner := range owners {
			if owner != "" && (kind == PracticeDoc || kind == OwnDoc) {
				continue
			}
			some, err := r.Docs(kind, owner)
			if err != nil {
				return err
			}
			docs = append(docs, some...)
		}
		for _, d := range docs {
			name := d.ID + fileEnd
			if kind == LogDoc || names[name] {
				name = d.ID + "-" + string(kind) + fileEnd
			}
			names[name] = true
			ops, err := r.Operations(kind, d.ID)
			if err != nil {
				return err
			}
			history, err := json.MarshalIndent(ops, "", " ")
			if err != nil {
				return err
			}
			if err := errors.Join(add(z, name, []byte(d.Text), d.Changed), add(z, historyFolder+name+".json", history, d.Changed)); err != nil {
				return err
			}
			list.Docs = append(list.Docs, packedDoc{name, kind, d.ID, d.Owner, d.Version, d.Changed})
			if kind != BlockDoc {
				continue
			}
			if err := p.packFrozen(r, z, list, d.ID); err != nil {
				return err
			}
		}
	}
	return nil
}

// packFrozen writes what was handed over of a block.
func (p *Practice) packFrozen(r Reader, z *zip.Writer, list *contents, block string) error {
	all, err := r.FrozenOf(block)
	if err != nil {
		return err
	}
	for _, f := range all {
		whole, err := r.Frozen(f.Code)
		if err != nil {
			return err
		}
		if err := add(z, frozenFolder+f.Code+".json", whole.Data, f.At); err != nil {
			return err
		}
		list.Frozen = append(list.Frozen, packedCopy{f.Code, f.Block, f.Owner, f.Revision, f.At, f.By})
	}
	return nil
}

// add writes a file into a zip.
func add(z *zip.Writer, name string, data []byte, at time.Time) error {
	w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: at.UTC().Truncate(time.Second)})
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return err
}

// Unpack reads a package into the store, all of it or nothing: documents with their
// history, and what was handed over. Ids that are there already are refused. Coaches
// alone may. It returns how many documents came in.
func (p *Practice) Unpack(ctx context.Context, who *Account, data []byte) (docs int, err error) {
	if who.Role != Coach {
		return 0, fail(Forbidden, "", "a coach takes clients in")
	}
	files, list, err := openPack(data)
	if err != nil {
		return 0, err
	}
	err = p.Store.Update(ctx, func(w Writer) error {
		for _, d := range list.Docs {
			if err := p.unpackDoc(w, files, d); err != nil {
				return err
			}
		}
		for _, f := range list.Frozen {
			if err := p.unpackFrozen(w, files, f); err != nil {
				return err
			}
		}
		return w.AddNote(Note{At: p.Now(), By: who.ID, What: fmt.Sprintf("took in a package of %d documents", len(list.Docs))})
	})
	return len(list.Docs), err
}

// openPack reads the files of a package and what it says is in it.
func openPack(data []byte) (map[string][]byte, *contents, error) {
	bad := func(text string, args ...any) error { return fail(Refused, "package", text, args...) }
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, nil, bad("this is no zip file; choose one that `corbel pack` or the export wrote")
	}
	if len(z.File) > mostPackFiles {
		return nil, nil, bad("%d files: a package has at most %d", len(z.File), mostPackFiles)
	}
	files, left := map[string][]byte{}, int64(mostPackBytes)
	for _, f := range z.File {
		one, err := f.Open()
		if err != nil {
			return nil, nil, bad("%s cannot be read: %v", f.Name, err)
		}
		text, err := io.ReadAll(io.LimitReader(one, min(left, mostFileBytes)+1))
		err = errors.Join(err, one.Close())
		if left -= int64(len(text)); err != nil || left < 0 || len(text) > mostFileBytes {
			return nil, nil, bad("%s is damaged or too large", f.Name)
		}
		files[f.Name] = text
	}
	var list contents
	if err := json.Unmarshal(files[contentsFile], &list); err != nil {
		return nil, nil, bad("it has no %s that can be read; choose a file that `corbel pack` or the export wrote", contentsFile)
	}
	if list.Form != packForm {
		return nil, nil, bad("it is of form %d; this program reads form %d: take a newer program", list.Form, packForm)
	}
	return files, &list, nil
}

// unpackDoc writes a document with its history, after both were read and agree.
func (p *Practice) unpackDoc(w Writer, files map[string][]byte, d packedDoc) error {
	if !slices.Contains(Kinds, d.Kind) {
		return fail(Refused, d.File, "there are no documents of the kind %q", d.Kind)
	}
	if _, err := w.Doc(d.Kind, d.ID); !errors.Is(err, ErrNone) {
		return errors.Join(err, fail(Refused, d.File, "the %s %s is here already; nothing was taken in", d.Kind, d.ID))
	}
	if taken, err := p.idTaken(w, d.Kind, d.ID); err != nil || taken {
		return errors.Join(err, fail(Refused, d.File, "the id %s is that of another client, group or member here; nothing was taken in", d.ID))
	}
	if err := p.ownerThere(w, files, d); err != nil {
		return err
	}
	doc := Doc{Kind: d.Kind, ID: d.ID, Owner: d.Owner, Version: d.Version, Changed: d.Changed}
	read, err := p.read(d.Kind, &doc, string(files[d.File]))
	if err != nil {
		var e *Error
		if errors.As(err, &e) {
			e.At = strings.TrimSuffix(d.File+": "+e.At, ": ")
		}
		return err
	}
	var ops []Operation
	if err := json.Unmarshal(files[historyFolder+d.File+".json"], &ops); err != nil {
		return fail(Refused, d.File, "its history cannot be read")
	}
	doc.Text, doc.Name, doc.Owner = read.text, read.name, read.owner
	for i, op := range ops {
		if op.Kind != d.Kind || op.Doc != d.ID || op.Version != i+1 || !operationID.MatchString(op.ID) {
			return fail(Refused, d.File, "its history is of another document")
		}
		if _, err := w.Operation(op.ID); !errors.Is(err, ErrNone) {
			return errors.Join(err, fail(Refused, d.File, "a change of its history is here already; nothing was taken in"))
		}
	}
	if text, err := p.playBack(&doc, ops); err != nil || text != doc.Text {
		return fail(Refused, d.File, "the history and the document do not agree; somebody wrote into the package: write the file in as a new document instead")
	}
	return w.AddDoc(doc, ops)
}

// ownerThere refuses a block, log or member whose client or group is neither here nor
// in the package.
func (p *Practice) ownerThere(r Reader, files map[string][]byte, d packedDoc) error {
	var kinds []Kind
	owner := d.Owner
	switch d.Kind {
	case BlockDoc:
		kinds = []Kind{ClientDoc, GroupDoc}
	case LogDoc:
		kinds = []Kind{ClientDoc, MemberDoc}
	case MemberDoc:
		m, err := plan.ReadMember(d.File, files[d.File], p.Library.Name)
		if err != nil {
			return refused(err)
		}
		kinds, owner = []Kind{GroupDoc}, strings.TrimSuffix(m.Group, fileEnd)
	default:
		return nil
	}
	for _, kind := range kinds {
		if _, err := r.Doc(kind, owner); !errors.Is(err, ErrNone) {
			return err
		}
	}
	return fail(Refused, d.File, "whose it is, %s, is neither here nor in the package; take that in first", owner)
}

// unpackFrozen writes a frozen revision.
func (p *Practice) unpackFrozen(w Writer, files map[string][]byte, f packedCopy) error {
	data := files[frozenFolder+f.Code+".json"]
	if !json.Valid(data) {
		return fail(Refused, frozenFolder+f.Code, "what was handed over cannot be read")
	}
	if _, err := w.Doc(BlockDoc, f.Block); err != nil {
		return fail(Refused, frozenFolder+f.Code, "it was handed over of a block that is not in the package")
	}
	if _, err := w.Frozen(f.Code); !errors.Is(err, ErrNone) {
		return errors.Join(err, fail(Refused, frozenFolder+f.Code, "a sheet of this code is here already; nothing was taken in"))
	}
	return w.AddFrozen(Frozen{Code: f.Code, Block: f.Block, Owner: f.Owner, Revision: f.Revision, At: f.At, By: f.By, Data: data})
}
