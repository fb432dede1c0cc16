// Package drawing turns a lettered piece into what is drawn of it: named parts of
// lines, filled shapes, circles and text, each with its layer and pen. Package
// render writes them in the formats that leave the program; what a piece looks
// like is decided here alone.
//
// Lengths are mm in the axes of package geom.
package drawing

import (
	"strconv"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Pen is a way to draw lines and to fill shapes.
type Pen struct {
	Width float64   // mm
	Grey  float64   // 0 is black, 1 is white
	Dash  []float64 // mm on, mm off, …; nil for a solid line
}

// The pens of pieces. All can be told apart in black and white.
var (
	Cut   = &Pen{Width: 0.5}
	Seam  = &Pen{Width: 0.3, Dash: []float64{5, 2}}
	Guide = &Pen{Width: 0.25, Dash: []float64{0.6, 1.8}}
	Fine  = &Pen{Width: 0.3}
	Hair  = &Pen{Width: 0.2, Grey: 0.55} // frames and the grid of a page
	White = &Pen{Width: 0.1, Grey: 1}    // behind letters that stand on lines
)

// Layer is a kind of what is drawn of a pattern.
type Layer string

// The layers, in the order of drawing.
const (
	LayerCut      Layer = "cut_line"
	LayerSeam     Layer = "seam_line" // with the darts
	LayerInternal Layer = "internal_lines"
	LayerNotches  Layer = "notches"
	LayerMarks    Layer = "marks" // drill holes and bust points
	LayerGrain    Layer = "grain" // with the fold brackets
	LayerText     Layer = "text"
	LayerGrid     Layer = "grid" // squares under the pieces, of no piece
)

// Layers lists all layers.
func Layers() []Layer {
	return []Layer{LayerCut, LayerSeam, LayerInternal, LayerNotches, LayerMarks, LayerGrain, LayerText, LayerGrid}
}

// Sizes of marks, mm.
const (
	drillRadius = 1.5 // a smaller mark than the hole that an awl leaves is hard to find
	bustRadius  = 4.0
)

// Shape is a line, a filled shape or, if Radius is positive, a circle about At.
type Shape struct {
	Name   []string // unique in its figure; nil if it needs none
	Path   geom.Path
	Filled bool
	At     geom.Point
	Radius float64

	// Allowance is the distance of an edge from the cut line. On an edge without
	// one the cut line lies on it.
	Allowance float64
}

// Part is everything drawn with one pen for one purpose.
type Part struct {
	Name   string
	Layer  Layer
	Pen    *Pen
	Shapes []Shape
	Texts  []finish.Text
}

// Figure is one piece, or one other thing, with the figures in it.
type Figure struct {
	Name        []string
	Title       string
	Description string
	Bounds      geom.Box
	Parts       []Part
	Figures     []Figure
}

// Line returns a shape that is a line.
func Line(path geom.Path, name ...string) Shape { return Shape{Path: path, Name: name} }

// Circle returns a shape that is a circle.
func Circle(at geom.Point, radius float64, name ...string) Shape {
	return Shape{At: at, Radius: radius, Name: name}
}

// Lines returns lines without names.
func Lines(paths ...geom.Path) []Shape {
	shapes := make([]Shape, len(paths))
	for i, p := range paths {
		shapes[i] = Line(p)
	}
	return shapes
}

// Piece returns all that is drawn of a lettered piece.
func Piece(p *finish.Piece) Figure {
	f := Figure{Name: []string{"piece", p.Name}, Title: p.Title, Bounds: p.Bounds()}
	add := func(name string, l Layer, pen *Pen, shapes ...Shape) {
		if len(shapes) > 0 {
			f.Parts = append(f.Parts, Part{Name: name, Layer: l, Pen: pen, Shapes: shapes})
		}
	}
	add("cut-line", LayerCut, Cut, Line(p.CutLine, "cut-line", "path"))
	var edges, legs, lines, signs, notches []Shape
	for i, e := range p.Edges {
		edges = append(edges, Shape{Name: []string{"edge", e.Name}, Path: e.Path, Allowance: p.Allowances[i]})
	}
	for _, d := range p.Darts {
		legs = append(legs, Line(d.Legs[0], "dart", d.Name, "leg", "1"), Line(d.Legs[1], "dart", d.Name, "leg", "2"))
	}
	for _, l := range p.Lines {
		if finish.IsButtonhole(l) {
			signs = append(signs, buttonhole(l)...)
			continue
		}
		if finish.IsArrow(l) {
			signs = append(signs, Line(l.Path, "line", l.Name))
			continue
		}
		lines = append(lines, Line(l.Path, "line", l.Name))
	}
	for _, t := range p.Ticks {
		notches = append(notches, Line(geom.Path{t.Stroke}, "notch", p.Notches[t.Notch].Edge))
	}
	add("seam-line", LayerSeam, Seam, edges...)
	add("darts", LayerSeam, Seam, legs...)
	add("internal-lines", LayerInternal, Guide, lines...)
	add("signs", LayerInternal, Fine, signs...)
	add("notches", LayerNotches, Fine, notches...)
	add("marks", LayerMarks, Fine, marks(p)...)
	add("grain", LayerGrain, Fine, grain(p)...)
	if len(p.Texts) > 0 {
		f.Parts = append(f.Parts, Part{Name: "text", Layer: LayerText, Texts: p.Texts})
	}
	return f
}

// marks draws drill holes and bust points.
func marks(p *finish.Piece) []Shape {
	var shapes []Shape
	for i, d := range p.Drills {
		shapes = append(shapes, Circle(d, drillRadius, "drill", strconv.Itoa(i+1)))
	}
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkBustPoint {
			shapes = append(shapes, Circle(m.At, bustRadius, "mark", m.Name))
			shapes = append(shapes, Lines(BustCross(m.At)...)...)
		}
	}
	return shapes
}

