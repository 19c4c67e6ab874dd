package effort

import "strings"

// Mark is a set of remarks on one set of an exercise: what lies outside the data
// behind the model, and what the set could not do. It is data for the reader, not
// an error.
type Mark uint16

// Remarks. Hold and Superset are told by the caller in [Work.Marks]; the model
// finds the others.
const (
	LightLoad       Mark = 1 << iota // load below 50 % of the 1RM
	ManyRepetitions                  // more than 30 repetitions to failure
	ShortRest                        // less than 20 s since the set before
	LongRest                         // more than 300 s since the set before
	Single                           // one repetition, or a load for fewer than two
	Hold                             // a hold or carry instead of repetitions
	Superset                         // alternated with another exercise
	Capped                           // the model finds no failure up to RepetitionCap
	Spent                            // capacity before the set is below the load
	Unfinished                       // fewer repetitions possible than asked, or less reserve
)

// OutOfRange joins the remarks that mean "not covered by the data behind the
// model" (docs/model/03-session.md, range of validity).
const OutOfRange = LightLoad | ManyRepetitions | ShortRest | LongRest | Single | Hold | Superset | Capped

// Edges of the data behind the model (fatigue-constants).
const (
	lightLoad       = 0.50 // fraction of the 1RM
	manyRepetitions = 30   // repetitions
	shortRest       = 20   // s
	longRest        = 300  // s
)

var markNames = [...]string{
	"load below 50 % of 1RM",
	"more than 30 repetitions",
	"rest under 20 s",
	"rest over 300 s",
	"single",
	"hold",
	"superset",
	"not limited by this model",
	"capacity below the load",
	"fewer than asked",
}

// Has reports whether all remarks of want are in m.
func (m Mark) Has(want Mark) bool { return m&want == want }

// String lists the remarks, separated by commas; "none" if there are none.
func (m Mark) String() string {
	var words []string
	for i, name := range markNames {
		if m&(1<<i) != 0 {
			words = append(words, name)
		}
	}
	if len(words) == 0 {
		return "none"
	}
	return strings.Join(words, ", ")
}
