package check

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// Ensure that docs/model/05-reasons.md names every code of the rules and numbers
// its rules without a gap, and that the numbers the code points at are there.
func TestReasonsChapter(t *testing.T) {
	text, err := os.ReadFile("../docs/model/05-reasons.md")
	if err != nil {
		t.Fatal(err)
	}
	chapter := string(text)
	for _, code := range ruleCodes {
		if !strings.Contains(chapter, "`"+code+"`") {
			t.Errorf("%s is not in the chapter", code)
		}
	}
	const last = 31
	for n := 1; n <= last; n++ {
		if !strings.Contains(chapter, fmt.Sprintf("\n| R%d |", n)) {
			t.Errorf("R%d is missing", n)
		}
	}
	for _, file := range []string{"reasons.go", "session_rules.go", "place_rules.go", "week_rules.go", "reason_rules.go", "rules.go"} {
		code, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(code), "(R") {
			t.Errorf("%s points at no rule", file)
		}
	}
}
