package proof

import (
	"io"
	"strconv"

	"tapeline/drafting/body"
)

// ReadCSV reads the bodies of a table as body.ReadCSV does and names each by
// its line, and by its size if the table has that column.
func ReadCSV(r io.Reader, renamed map[string]body.Name) (bodies []Body, ignored []string, err error) {
	table, err := body.ReadCSV(r, renamed)
	for _, row := range table.Rows {
		b := Body{Name: "line " + strconv.Itoa(row.Line), Given: row.Given, Faults: row.Faults}
		if row.Name != "" {
			b.Name += ", size " + row.Name
		}
		bodies = append(bodies, b)
	}
	return bodies, table.Ignored, err
}
