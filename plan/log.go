package plan

import (
	"math"
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/form"
)

// A Log is what a client really did. It is the truth: maxima, fits and verdicts
// are derived from it and never written back. The file form is described in
// docs/form.md.
type Log struct {
	Form    int     `form:"form,required" doc:"version of the form, 1"`
	Client  form.ID `form:"client,required" doc:"id of the client"`
	Entries []Entry `form:"entries,required" doc:"sessions done or skipped, in any order"`
}

// An Entry is one session as it was done.
type Entry struct {
	Block    form.ID    `form:"block,required" doc:"id of the block"`
	Revision int        `form:"revision,required" doc:"revision of the block the client had"`
	Session  form.ID    `form:"session,required" doc:"id of the session"`
	Week     int        `form:"week,required" doc:"week of the block"`
	On       form.Date  `form:"on,required" doc:"day it was done"`
	Rating   *float64   `form:"rating" doc:"how hard the session was, 0 to 10"`
	Minutes  int        `form:"minutes" doc:"how long it took"`
	Sets     []SetLog   `form:"sets" doc:"what was done, a line a set"`
	Tests    []TestLog  `form:"tests" doc:"what was measured"`
	Skipped  []Skipped  `form:"skipped" doc:"what was left out, and why"`
	Pain     []PainLog  `form:"pain" doc:"where it hurt, during and the next morning"`
	Note     string     `form:"note" doc:"in the client's words"`
	Source   LineSource `form:"source" doc:"how the line came in"`
}

// LineSource says how an entry came in.
type LineSource string

// Values lists the ways.
func (LineSource) Values() []string { return []string{"sheet", "workbook", "phone", "coach"} }

// A SetLog is one set as it was done. It names its slot, so it stays right when
// the block is reordered, renamed or changed.
type SetLog struct {
	Slot     form.ID      `form:"slot,required" doc:"id of the slot"`
	Set      int          `form:"set,required" doc:"number of the set in the slot, from 1"`
	Side     anatomy.Side `form:"side" doc:"left or right, where sides were done apart"`
	Done     Done         `form:"done,required" doc:"as typed: 100 kg x 5, 2 in reserve"`
	Exercise string       `form:"exercise" doc:"where another exercise was done than the slot held"`
	Note     string       `form:"note" doc:"in the client's words"`
}

// A TestLog is what the client measured in a slot.
type TestLog struct {
	Slot    form.ID     `form:"slot,required" doc:"id of the slot"`
	Measure MeasureKind `form:"measure,required" doc:"what was measured"`
	Left    *float64    `form:"left" doc:"on the left side"`
	Right   *float64    `form:"right" doc:"on the right side"`
	Value   *float64    `form:"value" doc:"where sides are not told apart"`
	Unit    string      `form:"unit" doc:"unit, where it is not plain from the measure"`
}

// Skipped is a slot, or the whole session, that was left out.
type Skipped struct {
	Slot form.ID `form:"slot" doc:"id of the slot; the whole session if left out"`
	Why  string  `form:"why,required" doc:"the reason"`
}

// PainLog is where it hurt in a session.
type PainLog struct {
	Place    anatomy.Place        `form:"place,required" doc:"where, from the closed list"`
	Side     anatomy.Side         `form:"side" doc:"which side"`
	Slot     form.ID              `form:"slot" doc:"in which slot"`
	During   *float64             `form:"during" doc:"during the work, 0 to 10"`
	Morning  *float64             `form:"morning" doc:"the next morning, 0 to 10"`
	Worse    bool                 `form:"worse" doc:"worse the next morning"`
	Features []client.PainFeature `form:"features" doc:"what goes with it"`
}

// Done is what was typed for a set: load, work, effort. A part that was not
// typed is zero: the load as written, the repetitions as written.
type Done struct {
	Text   string
	Load   Load
	Work   Work
	Effort Effort
}

