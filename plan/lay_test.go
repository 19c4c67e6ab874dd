package plan_test

import (
	"fmt"
	"strings"
	"testing"

	"corbel/plan"
)

// weekly is a block of two weeks, its sessions not written in the order of their
// days.
const weekly = `form: 1
id: b
name: Block
client: c.yaml
start: 2026-11-30
weeks: 2
state: draft
revision: 1
sessions:
  - id: legs
    name: Legs
    day: fri
    place: hall
    slots:
      - id: l1
        exercise: back-squat
        dose: 3 x 5 @ 80%
        rest: 3:00
        progress: +2.5 % a week
      - id: l2
        exercise: leg-press
        stage: accessory
        dose: 3 x 10 rir 2
  - id: push
    name: Push
    day: mon
    place: hall
    slots:
      - id: p1
        exercise: bench-press
        dose: 3 x 5 @ 80%
  - id: pull
    name: Pull
    day: wed
    place: home
    slots:
      - id: u1
        exercise: pull-up-overhand
        dose: 3 x 6 rir 2
`

// asWritten is what weekly comes to without changes.
const asWritten = `
11-30 push hall: p1 bench-press 3 x 5 @ 80%
12-02 pull home: u1 pull-up-overhand 3 x 6 rir 2
12-04 legs hall: l1 back-squat 3 x 5 @ 80% rest 3:00, l2 leg-press 3 x 10 rir 2
12-07 push hall: p1 bench-press 3 x 5 @ 80%
12-09 pull home: u1 pull-up-overhand 3 x 6 rir 2
12-11 legs hall: l1 back-squat 3 x 5 @ 82.5% rest 3:00, l2 leg-press 3 x 10 rir 2`

// laidOut writes the sessions of every week as they hold.
func laidOut(b *plan.Block) string {
	var out strings.Builder
	for week := 1; week <= b.Weeks; week++ {
		for _, l := range b.Lay(week) {
			fmt.Fprintf(&out, "\n%s %s %s:", l.On.String()[5:], l.Session.ID, l.Place)
			for i, s := range l.Slots {
				fmt.Fprintf(&out, "%s %s %s %s", map[bool]string{true: ",", false: ""}[i > 0], s.Slot.ID, s.Slot.Exercise, s.Dose.Canonical())
			}
		}
	}
	return out.String()
}

