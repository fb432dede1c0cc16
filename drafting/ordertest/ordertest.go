// Package ordertest drafts the project's sample orders for tests.
package ordertest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/finish"
)

// Patterns are the patterns of testdata/orders by the names of their files, for
// tests of a package two folders below the project's.
func Patterns(t testing.TB) map[string]finish.Pattern {
	t.Helper()
	files, err := filepath.Glob("../../testdata/orders/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no sample orders: %v", err)
	}
	all := map[string]finish.Pattern{}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		o, err := drafting.ParseOrder(data)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		p, err := drafting.Draft(o)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		all[strings.TrimSuffix(filepath.Base(file), ".json")] = p
	}
	return all
}
