// Command verbs writes the reference of the verbs, VERBS.md and a picture for each,
// into the folder named, from what the verbs say of themselves.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"

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

// reference is every file by its name.
func reference(ctx context.Context) (map[string]string, error) {
	files := map[string]string{}
	var b strings.Builder
	b.WriteString("# The verbs\n\nWritten from the code by `go generate ./drafting/style`. How a garment is written: GUIDE.md, one folder up.\nIn the pictures what there was is grey, what the verb gives is black.\n")
	group := ""
	for _, v := range style.Verbs() {
		if v.Group != group {
			group = v.Group
			fmt.Fprintf(&b, "\n## %s\n", group)
		}
		fmt.Fprintf(&b, "\n### %s\n\n    %s\n\n%s\n", v.Name(), v.Use, v.Doc)
		if v.Example() == "" {
			continue
		}
		p, err := v.Picture(ctx)
		if err != nil {
			return nil, err
		}
		name := "pictures/" + v.Name() + ".svg"
		files[name] = svg(p)
		fmt.Fprintf(&b, "\n```python\n%s\n```\n\n![%s](%s)\n", v.Example(), v.Name(), name)
	}
	files["VERBS.md"] = b.String()
	return files, nil
}

// Sizes of a picture, in CSS pixels.
const (
	most   = 260.0
	margin = 8.0
)

// svg draws a picture, fitted into its size.
func svg(p style.Picture) string {
	box := geom.EmptyBox()
	for _, s := range [...]style.Shapes{p.Before, p.After} {
		for _, q := range s.Pieces {
			box = box.Union(q.Outline().Bounds())
		}
		for _, path := range s.Paths {
			box = box.Union(path.Bounds())
		}
		for _, at := range s.Points {
			box = box.With(at)
		}
	}
	box = box.Grow(1)
	scale := min((most-2*margin)/box.Width(), (most-2*margin)/box.Height())
	wide, high := box.Width()*scale+2*margin, box.Height()*scale+2*margin
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%.0f" height="%.0f" viewBox="0 0 %.1f %.1f">`+"\n", wide, high, wide, high)
	b.WriteString(`<rect width="100%" height="100%" fill="#fff"/>` + "\n")
	d := drawing{&b, box.Min, scale}
	d.shapes(p.Before, "#9a9a9a", 1)
	d.shapes(p.After, "#000", 1.6)
	b.WriteString("</svg>\n")
	return b.String()
}

type drawing struct {
	*strings.Builder
	origin geom.Point
	scale  float64
}

func (d drawing) shapes(s style.Shapes, colour string, width float64) {
	for _, p := range s.Pieces {
		d.piece(p, colour, width)
	}
	for _, path := range s.Paths {
		d.path(path, colour, width, "")
	}
	for _, at := range s.Points {
		q := d.at(at)
		fmt.Fprintf(d, `<circle cx="%.1f" cy="%.1f" r="3" fill="%s"/>`+"\n", q.X, q.Y, colour)
	}
}

func (d drawing) piece(p pattern.Piece, colour string, width float64) {
	for _, e := range p.Edges {
		dash := ""
		if e.Role == pattern.RoleFold {
			dash = "8 3 2 3"
		}
		d.path(e.Path, colour, width, dash)
	}
	for _, k := range p.Darts {
		d.path(k.Legs[0], colour, width/2, "")
		d.path(k.Legs[1], colour, width/2, "")
	}
	for _, l := range p.Lines {
		d.path(l.Path, colour, width/2, "3 3")
	}
	for _, n := range p.Notches {
		run := p.Run(n.Edge)
		at, out := run.At(n.At), run.TangentAt(n.At).Left()
		d.path(geom.Polyline(at, at.Add(out.Mul(-6/d.scale))), colour, width, "")
	}
	for _, k := range p.Marks {
		q := d.at(k.At)
		fmt.Fprintf(d, `<circle cx="%.1f" cy="%.1f" r="2" fill="none" stroke="%s"/>`+"\n", q.X, q.Y, colour)
	}
	d.path(geom.Path{p.Grain}, colour, width/2, "")
}

func (d drawing) at(p geom.Point) geom.Point {
	return p.Sub(d.origin).Mul(d.scale).Add(geom.Pt(margin, margin))
}

func (d drawing) path(path geom.Path, colour string, width float64, dash string) {
	if len(path) == 0 {
		return
	}
	s := d.at(path.Start())
	fmt.Fprintf(d, `<path fill="none" stroke="%s" stroke-width="%.1f"`, colour, width)
	if dash != "" {
		fmt.Fprintf(d, ` stroke-dasharray="%s"`, dash)
	}
	fmt.Fprintf(d, ` d="M%.1f %.1f`, s.X, s.Y)
	for _, g := range path {
		a, b, c := d.at(g.P1), d.at(g.P2), d.at(g.P3)
		if g.Straight {
			fmt.Fprintf(d, "L%.1f %.1f", c.X, c.Y)
		} else {
			fmt.Fprintf(d, "C%.1f %.1f %.1f %.1f %.1f %.1f", a.X, a.Y, b.X, b.Y, c.X, c.Y)
		}
	}
	d.WriteString("\"/>\n")
}
