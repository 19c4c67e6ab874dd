package web_test

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"corbel/examples"
	"corbel/practice"
	"corbel/web"
)

// attacks are texts that run a script where a page takes them for more than text.
// Each would set a flag of the page.
const (
	script = `<script>window.ran=1</script>`
	photo  = `"><img src=x onerror="window.ran=1">`
	link   = `javascript:window.ran=1`
)

// hostile puts a client with an attack in every field that takes free text, a block
// and a log with the same, and returns their ids.
func hostile(t *testing.T, h *house) idsOf {
	t.Helper()
	ctx := context.Background()
	read := func(file string, pairs ...string) string {
		text, err := examples.Files.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		out := string(text)
		for i := 0; i < len(pairs); i += 2 {
			if !strings.Contains(out, pairs[i]) {
				t.Fatalf("%s does not hold %q", file, pairs[i])
			}
			out = strings.Replace(out, pairs[i], pairs[i+1], 1)
		}
		return out
	}
	text := read("rosa-client.yaml", "id: rosa-l", "id: hostile", "name: Rosa Lindqvist", "name: "+practice.Value(script+photo),
		"note: Keep the hill runs easy on Tuesdays this month.", "note: "+practice.Value("note "+script+photo+link), "private: Tends to add sets when she feels good; ask about it.", "private: "+practice.Value("private "+script+photo))
	if _, err := h.Put(ctx, h.coach, practice.ClientDoc, "", text, h.id()); err != nil {
		t.Fatal(err)
	}
	block := read("rosa-block.yaml", "id: rosa-b2", "id: hostile-b", "name: Strong downhill", "name: "+practice.Value("block "+script+photo))
	if _, err := h.Put(ctx, h.coach, practice.BlockDoc, "hostile", block, h.id()); err != nil {
		t.Fatal(err)
	}
	return idsOf{client: "hostile", block: "hostile-b"}
}

// Ensure that what a person typed is shown as text on every page, whatever it is: no
// script runs.
func TestHostileTexts(t *testing.T) {
	h := open(t)
	ids := hostile(t, h)
	c := h.browser(t, "ida@example.org", "four words of ours")
	form := func(path string, pairs ...string) {
		t.Helper()
		values := url.Values{"op": {h.id()}}
		for i := 0; i < len(pairs); i += 2 {
			values.Set(pairs[i], pairs[i+1])
		}
		if page, status := h.post(t, c, path, values); status != http.StatusOK {
			t.Fatalf("%s gave %d: %s", path, status, page)
		}
	}
	form("/clients/hostile/finding", "what", "finding "+script+photo, "on", "2026-11-25", "source", "coach")
	form("/blocks/hostile-b/record", "session", "a", "week", "1", "note", "log "+script+photo)
	form("/settings/accounts", "name", "account "+script+photo, "email", "x@example.org", "passphrase", "four words of "+script, "role", "assistant")
	form("/clients/new", "name", photo+script, "id", "hostile-2", "language", "en")
	p := h.tab(t, h.coach)
	p.allow("status of 422", "the document's frame is sandboxed")
	if page, status := h.get(t, c, "/blocks/hostile-b/sheet"); status != http.StatusOK || strings.Contains(page, script) {
		t.Errorf("the sheet gave %d, or holds a script", status)
	}
	seen := map[string]bool{}
	for _, path := range []string{"/", "/?q=" + url.QueryEscape(script+photo), "/?state=" + url.QueryEscape(photo), "/clients/hostile", "/clients/hostile/file", "/clients/hostile/log", "/clients/hostile/intake", "/clients/hostile/new-block",
		"/clients/hostile/propose", "/clients/hostile-2", "/blocks/hostile-b", "/blocks/hostile-b/board", "/blocks/hostile-b/board?week=2", "/blocks/hostile-b/week", "/blocks/hostile-b/history", "/blocks/hostile-b/history?against=1",
		"/blocks/hostile-b/file", "/blocks/hostile-b/record", "/blocks/hostile-b/record?session=a&week=1", "/blocks/hostile-b/hand-over", "/settings", "/groups", "/exercises?q=" + url.QueryEscape(script+photo)} {
		p.visit(path)
		if p.ran() {
			t.Errorf("%s ran a script of what somebody typed", path)
		}
		text := js[string](p, `document.body.innerText + [...document.querySelectorAll("input, textarea")].map(e => e.value).join(" ")`)
		for _, field := range []string{"note", "private", "block", "finding", "log", "account"} {
			seen[field] = seen[field] || strings.Contains(text, field+" "+script)
		}
	}
	for field, ok := range seen {
		if !ok {
			t.Errorf("what was typed as %s is nowhere shown as it was typed", field)
		}
	}
	p.visit("/clients/new") // what is refused comes back in its form
	js[bool](p, fmt.Sprintf(`document.querySelector("details").open = true, document.querySelector("[name=file]").value = %q, document.querySelector("main form").submit(), true`, script+photo))
	p.until(`document.querySelector("[role=alert]") !== null`)
	if p.ran() {
		t.Error("a refusal ran a script of what was sent")
	}
	for format, want := range map[string]string{"html": script, "csv": script} {
		code := h.frozen(t, ids.block)
		if page, status := h.get(t, c, "/frozen/"+code+"/"+format); status != http.StatusOK || format == "html" && strings.Contains(page, want) {
			t.Errorf("the frozen sheet as %s gave %d, or an attack", format, status)
		}
	}
}

