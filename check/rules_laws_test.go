package check

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"corbel/anatomy"
	"corbel/client"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// said is what a problem says without its words.
type said struct {
	code         Code
	sev          Severity
	at           At
	about        string
	got, allowed float64
	fixes        int
}

// bare reduces problems to what they say without words.
func bare(problems []Problem) []said {
	var out []said
	for _, p := range problems {
		s := said{code: p.Code, sev: p.Severity, at: p.At, about: p.Args["about"], fixes: len(p.Fixes)}
		if p.Got != nil {
			s.got, s.allowed = *p.Got, *p.Allowed
		}
		out = append(out, s)
	}
	return out
}

// renamed is the library with other names and no words to find them by.
func renamed(t *testing.T) *exercise.Library {
	files := fstest.MapFS{}
	for i, e := range exercise.Shipped.All() {
		x := *e
		x.Name = form.Text{En: fmt.Sprintf("Thing %c%d", 'z'-i%26, i), De: fmt.Sprintf("Ding %c%d", 'z'-i%26, i)}
		x.Short, x.Words = exercise.Words{}, exercise.Words{}
		files[string(e.ID)+".yaml"] = &fstest.MapFile{Data: form.Write(&x)}
	}
	l, err := exercise.Read(files)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Ensure that the names of people, places, sessions and exercises change nothing
// but texts.
func TestNamesChangeTextsAlone(t *testing.T) {
	other := renamed(t)
	rapid.Check(t, func(rt *rapid.T) {
		g := gen{rt}
		in := Input{Client: g.client(), Block: g.small(), Library: exercise.Shipped}
		again := in
		again.Library, again.Block = other, in.Block.Clone()
		c := *in.Client
		c.Name, c.Places = "Zoe", slices.Clone(c.Places)
		for i := range c.Places {
			c.Places[i].Name = "Yard"
		}
		again.Client, again.Block.Name = &c, "Other"
		for i := range again.Block.Sessions {
			again.Block.Sessions[i].Name = "Zulu"
		}
		if a, b := bare(Check(in).Problems), bare(Check(again).Problems); !slices.Equal(a, b) {
			rt.Fatalf("names changed the problems:\n%v\n%v", a, b)
		}
	})
}

// small draws a block of a session or two, so that many can be tried.
func (g gen) small() *plan.Block {
	b := g.block()
	b.Sessions = b.Sessions[:1]
	b.Changes = nil
	ids := map[form.ID]bool{}
	for _, x := range b.Sessions[0].Slots {
		ids[x.ID] = true
	}
	for i := range b.Sessions[0].Slots {
		x := &b.Sessions[0].Slots[i]
		x.Reasons = slices.DeleteFunc(x.Reasons, func(r plan.Reason) bool { return r.Prepare != "" && !ids[r.Prepare] || r.For != "" && !ids[r.For] })
	}
	return b
}

// sided writes every set for each side as sets left and sets right, so that the
// order of sides can be turned round too.
func sided(b *plan.Block) {
	eachDose(b, func(s *plan.Slot, d plan.Dose) plan.Dose {
		d.Text = ""
		if exercise.Shipped.ByID(s.Exercise).Sides == exercise.EachSide && len(d.Parts) == 1 && d.Parts[0].Sides == plan.EachSide {
			d.Parts = []plan.Part{{Sides: plan.LeftOnly, Sets: d.Parts[0].Sets}, {Sides: plan.RightOnly, Sets: d.Parts[0].Sets}}
		}
		d.WarmUp, d.WeakFirst = nil, d.WeakFirst && len(d.Parts) == 2
		return d
	})
}

func eachDose(b *plan.Block, f func(*plan.Slot, plan.Dose) plan.Dose) {
	for i := range b.Sessions {
		for j := range b.Sessions[i].Slots {
			s := &b.Sessions[i].Slots[j]
			s.EachDose(func(d plan.Dose) plan.Dose { return f(s, d) })
		}
	}
}

// mirrored turns left and right round in client and block.
func mirrored(c *client.Client, b *plan.Block) (*client.Client, *plan.Block) {
	m := *c
	turn := func(x anatomy.MuscleSide) anatomy.MuscleSide { x.Side = x.Side.Other(); return x }
	m.Limits, m.Aims, m.Pain, m.Lifts = slices.Clone(c.Limits), slices.Clone(c.Aims), slices.Clone(c.Pain), slices.Clone(c.Lifts)
	m.Flags, m.Restrict = slices.Clone(c.Flags), slices.Clone(c.Restrict)
	for i := range m.Limits {
		m.Limits[i].Muscle = turn(m.Limits[i].Muscle)
	}
	for i := range m.Aims {
		m.Aims[i].Muscle = turn(m.Aims[i].Muscle)
	}
	for i := range m.Pain {
		m.Pain[i].Side = m.Pain[i].Side.Other()
	}
	for i := range m.Lifts {
		m.Lifts[i].Side = m.Lifts[i].Side.Other()
	}
	for i := range m.Flags {
		m.Flags[i].Side = m.Flags[i].Side.Other()
	}
	for i := range m.Restrict {
		m.Restrict[i].Side = m.Restrict[i].Side.Other()
	}
	o := b.Clone()
	eachDose(o, func(s *plan.Slot, d plan.Dose) plan.Dose {
		d.Parts = slices.Clone(d.Parts)
		for i := range d.Parts {
			switch d.Parts[i].Sides {
			case plan.LeftOnly:
				d.Parts[i].Sides = plan.RightOnly
			case plan.RightOnly:
				d.Parts[i].Sides = plan.LeftOnly
			}
		}
		return d
	})
	for i := range o.Sessions {
		for j := range o.Sessions[i].Slots {
			s := &o.Sessions[i].Slots[j]
			s.Side = s.Side.Other()
			for k := range s.Reasons {
				for _, p := range []**anatomy.MuscleSide{&s.Reasons[k].Test, &s.Reasons[k].Load, &s.Reasons[k].Spare} {
					if *p != nil {
						x := turn(**p)
						*p = &x
					}
				}
			}
		}
	}
	return &m, o
}

// Ensure that a mirrored client with a mirrored block has the mirrored problems.
func TestMirror(t *testing.T) {
	swap := strings.NewReplacer("left", "right", "right", "left")
	rapid.Check(t, func(rt *rapid.T) {
		g := gen{rt}
		in := Input{Client: g.client(), Block: g.small(), Library: exercise.Shipped}
		sided(in.Block)
		again := in
		again.Client, again.Block = mirrored(in.Client, in.Block)
		a, b := bare(Check(in).Problems), bare(Check(again).Problems)
		for i := range b {
			b[i].about = swap.Replace(b[i].about)
		}
		if len(a) != len(b) {
			rt.Fatalf("%v\nmirrored: %v", a, b)
		}
		for _, p := range a {
			if !slices.ContainsFunc(b, func(q said) bool {
				return p.code == q.code && p.sev == q.sev && p.at == q.at && p.about == q.about && math.Abs(p.got-q.got) < 2e-3 && p.fixes == q.fixes
			}) {
				rt.Fatalf("%v is not among the mirrored %v", p, b)
			}
		}
	})
}

// inPounds writes every mass of a client and block in pounds.
func inPounds(c *client.Client, b *plan.Block) (*client.Client, *plan.Block) {
	lb := func(m unit.Mass) unit.Mass {
		if m.IsZero() {
			return m
		}
		return unit.MassOf(m.In(unit.Lb), unit.Lb)
	}
	m := *c
	m.Lifts, m.Measures = slices.Clone(c.Lifts), slices.Clone(c.Measures)
	for i := range m.Lifts {
		m.Lifts[i].Load = lb(m.Lifts[i].Load)
	}
	for i := range m.Measures {
		m.Measures[i].Mass = lb(m.Measures[i].Mass)
	}
	o := b.Clone()
	eachDose(o, func(_ *plan.Slot, d plan.Dose) plan.Dose {
		return d.EachSet(func(s plan.Set) plan.Set { s.Load.Mass = lb(s.Load.Mass); return s })
	})
	return &m, o
}

// Ensure that kilograms and pounds give the same problems where no load is
// rounded to what a place has.
func TestPounds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := gen{rt}
		in := Input{Client: g.client(), Block: g.small(), Library: exercise.Shipped}
		for i := range in.Client.Places {
			p := &in.Client.Places[i]
			p.Bars, p.Plates, p.Dumbbells, p.Stacks = nil, nil, nil, nil
		}
		in.Client.Restrict = nil // their bounds stay in kilograms
		for i := range in.Block.Sessions[0].Slots {
			in.Block.Sessions[0].Slots[i].Progress = nil // steps in kilograms are rounded
		}
		again := in
		again.Client, again.Block = inPounds(in.Client, in.Block)
		a, b := bare(Check(in).Problems), bare(Check(again).Problems)
		if !slices.EqualFunc(a, b, func(p, q said) bool {
			return p.code == q.code && p.sev == q.sev && p.at == q.at && p.about == q.about && math.Abs(p.got-q.got) < 2e-3
		}) {
			rt.Fatalf("kg: %v\nlb: %v", a, b)
		}
	})
}

