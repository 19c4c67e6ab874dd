package web

import (
	"fmt"
	"slices"

	"corbel/client"
	"corbel/form"
	"corbel/unit"
)

// A fact is a line of what is known of a client.
type fact struct{ Name, Text string }

// facts lists what is known of a client, what is not left out.
func (s *server) facts(v *visit, c *client.Client) (out []fact) {
	add := func(name, text string) {
		if text != "" {
			out = append(out, fact{name, text})
		}
	}
	now := s.practice.Now()
	if !c.Born.IsZero() {
		born := c.Born.Time()
		age := now.Year() - born.Year()
		if now.Month() < born.Month() || now.Month() == born.Month() && now.Day() < born.Day() {
			age--
		}
		add(v.say("Age", "Alter"), fmt.Sprint(age))
	}
	var height unit.Length
	var mass unit.Mass
	for _, m := range c.Measures {
		if m.Height.Metre() > 0 {
			height = m.Height
		}
		if m.Mass.Kilogram() > 0 {
			mass = m.Mass
		}
	}
	if height.Metre() > 0 {
		add(v.say("Height", "Größe"), height.String())
	}
	if mass.Kilogram() > 0 {
		add(v.say("Mass", "Masse"), mass.String())
	}
	add(v.say("Experience", "Erfahrung"), v.word(string(c.Experience)))
	for _, d := range c.Days {
		place := string(d.Place)
		if p := c.PlaceByID(d.Place); p != nil {
			place = p.Name
		}
		add(d.Day.In(v.language()), fmt.Sprintf("%d min, %s", d.Minutes, place))
	}
	for _, g := range c.Goals {
		text := g.Text
		if text == "" {
			text = v.word(string(g.For))
			if g.Exercise != "" {
				text += ": " + s.practice.ExerciseName(g.Exercise, v.language())
			}
			if !g.Muscle.IsZero() {
				text += ": " + g.Muscle.In(v.language())
			}
		}
		add(v.say("Goal", "Ziel"), text)
	}
	return out
}

// word gives the word of a closed list in the language of the visit.
func (v *visit) word(key string) string {
	switch key {
	case "beginner":
		return v.say("beginner", "Anfänger")
	case "some":
		return v.say("some training", "etwas Training")
	case "trained":
		return v.say("trained", "trainiert")
	case "strength":
		return v.say("strength", "Kraft")
	case "size":
		return v.say("size", "Muskelaufbau")
	case "general strength":
		return v.say("general strength", "allgemeine Kraft")
	case "return":
		return v.say("return after a lay-off", "Rückkehr nach einer Pause")
	}
	return key
}

// A liftShown is a set on record, with its day.
type liftShown struct {
	On   form.Date
	Name string
	Text string
}

// lifts lists the sets on record, newest first.
func (s *server) lifts(v *visit, c *client.Client) (out []liftShown) {
	for _, l := range slices.Backward(c.Lifts) {
		text := l.Load.String()
		if l.Load.Kilogram() == 0 {
			text = v.say("body weight", "Körpergewicht")
		}
		if l.PerHand {
			text += v.say(" in each hand", " in jeder Hand")
		}
		text += fmt.Sprintf(" × %d", l.Reps)
		if l.RIR != nil {
			text += fmt.Sprintf(v.say(", %g left", ", %g übrig"), *l.RIR)
		}
		name := s.practice.ExerciseName(l.Exercise, v.language())
		if l.Side != "" {
			name += ", " + l.Side.In(v.language())
		}
		out = append(out, liftShown{l.On, name, text})
	}
	return out
}
