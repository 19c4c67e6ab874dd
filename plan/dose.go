package plan

import (
	"corbel/anatomy"
	"corbel/unit"
)

// A Dose is how much of an exercise is done: sets of work at a load, with the
// effort wanted, and what goes with them. The zero value is no dose.
type Dose struct {
	Text      string // as typed; empty for a computed dose
	Parts     []Part // one, or one for each side
	WeakFirst bool   // the weaker side starts
	WarmUp    []Set  // sets before the first, lightest first
	Rest      unit.Duration
	Tempo     Tempo
	Measure   []Measure
}

// A Part is the sets of both sides together, of each side, or of one side.
type Part struct {
	Sides DoseSides
	Sets  []Set // 1 to 30
}

// DoseSides says whom the sets of a part are for.
type DoseSides string

// Sides of a part.
const (
	Together  DoseSides = ""      // both sides at once, or the exercise has none
	EachSide  DoseSides = "side"  // every set on each side: 3 x 10/side
	LeftOnly  DoseSides = "left"  // left 3 x 10
	RightOnly DoseSides = "right" // right 2 x 10
)

// A Set is one set: work, load, effort.
type Set struct {
	Work   Work
	Load   Load
	Effort Effort
}

// WorkKind is what is counted in a set.
type WorkKind int

// Kinds of work.
const (
	Repetitions WorkKind = iota // whole repetitions
	Time                        // milliseconds
	Distance                    // micrometres
)

// Work is repetitions, a time or a distance, from Low to High; Max means as
// many as possible, with Low and High 0.
type Work struct {
	Kind      WorkKind
	Low, High int64
	Max       bool
	Unit      string // unit of a typed distance: m, km, ft, yd
}

// LoadKind says how a load is given.
type LoadKind int

// Kinds of loads.
const (
	Unsaid     LoadKind = iota // no load written
	PercentMax                 // percent of the 1RM of this exercise or of Of
	Mass                       // a mass on bar, stack, sled or limb
	MassInHand                 // a mass in each hand
	RepMax                     // the load of a repetition maximum, 8RM
	BodyWeight                 // nothing but the body
	Added                      // body and an added mass
	Assisted                   // body less an assisting mass
	Band                       // an elastic band by name
	Pin                        // a pin of a stack by number
	Level                      // a level of a machine by number
)

// Load is the load of a set.
type Load struct {
	Kind    LoadKind
	Percent unit.Percent // PercentMax, 1 to 120
	Of      string       // exercise the percentage is of, typed name or id
	Mass    unit.Mass    // Mass, MassInHand, Added, Assisted
	Number  int          // RepMax, Pin, Level
	Name    string       // Band
}

// EffortKind says how effort is given.
type EffortKind int

// Kinds of effort.
const (
	Unasked EffortKind = iota
	RIR                // repetitions in reserve, 0 to 20
	RPE                // rating, 1 to 10
)

// Effort is a wanted effort from Low to High, in tenths.
type Effort struct {
	Kind      EffortKind
	Low, High int
}

// Reserve returns the repetitions in reserve from low to high that an effort
// asks for, and false where none is asked. RPE = 10 - RIR (Zourdos 2016; key
// zourdos-2016).
func (e Effort) Reserve() (low, high float64, ok bool) {
	switch e.Kind {
	case RIR:
		return float64(e.Low) / 10, float64(e.High) / 10, true
	case RPE:
		return 10 - float64(e.High)/10, 10 - float64(e.Low)/10, true
	}
	return 0, 0, false
}

// Tempo is three or four figures in seconds. LiftFirst says that the figures
// start with the lifting; else they start with the lowering. Figures: first
// movement, pause, second movement, pause.
type Tempo struct {
	Figures   []int // 3 or 4, each 0 to 60
	LiftFirst bool
}

// IsZero says whether no tempo is asked.
func (t Tempo) IsZero() bool { return len(t.Figures) == 0 }

// Seconds returns the time of one repetition, s, or 0 for no tempo.
func (t Tempo) Seconds() unit.Second {
	sum := 0
	for _, f := range t.Figures {
		sum += f
	}
	return unit.Second(sum)
}

// A Measure is what the client is asked to write down.
type Measure struct {
	What  MeasureKind
	Sides anatomy.Side // NoSide, Left, Right or Both
}

// MeasureKind is a quantity a client writes down.
type MeasureKind string

// Values lists what may be measured: repetitions, load, a rating of effort 0 to
// 10, pain 0 to 10, time, distance, repetitions in reserve.
func (MeasureKind) Values() []string {
	return []string{"reps", "load", "rating", "pain", "time", "distance", "reserve"}
}

// IsZero says whether there is no dose.
func (d Dose) IsZero() bool { return len(d.Parts) == 0 }

// Count returns how many sets a side does, the larger of two.
func (d Dose) Count() int {
	n := 0
	for _, p := range d.Parts {
		n = max(n, len(p.Sets))
	}
	return n
}

// Equal says whether two doses mean the same, however they were typed.
func (d Dose) Equal(e Dose) bool { return d.Canonical() == e.Canonical() }

// UnmarshalText reads the shorthand.
func (d *Dose) UnmarshalText(b []byte) (err error) { *d, err = ParseDose(string(b)); return err }

// MarshalText writes what was typed, or the canonical shorthand.
func (d Dose) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// String returns what was typed, or the canonical shorthand where nothing was.
func (d Dose) String() string {
	if d.Text != "" {
		return d.Text
	}
	return d.Canonical()
}

// FormHint describes doses for schemas and messages.
func (Dose) FormHint() (what, pattern string, examples []string) {
	return "a dose", "", []string{"4 x 4 @ 72%", "3 x 10/side rir 2"}
}
