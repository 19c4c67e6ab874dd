package exercise

import (
	"embed"
	"fmt"
	"io/fs"
	"math"
	"path"
	"slices"
	"strings"

	"corbel/anatomy"
	"corbel/form"
)

//go:embed library/*.yaml
var files embed.FS

// A Library is a set of exercises found by id, alias, name or abbreviation. It
// is read-only and may be shared.
type Library struct {
	list   []*Exercise
	byID   map[string]*Exercise
	byName map[string]*Exercise // folded ids, aliases, names, abbreviations, words
	names  []string             // keys of byName, sorted
}

// Shipped is the library that comes with the program.
var Shipped = func() *Library {
	_ = grammar // reached through interfaces, which the order of initialisation does not see
	sub, err := fs.Sub(files, "library")
	if err != nil {
		panic(err)
	}
	l, err := Read(sub)
	if err != nil {
		panic(err)
	}
	return l
}()

// Read reads every .yaml file of a folder as an exercise. The error lists what
// is wrong in the first faulty file, or which names collide.
func Read(fsys fs.FS) (*Library, error) {
	names, err := fs.Glob(fsys, "*.yaml")
	if err != nil {
		return nil, err
	}
	l := &Library{byID: map[string]*Exercise{}, byName: map[string]*Exercise{}}
	for _, name := range names {
		e, err := readOne(fsys, name)
		if err != nil {
			return nil, err
		}
		l.list = append(l.list, e)
		l.byID[string(e.ID)] = e
	}
	for _, e := range l.list {
		if err := l.index(e); err != nil {
			return nil, err
		}
	}
	if err := l.checkPostures(fsys); err != nil {
		return nil, err
	}
	for n := range l.byName {
		l.names = append(l.names, n)
	}
	slices.Sort(l.names)
	return l, nil
}

// readOne reads and checks one exercise file.
func readOne(fsys fs.FS, name string) (*Exercise, error) {
	src, err := form.ReadFile(fsys, name)
	if err != nil {
		return nil, err
	}
	d, err := form.Open(name, src)
	if err != nil {
		return nil, err
	}
	e := &Exercise{}
	d.Fill("an exercise", e)
	if d.Err() == nil {
		e.check(d, strings.TrimSuffix(path.Base(name), ".yaml"))
	}
	return e, d.Err()
}

// Bounds of shares that go with the declared count (our judgement; key
// stated-shares).
const (
	directShare   = 0.75 // a directly counted muscle has at least this share
	indirectShare = 0.3  // an indirectly counted one at least this
	indirectMost  = 0.95
)

// check refuses an entry whose parts contradict each other.
func (e *Exercise) check(d *form.Doc, file string) {
	if string(e.ID) != file {
		d.Refuse("id", "wrong-value", "the id %q should be the file name %q", e.ID, file)
	}
	if e.Carried < 0 || e.Carried > 1 {
		d.Refuse("carried", "out-of-range", "a carried fraction of %g: write 0 to 1", e.Carried)
	}
	largest := 0.0
	for m, s := range e.Shares {
		if !slices.Contains(anatomy.Muscle("").Values(), string(m)) || s <= 0 || s > 1 || math.Abs(s*20-math.Round(s*20)) > 1e-9 {
			d.Refuse("shares."+string(m), "out-of-range", "a share of %g: write 0.05 to 1 in steps of 0.05", s)
		}
		largest = max(largest, s)
		if s >= directShare && !slices.Contains(e.Direct, m) && !slices.Contains(e.Indirect, m) {
			d.Refuse("shares."+string(m), "wrong-value", "a share of %g needs the muscle among direct or indirect", s)
		}
	}
	if largest != 1 {
		d.Refuse("shares", "wrong-value", "the largest share is %g and should be 1", largest)
	}
	for i, m := range e.Direct {
		if e.Shares[m] < directShare {
			d.Refuse(fmt.Sprintf("direct[%d]", i), "wrong-value", "%s is counted direct with a share of %g, under %g", m, e.Shares[m], directShare)
		}
	}
	for i, m := range e.Indirect {
		if s := e.Shares[m]; s < indirectShare || s > indirectMost || slices.Contains(e.Direct, m) {
			d.Refuse(fmt.Sprintf("indirect[%d]", i), "wrong-value", "%s is counted indirect with a share of %g, outside %g to %g, or counted twice", m, s, indirectShare, indirectMost)
		}
	}
	if len(e.Loads) == 0 || len(e.May) == 0 || len(e.Actions) == 0 {
		d.Refuse("id", "missing-field", "loads, may and actions need at least one entry each")
	}
	e.checkTexts(d)
}

// checkTexts refuses missing languages.
func (e *Exercise) checkTexts(d *form.Doc) {
	en, de := e.Cues.En.List(), e.Cues.De.List()
	if len(en) < 2 || len(en) != len(de) {
		d.Refuse("cues", "missing-field", "two or three cues are needed, the same in both languages")
	}
	if len(e.Cautions.En) == 0 || len(e.Cautions.En) != len(e.Cautions.De) {
		d.Refuse("cautions", "missing-field", "at least one caution is needed, the same number in both languages")
	}
	if e.Name.En == "" || e.Name.De == "" {
		d.Refuse("name", "missing-field", "a name in both languages is needed")
	}
}

// index enters all names of an exercise. Two exercises may not share one.
func (l *Library) index(e *Exercise) error {
	names := []string{string(e.ID), e.Name.En, e.Name.De}
	for _, w := range e.Was {
		names = append(names, string(w))
	}
	names = slices.Concat(names, e.Short.En, e.Short.De, e.Words.En, e.Words.De)
	for _, n := range names {
		key := fold(n)
		if other := l.byName[key]; other != nil && other != e {
			return fmt.Errorf("library: %q names both %s and %s", n, other.ID, e.ID)
		}
		l.byName[key] = e
	}
	return nil
}

// fold brings a typed name into the form names are compared in.
func fold(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return r == ' ' || r == '-' || r == '_' || r == ',' || r == '\u00a0'
	}), "-")
}

// All lists the exercises by id. The slice may not be changed.
func (l *Library) All() []*Exercise { return l.list }

// ByID returns an exercise by its id, or nil.
func (l *Library) ByID(id string) *Exercise { return l.byID[id] }

// Find returns the exercise a coach means by an id, an earlier id, a name in
// either language or an abbreviation, or nil.
func (l *Library) Find(typed string) *Exercise {
	key := fold(typed)
	if e := l.byName[key]; e != nil {
		return e
	}
	return l.byName[strings.TrimSuffix(key, "s")]
}

// Name finds an exercise as client.Namer wants it: its id, or the ids of the
// three nearest names.
func (l *Library) Name(typed string) (id string, near []string) {
	if e := l.Find(typed); e != nil {
		return string(e.ID), nil
	}
	for _, n := range form.Near(typed, l.names, 12) {
		if e := string(l.byName[n].ID); !slices.Contains(near, e) && len(near) < 3 {
			near = append(near, e)
		}
	}
	return "", near
}
