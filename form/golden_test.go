package form_test

import (
	"corbel/form"
	"corbel/unit"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// compareKits compares kits with the typed texts of quantities, not their
// values alone; a list or table without entries is the same as none.
var compareKits = cmp.Options{
	cmpopts.EquateEmpty(),
	cmpopts.IgnoreUnexported(kit{}),
	cmp.Comparer(func(a, b unit.Mass) bool { return a.Equal(b) && a.String() == b.String() }),
	cmp.Comparer(func(a, b unit.Duration) bool { return a.Equal(b) && a.String() == b.String() }),
	cmp.Comparer(func(a, b form.Date) bool { return a == b }),
}

// manyProblems is what TestFillReportsEverythingAtOnce wants.
const manyProblems = `
`
