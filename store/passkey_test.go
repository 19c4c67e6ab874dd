package store

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"corbel/practice"
)

// An authenticator is a device that keeps one key, ES256, and answers challenges with
// it as the standard says (key webauthn-2).
type authenticator struct {
	key     *ecdsa.PrivateKey
	id      []byte
	handle  []byte
	counter uint32
	flags   byte // of the person: present, verified
	origin  string
	host    string
}

// Flags of an authenticator's data.
const (
	present  = 0x01
	verified = 0x04
	attested = 0x40
)

func newAuthenticator(t *testing.T) *authenticator {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	id := make([]byte, 16)
	if _, err := rand.Read(id); err != nil {
		t.Fatal(err)
	}
	return &authenticator{key: key, id: id, flags: present | verified, origin: "http://localhost:7420", host: "localhost"}
}

// The few kinds of CBOR that are needed (key rfc-8949): text, bytes, small maps.
func cborHead(major byte, n int) []byte {
	switch {
	case n < 24:
		return []byte{major<<5 | byte(n)}
	case n < 256:
		return []byte{major<<5 | 24, byte(n)}
	}
	return []byte{major<<5 | 25, byte(n >> 8), byte(n)}
}

func cborText(s string) []byte  { return append(cborHead(3, len(s)), s...) }
func cborBytes(b []byte) []byte { return append(cborHead(2, len(b)), b...) }

// data is the authenticator's data, with the public key where one is made.
func (a *authenticator) data(withKey bool) []byte {
	host := sha256.Sum256([]byte(a.host))
	out := append([]byte{}, host[:]...)
	flags := a.flags
	if withKey {
		flags |= attested
	}
	out = append(out, flags)
	out = binary.BigEndian.AppendUint32(out, a.counter)
	if !withKey {
		return out
	}
	out = append(out, make([]byte, 16)...)
	out = binary.BigEndian.AppendUint16(out, uint16(len(a.id)))
	out = append(out, a.id...)
	point, err := a.key.PublicKey.Bytes() // 4, x, y
	if err != nil {
		panic(err)
	}
	out = append(out, 0xa5, 0x01, 0x02, 0x03, 0x26, 0x20, 0x01, 0x21) // EC2, ES256, P-256, x
	out = append(out, cborBytes(point[1:33])...)
	out = append(out, 0x22)
	return append(out, cborBytes(point[33:])...)
}

// client is what the browser says it was asked, as JSON.
func (a *authenticator) client(kind, challenge string) []byte {
	text, err := json.Marshal(map[string]any{"type": kind, "challenge": challenge, "origin": a.origin, "crossOrigin": false})
	if err != nil {
		panic(err)
	}
	return text
}

func url64(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

// make answers what BeginPasskey asks.
func (a *authenticator) make(t *testing.T, options []byte) []byte {
	t.Helper()
	var in struct {
		PublicKey struct {
			Challenge string
			User      struct{ ID string }
		}
	}
	if err := json.Unmarshal(options, &in); err != nil {
		t.Fatal(err)
	}
	var err error
	if a.handle, err = base64.RawURLEncoding.DecodeString(in.PublicKey.User.ID); err != nil {
		t.Fatal(err)
	}
	object := append([]byte{0xa3}, cborText("fmt")...)
	object = append(append(append(object, cborText("none")...), cborText("attStmt")...), 0xa0)
	object = append(append(object, cborText("authData")...), cborBytes(a.data(true))...)
	return answer(t, a.id, map[string]any{"clientDataJSON": url64(a.client("webauthn.create", in.PublicKey.Challenge)), "attestationObject": url64(object)})
}

// sign answers what BeginPasskeySignIn asks.
func (a *authenticator) sign(t *testing.T, options []byte) []byte {
	t.Helper()
	var in struct{ PublicKey struct{ Challenge string } }
	if err := json.Unmarshal(options, &in); err != nil {
		t.Fatal(err)
	}
	said := a.client("webauthn.get", in.PublicKey.Challenge)
	hash := sha256.Sum256(said)
	data := a.data(false)
	sum := sha256.Sum256(append(append([]byte{}, data...), hash[:]...))
	signature, err := ecdsa.SignASN1(rand.Reader, a.key, sum[:])
	if err != nil {
		t.Fatal(err)
	}
	return answer(t, a.id, map[string]any{"clientDataJSON": url64(said), "authenticatorData": url64(data), "signature": url64(signature), "userHandle": url64(a.handle)})
}

// answer is what the page sends.
func answer(t *testing.T, id []byte, response map[string]any) []byte {
	t.Helper()
	out, err := json.Marshal(map[string]any{"id": url64(id), "rawId": url64(id), "type": "public-key", "response": response, "clientExtensionResults": map[string]any{}})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Ensure that a passkey is made and signs in its account; that a challenge serves once,
// for its account and for five minutes; that an answer for another address, without the
// person verified, by another key or with a counter that ran back is refused; and that
// one taken out lets in no longer.
func TestPasskey(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := filled(t, s)
		if _, _, err := p.BeginPasskey(t.Context(), coach); practice.ReasonOf(err) != practice.Refused {
			t.Errorf("a passkey for no address: %v", err)
		}
		p.Origin = "http://localhost:7420"
		device := newAuthenticator(t)
		options, token, err := p.BeginPasskey(t.Context(), coach)
		if err != nil {
			t.Fatal(err)
		}
		made := device.make(t, options)
		if err := p.AddPasskey(t.Context(), coach, token, "laptop", made); err != nil {
			t.Fatal(err)
		}
		if err := p.AddPasskey(t.Context(), coach, token, "laptop", made); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("the same challenge twice: %v", err)
		}
		_, token, err = p.BeginPasskey(t.Context(), coach)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.AddPasskey(t.Context(), assistant, token, "laptop", made); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("another's challenge: %v", err)
		}
		in := func(change func(*authenticator)) error {
			options, token, err := p.BeginPasskeySignIn(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			device.counter++
			other := *device
			change(&other)
			got, err := p.SignInByPasskey(t.Context(), token, other.sign(t, options), "a test")
			if err != nil {
				return err
			}
			who, _, err := p.WhoIs(t.Context(), got)
			if err == nil && who.ID != coach.ID {
				t.Errorf("signed in as %s", who.Name)
			}
			return err
		}
		if err := in(func(*authenticator) {}); err != nil {
			t.Fatal(err)
		}
		for name, change := range map[string]func(*authenticator){
			"another address":   func(a *authenticator) { a.origin = "http://localhost.example.org" },
			"another host":      func(a *authenticator) { a.host = "example.org" },
			"nobody verified":   func(a *authenticator) { a.flags = present },
			"another key":       func(a *authenticator) { a.key = newAuthenticator(t).key },
			"another's account": func(a *authenticator) { a.handle = []byte(assistant.ID) },
			"nobody's account":  func(a *authenticator) { a.handle = []byte("nobody") },
			"a counter run back": func(a *authenticator) {
				a.counter = 0
				device.counter--
			},
		} {
			if err := in(change); practice.ReasonOf(err) != practice.Forbidden {
				t.Errorf("%s: %v", name, err)
			}
		}
		options, token, err = p.BeginPasskeySignIn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		p.Now = func() time.Time { return noon().Add(6 * time.Minute) }
		device.counter++
		if _, err := p.SignInByPasskey(t.Context(), token, device.sign(t, options), "a test"); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("after six minutes: %v", err)
		}
		list, err := p.Passkeys(t.Context(), coach)
		if err != nil || len(list) != 1 || list[0].Name != "laptop" {
			t.Fatalf("%v %v", list, err)
		}
		if err := p.DropPasskey(t.Context(), assistant, list[0].ID); practice.ReasonOf(err) != practice.NotFound {
			t.Errorf("another took it out: %v", err)
		}
		if err := p.DropPasskey(t.Context(), coach, list[0].ID); err != nil {
			t.Fatal(err)
		}
		if err := in(func(*authenticator) {}); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("taken out, yet in: %v", err)
		}
	})
}

