package plan

import (
	"math"
	"slices"
	"strings"

	"corbel/unit"
)

// ProgressUnit is what a step of progress adds to.
type ProgressUnit string

// Units of progress.
const (
	StepPercent ProgressUnit = "%"
	StepLoad    ProgressUnit = "load"
	StepReps    ProgressUnit = "repetition"
	StepSets    ProgressUnit = "set"
	StepTime    ProgressUnit = "s"
	StepWay     ProgressUnit = "m"
)

// A Step adds an amount every week. A percentage adds points of the 1RM where
// the dose is in percent, and that share of the load where it is a mass.
type Step struct {
	Amount float64 // percent, repetitions, sets, seconds or metres; may be negative
	Unit   ProgressUnit
	Mass   unit.Mass // for StepLoad
	Minus  bool      // for StepLoad
}

// Progress is a rule for the weeks that are not written out: one to three
// steps, such as "+2.5 % a week" or "+1 repetition, +2.5 kg".
type Progress []Step

// progressWords maps what a coach types to units.
var progressWords = map[string]ProgressUnit{
	"%": StepPercent, "percent": StepPercent,
	"rep": StepReps, "reps": StepReps, "repetition": StepReps,
	"repetitions": StepReps, "set": StepSets, "sets": StepSets, "s": StepTime, "sec": StepTime, "second": StepTime, "seconds": StepTime,
	"m": StepWay, "metre": StepWay, "metres": StepWay,
}

// Bounds of a step, to catch slips (our judgement).
const (
	maxSteps    = 3
	maxStep     = 100 // percent, repetitions, sets, seconds or metres a week
	maxStepMass = 100 // kg a week
)

// UnmarshalText reads a rule of progress. The error is a *DoseError.
func (p *Progress) UnmarshalText(b []byte) error {
	q, err := newParser(string(b))
	if err != nil {
		return err
	}
	*p, err = q.progress()
	return err
}

// progress reads one to three steps.
func (p *parser) progress() (Progress, error) {
	var out Progress
	for {
		t := p.peek()
		s, err := p.progressStep()
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(out, func(o Step) bool { return o.Unit == s.Unit }) {
			return nil, p.errorAt(t, "this adds %s a second time; write one step of each kind", s.Unit)
		}
		if out = append(out, s); len(out) > maxSteps {
			return nil, p.errorAt(t, "a rule of progress has at most %d steps", maxSteps)
		}
		if p.take(",") {
			continue
		}
		if t = p.peek(); t.kind != tokEnd {
			return nil, p.errorAt(t, "%q is not expected here; write such as +1 repetition, +2.5 kg a week", t.text)
		}
		return out, nil
	}
}

// progressStep reads +2.5 %, +2.5 kg, -1 set, with or without `a week`.
func (p *parser) progressStep() (Step, error) {
	start := p.peek()
	minus := start.text == "-"
	if !minus && start.text != "+" {
		return Step{}, p.errorAt(start, "a step of progress starts with + or -; write such as +2.5 %% a week, +2.5 kg or +1 repetition")
	}
	p.next()
	x, t, ok := p.number()
	if !ok {
		return Step{}, p.errorAt(p.peek(), "the amount is missing here; write such as +2.5 kg")
	}
	s, err := p.stepOf(x, t)
	if err != nil {
		return Step{}, err
	}
	if s.Minus = minus && s.Unit == StepLoad; minus && s.Unit != StepLoad {
		s.Amount = -s.Amount
	}
	for _, words := range [][]string{{"a", "week"}, {"per", "week"}, {"each", "week"}, {"every", "week"}, {"/", "week"}} {
		if p.takeWords(words...) {
			break
		}
	}
	return s, nil
}

// stepOf gives an amount the unit that follows it.
func (p *parser) stepOf(x float64, number token) (Step, error) {
	t := p.peek()
	if massUnit(t.text) {
		m, err := unit.ParseMass(p.quantity(number, t))
		if p.next(); err != nil {
			return Step{}, p.errorAt(number, "%s", err.Error())
		}
		if kg := m.Kilogram(); kg == 0 || kg > maxStepMass {
			return Step{}, p.errorAt(number, "%s a week is out of range; write more than 0 and up to %d kg", m.Canonical(), maxStepMass)
		}
		return Step{Unit: StepLoad, Mass: m}, nil
	}
	u, ok := progressWords[t.text]
	thousandths := math.Round(x * 1000)
	switch {
	case !ok && t.kind == tokWord:
		return Step{}, p.wrongWord(t, near(t.text, []string{"kg", "lb", "%", "repetition", "set", "s", "m"}), "%q is not a unit of progress; write %%, kg, lb, repetition, set, s or m", t.text)
	case !ok:
		return Step{}, p.errorAt(number, "the unit of %s is missing; write %%, kg, lb, repetition, set, s or m behind it; decimals take a point", number.text)
	case (u == StepReps || u == StepSets) && x != math.Trunc(x):
		return Step{}, p.errorAt(number, "%s %ss: write a whole number", number.text, u)
	case thousandths < 1 || x > maxStep || math.Abs(x*1000-thousandths) > 1e-6:
		return Step{}, p.errorAt(number, "%s is out of range; write more than 0 and up to %d, with at most three decimals", number.text, maxStep)
	}
	p.next()
	return Step{Amount: thousandths / 1000, Unit: u}, nil
}

// MarshalText writes the rule in one spelling.
func (p Progress) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// String writes the rule in one spelling.
func (p Progress) String() string {
	var out []string
	for _, s := range p {
		out = append(out, s.String())
	}
	if len(out) == 0 {
		return ""
	}
	return strings.Join(out, ", ") + " a week"
}

// String writes one step, such as +2.5 % or +1 repetition.
func (s Step) String() string {
	if s.Unit == StepLoad {
		return sign(s.Minus) + s.Mass.Canonical()
	}
	x := max(s.Amount, -s.Amount)
	name := string(s.Unit)
	if x != 1 && (s.Unit == StepReps || s.Unit == StepSets) {
		name += "s"
	}
	return sign(s.Amount < 0) + unit.Figures(x, 3) + " " + name
}

func sign(minus bool) string {
	if minus {
		return "-"
	}
	return "+"
}

// IsZero says whether there is no rule.
func (p Progress) IsZero() bool { return len(p) == 0 }

// FormHint describes rules of progress for schemas and messages.
func (Progress) FormHint() (what, pattern string, examples []string) {
	return "a rule of progress", "", []string{"+2.5 % a week", "+1 repetition, +2.5 kg a week"}
}
