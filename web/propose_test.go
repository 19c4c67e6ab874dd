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
