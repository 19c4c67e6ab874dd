package check

import (
	"fmt"
	"regexp"
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

// day reads a date.
func day(t testing.TB, s string) form.Date {
	t.Helper()
	d, err := form.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// cleared is a client of whom everything was asked and nothing found.
func cleared(t testing.TB) *client.Client {
	on := day(t, "2026-11-02")
	no := client.Asked{Answer: client.No, On: on}
	c := &client.Client{Form: 1, ID: "c", Name: "Client", Language: form.English, Born: day(t, "1990-06-01"), Experience: client.Trained,
		Clearance: client.Clearance{Active: client.Asked{Answer: client.Yes, On: on}, Disease: no, Symptoms: no, Intensity: client.Vigorous}}
	for _, g := range client.Asking.Groups {
		c.Flags = append(c.Flags, client.Flag{Ask: string(g.ID), Answer: client.No, On: on})
	}
	return c
}

// wholeBody is a block that loads every region, four weeks from 30 November.
func wholeBody(t testing.TB) *plan.Block {
	b := &plan.Block{Form: 1, ID: "b", Name: "Block", Client: "c.yaml", Start: day(t, "2026-11-30"), Weeks: 4, State: plan.Draft, Revision: 1,
		Sessions: []plan.Session{{ID: "a", Name: "A", Day: "mon", Place: "p"}}}
	for i, x := range []string{"back-squat", "romanian-deadlift", "standing-calf-raise", "bench-press", "bent-over-barbell-row", "barbell-shrug", "barbell-curl", "step-up", "cable-crunch", "ankle-rock", "hip-adduction-machine", "side-plank", "push-up", "lying-leg-curl", "one-hand-carry", "hanging-knee-raise"} {
		addSlot(t, b, fmt.Sprintf("s%d", i), x, "3 x 8 rir 2")
	}
	return b
}

func addSlot(t testing.TB, b *plan.Block, id, exercise, dose string) *plan.Slot {
	t.Helper()
	d, err := plan.ParseDose(dose)
	if err != nil {
		t.Fatal(err)
	}
	s := &b.Sessions[0]
	s.Slots = append(s.Slots, plan.Slot{ID: form.ID(id), Exercise: exercise, Dose: d})
	return &s.Slots[len(s.Slots)-1]
}

// applySafety runs the safety rules.
func applySafety(c *client.Client, b *plan.Block, l form.Language) []Problem {
	return Safety(Input{Client: c, Block: b, Library: exercise.Shipped, Language: l})
}

// stops lists the codes and what they are about of the problems that block.
func stops(problems []Problem) []string {
	var out []string
	for _, p := range problems {
		if p.Blocks() {
			out = append(out, string(p.Code)+" "+p.Args["about"])
		}
	}
	return out
}

// has says whether a problem with a code, severity and subject is there.
func has(problems []Problem, code Code, sev Severity, about string) bool {
	return slices.ContainsFunc(problems, func(p Problem) bool {
		return p.Code == code && p.Severity == sev && (about == "" || p.Args["about"] == about)
	})
}

// Ensure that a client of whom everything was asked and nothing found may train.
func TestClearedClientMayTrain(t *testing.T) {
	if s := stops(applySafety(cleared(t), wholeBody(t), form.English)); len(s) > 0 {
		t.Errorf("stops: %v", s)
	}
}

// Ensure that every question of the safety list answered yes gives its stop (a
// question to refer gives its note to settle), that it names the question, and
// that a practitioner's word on record lifts it.
func TestEveryFlagStops(t *testing.T) {
	want := map[client.QuestionKind]Code{client.Emergency: "emergency", client.RedFlag: "red-flag", client.AskFirst: "ask-first", client.Refer: "refer"}
	for i := range client.Asking.Questions {
		q := &client.Asking.Questions[i]
		c, b := cleared(t), wholeBody(t)
		c.Born = day(t, "2010-03-01") // 16: ages of every age-bound flag
		if q.From != "born" {
			c.Born = day(t, "1960-01-01")
		}
		if q.OnlyIf != "" {
			c.Flags = append(c.Flags, client.Flag{Ask: q.OnlyIf, Answer: client.Yes, On: b.Start, Cleared: &client.Word{By: "Dr", On: b.Start, Says: "yes"}})
		}
		f := client.Flag{Ask: string(q.ID), Answer: client.Yes, On: b.Start, Region: "knee", Side: anatomy.Left}
		if q.From != "born" {
			c.Flags = append(c.Flags, f)
		}
		sev := Stop
		if q.Kind == client.Refer {
			sev = Settle
		}
		problems := applySafety(c, b, form.English)
		if !has(problems, want[q.Kind], sev, string(q.ID)) {
			t.Errorf("%s answered yes: %v", q.ID, stops(problems))
		}
		for _, p := range problems {
			if p.Args["about"] == string(q.ID) && !strings.Contains(strings.ToLower(p.Text), strings.ToLower(q.Short.En)) {
				t.Errorf("%s: the text does not name the question: %s", q.ID, p.Text)
			}
		}
		f.Cleared = &client.Word{By: "Dr", On: b.Start, Says: "may train"}
		c.Flags = slices.DeleteFunc(c.Flags, func(x client.Flag) bool { return x.Ask == string(q.ID) })
		c.Flags = append(c.Flags, f)
		if s := stops(applySafety(c, b, form.English)); len(s) > 0 {
			t.Errorf("%s with a practitioner's word: %v", q.ID, s)
		}
		f.Cleared.Until = day(t, "2026-11-29")
		if s := stops(applySafety(c, b, form.English)); len(s) == 0 && q.Kind != client.Refer {
			t.Errorf("%s: a word that ran out the day before still lifts it", q.ID)
		}
	}
}

// Ensure that every question nobody asked gives a stop that names it.
func TestEveryUnaskedQuestionStops(t *testing.T) {
	for _, q := range client.Asking.Questions {
		c, b := cleared(t), wholeBody(t)
		if q.From == "born" {
			c.Born = form.Date{}
		}
		if q.OnlyIf != "" {
			c.Flags = append(c.Flags, client.Flag{Ask: q.OnlyIf, Answer: client.Yes, On: b.Start, Cleared: &client.Word{By: "Dr", On: b.Start, Says: "yes"}})
		}
		c.Flags = append(c.Flags, client.Flag{Ask: string(q.ID), Answer: "not asked"})
		found := false
		for _, p := range applySafety(c, b, form.English) {
			found = found || p.Code == "not-asked" && p.Blocks() && slices.Contains(strings.Fields(p.Args["ids"]), string(q.ID)) && strings.Contains(p.Text, q.Short.En)
		}
		if !found {
			t.Errorf("%s not asked: no stop names it", q.ID)
		}
	}
	c := cleared(t)
	c.Flags = nil
	if got := stops(applySafety(c, wholeBody(t), form.English)); len(got) != 4 {
		t.Errorf("nothing asked: %v, want one stop for each of four groups", got)
	}
}

// Ensure the table of the ACSM 2015 screening (Riebe et al. 2015; key acsm-2015)
// row by row, with and without a practitioner's clearance.
func TestScreening(t *testing.T) {
	yes, no := client.Yes, client.No
	for _, x := range []struct {
		active, disease, symptoms client.Answer
		wanted                    client.Intensity
		code                      Code // of the stop, or empty
	}{
		{no, no, no, client.Vigorous, ""}, {no, no, no, client.Light, ""},
		{no, yes, no, client.Light, "clearance-needed"}, {no, yes, yes, client.Light, "clearance-needed"}, {no, no, yes, client.Light, "clearance-needed"},
		{yes, no, no, client.Vigorous, ""},
		{yes, yes, no, client.Moderate, ""}, {yes, yes, no, client.Vigorous, "clearance-intensity"},
		{yes, no, yes, client.Light, "clearance-needed"}, {yes, yes, yes, client.Moderate, "clearance-needed"},
	} {
		c, b := cleared(t), wholeBody(t)
		c.Clearance = client.Clearance{Active: client.Asked{Answer: x.active}, Disease: client.Asked{Answer: x.disease}, Symptoms: client.Asked{Answer: x.symptoms}, Intensity: x.wanted}
		problems := applySafety(c, b, form.English)
		if x.code == "" && len(stops(problems)) > 0 || x.code != "" && !has(problems, x.code, Stop, "") {
			t.Errorf("%+v: %v", x, stops(problems))
		}
		if x.active == no && x.code == "" && !has(problems, "clearance-start", Note, "") {
			t.Errorf("%+v: nothing says to start light to moderate", x)
		}
		c.Clearance.Cleared = &client.Word{By: "Dr", On: b.Start, Says: "cleared"}
		if s := stops(applySafety(c, b, form.English)); len(s) > 0 {
			t.Errorf("%+v cleared: %v", x, s)
		}
		c.Clearance.Cleared.Loads = client.Light
		if got := stops(applySafety(c, b, form.English)); (len(got) > 0) != (x.wanted != client.Light) {
			t.Errorf("%+v cleared for light work: %v", x, got)
		}
	}
	for i := range 4 {
		c := cleared(t)
		switch i {
		case 0:
			c.Clearance.Active = client.Asked{}
		case 1:
			c.Clearance.Disease.Answer = "not asked"
		case 2:
			c.Clearance.Symptoms = client.Asked{}
		case 3:
			c.Clearance.Intensity = ""
		}
		if !has(applySafety(c, wholeBody(t), form.English), "clearance-not-asked", Stop, "") {
			t.Errorf("question %d of the screening not asked: no stop", i)
		}
	}
}

// Ensure that every kind of restriction stops what it names and nothing else, in
// the weeks it holds, and that what keeps inside its bound may stay.
func TestRestrictions(t *testing.T) {
	kg := func(x float64) unit.Mass { return unit.MassOf(x, unit.Kg) }
	for _, x := range []struct {
		name string
		r    client.Restriction
		slot func(*plan.Block, testing.TB)
		want string // slots that stop
		week int
	}{
		{"exercise", client.Restriction{Exercise: "back-squat"}, nil, "s0", 1},
		{"action", client.Restriction{Action: "elbow-flexion"}, func(b *plan.Block, _ testing.TB) { b.Sessions[0].Slots = b.Sessions[0].Slots[:8] }, "s4 s6", 1},
		{"region", client.Restriction{Region: "foot-and-ankle"}, func(b *plan.Block, _ testing.TB) { b.Sessions[0].Slots = b.Sessions[0].Slots[1:4] }, "s2", 1},
		{"until mid-block", client.Restriction{Exercise: "back-squat", Until: day(t, "2026-12-08")}, nil, "s0", 1},
		{"from mid-block", client.Restriction{Exercise: "back-squat", On: day(t, "2026-12-09")}, nil, "s0", 3},
		{"run out", client.Restriction{Exercise: "back-squat", Until: day(t, "2026-11-29")}, nil, "", 0},
		{"other side", client.Restriction{Exercise: "back-squat", Side: anatomy.Right}, func(b *plan.Block, _ testing.TB) { b.Sessions[0].Slots[0].Side = anatomy.Left }, "", 0},
		{"same side", client.Restriction{Exercise: "back-squat", Side: anatomy.Right}, func(b *plan.Block, _ testing.TB) { b.Sessions[0].Slots[0].Side = anatomy.Right }, "s0", 1},
		{"range not said", client.Restriction{Exercise: "back-squat", Range: &client.Range{Joint: "knee", From: 0, To: 60}}, nil, "s0", 1},
		{"range inside", client.Restriction{Exercise: "back-squat", Range: &client.Range{Joint: "knee", From: 0, To: 60}}, func(b *plan.Block, _ testing.TB) {
			b.Sessions[0].Slots[0].Range = &client.Range{Joint: "knee", From: 10, To: 60}
		}, "", 0},
		{"range outside", client.Restriction{Exercise: "back-squat", Range: &client.Range{Joint: "knee", From: 0, To: 60}}, func(b *plan.Block, _ testing.TB) {
			b.Sessions[0].Slots[0].Range = &client.Range{Joint: "knee", From: 0, To: 61}
		}, "s0", 1},
		{"load unknown", client.Restriction{Exercise: "back-squat", Load: kg(60)}, nil, "s0", 1},
		{"load under", client.Restriction{Exercise: "back-squat", Load: kg(60)}, func(b *plan.Block, t testing.TB) { setDose(t, b, "3 x 8 @ 60 kg") }, "", 0},
		{"load over in one set", client.Restriction{Exercise: "back-squat", Load: kg(60)}, func(b *plan.Block, t testing.TB) { setDose(t, b, "8,8,6 @ 55,60,62.5 kg") }, "s0", 1},
		{"load over by progress", client.Restriction{Exercise: "back-squat", Load: kg(60)}, func(b *plan.Block, t testing.TB) {
			setDose(t, b, "3 x 8 @ 57.5 kg")
			if err := b.Sessions[0].Slots[0].Progress.UnmarshalText([]byte("+2.5 kg a week")); err != nil {
				t.Fatal(err)
			}
		}, "s0", 3},
		{"load by hand", client.Restriction{Exercise: "back-squat", Load: kg(30)}, func(b *plan.Block, t testing.TB) { setDose(t, b, "3 x 8 @ 16 kg/hand") }, "s0", 1},
	} {
		for _, by := range []client.RestrictionSource{client.ByPractitioner, client.ByCoach, client.ByClient} {
			c, b := cleared(t), wholeBody(t)
			r := x.r
			r.ID, r.By = "r1", by
			if r.On.IsZero() {
				r.On = day(t, "2026-11-01")
			}
			c.Restrict = []client.Restriction{r}
			if x.slot != nil {
				x.slot(b, t)
			}
			var got []string
			for _, p := range applySafety(c, b, form.English) {
				if p.Blocks() {
					got = append(got, p.At.Slot)
					if p.At.Week != x.week {
						t.Errorf("%s: week %d, want %d", x.name, p.At.Week, x.week)
					}
				}
			}
			if strings.Join(got, " ") != x.want {
				t.Errorf("%s by %s: stops %v, want %q", x.name, by, got, x.want)
			}
		}
	}
}

func setDose(t testing.TB, b *plan.Block, dose string) {
	t.Helper()
	d, err := plan.ParseDose(dose)
	if err != nil {
		t.Fatal(err)
	}
	b.Sessions[0].Slots[0].Dose = d
}

// Ensure that no sentence of the coach lifts a practitioner's restriction or an
// emergency sign, whatever its scope and code, and that it lifts the others while
// it holds.
func TestPractitionerBeatsCoach(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c, b := cleared(t), wholeBody(t)
		by := rapid.SampledFrom([]client.RestrictionSource{client.ByPractitioner, client.ByCoach, client.ByClient}).Draw(rt, "by")
		c.Restrict = []client.Restriction{{ID: "r1", By: by, On: day(t, "2026-11-01"), Exercise: "back-squat"}}
		emergency := rapid.Bool().Draw(rt, "emergency")
		if emergency {
			c.Flags = append(c.Flags, client.Flag{Ask: "chest-pain", Answer: client.Yes, On: b.Start})
		}
		until := rapid.SampledFrom([]string{"", "2026-12-31", "2026-11-29"}).Draw(rt, "until")
		for _, code := range []string{"restriction", "emergency"} {
			k := client.Kept{Code: code, Scope: rapid.SampledFrom([]client.KeptScope{client.KeptSlot, client.KeptClient, client.KeptPractice}).Draw(rt, "scope"), At: "s0", Why: "I know her.", By: "Coach", On: day(t, "2026-11-02")}
			if until != "" {
				k.Until = day(t, until)
			}
			if rapid.Bool().Draw(rt, "in block") {
				b.Kept = append(b.Kept, k)
			} else {
				c.Kept = append(c.Kept, k)
			}
		}
		want := []string{}
		if emergency {
			want = append(want, "emergency chest-pain")
		}
		if by == client.ByPractitioner || until == "2026-11-29" {
			want = append(want, "restriction r1")
		}
		if got := stops(applySafety(c, b, form.English)); strings.Join(got, ", ") != strings.Join(want, ", ") {
			rt.Fatalf("by %s, until %q, emergency %v: stops %v, want %v", by, until, emergency, got, want)
		}
	})
}

