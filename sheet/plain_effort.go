package sheet

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"corbel/client"
	"corbel/form"
	"corbel/plan"
	"corbel/unit"
)

// An Effort is what one set of a log line says: repetitions to failure, the 1RM,
// loads for other sets, and the classic equations beside them. Loads and masses
// are in Unit, of one hand where PerHand. Printed as JSON (docs/json/effort.md) its
// numbers are rounded to thousandths.
type Effort struct {
	Form      int           `json:"form"`
	Set       string        `json:"set"` // as typed
	Done      plan.Done     `json:"-"`
	Exercise  string        `json:"exercise,omitempty"` // id; empty for none named
	Client    string        `json:"client,omitempty"`   // name
	Class     string        `json:"class"`              // repetition class
	Judged    bool          `json:"judged"`             // k of the class rests on our judgement alone
	Endurance bool          `json:"endurance"`          // k is lower after years of endurance sport
	K         float64       `json:"k"`
	SDLnK     float64       `json:"sd_ln_k"`
	Unit      unit.MassUnit `json:"unit"`
	PerHand   bool          `json:"per_hand"`
	PercentOf string        `json:"percent_of"`          // external or system
	BodyMass  float64       `json:"body_mass,omitempty"` // in Unit; for system alone
	Carried   float64       `json:"carried,omitempty"`   // body mass moved with the load, in Unit
	Reps      float64       `json:"repetitions"`
	Said      float64       `json:"reserve_said"`
	IsSaid    bool          `json:"reserve_is_said"`
	Counted   float64       `json:"reserve_counted"`
	ToFailure Spread        `json:"repetitions_to_failure"`
	Max       Spread        `json:"one_rm"`              // external load, in Unit
	Percent   float64       `json:"percent_of_max"`      // of the 1RM, as PercentOf says
	Outside   []string      `json:"outside"`             // codes: single, heavy, light, many
	Place     string        `json:"place,omitempty"`     // whose loads the table is rounded to
	NoLoads   bool          `json:"no_loads_there"`      // a place was given, and it has no loads for the exercise
	HeldBack  string        `json:"held_back,omitempty"` // why sets to failure are left out, a code: beginner, experience, flag, pain, light
	Table     []EffortRow   `json:"loads"`
	Equations []EquationRow `json:"equations"`
}

// A Spread is a value with its 80 % range.
type Spread struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// An EffortRow holds the load for a number of repetitions, done and left
// together, and what the load chart says.
type EffortRow struct {
	Repetitions  int         `json:"repetitions_done_and_left"`
	Load         EffortLoad  `json:"load"`
	ChartPercent float64     `json:"chart_percent"` // of the 1RM, external load
	Interpolated bool        `json:"chart_interpolated"`
	Chart        *EffortLoad `json:"chart,omitempty"` // nil where the 1RM is no load
}

// An EffortLoad is a load before and after rounding to what a place has.
type EffortLoad struct {
	Asked   float64  `json:"asked"`          // in Unit; negative for help
	Rounded *float64 `json:"rounded"`        // null where nothing of the kind stands there
	Edge    string   `json:"edge,omitempty"` // below or above what stands there
}

// An EquationRow is the 1RM by one classic equation.
type EquationRow struct {
	Name   string   `json:"name"`
	Max    *float64 `json:"one_rm"`          // in Unit; null outside its range
	Below  float64  `json:"below,omitempty"` // repetitions it needs to stay below, where outside
	Source string   `json:"source"`
}

// Effort writes what a set says, at 80 columns.
func (p Plain) Effort(e *Effort) {
	title := p.effortTitle(e)
	p.line(0, "%s\n%s", title, strings.Repeat("=", min(utf8.RuneCountInString(title), Width)))
	if e.Exercise == "" {
		p.line(0, "%s", p.pick("No exercise is named: reckoned as a press of the upper body (class upper-push), percentages of the external load.",
			"Keine Übung genannt: gerechnet wie ein Drücken des Oberkörpers (Klasse upper-push), Prozente der äußeren Last."))
	}
	p.line(0, "")
	p.effortFacts(e)
	p.effortTable(e)
	p.effortEquations(e)
	caution := client.Sentence("sheet-caution", p.Language)
	if x := p.Library.ByID(e.Exercise); x == nil || x.Spotter == "bars" {
		caution += " " + client.Sentence("spotter", p.Language)
	}
	p.line(0, "\n%s", caution)
}

