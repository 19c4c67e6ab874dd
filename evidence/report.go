package evidence

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// reportTests is how many chosen tests a simulated client of the report does.
const reportTests = 9

// WriteReport writes, for simulated clients with one group 20 % weaker, which group and
// side leads after nine chosen tests: rows are what was planted, columns what leads; the
// last column is the part with a chance over 0.8. It needs some ten seconds.
func WriteReport(w io.Writer, clients int) error {
	m := ModelOf("lower")
	t := tabwriter.NewWriter(w, 0, 4, 1, ' ', 0)
	fmt.Fprintf(t, "weak groups, %d simulated clients, one group 20 %% weaker, %d chosen tests: planted (row), leads (column)\n", clients, reportTests)
	for _, g := range m.Groups {
		fmt.Fprintf(t, "\t%s", short(g.ID))
	}
	fmt.Fprintln(t, "\tother side\tover 0.8")
	counts := make([][]int, len(m.Groups))
	called := make([]int, len(m.Groups))
	for g := range counts {
		counts[g] = make([]int, len(m.Groups)+1)
	}
	for i := range clients {
		s := Simulate(m, uint64(i), 0.20, Protocol{Tests: reportTests, Chosen: true})
		at := s.Called.Group
		if at == s.Planted.Group && s.Called.Side != s.Planted.Side {
			at = len(m.Groups)
		}
		counts[s.Planted.Group][at]++
		if s.Chance > 0.8 {
			called[s.Planted.Group]++
		}
	}
	for g, row := range counts {
		fmt.Fprint(t, m.Groups[g].ID)
		for _, n := range row {
			fmt.Fprintf(t, "\t%s", count(n))
		}
		fmt.Fprintf(t, "\t%s\n", count(called[g]))
	}
	fmt.Fprintln(t)
	return t.Flush()
}

// short is the head of a column.
func short(id string) string {
	parts := strings.Split(id, "-")
	return parts[len(parts)-1]
}

func count(n int) string {
	if n == 0 {
		return "."
	}
	return fmt.Sprint(n)
}