// Ensure the pain rules at their thresholds (safety list 5, our judgement): under
// 3 nothing, from 3 or worse the next morning to be settled, above 5 or with a
// feature a stop, a practitioner's window for the Achilles tendon alone.
func TestPainRules(t *testing.T) {
	at := func(x float64) *float64 { return &x }
	word := &client.Word{By: "Dr", On: day(t, "2026-11-01"), Says: "load it", Window: "0-5"}
	for _, x := range []struct {
		name string
		p    client.Pain
		want Severity
	}{
		{"2.9", client.Pain{Place: "knee", During: at(2.9)}, ""},
		{"3", client.Pain{Place: "knee", During: at(3)}, Settle},
		{"5", client.Pain{Place: "knee", During: at(5)}, Settle},
		{"5.1", client.Pain{Place: "knee", During: at(5.1)}, Stop},
		{"morning 6", client.Pain{Place: "knee", During: at(1), Morning: at(6)}, Stop},
		{"worse the next morning", client.Pain{Place: "knee", During: at(1), Morning: at(2)}, Settle},
		{"said to be worse", client.Pain{Place: "knee", During: at(1), Worse: true}, Settle},
		{"not rated", client.Pain{Place: "knee"}, Settle},
		{"sharp", client.Pain{Place: "knee", During: at(1), Features: []client.PainFeature{"sharp"}}, Stop},
		{"spreading", client.Pain{Place: "knee", During: at(0), Features: []client.PainFeature{"spreading"}}, Stop},
		{"swelling", client.Pain{Place: "knee", Features: []client.PainFeature{"swelling"}}, Stop},
		{"giving way", client.Pain{Place: "knee", Features: []client.PainFeature{"giving way"}}, Stop},
		{"settled", client.Pain{Place: "knee", During: at(8), Until: day(t, "2026-11-20")}, ""},
		{"settles later", client.Pain{Place: "knee", During: at(8), Until: day(t, "2026-12-20")}, Stop},
		{"tendon in its window", client.Pain{Place: "achilles-tendon", During: at(4), Word: word}, ""},
		{"tendon past its window", client.Pain{Place: "achilles-tendon", During: at(5.5), Word: word}, Stop},
		{"tendon worse the next morning", client.Pain{Place: "achilles-tendon", During: at(3), Morning: at(4), Word: word}, Settle},
		{"tendon without a word", client.Pain{Place: "achilles-tendon", During: at(4)}, Settle},
	} {
		c, b := cleared(t), wholeBody(t)
		x.p.On, x.p.Side = day(t, "2026-11-10"), anatomy.Left
		c.Pain = []client.Pain{x.p}
		var got Severity
		for _, p := range applySafety(c, b, form.English) {
			if strings.HasPrefix(string(p.Code), "pain-") && p.Code != "pain-word" && (got == "" || p.Severity.rank() < got.rank()) {
				got = p.Severity
			}
		}
		if got != x.want {
			t.Errorf("%s: %q, want %q", x.name, got, x.want)
		}
	}
}

