package finish

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/pattern"
)

// svg draws a finished piece for looking at.
func svg(p Piece) string {
	b := p.Bounds().Grow(10)
	var w strings.Builder
	fmt.Fprintf(&w, `<svg xmlns="http://www.w3.org/2000/svg" width="%gmm" height="%gmm" viewBox="%g %g %g %g">
<rect x="%[3]g" y="%[4]g" width="%[5]g" height="%[6]g" fill="white"/>`,
		b.Width(), b.Height(), b.Min.X, b.Min.Y, b.Width(), b.Height())
	stroke := func(path geom.Path, style string) {
		fmt.Fprintf(&w, `<path d="%s" fill="none" %s/>`, d(path), style)
	}
	stroke(p.CutLine, `stroke="black" stroke-width="0.5"`)
	stroke(p.Outline(), `stroke="#c00" stroke-width="0.3" stroke-dasharray="4 2"`)
	for _, dart := range p.Darts {
		for _, leg := range dart.Legs {
			stroke(leg, `stroke="#c00" stroke-width="0.3"`)
		}
	}
	for _, l := range p.Lines {
		stroke(l.Path, `stroke="#888" stroke-width="0.3" stroke-dasharray="8 2 1 2"`)
	}
	stroke(geom.Path{p.Grain}, `stroke="black" stroke-width="0.3"`)
	for _, t := range p.Ticks {
		stroke(geom.Path{t.Stroke}, `stroke="blue" stroke-width="0.5"`)
	}
	for _, br := range p.Brackets {
		stroke(br, `stroke="black" stroke-width="0.3"`)
	}
	for _, a := range p.Arrows {
		fmt.Fprintf(&w, `<path d="%s"/>`, d(a))
	}
	for _, h := range p.Drills {
		fmt.Fprintf(&w, `<circle cx="%g" cy="%g" r="1" fill="none" stroke="blue" stroke-width="0.3"/>`, h.X, h.Y)
	}
	for _, m := range p.Marks {
		stroke(geom.Path{geom.Line(m.At.Add(geom.Pt(-2, 0)), m.At.Add(geom.Pt(2, 0)))}, `stroke="green" stroke-width="0.3"`)
		stroke(geom.Path{geom.Line(m.At.Add(geom.Pt(0, -2)), m.At.Add(geom.Pt(0, 2)))}, `stroke="green" stroke-width="0.3"`)
	}
	for _, l := range p.Texts {
		for i, line := range l.Lines {
			at := l.Baseline(i)
			fmt.Fprintf(&w, `<g transform="translate(%g %g) rotate(%g)">`, at.X, at.Y, l.Angle*180/math.Pi)
			w.WriteString(`<path d="`)
			for _, c := range lettering.Regular().Outline(line, l.Size) {
				w.WriteString(d(c) + "Z")
			}
			w.WriteString(`"/></g>`)
		}
	}
	w.WriteString(`</svg>`)
	return w.String()
}

func d(p geom.Path) string {
	var w strings.Builder
	fmt.Fprintf(&w, "M%.4f %.4f", p.Start().X, p.Start().Y)
	for _, s := range p {
		if s.Straight {
			fmt.Fprintf(&w, "L%.4f %.4f", s.P3.X, s.P3.Y)
		} else {
			fmt.Fprintf(&w, "C%.4f %.4f %.4f %.4f %.4f %.4f", s.P1.X, s.P1.Y, s.P2.X, s.P2.Y, s.P3.X, s.P3.Y)
		}
	}
	return w.String()
}

// TestLook writes the test pieces and two torso blocks as pictures into the
// folder named by TAPELINE_LOOK, to be looked at.
func TestLook(t *testing.T) {
	dir := os.Getenv("TAPELINE_LOOK")
	if dir == "" {
		t.Skip("set TAPELINE_LOOK to a folder to get pictures of finished pieces")
	}
	patterns := map[string]pattern.Pattern{"test": testPattern()}
	for name, says := range map[string]string{"torso": "",
		"shoulder": "bust_dart=shoulder length=waist centre_back=seam elbow=dart", "armhole": "bust_dart=armhole",
		"neck": "bust_dart=neck sleeve=short"} {
		if p, ok := drafted(t, "torso", surveytest.Women(t)[1], "regular", choices(says)); ok {
			patterns[name] = p
		}
	}
	for name, p := range patterns {
		out, err := finishLettered(p, Rules{})
		if err != nil {
			t.Fatal(err)
		}
		for i, piece := range out.Pieces {
			file := filepath.Join(dir, fmt.Sprintf("%s-%d-%s", name, i, piece.Name))
			if err := os.WriteFile(file+".svg", []byte(svg(piece)), 0o644); err != nil {
				t.Fatal(err)
			}
			if out, err := exec.Command("rsvg-convert", "-d", "120", "-p", "120", "-o", file+".png",
				file+".svg").CombinedOutput(); err != nil {
				t.Fatalf("rsvg-convert: %v: %s", err, out)
			}
		}
	}
}
