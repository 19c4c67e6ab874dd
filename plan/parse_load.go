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
	case t.text == "rir" || t.text == "rpe" || at && t.kind == tokNumber && p.ahead(1).text == "in" && p.ahead(2).text == "reserve":
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
	case at:
		return nil, p.errorAt(t, "the load is missing after @; write such as 72%%, 100 kg, 8RM, band light, pin 7 or body weight")
	}
	return nil, nil
}

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

// name reads words up to a keyword or a sign other than a hyphen.
func (p *parser) name(what string) (string, error) {
	start := p.peek()
	var words []string
	for p.peek().kind == tokWord && !slices.Contains(keywords, p.peek().text) {
		words = append(words, p.next().text)
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
	if sets < 2 || p.peek().text != "," || p.ahead(1).kind != tokNumber || p.ahead(2).text == "in" {
		return false
	}
	p.next()
	return true
}

// numbers reads 75,80,82.5 with the tokens they came from; a unit may stand
// behind any of them.
type numbered struct {
	value float64
	tok   token
	unit  string // word or % behind the number, or empty
	end   int
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
	switch {
	case last.unit == "%":
		return p.percents(list)
	case last.unit == "rm":
		return p.repMaxes(list)
	case massUnit(last.unit):
		return p.masses(list, Mass)
	}
	return nil, p.errorAt(last.tok, "the unit of %s is missing; write %s%%, %s kg, %s lb or %sRM", last.tok.text, last.tok.text, last.tok.text, last.tok.text, last.tok.text)
}

// numbers reads a list of numbers with their units.
func (p *parser) numbers(sets int) ([]numbered, error) {
	var list []numbered
	for {
		x, t, ok := p.number()
		if !ok {
			return nil, p.errorAt(t, "a number is expected here")
		}
		n := numbered{value: x, tok: t, end: t.end}
		if u := p.peek(); u.text == "%" || u.text == "rm" || massUnit(u.text) {
			n.unit, n.end = u.text, u.end
			p.next()
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
	return p.masses(list, kind)
}

// masses turns numbers into masses; the last unit holds for numbers without
// one. /hand, per hand and each hand make the mass one in each hand.
func (p *parser) masses(list []numbered, kind LoadKind) ([]Load, error) {
	last := list[len(list)-1].unit
	if p.takeWords("/", "hand") || p.takeWords("per", "hand") || p.takeWords("each", "hand") {
		if kind != Mass && kind != MassInHand {
			return nil, p.errorAt(list[0].tok, "a mass added to or taken from the body is not counted by hand")
		}
		kind = MassInHand
	}
	var out []Load
	for _, n := range list {
		text := p.text[n.tok.at:n.end]
		switch {
		case last == "":
			return nil, p.errorAt(n.tok, "the unit of %s is missing; write %s kg or %s lb", n.tok.text, n.tok.text, n.tok.text)
		case n.unit == "":
			text = n.tok.text + " " + last
		case !massUnit(n.unit):
			return nil, p.errorAt(n.tok, "loads of different kinds cannot be mixed in one list")
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
		if n.unit != "%" && n.unit != "" {
			return nil, p.errorAt(n.tok, "loads of different kinds cannot be mixed in one list")
		}
		if n.value < 1 || n.value > maxPercent {
			return nil, p.errorAt(n.tok, "%s%% of the 1RM is out of range; write 1 to %d%%", n.tok.text, maxPercent)
		}
		out = append(out, Load{Kind: PercentMax, Percent: unit.PercentOf(n.value)})
	}
	if p.take("1rm") || p.takeWords("1", "rm") || p.takeWords("of", "1", "rm") {
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
		if n.unit != "rm" && n.unit != "" || n.value != math.Trunc(n.value) || n.value < 1 || n.value > 50 {
			return nil, p.errorAt(n.tok, "%s is not a repetition maximum; write such as 8RM, 1 to 50", p.text[n.tok.at:n.end])
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
	case t.kind == tokNumber && (p.ahead(1).text == "rir" || p.ahead(1).text == "in" && p.ahead(2).text == "reserve"):
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