// Ensure that pain at every place of the closed list stops some exercise that
// loads it, and that pain on one side spares work of the other alone.
func TestPainPlaces(t *testing.T) {
	nine := 9.0
	for _, id := range anatomy.Place("").Values() {
		c, b := cleared(t), wholeBody(t)
		p := client.Pain{Place: anatomy.Place(id), On: day(t, "2026-11-10"), During: &nine}
		if p.Place.Sided() {
			p.Side = anatomy.Left
		}
		c.Pain = []client.Pain{p}
		if !has(applySafety(c, b, form.English), "pain-stop", Stop, "") {
			t.Errorf("%s: nothing stops", id)
		}
	}
	c, b := cleared(t), wholeBody(t)
	c.Pain = []client.Pain{{Place: "knee", Side: anatomy.Left, On: day(t, "2026-11-10"), During: &nine}}
	b.Sessions[0].Slots = b.Sessions[0].Slots[7:8]
	b.Sessions[0].Slots[0].Side = anatomy.Right
	if s := stops(applySafety(c, b, form.English)); len(s) > 0 {
		t.Errorf("left knee pain stops a step-up on the right: %v", s)
	}
}

// Ensure that pain reported in a log counts, the last report of a place and side,
// unless the client file says more of it since.
func TestPainFromLog(t *testing.T) {
	six, one := 6.0, 1.0
	c, b := cleared(t), wholeBody(t)
	log := &plan.Log{Form: 1, Client: "c", Entries: []plan.Entry{
		{On: day(t, "2026-12-01"), Pain: []plan.PainLog{{Place: "knee", Side: anatomy.Left, During: &one}}},
		{On: day(t, "2026-12-03"), Pain: []plan.PainLog{{Place: "knee", Side: anatomy.Left, During: &six}}},
	}}
	in := Input{Client: c, Block: b, Library: exercise.Shipped, Log: log}
	if !has(Safety(in), "pain-stop", Stop, "knee left") {
		t.Error("6 of 10 in the log stops nothing")
	}
	c.Pain = []client.Pain{{Place: "knee", Side: anatomy.Left, On: day(t, "2026-12-05"), During: &one}}
	if s := stops(Safety(in)); len(s) > 0 {
		t.Errorf("the client file says 1 of 10 two days later: %v", s)
	}
}

