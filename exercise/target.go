package exercise

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"corbel/form"
)

// A Mark says how much a target weighs.
type Mark int

// Marks. Angles of joints are wishes unless marked, all else is hard.
const (
	Plain Mark = iota
	Hard       // written !
	Weak       // written ~
)

// NoSide stands for both sides, or for what has none; 0 is right, 1 left.
const NoSide = -1

// DropTarget is the name that takes an inherited target away: drop=balance.
const DropTarget = "drop"

// A Number is one number of a target with the unit it was written in.
type Number struct {
	Free  bool    // written _: left to the solver
	Mid   bool    // written mid: over the point of balance
	Value float64 // in Unit
	Plus  float64 // m or rad, added by who varies a posture; never written
	Unit  string  // "deg", "m", "H" or the name of a limb; "" is a plain number
}

// A Term is one target, contact or load: name.side=numbers. A contact or load
// has options behind it.
type Term struct {
	Mark    Mark
	Name    string
	Side    int
	Numbers []Number
	Word    string // of a term that takes a word
	Options []Term
	Text    string // as written
}

// Targets is a line of targets, such as "thigh=0 !ankle=28 knee.r=90".
type Targets struct{ Terms []Term }

// A Contact is what touches, with its options, such as "toes.l weight=0.33".
type Contact struct{ Term Term }

// A LoadAt is where a load acts, with its options, such as "trunk=-0.04H,0.02H".
type LoadAt struct{ Term Term }

// A kind says what the numbers of a term are: a angle in degrees, l length, r
// plain number, w word, - nothing. A small letter after the first optional ones
// behind ?.
type kind string

// Names of targets and what numbers each takes. Joint angles are wishes unless
// marked; what is listed in worldTargets is hard.
var jointTargets = map[string]kind{
	"tilt": "a", "roll": "a", "yaw": "a", "lumbar": "a", "bend": "a", "twist": "a",
	"hip": "a", "abd": "a", "rot": "a", "knee": "a", "ankle": "a", "inv": "a",
	"elev": "l", "prot": "l", "plane": "a", "raise": "a", "turn": "a", "elbow": "a", "sup": "a",
}

var worldTargets = map[string]kind{
	"balance": "?rl", "lean": "a", "side-lean": "a", "thigh": "a", "shin": "a",
	"stand": "lla?l", "ball": "lla?al", "toe-out": "a", "toes-up": "a",
	"hand-at": "lll", "elbow-at": "lll", "knee-at": "lll", "ankle-at": "lll", "heel-at": "lll", "pelvis-at": "lll", "shoulders-at": "lll",
	"hand-on-trunk": "lll", "elbow-on-trunk": "lll", "hand-on-pelvis": "lll",
	"forearm": "rrr", "upper-arm": "rrr", "shank": "rrr", "thigh-to": "rrr",
	DropTarget: "w",
}

var contactNames = map[string]kind{
	"foot": "-", "toes": "-", "heel": "-", "sole": "-", "palm": "-", "grip": "-", "elbow": "-", "seat": "-", "back": "l", "chest": "l", "flank": "-", "shoulder-side": "-", "buttock": "-", "ankle": "-", "foot-side": "-",
	"leg-side": "-", "knee": "-", "shank-front": "l", "thigh-front": "l", "thigh-back": "l", "heel-hook": "-", "head": "-", "blade": "-", "arm-back": "l", "arm-on-trunk": "-",
}

var loadNames = map[string]kind{
	"trunk": "ll", "bar": "-", "hand": "-", "pelvis": "ll", "ankle": "-", "knee": "-", "cable": "lll", "band": "w", "pad": "-", "sled": "a",
}

// options are what may stand behind a contact or load.
var options = map[string]kind{
	"weight": "r", "free": "-", "toward": "r", "inward": "r", "up": "-", "slides": "-", "on": "w", "along": "r", "push": "w", "share": "r",
}

// units are the units of lengths, with the limb or body height they are a
// fraction of.
var units = []string{"m", "cm", "H", "thigh", "shank", "foot", "trunk", "arm", "leg"}

// grammar is all that must be there before a posture is read.
var grammar = [...]any{jointTargets, worldTargets, contactNames, loadNames, options, units, central, kindWords, ranges, bandPlaces, cablePlaces, padPlaces, pushWords}

// Units lists the units in which lengths of a posture may be written.
func Units() []string { return slices.Clone(units) }

// TargetNames lists the names of targets, in order.
func TargetNames() []string { return slices.Sorted(keys(jointTargets, worldTargets)) }

