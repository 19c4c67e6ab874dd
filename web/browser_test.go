package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"corbel/practice"
)

// chromium is the browser of all tests, started by the first that needs it.
var chromium struct {
	sync.Once
	ctx  context.Context
	stop func()
	err  error
}

// stopChromium ends the browser where it was started.
func stopChromium() {
	if chromium.stop != nil {
		chromium.stop()
	}
}

func startChromium() {
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath("chromium"), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("force-color-profile", "srgb"), chromedp.Flag("hide-scrollbars", false),
		chromedp.WSURLReadTimeout(time.Minute))
	allocator, end := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(allocator)
	chromium.ctx, chromium.stop = ctx, func() { cancel(); end() }
	if err := chromedp.Do(ctx); err != nil {
		chromium.err = fmt.Errorf("chromium did not start: %w; Debian's package chromium is needed (make needs)", err)
	}
}

// A tab is a page of Chromium with cookies of its own. Errors of its console and
// requests to another origin fail the test.
type tab struct {
	t    testing.TB
	h    *house
	ctx  context.Context
	base string // where the practice is reached

	mu      sync.Mutex
	wrong   []string
	allowed []string // parts of console messages a test expects
}

// Sizes of a desk and a telephone, pixels.
const (
	deskWide, phoneWide = 1400, 390
	screenHigh          = 900
)

// tab opens an empty page, signed in where an account is given.
func (h *house) tab(t testing.TB, who *practice.Account) *tab {
	t.Helper()
	chromium.Do(startChromium)
	if chromium.err != nil {
		t.Fatal(chromium.err)
	}
	p := &tab{t: t, h: h, base: h.server.URL}
	ctx, cancel := chromedp.NewContext(chromium.ctx, chromedp.WithNewBrowserContext(), chromedp.WithListener(p.listen))
	t.Cleanup(cancel)
	p.ctx = ctx
	p.run()
	call(p, network.Enable, network.EnableParams{})
	call(p, log.Enable, cdp.Empty{})
	call(p, runtime.Enable, cdp.Empty{})
	p.size(deskWide)
	p.dark(false)
	if who != nil {
		p.signIn(who)
	}
	t.Cleanup(func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		for _, w := range p.wrong {
			if !slices.ContainsFunc(p.allowed, func(s string) bool { return strings.Contains(w, s) }) {
				t.Error(w)
			}
		}
	})
	return p
}

// signIn gives the tab the cookie of an account.
func (p *tab) signIn(who *practice.Account) {
	p.t.Helper()
	token, err := p.h.Admit(context.Background(), who, "a test")
	if err != nil {
		p.t.Fatal(err)
	}
	only := true
	call(p, network.SetCookie, network.SetCookieParams{Name: "corbel", Value: token, URL: p.base, HTTPOnly: &only, SameSite: network.CookieSameSiteLax})
}

// listen notes what a page must not do.
func (p *tab) listen(ev any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		p.wrong = append(p.wrong, fmt.Sprintf("a script failed: %s %s", e.ExceptionDetails.Text, e.ExceptionDetails.URL))
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			for _, a := range e.Args {
				p.wrong = append(p.wrong, fmt.Sprintf("the console says %s %s", a.Value, a.Description))
			}
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			p.wrong = append(p.wrong, "the console says "+e.Entry.Text+" "+e.Entry.URL)
		}
	case *network.EventRequestWillBeSent:
		u, err := url.Parse(e.Request.URL)
		if err != nil || u.Scheme != "data" && u.Scheme != "blob" && u.Scheme != "about" && !strings.HasPrefix(e.Request.URL, p.base+"/") {
			p.wrong = append(p.wrong, "a request left the origin: "+e.Request.URL)
		}
	}
}

// allow names parts of console messages that the test expects, such as the status
// of a refusal.
func (p *tab) allow(parts ...string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.allowed = append(p.allowed, parts...)
}

// patience is how long one action of a page may take on a busy machine.
const patience = time.Minute

func (p *tab) run(actions ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx := p.ctx
	if len(actions) > 0 { // the first run, which opens the page, binds the page's life to its context
		var cancel func()
		ctx, cancel = context.WithTimeout(ctx, patience)
		defer cancel()
	}
	if err := chromedp.Do(ctx, actions...); err != nil {
		p.t.Fatal(err)
	}
}

