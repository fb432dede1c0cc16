package cloth

import (
	"math"
	"slices"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/nesting"
)

// cutting is a piece to place on the cloth once, in one layer or, on folded
// cloth, in two. Its grain runs along the cloth.
type cutting struct {
	name, title string
	number      int
	layers      int
	folded      bool // it lies on folded cloth
	onFold      bool // its fold lies on that of the cloth, and the outline is the half
	faceDown    bool // the mirrored piece of a pair, in a single layer
	eitherFace  bool // it may lie face down: both hands are cut, or it is symmetric
	line        geom.Path
	grain       geom.Segment
	outline     nesting.Polygon // encloses line
	area        float64         // mm² of one layer as cut
}

// How far the packed outline may stray from the cut line, mm: outwards in
// hollows, where that only keeps other pieces out, and hardly at all inwards.
const (
	strayOut = 2.5
	strayIn  = 0.2
)

// cuttingsOf returns the cuttings of a piece that is cut count times. On folded
// cloth, pairs and symmetric pieces are cut from both layers at once, and halves
// lie on the fold. The rest is cut from open cloth, and so is a piece that is too
// wide for half the width.
func cuttingsOf(p finish.Piece, number, count int, c Cloth) ([]cutting, error) {
	width := c.usableWidth()
	half, ok := onGrain(p, number)
	if c.Spread == Fold && ok && half.onFold && half.minWidth() <= width/2 {
		half.layers, half.folded = 2, true
		half.eitherFace = true
		half.area /= 2
		return slices.Repeat([]cutting{half}, count), nil
	}
	whole, err := p.Unfold()
	if err != nil {
		return nil, err
	}
	q, _ := onGrain(whole, number)
	q.onFold = false
	var cuts []cutting
	if c.Spread == Fold && q.minWidth() <= width/2 && (p.Cut.Pair || symmetric(q.outline)) {
		double := q
		double.layers, double.folded, double.eitherFace = 2, true, true
		cuts = slices.Repeat([]cutting{double}, count/2)
		count -= 2 * len(cuts)
	}
	q.layers = 1
	for i := range count {
		single := q
		if p.Cut.Pair && i%2 == 1 {
			single = q.mirror()
		}
		cuts = append(cuts, single)
	}
	return cuts, nil
}

// onGrain returns the piece with its grain along the cloth and, if it has a fold
// along the grain, with the fold at its lower edge. ok is false if no fold can lie
// on the cloth's fold.
func onGrain(p finish.Piece, number int) (q cutting, ok bool) {
	q = cutting{name: p.Name, title: p.Title, number: number}
	angle := -math.Pi / 2 // a piece without a grain line lies as drawn, upright
	if g := p.Grain; g.P0 != g.P3 {
		angle = -g.P3.Sub(g.P0).Angle()
	}
	m := geom.Turn(geom.Point{}, angle)
	folds := p.FoldLines()
	ok = len(folds) == 1
	if ok {
		f := folds[0].Move(m)
		along := f.P3.Sub(f.P0)
		if math.Abs(along.Y) > 1e-3*along.Norm() {
			ok = false
		} else if box := p.CutLine.Move(m).Bounds(); f.P0.Y-box.Min.Y > box.Max.Y-f.P0.Y {
			m = m.Then(geom.Reflect(geom.Point{}, geom.Pt(1, 0))) // the whole piece is symmetric
		}
		q.onFold = ok
	}
	q.line, q.grain = p.CutLine.Move(m), p.Grain.Move(m)
	q.area = math.Abs(q.line.Area())
	if len(folds) > 0 {
		q.area *= math.Pow(2, float64(len(folds)))
	}
	q.outline = nesting.Polygon(q.line.Flatten(strayIn/2)).Simplify(strayOut, strayIn/2)
	return q, ok
}

// mirror returns the piece of the other hand, with its grain the same way.
func (q cutting) mirror() cutting {
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

// symmetric reports whether a piece mirrored about its grain is the same within
// a millimetre, so that two layers of folded cloth give the same piece twice.
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

// minWidth returns the width that the piece takes up on the cloth, mm. Its grain
// lies along the cloth, so turning it end to end or over changes nothing.
func (q *cutting) minWidth() float64 { return geom.BoxOf(q.outline...).Height() }

// item returns the piece as an item to pack.
func (q *cutting) item(c Cloth) nesting.Item {
	turns := []float64{0}
	if c.Nap == TwoWay {
		turns = append(turns, math.Pi)
	}
	return nesting.Item{Outline: q.outline, Turns: turns, Mirrored: q.eitherFace, OnEdge: q.onFold}
}

// place returns the piece at a placement.
func (q *cutting) place(at nesting.Placement) Placement {
	m := geom.Still
	if at.Mirrored {
		m = m.Then(geom.Reflect(geom.Point{}, geom.Pt(1, 0)))
	}
	if at.Turn != 0 {
		m = m.Then(geom.Turn(geom.Point{}, at.Turn))
	}
	m = m.Then(geom.Shift(at.At))
	return Placement{
		Name: q.name, Title: q.title, Number: q.number, Layers: q.layers, OnFold: q.onFold,
		FaceDown: q.faceDown, Turned: at.Turn != 0,
		CutLine: q.line.Move(m), Grain: q.grain.Move(m),
	}
}
