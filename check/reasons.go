package check

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/session"
)

// Bounds of the reasons (docs/model/05-reasons.md; our judgement, key judgement).
const (
	keptShare   = 0.8   // a reason holds where it does in this share of the draws
	drillCost   = 0.5   // repetitions a set a preparing exercise may cost the later one
	mainCost    = 0.5   // repetitions a set earlier work may cost a lift that is practised
	freshMuscle = 0.98  // capacity a tested muscle must have left
	leading     = 0.5   // share from which a muscle leads an exercise
	spareSets   = 1.0   // sets fewer a spared exercise must need
	lowLoad     = 0.5   // fraction of 1RM up to which work restores
	testBits    = 0.1   // bits a test must bring
	testRate    = 0.015 // bits a minute
)

// A ReasonResult is a declared reason with the outcome of its test.
type ReasonResult struct {
	Reason  string  `json:"reason"`        // test, prepare, practise, load, spare, restore
	Of      string  `json:"of"`            // muscle, slot, lift or region it names
	For     string  `json:"for,omitempty"` // slot spare is for
	Holds   bool    `json:"holds"`
	Share   float64 `json:"share_of_draws"` // 1 or 0 without draws
	Because string  `json:"because"`

	number int    // place in the slot's reasons
	about  string // what it claims, told apart from others of the slot
	idle   bool   // a muscle is built without it
	drawn  bool   // it holds on the mean and fails in too many draws
}

// A Link joins two exercises of a session or week by a reason that holds.
type Link struct {
	From   string  `json:"from"`
	To     string  `json:"to"`
	Kind   string  `json:"kind"`
	Amount float64 `json:"amount"`
	Unit   string  `json:"unit"`
}

// A trial is one reason being tested for one item of a visit.
type trial struct {
	*rules
	w      *session.Week
	v      *session.Visit
	item   int
	reason plan.Reason
}

// testReasons tests the declared reasons of every item of a visit.
func (r *rules) testReasons(w *session.Week, v *session.Visit) {
	for i, it := range v.Items {
		at := place{v.Week, v.Session.ID, it.Slot.ID}
		for n, reason := range it.Slot.Reasons {
			t := trial{r, w, v, i, reason}
			res := t.test()
			res.number, res.about = n, strings.TrimSpace(fmt.Sprint(res.Reason, " ", res.Of, " ", res.For))
			for k := 2; slices.ContainsFunc(r.reasons[at], func(x ReasonResult) bool { return x.about == res.about }); k++ {
				res.about = fmt.Sprintf("%s (%d)", strings.TrimSpace(fmt.Sprint(res.Reason, " ", res.Of, " ", res.For)), k)
			}
			r.reasons[at] = append(r.reasons[at], res)
		}
	}
}

// test runs the test of the reason's kind.
func (t trial) test() ReasonResult {
	switch x := t.reason; {
	case x.Test != nil:
		return t.testLimit()
	case x.Prepare != "":
		return t.prepare()
	case x.Practise != "":
		return t.practise()
	case x.Load != nil:
		return t.load()
	case x.Spare != nil:
		return t.spare()
	}
	return t.restore()
}

// result builds the outcome (R7); holds is asked for every draw, or for the mean (-1).
func (t trial) result(kind exercise.Reason, of, because string, holds func(draw int) bool) ReasonResult {
	res := ReasonResult{Reason: string(kind), Of: of, Because: because, Share: t.v.Share(holds)}
	res.Holds = res.Share >= keptShare
	res.drawn = !res.Holds && holds(-1)
	if t.v.Draws != nil && res.Share < 1 {
		text := t.pick("; holds in %s %% of the draws", "; hält in %s %% der Ziehungen")
		if !res.Holds {
			text = t.pick("; holds in only %s %% of the draws", "; hält nur in %s %% der Ziehungen")
		}
		res.Because += fmt.Sprintf(text, t.number(math.Floor(100*res.Share), 0))
	}
	return res
}

// no is the outcome of a reason that fails before any number is asked.
func (t trial) no(kind exercise.Reason, of, because string) ReasonResult {
	return ReasonResult{Reason: string(kind), Of: of, Because: because}
}

// idle is the outcome of building a muscle that is built without it.
func (t trial) idle(of, because string) ReasonResult {
	res := t.no(exercise.Load, of, because)
	res.idle = true
	return res
}

// link records a link of a reason that holds.
func (t trial) link(res ReasonResult, to string, amount float64, unit string) ReasonResult {
	if res.Holds {
		key := visitKey(t.v)
		t.links[key] = append(t.links[key], Link{string(t.v.Items[t.item].Slot.ID), to, res.Reason, round3(amount), unit})
	}
	return res
}

