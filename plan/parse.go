package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"corbel/unit"
)

// Bounds of a dose, to catch slips (our judgement).
const (
	maxSets     = 30
	maxReps     = 200
	maxHold     = 3600 * 1000           // ms: one hour
	maxWay      = int64(20_000_000_000) // µm: 20 km
	maxPercent  = 120                   // % of 1RM: slow lowering only
	maxPin      = 60
	maxReserve  = 200 // tenths of a repetition
	maxRatings  = 100 // tenths
	maxWarmUps  = 12
	maxTempo    = 60   // s
	maxRest     = 3600 // s
	maxDigits   = 16   // digits of one number, with its point
	maxNameSize = 60   // bytes of a band's or an exercise's name
)

// ParseDose reads the shorthand of one dose. Exercise names in it (`of back
// squat`) are kept as typed; the block reader resolves them. The error is a
// *DoseError.
func ParseDose(text string) (Dose, error) {
	p, err := newParser(text)
	if err != nil {
		return Dose{}, err
	}
	d := Dose{Text: text}
	if p.peek().kind == tokEnd {
		return Dose{}, p.errorAt(p.peek(), "nothing is written here; write sets x repetitions, such as 3 x 8")
	}
	if err := p.parts(&d); err != nil {
		return Dose{}, err
	}
	if err := p.clauses(&d); err != nil {
		return Dose{}, err
	}
	return d, nil
}

// A parser walks the tokens of one dose or log line.
type parser struct {
	text string
	toks []token
	i    int
	log  bool // a log line, not a dose
	list bool // in a list of sets, where a later unit holds for all
}

func newParser(text string) (*parser, error) {
	toks, err := scan(text)
	if err != nil {
		return nil, err
	}
	return &parser{text: text, toks: toks}, nil
}

func (p *parser) peek() token { return p.toks[p.i] }

// ahead returns the token n steps on.
func (p *parser) ahead(n int) token { return p.toks[min(p.i+n, len(p.toks)-1)] }

func (p *parser) next() token {
	t := p.peek()
	if t.kind != tokEnd {
		p.i++
	}
	return t
}

// take steps over a sign or word if it is next.
func (p *parser) take(text string) bool {
	if t := p.peek(); t.text == text && t.kind != tokEnd {
		p.i++
		return true
	}
	return false
}

// takeWords steps over a run of words if all of them are next.
func (p *parser) takeWords(words ...string) bool {
	for n, w := range words {
		if t := p.ahead(n); t.text != w || t.kind == tokEnd {
			return false
		}
	}
	p.i += len(words)
	return true
}

// number returns the next token's value if it is a number.
func (p *parser) number() (float64, token, bool) {
	t := p.peek()
	if t.kind != tokNumber {
		return 0, t, false
	}
	x, err := strconv.ParseFloat(t.text, 64)
	if err != nil || len(t.text) > maxDigits {
		return 0, t, false
	}
	p.i++
	return x, t, true
}

// errorAt is the error for a token.
func (p *parser) errorAt(t token, format string, args ...any) error {
	return &DoseError{Text: p.text, At: t.at, Msg: fmt.Sprintf(format, args...)}
}

// unknown is the error for a token nothing can start with.
func (p *parser) unknown(t token) error {
	reads := "a dose reads sets x repetitions @ load, such as 3 x 8 @ 100 kg rir 2"
	if p.log {
		reads = "a line of the log reads load x repetitions, such as 100 kg x 5 rir 2"
	}
	switch {
	case p.log && t.text == "," && p.i > 0 && p.toks[p.i-1].kind == tokNumber && p.ahead(1).kind == tokNumber:
		return p.errorAt(t, "a comma ends a part of the line; write %s.%s for a decimal number", p.toks[p.i-1].text, p.ahead(1).text)
	case p.log && t.text == "," && p.ahead(1).text == "-":
		return p.errorAt(p.ahead(1), "less than 0 is out of range; write 0 in reserve where none was left")
	case t.kind == tokEnd:
		return p.errorAt(t, "the line ends too early; %s", reads)
	case t.kind == tokWord && !slices.Contains(keywords, t.text):
		return p.wrongWord(t, nearKeyword(t.text), "%q has no meaning here", t.text)
	}
	return p.errorAt(t, "%q is not expected here; %s", t.text, reads)
}

