package plan

import (
	"math"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/unit"
)

// clauses reads what follows the sets, each clause at most once.
func (p *parser) clauses(d *Dose) error {
	seen := map[string]bool{}
	for {
		for p.take(",") || p.take(";") || p.take(".") {
		}
		t := p.peek()
		if t.kind == tokEnd {
			return nil
		}
		name := strings.TrimSuffix(strings.TrimSuffix(t.text, "-up"), "up")
		if seen[name] {
			return p.errorAt(t, "%q stands twice", t.text)
		}
		seen[name] = true
		if err := p.clause(d, t); err != nil {
			return err
		}
	}
}

// clause reads one clause that starts with t.
func (p *parser) clause(d *Dose, t token) (err error) {
	switch {
	case p.takeWords("weak", "side", "first") || p.takeWords("weaker", "side", "first"):
		d.WeakFirst = true
	case p.take("rest"):
		p.take(":")
		d.Rest, err = p.rest()
	case p.take("tempo"):
		p.take(":")
		d.Tempo, err = p.tempo()
	case p.take("measure"):
		p.take(":")
		d.Measure, err = p.measures()
	case p.take("warm-up") || p.take("warmup") || p.takeWords("warm", "up"):
		p.take(":")
		d.WarmUp, err = p.warmUp()
	case t.text == "rir" || t.text == "rpe" || t.text == "to" || p.effortAt(0):
		return p.errorAt(t, "the effort stands once, right behind sets and load; write such as 3 x 8 @ 100 kg rir 2 rest 3:00")
	case t.text == "@" || t.text == "+":
		return p.errorAt(t, "the load stands right behind the repetitions; write such as 3 x 8 @ 100 kg rest 3:00")
	default:
		return p.unknown(t)
	}
	return err
}

// timeUnits are the spellings of units of rest.
var timeUnits = []string{"s", "sec", "secs", "second", "seconds", "min", "mins", "minute", "minutes"}

// rest reads 3:00, 90 s, 2 min or 1 min 30 s.
func (p *parser) rest() (unit.Duration, error) {
	t := p.peek()
	if t.kind != tokNumber {
		return unit.Duration{}, p.errorAt(t, "the time is missing after rest; write such as rest 3:00 or rest 90 s")
	}
	last := p.next()
	if p.peek().text == ":" && p.ahead(1).kind == tokNumber {
		p.i += 2
		last = p.toks[p.i-1]
		p.take("min")
		return p.restTime(t, t.text+":"+last.text)
	}
	var words []string
	for last.kind == tokNumber {
		switch u := p.peek(); {
		case u.text == "-" && p.ahead(1).kind == tokNumber:
			return unit.Duration{}, p.errorAt(t, "rest is one time, not a range; write such as rest 2:30")
		case u.kind == tokWord && !slices.Contains(keywords, u.text) && !slices.Contains(timeUnits, u.text):
			return unit.Duration{}, p.wrongWord(u, near(u.text, timeUnits), "%q is not a unit of rest; write s or min", u.text)
		case !slices.Contains(timeUnits, u.text):
			return unit.Duration{}, p.errorAt(last, "the unit of %s is missing; write %s s, %s min or minutes and seconds as 1:30", last.text, last.text, last.text)
		}
		words = append(words, p.quantity(last, p.peek()))
		if last = p.next(); p.peek().kind == tokNumber && slices.Contains(timeUnits, p.ahead(1).text) {
			last = p.next()
		}
	}
	return p.restTime(t, strings.Join(words, " "))
}

// restTime reads the time of a rest that starts at t.
func (p *parser) restTime(t token, text string) (unit.Duration, error) {
	d, err := unit.ParseDuration(text)
	if err != nil {
		return unit.Duration{}, p.errorAt(t, "%s", err.Error())
	}
	if s := d.Second(); s > maxRest {
		return unit.Duration{}, p.errorAt(t, "a rest of %s is out of range; write up to 60 min", d.Canonical())
	}
	return d, nil
}

// orders are the ways the figures of a tempo may be said to run.
var orders = map[string]bool{
	"lower-pause-lift": false, "lower-pause-lift-pause": false,
	"lift-pause-lower": true, "lift-pause-lower-pause": true,
}

