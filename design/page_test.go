package design

import (
	"os"
	"reflect"
	"strings"
	"testing"
)

// Ensure that docs/json/design.md names every field of a page.
func TestPageIsDocumented(t *testing.T) {
	text, err := os.ReadFile("../docs/json/design.md")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	var walk func(typ reflect.Type)
	walk = func(typ reflect.Type) {
		switch typ.Kind() {
		case reflect.Slice, reflect.Pointer:
			walk(typ.Elem())
		case reflect.Struct:
			for i := range typ.NumField() {
				name := typ.Field(i).Tag.Get("json")
				if seen++; !strings.Contains(string(text), "`"+name) && !strings.Contains(string(text), "."+name+"`") && !strings.Contains(string(text), "[]."+name+"`") {
					t.Errorf("docs/json/design.md lacks %s of %s", name, typ.Name())
				}
				walk(typ.Field(i).Type)
			}
		}
	}
	walk(reflect.TypeFor[Page]())
	if seen < 30 {
		t.Errorf("only %d fields were found", seen)
	}
}

// Ensure that what leaving a slot out loses, and what a replacement brings, are
// differences of whole values: dropping and putting back changes nothing.
func TestExplanationsAreExact(t *testing.T) {
	p, err := Propose(wishOf(t, clientFile(t, "rosa-client.yaml")))
	if err != nil {
		t.Fatal(err)
	}
	r := p.Record()
	again, err := ReadRecord("x", r.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	w := r.week()
	list := again.Explain(p.Block)
	if len(list) != len(p.Placed) || len(list) < 10 {
		t.Fatalf("%d explanations for %d slots", len(list), len(p.Placed))
	}
	for i, e := range list {
		x := p.Placed[i]
		rest := r.week()
		rest.Set(x.Option, x.Day, 0)
		if got := points(w.Value() - rest.Value()); got != e.Drop.Value {
			t.Errorf("%s: drop %g, from scratch %g", e.Slot, e.Drop.Value, got)
		}
		for j, q := range e.Replacements {
			if j > 0 && q.Value > e.Replacements[j-1].Value || q.Exercise == e.Exercise {
				t.Errorf("%s: replacements %v", e.Slot, e.Replacements)
			}
		}
	}
	for _, price := range Prices(p.Problem, p.Answer) {
		if price.Gain < 0 {
			t.Errorf("%s: lifting a rule loses %g", price.Rule, -price.Gain)
		}
	}
}

func BenchmarkExplain(b *testing.B) {
	p, err := Propose(wishOf(b, clientFile(b, "rosa-client.yaml")))
	if err != nil {
		b.Fatal(err)
	}
	r := p.Record()
	for b.Loop() {
		r.Explain(p.Block)
	}
}

func BenchmarkPropose(b *testing.B) {
	w := wishOf(b, clientFile(b, "rosa-client.yaml"))
	w.Moves = NormalMoves
	for b.Loop() {
		if _, err := Propose(w); err != nil {
			b.Fatal(err)
		}
	}
}
