package practice

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"
)

// A Passkey lets an account in from a device, without a passphrase.
type Passkey struct {
	ID         string // of the credential, base64url
	Account    string
	Name       string // what the account calls it
	Credential string // JSON: public key and counter
	Made, Used time.Time
}

// Bounds of passkeys (our judgement; key judgement).
const (
	mostPasskeys    = 20
	ceremonyHolds   = 5 * time.Minute
	mostCeremonies  = 10000
	mostPasskeyName = 100
)

// ceremonies are challenges that were given out and not answered yet. A program that
// starts again has forgotten them: the page asks for a new one.
type ceremonies struct {
	mutex sync.Mutex
	open  map[string]ceremony // by the hash of their token
}

// A ceremony is one challenge.
type ceremony struct {
	account string // empty for signing in
	session webauthn.SessionData
	expires time.Time
}

// errCeremony is the answer to a challenge that was used, ran out or is another's.
var errCeremony = fail(Forbidden, "", "this took too long or was done already; try again")

// errPasskey is the one answer to every passkey that does not let in.
var errPasskey = fail(Forbidden, "", "this passkey does not belong to an account here; try again, or sign in with address and passphrase")

// keep keeps a challenge and returns its token.
func (p *Practice) keepCeremony(account string, s *webauthn.SessionData) (string, error) {
	token, hash, err := p.token()
	if err != nil {
		return "", err
	}
	c := &p.asked
	c.mutex.Lock()
	defer c.mutex.Unlock()
	now := p.Now()
	for h, o := range c.open {
		if o.expires.Before(now) {
			delete(c.open, h)
		}
	}
	if len(c.open) >= mostCeremonies {
		return "", fail(TooMany, "", "too many people are signing in at this moment; try again in a few minutes")
	}
	if c.open == nil {
		c.open = map[string]ceremony{}
	}
	c.open[hash] = ceremony{account, *s, now.Add(ceremonyHolds)}
	return token, nil
}

// takeCeremony returns a challenge by its token, once.
func (p *Practice) takeCeremony(account, token string) (*webauthn.SessionData, error) {
	c := &p.asked
	c.mutex.Lock()
	defer c.mutex.Unlock()
	hash := hashOf(token)
	o, ok := c.open[hash]
	delete(c.open, hash)
	if !ok || o.account != account || o.expires.Before(p.Now()) {
		return nil, errCeremony
	}
	return &o.session, nil
}

// webAuthn is the protocol for the address the practice is reached at.
func (p *Practice) webAuthn() (*webauthn.WebAuthn, error) {
	u, err := url.Parse(p.Origin)
	if err != nil || u.Hostname() == "" || net.ParseIP(u.Hostname()) != nil {
		return nil, fail(Refused, "", "passkeys belong to a name, not to a number: open the practice at a name such as localhost or that of --base-url")
	}
	return webauthn.New(&webauthn.Config{RPID: u.Hostname(), RPDisplayName: "Corbel", RPOrigins: []string{u.Scheme + "://" + u.Host}})
}

// A keyed account is an account with its credentials, as the protocol asks for it.
type keyed struct {
	account     *Account
	credentials []webauthn.Credential
}

// WebAuthnID is the id of the account, which names nobody.
func (k keyed) WebAuthnID() []byte { return []byte(k.account.ID) }

// WebAuthnName is the address of the account.
func (k keyed) WebAuthnName() string { return k.account.Email }

// WebAuthnDisplayName is the name of the account.
func (k keyed) WebAuthnDisplayName() string { return k.account.Name }

// WebAuthnCredentials are the passkeys of the account.
func (k keyed) WebAuthnCredentials() []webauthn.Credential { return k.credentials }

// keyedOf reads an account with its passkeys.
func keyedOf(r Reader, account string) (keyed, error) {
	a, err := r.Account(account)
	if err != nil {
		return keyed{}, err
	}
	list, err := r.Passkeys(account)
	if err != nil {
		return keyed{}, err
	}
	k := keyed{account: a}
	for _, one := range list {
		var c webauthn.Credential
		if err := json.Unmarshal([]byte(one.Credential), &c); err != nil {
			return keyed{}, fmt.Errorf("a stored passkey cannot be read: %w", err)
		}
		k.credentials = append(k.credentials, c)
	}
	return k, nil
}

