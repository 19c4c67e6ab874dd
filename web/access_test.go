package web_test

import (
	"bytes"
	"context"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"corbel/practice"
	"corbel/web"
)

// open to every account, whoever it works with: nothing of a client is in them.
var openRoutes = map[string]bool{
	"GET /{$}": true, "GET /settings": true, "POST /settings/language": true, "POST /settings/sign-out": true, "GET /groups": true,
	"GET /exercises": true, "GET /exercises/{id}": true, "GET /exercises/{id}/film": true, "GET /figures/{name}": true,
	"GET /members/{id}": true, // goes on to /clients/{id}
	"GET /many":         true, // lists the clients of the account; what is asked for others is refused below
	"POST /many":        true, "POST /many/undo": true,
}

// coachRoutes are refused to an assistant whatever id they name.
var coachRoutes = map[string]int{
	"GET /clients/new": http.StatusForbidden, "POST /clients/new": http.StatusForbidden, "POST /settings/accounts": http.StatusForbidden, "POST /settings/access": http.StatusForbidden,
	"POST /clients/{id}/erase": http.StatusForbidden, "POST /sessions/{id}/drop": http.StatusForbidden, // the practice's own sessions
}

// idsOf are what stands for {id} and {code}: the client's, and none that there is.
type idsOf struct{ client, block, group, groupBlock, member, code string }

var wildcard = regexp.MustCompile(`\{[a-z]+\}`)

// path fills a pattern with ids.
func (ids idsOf) path(pattern string) (method, path string) {
	method, path, _ = strings.Cut(pattern, " ")
	at := ids.client
	switch {
	case strings.HasPrefix(path, "/blocks/"):
		at = ids.block
	case strings.HasPrefix(path, "/groups/"):
		at = ids.group
	case strings.HasPrefix(path, "/members/"):
		at = ids.member
	case strings.HasPrefix(path, "/exercises/"):
		at = "hex-bar-deadlift"
	case strings.HasPrefix(path, "/figures/"):
		at = "hex-bar-deadlift.svg"
	}
	path = strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(path, "{format}", "csv"), "{code}", ids.code), "{$}", "")
	return method, wildcard.ReplaceAllString(path, at)
}

// plausible is a form that has a field for every route, so that nothing is refused
// for want of one.
func plausible(h *house, ids idsOf) url.Values {
	return url.Values{"op": {h.id()}, "base": {"1"}, "sure": {ids.client}, "file": {"form: 1\nid: " + ids.client + "\nname: Taken over\n"}, "name": {"Taken over"}, "id": {"taken-over"}, "language": {"en"},
		"from": {"empty"}, "start": {"2026-12-28"}, "weeks": {"2"}, "what": {"taken over"}, "on": {"2026-11-25"}, "source": {"coach"}, "do": {"lock"}, "slot": {"a1"}, "session": {"a"}, "week": {"1"},
		"dose": {"3 x 8 @ 2 rir"}, "fix": {"none"}, "problem": {"none"}, "why": {"taken over"}, "email": {"new@example.org"}, "passphrase": {"four words of mine"}, "role": {"coach"},
		"account": {"nobody"}, "clearance disease": {"no"}, "cell a1 dose": {"3 x 8 @ 2 rir"}, "was a1 dose": {""}}
}