// BustCross returns the two lines that cross at a bust point.
func BustCross(at geom.Point) []geom.Path {
	across, down := geom.Pt(bustRadius, 0), geom.Pt(0, bustRadius)
	return []geom.Path{{geom.Line(at.Sub(across), at.Add(across))}, {geom.Line(at.Sub(down), at.Add(down))}}
}

// grain draws the grain line, the fold brackets and their arrow heads.
func grain(p *finish.Piece) []Shape {
	var shapes []Shape
	if p.Grain.P0 != p.Grain.P3 {
		shapes = append(shapes, Line(geom.Path{p.Grain}, "grain-line"))
	}
	for i, b := range p.Brackets {
		shapes = append(shapes, Line(b, "fold", strconv.Itoa(i+1)))
	}
	for i, l := range p.Lengthen {
		shapes = append(shapes, Line(l, "lengthen", strconv.Itoa(i+1)))
	}
	for _, a := range p.Arrows {
		shapes = append(shapes, Shape{Path: a, Filled: true})
	}
	return shapes
}

// holeBar is the length of the bar across either end of a buttonhole, mm.
const holeBar = 4.0

// buttonhole draws a buttonhole with a bar across either end.
func buttonhole(l pattern.Line) []Shape {
	s := l.Path[0]
	side := s.Tangent(0).Left().Mul(holeBar / 2)
	return []Shape{Line(l.Path, "line", l.Name), Line(geom.Path{geom.Line(s.P0.Sub(side), s.P0.Add(side))}),
		Line(geom.Path{geom.Line(s.P3.Sub(side), s.P3.Add(side))})}
}

// Pieces returns the figures of lettered pieces.
func Pieces(pieces []finish.Piece) []Figure {
	figures := make([]Figure, len(pieces))
	for i := range pieces {
		figures[i] = Piece(&pieces[i])
	}
	return figures
}

// Texts returns all texts of figures and of the figures in them.
func Texts(figures []Figure) []finish.Text {
	var texts []finish.Text
	for i := range figures {
		for _, p := range figures[i].Parts {
			texts = append(texts, p.Texts...)
		}
		texts = append(texts, Texts(figures[i].Figures)...)
	}
	return texts
}
