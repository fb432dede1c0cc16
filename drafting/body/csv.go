package body

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

	"tapeline/drafting/fault"
)

// Table is a table of bodies.
type Table struct {
	Columns []Name // measurements, in the order of the columns
	Ignored []string
	Rows    []Row
}

// Row is one body of a Table.
type Row struct {
	Line   int    // in the file, from 1
	Name   string // the cell of the column "size", if there is one
	Given  Measures
	Faults fault.List // cells that are not numbers
}

// ReadCSV reads a table of bodies, one per row, from CSV with a header of
// measurement names. Lengths are in cm, the shoulder slope in degrees; an empty
// cell is a measurement not taken. The map renamed gives the measurement in a
// column of another name. A column "size" names the rows; other columns that are no
// measurements are ignored.
func ReadCSV(r io.Reader, renamed map[string]Name) (Table, error) {
	in := bufio.NewReader(r)
	if mark, _ := in.Peek(3); string(mark) == "\ufeff" {
		_, _ = in.Discard(len(mark)) // was just read
	}
	file := csv.NewReader(in)
	file.ReuseRecord = true
	header, err := file.Read()
	if errors.Is(err, io.EOF) {
		return Table{}, errors.New("empty, without a header of measurement names")
	}
	if err != nil {
		return Table{}, err
	}
	columns, ignored, err := readHeader(header, renamed)
	if err != nil {
		return Table{}, err
	}
	names := slices.IndexFunc(header, isSizeColumn)
	table := Table{Ignored: ignored}
	for _, n := range columns {
		if n != "" {
			table.Columns = append(table.Columns, n)
		}
	}
	for {
		record, err := file.Read()
		if errors.Is(err, io.EOF) {
			return table, nil
		}
		if err != nil {
			return Table{}, err
		}
		line, _ := file.FieldPos(0)
		row := readRow(line, columns, record)
		if names >= 0 {
			row.Name = strings.TrimSpace(record[names])
		}
		table.Rows = append(table.Rows, row)
	}
}

// isSizeColumn reports whether the column of a heading names the rows.
func isSizeColumn(heading string) bool { return strings.TrimSpace(heading) == "size" }

// readHeader returns the measurement of each column, "" for an ignored one.
func readHeader(header []string, renamed map[string]Name) (columns []Name, ignored []string, err error) {
	columns = make([]Name, len(header))
	for i, h := range header {
		h = strings.TrimSpace(h)
		name, ok := renamed[h]
		if !ok {
			name = Name(h)
		}
		if _, known := Lookup(name); !known {
			if !isSizeColumn(h) {
				ignored = append(ignored, h)
			}
			continue
		}
		if slices.Contains(columns, name) {
			return nil, nil, fmt.Errorf("two columns for %s", name)
		}
		columns[i] = name
	}
	if !slices.ContainsFunc(columns, func(n Name) bool { return n != "" }) {
		return nil, nil, fmt.Errorf("no column is a measurement: %s", strings.Join(header, ", "))
	}
	return columns, ignored, nil
}

func readRow(line int, columns []Name, record []string) Row {
	row := Row{Line: line, Given: Measures{}}
	for i, n := range columns {
		cell := strings.TrimSpace(record[i])
		if n == "" || cell == "" {
			continue
		}
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			row.Faults = append(row.Faults, fault.Fault{
				Code: fault.Type, Field: Field(n), Value: fault.Shorten(cell), Accepted: "a number",
			})
			continue
		}
		row.Given[n] = Centimetre.Of(n).MM(v)
	}
	return row
}
