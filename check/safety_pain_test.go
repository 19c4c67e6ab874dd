package check

import (
	"slices"
	"strings"
	"testing"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
)

// painVerdict is the worst a block hears of pain: pain-stop, pain-lower, pain-word or
// nothing.
func painVerdict(problems []Problem) Code {
	for _, code := range []Code{"pain-stop", "pain-stop-refer", "pain-lower", "pain-word"} {
		if len(ofCode(problems, code)) > 0 {
			return code
		}
	}
	return ""
}

// Ensure that for every place of the closed list and every exercise of the library
// pain stops the exercise exactly if a joint action it works loads the place, and
// that some exercise does.
func TestPainStopsWhatLoadsThePlace(t *testing.T) {
	c, b := cleared(t), wholeBody(t)
	b.Sessions[0].Slots = nil
	for _, e := range exercise.Shipped.All() {
		addSlot(t, b, string(e.ID), string(e.ID), "3 x 8 rir 2")
	}
	for _, id := range anatomy.Place("").Values() {
		place := anatomy.Place(id)
		p := client.Pain{Place: place, On: day(t, "2026-11-10"), During: new(9.0)}
		if place.Sided() {
			p.Side = anatomy.Right
		}
		c.Pain = []client.Pain{p}
		var got, want []string
		for _, x := range ofCode(applySafety(c, b, form.English), "pain-stop") {
			got = append(got, x.At.Slot)
		}
		for _, e := range exercise.Shipped.All() {
			if slices.ContainsFunc(place.Actions(), e.Works) {
				want = append(want, string(e.ID))
			}
		}
		if len(want) == 0 || !slices.Equal(got, want) {
			t.Errorf("%s stops %v, want %v", id, got, want)
		}
	}
}

// Ensure that pain on one side spares work of the other side alone: left knee pain
// does not touch a slot for the right, both sides touch every slot, and pain of the
// ribs is met by work that turns the trunk on either side.
func TestPainSides(t *testing.T) {
	for _, x := range []struct {
		place anatomy.Place
		side  anatomy.Side
		slot  string
		stops bool
	}{
		{"knee", anatomy.Left, "step-up: right 3 x 8 rir 2", false}, {"knee", anatomy.Left, "step-up: left 3 x 8 rir 2", true}, {"knee", anatomy.Both, "step-up: right 3 x 8 rir 2", true},
		{"knee", anatomy.Left, "step-up: 3 x 8/side rir 2", true}, {"knee", anatomy.Left, "step-up: left 3 x 8 rir 2, right 2 x 8 rir 2", true}, {"knee", anatomy.Right, "back-squat: 3 x 8 rir 2", true},
		{"ribs", anatomy.Left, "one-arm-dumbbell-row: right 3 x 8 rir 2", true}, {"ribs", anatomy.Left, "fly: right 3 x 8 rir 2", false},
		{"low-back", "", "side-plank: right 3 x 20 s", true},
	} {
		c, b := cleared(t), only(t, x.slot)
		c.Pain = []client.Pain{{Place: x.place, Side: x.side, On: day(t, "2026-11-10"), During: new(9.0)}}
		problems := applySafety(c, b, form.English)
		if got := has(problems, "pain-stop", Stop, ""); got != x.stops || has(problems, "pain-stop-refer", Settle, "") == x.stops {
			t.Errorf("%s %s, %s: %v", x.place, x.side, x.slot, problems)
		}
	}
	c, b := cleared(t), only(t, "step-up: 3 x 8 rir 2")
	b.Sessions[0].Slots[0].Side = anatomy.Right
	c.Pain = []client.Pain{{Place: "knee", Side: anatomy.Left, On: day(t, "2026-11-10"), During: new(9.0)}}
	if s := stops(applySafety(c, b, form.English)); len(s) > 0 {
		t.Errorf("a slot for the right: %v", s)
	}
}

