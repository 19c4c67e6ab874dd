package session

import (
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// ShareKind says where a share comes from.
type ShareKind string

// Kinds of shares. A coach's beats a computed one, a computed one a stated one.
const (
	Stated   ShareKind = "stated"   // from anatomy and published demands (library)
	Computed ShareKind = "computed" // from the body model
	Coach    ShareKind = "coach"    // set by hand, with who and why
)

// A Share is a muscle's part in an exercise, 0..1 of the largest among the
// muscles that move the load.
type Share struct {
	Muscle anatomy.Muscle
	Value  float64
	Kind   ShareKind
	Basis  string // key in docs/sources.md, or the coach's sentence
}

// A Sharer says what an exercise asks of the muscles of a working side. load is
// the external load; it matters to computed shares only. The result is sorted by
// muscle in the order of anatomy and holds no zero.
type Sharer interface {
	Shares(c *client.Client, e *exercise.Exercise, load unit.Kilogram) []Share
}

// steady is a Sharer whose shares of an exercise are the same for every load.
type steady interface{ steady() }

// Library is the Sharer of stated shares.
type Library struct{}

func (Library) steady() {}

// Shares returns the shares the library states.
func (Library) Shares(_ *client.Client, e *exercise.Exercise, _ unit.Kilogram) []Share {
	var out []Share
	for _, id := range anatomy.Muscle("").Values() {
		if v := e.Shares[anatomy.Muscle(id)]; v > 0 {
			out = append(out, Share{anatomy.Muscle(id), v, Stated, e.Basis})
		}
	}
	return out
}

// Overriding lays coaches' shares over those of another Sharer: the slot's own
// first, then the client's, then the practice's.
type Overriding struct {
	Under    Sharer
	Slot     []client.ShareByCoach
	Client   []client.ShareByCoach
	Practice []client.ShareByCoach
	Day      form.Date
}

// Shares returns the shares with every override that holds on the day.
func (o Overriding) Shares(c *client.Client, e *exercise.Exercise, load unit.Kilogram) []Share {
	out := slices.Clone(o.Under.Shares(c, e, load))
	for _, list := range [][]client.ShareByCoach{o.Practice, o.Client, o.Slot} {
		for _, s := range list {
			if (s.Exercise == string(e.ID) || s.Exercise == "") && s.Holds(o.Day) {
				out = override(out, s)
			}
		}
	}
	return out
}

// override sets one share in a list sorted by muscle; 0 takes it out.
func override(list []Share, s client.ShareByCoach) []Share {
	order := anatomy.Muscle("").Values()
	at := slices.IndexFunc(list, func(x Share) bool {
		return slices.Index(order, string(x.Muscle)) >= slices.Index(order, string(s.Muscle))
	})
	if at < 0 {
		at = len(list)
	}
	if at < len(list) && list[at].Muscle == s.Muscle {
		list = slices.Delete(list, at, at+1)
	}
	if s.Share == 0 {
		return list
	}
	return slices.Insert(list, at, Share{s.Muscle, s.Share, Coach, s.Why})
}

// sharer returns the shares that hold for a slot on the athlete's day.
func (a *Athlete) sharer(slot *plan.Slot) Sharer {
	o := Overriding{Under: a.Under, Slot: slot.Shares, Client: a.Client.Shares, Day: a.Day}
	if a.Practice != nil {
		o.Practice = a.Practice.Shares
	}
	if len(o.Slot)+len(o.Client)+len(o.Practice) == 0 {
		return a.Under
	}
	return o
}
