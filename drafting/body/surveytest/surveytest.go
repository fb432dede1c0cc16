// Package surveytest reads the bodies of an open survey (ANSUR II; the data's
// own README describes the files) for tests.
package surveytest

import (
	"maps"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"tapeline/drafting/body"
)

var (
	women = sync.OnceValues(func() (body.Table, error) { return read("bodies-women.csv") })
	men   = sync.OnceValues(func() (body.Table, error) { return read("bodies-men.csv") })
)

// Women returns the survey's women, in mm. It skips the test if the survey is
// not at hand.
func Women(t testing.TB) []body.Measures { t.Helper(); return measures(t, women) }

// Men returns the survey's men, as Women does its women.
func Men(t testing.TB) []body.Measures { t.Helper(); return measures(t, men) }

// WithBellies returns the people with a belly girth 100 to 380 mm over their waist, in turn:
// nobody of the survey is pregnant.
func WithBellies(people []body.Measures) []body.Measures {
	for i, given := range people {
		given[body.BellyGirth] = given[body.WaistGirth] + 100 + 40*float64(i%8)
	}
	return people
}

// measures returns a copy that the test may change.
func measures(t testing.TB, read func() (body.Table, error)) []body.Measures {
	t.Helper()
	table, err := read()
	if os.IsNotExist(err) {
		t.Skipf("no survey data: %v", err)
	}
	if err != nil {
		t.Fatal(err)
	}
	people := make([]body.Measures, len(table.Rows))
	for i, row := range table.Rows {
		if len(row.Faults) > 0 {
			t.Fatalf("line %d: %v", row.Line, row.Faults)
		}
		people[i] = maps.Clone(row.Given)
	}
	return people
}

// read reads a file of the shared data beside the module.
func read(name string) (body.Table, error) {
	root, err := moduleRoot()
	if err != nil {
		return body.Table{}, err
	}
	file, err := os.Open(filepath.Join(root, "..", "shared", "data", name))
	if err != nil {
		return body.Table{}, err
	}
	defer file.Close()
	return body.ReadCSV(file, nil)
}

// moduleRoot returns the nearest directory upward that contains go.mod.
func moduleRoot() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir, nil
		}
		parent := filepath.Dir(dir)
		if parent == dir {
			return "", os.ErrNotExist
		}
		dir = parent
	}
}
