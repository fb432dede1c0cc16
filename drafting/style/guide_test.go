package style_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// The scripts that the guide shows draft what it says, and fail where it says so.
func TestGuide(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("GUIDE.md")
	if err != nil {
		t.Fatal(err)
	}
	fenced := regexp.MustCompile("(?s)```(json|python)\n(.*?)```").FindAllStringSubmatch(string(text), -1)
	if len(fenced) < 4 || fenced[0][1] != "json" {
		t.Fatalf("%d blocks of code; want the order, two scripts, and parts of the lined jacket", len(fenced))
	}
	var order struct {
		Measurements map[body.Name]float64 `json:"measurements"`
	}
	if err := json.Unmarshal([]byte(fenced[0][2]), &order); err != nil {
		t.Fatal(err)
	}
	m := body.Measures{}
	for n, cm := range order.Measurements {
		m[n] = 10 * cm
	}
	first, second := fenced[1][2], fenced[2][2]
	for _, script := range []string{first, second} {
		if err := draftScript(t, m, script); err != nil {
			t.Error(err)
		}
	}
	jacket, err := os.ReadFile("../../testdata/guide/lined-jacket.star")
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range fenced[3:] {
		if !strings.Contains(string(jacket), part[2]) {
			t.Errorf("the lined jacket lacks the lines that the guide shows:\n%s", part[2])
		}
	}
	if n, _ := refusals(t, m, string(jacket)); n != 0 {
		t.Errorf("the lined jacket refuses %d bodies", n)
	}
	for _, wrong := range []struct{ from, to, says string }{
		{"centre_front = 60, shoulder = 30", "centre_front = 60, shoulder = 300", "piece front, edge shoulder"},
		{`seam("back/side", "front/side")`, `seam("back/side", "front/shoulder")`, "off by"},
	} {
		script := strings.Replace(first, wrong.from, wrong.to, 1)
		if err := draftScript(t, m, script); script == first || err == nil || !strings.Contains(err.Error(), wrong.says) {
			t.Errorf("%s: %v", wrong.to, err)
		}
	}
	const limits, tighter = "length = (20, 150), default = 110", "length = (100, 180), default = 110"
	if n, all := refusals(t, m, second); n == 0 || n == all {
		t.Errorf("%d of %d refused with a high neck", n, all)
	}
	if n, all := refusals(t, m, strings.Replace(second, limits, tighter, 1)); n != 0 || !strings.Contains(second, limits) {
		t.Errorf("%d of %d refused once the limits are tightened", n, all)
	}
	// The commands that it shows name tests that exist.
	tests, err := filepath.Glob("*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	var code strings.Builder
	for _, name := range tests {
		source, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		code.Write(source)
	}
	for _, m := range regexp.MustCompile(`-run (Test\w+)`).FindAllStringSubmatch(string(text), -1) {
		if !strings.Contains(code.String(), "func "+m[1]+"(") {
			t.Errorf("no test %s", m[1])
		}
	}
	for _, v := range style.Verbs() {
		if !regexp.MustCompile(`\b` + v.Name() + `\b`).Match(text) {
			t.Errorf("the table of verbs lacks %s", v.Name())
		}
	}
}

// draftScript drafts a script on a body; the pattern of a script that sets
// allowances must pass the linter.
func draftScript(t *testing.T, m body.Measures, script string) error {
	t.Helper()
	s, err := style.Compile([]byte(script))
	if err != nil {
		return err
	}
	b, faults := body.New(m, s.Spec().Requires)
	if faults != nil {
		return faults
	}
	p, err := s.Draft(t.Context(), block.Request{Body: b, Fit: s.Spec().Fits[0].Name})
	if err == nil && strings.Contains(script, "allow(") {
		for _, f := range s.LintDraft(p) {
			t.Errorf("%s: %s", f.Rule, f.Detail)
		}
	}
	return err
}

// refusals counts the drafts of a script at the ends of its choices, on three
// sizes of a body, and those that it refuses.
func refusals(t *testing.T, m body.Measures, script string) (refused, all int) {
	t.Helper()
	s, err := style.Compile([]byte(script))
	if err != nil {
		t.Fatal(err)
	}
	for _, choices := range proof.Ends(s.Spec()) {
		for _, size := range []float64{0.97, 1, 1.15} {
			sized := body.Measures{}
			for n, v := range m {
				sized[n] = size * v
			}
			b, faults := body.New(sized, s.Spec().Requires)
			if faults != nil {
				t.Fatal(faults)
			}
			all++
			if _, err := s.Draft(t.Context(), block.Request{Body: b, Fit: "regular", Choices: choices.Choices}); err != nil {
				refused++
			}
		}
	}
	return refused, all
}
