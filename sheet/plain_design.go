package sheet

import (
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/design"
	"corbel/form"
	"corbel/plan"
)

// Design writes a proposal: the sessions with the reasons of each exercise, what
// the aims get, how much better a block can be, what is not met.
func (p Plain) Design(page design.Page, b *plan.Block) {
	for i := range b.Sessions {
		s := &b.Sessions[i]
		p.line(0, "%s", s.Name)
		for j := range s.Slots {
			x := &s.Slots[j]
			p.line(4, "  %s: %s", p.name(x.Exercise), p.phrase().Dose(x.Dose))
			for _, r := range x.Reasons {
				p.line(6, "    %s", p.reason(b, r))
			}
		}
		p.line(0, "")
	}
	p.coverage(page.Coverage)
	p.became(page.Changes, b)
	p.few(page, b)
	if len(page.Group) > 0 {
		p.group(page)
		return
	}
	p.line(0, p.pick("Value %s points; missing to aims: %s hard sets, %s lift sets a week.", "Wert %s Punkte; zu den Zielen fehlen je Woche %s harte Sätze und %s schwere Sätze."),
		p.number(page.Value, 1), p.number(page.Shortfall.HardSets, 1), p.number(page.Shortfall.LiftSets, 1))
	if page.Gap != nil {
		p.line(0, p.pick("At most %s %% better is possible.", "Höchstens %s %% besser ist möglich."), p.number(*page.Gap, 1))
	}
	for _, u := range page.Unmet {
		p.line(2, p.pick("Not met: %s as often as wished.", "Nicht erfüllt: %s so oft wie gewünscht."), p.needName(u))
	}
	p.clashes(page.Clashes)
	if len(page.Rules) > 0 {
		p.line(0, "")
		p.Prices(page.Rules)
	}
}

// few says which sessions have fewer than a third of their exercises for more than
// load, and what prevents it.
func (p Plain) few(page design.Page, b *plan.Block) {
	list, unit := page.Few, p.pick("points", "Punkte")
	if len(page.Group) > 0 {
		unit = p.pick("thousandths of the best", "Tausendstel des Besten")
	}
	for _, x := range list {
		names := make([]string, 0, len(x.Without))
		for _, e := range x.Without {
			names = append(names, p.name(e))
		}
		muscles, what := x.Aims, p.pick("what prevents it are the aims for %s", "dem stehen die Ziele entgegen für %s")
		if len(muscles) == 0 {
			muscles, what = x.Muscles, p.pick("what prevents it is the wish to train %s", "dem steht der Wunsch entgegen, zu trainieren: %s")
		}
		of := make([]string, 0, len(muscles))
		for _, m := range muscles {
			of = append(of, p.columnName(design.Coverage{Muscle: m}))
		}
		p.line(2, p.pick("%s: %d of %d exercises are there for more than load. A third would be there without %s, for %s %s; ", "%s: %d von %d Übungen dienen mehr als der Belastung. Ein Drittel wäre es ohne %s, um %s %s; ")+what+".",
			sessionName(b, x.Session), x.Other, x.All, strings.Join(names, ", "), p.number(x.Value, 1), unit, strings.Join(of, ", "))
	}
	if len(list) > 0 {
		p.line(0, "")
	}
}

// sessionName names a session by its id.
func sessionName(b *plan.Block, id string) string {
	for _, s := range b.Sessions {
		if string(s.ID) == id {
			return s.Name
		}
	}
	return id
}

// became says what became of the exercises of the block before.
func (p Plain) became(list []design.Change, b *plan.Block) {
	if len(list) == 0 {
		return
	}
	p.line(0, "%s", p.pick("Since the block before", "Seit dem Block davor"))
	for _, c := range list {
		what := ""
		switch {
		case c.From == "":
			what = p.pick("new: ", "neu: ") + p.name(c.To)
		case c.To == "":
			what = p.pick("gone: ", "entfällt: ") + p.name(c.From)
		case c.From == c.To:
			what = p.pick("stays: ", "bleibt: ") + p.name(c.To)
		default:
			what = p.name(c.From) + " → " + p.name(c.To)
		}
		p.line(4, "  %s: %s (%s)", sessionName(b, c.Session), what, changeWords[c.Why].In(p.Language))
	}
	p.line(0, "")
}

// changeWords says why an exercise stays, goes or comes.
var changeWords = map[design.Why]form.Text{
	design.StaysMain:    {En: "a main lift", De: "eine Hauptübung"},
	design.StaysLimit:   {En: "its limit is open", De: "die Schwäche ist noch offen"},
	design.StaysLocked:  {En: "held by the coach", De: "vom Coach festgehalten"},
	design.StaysAlone:   {En: "nothing else of its family is there", De: "sonst ist nichts aus ihrer Familie da"},
	design.StaysWorth:   {En: "nothing else is worth more", De: "nichts anderes ist mehr wert"},
	design.StaysMoved:   {En: "moved to this day", De: "auf diesen Tag verlegt"},
	design.GoesRotated:  {En: "takes turns within its family", De: "wechselt sich in ihrer Familie ab"},
	design.GoesNotThere: {En: "the place has not what it needs", De: "am Ort fehlt, was sie braucht"},
	design.GoesStopped:  {En: "not allowed now", De: "derzeit nicht erlaubt"},
	design.GoesUnwanted: {En: "not wanted", De: "nicht gewünscht"},
	design.GoesClosed:   {En: "its limit is closed", De: "die Schwäche ist nicht mehr offen"},
	design.GoesWorth:    {En: "the week is worth more without it", De: "ohne sie ist die Woche mehr wert"},
	design.ComesNew:     {En: "fills what is short now", De: "füllt, was jetzt fehlt"},
}

