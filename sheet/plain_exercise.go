package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"corbel/anatomy"
	"corbel/body"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
)

// An ExerciseShown is what an exercise is declared to be and what it asks of a
// body, in the form of docs/json/exercise.md. Numbers are rounded to thousandths.
type ExerciseShown struct {
	Form     int            `json:"form"`
	Exercise string         `json:"exercise"` // id
	Client   *string        `json:"client"`   // id; null for the reference body
	Load     *float64       `json:"load_kg"`  // kg; null where nothing is computed
	Postures []PostureShown `json:"postures"`
	Shares   []ShareShown   `json:"shares"`
	Largest  *LargestShown  `json:"largest_load"` // null where there is none

	Of         *exercise.Exercise `json:"-"`
	Name       string             `json:"-"` // of the client
	Language   form.Language      `json:"-"`
	Sex        client.Sex         `json:"-"`
	Height     float64            `json:"-"` // m
	Mass       float64            `json:"-"` // kg
	Experience client.Experience  `json:"-"`
	Reference  bool               `json:"-"` // the body is of reference size
	LoadGiven  bool               `json:"-"`
	Felt       bool               `json:"-"` // a load acts in some posture
	Lifts      int                `json:"-"` // lifts on record that the strength follows
}

// A PostureShown holds the joint moments of one posture, N m, N for the shoulder
// girdle, positive as named, and the passive part of them.
type PostureShown struct {
	Name         string             `json:"name"`
	Joints       map[string]float64 `json:"joints"`
	Passive      map[string]float64 `json:"passive"`
	BalanceError float64            `json:"balance_error_m"`
}

// Kinds of shares.
const (
	StatedShare   = "stated"
	ComputedShare = "computed"
)

// A ShareShown is the share of a muscle of a side; those stated have no range.
type ShareShown struct {
	Muscle     anatomy.Muscle `json:"muscle"`
	Side       anatomy.Side   `json:"side"`
	Share      float64        `json:"share"`
	Low        *float64       `json:"low"`
	High       *float64       `json:"high"`
	Activation *float64       `json:"activation"`
	Kind       string         `json:"kind"`
}

// A LargestShown is the largest load and what limits it.
type LargestShown struct {
	Kg      float64     `json:"kg"`
	Low     float64     `json:"low"`
	High    float64     `json:"high"`
	Muscles []GainShown `json:"muscles"`

	Posture string `json:"-"`
	Cannot  bool   `json:"-"` // not even the body alone is held
	Bound   bool   `json:"-"` // with more the posture cannot be taken
}

// A GainShown says by how many percent the largest load rises where a muscle is
// 10 % stronger.
type GainShown struct {
	Muscle anatomy.Muscle `json:"muscle"`
	Side   anatomy.Side   `json:"side"`
	Gain   float64        `json:"gain_percent"`
}

// Classes of shares, and what is shown (our judgement).
const (
	directShare   = 0.6 // a computed share from here on is one of a direct muscle
	indirectShare = 0.3 // and from here on of an indirect one
	leastShare    = 0.1 // smaller ones are shown only where stated
	leastMoment   = 1.0 // N m; smaller ones are not shown
	alikeMoment   = 0.5 // N m; sides that differ by less are one line
	alikeShare    = 0.005
	mostLimits    = 5 // muscles that limit the largest load
)

// Exercise writes what an exercise is and asks, at 80 columns.
func (p Plain) Exercise(e *ExerciseShown) {
	title := fmt.Sprintf("%s (%s)", e.Of.Name.In(p.Language), e.Exercise)
	p.line(0, "%s\n%s", title, strings.Repeat("=", min(utf8.RuneCountInString(title), Width)))
	p.field(p.pick("Direct", "Direkt"), p.muscleNames(e.Of.Direct))
	p.field(p.pick("Indirect", "Indirekt"), p.muscleNames(e.Of.Indirect))
	if len(e.Postures) == 0 {
		p.field(p.pick("Computed", "Berechnet"), p.pick("nothing: this exercise has no postures yet, so its shares are those stated", "nichts: diese Übung hat noch keine Haltungen, es gelten die angegebenen Anteile"))
		p.shareTable(e)
		return
	}
	p.field(p.pick("Body", "Körper"), p.bodyWords(e))
	p.field(p.pick("Load", "Last"), p.loadWords(e))
	p.field(p.pick("Largest load", "Größte Last"), p.largestWords(e))
	if e.Largest != nil {
		p.field(p.pick("Limited by", "Begrenzt durch"), p.limitWords(e.Largest))
	}
	p.momentTable(e)
	p.shareTable(e)
	p.line(0, "\n%s", p.pick("Joint moments are net and static: nothing accelerates. They say nothing of discs, cartilage or tendons, nor of risk, and are never a diagnosis. Loads are estimates, not a test: build up to them, with safety bars or a spotter where the lift can pin you.",
		"Die Gelenkmomente sind Nettomomente in Ruhe: nichts wird beschleunigt. Über Bandscheiben, Knorpel, Sehnen oder Gefahr sagen sie nichts, und sie sind nie eine Diagnose. Die Lasten sind Schätzungen, kein Test: langsam herantasten, mit Ablagen oder Hilfestellung, wo die Last einklemmen kann."))
}