// ContactNames lists the names of contacts, in order.
func ContactNames() []string { return slices.Sorted(keys(contactNames)) }

// LoadNames lists the names of loads, in order.
func LoadNames() []string { return slices.Sorted(keys(loadNames)) }

// IsJoint says whether a target is the value of one joint coordinate.
func IsJoint(name string) bool { _, ok := jointTargets[name]; return ok }

// keys walks over the names of tables.
func keys(tables ...map[string]kind) func(func(string) bool) {
	return func(yield func(string) bool) {
		for _, t := range tables {
			for k := range t {
				if !yield(k) {
					return
				}
			}
		}
	}
}

// central are the terms that have no side.
var central = []string{"tilt", "roll", "yaw", "lumbar", "bend", "twist", "balance", "lean", "side-lean", "pelvis-at", "shoulders-at",
	"trunk", "bar", "pelvis", "back", "chest", "seat", "head", DropTarget}

// A termError is what is wrong with a term, where in the text, and what it could
// have been.
type termError struct {
	at   int
	text string
	near []string
}

func (e *termError) Error() string { return e.text }

// Offset returns where the trouble lies, in bytes.
func (e *termError) Offset() int { return e.at }

// Near returns the nearest known names.
func (e *termError) Near() []string { return e.near }

// A word is one word of a line and where it starts.
type word struct {
	text string
	at   int
}

// split cuts a line at blanks.
func split(s string) []word {
	var out []word
	for i := 0; i < len(s); {
		if isBlank(s[i]) {
			i++
			continue
		}
		j := i
		for j < len(s) && !isBlank(s[j]) {
			j++
		}
		out = append(out, word{s[i:j], i})
		i = j
	}
	return out
}

func isBlank(c byte) bool { return c == ' ' || c == '\n' || c == '\t' || c == '\r' }

// Bounds of a posture text: no exercise comes near.
const (
	maxTerms  = 100
	maxNumber = 1000.
)

// UnmarshalText reads a line of targets.
func (t *Targets) UnmarshalText(b []byte) error {
	words := split(string(b))
	if len(words) > maxTerms {
		return &termError{0, fmt.Sprintf("more than %d targets stand in one line", maxTerms), nil}
	}
	t.Terms = nil
	for _, w := range words {
		term, err := parseTerm(w, "target", jointTargets, worldTargets)
		if err != nil {
			return err
		}
		if err := checkTarget(w, &term); err != nil {
			return err
		}
		for _, other := range t.Terms {
			if other.Name == term.Name && other.Side == term.Side && term.Name != DropTarget {
				return &termError{w.at, fmt.Sprintf("%s stands twice in one line; delete one", w.text), nil}
			}
		}
		t.Terms = append(t.Terms, term)
	}
	return nil
}

// checkTarget refuses mid where nothing is in the room, and drop of what is no
// target.
func checkTarget(w word, t *Term) error {
	for i, n := range t.Numbers {
		if room := strings.HasSuffix(t.Name, "-at") || t.Name == "stand" || t.Name == "ball"; n.Mid && (i > 0 || !room) {
			return &termError{w.at, fmt.Sprintf("mid stands for the first number of a place in the room, not in %s", t.Name), nil}
		}
	}
	if t.Name == DropTarget {
		if _, ok := lookUp(t.Word, []map[string]kind{jointTargets, worldTargets}); !ok {
			return &termError{w.at, fmt.Sprintf("%q is not a target", clipWord(t.Word)), form.Near(t.Word, TargetNames(), 3)}
		}
	}
	return nil
}

// MarshalText writes the targets as they were written.
func (t Targets) MarshalText() ([]byte, error) {
	var words []string
	for _, x := range t.Terms {
		words = append(words, x.Text)
	}
	return []byte(strings.Join(words, " ")), nil
}

// IsZero says whether no target is there.
func (t Targets) IsZero() bool { return len(t.Terms) == 0 }

// FormHint describes targets for schemas and messages.
func (Targets) FormHint() (what, pattern string, examples []string) {
	return "a line of targets", "", []string{"thigh=0 !ankle=28 stand=0m,0.1H,20"}
}

// UnmarshalText reads a contact.
func (c *Contact) UnmarshalText(b []byte) (err error) {
	c.Term, err = parsePlace(string(b), "contact", contactNames)
	return err
}

// MarshalText writes the contact as it was written.
func (c Contact) MarshalText() ([]byte, error) { return []byte(c.Term.Text), nil }