// ParseDone reads a line of the log: `100 kg x 5, 2 in reserve`, `5 @ 100 kg rir
// 2`, `band middle x 12`, `pin 7`, `12`, `30 s`, `body weight x 8`. The error is a
// *DoseError.
func ParseDone(text string) (Done, error) {
	p, err := newParser(text)
	if err != nil {
		return Done{}, err
	}
	p.log = true
	d := Done{Text: text}
	if p.peek().kind == tokEnd {
		return Done{}, p.errorAt(p.peek(), "nothing is written here; write such as 100 kg x 5, 2 in reserve")
	}
	if t := p.peek(); t.text == "rir" || t.text == "rpe" || t.text == "to" || p.effortAt(0) {
		return Done{}, p.errorAt(t, "what was done is missing before the effort; write such as 100 kg x 5 rir 2")
	}
	if p.startsWithLoad() {
		err = p.loadThenWork(&d)
	} else {
		err = p.workThenLoad(&d)
	}
	if err != nil {
		return Done{}, err
	}
	efforts, err := p.effortList(1)
	if err != nil {
		return Done{}, err
	}
	if len(efforts) > 0 {
		d.Effort = efforts[0]
	}
	for p.take(".") || p.take(";") {
	}
	if t := p.peek(); t.kind != tokEnd {
		return Done{}, p.unknown(t)
	}
	return d, nil
}

// startsWithLoad says whether a load comes first: a sign, body weight, band, pin
// or level, 2 x mass, or a number with a mass behind it.
func (p *parser) startsWithLoad() bool {
	t := p.peek()
	switch {
	case t.kind == tokWord:
		return t.text != "max"
	case t.kind == tokSign:
		return true
	case p.ahead(1).kind == tokTimes && p.ahead(2).kind == tokNumber && massUnit(p.ahead(3).text):
		return true
	}
	return massUnit(p.ahead(1).text) || p.ahead(1).text == "%"
}

func (p *parser) loadThenWork(d *Done) (err error) {
	start := p.peek()
	if d.Load, err = p.doneLoad(); err != nil {
		return err
	}
	if p.peek().kind == tokTimes {
		p.next()
		d.Work, err = p.doneWork()
		return err
	}
	if start.kind == tokNumber && d.Load.Kind == MassInHand && p.toks[1].kind == tokTimes {
		m := d.Load.Mass.Canonical()
		return p.errorAt(start, "this can be read two ways; write %s x 2 for two repetitions, or %s/hand x 10 for two dumbbells", m, m)
	}
	return nil
}

// doneLoad reads one load that may start with a number, and refuses what a plan
// may say and a log may not.
func (p *parser) doneLoad() (l Load, err error) {
	start := p.peek()
	var loads []Load
	switch {
	case p.i == 0 && start.kind == tokNumber && p.ahead(1).kind == tokTimes && start.text != "2":
		return l, p.errorAt(start, "the load stands before the repetitions; write such as 100 kg x %s", start.text)
	case start.kind == tokNumber:
		loads, err = p.numberedLoads(1)
	default:
		loads, err = p.loadList(1)
	}
	switch {
	case err != nil:
		return l, err
	case len(loads) == 0:
		return l, p.unknown(start)
	case loads[0].Kind == PercentMax || loads[0].Kind == RepMax:
		return l, p.errorAt(start, "a log holds the load that was used; write it in kg or lb")
	}
	return loads[0], nil
}

// doneWork reads work and refuses ranges and max.
func (p *parser) doneWork() (Work, error) {
	start := p.peek()
	w, err := p.work()
	switch {
	case err != nil:
		return Work{}, err
	case w.Low != w.High:
		return Work{}, p.errorAt(start, "a range stands for what was done; write the number that was done")
	case w.Max:
		return Work{}, p.errorAt(start, "max says what was asked; write the number that was done")
	}
	return w, nil
}

func (p *parser) workThenLoad(d *Done) (err error) {
	if t := p.peek(); p.ahead(1).kind == tokTimes {
		return p.errorAt(t, "the unit of the load is missing; write %s kg x 5 or %s lb x 5", t.text, t.text)
	}
	if d.Work, err = p.doneWork(); err != nil {
		return err
	}
	switch t := p.peek(); t.text {
	case "@":
		if p.next(); !p.effortAt(0) && p.peek().text != "rir" && p.peek().text != "rpe" {
			if p.peek().kind != tokNumber {
				p.i--
			}
			d.Load, err = p.doneLoad()
		}
	case "+", "-", "body", "bw", "bodyweight", "body-weight", "band", "pin", "level":
		d.Load, err = p.doneLoad()
	}
	return err
}

