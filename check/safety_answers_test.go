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

// yesTo is an answer of yes on a day.
func yesTo(t testing.TB, id, on string, region anatomy.Region, side anatomy.Side) client.Flag {
	return client.Flag{Ask: id, Answer: client.Yes, On: day(t, on), Region: region, Side: side}
}

// ofCode lists the problems of a code.
func ofCode(problems []Problem, code Code) []Problem {
	return slices.DeleteFunc(slices.Clone(problems), func(p Problem) bool { return p.Code != code })
}

// only is a block of a few slots, each an exercise with its dose.
func only(t testing.TB, slots ...string) *plan.Block {
	b := wholeBody(t)
	b.Sessions[0].Slots = nil
	for i, s := range slots {
		id, dose, _ := strings.Cut(s, ": ")
		addSlot(t, b, "s"+string(rune('0'+i)), id, dose)
	}
	return b
}

// Ensure the whole of the ACSM 2015 table (Riebe et al. 2015; key acsm-2015): for
// each of the eight answers and three intensities whether a stop stands, what the
// hardest intensity without clearance is, and that a client not active is told to
// start light to moderate wherever they may train, after clearance too.
func TestScreeningTable(t *testing.T) {
	answer := map[bool]client.Answer{true: client.Yes, false: client.No}
	intensities := []client.Intensity{client.Light, client.Moderate, client.Vigorous}
	for _, x := range []struct {
		active, disease, symptoms bool
		most                      client.Intensity // hardest without clearance; empty: none
	}{
		{false, false, false, client.Vigorous},
		{false, true, false, ""}, {false, false, true, ""}, {false, true, true, ""},
		{true, false, false, client.Vigorous}, {true, true, false, client.Moderate},
		{true, false, true, ""}, {true, true, true, ""},
	} {
		for _, wanted := range intensities {
			for _, word := range []*client.Word{nil, {By: "Dr"}, {By: "Dr", Loads: client.Light}, {By: "Dr", Loads: client.Moderate}, {By: "Dr", Until: day(t, "2026-11-29")}} {
				c, b := cleared(t), wholeBody(t)
				on := day(t, "2026-11-02")
				c.Clearance = client.Clearance{Intensity: wanted, Cleared: word, Active: client.Asked{Answer: answer[x.active], On: on},
					Disease: client.Asked{Answer: answer[x.disease], On: on}, Symptoms: client.Asked{Answer: answer[x.symptoms], On: on}}
				most := x.most
				if word != nil && word.Until.IsZero() {
					if most = client.Vigorous; word.Loads != "" {
						most = word.Loads
					}
				}
				problems := applySafety(c, b, form.English)
				code := Code("")
				switch {
				case most == "":
					code = "clearance-needed"
				case slices.Index(intensities, wanted) > slices.Index(intensities, most):
					code = "clearance-intensity"
				}
				if got := stops(problems); code == "" && len(got) > 0 || code != "" && !slices.Equal(got, []string{string(code) + " clearance"}) {
					t.Errorf("%+v, wanted %s, word %+v: stops %v, want %q", x, wanted, word, got, code)
				}
				if code == "" && has(problems, "clearance-start", Note, "") == x.active {
					t.Errorf("%+v, wanted %s, word %+v: told to start light: %v", x, wanted, word, x.active)
				}
				for _, p := range problems {
					if strings.Contains(p.Text, ": .") {
						t.Errorf("%+v, word %+v: no reason in %q", x, word, p.Text)
					}
				}
			}
		}
	}
}

// Ensure that a word on a flag that clears less than the client wants bounds the
// intensity, names who said so, and that sets to failure are then held back.
func TestWordBoundsIntensity(t *testing.T) {
	c, b := cleared(t), only(t, "back-squat: 3 x max @ 60 kg")
	f := yesTo(t, "osteoporosis", "2026-11-02", "", "")
	f.Cleared = &client.Word{By: "Dr. Oriel", On: day(t, "2026-11-05"), Says: "light work", Loads: client.Light}
	c.Flags = append(c.Flags, f)
	problems := applySafety(c, b, form.English)
	if p := ofCode(problems, "clearance-intensity"); len(p) != 1 || !strings.Contains(p[0].Text, "Dr. Oriel, osteoporosis") {
		t.Errorf("cleared for light work, vigorous wanted: %v", p)
	}
	c.Clearance.Intensity = client.Light
	problems = applySafety(c, b, form.English)
	if s := stops(problems); len(s) > 0 {
		t.Errorf("cleared for light work, light wanted: %v", s)
	}
	if !has(problems, "not-for-now", Settle, "failure") {
		t.Error("a client cleared for light work is offered sets to failure")
	}
}

