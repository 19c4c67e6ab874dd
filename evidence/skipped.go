package evidence

import (
	"math"
	"slices"

	"corbel/client"
	"corbel/session"
)

// A Skipped is a finding with a kind that is not weighed, and why.
type Skipped struct {
	Finding int    `json:"finding"`
	Text    string `json:"text"`
	Why     Reason `json:"why"`
}

// A Reason says why a finding is not weighed.
type Reason string

// Reasons.
const (
	SkippedOld      Reason = "old"            // over half a year
	SkippedDrill    Reason = "no-sensitivity" // what the exercise says of a side is not known
	SkippedRepeated Reason = "repeated"       // the same finding stands twice
	SkippedFar      Reason = "far-off"        // one side less than half the other: a slip?
)

// farOff is the ln(right/left) from which a single comparison is taken for a slip and not
// weighed (our judgement, key judgement).
const farOff = math.Ln2

// strengthKinds are kinds that compare the strength of sides in a drill.
var strengthKinds = []client.FindingKind{client.ByRepetitions, client.ByLoad, client.ByHold, client.ByReserve, client.ByEffort, client.ByWords}

// skipped says for each of the client's findings why it is not weighed: empty where it is,
// or where it is a note, a question or of a later day.
func (in Input) skipped(a *session.Athlete) []Reason {
	out := make([]Reason, len(in.Client.Findings))
	for i := range in.Client.Findings {
		f := &in.Client.Findings[i]
		switch {
		case f.Kind == "" || f.Kind == client.ByRange || in.Day.Before(f.On):
		case in.Day.Days(f.On) > oldFinding:
			out[i] = SkippedOld
		case slices.Contains(in.Client.Findings[:i], *f):
			out[i] = SkippedRepeated
		case slices.Contains(strengthKinds, f.Kind):
			out[i] = SkippedDrill
			for _, set := range Sets() {
				if o, ok := ModelOf(set).observation(f, a); ok {
					out[i] = ""
					if !o.Bounded && math.Abs(o.Y) > farOff {
						out[i] = SkippedFar
					}
				}
			}
		}
	}
	return out
}

// notWeighed lists them.
func (in Input) notWeighed() []Skipped {
	out := []Skipped{}
	for i, why := range in.skipped(session.NewAthlete(in.Client, in.Library, nil, in.Day)) {
		if why != "" {
			out = append(out, Skipped{i + 1, in.Client.Findings[i].What, why})
		}
	}
	return out
}
