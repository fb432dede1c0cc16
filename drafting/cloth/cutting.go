package cloth

import (
	"math"
	"slices"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/nesting"
	"tapeline/drafting/pattern"
)

// cutting is a piece to lay once, its grain along the cloth: as one layer, or on
// folded cloth as two.
type cutting struct {
	name, title string
	number      int
	layers      int
	folded      bool // it lies on folded cloth
	onFold      bool // its fold lies on that of the cloth; the outline is the half
	faceDown    bool // in a single layer: the other hand's
	eitherFace  bool // it may be laid on its face: both hands are cut, or it is the same both ways
	line        geom.Path
	grain       geom.Segment
	outline     nesting.Polygon // encloses line
	area        float64         // of one layer as cut
}

// How far the outline that is laid may stray from the cut line, mm: outwards in
// hollows, where that only keeps other pieces out; inwards hardly at all.
const (
	strayOut = 2.5
	strayIn  = 0.2
)

// cuttingsOf lists what is laid of a piece that is cut so often. On folded cloth
// pairs and pieces that are the same both ways are cut from both layers at
// once, and halves lie on the fold; what is left is cut from open cloth, and so
// is what is too wide for half the width.
func cuttingsOf(p finish.Piece, number, count int, c Cloth) ([]cutting, error) {
	width := c.layWidth()
	half, ok := onGrain(p, number)
	if c.Spread == Fold && ok && half.onFold && half.least() <= width/2 {
		half.layers, half.folded = 2, true
		half.eitherFace = true
		half.area /= 2
		return repeat(half, count), nil
	}
	whole, err := p.Unfold()
	if err != nil {
		return nil, err
	}
	q, _ := onGrain(whole, number)
	q.onFold = false
	var cuts []cutting
	if c.Spread == Fold && q.least() <= width/2 && (p.Cut.Pair || symmetric(q.outline)) {
		double := q
		double.layers, double.folded, double.eitherFace = 2, true, true
		cuts = repeat(double, count/2)
		count -= 2 * len(cuts)
	}
	q.layers = 1
	for i := range count {
		single := q
		if p.Cut.Pair && i%2 == 1 {
			single = q.turnedOver()
		}
		cuts = append(cuts, single)
	}
	return cuts, nil
}

func repeat(c cutting, count int) []cutting {
	var all []cutting
	for range count {
		all = append(all, c)
	}
	return all
}

// onGrain is the piece with its grain along the cloth, its fold, if it has one
// along the grain, at its lower edge. ok is false where a fold is none to lay on
// that of the cloth.
func onGrain(p finish.Piece, number int) (q cutting, ok bool) {
	q = cutting{name: p.Name, title: p.Title, number: number}
	angle := -math.Pi / 2 // as drawn: upright
	if g := p.Grain; g.P0 != g.P3 {
		angle = -g.P3.Sub(g.P0).Angle()
	}
	m := geom.Turn(geom.Point{}, angle)
	folds := foldLines(p)
	ok = len(folds) == 1
	if ok {
		f := folds[0].Move(m)
		along := f.P3.Sub(f.P0)
		if math.Abs(along.Y) > 1e-3*along.Norm() {
			ok = false
		} else if box := p.CutLine.Move(m).Bounds(); f.P0.Y-box.Min.Y > box.Max.Y-f.P0.Y {
			m = m.Then(geom.Reflect(geom.Point{}, geom.Pt(1, 0))) // the whole is the same on its face
		}
		q.onFold = ok
	}
	q.line, q.grain = p.CutLine.Move(m), p.Grain.Move(m)
	q.area = math.Abs(q.line.Area())
	if len(folds) > 0 {
		q.area *= math.Pow(2, float64(len(folds)))
	}
	q.outline = nesting.Polygon(q.line.Flatten(strayIn/2)).Simplified(strayOut, strayIn/2)
	return q, ok
}

// foldLines are the lines that a piece is folded about.
func foldLines(p finish.Piece) []geom.Segment {
	var lines []geom.Segment
	for _, e := range p.Edges {
		if e.Role != pattern.RoleFold {
			continue
		}
		s := geom.Line(e.Path.Start(), e.Path.End())
		u := s.P3.Sub(s.P0).Unit()
		same := slices.ContainsFunc(lines, func(l geom.Segment) bool {
			return math.Abs(u.Cross(l.P0.Sub(s.P0))) < 0.1 && math.Abs(u.Cross(l.P3.Sub(s.P0))) < 0.1
		})
		if !same {
			lines = append(lines, s)
		}
	}
	return lines
}

// turnedOver is the other hand's piece, its grain the same way.
func (q cutting) turnedOver() cutting {
	m := geom.Reflect(geom.Point{}, geom.Pt(1, 0))
	q.faceDown = true
	q.line, q.grain = q.line.Move(m), q.grain.Move(m)
	flipped := make(nesting.Polygon, len(q.outline))
	for i, p := range q.outline {
		flipped[i] = geom.Pt(p.X, -p.Y)
	}
	q.outline = flipped
	return q
}

// symmetric reports whether a piece turned over about its grain is the same
// within a millimetre, so that two layers of folded cloth give the same piece
// twice.
func symmetric(p nesting.Polygon) bool {
	box := geom.BoxOf(p...)
	middle := box.Centre().Y
	line := geom.Polyline(append(slices.Clone(p), p[0])...)
	for _, q := range p {
		mirrored := geom.Pt(q.X, 2*middle-q.Y)
		if _, d, _ := line.Nearest(mirrored); d > 1 {
			return false
		}
	}
	return true
}

// least is the width that the piece needs of the cloth that it lies on, as one
// layer. Its grain lies along the cloth, so that neither turning it end to end
// nor turning it over changes that.
func (q *cutting) least() float64 { return geom.BoxOf(q.outline...).Height() }

// item is the piece for the search.
func (q *cutting) item(c Cloth) nesting.Item {
	turns := []float64{0}
	if c.Nap == TwoWay {
		turns = append(turns, math.Pi)
	}
	return nesting.Item{Outline: q.outline, Turns: turns, Mirrored: q.eitherFace, OnEdge: q.onFold}
}

// laid is the piece where it was placed.
func (q *cutting) laid(at nesting.Place) Laid {
	m := geom.Still
	if at.Mirrored {
		m = m.Then(geom.Reflect(geom.Point{}, geom.Pt(1, 0)))
	}
	if at.Turn != 0 {
		m = m.Then(geom.Turn(geom.Point{}, at.Turn))
	}
	m = m.Then(geom.Shift(at.At))
	return Laid{
		Name: q.name, Title: q.title, Number: q.number, Layers: q.layers, OnFold: q.onFold,
		FaceDown: q.faceDown, Turned: at.Turn != 0,
		CutLine: q.line.Move(m), Grain: q.grain.Move(m),
	}
}
