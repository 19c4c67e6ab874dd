package evidence

import (
	"bytes"
	"strings"
	"testing"
)

// Ensure that the report has a row for every group and counts every client once.
func TestWriteReport(t *testing.T) {
	var b bytes.Buffer
	if err := WriteReport(&b, 20); err != nil {
		t.Fatal(err)
	}
	total := 0
	for _, g := range ModelOf("lower").Groups {
		_, row, ok := strings.Cut(b.String(), "\n"+g.ID+" ")
		if !ok {
			t.Errorf("no row for %s", g.ID)
			continue
		}
		row, _, _ = strings.Cut(row, "\n")
		cells := strings.Fields(row)
		for _, c := range cells[:len(cells)-1] { // the last is the part that is called
			if c != "." {
				total += int(c[0] - '0')
			}
		}
	}
	if total != 20 {
		t.Errorf("%d clients counted:\n%s", total, b.String())
	}
}