// Ensure that an emergency sign is lifted by a word as new as the answer and not
// by one given before the sign, and that `corbel ask` still waits for it then.
func TestWordBeforeAnEmergency(t *testing.T) {
	for on, lifted := range map[string]bool{"2026-11-19": false, "2026-11-20": true, "2026-12-24": true} {
		c, b := cleared(t), wholeBody(t)
		f := yesTo(t, "fainting", "2026-11-20", "", "")
		f.Cleared = &client.Word{By: "Dr", On: day(t, on), Says: "may train"}
		c.Flags = append(c.Flags, f)
		if got := len(stops(applySafety(c, b, form.English))) == 0; got != lifted {
			t.Errorf("word of %s: lifted %v, want %v", on, got, lifted)
		}
		if got := len(Ask(c, b.Start).Waiting) == 0; got != lifted {
			t.Errorf("word of %s: ask waits %v", on, !got)
		}
	}
}

// Ensure that a yes to a stop sign of pregnancy counts whatever was answered to
// pregnancy itself.
func TestPregnancySignAlwaysCounts(t *testing.T) {
	for _, pregnant := range []client.Answer{client.Yes, client.No, "not asked"} {
		c, b := cleared(t), wholeBody(t)
		c.Flags = append(c.Flags, client.Flag{Ask: "pregnant", Answer: pregnant, On: b.Start}, yesTo(t, "pregnancy-bleeding", "2026-11-20", "", ""))
		if !has(applySafety(c, b, form.English), "emergency", Stop, "pregnancy-bleeding") {
			t.Errorf("pregnant %q: bleeding stops nothing", pregnant)
		}
	}
}

// Ensure that one question answered yes for several joints gives a problem for
// each with an id of its own, that the side is said, and that a side alone
// concerns work of that side.
func TestJointsAnsweredTwice(t *testing.T) {
	c, b := cleared(t), only(t, "back-squat: 3 x 8 rir 2", "step-up: right 3 x 8 rir 2")
	for _, side := range []anatomy.Side{anatomy.Left, anatomy.Right} {
		c.Flags = append(c.Flags, yesTo(t, "joint-swelling", "2026-11-20", "knee", side))
	}
	c.Flags = append(c.Flags, yesTo(t, "joint-swelling", "2026-11-20", "hip", anatomy.Left), yesTo(t, "joint-swelling", "2026-11-20", "wrist-and-hand", ""))
	problems := ofCode(applySafety(c, b, form.English), "red-flag")
	var got []string
	ids := map[string]bool{}
	for _, p := range problems {
		got, ids[p.ID] = append(got, p.At.Slot+" "+p.Args["region"]), true
	}
	if s := strings.Join(got, "; "); s != "s0 knee, left; s0 knee, right; s1 knee, right; s0 hip, left" || len(ids) != len(problems) {
		t.Errorf("%s with %d ids", s, len(ids))
	}
	if len(ofCode(applySafety(c, b, form.English), "red-flag-refer")) != 1 {
		t.Error("the wrist, which nothing loads, is not referred")
	}
}

// Ensure that a flag of the back, neck or upper back concerns work of one side
// whichever side was named: the trunk has no side.
func TestMidlineHasNoSide(t *testing.T) {
	for _, x := range []struct{ ask, slot string }{
		{"back-fever", "one-arm-dumbbell-row: right 3 x 8 rir 2"}, {"back-night-or-rest-pain", "side-plank: right 3 x 20 s"},
	} {
		c, b := cleared(t), only(t, x.slot)
		c.Flags = append(c.Flags, yesTo(t, x.ask, "2026-11-20", "", anatomy.Left))
		if !has(applySafety(c, b, form.English), "red-flag", Stop, x.ask) {
			t.Errorf("%s on the left: %s goes on", x.ask, x.slot)
		}
	}
	c, b := cleared(t), only(t, "barbell-shrug: 3 x 8 rir 2")
	c.Flags = append(c.Flags, yesTo(t, "joint-night-or-rest-pain", "2026-11-20", "neck", ""))
	if !has(applySafety(c, b, form.English), "red-flag", Stop, "") {
		t.Error("a flag of the neck lets shrugs go on")
	}
}

