package form

import (
	"bytes"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strconv"
	"strings"
)

// Write returns a form value as YAML: fields in the order of the type, empty
// ones left out, texts quoted wherever YAML could take them for something else.
// What Write writes, Open and Fill read back to an equal value. It panics on
// types that are not forms.
func Write(v any) []byte {
	var w writer
	w.fields(reflect.ValueOf(v), 0)
	return w.Bytes()
}

// WriteFile writes a file whole or not at all: to a temporary file in the same
// folder, then by rename. A file that is there keeps its permissions.
func WriteFile(name string, data []byte) error {
	mode := os.FileMode(0o644)
	if old, err := os.Stat(name); err == nil && old.Mode().IsRegular() {
		mode = old.Mode().Perm()
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".corbel-*")
	if err != nil {
		return fmt.Errorf("write %s: %w", name, plainCause(err))
	}
	defer os.Remove(f.Name())
	_, err = f.Write(data)
	if err == nil {
		err = f.Chmod(mode)
	}
	// on the disk before the name points to it, or a power cut leaves it empty
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", name, plainCause(err))
	}
	return nil
}

// plainCause strips the name of the temporary file from an error.
func plainCause(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	var l *os.LinkError
	if errors.As(err, &l) {
		return l.Err
	}
	return err
}

type writer struct{ bytes.Buffer }

// fields writes a struct, one field a line, at an indent of level steps.
func (w *writer) fields(v reflect.Value, level int) {
	for v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	for _, f := range fieldsOf(v.Type()) {
		if x := v.Field(f.index); !empty(x) || f.required && writtenAtZero(x) {
			w.indent(level)
			w.WriteString(f.name + ":")
			w.entry(x, level)
		}
	}
}

// writtenAtZero says whether the zero value of a required field says something: a
// number, or a type written as one text that knows no empty value, such as a
// band of 0.
func writtenAtZero(v reflect.Value) bool {
	_, text := v.Interface().(encoding.TextMarshaler)
	_, knowsZero := v.Interface().(interface{ IsZero() bool })
	return v.Kind() == reflect.Int || v.Kind() == reflect.Float64 || text && !knowsZero && v.Kind() == reflect.Struct
}

func (w *writer) indent(level int) { w.WriteString(strings.Repeat("  ", level)) }

// entry writes what stands behind a field name, from the colon on.
func (w *writer) entry(v reflect.Value, level int) {
	for v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	if s, ok := scalar(v); ok {
		w.WriteString(" " + s + "\n")
		return
	}
	var sub writer
	switch v.Kind() {
	case reflect.Struct:
		sub.fields(v, level+1)
	case reflect.Slice:
		for i := range v.Len() {
			sub.item(v.Index(i), level+1)
		}
	case reflect.Map:
		for _, k := range sortedKeys(v) {
			sub.indent(level + 1)
			key, _ := scalar(k)
			sub.WriteString(key + ":")
			sub.entry(v.MapIndex(k), level+1)
		}
	default:
		panic("form: a value of type " + v.Type().String() + " cannot be written")
	}
	switch {
	case sub.Len() > 0:
		w.WriteString("\n" + sub.String())
	case v.Kind() == reflect.Slice:
		w.WriteString(" []\n")
	default:
		w.WriteString(" {}\n")
	}
}

// item writes one entry of a list; a struct starts on the line of its dash.
func (w *writer) item(v reflect.Value, level int) {
	for v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	w.indent(level)
	if s, ok := scalar(v); ok {
		w.WriteString("- " + s + "\n")
		return
	}
	if v.Kind() != reflect.Struct {
		panic("form: a list of " + v.Type().String() + " cannot be written")
	}
	var sub writer
	sub.fields(v, level+1)
	text := sub.String()
	if text == "" {
		w.WriteString("- {}\n")
		return
	}
	w.WriteString("- " + strings.TrimLeft(text, " "))
}

// scalar writes a value that fits on one line.
func scalar(v reflect.Value) (string, bool) {
	if m, ok := v.Interface().(encoding.TextMarshaler); ok {
		b, err := m.MarshalText()
		if err != nil {
			panic("form: " + err.Error())
		}
		return quote(string(b)), true
	}
	switch v.Kind() {
	case reflect.String:
		return quote(v.String()), true
	case reflect.Int:
		return strconv.FormatInt(v.Int(), 10), true
	case reflect.Bool:
		return strconv.FormatBool(v.Bool()), true
	case reflect.Float64:
		return strconv.FormatFloat(v.Float(), 'f', -1, 64), true
	}
	return "", false
}

// plainText matches texts that YAML reads as themselves without quotes.
var plainText = regexp.MustCompile(`^[\pL0-9][\pL0-9 ()%@/+.,;=°×–'-]*$`)

// reserved matches texts that YAML could read as something other than text.
var reserved = regexp.MustCompile(`^(?i:true|false|yes|no|on|off|y|n|null|nan|inf)$|^[0-9.,_+-]*$|^0[xob]|^[0-9.]+e[0-9+-]+$`)

// quote writes a text plainly where that is beyond doubt, else in double
// quotes. `no`, dates and ids stay readable: they are texts in YAML 1.2, which
// the reader follows.
func quote(s string) string {
	if plainText.MatchString(s) && !strings.HasSuffix(s, " ") && (!reserved.MatchString(s) || s == "yes" || s == "no" || isDate(s)) {
		return s
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(s); err != nil {
		panic("form: " + err.Error())
	}
	return strings.TrimSuffix(b.String(), "\n")
}

func isDate(s string) bool { _, err := ParseDate(s); return err == nil && len(s) == len(dateLayout) }

// empty says whether a value is left out of the file.
func empty(v reflect.Value) bool {
	if z, ok := v.Interface().(interface{ IsZero() bool }); ok && v.Kind() != reflect.Pointer {
		return z.IsZero()
	}
	switch v.Kind() {
	case reflect.Slice, reflect.Map:
		return v.Len() == 0
	case reflect.Struct:
		fields := fieldsOf(v.Type())
		if len(fields) == 0 {
			return v.IsZero() // written as one text
		}
		for _, f := range fields {
			if !empty(v.Field(f.index)) {
				return false
			}
		}
		return true
	}
	return v.IsZero()
}
