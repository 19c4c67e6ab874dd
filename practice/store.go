package practice

import (
	"context"
	"errors"
	"time"
)

// A Kind is a kind of document.
type Kind string

// Kinds of documents. Each is kept as the text of its form.
const (
	ClientDoc   Kind = "client"
	BlockDoc    Kind = "block"
	LogDoc      Kind = "log" // one of each client or member, under their id
	PracticeDoc Kind = "practice"
	GroupDoc    Kind = "group"
	MemberDoc   Kind = "member"
	OwnDoc      Kind = "session" // kept by name, nobody's
)

// Kinds lists the kinds of documents, those first that others name.
var Kinds = []Kind{PracticeDoc, OwnDoc, ClientDoc, GroupDoc, MemberDoc, BlockDoc, LogDoc}

// A Doc is a stored document.
type Doc struct {
	Kind    Kind
	ID      string
	Owner   string // id of the client, member or group it is about; empty for the practice
	Name    string // as people know it, for lists
	Version int    // rises by one with every operation
	Text    string // the form
	Changed time.Time
}

// A Frozen revision is what was handed over, whole.
type Frozen struct {
	Code     string
	Block    string
	Owner    string
	Revision int
	At       time.Time
	By       string
	Data     []byte // JSON, as sheet.Frozen writes it
}

// A Note of the audit says who did what to which document, without names.
type Note struct {
	At    time.Time
	By    string // id of an account; empty for the program itself
	What  string
	Kind  Kind
	Doc   string
	Owner string
}

// An Erased is what is left of a client who was erased: a hash of the id, so that a
// backup made before brings nobody back.
type Erased struct {
	Hash string // SHA-256 of the id, hex
	At   time.Time
}

// ErrNone says that a store holds no such row.
var ErrNone = errors.New("practice: no such row")

// A Store keeps a practice. Update runs one function after another, each whole or
// not at all; when it returns nil, what was written is on the disk. View sees one
// state throughout. The functions may be run again, so they touch nothing but the
// store.
type Store interface {
	View(ctx context.Context, f func(Reader) error) error
	Update(ctx context.Context, f func(Writer) error) error
	Tidy(ctx context.Context) error // takes what was erased out of journals and spare copies too
	Close() error
}

// A Reader reads a store. What is not there is ErrNone; lists are in a fixed order.
type Reader interface {
	Doc(kind Kind, id string) (*Doc, error)
	Docs(kind Kind, owner string) ([]Doc, error) // of a client, or all where owner is empty; by name, then id
	Heads() ([]Doc, error)                       // of every kind, without their texts; by name, then kind and id
	Operation(id string) (*Operation, error)
	Operations(kind Kind, doc string) ([]Operation, error) // oldest first
	Batch(id string) ([]Operation, error)                  // of a change of many, in the order they were made
	LastOperation(kind Kind, doc, author string) (*Operation, error)
	Frozen(code string) (*Frozen, error)
	FrozenOf(block string) ([]Frozen, error) // newest first, without data
	Erased() ([]Erased, error)
	Audit(owner string, most int) ([]Note, error)

	Account(id string) (*Account, error)
	AccountByEmail(email string) (*Account, error)
	Accounts() ([]Account, error)
	Access(account string) ([]string, error) // ids of clients
	Login(hash string) (*Login, error)
	Logins(account string) ([]Login, error)
	Link(hash string) (*Link, error)
	Passkey(id string) (*Passkey, error)
	Passkeys(account string) ([]Passkey, error) // newest first
}

// A Writer changes a store.
type Writer interface {
	Reader
	PutDoc(d Doc) error
	DropDoc(kind Kind, id string) error // with its operations
	AddOperation(o Operation) error
	AddFrozen(f Frozen) error
	AddNote(n Note) error
	Erase(client string) error // everything about a client
	PutErased(e Erased) error
	AddDoc(d Doc, ops []Operation) error // with its history, as another store held it

	PutAccount(a Account) error
	DropAccount(id string) error // with logins, passkeys and access
	PutPasskey(k Passkey) error
	DropPasskey(id string) error
	SetAccess(account string, clients []string) error
	PutLogin(l Login) error
	DropLogin(hash string) error
	PutLink(l Link) error
	DropLink(hash string) error
}