// Ensure what a practitioner's word lifts: pain that lowers work, and pain that
// stops it where the word is as new as the report; a window of pain counts for the
// Achilles tendon, up to 5, rated and not worse the next morning (Silbernagel et
// al. 2007; key silbernagel-2007).
func TestPainWords(t *testing.T) {
	tendon, knee := anatomy.Place("achilles-tendon"), anatomy.Place("knee")
	for _, x := range []struct {
		name   string
		place  anatomy.Place
		during *float64
		change func(*client.Pain)
		word   string // day of the word
		window client.PainWindow
		want   Code
	}{
		{"no word", knee, new(4.0), nil, "", "", "pain-lower"},
		{"older word, 4", knee, new(4.0), nil, "2026-11-01", "", "pain-word"},
		{"older word, 6", knee, new(6.0), nil, "2026-11-09", "", "pain-stop"},
		{"word of the day, 6", knee, new(6.0), nil, "2026-11-10", "", "pain-word"},
		{"word after the block's start, 6", knee, new(6.0), nil, "2026-12-10", "", "pain-word"},
		{"word and a feature since", knee, new(1.0), func(p *client.Pain) { p.Features = []client.PainFeature{"giving way"} }, "2026-11-01", "", "pain-stop"},
		{"window, 5", tendon, new(5.0), nil, "2026-11-01", "0-5", "pain-word"},
		{"window, 5.1", tendon, new(5.1), nil, "2026-11-10", "0-5", "pain-stop"},
		{"window, feature", tendon, new(2.0), func(p *client.Pain) { p.Features = []client.PainFeature{"sharp"} }, "2026-11-10", "0-5", "pain-stop"},
		{"window, not rated", tendon, nil, nil, "2026-11-01", "0-5", "pain-lower"},
		{"window, worse", tendon, new(2.0), func(p *client.Pain) { p.Worse = true }, "2026-11-01", "0-5", "pain-lower"},
		{"window, morning 5", tendon, new(5.0), func(p *client.Pain) { p.Morning = new(5.0) }, "2026-11-01", "0-5", "pain-word"},
		{"window at a knee", knee, new(4.0), nil, "2026-11-01", "0-5", "pain-lower"},
		{"word run out", tendon, new(4.0), func(p *client.Pain) { p.Word.Until = day(t, "2026-11-29") }, "2026-11-01", "0-5", "pain-lower"},
	} {
		c, b := cleared(t), wholeBody(t)
		p := client.Pain{Place: x.place, Side: anatomy.Left, On: day(t, "2026-11-10"), During: x.during}
		if x.word != "" {
			p.Word = &client.Word{By: "Dr", On: day(t, x.word), Says: "load it", Window: x.window}
		}
		if x.change != nil {
			x.change(&p)
		}
		c.Pain = []client.Pain{p}
		if got := painVerdict(applySafety(c, b, form.English)); got != x.want {
			t.Errorf("%s: %q, want %q", x.name, got, x.want)
		}
	}
}

// Ensure that several reports of a place are said once for each slot, by what
// stops before what lowers, and that a place with two reports of one kind tells
// the last.
func TestSeveralReports(t *testing.T) {
	c, b := cleared(t), only(t, "back-squat: 3 x 8 rir 2")
	for on, during := range map[string]float64{"2026-11-10": 8, "2026-11-12": 4, "2026-11-14": 7, "2026-11-16": 3} {
		c.Pain = append(c.Pain, client.Pain{Place: "knee", Side: anatomy.Left, On: day(t, on), During: new(during)})
	}
	problems := applySafety(c, b, form.English)
	stop := ofCode(problems, "pain-stop")
	if len(stop) != 1 || !strings.Contains(stop[0].Text, "7 of 10 on 2026-11-14") || len(ofCode(problems, "pain-lower")) > 0 {
		t.Errorf("%v", problems)
	}
	c.Pain = append(c.Pain, client.Pain{Place: "knee", Side: anatomy.Right, On: day(t, "2026-11-16"), During: new(4.0)})
	problems = applySafety(c, b, form.English)
	if len(ofCode(problems, "pain-stop")) != 1 || len(ofCode(problems, "pain-lower")) != 1 {
		t.Errorf("the other knee: %v", problems)
	}
}

