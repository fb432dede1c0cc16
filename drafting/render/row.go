package render

import (
	"errors"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/layout"
)

// rowMargin is left free round pieces in a row, mm.
const rowMargin = 10.0

// errNowhere says that a pattern is broken. No draft is; one that was stored
// cannot be.
var errNowhere = errors.New("the pattern has a place that is not a number")

// inARow lays the pieces on one sheet side by side, upright as drafted, so
// that each is found again at its place after a small change.
func inARow(p finish.Pattern) (layout.Layout, error) {
	for i := range p.Pieces {
		if b := p.Pieces[i].Bounds(); !b.Empty() && !(b.Min.Finite() && b.Max.Finite()) {
			return layout.Layout{}, errNowhere
		}
	}
	return layout.Plan(p, layout.Options{Paper: layout.Full, Placing: layout.InRow})
}

// boundsOf is the smallest upright box round pieces.
func boundsOf(pieces []finish.Piece) geom.Box {
	b := geom.EmptyBox()
	for i := range pieces {
		b = b.Union(pieces[i].Bounds())
	}
	return b
}

// caption replaces the labels of pieces by captions of an em of size mm.
func caption(pieces []finish.Piece, size float64) {
	for i := range pieces {
		pieces[i].Labels = pieces[i].Caption(size)
	}
}
