package body

import (
	"bytes"
	"strings"
	"testing"
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