// Ensure how reports of a log count beside the client file: a report that asks for
// a practitioner is not undone by a quieter day after the work was stopped, but by
// a later report in the client file, of that side or both, or by the pain having
// settled; and the word recorded for a place goes with it.
func TestPainOfLogAndFile(t *testing.T) {
	file := func(side anatomy.Side, on string, during float64, change func(*client.Pain)) []client.Pain {
		p := client.Pain{Place: "achilles-tendon", Side: side, On: day(t, on), During: &during}
		if change != nil {
			change(&p)
		}
		return []client.Pain{p}
	}
	window := func(p *client.Pain) {
		p.Word = &client.Word{By: "Dr", On: day(t, "2026-11-01"), Says: "load it", Window: "0-5"}
	}
	settled := func(on string) func(*client.Pain) { return func(p *client.Pain) { p.Until = day(t, on) } }
	for _, x := range []struct {
		name string
		log  map[string]float64
		file []client.Pain
		want Code
	}{
		{"6, then 1", map[string]float64{"2026-12-01": 6, "2026-12-03": 1}, nil, "pain-stop"},
		{"4, then 1", map[string]float64{"2026-12-01": 4, "2026-12-03": 1}, nil, ""},
		{"6, file says 1 later", map[string]float64{"2026-12-01": 6}, file(anatomy.Left, "2026-12-02", 1, nil), ""},
		{"6, file says 1 of both later", map[string]float64{"2026-12-01": 6}, file(anatomy.Both, "2026-12-02", 1, nil), ""},
		{"6, file says 1 of the right later", map[string]float64{"2026-12-01": 6}, file(anatomy.Right, "2026-12-02", 1, nil), "pain-stop"},
		{"6, file had said 1", map[string]float64{"2026-12-01": 6}, file(anatomy.Left, "2026-11-30", 1, nil), "pain-stop"},
		{"6, settled since", map[string]float64{"2026-12-01": 6}, file(anatomy.Left, "2026-11-10", 4, settled("2026-12-04")), "pain-lower"},
		{"6, settled before", map[string]float64{"2026-12-01": 6}, file(anatomy.Left, "2026-11-10", 4, settled("2026-11-28")), "pain-stop"},
		{"4 in a window", map[string]float64{"2026-12-01": 4}, file(anatomy.Left, "2026-11-10", 3, window), "pain-word"},
		{"6 past a window", map[string]float64{"2026-12-01": 6}, file(anatomy.Left, "2026-11-10", 3, window), "pain-stop"},
		{"4, window of the other leg", map[string]float64{"2026-12-01": 4}, file(anatomy.Right, "2026-11-10", 3, window), "pain-lower"},
	} {
		c, b := cleared(t), only(t, "standing-calf-raise: 3 x 8 rir 2")
		c.Pain = x.file
		log := &plan.Log{}
		for on, during := range x.log {
			log.Entries = append(log.Entries, plan.Entry{On: day(t, on), Pain: []plan.PainLog{{Place: "achilles-tendon", Side: anatomy.Left, During: &during}}})
		}
		if got := painVerdict(Safety(Input{Client: c, Block: b, Library: exercise.Shipped, Log: log})); got != x.want {
			t.Errorf("%s: %q, want %q", x.name, got, x.want)
		}
	}
}

// Ensure that pain reported in mid-block stops what is still to be done: once the
// rest is left out by a change, it is referred and stops nothing.
func TestPainAfterItsChange(t *testing.T) {
	c, b := cleared(t), only(t, "back-squat: 3 x 8 rir 2")
	c.Pain = []client.Pain{{Place: "knee", Side: anatomy.Left, On: day(t, "2026-12-08"), During: new(7.0)}}
	if got := painVerdict(applySafety(c, b, form.English)); got != "pain-stop" {
		t.Errorf("nothing changed: %q", got)
	}
	b.Changes = []plan.Change{{ID: "c1", On: day(t, "2026-12-08"), By: "coach", Why: "knee", Scope: "slot", Slot: "s0", Do: "skip"}}
	if got := painVerdict(applySafety(c, b, form.English)); got != "pain-stop-refer" {
		t.Errorf("left out from then on: %q", got)
	}
}