// muscleNames lists muscles.
func (p Plain) muscleNames(list []anatomy.Muscle) string {
	var out []string
	for _, m := range list {
		out = append(out, m.In(p.Language))
	}
	return strings.Join(out, ", ")
}

// bodyWords says whose body was computed with.
func (p Plain) bodyWords(e *ExerciseShown) string {
	sex := map[client.Sex]string{"female": p.pick("norms of women", "Normen für Frauen"), "male": p.pick("norms of men", "Normen für Männer")}[e.Sex]
	if sex == "" {
		sex = p.pick("mean of both norms", "Mittel beider Normen")
	}
	training := map[client.Experience]string{
		client.Beginner: p.pick("strength of a beginner", "Kraft am Anfang des Trainings"),
		client.Some:     p.pick("strength after some training", "Kraft nach etwas Training"),
		client.Trained:  p.pick("strength of the trained", "Kraft von Trainierten"),
	}[e.Experience]
	if training == "" {
		training = p.pick("experience not on record: strength of a beginner", "Erfahrung nicht festgehalten: Kraft wie am Anfang")
	}
	text := fmt.Sprintf("%s m, %s kg, %s, %s", p.number(e.Height, 2), p.number(e.Mass, 0), sex, training)
	if e.Reference {
		text = p.pick("of reference size, ", "von Bezugsgröße, ") + text
	}
	if e.Name != "" {
		text = e.Name + ": " + text
	}
	if e.Lifts > 0 {
		text += fmt.Sprintf(p.pick("; follows the lifts on record (%d)", "; folgt den festgehaltenen Bestwerten (%d)"), e.Lifts)
	}
	return text
}

// kilograms writes a load.
func (p Plain) kilograms(e *ExerciseShown, kg float64) string {
	text := p.number(kg, 0) + " kg"
	if e.Of.Loads[0] == exercise.PerHand {
		text += p.pick(" in each hand", " in jeder Hand")
	}
	return text
}

// loadWords says at which load things are shown.
func (p Plain) loadWords(e *ExerciseShown) string {
	switch {
	case e.LoadGiven && e.Largest != nil && *e.Load > e.Largest.Kg:
		return p.kilograms(e, *e.Load) + p.pick(", more than the largest: an activation above 1 is impossible", ", mehr als die größte: eine Aktivierung über 1 ist unmöglich")
	case e.LoadGiven:
		return p.kilograms(e, *e.Load)
	case e.Largest != nil:
		return p.kilograms(e, *e.Load) + p.pick(", 75 % of the largest", ", 75 % der größten")
	}
	if e.Felt {
		return p.kilograms(e, *e.Load)
	}
	return p.pick("none beside the body's own weight", "keine außer dem eigenen Gewicht")
}

// largestWords says what can just be held.
func (p Plain) largestWords(e *ExerciseShown) string {
	l := e.Largest
	switch {
	case l == nil && e.Felt:
		return fmt.Sprintf(p.pick("none found up to %s kg", "keine gefunden bis %s kg"), p.number(body.MostLoad, 0))
	case l == nil:
		return p.pick("none: no load acts in the postures as described", "keine: in den beschriebenen Haltungen wirkt keine Last")
	case l.Cannot:
		return fmt.Sprintf(p.pick("not even the body's own weight is held (posture %s)", "nicht einmal das eigene Gewicht wird gehalten (Haltung %s)"), p.posture(l.Posture))
	}
	text := fmt.Sprintf(p.pick("about %s (90 %% range %s–%s), just held in posture %s", "etwa %s (90-%%-Bereich %s–%s), gerade noch gehalten in Haltung %s"),
		p.kilograms(e, l.Kg), p.number(l.Low, 0), p.number(l.High, 0), p.posture(l.Posture))
	if l.Bound {
		text += p.pick("; with more the posture cannot be taken", "; mit mehr ist die Haltung nicht einzunehmen")
	}
	return text
}

