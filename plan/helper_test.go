package plan_test

import (
	"testing"

	"corbel/exercise"
	"corbel/form"
	"corbel/plan"

	"github.com/google/go-cmp/cmp"
)

// diff tells two read files apart. Quantities and doses are compared by what
// they mean, through their Equal methods.
func diff(a, b any) string {
	return cmp.Diff(a, b, cmp.AllowUnexported(form.Date{}))
}

// mustDose parses a dose that is known to be right.
func mustDose(t testing.TB, text string) plan.Dose {
	t.Helper()
	d, err := plan.ParseDose(text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return d
}

// mustBlock reads a block that is known to be right.
func mustBlock(t testing.TB, src string) *plan.Block {
	t.Helper()
	b, err := plan.ReadBlock("block.yaml", []byte(src), exercise.Shipped.Name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Ensure that the two lists of stages are one.
func TestStagesAreThoseOfExercises(t *testing.T) {
	if d := cmp.Diff(plan.Stage("").Values(), exercise.Stage("").Values()); d != "" {
		t.Error(d)
	}
}

// Ensure that every exercise of the library can be named in a percentage, by
// its id and by each of its English short names.
func TestEveryExerciseCanBeNamedInALoad(t *testing.T) {
	for _, e := range exercise.Shipped.All() {
		for _, name := range append([]string{string(e.ID)}, e.Words.En...) {
			d, err := plan.ParseDose("3 x 5 @ 70% of " + name + ", rir 2")
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			if of := d.Parts[0].Sets[0].Load.Of; exercise.Shipped.Find(of) != e {
				t.Errorf("%q reads as %q, which is another exercise than %s", name, of, e.ID)
			}
		}
	}
}
