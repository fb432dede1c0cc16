package render

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// dxfBlock is a block that was read with the piece that it should hold.
type dxfBlock struct {
	t     *testing.T
	name  string
	piece finish.Piece
	o     DXFOptions
	unit  float64 // mm
	slack float64 // mm, of rounding
	step  geom.Point
	of    map[string][]dxfEntity // by layer and kind
	most  *dxfMost
}

func newDXFBlock(t *testing.T, name string, p finish.Piece, o DXFOptions, entities []dxfEntity,
	most *dxfMost) dxfBlock {
	b := dxfBlock{t: t, name: name, piece: p, o: o, unit: 1, slack: 0.001, of: make(map[string][]dxfEntity), most: most}
	if o.Unit == English {
		b.unit = 25.4
	}
	bounds := p.CutLine.Bounds()
	b.step = geom.Pt(bounds.Min.X, bounds.Max.Y)
	for _, e := range entities {
		b.of[e.Layer+" "+e.Kind] = append(b.of[e.Layer+" "+e.Kind], e)
	}
	return b
}

func (b dxfBlock) fail(format string, args ...any) {
	b.t.Helper()
	b.t.Errorf(b.name+": "+format, args...)
}

// points are an entity's points in mm, in the axes of the piece.
func (b dxfBlock) points(e dxfEntity) []geom.Point {
	all := make([]geom.Point, len(e.Points))
	for i, p := range e.Points {
		all[i] = geom.Pt(p[0]*b.unit, -p[1]*b.unit).Add(b.step)
	}
	return all
}

func (b dxfBlock) line(e dxfEntity) geom.Path {
	points := b.points(e)
	if e.Closed {
		points = append(points, points[0])
	}
	return geom.Polyline(points...)
}

func (b dxfBlock) check(info finish.Label) {
	b.t.Helper()
	p := b.piece
	lines := len(p.Lines) + 2*len(p.Darts)
	crosses := 0
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkBustPoint {
			crosses += 2
		}
	}
	grain, sewn, labels := 0, 0, 0
	if p.Grain.P0 != p.Grain.P3 {
		grain = 1
	}
	var folds []geom.Path // one for each line that edges lie on
	for i, e := range p.Edges {
		same := func(f geom.Path) bool {
			_, _, _, meet := geom.MeetLines(f.Start(), f.StartTangent(), e.Path.Start(), e.Path.StartTangent())
			return !meet && math.Abs(f.StartTangent().Cross(e.Path.Start().Sub(f.Start()))) < 0.01
		}
		if e.Role == pattern.RoleFold && !slices.ContainsFunc(folds, same) {
			folds = append(folds, e.Path)
		}
		if p.Allowances[i] > 0 {
			sewn = 1
		}
	}
	for _, l := range p.Texts {
		labels += len(l.Lines)
	}
	want := map[string]int{
		boundary + " POLYLINE": 1, boundary + " TEXT": 6, notch + " POINT": len(p.Ticks), mirrorLine + " LINE": len(folds),
		grainLine + " LINE": grain, internal + " POLYLINE": lines, internal + " LINE": crosses, drillHole +
			" POINT": len(p.Drills),
		sewLine + " POLYLINE": sewn, annotation + " TEXT": labels,
		turnPoint + " POINT": len(b.of[turnPoint+" POINT"]), curvePoint + " POINT": len(b.of[curvePoint+" POINT"]),
	}
	for key, n := range want {
		if len(b.of[key]) != n {
			b.fail("%d on layer %s, want %d", len(b.of[key]), key, n)
		}
	}
	for key := range b.of {
		if _, ok := want[key]; !ok {
			b.fail("entities on layer %s", key)
		}
	}
	if b.t.Failed() {
		return
	}
	outline := b.outline(b.of[boundary+" POLYLINE"][0], p.CutLine)
	b.marked(b.of[boundary+" POLYLINE"][0])
	b.notches(outline)
	for _, e := range b.of[mirrorLine+" LINE"] {
		b.mirror(e)
	}
	for _, e := range b.of[grainLine+" LINE"] {
		b.near("grain line", e, geom.Path{p.Grain}, b.slack)
	}
	var inner []geom.Path
	for _, l := range p.Lines {
		inner = append(inner, l.Path)
	}
	for _, d := range p.Darts {
		inner = append(inner, d.Legs[0], d.Legs[1])
	}
	for i, e := range b.of[internal+" POLYLINE"] {
		b.near("internal line", e, inner[i], b.o.ChordError)
	}
	for i, e := range b.of[drillHole+" POINT"] {
		if at := b.points(e)[0]; !at.Near(p.Drills[i], b.slack) {
			b.fail("drill hole at %v, want %v", at, p.Drills[i])
		}
	}
	if sewn > 0 {
		b.seams(b.of[sewLine+" POLYLINE"][0])
	}
	b.text(info)
}

