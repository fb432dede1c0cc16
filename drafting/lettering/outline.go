package lettering

import (
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"tapeline/drafting/geom"
)

// Outline returns text as closed contours to fill by the non-zero rule, mm. The
// baseline starts at the origin and runs along +x. Outer contours run clockwise as
// seen, those inside letters anticlockwise.
func (f *Font) Outline(text string, size float64) []geom.Path {
	var (
		buf      sfnt.Buffer
		contours []geom.Path
		at       float64
	)
	for _, r := range f.Clean(text) {
		g, _ := f.glyph(r)
		contours = f.appendGlyph(contours, &buf, g.index, geom.Pt(at, 0), size)
		at += g.advance * size
	}
	return contours
}

// appendGlyph appends the contours of one glyph with its origin at o.
func (f *Font) appendGlyph(
	contours []geom.Path, buf *sfnt.Buffer, i sfnt.GlyphIndex, o geom.Point, size float64,
) []geom.Path {
	strokes, err := f.sfnt.LoadGlyph(buf, i, fixed.I(int(f.unit)), nil)
	if err != nil {
		return contours // no glyph of the embedded font fails: a test loads them all
	}
	point := func(p fixed.Point26_6) geom.Point {
		return o.Add(geom.Pt(f.ems(p.X), f.ems(p.Y)).Mul(size))
	}
	var contour geom.Path
	var pen geom.Point
	for _, s := range strokes {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			contours = appendClosed(contours, contour)
			contour, pen = nil, point(s.Args[0])
			continue
		case sfnt.SegmentOpLineTo:
			contour = append(contour, geom.Line(pen, point(s.Args[0])))
		case sfnt.SegmentOpQuadTo: // the cubic has its handles two thirds of the way to the quadratic's
			h, end := point(s.Args[0]), point(s.Args[1])
			contour = append(contour, geom.Cubic(pen, pen.Lerp(h, 2.0/3), end.Lerp(h, 2.0/3), end))
		case sfnt.SegmentOpCubeTo:
			contour = append(contour, geom.Cubic(pen, point(s.Args[0]), point(s.Args[1]), point(s.Args[2])))
		}
		pen = contour.End()
	}
	return appendClosed(contours, contour)
}

// appendClosed appends a contour. A straight stroke closes it if it is open.
func appendClosed(contours []geom.Path, c geom.Path) []geom.Path {
	if len(c) == 0 {
		return contours
	}
	if !c.Closed() {
		c = append(c, geom.Line(c.End(), c.Start()))
	}
	return append(contours, c)
}
