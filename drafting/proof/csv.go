package proof

import (
	"io"
	"strconv"

	"tapeline/drafting/body"
)

// ReadCSV reads the bodies of a table as body.ReadCSV does and names each by
// its line.
func ReadCSV(r io.Reader, renamed map[string]body.Name) (bodies []Body, ignored []string, err error) {
	table, err := body.ReadCSV(r, renamed)
	for _, row := range table.Rows {
		bodies = append(bodies, Body{
			Name: "line " + strconv.Itoa(row.Line), Given: row.Given, Faults: row.Faults,
		})
	}
	return bodies, table.Ignored, err
}
