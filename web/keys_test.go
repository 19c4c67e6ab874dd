package web_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"corbel/form"
	"corbel/practice"
	"corbel/web"
)

// dose is the dose of an exercise of Rosa's block as it stands in the store.
func (h *house) dose(t *testing.T, slot form.ID) string {
	t.Helper()
	c, err := h.Open(context.Background(), h.coach, "rosa-b2")
	if err != nil {
		t.Fatal(err)
	}
	_, s := c.Block.SlotByID(slot)
	if s == nil {
		t.Fatalf("there is no slot %s", slot)
	}
	return s.Dose.String()
}

// Ensure that a coach's day is done by keyboard alone: sign in, open the client most in
// need, change a dose, undo it, hand over, record the next session as written with
// three keys.
func TestDayByKeys(t *testing.T) {
	h := open(t)
	p := h.tab(t, nil)
	p.allow("the document's frame is sandboxed", "htmx:sendAbort", "htmx:afterRequest") // a try that the next key overtook
	p.visit("/")
	p.until(`document.activeElement.name === "email"`)
	p.keys("ida@example.org", "\t", "four words of ours", "\r")
	p.until(`document.querySelector("table.clients") !== null`)
	first := js[string](p, `document.querySelector("[data-row] a").getAttribute("href")`)
	p.keys("j", "\r")
	p.until(`location.pathname === "` + first + `"`)

	p.visit("/") // and the one this test works on, by the search field
	p.keys("/", "rosa", "\r")
	p.until(`location.search.includes("rosa") && document.readyState === "complete"`)
	p.keys("j", "\r")
	p.until(`location.pathname === "/clients/rosa-l" && document.readyState === "complete"`)
	p.keys("b")
	p.until(`location.pathname === "/blocks/rosa-b2" && document.readyState === "complete"`)

	p.visit("/blocks/rosa-b2/board") // tiles: arrows, Enter to the dose
	was := h.dose(t, "a2")
	js[bool](p, `document.querySelector("[data-tile=a1]").focus(), true`)
	p.keys(kb.ArrowRight, "\r")
	p.until(`document.activeElement.dataset.dose === "a2"`)
	p.keys("4 x 4 @ 84% rir 3", "\r")
	p.until(`document.readyState === "complete" && [...document.querySelectorAll("[data-dose=a2]")].some(e => e.defaultValue.startsWith("4 x 4 @ 84%"))`)
	if got := h.dose(t, "a2"); !strings.HasPrefix(got, "4 x 4 @ 84%") {
		t.Errorf("the dose typed is stored as %q", got)
	}
	js[bool](p, `document.querySelector("[data-tile=a2]").focus(), true`)
	p.keys("u")
	p.until(`[...document.querySelectorAll("[data-dose=a2]")].some(e => e.defaultValue.startsWith("4 x 4 @ 88%"))`)
	if got := h.dose(t, "a2"); got != was {
		t.Errorf("undo made %q of %q", got, was)
	}

	p.visit("/blocks/rosa-b2")
	p.keys("h")
	p.until(`location.pathname.endsWith("/hand-over") && document.readyState === "complete" && document.activeElement.tagName === "BUTTON"`)
	p.keys("\r")
	p.until(`document.querySelector('a[href^="/frozen/"]') !== null`)

	p.visit("/clients/rosa-l")
	p.keys("r") // the three keys: record, the next session due, as written
	p.until(`location.pathname.endsWith("/record") && document.readyState === "complete" && document.activeElement.tagName !== "BODY"`)
	p.keys("\r")
	p.until(`(location.search.includes("session=") && document.activeElement.tagName === "BUTTON") || location.pathname === "/clients/rosa-l"`)
	if js[string](p, `location.pathname`) != "/clients/rosa-l" {
		p.keys("\r")
		p.until(`location.pathname === "/clients/rosa-l"`)
	}
	log, err := h.Doc(context.Background(), h.coach, practice.LogDoc, "rosa-l")
	if err != nil || !strings.Contains(log.Text, "block: rosa-b2") {
		t.Errorf("the session is not in the log: %v", err)
	}
}

// Ensure that a way out of a problem is reached by Tab and taken by Enter, and that one
// key takes it back.
func TestSettleByKeys(t *testing.T) {
	h := open(t)
	p := h.tab(t, h.coach)
	version := func() int {
		d, err := h.Doc(context.Background(), h.coach, practice.BlockDoc, "mila-b1")
		if err != nil {
			t.Fatal(err)
		}
		return d.Version
	}
	before := version()
	p.visit("/blocks/mila-b1")
	problems := js[int](p, `document.querySelectorAll("#checks .note").length`)
	for i := 0; !js[bool](p, `document.activeElement.closest("form[action$='/way-out']") !== null`); i++ {
		if i > 300 {
			t.Fatal("Tab does not come to a way out")
		}
		p.keys("\t")
	}
	p.keys("\r")
	p.until(`document.readyState === "complete" && document.querySelectorAll("#checks .note").length !== ` + strconv.Itoa(problems))
	if got := version(); got != before+1 {
		t.Errorf("the way out made %d changes", got-before)
	}
	p.keys("u")
	p.until(`document.readyState === "complete" && document.querySelectorAll("#checks .note").length === ` + strconv.Itoa(problems))
}

