package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Ensure that a hand-over that cannot be finished writes nothing and leaves what an
// earlier one wrote as it was, and that one that can leaves no file beside those
// it names.
func TestHandOverIsWhole(t *testing.T) {
	inExamples(t)
	if _, errs, code := asked(t, "hand-over", "rosa-block.yaml", "-o", "out"); code != exitYes {
		t.Fatal(errs)
	}
	if n := len(inFolder(t, "out")); n != 7 {
		t.Errorf("%d files, want 7: %v", n, inFolder(t, "out"))
	}
	before, err := os.ReadFile("out/sheet.pdf")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Remove("out/frozen.json"); err != nil { // the last to be written
		t.Fatal(err)
	}
	if err := os.Mkdir("out/frozen.json", 0o700); err != nil {
		t.Fatal(err)
	}
	_, errs, code := asked(t, "hand-over", "rosa-block.yaml", "-o", "out", "--force", "--paper", "letter")
	if code != exitBad || !strings.Contains(errs, "frozen.json is a folder") {
		t.Errorf("exit %d, %s", code, errs)
	}
	after, err := os.ReadFile("out/sheet.pdf")
	if err != nil || string(after) != string(before) {
		t.Errorf("the sheet of the earlier hand-over was touched: %v", err)
	}
	if n := len(inFolder(t, "out")); n != 7 {
		t.Errorf("something was left behind: %v", inFolder(t, "out"))
	}
}

// inFolder lists the names in a folder, hidden ones too.
func inFolder(t *testing.T, dir string) []string {
	t.Helper()
	var out []string
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

// Ensure that no stop is handed over, sheeted or exported, that a coach's written
// reason lets one pass that may be kept, and that none passes a practitioner's
// restriction or an emergency sign, whatever stands on record.
func TestStopsAreNotHandedOver(t *testing.T) {
	const (
		rule = "by: coach\n    who: Ida Brandt\n    on: 2026-11-09\n    until: 2026-12-31\n    exercise: lateral-step-down"
		sign = "- ask: emergency-signs\n    answer: \"no\""
	)
	const pain = "- ask: chest-pain\n    answer: \"yes\"\n    on: 2026-11-20\n    by: Ida Brandt\n  "
	coach := strings.Replace(rule, "lateral-step-down", "push-up", 1)
	for _, x := range []struct {
		name     string
		old, new string // of the client file
		kept     bool
		want     int
		says     string
	}{
		{"a coach's restriction", rule, coach, false, exitNo, "Push-up"},
		{"a coach's restriction, kept with a reason", rule, coach, true, exitYes, "Handed over"},
		{"a practitioner's restriction", rule, strings.Replace(coach, "by: coach", "by: practitioner", 1), false, exitNo, "cannot be kept"},
		{"a practitioner's restriction, kept", rule, strings.Replace(coach, "by: coach", "by: practitioner", 1), true, exitNo, "cannot be kept"},
		{"an emergency sign", sign, pain + sign, false, exitNo, "chest pain"},
		{"an emergency sign, kept", sign, pain + sign, true, exitNo, "chest pain"},
	} {
		t.Run(x.name, func(t *testing.T) {
			inExamples(t)
			replaced(t, "rosa-client.yaml", x.old, x.new)
			if x.kept {
				list := "kept:\n"
				for _, code := range []string{"restriction", "emergency", "red-flag", "ask-first", "not-asked", "clearance-needed"} {
					list += "  - code: " + code + "\n    scope: client\n    why: I know of it and watch it.\n    by: Ida\n    on: 2026-11-28\n"
				}
				replaced(t, "rosa-block.yaml", "note: Write down", list+"note: Write down")
			}
			for _, line := range []string{"hand-over rosa-block.yaml -o out", "sheet rosa-block.yaml -o s.pdf", "sheet rosa-block.yaml -o s.html", "export rosa-block.yaml --format csv -o e.csv", "export rosa-block.yaml --format xlsx -o e.xlsx"} {
				out, errs, code := asked(t, strings.Fields(line)...)
				if code != x.want {
					t.Errorf("%s: exit %d, want %d\n%s%s", line, code, x.want, out, errs)
				}
				if strings.HasPrefix(line, "hand-over") && !strings.Contains(strings.ToLower(out), strings.ToLower(x.says)) {
					t.Errorf("%s says\n%s\nwant %q", line, out, x.says)
				}
			}
			for _, name := range []string{"out", "s.pdf", "s.html", "e.csv", "e.xlsx"} {
				if _, err := os.Stat(filepath.Join(".", name)); (err == nil) != (x.want == exitYes) {
					t.Errorf("%s: written %v", name, err == nil)
				}
			}
		})
	}
}

// replaced replaces a text of a file once; it must be there.
func replaced(t *testing.T, file, old, new string) {
	t.Helper()
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(src), old) {
		t.Fatalf("%s does not hold %q", file, old)
	}
	if err := os.WriteFile(file, []byte(strings.Replace(string(src), old, new, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
}
