package sheets

import (
	"context"
	"errors"
	"math"

	"tapeline/drafting/cost"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// ErrNowhere says that a pattern is broken. No draft is; one that was stored
// cannot be.
var ErrNowhere = errors.New("the pattern has a place that is not a number")

// Row lays the pieces on one sheet side by side, upright as drafted, so
// that each is found again at its place after a small change.
func Row(ctx context.Context, p finish.Pattern) (Layout, error) {
	if err := checkPlaces(p); err != nil {
		return Layout{}, err
	}
	return Plan(ctx, p, Options{Paper: Full, Placing: InRow})
}

// checkPlaces returns ErrNowhere if a piece has no place.
func checkPlaces(p finish.Pattern) error {
	for i := range p.Pieces {
		if b := p.Pieces[i].Bounds(); !b.Empty() && !(b.Min.Finite() && b.Max.Finite()) {
			return ErrNowhere
		}
	}
	return nil
}

// Bounds returns the smallest upright box round pieces.
func Bounds(pieces []finish.Piece) geom.Box {
	b := geom.EmptyBox()
	for i := range pieces {
		b = b.Union(pieces[i].Bounds())
	}
	return b
}

// captionPasses is how often a captioned row is laid out: the size of the letters
// follows from the layout, and the layout from the captions.
const captionPasses = 20

// maxCaption is how many times as large as in a picture without captions the letters
// are at most. In a small picture they would otherwise leave no room for the pieces.
const maxCaption = 1.7

// Captioned lays the pieces side by side as Row does, each with a caption in place
// of its lettering: its number, its title and how it is cut, on the piece or, if
// it is too small, under it. em returns the size of the letters, mm, for a picture
// with given bounds, which they have at least, but in a small picture. The bounds returned hold the captions too.
func Captioned(ctx context.Context, p finish.Pattern, em func(geom.Box) float64) ([]finish.Piece, geom.Box, error) {
	if err := checkPlaces(p); err != nil {
		return nil, geom.Box{}, err
	}
	if _, err := outlinesOf(p); err != nil {
		return nil, geom.Box{}, err
	}
	p = p.Lettered()
	captions := make([]finish.Caption, len(p.Pieces))
	for i := range captions {
		captions[i] = finish.NewCaption(&p.Pieces[i], i+1)
	}
	size := em(squareFor(p))
	largest := maxCaption * size
	var pieces []finish.Piece
	var bounds geom.Box
	for pass := range captionPasses {
		if err := cost.Step(ctx); err != nil {
			return nil, geom.Box{}, err
		}
		pieces, bounds = captionedRow(p, captions, size)
		next := em(bounds)
		if next <= size || size == largest {
			break
		}
		size = min(largest, (1+0.004*float64((pass+1)*(pass+1)))*next) // more than needed ends the search
	}
	return pieces, bounds, nil
}

// squareFor is a first guess of a row's bounds: a square of twice the pieces' area.
func squareFor(p finish.Pattern) geom.Box {
	var area float64
	for i := range p.Pieces {
		b := p.Pieces[i].Bounds()
		area += b.Width() * b.Height()
	}
	side := math.Sqrt(2 * area)
	return geom.Box{Max: geom.Pt(side, side)}
}

// captionedRow lays out the row with captions of a size.
func captionedRow(p finish.Pattern, captions []finish.Caption, size float64) ([]finish.Piece, geom.Box) {
	pieces := make([]finish.Piece, len(p.Pieces))
	boxes := make([][]geom.Point, len(pieces)) // each piece with its caption
	for i, q := range p.Pieces {
		q.Texts = captions[i].Set(size)
		b := q.Bounds().Union(boundsOf(q.Texts))
		boxes[i] = []geom.Point{b.Min, geom.Pt(b.Max.X, b.Min.Y), b.Max, geom.Pt(b.Min.X, b.Max.Y)}
		pieces[i] = q
	}
	var places []placement
	least := math.Inf(1)
	for _, width := range sheetWidths(boxes, math.Inf(1)) {
		tried := inRow(boxes, max(Gap, size/2), width)
		end := extent(boxes, tried)
		if cost := max(end.X, end.Y*pictureSides); cost < least {
			places, least = tried, cost
		}
	}
	bounds := geom.EmptyBox()
	for i := range pieces {
		pieces[i] = place(pieces[i], places[i])
		bounds = bounds.Union(pieces[i].Bounds()).Union(boundsOf(pieces[i].Texts))
	}
	return pieces, bounds
}
