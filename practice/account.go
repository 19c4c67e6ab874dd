package practice

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"

	"corbel/form"
)

// A Role says what an account may do.
type Role string

// Roles. An assistant does everything for the clients given to them, and erases
// and exports nothing.
const (
	Coach     Role = "coach"
	Assistant Role = "assistant"
)

// An Account is a person who works in the practice.
type Account struct {
	ID       string
	Email    string // lower case
	Name     string
	Role     Role
	Language form.Language
	Secret   string // argon2id, as text with its parameters
}

// A Login is a signed-in device.
type Login struct {
	Hash    string // SHA-256 of the token, hex
	Account string
	Device  string // what the browser calls itself
	Made    time.Time
	Seen    time.Time
}

// A Link lets somebody in once: to set up the practice.
type Link struct {
	Hash    string // SHA-256 of the token, hex
	Purpose string
	Expires time.Time
}

// Bounds of accounts (our judgement; key judgement).
const (
	loginIdle     = 14 * 24 * time.Hour // a device not seen so long is signed out
	loginLongest  = 90 * 24 * time.Hour // signed out whatever happens
	seenEvery     = 5 * time.Minute     // how often a visit is written down
	linkHolds     = 24 * time.Hour
	tokenBytes    = 32 // random bytes of a token
	shortestPhase = 12 // characters of a passphrase
	longestPhase  = 1000
	longestName   = 200
	longestEmail  = 254
)

// Parameters of argon2id: 19 MiB, 2 passes, 1 lane (key rfc-9106 for the function;
// the figures are our judgement: 0.1 s on one core).
const (
	argonMemory = 19 * 1024 // KiB
	argonPasses = 2
	argonLanes  = 1
	argonKey    = 32 // bytes
	argonSalt   = 16 // bytes
)

const setupPurpose = "set-up"

// errSignIn is the one answer to a wrong address and a wrong passphrase.
var errSignIn = fail(Forbidden, "", "that address and passphrase do not belong together; try again")

// Token returns a new token for a cookie or a link, and the hash that is stored.
func (p *Practice) token() (token, hash string, err error) {
	b := make([]byte, tokenBytes)
	if _, err := io.ReadFull(p.Random, b); err != nil {
		return "", "", fmt.Errorf("no random bytes: %w", err)
	}
	token = base64.RawURLEncoding.EncodeToString(b)
	return token, hashOf(token), nil
}

func hashOf(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}

// hashSecret returns the argon2id hash of a passphrase with its parameters.
func hashSecret(phrase string, salt []byte) string {
	key := argon2.IDKey([]byte(phrase), salt, argonPasses, argonMemory, argonLanes, argonKey)
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, argonMemory, argonPasses, argonLanes,
		base64.RawStdEncoding.EncodeToString(salt), base64.RawStdEncoding.EncodeToString(key))
}

// secretHolds says whether a passphrase belongs to a hash, in a time that does
// not tell.
func secretHolds(secret, phrase string) bool {
	parts := strings.Split(secret, "$")
	if len(parts) != 6 || parts[1] != "argon2id" {
		return false
	}
	var memory, passes uint32
	var lanes uint8
	if n, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &memory, &passes, &lanes); n != 3 || err != nil {
		return false
	}
	salt, err1 := base64.RawStdEncoding.DecodeString(parts[4])
	want, err2 := base64.RawStdEncoding.DecodeString(parts[5])
	if err1 != nil || err2 != nil || len(want) == 0 {
		return false
	}
	got := argon2.IDKey([]byte(phrase), salt, passes, memory, lanes, uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1
}

// SetUpLink returns a token that lets its bearer make the first account, or
// nothing where there is one. An earlier link holds no longer.
func (p *Practice) SetUpLink(ctx context.Context) (token string, err error) {
	err = p.Store.Update(ctx, func(w Writer) error {
		token = ""
		accounts, err := w.Accounts()
		if err != nil || len(accounts) > 0 {
			return err
		}
		t, hash, err := p.token()
		if err != nil {
			return err
		}
		token = t
		return w.PutLink(Link{Hash: hash, Purpose: setupPurpose, Expires: p.Now().Add(linkHolds)})
	})
	return token, err
}

// SetUp makes the first account, a coach, by a link that then holds no longer.
func (p *Practice) SetUp(ctx context.Context, token, name, email, phrase string) (*Account, error) {
	a, err := p.newAccount("", name, email, phrase, Coach, form.English)
	if err != nil {
		return nil, err
	}
	err = p.Store.Update(ctx, func(w Writer) error {
		l, err := w.Link(hashOf(token))
		if errors.Is(err, ErrNone) || err == nil && (l.Purpose != setupPurpose || l.Expires.Before(p.Now())) {
			return fail(Forbidden, "", "this link has been used or has run out; start the program again for a new one")
		}
		if err != nil {
			return err
		}
		if accounts, err := w.Accounts(); err != nil || len(accounts) > 0 {
			return errors.Join(err, fail(Forbidden, "", "this practice is set up already; sign in"))
		}
		if err := w.DropLink(l.Hash); err != nil {
			return err
		}
		if err := w.AddNote(Note{At: p.Now(), By: a.ID, What: "practice set up"}); err != nil {
			return err
		}
		return w.PutAccount(*a)
	})
	if err != nil {
		return nil, err
	}
	return a, nil
}

