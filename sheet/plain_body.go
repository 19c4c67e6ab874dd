package sheet

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"corbel/anatomy"
	"corbel/body"
	"corbel/client"
	"corbel/exercise"
	"corbel/form"
)

// A BodyShown is what a client's body can hold, in the form of docs/json/body.md.
// Numbers are rounded to thousandths.
type BodyShown struct {
	Form      int         `json:"form"`
	Client    form.ID     `json:"client"`
	Height    float64     `json:"height_m"`
	Mass      float64     `json:"mass_kg"`
	Sex       client.Sex  `json:"norms"`
	Lifts     []LiftShown `json:"lifts"`
	Exercises []HeldShown `json:"exercises"`

	Name       string            `json:"-"`
	Experience client.Experience `json:"-"`
	Language   form.Language     `json:"-"`
}

// A LiftShown is a 1RM on record with what the body model says of it, kg.
type LiftShown struct {
	Exercise  string       `json:"exercise"`
	Side      anatomy.Side `json:"side"`
	Known     float64      `json:"known_kg"`
	Before    float64      `json:"before_kg"`
	After     float64      `json:"after_kg"`
	Predicted float64      `json:"left_out_kg"`
	Low       float64      `json:"left_out_low_kg"`
	High      float64      `json:"left_out_high_kg"`

	Of *exercise.Exercise `json:"-"`
}

// A HeldShown is the largest load of one exercise; kg is null where there is none.
type HeldShown struct {
	Exercise string      `json:"exercise"`
	Kg       *float64    `json:"kg"`
	Low      *float64    `json:"low"`
	High     *float64    `json:"high"`
	Posture  *string     `json:"posture"`
	Limits   []GainShown `json:"limits"`
	Why      *string     `json:"why_unknown"` // the posture that cannot be taken

	Of    *exercise.Exercise `json:"-"`
	Felt  bool               `json:"-"`
	Bound bool               `json:"-"`
}

// limitsNamed is how many limiting muscles a line names, in so many signs.
const limitsNamed, limitWidth = 2, 26

// Body writes what a body can hold, at 80 columns.
func (p Plain) Body(b *BodyShown) {
	title := fmt.Sprintf(p.pick("What %s can hold", "Was %s halten kann"), b.Name)
	p.line(0, "%s\n%s", title, strings.Repeat("=", min(utf8.RuneCountInString(title), Width)))
	p.field(p.pick("Body", "Körper"), p.bodyWords(&ExerciseShown{Height: b.Height, Mass: b.Mass, Sex: b.Sex, Experience: b.Experience}))
	if len(b.Lifts) == 0 {
		p.field(p.pick("Known lifts", "Bestwerte"), p.pick("none on record, so the ranges are wide", "keine festgehalten, darum sind die Bereiche weit"))
	} else {
		p.knownLifts(b.Lifts)
	}
	p.line(0, "\n%s", p.pick("Largest loads, kg, just held in the hardest posture, with their 90 % range", "Größte Lasten, kg, gerade noch gehalten in der schwersten Haltung, 90-%-Bereich"))
	fmt.Fprintf(p.Out, "%-34s %5s %11s  %s\n", p.pick("exercise", "Übung"), "kg", p.pick("range", "Bereich"), p.pick("limited by", "begrenzt durch"))
	for i := range b.Exercises {
		p.held(&b.Exercises[i])
	}
	p.line(0, "\n%s", p.pick("Loads of dumbbells are in each hand. They are estimates by a static model, not a test: build up to them, with safety bars or a spotter where the lift can pin you. They say nothing of risk and are never a diagnosis.",
		"Kurzhantellasten gelten je Hand. Sie sind Schätzungen eines ruhenden Modells, kein Test: langsam herantasten, mit Ablagen oder Hilfestellung, wo die Last einklemmen kann. Über Gefahr sagen sie nichts, und sie sind nie eine Diagnose."))
}

// knownLifts writes known lifts against what the model says of them.
func (p Plain) knownLifts(list []LiftShown) {
	p.line(0, "\n%s", p.pick("Lifts on record as 1RM against the model, kg", "Bestwerte als 1RM gegen das Modell, kg"))
	fmt.Fprintf(p.Out, "%-34s %6s %10s %8s  %s\n", p.pick("exercise", "Übung"), p.pick("known", "bekannt"), p.pick("norms", "Normen"), p.pick("with all", "mit allen"), p.pick("from the others (90 %)", "aus den anderen (90 %)"))
	for _, l := range list {
		fmt.Fprintf(p.Out, "%-34s %6s %10s %8s  %s (%s–%s)\n", clip(l.Of.Name.In(p.Language), 34), p.number(l.Known, 0), p.number(l.Before, 0), p.number(l.After, 0),
			p.number(l.Predicted, 0), p.number(l.Low, 0), p.number(l.High, 0))
	}
}

// held writes one exercise.
func (p Plain) held(h *HeldShown) {
	name := clip(h.Of.Name.In(p.Language), 34)
	switch {
	case h.Why != nil:
		p.line(0, "%-34s     %s", name, *h.Why)
	case h.Kg == nil && h.Felt:
		fmt.Fprintf(p.Out, "%-34s       %s\n", name, fmt.Sprintf(p.pick("none found up to %s kg", "keine gefunden bis %s kg"), p.number(body.MostLoad, 0)))
	case h.Kg == nil:
		fmt.Fprintf(p.Out, "%-34s       %s\n", name, p.pick("body weight only", "nur eigenes Gewicht"))
	default:
		fmt.Fprintf(p.Out, "%-34s %5s %11s  %s\n", name, p.number(*h.Kg, 0), p.number(*h.Low, 0)+"–"+p.number(*h.High, 0), p.limitNames(h))
	}
}

// limitNames names what limits a load.
func (p Plain) limitNames(h *HeldShown) string {
	if h.Bound {
		return p.pick("balance", "Gleichgewicht")
	}
	var out []string
	for _, g := range h.Limits[:min(len(h.Limits), limitsNamed)] {
		text := g.Muscle.In(p.Language)
		if g.Side != anatomy.Both && h.Of.Sides == exercise.EachSide {
			text += " " + g.Side.In(p.Language)
		}
		if len(out) > 0 && utf8.RuneCountInString(out[0])+utf8.RuneCountInString(text)+2 > limitWidth {
			break
		}
		out = append(out, text)
	}
	if *h.Kg == 0 {
		return p.pick("own weight is not held", "eigenes Gewicht zu schwer")
	}
	return clip(strings.Join(out, ", "), limitWidth)
}

// clip shortens a text to a number of signs.
func clip(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most-1]) + "…"
}

// postureNames are the words of postures in German; an English one is its id.
var postureNames = map[string]string{
	"top": "oben", "bottom": "unten", "middle": "Mitte", "floor": "am Boden", "knee": "am Knie", "start": "Anfang", "end": "Ende", "low": "tief", "high": "hoch",
	"hold": "Halten", "straight": "gestreckt", "bent": "gebeugt", "open": "offen", "closed": "geschlossen", "hang": "Hang", "in": "herangezogen", "out": "ausgestreckt",
	"up": "oben", "down": "unten", "stand": "Stand", "step": "Schritt", "far-step": "Gegenschritt", "together": "zusammen", "apart": "auseinander", "reach": "gestreckt",
	"upright": "aufrecht", "over": "vorgebeugt",
}

// posture writes the name of a posture.
func (p Plain) posture(name string) string {
	if de, ok := postureNames[name]; ok && p.Language == form.German {
		return de
	}
	return strings.ReplaceAll(name, "-", " ")
}
