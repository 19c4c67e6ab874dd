package plan

import (
	"fmt"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

const changeable = `form: 1
id: b
name: A block
client: client.yaml
start: 2026-11-30
weeks: 4
state: running
revision: 3
deload:
  week: 4
  sets: 60%
  load: 90%
sessions:
  - id: a
    name: Monday
    day: mon
    place: home
    slots:
      - id: c1
        exercise: squat
        dose: 4 x 4 @ 75% rir 3 warm-up 8 @ 35%
        rest: 3:00
        progress: +2.5 % a week
      - id: a2
        exercise: row
        dose: left 3 x 10 @ 20 kg, right 2 x 10 @ 20 kg
      - id: a3
        exercise: raise
        dose: 2 x 12/side @ body weight
  - id: b
    name: Friday
    day: fri
    place: home
    slots:
      - id: b1
        exercise: press
        side: left
        dose: 3 x 8 @ 10 kg/hand
changes:
  - id: c3
    on: 2026-12-25
    by: coach
    why: away
    scope: session
    session: b
    do: skip
`

// anyName takes every name for an id.
func anyName(typed string) (string, []string) { return typed, nil }

func changeableBlock(t testing.TB) *Block {
	t.Helper()
	b, err := ReadBlock("b.yaml", []byte(changeable), anyName)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func date(text string) form.Date {
	if text == "" {
		return form.Date{}
	}
	d, err := form.ParseDate(text)
	if err != nil {
		panic(err)
	}
	return d
}

// overlay is an overlay from one day to another.
func overlay(on, until string) Overlay {
	return Overlay{On: date(on), Until: date(until), By: "coach", Why: "why"}
}

// laidOn lists what a block adds: a line a change.
func laidOn(b *Block, from int) (out []string) {
	for _, c := range b.Changes[from:] {
		text := fmt.Sprintf("%s %s %s..%s %s", c.ID, c.Do, c.On, c.Until, c.Scope)
		for _, x := range []string{string(c.Session), string(c.Slot), string(c.Place), c.Dose.Canonical()} {
			if x != "" {
				text += " " + x
			}
		}
		out = append(out, text)
	}
	return out
}

func TestChangesLaid(t *testing.T) {
	knee := func(s LaidSlot) bool { return s.Slot.ID == "a2" || s.Slot.ID == "a3" }
	for _, c := range []struct {
		name string
		do   func(*Block) (*Block, error)
		want []string
	}{
		{"pause", func(b *Block) (*Block, error) { return b.Pause(overlay("2026-12-04", "2026-12-06"), "") },
			[]string{"c2 pause 2026-12-04..2026-12-06 from"}},
		{"pause to the end", func(b *Block) (*Block, error) { return b.Pause(overlay("2026-12-21", ""), "back") },
			[]string{"c2 pause 2026-12-21.. from"}},
		{"pause, then lighter", func(b *Block) (*Block, error) { return b.Pause(overlay("2026-12-01", "2026-12-10"), "back") },
			[]string{
				"c2 pause 2026-12-01..2026-12-10 from",
				"c4 dose 2026-12-11..2026-12-11 slot b1 2 x 8 @ 9.5 kg/hand",
				"c5 dose 2026-12-14..2026-12-14 slot c1 3 x 4 @ 75% rir 3 warm-up 8 @ 30%",
				"c6 dose 2026-12-14..2026-12-14 slot a2 left 2 x 10 @ 19 kg, right 2 x 10 @ 19 kg",
			}},
		{"place", func(b *Block) (*Block, error) { return b.MoveTo("hotel", overlay("2026-12-04", "2026-12-11")) },
			[]string{"c2 place 2026-12-04..2026-12-11 from hotel"}},
		{"skip once", func(b *Block) (*Block, error) { return b.SkipSession("b", overlay("2026-12-04", "")) },
			[]string{"c2 skip 2026-12-04..2026-12-04 session b"}},
		{"skip twice", func(b *Block) (*Block, error) { return b.SkipSession("a", overlay("2026-12-01", "2026-12-14")) },
			[]string{"c2 skip 2026-12-01..2026-12-14 session a"}},
		{"slots", func(b *Block) (*Block, error) { return b.SkipSlots(overlay("2026-12-02", ""), knee) },
			[]string{"c2 skip 2026-12-07..2026-12-21 slot a2", "c4 skip 2026-12-07..2026-12-21 slot a3"}},
		{"fewer sets, one side", func(b *Block) (*Block, error) {
			return b.FewerSets(overlay("2026-12-07", "2026-12-14"), anatomy.Left, knee)
		}, []string{
			"c2 dose 2026-12-07..2026-12-14 slot a2 left 2 x 10 @ 20 kg, right 2 x 10 @ 20 kg",
			"c4 dose 2026-12-07..2026-12-14 slot a3 1 x 12/side @ body weight",
		}},
		{"fewer sets, week by week", func(b *Block) (*Block, error) {
			return b.FewerSets(overlay("2026-12-14", ""), anatomy.NoSide, func(s LaidSlot) bool { return s.Slot.ID == "c1" })
		}, []string{
			"c2 dose 2026-12-14..2026-12-14 slot c1 3 x 4 @ 80% rir 3 warm-up 8 @ 35%",
			"c4 dose 2026-12-21..2026-12-21 slot c1 2 x 4 @ 72% rir 3 warm-up 8 @ 35%",
		}},
	} {
		b := changeableBlock(t)
		got, err := c.do(b)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if d := cmp.Diff(c.want, laidOn(got, 1)); d != "" {
			t.Errorf("%s:\n%s", c.name, d)
		}
		if got.Revision != 4 || b.Revision != 3 || len(b.Changes) != 1 {
			t.Errorf("%s: revision %d of a block at %d with %d changes", c.name, got.Revision, b.Revision, len(b.Changes))
		}
	}
}

func TestChangesRefused(t *testing.T) {
	any := func(LaidSlot) bool { return true }
	for _, c := range []struct {
		name, want string
		do         func(*Block) (*Block, error)
	}{
		{"pause the wrong way round", "it ends on 2026-12-01, before it starts on 2026-12-02", func(b *Block) (*Block, error) { return b.Pause(overlay("2026-12-02", "2026-12-01"), "") }},
		{"pause before the block", "2026-11-29 is outside the block, which runs from 2026-11-30 to 2026-12-27", func(b *Block) (*Block, error) { return b.Pause(overlay("2026-11-29", "2026-12-01"), "") }},
		{"pause past the block", "2026-12-28 is outside the block", func(b *Block) (*Block, error) { return b.Pause(overlay("2026-12-20", "2026-12-28"), "") }},
		{"pause over nothing", "no session is left to do from 2026-12-01 to 2026-12-03", func(b *Block) (*Block, error) { return b.Pause(overlay("2026-12-01", "2026-12-03"), "") }},
		{"pause over a skipped session", "no session is left to do", func(b *Block) (*Block, error) { return b.Pause(overlay("2026-12-25", ""), "") }},
		{"place of no session", "no session is left to do", func(b *Block) (*Block, error) { return b.MoveTo("hotel", overlay("2026-12-26", "")) }},
		{"place it is in", `in the place "home" already`, func(b *Block) (*Block, error) { return b.MoveTo("home", overlay("2026-12-04", "")) }},
		{"unknown session", `there is no session "x" in this block; there are a (Monday), b (Friday)`, func(b *Block) (*Block, error) { return b.SkipSession("x", overlay("2026-12-04", "")) }},
		{"wrong day", `session "b" does not fall on 2026-12-05; it is to be done on 2026-12-04, 2026-12-11, 2026-12-18`, func(b *Block) (*Block, error) { return b.SkipSession("b", overlay("2026-12-05", "")) }},
		{"skip outside", "2027-01-01 is outside the block", func(b *Block) (*Block, error) { return b.SkipSession("b", overlay("2027-01-01", "")) }},
		{"slots outside", "outside the block", func(b *Block) (*Block, error) { return b.SkipSlots(overlay("2027-01-01", ""), any) }},
		{"sets outside", "outside the block", func(b *Block) (*Block, error) {
			return b.FewerSets(overlay("2026-12-01", "2027-01-01"), anatomy.Left, any)
		}},
	} {
		b := changeableBlock(t)
		got, err := c.do(b)
		if err == nil || got != nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// A session that is left out on all its days cannot be left out once more, and a
// change that reaches no slot is none.
func TestNothingToChange(t *testing.T) {
	b := changeableBlock(t)
	none, err := b.SkipSlots(overlay("2026-12-01", ""), func(LaidSlot) bool { return false })
	if err != nil || none != b {
		t.Errorf("no slot: %v, %v; want the block itself", none, err)
	}
	b, err = b.SkipSession("a", overlay("2026-11-30", "2026-12-27"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err = b.SkipSession("a", overlay("2026-11-30", "")); err == nil || !strings.Contains(err.Error(), "left out on all its days already") {
		t.Errorf("twice: %v", err)
	}
}

func TestLighterAndFewer(t *testing.T) {
	for _, c := range []struct{ dose, lighter, fewer string }{
		{"4 x 4 @ 72%", "3 x 4 @ 67%", "3 x 4 @ 72%"},
		{"3 x 5, 5, 3 @ 70, 75, 80%", "", ""},
		{"2 x 10 @ 100 kg", "2 x 10 @ 95 kg", "1 x 10 @ 100 kg"},
		{"2 x 10 @ 100 lb", "2 x 10 @ 95 lb", "1 x 10 @ 100 lb"},
		{"1 x 10 @ +20 kg", "1 x 10 @ +19 kg", "1 x 10 @ +20 kg"},
		{"2 x 10 @ -20 kg", "2 x 10 @ -20 kg", "1 x 10 @ -20 kg"},
		{"3 x 8 @ 8RM", "2 x 8 @ 8RM", "2 x 8 @ 8RM"},
		{"2 x 5 @ 5%", "2 x 5 @ 1%", "1 x 5 @ 5%"},
		{"left 3 x 10, right 2 x 10", "left 2 x 10, right 2 x 10", "left 2 x 10, right 2 x 10"},
		{"right 3 x 10", "right 2 x 10", "right 3 x 10"},
	} {
		d, err := ParseDose(c.dose)
		if err != nil {
			if c.lighter == "" {
				continue
			}
			t.Fatal(err)
		}
		if got := d.Lighter().Canonical(); c.lighter != "" && got != c.lighter {
			t.Errorf("%s lighter is %s, want %s", c.dose, got, c.lighter)
		}
		if got := d.FewerSets(anatomy.Left).Canonical(); c.fewer != "" && got != c.fewer {
			t.Errorf("%s with fewer sets on the left is %s, want %s", c.dose, got, c.fewer)
		}
		if d.String() != c.dose {
			t.Errorf("%s became %s", c.dose, d)
		}
	}
}

func TestComebackAfter(t *testing.T) {
	for days, want := range map[int]Comeback{1: AsWritten, 7: AsWritten, 8: OneLighter, 21: OneLighter, 22: Retest} {
		if got := ComebackAfter(days, client.DefaultReturn); got != want {
			t.Errorf("after %d days: %d, want %d", days, got, want)
		}
	}
}

// block draws a block of one or two sessions; doses are drawn from the whole
// shorthand.
func (g gen) block() *Block {
	b := &Block{Form: 1, ID: "b", Name: "A block", Client: "client.yaml", Start: date("2026-11-30"), Weeks: g.int(1, 6, "weeks"), State: Running, Revision: g.int(1, 9, "revision")}
	days := rapid.Permutation(client.Weekday("").Values()).Draw(g.t, "days")
	for i := range g.int(1, 3, "sessions") {
		s := Session{ID: form.ID(fmt.Sprintf("c%d", 2*i+1)), Name: "A session", Day: client.Weekday(days[i]), Place: pick(g, "place", form.ID("home"), form.ID("gym"))}
		for j := range g.int(1, 3, "slots") {
			slot := Slot{ID: form.ID(fmt.Sprintf("s%d-%d", i, j)), Exercise: "squat", Dose: g.dose()}
			if g.bool("progress") {
				slot.Progress = Progress{{Unit: StepSets, Amount: float64(pick(g, "sets", -1, 1))}}
			}
			s.Slots = append(s.Slots, slot)
		}
		b.Sessions = append(b.Sessions, s)
	}
	return b
}

// sameBlock tells two blocks apart.
func sameBlock(a, b *Block) string {
	return cmp.Diff(a, b, cmpopts.EquateEmpty(), cmpopts.EquateComparable(form.Date{}))
}

// day writes a laid session out.
func (l Laid) day() string {
	text := fmt.Sprintf("%s %s in %s:", l.On, l.Session.ID, l.Place)
	for _, s := range l.Slots {
		text += fmt.Sprintf(" %s %s %s;", s.Slot.ID, s.Slot.Exercise, s.Dose.Canonical())
	}
	return text
}

// Whatever is laid over a block, the result reads back as it is, the block stays
// as it was, the written sessions stay, and days the change does not reach are
// done as before.
func TestChangesKeepTheRest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gen{t: t, inBlock: true}
		b := g.block()
		days := 7 * b.Weeks
		from, length := g.int(0, days-1, "from"), g.int(0, days, "length")
		o := Overlay{On: b.Start.Plus(from), By: "coach", Why: "a reason"}
		if g.bool("ends") {
			o.Until = o.On.Plus(length)
		}
		some := func(s LaidSlot) bool { return s.Slot.ID != "s0-0" }
		for range g.int(1, 2, "changes") {
			src := string(form.Write(b))
			kind := g.int(0, 4, "kind")
			until := b.last(o)
			got, err := []func() (*Block, error){
				func() (*Block, error) { return b.Pause(o, pick(g, "lighter", "", "back")) },
				func() (*Block, error) { return b.MoveTo("hotel", o) },
				func() (*Block, error) { return b.SkipSession(b.Sessions[0].ID, o) },
				func() (*Block, error) { return b.SkipSlots(o, some) },
				func() (*Block, error) { return b.FewerSets(o, anatomy.Left, some) },
			}[kind]()
			if string(form.Write(b)) != src {
				t.Fatalf("the block was changed:\n%s\nis now\n%s", src, form.Write(b))
			}
			if err != nil {
				return
			}
			if kind == 0 {
				until = until.Plus(backDays)
			}
			keepsTheRest(t, b, got, o.On, until)
			b = got
		}
	})
}

// keepsTheRest holds what a change must leave alone.
func keepsTheRest(t *rapid.T, b, got *Block, from, to form.Date) {
	if d := cmp.Diff(b.Sessions, got.Sessions, cmpopts.EquateEmpty(), cmpopts.EquateComparable(form.Date{})); d != "" {
		t.Fatalf("the written sessions changed:\n%s", d)
	}
	if got != b && got.Revision != b.Revision+1 {
		t.Fatalf("revision %d after %d", got.Revision, b.Revision)
	}
	back, err := ReadBlock("b.yaml", form.Write(got), anyName)
	if err != nil {
		if strings.Contains(err.Error(), "longer than") || strings.Contains(err.Error(), "at most") {
			t.Skip() // a dose too long to be written
		}
		t.Fatalf("%v\n%s", err, form.Write(got))
	}
	if d := sameBlock(got, back); d != "" {
		t.Fatalf("reads back as another block:\n%s", d)
	}
	outside := func(b *Block) (out []string) {
		for _, l := range append(b.Between(b.Start, from.Plus(-1)), b.Between(to.Plus(1), b.End())...) {
			out = append(out, l.day())
		}
		return out
	}
	if d := cmp.Diff(outside(b), outside(got)); d != "" {
		t.Fatalf("other days changed:\n%s", d)
	}
}
