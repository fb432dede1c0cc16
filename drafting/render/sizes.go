package render

import (
	"cmp"
	"context"
	"encoding/json"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/signintech/gopdf"

	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/drawing"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/making"
	"tapeline/drafting/pattern"
	"tapeline/drafting/sheets"
	"tapeline/drafting/sizes"
)

// A SizesFormat is a format of size runs.
type SizesFormat struct {
	Name      string // such as pdf
	MediaType string // RFC 6838
	takes     Format // the format of a pattern whose options it has
	write     func(context.Context, io.Writer, sizes.Run, body.Unit, Options) error
}

var sizesFormats = []SizesFormat{
	{"pdf", "application/pdf", formatNamed("pdf"), sizesPDF},
	{"dxf", "image/vnd.dxf", formatNamed("dxf"), sizesDXF},
	{"svg", "image/svg+xml", Format{Name: "svg", fill: func(*Options) fault.List { return nil }}, sizesSVG},
	{"json", "application/json", Format{Name: "json", fill: func(*Options) fault.List { return nil }}, sizesJSON},
}

func formatNamed(name string) Format {
	i := slices.IndexFunc(formats, func(f Format) bool { return f.Name == name })
	return formats[i]
}

// ParseSizesFormat returns the format of a name. The error is a fault.Fault that lists
// the names.
func ParseSizesFormat(name string) (SizesFormat, error) {
	return find(sizesFormats, name, func(f SizesFormat) string { return f.Name })
}

// Fill completes the options of a size run, as Format.Fill does those of a pattern.
func (f SizesFormat) Fill(o Options) (Options, error) { return f.takes.Fill(o) }

// Write writes a size run, its tables in the unit. If it returns an error other than that
// of w, it has written nothing.
func (f SizesFormat) Write(ctx context.Context, w io.Writer, r sizes.Run, unit body.Unit, o Options) error {
	if err := cost.Step(ctx); err != nil {
		return err
	}
	return f.write(ctx, w, r, unit, o)
}

// sizePens are the pens of the cut lines of sizes, told apart by their dashes; after the
// last they begin again with a wider line.
var sizePens = func() (pens []*drawing.Pen) {
	dashes := [][]float64{nil, {7, 1.6}, {2.4, 1.3}, {9, 1.4, 1.4, 1.4}, {4.5, 1.4}, {7, 1.2, 1.2, 1.2, 1.2, 1.2},
		{1.2, 1.4}, {14, 2}}
	for _, width := range []float64{0.35, 0.7} {
		for _, d := range dashes {
			pens = append(pens, &drawing.Pen{Width: width, Dash: d})
		}
	}
	return pens
}()

func sizePen(size int) *drawing.Pen { return sizePens[size%len(sizePens)] }

// sizesPDF writes the nest on paper at true scale, the tables of the run in front.
func sizesPDF(ctx context.Context, w io.Writer, r sizes.Run, unit body.Unit, o Options) error {
	sheet, err := o.Sheet()
	if err != nil {
		return err
	}
	for _, name := range r.Names() {
		sheet.Lines = append(sheet.Lines, sheets.LineKind(name))
	}
	l, figures, err := placeNest(ctx, r, sheet, nestStyle{sizePen, func(geom.Box) float64 { return sizeEm }})
	if err != nil {
		return err
	}
	g, err := newDocument(l.PageWidth, l.PageHeight, l.Style, l.Label)
	if err != nil {
		return err
	}
	if o.MakingSheet != MakingNone {
		on, err := sheets.ParsePaper(makingPaper(sheet.Paper, finish.Label{OrderUnit: string(unit)}))
		if err != nil {
			return err
		}
		if err := drawMakingSheet(ctx, g, making.NewSizeTable(r, unit, geom.Pt(on.Width, on.Height))); err != nil {
			return err
		}
	}
	if err := drawNestPages(ctx, g, l, figures, r.Names()); err != nil {
		return err
	}
	doc, err := bufferOf(g)
	if err != nil {
		return err
	}
	_, err = doc.WriteTo(w)
	return err
}

