package examples_test

import (
	"bytes"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"corbel/check"
	"corbel/client"
	"corbel/docs"
	"corbel/examples"
	"corbel/exercise"
	"corbel/form"
	"corbel/plan"
	"corbel/sheet"
)

// reader reads a form and returns it as any.
type reader func(file string, src []byte) (any, error)

// lib is the library the examples name their exercises from.
var lib = exercise.Shipped

// readers holds the reader of every form that examples are written in, by the
// word their names end in.
var readers = map[string]reader{
	"client": func(f string, src []byte) (any, error) { return client.Read(f, src, lib.Name) },
	"block":  func(f string, src []byte) (any, error) { return plan.ReadBlock(f, src, lib.Name) },
	"log":    func(f string, src []byte) (any, error) { return plan.ReadLog(f, src, lib.Name) },
	"group":  func(f string, src []byte) (any, error) { return plan.ReadGroup(f, src) },
	"member": func(f string, src []byte) (any, error) { return plan.ReadMember(f, src, lib.Name) },
}

// kind returns the form an example is written in: rosa-client.yaml is a client.
func kind(file string) string {
	name := strings.TrimSuffix(file, ".yaml")
	return name[strings.LastIndex(name, "-")+1:]
}

// source reads an example file.
func source(t *testing.T, file string) []byte {
	t.Helper()
	src, err := examples.Files.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return src
}

// read reads an example that must be good, as a T.
func read[T any](t *testing.T, file string) T {
	t.Helper()
	v, err := readers[kind(file)](file, source(t, file))
	if err != nil {
		t.Fatal(err)
	}
	return v.(T)
}

// each runs a test on every example file.
func each(t *testing.T, test func(t *testing.T, file string)) {
	t.Helper()
	files, err := fs.Glob(examples.Files, "*.yaml")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	for _, f := range files {
		t.Run(f, func(t *testing.T) { test(t, f) })
	}
}

// Ensure that every example is read, that what was read is written and read back
// to an equal value, and that writing is settled after the first time.
func TestExamplesRoundTrip(t *testing.T) {
	each(t, func(t *testing.T, file string) {
		first, err := readers[kind(file)](file, source(t, file))
		if err != nil {
			t.Fatal(err)
		}
		text := form.Write(first)
		second, err := readers[kind(file)](file, text)
		if err != nil {
			t.Fatalf("what was written is refused: %v", err)
		}
		if !reflect.DeepEqual(first, second) {
			t.Errorf("read back as another value:\n%s", text)
		}
		if again := form.Write(second); !bytes.Equal(text, again) {
			t.Errorf("written\n%s\nthen\n%s", text, again)
		}
	})
}

// owner returns the client of a block, or a member of its group: its name ends
// in the word client or group.
func owner(t *testing.T, b *plan.Block) *client.Client {
	t.Helper()
	if b.Client != "" {
		return read[*client.Client](t, b.Client)
	}
	m := read[*plan.Member](t, "nadja-member.yaml")
	if m.Group != b.Group {
		t.Fatalf("%s has no member among the examples", b.Group)
	}
	return m.AsClient(read[*plan.Group](t, m.Group))
}

