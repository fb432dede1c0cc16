package render

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/pattern"
)

const (
	dxfGap        = 60.0 // between pieces, mm
	dxfTextHeight = 3.0  // of a capital of system text, mm
	dxfTextStep   = 5.0  // from line to line of it
)

// dxfPiece is a piece with where it goes.
type dxfPiece struct {
	finish.Piece
	block    string
	called   string // the name of the piece, the same in all sizes
	sizeName string
	corner   geom.Point // the lower left corner of its bounds, which is the block's origin
	size     geom.Point
	insert   geom.Point // where the block's origin is put, mm with y down
	mirror   []geom.Segment
}

// dxfPieces are the pieces as they are written, in a row on one base line.
func dxfPieces(p finish.Pattern, o DXFOptions) ([]dxfPiece, error) {
	if len(p.Pieces) == 0 {
		return nil, errors.New("a pattern without pieces cannot be written as DXF")
	}
	names := make([]string, len(p.Pieces))
	for i := range p.Pieces {
		names[i] = p.Pieces[i].Name
	}
	names = dxfNames(names)
	x := 0.0
	pieces := make([]dxfPiece, len(p.Pieces))
	for i, piece := range p.Pieces {
		if o.Folds == FoldsUnfolded {
			var err error
			if piece, err = piece.Unfold(); err != nil {
				return nil, err
			}
		}
		if !piece.CutLine.Closed() {
			return nil, fmt.Errorf("piece %s has no closed cut line", piece.Name)
		}
		b := piece.Bounds()
		pieces[i] = dxfPiece{
			Piece: piece, block: names[i], called: names[i], sizeName: dxfSize(p.Label), corner: geom.Pt(b.Min.X, b.Max.Y),
			size: geom.Pt(b.Width(), b.Height()), insert: geom.Pt(x, 0), mirror: mirrorLines(piece),
		}
		x += b.Width() + dxfGap
	}
	return pieces, nil
}

// mirrorLines returns the runs of the cut line that lie on a fold, end to end.
func mirrorLines(p finish.Piece) []geom.Segment {
	lines := p.FoldLines()
	for i, fold := range lines {
		u := fold.Tangent(0)
		first, last := 0.0, fold.Length()
		for _, s := range p.CutLine {
			a, b := s.P0.Sub(fold.P0), s.P3.Sub(fold.P0)
			if max(math.Abs(u.Cross(a)), math.Abs(u.Cross(b))) < pattern.FoldTol {
				first, last = min(first, u.Dot(a), u.Dot(b)), max(last, u.Dot(a), u.Dot(b))
			}
		}
		lines[i] = geom.Line(fold.P0.Add(u.Mul(first)), fold.P0.Add(u.Mul(last)))
	}
	return lines
}

// block writes a piece's block, its origin at the lower left corner.
func (d *dxfWriter) block(p *dxfPiece, chordError float64) {
	d.origin = p.corner
	d.entity("BLOCK", dxfBoundary)
	d.group(2, p.block)
	d.integer(70, 0)
	d.point(p.corner)
	d.group(3, p.block)
	d.systemText(p.corner, []string{
		"PIECE NAME: " + p.called,
		"SIZE: " + p.sizeName,
		"QUANTITY: " + strconv.Itoa(p.Cut.Count),
		"MATERIAL: " + dxfMaterial(p.Piece),
		"CATEGORY: " + p.Name,
		"ANNOTATION: " + dxfAbout(p.Piece),
	})
	boundary := d.vertices(p.CutLine, chordError)
	d.polyline(dxfBoundary, boundary, true)
	for _, v := range boundary {
		if v.turn {
			d.dot(dxfTurn, v.at)
		} else {
			d.dot(dxfCurve, v.at)
		}
	}
	d.notches(p, pathOf(boundary, true))
	for _, m := range p.mirror {
		d.line(dxfMirror, m)
	}
	if p.Grain.P0 != p.Grain.P3 {
		d.line(dxfGrain, p.Grain)
	}
	d.inner(p, chordError)
	for _, h := range p.Drills {
		d.dot(dxfDrill, h)
	}
	if slices.ContainsFunc(p.Allowances, func(mm float64) bool { return mm > 0 }) {
		d.polyline(dxfSew, d.vertices(p.Outline(), chordError), true)
	}
	d.annotate(p.Texts)
	d.entity("ENDBLK", dxfBoundary)
}