// newAccount checks what was typed and returns the account; id is made where none
// is given.
func (p *Practice) newAccount(id, name, email, phrase string, role Role, l form.Language) (*Account, error) {
	email = strings.ToLower(strings.TrimSpace(email))
	name = strings.TrimSpace(name)
	at := strings.IndexByte(email, '@')
	switch n := utf8.RuneCountInString(phrase); {
	case name == "" || utf8.RuneCountInString(name) > longestName:
		return nil, fail(Refused, "name", "write the name, up to %d characters", longestName)
	case at < 1 || at == len(email)-1 || strings.ContainsAny(email, " \t\r\n") || len(email) > longestEmail:
		return nil, fail(Refused, "email", "write an e-mail address, such as ida@example.org")
	case n < shortestPhase || n > longestPhase:
		return nil, fail(Refused, "passphrase", "a passphrase has %d to %d characters; three or four words make a good one", shortestPhase, longestPhase)
	case role != Coach && role != Assistant:
		return nil, fail(Refused, "role", "a role is coach or assistant")
	}
	salt := make([]byte, argonSalt)
	if _, err := io.ReadFull(p.Random, salt); err != nil {
		return nil, fmt.Errorf("no random bytes: %w", err)
	}
	if id == "" {
		b := make([]byte, 8)
		if _, err := io.ReadFull(p.Random, b); err != nil {
			return nil, fmt.Errorf("no random bytes: %w", err)
		}
		id = "u" + hex.EncodeToString(b)
	}
	return &Account{ID: id, Email: email, Name: name, Role: role, Language: l, Secret: hashSecret(phrase, salt)}, nil
}

// AddAccount adds an account with a first passphrase. Coaches alone may.
func (p *Practice) AddAccount(ctx context.Context, who *Account, name, email, phrase string, role Role) (*Account, error) {
	if who.Role != Coach {
		return nil, fail(Forbidden, "", "a coach adds accounts")
	}
	a, err := p.newAccount("", name, email, phrase, role, who.Language)
	if err != nil {
		return nil, err
	}
	return a, p.Store.Update(ctx, func(w Writer) error {
		if _, err := w.AccountByEmail(a.Email); !errors.Is(err, ErrNone) {
			return errors.Join(err, fail(Refused, "email", "that address has an account already"))
		}
		if err := w.AddNote(Note{At: p.Now(), By: who.ID, What: "account added"}); err != nil {
			return err
		}
		return w.PutAccount(*a)
	})
}

// SetAccess says which clients an assistant works with. Coaches alone may.
func (p *Practice) SetAccess(ctx context.Context, who *Account, account string, clients []string) error {
	if who.Role != Coach {
		return fail(Forbidden, "", "a coach says who works with whom")
	}
	return p.Store.Update(ctx, func(w Writer) error {
		if _, err := w.Account(account); err != nil {
			return fail(NotFound, "", "there is no such account")
		}
		for _, c := range clients {
			if there, err := p.idTaken(w, "", c); err != nil || !there {
				return errors.Join(err, missing(ClientDoc))
			}
		}
		if err := w.AddNote(Note{At: p.Now(), By: who.ID, What: "access of an account set"}); err != nil {
			return err
		}
		return w.SetAccess(account, clients)
	})
}

// SignIn checks address and passphrase and returns a token for the device. The
// passphrase is hashed for unknown addresses too, so that the time tells nothing.
func (p *Practice) SignIn(ctx context.Context, email, phrase, device string) (token string, err error) {
	email = strings.ToLower(strings.TrimSpace(email))
	if len(email) > longestEmail || len(phrase) > 4*longestPhase {
		return "", errSignIn
	}
	var a *Account
	err = p.Store.View(ctx, func(r Reader) (err error) { a, err = r.AccountByEmail(email); return err })
	if err != nil && !errors.Is(err, ErrNone) {
		return "", err
	}
	p.hashing <- struct{}{} // one hash takes 19 MiB: a few at a time
	secret := hollowSecret
	if a != nil {
		secret = a.Secret
	}
	holds := secretHolds(secret, phrase)
	<-p.hashing
	if a == nil || !holds {
		return "", errSignIn
	}
	return p.Admit(ctx, a, device)
}

// hollowSecret is the hash of nobody's passphrase.
var hollowSecret = hashSecret("", make([]byte, argonSalt))

// Admit signs an account in on a device and returns the token.
func (p *Practice) Admit(ctx context.Context, a *Account, device string) (token string, err error) {
	token, hash, err := p.token()
	if err != nil {
		return "", err
	}
	if len(device) > longestName {
		device = strings.ToValidUTF8(device[:longestName], "")
	}
	now := p.Now()
	return token, p.Store.Update(ctx, func(w Writer) error {
		if err := w.AddNote(Note{At: now, By: a.ID, What: "signed in"}); err != nil {
			return err
		}
		return w.PutLogin(Login{Hash: hash, Account: a.ID, Device: device, Made: now, Seen: now})
	})
}

