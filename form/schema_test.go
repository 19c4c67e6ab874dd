package form_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"corbel/form"

	"github.com/goccy/go-yaml"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"
)

// compile returns the schema of a kit as another program reads it.
func compile(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(form.Schema("kit", "A kit", kit{})))
	must(t, err)
	c := jsonschema.NewCompiler()
	must(t, c.AddResource("kit.json", doc))
	s, err := c.Compile("kit.json")
	must(t, err)
	return s
}

// validate holds a YAML text to a schema the way an editor does: as JSON.
func validate(s *jsonschema.Schema, src string) error {
	b, err := yaml.YAMLToJSON([]byte(src))
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

// Whatever the writer writes passes the schema, and so does the full kit.
func TestSchemaTakesWhatIsWritten(t *testing.T) {
	s := compile(t)
	// the converter of this test takes 1e2 for a text; editors do not
	must(t, validate(s, strings.Replace(full, "1e2", "100", 1)))
	rapid.Check(t, func(t *rapid.T) {
		src := string(form.Write(drawKit(t)))
		if err := validate(s, src); err != nil {
			t.Fatalf("%v\n%s", err, src)
		}
	})
}

// A file of the wrong shape is refused by the schema and by the reader.
func TestSchemaAndReaderRefuseTheSame(t *testing.T) {
	s := compile(t)
	for _, src := range []string{
		"id: bar\n", "form: 2\nid: bar\n", "form: one\nid: bar\n", "form: 1\n", "- form: 1\n",
		head + "naem: x\n", head + "name: {fr: x}\n", head + "place: {inner: {lable: x}}\n", head + "plates: [{pairs: 2}]\n",
		head + "name: x\n", head + "note: [x]\n", head + "note: {a: b}\n", head + "note: null\n",
		head + "tags: x\n", head + "tags: {a: b}\n", head + "tags: [[x]]\n", head + "tags: [null]\n", head + "tags: [" + strings.Repeat("x,", 2000) + "x]\n",
		head + "count: 1.5\n", head + "count: x\n", head + "count: '1'\n", head + "count: true\n", head + "spare: [1]\n",
		head + "price: x\n", head + "price: '1'\n", head + "share: true\n",
		head + "hired: yes\n", head + "hired: 1\n", head + "hired: 'true'\n",
		head + "colour: purple\n", head + "colour: Red\n", head + "colour: 1\n", head + "plates: [{weight: 5 kg, colour: Blue}]\n",
		head + "weight: 5\n", head + "weight: heavy\n", head + "weight: 5 stone\n", head + "weight: 82,5 kg\n", head + "weight: [5 kg]\n",
		head + "rests: [5]\n", head + "rests: [1:5]\n", head + "rests: 5 s\n",
		head + "bought: yesterday\n", head + "bought: 30.11.2026\n", head + "checked: [2026-1-1]\n", head + "bought: 20261130\n",
		head + "loads: [5 kg]\n", head + "loads: {a: 5}\n", head + "steps: {one: a}\n", head + "owners: {Anna: {}}\n", head + "lists: {a: b}\n",
		head + "note: " + strings.Repeat("x", 10_001) + "\n",
		"form: 1\nid: Leg Day\n", "form: 1\nid: [a]\n",
	} {
		if err := validate(s, src); err == nil {
			t.Errorf("the schema takes\n%.200s", src)
		}
		refusal(t, src)
	}
}

// An id of digits is a number to YAML; reader and schema both take it.
func TestSchemaTakesNumbersAsTexts(t *testing.T) {
	s := compile(t)
	for _, src := range []string{"form: 1\nid: 12\n", head + "note: 12\n", head + "note: true\n", head + "tags: [1.5]\n", head + "steps: {1: 2}\n", head + "price: 1\n"} {
		if _, err := read(src); err != nil {
			t.Error(err)
		}
		if err := validate(s, src); err != nil {
			t.Errorf("%v\n%s", err, src)
		}
	}
}

// The schema carries its name and title, keeps the order of the fields, and
// gives each its description.
func TestSchemaDescribes(t *testing.T) {
	src := form.Schema("kit", "A kit", kit{})
	var s struct {
		ID         string `json:"$id"`
		Title      string
		Required   []string
		Properties map[string]struct{ Title string }
	}
	must(t, json.Unmarshal(src, &s))
	if s.ID != "urn:corbel:form:1:kit" || s.Title != "A kit" || !slices.Equal(s.Required, []string{"form", "id"}) {
		t.Errorf("%+v", s)
	}
	if s.Properties["bought"].Title != "day it was bought" || len(s.Properties) != 22 {
		t.Errorf("%d properties, bought is %q", len(s.Properties), s.Properties["bought"].Title)
	}
	if a, b := bytes.Index(src, []byte(`"weight"`)), bytes.Index(src, []byte(`"rests"`)); a > b {
		t.Error("the fields are not in the order of the type")
	}
}

// Every field is listed once, depth first, with what its value looks like.
func TestFields(t *testing.T) {
	var got []string
	for _, f := range form.Fields(kit{}) {
		mark := ""
		if f.Required {
			mark = "*"
		}
		if f.Doc == "" {
			t.Errorf("%s is not described", f.Path)
		}
		got = append(got, fmt.Sprintf("%s%s: %s", f.Path, mark, f.Kind))
	}
	const boxKind, innerKind = "fields (room, shelf, inner)", "fields (label, names)"
	mass := "a mass such as 100 kg or 225 lb"
	want := []string{
		"form*: a whole number", "id*: an id such as leg-day", "name: fields (en, de)", "bought: a date such as 2026-11-30",
		"colour: one of red, green, blue, yes, no", "note: a text", "tags: a list", "count: a whole number", "spare: a whole number",
		"price: a number", "share: a number", "hired: true or false", "weight: " + mass, "rests: a list",
		"plates: a list", "plates[].weight*: " + mass, "plates[].pairs: a whole number", "plates[].colour: one of red, green, blue, yes, no",
		"box: " + boxKind, "box.room: a text", "box.shelf: a whole number", "box.inner: " + innerKind, "box.inner.label: a text", "box.inner.names: fields (en, de)",
		"place: " + boxKind, "place.room: a text", "place.shelf: a whole number", "place.inner: " + innerKind, "place.inner.label: a text", "place.inner.names: fields (en, de)",
		"loads: fields", "steps: fields", "owners: fields", "owners[].room: a text", "owners[].shelf: a whole number", "owners[].inner: " + innerKind,
		"owners[].inner.label: a text", "owners[].inner.names: fields (en, de)", "lists: fields", "checked: a list",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