// Ensure that a red flag stops what is still to be done after it, all of the block
// where its day lies after it (a slip of the year must not weaken it), and is
// referred where nothing is left.
func TestFlagsOnTheirDay(t *testing.T) {
	for _, x := range []struct {
		on, skipFrom string
		code         Code
	}{
		{"2026-11-01", "", "red-flag"}, {"2026-12-10", "", "red-flag"}, {"2062-11-20", "", "red-flag"},
		{"2026-12-10", "2026-12-10", "red-flag-refer"}, {"2026-12-01", "2026-12-10", "red-flag"}, {"2026-12-23", "", "red-flag-refer"},
	} {
		c, b := cleared(t), only(t, "back-squat: 3 x 8 rir 2")
		c.Flags = append(c.Flags, yesTo(t, "joint-locking", x.on, "knee", anatomy.Left))
		if x.skipFrom != "" {
			b.Changes = []plan.Change{{ID: "c1", On: day(t, x.skipFrom), Scope: "slot", Slot: "s0", Do: "skip"}}
		}
		problems := applySafety(c, b, form.English)
		if len(ofCode(problems, x.code)) != 1 || len(ofCode(problems, "red-flag"))+len(ofCode(problems, "red-flag-refer")) != 1 {
			t.Errorf("flag of %s, slot left out from %q: %v, want %s", x.on, x.skipFrom, problems, x.code)
		}
	}
}

// Ensure the ages of new severe back pain (under 20, over 55; Verhagen et al. 2016;
// key safety-3): a red flag there, and in between a report of the pain is asked
// for until the pain rules have one.
func TestNewSevereBackPain(t *testing.T) {
	for born, flag := range map[string]bool{
		"2006-12-01": true, "2006-11-30": false, "1990-01-01": false, "1970-12-01": false, "1970-11-30": true, "": true,
	} {
		c, b := cleared(t), wholeBody(t)
		c.Born = form.Date{}
		if born != "" {
			c.Born = day(t, born)
		}
		c.Flags = append(c.Flags, yesTo(t, "back-new-severe-pain", "2026-11-20", "", ""))
		problems := applySafety(c, b, form.English)
		if has(problems, "red-flag", Stop, "back-new-severe-pain") != flag || has(problems, "pain-not-recorded", Settle, "") == flag {
			t.Errorf("born %q: %v", born, problems)
		}
		c.Pain = []client.Pain{{Place: "low-back", On: day(t, "2026-11-20"), During: new(7.0)}}
		problems = applySafety(c, b, form.English)
		if has(problems, "pain-not-recorded", Settle, "") || !has(problems, "pain-stop", Stop, "low-back") {
			t.Errorf("born %q, 7 of 10 recorded: %v", born, stops(problems))
		}
	}
}

// Ensure that the age of 18 counts on the day: a yes that was true then has been
// outgrown, one that contradicts the date of birth stands, and without a date of
// birth the question stands as not asked, though its group was answered.
func TestUnder18(t *testing.T) {
	for _, x := range []struct{ born, answered, stop string }{
		{"2008-12-01", "", "ask-first under-18"}, {"2008-11-30", "", ""},
		{"2008-11-30", "2026-11-02", ""}, {"2000-01-01", "2026-11-02", "ask-first under-18"}, {"", "", "not-asked ask-first"}, {"", "2026-11-02", "ask-first under-18"},
	} {
		c, b := cleared(t), wholeBody(t)
		c.Born = form.Date{}
		if x.born != "" {
			c.Born = day(t, x.born)
		}
		if x.answered != "" {
			c.Flags = append(c.Flags, yesTo(t, "under-18", x.answered, "", ""))
		}
		if got := strings.Join(stops(applySafety(c, b, form.English)), ", "); got != x.stop {
			t.Errorf("born %q, yes on %q: %q, want %q", x.born, x.answered, got, x.stop)
		}
	}
}

// Ensure that answers ask to be renewed after a year or without a day, those of
// the screening too, that asking a group again renews them, and that an age that
// is computed does not grow old.
func TestAnswersGrowOld(t *testing.T) {
	for _, x := range []struct {
		name   string
		change func(*client.Client)
		about  string
	}{
		{"all new", func(*client.Client) {}, ""},
		{"a year to the day", func(c *client.Client) { c.Clearance.Disease.On = day(t, "2025-11-30") }, ""},
		{"screening old", func(c *client.Client) { c.Clearance.Disease.On = day(t, "2025-11-29") }, "clearance"},
		{"screening without a day", func(c *client.Client) { c.Clearance.Active.On = form.Date{} }, "clearance"},
		{"group old", func(c *client.Client) { c.Flags[1].On = day(t, "2025-11-29") }, "low-back"},
		{"one old, group asked again", func(c *client.Client) {
			c.Flags = append(c.Flags, client.Flag{Ask: "back-fever", Answer: client.No, On: day(t, "2024-11-29")})
		}, ""},
		{"after the block's start", func(c *client.Client) { c.Flags[0].On = day(t, "2026-12-20") }, ""},
	} {
		c, b := cleared(t), wholeBody(t)
		x.change(c)
		got := ofCode(applySafety(c, b, form.English), "ask-again")
		if x.about == "" && len(got) > 0 || x.about != "" && (len(got) != 1 || got[0].Args["about"] != x.about || got[0].Severity != Settle) {
			t.Errorf("%s: %v, want %q", x.name, got, x.about)
		}
	}
}