// drawNestPages adds the pages of a nest.
func drawNestPages(ctx context.Context, g *gopdf.GoPdf, l sheets.Layout, figures []drawing.Figure,
	names []string) error {
	pens := map[sheets.LineKind]*drawing.Pen{}
	for i, name := range names {
		pens[sheets.LineKind(name)] = sizePen(i)
	}
	texts := drawing.Texts(figures)
	for i := range l.Pages {
		if err := cost.Step(ctx); err != nil {
			return err
		}
		g.AddPageWithOption(sized(l.PageWidth, l.PageHeight))
		c := newCanvas(g, l.Pages[i].Window, l.Margin)
		c.keyPens = pens
		if err := drawPage(c, &l, nil, nil, i); err != nil {
			return err
		}
		if l.Pages[i].Cover {
			continue
		}
		c.figures(shown(figures, l.Pages[i].Window))
		c.set(drawing.Fine)
		if err := c.letter(texts); err != nil {
			return err
		}
		c.blankMargins(l.PageWidth, l.PageHeight)
		c.frame()
	}
	return nil
}

// shown returns the figures of which a window shows something.
func shown(figures []drawing.Figure, window geom.Box) []drawing.Figure {
	return slices.DeleteFunc(slices.Clone(figures), func(f drawing.Figure) bool { return !f.Bounds.Overlaps(window) })
}

// A nestStyle says how a nest is drawn.
type nestStyle struct {
	pen func(size int) *drawing.Pen
	em  func(geom.Box) float64 // of the names of sizes, mm, in a picture of some bounds
}

// placeNest lays the nested pieces out on paper and returns their figures, one a piece.
func placeNest(ctx context.Context, r sizes.Run, o sheets.Options, style nestStyle) (
	sheets.Layout, []drawing.Figure, error,
) {
	nest := r.Nest()
	first := r.Sizes[0].Pattern.Label
	whole := finish.Pattern{Style: r.Title + ", " + strings.ToLower(r.Span()),
		Label:    finish.Label{Revision: first.Revision, Date: first.Date},
		Warnings: []string{"The lines of the sizes are cut lines: the allowances are included."}}
	for _, s := range r.Sizes {
		for _, w := range s.Pattern.Warnings {
			if !slices.Contains(whole.Warnings, w) {
				whole.Warnings = append(whole.Warnings, w)
			}
		}
	}
	for _, n := range nest {
		if err := cost.Step(ctx); err != nil {
			return sheets.Layout{}, nil, err
		}
		whole.Pieces = append(whole.Pieces, envelope(n))
	}
	whole = whole.Lettered()
	l, err := sheets.Plan(ctx, whole, o)
	if err != nil {
		return sheets.Layout{}, nil, err
	}
	figures := make([]drawing.Figure, len(nest))
	em := style.em(sheets.Bounds(l.Pieces))
	for i, n := range nest {
		figures[i] = nestFigure(n, r.Names(), &l.Pieces[i], l.Motions[i], style.pen, em)
	}
	return l, figures, nil
}

// envelope returns the piece that stands for all sizes of a nested one on paper: the
// smallest, in which the lettering has room in every size, with the convex hull of all
// cut lines as its own.
func envelope(n sizes.Nested) finish.Piece {
	var points []geom.Point
	for _, s := range n.Sizes {
		points = append(points, s.Piece.CutLine.Flatten(geom.PackTol)...)
	}
	p := n.Smallest()
	hull := geom.ConvexHull(points)
	p.CutLine = geom.Polyline(append(hull, hull[0])...)
	p.Lines = slices.DeleteFunc(slices.Clone(p.Lines), isLevel)
	p.Notches, p.Ticks, p.Drills, p.Marks = nil, nil, nil, nil // each size has its own
	p.Allowances = make([]float64, len(p.Allowances))
	return p
}

