package store

import (
	"testing"
	"time"

	"corbel/client"
	"corbel/practice"
)

// Ensure that a consent is written down with its day and who asked, once while it
// stands, taken back, and given anew; for clients and for members.
func TestConsent(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := filled(t, s)
		grouped(t, p, coach)
		for _, id := range []string{"rosa-l", "nadja-k"} {
			now := func() []client.Consent {
				who, err := p.Person(t.Context(), coach, id)
				if err != nil {
					t.Fatal(err)
				}
				return who.Client.Consent
			}
			give := func(purpose client.Purpose, operation string) error {
				_, err := p.GiveConsent(t.Context(), coach, id, purpose, "by letter", operation+id+"-00000000")
				return err
			}
			if err := give("anything", "a"); practice.ReasonOf(err) != practice.Refused {
				t.Errorf("to anything: %v", err)
			}
			if err := give(client.ForHealth, "b"); err != nil {
				t.Fatal(err)
			}
			if err := give(client.ForHealth, "c"); err != nil || len(now()) != 1 {
				t.Errorf("given twice: %v %v", now(), err)
			}
			if c := now()[0]; c.By != "Ida Brandt" || c.On.String() != "2026-11-25" || c.Note != "by letter" || !c.Holds(c.On) {
				t.Errorf("%+v", c)
			}
			if _, err := p.WithdrawConsent(t.Context(), coach, id, client.ForVideo, "d"+id+"-00000000"); practice.ReasonOf(err) != practice.Refused {
				t.Errorf("taken back and never given: %v", err)
			}
			if _, err := p.WithdrawConsent(t.Context(), coach, id, client.ForHealth, "e"+id+"-00000000"); err != nil || now()[0].Holds(now()[0].On) {
				t.Errorf("taken back: %v %v", now(), err)
			}
			if err := give(client.ForHealth, "f"); err != nil || len(now()) != 2 {
				t.Errorf("given anew: %v %v", now(), err)
			}
			if _, err := p.GiveConsent(t.Context(), assistant, id, client.ForHealth, "", "g"+id+"-00000000"); practice.ReasonOf(err) != practice.NotFound {
				t.Errorf("an assistant of others: %v", err)
			}
		}
		if wrong, err := p.Verify(t.Context()); err != nil || len(wrong) > 0 {
			t.Error(wrong, err)
		}
	})
}

// Ensure that a client is over when the months have passed since the last that happened,
// that a later session counts, that an assistant sees their own alone, and that nobody
// is over where no rule is set.
func TestRetention(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store) {
		p, coach, assistant := filled(t, s)
		over := func(who *practice.Account, days int) (ids []string) {
			p.Now = func() time.Time { return noon().AddDate(0, 0, days) }
			defer func() { p.Now = noon }()
			list, err := p.Over(t.Context(), who)
			if err != nil {
				t.Fatal(err)
			}
			for _, h := range list {
				ids = append(ids, h.ID)
			}
			return ids
		}
		if got := over(coach, 5000); len(got) != 0 {
			t.Errorf("without a rule: %v", got)
		}
		for months, want := range map[int]practice.Reason{241: practice.Refused, -1: practice.Refused, 12: ""} {
			if err := p.SetRetention(t.Context(), coach, months, "our contract", "retention-000000001"); practice.ReasonOf(err) != want {
				t.Errorf("%d months: %v", months, err)
			}
		}
		if err := p.SetRetention(t.Context(), assistant, 1, "", "retention-000000002"); practice.ReasonOf(err) != practice.Forbidden {
			t.Errorf("an assistant sets it: %v", err)
		}
		for _, x := range []struct{ days, coach, assistant int }{{364, 0, 0}, {366, 1, 1}, {500, 2, 1}} { // Rosa's log goes on to December
			if a, b := over(coach, x.days), over(assistant, x.days); len(a) != x.coach || len(b) != x.assistant {
				t.Errorf("after %d days: %v and %v", x.days, a, b)
			}
		}
		if err := p.SetRetention(t.Context(), coach, 0, "", "retention-000000003"); err != nil || len(over(coach, 5000)) != 0 {
			t.Errorf("for good again: %v", err)
		}
	})
}
