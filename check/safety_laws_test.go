package check

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// safetyInput draws a client with many answers, restrictions and pains and a block
// with sides and changes: far more of both than a coach meets.
func (g gen) safetyInput() Input {
	day := func(from, to int) form.Date { return blockStart.Plus(g.n(from, to)) }
	side := func() anatomy.Side { return pick(g, anatomy.NoSide, anatomy.Left, anatomy.Right, anatomy.Both) }
	c := &client.Client{Form: 1, ID: "c", Name: "Client", Language: form.English, Experience: pick(g, client.Beginner, client.Trained, "")}
	if !g.one(4) {
		c.Born = blockStart.Plus(-365 * g.n(15, 75))
	}
	answer := func() client.Asked {
		return client.Asked{Answer: pick(g, client.Yes, client.No, client.NotAsked), On: day(-400, 40)}
	}
	c.Clearance = client.Clearance{Active: answer(), Disease: answer(), Symptoms: answer(), Intensity: pick(g, client.Light, client.Moderate, client.Vigorous)}
	for range g.n(0, 6) {
		q := pick(g, client.Asking.Questions...)
		f := client.Flag{Ask: string(q.ID), Answer: pick(g, client.Yes, client.Yes, client.No), On: day(-400, 40), Region: pick(g, anatomy.Region("knee"), "shoulder", "neck", "low-back"), Side: side()}
		if g.one(4) {
			f.Cleared = g.word()
		}
		c.Flags = append(c.Flags, f)
	}
	for _, group := range client.Asking.Groups {
		if !g.one(5) {
			c.Flags = append(c.Flags, client.Flag{Ask: string(group.ID), Answer: client.No, On: day(-400, 0)})
		}
	}
	for i := range g.n(0, 3) {
		r := g.restriction()
		r.ID, r.Side, r.On = form.ID("r"+string(rune('0'+i))), side(), day(-5, 20)
		c.Restrict = append(c.Restrict, r)
	}
	for range g.n(0, 4) {
		p := client.Pain{Place: anatomy.Place(pick(g, anatomy.Place("").Values()...)), On: day(-5, 30), Worse: g.one(5)}
		if p.Place.Sided() {
			p.Side = pick(g, anatomy.Left, anatomy.Right, anatomy.Both)
		}
		if !g.one(4) {
			p.During = new(float64(g.n(0, 10)))
		}
		if g.one(5) {
			p.Features = []client.PainFeature{pick(g, client.PainFeature("sharp"), "swelling")}
		}
		if g.one(4) {
			p.Word = g.word()
		}
		c.Pain = append(c.Pain, p)
	}
	b := g.small()
	sided(b)
	for range g.n(0, 2) {
		g.change(b)
	}
	return Input{Client: c, Block: b, Library: exercise.Shipped, Language: pick(g, form.English, form.German)}
}

// Ensure over random clients and blocks that the safety problems are the same twice
// to the byte, that every id is given once and is the same in both languages, that
// every argument is filled, and that nothing of client or block is changed.
func TestSafetyIsSteady(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		in := gen{rt}.safetyInput()
		flags, block := slices.Clone(in.Client.Flags), string(form.Write(in.Block))
		first := Safety(in)
		text, err := json.Marshal(first)
		if err != nil {
			rt.Fatal(err)
		}
		if again, _ := json.Marshal(Safety(in)); string(again) != string(text) {
			rt.Fatalf("two runs differ:\n%s\n%s", text, again)
		}
		if !slices.Equal(flags, in.Client.Flags) || block != string(form.Write(in.Block)) {
			rt.Fatal("client or block was changed")
		}
		other := in
		other.Language = map[form.Language]form.Language{form.English: form.German, form.German: form.English}[in.Language]
		ids := map[string]bool{}
		for i, p := range Safety(other) {
			if p.ID != first[i].ID || p.Severity != first[i].Severity || p.Text == first[i].Text && p.Text != "" {
				rt.Fatalf("%s and in the other language %s", first[i].Text, p.Text)
			}
			if ids[p.ID] {
				rt.Fatalf("%s stands twice: %s", p.ID, p.Text)
			}
			ids[p.ID] = true
			if strings.ContainsAny(p.Text+p.Why, "{}") || p.Text == "" || banned.MatchString(p.Text+p.Why) {
				rt.Fatalf("%s: %q %q", p.Code, p.Text, p.Why)
			}
		}
	})
}

