package evidence

import (
	_ "embed"
	"slices"
	"sync"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/num"
	"corbel/session"
)

//go:embed places.csv
var placesText string

var complaintPlaces = sync.OnceValue(func() map[anatomy.Place][2]string {
	t, out := num.ReadTable("places.csv", placesText), map[anatomy.Place][2]string{}
	for i := range t.Len() {
		out[anatomy.Place(t.Text(i, "place"))] = [2]string{t.Text(i, "set"), t.Text(i, "region")}
	}
	return out
})

// oldFinding is how many days a finding counts (our judgement, key judgement).
const oldFinding = 182

// An Input is what an assessment looks at. It is not changed.
type Input struct {
	Client   *client.Client
	Library  *exercise.Library
	Day      form.Date
	Language form.Language // of the texts; English if empty
	Scope    Scope         // between which hypotheses the next test decides
	// Allowed says why an exercise may not be tested with: nothing where it may.
	Allowed func(*exercise.Exercise) string
}

// A Weighed is what findings of one set of groups say.
type Weighed struct {
	*Belief
	From      []Source // what each observation is
	Complains int      // number of the finding that is the complaint; -1 none, -2 a report of pain
}

// A Source is a finding, or two lifts on record that compare the sides.
type Source struct {
	Number int // place of the finding in the client file from 1; 0 for lifts
	Text   string
}

// complaintFromPain is Weighed.Complains of a complaint that is a report of pain.
const complaintFromPain = -2

// Weigh takes the client's findings and lifts of both sides in, set by set; a set without
// any finding or complaint is left out. Notes and ranges are not weighed, nor is what
// [Assessment.NotWeighed] lists.
func Weigh(in Input) []*Weighed {
	athlete := session.NewAthlete(in.Client, in.Library, nil, in.Day)
	pairs, skip := in.liftPairs(), in.skipped(athlete)
	var out []*Weighed
	for _, set := range Sets() {
		m := ModelOf(set)
		w := &Weighed{Complains: -1}
		var obs []Observation
		for i := range in.Client.Findings {
			f := &in.Client.Findings[i]
			if in.Day.Before(f.On) || skip[i] != "" {
				continue
			}
			if o, ok := m.observation(f, athlete); ok {
				obs, w.From = append(obs, o), append(w.From, Source{i + 1, f.What})
			}
		}
		for _, p := range pairs {
			if o, ok := m.compared(p, athlete); ok {
				obs, w.From = append(obs, o), append(w.From, Source{0, in.liftWords(p)})
			}
		}
		say := m.says(in, w)
		if len(obs) == 0 && w.Complains == -1 {
			continue
		}
		w.Belief = m.Infer(say, obs)
		out = append(out, w)
	}
	return out
}

// says finds the complaint: the last finding of that kind, else the last report of
// pain that has not settled.
func (m *Model) says(in Input, w *Weighed) Complaint {
	var out Complaint
	var last form.Date
	take := func(number int, place anatomy.Place, side anatomy.Side, on form.Date) {
		at, ok := complaintPlaces()[place]
		if !ok || at[0] != m.Set || in.Day.Before(on) || in.Day.Days(on) > oldFinding || on.Before(last) {
			return
		}
		last, w.Complains = on, number
		out = Complaint{Region: at[1], Side: sideOf(side)}
	}
	for i, f := range in.Client.Findings {
		if f.Kind == client.Complained {
			take(i, f.Place, f.Side, f.On)
		}
	}
	if w.Complains == -1 {
		for _, p := range in.Client.Pain {
			if p.Until.IsZero() {
				take(complaintFromPain, p.Place, p.Side, p.On)
			}
		}
	}
	return out
}

// sideOf returns the side, 0 for both or none.
func sideOf(s anatomy.Side) Side {
	switch s {
	case anatomy.Left:
		return Left
	case anatomy.Right:
		return Right
	}
	return 0
}

// observation reads a finding for the model; ok is false where it is none of its.
func (m *Model) observation(f *client.Finding, a *session.Athlete) (o Observation, ok bool) {
	l, r, compared := f.Compared()
	if measure := Measure(f.Kind); slices.Contains([]Measure{HipShift, KneeLine, PelvisDrop}, measure) && compared {
		o, ok = m.OfVideo(measure, r-l)
		if e, err := f.Kind.Measured(f.Error); f.Error != "" && err == nil {
			o.SD = max(o.SD, e) // never less than the model's, which holds habit as well
		}
		return o, ok
	}
	d := m.Drill(f.Exercise)
	if d == nil {
		return o, false
	}
	e := a.Library.ByID(f.Exercise)
	k, _ := a.LiftK(e)
	sets := max(f.Sets, 1)
	switch f.Kind {
	case client.ByWords:
		return d.OfWords(f.Harder, sideOf(f.Side)), true
	case client.ByRepetitions:
		return d.OfRepetitions(l, r, k, sets), compared
	case client.ByReserve:
		return d.OfReserve(l, r, float64(f.Reps), k), compared
	case client.ByEffort:
		return d.OfReserve(mostEffort-l, mostEffort-r, float64(f.Reps), k), compared
	case client.ByLoad:
		b := a.Carried(e)
		return d.OfLoads(l+b, r+b, sets), compared
	case client.ByHold:
		return d.OfHolds(l, r, sets), compared
	}
	return o, false
}

// mostEffort is the top of a rating of effort (1).
const mostEffort = 10