// Ensure that problems stand by severity, kept ones last, then by harm, and that
// their ids stay from run to run, with other languages, draws and lesser edits.
func TestOrderAndIDs(t *testing.T) {
	in := large(t)
	in.Block.Sessions[0].Slots[1].Dose = slotOf(t, "x", "bench-press", "8 x 8 @ 75% rir 2").Dose
	first := Check(in)
	for i := 1; i < len(first.Problems); i++ {
		a, b := first.Problems[i-1], first.Problems[i]
		if a.Severity.rank() > b.Severity.rank() || a.Severity == b.Severity && (a.Kept == "") == (b.Kept == "") && a.harm < b.harm {
			t.Errorf("%s (%g) stands before %s (%g)", a.Code, a.harm, b.Code, b.harm)
		}
	}
	ids := func(r *Report) []string {
		var out []string
		for _, p := range r.Problems {
			out = append(out, p.ID)
		}
		slices.Sort(out)
		return out
	}
	want := ids(first)
	if len(slices.Compact(slices.Clone(want))) != len(want) {
		t.Error("an id stands twice")
	}
	german, later := in, in
	german.Language = form.German
	later.Block = in.Block.Clone()
	later.Block.Revision++
	later.Block.Note = "a note"
	for name, x := range map[string]Input{"german": german, "revision": later} {
		if got := ids(Check(x)); !slices.Equal(got, want) {
			t.Errorf("%s: ids differ", name)
		}
	}
}