// wrongWord is the error for a word that is not known, with the nearest known.
func (p *parser) wrongWord(t token, near []string, format string, args ...any) error {
	return &DoseError{Text: p.text, At: t.at, Msg: fmt.Sprintf(format, args...), near: near}
}

// quantity returns a number and its unit as typed. White space a quantity does
// not know is written as a space.
func (p *parser) quantity(number, unit token) string {
	text := p.text[number.at:unit.end]
	if strings.ContainsFunc(text, func(r rune) bool { return unicode.IsSpace(r) && r != ' ' && r != '\u00a0' }) {
		return number.text + " " + unit.text
	}
	return text
}

// effortAt says whether `2 in reserve`, `1-2 in reserve` or `2 rir` starts n
// tokens on.
func (p *parser) effortAt(n int) bool {
	if p.ahead(n).kind != tokNumber {
		return false
	}
	if p.ahead(n+1).text == "-" && p.ahead(n+2).kind == tokNumber {
		n += 2
	}
	if p.ahead(n+1).text == "rir" { // but 5 rir 2 is five repetitions
		return p.ahead(n+2).kind != tokNumber && p.ahead(n+2).text != ":"
	}
	return p.ahead(n+1).text == "in" && p.ahead(n+2).text == "reserve"
}

// parts reads the sets: for both sides, or for left and right.
func (p *parser) parts(d *Dose) error {
	side := p.sideWord()
	if side == Together {
		part, err := p.part()
		d.Parts = []Part{part}
		return err
	}
	for side != Together {
		at := p.toks[p.i-1]
		if slices.ContainsFunc(d.Parts, func(q Part) bool { return q.Sides == side }) {
			return p.errorAt(at, "%s stands twice", side)
		}
		part, err := p.part()
		if err != nil {
			return err
		}
		if part.Sides == EachSide {
			return p.errorAt(at, "%s and /side cannot stand together; leave one out", side)
		}
		part.Sides = side
		d.Parts = append(d.Parts, part)
		mark := p.i
		if !p.take(",") {
			p.take(";")
		}
		if side = p.sideWord(); side == Together {
			p.i = mark
		}
	}
	return nil
}

// sideWord steps over `left` or `right`, with or without a colon.
func (p *parser) sideWord() DoseSides {
	for _, s := range []DoseSides{LeftOnly, RightOnly} {
		if p.take(string(s)) {
			p.take(":")
			return s
		}
	}
	return Together
}

// part reads `3 x 8-10/side @ 100 kg rir 2` or `3,3,2 @ 75,80,85%`.
func (p *parser) part() (Part, error) {
	works, repeat, err := p.workList()
	if err != nil {
		return Part{}, err
	}
	var part Part
	if p.sideSuffix() || p.take("each") {
		part.Sides = EachSide
	}
	at := p.peek()
	loads, err := p.loadList(repeat)
	if err != nil {
		return Part{}, err
	}
	if p.sideSuffix() {
		part.Sides = EachSide
	}
	if t := p.peek(); t.text == "each" {
		return Part{}, p.errorAt(t, "each what? write /side for sets on each side, /hand for a load in each hand")
	}
	effortAt := p.afterComma()
	efforts, err := p.effortList(repeat)
	if err != nil {
		return Part{}, err
	}
	if t := p.peek(); t.text == "@" && (len(loads) > 0 || len(efforts) > 0) {
		return Part{}, p.errorAt(t, "the load stands once, before the effort; write such as 3 x 8 @ 100 kg rir 2")
	}
	if len(loads) > 1 && len(loads) != len(works) {
		return Part{}, p.errorAt(at, "%d loads stand for %d sets; a comma separates sets, decimals take a point (72.5)", len(loads), len(works))
	}
	if len(efforts) > 1 && len(efforts) != len(works) {
		return Part{}, p.errorAt(effortAt, "%d efforts stand for %d sets; write one for all or one for each set", len(efforts), len(works))
	}
	for i, w := range works {
		s := Set{Work: w}
		if len(loads) > 0 {
			s.Load = loads[min(i, len(loads)-1)]
		}
		if len(efforts) > 0 {
			s.Effort = efforts[min(i, len(efforts)-1)]
		}
		part.Sets = append(part.Sets, s)
	}
	return part, nil
}

// afterComma returns the token behind an optional comma.
func (p *parser) afterComma() token {
	if p.peek().text == "," {
		return p.ahead(1)
	}
	return p.peek()
}

