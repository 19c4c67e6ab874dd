// Package corbel_test holds what is true of the tree as a whole: the order of
// imports, the size of files, and that every source is listed.
package corbel_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// layers lists the packages from the bottom up. A package may import only
// packages written before its own place.
var layers = []string{"unit", "num", "form", "anatomy", "client", "plan", "exercise", "body", "effort", "session", "evidence", "check",
	"design", "figure", "sketch", "sheet", "practice", "store", "web", "web/build", "examples", "invented", "docs", "docs/gen", "evidence/gen", "cmd/corbel"}

// sources lists the Go files of the tree, tests left out, with their syntax.
func sources(t *testing.T, mode parser.Mode) map[string]*ast.File {
	t.Helper()
	files := map[string]*ast.File{}
	err := filepath.WalkDir(".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, mode)
		files[filepath.ToSlash(name)] = f
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 50 {
		t.Fatalf("only %d files found", len(files))
	}
	return files
}

// Ensure that imports point down: no package imports one above it.
func TestImportOrder(t *testing.T) {
	for name, f := range sources(t, parser.ImportsOnly) {
		own := slices.Index(layers, path.Dir(name))
		if own < 0 {
			t.Errorf("%s: package %s has no place in layers", name, path.Dir(name))
			continue
		}
		for _, i := range f.Imports {
			ours, ok := strings.CutPrefix(strings.Trim(i.Path.Value, `"`), "corbel/")
			if !ok {
				continue
			}
			if at := slices.Index(layers, ours); at < 0 || at >= own {
				t.Errorf("%s imports %s, which stands above it", name, ours)
			}
		}
	}
}

// Ensure that the table of packages in ARCHITECTURE.md names every package.
func TestArchitectureNamesPackages(t *testing.T) {
	text, err := os.ReadFile("ARCHITECTURE.md")
	if err != nil {
		t.Fatal(err)
	}
	for name := range sources(t, parser.ImportsOnly) {
		if dir := path.Dir(name); dir != "docs/gen" && dir != "evidence/gen" && !strings.Contains(string(text), "`"+dir+"`") {
			t.Errorf("ARCHITECTURE.md does not name %s", dir)
		}
	}
}

// Ensure that the functions and files the stage table names are there.
func TestArchitectureIsTrue(t *testing.T) {
	text, err := os.ReadFile("ARCHITECTURE.md")
	if err != nil {
		t.Fatal(err)
	}
	declared := map[string]bool{}
	for name, f := range sources(t, parser.SkipObjectResolution) {
		pkg := f.Name.Name
		for _, d := range f.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				declared[pkg+"."+receiver(d)+d.Name.Name] = true
				if pkg == "main" {
					declared[receiver(d)+d.Name.Name] = true
				}
			case *ast.GenDecl:
				for _, spec := range d.Specs {
					if t, ok := spec.(*ast.TypeSpec); ok {
						declared[pkg+"."+t.Name.Name] = true
					}
				}
			}
		}
		declared[name] = true
	}
	stages, _, _ := strings.Cut(string(text), "## Packages")
	rows := 0
	for _, line := range strings.Split(stages, "\n") {
		cells := strings.Split(line, "|")
		if len(cells) < 8 || strings.TrimSpace(cells[1]) == "#" || strings.HasPrefix(strings.TrimSpace(cells[1]), "-") {
			continue
		}
		rows++
		for _, cell := range cells[5:7] {
			for i, part := range strings.Split(cell, "`") {
				if i%2 == 1 && !declared[part] {
					t.Errorf("stage %s names %s, which is not there", strings.TrimSpace(cells[1]), part)
				}
			}
		}
	}
	if rows < 20 {
		t.Errorf("only %d stages found", rows)
	}
}