func visitKey(v *session.Visit) string { return fmt.Sprintf("%d %s", v.Week, v.Session.ID) }

// itemOf returns the item of a slot in the trial's visit, or -1.
func (t trial) itemOf(id form.ID) int {
	return slices.IndexFunc(t.v.Items, func(it session.Item) bool { return it.Slot.ID == id })
}

// repsASet writes repetitions a set.
func (r *rules) repsASet(x float64) string {
	if math.Abs(x) < 0.05 {
		return r.pick("nothing", "nichts")
	}
	n := r.number(x, 1)
	if n == "1" {
		return r.pick("1 repetition a set", "1 Wiederholung je Satz")
	}
	return n + r.pick(" repetitions a set", " Wiederholungen je Satz")
}

// testLimit (R1): the limit is on record, a measure is asked for, the exercise is
// direct work for it, and the muscle comes to it fresh.
func (t trial) testLimit() ReasonResult {
	it, m := t.v.Items[t.item], *t.reason.Test
	of := m.String()
	onRecord := slices.ContainsFunc(t.in.Client.Limits, func(l client.Limit) bool {
		return l.Muscle.Muscle == m.Muscle && l.Muscle.Side.Meets(m.Side)
	})
	left := t.leastLeft(m)
	bits, minutes, known := t.information(m)
	info := t.pick("; its information is not known", "; die Information ist nicht bekannt")
	if known {
		info = fmt.Sprintf(t.pick("; it brings %s bit in %s min", "; er bringt %s Bit in %s min"), t.number(bits, 2), t.number(minutes, 0))
	}
	switch {
	case !onRecord:
		return t.no(exercise.Test, of, t.pick("this limit is not on record for the client", "diese Grenze ist für den Klienten nicht vermerkt"))
	case !slices.Contains(it.Exercise.Direct, m.Muscle):
		return t.no(exercise.Test, of, fmt.Sprintf(t.pick("%s is not direct work for the %s", "%s ist keine direkte Arbeit für: %s"), t.name(it.Exercise), m.Muscle.In(t.lang)))
	case len(it.Dose.Measure) == 0:
		return t.no(exercise.Test, of, t.pick("no measure is asked for; write what the client notes down", "es wird kein Messwert verlangt; angeben, was notiert werden soll"))
	case left < freshMuscle:
		return t.no(exercise.Test, of, fmt.Sprintf(t.pick("earlier work leaves the muscle %s %% of its capacity; a test comes first", "frühere Arbeit lässt dem Muskel %s %% seiner Kapazität; ein Test kommt zuerst"), t.number(100*left, 0)))
	}
	if known && (bits < testBits || bits < testRate*minutes) {
		return t.no(exercise.Test, of, fmt.Sprintf(t.pick("it tells too little: %s bit in %s min; at least %s bit and %s bit a minute are asked for", "er sagt zu wenig: %s Bit in %s min; verlangt sind mindestens %s Bit und %s Bit je Minute"),
			t.number(bits, 2), t.number(minutes, 0), t.number(testBits, 2), t.number(testRate, 3)))
	}
	return t.result(exercise.Test, of, fmt.Sprintf(t.pick("the muscle comes fresh (%s %% left) and a measure is asked for%s", "der Muskel ist frisch (%s %% übrig) und ein Messwert wird verlangt%s"), t.number(100*left, 0), info), func(int) bool { return true })
}

// leastLeft returns what a muscle has left at the start of the item, the lesser
// of the sides named.
func (t trial) leastLeft(m anatomy.MuscleSide) float64 {
	left := 1.0
	for key, x := range t.v.Slots[t.item].Prefatigue {
		if key.Muscle == m.Muscle && key.Side.Meets(m.Side) {
			left = min(left, x)
		}
	}
	return left
}

// prepare (R2): the later exercise comes later, has its leading muscles or pattern
// used, and loses under half a repetition a set.
func (t trial) prepare() ReasonResult {
	of := string(t.reason.Prepare)
	to := t.itemOf(t.reason.Prepare)
	if to <= t.item {
		return t.no(exercise.Prepare, of, t.pick("that exercise does not come later in this session", "diese Übung folgt nicht später in dieser Einheit"))
	}
	it, later := t.v.Items[t.item].Exercise, t.v.Items[to].Exercise
	shared := t.sharedLeading(it, later)
	if len(shared) == 0 && it.Pattern != later.Pattern {
		return t.no(exercise.Prepare, of, fmt.Sprintf(t.pick("%s neither leads with a muscle of %s nor has its pattern", "%s führt weder mit einem Muskel von %s noch mit dessen Muster"), t.name(it), t.name(later)))
	}
	cost := t.v.LostIn(-1, t.item, to)
	what := t.pick("its pattern", "das Muster")
	if len(shared) > 0 {
		what = shared[0].In(t.lang)
	}
	because := fmt.Sprintf(t.pick("uses %s first and costs it %s", "beansprucht vorab %s und kostet %s"), what, t.repsASet(cost))
	res := t.result(exercise.Prepare, of, because, func(d int) bool { return t.v.LostIn(d, t.item, to) < drillCost })
	return t.link(res, of, cost, "repetitions a set")
}

