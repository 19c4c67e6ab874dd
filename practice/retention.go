package practice

import (
	"context"
	"errors"
	"slices"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
)

// GiveConsent writes down that a client or member agreed to a purpose today.
func (p *Practice) GiveConsent(ctx context.Context, who *Account, id string, purpose client.Purpose, note, operation string) (Outcome, error) {
	return p.editConsent(ctx, who, id, "wrote down a consent", operation, func(list []client.Consent) ([]client.Consent, error) {
		if slices.ContainsFunc(list, func(c client.Consent) bool { return c.Purpose == purpose && c.Holds(p.today()) }) {
			return list, nil
		}
		return append(list, client.Consent{Purpose: purpose, On: p.today(), By: who.Name, Note: note}), nil
	})
}

// WithdrawConsent writes down that a client or member took a consent back today. What it
// was given for stays until it is erased.
func (p *Practice) WithdrawConsent(ctx context.Context, who *Account, id string, purpose client.Purpose, operation string) (Outcome, error) {
	return p.editConsent(ctx, who, id, "wrote down that a consent was taken back", operation, func(list []client.Consent) ([]client.Consent, error) {
		i := slices.IndexFunc(list, func(c client.Consent) bool { return c.Purpose == purpose && c.Holds(p.today()) })
		if i < 0 {
			return nil, fail(Refused, "purpose", "there is no consent to this that stands; give one first")
		}
		list[i].Withdrawn = p.today()
		return list, nil
	})
}

// editConsent changes the consents of a client or member, as one change.
func (p *Practice) editConsent(ctx context.Context, who *Account, id, what, operation string, f func([]client.Consent) ([]client.Consent, error)) (Outcome, error) {
	var doc *Doc
	if err := p.Store.View(ctx, func(r Reader) (err error) { doc, err = p.person(r, who, id); return err }); err != nil {
		return Outcome{}, err
	}
	if doc.Kind == ClientDoc {
		return p.EditClient(ctx, who, id, what, operation, func(c *client.Client) (err error) {
			c.Consent, err = f(c.Consent)
			return err
		})
	}
	m, err := plan.ReadMember("member", []byte(doc.Text), p.Library.Name)
	if err != nil {
		return Outcome{}, err
	}
	if m.Consent, err = f(m.Consent); err != nil {
		return Outcome{}, err
	}
	read, err := p.read(MemberDoc, doc, string(form.Write(m)))
	if err != nil {
		return Outcome{}, err
	}
	return p.Do(ctx, who, Change{ID: operation, Kind: MemberDoc, Doc: id, Base: doc.Version, What: what, Edits: Diff(TakeApart(doc.Text), TakeApart(read.text))})
}

// HouseID is the id of the practice's own document where the program makes it.
const HouseID = "practice"

// EditRules changes the rules of the practice by a function, as one change; they are
// made where there are none. Coaches alone may.
func (p *Practice) EditRules(ctx context.Context, who *Account, what, operation string, f func(*client.Practice) error) (Outcome, error) {
	if who.Role != Coach {
		return Outcome{}, fail(Forbidden, "", "a coach sets the rules of the practice")
	}
	docs, err := p.Docs(ctx, who, PracticeDoc, "")
	if err != nil {
		return Outcome{}, err
	}
	rules, base, id, before := &client.Practice{Form: form.Version, ID: HouseID}, 0, HouseID, Fields{}
	if len(docs) > 0 {
		base, id, before = docs[0].Version, docs[0].ID, TakeApart(docs[0].Text)
		if rules, err = client.ReadPractice("practice", []byte(docs[0].Text), p.Library.Name); err != nil {
			return Outcome{}, err
		}
	}
	if err := f(rules); err != nil {
		return Outcome{}, err
	}
	read, err := p.read(PracticeDoc, &Doc{Kind: PracticeDoc, ID: id}, string(form.Write(rules)))
	if err != nil {
		return Outcome{}, err
	}
	return p.Do(ctx, who, Change{ID: operation, Kind: PracticeDoc, Doc: id, Base: base, What: what, Edits: Diff(before, TakeApart(read.text))})
}

// SetRetention says for how many months clients are kept after the last that happened
// with them; 0 for good.
func (p *Practice) SetRetention(ctx context.Context, who *Account, months int, why, operation string) error {
	_, err := p.EditRules(ctx, who, "set how long clients are kept", operation, func(r *client.Practice) error {
		if r.Retention = nil; months != 0 {
			r.Retention = &client.Retention{Months: months, Why: why}
		}
		return nil
	})
	return err
}

// A Held client is one with the last day anything happened with them.
type Held struct {
	ID, Name string
	Last     form.Date // last session, change or hand-over
	Until    form.Date // last day they are to be kept; zero for good
}

// Over lists the clients and members of an account whose time to be kept is over, the
// longest first. Nothing is erased by itself: a coach does it.
func (p *Practice) Over(ctx context.Context, who *Account) (out []Held, err error) {
	people, err := p.People(ctx, who)
	if err != nil {
		return nil, err
	}
	err = p.Store.View(ctx, func(r Reader) error {
		out = nil
		docs, err := r.Docs(PracticeDoc, "")
		if err != nil || len(docs) == 0 {
			return err
		}
		rules, err := client.ReadPractice("practice", []byte(docs[0].Text), p.Library.Name)
		if err != nil || rules.Retention == nil {
			return err
		}
		for _, d := range people {
			last, err := p.lastOf(r, &d)
			if err != nil {
				return err
			}
			if until := rules.Retention.Until(last); until.Before(p.today()) {
				out = append(out, Held{d.ID, d.Name, last, until})
			}
		}
		return nil
	})
	slices.SortStableFunc(out, func(a, b Held) int { return a.Last.Days(b.Last) })
	return out, err
}

// lastOf returns the last day anything happened with a client or member.
func (p *Practice) lastOf(r Reader, d *Doc) (form.Date, error) {
	last := form.DateOf(d.Changed)
	later := func(day form.Date) {
		if last.Before(day) {
			last = day
		}
	}
	blocks, err := r.Docs(BlockDoc, d.ID)
	if err != nil {
		return last, err
	}
	for _, b := range blocks {
		later(form.DateOf(b.Changed))
		frozen, err := r.FrozenOf(b.ID)
		if err != nil {
			return last, err
		}
		for _, f := range frozen {
			later(form.DateOf(f.At))
		}
	}
	log, err := r.Doc(LogDoc, d.ID)
	if errors.Is(err, ErrNone) {
		return last, nil
	}
	if err != nil {
		return last, err
	}
	later(form.DateOf(log.Changed))
	l, err := plan.ReadLog("log", []byte(log.Text), p.Library.Name)
	if err != nil {
		return last, err
	}
	for _, e := range l.Entries {
		later(e.On)
	}
	return last, nil
}
