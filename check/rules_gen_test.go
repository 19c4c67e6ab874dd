package check

import (
	"fmt"
	"slices"

	"pgregory.net/rapid"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// doses are what random slots are dosed with: every kind of load, work, effort
// and side.
var doses = []string{
	"3 x 8 rir 2", "4 x 4 @ 85% rir 1", "3 x 10/side rir 2", "3 x 8 @ 100 kg", "5 x 5 @ 8RM", "3 x max @ 60%", "3 x 8-10 rpe 8", "3,3,2,2 @ 75,80,82.5,85% rir 2",
	"4 x 4 @ 72% of back-squat", "3 x 8 @ body weight rir 3", "3 x 5 @ +10 kg rir 1", "3 x 8 @ -15 kg", "3 x 10 @ 15 kg/hand rir 2", "2 x 15 @ band light rir 3", "3 x 12 @ pin 7",
	"left 3 x 10 rir 2, right 2 x 10 rir 2, weak side first", "2 x 30 s/side", "3 x 40 m @ 2 x 24 kg", "1 x 1 @ 100%", "10 x 3 @ 90% rest 20 s", "2 x 15 @ 30% rir 8",
	"3 x 8 @ 185 lb rir 2", "6 x 6 @ 77% rir 1 rest 1:00 tempo 4-2-2", "3 x 5 rir 2 warm-up 5 @ 50%, 3 @ 70%", "2 x 8/side rir 4 measure reserve both sides", "left 5 x 12 rir 1",
	"3 x 8 @ 47 kg rir 2", "2 x 10 @ level 5 rir 2", "30 x 2 @ 50% rir 5", "3 x 20 @ 40% rir 1",
}

var progresses = []string{"", "", "+2.5 % a week", "+1 repetition a week", "+1 set a week", "+12 % a week", "+2.5 kg a week", "+15 kg a week", "+5 s a week"}

// common are exercises that meet each other's muscles often.
var common = []string{"back-squat", "bench-press", "knee-extension", "pushdown", "overhead-press", "fly", "side-lying-hip-abduction", "step-down", "preacher-curl", "barbell-curl",
	"pull-up-underhand", "crossed-leg-hip-lean", "deadlift", "hip-abduction-machine", "step-up", "lying-leg-curl", "romanian-deadlift", "ankle-rock"}

var muscles = []anatomy.MuscleSide{{Muscle: "quadriceps"}, {Muscle: "hip-abductors", Side: anatomy.Left}, {Muscle: "hip-abductors", Side: anatomy.Right}, {Muscle: "elbow-extensors"},
	{Muscle: "elbow-flexors"}, {Muscle: "gluteus-maximus"}, {Muscle: "pectorals"}, {Muscle: "hamstrings"}}

// blockStart is the Monday random blocks start on.
var blockStart = func() form.Date {
	d, err := form.ParseDate("2026-11-30")
	if err != nil {
		panic(err)
	}
	return d
}()

// gen draws what a random test needs, with short names.
type gen struct{ *rapid.T }

func (g gen) n(low, high int) int { return rapid.IntRange(low, high).Draw(g.T, "number") }
func (g gen) one(of int) bool     { return g.n(1, of) == 1 }
func (g gen) mass(kg float64) unit.Mass {
	if g.one(4) {
		return unit.MassOf(kg*2, unit.Lb)
	}
	return unit.MassOf(kg, unit.Kg)
}

// pick draws one of a list.
func pick[T any](g gen, of ...T) T { return of[g.n(0, len(of)-1)] }

// client draws a client that reads back from its form.
func (g gen) client() *client.Client {
	c := &client.Client{Form: 1, ID: "c", Name: "Client", Language: pick(g, form.English, form.German),
		Experience: pick(g, client.Beginner, client.Some, client.Trained, ""), Background: pick(g, client.Endurance, client.General, "")}
	if g.one(2) {
		c.Born = blockStart.Plus(-365 * g.n(15, 75))
	}
	if !g.one(3) {
		c.Measures = []client.Measure{{On: blockStart.Plus(-10), Mass: g.mass(float64(g.n(45, 120)))}}
	}
	c.Places = []client.Place{g.place("p"), g.place("q")}
	for i, d := range client.Weekday("").Values()[:5] {
		c.Days = append(c.Days, client.Day{Day: client.Weekday(d), Minutes: pick(g, 20, 45, 60, 120), Place: pick(g, form.ID("p"), "p", "q")})
		if i > 2 && g.one(2) {
			break
		}
	}
	for _, id := range []string{"back-squat", "bench-press", "deadlift", "overhead-press", "barbell-curl", "step-up", "hex-bar-deadlift", "pull-up-underhand"} {
		if g.one(3) {
			continue
		}
		l := client.Lift{On: blockStart.Plus(-20), Exercise: id, Load: g.mass(float64(g.n(20, 140))), Reps: g.n(1, 12)}
		if g.one(2) {
			l.RIR = new(float64(g.n(0, 4)))
		}
		if id == "step-up" && g.one(2) {
			l.Side, l.PerHand = anatomy.Right, true
		}
		c.Lifts = append(c.Lifts, l)
	}
	g.wishes(c)
	g.safety(c)
	return c
}

// place draws a place that lacks this and that.
func (g gen) place(id form.ID) client.Place {
	p := client.Place{ID: id, Name: "Place " + string(id)}
	for _, e := range client.Equipment("").Values() {
		if g.n(0, 9) > 1 {
			p.Has = append(p.Has, client.Equipment(e))
		}
	}
	if g.one(2) {
		p.Bars = []client.Bar{{Kind: "bar", Mass: g.mass(20)}, {Kind: "hex-bar", Mass: g.mass(25)}}
		p.Plates = []client.Plates{{Mass: g.mass(20), Pairs: 4}, {Mass: g.mass(5), Pairs: 2}}
		p.Dumbbells = []client.Steps{{From: unit.MassOf(5, unit.Kg), Step: unit.MassOf(5, unit.Kg), To: unit.MassOf(40, unit.Kg)}}
		p.Stacks = []client.Stack{{For: []client.Equipment{"cable"}, Start: unit.MassOf(5, unit.Kg), Step: unit.MassOf(5, unit.Kg), To: unit.MassOf(80, unit.Kg)}}
	}
	return p
}

// wishes draws aims, caps, limits and goals.
func (g gen) wishes(c *client.Client) {
	for _, m := range muscles {
		if low := g.n(-12, 12); low > 0 {
			a := client.Aim{Muscle: m, Sets: client.Band{Low: float64(low), High: float64(low + 3)}}
			if g.one(2) {
				a.Cap = new(float64(low + 1))
			}
			c.Aims = append(c.Aims, a)
		}
	}
	if g.one(2) {
		c.Aims = append(c.Aims, client.Aim{Exercise: pick(g, "back-squat", "bench-press"), Sets: client.Band{Low: 3, High: 8}})
	}
	if g.one(3) {
		c.Goals = []client.Goal{{For: "strength", Exercise: "deadlift"}}
	}
	if g.one(2) {
		c.Limits = []client.Limit{{Muscle: anatomy.MuscleSide{Muscle: "hip-abductors", Side: anatomy.Left}, Weakness: unit.PercentOf(15), By: "coach"}, {Muscle: anatomy.MuscleSide{Muscle: "quadriceps", Side: anatomy.Right}, Weakness: unit.PercentOf(10), By: "coach"}}
	}
}

// safety draws answers, restrictions and pain: most clients have little.
func (g gen) safety(c *client.Client) {
	on := blockStart.Plus(-20)
	if g.one(10) {
		on = blockStart.Plus(-400)
	}
	asked := func(usual client.Answer) client.Asked {
		if g.one(12) {
			return client.Asked{Answer: pick(g, client.Yes, client.No), On: on}
		}
		return client.Asked{Answer: usual, On: on}
	}
	if !g.one(8) {
		c.Clearance = client.Clearance{Active: asked(client.Yes), Disease: asked(client.No), Symptoms: asked(client.No), Intensity: pick(g, client.Vigorous, client.Moderate)}
		if g.one(8) {
			c.Clearance.Cleared = g.word()
		}
	}
	for _, group := range client.Asking.Groups {
		if !g.one(12) {
			c.Flags = append(c.Flags, client.Flag{Ask: string(group.ID), Answer: client.No, On: on})
		}
	}
	for range g.n(0, 3) / 2 {
		q := *client.QuestionByID(pick(g, "back-new-severe-pain", "back-four-weeks", string(pick(g, client.Asking.Questions...).ID), string(pick(g, client.Asking.Questions...).ID)))
		f := client.Flag{Ask: string(q.ID), Answer: client.Yes, On: on, Region: "knee", Side: anatomy.Left}
		if g.one(3) {
			f.Cleared = g.word()
		}
		c.Flags = append(c.Flags, f)
	}
	if g.one(4) {
		c.Restrict = append(c.Restrict, g.restriction())
	}
	if g.one(3) {
		p := client.Pain{Place: pick(g, anatomy.Place("knee"), "knee", "shoulder", "low-back", "elbow"), On: blockStart.Plus(-3), During: new(float64(g.n(0, 10)))}
		if p.Place.Sided() {
			p.Side = anatomy.Left
		}
		if g.one(3) {
			p.Word = g.word()
		}
		c.Pain = append(c.Pain, p)
	}
}

// word draws a practitioner's word, which may run out.
func (g gen) word() *client.Word {
	w := &client.Word{By: "Dr", On: blockStart.Plus(-5), Says: "may train"}
	if g.one(2) {
		w.Until = blockStart.Plus(g.n(0, 30))
	}
	return w
}

// restriction draws what somebody has ruled out.
func (g gen) restriction() client.Restriction {
	r := client.Restriction{ID: "r", By: pick(g, client.ByPractitioner, client.ByCoach, client.ByClient), On: blockStart.Plus(-5)}
	switch g.n(0, 3) {
	case 0:
		r.Exercise = pick(g, common...)
	case 1:
		r.Action, r.Range = "knee-extension", &client.Range{Joint: "knee", From: 0, To: 60}
	case 2:
		r.Action, r.Load = "knee-extension", unit.MassOf(40, unit.Kg)
	case 3:
		r.Region = pick(g, anatomy.Region("knee"), "shoulder")
	}
	return r
}

// block draws a block; every one drawn is a valid form.
func (g gen) block() *plan.Block {
	b := &plan.Block{Form: 1, ID: "b", Name: "Block", Client: "c.yaml", Start: blockStart, Weeks: pick(g, 1, 1, 1, 2, 3, 4), State: plan.Draft, Revision: g.n(1, 9)}
	if b.Weeks > 1 && g.one(3) {
		b.Deload = &plan.Deload{Week: g.n(2, b.Weeks), Sets: unit.PercentOf(60), Load: unit.PercentOf(90)}
	}
	n := 0
	for i := range pick(g, 1, 1, 1, 1, 2, 2, 3, 6) {
		s := plan.Session{ID: form.ID(fmt.Sprintf("s%d", i)), Name: fmt.Sprintf("Session %d", i), Day: client.Weekday(pick(g, client.Weekday("").Values()...)), Place: pick(g, form.ID("p"), "p", "p", "p", "p", "q", "nowhere")}
		for range pick(g, 1, 2, 2, 3, 3, 4, 5, 8, 10) {
			n++
			s.Slots = append(s.Slots, g.slot(n, b.Weeks))
		}
		g.superset(&s)
		b.Sessions = append(b.Sessions, s)
	}
	g.reasons(b)
	for range g.n(0, 5) / 4 {
		g.change(b)
	}
	return b
}

// superset ties two slots of a session or three, sometimes.
func (g gen) superset(s *plan.Session) {
	size := pick(g, 0, 0, 2, 3)
	if size == 0 || len(s.Slots) < size {
		return
	}
	from := g.n(0, len(s.Slots)-size)
	for k := range size {
		s.Slots[from+k].Superset = "A"
	}
}

// slot draws a slot.
func (g gen) slot(n, weeks int) plan.Slot {
	s := plan.Slot{ID: form.ID(fmt.Sprintf("x%d", n)), Exercise: pick(g, common...)}
	if g.one(3) {
		s.Exercise = string(pick(g, exercise.Shipped.All()...).ID)
	}
	s.Dose = g.dose()
	if rule := pick(g, progresses...); rule != "" && weeks > 1 {
		if err := s.Progress.UnmarshalText([]byte(rule)); err != nil {
			panic(err)
		}
	}
	s.KeepMoving()
	if s.Dose.Rest.IsZero() && g.one(2) {
		s.Rest = unit.DurationOf(unit.Second(pick(g, 30, 60, 90, 180, 360)))
	}
	sided := slices.ContainsFunc(s.Dose.Parts, func(p plan.Part) bool { return p.Sides != plan.Together })
	if !sided && g.one(8) {
		s.Side = pick(g, anatomy.Left, anatomy.Right)
	}
	if weeks > 1 && s.Side == anatomy.NoSide && g.one(6) {
		s.Weeks = map[int]plan.Dose{g.n(2, weeks): g.dose()}
	}
	if g.one(6) {
		s.Stage = plan.Stage(pick(g, plan.Stage("").Values()...))
	}
	return s
}

// dose draws a dose.
func (g gen) dose() plan.Dose {
	var d plan.Dose
	if err := d.UnmarshalText([]byte(pick(g, doses...))); err != nil {
		panic(err)
	}
	return d
}

// reasons gives most slots a reason, right or wrong.
func (g gen) reasons(b *plan.Block) {
	var ids []form.ID
	for _, s := range b.Sessions {
		for _, x := range s.Slots {
			ids = append(ids, x.ID)
		}
	}
	for i := range b.Sessions {
		for j := range b.Sessions[i].Slots {
			x := &b.Sessions[i].Slots[j]
			m := pick(g, muscles...)
			switch g.n(0, 8) {
			case 0:
				x.Reasons = []plan.Reason{{Test: &anatomy.MuscleSide{Muscle: "hip-abductors", Side: anatomy.Left}}}
			case 1:
				x.Reasons = []plan.Reason{{Prepare: pick(g, ids...)}}
			case 2:
				x.Reasons = []plan.Reason{{Practise: x.Exercise}}
			case 3, 4:
				x.Reasons = []plan.Reason{{Load: &m}}
			case 5:
				x.Reasons = []plan.Reason{{Spare: &m, For: pick(g, ids...)}, {Load: &m}, {Load: &m}}
			case 6:
				x.Reasons = []plan.Reason{{Restore: pick(g, anatomy.Region("hip"), "foot-and-ankle")}}
			}
		}
	}
}

// change lays a change over a block.
func (g gen) change(b *plan.Block) {
	s := &b.Sessions[g.n(0, len(b.Sessions)-1)]
	slot := s.Slots[g.n(0, len(s.Slots)-1)].ID
	c := plan.Change{ID: form.ID(fmt.Sprintf("ch%d", len(b.Changes))), On: blockStart.Plus(g.n(0, 7*b.Weeks)), By: "coach", Why: "travel"}
	switch g.n(0, 5) {
	case 0:
		c.Scope, c.Do, c.Slot, c.Exercise = "slot", "swap", slot, pick(g, common...)
	case 1:
		c.Scope, c.Do, c.Slot, c.Dose = "slot", "dose", slot, g.dose()
	case 2:
		c.Scope, c.Do, c.Session, c.Place = "session", "place", s.ID, pick(g, form.ID("q"), "away")
	case 3:
		c.Scope, c.Do, c.Session = "session", "skip", s.ID
	case 4:
		c.Scope, c.Do, c.Slot = "slot", "skip", slot
	case 5:
		c.Scope, c.Do, c.Until = "from", "pause", c.On.Plus(5)
	}
	b.Changes = append(b.Changes, c)
}