// FormHint describes contacts for schemas and messages.
func (Contact) FormHint() (what, pattern string, examples []string) {
	return "a contact", "", []string{"foot", "toes.l weight=0.33"}
}

// UnmarshalText reads a load.
func (l *LoadAt) UnmarshalText(b []byte) (err error) {
	l.Term, err = parsePlace(string(b), "load", loadNames)
	return err
}

// MarshalText writes the load as it was written.
func (l LoadAt) MarshalText() ([]byte, error) { return []byte(l.Term.Text), nil }

// FormHint describes loads for schemas and messages.
func (LoadAt) FormHint() (what, pattern string, examples []string) {
	return "a load", "", []string{"hand", "trunk=-0.04H,0.02H"}
}

// parsePlace reads a contact or a load with its options.
func parsePlace(s, what string, names map[string]kind) (Term, error) {
	words := split(s)
	if len(words) == 0 {
		return Term{}, &termError{0, "nothing is written for this " + what, nil}
	}
	term, err := parseTerm(words[0], what, names)
	if err == nil {
		err = checkPlace(words[0], &term)
	}
	for _, w := range words[1:] {
		if err != nil {
			break
		}
		var o Term
		if o, err = parseTerm(w, what+" option", options); err == nil {
			err = checkOption(w, &term, &o)
		}
		term.Options = append(term.Options, o)
		term.Text += " " + w.text
	}
	return term, err
}

// checkPlace refuses a contact or load that leaves open what it needs.
func checkPlace(w word, t *Term) error {
	for _, n := range t.Numbers {
		if n.Free || n.Mid {
			return &termError{w.at, fmt.Sprintf("%s needs its numbers; _ and mid stand for targets only", t.Name), nil}
		}
	}
	if t.Name == "band" && !slices.Contains(bandPlaces, t.Word) {
		return &termError{w.at, fmt.Sprintf("a band cannot be at %q; write one of %s", clipWord(t.Word), strings.Join(bandPlaces, ", ")), form.Near(t.Word, bandPlaces, 1)}
	}
	return nil
}

// What may stand behind on= and push=, and where a band may be.
var (
	bandPlaces  = []string{"hand", "knee", "ankle"}
	cablePlaces = []string{"hand", "knee", "ankle", "foot", "waist"}
	padPlaces   = []string{"shank", "thigh", "hand"}
	pushWords   = []string{"front", "back", "out", "in", "up", "down"}
)

// ranges are the lowest and highest value of options.
var ranges = map[string][2]float64{"weight": {0.05, 10}, "share": {0, 1}, "along": {0, 1.2}, "inward": {0, 1}, "toward": {0, 1}}

// checkOption refuses options out of range and words without a meaning.
func checkOption(w word, place, o *Term) error {
	if r, ok := ranges[o.Name]; ok {
		if n := o.Numbers[0]; n.Free || n.Value < r[0] || n.Value > r[1] {
			return &termError{w.at, fmt.Sprintf("%s is outside %g to %g", w.text, r[0], r[1]), nil}
		}
	}
	known := pushWords
	switch {
	case o.Name == "on" && place.Name == "pad":
		known = padPlaces
	case o.Name == "on":
		known = cablePlaces
	case o.Name != "push":
		return nil
	}
	if !slices.Contains(known, o.Word) {
		return &termError{w.at, fmt.Sprintf("%s has no meaning here; write one of %s", w.text, strings.Join(known, ", ")), form.Near(o.Word, known, 1)}
	}
	return nil
}

// Option returns an option of a contact or load, and whether it is there.
func (t *Term) Option(name string) (Term, bool) {
	for _, o := range t.Options {
		if o.Name == name {
			return o, true
		}
	}
	return Term{}, false
}

// parseTerm reads one word by the tables of names that may stand there.
func parseTerm(w word, what string, tables ...map[string]kind) (Term, error) {
	t := Term{Side: NoSide, Text: w.text}
	s, at := w.text, w.at
	switch {
	case strings.HasPrefix(s, "!"):
		t.Mark, s, at = Hard, s[1:], at+1
	case strings.HasPrefix(s, "~"):
		t.Mark, s, at = Weak, s[1:], at+1
	}
	name, list, has := strings.Cut(s, "=")
	base, side, sided := strings.Cut(name, ".")
	t.Name = base
	k, ok := lookUp(base, tables)
	if !ok {
		return t, &termError{at, fmt.Sprintf("%q is not a %s", clipWord(base), what), form.Near(base, slices.Sorted(keys(tables...)), 3)}
	}
	if sided {
		if side != "r" && side != "l" {
			return t, &termError{at + len(base) + 1, fmt.Sprintf("a side is .r or .l, not .%s", clipWord(side)), nil}
		}
		if slices.Contains(central, base) && tables[0]["weight"] == "" {
			return t, &termError{at + len(base), fmt.Sprintf("%s has no side; delete .%s", base, side), nil}
		}
		t.Side = strings.Index("rl", side)
	}
	return t, t.numbers(k, list, has, at+len(name)+1)
}