// WhoIs returns the account behind a token, or a Forbidden error.
func (p *Practice) WhoIs(ctx context.Context, token string) (*Account, *Login, error) {
	var a *Account
	var l *Login
	err := p.Store.View(ctx, func(r Reader) (err error) {
		if l, err = r.Login(hashOf(token)); err == nil {
			a, err = r.Account(l.Account)
		}
		return err
	})
	now := p.Now()
	switch {
	case errors.Is(err, ErrNone):
		return nil, nil, fail(Forbidden, "", "sign in first")
	case err != nil:
		return nil, nil, err
	case now.Sub(l.Seen) > loginIdle || now.Sub(l.Made) > loginLongest:
		return nil, nil, fail(Forbidden, "", "this device was signed out after a while; sign in again")
	}
	if now.Sub(l.Seen) > seenEvery {
		l.Seen = now
		err = p.Store.Update(ctx, func(w Writer) error {
			if _, err := w.Login(l.Hash); err != nil {
				return err // signed out meanwhile
			}
			return w.PutLogin(*l)
		})
	}
	return a, l, err
}

// Logins lists the devices an account is signed in on.
func (p *Practice) Logins(ctx context.Context, who *Account) (list []Login, err error) {
	err = p.Store.View(ctx, func(r Reader) (err error) { list, err = r.Logins(who.ID); return err })
	return list, err
}

// SignOut takes back a login of the account, by its hash.
func (p *Practice) SignOut(ctx context.Context, who *Account, hash string) error {
	return p.Store.Update(ctx, func(w Writer) error {
		list, err := w.Logins(who.ID)
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(list, func(l Login) bool { return l.Hash == hash }) {
			return fail(NotFound, "", "that device is signed out already")
		}
		return w.DropLogin(hash)
	})
}

// maySee says whether an account may see a document: kept sessions are everybody's.
func maySee(r Reader, who *Account, d *Doc) (bool, error) {
	if d.Kind == OwnDoc {
		return true, nil
	}
	return may(r, who, d.Owner)
}

// may says whether an account may see what belongs to a client, group or member.
// Who is given a group is given its members.
func may(r Reader, who *Account, owner string) (bool, error) {
	if who.Role == Coach {
		return true, nil
	}
	if owner == "" {
		return false, nil
	}
	given, err := r.Access(who.ID)
	if err != nil || slices.Contains(given, owner) {
		return err == nil, err
	}
	switch m, err := r.Doc(MemberDoc, owner); {
	case errors.Is(err, ErrNone):
		return false, nil
	case err != nil:
		return false, err
	default:
		return slices.Contains(given, groupOf(m)), nil
	}
}

// SetLanguage sets the language of an account.
func (p *Practice) SetLanguage(ctx context.Context, who *Account, l form.Language) error {
	if l != form.English && l != form.German {
		return fail(Refused, "language", "a language is en or de")
	}
	return p.Store.Update(ctx, func(w Writer) error {
		a, err := w.Account(who.ID)
		if err != nil {
			return err
		}
		a.Language = l
		return w.PutAccount(*a)
	})
}

// AuditShown is how many notes of the audit a page shows.
const AuditShown = 200

// A SettingsView is what the settings show an account: a coach sees all accounts and
// notes, an assistant the notes of their clients.
type SettingsView struct {
	Accounts []AccountView
	Clients  []Doc
	Logins   []Login
	Audit    []Note
	Names    map[string]string // of accounts by id
}

// An AccountView is an account with the clients given to it.
type AccountView struct {
	Account
	Access map[string]bool
}

// Settings returns what the settings show.
func (p *Practice) Settings(ctx context.Context, who *Account) (*SettingsView, error) {
	out := &SettingsView{}
	err := p.Store.View(ctx, func(r Reader) error {
		*out = SettingsView{Names: map[string]string{}}
		accounts, err := r.Accounts()
		if err != nil {
			return err
		}
		for _, a := range accounts {
			a.Secret = ""
			out.Names[a.ID] = a.Name
			if who.Role != Coach {
				continue
			}
			v := AccountView{a, map[string]bool{}}
			clients, err := r.Access(a.ID)
			if err != nil {
				return err
			}
			for _, c := range clients {
				v.Access[c] = true
			}
			out.Accounts = append(out.Accounts, v)
		}
		if out.Logins, err = r.Logins(who.ID); err != nil {
			return err
		}
		if out.Clients, err = r.Docs(ClientDoc, ""); err != nil {
			return err
		}
		if who.Role == Coach {
			out.Audit, err = r.Audit("", AuditShown)
			return err
		}
		out.Clients = nil
		clients, err := r.Access(who.ID)
		if err != nil {
			return err
		}
		for _, c := range clients {
			notes, err := r.Audit(c, AuditShown)
			if err != nil {
				return err
			}
			out.Audit = append(out.Audit, notes...)
		}
		slices.SortStableFunc(out.Audit, func(a, b Note) int { return b.At.Compare(a.At) })
		return nil
	})
	return out, err
}
