package practice

import (
	"context"
	"fmt"
	"strings"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// A MidwayKind is what is changed in mid-block.
type MidwayKind string

// Kinds of changes in mid-block.
const (
	PauseDays   MidwayKind = "pause"
	OtherPlace  MidwayKind = "place"
	SkipSession MidwayKind = "skip"
)

// A Midway is a change laid over a block: the written block stays.
type Midway struct {
	Do        MidwayKind
	On, Until form.Date // On is today where it is zero; Until the block's end
	Session   form.ID   // for skip
	Place     form.ID   // for place
	Why       string
}

// LayOver lays a change over the block of a case and returns the new block, with what
// is to be known about it in a language. The block of the case stays.
func (p *Practice) LayOver(c *Case, m Midway, by string, l form.Language) (after *plan.Block, say string, err error) {
	if strings.TrimSpace(m.Why) == "" {
		return nil, "", fail(Refused, "why", "say in a sentence why; it stands on the sheet")
	}
	o := plan.Overlay{On: m.On, Until: m.Until, By: by, Why: strings.TrimSpace(m.Why)}
	if o.On.IsZero() {
		o.On = p.today()
	}
	switch m.Do {
	case PauseDays:
		after, say, err = p.pause(c, o, l)
	case OtherPlace:
		if c.Client.PlaceByID(m.Place) == nil {
			return nil, "", fail(Refused, "place", "%s has no such place; write it into the client first", c.Client.Name)
		}
		after, err = c.Block.MoveTo(m.Place, o)
	case SkipSession:
		after, err = c.Block.SkipSession(m.Session, o)
	default:
		return nil, "", fail(Refused, "do", "a block is changed by pause, place or skip")
	}
	if err != nil {
		return nil, "", &Error{Reason: Refused, At: string(m.Do), Text: err.Error()}
	}
	return after, say, nil
}

// pause leaves days out and applies the rule of return.
func (p *Practice) pause(c *Case, o plan.Overlay, l form.Language) (after *plan.Block, say string, err error) {
	if o.Until.IsZero() {
		return nil, "", fail(Refused, "until", "a pause has a last day; write it")
	}
	rule := client.DefaultReturn
	if c.Practice != nil && c.Practice.Return != nil {
		rule = *c.Practice.Return
	}
	days := o.Until.Days(o.On) + 1
	in := func(en, de string) string { return fmt.Sprintf(form.Text{En: en, De: de}.In(l), days) }
	lighter := ""
	switch plan.ComebackAfter(days, rule) {
	case plan.AsWritten:
		say = in("%d days of pause: go on as written", "%d Tage Pause: weiter wie geschrieben")
	case plan.OneLighter:
		lighter = in("back after %d days of pause: one step lighter", "zurück nach %d Tagen Pause: eine Stufe leichter")
		say = lighter
	case plan.Retest:
		say = in("%d days of pause: test the lifts again", "%d Tage Pause: Bestwerte neu testen")
		o.Why += " (" + say + ")"
	}
	if after, err = c.Block.Pause(o, lighter); err == nil {
		session.FitChanges(after, after.Changes[len(c.Block.Changes):], c.Client, p.Library)
	}
	return after, say, err
}

// ChangeMidway lays a change over a block, as one change that is taken back like any
// other.
func (p *Practice) ChangeMidway(ctx context.Context, who *Account, block string, m Midway, id string) (Outcome, error) {
	if done, ok := p.madeBefore(ctx, who, block, id); ok {
		return done, nil
	}
	c, err := p.Open(ctx, who, block)
	if err != nil {
		return Outcome{}, err
	}
	after, _, err := p.LayOver(c, m, who.Name, c.Client.Language)
	if err != nil {
		return Outcome{}, err
	}
	return p.become(ctx, who, c, after, "changed the block midway: "+string(m.Do), id)
}
