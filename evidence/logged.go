package evidence

import (
	"cmp"
	"slices"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// unsaidRest is the rest taken where a slot writes none, s (our judgement).
const unsaidRest = 120.0

// A line is a logged set with what is needed to use it.
type line struct {
	key  plan.LogKey
	on   form.Date
	done LoggedSet
	flag Flag // of the reader: repeated
	what string
}

// A liftKey is an exercise and a side.
type liftKey struct {
	exercise string
	side     anatomy.Side
}

// logged gathers the sets of all logs by exercise and side. Of lines with one key the
// last counts; the others are flagged. Loads of bands and pins have no mass and are
// left out here.
func (in JudgeInput) logged(a *session.Athlete) map[liftKey][]line {
	out := map[liftKey][]line{}
	type place struct {
		key liftKey
		at  int
	}
	seen := map[plan.LogKey]place{}
	for _, log := range in.Logs {
		for _, b := range in.Blocks {
			for _, l := range b.Match(log) {
				e := in.Library.ByID(l.Exercise)
				if e == nil || in.Day.Before(l.Entry.On) {
					continue
				}
				x := line{key: l.Entry.Key(l.Set), on: l.Entry.On, what: l.Set.Done.String()}
				x.done = LoggedSet{Reps: float64(l.Set.Done.Work.Low), Rest: restOf(b, l)}
				if low, high, ok := l.Set.Done.Effort.Reserve(); ok {
					x.done.RIR, x.done.Said = (low+high)/2, true
				}
				kg, ok := massOf(l.Set.Done.Load, e, a)
				if l.Set.Done.Work.Kind != plan.Repetitions || !ok {
					continue
				}
				x.done.Load = kg
				k := liftKey{l.Exercise, l.Set.Side}
				if old, twice := seen[x.key]; twice {
					out[old.key][old.at].flag = FlagRepeated
				}
				seen[x.key] = place{k, len(out[k])}
				out[k] = append(out[k], x)
			}
		}
	}
	return out
}

// strays lists what belongs to no block or slot that was given: it stays in the log, and
// the coach is told.
func (in JudgeInput) strays() []FlaggedSet {
	var out []FlaggedSet
	for _, log := range in.Logs {
		for i := range log.Entries {
			e := &log.Entries[i]
			at := slices.IndexFunc(in.Blocks, func(b *plan.Block) bool { return b.ID == e.Block })
			if at < 0 {
				out = append(out, FlaggedSet{On: e.On.String(), Done: string(e.Block) + ", " + string(e.Session), Flag: FlagNoBlock})
				continue
			}
			for _, s := range e.Sets {
				if _, slot := in.Blocks[at].SlotByID(s.Slot); slot == nil && s.Exercise == "" {
					out = append(out, FlaggedSet{Side: s.Side, On: e.On.String(), Done: string(s.Slot) + ": " + s.Done.String(), Flag: FlagNoSlot})
				}
			}
		}
	}
	return out
}

// massOf is the mass of a set with the body mass that counts, kg.
func massOf(l plan.Load, e *exercise.Exercise, a *session.Athlete) (float64, bool) {
	kg := float64(l.Mass.Kilogram())
	switch l.Kind {
	case plan.Mass, plan.Added:
	case plan.MassInHand:
		kg *= 2
	case plan.Assisted:
		kg = -kg
	case plan.BodyWeight:
		kg = 0
	case plan.Unsaid:
		if e.Loads[0] != exercise.BodyWeight {
			return 0, false
		}
	default:
		return 0, false
	}
	return kg + a.Carried(e), true
}

// restOf is the rest of a slot, s.
func restOf(b *plan.Block, l plan.Line) float64 {
	if l.Slot == nil || l.Entry.Week < 1 || l.Entry.Week > b.Weeks {
		return unsaidRest
	}
	if t := float64(b.DoseIn(l.Slot, l.Entry.Week).Rest.Second()); t > 0 {
		return t
	}
	return unsaidRest
}

// ordered puts lines in the order they were done, without those that are repeated, and
// numbers their days; later says from which day on sets are of the later period.
func ordered(lines []line, start, later form.Date) []LoggedSet {
	kept := slices.DeleteFunc(slices.Clone(lines), func(l line) bool { return l.flag == FlagRepeated })
	slices.SortStableFunc(kept, func(x, y line) int {
		return cmp.Or(x.on.Days(y.on), cmp.Compare(x.key.Set, y.key.Set))
	})
	var out []LoggedSet
	for i, l := range kept {
		s := l.done
		s.Day, s.After = l.on.Days(start), !l.on.Before(later)
		if i == 0 || kept[i-1].on != l.on {
			s.Rest = 0
		}
		out = append(out, s)
	}
	return out
}

// sortedKeys lists exercises and sides in a fixed order.
func sortedKeys(m map[liftKey][]line) []liftKey {
	var out []liftKey
	for k := range m {
		out = append(out, k)
	}
	slices.SortFunc(out, func(x, y liftKey) int {
		return cmp.Or(cmp.Compare(x.exercise, y.exercise), cmp.Compare(x.side, y.side))
	})
	return out
}

// testFindings turns what was measured in the logs into findings of the client, so that
// they are weighed like all others.
func (in JudgeInput) testFindings() []client.Finding {
	kinds := map[plan.MeasureKind]client.FindingKind{"reps": client.ByRepetitions, "reserve": client.ByReserve, "rating": client.ByEffort, "time": client.ByHold, "load": client.ByLoad}
	var out []client.Finding
	for _, log := range in.Logs {
		for _, b := range in.Blocks {
			for i := range log.Entries {
				e := &log.Entries[i]
				if e.Block != b.ID || in.Day.Before(e.On) {
					continue
				}
				for _, t := range e.Tests {
					_, slot := b.SlotByID(t.Slot)
					kind, known := kinds[t.Measure]
					if slot == nil || !known || t.Left == nil || t.Right == nil {
						continue
					}
					f := client.Finding{On: e.On, Kind: kind, Exercise: slot.ExerciseAt(e.Revision), Source: "log",
						Left: figure(kind, *t.Left, t.Unit), Right: figure(kind, *t.Right, t.Unit), Reps: repsOf(e, t.Slot)}
					f.What = in.pick("logged test, ", "Test im Protokoll, ") + e.On.String()
					if _, _, ok := f.Compared(); ok && (kind != client.ByReserve && kind != client.ByEffort || f.Reps > 0) && !slices.ContainsFunc(out, func(x client.Finding) bool { return x == f }) {
						out = append(out, f)
					}
				}
			}
		}
	}
	return out
}

// repsOf is how many repetitions were done in the last logged set of a slot.
func repsOf(e *plan.Entry, slot form.ID) int {
	reps := 0
	for _, s := range e.Sets {
		if s.Slot == slot && s.Done.Work.Kind == plan.Repetitions {
			reps = int(s.Done.Work.Low)
		}
	}
	return reps
}
