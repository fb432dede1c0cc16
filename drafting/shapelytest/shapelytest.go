// Package shapelytest lets tests compare results with GEOS, the geometry engine of
// PostGIS, through the Python library Shapely.
package shapelytest

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"testing"
)

// Ask writes a question as JSON to a Python program, named by its arguments, and
// returns its answer. It skips the test if Shapely is not installed, or fails it if
// TAPELINE_READERS is "required".
func Ask[T any](t testing.TB, question any, args ...string) T {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import shapely").Run(); err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatalf("shapely is required: %v", err)
		}
		t.Skipf("shapely is not installed: %v", err)
	}
	input, err := json.Marshal(question)
	if err != nil {
		t.Fatal(err)
	}
	var errs bytes.Buffer
	cmd := exec.Command(python, args...)
	cmd.Stdin, cmd.Stderr = bytes.NewReader(input), &errs
	output, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, errs.String())
	}
	var answer T
	if err := json.Unmarshal(output, &answer); err != nil {
		t.Fatal(err)
	}
	return answer
}
