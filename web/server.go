package web

import (
	"context"
	"crypto/rand"
	"embed"
	"encoding/hex"
	"errors"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"sync"

	"golang.org/x/time/rate"

	"corbel/form"
	"corbel/practice"
)

//go:embed static
var static embed.FS

// Options say how the workbench is reached.
type Options struct {
	Secure bool // reached by https: cookies are sent no other way
	Log    *slog.Logger
}

// A server answers requests.
type server struct {
	practice *practice.Practice
	options  Options
	pages    map[form.Language]pages

	atOnce chan struct{} // requests of accounts that are worked on

	mu    sync.Mutex
	tries map[string]*rate.Limiter
}

// Bounds of requests (our judgement; key judgement).
const (
	maxBody     = 2 << 20 // bytes of a form: a client file is at most 1 MiB
	triesAtOnce = 5       // sign-ins of one address or machine at once
	triesEvery  = 12      // seconds for one more
	maxTries    = 10000   // addresses and machines remembered
	mostAtOnce  = 16      // requests worked on; more wait, so that memory stays bounded
)

const cookieName = "corbel"

// New returns the workbench of a practice.
func New(p *practice.Practice, o Options) http.Handler {
	s := &server{practice: p, options: o, pages: readPages(p), tries: map[string]*rate.Limiter{}, atOnce: make(chan struct{}, mostAtOnce)}
	files, err := fs.Sub(static, "static")
	if err != nil {
		panic("web: the static files are not there")
	}
	mux := http.NewServeMux()
	mux.Handle("GET /static/", http.StripPrefix("/static/", staticFiles(files)))
	mux.HandleFunc("GET /set-up/{token}", s.setUpPage)
	mux.HandleFunc("POST /set-up/{token}", s.setUp)
	mux.HandleFunc("GET /sign-in", s.signInPage)
	mux.HandleFunc("POST /sign-in", s.signIn)
	for pattern, h := range s.routes() {
		mux.Handle(pattern, s.signedIn(h))
	}
	guard := http.NewCrossOriginProtection()
	return s.headers(guard.Handler(http.MaxBytesHandler(mux, maxBody)))
}

// routes lists what needs an account.
func (s *server) routes() map[string]handler {
	return map[string]handler{
		"GET /{$}":                       s.clients,
		"GET /clients/new":               s.newClientPage,
		"POST /clients/new":              s.newClient,
		"GET /clients/{id}":              s.client,
		"GET /clients/{id}/file":         s.filePage(practice.ClientDoc),
		"POST /clients/{id}/file":        s.file(practice.ClientDoc),
		"POST /clients/{id}/erase":       s.erase,
		"POST /clients/{id}/undo":        s.undo(practice.ClientDoc),
		"GET /clients/{id}/log":          s.filePage(practice.LogDoc),
		"POST /clients/{id}/log":         s.file(practice.LogDoc),
		"GET /clients/{id}/intake":       s.intakePage,
		"POST /clients/{id}/intake":      s.intake,
		"POST /clients/{id}/finding":     s.finding,
		"POST /blocks/{id}/workbook":     s.workbook,
		"GET /clients/{id}/propose":      s.proposePage,
		"POST /clients/{id}/propose":     s.accept,
		"GET /clients/{id}/new-block":    s.newBlockPage,
		"POST /clients/{id}/new-block":   s.newBlock,
		"GET /blocks/{id}":               s.block,
		"GET /blocks/{id}/board":         s.boardPage,
		"POST /blocks/{id}/board/try":    s.tryDose,
		"POST /blocks/{id}/board/dose":   s.setDose,
		"POST /blocks/{id}/board/do":     s.boardDo,
		"GET /blocks/{id}/history":       s.history,
		"GET /blocks/{id}/version":       s.version,
		"GET /blocks/{id}/week":          s.week,
		"GET /groups":                    s.groups,
		"GET /groups/{id}":               s.group,
		"GET /groups/{id}/file":          s.filePage(practice.GroupDoc),
		"POST /groups/{id}/file":         s.file(practice.GroupDoc),
		"POST /groups/{id}/hand-over":    s.handOverGroup,
		"POST /members/{id}/undo":        s.undo(practice.MemberDoc),
		"GET /members/{id}":              s.member,
		"GET /members/{id}/file":         s.filePage(practice.MemberDoc),
		"POST /members/{id}/file":        s.file(practice.MemberDoc),
		"GET /exercises":                 s.exercises,
		"GET /exercises/{id}":            s.exercise,
		"GET /exercises/{id}/film":       s.film,
		"GET /figures/{name}":            s.figure,
		"POST /blocks/{id}/type":         s.typed,
		"POST /blocks/{id}/try":          s.try,
		"POST /blocks/{id}/act":          s.act,
		"GET /blocks/{id}/change":        s.changePage,
		"POST /blocks/{id}/change":       s.change,
		"GET /blocks/{id}/copy":          s.copyPage,
		"POST /blocks/{id}/keep-session": s.keepSession,
		"POST /sessions/{id}/drop":       s.dropSession,
		"GET /many":                      s.manyPage,
		"POST /many":                     s.many,
		"POST /many/undo":                s.undoMany,
		"GET /blocks/{id}/state":         s.state,
		"POST /blocks/{id}/cells":        s.cells,
		"POST /blocks/{id}/slot":         s.slot,
		"POST /blocks/{id}/way-out":      s.wayOut,
		"POST /blocks/{id}/keep":         s.keep,
		"POST /blocks/{id}/undo":         s.undo(practice.BlockDoc),
		"GET /blocks/{id}/file":          s.filePage(practice.BlockDoc),
		"POST /blocks/{id}/file":         s.file(practice.BlockDoc),
		"GET /blocks/{id}/record":        s.recordPage,
		"POST /blocks/{id}/record":       s.record,
		"GET /blocks/{id}/hand-over":     s.handOverPage,
		"POST /blocks/{id}/hand-over":    s.handOver,
		"GET /blocks/{id}/sheet":         s.sheetPage,
		"GET /frozen/{code}/{format}":    s.frozen,
		"GET /settings":                  s.settings,
		"POST /settings/accounts":        s.addAccount,
		"POST /settings/access":          s.access,
		"POST /settings/language":        s.language,
		"POST /settings/sign-out":        s.signOut,
	}
}