// Every kind of change at every scope it is for, laid over a block: which lines
// of the block as written are replaced, and by what ("" where the session is not
// done). The written block stays.
func TestLay(t *testing.T) {
	for _, c := range []struct {
		name, changes string
		replaced      map[string]string // by the day; the rest is as written
	}{
		{"no changes", "", nil},
		{"swap to the end", "{id: c1, on: 2026-12-04, by: I, why: w, scope: slot, slot: l1, do: swap, exercise: front-squat}", map[string]string{
			"12-04": "legs hall: l1 front-squat 3 x 5 @ 80% rest 3:00, l2 leg-press 3 x 10 rir 2",
			"12-11": "legs hall: l1 front-squat 3 x 5 @ 82.5% rest 3:00, l2 leg-press 3 x 10 rir 2"}},
		{"swap with a dose until a day", "{id: c1, on: 2026-12-01, until: 2026-12-04, by: I, why: w, scope: slot, slot: l1, do: swap, exercise: front-squat, dose: 2 x 8 rir 3}", map[string]string{
			"12-04": "legs hall: l1 front-squat 2 x 8 rir 3 rest 3:00, l2 leg-press 3 x 10 rir 2"}},
		{"dose", "{id: c1, on: 2026-12-05, by: I, why: w, scope: slot, slot: l1, do: dose, dose: 2 x 8 rir 3 rest 2:00}", map[string]string{
			"12-11": "legs hall: l1 back-squat 2 x 8 rir 3 rest 2:00, l2 leg-press 3 x 10 rir 2"}},
		{"skip a slot on one day", "{id: c1, on: 2026-12-11, until: 2026-12-11, by: I, why: w, scope: slot, slot: l1, do: skip}", map[string]string{
			"12-11": "legs hall: l2 leg-press 3 x 10 rir 2"}},
		{"pause a slot", "{id: c1, on: 2026-11-30, by: I, why: w, scope: slot, slot: l2, do: pause}", map[string]string{
			"12-04": "legs hall: l1 back-squat 3 x 5 @ 80% rest 3:00", "12-11": "legs hall: l1 back-squat 3 x 5 @ 82.5% rest 3:00"}},
		{"skip the only slot", "{id: c1, on: 2026-12-01, by: I, why: w, scope: slot, slot: p1, do: skip}", map[string]string{"12-07": ""}},
		{"skip a session", "{id: c1, on: 2026-12-01, until: 2026-12-05, by: I, why: w, scope: session, session: pull, do: skip}", map[string]string{"12-02": ""}},
		{"pause a session for good", "{id: c1, on: 2026-12-02, by: I, why: w, scope: session, session: pull, do: pause}", map[string]string{"12-02": "", "12-09": ""}},
		{"another place for a session", "{id: c1, on: 2026-12-03, by: I, why: w, scope: session, session: pull, do: place, place: hotel}", map[string]string{
			"12-09": "pull hotel: u1 pull-up-overhand 3 x 6 rir 2"}},
		{"skip a week", "{id: c1, on: 2026-11-30, by: I, why: w, scope: week, week: 2, do: skip}", map[string]string{"12-07": "", "12-09": "", "12-11": ""}},
		{"the rest of a week elsewhere", "{id: c1, on: 2026-12-08, by: I, why: w, scope: week, week: 2, do: place, place: hotel}", map[string]string{
			"12-09": "pull hotel: u1 pull-up-overhand 3 x 6 rir 2", "12-11": "legs hotel: l1 back-squat 3 x 5 @ 82.5% rest 3:00, l2 leg-press 3 x 10 rir 2"}},
		{"pause over the end of a week", "{id: c1, on: 2026-12-03, until: 2026-12-08, by: I, why: w, scope: from, do: pause}", map[string]string{"12-04": "", "12-07": ""}},
		{"first and last day of a pause", "{id: c1, on: 2026-12-02, until: 2026-12-07, by: I, why: w, scope: from, do: pause}", map[string]string{"12-02": "", "12-04": "", "12-07": ""}},
		{"all elsewhere from a day", "{id: c1, on: 2026-12-09, by: I, why: w, scope: from, do: place, place: hotel}", map[string]string{
			"12-09": "pull hotel: u1 pull-up-overhand 3 x 6 rir 2", "12-11": "legs hotel: l1 back-squat 3 x 5 @ 82.5% rest 3:00, l2 leg-press 3 x 10 rir 2"}},
		{"two changes on a slot", "{id: c1, on: 2026-12-01, by: I, why: w, scope: slot, slot: l1, do: swap, exercise: front-squat}, {id: c2, on: 2026-12-08, by: I, why: w, scope: slot, slot: l1, do: dose, dose: 2 x 3 rir 4}", map[string]string{
			"12-04": "legs hall: l1 front-squat 3 x 5 @ 80% rest 3:00, l2 leg-press 3 x 10 rir 2",
			"12-11": "legs hall: l1 front-squat 2 x 3 rir 4 rest 3:00, l2 leg-press 3 x 10 rir 2"}},
		{"the later change wins", "{id: c1, on: 2026-12-01, by: I, why: w, scope: slot, slot: p1, do: dose, dose: 2 x 3 rir 4}, {id: c2, on: 2026-12-01, by: I, why: w, scope: slot, slot: p1, do: dose, dose: 1 x 3 rir 4}", map[string]string{
			"12-07": "push hall: p1 bench-press 1 x 3 rir 4"}},
		{"a slot left out stays out", "{id: c1, on: 2026-12-01, by: I, why: w, scope: slot, slot: l2, do: skip}, {id: c2, on: 2026-12-01, by: I, why: w, scope: slot, slot: l2, do: dose, dose: 1 x 3 rir 4}", map[string]string{
			"12-04": "legs hall: l1 back-squat 3 x 5 @ 80% rest 3:00", "12-11": "legs hall: l1 back-squat 3 x 5 @ 82.5% rest 3:00"}},
		{"a place and a pause", "{id: c1, on: 2026-11-30, by: I, why: w, scope: from, do: place, place: hotel}, {id: c2, on: 2026-12-01, by: I, why: w, scope: from, do: pause}", map[string]string{
			"11-30": "push hotel: p1 bench-press 3 x 5 @ 80%", "12-02": "", "12-04": "", "12-07": "", "12-09": "", "12-11": ""}},
	} {
		src := weekly
		if c.changes != "" {
			src += "changes: [" + c.changes + "]\n"
		}
		b := mustBlock(t, src)
		before := b.Clone()
		if got, want := laidOut(b), replaced(asWritten, c.replaced); got != want {
			t.Errorf("%s:%s\nwant:%s", c.name, got, want)
		}
		if d := diff(before, b); d != "" {
			t.Errorf("%s changed the written block:\n%s", c.name, d)
		}
	}
}