// effortTitle names exercise, set and client.
func (p Plain) effortTitle(e *Effort) string {
	title := p.phrase().Done(e.Done)
	if e.Exercise != "" {
		title = p.name(e.Exercise) + ": " + title
	}
	if e.Client != "" {
		title += " (" + e.Client + ")"
	}
	return title
}

// effortFacts writes repetitions to failure, the 1RM and what they rest on.
func (p Plain) effortFacts(e *Effort) {
	p.field(p.pick("To failure", "Bis Versagen"), fmt.Sprintf(p.pick("about %s repetitions (80 %% range %s–%s)", "etwa %s Wiederholungen (80-%%-Bereich %s–%s)"),
		p.number(e.ToFailure.Value, 1), p.number(e.ToFailure.Low, 1), p.number(e.ToFailure.High, 1)))
	p.field("", p.reserveWords(e))
	p.field("1RM", p.maxWords(e))
	p.field(p.pick("This set", "Dieser Satz"), p.percentWords(e))
	p.field(p.pick("Curve", "Kurve"), p.curveWords(e))
	for _, code := range e.Outside {
		p.field(p.pick("Outside the data", "Außer den Daten"), p.outsideWords(code))
	}
}

// maxWords writes the 1RM with its range.
func (p Plain) maxWords(e *Effort) string {
	bound := func(x float64) string { return p.number(effortStep(e.Unit, x), 1) }
	text := fmt.Sprintf(p.pick("about %s (80 %% range %s to %s)", "etwa %s (80-%%-Bereich %s bis %s)"),
		p.effortMass(e, e.Max.Value), bound(e.Max.Low), bound(e.Max.High))
	if e.Max.Low < 0 {
		text += p.pick("; below 0 is help", "; unter 0 ist Hilfe")
	}
	return text
}

// reserveWords says how the reserve was counted.
func (p Plain) reserveWords(e *Effort) string {
	switch {
	case !e.IsSaid:
		return p.pick("no reserve is said: taken as none left, so the 1RM is a low estimate", "keine Reserve genannt: als keine gerechnet, das 1RM ist also eher zu niedrig")
	case e.Counted == e.Said:
		return fmt.Sprintf(p.pick("%s done, none left", "%s gemacht, keine übrig"), p.number(e.Reps, 0))
	}
	return fmt.Sprintf(p.pick("%s done, %s said to be left, counted as %s: people say about one too few", "%s gemacht, %s als Reserve genannt, gezählt als %s: man nennt etwa eine zu wenig"),
		p.number(e.Reps, 0), p.number(e.Said, 1), p.number(e.Counted, 2))
}

// percentWords says what part of the 1RM the set was, and of what.
func (p Plain) percentWords(e *Effort) string {
	percent := p.number(e.Percent, 0)
	if e.PercentOf != "system" {
		return fmt.Sprintf(p.pick("%s %% of the 1RM, external load", "%s %% des 1RM, äußere Last"), percent)
	}
	return fmt.Sprintf(p.pick("%s %% of the 1RM, load with the %s of body mass that move along (of %s)", "%s %% des 1RM, Last samt den %s Körpermasse, die mitgehen (von %s)"),
		percent, p.withUnit(e, e.Carried), p.withUnit(e, e.BodyMass))
}

// curveWords says which repetition curve was used and how sure it is.
func (p Plain) curveWords(e *Effort) string {
	text := fmt.Sprintf(p.pick("class %s, k %s, spread between people %s %%", "Klasse %s, k %s, Streuung zwischen Menschen %s %%"),
		e.Class, p.number(e.K, 3), p.number(100*e.SDLnK, 0))
	if e.Judged {
		text += p.pick(", our judgement", ", unsere Einschätzung")
	}
	if e.Endurance {
		text += p.pick("; lower after years of endurance sport, our judgement from one study", "; niedriger nach Jahren Ausdauersport, unsere Einschätzung aus einer Studie")
	}
	return text
}

