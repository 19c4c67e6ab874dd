package practice

import (
	"fmt"
	"time"

	"corbel/client"
	"corbel/evidence"
	"corbel/form"
	"corbel/plan"
)

// A Need is something that needs the coach, with the page where it is answered.
type Need struct {
	Text string
	To   string
	rank int
}

// Ranks of needs, most pressing last (our judgement, in the order of safety first).
const (
	informs = iota
	noBlock
	toSettle
	misses
	stalled
	silent
	ending
	retest
	asks
	stops
	hurts
)

// Days (our judgement; key judgement): how long ago pain was reported that still needs
// a look, and how long a session may stay without a record.
const (
	painLooked  = 14
	recordWaits = 3
)

// needs collects what a row of the list needs.
type needs struct {
	row   *ClientRow
	today form.Date
	l     form.Language
}

func (n *needs) say(rank int, to, en, de string, args ...any) {
	n.row.Needs = append(n.row.Needs, Need{Text: fmt.Sprintf(form.Text{En: en, De: de}.In(n.l), args...), To: to, rank: rank})
}

// rank of a row is that of its most pressing need.
func (r *ClientRow) rank() int {
	most := informs
	for _, n := range r.Needs {
		most = max(most, n.rank)
	}
	return most
}

// day writes a day as people say it.
func (n *needs) day(d form.Date) string {
	return d.Time().Format(form.Text{En: "2 Jan", De: "02.01."}.In(n.l))
}

// ofCase says what the newest block needs.
func (n *needs) ofCase(c *Case) {
	r, client := n.row, "/clients/"+n.row.ID
	block := "/blocks/" + r.BlockID
	n.pain(c, client)
	if r.Stops > 0 {
		n.say(stops, block, "%d to stop for", "%d Halte", r.Stops)
	}
	if r.Open > 0 {
		n.say(asks, client+"/intake", "%d questions to ask", "%d Fragen offen", r.Open)
	}
	if r.Retest {
		n.say(retest, client, "retest due", "neuer Test fällig")
	}
	if c.Block.State != plan.Closed && r.Ends.Days(n.today) < endsSoon {
		n.say(ending, client+"/propose?keep=yes&start="+c.Block.End().Plus(daysTo(c.Block.End(), time.Monday)).String(), "block ends %s: write the next", "Block endet %s: den nächsten schreiben", n.day(r.Ends))
	}
	n.record(c, block)
	if r.Settle > 0 {
		n.say(toSettle, block, "%d to settle", "%d zu klären", r.Settle)
	}
	if r.Paused {
		n.say(informs, block, "paused", "pausiert")
	}
}

// daysTo is how many days after a day the next such weekday is, from 1 to 7.
func daysTo(d form.Date, w time.Weekday) int {
	n := (int(w) - int(d.Time().Weekday()) + 7) % 7
	if n == 0 {
		return 7
	}
	return n
}

// pain says where it hurt lately, in the log or the client file.
func (n *needs) pain(c *Case, to string) {
	said := map[string]bool{}
	tell := func(place string, on form.Date, during *float64) {
		if said[place] || n.today.Days(on) > painLooked || n.today.Before(on) {
			return
		}
		said[place] = true
		how := ""
		if during != nil {
			how = fmt.Sprintf(form.Text{En: ", %g of 10", De: ", %g von 10"}.In(n.l), *during)
		}
		n.say(hurts, to, "pain: %s%s (%s)", "Schmerz: %s%s (%s)", place, how, n.day(on))
	}
	if c.Log != nil {
		for i := len(c.Log.Entries) - 1; i >= 0; i-- {
			for _, p := range c.Log.Entries[i].Pain {
				tell(where(client.Pain{Place: p.Place, Side: p.Side}, n.l), c.Log.Entries[i].On, p.During)
			}
		}
	}
	for _, p := range c.Client.Pain {
		if p.Until.IsZero() {
			tell(where(p, n.l), p.On, p.During)
		}
	}
}

// where names the place of a pain.
func where(p client.Pain, l form.Language) string {
	if p.Side != "" {
		return p.Place.In(l) + ", " + p.Side.In(l)
	}
	return p.Place.In(l)
}

// record says that sessions of a running block have no record.
func (n *needs) record(c *Case, block string) {
	if c.Block.State != plan.Running || n.row.Paused {
		return
	}
	missing, last := 0, form.Date{}
	for _, d := range dueOf(c) {
		if !d.Recorded && n.today.Days(d.On) >= recordWaits {
			missing, last = missing+1, d.On
		}
	}
	if missing > 0 {
		n.say(silent, block+"/record", "%d sessions without a record, the last of %s", "%d Einheiten ohne Protokoll, die letzte vom %s", missing, n.day(last))
	}
}

// ofEvidence says what the log shows that somebody should look at.
func (n *needs) ofEvidence(e *Evidence) {
	if e == nil {
		return
	}
	to := "/clients/" + n.row.ID
	for _, c := range e.Judge.Lifts {
		if c.Verdict == evidence.NoChange || c.Verdict == evidence.Worse || c.Verdict == evidence.ProbablyWorse {
			n.say(stalled, to, "a lift does not rise", "eine Übung steigt nicht")
			break
		}
	}
	for _, f := range e.Judge.Fits {
		if f.Warn != "" {
			n.say(misses, to, "sets often miss what was predicted", "Sätze verfehlen oft die Vorhersage")
			break
		}
	}
}