// receiver returns the type a method hangs on, with a point, or nothing.
func receiver(d *ast.FuncDecl) string {
	if d.Recv == nil {
		return ""
	}
	t := d.Recv.List[0].Type
	if star, ok := t.(*ast.StarExpr); ok {
		t = star.X
	}
	if id, ok := t.(*ast.Ident); ok {
		return id.Name + "."
	}
	return ""
}

// maxLines is the length no file written by hand passes.
const maxLines = 700

// Ensure that no Go file is longer than 700 lines and that every package has a
// comment.
func TestFilesAndComments(t *testing.T) {
	commented, seen := map[string]bool{}, map[string]bool{}
	for name, f := range sources(t, parser.ParseComments|parser.SkipObjectResolution) {
		dir := path.Dir(name)
		seen[dir] = true
		commented[dir] = commented[dir] || f.Doc != nil
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(string(text), "\n"); n > maxLines {
			t.Errorf("%s has %d lines", name, n)
		}
	}
	for dir := range seen {
		if !commented[dir] {
			t.Errorf("package %s has no comment", dir)
		}
	}
}

// hidden holds, by package, the calls that bring in what should be an argument.
var hidden = map[string][]string{
	"time": {"Now", "Since", "Until"},
	"os":   {"Getenv", "LookupEnv", "Environ", "ExpandEnv"},
}

// ownRandom holds what may be called of math/rand: what makes a source of one's
// own. All the rest draws from the source every caller shares.
var ownRandom = []string{"New", "NewPCG", "NewChaCha8", "NewSource", "NewZipf", "Rand", "Source", "PCG", "ChaCha8", "Zipf"}

// Ensure that clock, environment and shared randomness come in as arguments:
// only the command may ask for them.
func TestNoHiddenInputs(t *testing.T) {
	for name, f := range sources(t, parser.SkipObjectResolution) {
		if strings.HasPrefix(name, "cmd/") {
			continue
		}
		imported := importedAs(f)
		ast.Inspect(f, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := s.X.(*ast.Ident); ok {
				from := imported[x.Name]
				random := strings.HasPrefix(from, "math/rand") && !slices.Contains(ownRandom, s.Sel.Name)
				if random || slices.Contains(hidden[from], s.Sel.Name) {
					t.Errorf("%s uses %s.%s", name, from, s.Sel.Name)
				}
			}
			return true
		})
	}
}

// importedAs returns the imports of a file by the name they go by in it.
func importedAs(f *ast.File) map[string]string {
	out := map[string]string{}
	for _, i := range f.Imports {
		from := strings.Trim(i.Path.Value, `"`)
		name := path.Base(strings.TrimSuffix(from, "/v2"))
		if i.Name != nil {
			name = i.Name.Name
		}
		out[name] = from
	}
	return out
}

// Ensure that every exported name has a comment.
func TestExportedNamesAreCommented(t *testing.T) {
	for name, f := range sources(t, parser.ParseComments|parser.SkipObjectResolution) {
		for _, d := range f.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Name.IsExported() && d.Doc == nil && (d.Recv == nil || ast.IsExported(strings.TrimSuffix(receiver(d), "."))) {
					t.Errorf("%s: %s%s has no comment", name, receiver(d), d.Name.Name)
				}
			case *ast.GenDecl:
				uncommented(t, name, d)
			}
		}
	}
}

// uncommented says which exported types, variables and constants of a
// declaration have no comment of their own, on their line or on their group.
func uncommented(t *testing.T, file string, d *ast.GenDecl) {
	t.Helper()
	for _, s := range d.Specs {
		switch s := s.(type) {
		case *ast.TypeSpec:
			if s.Name.IsExported() && s.Doc == nil && s.Comment == nil && d.Doc == nil {
				t.Errorf("%s: %s has no comment", file, s.Name.Name)
			}
		case *ast.ValueSpec:
			if s.Names[0].IsExported() && s.Doc == nil && s.Comment == nil && d.Doc == nil {
				t.Errorf("%s: %s has no comment", file, s.Names[0].Name)
			}
		}
	}
}