// outsideWords says what lies outside the data behind the curve.
func (p Plain) outsideWords(code string) string {
	return map[string]string{
		"single": p.pick("a set of about one repetition says little about the others", "ein Satz von etwa einer Wiederholung sagt wenig über die anderen"),
		"heavy":  p.pick("above 90 % of the 1RM the curve was hardly checked", "über 90 % des 1RM ist die Kurve kaum geprüft"),
		"light":  p.pick("below 65 % of the 1RM the curve was hardly checked, below 50 % not at all", "unter 65 % des 1RM ist die Kurve kaum geprüft, unter 50 % gar nicht"),
		"many":   p.pick("above 20 repetitions the curve was hardly checked, above 30 not at all", "über 20 Wiederholungen ist die Kurve kaum geprüft, über 30 gar nicht"),
	}[code]
}

// effortMass writes a load with its unit.
func (p Plain) effortMass(e *Effort, x float64) string {
	if e.PerHand {
		return p.withUnit(e, x) + p.pick(" in each hand", " in jeder Hand")
	}
	return p.withUnit(e, x)
}

// withUnit writes a mass to half a kilogram or a pound.
func (p Plain) withUnit(e *Effort, x float64) string {
	return p.number(effortStep(e.Unit, x), 1) + " " + string(e.Unit)
}

// effortStep rounds to what can be read: half a kilogram, a whole pound.
func effortStep(u unit.MassUnit, x float64) float64 {
	if u == unit.Lb {
		return math.Round(x)
	}
	return math.Round(2*x) / 2
}

// effortTable writes the loads for 1 to 12 repetitions, and the load chart.
func (p Plain) effortTable(e *Effort) {
	p.line(0, "\n%s", p.tableHead(e))
	fmt.Fprintf(p.Out, "%-16s%9s%20s\n", p.pick("done and left", "gemacht + übrig"), p.pick("load", "Last"), p.pick("load chart", "Lasttabelle"))
	interpolated := false
	for _, row := range e.Table {
		text := fmt.Sprintf("%9d       %9s", row.Repetitions, p.tableLoad(e, row.Load))
		chart := p.number(row.ChartPercent, 1) + " %"
		if row.Interpolated {
			chart += "*"
			interpolated = true
		} else {
			chart += " "
		}
		text += fmt.Sprintf("%12s", chart)
		if row.Chart != nil {
			text += fmt.Sprintf("%8s", p.tableLoad(e, *row.Chart))
		}
		fmt.Fprintln(p.Out, strings.TrimRight(text, " "))
	}
	for _, note := range p.tableNotes(e, interpolated) {
		p.line(0, "%s", note)
	}
}

// tableHead says what the numbers of the table are.
func (p Plain) tableHead(e *Effort) string {
	what := string(e.Unit)
	if e.PerHand {
		what += p.pick(" in each hand", " in jeder Hand")
	}
	text := fmt.Sprintf(p.pick("Loads in %s, fresh, by repetitions done and left together (5 done with 2 left are 7)", "Lasten in %s, ausgeruht, nach Wiederholungen gemacht und übrig zusammen (5 gemacht und 2 übrig sind 7)"), what)
	switch {
	case e.Place != "" && !e.NoLoads:
		text += fmt.Sprintf(p.pick(", as there are in: %s", ", wie vorhanden in: %s"), e.Place)
	case e.NoLoads:
		text += fmt.Sprintf(p.pick(". %s has no loads for this exercise: not rounded to what is there.", ". %s hat keine Lasten für diese Übung: nicht auf Vorhandenes gerundet."), e.Place)
	}
	return text
}

// tableLoad writes one load of the table.
func (p Plain) tableLoad(e *Effort, l EffortLoad) string {
	switch {
	case l.Rounded == nil:
		return p.number(effortStep(e.Unit, l.Asked), 1)
	case l.Edge == "below":
		return "<" + p.number(*l.Rounded, 1)
	case l.Edge == "above":
		return ">" + p.number(*l.Rounded, 1)
	}
	return p.number(*l.Rounded, 2)
}