// headers sets what every answer carries: no script of the page's own text, nothing
// from elsewhere, no frame elsewhere.
func (s *server) headers(h http.Handler) http.Handler {
	const policy = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' data:; connect-src 'self'; " +
		"frame-src 'self'; form-action 'self'; frame-ancestors 'self'; base-uri 'none'"
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Content-Security-Policy", policy)
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("Referrer-Policy", "same-origin")
		head.Set("Cache-Control", "no-store")
		if s.options.Secure {
			head.Set("Strict-Transport-Security", "max-age=31536000")
		}
		h.ServeHTTP(w, r)
	})
}

// A visit is a request of an account.
type visit struct {
	*http.Request
	w     http.ResponseWriter
	who   *practice.Account
	login *practice.Login
}

// A handler answers a visit; its error is shown as a page.
type handler func(*visit) error

// signedIn finds the account of a request, or sends it to sign in.
func (s *server) signedIn(h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := &visit{Request: r, w: w}
		cookie, err := r.Cookie(cookieName)
		if err == nil {
			v.who, v.login, err = s.practice.WhoIs(r.Context(), cookie.Value)
		}
		switch {
		case err != nil && practice.ReasonOf(err) == "" && !errors.Is(err, http.ErrNoCookie):
			s.problem(v, err)
			return
		case err != nil && r.Method == http.MethodGet:
			http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
			return
		case err != nil:
			s.problem(v, &practice.Error{Reason: practice.Forbidden, Text: "sign in first; what you wrote was not stored"})
			return
		}
		select {
		case s.atOnce <- struct{}{}:
			defer func() { <-s.atOnce }()
		case <-r.Context().Done(): // the browser has gone
			return
		}
		if err := h(v); err != nil {
			s.problem(v, err)
		}
	})
}

// statuses are the HTTP statuses of errors by reason.
var statuses = map[practice.Reason]int{
	practice.NotFound: http.StatusNotFound, practice.Forbidden: http.StatusForbidden, practice.Refused: http.StatusUnprocessableEntity,
	practice.Conflict: http.StatusConflict, practice.Stopped: http.StatusConflict, practice.Reused: http.StatusConflict,
	practice.Nothing: http.StatusConflict, practice.TooMany: http.StatusTooManyRequests,
}

