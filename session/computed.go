package session

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"corbel/anatomy"
	"corbel/body"
	"corbel/client"
	"corbel/exercise"
	"corbel/plan"
	"corbel/unit"
)

// leastComputed is the computed share below which a muscle does not count (our
// judgement; key judgement): the model gives every muscle of the body a little.
const leastComputed = 0.1

// Body is a client's body with the strength that their experience and their lifts
// on record tell. It is read-only once made and may be shared.
type Body struct {
	Body     *body.Body
	Strength *body.Strength
	Lifts    []KnownLift

	library *exercise.Library
	cache   *body.Cache
	asked   sync.Map // exercise id to func() askedOnce
	moments sync.Map // exercise id and load to peaks
}

// A KnownLift is a 1RM on record with what the model says of it.
type KnownLift struct {
	Exercise        *exercise.Exercise
	Side            anatomy.Side
	Known           float64 // kg, as the exercise's load counts
	Before, After   float64 // kg, largest load before any lift is known, and after all
	LeftOut         float64 // kg, predicted from the other lifts
	LowLeft, HiLeft float64 // kg, its 90 % range
}

type askedOnce struct {
	asked *body.Asked
	err   error
}

// NewBody returns the athlete's body; the error says what is missing in the client
// file. The cache may be nil.
func (a *Athlete) NewBody(cache *body.Cache) (*Body, error) {
	m, err := body.MeasuresOf(a.Client, a.Day)
	if err != nil {
		return nil, err
	}
	return a.BodyOf(m, cache)
}

// Levels are the levels of strength of each experience.
var levels = map[client.Experience]float64{client.Some: body.LevelSomeTraining, client.Trained: body.LevelTrained}

// BodyOf is NewBody for given measures.
func (a *Athlete) BodyOf(m body.Measures, cache *body.Cache) (*Body, error) {
	b, err := body.NewBody(m)
	if err != nil {
		return nil, err
	}
	level := levels[a.Client.Experience]
	out := &Body{Body: b, library: a.Library, cache: cache,
		Strength: body.NewStrength(b.Measures.Sex, b.Measures.Mass, b.Measures.Height, level)}
	out.learn(a, level)
	return out, nil
}

// learn moves the strength so that the model meets the lifts on record.
func (b *Body) learn(a *Athlete, level float64) {
	var lifts []body.Lift
	for _, e := range a.Library.All() {
		side, m, ok := a.strongest(e)
		postures := body.Postures(a.Library, e)
		if !ok || len(postures) == 0 {
			continue
		}
		known := m.External
		if slices.Contains(e.Loads, exercise.PerHand) && body.PerHand(postures) {
			known /= 2
		}
		if !(known > 0) || !body.Loaded(postures) {
			continue
		}
		b.Lifts = append(b.Lifts, KnownLift{Exercise: e, Side: side, Known: known})
		lifts = append(lifts, body.Lift{Name: string(e.ID), Known: known, SD: math.Hypot(body.ModelSpread, m.SDLn), Model: body.LiftModel(b.Body, postures)})
	}
	if len(lifts) == 0 {
		return
	}
	learned := body.Learned(b.Body, b.Strength, level, lifts, b.cache)
	learned.Belief.Apply(b.Strength)
	for i := range b.Lifts {
		k, o := &b.Lifts[i], learned.Lifts[i]
		k.Before, k.After, k.LeftOut, k.LowLeft, k.HiLeft = o.Before, o.After, o.Predicted, o.Low, o.High
	}
}

// strongest is the 1RM of an exercise that is on record: of both sides together, or
// of the stronger one.
func (a *Athlete) strongest(e *exercise.Exercise) (side anatomy.Side, most Max, ok bool) {
	for _, s := range []anatomy.Side{anatomy.Both, anatomy.Right, anatomy.Left} {
		if m, known := a.Max(e, s); known && (!ok || m.External > most.External) {
			side, most, ok = s, m, true
		}
	}
	return side, most, ok
}

// Ask says what an exercise asks of this body at a load, kg; below 0 for 75 % of the
// largest. Where the load is below 0 the answer is kept.
func (b *Body) Ask(e *exercise.Exercise, load float64) (*body.Asked, error) {
	ask := func() (*body.Asked, error) {
		return body.AskCached(b.cache, b.Body, b.Strength, body.Postures(b.library, e), load)
	}
	if load >= 0 {
		return ask()
	}
	once, _ := b.asked.LoadOrStore(e.ID, sync.OnceValue(func() askedOnce {
		asked, err := ask()
		return askedOnce{asked, err}
	}))
	r := once.(func() askedOnce)()
	return r.asked, r.err
}

