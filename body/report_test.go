package body

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"

	"corbel/exercise"
)

// Ensure that the report names every norm, every muscle whose arms were fitted and
// every constant with its source.
func TestReport(t *testing.T) {
	var b bytes.Buffer
	if err := WriteReport(&b, 1); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	for f := range StrengthFunctions {
		if n := strings.Count(text, StrengthFunction(f).String()+" "); n < 2 {
			t.Errorf("%s stands there %d times", StrengthFunction(f), n)
		}
	}
	for _, p := range priors {
		if p.muscle != "psoas_lumbar_part" && !strings.Contains(text, p.muscle) {
			t.Errorf("no residual of %s", p.muscle)
		}
	}
	for _, c := range constants() {
		if !strings.Contains(text, c.name) || c.key == "" {
			t.Errorf("constant %q", c.name)
		}
	}
}

// notFree are the numeric constants that say nothing of bodies: steps and tolerances
// of solvers, names of columns, seeds, sizes.
var notFree = []string{"degree", "radPerDeg", "rangeWidth", "noParent", "noStart", "Right", "Left", "strengthParameters", "maxLoad", "CacheMost", "shareSeed", "orderingSeed",
	"maxSteps", "roughSteps", "softFirst", "smallStep", "firstDamp", "leastDamp", "mostDamp", "slackWeight", "stageSteps", "learnSteps", "learnTol",
	"largestTol", "roundingTol", "largestSteps", "firstMultiplier", "leastRoom", "keepInside", "leastSpread",
	"shareTol", "roughTol", "shareNear", "shareSteps", "shareHalvings", "middling", "shareRounding", "sufficient",
	"squatMiddle", "squatBottom", "pressMiddle", "Segments", "sideCoordinates", "ShoulderHorizontalAdduction", "ShoulderAbduction", "ShoulderFlexion"}

// Ensure that the report prints every free constant of the package, with a source
// that docs/sources.md has, and that none is named after one exercise.
func TestEveryConstantIsPrinted(t *testing.T) {
	listed := map[string]constant{}
	for _, c := range constants() {
		if _, twice := listed[c.id]; twice {
			t.Errorf("%s is listed twice", c.id)
		}
		listed[c.id] = c
	}
	sources, err := os.ReadFile("../docs/sources.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range numericConstants(t) {
		c, ok := listed[id]
		if !ok && !slices.Contains(notFree, id) {
			t.Errorf("%s is not in the report", id)
		}
		if ok && c.key != "common-practice" && !strings.Contains(string(sources), "`"+c.key+"`") {
			t.Errorf("%s has the source %s", id, c.key)
		}
		delete(listed, id)
		for _, e := range exercise.Shipped.All() {
			if strings.Contains(strings.ToLower(id), strings.ReplaceAll(string(e.ID), "-", "")) {
				t.Errorf("%s names %s", id, e.ID)
			}
		}
	}
	for id := range listed {
		t.Errorf("%s is listed and is no constant", id)
	}
}

// numericConstants lists the constants of the package that are given a number.
func numericConstants(t *testing.T) (all []string) {
	t.Helper()
	files, err := fs.Glob(os.DirFS("."), "*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != token.CONST {
				continue
			}
			for _, spec := range g.Specs {
				v := spec.(*ast.ValueSpec)
				for i, value := range v.Values {
					if isNumber(value) {
						all = append(all, v.Names[i].Name)
					}
				}
			}
		}
	}
	return all
}

// isNumber says whether an expression is made of numbers and names, and is no count
// of an enumeration.
func isNumber(e ast.Expr) bool {
	number := true
	ast.Inspect(e, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.BasicLit:
			number = number && x.Kind != token.STRING
		case *ast.Ident:
			number = number && x.Name != "iota"
		case *ast.CallExpr:
			number = false
		}
		return true
	})
	return number
}
