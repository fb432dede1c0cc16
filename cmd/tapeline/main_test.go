package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tapeline/service/files"
)

// result holds a command's output and exit code.
type result struct {
	code        int
	out, errOut string
}

func tapeline(t *testing.T, stdin string, args ...string) result {
	t.Helper()
	var out, errOut bytes.Buffer
	code := run(context.Background(), args, strings.NewReader(stdin), &out, &errOut)
	return result{code, out.String(), errOut.String()}
}

func order(name string) string { return filepath.Join("..", "..", "testdata", "orders", name) }

// want fails unless the command ended with the code and wrote the texts.
func (r result) want(t *testing.T, code int, texts ...string) {
	t.Helper()
	if r.code != code {
		t.Errorf("exit code %d, want %d; standard error:\n%s", r.code, code, r.errOut)
	}
	for _, s := range texts {
		if !strings.Contains(r.out+r.errOut, s) {
			t.Errorf("%q is not in\n%s%s", s, r.out, r.errOut)
		}
	}
}

func TestUsage(t *testing.T) {
	t.Parallel()
	tapeline(t, "").want(t, exitUsage, "usage: tapeline COMMAND")
	tapeline(t, "", "help").want(t, exitDone, "draft", "assess", "prove", "Exit codes")
	tapeline(t, "", "--version").want(t, exitDone, "tapeline "+version())
	tapeline(t, "", "cut").want(t, exitUsage, `unknown command "cut"`)
	for _, c := range commands() {
		tapeline(t, "", c.name, "-h").want(t, exitDone, "usage: tapeline "+c.name)
		tapeline(t, "", c.name, "--no-such-flag").want(t, exitUsage, "no-such-flag")
	}
	tapeline(t, "", "assess").want(t, exitUsage, "requires a file; got 0 arguments")
	tapeline(t, "", "assess", "a", "b").want(t, exitUsage, "got 2 arguments")
	tapeline(t, "", "assess", "--json", "--", "--json").want(t, exitUsage, "open --json: no such file")
}

func TestAssess(t *testing.T) {
	t.Parallel()
	tapeline(t, "", "assess", order("torso.json")).want(t, exitDone,
		"bust_girth           94.5 cm    given", "chest_width          33.97 cm   estimated: mean of 0.94 back_width")
	tapeline(t, `{"unit": "inch", "measurements": {"waist_height": 41, "hip_height": 33}}`, "assess", "-").want(t,
		exitDone,
		"waist_to_hip    8 inch      from waist_height - hip_height")
	r := tapeline(t, `{"unit": "cm", "measurements": {"bust_girth": 36, "waist": 70}}`, "assess", "-")
	r.want(t, exitFaults,
		"standard input: /measurements/bust_girth: 36 cm: bust is from 60 to 200 cm; is it in inch?",
		"standard input: /measurements/waist: \"waist\": unknown measurement; did you mean waist_girth?")
	if strings.Count(r.errOut, "\n") != 2 || r.out != "refuse: Bust is given as 36 cm. Was the number read in "+
		"inches? Then it is 91.4 cm.\n" {
		t.Errorf("not one line a fault, with what explains them:\n%s%s", r.errOut, r.out)
	}
	inches := `{"unit": "cm", "measurements": {"bust_girth": 36.25, "waist_girth": 29, "hip_girth": 38.5, ` +
		`"nape_to_waist": 16, "arm_length": 23}}`
	tapeline(t, inches, "assess", "-").want(t, exitFaults, "refuse: Were all measurements taken in inches, and not "+
		"in centimetres?",
		"standard input: /measurements/bust_girth: 36.25 cm: bust is from 60 to 200 cm")
	tapeline(t, "", "assess", order("bad/many-faults.json")).want(t, exitFaults,
		"/fit: \"tight\": regular, close or loose")
	tapeline(t, "", "assess", filepath.Join(t.TempDir(), "none.json")).want(t, exitUsage, "none.json: no such file")
	tapeline(t, strings.Repeat("x", 5<<20), "assess", "-").want(t, exitFaults, "at most 4194304 bytes")
}

func TestAssessAsJSON(t *testing.T) {
	t.Parallel()
	r := tapeline(t, `{"unit": "inch", "measurements": {"bust_girth": 36, "shoulder_slope": 20}}`, "assess", "-", "--json")
	r.want(t, exitDone)
	var got files.Assessment
	if err := json.Unmarshal([]byte(r.out), &got); err != nil {
		t.Fatal(err)
	}
	if got.Unit != "inch" || len(got.Faults) != 0 || len(got.Measurements) != 8 {
		t.Fatalf("got %+v", got)
	}
	if m := got.Measurements[0]; m.Name != "bust_girth" || m.Value != 36 || m.MM != 914.4 || m.Estimated {
		t.Errorf("first is %+v, want the bust as given", m)
	}
	if m := got.Measurements[3]; m.Name != "shoulder_slope" || m.Value != 20 || m.Unit != "degree" {
		t.Errorf("fourth is %+v, want the slope in degrees", m)
	}
	if m := got.Measurements[4]; m.Name != "bust_point_width" || !m.Estimated || m.Source == "" {
		t.Errorf("fifth is %+v, want an estimate with its source", m)
	}
	r = tapeline(t, "", "assess", "--json", order("bad/contradiction.json"))
	r.want(t, exitFaults)
	if err := json.Unmarshal([]byte(r.out), &got); err != nil || len(got.Faults) != 4 {
		t.Errorf("faults %v, %v; want four", got.Faults, err)
	}
}

func TestWriteAll(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.pdf"), filepath.Join(dir, "b.pdf")
	if err := os.WriteFile(a, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "folder"), 0o700); err != nil {
		t.Fatal(err)
	}
	// One that can't be written: nothing is, and nothing is left over.
	for _, bad := range []string{filepath.Join(dir, "none", "b.pdf"), filepath.Join(dir, "folder")} {
		if err := writeAll([]files.File{{Name: a, Data: []byte("new")}, {Name: bad, Data: []byte("new")}}); err == nil {
			t.Errorf("wrote %s", bad)
		}
		if got, _ := os.ReadFile(a); string(got) != "old" {
			t.Errorf("a.pdf is %q after a write that failed", got)
		}
	}
	if err := writeAll([]files.File{{Name: a, Data: []byte("new")}, {Name: b, Data: []byte("too")}}); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{a: "new", b: "too"} {
		if got, err := os.ReadFile(name); string(got) != want {
			t.Errorf("%s is %q, %v; want %q", name, got, err, want)
		}
	}
	if left, _ := os.ReadDir(dir); len(left) != 3 {
		t.Errorf("left over: %v", left)
	}
}