// outline checks a closed line both ways, and what it encloses.
func (b dxfBlock) outline(e dxfEntity, want geom.Path) geom.Path {
	b.t.Helper()
	if !e.Closed {
		b.fail("a line on layer %s is open", e.Layer)
	}
	got := b.line(e)
	b.near("line on layer "+e.Layer, e, want, b.o.ChordError)
	off := math.Abs(got.Area() - want.Area())
	b.most.area = max(b.most.area, off)
	if off > b.o.ChordError*want.Length() {
		b.fail("%.1f mm² in the line on layer %s, want %.1f", got.Area(), e.Layer, want.Area())
	}
	return got
}

// near checks that the corners of a line lie on the curve and the curve within
// the chord error of the line.
func (b dxfBlock) near(what string, e dxfEntity, want geom.Path, chordError float64) {
	b.t.Helper()
	for _, q := range b.points(e) {
		if _, d, _ := want.Nearest(q); d > b.slack {
			b.fail("%s: %v is %.4f mm from the curve", what, q, d)
		}
	}
	got := b.line(e)
	for _, s := range want {
		for k := range 24 {
			q := s.At(float64(k) / 24)
			_, d, _ := got.Nearest(q)
			b.most.apart = max(b.most.apart, d/chordError)
			if d > chordError {
				b.fail("%s: the curve at %v is %.4f mm from the line", what, q, d)
			}
		}
	}
}

// marked checks that every vertex of the boundary is a turn or a curve point
// and nothing else is, and that the corners are turn points.
func (b dxfBlock) marked(e dxfEntity) {
	b.t.Helper()
	kinds := make(map[[2]float64]string)
	for _, kind := range []string{turnPoint, curvePoint} {
		for _, p := range b.of[kind+" POINT"] {
			if kinds[p.Points[0]] != "" {
				b.fail("two points at %v", p.Points[0])
			}
			kinds[p.Points[0]] = kind
		}
	}
	points := b.points(e)
	for i, p := range e.Points {
		kind := kinds[p]
		before, after := points[i].Sub(points[(i+len(points)-1)%len(points)]), points[(i+1)%len(points)].Sub(points[i])
		switch bend := math.Abs(geom.AngleBetween(before, after)); {
		case kind == "":
			b.fail("vertex %v is neither turn nor curve point", p)
		case kind == curvePoint && bend > 0.6 && b.o.ChordError <= DefaultChordError:
			b.fail("vertex %v bends by %.2f rad but is a curve point", p, bend)
		}
	}
	if len(kinds) != len(e.Points) {
		b.fail("%d turn and curve points for %d vertices", len(kinds), len(e.Points))
	}
	// Where edges with allowances meet at an angle there is a corner of the cut line.
	if turns := len(b.of[turnPoint+" POINT"]); turns < 4 {
		b.fail("%d turn points", turns)
	}
}