// workList reads `3 x 8`, `3 x max`, `2 x 30 s` or `3,3,2,2`. sets is the number
// of sets.
func (p *parser) workList() (works []Work, sets int, err error) {
	first := p.peek()
	if x, t, ok := p.number(); ok && p.peek().kind == tokTimes {
		if p.next(); p.ahead(1).kind == tokWord && massUnit(p.ahead(1).text) {
			return nil, 0, p.errorAt(p.peek(), "a load stands where repetitions belong; write it after @, such as 3 x 8 @ %s %s", p.peek().text, p.ahead(1).text)
		}
		if x != math.Trunc(x) || x < 1 || x > maxSets {
			return nil, 0, p.errorAt(t, "%s sets: write a whole number from 1 to %d", t.text, maxSets)
		}
		w, err := p.work()
		if err != nil {
			return nil, 0, err
		}
		for range int(x) {
			works = append(works, w)
		}
		if p.peek().text == "," && p.ahead(1).kind == tokNumber && !p.effortAt(1) {
			if p.ahead(2).kind == tokTimes {
				return nil, 0, p.errorAt(p.ahead(1), "a dose is one run of sets; where sets differ, list them one by one, such as 8,8,6")
			}
			return nil, 0, p.errorAt(p.ahead(1), "sets that differ are listed one by one, such as 8,8,6 for three sets; decimals take a point")
		}
		return works, len(works), nil
	} else if ok && strings.HasPrefix(p.peek().text, "set") {
		return nil, 0, p.errorAt(p.peek(), "sets are written with an x; write such as 3 x 8")
	}
	p.i = slices.IndexFunc(p.toks, func(t token) bool { return t.at == first.at })
	p.list = true
	defer func() { p.list = false }()
	for {
		w, err := p.work()
		if err != nil {
			return nil, 0, err
		}
		works = append(works, w)
		if more := p.ahead(1); p.peek().text != "," || more.kind != tokNumber && more.text != "max" || p.effortAt(1) {
			break
		}
		p.next()
	}
	if len(works) == 1 {
		return nil, 0, p.errorAt(first, "the number of sets is missing; write sets x repetitions, such as 3 x 8")
	}
	if len(works) > maxSets {
		return nil, 0, p.errorAt(first, "%d sets: write at most %d", len(works), maxSets)
	}
	return works, len(works), p.sameKind(works, first)
}

// sameKind refuses a list that mixes kinds of work and gives all its distances
// the unit of the last.
func (p *parser) sameKind(works []Work, at token) error {
	last := works[len(works)-1]
	for i := range works {
		if works[i].Kind != last.Kind {
			return p.errorAt(at, "repetitions, times and distances cannot be mixed in one list")
		}
		works[i].Unit = last.Unit
	}
	return nil
}

// listUnit returns the unit of time or distance that follows later in a list
// of work, such as the s of 30,45,60 s, or nothing.
func (p *parser) listUnit() string {
	if p.peek().text != "," || !p.list {
		return ""
	}
	for n := 1; ; n++ {
		t := p.ahead(n)
		if u, ok := workUnits[t.text]; ok && t.kind == tokWord && u.kind != Repetitions {
			return t.text
		}
		if t.kind != tokNumber && t.text != "max" && t.text != "," && t.text != "-" {
			return ""
		}
	}
}

// workUnit steps over a unit of work or takes the one that follows in the list.
func (p *parser) workUnit() (workUnit, bool) {
	t := p.peek()
	if u, ok := workUnits[t.text]; ok && t.kind == tokWord {
		p.next()
		return u, true
	}
	u, ok := workUnits[p.listUnit()]
	return u, ok
}

// work reads repetitions, a time or a distance: 8, 8-10, max, 30 s, 1:30, 40 m.
func (p *parser) work() (Work, error) {
	start := p.peek()
	if p.take("max") || p.take("amrap") {
		u, _ := p.workUnit()
		return Work{Kind: u.kind, Unit: u.unit, Max: true}, nil
	}
	low, t, ok := p.number()
	if !ok {
		if start.kind == tokEnd || start.kind == tokSign {
			such := "3 x 8"
			if p.log {
				such = "100 kg x 5"
			}
			return Work{}, p.errorAt(start, "the number of repetitions is missing; write it after the x, such as %s", such)
		}
		return Work{}, p.unknown(start)
	}
	if p.peek().text == ":" && p.ahead(1).kind == tokNumber {
		return p.clockWork(t)
	}
	high := low
	if p.peek().text == "-" && p.ahead(1).kind == tokNumber && !massUnit(p.ahead(2).text) {
		p.next()
		high, t, _ = p.number()
	}
	w, err := p.withUnit(low, high, t)
	if err != nil {
		return Work{}, err
	}
	return w, p.bound(w, start)
}

