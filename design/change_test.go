package design

import (
	"slices"
	"testing"

	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
)

// Ensure that in every session of a proposal a third of the exercises are there for
// more than load, or that the page says what prevents it: by taking off what it
// names, a third holds, the value falls by what it says, and the aims it names are
// missed.
func TestAThirdOrWhatPreventsIt(t *testing.T) {
	wishes := []Wish{wishOf(t, clientFile(t, "rosa-client.yaml")), wishOf(t, clientFile(t, "tomas-client.yaml"))}
	for i := range 6 {
		w := wishOf(t, invented(t, seeded(uint64(i)), i))
		w.Draws = 20
		wishes = append(wishes, w)
	}
	text := ""
	for _, m := range []string{"pectorals", "latissimus", "quadriceps", "hamstrings", "elbow-flexors"} {
		text += "  - muscle: " + m + "\n    sets: 10-14\n"
	}
	wishes = append(wishes, wishOf(t, lifter(t, threeDays+"aims:\n"+text)))
	told, aims := 0, 0
	for _, w := range wishes {
		p, err := Propose(w)
		if err != nil {
			continue
		}
		few := p.Page().Few
		for _, s := range p.Block.Sessions {
			other := 0
			for _, x := range s.Slots {
				if slices.ContainsFunc(x.Reasons, func(r plan.Reason) bool { return r.Load == nil }) {
					other++
				}
			}
			at := slices.IndexFunc(few, func(f Few) bool { return f.Session == string(s.ID) })
			if third := 3*other >= len(s.Slots); third != (at < 0) {
				t.Errorf("%s, %s: %d of %d, told: %v", w.Client.ID, s.ID, other, len(s.Slots), at >= 0)
			}
			if at >= 0 {
				told++
				aims += len(few[at].Aims)
				preventsAThird(t, p, few[at])
			}
		}
	}
	if told < 3 || aims == 0 {
		t.Errorf("only %d sessions were told of, with %d aims", told, aims)
	}
}

// preventsAThird holds what is said of a session against the week.
func preventsAThird(t *testing.T, p *Proposal, f Few) {
	t.Helper()
	w := p.Record().week()
	before := w.Value()
	gone := 0
	for _, x := range p.Placed {
		if string(x.Session) == f.Session && slices.Contains(f.Without, p.Problem.exerciseOf(x.Option)) {
			w.Set(x.Option, x.Day, 0)
			gone++
		}
	}
	if got := points(before - w.Value()); gone != len(f.Without) || got != f.Value || 3*f.Other < f.All-gone {
		t.Errorf("%s: without %v it loses %g, said %g; %d of %d", f.Session, f.Without, got, f.Value, f.Other, f.All-gone)
	}
	if len(f.Aims)+len(f.Muscles) == 0 {
		t.Errorf("%s: no wish is named", f.Session)
	}
	for i, c := range p.Problem.Columns {
		if slices.Contains(f.Aims, c.Name) && w.Work(i) >= c.Low {
			t.Errorf("%s: the aim for %s is not missed", f.Session, c.Name)
		}
	}
}

// Ensure that in the block after main lifts stay, drills stay while their limit is
// open, accessories take turns within their families, and that the list of changes
// accounts for every exercise of both blocks.
func TestNextBlock(t *testing.T) {
	hall := wishOf(t, clientFile(t, "tomas-client.yaml"))
	first, err := Propose(hall)
	if err != nil {
		t.Fatal(err)
	}
	hall.Keep, hall.Next = first.Block, true
	second, err := Propose(hall)
	if err != nil {
		t.Fatal(err)
	}
	accounted(t, first.Block, second)
	turns := 0
	for _, c := range second.Changes {
		if c.Why == GoesRotated {
			turns++
		}
	}
	if turns < 2 {
		t.Errorf("in a hall with everything %d exercises take turns: %v", turns, second.Changes)
	}

	w := wishOf(t, clientFile(t, "rosa-client.yaml"))
	w.Moves = 2 * QuickMoves
	before, err := Propose(w)
	if err != nil {
		t.Fatal(err)
	}
	w.Keep, w.Next = before.Block, true
	after, err := Propose(w)
	if err != nil {
		t.Fatal(err)
	}
	holdsUp(t, w, after)
	count := map[Why]int{}
	for _, c := range after.Changes {
		count[c.Why]++
		from, to := exercise.Shipped.ByID(c.From), exercise.Shipped.ByID(c.To)
		if c.Why == GoesRotated && (to == nil || from.Family() != to.Family() || from == to) {
			t.Errorf("%s takes turns with %s", c.From, c.To)
		}
	}
	if count[StaysMain] == 0 || count[StaysLimit] == 0 || count[GoesRotated] == 0 {
		t.Errorf("changes: %v", count)
	}
	for _, c := range after.Changes { // who takes no turn has no turn to take
		e := exercise.Shipped.ByID(c.From)
		if e != nil && c.Why == StaysWorth && (e.Stage == exercise.Accessory || e.Stage == exercise.Isolation) {
			t.Errorf("%s stays, though another of its family is there", c.From)
		}
	}
	for _, id := range []string{"hex-bar-deadlift", "clamshell"} {
		if stands(before.Block, id) && !stands(after.Block, id) {
			t.Errorf("%s is gone", id)
		}
	}
	accounted(t, before.Block, after)

	closed := *w.Client // the limit is closed: its drill has nothing to show
	closed.Limits = nil
	w.Client = &closed
	if after, err = Propose(w); err != nil {
		t.Fatal(err)
	}
	if slices.ContainsFunc(after.Changes, func(c Change) bool { return c.Why == StaysLimit }) {
		t.Error("a drill stays for a limit that is closed")
	}

	keep := *w.Client // who wishes to keep keeps
	keep.Wishes.Variety = client.KeepExercises
	w.Client = &keep
	if after, err = Propose(w); err != nil {
		t.Fatal(err)
	}
	if slices.ContainsFunc(after.Changes, func(c Change) bool { return c.Why == GoesRotated }) {
		t.Error("exercises take turns though the client wishes to keep them")
	}
}

// accounted holds the changes against the exercises of the block before and now.
func accounted(t *testing.T, before *plan.Block, after *Proposal) {
	t.Helper()
	var had, have, from, to []string
	for _, s := range before.Sessions {
		for _, x := range s.Slots {
			had = append(had, x.Exercise)
		}
	}
	for _, s := range after.Block.Sessions {
		for _, x := range s.Slots {
			have = append(have, x.Exercise)
		}
	}
	for _, c := range after.Changes {
		if c.From != "" {
			from = append(from, c.From)
		}
		if c.To != "" {
			to = append(to, c.To)
		}
	}
	for _, list := range [][]string{had, have, from, to} {
		slices.Sort(list)
	}
	if !slices.Equal(had, from) || !slices.Equal(have, to) {
		t.Errorf("before %v, accounted for %v; now %v, accounted for %v", had, from, have, to)
	}
}
