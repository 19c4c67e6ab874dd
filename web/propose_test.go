package web_test

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"corbel/plan"
	"corbel/practice"
)

// slotsOf finds what a page of proposals would store of its first proposal.
var slotsOf = regexp.MustCompile(`name="slots" value="([^"]*)"`)

// Ensure that what is accepted of a proposal is what was shown, without what was
// unticked, as a new draft of the client.
func TestAcceptPartOfAProposal(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	page, status := h.get(t, c, "/clients/rosa-l/propose?ask=yes&start=2026-12-28")
	found := slotsOf.FindStringSubmatch(page)
	if status != http.StatusOK || found == nil {
		t.Fatalf("asking for a proposal gave %d", status)
	}
	slots := strings.Fields(found[1])
	if _, status := h.post(t, c, "/clients/rosa-l/propose", url.Values{"start": {"2026-12-28"}, "seed": {"1"}, "slots": {found[1]}, "slot": slots[1:], "name": {"Second hill"}, "op": {h.id()}}); status != http.StatusOK {
		t.Fatalf("accepting gave %d", status)
	}
	docs, err := h.Docs(context.Background(), h.coach, practice.BlockDoc, "rosa-l")
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(docs, func(d practice.Doc) bool { return d.Name == "Second hill" })
	if i < 0 {
		t.Fatal("no such block was stored")
	}
	o, err := h.Open(context.Background(), h.coach, docs[i].ID)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range o.Block.Sessions {
		for _, x := range s.Slots {
			got = append(got, string(x.ID))
		}
	}
	if !slices.Equal(got, slots[1:]) || o.Block.State != plan.Draft {
		t.Errorf("stored %v as %s; shown and ticked %v", got, o.Block.State, slots[1:])
	}
}

// Ensure that a block is begun in every way there is, each as a draft of its own, and
// that what is missing is said.
func TestBeginABlock(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	begin := func(from, exercise string) int {
		page, status := h.post(t, c, "/clients/tomas-f/new-block", url.Values{"op": {h.id()}, "name": {"From " + from}, "start": {"2026-12-28"}, "weeks": {"3"}, "from": {from}, "exercise": {exercise}, "dose": {"3 x 8 rir 2"}})
		if at := strings.Index(page, `role="alert"`); at >= 0 {
			t.Log(from, page[at:min(len(page), at+300)])
		}
		return status
	}
	for _, from := range []string{"design", "last", "days"} {
		if status := begin(from, "push-up"); status != http.StatusOK {
			t.Errorf("beginning from %s gave %d", from, status)
		}
	}
	if status := begin("days", "no such thing"); status != http.StatusUnprocessableEntity {
		t.Errorf("beginning with no exercise gave %d", status)
	}
	docs, err := h.Docs(context.Background(), h.coach, practice.BlockDoc, "tomas-f")
	if err != nil {
		t.Fatal(err)
	}
	if len(docs) != 4 {
		t.Errorf("%d blocks, the demo's and three begun", len(docs))
	}
	for _, d := range docs {
		o, err := h.Open(context.Background(), h.coach, d.ID)
		if err != nil {
			t.Fatal(err)
		}
		if d.Name == "From days" && (len(o.Block.Sessions) != len(o.Client.Days) || o.Block.Weeks != 3 || o.Block.State != plan.Draft) {
			t.Errorf("from days: %d sessions for %d days, %d weeks, %s", len(o.Block.Sessions), len(o.Client.Days), o.Block.Weeks, o.Block.State)
		}
	}
}