// dxfMaterial is the cloth that a piece is cut from; the trade calls the main
// one self.
func dxfMaterial(p finish.Piece) string {
	if p.Cloth == "" {
		return "SELF"
	}
	return p.Cloth
}

// dxfAbout returns the text of a piece besides its name: its title and how it is
// cut.
func dxfAbout(p finish.Piece) string {
	about := p.Title + ". " + p.Cut.String()
	if p.Interfacing > 0 {
		about += ". Interfacing: cut " + strconv.Itoa(p.Interfacing)
	}
	return about
}

// notches writes each stroke of a notch as a point on the boundary as written.
func (d *dxfWriter) notches(p *dxfPiece, boundary geom.Path) {
	for _, t := range p.Ticks {
		at, _, _ := boundary.Nearest(snip(p.Piece, t))
		d.dot(dxfNotch, at)
	}
}

// snip is where the cloth is snipped for a stroke of a notch: where it meets
// the cut line, which is its start where there is no allowance.
func snip(p finish.Piece, t finish.Tick) geom.Point {
	name := p.Notches[t.Notch].Edge
	i := slices.IndexFunc(p.Edges, func(e pattern.Edge) bool { return e.Name == name })
	if i >= 0 && p.Allowances[i] == 0 {
		return t.Stroke.P0
	}
	return t.Stroke.P3
}

// inner writes what is drawn inside a piece: lines, darts, and the bust point
// as a cross.
func (d *dxfWriter) inner(p *dxfPiece, chordError float64) {
	line := func(path geom.Path) {
		if vs := d.vertices(path, chordError); len(vs) > 1 {
			d.polyline(dxfInternal, vs, path.Closed())
		}
	}
	for _, l := range p.Lines {
		line(l.Path)
	}
	for _, dart := range p.Darts {
		line(dart.Legs[0])
		line(dart.Legs[1])
	}
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkBustPoint {
			for _, l := range drawing.BustCross(m.At) {
				d.line(dxfInternal, l[0])
			}
		}
	}
}

// annotate writes the labels where they stand on paper.
func (d *dxfWriter) annotate(labels []finish.Text) {
	for i := range labels {
		l := &labels[i]
		for j, line := range l.Lines {
			if s := ascii(line); s != "" {
				d.text(dxfAnnotation, l.Baseline(j), lettering.Regular().CapHeight(l.Size), l.Angle, s)
			}
		}
	}
}

// style writes the system text of the whole file.
func (d *dxfWriter) style(style string, l finish.Label, unit DXFUnit) {
	lines := []string{"STYLE NAME: " + style}
	if l.Date != "" {
		lines = append(lines, "CREATION DATE: "+l.Date)
	}
	units := "UNITS: METRIC"
	if unit == English {
		units = "UNITS: ENGLISH"
	}
	lines = append(lines, "AUTHOR: TAPELINE", "SAMPLE SIZE: "+dxfSize(l), units)
	d.systemText(geom.Pt(0, 10*dxfTextStep), lines)
}

// dxfSize names the one size of a pattern made to measure: by its order.
func dxfSize(l finish.Label) string {
	if l.Reference != "" {
		return l.Reference
	}
	return "MADE TO MEASURE"
}

// systemText writes lines of text under a place.
func (d *dxfWriter) systemText(at geom.Point, lines []string) {
	for i, s := range lines {
		d.text(dxfBoundary, at.Add(geom.Pt(0, dxfTextStep*float64(i+1))), dxfTextHeight, 0, ascii(s))
	}
}