// call gives the browser a command of its protocol.
func call[P, R any](p *tab, c cdp.Command[P, R], params P) R {
	p.t.Helper()
	out, err := chromedp.Call(p.ctx, c, params)
	if err != nil {
		p.t.Fatal(err)
	}
	return out
}

// size makes the window so wide.
func (p *tab) size(width int64) {
	p.t.Helper()
	call(p, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: screenHigh, DeviceScaleFactor: 1})
}

// dark asks for the dark or the light theme, and for no movement.
func (p *tab) dark(dark bool) {
	p.t.Helper()
	call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: map[bool]string{true: "dark", false: "light"}[dark]}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
}

// visit opens a page of the practice and waits until it is there.
func (p *tab) visit(path string) {
	p.t.Helper()
	p.run(chromedp.Navigate(p.base+path), chromedp.WaitReady("body"))
}

// js evaluates an expression, awaited, into a value.
func js[T any](p *tab, expression string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	out, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatal(err)
	}
	return out
}

// until waits until an expression holds, through navigation too.
func (p *tab) until(expression string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	for {
		holds, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("Boolean("+expression+")"))
		if err == nil && holds {
			return
		}
		select {
		case <-ctx.Done():
			p.t.Fatalf("waited in vain for %s: %v\n%s", expression, err, js[string](p, `location.href + "\n" + document.body.innerText.slice(0, 600)`))
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// keys types keys, each as a person presses it, where the focus is: what the page does
// with a key first decides whether it types a character.
func (p *tab) keys(texts ...string) {
	p.t.Helper()
	p.until(`document.readyState === "complete"`) // before, the page's script does not listen
	for _, r := range strings.Join(texts, "") {
		events := kb.Encode(r)
		down, up := *events[0], *events[len(events)-1]
		if len(events) == 3 {
			down.Type, down.Text, down.UnmodifiedText = input.DispatchKeyEventTypeKeyDown, events[1].Text, events[1].UnmodifiedText
		}
		call(p, input.DispatchKeyEvent, down)
		call(p, input.DispatchKeyEvent, up)
	}
}

// Ensure that a coach signs in in a browser, that the cookie is out of reach of
// scripts, and that signing out ends the visit.
func TestSignInByKeys(t *testing.T) {
	h := open(t)
	p := h.tab(t, nil)
	p.visit("/")
	p.until(`document.activeElement.name === "email"`)
	p.keys("ida@example.org", "\t", "four words of ours", "\r")
	p.until(`document.querySelector("table.clients") !== null`)
	if got := js[string](p, `document.cookie`); got != "" {
		t.Errorf("a script reads the cookie %q", got)
	}
	cookies := p.cookies()
	if len(cookies) != 1 || !cookies[0].HTTPOnly || cookies[0].SameSite != network.CookieSameSiteLax || cookies[0].Session {
		t.Errorf("the cookies are %+v", cookies)
	}
	p.run(chromedp.Click(`form[action="/settings/sign-out"] button`), chromedp.WaitVisible(`input[name=email]`))
	if _, status := h.get(t, &http.Client{Transport: withCookie(cookies[0].Value)}, "/clients/rosa-l/file"); status != http.StatusOK {
		t.Errorf("the sign-in page of a signed-out device gave %d", status)
	}
	if page, _ := h.get(t, &http.Client{Transport: withCookie(cookies[0].Value)}, "/clients/rosa-l/file"); !strings.Contains(page, `action="/sign-in"`) {
		t.Error("a device that was signed out is still let in")
	}
}

// cookies of the tab.
func (p *tab) cookies() []*network.Cookie {
	p.t.Helper()
	return call(p, network.GetCookies, network.GetCookiesParams{URLs: []string{p.base}}).Cookies
}

// withCookie sends a session's cookie with every request.
type withCookie string

func (c withCookie) RoundTrip(r *http.Request) (*http.Response, error) {
	r = r.Clone(r.Context())
	r.AddCookie(&http.Cookie{Name: "corbel", Value: string(c)})
	return http.DefaultTransport.RoundTrip(r)
}
