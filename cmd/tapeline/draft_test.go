package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func filesIn(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func TestDraft(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "pattern.pdf")
	r := tapeline(t, "", "draft", order("torso.json"), "--paper", "a4", "-o", file)
	r.want(t, exitDone, "ORD-2047: Torso block, regular fit", "bust_girth", "piece 1 of 3:", file+" written:")
	if got := filesIn(t, dir); len(got) != 1 {
		t.Errorf("files %v, want the pattern alone", got)
	}
	said := regexp.MustCompile(`written: (\d+) pages.*making sheet in front, (\d+) pages`).FindStringSubmatch(r.out)
	if said == nil {
		t.Fatalf("no number of pages in\n%s", r.out)
	}
	pages, _ := strconv.Atoi(said[1])
	front, _ := strconv.Atoi(said[2])
	if want := pagesOf(t, file); pages+front != want {
		t.Errorf("says %d pages and %d, the file has %d", pages, front, want)
	}
}

// The making sheet goes in a file of its own, or nowhere.
func TestMakingSheet(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file, sheet := filepath.Join(dir, "pattern.pdf"), filepath.Join(dir, "sheet.pdf")
	r := tapeline(t, "", "draft", order("torso.json"), "-o", file, "--making-sheet", sheet)
	r.want(t, exitDone, sheet+" written: the making sheet")
	both := pagesOf(t, file) + pagesOf(t, sheet)
	r = tapeline(t, "", "draft", order("torso.json"), "-o", file)
	r.want(t, exitDone)
	if got := pagesOf(t, file); got != both {
		t.Errorf("%d pages with the making sheet in front, %d in two files", got, both)
	}
	r = tapeline(t, "", "draft", order("torso.json"), "-o", file, "--making-sheet", "sheet.svg")
	r.want(t, exitUsage)
}

// pagesOf counts a PDF's pages by qpdf.
func pagesOf(t *testing.T, file string) int {
	t.Helper()
	out, err := exec.Command("qpdf", "--show-npages", file).Output()
	if err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatalf("qpdf: %v", err)
		}
		t.Skipf("qpdf does not run here: %v", err)
	}
	n, err := strconv.Atoi(strings.TrimSpace(string(out)))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestDraftOnSeveralPapers(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	in, err := os.ReadFile(order("straight-inch.json"))
	if err != nil {
		t.Fatal(err)
	}
	r := tapeline(t, string(in), "draft", "-o", filepath.Join(dir, "p.pdf"), "--paper", "full", "-", "--paper", "letter",
		"--paper", "full")
	r.want(t, exitDone, "p-full.pdf written: 1 page on full", "p-letter.pdf written:")
	if got := strings.Join(filesIn(t, dir), " "); got != "p-full.pdf p-letter.pdf" {
		t.Errorf("files %s, want one for each paper", got)
	}
	one := tapeline(t, "", "draft", order("straight-inch.json"), "--paper", "letter", "-o", filepath.Join(dir,
		"again.pdf"))
	one.want(t, exitDone)
	a, _ := os.ReadFile(filepath.Join(dir, "p-letter.pdf"))
	b, _ := os.ReadFile(filepath.Join(dir, "again.pdf"))
	if len(a) == 0 || string(a) != string(b) {
		t.Error("the same order on the same paper gives other bytes")
	}
}

func TestDraftAsJSON(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "pattern.json")
	tapeline(t, "", "draft", order("torso.json"), "-o", file, "--flatten", "0.05").want(t, exitDone, file+" written")
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Pieces []struct {
			Name     string       `json:"name"`
			SeamLine [][2]float64 `json:"seam_line"`
			CutLine  [][2]float64 `json:"cut_line"`
		} `json:"pieces"`
		Checks []struct {
			Name       string  `json:"name"`
			Difference float64 `json:"difference_mm"`
		} `json:"checks"`
	}
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Pieces) != 3 || len(got.Checks) < 10 {
		t.Fatalf("%d pieces and %d checks", len(got.Pieces), len(got.Checks))
	}
	for _, p := range got.Pieces {
		if len(p.SeamLine) < 10 || len(p.CutLine) < 10 {
			t.Errorf("%s has %d and %d points", p.Name, len(p.SeamLine), len(p.CutLine))
		}
	}
}

