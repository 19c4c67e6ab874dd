package web_test

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// Ensure that fields of an exercise are set, moved to another session and taken back,
// that what the form does not allow is refused, and that each change is listed.
func TestSetFieldsMoveAndList(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	do := func(values url.Values) (string, int) {
		values.Set("op", h.id())
		values.Set("slot", "a4")
		values.Set("session", "a")
		return h.post(t, c, "/blocks/rosa-b2/board/do", values)
	}
	where := func() (session, note, rest string) {
		o, err := h.Open(context.Background(), h.coach, "rosa-b2")
		if err != nil {
			t.Fatal(err)
		}
		s, x := o.Block.SlotByID("a4")
		return string(s.ID), x.Note, x.Rest.String()
	}
	if _, status := do(url.Values{"do": {"fields"}, "rest": {"2:30"}, "note": {"Slow down <b>here</b>"}}); status != http.StatusOK {
		t.Fatalf("setting fields gave %d", status)
	}
	if _, note, rest := where(); note != "Slow down <b>here</b>" || rest != "2:30" {
		t.Errorf("stored note %q and rest %q", note, rest)
	}
	if page, status := do(url.Values{"do": {"fields"}, "rest": {"soon"}}); status != http.StatusUnprocessableEntity || !strings.Contains(page, "soon") {
		t.Errorf("a rest that is none gave %d", status)
	}
	if _, status := do(url.Values{"do": {"to"}, "other": {"b"}}); status != http.StatusOK {
		t.Fatalf("moving gave %d", status)
	}
	if session, _, _ := where(); session != "b" {
		t.Errorf("it stands in %s", session)
	}
	page, _ := h.get(t, c, "/blocks/rosa-b2/history?against=2")
	if !strings.Contains(page, "moved an exercise to another session") || !strings.Contains(page, "Slow down &lt;b&gt;here&lt;/b&gt;") {
		t.Error("the list of changes does not show what was done")
	}
	if _, status := do(url.Values{"do": {"undo"}}); status != http.StatusOK {
		t.Fatalf("taking back gave %d", status)
	}
	if session, note, _ := where(); session != "a" || note == "" {
		t.Errorf("after taking back one change it stands in %s with note %q", session, note)
	}
}
