package web_test

import (
	"context"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp/kb"

	"corbel/plan"
	"corbel/practice"
)

// logOf is the log of a client as it is stored; nil where there is none.
func (h *house) logOf(t testing.TB, id string) *plan.Log {
	t.Helper()
	d, err := h.Doc(context.Background(), h.coach, practice.LogDoc, id)
	if practice.ReasonOf(err) == practice.NotFound {
		return nil
	}
	if err != nil {
		t.Fatal(err)
	}
	l, err := plan.ReadLog("log", []byte(d.Text), h.Library.Name)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// counted presses keys and counts them: a text is as many keys as it has letters.
func (p *tab) counted(n *int, keys ...string) {
	p.t.Helper()
	for _, k := range keys {
		for _, r := range k {
			p.strike(r)
			*n++
		}
	}
}

// strike presses and releases a key in one event each way, as a keyboard does: a key
// that the page takes for itself types nothing.
func (p *tab) strike(r rune) {
	p.t.Helper()
	events := kb.Encode(r)
	if len(events) == 3 { // down, char, up
		events[0].Text = events[1].Text
		events = append(events[:1], events[2])
	}
	for _, e := range events {
		call(p, input.DispatchKeyEvent, *e)
	}
}

// Ensure that a session done as written is recorded with at most 3 keys from the
// client's page, and one with three deviations with at most 30: fewer repetitions, a
// set left out on one side, and pain.
func TestRecordByKeys(t *testing.T) {
	h := open(t)
	p := h.tab(t, h.coach)
	p.visit("/clients/rosa-l")
	n := 0
	p.counted(&n, "r")
	p.until(`document.activeElement?.closest("#record")`)
	first := js[string](p, `document.querySelector("[name=session]").value`)
	if first != "a" {
		t.Fatalf("session %q is due first, not a", first)
	}
	p.counted(&n, "\r")
	p.until(`location.pathname === "/clients/rosa-l"`)
	if n > 3 {
		t.Errorf("as written took %d keys", n)
	}
	log := h.logOf(t, "rosa-l")
	e := log.Entries[len(log.Entries)-1]
	if e.Session != "a" || e.Week != 1 || len(e.Sets) == 0 || len(e.Skipped) > 0 {
		t.Fatalf("recorded %+v", e)
	}

	p.visit("/blocks/rosa-b2/record?session=a&week=2")
	p.until(`document.activeElement?.closest("#record")`)
	n = 0
	p.counted(&n, "n", "7", kb.ArrowDown, kb.ArrowDown) // the first exercise: set 1 with 7
	p.counted(&n, kb.PageDown, "n", "5", kb.PageDown, "s", "knee", kb.ArrowDown, "h", "kn", "\t", "l", "\t", "\t", "4", "\r")
	p.until(`location.pathname === "/clients/rosa-l"`)
	if n > 30 {
		t.Errorf("three deviations took %d keys", n)
	}
	log = h.logOf(t, "rosa-l")
	e = log.Entries[len(log.Entries)-1]
	if e.Week != 2 || e.Sets[0].Done.Text != "7" {
		t.Errorf("the first set was recorded as %+v", e.Sets[0])
	}
	if len(e.Skipped) != 1 || e.Skipped[0].Why != "knee" {
		t.Errorf("left out: %+v", e.Skipped)
	}
	if len(e.Pain) != 1 || !strings.HasPrefix(string(e.Pain[0].Place), "knee") || e.Pain[0].Side != "left" || e.Pain[0].Slot == "" || e.Pain[0].During == nil || *e.Pain[0].During != 4 {
		t.Errorf("pain: %+v", e.Pain)
	}
}

// Ensure that what cannot be read of a session stays in its field, with why.
func TestRecordUnread(t *testing.T) {
	h := open(t)
	p := h.tab(t, h.coach)
	p.allow("422")
	p.visit("/blocks/rosa-b2/record")
	p.until(`document.activeElement?.closest("#record")`)
	p.keys(kb.ArrowDown, "many", "\r")
	p.until(`document.querySelector("[role=alert]")`)
	if got := js[string](p, `document.querySelector("[role=alert]").innerText`); !strings.Contains(got, "many") {
		t.Errorf("the page says %q", got)
	}
	if got := js[string](p, `document.querySelector("input[data-set]").value`); got != "many" {
		t.Errorf("what was typed became %q", got)
	}
	if h.logOf(t, "rosa-l") != nil {
		t.Error("something was recorded")
	}
}