// group writes what each number of sessions of a group programme is worth.
func (p Plain) group(page design.Page) {
	for _, g := range page.Group {
		p.line(2, p.pick("Who does %d sessions has at least %s %% of the best that so many can be.", "Wer %d Einheiten macht, hat mindestens %s %% des Besten, das so viele sein können."), g.K, p.number(g.Percent, 1))
	}
}

// coverage writes what muscles and lifts get beside their aims; those nobody works
// are left out unless an aim is missed.
func (p Plain) coverage(list []design.Coverage) {
	p.line(0, "%s", padTo(p.pick("Sets a week", "Sätze je Woche"), 36)+right(p.pick("got", "Stand"), 7)+right(p.pick("aim", "Ziel"), 10))
	for _, c := range list {
		if c.Got == 0 && c.High == 0 {
			continue
		}
		aim := ""
		if c.High > 0 {
			aim = p.number(c.Low, 1) + "–" + p.number(c.High, 1)
		}
		p.line(0, "  %s", strings.TrimRight(padTo(p.columnName(c), 34)+right(p.number(c.Got, 1), 7)+right(aim, 10), "\u00a0"))
	}
	p.line(0, "")
}

// right sets text at the right of a width, filled with no-break spaces.
func right(text string, width int) string {
	return strings.Repeat("\u00a0", max(width-len([]rune(text)), 0)) + text
}

// padTo fills text with no-break spaces, which are written as spaces, up to a
// width.
func padTo(text string, width int) string {
	return strings.ReplaceAll(text, " ", "\u00a0") + strings.Repeat("\u00a0", max(width-len([]rune(text)), 0))
}

// columnName names what is counted: a lift, or a muscle with its side.
func (p Plain) columnName(c design.Coverage) string {
	if lift, ok := strings.CutPrefix(c.Muscle, "lift:"); ok {
		return p.name(lift)
	}
	m := anatomy.MuscleSide{Muscle: anatomy.Muscle(c.Muscle), Side: anatomy.Side(c.Side)}
	if c.Side == "" { // the side may stand before the muscle
		if err := m.UnmarshalText([]byte(c.Muscle)); err != nil {
			return c.Muscle
		}
	}
	return m.In(p.Language)
}

// Prices writes what lifting rules would bring.
func (p Plain) Prices(list []design.Price) {
	p.line(0, "%s", p.pick("What a rule costs, at least:", "Was eine Regel mindestens kostet:"))
	for _, x := range list {
		p.line(4, p.pick("  %s: %s points", "  %s: %s Punkte"), p.ruleName(x.Rule), p.number(x.Gain, 1))
	}
}

// ruleName says a rule in words.
func (p Plain) ruleName(rule string) string {
	kind, of, _ := strings.Cut(rule, " ")
	switch kind {
	case "minutes":
		return p.pick("the minutes (with 5 more on every day)", "die Minuten (mit 5 mehr an jedem Tag)")
	case "exercises":
		return p.pick("the number of exercises (with one more a session)", "die Zahl der Übungen (mit einer mehr je Einheit)")
	case "cap":
		var m anatomy.MuscleSide
		if m.UnmarshalText([]byte(of)) == nil {
			of = m.In(p.Language)
		}
		return p.pick("the cap on ", "die Obergrenze für ") + of
	case "lock":
		return p.pick("the lock on ", "das Festhalten an: ") + p.name(of)
	case "rest":
		return p.pick("rest between neighbouring days", "die Erholung zwischen benachbarten Tagen")
	case "pattern":
		return p.pick("two exercises of a pattern a session (with one more)", "zwei Übungen eines Musters je Einheit (mit einer mehr)")
	case "stage":
		return p.pick("the number of drills, main lifts and others a session (with one more of each)", "die Zahl der Vorübungen, Hauptübungen und anderen je Einheit (mit einer mehr von jeder)")
	case "not-there":
		return p.pick("no day has an exercise for it that may stand there: equipment, the safety list and exercises not wanted", "kein Tag hat dafür eine Übung, die dort stehen darf: Ausstattung, Sicherheit und nicht gewünschte Übungen")
	case "days":
		return p.pick("there are fewer days than times", "es sind weniger Tage als Male")
	}
	return p.pick("the wish for ", "der Wunsch nach ") + p.needName(of)
}

