package num

import (
	"strings"
	"testing"
)

// Ensure that a table without a source in every row is refused.
func TestTableNeedsSources(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"a,source\n1,key\n2,\n", "row 3: no source"},
		{"a,b\n1,key\n2,x\n", "want source"},
		{"a,source\n", "units are missing"},
		{"a,source\nkg,key\n2\n", "wrong number of fields"},
	} {
		_, err := parseTable("t", c.text)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: got %v, want %q", c.text, err, c.want)
		}
	}
}

// Ensure that cells come back as text, number and list.
func TestTableCells(t *testing.T) {
	tab := ReadTable("t", "id,k,parts,source\ntext,1,ids,key\nsquat,0.025,a b,x\n")
	if tab.Len() != 1 || tab.Text(0, "id") != "squat" || tab.Number(0, "k") != 0.025 {
		t.Fatalf("got %+v", tab)
	}
	if l := tab.List(0, "parts"); len(l) != 2 || l[1] != "b" {
		t.Fatalf("list %q", l)
	}
	for _, f := range []func(){func() { tab.Text(0, "none") }, func() { tab.Number(0, "id") }} {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("no panic for a wrong column")
				}
			}()
			f()
		}()
	}
}
