package sheet

import (
	"fmt"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
	"corbel/sketch"
	"corbel/unit"
)

// A Content is what a sheet says, before any layout: paper, screen and exports
// are made from it, so they cannot disagree. Private notes are not read.
type Content struct {
	Language form.Language
	Title    string // name of the block
	Client   string
	ClientID form.ID
	For      string // what the block is for
	From, To form.Date
	Weeks    []int // weeks shown
	Revision int
	Code     string // short code of the frozen revision; draft before hand-over
	Note     string
	Sessions []Session
	Flow     []FlowLink
	HowTo    []string // how to warm up and choose loads
	// WriteDown says what goes into the boxes of the paper.
	WriteDown string
	Cautions  []string
	figures   *figures
}

// A Session is a session of the week with all weeks side by side.
type Session struct {
	ID       string
	Name     string
	Day      client.Weekday
	Dates    []form.Date // one a shown week; the zero date where it is skipped
	Place    string
	Minutes  session.Minutes // of the longest week shown
	Note     string
	Rows     []Row
	Changes  []string  // what was changed in mid-block, with the reason
	Cautions []Caution // of its exercises, each once
}

// A Caution is what an exercise asks to take care of.
type Caution struct {
	Labels []string // of the exercises it belongs to
	Text   string
}

// A Row is an exercise of a session.
type Row struct {
	Slot     string
	Exercise string // id
	Label    string // 1, 2, or A1, A2 in a superset
	Name     string
	Mates    string // letter of its superset, or empty
	Side     string // left or right where one side works alone, in words
	OneSide  string // the same as in the block, for exports
	Weeks    []Cell
	Rest     string
	Tempo    string
	WarmUp   []string
	Cues     []string // each with what it is: look, feel, avoid
	Order    string   // weaker side first, where the dose says so
	Reasons  []string // in the client's words
	Range    string
	Note     string
	Measure  []Box
	Link     string
	Sides    bool // sets are written down for left and right
}

// A Cell is an exercise in one week.
type Cell struct {
	Skipped bool
	Name    string   // the exercise of this week, where it is swapped
	Lines   []string // sets and repetitions, load, effort; short
	Sets    int      // boxes to write in, per side
	Fields  string   // what goes into a box: load × reps, reserve
	Doses   []Dose   // for exports: one a part
}

// A Dose is one part of a cell as a program reads it.
type Dose struct {
	Side    string // both, each, left, right
	Sets    int
	Work    string   // 4, 8-10, max, 30 s
	Load    string   // achievable load with its unit, or what was written
	Effort  string   // RIR 2, RPE 8
	Written string   // the shorthand
	Each    []string // every set for itself: 4 · 85 kg · 2 in reserve
}

// A Box asks the client for a number.
type Box struct {
	What  string
	Sides []string // left, right; empty for one number
	Unit  string
}

// A FlowLink joins two exercises or sessions on the first page.
type FlowLink struct {
	From, To string // slot ids
	Kind     string // word for the reason
}

// NewContent says what the sheet of a block holds, for the weeks given (all if
// none). code is the short code of a frozen revision, or empty.
func NewContent(b *plan.Block, c *client.Client, lib *exercise.Library, l form.Language, weeks []int, code string) *Content {
	if len(weeks) == 0 {
		for w := 1; w <= b.Weeks; w++ {
			weeks = append(weeks, w)
		}
	}
	m := &maker{b: b, c: c, lang: l, athlete: session.NewAthlete(c, lib, nil, b.Start), weeks: weeks}
	out := &Content{Language: l, Title: b.Name, Client: c.Name, ClientID: c.ID, For: b.For, From: b.Start, To: b.End(), Weeks: weeks,
		Revision: b.Revision, Code: code, Note: strings.TrimSpace(b.Note + "\n" + c.Note)}
	for i := range b.Sessions {
		out.Sessions = append(out.Sessions, m.session(&b.Sessions[i]))
	}
	for _, s := range b.Sessions {
		for _, slot := range s.Slots {
			out.Flow = append(out.Flow, m.flow(slot)...)
		}
	}
	out.HowTo, out.Cautions = m.howTo(), m.cautions()
	out.figures = &figures{lib: lib, who: c, day: b.Start, done: map[posedKey]*sketch.Figure{}}
	out.WriteDown = m.pick("A box for each set: write load × repetitions, and behind them how many more would have been there.",
		"Ein Kästchen je Satz: Last × Wiederholungen eintragen, und dahinter, wie viele noch gegangen wären.")
	return out
}