// BeginPasskey begins to make a passkey for the account. It returns what the page hands
// to the browser, as JSON, and a token that belongs to the answer.
func (p *Practice) BeginPasskey(ctx context.Context, who *Account) (options []byte, token string, err error) {
	w, err := p.webAuthn()
	if err != nil {
		return nil, "", err
	}
	var k keyed
	if err := p.Store.View(ctx, func(r Reader) (err error) { k, err = keyedOf(r, who.ID); return err }); err != nil {
		return nil, "", err
	}
	if len(k.credentials) >= mostPasskeys {
		return nil, "", fail(Refused, "", "an account has at most %d passkeys; take one out first", mostPasskeys)
	}
	made, session, err := w.BeginRegistration(k,
		webauthn.WithAuthenticatorSelection(protocol.AuthenticatorSelection{ResidentKey: protocol.ResidentKeyRequirementRequired, UserVerification: protocol.VerificationRequired}),
		webauthn.WithExclusions(webauthn.Credentials(k.credentials).CredentialDescriptors()))
	if err != nil {
		return nil, "", err
	}
	if options, err = json.Marshal(made); err != nil {
		return nil, "", err
	}
	token, err = p.keepCeremony(who.ID, session)
	return options, token, err
}

// AddPasskey ends what BeginPasskey began: the browser's answer is checked and the
// passkey stored under a name.
func (p *Practice) AddPasskey(ctx context.Context, who *Account, token, name string, answer []byte) error {
	name = strings.TrimSpace(name)
	if name == "" || utf8.RuneCountInString(name) > mostPasskeyName {
		return fail(Refused, "name", "give the passkey a name of up to %d characters, such as the device it is on", mostPasskeyName)
	}
	session, err := p.takeCeremony(who.ID, token)
	if err != nil {
		return err
	}
	w, err := p.webAuthn()
	if err != nil {
		return err
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes(answer)
	if err != nil {
		return fail(Refused, "", "the browser's answer cannot be read; try again")
	}
	return p.Store.Update(ctx, func(s Writer) error {
		k, err := keyedOf(s, who.ID)
		if err != nil {
			return err
		}
		c, err := w.CreateCredential(k, *session, parsed)
		if err != nil {
			return fail(Refused, "", "the browser's answer does not fit what was asked; try again")
		}
		id := base64.RawURLEncoding.EncodeToString(c.ID)
		if _, err := s.Passkey(id); !errors.Is(err, ErrNone) {
			return errors.Join(err, fail(Refused, "", "this passkey is known already"))
		}
		text, err := json.Marshal(c)
		if err != nil {
			return err
		}
		now := p.Now()
		return errors.Join(s.PutPasskey(Passkey{ID: id, Account: who.ID, Name: name, Credential: string(text), Made: now, Used: now}),
			s.AddNote(Note{At: now, By: who.ID, What: "passkey added"}))
	})
}

// BeginPasskeySignIn begins to sign in by a passkey. It returns what the page hands to
// the browser, as JSON, and a token that belongs to the answer.
func (p *Practice) BeginPasskeySignIn(context.Context) (options []byte, token string, err error) {
	w, err := p.webAuthn()
	if err != nil {
		return nil, "", err
	}
	asked, session, err := w.BeginDiscoverableLogin(webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		return nil, "", err
	}
	if options, err = json.Marshal(asked); err != nil {
		return nil, "", err
	}
	token, err = p.keepCeremony("", session)
	return options, token, err
}

// SignInByPasskey ends what BeginPasskeySignIn began and returns a token for the
// device.
func (p *Practice) SignInByPasskey(ctx context.Context, token string, answer []byte, device string) (string, error) {
	session, err := p.takeCeremony("", token)
	if err != nil {
		return "", err
	}
	w, err := p.webAuthn()
	if err != nil {
		return "", err
	}
	parsed, err := protocol.ParseCredentialRequestResponseBytes(answer)
	if err != nil {
		return "", errPasskey
	}
	var who *Account
	err = p.Store.Update(ctx, func(s Writer) error {
		var k keyed
		c, err := w.ValidateDiscoverableLogin(func(_, handle []byte) (webauthn.User, error) {
			var err error
			k, err = keyedOf(s, string(handle))
			return k, err
		}, *session, parsed)
		if err != nil || c.Authenticator.CloneWarning { // a counter that ran back: the key was copied
			return errPasskey
		}
		one, err := s.Passkey(base64.RawURLEncoding.EncodeToString(c.ID))
		if err != nil {
			return err
		}
		text, err := json.Marshal(c)
		if err != nil {
			return err
		}
		one.Credential, one.Used = string(text), p.Now()
		who = k.account
		return s.PutPasskey(*one)
	})
	if err != nil {
		return "", err
	}
	return p.Admit(ctx, who, device)
}

// Passkeys lists the passkeys of an account, the newest first.
func (p *Practice) Passkeys(ctx context.Context, who *Account) (list []Passkey, err error) {
	err = p.Store.View(ctx, func(r Reader) (err error) { list, err = r.Passkeys(who.ID); return err })
	return list, err
}

// DropPasskey takes a passkey of the account out.
func (p *Practice) DropPasskey(ctx context.Context, who *Account, id string) error {
	return p.Store.Update(ctx, func(w Writer) error {
		list, err := w.Passkeys(who.ID)
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(list, func(k Passkey) bool { return k.ID == id }) {
			return fail(NotFound, "", "that passkey is gone already")
		}
		return errors.Join(w.DropPasskey(id), w.AddNote(Note{At: p.Now(), By: who.ID, What: "passkey taken out"}))
	})
}

// ChangePhrase gives the account a new passphrase, after the old one was typed, and
// signs every other device out.
func (p *Practice) ChangePhrase(ctx context.Context, who *Account, old, phrase, keep string) error {
	if !p.phraseHolds(ctx, who.ID, old) {
		return fail(Forbidden, "old", "that is not your passphrase; nothing was changed")
	}
	return p.setPhrase(ctx, who, who.ID, phrase, keep)
}

// ResetPhrase gives another account a new passphrase and signs its devices out. Coaches
// alone may.
func (p *Practice) ResetPhrase(ctx context.Context, who *Account, account, phrase string) error {
	if who.Role != Coach {
		return fail(Forbidden, "", "a coach gives new passphrases")
	}
	return p.setPhrase(ctx, who, account, phrase, "")
}

// phraseHolds says whether a passphrase is that of an account.
func (p *Practice) phraseHolds(ctx context.Context, account, phrase string) bool {
	var a *Account
	if err := p.Store.View(ctx, func(r Reader) (err error) { a, err = r.Account(account); return err }); err != nil || len(phrase) > 4*longestPhase {
		return false
	}
	p.hashing <- struct{}{}
	defer func() { <-p.hashing }()
	return secretHolds(a.Secret, phrase)
}

// setPhrase sets a passphrase and drops the logins of the account but one.
func (p *Practice) setPhrase(ctx context.Context, who *Account, account, phrase, keep string) error {
	fresh, err := p.newAccount(account, "x", "x@x", phrase, Coach, "") // checks and hashes the phrase alone
	if err != nil {
		return err
	}
	return p.Store.Update(ctx, func(w Writer) error {
		a, err := w.Account(account)
		if errors.Is(err, ErrNone) {
			return fail(NotFound, "", "there is no such account")
		}
		if err != nil {
			return err
		}
		a.Secret = fresh.Secret
		return errors.Join(w.PutAccount(*a), dropLogins(w, account, keep), w.AddNote(Note{At: p.Now(), By: who.ID, What: "passphrase changed"}))
	})
}

// dropLogins signs every device of an account out but one.
func dropLogins(w Writer, account, keep string) error {
	list, err := w.Logins(account)
	for _, l := range list {
		if l.Hash != keep {
			err = errors.Join(err, w.DropLogin(l.Hash))
		}
	}
	return err
}

// SignOutElsewhere signs every other device of the account out; keep is the hash of the
// login that stays.
func (p *Practice) SignOutElsewhere(ctx context.Context, who *Account, keep string) error {
	return p.Store.Update(ctx, func(w Writer) error { return dropLogins(w, who.ID, keep) })
}

// SignEverybodyOut drops every login: after a backup was restored, devices signed out
// since it was made would be in again.
func (p *Practice) SignEverybodyOut(ctx context.Context) error {
	return p.Store.Update(ctx, func(w Writer) error {
		accounts, err := w.Accounts()
		for _, a := range accounts {
			err = errors.Join(err, dropLogins(w, a.ID, ""))
		}
		return err
	})
}

// RemoveAccount takes an account out with its devices, passkeys and access; what it
// changed stays. Coaches alone may, and not the last of them.
func (p *Practice) RemoveAccount(ctx context.Context, who *Account, account string) error {
	if who.Role != Coach {
		return fail(Forbidden, "", "a coach takes accounts out")
	}
	return p.Store.Update(ctx, func(w Writer) error {
		accounts, err := w.Accounts()
		if err != nil {
			return err
		}
		i := slices.IndexFunc(accounts, func(a Account) bool { return a.ID == account })
		if i < 0 {
			return fail(NotFound, "", "there is no such account")
		}
		others := slices.Delete(slices.Clone(accounts), i, i+1)
		if !slices.ContainsFunc(others, func(a Account) bool { return a.Role == Coach }) {
			return fail(Refused, "", "this is the last coach; add another first")
		}
		return errors.Join(w.DropAccount(account), w.AddNote(Note{At: p.Now(), By: who.ID, What: "account taken out"}))
	})
}
