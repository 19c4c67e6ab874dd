package design

import (
	"errors"
	"os"
	"slices"
	"testing"

	"corbel/check"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// day reads a date.
func date(t testing.TB, text string) form.Date {
	t.Helper()
	var d form.Date
	if err := d.UnmarshalText([]byte(text)); err != nil {
		t.Fatal(err)
	}
	return d
}

// clientFile reads a client of the demo.
func clientFile(t testing.TB, name string) *client.Client {
	t.Helper()
	src, err := os.ReadFile("../examples/" + name)
	if err != nil {
		t.Fatal(err)
	}
	c, err := client.Read(name, src, exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// wishOf is a wish for a client with the usual effort.
func wishOf(t testing.TB, c *client.Client) Wish {
	return Wish{Client: c, Library: exercise.Shipped, Start: date(t, "2026-11-30"), Moves: QuickMoves, Seed: 1, Draws: 100}
}

// holdsUp fails where a proposed block does not pass the check: a stop, a reason
// that does not hold, a slot without one, a session over time.
func holdsUp(t *testing.T, w Wish, p *Proposal) *check.Report {
	t.Helper()
	r := check.Check(check.Input{Client: w.Client, Block: p.Block, Library: w.Library, Draws: w.Draws, Seed: w.Seed, Shares: w.Shares})
	for _, x := range r.Problems {
		switch {
		case x.Blocks(), x.Code == "reason-fails", x.Code == "no-reason", x.Code == "over-time", x.Code == "equipment-missing", x.Code == "cap-passed":
			t.Errorf("%s: %s %v: %s", w.Client.ID, x.Code, x.At, x.Text)
		}
	}
	return r
}

// Ensure that the clients of the demo get blocks that pass the check.
func TestDemoClients(t *testing.T) {
	for _, name := range []string{"rosa-client.yaml", "tomas-client.yaml"} {
		w := wishOf(t, clientFile(t, name))
		p, err := Propose(w)
		if err != nil {
			t.Fatal(err)
		}
		holdsUp(t, w, p)
		for _, ses := range p.Block.Sessions {
			other := 0
			for _, x := range ses.Slots {
				if slices.ContainsFunc(x.Reasons, func(r plan.Reason) bool { return r.Load == nil }) {
					other++
				}
			}
			if 3*other < len(ses.Slots) {
				t.Logf("%s, %s: %d of %d exercises have a reason beside load", name, ses.Name, other, len(ses.Slots))
			}
		}
	}
}

// Ensure that who has questions open gets no block but the question.
func TestOpenQuestionsComeFirst(t *testing.T) {
	var none *NoDesign
	if _, err := Propose(wishOf(t, clientFile(t, "mila-client.yaml"))); !errors.As(err, &none) || none.Why == "" {
		t.Errorf("mila: %v", err)
	}
}