// ran says whether an attack ran, in the page or in a frame of it.
func (p *tab) ran() bool {
	p.t.Helper()
	return js[bool](p, `new Promise(done => setTimeout(() => done(window.ran === 1 || document.querySelector("img[src=x], a[href^='javascript:']") !== null), 30))`)
}

// frozen hands a block over and returns its code.
func (h *house) frozen(t *testing.T, block string) string {
	t.Helper()
	f, err := h.HandOver(context.Background(), h.coach, block, h.id())
	if err != nil {
		t.Fatal(err)
	}
	return f.Code
}

// Ensure that every answer carries its headers, that scripts and styles come from
// files of the origin alone, and that nothing with a client in it is kept.
func TestHeaders(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	for _, path := range append([]string{"/static/corbel.css", "/nowhere", "/clients/nobody", "/sign-in", "/figures/hex-bar-deadlift.svg"}, everyPage...) {
		a, err := c.Get(h.server.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		a.Body.Close()
		policy := a.Header.Get("Content-Security-Policy")
		sheet := strings.HasSuffix(path, "/sheet") // its style stands in it; it runs nothing: sandbox
		if !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "unsafe-eval") || strings.Contains(policy, "http") ||
			!sheet && strings.Contains(policy, "unsafe-inline") || sheet && (strings.Contains(policy, "script-src") || !strings.Contains(policy, "sandbox")) {
			t.Errorf("%s has the policy %q", path, policy)
		}
		if a.Header.Get("X-Content-Type-Options") != "nosniff" || a.Header.Get("Referrer-Policy") != "same-origin" {
			t.Errorf("%s lacks a header", path)
		}
		keep := a.Header.Get("Cache-Control")
		if open := strings.HasPrefix(path, "/static/") || strings.HasPrefix(path, "/figures/"); !open && keep != "no-store" {
			t.Errorf("%s may be kept: %q", path, keep)
		}
	}
}

