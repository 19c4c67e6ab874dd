package plan

import (
	"strings"
	"testing"

	"corbel/form"
	"corbel/unit"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// sameDose tells two doses apart part by part, whatever was typed. Quantities
// compare by what they mean; the unit a mass was typed in counts too.
func sameDose(a, b Dose) string {
	a.Text, b.Text = "", ""
	type fields Dose
	return same(fields(a), fields(b)) + same(a.Canonical(), b.Canonical())
}

func same(a, b any) string { return cmp.Diff(a, b, cmpopts.EquateEmpty()) }

// A dose printed in its one spelling reads back as the same dose, and both
// languages have words for it.
func TestDosePrintsAndReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := gen{t: t}.dose()
		text := d.Canonical()
		if len(text) > maxDose {
			t.Skip()
		}
		back, err := ParseDose(text)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if diff := sameDose(d, back); diff != "" {
			t.Fatalf("%q\n%s", text, diff)
		}
		for _, l := range []form.Language{form.English, form.German} {
			if words := (Phrase{Language: l}).Dose(d); words == "" || strings.Contains(words, "  ") || strings.Contains(words, "- ") {
				t.Fatalf("%q in words: %q", text, words)
			}
		}
	})
}

// White space between tokens and the case of letters change nothing.
func TestDoseForgivesSpaceAndCase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gen{t: t, simple: true}
		d := g.dose()
		if len(d.Canonical()) > maxDose {
			t.Skip()
		}
		for _, text := range []string{g.spaced(d.Canonical()), g.cased(d.Canonical())} {
			if len(text) > maxDose {
				continue
			}
			back, err := ParseDose(text)
			if err != nil {
				t.Fatalf("%q as %q: %v", d.Canonical(), text, err)
			}
			if diff := sameDose(d, back); diff != "" {
				t.Fatalf("%q as %q\n%s", d.Canonical(), text, diff)
			}
		}
	})
}

// What was typed survives: the whole text, and the text of each quantity in it.
func TestDoseKeepsWhatWasTyped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gen{t: t}
		mass := g.mass().String()
		rest := pick(g, "rest", "3:00", "90 s", "90s", "2 MIN", "1 min 30 s", "0:45")
		text := pick(g, "head", "3 x 8 @ ", "2x5@", "left 3 x 8 @ ") + mass + pick(g, "comma", ", rest ", " rest ", ";Rest:") + rest
		d, err := ParseDose(text)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if d.String() != text {
			t.Fatalf("%q became %q", text, d)
		}
		if got := d.Parts[0].Sets[0].Load.Mass.String(); got != mass {
			t.Fatalf("mass %q became %q", mass, got)
		}
		if got := d.Rest.String(); got != rest {
			t.Fatalf("rest %q became %q", rest, got)
		}
	})
}

// A line of the log prints and reads back the same, with other white space and
// case too.
func TestDonePrintsAndReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gen{t: t, simple: true}
		d := g.done()
		for _, text := range []string{d.Canonical(), g.spaced(d.Canonical()), g.cased(d.Canonical())} {
			back, err := ParseDone(text)
			if err != nil {
				t.Fatalf("%q as %q: %v", d.Canonical(), text, err)
			}
			if back.String() != text {
				t.Fatalf("%q became %q", text, back)
			}
			back.Text = ""
			if diff := same(d, back) + same(d.Canonical(), back.Canonical()); diff != "" {
				t.Fatalf("%q\n%s", text, diff)
			}
		}
		if (Phrase{Language: form.German}).Done(d) == "" {
			t.Fatalf("%q has no words", d.Canonical())
		}
	})
}

// A rule of progress prints and reads back the same, with other white space and
// case too.
func TestProgressPrintsAndReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gen{t: t, simple: true}
		p := g.progress()
		for _, text := range []string{p.String(), g.spaced(p.String()), g.cased(p.String())} {
			var back Progress
			if err := back.UnmarshalText([]byte(text)); err != nil {
				t.Fatalf("%q: %v", text, err)
			}
			if diff := same(p, back) + same(p.String(), back.String()); diff != "" {
				t.Fatalf("%q\n%s", text, diff)
			}
		}
	})
}

// Tempo and measure print and read back the same, with other white space and
// case too.
func TestTempoAndMeasurePrintAndReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gen{t: t}
		tempo, list := g.tempo(), g.measures()
		for _, text := range []string{tempo.String(), g.spaced(tempo.String()), g.cased(tempo.String())} {
			back, err := ParseTempo(text)
			if diff := same(tempo, back); err != nil || diff != "" {
				t.Fatalf("%q: %v\n%s", text, err, diff)
			}
		}
		for _, text := range []string{measures(list), g.spaced(measures(list)), g.cased(measures(list))} {
			back, err := ParseMeasure(text)
			if diff := same(list, back); err != nil || diff != "" {
				t.Fatalf("%q: %v\n%s", text, err, diff)
			}
		}
	})
}

// Whatever a rule of progress and a deload week make of a dose is a dose again:
// it prints and reads back the same, and the written dose is left as it was.
func TestEveryWeekIsADose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gen{t: t, inBlock: true}
		s := &Slot{Dose: g.dose(), Progress: g.progress()}
		b := &Block{Weeks: 12}
		if g.bool("deload") {
			b.Deload = &Deload{Week: g.int(2, 12, "week"), Sets: unit.PercentOf(float64(g.int(1, 100, "sets"))), Load: unit.PercentOf(float64(g.int(1, 100, "load"))), Reserve: g.int(0, 5, "reserve")}
		}
		if g.bool("written") {
			s.Weeks = map[int]Dose{g.int(2, 12, "written week"): g.dose()}
		}
		before := s.Dose.Canonical()
		for week := 1; week <= 12; week++ {
			d := b.DoseIn(s, week)
			if len(d.Canonical()) > maxDose {
				continue
			}
			back, err := ParseDose(d.Canonical())
			if err != nil {
				t.Fatalf("%q, %s, week %d: %q: %v", before, s.Progress, week, d.Canonical(), err)
			}
			if diff := sameDose(d, back); diff != "" {
				t.Fatalf("%q, %s, week %d: %q\n%s", before, s.Progress, week, d.Canonical(), diff)
			}
		}
		if s.Dose.Canonical() != before {
			t.Fatalf("the dose of week 1 became %q, was %q", s.Dose.Canonical(), before)
		}
	})
}