// limitWords lists the muscles that limit the largest load.
func (p Plain) limitWords(l *LargestShown) string {
	var out []string
	for _, g := range l.Muscles[:min(len(l.Muscles), mostLimits)] {
		out = append(out, fmt.Sprintf("%s %s %s %%", g.Muscle.In(p.Language), g.Side.In(p.Language), signed(p.number(g.Gain, 1))))
	}
	if len(out) == 0 {
		return ""
	}
	return strings.Join(out, ", ") + p.pick(" (rise of the load where the muscle is 10 % stronger)", " (Zuwachs der Last, wenn der Muskel 10 % stärker ist)")
}

// germanFunctions are the German names of joint functions.
var germanFunctions = map[string]string{
	"lumbar_extension": "Rumpf strecken", "lumbar_bend_right": "Rumpf nach rechts", "lumbar_twist_left": "Rumpf links drehen",
	"hip_extension": "Hüfte strecken", "hip_abduction": "Hüfte abspreizen", "hip_external_rotation": "Hüfte außendrehen",
	"knee_extension": "Knie strecken", "ankle_plantarflexion": "Fuß strecken", "ankle_inversion": "Fuß einwärts kippen",
	"girdle_elevation": "Schulter heben, N", "girdle_protraction": "Schulter vor, N", "shoulder_flexion": "Arm vor heben",
	"shoulder_abduction": "Arm abspreizen", "shoulder_horizontal_adduction": "Arm vor die Brust",
	"elbow_flexion": "Ellbogen beugen", "forearm_supination": "Handfläche auf",
}

// functionName writes the name of a joint function without its side.
func (p Plain) functionName(name string) string {
	if de, ok := germanFunctions[name]; ok && p.Language == form.German {
		return de
	}
	text := strings.ReplaceAll(name, "_", " ")
	if strings.HasPrefix(name, "girdle") {
		text += ", N"
	}
	return text
}

// momentTable writes joint moments: a line a function, a column a posture. Sides
// that are alike share a line.
func (p Plain) momentTable(e *ExerciseShown) {
	p.line(0, "\n%s", p.pick("Joint moments the muscles and passive tissue deliver, N m", "Gelenkmomente aus Muskeln und passivem Gewebe, N m"))
	fmt.Fprintf(p.Out, "%-38s", "")
	for _, s := range e.Postures {
		fmt.Fprintf(p.Out, " %9s", clip(p.posture(s.Name), 9))
	}
	fmt.Fprintln(p.Out)
	joints := func(s PostureShown) map[string]float64 { return s.Joints }
	p.momentLines(e, joints, "")
	p.momentLines(e, func(s PostureShown) map[string]float64 { return s.Passive }, p.pick("passive: ", "passiv: "))
}

// momentLines writes the lines of one kind of moments.
func (p Plain) momentLines(e *ExerciseShown, of func(PostureShown) map[string]float64, before string) {
	for _, row := range p.momentRows(e, of, before) {
		fmt.Fprintf(p.Out, "%-38s", row.Name)
		for _, x := range row.Values {
			fmt.Fprintf(p.Out, " %9s", x)
		}
		fmt.Fprintln(p.Out)
	}
}

// A MomentRow is a joint function with its moment in each posture, N m, as text.
type MomentRow struct {
	Name   string
	Values []string
}

// momentRows lists the moments of one kind that are worth showing: sides that are
// alike share a row.
func (p Plain) momentRows(e *ExerciseShown, of func(PostureShown) map[string]float64, before string) (out []MomentRow) {
	row := func(key, label string) {
		if !slices.ContainsFunc(e.Postures, func(s PostureShown) bool { return math.Abs(of(s)[key]) >= leastMoment }) {
			return
		}
		r := MomentRow{Name: label}
		for _, s := range e.Postures {
			r.Values = append(r.Values, p.number(of(s)[key], 0))
		}
		out = append(out, r)
	}
	for _, f := range body.Functions() {
		name, right := strings.CutSuffix(f.Name, "_r")
		left := name + "_l"
		switch {
		case strings.HasSuffix(f.Name, "_l"): // with its right side
		case !right:
			row(f.Name, before+p.functionName(f.Name))
		case !slices.ContainsFunc(e.Postures, func(s PostureShown) bool { return math.Abs(of(s)[f.Name]-of(s)[left]) >= alikeMoment }):
			row(f.Name, before+p.functionName(name))
		default:
			row(f.Name, before+p.functionName(name)+" "+anatomy.Right.In(p.Language))
			row(left, before+p.functionName(name)+" "+anatomy.Left.In(p.Language))
		}
	}
	return out
}