// day returns a date that is known to be one.
func day(t *testing.T, text string) form.Date {
	t.Helper()
	d, err := form.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Ensure that every example can be shown in both languages: something is said,
// and the two differ.
func TestExamplesShow(t *testing.T) {
	each(t, func(t *testing.T, file string) {
		said := map[form.Language]string{}
		for _, lang := range []form.Language{form.English, form.German} {
			var out bytes.Buffer
			p := sheet.Plain{Out: &out, Library: lib, Language: lang}
			switch kind(file) {
			case "client":
				p.Client(read[*client.Client](t, file), day(t, "2026-12-02"))
			case "block":
				b := read[*plan.Block](t, file)
				p.Block(b, owner(t, b))
			case "log":
				p.Log(read[*plan.Log](t, file))
			case "group":
				p.Group(read[*plan.Group](t, file))
			case "member":
				m := read[*plan.Member](t, file)
				p.Client(m.AsClient(read[*plan.Group](t, m.Group)), day(t, "2026-12-02"))
			}
			said[lang] = out.String()
		}
		if en, de := said[form.English], said[form.German]; len(en) < 100 || en == de {
			t.Errorf("English\n%s\nGerman\n%s", en, de)
		}
	})
}

// Ensure that every block is checked: the two of the demo that may be trained
// hold no stop, and the others are refused, which is what they are there for.
func TestExamplesCheck(t *testing.T) {
	may := map[string]bool{"rosa-block.yaml": true, "tomas-block.yaml": true}
	each(t, func(t *testing.T, file string) {
		if kind(file) != "block" {
			return
		}
		b := read[*plan.Block](t, file)
		r := check.Check(check.Input{Client: owner(t, b), Block: b, Library: lib, Language: form.English, Draws: 20, Seed: 1})
		if r.Blocked() == may[file] {
			t.Errorf("refused: %v, want %v", r.Blocked(), !may[file])
		}
	})
}

// Ensure that every file an example names is there, and of the form it should be.
func TestExamplesNameEachOther(t *testing.T) {
	for _, file := range examples.Blocks {
		if b := read[*plan.Block](t, file); kind(b.Client) != "client" || !strings.HasPrefix(file, strings.TrimSuffix(b.Client, "client.yaml")) {
			t.Errorf("%s is for %s", file, b.Client)
		}
	}
	for _, r := range read[*plan.Group](t, "valley-group.yaml").Releases {
		if b := read[*plan.Block](t, r.Block); b.Group != "valley-group.yaml" || b.Start != r.On {
			t.Errorf("release %s: %s is of %s and starts on %s", r.ID, r.Block, b.Group, b.Start)
		}
	}
	l, b := read[*plan.Log](t, "rosa-log.yaml"), read[*plan.Block](t, "rosa-block.yaml")
	for _, e := range l.Entries {
		for _, s := range e.Sets {
			if _, slot := b.SlotByID(s.Slot); slot == nil || e.Block != b.ID || e.Revision > b.Revision {
				t.Errorf("the log names slot %s of %s, revision %d", s.Slot, e.Block, e.Revision)
			}
		}
	}
}

// schemas compiles every schema the program ships.
func schemas(t *testing.T) map[string]*jsonschema.Schema {
	t.Helper()
	files, err := fs.Glob(docs.Schemas, "schema/*.json")
	if err != nil || len(files) < 7 {
		t.Fatalf("%d schemas, %v", len(files), err)
	}
	out := map[string]*jsonschema.Schema{}
	for _, f := range files {
		src, err := docs.Schemas.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(src))
		if err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		c := jsonschema.NewCompiler()
		if err := c.AddResource(f, doc); err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		if out[strings.TrimSuffix(path.Base(f), ".json")], err = c.Compile(f); err != nil {
			t.Fatalf("%s: %v", f, err)
		}
	}
	return out
}

// valid holds a YAML text to a schema the way an editor does: as JSON.
func valid(s *jsonschema.Schema, src []byte) error {
	text, err := yaml.YAMLToJSON(src)
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

// Ensure that an editor that holds the examples to the shipped schemas has
// nothing to underline.
func TestExamplesFollowTheirSchema(t *testing.T) {
	all := schemas(t)
	each(t, func(t *testing.T, file string) {
		if err := valid(all[kind(file)], source(t, file)); err != nil {
			t.Error(err)
		}
	})
}

// Ensure that what is wrong in its shape is underlined by an editor, too: an
// unknown field, a value of another kind, a missing field.
func TestSchemasRefuseBadFiles(t *testing.T) {
	all := schemas(t)
	dir := filepath.Join("..", "cmd", "corbel", "testdata", "bad")
	good, err := os.ReadFile(filepath.Join(dir, "client-good.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := valid(all["client"], good); err != nil {
		t.Errorf("the good client: %v", err)
	}
	for form, files := range map[string][]string{
		"client": {"unknown-field", "misspelt-field", "nested-unknown-field", "list-on-top", "null-value", "form-missing", "unknown-form", "mass-without-unit",
			"unknown-word", "unknown-region", "stray-answer-word", "limit-without-percent", "date-of-other-order", "ask-of-a-bad-client", "block-read-as-client"},
		"block": {"unknown-field-in-block", "client-read-as-block"},
		"log":   {"client-good"},
	} {
		for _, f := range files {
			src, err := os.ReadFile(filepath.Join(dir, f+".yaml"))
			if err != nil {
				t.Fatal(err)
			}
			if err := valid(all[form], src); err == nil {
				t.Errorf("the schema of a %s takes %s", form, f)
			}
		}
	}
}
