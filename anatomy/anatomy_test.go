package anatomy

import (
	"testing"

	"corbel/form"
)

// Ensure that every list is named in both languages and that its references
// to other lists hold.
func TestListsHoldTogether(t *testing.T) {
	for _, m := range muscles.ids {
		if _, ok := regions.row[string(Muscle(m).Region())]; !ok {
			t.Errorf("muscle %s: region %q is not in regions.csv", m, Muscle(m).Region())
		}
	}
	for _, a := range actions.ids {
		if _, ok := regions.row[string(Action(a).Region())]; !ok {
			t.Errorf("action %s: region %q is not in regions.csv", a, Action(a).Region())
		}
	}
	for _, p := range places.ids {
		if _, ok := regions.row[string(Place(p).Region())]; !ok {
			t.Errorf("place %s: region %q is not in regions.csv", p, Place(p).Region())
		}
		if len(Place(p).Actions()) == 0 {
			t.Errorf("place %s loads no joint action", p)
		}
		for _, a := range Place(p).Actions() {
			if _, ok := actions.row[string(a)]; !ok {
				t.Errorf("place %s: action %q is not in actions.csv", p, a)
			}
		}
	}
	for _, l := range []list{muscles, actions, regions, places} {
		if len(l.row) != len(l.ids) {
			t.Errorf("%s names an id twice", l.table.Name)
		}
		for _, id := range l.ids {
			if n := l.name(id); n.En == "" || n.De == "" {
				t.Errorf("%s: %s lacks a name", l.table.Name, id)
			}
		}
	}
}

// Ensure that no two muscle groups claim the same part of the body model.
func TestMusclePartsAreCountedOnce(t *testing.T) {
	owner := map[string]string{}
	for _, m := range muscles.ids {
		for _, p := range Muscle(m).Parts() {
			if owner[p] != "" {
				t.Errorf("%s belongs to %s and %s", p, owner[p], m)
			}
			owner[p] = m
		}
	}
}

// Ensure that a muscle is read with its side on either end and in either
// language, and that an unknown one gets near names.
func TestMuscleSide(t *testing.T) {
	for in, want := range map[string]MuscleSide{
		"left hip-abductors":   {"hip-abductors", Left},
		"hip abductors left":   {"hip-abductors", Left},
		"Hüftabspreizer links": {"hip-abductors", Left},
		"quadriceps":           {"quadriceps", NoSide},
		"rear deltoid right":   {"posterior-deltoid", Right},
	} {
		var got MuscleSide
		if err := got.UnmarshalText([]byte(in)); err != nil || got != want {
			t.Errorf("%q: got %v, %v", in, got, err)
		}
		var again MuscleSide
		if err := again.UnmarshalText([]byte(got.String())); err != nil || again != got {
			t.Errorf("%q prints as %q, reads back as %v, %v", in, got, again, err)
		}
	}
	var m MuscleSide
	err := m.UnmarshalText([]byte("quadricep"))
	n, ok := err.(*nameError)
	if !ok || len(n.Near()) == 0 || n.Near()[0] != "quadriceps" {
		t.Errorf("got %v", err)
	}
}

// Ensure that an unnamed side meets all and left does not meet right.
func TestSidesMeet(t *testing.T) {
	for _, c := range []struct {
		a, b Side
		want bool
	}{{Left, Left, true}, {Left, Right, false}, {Both, Right, true}, {NoSide, Left, true}, {Right, Both, true}} {
		if c.a.Meets(c.b) != c.want || c.b.Meets(c.a) != c.want {
			t.Errorf("%q and %q: want %v", c.a, c.b, c.want)
		}
	}
	if Left.Other() != Right || Both.Other() != Both || Left.In(form.German) != "links" {
		t.Error("sides are mixed up")
	}
}