// Ensure that age counts on the day: under 18, and the ages at which new severe
// back pain is a flag (under 20, over 55; Verhagen et al. 2016; key safety-3).
func TestAges(t *testing.T) {
	for _, x := range []struct {
		born, flag string
		stop       bool
	}{
		{"2008-12-01", "", true}, {"2008-11-30", "", false},
		{"2006-12-01", "back-new-severe-pain", true}, {"2006-11-30", "back-new-severe-pain", false},
		{"1970-12-01", "back-new-severe-pain", false}, {"1970-11-30", "back-new-severe-pain", true},
	} {
		c, b := cleared(t), wholeBody(t)
		c.Born = day(t, x.born)
		if x.flag != "" {
			c.Flags = append(c.Flags, client.Flag{Ask: x.flag, Answer: client.Yes, On: b.Start})
		}
		if got := len(stops(applySafety(c, b, form.English))) > 0; got != x.stop {
			t.Errorf("born %s %s: stops %v", x.born, x.flag, got)
		}
	}
}

// banned are words the program never says of training.
var banned = regexp.MustCompile(`(?i)\b(safe|safer|protects?|diagnos\w*|injury risk|ungefährlich|verletzungsrisiko|diagnose\w*)\b`)

// Ensure that every text is there in both languages, has all its arguments filled
// and none of the banned words.
func TestTexts(t *testing.T) {
	for code, m := range wording {
		if m.Text.En == "" || m.Text.De == "" || (m.Why.En == "") != (m.Why.De == "") {
			t.Errorf("%s lacks a language", code)
		}
		for _, s := range []string{m.Text.En, m.Text.De, m.Why.En, m.Why.De} {
			if w := banned.FindString(s); w != "" {
				t.Errorf("%s says %q", code, w)
			}
		}
	}
	for _, q := range client.Asking.Questions {
		for _, s := range []string{q.Text.En, q.Text.De, q.Short.En, q.Short.De} {
			if s == "" || banned.MatchString(s) {
				t.Errorf("%s: %q", q.ID, s)
			}
		}
	}
	nine := 9.0
	for _, l := range []form.Language{form.English, form.German} {
		c, b := cleared(t), wholeBody(t)
		c.Flags = []client.Flag{{Ask: "chest-pain", Answer: client.Yes, On: b.Start}, {Ask: "back-fever", Answer: client.Yes, On: b.Start}, {Ask: "pregnant", Answer: client.Yes, On: b.Start}}
		c.Clearance.Symptoms.Answer = client.Yes
		c.Pain = []client.Pain{{Place: "knee", Side: anatomy.Left, On: b.Start, During: &nine}}
		c.Restrict = []client.Restriction{{ID: "r", By: client.ByCoach, On: b.Start, Exercise: "back-squat", Range: &client.Range{Joint: "knee", From: 0, To: 60}}, {ID: "q", By: client.ByClient, On: b.Start, Region: "shoulder", Load: unit.MassOf(10, unit.Kg)}}
		for _, p := range applySafety(c, b, l) {
			if strings.ContainsAny(p.Text+p.Why, "{}") || p.Text == "" {
				t.Errorf("%s in %s: %s | %s", p.Code, l, p.Text, p.Why)
			}
		}
	}
}

