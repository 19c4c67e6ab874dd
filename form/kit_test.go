package form_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"corbel/form"
	"corbel/unit"
)

// A kit is a form with a field of every kind the package knows.
type kit struct {
	Form    int                  `form:"form,required" doc:"version of this form"`
	ID      form.ID              `form:"id,required" doc:"names the kit for life"`
	Name    form.Text            `form:"name" doc:"what people call it"`
	Bought  form.Date            `form:"bought" doc:"day it was bought"`
	Colour  colour               `form:"colour" doc:"its colour"`
	Note    string               `form:"note" doc:"anything else"`
	Tags    []string             `form:"tags" doc:"words to find it by"`
	Count   int                  `form:"count" doc:"how many there are"`
	Spare   *int                 `form:"spare" doc:"how many are spare"`
	Price   float64              `form:"price" doc:"price of one"`
	Share   *float64             `form:"share" doc:"part that is ours"`
	Hired   bool                 `form:"hired" doc:"whether it is hired"`
	Weight  unit.Mass            `form:"weight" doc:"mass of one"`
	Rests   []unit.Duration      `form:"rests" doc:"rests it was used with"`
	Plates  []plate              `form:"plates" doc:"plates that come with it"`
	Box     *box                 `form:"box" doc:"what it is kept in"`
	Place   box                  `form:"place" doc:"where it is kept"`
	Loads   map[string]unit.Mass `form:"loads" doc:"loads by exercise"`
	Steps   map[int]string       `form:"steps" doc:"names of the steps"`
	Owners  map[form.ID]box      `form:"owners" doc:"boxes of its owners"`
	Lists   map[string][]string  `form:"lists" doc:"lists by name"`
	Checked []form.Date          `form:"checked" doc:"days it was looked at"`

	private string // has no tag and is no field
}

// A plate is one line of a list.
type plate struct {
	Weight unit.Mass `form:"weight,required" doc:"mass of the plate"`
	Pairs  int       `form:"pairs" doc:"how many pairs"`
	Colour colour    `form:"colour" doc:"its colour"`
}

// A box holds boxes.
type box struct {
	Room  string `form:"room" doc:"the room"`
	Shelf int    `form:"shelf" doc:"the shelf"`
	Inner *box2  `form:"inner" doc:"a box in the box"`
}

// A box2 is the box in a box.
type box2 struct {
	Label string    `form:"label" doc:"what is written on it"`
	Names form.Text `form:"names" doc:"its name"`
}

// A colour is one of a closed list.
type colour string

func (colour) Values() []string { return []string{"red", "green", "blue", "yes", "no"} }

// read opens and fills a kit.
func read(src string) (kit, error) {
	var k kit
	d, err := form.Open("kit.yaml", []byte(src))
	if err != nil {
		return k, err
	}
	d.Fill("the kit", &k)
	return k, d.Err()
}

// refusal returns the problems of a kit that must be refused.
func refusal(t *testing.T, src string) []form.Problem {
	t.Helper()
	_, err := read(src)
	var r *form.Refusal
	if !errors.As(err, &r) {
		t.Fatalf("%.200q is not refused but gives %v", src, err)
	}
	if len(r.Problems) == 0 {
		t.Fatalf("%.200q is refused without a reason", src)
	}
	return r.Problems
}

// short writes a problem as line:column code: text.
func short(p form.Problem) string {
	return fmt.Sprintf("%d:%d %s: %s", p.Line, p.Column, p.Code, p.Text)
}

// head is how a kit begins; the lines of a case start at line 3.
const head = "form: 1\nid: bar\n"

// lines joins lines with line feeds.
func lines(s ...string) string { return strings.Join(s, "\n") + "\n" }

// caseOf shortens a source for a subtest's name.
func caseOf(src string) string { return fmt.Sprintf("%.40q", strings.TrimPrefix(src, head)) }
