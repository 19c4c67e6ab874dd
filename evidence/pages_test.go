package evidence

import (
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"
)

// fields collects the JSON names of a type and all it holds.
func fields(t reflect.Type, into map[string]bool) {
	switch t.Kind() {
	case reflect.Pointer, reflect.Slice, reflect.Array:
		fields(t.Elem(), into)
	case reflect.Struct:
		for i := range t.NumField() {
			f := t.Field(i)
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if name == "" || name == "-" || into[name] && f.Type == t {
				continue
			}
			into[name] = true
			fields(f.Type, into)
		}
	}
}

// Ensure that the pages of docs/json name every field that is printed, and no field that
// is not.
func TestPagesNameEveryField(t *testing.T) {
	word := regexp.MustCompile("`\\.?([a-z][a-z0-9_.\\[\\]]*)`")
	for page, value := range map[string]any{"assess": Assessment{}, "judge": Judgement{}, "next": Next{}} {
		src, err := os.ReadFile(filepath.Join("..", "docs", "json", page+".md"))
		if err != nil {
			t.Fatal(err)
		}
		printed := map[string]bool{}
		fields(reflect.TypeOf(value), printed)
		named := map[string]bool{}
		for _, line := range strings.Split(string(src), "\n") {
			cell, _, _ := strings.Cut(strings.TrimPrefix(line, "| "), " | ")
			for _, m := range word.FindAllStringSubmatch(cell, -1) {
				if !strings.HasPrefix(line, "| ") {
					continue
				}
				for _, part := range strings.Split(strings.ReplaceAll(m[1], "[]", ""), ".") {
					named[part] = true
					if !printed[part] {
						t.Errorf("docs/json/%s.md names %s, which is not printed", page, part)
					}
				}
			}
		}
		if page == "next" { // it points at the other two pages
			printed = map[string]bool{}
			for i := range reflect.TypeFor[Next]().NumField() {
				name, _, _ := strings.Cut(reflect.TypeFor[Next]().Field(i).Tag.Get("json"), ",")
				printed[name] = true
			}
			fields(reflect.TypeFor[Step](), printed)
		}
		for name := range printed {
			if !named[name] {
				t.Errorf("docs/json/%s.md does not name %s", page, name)
			}
		}
	}
}
