package effort

import (
	"encoding/csv"
	"strconv"
	"strings"
)

const (
	badTable  = "effort: embedded table does not read as CSV"
	badRow    = "effort: embedded table has a row without a source"
	badNumber = "effort: embedded table has a cell that is no number"
)

// readTable reads an embedded CSV table: first row column names, second row
// units, last column the source key. It returns the data rows only and panics on
// a malformed table, because the tables are part of the program.
func readTable(text string) [][]string {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) < 3 {
		panic(badTable)
	}
	for _, row := range rows {
		if strings.TrimSpace(row[len(row)-1]) == "" {
			panic(badRow)
		}
	}
	return rows[2:]
}

// number reads one cell of an embedded table.
func number(cell string) float64 {
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		panic(badNumber)
	}
	return v
}
