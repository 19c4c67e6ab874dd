package web

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"corbel/design"
	"corbel/exercise"
	"corbel/form"
	"corbel/practice"
	"corbel/sheet"
)

// A proposalShown is a proposed block with what explains it.
type proposalShown struct {
	Seed                   uint64
	Keep, Few              bool
	Title                  string
	Value, Short, Possible string
	Sessions               []proposalSession
	Coverage               []proposalCoverage
	Unmet                  []string
	Rules                  [][2]string
}

// A proposalSession is a session of a proposal.
type proposalSession struct {
	Name  string
	Slots []proposalSlot
}

// A proposalSlot is an exercise of a proposal.
type proposalSlot struct {
	ID, Exercise, Name, Dose, Stage string
	Reasons                         []string
	Drop                            string
	Replacements                    []string
}

// A proposalCoverage is what a muscle or lift gets beside its aim.
type proposalCoverage struct{ Name, Got, Aim string }

// wishOf reads what a proposal is asked for; the next Monday where no day is given.
func (s *server) wishOf(v *visit) practice.ProposalWish {
	w := practice.ProposalWish{Keep: v.FormValue("keep") != "", Few: v.FormValue("few") != "", Seed: max(uint64(number(v.FormValue("seed"))), 1)}
	if day, err := form.ParseDate(v.FormValue("start")); err == nil {
		w.Start = day
		return w
	}
	for w.Start = form.DateOf(s.practice.Now()).Plus(1); w.Start.Time().Weekday() != time.Monday; {
		w.Start = w.Start.Plus(1)
	}
	return w
}

// proposePage shows what a block is proposed from, and with `ask` the proposal; with
// `second` another one beside it.
func (s *server) proposePage(v *visit) error {
	p, err := s.practice.Person(v.Context(), v.who, v.PathValue("id"))
	if err != nil {
		return err
	}
	w := s.wishOf(v)
	data := map[string]any{"Title": v.say("Propose a block", "Block vorschlagen"), "Person": p, "Client": p.Client, "Wish": w, "Start": w.Start.String(), "Second": v.FormValue("second") != "", "Wide": true}
	if v.FormValue("ask") == "" {
		s.show(v, http.StatusOK, "propose", data)
		return nil
	}
	var shown []proposalShown
	wishes := []practice.ProposalWish{w}
	if v.FormValue("second") != "" {
		other := w
		if len(p.Blocks) > 0 { // as much of the last block as can be, or nothing of it
			other.Keep, other.Few = !(w.Keep && w.Few), !(w.Keep && w.Few)
		} else {
			other.Seed++
		}
		wishes = append(wishes, other)
	}
	for _, w := range wishes {
		out, err := s.practice.Propose(p, w)
		if practice.ReasonOf(err) == practice.Refused {
			data["Error"] = err
			s.show(v, http.StatusUnprocessableEntity, "propose", data)
			return nil
		}
		if err != nil {
			return err
		}
		one := s.proposal(v, out, w.Seed, v.FormValue("prices") != "")
		one.Keep, one.Few = w.Keep, w.Few
		switch {
		case w.Keep && w.Few:
			one.Title = v.say("As few changes as can be", "So wenig Änderungen wie möglich")
		case w.Keep:
			one.Title = v.say("The last block where it is worth it", "Der letzte Block, wo es sich lohnt")
		case len(p.Blocks) > 0:
			one.Title = v.say("Anew", "Von Grund auf")
		}
		shown = append(shown, one)
	}
	data["Proposals"] = shown
	s.show(v, http.StatusOK, "propose", data)
	return nil
}

// proposal puts a proposal into words.
func (s *server) proposal(v *visit, out *design.Proposal, seed uint64, prices bool) proposalShown {
	page := out.Page()
	plain := sheet.Plain{Library: s.practice.Library, Language: v.language()}
	shown := proposalShown{Seed: seed, Value: v.number(page.Value, 1), Short: v.number(page.Shortfall.HardSets, 1) + " / " + v.number(page.Shortfall.LiftSets, 1)}
	if page.Gap != nil {
		shown.Possible = v.number(*page.Gap, 1) + " %"
	}
	explained := map[string]design.Explanation{}
	for _, e := range page.Explanations {
		explained[e.Slot] = e
	}
	for i := range out.Block.Sessions {
		session := &out.Block.Sessions[i]
		ps := proposalSession{Name: session.Name}
		for j := range session.Slots {
			slot := &session.Slots[j]
			x := proposalSlot{ID: string(slot.ID), Exercise: slot.Exercise, Name: s.practice.ExerciseName(slot.Exercise, v.language()), Dose: slot.Dose.String(), Stage: exercise.Stage(slot.Stage).In(v.language())}
			for _, r := range slot.Reasons {
				x.Reasons = append(x.Reasons, plain.ReasonText(out.Block, r))
			}
			if e, ok := explained[x.ID]; ok {
				x.Drop = v.say("left out: ", "weggelassen: ") + v.number(-e.Drop.Value, 1) + v.say(" points, saves ", " Punkte, spart ") + v.number(e.Drop.Minutes, 0) + " min"
				for _, r := range e.Replacements {
					x.Replacements = append(x.Replacements, s.practice.ExerciseName(r.Exercise, v.language())+" ("+v.signed(r.Value)+")")
				}
			}
			ps.Slots = append(ps.Slots, x)
		}
		shown.Sessions = append(shown.Sessions, ps)
	}
	for _, c := range page.Coverage {
		if c.Got == 0 && c.High == 0 {
			continue
		}
		row := proposalCoverage{Name: plain.CoverageName(c), Got: v.number(c.Got, 1)}
		if c.High > 0 {
			row.Aim = v.number(c.Low, 0) + "–" + v.number(c.High, 0)
		}
		shown.Coverage = append(shown.Coverage, row)
	}
	for _, u := range page.Unmet {
		shown.Unmet = append(shown.Unmet, s.practice.ExerciseName(u, v.language()))
	}
	if prices {
		for _, r := range design.Prices(out.Problem, out.Answer) {
			shown.Rules = append(shown.Rules, [2]string{plain.RuleText(r.Rule), v.number(r.Gain, 1)})
		}
	}
	return shown
}

// signed writes a number with its sign.
func (v *visit) signed(x float64) string {
	if x < 0 {
		return "−" + v.number(-x, 1)
	}
	return "+" + v.number(x, 1)
}

// accept stores a proposal, without what was unticked.
func (s *server) accept(v *visit) error {
	owner := v.PathValue("id")
	w := s.wishOf(v) // reads the form
	taken := map[string]bool{}
	for _, id := range v.Form["slot"] {
		taken[id] = true
	}
	var left []string
	for _, id := range strings.Fields(v.FormValue("slots")) {
		if !taken[id] {
			left = append(left, id)
		}
	}
	out, err := s.practice.Accept(v.Context(), v.who, owner, w, left, strings.TrimSpace(v.FormValue("name")), v.FormValue("op"))
	if practice.ReasonOf(err) == practice.Refused {
		p, e := s.practice.Person(v.Context(), v.who, owner)
		if e != nil {
			return e
		}
		s.show(v, statuses[practice.Refused], "propose", map[string]any{"Title": v.say("Propose a block", "Block vorschlagen"), "Person": p, "Client": p.Client, "Wish": w, "Start": w.Start.String(), "Second": false, "Wide": true, "Error": err})
		return nil
	}
	if err != nil {
		return err
	}
	return v.to("/blocks/" + url.PathEscape(out.Doc.ID))
}
