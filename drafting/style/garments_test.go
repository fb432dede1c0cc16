package style_test

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/finish"
	"tapeline/drafting/render"
	"tapeline/drafting/sheets"
	"tapeline/drafting/style"
)

var standard = body.Measures{
	"height": 1680, "bust_girth": 920, "waist_girth": 760, "hip_girth": 1000, "neck_base_girth": 375,
	"shoulder_length": 126,
	"back_width":      355, "nape_to_waist": 415, "waist_to_hip": 205, "upper_arm_girth": 285, "wrist_girth": 160,
	"arm_length": 590, "head_girth": 560, "inside_leg": 780, "belly_girth": 1030,
}

// TestPictures draws every garment into the folder named by TAPELINE_PICTURES,
// to be looked at.
func TestPictures(t *testing.T) {
	dir := os.Getenv("TAPELINE_PICTURES")
	if dir == "" {
		t.Skip("TAPELINE_PICTURES names no folder")
	}
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		t.Run(s.Head.Slug, func(t *testing.T) {
			spec := s.Spec()
			person, faults := body.New(standard, spec.Requires)
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			req := block.Request{Body: person, Fit: spec.Fits[0].Name, Choices: map[string]block.Value{}}
			for _, kv := range filepath.SplitList(os.Getenv("TAPELINE_CHOICES")) {
				name, value, _ := bytes.Cut([]byte(kv), []byte("="))
				req.Choices[string(name)] = block.Value{Word: string(value)}
			}
			p, err := s.Draft(context.Background(), req)
			if err != nil {
				t.Fatal(err)
			}
			for _, w := range p.Warnings {
				t.Log(w)
			}
			f, err := finish.Finish(t.Context(), p, finish.Rules{})
			if err != nil {
				t.Fatal(err)
			}
			paper, err := sheets.ParsePaper("full")
			if err != nil {
				t.Fatal(err)
			}
			var pdf bytes.Buffer
			if err := render.PDF(t.Context(), &pdf, f, sheets.Options{Paper: paper, Margin: 10}); err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(dir, s.Head.Slug)
			if err := os.WriteFile(file+".pdf", pdf.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			if out, err := exec.Command("pdftoppm", "-r", "25", "-png", file+".pdf", file).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
		})
	}
}