// sharedLeading lists muscles that lead both exercises, those of the earlier
// one's direct list first.
func (r *rules) sharedLeading(e, later *exercise.Exercise) []anatomy.Muscle {
	var out []anatomy.Muscle
	share := func(e *exercise.Exercise, m anatomy.Muscle) float64 {
		for _, s := range r.athlete.Under.Shares(r.in.Client, e, 0) {
			if s.Muscle == m {
				return s.Value
			}
		}
		return 0
	}
	for _, m := range e.Direct {
		if share(later, m) >= leading {
			out = append(out, m)
		}
	}
	for _, m := range e.Indirect {
		if share(e, m) >= leading && slices.Contains(later.Direct, m) {
			out = append(out, m)
		}
	}
	return out
}

// practise (R3): the lift itself or a declared variant, and earlier exercises cost it
// at most half a repetition a set.
func (t trial) practise() ReasonResult {
	of, it := t.reason.Practise, t.v.Items[t.item]
	lift := t.in.Library.ByID(of)
	switch {
	case !it.Exercise.Counts(of):
		return t.no(exercise.Practise, of, fmt.Sprintf(t.pick("%s is not %s or a variant of it", "%s ist weder %s noch eine Variante davon"), t.name(it.Exercise), t.name(lift)))
	case !slices.Contains(t.athlete.Judged(), of):
		return t.no(exercise.Practise, of, fmt.Sprintf(t.pick("the client is not judged by the %s: no goal or aim names it", "der Klient wird nicht daran gemessen: kein Ziel nennt %s"), t.name(lift)))
	}
	cost := t.costTo(-1)
	because := fmt.Sprintf(t.pick("earlier exercises cost it %s", "frühere Übungen kosten %s"), t.repsASet(cost))
	return t.result(exercise.Practise, of, because, func(d int) bool { return t.costTo(d) <= mainCost })
}

// costTo returns what all earlier items cost the trial's item.
func (t trial) costTo(draw int) float64 {
	sum := 0.0
	for from := range t.v.Items {
		if from != t.item {
			sum += t.v.LostIn(draw, from, t.item)
		}
	}
	return sum
}

// load (R4): at least one counted hard set inside the cap, and without it the muscle
// would miss its aim.
func (t trial) load() ReasonResult {
	m := *t.reason.Load
	of := m.String()
	mine := session.Pick(t.v.Slots[t.item].Work, m.Muscle, m.Side).Sum()
	total := t.w.Of(m.Muscle, m.Side).Sum()
	aim, ok := t.aimFor(m)
	limit, capped := capOf(aim, ok)
	counts := fmt.Sprintf(t.pick("counts %s of the week's %s hard sets", "zählt %s der %s harten Sätze je Woche"), t.number(mine, 1), t.number(total, 1))
	switch {
	case mine < 0.5:
		return t.no(exercise.Load, of, counts+t.pick("; to build, it would count at least half a hard set", "; zum Aufbau müsste es mindestens ein halber harter Satz sein"))
	case capped && total-mine >= limit:
		return t.idle(of, counts+fmt.Sprintf(t.pick("; the cap of %s is full without it", "; die Obergrenze von %s ist ohne diese Übung erreicht"), t.number(limit, 1)))
	case ok && !t.deload(t.v.Week) && total-mine >= aim.Sets.Low:
		return t.idle(of, counts+fmt.Sprintf(t.pick("; the aim of %s is met without it", "; das Ziel von %s ist ohne diese Übung erreicht"), aim.Sets))
	case ok:
		counts += fmt.Sprintf(t.pick("; the aim is %s", "; das Ziel ist %s"), aim.Sets)
	default:
		counts += t.pick("; no aim is set for this muscle", "; für diesen Muskel ist kein Ziel gesetzt")
	}
	return t.result(exercise.Load, of, counts, func(d int) bool { return t.hardSets(d) >= 0.5 })
}

// hardSets returns in a draw how many sets of the item come to at least half a
// hard set.
func (t trial) hardSets(draw int) float64 {
	n := 0.0
	for i, s := range t.v.Sets {
		if s.Item == t.item && !s.Warm && t.v.ReserveIn(draw, i) <= halfHard {
			n++
		}
	}
	return n
}

