package web_test

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"corbel/body"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
	"corbel/store"
	"corbel/web"
)

// A house is a practice served for a test, in a store of its own.
type house struct {
	*practice.Practice
	server *httptest.Server
	coach  *practice.Account
	ids    int
}

// bodies keeps solved bodies for all tests of the package.
var bodies *body.Cache

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "corbel-web")
	if err != nil {
		panic(err)
	}
	bodies = &body.Cache{Dir: dir, Most: body.CacheMost, Now: time.Now}
	code := m.Run()
	stopChromium()
	os.RemoveAll(dir)
	os.Exit(code)
}

// now is the day of the tests: the demo's first block begins five days later.
var now = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

// open serves a practice with the clients and blocks of the demo, set up by its link.
func open(t testing.TB) *house {
	t.Helper()
	ctx := context.Background()
	s, err := store.OpenSQLite(ctx, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	h := &house{Practice: practice.New(s, exercise.Shipped, func() time.Time { return now }, plan.MadeWith{Program: "test"})}
	h.Bodies = bodies
	h.server = httptest.NewServer(web.New(h.Practice, web.Options{Log: slog.New(slog.DiscardHandler)}))
	t.Cleanup(h.server.Close)
	token, err := h.SetUpLink(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if h.coach, err = h.SetUp(ctx, token, "Ida Holm", "ida@example.org", "four words of ours"); err != nil {
		t.Fatal(err)
	}
	h.put(t, practice.GroupDoc, "", "valley-group.yaml")
	h.put(t, practice.MemberDoc, "", "nadja-member.yaml")
	h.put(t, practice.BlockDoc, "valley", "valley-block.yaml")
	for _, name := range []string{"rosa", "tomas", "mila"} {
		owner := h.put(t, practice.ClientDoc, "", name+"-client.yaml")
		h.put(t, practice.BlockDoc, owner, name+"-block.yaml")
	}
	return h
}

// id is a new id of an operation.
func (h *house) id() string { h.ids++; return fmt.Sprintf("operation-%020d", h.ids) }

func (h *house) put(t testing.TB, kind practice.Kind, owner, file string) string {
	t.Helper()
	text, err := examples.Files.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if kind == practice.MemberDoc { // in a practice documents name each other by their ids
		text = []byte(strings.Replace(string(text), "valley-group.yaml", "valley.yaml", 1))
	}
	out, err := h.Put(context.Background(), h.coach, kind, owner, string(text), h.id())
	if err != nil {
		t.Fatal(err)
	}
	return out.Doc.ID
}

// browser is a client that keeps its cookies; signed in where a phrase is given.
func (h *house) browser(t *testing.T, email, phrase string) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	c := &http.Client{Jar: jar}
	if phrase != "" {
		page, status := h.post(t, c, "/sign-in", url.Values{"email": {email}, "passphrase": {phrase}})
		if status != http.StatusOK || !strings.Contains(page, `action="/settings/sign-out"`) {
			t.Fatalf("signing in as %s gave %d", email, status)
		}
	}
	return c
}

func (h *house) get(t *testing.T, c *http.Client, path string) (string, int) {
	t.Helper()
	r, err := http.NewRequest(http.MethodGet, h.server.URL+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	return send(t, c, r)
}

func (h *house) post(t *testing.T, c *http.Client, path string, values url.Values) (string, int) {
	t.Helper()
	r, err := http.NewRequest(http.MethodPost, h.server.URL+path, strings.NewReader(values.Encode()))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return send(t, c, r)
}

func send(t *testing.T, c *http.Client, r *http.Request) (string, int) {
	t.Helper()
	a, err := c.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	b, err := io.ReadAll(a.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b), a.StatusCode
}

// everyPage lists a page of every kind.
var everyPage = []string{"/", "/?q=rosa", "/clients/new", "/clients/rosa-l", "/clients/mila-r", "/clients/rosa-l/file", "/clients/mila-r/intake", "/clients/rosa-l/new-block",
	"/blocks/rosa-b2", "/blocks/mila-b1", "/blocks/rosa-b2/file", "/blocks/rosa-b2/record", "/blocks/rosa-b2/record?session=a&week=1", "/blocks/rosa-b2/hand-over", "/blocks/rosa-b2/change", "/blocks/rosa-b2/copy", "/many", "/many?do=copy&block=rosa-b2&what=week+2", "/blocks/rosa-b2/record?all=yes",
	"/blocks/rosa-b2/sheet", "/blocks/rosa-b2/board", "/blocks/mila-b1/board?week=4", "/blocks/tomas-b1/board?week=2&lanes=all", "/blocks/rosa-b2/week?week=2", "/blocks/rosa-b2/history", "/blocks/rosa-b2/history?against=1", "/exercises", "/exercises?q=squat", "/exercises/hex-bar-deadlift", "/exercises/hex-bar-deadlift?client=rosa-l&view=front", "/exercises/one-arm-pulldown?client=mila-r", "/clients/rosa-l/propose", "/clients/rosa-l/propose?ask=yes&second=yes&prices=yes", "/groups", "/groups/valley", "/groups/valley/file", "/clients/nadja-k", "/members/nadja-k/file", "/clients/nadja-k/intake", "/blocks/valley-w1", "/blocks/valley-w1/board", "/blocks/valley-w1/week", "/blocks/valley-w1/hand-over", "/settings"}

// Ensure that every page is there in both languages, and names the account's.
func TestEveryPage(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	for _, l := range []form.Language{form.English, form.German} {
		if err := h.SetLanguage(context.Background(), h.coach, l); err != nil {
			t.Fatal(err)
		}
		for _, path := range everyPage {
			page, status := h.get(t, c, path)
			if status != http.StatusOK || strings.Contains(page, `role="alert"`) {
				t.Errorf("%s in %s gave %d", path, l, status)
			}
			if !strings.HasSuffix(path, "/sheet") && !strings.Contains(page, `<html lang="`+string(l)+`">`) {
				t.Errorf("%s is not in %s", path, l)
			}
		}
	}
}

// Ensure that nothing is shown or done without signing in.
func TestSignedOut(t *testing.T) {
	h := open(t)
	c := h.browser(t, "", "")
	for _, path := range everyPage {
		if page, _ := h.get(t, c, path); !strings.Contains(page, `action="/sign-in"`) {
			t.Errorf("%s was shown to somebody who is not signed in", path)
		}
	}
	if _, status := h.post(t, c, "/clients/rosa-l/erase", url.Values{"sure": {"rosa-l"}}); status != http.StatusForbidden {
		t.Errorf("erasing without signing in gave %d", status)
	}
	if _, err := h.Doc(context.Background(), h.coach, practice.ClientDoc, "rosa-l"); err != nil {
		t.Error("the client is gone")
	}
}

// Ensure that a form from another site is refused.
func TestForgedForm(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	r, err := http.NewRequest(http.MethodPost, h.server.URL+"/clients/rosa-l/erase", strings.NewReader("sure=rosa-l"))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	if _, status := send(t, c, r); status != http.StatusForbidden {
		t.Errorf("a forged form gave %d", status)
	}
	if _, err := h.Doc(context.Background(), h.coach, practice.ClientDoc, "rosa-l"); err != nil {
		t.Error("the client is gone")
	}
}
