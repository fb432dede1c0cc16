package main

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"tapeline/drafting/style"
)

// The reference in the project is the one that the code gives.
func TestReferenceIsCurrent(t *testing.T) {
	t.Parallel()
	files, err := reference(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range files {
		got, err := os.ReadFile(filepath.Join("../../drafting/style/reference", name))
		if err != nil || string(got) != want {
			t.Errorf("%s is not current: run go generate ./drafting/style (%v)", name, err)
		}
	}
}

// Every verb says what it does; those that make a shape show it.
func TestVerbsAreDescribed(t *testing.T) {
	t.Parallel()
	without := []string{"mm", "allow", "role", "cutting", "both_sides", "closing_needed"} // nothing to see
	for _, v := range style.Verbs() {
		if len(v.Doc) < 20 || v.Group == "" || v.Use() == v.Name() {
			t.Errorf("%s says too little", v.Use())
		}
		if v.Group != "Head" && v.Group != "Body" && v.Group != "Make up" && v.Group != "Notions" && v.Example() == "" &&
			!slices.Contains(without, v.Name()) {
			t.Errorf("%s shows nothing", v.Name())
		}
	}
}