// maker gathers content.
type maker struct {
	b       *plan.Block
	c       *client.Client
	lang    form.Language
	athlete *session.Athlete
	weeks   []int
	visits  map[int][]*session.Visit
}

func (m *maker) pick(en, de string) string { return form.Text{En: en, De: de}.In(m.lang) }

func (m *maker) phrase() plan.Phrase {
	return plan.Phrase{Language: m.lang, Name: func(id string) string { return m.athlete.Library.ByID(id).Name.In(m.lang) }}
}

// visit returns the visit of a session in a week, or nil where it is skipped.
func (m *maker) visit(s *plan.Session, week int) *session.Visit {
	if m.visits == nil {
		m.visits = map[int][]*session.Visit{}
		for _, w := range m.weeks {
			m.visits[w] = m.athlete.Week(m.b, w, session.Options{}).Visits
		}
	}
	for _, v := range m.visits[week] {
		if v.Session.ID == s.ID {
			return v
		}
	}
	return nil
}

// session gathers one session over the weeks.
func (m *maker) session(s *plan.Session) Session {
	out := Session{ID: string(s.ID), Name: s.Name, Day: s.Day, Place: string(s.Place), Note: s.Note}
	if p := m.c.PlaceByID(s.Place); p != nil {
		out.Place = p.Name
	}
	for _, w := range m.weeks {
		v := m.visit(s, w)
		if v == nil {
			out.Dates = append(out.Dates, form.Date{})
			continue
		}
		out.Dates = append(out.Dates, m.b.Date(s, w))
		if v.Minutes.Mean > out.Minutes.Mean {
			out.Minutes = v.Minutes
		}
	}
	labels := labelsOf(s)
	for i := range s.Slots {
		out.Rows = append(out.Rows, m.row(s, i, labels[i]))
		for _, text := range m.exercise(s.Slots[i].Exercise).Cautions.In(m.lang) {
			at := slices.IndexFunc(out.Cautions, func(c Caution) bool { return c.Text == text })
			if at < 0 {
				at = len(out.Cautions)
				out.Cautions = append(out.Cautions, Caution{Text: text})
			}
			out.Cautions[at].Labels = append(out.Cautions[at].Labels, labels[i])
		}
	}
	for _, c := range m.b.Changes {
		if c.Scope == "from" || c.Session == s.ID || slices.ContainsFunc(s.Slots, func(x plan.Slot) bool { return x.ID == c.Slot }) {
			out.Changes = append(out.Changes, c.On.String()+": "+c.Why)
		}
	}
	return out
}

func (m *maker) exercise(id string) *exercise.Exercise { return m.athlete.Library.ByID(id) }

// labelsOf numbers the slots of a session: 1, 2, 3, and A1, A2 in a superset.
func labelsOf(s *plan.Session) []string {
	var out []string
	count := map[string]int{}
	n := 0
	for _, x := range s.Slots {
		if x.Superset == "" {
			n++
			out = append(out, fmt.Sprint(n))
			continue
		}
		count[x.Superset]++
		out = append(out, fmt.Sprintf("%s%d", x.Superset, count[x.Superset]))
	}
	return out
}

// row gathers one exercise over the weeks.
func (m *maker) row(s *plan.Session, i int, label string) Row {
	slot := &s.Slots[i]
	e := m.exercise(slot.Exercise)
	dose := m.b.DoseIn(slot, m.weeks[0])
	row := Row{Slot: string(slot.ID), Exercise: slot.Exercise, Label: label, Mates: slot.Superset, Name: e.Name.In(m.lang), Note: slot.Note, Link: slot.Link,
		Cues: m.cues(e), Measure: m.boxes(dose.Measure)}
	if slot.Side == anatomy.Left || slot.Side == anatomy.Right {
		row.Side, row.OneSide = slot.Side.In(m.lang), string(slot.Side)
	}
	if !dose.Rest.IsZero() {
		row.Rest = dose.Rest.Canonical()
	}
	if !dose.Tempo.IsZero() {
		row.Tempo = strings.TrimPrefix(m.phrase().Tempo(dose.Tempo), m.pick("tempo: ", "Tempo: "))
	}
	if dose.WeakFirst {
		row.Order = m.pick("weaker side first", "schwächere Seite zuerst")
	}
	if slot.Range != nil {
		row.Range = slot.Range.In(m.lang)
	}
	for _, r := range slot.Reasons {
		if r.Because != "" {
			row.Reasons = append(row.Reasons, r.Because)
		} else {
			row.Reasons = append(row.Reasons, upperFirst(m.reason(r))+".")
		}
	}
	for _, w := range m.weeks {
		row.Weeks = append(row.Weeks, m.cell(s, slot, w))
	}
	row.WarmUp = m.warmUp(s, slot)
	row.Sides = slices.ContainsFunc(dose.Parts, func(p plan.Part) bool { return p.Sides != plan.Together })
	return row
}

