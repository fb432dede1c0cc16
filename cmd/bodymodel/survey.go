package main

import (
	"fmt"
	"os"
	"path/filepath"

	"tapeline/drafting/body"
)

// surveySource names the survey. Its files, which the README.md beside them
// describes, have one person per row and lengths in cm.
const surveySource = "ANSUR II, the 2012 Anthropometric Survey of U.S. Army Personnel " +
	"(public working databases; a work of the U.S. Government)"

// renamed has the columns of the survey with another meaning than our
// measurement of the same name: its back width runs between the armpit folds.
var renamed = map[string]body.Name{"back_width": body.BackWidthArmpitLevel}

// survey is one file of the survey.
type survey struct {
	group  string
	file   string
	names  []body.Name // measured on every person
	people []body.Measures
}

func readSurvey(folder string) ([]survey, error) {
	all := []survey{{group: women, file: "bodies-women.csv"}, {group: "men", file: "bodies-men.csv"}}
	for i := range all {
		if err := all[i].read(folder); err != nil {
			return nil, err
		}
	}
	return all, nil
}

func (s *survey) read(folder string) error {
	f, err := os.Open(filepath.Join(folder, s.file))
	if err != nil {
		return err
	}
	defer f.Close()
	table, err := body.ReadCSV(f, renamed)
	if err != nil {
		return fmt.Errorf("%s: %w", s.file, err)
	}
	if len(table.Rows) < 100 {
		return fmt.Errorf("%s: %d rows, want at least 100", s.file, len(table.Rows))
	}
	s.names = table.Columns
	for _, row := range table.Rows {
		if err := row.Faults.Err(); err != nil {
			return fmt.Errorf("%s: line %d: %w", s.file, row.Line, err)
		}
		if len(row.Given) < len(s.names) {
			return fmt.Errorf("%s: line %d: empty cells", s.file, row.Line)
		}
		s.people = append(s.people, row.Given)
	}
	return nil
}

// The rows of the survey are shuffled, so that every second row is a random half.
// The model is fitted to one half and evaluated on the other.
func fittedHalf(people []body.Measures) []body.Measures  { return everySecond(people, 0) }
func heldOutHalf(people []body.Measures) []body.Measures { return everySecond(people, 1) }

func everySecond(people []body.Measures, from int) []body.Measures {
	var half []body.Measures
	for i := from; i < len(people); i += 2 {
		half = append(half, people[i])
	}
	return half
}