// Every format is written by its ending, with its own options.
func TestDraftAsEveryFormat(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for _, c := range []struct {
		name, starts, holds string
		args                []string
	}{
		{"a.svg", "<?xml", "mm\" height=", nil},
		{"b.svg", "<?xml", "<text ", []string{"--for", "screens", "--text", "letters"}},
		{"a.dxf", "0\r\nSECTION", "UNITS: METRIC", nil},
		{"b.dxf", "0\r\nSECTION", "UNITS: ENGLISH", []string{"--unit", "inch", "--folds", "unfolded", "--flatten", "0.5"}},
		{"a.png", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x03\x20", "", nil},
		{"b.png", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x01\x40", "", []string{"--width", "320"}},
		{"b.pdf", "%PDF-", "", []string{"--paper", "roll", "--width", "914", "--margin", "0"}},
		{"a.pdf", "%PDF-", "", []string{"--paper", "full", "--layers", "cut_line,text"}},
	} {
		file := filepath.Join(dir, c.name)
		tapeline(t, "", append([]string{"draft", order("torso.json"), "-o", file}, c.args...)...).want(t, exitDone,
			file+" written")
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(string(data), c.starts) || !strings.Contains(string(data), c.holds) {
			t.Errorf("%s starts with %q", c.name, data[:min(len(data), 200)])
		}
	}
}

// Whatever is wrong, it is said, the exit code is not 0, and the old file is
// as it was with nothing beside it.
func TestDraftThatCannotBe(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "pattern.pdf")
	if err := os.WriteFile(file, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name  string
		stdin string
		args  []string
		code  int
		want  string
	}{
		{"no output", "", []string{order("torso.json")}, exitUsage,
			`/o: "": a file that ends in .pdf, .json, .svg, .dxf or .png`},
		{"output of another kind", "", []string{order("torso.json"), "-o", "x.doc"}, exitUsage, `"x.doc"`},
		{"no such paper", "", []string{order("torso.json"), "-o", file, "--paper", "a9"}, exitUsage, `"a9": a4,`},
		{"no order", "", []string{filepath.Join(dir, "none.json"), "-o", file}, exitUsage, "no such file"},
		{"bad order", "", []string{order("bad/many-faults.json"), "-o", file}, exitFaults,
			"many-faults.json: /reference: required"},
		{"broken order", "{", []string{"-", "-o", file}, exitFaults, "standard input: at line 1"},
		{"too wide a margin", "", []string{order("torso.json"), "-o", file, "--margin", "200"}, exitUsage,
			"/margin: 200 mm: 0 to 40 mm"},
		{"no such unit", "", []string{order("torso.json"), "-o", filepath.Join(dir, "p.dxf"), "--unit", "ell"}, exitUsage,
			`/unit: "ell": mm, inch`},
		{"no such layer", "", []string{order("torso.json"), "-o", file, "--layers", "lace"}, exitUsage,
			`/layers/0: "lace": cut_line,`},
		{"too wide a picture", "", []string{order("torso.json"), "-o", filepath.Join(dir, "p.png"), "--width", "9999"},
			exitUsage, "/width: 9999 pixels: 64 to 2400 pixels, a whole number"},
		{"an option of another format", "", []string{order("torso.json"), "-o", filepath.Join(dir, "p.dxf"), "--text",
			"letters", "--paper", "a4"}, exitUsage,
			"/paper: no option of dxf, which has unit, folds, flatten\ntapeline draft: /text: no option"},
		{"a roll without a width", "", []string{order("torso.json"), "-o", file, "--paper", "roll"}, exitUsage,
			"/width: the width of the roll in mm"},
		{"no such folder", "", []string{order("torso.json"), "-o", filepath.Join(dir, "none", "p.pdf")}, exitUsage,
			filepath.Join("none", "p.pdf") + ": no such file or directory"},
		{"a folder for a file", "", []string{order("torso.json"), "-o", mkdir(t, dir, "folder.pdf")}, exitUsage,
			"not a regular file"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			tapeline(t, tt.stdin, append([]string{"draft"}, tt.args...)...).want(t, tt.code, tt.want)
			if got, _ := os.ReadFile(file); string(got) != "old" {
				t.Errorf("the file is now %q", got)
			}
			if got := filesIn(t, dir); len(got) != 2 {
				t.Errorf("left over: %v", got)
			}
		})
	}
}

func mkdir(t *testing.T, parts ...string) string {
	t.Helper()
	name := filepath.Join(parts...)
	if err := os.Mkdir(name, 0o700); err != nil {
		t.Fatal(err)
	}
	return name
}