// cues writes the cues of an exercise, each with what it is.
func (m *maker) cues(e *exercise.Exercise) []string {
	var out []string
	c := e.Cues.In(m.lang)
	for _, x := range []struct{ word, text string }{
		{m.pick("Look", "Sehen"), c.Look}, {m.pick("Feel", "Spüren"), c.Feel}, {m.pick("Avoid", "Vermeiden"), c.Avoid},
	} {
		if x.text != "" {
			out = append(out, x.word+": "+x.text)
		}
	}
	return out
}

// reason writes a reason without a sentence of its own.
func (m *maker) reason(r plan.Reason) string {
	return Plain{Library: m.athlete.Library, Language: m.lang}.reason(m.b, r)
}

// boxes says what the client is asked to write down.
func (m *maker) boxes(list []plan.Measure) []Box {
	var out []Box
	for _, x := range list {
		b := Box{What: x.What.In(m.lang)}
		switch x.Sides {
		case anatomy.Both:
			b.Sides = []string{anatomy.Left.In(m.lang), anatomy.Right.In(m.lang)}
		case anatomy.Left, anatomy.Right:
			b.Sides = []string{x.Sides.In(m.lang)}
		}
		out = append(out, b)
	}
	return out
}

// cell gathers an exercise in one week: the dose with the loads the place has.
func (m *maker) cell(s *plan.Session, slot *plan.Slot, week int) Cell {
	v := m.visit(s, week)
	if v == nil {
		return Cell{Skipped: true}
	}
	at := slices.IndexFunc(v.Items, func(it session.Item) bool { return it.Slot.ID == slot.ID })
	if at < 0 {
		return Cell{Skipped: true}
	}
	it := v.Items[at]
	cell := Cell{Sets: it.Dose.Count()}
	if it.Slot.Exercise != slot.Exercise {
		cell.Name = it.Exercise.Name.In(m.lang)
	}
	for _, p := range it.Dose.Parts {
		d := m.dose(p, setsOf(v, at, p.Sides))
		cell.Doses = append(cell.Doses, d)
		if cell.Fields == "" {
			cell.Fields = m.fields(p.Sets[0])
		}
		cell.Lines = append(cell.Lines, m.lines(d, p, len(it.Dose.Parts) > 1)...)
	}
	return cell
}

// fields names what is written down of a set, in the words of the log.
func (m *maker) fields(s plan.Set) string {
	out := m.pick("reps", "Wdh.")
	switch s.Work.Kind {
	case plan.Time:
		out = m.pick("seconds", "Sekunden")
	case plan.Distance:
		out = m.pick("distance", "Strecke")
	}
	if k := s.Load.Kind; k != plan.BodyWeight && k != plan.Unsaid {
		out = m.pick("load × ", "Last × ") + out
	}
	if s.Work.Kind == plan.Repetitions {
		out += m.pick(", reserve", ", Reserve")
	}
	return out
}

// setsOf lists the working sets of an item on the sides of a part.
func setsOf(v *session.Visit, item int, sides plan.DoseSides) []session.SetVisit {
	var out []session.SetVisit
	for _, s := range v.Sets {
		if s.Item != item || s.Warm {
			continue
		}
		if sides == plan.RightOnly && s.Side == anatomy.Left || sides == plan.LeftOnly && s.Side == anatomy.Right ||
			sides == plan.EachSide && s.Side == anatomy.Right {
			continue
		}
		out = append(out, s)
	}
	return out
}

