package invented

import (
	"fmt"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/practice"
)

// States of the clients of the demo.
const (
	New         = "new, not asked yet"
	OpenAnswer  = "a question open"
	Draft       = "block in draft"
	HandedOver  = "handed over"
	Running     = "running, with logs"
	Pain        = "pain in the log"
	Ending      = "block ending"
	RetestDue   = "retest due"
	Paused      = "paused"
	GroupMember = "member of a group"
	Stalled     = "stalled lift"
	RedFlag     = "red flag"
)

// A person of the demo.
type person struct {
	ID, Name string
	State    string
	From     string // example they are made of
	Weeks    int    // start of their block, weeks from this one
	Block    string // its name, where it has another
	Language form.Language
	Change   func(*filler, *client.Client)
	make     func(f *filler) error
}

// people are the clients and the member, in the order they are made.
var people = []person{
	of(person{ID: "rosa-l", Name: "Rosa Lindqvist", State: Running, From: "rosa", Weeks: -2}, train, nil),
	of(person{ID: "tomas-f", Name: "Tomas Ferenc", State: HandedOver, From: "tomas", Weeks: 1}, handOver, nil),
	of(person{ID: "mila-r", Name: "Mila Rautner", State: RedFlag, From: "mila", Weeks: 1}, write, nil),
	of(person{ID: "elin-v", Name: "Elin Varga", State: New, From: "mila", Weeks: 1, Change: unasked}, admit, nil),
	of(person{ID: "samir-d", Name: "Samir Dovan", State: OpenAnswer, From: "tomas", Weeks: 1, Block: "Kräftiger drücken", Change: oneOpen}, write, nil),
	of(person{ID: "petra-o", Name: "Petra Oskarek", State: Draft, From: "rosa", Weeks: 1, Block: "Uphill again", Change: plainWords("Walk up to the hut without a stop.")}, write, nil),
	of(person{ID: "berta-h", Name: "Berta Hallstein", State: Pain, From: "rosa", Weeks: -1, Block: "Knees and hills", Change: plainWords("Run down as well as up.")}, train, kneeHurts),
	of(person{ID: "kilian-n", Name: "Kilian Nyholt", State: Ending, From: "tomas", Weeks: -3, Block: "Arme und Schultern", Change: plainWords("Den Handstand halten.")}, train, nil),
	of(person{ID: "olga-b", Name: "Olga Brenn", State: RetestDue, From: "rosa", Weeks: -5, Block: "Steady descents", Change: plainWords("Run down as well as up.")}, train, nil),
	of(person{ID: "jakob-t", Name: "Jakob Thorwald", State: Paused, From: "tomas", Weeks: -1, Block: "Über Kopf, zweiter Anlauf", Change: plainWords("Den Handstand halten.")}, pause, nil),
	of(person{ID: "emil-s", Name: "Emil Sandauer", State: Stalled, From: "tomas", Weeks: -3, Block: "Drücken"}, train, noProgress),
	{ID: "nadja-k", Name: "Nadja Kolm", State: GroupMember, From: "nadja", make: valley},
}

// of completes a person with what is done for them, and what they type into the log.
func of(x person, do func(*filler, person, typed) error, t typed) person {
	x.make = func(f *filler) error { return do(f, x, t) }
	return x
}

// typed is what somebody writes down about a session.
type typed = func(d practice.DueSession, r *practice.Recorded)

// admit stores the client alone.
func admit(f *filler, x person, _ typed) error {
	c, err := f.clientFrom(x.From+"-client.yaml", x)
	if err != nil {
		return err
	}
	return f.put(practice.ClientDoc, "", c)
}

// write stores the client and a draft of the block.
func write(f *filler, x person, _ typed) error {
	if err := admit(f, x, nil); err != nil {
		return err
	}
	b, err := f.blockFrom(x.From+"-block.yaml", x)
	if err != nil {
		return err
	}
	return f.put(practice.BlockDoc, x.ID, b)
}

// blockID is the id of somebody's block.
func (x person) blockID() string { return x.ID + "-1" }