// Ensure that of two tabs that change the same dose, one is stored and the other is
// shown what it was, what it wrote and what stands; and that changes of different
// doses both stand.
func TestTwoTabs(t *testing.T) {
	h := open(t)
	c1, c2 := h.browser(t, "ida@example.org", "four words of ours"), h.browser(t, "ida@example.org", "four words of ours")
	doc, err := h.Doc(context.Background(), h.coach, practice.BlockDoc, "rosa-b2")
	if err != nil {
		t.Fatal(err)
	}
	base := []string{strconv.Itoa(doc.Version)}
	was := h.dose(t, "a2")
	change := func(c *http.Client, field, was, to string) (string, int) {
		return h.post(t, c, "/blocks/rosa-b2/cells", url.Values{"op": {h.id()}, "base": base, "cell a2 " + field: {to}, "was a2 " + field: {was}})
	}
	if page, status := change(c1, "dose", was, "4 x 4 @ 84% rir 3"); status != http.StatusOK {
		t.Fatalf("the first tab gave %d: %s", status, alertOf(page))
	}
	page, status := change(c2, "dose", was, "5 x 5 @ 80% rir 2")
	if status != http.StatusConflict {
		t.Errorf("the second tab gave %d", status)
	}
	for _, text := range []string{"4 x 4 @ 88%", "5 x 5 @ 80%", "4 x 4 @ 84%"} {
		if !strings.Contains(page, text) {
			t.Errorf("the conflict does not show %s", text)
		}
	}
	if page, status := change(c2, "weeks.3", "", "5 x 3 @ 86% rir 2"); status != http.StatusOK {
		t.Errorf("a change of another week gave %d: %s", status, alertOf(page))
	}
	c, err := h.Open(context.Background(), h.coach, "rosa-b2")
	if err != nil {
		t.Fatal(err)
	}
	_, slot := c.Block.SlotByID("a2")
	if got, third := slot.Dose.String(), slot.Weeks[3]; !strings.HasPrefix(got, "4 x 4 @ 84%") || !strings.HasPrefix(third.String(), "5 x 3 @ 86%") {
		t.Errorf("there stand %q and %q", got, third)
	}
}

// Ensure that a form whose answer was lost on the way is done once when the browser
// sends it again.
func TestLostReply(t *testing.T) {
	h := open(t)
	handler := web.New(h.Practice, web.Options{Log: slog.New(slog.DiscardHandler)})
	var lost, sent atomic.Int32
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodPost || !strings.HasSuffix(r.URL.Path, "/finding") {
			handler.ServeHTTP(w, r)
			return
		}
		if sent.Add(1) == 1 { // done, and its answer dropped
			handler.ServeHTTP(httptest.NewRecorder(), r)
			lost.Add(1)
			conn, _, err := w.(http.Hijacker).Hijack()
			if err != nil {
				panic(err)
			}
			conn.Close()
			return
		}
		handler.ServeHTTP(w, r)
	}))
	defer server.Close()
	token, err := h.Admit(context.Background(), h.coach, "a test")
	if err != nil {
		t.Fatal(err)
	}
	c := &http.Client{Transport: withCookie(token)}
	finding := url.Values{"op": {h.id()}, "what": {"lost once"}, "on": {"2026-11-25"}, "source": {"coach"}}
	post := func() error {
		a, err := c.Post(server.URL+"/clients/rosa-l/finding", "application/x-www-form-urlencoded", strings.NewReader(finding.Encode()))
		if err != nil {
			return err
		}
		defer a.Body.Close()
		_, err = io.Copy(io.Discard, a.Body)
		if a.StatusCode != http.StatusOK {
			t.Errorf("the form sent again gave %d", a.StatusCode)
		}
		return err
	}
	if post() == nil {
		t.Fatal("the answer was not lost")
	}
	if err := post(); err != nil {
		t.Fatal(err)
	}
	doc, err := h.Doc(context.Background(), h.coach, practice.ClientDoc, "rosa-l")
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(doc.Text, "lost once"); n != 1 || lost.Load() != 1 {
		t.Errorf("the finding is there %d times after %d lost answers", n, lost.Load())
	}
}