// lookUp finds a name in tables.
func lookUp(name string, tables []map[string]kind) (kind, bool) {
	for _, table := range tables {
		if k, ok := table[name]; ok {
			return k, true
		}
	}
	return "", false
}

// numbers reads what stands behind the equals sign.
func (t *Term) numbers(k kind, list string, has bool, at int) error {
	must, may, _ := strings.Cut(string(k), "?")
	switch {
	case k == "-" && has:
		return &termError{at, fmt.Sprintf("%s takes no number; delete the equals sign and what follows", t.Name), nil}
	case k == "-" || must == "" && !has:
		return nil
	case !has:
		return &termError{max(at-1, 0), fmt.Sprintf("%s needs %s", t.Name, describe(k)), nil}
	case k == "w":
		t.Word = list
		if list == "" {
			return &termError{at, fmt.Sprintf("%s needs a word behind the equals sign", t.Name), nil}
		}
		return nil
	}
	parts := strings.Split(list, ",")
	all := must + may
	if len(parts) < len(must) || len(parts) > len(all) {
		return &termError{at, fmt.Sprintf("%s needs %s; %d stand here", t.Name, describe(k), len(parts)), nil}
	}
	for i, p := range parts {
		n, err := parseNumber(p, all[i], t.Name, at)
		if err != nil {
			return err
		}
		t.Numbers = append(t.Numbers, n)
		at += len(p) + 1
	}
	return nil
}

// kindWords say what each letter of a kind is.
var kindWords = map[rune]string{'a': "an angle", 'l': "a length", 'r': "a number", 'w': "a word"}

// describe says in words what numbers a term takes.
func describe(k kind) string {
	must, may, _ := strings.Cut(string(k), "?")
	list := func(s string) string {
		var words []string
		for _, r := range s {
			words = append(words, kindWords[r])
		}
		return strings.Join(words, ", ")
	}
	switch {
	case may == "":
		return list(must)
	case must == "":
		return "nothing or " + list(may)
	}
	return list(must) + " and perhaps " + list(may)
}

// parseNumber reads one number of the kind a, l or r.
func parseNumber(s string, kind byte, name string, at int) (Number, error) {
	switch {
	case s == "_":
		return Number{Free: true}, nil
	case s == "mid" && kind == 'l':
		return Number{Mid: true}, nil
	}
	end := len(s)
	for end > 0 && (s[end-1] >= 'a' && s[end-1] <= 'z' || s[end-1] >= 'A' && s[end-1] <= 'Z') {
		end--
	}
	v, err := strconv.ParseFloat(s[:end], 64)
	if err != nil || !(v >= -maxNumber && v <= maxNumber) || strings.ContainsAny(s[:end], "eExX_+") {
		return Number{}, &termError{at, fmt.Sprintf("%q in %s is not a number of -%g to %g; write one such as -2.5, or _ to leave it free", clipWord(s), name, maxNumber, maxNumber), nil}
	}
	n := Number{Value: v, Unit: s[end:]}
	switch {
	case kind == 'l' && n.Unit == "" && v == 0:
		n.Unit = "m"
	case kind == 'l' && !slices.Contains(units, n.Unit):
		return n, &termError{at + end, fmt.Sprintf("the length %q in %s needs a unit: %s", clipWord(s), name, strings.Join(units, ", ")), form.Near(n.Unit, units, 1)}
	case kind == 'a' && n.Unit != "" && n.Unit != "deg":
		return n, &termError{at + end, fmt.Sprintf("%s is an angle in degrees; write it without %q", name, clipWord(n.Unit)), nil}
	case kind == 'a':
		n.Unit = "deg"
	case kind == 'r' && n.Unit != "":
		return n, &termError{at + end, fmt.Sprintf("%s takes a plain number; write it without %q", name, clipWord(n.Unit)), nil}
	}
	return n, nil
}

// clipWord shortens a word for a message.
func clipWord(s string) string {
	if r := []rune(s); len(r) > 30 {
		return string(r[:30]) + "..."
	}
	return s
}