// Ensure that a beginner, a client of unknown experience and one with an open
// flag are not offered sets to failure, and that heavy bars ask for a spotter.
func TestFailureAndSpotter(t *testing.T) {
	for _, x := range []struct {
		dose    string
		change  func(*client.Client)
		offered bool
	}{
		{"3 x max @ 60 kg", nil, true},
		{"3 x 8 @ 60 kg rir 0", func(c *client.Client) { c.Experience = client.Beginner }, false},
		{"3 x max @ 60 kg", func(c *client.Client) { c.Experience = "" }, false},
		{"3 x 8 rpe 10", func(c *client.Client) {
			c.Flags = append(c.Flags, client.Flag{Ask: "hernia", Answer: client.Yes, On: c.Born.Plus(9000)})
		}, false},
		{"3 x max @ 60 kg rir 2", func(c *client.Client) { c.Experience = client.Beginner }, true},
	} {
		c, b := cleared(t), wholeBody(t)
		setDose(t, b, x.dose)
		b.Sessions[0].Slots = b.Sessions[0].Slots[:1]
		if x.change != nil {
			x.change(c)
		}
		if got := !has(applySafety(c, b, form.English), "not-for-now", Settle, "failure"); got != x.offered {
			t.Errorf("%s: offered %v, want %v", x.dose, got, x.offered)
		}
	}
	c, b := cleared(t), wholeBody(t)
	setDose(t, b, "3 x 3 @ 87.5%")
	if !has(applySafety(c, b, form.English), "spotter", Note, "") {
		t.Error("a squat at 87.5 % asks for no spotter")
	}
}

// Ensure that answers older than a year ask to be renewed.
func TestOldAnswers(t *testing.T) {
	c, b := cleared(t), wholeBody(t)
	for i := range c.Flags {
		c.Flags[i].On = day(t, "2025-11-30")
	}
	if has(applySafety(c, b, form.English), "ask-again", Settle, "") {
		t.Error("a year to the day is not more than a year")
	}
	b.Start = day(t, "2026-12-07")
	if !has(applySafety(c, b, form.English), "ask-again", Settle, "emergency-signs") {
		t.Error("answers of more than a year ago still hold")
	}
}
