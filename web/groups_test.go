package web_test

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"corbel/examples"
	"corbel/practice"
)

// Ensure that a member is asked the questions like a client, that a block is handed to
// nobody for whom a stop stands, and that a member of no group is refused with a word.
func TestGroup(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	page, status := h.post(t, c, "/groups/valley/hand-over", url.Values{"block": {"valley-w1"}, "op": {h.id()}})
	if status != http.StatusOK || !strings.Contains(page, "Nadja Kolm") || !strings.Contains(page, `class="note stop"`) {
		t.Errorf("handing over to a member who was asked nothing gave %d and no stop", status)
	}
	answers := url.Values{"op": {h.id()}, "group low-back": {"no"}, "clearance active": {"yes"}}
	if _, status := h.post(t, c, "/clients/nadja-k/intake", answers); status != http.StatusOK {
		t.Fatalf("answering gave %d", status)
	}
	doc, err := h.Doc(context.Background(), h.coach, practice.MemberDoc, "nadja-k")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(doc.Text, "ask: low-back") {
		t.Errorf("the answers are not in the file:\n%s", doc.Text)
	}
	text, err := examples.Files.ReadFile("nadja-member.yaml")
	if err != nil {
		t.Fatal(err)
	}
	other := strings.Replace(string(text), "valley-group.yaml", "nowhere.yaml", 1)
	_, err = h.Put(context.Background(), h.coach, practice.MemberDoc, "", strings.Replace(other, "nadja-k", "nadja-x", 1), h.id())
	if practice.ReasonOf(err) != practice.Refused || !strings.Contains(err.Error(), "nowhere") {
		t.Errorf("a member of no group gave %v", err)
	}
}
