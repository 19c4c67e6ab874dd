package main

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"

	"corbel/anatomy"
	"corbel/check"
	"corbel/client"
	"corbel/form"
	"corbel/plan"
)

// pain follows the rules for pain during the block: lower the work that loads the
// place, or stop it, and record the pain.
func (x *change) pain() (err error) {
	if x.block.Client == "" {
		return errors.New("--pain: this block is for a group; write the pain of a member into the member file, and changes for the member there too")
	}
	p, o, err := x.painReport()
	if err != nil {
		return err
	}
	hits := func(s plan.LaidSlot) bool {
		return check.LoadsPlace(s, x.app.library.ByID(s.Slot.Exercise), p)
	}
	where := x.painPlace(p)
	said := fmt.Sprintf(x.pick("%s, %s of 10", "%s, %s von 10"), where, x.number(x.Pain.level))
	rule := check.PainRuleFor(p)
	switch rule {
	case check.PainStops:
		o.Why += fmt.Sprintf(x.pick(" (%s: left out)", " (%s: ausgelassen)"), said)
		x.after, err = x.block.SkipSlots(o, hits)
		x.note(x.pick("%s: the work that loads this place stops. Refer: ask a licensed practitioner before it is loaded again.", "%s: Was diese Stelle belastet, entfällt. Verweisen: Eine medizinische Fachperson fragen, bevor sie wieder belastet wird."), said)
	case check.PainLowers:
		o.Why += fmt.Sprintf(x.pick(" (%s: a set fewer)", " (%s: ein Satz weniger)"), said)
		x.after, err = x.block.FewerSets(o, p.Side, hits)
		x.note(x.pick("%s: the work that loads this place is lowered by a set where there are two or more. Ask how it was during and the next morning.", "%s: Was diese Stelle belastet, hat einen Satz weniger, wo es zwei oder mehr sind. Fragen Sie, wie es dabei und am nächsten Morgen war."), said)
	default:
		x.note(x.pick("%s: under 3 and not worse the next morning, the work goes on as written. Ask again after the next session.", "%s: unter 3 und am nächsten Morgen nicht stärker, es geht weiter wie geschrieben. Fragen Sie nach der nächsten Einheit wieder."), said)
	}
	if err != nil {
		return fmt.Errorf("--pain: %w", err)
	}
	if x.after == x.block && rule != check.PainGoesOn {
		x.note("%s", x.pick("Nothing left to do in this block loads the place so, by its joint actions, that the rule changes it.", "Nichts, was in diesem Block noch ansteht, belastet die Stelle nach seinen Gelenkbewegungen so, dass die Regel es ändert."))
	}
	return nil
}

// painReport returns the report of the pain and the days the change holds.
func (x *change) painReport() (client.Pain, plan.Overlay, error) {
	o := x.overlay()
	on := x.Since
	switch {
	case on.IsZero():
		on = x.app.today
	case !x.On.IsZero() && x.On.Before(on):
		return client.Pain{}, o, fmt.Errorf("--on %s is before --since %s; a change for the pain starts with it", x.On, on)
	case o.On.Before(on):
		o.On = on
	}
	level := x.Pain.level
	p := client.Pain{Place: x.Pain.place, Side: x.Pain.side, On: on, During: &level, Worse: x.Worse, Features: x.With}
	for _, f := range p.Features {
		if !slices.Contains(f.Values(), string(f)) {
			return p, o, fmt.Errorf("--with %s: write sharp, spreading, swelling or giving way", f)
		}
	}
	return p, o, nil
}

// painPlace names place and side.
func (x *change) painPlace(p client.Pain) string {
	place, side := p.Place.In(x.lang), p.Side.In(x.lang)
	switch {
	case p.Side == anatomy.NoSide:
		return place
	case p.Side == anatomy.Both:
		return place + ", " + side
	}
	return form.Text{En: side + " " + place, De: place + " " + side}.In(x.lang)
}

// painFlag is a place with its side and a level, read from the words after
// --pain up to the level: left-knee 4, knee left 4, low-back 6.
type painFlag struct {
	given bool
	place anatomy.Place
	side  anatomy.Side
	level float64
}

// Decode reads the flag's words.
func (p *painFlag) Decode(ctx *kong.DecodeContext) error {
	var words []string
	for ctx.Scan.Peek().IsValue() {
		for _, w := range strings.Fields(ctx.Scan.Pop().String()) {
			level, err := strconv.ParseFloat(strings.Replace(w, ",", ".", 1), 64)
			if err != nil {
				words = append(words, w)
				continue
			}
			if !(level >= 0 && level <= 10) {
				return fmt.Errorf("a level of %s: write 0 to 10", w)
			}
			p.given, p.level = true, level
			p.place, p.side, err = painPlace(words)
			return err
		}
	}
	return errors.New("the level is missing; write the place and a level from 0 to 10, such as left-knee 4")
}

// sideWords are the words for sides, in both languages.
var sideWords = map[string]anatomy.Side{
	"left": anatomy.Left, "right": anatomy.Right, "both": anatomy.Both,
	"links": anatomy.Left, "linkes": anatomy.Left, "linke": anatomy.Left, "linker": anatomy.Left,
	"rechts": anatomy.Right, "rechtes": anatomy.Right, "rechte": anatomy.Right, "rechter": anatomy.Right,
	"beide": anatomy.Both, "beidseits": anatomy.Both,
}

// painPlace reads a place and its side from words joined by blanks or hyphens.
func painPlace(typed []string) (anatomy.Place, anatomy.Side, error) {
	var rest []string
	side := anatomy.NoSide
	for _, w := range strings.FieldsFunc(strings.ToLower(strings.Join(typed, " ")), func(r rune) bool { return r == ' ' || r == '-' }) {
		if s, ok := sideWords[w]; ok && side == anatomy.NoSide {
			side = s
			continue
		}
		rest = append(rest, w)
	}
	name := strings.Join(rest, "-")
	for _, id := range anatomy.Place("").Values() {
		p := anatomy.Place(id)
		if name != id && name != hyphened(p.In(form.English)) && name != hyphened(p.In(form.German)) {
			continue
		}
		switch {
		case p.Sided() && side == anatomy.NoSide:
			return p, side, fmt.Errorf("which side? write left-%s, right-%s or both-%s", id, id, id)
		case !p.Sided() && side != anatomy.NoSide:
			return p, side, fmt.Errorf("the %s has no side; write %s", p.In(form.English), id)
		}
		return p, side, nil
	}
	if name == "" {
		return "", side, errors.New("the place is missing; write such as left-knee 4")
	}
	near := form.Near(name, anatomy.Place("").Values(), 3)
	if len(near) == 0 {
		near = anatomy.Place("").Values()
	}
	return "", side, fmt.Errorf("%q is not a place of the body; there are %s", name, strings.Join(near, ", "))
}

// hyphened joins the words of a name with hyphens, in lower case.
func hyphened(name string) string { return strings.ReplaceAll(strings.ToLower(name), " ", "-") }