// AskAll works out several exercises on all processors.
func (b *Body) AskAll(all []*exercise.Exercise) {
	var wait sync.WaitGroup
	next := make(chan *exercise.Exercise)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for e := range next {
				_, _ = b.Ask(e, -1) // the error comes again where the answer is used
			}
		})
	}
	for _, e := range all {
		next <- e
	}
	close(next)
	wait.Wait()
}

// Shares is the Sharer of a body: computed shares for the muscles for which the
// library says they are good enough, stated ones for the others and where a posture
// cannot be taken. A coach's override beats both: see [Overriding].
func (b *Body) Shares(c *client.Client, e *exercise.Exercise, load unit.Kilogram) []Share {
	stated := Library{}.Shares(c, e, load)
	if e.Computed == exercise.ComputedNone {
		return stated
	}
	asked, err := b.Ask(e, -1)
	if err != nil {
		return stated
	}
	side := workingSide(asked, e)
	var out []Share
	for _, id := range anatomy.Muscle("").Values() {
		m := anatomy.Muscle(id)
		if !counts(e.Computed, m) {
			if v := e.Shares[m]; v > 0 {
				out = append(out, Share{m, v, Stated, e.Basis})
			}
			continue
		}
		if v := asked.ShareOf(m.Parts(), side); v >= leastComputed {
			out = append(out, Share{m, v, Computed, "body-model"})
		}
	}
	return out
}

// Sided are the computed shares of each side, 0 to 1, of the muscles for which the
// library says they are good enough, those at rest among them: nothing where none is or
// a posture cannot be taken. left is whether the left side of a one-sided exercise works.
func (b *Body) Sided(e *exercise.Exercise, left bool) map[anatomy.MuscleSide]float64 {
	if e.Computed == exercise.ComputedNone {
		return nil
	}
	asked, err := b.Ask(e, -1)
	if err != nil {
		return nil
	}
	words := [2]anatomy.Side{body.Right: anatomy.Right, body.Left: anatomy.Left}
	if left {
		words[body.Right], words[body.Left] = words[body.Left], words[body.Right]
	}
	out := map[anatomy.MuscleSide]float64{}
	for _, id := range anatomy.Muscle("").Values() {
		m := anatomy.Muscle(id)
		if !counts(e.Computed, m) {
			continue
		}
		for side, word := range words {
			out[anatomy.MuscleSide{Muscle: m, Side: word}] = asked.ShareOf(m.Parts(), side)
		}
	}
	return out
}

// workingSide is the side whose computed shares count: the right one, and in an exercise
// done on each side for itself the one that has more to do. A weight carried in the
// right hand is held by the left flank and hip.
func workingSide(asked *body.Asked, e *exercise.Exercise) int {
	var sum [2]float64
	for _, id := range anatomy.Muscle("").Values() {
		m := anatomy.Muscle(id)
		if e.Sides == exercise.EachSide && counts(e.Computed, m) {
			sum[body.Right] += asked.ShareOf(m.Parts(), body.Right)
			sum[body.Left] += asked.ShareOf(m.Parts(), body.Left)
		}
	}
	if sum[body.Left] > sum[body.Right] {
		return body.Left
	}
	return body.Right
}

func (b *Body) steady() {}

// lowerRegions are those of legs and trunk.
var lowerRegions = []anatomy.Region{"foot-and-ankle", "knee", "hip", "low-back"}

// counts says whether the computed share of a muscle counts.
func counts(which exercise.Computed, m anatomy.Muscle) bool {
	if len(m.Parts()) == 0 {
		return false
	}
	return which == exercise.ComputedAll || slices.Contains(lowerRegions, m.Region())
}

// Computable lists the exercises of a block whose computed shares count, those that
// changes bring in among them.
func Computable(b *plan.Block, lib *exercise.Library) []*exercise.Exercise {
	var out []*exercise.Exercise
	take := func(id string) {
		if e := lib.ByID(id); e != nil && e.Computed != exercise.ComputedNone && !slices.Contains(out, e) {
			out = append(out, e)
		}
	}
	for i := range b.Sessions {
		for _, slot := range b.Sessions[i].Slots {
			take(slot.Exercise)
		}
	}
	for _, c := range b.Changes {
		take(c.Exercise)
	}
	return out
}