// handOver writes and hands over.
func handOver(f *filler, x person, _ typed) error {
	if err := write(f, x, nil); err != nil {
		return err
	}
	_, err := f.p.HandOver(f.ctx, f.coach, x.blockID(), f.next())
	return err
}

// train hands over, starts the block and records what was due.
func train(f *filler, x person, t typed) error {
	if err := handOver(f, x, nil); err != nil {
		return err
	}
	_, err := f.p.Edit(f.ctx, f.coach, x.blockID(), "started the block", f.next(), func(b *plan.Block) error {
		b.State = plan.Running
		return nil
	})
	if err != nil {
		return err
	}
	return f.record(x.blockID(), t)
}

// Days of the pause of the demo, from the day before on.
const pausedFor = 9

// pause trains, then pauses.
func pause(f *filler, x person, t typed) error {
	if err := train(f, x, t); err != nil {
		return err
	}
	_, err := f.p.Edit(f.ctx, f.coach, x.blockID(), "paused", f.next(), func(b *plan.Block) error {
		o := plan.Overlay{On: f.today.Plus(-1), Until: f.today.Plus(pausedFor), By: Coach.Name, Why: "Grippe"}
		after, err := b.Pause(o, fmt.Sprintf("zurück nach %d Tagen Pause: eine Stufe leichter", pausedFor+2))
		if err == nil {
			*b = *after
		}
		return err
	})
	return err
}

// valley stores the group with its block and its member, hands nothing over.
func valley(f *filler) error {
	g, err := example("valley-group.yaml", f.moved(1), plan.ReadGroup)
	if err != nil {
		return err
	}
	b, err := f.blockFrom("valley-block.yaml", person{Weeks: 1})
	if err != nil {
		return err
	}
	g.Releases[0].Block = string(b.ID) + ".yaml"
	m, err := example("nadja-member.yaml", f.moved(1), func(n string, src []byte) (*plan.Member, error) { return plan.ReadMember(n, src, f.p.Library.Name) })
	if err != nil {
		return err
	}
	m.Group = string(g.ID) + ".yaml"
	for _, x := range []struct {
		kind  practice.Kind
		owner string
		form  any
	}{{practice.GroupDoc, "", g}, {practice.BlockDoc, string(g.ID), b}, {practice.MemberDoc, "", m}} {
		if err := f.put(x.kind, x.owner, x.form); err != nil {
			return err
		}
	}
	return nil
}

// unasked is a client who has written in, and whom nobody has asked anything yet.
func unasked(_ *filler, c *client.Client) {
	c.Clearance, c.Flags, c.Restrict = client.Clearance{}, nil, nil
	c.Goals = []client.Goal{{For: "general strength", Weight: 5, Text: "Carry the shopping up four floors."}}
}

// oneOpen leaves the joints and one of the three questions open.
func oneOpen(_ *filler, c *client.Client) {
	c.Clearance.Disease = client.Asked{}
	kept := c.Flags[:0]
	for _, flag := range c.Flags {
		if flag.Ask != "joints" {
			kept = append(kept, flag)
		}
	}
	c.Flags = kept
}

// plainWords gives a client another wish.
func plainWords(text string) func(*filler, *client.Client) {
	return func(_ *filler, c *client.Client) {
		c.Goals[0].Text, c.Note, c.Private = text, "", ""
	}
}

// kneeHurts reports pain of the left knee in the newest session of the legs.
func kneeHurts(d practice.DueSession, r *practice.Recorded) {
	if d.Session == "a" {
		r.PainPlace, r.PainSide, r.PainDuring, r.Note = "knee", "left", "5", "The knee hurt from the second set on, worse on the step."
	}
}

// noProgress presses the same load every week, for fewer repetitions.
func noProgress(d practice.DueSession, r *practice.Recorded) {
	if d.Session != "druecken" {
		return
	}
	for set, done := range []string{"50 kg x 4, 1 in reserve", "50 kg x 4, 0 in reserve", "50 kg x 3, 0 in reserve", "50 kg x 3, 0 in reserve"} {
		r.Sets[fmt.Sprintf("d1 %d", set+1)] = done
	}
	r.Rating, r.Note = "9", "Es geht nicht mehr als letzte Woche."
}
