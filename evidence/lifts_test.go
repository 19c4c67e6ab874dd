package evidence

import (
	"math"
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
)

// Ensure that lifts of both sides of one day are weighed as the comparison they are: as
// the same figures written down as a finding would be, once, and not beside it.
func TestLiftsOfBothSidesAreFindings(t *testing.T) {
	in := rosa(t)
	who := *in.Client
	who.Findings = nil
	said := func(change func(*client.Client)) *Weighed {
		c := who
		c.Lifts, c.Pain = slices.Clone(who.Lifts), nil
		if change != nil {
			change(&c)
		}
		all := Weigh(Input{Client: &c, Library: in.Library, Day: date(t, "2026-11-29")})
		if len(all) != 1 {
			t.Fatalf("%d sets of groups", len(all))
		}
		return all[0]
	}
	w := said(nil)
	var texts []string
	for _, f := range w.From {
		texts = append(texts, f.Text)
		if f.Number != 0 {
			t.Errorf("%s has the number %d", f.Text, f.Number)
		}
	}
	// the rear-foot-elevated split squat is no drill; the step-down was done with no side
	if len(texts) != 2 || !strings.Contains(texts[0], "Side-lying hip abduction") || !strings.Contains(texts[1], "Split squat: left 12 kg in each hand x 12, 2 in reserve; right 16 kg") {
		t.Fatalf("weighed: %q", texts)
	}
	if o := w.Observed[1]; o.Y < 0.05 || o.Y > math.Log(16./12) || o.SD < math.Sqrt2*loadSD {
		t.Errorf("split squat: ln ratio %.3f +- %.3f", o.Y, o.SD)
	}
	finding := client.Finding{On: date(t, "2026-11-06"), What: "raise", Kind: client.ByReserve, Exercise: "side-lying-hip-abduction", Left: "2", Right: "5", Reps: 12, Source: "client"}
	with := said(func(c *client.Client) { c.Findings = []client.Finding{finding} })
	if len(with.Observed) != 2 || with.From[0].Number != 1 {
		t.Errorf("the raise counts twice: %+v", with.From)
	}
	if a, b := w.Groups()[0], with.Groups()[0]; math.Abs(a.WeakLeft-b.WeakLeft) > 1e-12 {
		t.Errorf("as lifts %.6f, as a finding %.6f", a.WeakLeft, b.WeakLeft)
	}
	without := said(func(c *client.Client) {
		for i := range c.Lifts {
			if c.Lifts[i].Exercise == "side-lying-hip-abduction" && c.Lifts[i].Side == anatomy.Right {
				c.Lifts[i].On = date(t, "2026-11-07")
			}
		}
	})
	if len(without.Observed) != 1 {
		t.Errorf("lifts of two days are compared: %+v", without.From)
	}
}

// Ensure that a finding that is not weighed is told with its reason, moves nothing, and
// that a slip of the pen never makes a call.
func TestNotWeighedIsTold(t *testing.T) {
	in := rosa(t)
	plain := Input{Client: in.Client, Library: in.Library, Day: date(t, "2026-11-29")}
	before := Assess(plain)
	if len(before.NotWeighed) != 0 {
		t.Errorf("not weighed: %+v", before.NotWeighed)
	}
	with := func(f client.Finding) *Assessment {
		c := *in.Client
		c.Findings = append(slices.Clone(c.Findings), f)
		next := plain
		next.Client = &c
		return Assess(next)
	}
	day := date(t, "2026-11-20")
	for why, f := range map[Reason]client.Finding{
		SkippedOld:      {On: date(t, "2026-02-01"), Kind: client.ByRepetitions, Exercise: "knee-extension", Left: "8", Right: "14"},
		SkippedDrill:    {On: day, Kind: client.ByRepetitions, Exercise: "back-squat", Left: "8", Right: "14"},
		SkippedRepeated: in.Client.Findings[2],
		SkippedFar:      {On: day, Kind: client.ByLoad, Exercise: "knee-extension", Left: "1000 kg", Right: "25 kg"},
	} {
		a := with(f)
		if len(a.NotWeighed) != 1 || a.NotWeighed[0].Why != why || a.NotWeighed[0].Finding != len(in.Client.Findings)+1 {
			t.Errorf("%s: %+v", why, a.NotWeighed)
		}
		if a.None[0] != before.None[0] {
			t.Errorf("%s: none weak %.3f, before %.3f", why, a.None[0].Chance, before.None[0].Chance)
		}
	}
}
