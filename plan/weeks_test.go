package plan_test

import (
	"testing"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// slotOf returns a slot with a dose and a rule of progress.
func slotOf(t testing.TB, dose, progress string) *plan.Slot {
	t.Helper()
	s := &plan.Slot{Dose: mustDose(t, dose)}
	if progress != "" {
		if err := s.Progress.UnmarshalText([]byte(progress)); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// Each rule moves what it is for, by hand: a percentage adds points to a
// percentage (70 + 2 * 2.5 = 75) and shares of the first load to a mass
// (100 * (1 + 2 * 0.025) = 105); the rest is addition.
func TestProgressOverWeeks(t *testing.T) {
	for _, c := range []struct {
		dose, progress string
		week           int
		want           string
	}{
		{"3 x 5 @ 70%", "+2.5 % a week", 1, "3 x 5 @ 70%"},
		{"3 x 5 @ 70%", "+2.5 % a week", 2, "3 x 5 @ 72.5%"},
		{"3 x 5 @ 70%", "+2.5 % a week", 5, "3 x 5 @ 80%"},
		{"3 x 5 @ 70%", "-5 % a week", 3, "3 x 5 @ 60%"},
		{"3 x 3 @ 115%", "+5 % a week", 4, "3 x 3 @ 120%"},
		{"3 x 5 @ 70% of squat", "+1 % a week", 2, "3 x 5 @ 71% of squat"},
		{"3,3,2 @ 75,80,85%", "+2 % a week", 2, "3,3,2 @ 77,82,87%"},
		{"3 x 5 @ 100 kg", "+2.5 % a week", 2, "3 x 5 @ 102.5 kg"},
		{"3 x 5 @ 100 kg", "+2.5 % a week", 3, "3 x 5 @ 105 kg"},
		{"3 x 5 @ 100 kg", "+2.5 kg a week", 4, "3 x 5 @ 107.5 kg"},
		{"3 x 5 @ 100 kg", "-40 kg a week", 4, "3 x 5 @ 0 kg"},
		{"3 x 5 @ 225 lb", "+5 lb a week", 3, "3 x 5 @ 235 lb"},
		{"3 x 5 @ 200 lb", "+2.5 % a week", 3, "3 x 5 @ 210 lb"},
		{"3 x 8 @ 15 kg/hand", "+1 kg a week", 2, "3 x 8 @ 16 kg/hand"},
		{"3 x 8 + 10 kg", "+2.5 kg a week", 3, "3 x 8 @ +15 kg"},
		{"3 x 8 + 10 kg", "-5 kg a week", 2, "3 x 8 @ +5 kg"},
		{"3 x 8 + 10 kg", "-5 kg a week", 3, "3 x 8 @ body weight"},
		{"3 x 8 - 15 kg", "+2.5 kg a week", 2, "3 x 8 @ -12.5 kg"},
		{"3 x 8 - 15 kg", "+2.5 kg a week", 6, "3 x 8 @ -2.5 kg"},
		{"3 x 8 - 15 kg", "+2.5 kg a week", 7, "3 x 8 @ body weight"},
		{"3 x 8 - 15 kg", "+2.5 kg a week", 8, "3 x 8 @ body weight"},
		{"3 x 8 - 15 kg", "-5 kg a week", 2, "3 x 8 @ -20 kg"},
		{"8,8 @ -10,14 kg", "+10 kg a week", 2, "2 x 8 @ -0,4 kg"},
		{"3 x 8-10", "+1 repetition a week", 3, "3 x 10-12"},
		{"3 x 8", "-3 reps a week", 4, "3 x 1"},
		{"2 x max", "+1 repetition a week", 4, "2 x max"},
		{"3 x 5", "+1 set a week", 4, "6 x 5"},
		{"3 x 5", "-1 set a week", 6, "1 x 5"},
		{"8,8,6", "+1 set a week", 2, "8,8,6,6"},
		{"2 x 30 s", "+5 s a week", 3, "2 x 40 s"},
		{"2 x 30 s", "+5 s a week", 8, "2 x 1:05"},
		{"2 x 30 s", "-20 s a week", 3, "2 x 1 s"},
		{"3 x 40 m", "+10 m a week", 3, "3 x 60 m"},
		{"3 x 0.5 km", "+100 m a week", 2, "3 x 0.6 km"},
		{"3 x 40 m", "+10 s a week", 3, "3 x 40 m"},
		{"2 x 15 @ band light", "+2.5 kg a week", 4, "2 x 15 @ band light"},
		{"2 x 15 @ pin 7", "+2.5 % a week", 4, "2 x 15 @ pin 7"},
		{"3 x 8 - 15 kg", "+10 % a week", 4, "3 x 8 @ -15 kg"},
		{"3 x 8 @ 60 kg", "+1 repetition, +2.5 kg a week", 3, "3 x 10 @ 65 kg"},
		{"left 3 x 10, right 2 x 10", "+1 repetition a week", 2, "left 3 x 11, right 2 x 11"},
		{"3 x 8 @ 60 kg rir 2 rest 3:00", "", 6, "3 x 8 @ 60 kg rir 2 rest 3:00"},
	} {
		b := &plan.Block{Weeks: 12}
		if got := b.DoseIn(slotOf(t, c.dose, c.progress), c.week).Canonical(); got != c.want {
			t.Errorf("%s, %s, week %d: got %s, want %s", c.dose, c.progress, c.week, got, c.want)
		}
	}
}

// A mass that progresses in another unit than it was typed in stays in its own:
// 225 lb and 2.5 kg are 102.058 283 25 + 2.5 = 104.558 283 25 kg.
func TestProgressKeepsTheTypedUnit(t *testing.T) {
	d := (&plan.Block{Weeks: 4}).DoseIn(slotOf(t, "3 x 5 @ 225 lb", "+2.5 kg a week"), 2)
	m := d.Parts[0].Sets[0].Load.Mass
	if kg := float64(m.Kilogram()); kg < 104.5582832 || kg > 104.5582833 || m.Unit() != unit.Lb {
		t.Errorf("got %s (%.8f kg)", m.Canonical(), kg)
	}
}

// By hand, deload in week 4 with 60 % of the sets, 90 % of the load and one
// more in reserve: 4 sets become 2.4, so 3; week 4 is based on week 3 (75 %),
// 75 * 0.9 = 67.5; week 5 goes on with 77.5.
func TestDeload(t *testing.T) {
	sixty, ninety := unit.PercentOf(60), unit.PercentOf(90)
	full := &plan.Deload{Week: 4, Sets: sixty, Load: ninety, Reserve: 1}
	for _, c := range []struct {
		dose, progress string
		weeks          map[int]string
		deload         *plan.Deload
		want           map[int]string
	}{
		{"4 x 5 @ 70% rir 2", "+2.5 % a week", nil, full, map[int]string{
			1: "4 x 5 @ 70% rir 2", 3: "4 x 5 @ 75% rir 2", 4: "3 x 5 @ 67.5% rir 3", 5: "4 x 5 @ 77.5% rir 2", 6: "4 x 5 @ 80% rir 2"}},
		{"5 x 5 @ 100 kg rpe 9", "+5 kg a week", nil, full, map[int]string{
			3: "5 x 5 @ 110 kg rpe 9", 4: "3 x 5 @ 99 kg rpe 8", 5: "5 x 5 @ 115 kg rpe 9"}},
		{"3 x 8 @ 225 lb", "", nil, full, map[int]string{4: "2 x 8 @ 202.5 lb", 5: "3 x 8 @ 225 lb"}},
		{"1 x 5 @ 80%", "", nil, full, map[int]string{4: "1 x 5 @ 72%"}},
		{"left 3 x 10 @ 20 kg, right 2 x 10 @ 20 kg", "", nil, full, map[int]string{4: "left 2 x 10 @ 18 kg, right 2 x 10 @ 18 kg"}},
		{"3 x 8 - 15 kg rir 2", "", nil, full, map[int]string{4: "2 x 8 @ -15 kg rir 3"}},
		// a written deload week stands for itself and is no step
		{"4 x 5 @ 70%", "+2.5 % a week", map[int]string{4: "2 x 5 @ 50%"}, full, map[int]string{
			3: "4 x 5 @ 75%", 4: "2 x 5 @ 50%", 5: "4 x 5 @ 77.5%", 6: "4 x 5 @ 80%"}},
		// a written week before it is where the rule goes on from
		{"4 x 5 @ 70%", "+2.5 % a week", map[int]string{3: "3 x 3 @ 85%"}, full, map[int]string{
			2: "4 x 5 @ 72.5%", 3: "3 x 3 @ 85%", 4: "2 x 3 @ 76.5%", 5: "3 x 3 @ 87.5%"}},
		// a written week after it too
		{"4 x 5 @ 70%", "+2.5 % a week", map[int]string{5: "3 x 3 @ 85%"}, full, map[int]string{5: "3 x 3 @ 85%", 6: "3 x 3 @ 87.5%"}},
		// each share alone
		{"4 x 5 @ 70% rir 2", "", nil, &plan.Deload{Week: 2, Sets: sixty}, map[int]string{2: "3 x 5 @ 70% rir 2"}},
		{"4 x 5 @ 70% rir 2", "", nil, &plan.Deload{Week: 2, Load: ninety}, map[int]string{2: "4 x 5 @ 63% rir 2"}},
		{"4 x 5 @ 70% rir 2", "", nil, &plan.Deload{Week: 2, Reserve: 2}, map[int]string{2: "4 x 5 @ 70% rir 4"}},
		{"4 x 5 @ 70%", "", nil, &plan.Deload{Week: 2, Reserve: 2}, map[int]string{2: "4 x 5 @ 70%"}},
	} {
		s := slotOf(t, c.dose, c.progress)
		for w, text := range c.weeks {
			if s.Weeks == nil {
				s.Weeks = map[int]plan.Dose{}
			}
			s.Weeks[w] = mustDose(t, text)
		}
		b := &plan.Block{Weeks: 6, Deload: c.deload}
		for w, want := range c.want {
			if got := b.DoseIn(s, w).Canonical(); got != want {
				t.Errorf("%s, %s, %v, week %d: got %s, want %s", c.dose, c.progress, c.weeks, w, got, want)
			}
		}
	}
}

// Written weeks win, the rule goes on from the last one written, and the order
// they were read in does not matter.
func TestWrittenWeeksWin(t *testing.T) {
	s := slotOf(t, "3 x 8 @ 60 kg", "+5 kg a week")
	s.Weeks = map[int]plan.Dose{3: mustDose(t, "4 x 6 @ 80 kg"), 5: mustDose(t, "5 x 3 @ 95 kg rir 1")}
	b := &plan.Block{Weeks: 6}
	for w, want := range []string{"3 x 8 @ 60 kg", "3 x 8 @ 65 kg", "4 x 6 @ 80 kg", "4 x 6 @ 85 kg", "5 x 3 @ 95 kg rir 1", "5 x 3 @ 100 kg rir 1"} {
		if got := b.DoseIn(s, w+1).Canonical(); got != want {
			t.Errorf("week %d: got %s, want %s", w+1, got, want)
		}
	}
}

// The slot's rest, tempo and measure fill what a dose leaves out, in every
// week; a dose that says its own keeps it.
func TestSlotFillsTheDose(t *testing.T) {
	s := slotOf(t, "3 x 8", "+1 repetition a week")
	s.Rest, _ = unit.ParseDuration("90 s")
	s.Tempo, s.Measure = "3-1-2", "reps both sides"
	s.Weeks = map[int]plan.Dose{3: mustDose(t, "2 x 5 rest 4:00 tempo 1-0-1 measure pain")}
	b := &plan.Block{Weeks: 4}
	for w, want := range map[int]string{
		1: "3 x 8 rest 1:30 tempo 3-1-2 lower-pause-lift measure reps both sides",
		2: "3 x 9 rest 1:30 tempo 3-1-2 lower-pause-lift measure reps both sides",
		3: "2 x 5 rest 4:00 tempo 1-0-1 lower-pause-lift measure pain",
	} {
		if got := b.DoseIn(s, w).Canonical(); got != want {
			t.Errorf("week %d: got %s, want %s", w, got, want)
		}
	}
}

// A dose keeps what was typed as long as nothing was computed.
func TestComputedDosesHaveNoText(t *testing.T) {
	b := &plan.Block{Weeks: 4}
	s := slotOf(t, "3x8@60kg", "+2.5 kg")
	if got := b.DoseIn(s, 1).String(); got != "3x8@60kg" {
		t.Errorf("week 1 became %q", got)
	}
	if got := b.DoseIn(s, 2).String(); got != "3 x 8 @ 62.5 kg" {
		t.Errorf("week 2 is %q", got)
	}
}

// Days of a block that starts on Monday, 30 November 2026, counted on a
// calendar.
func TestDates(t *testing.T) {
	start, err := form.ParseDate("2026-11-30")
	if err != nil {
		t.Fatal(err)
	}
	b := &plan.Block{Start: start, Weeks: 4}
	for _, c := range []struct {
		day  string
		week int
		want string
	}{
		{"mon", 1, "2026-11-30"}, {"sun", 1, "2026-12-06"}, {"fri", 3, "2026-12-18"}, {"thu", 5, "2026-12-31"}, {"fri", 5, "2027-01-01"},
	} {
		s := &plan.Session{Day: client.Weekday(c.day)}
		if got := b.Date(s, c.week).String(); got != c.want {
			t.Errorf("%s of week %d: got %s, want %s", c.day, c.week, got, c.want)
		}
	}
	if got := b.End().String(); got != "2026-12-27" {
		t.Errorf("the block ends on %s, want 2026-12-27", got)
	}
}

// What a slot held at each revision, from a list in no order.
func TestExerciseAt(t *testing.T) {
	s := &plan.Slot{Exercise: "front-squat", Was: []plan.Was{{Exercise: "box-squat", To: 4}, {Exercise: "goblet-squat", To: 2}}}
	for revision, want := range map[int]string{1: "goblet-squat", 2: "goblet-squat", 3: "box-squat", 4: "box-squat", 5: "front-squat", 9: "front-squat"} {
		if got := s.ExerciseAt(revision); got != want {
			t.Errorf("revision %d: got %s, want %s", revision, got, want)
		}
	}
}

// A slot is found with its session, by its id alone.
func TestSlotByID(t *testing.T) {
	b := &plan.Block{Sessions: []plan.Session{
		{ID: "a", Slots: []plan.Slot{{ID: "a1"}, {ID: "a2"}}},
		{ID: "b", Slots: []plan.Slot{{ID: "b1"}}},
	}}
	if s, slot := b.SlotByID("a2"); s != &b.Sessions[0] || slot != &b.Sessions[0].Slots[1] {
		t.Errorf("a2 is %v in %v", slot, s)
	}
	if s, slot := b.SlotByID("b"); s != nil || slot != nil {
		t.Errorf("a session was found as the slot b: %v in %v", slot, s)
	}
}

// A logged set is the same where block, session, slot, week, number and side
// are; the day, the exercise and what was typed do not make another one.
func TestKey(t *testing.T) {
	e := &plan.Entry{Block: "b", Session: "s", Week: 2}
	base := e.Key(&plan.SetLog{Slot: "x", Set: 1})
	later := &plan.Entry{Block: "b", Session: "s", Week: 2, Revision: 3}
	if later.Key(&plan.SetLog{Slot: "x", Set: 1, Exercise: "plank", Note: "again"}) != base {
		t.Error("a correction has another key")
	}
	for _, other := range []plan.LogKey{
		e.Key(&plan.SetLog{Slot: "y", Set: 1}), e.Key(&plan.SetLog{Slot: "x", Set: 2}), e.Key(&plan.SetLog{Slot: "x", Set: 1, Side: "left"}),
		(&plan.Entry{Block: "c", Session: "s", Week: 2}).Key(&plan.SetLog{Slot: "x", Set: 1}),
		(&plan.Entry{Block: "b", Session: "s", Week: 3}).Key(&plan.SetLog{Slot: "x", Set: 1}),
		(&plan.Entry{Block: "b", Session: "t", Week: 2}).Key(&plan.SetLog{Slot: "x", Set: 1}),
	} {
		if other == base {
			t.Errorf("%+v is no other set", other)
		}
	}
}
