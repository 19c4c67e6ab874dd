package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"strings"
	"syscall"
	"time"

	"corbel/exercise"
	"corbel/invented"
	"corbel/plan"
	"corbel/practice"
	"corbel/store"
	"corbel/web"
)

// serveCmd is corbel serve.
type serveCmd struct {
	kept
	Addr    string `help:"Address to listen on." default:"127.0.0.1:7420"`
	BaseURL string `name:"base-url" help:"How the practice is reached from outside, https://...; needed to listen beyond this machine." placeholder:"URL"`
	Demo    bool   `help:"Fill an empty practice with invented clients, and say how to sign in."`
}

// Bounds of one request (our judgement; key judgement).
const (
	headerTime   = 10 * time.Second
	requestTime  = 60 * time.Second
	idleTime     = 2 * time.Minute
	shutdownTime = 10 * time.Second
	serveMemory  = 320 << 20 // bytes from which on memory is given back at once
)

// Run serves the workbench until it is told to stop.
func (c *serveCmd) Run(a *app) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	base, err := c.base()
	if err != nil {
		return err
	}
	s, err := openStore(ctx, c.Data, c.Database)
	if err != nil {
		return err
	}
	defer s.Close()
	p := a.practice(s)
	listener, err := net.Listen("tcp", c.Addr)
	if err != nil {
		return fmt.Errorf("--addr %s: %w; choose another, such as 127.0.0.1:7421", c.Addr, err)
	}
	at := "http://" + listener.Addr().String()
	if base != nil {
		at = strings.TrimSuffix(base.String(), "/")
	}
	p.Origin = at
	if err := c.fill(ctx, a, p); err != nil {
		return err
	}
	if err := c.welcome(ctx, a, p, at); err != nil {
		return err
	}
	if debug.SetMemoryLimit(-1) == math.MaxInt64 { // GOMEMLIMIT says otherwise
		debug.SetMemoryLimit(serveMemory)
	}
	log := slog.New(slog.NewTextHandler(a.err, nil))
	p.StartBackground(ctx, func(problem any) { log.Error("work in the background failed", "error", problem) })
	server := &http.Server{Handler: web.New(p, web.Options{Secure: base != nil, Log: log}), ReadHeaderTimeout: headerTime, ReadTimeout: requestTime,
		WriteTimeout: requestTime, IdleTimeout: idleTime, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn)}
	done := make(chan error, 1)
	go func() {
		<-ctx.Done()
		ending, cancel := context.WithTimeout(context.Background(), shutdownTime)
		defer cancel()
		done <- server.Shutdown(ending)
	}()
	if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return <-done
}

// base reads --base-url and refuses to listen beyond this machine without it.
func (c *serveCmd) base() (*url.URL, error) {
	host, _, err := net.SplitHostPort(c.Addr)
	if err != nil {
		return nil, fmt.Errorf("--addr %q: write an address and a port, such as 127.0.0.1:7420", c.Addr)
	}
	if c.BaseURL == "" {
		ip, err := netip.ParseAddr(host)
		if host != "localhost" && (err != nil || !ip.IsLoopback()) {
			return nil, fmt.Errorf("--addr %s is reached from other machines: put it behind a server that speaks TLS and say --base-url https://..., or listen on 127.0.0.1", c.Addr)
		}
		return nil, nil
	}
	u, err := url.Parse(c.BaseURL)
	if err != nil || u.Scheme != "https" || u.Host == "" {
		return nil, fmt.Errorf("--base-url %q: write https:// and a host; the program does not go to other machines without TLS", c.BaseURL)
	}
	return u, nil
}

// openStore opens the file of a practice, or its database.
func openStore(ctx context.Context, dir, database string) (*store.Store, error) {
	if database == "" {
		return store.OpenSQLite(ctx, dir)
	}
	return store.OpenPostgres(ctx, database)
}

// practice is the practice in a store.
func (a *app) practice(s practice.Store) *practice.Practice {
	p := practice.New(s, a.library, time.Now, plan.MadeWith{Program: programVersion, Library: exercise.LibraryVersion, Model: modelVersion})
	p.Bodies = a.cache
	return p
}

// fill puts the invented practice into an empty store, where it is asked for.
func (c *serveCmd) fill(ctx context.Context, a *app, p *practice.Practice) error {
	if !c.Demo {
		return nil
	}
	token, err := p.SetUpLink(ctx)
	if err != nil {
		return err
	}
	if token != "" {
		if err := invented.Fill(ctx, p); err != nil {
			return fmt.Errorf("--demo: %w", err)
		}
	}
	fmt.Fprintf(a.out, "Everybody in this practice is invented. Sign in as %s, %s, passphrase %q;\nas an assistant, %s, %q.\n",
		invented.Coach.Name, invented.Coach.Email, invented.Coach.Phrase, invented.Assistant.Email, invented.Assistant.Phrase)
	return nil
}

// welcome says where the practice is and how to get in.
func (c *serveCmd) welcome(ctx context.Context, a *app, p *practice.Practice, at string) error {
	token, err := p.SetUpLink(ctx)
	if err != nil {
		return err
	}
	if token == "" {
		fmt.Fprintf(a.out, "The practice is at %s\n", at)
		return nil
	}
	where := c.Data
	if full, err := filepath.Abs(c.Data); err == nil {
		where = full
	}
	fmt.Fprintf(a.out, "The practice in %s is new. Open this link once, within a day, to set it up:\n%s/set-up/%s\n", where, at, token)
	return nil
}