// notches checks that each lies on the boundary and by the end of its stroke.
func (b dxfBlock) notches(outline geom.Path) {
	b.t.Helper()
	for i, e := range b.of[notch+" POINT"] {
		at := b.points(e)[0]
		stroke := b.piece.Ticks[i].Stroke
		_, d, _ := outline.Nearest(at)
		end := min(at.Dist(stroke.P0), at.Dist(stroke.P3))
		if d > b.slack || end > b.o.ChordError+b.slack {
			b.fail("notch %d at %v: %.4f mm from the boundary, %.4f mm from its stroke", i, at, d, end)
		}
	}
}

// mirror checks that a mirror line is an edge of the boundary, along a fold.
func (b dxfBlock) mirror(e dxfEntity) {
	b.t.Helper()
	edge := false
	points := b.of[boundary+" POLYLINE"][0].Points
	for i, p := range points {
		q := points[(i+1)%len(points)]
		edge = edge || p == e.Points[0] && q == e.Points[1] || p == e.Points[1] && q == e.Points[0]
	}
	if !edge {
		b.fail("the mirror line %v is no edge of the boundary", e.Points)
	}
	for _, f := range b.piece.Edges {
		if f.Role == pattern.RoleFold {
			for _, s := range f.Path {
				if _, d, _ := b.line(e).Nearest(s.At(0.5)); d > b.slack {
					b.fail("the mirror line is %.3f mm from the fold", d)
				}
			}
		}
	}
}

// seams checks the sew line, and on it the length of every edge.
func (b dxfBlock) seams(e dxfEntity) {
	b.t.Helper()
	got := b.outline(e, b.piece.Outline())
	for _, f := range b.piece.Edges {
		_, d0, from := got.Nearest(f.Path.Start())
		_, d1, to := got.Nearest(f.Path.End())
		length := to - from
		if length < 0 {
			length += got.Length()
		}
		off := math.Abs(length - f.Path.Length())
		if b.o.ChordError <= DefaultChordError {
			b.most.seam = max(b.most.seam, off)
		}
		if d0 > b.slack || d1 > b.slack || off > 2*b.o.ChordError {
			b.fail("%s measures %.3f mm, want %.3f", f.Name, length, f.Path.Length())
		}
	}
}

// text checks the piece's system text and annotation.
func (b dxfBlock) text(info finish.Label) {
	b.t.Helper()
	system := make(map[string]string)
	for _, e := range b.of[boundary+" TEXT"] {
		key, value, _ := strings.Cut(e.Text, ": ")
		system[key] = value
	}
	if system["PIECE NAME"] != strings.ToUpper(b.piece.Name) || system["QUANTITY"] != fmt.Sprint(b.piece.Cut.Count) ||
		system["SIZE"] != info.Reference || system["CATEGORY"] != b.piece.Name ||
		!strings.HasPrefix(system["ANNOTATION"], b.piece.Title) {
		b.fail("system text %v", system)
	}
	cloth := b.piece.Cloth
	if cloth == "" {
		cloth = "SELF"
	}
	if says := fmt.Sprintf("Interfacing: cut %d", b.piece.Interfacing); system["MATERIAL"] != cloth ||
		strings.Contains(system["ANNOTATION"], says) != (b.piece.Interfacing > 0) {
		b.fail("from %q, %q", system["MATERIAL"], system["ANNOTATION"])
	}
	if b.o.Folds == FoldsUnfolded && strings.Contains(strings.ToLower(system["ANNOTATION"]), "fold") {
		b.fail("annotation %q of an opened piece", system["ANNOTATION"])
	}
	i := 0
	for _, l := range b.piece.Texts {
		for j, line := range l.Lines {
			e := b.of[annotation+" TEXT"][i]
			i++
			if e.Text != ascii(line) || !b.points(e)[0].Near(l.Baseline(j), b.slack) ||
				math.Abs(e.Rotation+l.Angle*180/math.Pi) > 0.001 {
				b.fail("annotation %+v for %q at %v", e, line, l.Baseline(j))
			}
			if h := e.Height * b.unit / l.Size; h < 0.6 || h > 0.8 {
				b.fail("letters %.2f of an em high", h)
			}
		}
	}
}
