package main

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/fault"
)

// bodies is a file of people's measurements, one row a person.
type bodies struct {
	rows    []bodyRow
	ignored []string // columns that are no measurements
}

type bodyRow struct {
	line   int // in the file
	given  body.Measures
	faults fault.List // cells that are no numbers
}

// readBodies reads CSV with a header of measurement names, in cm (degrees for
// the shoulder slope). Renamed says which column of another name to read as a
// measurement. An empty cell is a measurement not taken.
func readBodies(r io.Reader, renamed map[string]body.Name) (bodies, error) {
	in := bufio.NewReader(r)
	if mark, _ := in.Peek(3); string(mark) == "\ufeff" {
		in.Discard(len(mark))
	}
	rows := csv.NewReader(in)
	rows.ReuseRecord = true
	header, err := rows.Read()
	if errors.Is(err, io.EOF) {
		return bodies{}, errors.New("empty, without a header of measurement names")
	}
	if err != nil {
		return bodies{}, err
	}
	var b bodies
	columns := make([]body.Name, len(header)) // "" for one that is ignored
	for i, h := range header {
		h = strings.TrimSpace(h)
		name, ok := renamed[h]
		if !ok {
			name = body.Name(h)
		}
		if _, known := body.Lookup(name); !known {
			b.ignored = append(b.ignored, h)
			continue
		}
		if slices.Contains(columns, name) {
			return bodies{}, fmt.Errorf("two columns for %s", name)
		}
		columns[i] = name
	}
	if len(b.ignored) == len(header) {
		return bodies{}, fmt.Errorf("no column is a measurement: %s", strings.Join(b.ignored, ", "))
	}
	for {
		record, err := rows.Read()
		if errors.Is(err, io.EOF) {
			return b, nil
		}
		if err != nil {
			return bodies{}, err
		}
		line, _ := rows.FieldPos(0)
		b.rows = append(b.rows, readBody(line, columns, record))
	}
}

func readBody(line int, columns []body.Name, record []string) bodyRow {
	row := bodyRow{line: line, given: body.Measures{}}
	for i, n := range columns {
		cell := strings.TrimSpace(record[i])
		if n == "" || cell == "" {
			continue
		}
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil {
			row.faults = append(row.faults, fault.Fault{Code: fault.Type, Field: body.Field(n), Value: fault.Shorten(cell), Accepted: "a number"})
			continue
		}
		if info, _ := body.Lookup(n); info.Unit != body.Degree {
			v = body.Centimetre.MM(v)
		}
		row.given[n] = v
	}
	return row
}