// dose writes one part for a program and for the lines of the cell.
func (m *maker) dose(p plan.Part, sets []session.SetVisit) Dose {
	written := plan.Dose{Parts: []plan.Part{p}}
	sides := map[plan.DoseSides]string{plan.Together: "both", plan.EachSide: "each", plan.LeftOnly: "left", plan.RightOnly: "right"}
	out := Dose{Side: sides[p.Sides], Sets: len(p.Sets), Work: workOf(p.Sets), Load: m.loadOf(p, sets), Effort: m.effortOf(p), Written: written.Canonical()}
	for i := range p.Sets {
		one := plan.Part{Sides: p.Sides, Sets: p.Sets[i : i+1]}
		texts := []string{workOf(one.Sets), m.loadOf(one, sets[min(i, len(sets)):]), m.effortOf(one)}
		out.Each = append(out.Each, strings.Join(slices.DeleteFunc(texts, func(s string) bool { return s == "" }), " · "))
	}
	return out
}

// workOf writes the work of the sets of a part: 4, or 3,3,2.
func workOf(sets []plan.Set) string {
	var out []string
	same := true
	for _, s := range sets {
		out = append(out, s.Work.String())
		same = same && s.Work == sets[0].Work
	}
	if same {
		return out[0]
	}
	return strings.Join(out, ",")
}

// loadOf writes the load of a part: the masses the place can make, or what was
// written.
func (m *maker) loadOf(p plan.Part, sets []session.SetVisit) string {
	var out []string
	for i := range p.Sets {
		text := ""
		if i < len(sets) && sets[i].Load.HasMass && sets[i].Load.Unknown != "no-load" {
			l := sets[i].Load
			text = l.Mass.Short(m.unitOf(p.Sets[i].Load))
			switch {
			case p.Sets[i].Load.Kind == plan.Added:
				text = "+" + text
			case l.PerHand:
				text += m.pick("/hand", "/Hand")
			}
		} else {
			text = m.shortLoad(p.Sets[i].Load)
		}
		out = append(out, text)
	}
	if !slices.ContainsFunc(out, func(s string) bool { return s != out[0] }) {
		out = out[:1]
	}
	return m.decimals(strings.Join(out, ", "))
}

// unitOf is the unit a load is shown in: the client's, or the one typed.
func (m *maker) unitOf(l plan.Load) unit.MassUnit {
	if m.c.Units.Load != "" {
		return m.c.Units.Load
	}
	return l.Mass.Unit()
}

// shortLoad writes a load that is no mass.
func (m *maker) shortLoad(l plan.Load) string {
	switch l.Kind {
	case plan.BodyWeight:
		return m.pick("body weight", "Körpergewicht")
	case plan.Band:
		return m.pick("band ", "Band ") + l.Name
	case plan.Pin:
		return m.pick("pin ", "Stift ") + fmt.Sprint(l.Number)
	case plan.Level:
		return m.pick("level ", "Stufe ") + fmt.Sprint(l.Number)
	case plan.PercentMax:
		return unit.Figures(l.Percent.Number(), 1) + " %"
	case plan.Assisted:
		return "–" + l.Mass.Short(m.unitOf(l))
	}
	return l.String()
}

// effortOf writes the effort of a part.
func (m *maker) effortOf(p plan.Part) string {
	var out []string
	for _, s := range p.Sets {
		e := s.Effort
		switch e.Kind {
		case plan.RIR:
			out = append(out, strings.TrimPrefix(e.String(), "rir "))
		case plan.RPE:
			out = append(out, "RPE "+strings.TrimPrefix(e.String(), "rpe "))
		default:
			out = append(out, "")
		}
	}
	if !slices.ContainsFunc(out, func(s string) bool { return s != out[0] }) {
		out = out[:1]
	}
	text := strings.Join(out, ", ")
	text = m.decimals(strings.ReplaceAll(text, "-", "–"))
	if text == "" || strings.HasPrefix(text, "RPE") {
		return text
	}
	return text + m.pick(" in reserve", " in Reserve")
}

// decimals writes decimal points as the language does.
func (m *maker) decimals(s string) string { return decimalsIn(s, m.lang) }

// decimalsIn writes the decimal points of a text as a language does.
func decimalsIn(s string, l form.Language) string {
	if l != form.German {
		return s
	}
	b := []byte(s)
	for i := 1; i+1 < len(b); i++ {
		if b[i] == '.' && b[i-1] >= '0' && b[i-1] <= '9' && b[i+1] >= '0' && b[i+1] <= '9' {
			b[i] = ','
		}
	}
	return string(b)
}

