package web_test

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"corbel/check"
	"corbel/client"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
	"corbel/session"
)

// Ensure that a board shows what `corbel check --json` says of the same revision:
// minutes, reasons that hold, what is to be settled, in every session of every example.
func TestBoardShowsTheCheck(t *testing.T) {
	h := open(t)
	for _, name := range []string{"rosa", "tomas", "mila"} {
		docs, err := h.Docs(context.Background(), h.coach, practice.BlockDoc, "")
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range docs {
			if !strings.HasPrefix(d.ID, name) {
				continue
			}
			for _, s := range checked(t, d.Text, name).Sessions {
				b, err := h.Board(context.Background(), h.coach, d.ID, s.ID, s.Week, form.English)
				if err != nil {
					t.Fatal(err)
				}
				if d := cmp.Diff(s, *b.Found, cmpopts.IgnoreUnexported(check.ReasonResult{})); d != "" {
					t.Errorf("%s, session %s, week %d: the board differs from the check\n%s", name, s.ID, s.Week, d)
				}
			}
		}
	}
}

// checked is the report of the command line.
func checked(t *testing.T, block, name string) *check.Report {
	t.Helper()
	text, err := examples.Files.ReadFile(name + "-client.yaml")
	if err != nil {
		t.Fatal(err)
	}
	c, err := client.Read("client", text, exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	b, err := plan.ReadBlock("block", []byte(block), exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	in := check.Input{Client: c, Block: b, Library: exercise.Shipped, Language: form.English, Draws: practice.Draws, Seed: 1}
	if own, err := session.NewAthlete(c, exercise.Shipped, nil, b.Start).NewBody(bodies); err == nil {
		own.AskAll(session.Computable(b, exercise.Shipped))
		in.Shares = own
	}
	return check.Check(in)
}

// Ensure that a dose that is only tried changes the picture and stores nothing, that
// one that cannot be read says why, and that a stored one is taken back.
func TestTryStoreAndTakeBackADose(t *testing.T) {
	h := open(t)
	c := h.browser(t, "ida@example.org", "four words of ours")
	at := func(dose string) url.Values {
		return url.Values{"session": {"a"}, "week": {"1"}, "slot": {"a2"}, "dose": {dose}, "op": {h.id()}}
	}
	dose := func() string {
		o, err := h.Open(context.Background(), h.coach, "rosa-b2")
		if err != nil {
			t.Fatal(err)
		}
		_, s := o.Block.SlotByID("a2")
		return s.Dose.String()
	}
	before := dose()
	page, status := h.post(t, c, "/blocks/rosa-b2/board/try", at("9 x 4 @ 88% rir 2-3"))
	if status != http.StatusOK || !strings.Contains(page, "9 x 4 @ 88% rir 2-3") || dose() != before {
		t.Errorf("trying a dose gave %d and left %q", status, dose())
	}
	page, status = h.post(t, c, "/blocks/rosa-b2/board/try", at("9 x"))
	if status != http.StatusOK || !strings.Contains(page, `class="said" role="status">`) || strings.Contains(page, `role="status"></p>`) {
		t.Errorf("a dose half typed gave %d and no word on it", status)
	}
	if _, status = h.post(t, c, "/blocks/rosa-b2/board/dose", at("9 x")); status != http.StatusUnprocessableEntity || dose() != before {
		t.Errorf("storing a dose that cannot be read gave %d and left %q", status, dose())
	}
	if _, status = h.post(t, c, "/blocks/rosa-b2/board/dose", at("3 x 4 @ 88% rir 2-3")); status != http.StatusOK || dose() != "3 x 4 @ 88% rir 2-3" {
		t.Errorf("storing a dose gave %d and left %q", status, dose())
	}
	again := at("")
	again.Set("do", "undo")
	if _, status = h.post(t, c, "/blocks/rosa-b2/board/do", again); status != http.StatusOK || dose() != before {
		t.Errorf("taking it back gave %d and left %q, not %q", status, dose(), before)
	}
}

// BenchmarkTryDose is the server's part of a key on the board: budget 20 ms.
func BenchmarkTryDose(b *testing.B) {
	h := open(b)
	try := func() {
		if _, err := h.TryDose(context.Background(), h.coach, "rosa-b2", "a", 1, "a2", "5 x 4 @ 88% rir 2-3", form.English); err != nil {
			b.Fatal(err)
		}
	}
	try() // solves the body
	for b.Loop() {
		try()
	}
}
