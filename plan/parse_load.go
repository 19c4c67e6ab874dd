package plan

import (
	"math"
	"slices"
	"strings"

	"corbel/unit"
)

// loadList reads what stands after @, or a load that needs no @ (+ 10 kg,
// - 15 kg, body weight). sets is how many sets may each take one; one set takes
// one load. An effort after @ is left to effortList.
func (p *parser) loadList(sets int) ([]Load, error) {
	at := p.take("@")
	t := p.peek()
	switch {
	case t.text == "rir" || t.text == "rpe" || at && p.effortAt(0):
		return nil, nil
	case t.text == "+" || t.text == "-":
		p.next()
		kind := Added
		if t.text == "-" {
			kind = Assisted
		}
		return p.massList(kind, sets)
	case t.text == "body" || t.text == "bw" || t.text == "bodyweight" || t.text == "body-weight":
		p.next()
		if t.text == "body" && !p.take("weight") {
			return nil, p.errorAt(t, "write body weight")
		}
		return p.afterBody(sets)
	case t.text == "band":
		p.next()
		return p.band()
	case t.text == "pin" || t.text == "level":
		p.next()
		return p.counted(t, sets)
	case at && t.kind == tokNumber:
		return p.numberedLoads(sets)
	case at && t.kind == tokWord && !slices.Contains(keywords, t.text):
		return nil, p.wrongWord(t, near(t.text, loadWords), "%q is not a load; write such as 72%%, 100 kg, 8RM, band light, pin 7 or body weight", t.text)
	case at:
		return nil, p.errorAt(t, "the load is missing after @; write such as 72%%, 100 kg, 8RM, band light, pin 7 or body weight")
	}
	return nil, nil
}

// loadWords may start a load or an effort behind @.
var loadWords = []string{"band", "pin", "level", "body weight", "bodyweight", "rir", "rpe"}

// afterBody reads what may follow body weight: nothing, + 10 kg or - 15 kg.
func (p *parser) afterBody(sets int) ([]Load, error) {
	switch {
	case p.take("+"):
		return p.massList(Added, sets)
	case p.take("-"):
		return p.massList(Assisted, sets)
	}
	return []Load{{Kind: BodyWeight}}, nil
}

// band reads the name of a band: the words up to the next clause.
func (p *parser) band() ([]Load, error) {
	name, err := p.name("the name of the band")
	if err != nil {
		return nil, err
	}
	return []Load{{Kind: Band, Name: name}}, nil
}

// name reads words up to a keyword or a sign other than a hyphen: back squat,
// squat to a box, back-squat-2, 45-degree back extension.
func (p *parser) name(what string) (string, error) {
	start := p.peek()
	var words []string
	for p.inName(len(words) == 0) {
		word := p.next().text
		for p.hangsOn() {
			word += p.next().text
		}
		words = append(words, word)
	}
	if len(words) == 0 {
		return "", p.errorAt(start, "%s is missing", what)
	}
	name := strings.Join(words, " ")
	if len(name) > maxNameSize {
		return "", p.errorAt(start, "%s is longer than %d characters", what, maxNameSize)
	}
	return name, nil
}

// inName says whether the next token is a word of a free name, or a number a
// name starts with.
func (p *parser) inName(first bool) bool {
	t := p.peek()
	switch {
	case t.kind == tokNumber:
		return first && p.ahead(1).text == "-" && p.ahead(1).at == t.end && p.ahead(2).at == p.ahead(1).end && p.ahead(2).kind == tokWord
	case t.text == "to":
		return p.ahead(1).text != "failure"
	case t.text == "in":
		return p.ahead(1).text != "reserve"
	}
	return t.kind == tokWord && !slices.Contains(keywords, t.text)
}

// hangsOn says whether the next token belongs to the name before it: it follows
// without white space and is a hyphen before letters or digits, or those.
func (p *parser) hangsOn() bool {
	t, before := p.peek(), p.toks[p.i-1]
	if t.at != before.end {
		return false
	}
	if t.text == "-" {
		n := p.ahead(1)
		return n.at == t.end && (n.kind == tokNumber || n.kind == tokWord)
	}
	return before.text == "-" || t.kind == tokWord && before.kind == tokNumber && !slices.Contains(keywords, t.text)
}

// counted reads pin 7 or level 3, or a list of them.
func (p *parser) counted(t token, sets int) ([]Load, error) {
	kind := Pin
	if t.text == "level" {
		kind = Level
	}
	var out []Load
	for {
		x, n, ok := p.number()
		if !ok || x != math.Trunc(x) || x < 1 || x > maxPin {
			return nil, p.errorAt(n, "a %s is a whole number from 1 to %d", t.text, maxPin)
		}
		out = append(out, Load{Kind: kind, Number: int(x)})
		if !p.listGoesOn(sets) {
			return out, nil
		}
	}
}