// lines writes a dose as the short lines of a cell.
func (m *maker) lines(d Dose, p plan.Part, named bool) []string {
	work := strings.NewReplacer("max", m.pick("max", "max."), "-", "–").Replace(d.Work)
	head := fmt.Sprintf("%d × %s", d.Sets, work)
	if strings.Contains(d.Work, ",") {
		head = work
	}
	switch {
	case named && p.Sides == plan.LeftOnly:
		head = m.pick("left ", "links ") + head
	case named && p.Sides == plan.RightOnly:
		head = m.pick("right ", "rechts ") + head
	case p.Sides == plan.EachSide:
		head += m.pick(" each", " je\u00a0Seite")
	}
	out := []string{head}
	for _, x := range []string{d.Load, d.Effort} {
		if x != "" {
			out = append(out, x)
		}
	}
	return out
}

// warmUp writes the warm-up sets of the first week shown, with their loads.
func (m *maker) warmUp(s *plan.Session, slot *plan.Slot) []string {
	var out []string
	v := m.visit(s, m.weeks[0])
	if v == nil {
		return nil
	}
	working := 0.0
	for _, set := range v.Sets {
		if v.Items[set.Item].Slot.ID == slot.ID && !set.Warm {
			working = max(working, set.P)
		}
	}
	for _, set := range v.Sets {
		if !set.Warm || v.Items[set.Item].Slot.ID != slot.ID {
			continue
		}
		text := set.Plan.Work.String()
		switch {
		case set.Load.HasMass:
			text += " × " + set.Load.Mass.Short(m.unitOf(set.Plan.Load))
		case set.Load.Percent > 0:
			text += fmt.Sprintf(" × %s %%", unit.Figures(set.Load.Percent, 0))
		case set.Proposed && working > 0:
			text += fmt.Sprintf(m.pick(" × %s %% of the load", " × %s %% der Last"), unit.Figures(100*set.P/working, 0))
		}
		out = append(out, m.decimals(text))
	}
	return out
}

// flow lists what a slot does for others, by the reasons declared.
func (m *maker) flow(slot plan.Slot) []FlowLink {
	var out []FlowLink
	for _, r := range slot.Reasons {
		switch {
		case r.Prepare != "":
			out = append(out, FlowLink{string(slot.ID), string(r.Prepare), m.pick("prepares", "bereitet vor")})
		case r.Spare != nil:
			out = append(out, FlowLink{string(slot.ID), string(r.For), m.pick("does part of its work", "übernimmt einen Teil der Arbeit")})
		}
	}
	return out
}

// howTo says how to warm up, choose loads and write down.
func (m *maker) howTo() []string {
	out := []string{
		m.pick("Move easily for five to ten minutes before each session, then do the warm-up sets listed.",
			"Vor jeder Einheit fünf bis zehn Minuten locker bewegen, dann die Aufwärmsätze der Liste."),
		m.pick("“2 in reserve” means: stop while two clean repetitions would still have been there. “5, 3 in reserve” is one number for each set.",
			"„2 in Reserve“ heißt: aufhören, wenn noch zwei saubere Wiederholungen möglich wären. „5, 3 in Reserve“ nennt eine Zahl je Satz."),
		m.pick("If two more than written are left in two sessions in a row, take the next load; if fewer are left, take less.",
			"Bleiben in zwei Einheiten hintereinander zwei Wiederholungen mehr übrig als geschrieben, beim nächsten Mal die nächste Last nehmen; bleiben weniger übrig, die Last senken."),
	}
	for _, s := range m.b.Sessions {
		if slices.ContainsFunc(s.Slots, func(x plan.Slot) bool { return x.Superset != "" }) {
			return append(out, m.pick("A1 and A2 stand side by side: do a set of each in turn, then rest.",
				"A1 und A2 gehören zusammen: je einen Satz im Wechsel, dann die Pause."))
		}
	}
	return out
}

// cautions lists what the first page warns of: the words of the safety list, and
// of spotters where a bar needs them.
func (m *maker) cautions() []string {
	list := []string{client.Sentence("sheet-caution", m.lang)}
	for _, s := range m.b.Sessions {
		for _, slot := range s.Slots {
			if m.exercise(slot.Exercise).Spotter == "bars" {
				return append(list, client.Sentence("spotter", m.lang))
			}
		}
	}
	return list
}

// Standing returns the problems of a report that keep a sheet from being made: a
// stop that stands.
func Standing(r *check.Report) []check.Problem {
	var out []check.Problem
	for _, p := range r.Problems {
		if p.Blocks() {
			out = append(out, p)
		}
	}
	return out
}
