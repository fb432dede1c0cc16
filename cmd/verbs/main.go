// Command verbs writes the reference for scripts to the folder given as its
// argument: VERBS.md, with a picture of each verb, and BLOCKS.md. It takes the
// texts from packages style and block.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"tapeline/drafting/drawing"
	"tapeline/drafting/render"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

func main() {
	flag.Parse()
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "usage: verbs FOLDER")
		os.Exit(2)
	}
	files, err := reference(context.Background())
	if err == nil {
		err = write(flag.Arg(0), files)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "verbs:", err)
		os.Exit(1)
	}
}

func write(folder string, files map[string]string) error {
	for name, text := range files {
		path := filepath.Join(folder, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			return err
		}
	}
	return nil
}

// reference returns every file of the reference by name.
func reference(ctx context.Context) (map[string]string, error) {
	files := map[string]string{}
	var b strings.Builder
	b.WriteString("# The verbs\n\nGenerated from the code by `go generate ./drafting/style`. GUIDE.md, one folder up, " +
		"explains how to write a garment.\nUnder each verb stands how a call reads as a sentence, with its arguments " +
		"in {}. What stands in [] is left out without its argument, and\nwhat stands in <> is said for each of several. " +
		"In the pictures the shapes before the verb are grey, those after it black.\n")
	group := ""
	for _, v := range style.Verbs() {
		if v.Group != group {
			group = v.Group
			fmt.Fprintf(&b, "\n## %s\n", group)
		}
		fmt.Fprintf(&b, "\n### %s\n\n    %s\n    %s\n\n%s\n", v.Name(), v.Use(), v.Sentence, v.Doc)
		if v.Example() == "" {
			continue
		}
		p, err := v.Picture(ctx)
		if err != nil {
			return nil, err
		}
		var svg strings.Builder
		pic := picture(v, p)
		if err := render.PictureSVG(&svg, pic); err != nil {
			return nil, fmt.Errorf("picture of %s: %w", v.Name(), err)
		}
		name := "pictures/" + v.Name() + ".svg"
		files[name] = svg.String()
		size := "width"
		if pic.Bounds.Height() > pic.Bounds.Width() {
			size = "height"
		}
		fmt.Fprintf(&b, "\n```python\n%s\n```\n\n<img src=\"%s\" alt=\"%s\" %s=\"260\">\n", v.Example(), name, v.Name(), size)
	}
	files["VERBS.md"] = b.String()
	var err error
	files["BLOCKS.md"], err = blocks(ctx)
	return files, err
}

// pointRadius is the radius of a point in a picture, mm.
const pointRadius = 4

// pens are the pens of one half of a picture.
type pens struct{ edge, fold, fine, guide drawing.Pen }

func newPens(grey, width float64) pens {
	return pens{
		edge:  drawing.Pen{Width: width, Grey: grey},
		fold:  drawing.Pen{Width: width, Grey: grey, Dash: []float64{9, 3, 2, 3}},
		fine:  drawing.Pen{Width: width / 2, Grey: grey},
		guide: drawing.Pen{Width: width / 2, Grey: grey, Dash: []float64{3, 3}},
	}
}

// picture returns the shapes before and after a verb as one drawing.
func picture(v style.Verb, p style.Picture) drawing.Picture {
	before, after := figure("before", p.Before, newPens(0.6, 1.2)), figure("after", p.After, newPens(0, 1.8))
	return drawing.Picture{Title: v.Name(), Description: v.Use(), Figures: []drawing.Figure{before, after},
		Bounds: before.Bounds.Union(after.Bounds).Grow(10)}
}

func figure(name string, s style.Shapes, with pens) drawing.Figure {
	f := drawing.Figure{Name: []string{name}, Bounds: geom.EmptyBox()}
	add := func(pen *drawing.Pen, shapes ...drawing.Shape) {
		name := fmt.Sprintf("part-%d", len(f.Parts)+1)
		f.Parts = append(f.Parts, drawing.Part{Name: name, Layer: drawing.LayerInternal, Pen: pen, Shapes: shapes})
		for _, sh := range shapes {
			if sh.Radius > 0 {
				f.Bounds = f.Bounds.With(sh.At)
			} else if len(sh.Path) > 0 {
				f.Bounds = f.Bounds.Union(sh.Path.Bounds())
			}
		}
	}
	for _, p := range s.Pieces {
		for _, e := range p.Edges {
			pen := &with.edge
			if e.Role == pattern.RoleFold {
				pen = &with.fold
			}
			add(pen, drawing.Line(e.Path))
		}
		for _, d := range p.Darts {
			add(&with.fine, drawing.Lines(d.Legs[:]...)...)
		}
		for _, l := range p.Lines {
			add(&with.guide, drawing.Line(l.Path))
		}
		for _, n := range p.Notches {
			run := p.Run(n.Edge)
			at := run.At(n.At)
			add(&with.edge, drawing.Line(geom.Polyline(at, at.Sub(run.TangentAt(n.At).Left().Mul(8)))))
		}
		for _, m := range p.Marks {
			add(&with.fine, drawing.Circle(m.At, pointRadius))
		}
		add(&with.fine, drawing.Line(geom.Path{p.Grain}))
	}
	for _, path := range s.Paths {
		add(&with.edge, drawing.Line(path))
	}
	for _, at := range s.Points {
		add(&with.edge, drawing.Circle(at, pointRadius), drawing.Circle(at, pointRadius/2))
	}
	return f
}
