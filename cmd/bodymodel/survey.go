package main

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"

	"tapeline/drafting/body"
)

// The survey is ANSUR II, the 2012 Anthropometric Survey of U.S. Army
// Personnel (public working databases, a work of the U.S. Government): here
// the files described by the README.md beside them, one row a person, cm.
const surveySource = "ANSUR II, the 2012 Anthropometric Survey of U.S. Army Personnel (public working databases; a work of the U.S. Government)"

// surveyed is where a column of the survey is known by another name than
// ours: its back width runs between the folds of the armpits.
var surveyed = map[string]body.Name{"back_width": body.BackWidthArmpitLevel}

// survey is the people of one of its files.
type survey struct {
	group  string
	file   string
	names  []body.Name // measured on every one of them
	people []body.Measures
}

func readSurvey(folder string) ([]survey, error) {
	all := []survey{{group: "women", file: "bodies-women.csv"}, {group: "men", file: "bodies-men.csv"}}
	for i := range all {
		if err := all[i].read(filepath.Join(folder, all[i].file)); err != nil {
			return nil, err
		}
	}
	return all, nil
}

func (s *survey) read(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if len(rows) < 100 {
		return fmt.Errorf("%s: only %d rows", path, len(rows))
	}
	columns := make([]body.Name, len(rows[0]))
	for i, head := range rows[0] {
		name, renamed := surveyed[head]
		if !renamed {
			name = body.Name(head)
		}
		if _, ok := body.Lookup(name); ok {
			columns[i] = name
			s.names = append(s.names, name)
		}
	}
	for r, row := range rows[1:] {
		m := body.Measures{}
		for i, name := range columns {
			if name == "" {
				continue
			}
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil || v <= 0 {
				return fmt.Errorf("%s: row %d: %s: %q is no length", path, r+2, name, row[i])
			}
			m[name] = body.Centimetre.MM(v)
		}
		s.people = append(s.people, m)
	}
	return nil
}

// The survey's rows are shuffled, so every second of them is a random half:
// the model is fitted on the one and judged on the other.
func fitted(people []body.Measures) []body.Measures  { return everySecond(people, 0) }
func heldOut(people []body.Measures) []body.Measures { return everySecond(people, 1) }

func everySecond(people []body.Measures, from int) []body.Measures {
	var half []body.Measures
	for i := from; i < len(people); i += 2 {
		half = append(half, people[i])
	}
	return half
}