// Ensure that a new passphrase needs the old one and signs other devices out, that a
// coach resets and removes accounts, though not the last coach, and that who is removed
// is out.
func TestRevoke(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := filled(t, s)
		sign := func(email, phrase string) string {
			token, err := p.SignIn(t.Context(), email, phrase, "a test")
			if err != nil {
				t.Fatal(err)
			}
			return token
		}
		here, there, his := sign("ida@example.org", "four plain long words"), sign("ida@example.org", "four plain long words"), sign("jon@example.org", "another plain phrase")
		_, login, err := p.WhoIs(t.Context(), here)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.ChangePhrase(t.Context(), coach, "not the phrase", "five plain long words here", login.Hash); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("a wrong old passphrase: %v", err)
		}
		if err := p.ChangePhrase(t.Context(), coach, "four plain long words", "short", login.Hash); practice.ReasonOf(err) != practice.Refused {
			t.Errorf("a short new passphrase: %v", err)
		}
		if err := p.ChangePhrase(t.Context(), coach, "four plain long words", "five plain long words here", login.Hash); err != nil {
			t.Fatal(err)
		}
		if _, _, err := p.WhoIs(t.Context(), there); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("the other device stays in: %v", err)
		}
		if who, _, err := p.WhoIs(t.Context(), here); err != nil || who.Name != "Ida Brandt" || who.Email != "ida@example.org" || who.Role != practice.Coach {
			t.Errorf("this device: %+v %v", who, err)
		}
		sign("ida@example.org", "five plain long words here")
		for name, do := range map[string]func() error{
			"resets": func() error {
				return p.ResetPhrase(t.Context(), assistant, coach.ID, "a phrase of the assistant")
			},
			"removes": func() error { return p.RemoveAccount(t.Context(), assistant, coach.ID) },
		} {
			if err := do(); practice.ReasonOf(err) != practice.Forbidden {
				t.Errorf("an assistant %s an account: %v", name, err)
			}
		}
		if err := p.ResetPhrase(t.Context(), coach, assistant.ID, "a fresh plain phrase"); err != nil {
			t.Fatal(err)
		}
		if _, _, err := p.WhoIs(t.Context(), his); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("his device stays in: %v", err)
		}
		his = sign("jon@example.org", "a fresh plain phrase")
		if err := p.SignEverybodyOut(t.Context()); err != nil {
			t.Fatal(err)
		}
		for _, token := range []string{here, his} {
			if _, _, err := p.WhoIs(t.Context(), token); practice.ReasonOf(err) != practice.Forbidden {
				t.Errorf("everybody is out, yet: %v", err)
			}
		}
		his = sign("jon@example.org", "a fresh plain phrase")
		if err := p.RemoveAccount(t.Context(), coach, coach.ID); practice.ReasonOf(err) != practice.Refused || !strings.Contains(err.Error(), "last coach") {
			t.Errorf("the last coach removed: %v", err)
		}
		if err := p.RemoveAccount(t.Context(), coach, assistant.ID); err != nil {
			t.Fatal(err)
		}
		if _, _, err := p.WhoIs(t.Context(), his); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("removed, yet in: %v", err)
		}
		if _, err := p.SignIn(t.Context(), "jon@example.org", "a fresh plain phrase", "x"); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("removed, yet signs in: %v", err)
		}
	})
}