// listGoesOn steps over a comma that another number of the same list follows.
func (p *parser) listGoesOn(sets int) bool {
	if sets < 2 || p.peek().text != "," || p.ahead(1).kind != tokNumber || p.effortAt(1) {
		return false
	}
	p.next()
	return true
}

// A numbered is one number of a list such as 75,80,82.5 with the tokens it came
// from; a unit may stand behind any of them.
type numbered struct {
	value float64
	tok   token
	unit  token // word or % behind the number, or no token
	far   bool  // the unit stands behind a later number
}

// numberedLoads reads loads that start with a number: percent, mass, 2 x mass,
// nRM.
func (p *parser) numberedLoads(sets int) ([]Load, error) {
	if p.ahead(1).kind == tokTimes {
		return p.twoHands()
	}
	list, err := p.numbers(sets)
	if err != nil {
		return nil, err
	}
	last := list[len(list)-1]
	if err := p.commaDecimal(list); err != nil {
		return nil, err
	}
	switch {
	case last.unit.text == "%":
		return p.percents(list)
	case last.unit.text == "rm":
		return p.repMaxes(list)
	case massUnit(last.unit.text):
		return p.masses(list, Mass)
	}
	return nil, p.noUnit(last)
}

// noUnit is the error for a load without a unit or with one that is not known.
func (p *parser) noUnit(n numbered) error {
	if t := p.peek(); t.kind == tokWord && !slices.Contains(keywords, t.text) {
		return p.wrongWord(t, near(t.text, []string{"kg", "lb", "RM"}), "%q is not a unit of load; write %%, kg, lb or RM", t.text)
	}
	rating := ""
	if n.value <= maxRatings/10 {
		rating = ", or rpe " + n.tok.text + " for a rating"
	}
	return p.errorAt(n.tok, "the unit of %s is missing; write %s%%, %s kg, %s lb or %sRM%s", n.tok.text, n.tok.text, n.tok.text, n.tok.text, n.tok.text, rating)
}

// commaDecimal refuses 82,5 kg for two sets: in many countries the comma marks
// the decimals, and 82 kg then 5 kg is hardly meant.
func (p *parser) commaDecimal(list []numbered) error {
	if len(list) == 2 && looksDecimal(list[0].unit.text == "", list[1].tok.text) && list[1].unit.text != "rm" {
		a, b := list[0].tok.text, list[1].tok.text
		u := list[1].unit.text
		return p.errorAt(list[0].tok, "%s,%s can be read two ways; write %s.%s %s for one load, %s %s, %s %s for two", a, b, a, b, u, a, u, b, u)
	}
	return nil
}

// looksDecimal says whether the second of two numbers looks like decimals of a
// first that has no unit.
func looksDecimal(bare bool, second string) bool { return bare && second == "5" }

// fillUnits gives numbers without a unit the one of the number behind them.
func fillUnits(list []numbered) {
	for i := len(list) - 2; i >= 0; i-- {
		if list[i].unit.text == "" {
			list[i].unit = list[i+1].unit
			list[i].far = true
		}
	}
}

// numbers reads a list of numbers with their units.
func (p *parser) numbers(sets int) ([]numbered, error) {
	var list []numbered
	for {
		x, t, ok := p.number()
		if !ok {
			return nil, p.errorAt(t, "a number is expected here")
		}
		n := numbered{value: x, tok: t}
		if u := p.peek(); u.text == "%" || u.text == "rm" || massUnit(u.text) {
			n.unit = p.next()
		}
		list = append(list, n)
		if !p.listGoesOn(sets) {
			return list, nil
		}
	}
}

// twoHands reads 2 x 15 kg as 15 kg in each hand.
func (p *parser) twoHands() ([]Load, error) {
	n, t, _ := p.number()
	if n != 2 {
		return nil, p.errorAt(t, "a load is written once; for dumbbells write 2 x 15 kg or 15 kg/hand")
	}
	p.next()
	return p.massList(MassInHand, 1)
}

// massList reads masses after + or -, or after 2 x.
func (p *parser) massList(kind LoadKind, sets int) ([]Load, error) {
	if p.peek().kind != tokNumber {
		return nil, p.errorAt(p.peek(), "a mass is missing here; write such as 10 kg")
	}
	list, err := p.numbers(sets)
	if err != nil {
		return nil, err
	}
	if err := p.commaDecimal(list); err != nil {
		return nil, err
	}
	return p.masses(list, kind)
}

