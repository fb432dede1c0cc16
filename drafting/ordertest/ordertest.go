// Package ordertest drafts the project's sample orders for tests.
package ordertest

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/finish"
	"tapeline/drafting/style"
)

// Parse returns the order in a file of an order. The error is a fault.List
// where the order is at fault; its style is one of styles or built in.
func Parse(data []byte, styles ...*style.Style) (drafting.Order, error) {
	file := struct {
		drafting.Label
		drafting.OrderInput
	}{Label: drafting.Label{Revision: 1}}
	if err := json.Unmarshal(data, &file); err != nil {
		return drafting.Order{}, err
	}
	o, faults := drafting.NewOrder(file.OrderInput, styles...)
	o.Label = file.Label
	return o, faults.Err()
}

// Read returns the sample order of that name in testdata/orders.
func Read(name string) (drafting.Order, error) {
	dir, err := root()
	if err != nil {
		return drafting.Order{}, err
	}
	data, err := os.ReadFile(filepath.Join(dir, "testdata", "orders", name+".json"))
	if err != nil {
		return drafting.Order{}, err
	}
	return Parse(data)
}

// Refused checks the error of an order: it is want, any if want is "*", and none if it is
// empty.
func Refused(t testing.TB, err error, want string) {
	t.Helper()
	got := ""
	if err != nil {
		got = err.Error()
	}
	if want == "*" && got == "" || want != "*" && got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

// Order is Read for a test, which fails without the order.
func Order(t testing.TB, name string) drafting.Order {
	t.Helper()
	o, err := Read(name)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return o
}

// Pattern drafts the sample order of that name.
func Pattern(t testing.TB, name string) finish.Pattern {
	t.Helper()
	p, err := drafting.Draft(context.Background(), Order(t, name))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return p
}

// Patterns drafts every sample order, by the names of their files.
func Patterns(t testing.TB) map[string]finish.Pattern {
	t.Helper()
	dir, err := root()
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(dir, "testdata", "orders", "*.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no sample orders: %v", err)
	}
	all := map[string]finish.Pattern{}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".json")
		all[name] = Pattern(t, name)
	}
	return all
}

// root finds the project's folder, from that of the test upwards.
func root() (string, error) {
	dir, err := os.Getwd()
	for err == nil {
		if _, missing := os.Stat(filepath.Join(dir, "go.mod")); missing == nil {
			return dir, nil
		}
		if filepath.Dir(dir) == dir {
			err = errors.New("no go.mod above the test")
		}
		dir = filepath.Dir(dir)
	}
	return "", err
}