// halfHard is the reserve at which a set counts half, repetitions
// (docs/model/03-session.md (15)).
const halfHard = 5.5

// aimFor returns the client's aim for a muscle: one for the same side first.
func (r *rules) aimFor(m anatomy.MuscleSide) (client.Aim, bool) {
	best, found := client.Aim{}, false
	for _, a := range r.in.Client.Aims {
		if a.Muscle.Muscle != m.Muscle || !a.Muscle.Side.Meets(m.Side) {
			continue
		}
		if !found || a.Muscle.Side == m.Side {
			best, found = a, true
		}
	}
	return best, found
}

func capOf(a client.Aim, ok bool) (float64, bool) {
	if !ok || a.Cap == nil {
		return 0, false
	}
	return *a.Cap, true
}

// spare (R5): earlier in the week it did part of a later exercise's job, so that the
// later one needs at least one set fewer for the same aim.
func (t trial) spare() ReasonResult {
	m := *t.reason.Spare
	of := m.String()
	res := func(r ReasonResult) ReasonResult { r.For = string(t.reason.For); return r }
	later, set := t.laterInWeek(t.reason.For, m)
	if later == nil {
		return res(t.no(exercise.Spare, of, t.pick("that exercise does not come later in the week", "diese Übung folgt nicht später in der Woche")))
	}
	mine := session.Pick(t.v.Slots[t.item].Work, m.Muscle, m.Side).Sum()
	if set <= 0 {
		return res(t.no(exercise.Spare, of, fmt.Sprintf(t.pick("%s is not counted for this muscle", "%s wird für diesen Muskel nicht gezählt"), t.name(later))))
	}
	saved := mine / set
	because := fmt.Sprintf(t.pick("hard sets counted: %s; sets of %s saved for the same aim: %s", "harte Sätze gezählt: %s; bei gleichem Ziel gespart an %s: %s"), t.number(mine, 1), t.name(later), t.number(saved, 1))
	out := t.result(exercise.Spare, of, because, func(d int) bool { return saved >= spareSets && t.hardSets(d) >= 0.5 })
	return t.link(res(out), string(t.reason.For), saved, "sets")
}

// laterInWeek finds a slot that comes later in the week and what one hard set of
// it counts for the muscle.
func (t trial) laterInWeek(id form.ID, m anatomy.MuscleSide) (*exercise.Exercise, float64) {
	seen := false
	for _, v := range t.w.Visits {
		for i, it := range v.Items {
			if v == t.v && i == t.item {
				seen = true
				continue
			}
			if seen && it.Slot.ID == id {
				return it.Exercise, declared(it.Exercise, m.Muscle)
			}
		}
	}
	return nil, 0
}

// declared returns what one hard set of an exercise counts for a muscle.
func declared(e *exercise.Exercise, m anatomy.Muscle) float64 {
	switch {
	case slices.Contains(e.Direct, m):
		return 1
	case slices.Contains(e.Indirect, m):
		return 0.5
	}
	return 0
}

// restore (R6): the exercise may restore, moves the region, is light, and counts no
// hard set.
func (t trial) restore() ReasonResult {
	region, it := t.reason.Restore, t.v.Items[t.item]
	of := string(region)
	switch {
	case !slices.Contains(it.Exercise.May, exercise.Restore):
		return t.no(exercise.Restore, of, fmt.Sprintf(t.pick("%s is not an exercise for range or easy circulation", "%s ist keine Übung für Beweglichkeit oder leichte Durchblutung"), t.name(it.Exercise)))
	case !it.Exercise.LoadsRegion(region):
		return t.no(exercise.Restore, of, fmt.Sprintf(t.pick("%s does not move the %s", "%s bewegt diese Region nicht: %s"), t.name(it.Exercise), region.In(t.lang)))
	case t.heaviest() > lowLoad && !onlyBody(it.Exercise):
		return t.no(exercise.Restore, of, t.pick("its load is not low", "die Last ist nicht gering"))
	}
	return t.result(exercise.Restore, of, t.pick("light, moves the region, counts no hard set", "leicht, bewegt die Region, zählt keinen harten Satz"), func(int) bool { return true })
}

// heaviest returns the largest load of the item, fraction of 1RM.
func (t trial) heaviest() float64 {
	p := 0.0
	for _, s := range t.v.Sets {
		if s.Item == t.item {
			p = max(p, s.P)
		}
	}
	return p
}

func onlyBody(e *exercise.Exercise) bool {
	return e.Loads[0] == exercise.BodyWeight
}

// round3 rounds to thousandths, so that reports are the same to the byte on
// every machine.
func round3(x float64) float64 {
	if x < 0 {
		return -round3(-x)
	}
	return float64(int64(x*1000+0.5)) / 1000
}