// Ensure that a form sent twice is done once: the finding is there once, the block
// moved once, the account's undo took back one change.
func TestReplayedForms(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	ctx := context.Background()
	version := func(kind practice.Kind, id string) int {
		d, err := h.Doc(ctx, h.coach, kind, id)
		if err != nil {
			t.Fatal(err)
		}
		return d.Version
	}
	for _, x := range []struct {
		path   string
		kind   practice.Kind
		id     string
		values url.Values
	}{
		{"/clients/rosa-l/finding", practice.ClientDoc, "rosa-l", url.Values{"what": {"stands on one leg 10 s"}, "on": {"2026-11-25"}, "source": {"coach"}}},
		{"/clients/mila-r/intake", practice.ClientDoc, "mila-r", url.Values{"flag joint-swelling": {"no"}}},
		{"/blocks/rosa-b2/slot", practice.BlockDoc, "rosa-b2", url.Values{"do": {"down"}, "slot": {"a1"}}},
		{"/blocks/rosa-b2/cells", practice.BlockDoc, "rosa-b2", url.Values{"base": {"2"}, "cell a1 weeks.4": {"1 x 5 @ 4 rir"}, "was a1 weeks.4": {""}}},
		{"/blocks/rosa-b2/board/dose", practice.BlockDoc, "rosa-b2", url.Values{"session": {"a"}, "week": {"3"}, "slot": {"a1"}, "dose": {"1 x 5 @ 4 rir"}}},
		{"/blocks/rosa-b2/undo", practice.BlockDoc, "rosa-b2", url.Values{}},
		{"/blocks/rosa-b2/record", practice.LogDoc, "rosa-l", url.Values{"session": {"a"}, "week": {"1"}, "set a2 1 ": {""}}},
	} {
		before := 0
		if x.kind != practice.LogDoc {
			before = version(x.kind, x.id)
		}
		x.values.Set("op", h.id())
		for range 3 {
			if page, status := h.post(t, c, x.path, x.values); status != http.StatusOK {
				t.Errorf("%s sent again gave %d: %s", x.path, status, alertOf(page))
			}
		}
		if after := version(x.kind, x.id); after != before+1 {
			t.Errorf("%s sent three times made %d changes", x.path, after-before)
		}
	}
}

// alertOf is what a page says went wrong.
func alertOf(page string) string {
	_, after, _ := strings.Cut(page, `role="alert">`)
	text, _, _ := strings.Cut(after, "</div>")
	return text
}

