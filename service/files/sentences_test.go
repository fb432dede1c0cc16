package files

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"tapeline/drafting/style"
)

// The layout of a script is changed once, without changing what the script does or its
// comments.
func TestFormatScript(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range all {
		once, err := FormatScript([]byte(g.Source()))
		if err != nil {
			t.Errorf("%s: %v", g.Head.Slug, err)
			continue
		}
		twice, err := FormatScript(once)
		if err != nil || !bytes.Equal(once, twice) {
			t.Errorf("%s changes again, %v", g.Head.Slug, err)
		}
		for _, line := range strings.Split(g.Source(), "\n") {
			_, comment, ok := strings.Cut(line, "# ")
			if ok && !strings.Contains(line, `"`) && !bytes.Contains(once, []byte(comment)) {
				t.Errorf("%s lost the comment %q", g.Head.Slug, comment)
			}
		}
		if _, err := style.Compile(once); err != nil {
			t.Errorf("%s: %v", g.Head.Slug, err)
		}
	}
	got, err := FormatScript([]byte("x=1 # one\nif x :\n  y=[1,\n2]\n"))
	if want := "x = 1  # one\nif x:\n    y = [\n        1,\n        2,\n    ]\n"; err != nil || string(got) != want {
		t.Errorf("got %q, %v; want %q", got, err, want)
	}
	if _, err := FormatScript([]byte("x = (")); err == nil {
		t.Error("formatted what does not parse")
	}
}

// Sentences of an order have its numbers, and say what it does not need.
func TestWriteSentences(t *testing.T) {
	t.Parallel()
	order, err := os.ReadFile("../../testdata/orders/shift-dress.json")
	if err != nil {
		t.Fatal(err)
	}
	s, _ := style.Builtin("shift-dress")
	var plain, filled bytes.Buffer
	if err := WriteSentences(t.Context(), &plain, s, nil, "inch"); err != nil {
		t.Fatal(err)
	}
	if err := WriteSentences(t.Context(), &filled, s, order, "cm"); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Let strap be 1 9/16 inch.", "out by the chosen flare at the hem.", "\nmake\n"} {
		if !strings.Contains(plain.String(), want) {
			t.Errorf("%q is not in\n%s", want, plain.String())
		}
	}
	for _, want := range []string{"Let strap be 4 cm.", "Swing the side of the front out by 4 cm at the hem.",
		"Sew back facing side to front facing side. (Not for this order.)", "with an opening of 15 cm"} {
		if !strings.Contains(filled.String(), want) {
			t.Errorf("%q is not in\n%s", want, filled.String())
		}
	}
	skirt, _ := style.Builtin("straight-skirt")
	if err := WriteSentences(t.Context(), &plain, skirt, order, "cm"); err == nil ||
		!strings.Contains(err.Error(), "shift-dress") {
		t.Errorf("an order for another style: %v", err)
	}
}