// clashes says which wishes cannot all hold.
func (p Plain) clashes(list []design.Clash) {
	for _, c := range list {
		need := p.pick("The locks", "Was festgehalten ist")
		if c.Need != "locks" {
			need = p.needName(c.Need)
		}
		with := make([]string, 0, len(c.With))
		for _, r := range c.With {
			name, _, _ := strings.Cut(p.ruleName(r), " (")
			with = append(with, name)
		}
		p.line(2, "%s: %s", need, p.pick("these do not go together with it: ", "damit verträgt sich nicht: ")+strings.Join(with, "; ")+".")
	}
}

// needName says what is wanted some times a week: a lift, a drill that shows a limit,
// or single-limb work for it.
func (p Plain) needName(need string) string {
	kind, of, _ := strings.Cut(need, " ")
	var m anatomy.MuscleSide
	if m.UnmarshalText([]byte(of)) == nil {
		of = m.In(p.Language)
	}
	switch kind {
	case "test":
		return p.pick("a drill that shows ", "eine Vorübung, die zeigt: ") + of
	case "single":
		return p.pick("single-limb work for ", "einseitige Arbeit für ") + of
	}
	return p.name(need)
}

// Why writes why exercises are in a block: their reasons, what leaving them out
// would cost, what could stand there instead.
func (p Plain) Why(list []design.Explanation, b *plan.Block) {
	for _, e := range list {
		_, s := b.SlotByID(form.ID(e.Slot))
		p.line(0, "%s (%s)", p.name(e.Exercise), e.Slot)
		if s != nil {
			for _, r := range s.Reasons {
				p.line(4, "  %s", p.reason(b, r))
			}
		}
		p.line(4, p.pick("  without it: %s points fewer, %s min saved", "  ohne sie: %s Punkte weniger, %s min gespart"), p.number(e.Drop.Value, 1), p.number(e.Drop.Minutes, 1))
		for _, r := range e.Replacements {
			p.line(6, p.pick("  instead: %s, %s points", "  stattdessen: %s, %s Punkte"), p.name(r.Exercise), p.signed(r.Value))
		}
	}
}

// Swaps writes what cannot be done of a block, and what stands there instead.
func (p Plain) Swaps(list []design.Swap, b *plan.Block) {
	if len(list) == 0 {
		p.line(0, "%s", p.pick("All of it can be done as it stands.", "Alles kann so gemacht werden."))
	}
	for _, s := range list {
		to := p.pick("nothing stands for it; leave it out", "nichts kann dafür stehen; weglassen")
		if s.To != "" {
			to = p.name(s.To)
		}
		ses, _ := b.SlotByID(form.ID(s.Slot))
		where := s.Slot
		if ses != nil {
			where = ses.Name + ", " + s.Slot
		}
		p.line(2, "%s: %s → %s", where, p.name(s.From), to)
		why := s.Why
		if s.NotThere {
			why = p.pick("The place has not what it needs.", "Am Ort fehlt, was sie braucht.")
		}
		p.line(4, "    %s", why)
	}
}

// signed writes a number with its sign.
func (p Plain) signed(x float64) string {
	if x > 0 {
		return "+" + p.number(x, 1)
	}
	if x < 0 {
		return "−" + p.number(-x, 1)
	}
	return "0"
}

// A Compared is what two blocks ask for, side by side, docs/json/compare.md.
type Compared struct {
	Form    int           `json:"form"`
	A       string        `json:"a"` // ids
	B       string        `json:"b"`
	OnlyA   []string      `json:"only_a"` // exercises by id
	OnlyB   []string      `json:"only_b"`
	Both    []string      `json:"both"`
	Muscles []ComparedRow `json:"muscles"`
}

// A ComparedRow is what a muscle gets in the first week of each block.
type ComparedRow struct {
	Muscle string  `json:"muscle"`
	Side   string  `json:"side"`
	A      float64 `json:"a"`
	B      float64 `json:"b"`
}

// Compared writes two blocks side by side.
func (p Plain) Compared(c Compared) {
	names := func(ids []string) string {
		var out []string
		for _, id := range ids {
			out = append(out, p.name(id))
		}
		slices.Sort(out)
		return strings.Join(out, ", ")
	}
	p.field(p.pick("In both", "In beiden"), names(c.Both))
	p.field(p.pick("In the first", "Nur im ersten"), names(c.OnlyA))
	p.field(p.pick("In the second", "Nur im zweiten"), names(c.OnlyB))
	p.line(0, "")
	p.line(0, "%s", padTo(p.pick("Hard sets in week 1", "Harte Sätze in Woche 1"), 36)+right(p.pick("first", "erster"), 10)+right(p.pick("second", "zweiter"), 10))
	for _, r := range c.Muscles {
		m := anatomy.MuscleSide{Muscle: anatomy.Muscle(r.Muscle), Side: anatomy.Side(r.Side)}
		p.line(0, "  %s", padTo(m.In(p.Language), 34)+right(p.number(r.A, 1), 10)+right(p.number(r.B, 1), 10))
	}
}