// tempo reads three or four figures joined by hyphens and the order they run
// in; without an order they start with the lowering.
func (p *parser) tempo() (Tempo, error) {
	start := p.peek()
	var t Tempo
	for {
		x, tok, ok := p.number()
		if !ok || x != math.Trunc(x) || x > maxTempo {
			return Tempo{}, p.errorAt(tok, "a tempo has three or four whole figures of seconds, such as 3-1-2 lower-pause-lift")
		}
		t.Figures = append(t.Figures, int(x))
		if !p.take("-") {
			break
		}
	}
	switch n := len(t.Figures); {
	case n != 3 && n != 4:
		return Tempo{}, p.errorAt(start, "a tempo has three or four figures, this one has %d; write such as 3-1-2 lower-pause-lift", n)
	case t.Seconds() == 0:
		return Tempo{}, p.errorAt(start, "a repetition takes time; write such as 3-1-2 lower-pause-lift")
	}
	if p.take("(") {
		if err := p.order(&t); err != nil {
			return Tempo{}, err
		}
		if !p.take(")") {
			return Tempo{}, p.errorAt(p.peek(), "the closing bracket of the order is missing")
		}
		return t, nil
	}
	return t, p.order(&t)
}

// order reads the order the figures of a tempo run in, if one follows.
func (p *parser) order(t *Tempo) error {
	w := p.peek()
	lift, ok := orders[w.text]
	switch {
	case w.kind != tokWord:
		return nil
	case ok && strings.Count(w.text, "-")+1 != len(t.Figures):
		return p.errorAt(w, "the order %s does not fit %d figures", w.text, len(t.Figures))
	case ok:
		t.LiftFirst = lift
		p.next()
	case strings.Contains(w.text, "lift") || strings.Contains(w.text, "lower"):
		return p.errorAt(w, "%q is not an order of a tempo; write lower-pause-lift or lift-pause-lower, with -pause behind it for a fourth figure", w.text)
	}
	return nil
}

// measures reads `reps both sides, rating`.
func (p *parser) measures() ([]Measure, error) {
	var out []Measure
	for {
		t := p.peek()
		kind := MeasureKind(t.text)
		if t.text == "repetitions" {
			kind = "reps"
		}
		if t.kind == tokEnd {
			return nil, p.errorAt(t, "what to write down is missing; write one of %s", strings.Join(kind.Values(), ", "))
		}
		if !slices.Contains(kind.Values(), string(kind)) {
			return nil, p.errorAt(t, "%q cannot be measured; write one of %s", t.text, strings.Join(kind.Values(), ", "))
		}
		p.next()
		m := Measure{What: kind}
		switch {
		case p.takeWords("both", "sides") || p.takeWords("each", "side") || p.takeWords("/", "side") || p.takeWords("per", "side"):
			m.Sides = anatomy.Both
		case p.take("left"):
			m.Sides = anatomy.Left
		case p.take("right"):
			m.Sides = anatomy.Right
		}
		if slices.ContainsFunc(out, func(o Measure) bool {
			return o.What == m.What && (o.Sides == m.Sides || o.Sides == anatomy.NoSide || m.Sides == anatomy.NoSide || o.Sides == anatomy.Both || m.Sides == anatomy.Both)
		}) {
			return nil, p.errorAt(t, "%q is measured twice", t.text)
		}
		out = append(out, m)
		if more := MeasureKind(p.ahead(1).text); p.peek().text != "," || !slices.Contains(more.Values(), string(more)) && more != "repetitions" {
			return out, nil
		}
		p.next()
	}
}

// warmUp reads `8 @ 40%, 5 @ 60%` or `2 x 5 @ 40%`.
func (p *parser) warmUp() ([]Set, error) {
	var out []Set
	for {
		t := p.peek()
		sets := 1
		if x, _, ok := p.number(); ok && p.peek().kind == tokTimes {
			if x != math.Trunc(x) || x < 1 || x > maxWarmUps {
				return nil, p.errorAt(t, "%s warm-up sets: write a whole number from 1 to %d", t.text, maxWarmUps)
			}
			sets = int(x)
			p.next()
		} else if ok {
			p.i--
		}
		w, err := p.work()
		if err != nil {
			return nil, err
		}
		if w.Max {
			return nil, p.errorAt(t, "a warm-up set is not done to the maximum; write its repetitions")
		}
		loads, err := p.loadList(1)
		if err != nil {
			return nil, err
		}
		s := Set{Work: w}
		if len(loads) > 0 {
			s.Load = loads[0]
		}
		for range sets {
			out = append(out, s)
		}
		if len(out) > maxWarmUps {
			return nil, p.errorAt(t, "more than %d warm-up sets", maxWarmUps)
		}
		if p.peek().text != "," || p.ahead(1).kind != tokNumber {
			return out, nil
		}
		p.next()
	}
}
