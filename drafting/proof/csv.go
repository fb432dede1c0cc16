package proof

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/fault"
)

// ReadCSV reads bodies, one a row, from CSV with a header of measurement names,
// in cm (degrees for the shoulder slope), and names the columns that are no
// measurements. Renamed says which column of another name to read as one. An
// empty cell is a measurement not taken.
func ReadCSV(r io.Reader, renamed map[string]body.Name) (rows []Body, ignored []string, err error) {
	in := bufio.NewReader(r)
	if mark, _ := in.Peek(3); string(mark) == "\ufeff" {
		in.Discard(len(mark))
	}
	file := csv.NewReader(in)
	file.ReuseRecord = true
	header, err := file.Read()
	if errors.Is(err, io.EOF) {
		return nil, nil, errors.New("empty, without a header of measurement names")
	}
	if err != nil {
		return nil, nil, err
	}
	columns := make([]body.Name, len(header)) // "" for one that is ignored
	for i, h := range header {
		h = strings.TrimSpace(h)
		name, ok := renamed[h]
		if !ok {
			name = body.Name(h)
		}
		if _, known := body.Lookup(name); !known {
			ignored = append(ignored, h)
			continue
		}
		if slices.Contains(columns, name) {
			return nil, nil, fmt.Errorf("two columns for %s", name)
		}
		columns[i] = name
	}
	if len(ignored) == len(header) {
		return nil, nil, fmt.Errorf("no column is a measurement: %s", strings.Join(ignored, ", "))
	}
	for {
		record, err := file.Read()
		if errors.Is(err, io.EOF) {
			return rows, ignored, nil
		}
		if err != nil {
			return nil, nil, err
		}
		line, _ := file.FieldPos(0)
		rows = append(rows, readBody(line, columns, record))
	}
}

func readBody(line int, columns []body.Name, record []string) Body {
	row := Body{Name: "line " + strconv.Itoa(line), Given: body.Measures{}}
	for i, n := range columns {
		cell := strings.TrimSpace(record[i])
		if n == "" || cell == "" {
			continue
		}
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			row.Faults = append(row.Faults, fault.Fault{Code: fault.Type, Field: body.Field(n), Value: fault.Shorten(cell), Accepted: "a number"})
			continue
		}
		if info, _ := body.Lookup(n); info.Unit != body.Degree {
			v = body.Centimetre.MM(v)
		}
		row.Given[n] = v
	}
	return row
}
