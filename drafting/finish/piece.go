// Package finish turns a drafted pattern on its seam lines into one to cut
// from: allowances with the trade's corners, trued dart mouths, notches, drill
// marks, fold brackets, and the lettering of every piece.
package finish

import (
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Label is the order's lettering on every piece.
type Label struct {
	Reference string
	Customer  string // the shop's reference for the customer
	Date      string // as given in the order, never the clock's
	Revision  int
	Measures  []string // key measurements, ready to letter
	OrderUnit string   // of lengths on the making sheet: cm or inch
}

// Piece is a piece ready to cut: the drafted piece with its dart mouths trued,
// a notch at the legs of every dart that opens at an edge, a drill mark at the
// points of all darts, and the cut line. Brackets, Lengthen, Arrows and Texts are drawn by
// Pattern.Lettered.
type Piece struct {
	pattern.Piece
	Allowances []float64 // mm, one for each of Edges
	CutLine    geom.Path // closed, clockwise
	Ticks      []Tick    // the notches as drawn, in the order of Notches
	Drills     []geom.Point

	Brackets []geom.Path // one along each fold: from the fold in, along and back to it
	Lengthen []geom.Path // where the piece is lengthened or shortened
	Arrows   []geom.Path // arrow heads of grain and brackets: closed triangles, to fill
	Texts    []Text
}

// Bounds returns the smallest upright box that holds the piece with all that is
// drawn of it: nothing lies outside the cut line.
func (p Piece) Bounds() geom.Box { return p.CutLine.Bounds() }

// Tick is one stroke of a notch, from the seam line out to the cut line.
type Tick struct {
	Notch  int // index in Notches
	Stroke geom.Segment
}

// Pattern is a finished pattern: everything that any format needs. What is
// drafted is independent of Label.
type Pattern struct {
	Style        string // the block or garment, with its fit
	Label        Label
	Pieces       []Piece
	Seams        []pattern.Seam
	Checks       []pattern.Check
	Warnings     []string
	Instructions *pattern.Instructions // nil for a bare block
	Measurements []pattern.Measurement // of the body, as the draft used them
	Alterations  []pattern.Alteration

	lettered bool
}