// Ensure that more bad news never makes a block better: with one more yes without a
// word, restriction or pain every stop stays a stop, with the same id.
func TestBadNewsOnlyAdds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := gen{rt}
		in := g.safetyInput()
		worse := in
		c := *in.Client
		worse.Client = &c
		switch g.n(0, 3) {
		case 0: // a question not answered so far
			q := pick(g, client.Asking.Questions...)
			if slices.ContainsFunc(c.Flags, func(f client.Flag) bool { return f.Ask == string(q.ID) }) || q.From == "born" {
				return
			}
			c.Flags = append(slices.Clone(c.Flags), client.Flag{Ask: string(q.ID), Answer: client.Yes, On: blockStart, Region: "hip", Side: anatomy.Left})
		case 1:
			r := g.restriction()
			r.ID = "another"
			c.Restrict = append(slices.Clone(c.Restrict), r)
		case 2:
			c.Pain = append(slices.Clone(c.Pain), client.Pain{Place: "hip", Side: anatomy.Both, On: blockStart, During: new(float64(g.n(0, 10)))})
		case 3:
			c.Clearance.Symptoms.Answer = client.Yes
		}
		after := map[string]bool{}
		for _, p := range Safety(worse) {
			after[p.ID] = p.Severity == Stop
		}
		for _, p := range Safety(in) {
			replaced := p.Code == "not-asked" || p.Code == "clearance-not-asked" || p.Code == "clearance-intensity" // answered now, or another code
			if p.Severity == Stop && !after[p.ID] && !replaced {
				rt.Fatalf("gone: %s", p.Text)
			}
		}
	})
}

// Ensure that left and right turned round in client and block turn the safety
// problems round and nothing else.
func TestSafetyMirror(t *testing.T) {
	turn := strings.NewReplacer("left", "right", "right", "left")
	rapid.Check(t, func(rt *rapid.T) {
		in := gen{rt}.safetyInput()
		in.Language = form.English
		in.Block.Changes = nil // mirrored turns what is written
		again := in
		again.Client, again.Block = mirrored(in.Client, in.Block)
		a, b := Safety(in), Safety(again)
		if len(a) != len(b) {
			rt.Fatalf("%d problems, mirrored %d", len(a), len(b))
		}
		for i := range a {
			if a[i].Code != b[i].Code || a[i].Severity != b[i].Severity || a[i].At != b[i].At || a[i].Text != turn.Replace(b[i].Text) || a[i].Args["about"] != turn.Replace(b[i].Args["about"]) {
				rt.Fatalf("%s\nmirrored: %s", a[i].Text, b[i].Text)
			}
		}
	})
}

// Ensure that the way out of a stop at a slot takes the stop away, whatever else
// stands.
func TestSafetyWaysOut(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		in := gen{rt}.safetyInput()
		for _, p := range Safety(in) {
			for _, f := range p.Fixes {
				b := in.Block.Clone()
				if !f.apply(b) {
					rt.Fatalf("%s: %s cannot be applied", p.Text, f.Text)
				}
				after := in
				after.Block = b
				if slices.ContainsFunc(Safety(after), func(q Problem) bool { return q.ID == p.ID }) {
					rt.Fatalf("%s: still there after %q", p.Text, f.Text)
				}
			}
		}
	})
}

// BenchmarkSafety judges a block at the bounds of the form (14 sessions of 40
// slots, 12 weeks) with every question answered yes: budget 1 s.
func BenchmarkSafety(b *testing.B) {
	block := &plan.Block{Form: 1, ID: "b", Start: blockStart, Weeks: 12, Sessions: make([]plan.Session, 14)}
	dose := slotOf(b, "x", "back-squat", "5 x 8 @ 80 kg").Dose
	for i := range block.Sessions {
		s := &block.Sessions[i]
		s.ID, s.Day = form.ID("a"+string(rune('a'+i))), client.Weekday(client.Weekday("").Values()[i%7])
		for j := range 40 {
			s.Slots = append(s.Slots, plan.Slot{ID: form.ID(string(s.ID) + string(rune('a'+j%26)) + string(rune('a'+j/26))), Exercise: string(exercise.Shipped.All()[j].ID), Dose: dose})
		}
	}
	c := cleared(b)
	for _, q := range client.Asking.Questions {
		c.Flags = append(c.Flags, client.Flag{Ask: string(q.ID), Answer: client.Yes, On: blockStart, Region: "knee"})
	}
	for _, r := range anatomy.Region("").Values() {
		c.Restrict = append(c.Restrict, client.Restriction{ID: form.ID(r), By: client.ByCoach, On: blockStart, Region: anatomy.Region(r), Load: unit.MassOf(60, unit.Kg)})
	}
	b.ReportAllocs()
	for b.Loop() {
		Safety(Input{Client: c, Block: block, Library: exercise.Shipped})
	}
}

// Ensure that what is said of a client without a block is what a block hears: sets to
// failure are held back in it exactly if HoldOn names a reason, and all reasons occur.
func TestHoldOnIsTheRuleOfBlocks(t *testing.T) {
	seen := map[Hold]int{}
	rapid.Check(t, func(r *rapid.T) {
		in := gen{r}.safetyInput()
		in.Log = nil // of which HoldOn knows nothing
		in.Block = only(t, "goblet-squat: 3 x max @ 20 kg")
		day := in.day()
		held := len(ofCode(Safety(in), "not-for-now")) > 0
		hold := HoldOn(in.Client, day)
		if held != (hold != NoHold) {
			r.Fatalf("a block: %v, HoldOn: %q", held, hold)
		}
		seen[hold]++
	})
	if len(seen) < 3 {
		t.Errorf("only %v were tried", seen)
	}
}