// shareTable writes computed shares beside stated ones.
func (p Plain) shareTable(e *ExerciseShown) {
	p.line(0, "\n%s", p.pick("Shares of muscles, 0 to 1", "Anteile der Muskeln, 0 bis 1"))
	fmt.Fprintf(p.Out, "%-25s %-12s %8s", p.pick("muscle", "Muskel"), p.pick("side", "Seite"), p.pick("stated", "angegeb."))
	if len(e.Postures) > 0 {
		fmt.Fprintf(p.Out, " %17s %11s", p.pick("computed (80 %)", "berechnet (80 %)"), p.pick("activation", "Aktivierung"))
	}
	fmt.Fprintln(p.Out)
	var none, other []string
	for _, id := range anatomy.Muscle("").Values() {
		m := anatomy.Muscle(id)
		stated, rows := sharesOf(e, m)
		for _, r := range rows {
			if stated == "" && r.Share < leastShare {
				continue
			}
			fmt.Fprintf(p.Out, "%-25s %-12s %8s", m.In(p.Language), r.Side.In(p.Language), decimalsIn(stated, p.Language))
			if r.Kind == ComputedShare {
				fmt.Fprintf(p.Out, " %17s %11s", fmt.Sprintf("%s (%s–%s)", p.number(r.Share, 2), p.number(*r.Low, 2), p.number(*r.High, 2)), p.number(*r.Activation, 2))
			}
			fmt.Fprintln(p.Out)
		}
		switch {
		case len(e.Postures) == 0 || len(rows) == 0:
		case rows[0].Kind == StatedShare:
			none = append(none, m.In(p.Language))
		case p.otherClass(e, m, rows) != "":
			other = append(other, p.otherClass(e, m, rows))
		}
	}
	if len(none) > 0 {
		p.line(0, "%s", p.pick("Not computed, because the posture does not use the arms or the body model has no such muscle: ", "Nicht berechnet, weil die Haltung die Arme nicht braucht oder das Körpermodell solche Muskeln nicht hat: ")+strings.Join(none, ", ")+".")
	}
	if len(other) > 0 {
		p.line(0, "%s", p.pick("Declared otherwise than computed: ", "Anders angegeben als berechnet: ")+strings.Join(other, "; ")+".")
	}
	if len(e.Postures) > 0 {
		p.line(0, "%s %s", p.pick("Shares hold at 75 % of the largest load, activations at the load above.", "Anteile gelten bei 75 % der größten Last, Aktivierungen bei der Last oben."), p.counting(e.Of.Computed))
	}
}

// counting says which shares checks use.
func (p Plain) counting(c exercise.Computed) string {
	switch c {
	case exercise.ComputedAll:
		return p.pick("Checks use the computed shares.", "Die Prüfungen nutzen die berechneten Anteile.")
	case exercise.ComputedLower:
		return p.pick("Checks use the computed shares of legs and trunk, the stated ones of the rest.", "Die Prüfungen nutzen für Beine und Rumpf die berechneten Anteile, sonst die angegebenen.")
	}
	return p.pick("Checks use the stated shares: the computed ones are not good enough here.", "Die Prüfungen nutzen die angegebenen Anteile: die berechneten sind hier nicht gut genug.")
}

// sharesOf gives the stated share of a muscle as text and its lines: computed, one
// where the sides are alike, else as stated.
func sharesOf(e *ExerciseShown, m anatomy.Muscle) (stated string, rows []ShareShown) {
	var only []ShareShown
	for _, s := range e.Shares {
		switch {
		case s.Muscle != m:
		case s.Kind == StatedShare:
			stated, only = fmt.Sprintf("%.2f", s.Share), append(only, s)
		default:
			rows = append(rows, s)
		}
	}
	if len(rows) == 2 && math.Abs(rows[0].Share-rows[1].Share) < alikeShare && math.Abs(*rows[0].Activation-*rows[1].Activation) < alikeShare {
		rows = rows[:1]
		rows[0].Side = anatomy.Both
	}
	if len(rows) == 0 {
		rows = only
	}
	return stated, rows
}

// otherClass says where the computed share is of another class than the declared
// one; empty where it is not.
func (p Plain) otherClass(e *ExerciseShown, m anatomy.Muscle, rows []ShareShown) string {
	most := 0.0
	for _, r := range rows {
		most = max(most, r.Share)
	}
	names := [3]string{p.pick("neither", "keins"), p.pick("indirect", "indirekt"), p.pick("direct", "direkt")}
	declared, got := 0, 0
	switch {
	case slices.Contains(e.Of.Direct, m):
		declared = 2
	case slices.Contains(e.Of.Indirect, m):
		declared = 1
	}
	switch {
	case most >= directShare:
		got = 2
	case most >= indirectShare:
		got = 1
	}
	if declared == got {
		return ""
	}
	return fmt.Sprintf(p.pick("%s %s, computed %s", "%s %s, berechnet %s"), m.In(p.Language), names[declared], names[got])
}