// problem shows an error. One that is not the world's is logged, and shown without
// what it says: it may name somebody.
func (s *server) problem(v *visit, err error) {
	var e *practice.Error
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &tooLong):
		e = &practice.Error{Reason: practice.Refused, Text: "what was sent is too long; a form takes 2 MB"}
	case !errors.As(err, &e):
		if !errors.Is(err, context.Canceled) {
			s.options.Log.Error("a request failed", "method", v.Method, "pattern", v.Pattern, "error", err)
		}
		e = &practice.Error{Text: "the program could not do this; nothing was stored. Try again; the log of the server says more"}
	}
	status := statuses[e.Reason]
	if status == 0 {
		status = http.StatusInternalServerError
	}
	if v.Header.Get("Accept") == "application/json" {
		writeJSON(v.w, status, map[string]any{"reason": e.Reason, "at": e.At, "text": e.Text, "conflicts": e.Conflicts})
		return
	}
	s.show(v, status, "problem", map[string]any{"Title": "", "Error": e})
}

// allow says whether one more try is allowed by a key.
func (s *server) allow(key string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.tries) >= maxTries {
		clear(s.tries)
	}
	if s.tries[key] == nil {
		s.tries[key] = rate.NewLimiter(rate.Limit(1.0/triesEvery), triesAtOnce)
	}
	return s.tries[key].Allow()
}

// setUpPage shows the form of the one-time link.
func (s *server) setUpPage(w http.ResponseWriter, r *http.Request) {
	s.show(&visit{Request: r, w: w}, http.StatusOK, "set-up", map[string]any{"Title": "Set up"})
}

// setUp makes the first account.
func (s *server) setUp(w http.ResponseWriter, r *http.Request) {
	v := &visit{Request: r, w: w}
	if !s.allow("set-up " + s.machine(r)) {
		s.problem(v, errTooMany)
		return
	}
	a, err := s.practice.SetUp(r.Context(), r.PathValue("token"), r.FormValue("name"), r.FormValue("email"), r.FormValue("passphrase"))
	if err != nil {
		s.again(v, "set-up", "Set up", err)
		return
	}
	token, err := s.practice.Admit(r.Context(), a, r.UserAgent())
	if err != nil {
		s.problem(v, err)
		return
	}
	s.letIn(v, token)
}

var errTooMany = &practice.Error{Reason: practice.TooMany, Text: "too many tries; wait a minute and try again"}

// machine is where a request comes from. Behind a server that speaks TLS on this
// machine it is what that server says last: else one who tries passphrases would keep
// everybody out.
func (s *server) machine(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	said := r.Header.Values("X-Forwarded-For")
	if ip, err := netip.ParseAddr(host); s.options.Secure && err == nil && ip.IsLoopback() && len(said) > 0 {
		list := strings.Split(said[len(said)-1], ",")
		return strings.TrimSpace(list[len(list)-1])
	}
	return host
}

// again shows a form with what was typed and what is wrong.
func (s *server) again(v *visit, page, title string, err error) {
	var e *practice.Error
	if !errors.As(err, &e) {
		s.problem(v, err)
		return
	}
	s.show(v, statuses[e.Reason], page, map[string]any{"Title": title, "Error": e, "Form": v.Request.Form})
}

// signInPage shows the form.
func (s *server) signInPage(w http.ResponseWriter, r *http.Request) {
	s.show(&visit{Request: r, w: w}, http.StatusOK, "sign-in", map[string]any{"Title": "Sign in"})
}

// signIn checks address and passphrase, a few times a minute.
func (s *server) signIn(w http.ResponseWriter, r *http.Request) {
	v := &visit{Request: r, w: w}
	email := strings.ToLower(strings.TrimSpace(r.FormValue("email")))
	if len(email) > 254 || !s.allow("to "+email) || !s.allow("from "+s.machine(r)) {
		s.again(v, "sign-in", "Sign in", errTooMany)
		return
	}
	token, err := s.practice.SignIn(r.Context(), email, r.FormValue("passphrase"), r.UserAgent())
	if err != nil {
		s.again(v, "sign-in", "Sign in", err)
		return
	}
	s.letIn(v, token)
}

// letIn gives a device its token and goes to the clients.
func (s *server) letIn(v *visit, token string) {
	http.SetCookie(v.w, &http.Cookie{Name: cookieName, Value: token, Path: "/", HttpOnly: true, Secure: s.options.Secure,
		SameSite: http.SameSiteLaxMode, MaxAge: 90 * 24 * 3600})
	http.Redirect(v.w, v.Request, "/", http.StatusSeeOther)
}

// newID returns the id of an operation that a form will send.
func newID() string {
	b := make([]byte, 12)
	if _, err := rand.Read(b); err != nil {
		panic("web: no random bytes")
	}
	return hex.EncodeToString(b)
}
