package web_test

import (
	"context"
	"net/http"
	"net/url"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// Ensure that the list, whose rows are kept, is after every kind of change what a
// practice that has kept nothing makes of the same store.
func TestListFollowsChanges(t *testing.T) {
	h := open(t)
	ctx := context.Background()
	c := h.browser(t, "ida@example.org", "four words of ours")
	same := func(after string) {
		t.Helper()
		fresh := practice.New(h.Store, exercise.Shipped, h.Now, plan.MadeWith{Program: "test"})
		fresh.Bodies = bodies
		languages := []form.Language{form.English}
		if after == "opening" {
			languages = append(languages, form.German)
		}
		for _, l := range languages {
			got, err := h.Clients(ctx, h.coach, "", l)
			if err != nil {
				t.Fatal(err)
			}
			want, err := fresh.Clients(ctx, h.coach, "", l)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(want, got, cmpopts.EquateComparable(form.Date{}), cmpopts.IgnoreUnexported(practice.Need{})); d != "" {
				t.Errorf("after %s the list in %s is not what the store says\\n%s", after, l, d)
			}
		}
	}
	same("opening")
	for _, x := range []struct {
		path   string
		values url.Values
	}{
		{"/blocks/rosa-b2/board/dose", url.Values{"session": {"a"}, "week": {"1"}, "slot": {"a2"}, "dose": {"9 x 12 @ 95% rir 0"}}},
		{"/blocks/rosa-b2/undo", url.Values{}},
		{"/blocks/rosa-b2/record", url.Values{"session": {"a"}, "week": {"1"}, "pain-place": {"knee"}, "pain-side": {"left"}, "pain-during": {"4"}}},
		{"/clients/mila-r/intake", url.Values{"flag joint-swelling": {"no"}}},
		{"/clients/tomas-f/finding", url.Values{"what": {"elbow aches"}, "on": {"2026-11-25"}, "source": {"client"}}},
		{"/clients/tomas-f/new-block", url.Values{"from": {"last"}, "name": {"Next"}, "start": {"2027-01-04"}, "weeks": {"2"}}},
		{"/clients/new", url.Values{"name": {"Anna Beck"}, "id": {"anna-b"}, "language": {"en"}}},
		{"/clients/mila-r/erase", url.Values{"sure": {"mila-r"}}},
	} {
		x.values.Set("op", h.id())
		if page, status := h.post(t, c, x.path, x.values); status != http.StatusOK {
			t.Fatalf("%s gave %d: %s", x.path, status, alertOf(page))
		}
		same(x.path)
	}
	then := now
	h.Now = func() time.Time { return then.AddDate(0, 0, 30) }
	same("a month")
}
