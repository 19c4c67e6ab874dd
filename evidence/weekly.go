package evidence

import (
	"slices"

	"corbel/anatomy"
	"corbel/client"
)

// WeeklyCaps are the weekly hard sets limited groups start with, for who plans a block.
// It is read-only.
type WeeklyCaps struct{ caps []Cap }

// CapsOf works out the caps of a client: limits on record and those likely enough from
// findings, docs/model/06-evidence.md (22).
func CapsOf(in Input) WeeklyCaps {
	var limits []Limit
	for _, w := range Weigh(in) {
		limits = append(limits, in.limits(w)...)
	}
	return WeeklyCaps{in.caps(limits)}
}

// Cap returns the weekly hard sets of a muscle and side, and false where it is not
// limited, where nothing says what the other side does, or where the coach has set a
// cap: theirs counts.
func (w WeeklyCaps) Cap(c *client.Client, m anatomy.MuscleSide) (sets float64, ok bool) {
	if slices.ContainsFunc(c.Aims, func(a client.Aim) bool { return a.Muscle == m && a.Cap != nil }) {
		return 0, false
	}
	for _, x := range w.caps {
		if x.Muscle == m.Muscle && x.Side == m.Side && x.Hard != nil {
			return *x.Hard, true
		}
	}
	return 0, false
}
