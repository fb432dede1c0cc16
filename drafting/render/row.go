package render

import (
	"context"
	"errors"
	"slices"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// rowMargin is left free round pieces in a row, mm.
const rowMargin = 10.0

// errNowhere says that a pattern is broken. No draft is; one that was stored
// cannot be.
var errNowhere = errors.New("the pattern has a place that is not a number")

// inARow lays the pieces on one sheet side by side, upright as drafted, so
// that each is found again at its place after a small change.
func inARow(ctx context.Context, p finish.Pattern) (sheets.Layout, error) {
	for i := range p.Pieces {
		if b := p.Pieces[i].Bounds(); !b.Empty() && !(b.Min.Finite() && b.Max.Finite()) {
			return sheets.Layout{}, errNowhere
		}
	}
	return sheets.Plan(ctx, p, sheets.Options{Paper: sheets.Full, Placing: sheets.InRow})
}

// boundsOf is the smallest upright box round pieces.
func boundsOf(pieces []finish.Piece) geom.Box {
	b := geom.EmptyBox()
	for i := range pieces {
		b = b.Union(pieces[i].Bounds())
	}
	return b
}

// caption replaces the labels of pieces by captions of an em of size mm: on the
// piece, otherwise under it where nothing is in the way, otherwise across its lines. It
// returns the bounds grown by what stands under pieces.
func caption(pieces []finish.Piece, bounds geom.Box, size float64) geom.Box {
	var taken []geom.Box
	for i := range pieces {
		taken = append(taken, pieces[i].Bounds())
	}
	for i := range pieces {
		p := &pieces[i]
		if p.Texts = p.Caption(size, false); p.Texts != nil {
			continue
		}
		under := p.CaptionsUnder(size, bounds.Min.X, bounds.Max.X)
		free := slices.IndexFunc(under, func(l finish.Text) bool {
			return !slices.ContainsFunc(taken, boxOfText(l).Grow(size/3).Overlaps)
		})
		if free < 0 {
			p.Texts = p.Caption(size, true)
			continue
		}
		p.Texts = under[free : free+1]
		box := boxOfText(under[free])
		taken = append(taken, box)
		bounds.Max.Y = max(bounds.Max.Y, box.Max.Y)
	}
	return bounds
}
