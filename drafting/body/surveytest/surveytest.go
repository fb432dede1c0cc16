// Package surveytest reads the open survey of real bodies (ANSUR II; see the
// data's own README) for tests, or skips them where it is not.
package surveytest

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"tapeline/drafting/body"
)

// Women are the survey's women, every column that is a measurement.
func Women(t testing.TB) []body.Measures { t.Helper(); return read(t, "bodies-women.csv") }

// Men are its men.
func Men(t testing.TB) []body.Measures { t.Helper(); return read(t, "bodies-men.csv") }

// read reads a file of shared data, which lies beside the project.
func read(t testing.TB, name string) []body.Measures {
	t.Helper()
	file, err := os.Open(filepath.Join(projectRoot(t), "..", "shared", "data", name))
	if err != nil {
		t.Skipf("the survey is not here: %v", err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var people []body.Measures
	for _, row := range rows[1:] {
		m := body.Measures{}
		for i, column := range rows[0] {
			if _, ok := body.Lookup(body.Name(column)); !ok {
				continue
			}
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			m[body.Name(column)] = body.Centimetre.MM(v)
		}
		people = append(people, m)
	}
	return people
}

// projectRoot is the nearest folder upward that holds go.mod.
func projectRoot(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		if parent := filepath.Dir(dir); parent != dir {
			dir = parent
			continue
		}
		t.Fatal("no go.mod above the test")
	}
}
