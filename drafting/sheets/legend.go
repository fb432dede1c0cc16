package sheets

import (
	"fmt"
	"strings"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

const (
	squareMM    = 50.0
	squareInch  = 2 * inch
	squaresGap  = 8.0
	legendWidth = squareMM + squaresGap + squareInch // of the legend without the page map, mm
	mapBeside   = 68.0                               // width of the map beside the rest
	mapBelow    = 60.0                               // height of the map below the rest
	legendText  = 3.4                                // em, mm
	legendTitle = 6.0
	legendGap   = 3.5 // between the legend's parts, mm
	legendPad   = 3.0 // clear border, mm
	maxCare     = 16  // maximum lines of cautions and warnings; no draft has had as many
)

// LineKind is a style of line, named as the legend names it.
type LineKind string

const (
	LineCut   LineKind = "cut line"
	LineSeam  LineKind = "seam line"
	LineGuide LineKind = "guide line"
)

// patternLines are the kinds of lines of a pattern.
var patternLines = []LineKind{LineCut, LineSeam, LineGuide}

// Legend explains the pages on the first one, in the axes of that page's window.
type Legend struct {
	Box      geom.Box
	Texts    []finish.Text
	Squares  []geom.Box  // the test squares, 50 mm and 2 in
	Keys     []Key       // samples of the lines
	MapPages []geom.Box  // the page map: a box for each page
	MapLines []geom.Path // the outlines of the pieces on the map
}

// Key is a sample of a kind of line.
type Key struct {
	Kind   LineKind
	Stroke geom.Segment
}

// legendSizes are the possible sizes of the legend with its clear border.
type legendSizes struct {
	single geom.Point    // without a page map, for a single page
	tiled  [2]geom.Point // with the map beside the rest, and below it
}

// of returns the sizes for a number of tiles, the preferred one first.
func (s *legendSizes) of(tiles int) []geom.Point {
	if tiles == 1 {
		return []geom.Point{s.single}
	}
	return s.tiled[:]
}

// notes is the text of the legend before it is set.
type notes struct {
	title string
	order []string // the style, customer, date and revision
	scale []string // how to print
	tape  string   // how the pages are joined
	care  []string // cautions and warnings
	lines []LineKind
}

// newNotes returns the text for a pattern laid out with options.
func newNotes(p finish.Pattern, o Options) notes {
	n := notes{title: lettering.Regular().Line(p.Label.Reference, 0), lines: o.Lines}
	if n.lines == nil {
		n.lines = patternLines
	}
	if n.title == "" {
		n.title = lettering.Regular().Line(p.Style, 0)
	} else {
		n.order = append(n.order, p.Style)
	}
	var about []string
	if p.Label.Customer != "" {
		about = append(about, "Customer "+p.Label.Customer)
	}
	if p.Label.Date != "" {
		about = append(about, p.Label.Date)
	}
	n.order = append(n.order, strings.Join(append(about, fmt.Sprintf("revision %d", p.Label.Revision)), " · "))
	n.scale = []string{"Print at 100 %, no scaling. Measure both squares before you cut."}
	n.tape = "Cut the left and top margins off along the frame, " +
		"lay the page on its neighbour's margin so that marks with the same number meet, and tape."
	if o.Overlap > 0 {
		n.tape = fmt.Sprintf("Neighbours share a strip of %g mm: lay one on the other "+
			"so that marks with the same number lie on each other, and tape.", o.Overlap)
	}
	n.care = []string{"Sew a toile first."}
	n.care = append(n.care, p.Warnings...)
	return n
}

// sizes returns the possible sizes of the legend.
func (n notes) sizes() legendSizes {
	pad := geom.Pt(2*legendPad, 2*legendPad)
	rest := n.set("", "", 1).Box.Max.Add(pad)
	tiled := n.set("Z99", "Z99", 999).Box.Max.Add(pad)
	return legendSizes{
		single: rest,
		tiled: [2]geom.Point{
			tiled.Add(geom.Pt(squaresGap+mapBeside, 0)),
			tiled.Add(geom.Pt(0, legendGap+mapBelow)),
		},
	}
}

// set returns the legend without its map, with its corner at the origin. first and
// last are the names of the first and the last column and row of count tiles.
func (n notes) set(first, last string, count int) Legend {
	var l Legend
	y := 0.0
	text := func(size, x, width float64, lines ...string) {
		var set []string
		for _, line := range lines {
			set = append(set, lettering.Regular().Wrap(line, size, width, 0)...)
		}
		if len(set) == 0 {
			return
		}
		label := finish.Text{At: geom.Pt(x, y), Size: size, Lines: set}
		l.Texts = append(l.Texts, label)
		y += label.Height()
	}
	text(legendTitle, 0, legendWidth, n.title)
	text(legendText, 0, legendWidth, n.order...)
	y += legendGap
	text(legendText*1.2, 0, legendWidth, n.scale...)
	y += legendGap

	top := y
	for i, side := range []float64{squareMM, squareInch} {
		at := geom.Pt(float64(i)*(squareMM+squaresGap), top)
		l.Squares = append(l.Squares, geom.Box{Min: at, Max: at.Add(geom.Pt(side, side))})
		y = at.Y + 3
		text(legendText, at.X+3, side, []string{"50 mm", "2 in"}[i])
	}
	y = top + squareInch + legendGap
	y += l.keys(y, n.lines) + legendGap
	if count > 1 {
		text(legendText, 0, legendWidth, fmt.Sprintf("%d pages, %s to %s. %s", count, first, last, n.tape))
	}
	var care []string
	for _, line := range n.care {
		care = append(care, lettering.Regular().Wrap(line, legendText, legendWidth, 0)...)
	}
	if len(care) > maxCare {
		care = append(care[:maxCare-1:maxCare-1], "…")
	}
	text(legendText, 0, legendWidth, care...)
	l.Box.Max = geom.Pt(legendWidth, y)
	return l
}

// keys adds the samples of lines side by side, in as many rows as they need, and returns
// their height.
func (l *Legend) keys(y float64, kinds []LineKind) float64 {
	const sample, space, between = 12.0, 2.0, 5.0
	x, top := 0.0, y
	height := lettering.Regular().LineHeight(legendText)
	for _, kind := range kinds {
		label := finish.Text{Size: legendText, Lines: []string{string(kind)}}
		wide := sample + space + label.Width()
		if x > 0 && x+wide > legendWidth {
			x, y = 0, y+height
		}
		l.Keys = append(l.Keys, Key{kind, geom.Line(geom.Pt(x, y+height/2), geom.Pt(x+sample, y+height/2))})
		label.At = geom.Pt(x+sample+space, y)
		l.Texts = append(l.Texts, label)
		x += wide + between
	}
	return y + height - top
}

// compose returns the legend in the box that the plan has for it.
func (n notes) compose(l *Layout, p plan) Legend {
	tiles := l.tiles()
	first, last := corners(p.tiles)
	g := n.set(first, last, len(tiles))
	if len(tiles) > 1 {
		place := p.legend.Move(p.legend.Min.Neg()).Max.Sub(geom.Pt(2*legendPad, 2*legendPad))
		beside := geom.Box{Min: geom.Pt(legendWidth+squaresGap, 0), Max: place}
		below := geom.Box{Min: geom.Pt(0, g.Box.Max.Y+legendGap), Max: place}
		room := beside
		if below.Width()*below.Height() > beside.Width()*beside.Height() {
			room = below
		}
		g.drawMap(tiles, l.Pieces, room)
		g.Box.Max = place
	}
	g.move(p.legend.Min.Add(geom.Pt(legendPad, legendPad)))
	return g
}

// drawMap adds a small picture of the sheet: its pages with names, and the pieces.
func (l *Legend) drawMap(pages []Page, pieces []finish.Piece, room geom.Box) {
	sheet := geom.EmptyBox()
	for _, p := range pages {
		sheet = sheet.Union(p.Window)
	}
	scale := min(room.Width()/sheet.Width(), room.Height()/sheet.Height(), 0.25)
	to := func(p geom.Point) geom.Point { return room.Min.Add(p.Sub(sheet.Min).Mul(scale)) }
	for _, p := range pages {
		b := geom.Box{Min: to(p.Window.Min), Max: to(p.Window.Max)}
		l.MapPages = append(l.MapPages, b)
		name := finish.Text{Size: min(4, b.Height()*0.4, b.Width()*0.4), Lines: []string{p.Name}}
		name.At = b.Centre().Sub(geom.Pt(name.Width()/2, name.Height()/2))
		l.Texts = append(l.Texts, name)
	}
	for _, p := range pieces {
		small := make(geom.Path, len(p.CutLine))
		for i, s := range p.CutLine {
			small[i] = geom.Segment{P0: to(s.P0), P1: to(s.P1), P2: to(s.P2), P3: to(s.P3), Straight: s.Straight}
		}
		l.MapLines = append(l.MapLines, small)
	}
}

// move shifts the legend.
func (l *Legend) move(v geom.Point) {
	m := geom.Shift(v)
	l.Box = l.Box.Move(v)
	for i := range l.Texts {
		l.Texts[i].At = l.Texts[i].At.Add(v)
	}
	for i := range l.Squares {
		l.Squares[i] = l.Squares[i].Move(v)
	}
	for i := range l.Keys {
		l.Keys[i].Stroke = l.Keys[i].Stroke.Move(m)
	}
	for i := range l.MapPages {
		l.MapPages[i] = l.MapPages[i].Move(v)
	}
	for i := range l.MapLines {
		l.MapLines[i] = l.MapLines[i].Move(m)
	}
}
