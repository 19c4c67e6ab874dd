package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/body"
	"corbel/exercise"
	"corbel/form"
	"corbel/session"
)

// An ExerciseReport says what an exercise asks of a body (docs/json/exercise.md).
type ExerciseReport struct {
	Form       int                `json:"form"`
	Exercise   string             `json:"exercise"`
	Client     string             `json:"client"` // id; empty for the reference body
	LoadKg     float64            `json:"load_kg"`
	Postures   []PostureReport    `json:"postures"`
	Shares     []ShareReport      `json:"shares"`
	ShareKg    *float64           `json:"share_load_kg"`
	Largest    *LargestLoadReport `json:"largest_load"`
	WhyUnknown string             `json:"why_unknown,omitempty"` // no-postures, impossible; no-limit where the largest load alone is missing
	Why        string             `json:"why,omitempty"`         // the same in words
}

// A PostureReport is a posture with net joint moments, N m, positive as named.
type PostureReport struct {
	Name         string             `json:"name"`
	Joints       map[string]float64 `json:"joints"`
	Passive      map[string]float64 `json:"passive"`
	BalanceError float64            `json:"balance_error_m"`
}

// A ShareReport is a muscle's part in the exercise.
type ShareReport struct {
	Muscle     string   `json:"muscle"`
	Side       string   `json:"side"` // left, right, or working for stated shares
	Share      float64  `json:"share"`
	Low        *float64 `json:"low"`  // null: not drawn yet
	High       *float64 `json:"high"` // null: not drawn yet
	Activation *float64 `json:"activation"`
	Kind       string   `json:"kind"` // stated or computed
}

// A LargestLoadReport is the largest load with its range and what limits it.
type LargestLoadReport struct {
	Kg      float64      `json:"kg"`
	Low     float64      `json:"low"`
	High    float64      `json:"high"`
	Posture string       `json:"posture"`
	Muscles []GainReport `json:"muscles"`
}

// A GainReport is what 5 % more strength of a muscle brings.
type GainReport struct {
	Muscle string  `json:"muscle"`
	Side   string  `json:"side"`
	Gain   float64 `json:"gain_percent"`
}

// NewExerciseReport reports an answer of the body model beside what the library
// states; answer is nil where there is none.
func NewExerciseReport(e *exercise.Exercise, client string, load float64, answer *body.Answer) *ExerciseReport {
	r := &ExerciseReport{Form: 1, Exercise: string(e.ID), Client: client, LoadKg: load, Postures: []PostureReport{}}
	for _, s := range (session.Library{}).Shares(nil, e, 0) {
		r.Shares = append(r.Shares, ShareReport{Muscle: string(s.Muscle), Side: "working", Share: s.Value, Kind: string(session.Stated)})
	}
	if answer == nil {
		return r
	}
	for _, p := range answer.Postures {
		passive := body.Moments(p.Passive)
		r.Postures = append(r.Postures, PostureReport{p.Name, rounded(p.Moments.Named(), false), rounded(passive.Named(), true), roundTo(p.BalanceError, 1e-4)})
	}
	for _, s := range answer.Shares {
		activation := roundTo(s.Activation, 1e-3)
		r.Shares = append(r.Shares, ShareReport{Muscle: string(s.Muscle), Side: string(s.Side), Share: roundTo(s.Share, 1e-3), Activation: &activation, Kind: string(session.Computed)})
	}
	at := roundTo(answer.ShareLoad, 0.1)
	r.ShareKg = &at
	l := answer.Largest
	if l == nil {
		r.WhyUnknown = "no-limit"
		return r
	}
	r.Largest = &LargestLoadReport{Kg: roundTo(l.Load, 0.1), Low: roundTo(l.Low, 0.1), High: roundTo(l.High, 0.1), Posture: l.Posture}
	for _, g := range l.Gains {
		r.Largest.Muscles = append(r.Largest.Muscles, GainReport{g.Muscle, string(g.Side), roundTo(g.Percent, 0.01)})
	}
	return r
}

func roundTo(x, step float64) float64 { return math.Round(x/step) * step }

// rounded rounds moments to 0.1 N m; passive ones that are 0 are left out.
func rounded(m map[string]float64, sparse bool) map[string]float64 {
	for name, x := range m {
		if m[name] = roundTo(x, 0.1) + 0; sparse && m[name] == 0 {
			delete(m, name)
		}
	}
	return m
}

// shownShare is the least share that plain words show, 1.
const shownShare = 0.2