// clockWork reads the rest of 1:30 after its minutes.
func (p *parser) clockWork(minutes token) (Work, error) {
	p.next()
	seconds := p.next()
	d, err := unit.ParseDuration(minutes.text + ":" + seconds.text)
	if err != nil {
		return Work{}, p.errorAt(minutes, "%s", err.Error())
	}
	p.take("min")
	ms := int64(math.Round(float64(d.Second()) * 1000))
	w := Work{Kind: Time, Low: ms, High: ms}
	return w, p.bound(w, minutes)
}

func massUnit(w string) bool {
	return slices.Contains([]string{"kg", "lb", "lbs", "kgs", "kilo", "kilos", "pound", "pounds", "g"}, w)
}

// A workUnit is a unit of work: its kind, the grains of one, and how a distance
// is printed.
type workUnit struct {
	kind   WorkKind
	grains float64
	unit   string
}

// workUnits are the units of work by their spellings.
var workUnits = map[string]workUnit{
	"s": {Time, 1000, ""}, "sec": {Time, 1000, ""}, "secs": {Time, 1000, ""}, "seconds": {Time, 1000, ""}, "second": {Time, 1000, ""},
	"min": {Time, 60_000, ""}, "mins": {Time, 60_000, ""}, "minutes": {Time, 60_000, ""}, "minute": {Time, 60_000, ""},
	"m": {Distance, 1e6, "m"}, "metres": {Distance, 1e6, "m"}, "meters": {Distance, 1e6, "m"}, "metre": {Distance, 1e6, "m"}, "meter": {Distance, 1e6, "m"},
	"km": {Distance, 1e9, "km"}, "ft": {Distance, 304_800, "ft"}, "feet": {Distance, 304_800, "ft"},
	"yd": {Distance, 914_400, "yd"}, "yards": {Distance, 914_400, "yd"}, "yard": {Distance, 914_400, "yd"},
	"rep": {Repetitions, 1, ""}, "reps": {Repetitions, 1, ""}, "repetition": {Repetitions, 1, ""}, "repetitions": {Repetitions, 1, ""},
}

// withUnit gives numbers the unit that follows them; none means repetitions.
func (p *parser) withUnit(low, high float64, last token) (Work, error) {
	u, ok := p.workUnit()
	t := p.peek()
	switch {
	case ok:
		return Work{Kind: u.kind, Low: grains(low * u.grains), High: grains(high * u.grains), Unit: u.unit}, nil
	case massUnit(t.text):
		return Work{}, p.errorAt(t, "a load stands where repetitions belong; write it after @, such as 3 x 8 @ 100 kg")
	case low != math.Trunc(low) || high != math.Trunc(high):
		return Work{}, p.errorAt(last, "%s repetitions: write a whole number; sets are separated by commas", last.text)
	}
	return Work{Low: grains(low), High: grains(high)}, nil
}

// grains rounds to whole grains; what is past every bound stays a number.
func grains(x float64) int64 { return int64(math.Round(min(x, 1e15))) }

// bound refuses work outside sane bounds.
func (p *parser) bound(w Work, t token) error {
	most, what := int64(maxReps), "1 to 200 repetitions"
	switch w.Kind {
	case Time:
		most, what = maxHold, "up to 60 min"
	case Distance:
		most, what = maxWay, "up to 20 km"
	}
	if w.Low < 1 || w.High > most {
		return p.errorAt(t, "%s is out of range; write %s", strings.TrimSpace(p.text[t.at:p.toks[p.i-1].end]), what)
	}
	if w.Low > w.High {
		return p.errorAt(t, "the range runs backwards; write the smaller number first")
	}
	return nil
}

// sideSuffix steps over /side, per side, each side, a side.
func (p *parser) sideSuffix() bool {
	for _, words := range [][]string{{"/", "side"}, {"/", "leg"}, {"/", "arm"}, {"per", "side"}, {"each", "side"}, {"a", "side"}, {"per", "leg"}, {"each", "leg"}, {"per", "arm"}, {"each", "arm"}} {
		if p.takeWords(words...) {
			return true
		}
	}
	return false
}