// tableNotes says what signs of the table mean and what was left out.
func (p Plain) tableNotes(e *Effort, interpolated bool) []string {
	var out []string
	if interpolated {
		out = append(out, p.pick("* between two printed points of the chart", "* zwischen zwei gedruckten Punkten der Tabelle"))
	}
	if e.PercentOf == "system" {
		out = append(out, p.pick("The load chart counts the external load alone.", "Die Lasttabelle zählt die äußere Last allein."))
	}
	help, edge := false, false
	for _, row := range e.Table {
		help, edge = help || row.Load.Asked < 0, edge || row.Load.Edge != ""
	}
	if help {
		out = append(out, p.pick("A load below 0 means so much help.", "Eine Last unter 0 bedeutet so viel Hilfe."))
	}
	if edge {
		out = append(out, p.pick("< and > name the lightest and the heaviest load there is.", "< und > nennen die leichteste und die schwerste Last, die es gibt."))
	}
	if e.HeldBack != "" {
		out = append(out, fmt.Sprintf(p.pick("Sets with none left are not offered: %s.", "Sätze ohne Reserve werden nicht angeboten: %s."), p.heldBackWords(e.HeldBack)))
	}
	return out
}

// heldBackWords says why sets to failure are not offered.
func (p Plain) heldBackWords(code string) string {
	return map[string]string{
		"beginner":   p.pick("the client is a beginner", "die Person fängt gerade an"),
		"experience": p.pick("the client's experience is not on record", "die Erfahrung ist nicht festgehalten"),
		"flag":       p.pick("a safety question is answered yes", "eine Sicherheitsfrage ist mit Ja beantwortet"),
		"pain":       p.pick("pain is on record", "Schmerz ist festgehalten"),
		"light":      p.pick("the client is cleared for light or moderate work only", "die Person ist nur für leichte oder mittlere Arbeit freigegeben"),
	}[code]
}

// effortEquations writes the classic equations side by side.
func (p Plain) effortEquations(e *Effort) {
	n := p.number(e.ToFailure.Value, 1)
	p.line(0, "\n%s", p.pick("Classic equations, for comparison", "Klassische Formeln, zum Vergleich"))
	if len(e.Equations) == 0 {
		p.line(0, "%s", p.pick("They take the external load, and here is none.", "Sie nehmen die äußere Last, und hier ist keine."))
		return
	}
	fmt.Fprintf(p.Out, "%-26s%12s%12s\n", p.pick("name", "Name"), "1RM", p.pick("to ours", "zu unserem"))
	for _, q := range e.Equations {
		q.Name = p.equationName(q.Name)
		if q.Max == nil {
			fmt.Fprintf(p.Out, "%-26s%s\n", q.Name, fmt.Sprintf(p.pick("out of range: it needs fewer than %s repetitions", "außerhalb: sie braucht weniger als %s Wiederholungen"), p.number(q.Below, 1)))
			continue
		}
		against := ""
		if e.Max.Value > 0 {
			against = signed(p.number(100*(*q.Max/e.Max.Value-1), 0)) + " %"
		}
		fmt.Fprintf(p.Out, "%-26s%12s%12s\n", q.Name, p.withUnit(e, *q.Max), against)
	}
	text := fmt.Sprintf(p.pick("They take the external load and repetitions to failure, here %s, whatever the exercise and the client. Expect errors of about 10 %% (SD) up to ten repetitions; above ten they are much worse",
		"Sie nehmen die äußere Last und Wiederholungen bis zum Versagen, hier %s, gleich bei welcher Übung und wem. Bis zehn Wiederholungen ist mit Fehlern von etwa 10 %% (SD) zu rechnen, darüber mit weit größeren"), n)
	if e.ToFailure.Value > 10 {
		text += p.pick(", as here", ", wie hier")
	}
	text += "."
	if e.ToFailure.Value == 1 {
		text += p.pick(" For one repetition only Brzycki and Lombardi give the load itself.", " Für eine Wiederholung geben nur Brzycki und Lombardi die Last selbst.")
	}
	p.line(0, "%s", text)
}

// equationName translates what stands behind the name of an equation.
func (p Plain) equationName(name string) string {
	if p.Language != form.German {
		return name
	}
	return strings.NewReplacer("decimal form", "Dezimalform", "first printing", "erster Druck", "later printing", "späterer Druck").Replace(name)
}

// signed puts a plus in front of a number that has no sign.
func signed(s string) string {
	if strings.HasPrefix(s, "-") || s == "0" {
		return s
	}
	return "+" + s
}