// Exercise writes what an exercise asks of a body. who names the body.
func (p Plain) Exercise(r *ExerciseReport, who string) {
	e := p.Library.ByID(r.Exercise)
	p.line(0, "%s\n%s", e.Name.In(p.Language), strings.Repeat("=", len([]rune(e.Name.In(p.Language)))))
	p.line(0, "%s: %s", p.pick("Counts directly for", "Zählt direkt für"), p.muscles(e.Direct))
	if len(e.Indirect) > 0 {
		p.line(0, "%s: %s", p.pick("indirectly for", "indirekt für"), p.muscles(e.Indirect))
	}
	p.line(0, p.pick("\nBody: %s. Load: %s kg, as the exercise takes it.", "\nKörper: %s. Last: %s kg, wie die Übung sie nimmt."), who, p.number(r.LoadKg, 1))
	if r.Why != "" {
		p.line(0, "\n%s", r.Why)
	}
	p.moments(r)
	p.exerciseShares(r)
	if l := r.Largest; l != nil {
		p.line(0, "\n%s", p.pick("Largest load", "Größte Last"))
		p.line(4, p.pick("  %s kg (%s–%s, 90 %% range), hardest at: %s", "  %s kg (%s–%s, 90-%%-Bereich), am schwersten: %s"), p.number(l.Kg, 0), p.number(l.Low, 0), p.number(l.High, 0), l.Posture)
		for _, g := range l.Muscles {
			p.line(4, p.pick("  %s %s, 5 %% stronger: +%s %%", "  %s %s, 5 %% stärker: +%s %%"), strings.ReplaceAll(g.Muscle, "_", " "), anatomy.Side(g.Side).In(p.Language), p.number(g.Gain, 1))
		}
	} else if r.WhyUnknown == "no-limit" {
		p.line(0, "\n%s", p.pick("Largest load: none up to 400 kg by the muscles of legs, hips and trunk.", "Größte Last: keine bis 400 kg nach den Muskeln von Beinen, Hüfte und Rumpf."))
	}
	p.line(0, "\n%s", p.pick("Net moments of a held posture: nothing is said of speed, of discs, cartilage or tendons, and nothing is diagnosed. The body model has no muscles of shoulder, arm and hand yet, so a load they limit comes out too large. Checks still use the stated shares. A largest load is a model's figure and no load to try: it is found with a spotter or safety bars, in steps.",
		"Nettomomente einer gehaltenen Stellung: nichts über Tempo, Bandscheiben, Knorpel oder Sehnen, und keine Diagnose. Dem Körpermodell fehlen noch die Muskeln von Schulter, Arm und Hand; was sie begrenzen, fällt zu groß aus. Die Prüfung nimmt weiter die angegebenen Anteile. Die größte Last ist eine Zahl des Modells und keine zum Ausprobieren: Man findet sie mit Hilfestellung oder Ablagen, in Schritten."))
}

// muscles lists muscles by name.
func (p Plain) muscles(list []anatomy.Muscle) string {
	var out []string
	for _, m := range list {
		out = append(out, m.In(p.Language))
	}
	return strings.Join(out, ", ")
}

// moments writes the joint moments by posture, those of legs, hips and trunk.
func (p Plain) moments(r *ExerciseReport) {
	if len(r.Postures) == 0 {
		return
	}
	p.line(0, "\n%s", p.pick("Joint moments, N m, positive as named", "Gelenkmomente, N m, positiv wie benannt"))
	row := fmt.Sprintf("  %-32s", "")
	for _, x := range r.Postures {
		row += fmt.Sprintf("%12s", x.Name)
	}
	fmt.Fprintln(p.Out, strings.TrimRight(row, " "))
	for _, f := range body.Functions() {
		if f.Shift || !strings.HasPrefix(f.Name, "hip") && !strings.HasPrefix(f.Name, "knee") && !strings.HasPrefix(f.Name, "ankle_plant") && f.Name != "lumbar_extension" {
			continue
		}
		row = fmt.Sprintf("  %-32s", p.jointFunction(f.Name))
		for _, x := range r.Postures {
			row += fmt.Sprintf("%12s", p.number(x.Joints[f.Name], 0))
		}
		fmt.Fprintln(p.Out, strings.TrimRight(row, " "))
	}
}

// jointFunction names a joint function: the field's term in English, the action in
// German.
func (p Plain) jointFunction(name string) string {
	side := ""
	for suffix, s := range map[string]anatomy.Side{"_r": anatomy.Right, "_l": anatomy.Left} {
		if short, ok := strings.CutSuffix(name, suffix); ok {
			name, side = short, ", "+s.In(p.Language)
		}
	}
	if p.Language == form.German {
		action := strings.ReplaceAll(strings.Replace(name, "lumbar", "spine", 1), "_", "-")
		return anatomy.Action(action).In(form.German) + side
	}
	return strings.ReplaceAll(name, "_", " ") + side
}

// exerciseShares writes computed shares beside the stated ones.
func (p Plain) exerciseShares(r *ExerciseReport) {
	if r.ShareKg == nil {
		return
	}
	p.line(0, p.pick("\nShares of the largest, at %s kg", "\nAnteile am größten, bei %s kg"), p.number(*r.ShareKg, 0))
	fmt.Fprintf(p.Out, "  %-32s%12s%12s%12s\n", "", p.pick("left", "links"), p.pick("right", "rechts"), p.pick("stated", "angegeben"))
	for _, id := range anatomy.Muscle("").Values() {
		at := map[string]float64{}
		computed := false
		for _, s := range r.Shares {
			if s.Muscle == id {
				at[s.Side] = s.Share
				computed = computed || s.Kind == string(session.Computed)
			}
		}
		if slices.Max([]float64{at["left"], at["right"], at["working"]}) < shownShare {
			continue
		}
		row := fmt.Sprintf("  %-32s", anatomy.Muscle(id).In(p.Language))
		for _, side := range []string{"left", "right", "working"} {
			text := "–"
			if _, ok := at[side]; ok && (computed || side == "working") {
				text = p.number(at[side], 2)
			}
			row += fmt.Sprintf("%12s", text)
		}
		fmt.Fprintln(p.Out, strings.TrimRight(row, " "))
	}
}