// Canonical writes the line in one spelling; reading it back gives the same.
func (d Done) Canonical() string {
	out := d.Load.String()
	if d.Work != (Work{}) {
		if out != "" {
			out += " x "
		}
		out += d.Work.String()
	}
	if e := d.Effort.String(); e != "" {
		out += " " + e
	}
	return out
}

// String returns what was typed, or the canonical line where nothing was.
func (d Done) String() string {
	if d.Text != "" {
		return d.Text
	}
	return d.Canonical()
}

// IsZero says whether nothing was written.
func (d Done) IsZero() bool { return d == Done{} }

// UnmarshalText reads what ParseDone reads.
func (d *Done) UnmarshalText(b []byte) (err error) { *d, err = ParseDone(string(b)); return err }

// MarshalText writes what was typed.
func (d Done) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// FormHint describes log lines for schemas and messages.
func (Done) FormHint() (what, pattern string, examples []string) {
	return "what was done", "", []string{"100 kg x 5, 2 in reserve", "band middle x 12"}
}

// A Line is a logged set with where it belongs in a block.
type Line struct {
	Entry    *Entry
	Set      *SetLog
	Session  *Session // nil where the block no longer holds the slot
	Slot     *Slot
	Exercise string // exercise that was done
}

// Match finds the slots a log's sets belong to, by id alone: reordering,
// renaming and swapping change nothing. The exercise is the one of the log line
// where it names one, else the one a change had swapped in on that day, else the
// one the slot held at the revision of the entry. Entries of other blocks are
// left out.
func (b *Block) Match(log *Log) []Line {
	var out []Line
	for i := range log.Entries {
		e := &log.Entries[i]
		if e.Block != b.ID {
			continue
		}
		for j := range e.Sets {
			l := Line{Entry: e, Set: &e.Sets[j], Exercise: e.Sets[j].Exercise}
			l.Session, l.Slot = b.SlotByID(l.Set.Slot)
			if l.Slot != nil && l.Exercise == "" {
				l.Exercise = b.exerciseOn(l.Slot, e)
			}
			out = append(out, l)
		}
	}
	return out
}

// exerciseOn returns the exercise a slot asked for in an entry: the last swap
// in force on its day, else what the slot held at its revision.
func (b *Block) exerciseOn(s *Slot, e *Entry) string {
	done := s.ExerciseAt(e.Revision)
	for _, c := range b.Changes {
		if c.Do == "swap" && c.Slot == s.ID && !e.On.Before(c.On) && (c.Until.IsZero() || !c.Until.Before(e.On)) {
			done = c.Exercise
		}
	}
	return done
}

// LogKey is what makes a logged set one and the same: a second line with the
// same key is a correction, not another set.
type LogKey struct {
	Block, Session, Slot form.ID
	Week, Set            int
	Side                 anatomy.Side
}

// SameSession says whether two entries are of the same session on the same day.
func (e *Entry) SameSession(o Entry) bool {
	return o.Block == e.Block && o.Session == e.Session && o.Week == e.Week && o.On == e.On
}

// Key returns the key of a set of an entry.
func (e *Entry) Key(s *SetLog) LogKey {
	return LogKey{e.Block, e.Session, s.Slot, e.Week, s.Set, s.Side}
}

// level refuses a level outside 0 to 10.
func level(d *form.Doc, path string, x *float64) {
	if x != nil && !(*x >= 0 && *x <= 10) {
		d.Refuse(path, "out-of-range", "a level of %g: write 0 to 10", *x)
	}
}

// finite says whether a value is a sane number.
func finite(x *float64) bool {
	return x == nil || !math.IsNaN(*x) && *x >= 0 && *x <= 1e5
}

// oneOf says how many of the values are there.
func oneOf(said ...bool) int {
	return len(slices.DeleteFunc(slices.Clone(said), func(b bool) bool { return !b }))
}