// Ensure that an edit checked again gives the report of a fresh check, without
// draws and ways out, and leaves the first report alone.
func TestRecheck(t *testing.T) {
	in := large(t)
	in.Draws, in.Seed = 20, 1
	before := Run(in)
	text, _ := json.Marshal(before.Report)
	edits := map[string]func(*plan.Block) bool{
		"nothing":   func(*plan.Block) bool { return true },
		"a set off": cutSets("x1x1", 1),
		"a move":    func(b *plan.Block) bool { return b.Move("x2x5", 0) },
		"a removal": func(b *plan.Block) bool { return b.Remove("x0x3") },
		"a day":     func(b *plan.Block) bool { b.Sessions[3].Day = "sun"; return true },
		"a name":    func(b *plan.Block) bool { b.Sessions[3].Name = "Other"; return true },
		"a reason": onSlot("x0x0", func(s *plan.Slot) {
			s.Reasons = []plan.Reason{{Load: &anatomy.MuscleSide{Muscle: "quadriceps"}}}
		}),
		"a week less": func(b *plan.Block) bool { b.Weeks, b.Deload = 3, nil; return true },
		"a change": func(b *plan.Block) bool {
			b.Changes = append(b.Changes, plan.Change{ID: "c", On: b.Start.Plus(7), By: "coach", Why: "ill", Scope: "session", Session: "s1", Do: "skip"})
			return true
		},
		"an easier week": func(b *plan.Block) bool { b.Deload = &plan.Deload{Week: 2, Load: unit.PercentOf(80)}; return true },
	}
	for name, edit := range edits {
		t.Run(name, func(t *testing.T) {
			b := in.Block.Clone()
			if !edit(b) {
				t.Fatal("the edit does not fit")
			}
			got, _ := json.Marshal(Recheck(before, b).Report)
			fresh := in
			fresh.Block, fresh.Draws = b, 0
			r := newRules(fresh)
			r.offer = false
			r.apply()
			want, _ := json.Marshal(r.checked().Report)
			if string(got) != string(want) {
				t.Errorf("%s\nfresh: %s", got, want)
			}
		})
	}
	if again, _ := json.Marshal(before.Report); string(again) != string(text) {
		t.Error("checking again changed the first report")
	}
}

// Ensure that no way out puts in an exercise that a practitioner has ruled out.
func TestWaysOutHeedRestrictions(t *testing.T) {
	c := trainee(t)
	lacks("knee-extension-machine")(c)
	in := Input{Client: c, Block: blockOf(t, one+slot("x", "knee-extension", "2 x 10 rir 2")+slot("y", "back-squat", "2 x 5 rir 2")), Library: exercise.Shipped}
	p := problem(Check(in), "equipment-missing")
	swaps := slices.DeleteFunc(fixTexts(p), func(s string) bool { return !strings.HasPrefix(s, "swap for ") })
	if len(swaps) == 0 {
		t.Fatal("nothing to swap for")
	}
	c.Restrict = []client.Restriction{{ID: "r", By: client.ByPractitioner, On: c.Clearance.Active.On, Exercise: string(exercise.Shipped.Find(strings.TrimPrefix(swaps[0], "swap for ")).ID)}}
	if after := fixTexts(problem(Check(in), "equipment-missing")); slices.Contains(after, swaps[0]) {
		t.Errorf("%q is offered although it is ruled out", swaps[0])
	}
}

// Ensure that the texts of the examples hold no clumsy numbers in either
// language.
func TestTextsRead(t *testing.T) {
	clumsy := []string{" 1 repetitions", " 1 sets", " 1 hard sets", " 1 Sätze", " 1 Wiederholungen", " 1 harte", "NaN", "-0 ", "  ", "%!"}
	for _, who := range []string{"rosa", "tomas", "mila"} {
		for _, l := range []form.Language{form.English, form.German} {
			in := exampleInput(t, who, l)
			for _, p := range Check(in).Problems {
				for _, text := range append(fixTexts(&p), p.Text, p.Why) {
					for _, bad := range clumsy {
						if strings.Contains(" "+text, bad) {
							t.Errorf("%s, %s: %q in %q", who, p.Code, bad, text)
						}
					}
				}
			}
		}
	}
}

// exampleInput reads an example.
func exampleInput(t *testing.T, who string, l form.Language) Input {
	t.Helper()
	src := func(name string) []byte {
		b, err := examples.Files.ReadFile(who + "-" + name + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	c, err := client.Read(who, src("client"), exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	b, err := plan.ReadBlock(who, src("block"), exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	return Input{Client: c, Block: b, Library: exercise.Shipped, Draws: 20, Seed: 1, Language: l}
}