// Ensure that every route that changes something refuses a form of another site, and
// one that does not say where it comes from but names another origin.
func TestForgedFormsEverywhere(t *testing.T) {
	h, _, _, rosa, _, _ := guarded(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	before := h.texts(t)
	for _, pattern := range web.Routes() {
		method, path := rosa.path(pattern)
		if method != http.MethodPost {
			continue
		}
		for header, value := range map[string]string{"Sec-Fetch-Site": "cross-site", "Origin": "https://elsewhere.example"} {
			r, err := http.NewRequest(method, h.server.URL+path, strings.NewReader(plausible(h, rosa).Encode()))
			if err != nil {
				t.Fatal(err)
			}
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set(header, value)
			if _, status := send(t, c, r); status != http.StatusForbidden {
				t.Errorf("%s with %s: %s gave %d", pattern, header, value, status)
			}
		}
	}
	if h.texts(t) != before {
		t.Error("a forged form changed a document")
	}
	if page, _ := h.get(t, c, "/settings"); !strings.Contains(page, "action=\"/settings/sign-out\"") {
		t.Error("a forged form signed the coach out")
	}
}

// Ensure that an address is tried a few times a minute and no more, also with the
// right passphrase, and that one answer serves a wrong address and a wrong phrase.
func TestSignInLimits(t *testing.T) {
	h := open(t)
	c := h.browser(t, "", "")
	wrong := url.Values{"email": {"ida@example.org"}, "passphrase": {"four words of hers"}}
	first, status := h.post(t, c, "/sign-in", wrong)
	if status != http.StatusForbidden {
		t.Errorf("a wrong passphrase gave %d", status)
	}
	nobody, status := h.post(t, c, "/sign-in", url.Values{"email": {"eva@example.org"}, "passphrase": {"four words of hers"}})
	if status != http.StatusForbidden || alertOf(first) != alertOf(nobody) {
		t.Errorf("a wrong address gave %d and %q, a wrong phrase %q", status, alertOf(nobody), alertOf(first))
	}
	for range 10 {
		_, status = h.post(t, c, "/sign-in", wrong)
	}
	if status != http.StatusTooManyRequests {
		t.Errorf("the twelfth try gave %d", status)
	}
	if _, status = h.post(t, c, "/sign-in", url.Values{"email": {"ida@example.org"}, "passphrase": {"four words of ours"}}); status != http.StatusTooManyRequests {
		t.Errorf("after too many tries the right passphrase gave %d", status)
	}
}

// Ensure that behind a server that speaks TLS one who tries passphrases keeps nobody
// else out, and that without one nobody says who they are.
func TestSignInLimitsBehindTLS(t *testing.T) {
	h := open(t)
	tries := func(secure bool, from string, n int) (status int) {
		server := httptest.NewServer(web.New(h.Practice, web.Options{Secure: secure, Log: slog.New(slog.DiscardHandler)}))
		defer server.Close()
		for i := range n {
			// each try at another address: the limit of the machine alone is met
			wrong := url.Values{"email": {fmt.Sprintf("x%s%d@example.org", from, i)}, "passphrase": {"four words of hers"}}
			for _, at := range []string{from, "192.0.2.200"} {
				if at != from && i < n-1 {
					continue
				}
				r, err := http.NewRequest(http.MethodPost, server.URL+"/sign-in", strings.NewReader(wrong.Encode()))
				if err != nil {
					t.Fatal(err)
				}
				r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				r.Header.Set("Sec-Fetch-Site", "same-origin")
				r.Header.Set("X-Forwarded-For", "203.0.113.9, "+at)
				_, status = send(t, http.DefaultClient, r)
			}
		}
		return status // of the other machine, after those tries
	}
	if status := tries(true, "192.0.2.1", 8); status != http.StatusForbidden {
		t.Errorf("another machine got %d; a wrong passphrase gives 403", status)
	}
	if status := tries(false, "192.0.2.1", 8); status != http.StatusTooManyRequests {
		t.Errorf("without TLS before it, a header gave another machine %d", status)
	}
}

// Ensure that behind TLS the cookie is sent over TLS alone, lives as long as a login,
// and that its token is not what is stored.
func TestCookie(t *testing.T) {
	h := open(t)
	tls := httptest.NewServer(web.New(h.Practice, web.Options{Secure: true, Log: slog.New(slog.DiscardHandler)}))
	defer tls.Close()
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	a, err := c.PostForm(tls.URL+"/sign-in", url.Values{"email": {"ida@example.org"}, "passphrase": {"four words of ours"}})
	if err != nil {
		t.Fatal(err)
	}
	a.Body.Close()
	cookies := a.Cookies()
	if len(cookies) != 1 || !cookies[0].Secure || !cookies[0].HttpOnly || cookies[0].SameSite != http.SameSiteLaxMode || cookies[0].Path != "/" || cookies[0].MaxAge <= 0 || cookies[0].Domain != "" {
		t.Fatalf("the cookies are %v", cookies)
	}
	if a.Header.Get("Strict-Transport-Security") == "" {
		t.Error("a browser may come back without TLS")
	}
	list, err := h.Logins(context.Background(), h.coach)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range list {
		if l.Hash == cookies[0].Value || strings.Contains(l.Hash, cookies[0].Value) {
			t.Error("the token itself is stored")
		}
	}
}

// Ensure that the log of the server names nobody, whatever fails, and that names of
// downloads name nobody.
func TestNoNamesInLogOrDownloads(t *testing.T) {
	h := open(t)
	var out bytes.Buffer
	logged := httptest.NewServer(web.New(h.Practice, web.Options{Log: slog.New(slog.NewTextHandler(&out, nil))}))
	defer logged.Close()
	code := h.frozen(t, "rosa-b2")
	c := h.browser(t, "ida@example.org", "four words of ours")
	for _, format := range []string{"html", "pdf", "xlsx", "ics", "csv", "json"} {
		a, err := c.Get(h.server.URL + "/frozen/" + code + "/" + format)
		if err != nil {
			t.Fatal(err)
		}
		a.Body.Close()
		name := a.Header.Get("Content-Disposition")
		if a.StatusCode != http.StatusOK || format != "html" && name != `attachment; filename="`+code+"."+format+`"` {
			t.Errorf("%s gave %d as %q", format, a.StatusCode, name)
		}
	}
	token, err := h.Admit(context.Background(), h.coach, "a test")
	if err != nil {
		t.Fatal(err)
	}
	h.Store.Close() // from here on everything fails
	for _, path := range everyPage {
		a, err := (&http.Client{Transport: withCookie(token)}).Get(logged.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		a.Body.Close()
		if a.StatusCode != http.StatusInternalServerError {
			t.Errorf("%s without a store gave %d", path, a.StatusCode)
		}
	}
	if out.Len() == 0 {
		t.Error("nothing was logged")
	}
	for _, name := range []string{"rosa", "Rosa", "Lindqvist", "mila", "Mila", "ida@", "Holm"} {
		if strings.Contains(out.String(), name) {
			t.Errorf("the log names %s: %s", name, out.String())
		}
	}
}
