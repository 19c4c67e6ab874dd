package web_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/accessibility"
)

// A breach is a rule of axe-core that a page breaks.
type breach struct {
	Rule, Help string
	Where      []string
}

// axeScript is axe-core, which `make needs` fetches.
func axeScript(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("testdata/axe/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Fatalf("axe-core is not there: run make needs: %v", err)
	}
	return string(text)
}

// axe runs the rules of axe-core in the page as it is shown; only those named where
// some are.
func (p *tab) axe(rules ...string) []breach {
	p.t.Helper()
	only := ""
	if len(rules) > 0 {
		only = fmt.Sprintf(", runOnly: %q", rules)
		only = strings.ReplaceAll(only, `" "`, `", "`)
	}
	return js[[]breach](p, `axe.run(document, {resultTypes: ["violations"], iframes: false`+only+`}).then(r => r.violations.map(v => ({
		Rule: v.id, Help: v.help, Where: v.nodes.slice(0, 4).map(n => n.target.join(" ") + " " + n.html.slice(0, 160) + " " + n.failureSummary.slice(0, 300))})))`)
}

// Ensure that axe-core finds nothing on any page, with everything folded out, on a
// desk and on a telephone, light and dark; and that no page scrolls sideways.
func TestAxe(t *testing.T) {
	h := open(t)
	script := axeScript(t)
	p := h.tab(t, h.coach)
	check := func(path, state string, rules ...string) {
		t.Helper()
		for _, b := range p.axe(rules...) {
			t.Errorf("%s, %s: %s: %s\n\t%s", path, state, b.Rule, b.Help, strings.Join(b.Where, "\n\t"))
		}
	}
	for _, path := range everyPage {
		if strings.HasSuffix(path, "/sheet") {
			continue // paper: it runs no script, axe-core's neither
		}
		p.size(deskWide)
		p.dark(false)
		p.visit(path)
		js[bool](p, `document.querySelectorAll("details").forEach(d => d.open = true), true`)
		js[bool](p, script+"; true")
		check(path, "1400 px, light")
		p.dark(true)
		check(path, "1400 px, dark", "color-contrast") // the theme changes colours, and colours alone
		p.dark(false)
		p.size(phoneWide)
		js[bool](p, `document.querySelectorAll(".weeks details").forEach(d => d.open = false), true`) // they lie over each other where all are open
		check(path, "390 px, light", layoutRules...)
		if wide := js[int](p, `document.documentElement.scrollWidth`); wide > phoneWide {
			t.Errorf("%s is %d px wide on a telephone of %d px: %s", path, wide, phoneWide, js[string](p, widest))
		}
	}
}

// layoutRules are the rules of axe-core that the width of a window can break.
var layoutRules = []string{"color-contrast", "scrollable-region-focusable", "target-size", "label", "link-name", "button-name", "page-has-heading-one",
	"landmark-one-main", "region", "heading-order", "empty-heading", "empty-table-header", "th-has-data-cells", "list", "listitem", "table-fake-caption"}

// widest names what sticks out of the window, what scrolls in itself left out.
const widest = `[...document.querySelectorAll("main *, header *")].filter(e => e.getBoundingClientRect().right > innerWidth + 0.5 && !e.closest(".scroll, table.weeks"))
	.slice(0, 5).map(e => e.tagName + "." + e.className + " " + Math.round(e.getBoundingClientRect().right) + " " + e.textContent.slice(0, 40)).join("; ")`

// Ensure that a tile of the board is read out as what stands on it.
func TestTileIsReadOut(t *testing.T) {
	h := open(t)
	p := h.tab(t, h.coach)
	p.visit("/blocks/rosa-b2/board")
	tree := call(p, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	var names []string
	for _, n := range tree.Nodes {
		if n.Role != nil && string(n.Role.Value) == `"link"` && n.Name != nil {
			names = append(names, string(n.Name.Value))
		}
	}
	want := `"drill Side-lying hip abduction`
	if !slices.ContainsFunc(names, func(s string) bool { return strings.HasPrefix(s, want) && strings.Contains(s, "prepares") }) {
		t.Errorf("no link is read out as %s…; there are %s", want, names)
	}
}