// nestFigure draws a piece in all its sizes. on is its envelope on the sheet, and m the
// motion that brought it there.
func nestFigure(n sizes.Nested, names []string, on *finish.Piece, m geom.Motion, pen func(int) *drawing.Pen,
	em float64) drawing.Figure {
	f := drawing.Figure{Name: []string{"piece", n.Name}, Title: on.Title, Bounds: on.Bounds()}
	var cuts []geom.Path
	for _, s := range n.Sizes {
		cut := s.Piece.CutLine.Move(m)
		cuts = append(cuts, cut)
		lines, marks := []drawing.Shape{drawing.Line(cut)}, []drawing.Shape(nil)
		piece := s.Piece
		piece.Lines = slices.DeleteFunc(slices.Clone(piece.Lines), isLevel)
		for _, part := range drawing.Piece(&piece).Parts {
			for _, q := range part.Shapes {
				q.Name, q.Path, q.At = nil, q.Path.Move(m), m.Apply(q.At)
				switch {
				case part.Name == "darts" || part.Name == "internal-lines":
					lines = append(lines, q)
				case part.Layer == drawing.LayerNotches || part.Layer == drawing.LayerMarks || part.Name == "signs":
					marks = append(marks, q)
				}
			}
		}
		name := "size " + names[s.Size]
		f.Parts = append(f.Parts, drawing.Part{Name: name, Pen: pen(s.Size), Shapes: lines},
			drawing.Part{Name: name + " marks", Pen: drawing.Fine, Shapes: marks})
	}
	for _, part := range drawing.Piece(on).Parts {
		if part.Layer == drawing.LayerGrain || part.Layer == drawing.LayerText {
			f.Parts = append(f.Parts, part)
		}
	}
	behind, labels := sizeLabels(n, names, cuts, on, em)
	f.Parts = append(f.Parts, drawing.Part{Name: "behind", Pen: drawing.White, Shapes: behind},
		drawing.Part{Name: "sizes", Texts: labels})
	return f
}

// levels are the names of lines that show where the body's levels lie. A nest leaves them
// out: they guide nobody's scissors, and those of many sizes hide the darts.
var levels = []string{"bust", "waist", "high_hip", "hip", "crotch", "knee", "biceps", "elbow"}

func isLevel(l pattern.Line) bool { return slices.Contains(levels, l.Name) }

// Of the names of sizes on their cut lines.
const (
	sizeEm    = 3.0   // mm on paper
	rays      = 48    // directions in which room for them is looked for
	widestFan = 0.8   // radians: between the names of the first and the last size
	oneLine   = 0.5   // mm: least distance of two lines
	secondAt  = 600.0 // mm: width and height of a piece on which they stand twice
)

// sizeLabels sets the name of each size on its cut line, as heights stand on the contours
// of a map, where the lines lie farthest apart: on a large piece twice. Where all sizes
// have one line, it says so.
func sizeLabels(n sizes.Nested, names []string, cuts []geom.Path, on *finish.Piece, em float64) (
	behind []drawing.Shape, labels []finish.Text,
) {
	flat := make([][]geom.Point, len(cuts))
	for i, c := range cuts {
		flat[i] = c.Flatten(geom.PackTol)
	}
	middle, reach := on.Grain.P0.Lerp(on.Grain.P3, 0.5), on.Bounds().Width()+on.Bounds().Height() // the grain lies inside
	set := func(at geom.Point, name string) {
		t := finish.Text{Size: em, Lines: []string{name}}
		half := geom.Pt(t.Width(), lettering.Regular().CapHeight(em)).Mul(0.5)
		t.At = at.Sub(geom.Pt(t.Width(), t.Height()).Mul(0.5))
		labels = append(labels, t)
		behind = append(behind, drawing.Shape{Filled: true,
			Path: drawing.BoxPath(geom.BoxOf(at.Sub(half), at.Add(half)).Grow(0.15 * em))})
	}
	// Each name stands a little farther round, so that those on lines that lie close do not meet.
	step := min(2.2*em/max(60, reach/4), widestFan/float64(len(n.Sizes)))
	places := labelPlaces(flat, middle, reach, step*float64(len(n.Sizes)))
	if len(n.Sizes) > 1 && places[0].spread < oneLine {
		if at, ok := outermost(flat[0], middle, middle.Add(geom.Polar(reach, places[0].angle))); ok {
			set(at, "all sizes")
		}
		return behind, labels
	}
	for k, p := range places {
		if k > 0 && (reach < secondAt || p.room < em || math.Cos(p.angle-places[0].angle) > -0.5) {
			continue
		}
		for i, s := range n.Sizes {
			angle := p.angle + (float64(i)-float64(len(n.Sizes)-1)/2)*step
			at, ok := outermost(flat[i], middle, middle.Add(geom.Polar(reach, angle)))
			if !ok { // this size lies beside the middle of the others
				at = farthestAlong(flat[i], geom.Polar(1, angle))
			}
			set(at, names[s.Size])
		}
		if k > 0 {
			break
		}
	}
	return behind, labels
}

// A labelPlace is a direction from the middle of a piece.
type labelPlace struct {
	angle  float64
	room   float64 // least distance between lines of two sizes there
	spread float64 // from the innermost to the outermost
}