// ask sends a request of a route and follows no redirect.
func (h *house) ask(t *testing.T, c *http.Client, pattern string, ids idsOf) (page string, status int) {
	t.Helper()
	method, path := ids.path(pattern)
	body, kind := plausible(h, ids).Encode(), "application/x-www-form-urlencoded"
	switch {
	case strings.HasSuffix(path, "/type"):
		body, kind = `{"id": "`+h.id()+`", "base": 1, "cells": [{"slot": "a1", "field": "dose", "was": "", "to": "3 x 8 @ 2 rir"}]}`, "application/json"
	case strings.HasSuffix(path, "/try"):
		if !strings.HasSuffix(path, "/board/try") {
			body, kind = `{"cells": [{"slot": "a1", "field": "dose", "was": "", "to": "3 x 8 @ 2 rir"}]}`, "application/json"
		}
	case strings.HasSuffix(path, "/act"):
		body, kind = `{"id": "`+h.id()+`", "do": "out", "slot": "a1"}`, "application/json"
	case strings.HasSuffix(path, "/workbook"):
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		part, err := m.CreateFormFile("workbook", "results.xlsx")
		if err == nil {
			_, err = part.Write([]byte("no workbook"))
		}
		if err != nil {
			t.Fatal(err)
		}
		m.Close()
		body, kind = b.String(), m.FormDataContentType()
	}
	if method == http.MethodGet {
		body = ""
	}
	r, err := http.NewRequest(method, h.server.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", kind)
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	stays := *c
	stays.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return send(t, &stays, r)
}

// texts are all documents as they stand, to see that nothing was changed.
func (h *house) texts(t *testing.T) string {
	t.Helper()
	var out strings.Builder
	for _, kind := range []practice.Kind{practice.ClientDoc, practice.BlockDoc, practice.LogDoc, practice.PracticeDoc, practice.GroupDoc, practice.MemberDoc} {
		docs, err := h.Docs(context.Background(), h.coach, kind, "")
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range docs {
			out.WriteString(d.ID + "\n" + d.Text)
		}
	}
	return out.String()
}

// guarded is a house with two assistants: one works with Mila, one with nobody; and
// a block handed over.
func guarded(t *testing.T) (h *house, none, mila *http.Client, rosa, own, nowhere idsOf) {
	t.Helper()
	ctx := context.Background()
	h = open(t)
	for _, a := range []string{"lone", "helper"} {
		if _, err := h.AddAccount(ctx, h.coach, "Assistant "+a, a+"@example.org", "four words of theirs", practice.Assistant); err != nil {
			t.Fatal(err)
		}
	}
	view, err := h.Settings(ctx, h.coach)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range view.Accounts {
		if a.Email == "helper@example.org" {
			if err := h.SetAccess(ctx, h.coach, a.ID, []string{"mila-r"}); err != nil {
				t.Fatal(err)
			}
		}
	}
	rosa = idsOf{client: "rosa-l", block: "rosa-b2", group: "valley", groupBlock: "valley-w1", member: "nadja-k", code: h.handOver(t, "rosa-b2")}
	own = idsOf{client: "mila-r", block: "mila-b1", group: "valley", member: "mila-r", code: "none"}
	nowhere = idsOf{client: "nobody-x", block: "nobody-b1", group: "nobody", member: "nobody-x", code: "none"}
	return h, h.browser(t, "lone@example.org", "four words of theirs"), h.browser(t, "helper@example.org", "four words of theirs"), rosa, own, nowhere
}

// handOver settles what stops a block by the ways out, hands it over and returns its
// code.
func (h *house) handOver(t *testing.T, block string) string {
	t.Helper()
	f, err := h.HandOver(context.Background(), h.coach, block, h.id())
	if err != nil {
		t.Fatal(err)
	}
	return f.Code
}

// Ensure that every route refuses who may not use it, for ids of others and for ids
// that are not there alike, tells no name, and changes nothing.
func TestEveryRouteByRole(t *testing.T) {
	h, none, mila, rosa, _, nowhere := guarded(t)
	out, coach := h.browser(t, "", ""), h.browser(t, "ida@example.org", "four words of ours")
	before := h.texts(t)
	for _, pattern := range web.Routes() {
		get := strings.HasPrefix(pattern, "GET ")
		scoped := wildcard.MatchString(pattern) && !openRoutes[pattern]
		if !scoped && !openRoutes[pattern] && coachRoutes[pattern] == 0 {
			t.Errorf("%s: this test does not know who may use it", pattern)
		}
		for _, ids := range []idsOf{rosa, nowhere} {
			want := http.StatusForbidden
			if get {
				want = http.StatusSeeOther
			}
			h.refused(t, out, "signed out", pattern, ids, want)
			if !scoped && coachRoutes[pattern] == 0 {
				continue
			}
			want = http.StatusNotFound
			if coachRoutes[pattern] != 0 {
				want = coachRoutes[pattern]
			}
			h.refused(t, none, "an assistant of nobody", pattern, ids, want)
			h.refused(t, mila, "an assistant of somebody else", pattern, ids, want)
		}
		if scoped {
			h.refused(t, coach, "the coach", pattern, nowhere, http.StatusNotFound)
		}
	}
	if h.texts(t) != before {
		t.Error("a request that was refused changed a document")
	}
}

// refused holds a refusal against its status, and its text against names.
func (h *house) refused(t *testing.T, c *http.Client, who, pattern string, ids idsOf, want int) {
	t.Helper()
	page, status := h.ask(t, c, pattern, ids)
	if status != want {
		t.Errorf("%s by %s for %s gave %d, not %d", pattern, who, ids.client, status, want)
	}
	for _, name := range []string{"Rosa", "Lindqvist", "Mila", "Tomas", "Nadja", "Valley", "Block 2"} {
		if strings.Contains(page, name) {
			t.Errorf("%s by %s for %s tells %s", pattern, who, ids.client, name)
		}
	}
}

// Ensure that an assistant sees the clients given to them everywhere and nobody else
// anywhere: list, search, pages, audit.
func TestAssistantSeesTheirs(t *testing.T) {
	h, none, mila, _, own, _ := guarded(t)
	for _, path := range []string{"/", "/?q=rosa", "/?state=need", "/settings", "/groups", "/exercises/hex-bar-deadlift"} {
		for _, c := range []*http.Client{none, mila} {
			page, status := h.get(t, c, path)
			if status != http.StatusOK || strings.Contains(page, "rosa-") || strings.Contains(page, "Rosa") || strings.Contains(page, "nadja") || strings.Contains(page, "valley") {
				t.Errorf("%s of an assistant gave %d, or somebody else's client", path, status)
			}
		}
	}
	if page, _ := h.get(t, mila, "/"); !strings.Contains(page, "/clients/mila-r") {
		t.Error("the assistant's own client is not in the list")
	}
	for _, pattern := range web.Routes() {
		if !strings.HasPrefix(pattern, "GET /clients/{id}") && !strings.HasPrefix(pattern, "GET /blocks/{id}") || strings.HasSuffix(pattern, "/log") {
			continue
		}
		if _, status := h.ask(t, mila, pattern, own); status != http.StatusOK {
			t.Errorf("%s of the assistant's own client gave %d", pattern, status)
		}
	}
}