// Ensure that a word that runs out before the block does is to be settled, whether
// on the screening, on a flag or on a pain, and one that lasts is not.
func TestWordEnds(t *testing.T) {
	word := func(until string) *client.Word {
		w := &client.Word{By: "Dr", On: day(t, "2026-11-20"), Says: "may train"}
		if until != "" {
			w.Until = day(t, until)
		}
		return w
	}
	for until, ends := range map[string]bool{"": false, "2026-12-26": true, "2026-12-27": false, "2026-11-30": true} {
		c, b := cleared(t), wholeBody(t)
		c.Clearance.Symptoms.Answer, c.Clearance.Cleared = client.Yes, word(until)
		f := yesTo(t, "hernia", "2026-11-02", "", "")
		f.Cleared = word(until)
		c.Flags = append(c.Flags, f)
		c.Pain = []client.Pain{{Place: "knee", Side: anatomy.Left, On: day(t, "2026-11-10"), During: new(4.0), Word: word(until)}}
		var about []string
		for _, p := range ofCode(applySafety(c, b, form.English), "word-ends") {
			about = append(about, p.Args["about"])
		}
		if want := []string{"clearance", "hernia", "knee left"}; ends && !slices.Equal(about, want) || !ends && about != nil {
			t.Errorf("until %q: %v", until, about)
		}
	}
}

// Ensure that a client with an open flag to refer is not offered sets to failure.
func TestReferHoldsBackFailure(t *testing.T) {
	c, b := cleared(t), only(t, "back-squat: 3 x max @ 60 kg")
	if has(applySafety(c, b, form.English), "not-for-now", Settle, "") {
		t.Error("a trained client without a flag is held back")
	}
	c.Flags = append(c.Flags, yesTo(t, "back-four-weeks", "2026-11-02", "", ""))
	if !has(applySafety(c, b, form.English), "not-for-now", Settle, "failure") {
		t.Error("a client to refer is offered sets to failure")
	}
}

// Ensure what counts as failure, as a load to be found and as a bar that needs a
// spotter (from 85 % or six repetitions that could not be passed: the strength zone
// of the textbook; key nsca-essentials-17).
func TestDemands(t *testing.T) {
	for dose, want := range map[string]string{
		"3 x 8 rir 0": "failure spotter", "3 x 8 rpe 10": "failure spotter", "3 x 8 rir 0-1": "", "3 x max @ 50%": "failure spotter", "3 x max @ 50% rir 1": "",
		"5 x 5 @ 8RM": "find-load", "5 x 5 @ 6RM": "find-load spotter", "3 x 5 rir 2": "find-load", "3 x 4 rir 2": "find-load spotter",
		"3 x 6 rir 2": "find-load", "3 x 7 rir 2": "", "3 x 5 @ 84.9%": "", "3 x 5 @ 85%": "spotter", "3 x 5 @ 100 kg rir 1": "spotter", "3 x 5 @ 100 kg rir 2": "",
	} {
		c, b := cleared(t), only(t, "back-squat: "+dose)
		c.Experience = client.Beginner
		var got []string
		for _, p := range applySafety(c, b, form.English) {
			switch p.Code {
			case "not-for-now":
				got = append(got, p.Args["about"])
			case "spotter":
				got = append(got, "spotter")
			}
		}
		if s := strings.Join(got, " "); s != want {
			t.Errorf("%s: %q, want %q", dose, s, want)
		}
	}
	if has(applySafety(cleared(t), only(t, "leg-press: 3 x 5 @ 90%"), form.English), "spotter", Note, "") {
		t.Error("a leg press asks for a spotter")
	}
}

// Ensure that a session moved by a change to a place nobody knows is found.
func TestPlacesAfterChanges(t *testing.T) {
	c, b := cleared(t), wholeBody(t)
	c.Places = []client.Place{{ID: "p"}}
	in := Input{Client: c, Block: b, Library: exercise.Shipped, Language: form.English}
	if got := Places(in); len(got) > 0 {
		t.Errorf("%v", got)
	}
	b.Changes = []plan.Change{{ID: "c1", On: day(t, "2026-12-07"), Scope: "session", Session: "a", Do: "place", Place: "hut"}}
	if got := Places(in); len(got) != 1 || got[0].Args["about"] != "hut" {
		t.Errorf("%v", got)
	}
}
