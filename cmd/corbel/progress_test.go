package main

import (
	"bytes"
	"strings"
	"testing"
)

// Ensure that on a terminal a long job shows a bar that fills from nothing to all, each
// over the one before, and that elsewhere nothing is written.
func TestProgressBar(t *testing.T) {
	var err bytes.Buffer
	a := &app{err: &err, terminal: true}
	for done := range 5 {
		a.progress(done, 4)
	}
	bars := strings.Split(strings.TrimSuffix(err.String(), "\n"), "\r")[1:]
	if len(bars) != 5 || !strings.HasSuffix(err.String(), "\n") {
		t.Fatalf("%q", err.String())
	}
	for i, b := range bars {
		if n := strings.Count(b, "#"); n != progressWidth*i/4 || len(b) != len(bars[0]) || !strings.HasSuffix(b, string(rune('0'+i))+"/4") {
			t.Errorf("%d of 4: %q", i, b)
		}
	}
	err.Reset()
	a.terminal = false
	a.progress(1, 2)
	if err.Len() > 0 {
		t.Errorf("not on a terminal: %q", err.String())
	}
}