// labelPlaces returns directions, those with the most room first: over a fan of an angle
// about each.
func labelPlaces(outlines [][]geom.Point, middle geom.Point, reach, fan float64) []labelPlace {
	var places []labelPlace
	spread := 0.0
	for i := range rays {
		p := labelPlace{angle: (float64(i) + 0.5) * 2 * math.Pi / rays, room: math.Inf(1)}
		for _, off := range []float64{-0.5, -0.25, 0, 0.25, 0.5} {
			room, wide := rayRoom(outlines, middle, geom.Polar(reach, p.angle+off*fan))
			p.room, spread = min(p.room, room), max(spread, wide)
		}
		places = append(places, p)
	}
	for i := range places {
		places[i].spread = spread
	}
	slices.SortStableFunc(places, func(a, b labelPlace) int { return cmp.Compare(b.room, a.room) })
	return places
}

// rayRoom returns the least distance between outlines along a ray, and that from the
// innermost to the outermost.
func rayRoom(outlines [][]geom.Point, from, way geom.Point) (room, spread float64) {
	var at []float64
	for _, o := range outlines {
		if p, ok := outermost(o, from, from.Add(way)); ok {
			at = append(at, p.Dist(from))
		}
	}
	if len(at) == 0 {
		return 0, 0
	}
	slices.Sort(at)
	room = math.Inf(1)
	for i := 1; i < len(at); i++ {
		room = min(room, at[i]-at[i-1])
	}
	return room, at[len(at)-1] - at[0]
}

// farthestAlong returns the corner of an outline that lies farthest in a direction.
func farthestAlong(outline []geom.Point, way geom.Point) geom.Point {
	return slices.MaxFunc(outline, func(a, b geom.Point) int { return cmp.Compare(a.Dot(way), b.Dot(way)) })
}

// outermost returns the point farthest out at which a line from inside meets an outline.
func outermost(outline []geom.Point, from, to geom.Point) (at geom.Point, ok bool) {
	far := -1.0
	way := to.Sub(from)
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		side := b.Sub(a)
		d := way.Cross(side)
		if math.Abs(d) < 1e-12 {
			continue
		}
		t, u := a.Sub(from).Cross(side)/d, a.Sub(from).Cross(way)/d
		if u >= 0 && u <= 1 && t > far && t >= 0 && t <= 1 {
			far, at, ok = t, from.Add(way.Mul(t)), true
		}
	}
	return at, ok
}

// sizesSVG writes a picture of the nest, as wide as its window.
func sizesSVG(ctx context.Context, w io.Writer, r sizes.Run, _ body.Unit, _ Options) error {
	l, figures, err := placeNest(ctx, r, sheets.Options{Paper: sheets.Full, Placing: sheets.InRow},
		nestStyle{func(int) *drawing.Pen { return drawing.Fine }, func(b geom.Box) float64 { return 0.4 * screenEm(b) }})
	if err != nil {
		return err
	}
	p := drawing.Picture{Style: r.Title, Label: l.Label, Title: r.Title + ", " + r.Span(), Figures: figures,
		Description: "Every piece in all sizes, not to scale.", Bounds: sheets.Bounds(l.Pieces).Grow(rowMargin)}
	return PictureSVG(w, p)
}

// sizesDocument is a size run as data: lengths in mm, angles in degrees.
type sizesDocument struct {
	Garment  string         `json:"garment"`
	Sizes    []string       `json:"sizes"`
	Finished []sizesMeasure `json:"finished"`
	Bodies   []sizesMeasure `json:"bodies"`
}

// sizesMeasure has the values and steps by size.
type sizesMeasure struct {
	Name   string             `json:"name"`
	Values map[string]float64 `json:"values"`
	Adds   map[string]float64 `json:"adds"` // to the size before
}

// sizesJSON writes the tables of a run as data.
func sizesJSON(_ context.Context, w io.Writer, r sizes.Run, _ body.Unit, _ Options) error {
	names := r.Names()
	bySize := func(values map[int]float64) map[string]float64 {
		named := map[string]float64{}
		for i, v := range values {
			named[names[i]] = math.Round(100*v) / 100
		}
		return named
	}
	list := func(measures []sizes.Measure) []sizesMeasure {
		out := []sizesMeasure{}
		for _, m := range measures {
			out = append(out, sizesMeasure{m.Name, bySize(m.Values), bySize(m.Steps())})
		}
		return out
	}
	data, err := json.MarshalIndent(sizesDocument{r.Title, names, list(r.Finished()), list(r.Bodies())}, "", " ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(data, '\n'))
	return err
}
