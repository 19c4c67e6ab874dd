// Command build turns the TypeScript of web/island into the scripts of web/static. Run it
// in web: go generate, or at the root: go run ./web/build.
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/evanw/esbuild/pkg/api"
)

// islands are the scripts that are built, by the name of source and result.
var islands = []string{"table", "record", "many"}

func main() {
	dir := "web"
	if _, err := os.Stat(dir); err != nil {
		dir = "." // run by go generate
	}
	for _, name := range islands {
		out, err := build(dir, name)
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, "static", name+".js"), out, 0o644)
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

// build returns the script of an island. Preact and its signals are those in
// island/vendor, so that the same source gives the same bytes without a network. The
// error names the first place that is wrong.
func build(dir, name string) ([]byte, error) {
	vendor, err := filepath.Abs(filepath.Join(dir, "island", "vendor"))
	if err != nil {
		return nil, err
	}
	alias := map[string]string{"preact": "preact", "preact/hooks": "hooks", "@preact/signals": "signals", "@preact/signals-core": "signals-core"}
	for from, file := range alias {
		alias[from] = filepath.Join(vendor, file+".mjs")
	}
	entry := filepath.Join(dir, "island", name+".ts")
	if _, err := os.Stat(entry); err != nil {
		entry += "x"
	}
	result := api.Build(api.BuildOptions{
		EntryPoints: []string{entry}, Bundle: true, Format: api.FormatESModule, Target: api.ES2022, Alias: alias,
		MinifyWhitespace: true, MinifySyntax: true, MinifyIdentifiers: true, Charset: api.CharsetUTF8, LegalComments: api.LegalCommentsNone,
		JSX: api.JSXTransform, JSXFactory: "h", JSXFragment: "Fragment", TsconfigRaw: "{}",
		Banner: map[string]string{"js": "/* Built from web/island/" + filepath.Base(entry) + "; with Preact (MIT, web/island/vendor). */"},
	})
	if len(result.Errors) > 0 {
		m := result.Errors[0]
		if m.Location != nil {
			return nil, fmt.Errorf("%s:%d: %s", m.Location.File, m.Location.Line, m.Text)
		}
		return nil, fmt.Errorf("%s: %s", entry, m.Text)
	}
	return result.OutputFiles[0].Contents, nil
}