// masses turns numbers into masses; a number without a unit takes the next one. /hand, per hand and each hand make the mass one in each hand.
func (p *parser) masses(list []numbered, kind LoadKind) ([]Load, error) {
	fillUnits(list)
	if p.takeWords("/", "hand") || p.takeWords("per", "hand") || p.takeWords("each", "hand") {
		if kind != Mass && kind != MassInHand {
			return nil, p.errorAt(list[0].tok, "a mass added to or taken from the body is not counted by hand")
		}
		kind = MassInHand
	}
	var out []Load
	for _, n := range list {
		text := n.tok.text + " " + n.unit.text
		switch {
		case n.unit.text == "":
			return nil, p.errorAt(n.tok, "the unit of %s is missing; write %s kg or %s lb", n.tok.text, n.tok.text, n.tok.text)
		case !massUnit(n.unit.text):
			return nil, p.errorAt(n.tok, "loads of different kinds cannot be mixed in one list")
		case !n.far:
			text = p.quantity(n.tok, n.unit)
		}
		m, err := unit.ParseMass(text)
		if err != nil {
			return nil, p.errorAt(n.tok, "%s", err.Error())
		}
		out = append(out, Load{Kind: kind, Mass: m})
	}
	return out, nil
}

// percents turns numbers into percentages of the 1RM, of this exercise or of
// the one named after `of`.
func (p *parser) percents(list []numbered) ([]Load, error) {
	var out []Load
	for _, n := range list {
		if n.unit.text != "%" && n.unit.text != "" {
			return nil, p.errorAt(n.tok, "loads of different kinds cannot be mixed in one list")
		}
		if n.value < 1 || n.value > maxPercent {
			return nil, p.errorAt(n.tok, "%s%% of the 1RM is out of range; write 1 to %d%%", n.tok.text, maxPercent)
		}
		out = append(out, Load{Kind: PercentMax, Percent: unit.PercentOf(n.value)})
	}
	if p.takeWords("1", "rm") || p.takeWords("of", "1", "rm") {
		return out, nil
	}
	if p.take("of") {
		name, err := p.name("the exercise after of")
		if err != nil {
			return nil, err
		}
		for i := range out {
			out[i].Of = name
		}
	}
	return out, nil
}

// repMaxes turns numbers into repetition maxima.
func (p *parser) repMaxes(list []numbered) ([]Load, error) {
	var out []Load
	for _, n := range list {
		if n.unit.text != "rm" && n.unit.text != "" || n.value != math.Trunc(n.value) || n.value < 1 || n.value > 50 {
			return nil, p.errorAt(n.tok, "%s is not a repetition maximum; write such as 8RM, 1 to 50", n.tok.text+strings.ToUpper(n.unit.text))
		}
		out = append(out, Load{Kind: RepMax, Number: int(n.value)})
	}
	return out, nil
}

// effortList reads rir 2, rir 1-2, rpe 8, 2 in reserve, to failure, or a list of
// efforts for the sets.
func (p *parser) effortList(sets int) ([]Effort, error) {
	mark := p.i
	if p.peek().text == "," || p.peek().text == ";" {
		p.next()
	}
	t := p.peek()
	switch {
	case p.takeWords("to", "failure"):
		return []Effort{{Kind: RIR}}, nil
	case t.text == "rir" || t.text == "rpe":
		p.next()
		p.take(":")
		kind := RIR
		if t.text == "rpe" {
			kind = RPE
		}
		return p.efforts(kind, sets)
	case p.effortAt(0):
		out, err := p.efforts(RIR, 1)
		if err == nil && !p.take("rir") {
			p.takeWords("in", "reserve")
		}
		return out, err
	}
	p.i = mark
	return nil, nil
}

// efforts reads numbers or ranges of effort in tenths.
func (p *parser) efforts(kind EffortKind, sets int) ([]Effort, error) {
	var out []Effort
	for {
		e, err := p.effort(kind)
		if err != nil {
			return nil, err
		}
		out = append(out, e)
		if !p.listGoesOn(sets) {
			return out, nil
		}
	}
}

// effort reads one number or range.
func (p *parser) effort(kind EffortKind) (Effort, error) {
	low, t, ok := p.tenths()
	high := low
	if ok && p.peek().text == "-" && p.ahead(1).kind == tokNumber {
		p.next()
		high, t, ok = p.tenths()
	}
	switch {
	case !ok && kind == RIR:
		return Effort{}, p.errorAt(t, "repetitions in reserve are missing; write such as rir 2")
	case !ok:
		return Effort{}, p.errorAt(t, "the rating is missing; write such as rpe 8")
	case low > high:
		return Effort{}, p.errorAt(t, "the range runs backwards; write the smaller number first")
	case kind == RPE && (low < 10 || high > maxRatings):
		return Effort{}, p.errorAt(t, "a rating of %s is out of range; write 1 to 10", t.text)
	case kind == RIR && high > maxReserve:
		return Effort{}, p.errorAt(t, "%s repetitions in reserve are out of range; write 0 to 20", t.text)
	}
	return Effort{kind, low, high}, nil
}

// tenths reads a number with at most one decimal.
func (p *parser) tenths() (int, token, bool) {
	x, t, ok := p.number()
	n := int(math.Round(x * 10))
	if !ok || math.Abs(x*10-float64(n)) > 1e-6 || n > 1000 {
		return 0, t, false
	}
	return n, t, true
}
