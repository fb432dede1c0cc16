package render

import (
	"encoding/json"
	"errors"
	"slices"
	"testing"

	"tapeline/drafting/fault"
)

// An option given alone is taken by the formats that have it, with every value
// that the others' options leave to their defaults said in the result, and is a
// fault to all others.
func TestFill(t *testing.T) {
	t.Parallel()
	every := map[string]string{
		"paper": `"a3"`, "width": `500`, "orientation": `"portrait"`, "overlap": `5`, "margin": `0`, "layers": `["text"]`,
		"for": `"screens"`, "text": `"letters"`, "unit": `"inch"`, "folds": `"unfolded"`, "flatten": `0.5`,
		"making_sheet": `"none"`,
	}
	known := make(map[string]bool)
	for _, f := range Formats() {
		for _, name := range f.Takes() {
			known[name] = true
			if every[name] == "" {
				t.Errorf("%s takes %s, which is not tried here", f.Name, name)
			}
		}
	}
	for name, value := range every {
		if !known[name] {
			t.Errorf("no format takes %s", name)
		}
		var o Options
		if err := json.Unmarshal([]byte(`{"`+name+`": `+value+`}`), &o); err != nil {
			t.Fatal(err)
		}
		if got := o.given(); !slices.Equal(got, []string{name}) {
			t.Errorf("%s given is seen as %v", name, got)
		}
		for _, f := range Formats() {
			if f.OnPaper() && name == "width" {
				o.Paper = "roll" // goes with it
			}
			filled, err := f.Fill(o)
			o.Paper = map[bool]string{true: "a3"}[name == "paper"]
			if slices.Contains(f.Takes(), name) {
				if err != nil {
					t.Errorf("%s of %s: %v", name, f.Name, err)
				}
				again, err := f.Fill(filled)
				a, _ := json.Marshal(filled)
				b, _ := json.Marshal(again)
				if err != nil || string(a) != string(b) {
					t.Errorf("filled in twice: %s, then %s, %v", a, b, err)
				}
				continue
			}
			faults, ok := errors.AsType[fault.List](err)
			if !ok || faults[0].Code != fault.Unknown || faults[0].Field != "/"+name {
				t.Errorf("%s of %s: %v", name, f.Name, err)
			}
		}
	}
}

// Nothing asked for and the defaults asked for come to the same.
func TestFillDefaults(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{
		"pdf":  `{"paper":"a4","orientation":"auto","margin":10,"making_sheet":"front"}`,
		"json": `{}`,
		"svg":  `{"for":"editing","text":"outlines"}`,
		"dxf":  `{"unit":"mm","folds":"half","flatten":0.1}`,
		"png":  `{"width":800}`,
	} {
		f, err := ParseFormat(name)
		if err != nil {
			t.Fatal(err)
		}
		o, err := f.Fill(Options{})
		if got, _ := json.Marshal(o); err != nil || string(got) != want {
			t.Errorf("%s: %s, %v", name, got, err)
		}
	}
}