// replaced puts other lines in the place of those of some days; an empty one
// takes the day out.
func replaced(text string, by map[string]string) string {
	var out strings.Builder
	for _, line := range strings.Split(text, "\n")[1:] {
		other, changed := by[line[:5]]
		switch {
		case !changed:
			fmt.Fprintf(&out, "\n%s", line)
		case other != "":
			fmt.Fprintf(&out, "\n%s %s", line[:5], other)
		}
	}
	return out.String()
}

// A laid slot names the change that touched it; a swapped one is a copy with the
// slot's id, stage and reasons, the others are the written slots themselves. A
// laid session names every change that touched it.
func TestLaySaysWhatTouchedIt(t *testing.T) {
	b := mustBlock(t, weekly+"changes: [{id: c1, on: 2026-12-01, by: I, why: w, scope: slot, slot: l2, do: swap, exercise: step-up}, {id: c2, on: 2026-12-05, by: I, why: w, scope: from, do: place, place: hotel}]\n")
	legs := func(week int) plan.Laid {
		l := b.Lay(week)
		return l[len(l)-1]
	}
	for week, want := range map[int]string{1: "c1", 2: "c1 c2"} {
		var got []string
		for _, c := range legs(week).Changes {
			got = append(got, string(c.ID))
		}
		if s := strings.Join(got, " "); s != want {
			t.Errorf("week %d was touched by %q, want %q", week, s, want)
		}
	}
	l := legs(1)
	written := &b.Sessions[0].Slots[1]
	if l.Slots[0].Change != nil || l.Slots[0].Slot != &b.Sessions[0].Slots[0] {
		t.Error("a slot nobody touched is not the written one")
	}
	if s := l.Slots[1]; s.Change != &b.Changes[0] || s.Slot == written || s.Slot.ID != "l2" || s.Slot.Exercise != "step-up" || s.Slot.Stage != "accessory" || written.Exercise != "leg-press" {
		t.Errorf("swapped: %+v", s.Slot)
	}
	if l.Session != &b.Sessions[0] || l.Index != 0 || l.Place != "hall" || legs(2).Place != "hotel" {
		t.Errorf("%s %d in %s", l.Session.ID, l.Index, l.Place)
	}
}

// Sessions that are not wanted stand in their places without slots, whatever a
// change makes of them; the wanted ones are as ever.
func TestLayOnly(t *testing.T) {
	b := mustBlock(t, weekly+"changes: [{id: c1, on: 2026-11-30, by: I, why: w, scope: session, session: push, do: skip}]\n")
	var got []string
	for _, l := range b.LayOnly(1, func(s *plan.Session) bool { return s.ID == "legs" }) {
		got = append(got, fmt.Sprintf("%s %d", l.Session.ID, len(l.Slots)))
	}
	if s := strings.Join(got, ", "); s != "push 0, pull 0, legs 2" {
		t.Error(s)
	}
}
