package main

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// With a cloth width, draft says what cloth to buy, cloth by cloth, and writes
// the pictures and the figures.
func TestDraftLayPlan(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	r := tapeline(t, "", "draft", order("shift-dress.json"), "-o", file("dress.svg"), "--cloth-width", "150",
		"--cloth-width", "interfacing=90", "--spread", "fold", "--nap", "one-way", "--shrinkage", "3/2",
		"--lay-plan", file("lay.svg"), "--lay-plan", file("lay.pdf"), "--lay-plan", file("lay.json"))
	r.want(t, exitDone, "Cloth to buy", "of cloth 150 cm wide", "of cloth 90 cm wide", "one-way nap, folded lengthwise",
		"lay.pdf written")
	said := regexp.MustCompile(`shell: ([0-9.]+) cm of cloth`).FindStringSubmatch(r.out)
	if said == nil {
		t.Fatalf("no length of shell in\n%s", r.out)
	}
	length, _ := strconv.ParseFloat(said[1], 64)

	var plan struct {
		Cloths []struct {
			Name   string
			Length float64
		}
	}
	data, err := os.ReadFile(file("lay.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &plan); err != nil || len(plan.Cloths) != 2 || plan.Cloths[1].Name != "interfacing" {
		t.Fatalf("%v in %+v", err, plan)
	}
	if over := length*10 - plan.Cloths[0].Length; over < 0 || over > 1 || math.IsNaN(over) {
		t.Errorf("says %g cm for %g mm", length, plan.Cloths[0].Length)
	}
	if n := pagesOf(t, file("lay.pdf")); n != 1 {
		t.Errorf("%d pages", n)
	}
	svg, err := os.Open(file("lay.svg"))
	if err != nil {
		t.Fatal(err)
	}
	defer svg.Close()
	titles := 0
	for d := xml.NewDecoder(svg); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if start, ok := token.(xml.StartElement); ok && start.Name.Local == "title" {
			titles++
		}
	}
	if titles < 8 {
		t.Errorf("%d titles in the picture: of the whole, its stretches of cloth and their pieces", titles)
	}
}

// Faults of the cloth are all told at once, and nothing is written.
func TestDraftLayPlanFaults(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	out := filepath.Join(dir, "p.svg")
	r := tapeline(t, "", "draft", order("torso.json"), "-o", out, "--nap", "up", "--spread", "double", "--lay-plan",
		filepath.Join(dir, "lay.txt"))
	for _, word := range []string{"/cloth_width", "/nap", "one-way or two-way", "/spread", "single or fold", "/lay_plan"} {
		if !strings.Contains(r.errOut, word) {
			t.Errorf("no %q in\n%s", word, r.errOut)
		}
	}
	r = tapeline(t, "", "draft", order("torso.json"), "-o", out, "--cloth-width", "40")
	if !strings.Contains(r.errOut, "piece 1, back, needs cloth at least") {
		t.Errorf("no piece named in\n%s", r.errOut)
	}
	if got := filesIn(t, dir); len(got) != 0 {
		t.Errorf("files %v were written", got)
	}
}
