package num

import (
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
)

// A Table is a CSV table shipped with the program. Its first row names the
// columns, its second gives their units, its last column is the key of the
// source in docs/sources.md.
type Table struct {
	Name    string
	Columns []string
	Units   []string
	rows    [][]string
}

// ReadTable reads a table and panics if it is malformed or if a row lacks its
// source: a shipped table is ours, so a fault in it is our mistake.
func ReadTable(name, text string) *Table {
	t, err := parseTable(name, text)
	if err != nil {
		panic("num: " + err.Error())
	}
	return t
}

// parseTable does the work of ReadTable with an error for tests.
func parseTable(name, text string) (*Table, error) {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("table %s: %w", name, err)
	}
	if len(rows) < 2 {
		return nil, fmt.Errorf("table %s: names and units are missing", name)
	}
	t := &Table{Name: name, Columns: rows[0], Units: rows[1], rows: rows[2:]}
	if last := len(t.Columns) - 1; t.Columns[last] != "source" {
		return nil, fmt.Errorf("table %s: the last column is %q, want source", name, t.Columns[last])
	}
	for i, row := range t.rows {
		if row[len(row)-1] == "" {
			return nil, fmt.Errorf("table %s, row %d: no source", name, i+3)
		}
	}
	return t, nil
}

// Len returns the number of rows, names and units not counted.
func (t *Table) Len() int { return len(t.rows) }

// Text returns the cell of a row (from 0) in a column. It panics if the table
// has no such column.
func (t *Table) Text(row int, column string) string {
	for i, c := range t.Columns {
		if c == column {
			return t.rows[row][i]
		}
	}
	panic("num: table " + t.Name + " has no column " + column)
}

// Number returns a cell as a number. It panics if it is none.
func (t *Table) Number(row int, column string) float64 {
	x, err := strconv.ParseFloat(t.Text(row, column), 64)
	if err != nil {
		panic("num: table " + t.Name + ", column " + column + ": " + err.Error())
	}
	return x
}

// List returns a cell as the words it holds.
func (t *Table) List(row int, column string) []string {
	return strings.Fields(t.Text(row, column))
}
