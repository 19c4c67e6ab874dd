package design

import (
	"os"
	"slices"
	"testing"

	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// groupWish is a wish for the group of the demo.
func groupWish(t *testing.T) GroupWish {
	t.Helper()
	src, err := os.ReadFile("../examples/valley-group.yaml")
	if err != nil {
		t.Fatal(err)
	}
	g, err := plan.ReadGroup("valley-group.yaml", src)
	if err != nil {
		t.Fatal(err)
	}
	return GroupWish{Group: g, Library: exercise.Shipped, Start: date(t, "2026-11-30"), Minutes: 60, Moves: QuickMoves, Seed: 1}
}

// Ensure that a group programme has a reason for every exercise, that every number
// of sessions keeps most of what it could be at best, and that the design for any
// sessions is worth less in listed order.
func TestGroupProgramme(t *testing.T) {
	w := groupWish(t)
	p, nested, err := ProposeGroup(w)
	if err != nil {
		t.Fatal(err)
	}
	if len(nested) != 5 || len(p.Block.Sessions) != 6 {
		t.Fatalf("%d numbers of sessions, %d sessions", len(nested), len(p.Block.Sessions))
	}
	for _, n := range nested {
		if n.Percent < 85 || len(n.Coverage) < 10 {
			t.Errorf("%d sessions: %.1f %%, %d muscles", n.K, n.Percent, len(n.Coverage))
		}
	}
	for _, s := range p.Block.Sessions {
		for _, x := range s.Slots {
			if len(x.Reasons) == 0 {
				t.Errorf("%s: %s has no reason", s.Name, x.Exercise)
			}
		}
	}
	w.Any, w.Moves = true, QuickMoves/5
	free, anyOf, err := ProposeGroup(w)
	if err != nil {
		t.Fatal(err)
	}
	if len(free.Problem.Views) != 57 || anyOf[0].Percent <= 0 {
		t.Errorf("%d views, %v", len(free.Problem.Views), anyOf)
	}
	if anyOf[0].Percent > nested[0].Percent {
		t.Errorf("any 2 sessions have %.1f %%, the first 2 of a design for that only %.1f %%", anyOf[0].Percent, nested[0].Percent)
	}
}

// Ensure that a member's restriction is laid over the group's block: what it rules
// out is exchanged for what the member may do.
func TestMemberOverlay(t *testing.T) {
	w := groupWish(t)
	w.Moves = QuickMoves / 2
	p, _, err := ProposeGroup(w)
	if err != nil {
		t.Fatal(err)
	}
	member := invented(t, seeded(3), 0)
	member.Places, member.Pain, member.Limits = w.Group.Places, nil, nil
	for i, action := range exercise.Shipped.ByID(p.Block.Sessions[0].Slots[0].Exercise).Actions[:1] {
		member.Restrict = append(member.Restrict[:0], restriction(t, i, string(action)))
	}
	swaps, _ := p.Record().Overlay(p.Block, member, nil, exercise.Shipped)
	if len(swaps) == 0 {
		t.Fatal("nothing is ruled out")
	}
	for _, s := range swaps {
		if s.To == "" || s.To == s.From || exercise.Shipped.ByID(s.To).Works(member.Restrict[0].Action) {
			t.Errorf("%s for %s, though %s is ruled out", s.To, s.From, member.Restrict[0].Action)
		}
	}
}

// Ensure that for a place without a bar to hang from the block is exchanged for what
// can be done there, each exercise once a session, and for the place itself nothing.
func TestPlaceOverlay(t *testing.T) {
	w := groupWish(t)
	w.Moves = QuickMoves / 2
	p, _, err := ProposeGroup(w)
	if err != nil {
		t.Fatal(err)
	}
	member := invented(t, seeded(3), 0)
	member.Places, member.Pain, member.Limits, member.Restrict = w.Group.Places, nil, nil, nil
	if swaps, _ := p.Record().Overlay(p.Block, member, &w.Group.Places[0], exercise.Shipped); len(swaps) != 0 {
		t.Errorf("at the place itself: %v", swaps)
	}
	room := client.Place{ID: "room", Name: "Room", Has: []client.Equipment{"mat"}, Dumbbells: w.Group.Places[0].Dumbbells}
	swaps, _ := p.Record().Overlay(p.Block, member, &room, exercise.Shipped)
	if len(swaps) < 3 {
		t.Fatalf("in a room with a mat: %v", swaps)
	}
	block, found := p.Block.Clone(), 0
	for _, s := range swaps {
		if !s.NotThere {
			t.Errorf("%s is exchanged for %q", s.From, s.Why)
		}
		if s.To == "" {
			continue
		}
		found++
		if !hasAll(&room, exercise.Shipped.ByID(s.To)) {
			t.Errorf("%s needs what the room has not", s.To)
		}
		block.Swap(form.ID(s.Slot), s.To)
	}
	if 2*found < len(swaps) {
		t.Errorf("only %d of %d have something in their place", found, len(swaps))
	}
	for _, s := range block.Sessions {
		for i, x := range s.Slots {
			if slices.ContainsFunc(s.Slots[:i], func(y plan.Slot) bool { return y.Exercise == x.Exercise }) {
				t.Errorf("%s: %s twice", s.Name, x.Exercise)
			}
		}
	}
}
