package evidence

import (
	"math"

	"corbel/form"
	"corbel/session"
)

// lifts refits all exercises together and judges their maxima.
func (j *Judgement) lifts(in JudgeInput, a *session.Athlete) {
	first, later := in.span()
	all := in.logged(a)
	keys := sortedKeys(all)
	before := session.NewAthlete(in.Client, in.Library, nil, first)
	var logs []Logged
	var after []int // used sets of the later period
	for _, key := range keys {
		e := in.Library.ByID(key.exercise)
		l := Logged{Sets: ordered(all[key], first, later), Rep: float64(e.Repetition.Second())}
		l.Prior.K, l.Prior.KSD = a.K(e)
		if m, ok := before.Max(e, key.side); ok {
			l.Prior.Max, l.Prior.MaxSD = m.External+a.Carried(e), math.Hypot(m.SDLn, FitMaxLift)
		}
		n := periods(l.Sets, l.Prior.Max)
		l.Later = n[0] >= leastSets && n[1] >= leastSets
		logs, after = append(logs, l), append(after, n[1])
	}
	h := RefitAll(logs)
	for i, key := range keys {
		f, carried := h.Fit(i), a.Carried(in.Library.ByID(key.exercise))
		j.flag(key, all[key], logs[i].Sets, f, first)
		j.Fits = append(j.Fits, in.fitReport(key, f, carried))
		if logs[i].Later {
			j.Lifts = append(j.Lifts, liftChange(key, f, carried, after[i]))
		}
	}
	j.Traits = in.traits(h.Traits())
}

// periods counts the sets a fit uses in the earlier and the later period.
func periods(sets []LoggedSet, best float64) (n [2]int) {
	for i, flag := range usable(sets, best) {
		switch {
		case flag != FlagNone:
		case sets[i].After:
			n[1]++
		default:
			n[0]++
		}
	}
	return n
}

// traits says what the logs tell of the client.
func (in JudgeInput) traits(t Traits) *TraitReport {
	if t.Sets == 0 {
		return nil
	}
	r := &TraitReport{Bias: round(t.Bias), BiasSD: round(t.BiasSD), Sets: t.Sets, Outside: round(t.Outside)}
	if t.Sets >= traitSets {
		r.Recovery = new(round(t.Recovery))
	}
	if t.Sets >= warnSets && t.Outside >= warnFrom {
		r.Warn = in.pick("the model does not fit this client: three sets in ten and more lie outside the 80 % range that was expected; look at loads, repetitions and reserves of the log, and trust no prediction yet",
			"das Modell passt nicht zu diesem Klienten: drei von zehn Sätzen und mehr liegen außerhalb des erwarteten 80-%-Bereichs; Lasten, Wiederholungen und Reserven im Protokoll prüfen und noch keiner Vorhersage trauen")
	}
	return r
}

// liftChange judges the maximum of two periods.
func liftChange(key liftKey, f Fit, carried float64, after int) Change {
	d := math.Log(f.Later / f.Max)
	c := Change{Name: key.exercise, Measure: "one_rm", Side: key.side, Before: round(f.Max - carried), After: round(f.Later - carried),
		Change: round(percent * d), Error: round(percent * f.LaterSD), From: "fit", Verdict: VerdictOf(d, f.LaterSD)}
	if z := math.Abs(d) / f.LaterSD; z >= surely {
		c.Trials = new(0)
	} else if more := math.Ceil(float64(after) * (surely*surely/(z*z) - 1)); z > 0 && more <= mostMoreTrials {
		c.Trials = new(int(more))
	}
	return c
}

func (in JudgeInput) fitReport(key liftKey, f Fit, carried float64) FitReport {
	last, sd := f.Later, f.LastSD
	r := FitReport{Exercise: key.exercise, Side: key.side, Max: round(last - carried), Low: round(last*math.Exp(-prudent*sd) - carried), High: round(last*math.Exp(prudent*sd) - carried),
		K: math.Round(1e5*f.K) / 1e5, Sets: f.Sets, State: f.State, Outside: round(f.Outside)}
	switch {
	case f.Sets >= warnSets && f.Outside >= warnFrom:
		r.Warn = in.pick("three sets in ten and more lie outside the 80 % range that was expected: loads or repetitions in the log may be wrong, or the client differs", "drei von zehn Sätzen und mehr liegen außerhalb des erwarteten 80-%-Bereichs: Lasten oder Wiederholungen im Protokoll können falsch sein, oder der Klient ist anders")
	case f.SingleLoad && f.Sets > 0:
		r.Warn = in.pick("all sets at much the same load: the 1RM is a guess when the load changes by more than 10 points", "alle Sätze mit fast gleicher Last: Das 1RM ist geraten, sobald sich die Last um mehr als 10 Punkte ändert")
	}
	return r
}

// flag lists sets that no fit uses.
func (j *Judgement) flag(key liftKey, lines []line, sets []LoggedSet, f Fit, first form.Date) {
	for _, l := range lines {
		flag := l.flag
		for i, s := range sets {
			if flag == FlagNone && s.Day == l.on.Days(first) && s.Load == l.done.Load && s.Reps == l.done.Reps && f.Flags[i] != FlagNone {
				flag = f.Flags[i]
			}
		}
		if flag != FlagNone {
			j.Flagged = append(j.Flagged, FlaggedSet{key.exercise, key.side, l.on.String(), l.what, flag})
		}
	}
}
