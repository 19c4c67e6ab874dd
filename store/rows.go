package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"corbel/form"
	"corbel/practice"
)

// rows are the rows of a store within one transaction.
type rows struct {
	ctx context.Context
	tx  *sql.Tx
}

// timeLayout writes times in UTC at one width, so that texts compare as times.
const timeLayout = "2006-01-02T15:04:05.000000Z"

func written(t time.Time) string { return t.UTC().Format(timeLayout) }

// A moment reads a time back.
type moment struct{ to *time.Time }

// Scan reads the text of a time.
func (m moment) Scan(v any) error {
	s, ok := v.(string)
	if !ok {
		return fmt.Errorf("a time is stored as %T", v)
	}
	t, err := time.Parse(timeLayout, s)
	*m.to = t
	return err
}

// one reads one row into places and turns an empty answer into practice.ErrNone.
func (r *rows) one(query string, args []any, into ...any) error {
	err := r.tx.QueryRowContext(r.ctx, query, args...).Scan(into...)
	if errors.Is(err, sql.ErrNoRows) {
		return practice.ErrNone
	}
	return err
}

// list reads rows, each into the places that at gives for it.
func list[T any](r *rows, at func(*T) []any, query string, args ...any) ([]T, error) {
	found, err := r.tx.QueryContext(r.ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer found.Close()
	var out []T
	for found.Next() {
		var v T
		if err := found.Scan(at(&v)...); err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, found.Err()
}

func (r *rows) run(query string, args ...any) error {
	_, err := r.tx.ExecContext(r.ctx, query, args...)
	return err
}

const docColumns = "kind, id, owner, name, version, body, changed"

func docAt(d *practice.Doc) []any {
	return []any{&d.Kind, &d.ID, &d.Owner, &d.Name, &d.Version, &d.Text, moment{&d.Changed}}
}

// Doc returns a document.
func (r *rows) Doc(kind practice.Kind, id string) (*practice.Doc, error) {
	var d practice.Doc
	err := r.one("select "+docColumns+" from docs where kind = $1 and id = $2", []any{kind, id}, docAt(&d)...)
	return &d, err
}

// Docs lists documents of a kind.
func (r *rows) Docs(kind practice.Kind, owner string) ([]practice.Doc, error) {
	return list(r, docAt, "select "+docColumns+" from docs where kind = $1 and ($2 = '' or owner = $2) order by name, id", kind, owner)
}

// Heads lists all documents without their texts.
func (r *rows) Heads() ([]practice.Doc, error) {
	at := func(d *practice.Doc) []any {
		return []any{&d.Kind, &d.ID, &d.Owner, &d.Name, &d.Version, moment{&d.Changed}}
	}
	return list(r, at, "select kind, id, owner, name, version, changed from docs order by name, kind, id")
}

// PutDoc writes a document.
func (r *rows) PutDoc(d practice.Doc) error {
	return r.run("insert into docs ("+docColumns+`) values ($1, $2, $3, $4, $5, $6, $7)
		on conflict (kind, id) do update set owner = $3, name = $4, version = $5, body = $6, changed = $7`,
		d.Kind, d.ID, d.Owner, d.Name, d.Version, d.Text, written(d.Changed))
}

// DropDoc takes a document out with its operations.
func (r *rows) DropDoc(kind practice.Kind, id string) error {
	return errors.Join(
		r.run("delete from operations where kind = $1 and doc = $2", kind, id),
		r.run("delete from docs where kind = $1 and id = $2", kind, id))
}

const operationColumns = "id, author, made, kind, doc, base, version, what, edits, asked, undoes, batch, layout"

// edits reads the edits of an operation back.
type edits struct{ to *[]practice.Edit }

// Scan reads the text of edits.
func (e edits) Scan(v any) error {
	s, ok := v.(string)
	if !ok {
		return fmt.Errorf("edits are stored as %T", v)
	}
	return json.Unmarshal([]byte(s), e.to)
}

func operationAt(o *practice.Operation) []any {
	return []any{&o.ID, &o.Author, moment{&o.At}, &o.Kind, &o.Doc, &o.Base, &o.Version, &o.What, edits{&o.Edits}, &o.Asked, &o.Undoes, &o.Batch, &o.Layout}
}

// Operation returns an operation.
func (r *rows) Operation(id string) (*practice.Operation, error) {
	var o practice.Operation
	err := r.one("select "+operationColumns+" from operations where id = $1", []any{id}, operationAt(&o)...)
	return &o, err
}

// Operations lists the operations of a document.
func (r *rows) Operations(kind practice.Kind, doc string) ([]practice.Operation, error) {
	return list(r, operationAt, "select "+operationColumns+" from operations where kind = $1 and doc = $2 order by version", kind, doc)
}

// Batch lists the operations of a change of many.
func (r *rows) Batch(id string) ([]practice.Operation, error) {
	return list(r, operationAt, "select "+operationColumns+" from operations where batch = $1 order by id", id)
}

// LastOperation returns the last operation of an author that is not taken back and
// takes nothing back.
func (r *rows) LastOperation(kind practice.Kind, doc, author string) (*practice.Operation, error) {
	var o practice.Operation
	err := r.one("select "+operationColumns+` from operations o where kind = $1 and doc = $2 and author = $3 and undoes = ''
		and not exists (select 1 from operations u where u.undoes = o.id) order by version desc limit 1`, []any{kind, doc, author}, operationAt(&o)...)
	return &o, err
}

// AddOperation adds an operation.
func (r *rows) AddOperation(o practice.Operation) error {
	e, err := json.Marshal(o.Edits)
	if err != nil {
		return err
	}
	return r.run("insert into operations ("+operationColumns+") values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)",
		o.ID, o.Author, written(o.At), o.Kind, o.Doc, o.Base, o.Version, o.What, string(e), o.Asked, o.Undoes, o.Batch, o.Layout)
}

const frozenColumns = "code, block, owner, revision, made, author"

func frozenAt(f *practice.Frozen) []any {
	return []any{&f.Code, &f.Block, &f.Owner, &f.Revision, moment{&f.At}, &f.By}
}

// Frozen returns a frozen revision.
func (r *rows) Frozen(code string) (*practice.Frozen, error) {
	var f practice.Frozen
	err := r.one("select "+frozenColumns+", data from frozen where code = $1", []any{code}, append(frozenAt(&f), &f.Data)...)
	return &f, err
}

// FrozenOf lists the frozen revisions of a block.
func (r *rows) FrozenOf(block string) ([]practice.Frozen, error) {
	return list(r, frozenAt, "select "+frozenColumns+" from frozen where block = $1 order by revision desc, made desc", block)
}

// AddFrozen adds a frozen revision.
func (r *rows) AddFrozen(f practice.Frozen) error {
	return r.run("insert into frozen ("+frozenColumns+", data) values ($1, $2, $3, $4, $5, $6, $7)",
		f.Code, f.Block, f.Owner, f.Revision, written(f.At), f.By, f.Data)
}

// AddNote adds a note to the audit.
func (r *rows) AddNote(n practice.Note) error {
	return r.run("insert into notes (made, author, what, kind, doc, owner) values ($1, $2, $3, $4, $5, $6)",
		written(n.At), n.By, n.What, n.Kind, n.Doc, n.Owner)
}

// Audit lists the newest notes, of a client or of all.
func (r *rows) Audit(owner string, most int) ([]practice.Note, error) {
	at := func(n *practice.Note) []any {
		return []any{moment{&n.At}, &n.By, &n.What, &n.Kind, &n.Doc, &n.Owner}
	}
	return list(r, at, "select made, author, what, kind, doc, owner from notes where $1 = '' or owner = $1 order by seq desc limit $2", owner, most)
}

// Erase takes out everything about a client.
func (r *rows) Erase(owner string) error {
	return errors.Join(
		r.run("delete from operations where exists (select 1 from docs d where d.kind = operations.kind and d.id = operations.doc and d.owner = $1)", owner),
		r.run("delete from docs where owner = $1", owner),
		r.run("delete from frozen where owner = $1", owner),
		r.run("delete from notes where owner = $1", owner),
		r.run("delete from access where owner = $1", owner))
}

// PutErased remembers the hash of an erased client's id.
func (r *rows) PutErased(e practice.Erased) error {
	return r.run("insert into erased (hash, made) values ($1, $2) on conflict do nothing", e.Hash, written(e.At))
}

// Erased lists the hashes of erased clients.
func (r *rows) Erased() ([]practice.Erased, error) {
	return list(r, func(e *practice.Erased) []any { return []any{&e.Hash, moment{&e.At}} }, "select hash, made from erased order by hash")
}

// AddDoc adds a document with its history.
func (r *rows) AddDoc(d practice.Doc, ops []practice.Operation) error {
	for _, o := range ops {
		if err := r.AddOperation(o); err != nil {
			return err
		}
	}
	return r.PutDoc(d)
}

const accountColumns = "id, email, name, role, language, secret"

func accountAt(a *practice.Account) []any {
	return []any{&a.ID, &a.Email, &a.Name, &a.Role, (*string)(&a.Language), &a.Secret}
}

// Account returns an account.
func (r *rows) Account(id string) (*practice.Account, error) {
	var a practice.Account
	err := r.one("select "+accountColumns+" from accounts where id = $1", []any{id}, accountAt(&a)...)
	return &a, err
}

// AccountByEmail returns the account with an address.
func (r *rows) AccountByEmail(email string) (*practice.Account, error) {
	var a practice.Account
	if err := r.one("select "+accountColumns+" from accounts where email = $1", []any{email}, accountAt(&a)...); err != nil {
		return nil, err
	}
	return &a, nil
}

// Accounts lists all accounts.
func (r *rows) Accounts() ([]practice.Account, error) {
	return list(r, accountAt, "select "+accountColumns+" from accounts order by email")
}

// PutAccount writes an account.
func (r *rows) PutAccount(a practice.Account) error {
	return r.run("insert into accounts ("+accountColumns+`) values ($1, $2, $3, $4, $5, $6)
		on conflict (id) do update set email = $2, name = $3, role = $4, language = $5, secret = $6`,
		a.ID, a.Email, a.Name, a.Role, string(form.Language(a.Language)), a.Secret)
}

// Access lists the clients of an assistant.
func (r *rows) Access(account string) ([]string, error) {
	return list(r, func(s *string) []any { return []any{s} }, "select owner from access where account = $1 order by owner", account)
}

// SetAccess says which clients an assistant works with.
func (r *rows) SetAccess(account string, clients []string) error {
	if err := r.run("delete from access where account = $1", account); err != nil {
		return err
	}
	for _, c := range clients {
		if err := r.run("insert into access (account, owner) values ($1, $2) on conflict do nothing", account, c); err != nil {
			return err
		}
	}
	return nil
}

const loginColumns = "hash, account, device, made, seen"

func loginAt(l *practice.Login) []any {
	return []any{&l.Hash, &l.Account, &l.Device, moment{&l.Made}, moment{&l.Seen}}
}

// Login returns a signed-in device.
func (r *rows) Login(hash string) (*practice.Login, error) {
	var l practice.Login
	err := r.one("select "+loginColumns+" from logins where hash = $1", []any{hash}, loginAt(&l)...)
	return &l, err
}

// Logins lists the devices of an account, the one seen last first.
func (r *rows) Logins(account string) ([]practice.Login, error) {
	return list(r, loginAt, "select "+loginColumns+" from logins where account = $1 order by seen desc, hash", account)
}

// PutLogin writes a signed-in device.
func (r *rows) PutLogin(l practice.Login) error {
	return r.run("insert into logins ("+loginColumns+`) values ($1, $2, $3, $4, $5)
		on conflict (hash) do update set seen = $5`, l.Hash, l.Account, l.Device, written(l.Made), written(l.Seen))
}

// DropLogin signs a device out.
func (r *rows) DropLogin(hash string) error { return r.run("delete from logins where hash = $1", hash) }

// Link returns a link.
func (r *rows) Link(hash string) (*practice.Link, error) {
	var l practice.Link
	err := r.one("select hash, purpose, expires from links where hash = $1", []any{hash}, &l.Hash, &l.Purpose, moment{&l.Expires})
	return &l, err
}

// PutLink writes a link; an older one of the same purpose goes.
func (r *rows) PutLink(l practice.Link) error {
	return errors.Join(
		r.run("delete from links where purpose = $1", l.Purpose),
		r.run("insert into links (hash, purpose, expires) values ($1, $2, $3)", l.Hash, l.Purpose, written(l.Expires)))
}

// DropLink takes a link out.
func (r *rows) DropLink(hash string) error { return r.run("delete from links where hash = $1", hash) }

// DropAccount takes an account out with what belongs to it.
func (r *rows) DropAccount(id string) error {
	return errors.Join(
		r.run("delete from accounts where id = $1", id),
		r.run("delete from logins where account = $1", id),
		r.run("delete from passkeys where account = $1", id),
		r.run("delete from access where account = $1", id))
}

const passkeyColumns = "id, account, name, credential, made, used"

func passkeyAt(k *practice.Passkey) []any {
	return []any{&k.ID, &k.Account, &k.Name, &k.Credential, moment{&k.Made}, moment{&k.Used}}
}

// Passkey returns a passkey.
func (r *rows) Passkey(id string) (*practice.Passkey, error) {
	var k practice.Passkey
	err := r.one("select "+passkeyColumns+" from passkeys where id = $1", []any{id}, passkeyAt(&k)...)
	return &k, err
}

// Passkeys lists the passkeys of an account.
func (r *rows) Passkeys(account string) ([]practice.Passkey, error) {
	return list(r, passkeyAt, "select "+passkeyColumns+" from passkeys where account = $1 order by made desc, id", account)
}

// PutPasskey writes a passkey.
func (r *rows) PutPasskey(k practice.Passkey) error {
	return r.run("insert into passkeys ("+passkeyColumns+`) values ($1, $2, $3, $4, $5, $6)
		on conflict (id) do update set name = $3, credential = $4, used = $6`, k.ID, k.Account, k.Name, k.Credential, written(k.Made), written(k.Used))
}

// DropPasskey takes a passkey out.
func (r *rows) DropPasskey(id string) error { return r.run("delete from passkeys where id = $1", id) }
