package form

import (
	"bytes"
	"encoding/json"
	"reflect"
	"regexp"
)

// Schema returns the JSON Schema (draft 2020-12) of a form type, from the same
// tags the reader uses. name is the form's name, title says what it is.
func Schema(name, title string, v any) []byte {
	s := newNode(reflect.TypeOf(v))
	s = append(object{
		{"$schema", "https://json-schema.org/draft/2020-12/schema"},
		{"$id", "urn:corbel:form:1:" + name},
		{"title", title},
	}, s...)
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(s); err != nil {
		panic("form: " + err.Error())
	}
	return b.Bytes()
}

// An object is a JSON object whose members keep their order.
type object []member

type member struct {
	name  string
	value any
}

// MarshalJSON writes the members in order.
func (o object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, m := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(m.name)
		if err != nil {
			return nil, err
		}
		var v bytes.Buffer
		e := json.NewEncoder(&v)
		e.SetEscapeHTML(false)
		if err := e.Encode(m.value); err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(bytes.TrimSpace(v.Bytes()))
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// newNode describes one type.
func newNode(t reflect.Type) object {
	if t.Kind() == reflect.Pointer {
		return newNode(t.Elem())
	}
	zero := reflect.Zero(t).Interface()
	if h, ok := zero.(hinter); ok {
		what, pattern, examples := h.FormHint()
		o := object{{"type", textKinds(pattern)}, {"description", what}, {"examples", examples}}
		if pattern != "" {
			o = append(o, member{"pattern", pattern})
		}
		return o
	}
	if c, ok := zero.(chooser); ok {
		return object{{"type", "string"}, {"enum", c.Values()}}
	}
	switch t.Kind() {
	case reflect.Struct:
		return structNode(t)
	case reflect.Slice:
		return object{{"type", "array"}, {"maxItems", maxList}, {"items", newNode(t.Elem())}}
	case reflect.Map:
		return object{{"type", "object"}, {"maxProperties", maxList}, {"propertyNames", keyNode(t.Key())}, {"additionalProperties", newNode(t.Elem())}}
	case reflect.Int:
		return object{{"type", "integer"}}
	case reflect.Float64:
		return object{{"type", "number"}}
	case reflect.Bool:
		return object{{"type", "boolean"}}
	case reflect.String:
		// a text may be written without quotes even where YAML sees a number
		return object{{"type", []string{"string", "number", "boolean"}}, {"maxLength", maxText}}
	}
	panic("form: no schema for " + t.String())
}

// textKinds says as what YAML can see a text that matches pattern: an id such as
// 12 is a number to it where no quotes are written.
func textKinds(pattern string) any {
	if pattern != "" && !regexp.MustCompile(pattern).MatchString("1") {
		return "string"
	}
	return []string{"string", "number"}
}

// keyNode describes a free field name, which JSON always sees as a text.
func keyNode(t reflect.Type) object {
	if t.Kind() == reflect.Int {
		return object{{"pattern", `^[-+]?[0-9]+$`}}
	}
	zero := reflect.Zero(t).Interface()
	if h, ok := zero.(hinter); ok {
		_, pattern, _ := h.FormHint()
		return object{{"pattern", pattern}}
	}
	if c, ok := zero.(chooser); ok {
		return object{{"enum", c.Values()}}
	}
	return object{{"maxLength", maxKey}}
}

// structNode describes a struct: its fields, which of them are required, and
// that there are no others.
func structNode(t reflect.Type) object {
	var props object
	required := []string{}
	for _, f := range fieldsOf(t) {
		n := newNode(f.typ)
		if f.name == "form" && f.typ.Kind() == reflect.Int {
			n = object{{"const", Version}}
		}
		n = append(object{{"title", f.doc}}, n...)
		props = append(props, member{f.name, n})
		if f.required {
			required = append(required, f.name)
		}
	}
	return object{{"type", "object"}, {"properties", props}, {"required", required}, {"additionalProperties", false}}
}

// A FieldDoc describes one field of a form for its documentation page.
type FieldDoc struct {
	Path     string
	Required bool
	Kind     string // what its value looks like
	Doc      string
}

// Fields lists every field of a form type, depth first, for the manual.
func Fields(v any) []FieldDoc {
	var out []FieldDoc
	var walk func(t reflect.Type, prefix string)
	walk = func(t reflect.Type, prefix string) {
		for _, f := range fieldsOf(t) {
			out = append(out, FieldDoc{prefix + f.name, f.required, expected(f.typ), f.doc})
			inner, mark := f.typ, ""
			for inner.Kind() == reflect.Pointer || inner.Kind() == reflect.Slice || inner.Kind() == reflect.Map {
				if inner.Kind() != reflect.Pointer {
					mark = "[]"
				}
				inner = inner.Elem()
			}
			_, isText := reflect.Zero(inner).Interface().(hinter)
			if inner.Kind() == reflect.Struct && !isText && inner != reflect.TypeOf(Text{}) {
				walk(inner, prefix+f.name+mark+".")
			}
		}
	}
	walk(reflect.TypeOf(v), "")
	return out
}
