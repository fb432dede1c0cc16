// Package finish turns a drafted pattern on its seam lines into one to cut
// from: allowances with the trade's corners, trued dart mouths, notches, drill
// marks, fold brackets, and the lettering of every piece.
package finish

import (
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Info is what the lettering says besides the piece itself.
type Info struct {
	Style     string   `json:"style"` // block or style, with its fit
	Reference string   `json:"reference"`
	Customer  string   `json:"customer,omitempty"` // the shop's reference for the customer
	Date      string   `json:"date,omitempty"`     // as given in the order, never the clock's
	Revision  int      `json:"revision"`
	Measures  []string `json:"measures,omitempty"` // key measurements, ready to letter
}

// Piece is a piece ready to cut: the drafted piece with its dart mouths trued,
// a notch at the legs of every dart that opens at an edge, and a drill mark at
// the points of all darts; and what is drawn beside the seam line.
type Piece struct {
	pattern.Piece
	Allowances []float64    `json:"allowances"` // mm, one for each of Edges
	CutLine    geom.Path    `json:"cut_line"`   // closed, clockwise
	Ticks      []Tick       `json:"ticks"`      // the notches as drawn
	Drills     []geom.Point `json:"drills,omitempty"`
	Brackets   []geom.Path  `json:"brackets,omitempty"` // one along each fold: from the fold in, along and back to it
	Arrows     []geom.Path  `json:"arrows,omitempty"`   // arrow heads of grain and brackets: closed triangles, to fill
	Labels     []Label      `json:"labels"`
}

// Bounds is the smallest upright box holding the piece with all that is drawn
// of it: nothing lies outside the cut line.
func (p Piece) Bounds() geom.Box { return p.CutLine.Bounds() }

// Tick is one stroke of a notch, from the seam line out to the cut line.
type Tick struct {
	Notch  int          `json:"notch"` // index in Notches
	Stroke geom.Segment `json:"stroke"`
}

// Pattern is a finished pattern: everything that any format needs.
type Pattern struct {
	Info         Info                  `json:"info"`
	Pieces       []Piece               `json:"pieces"`
	Seams        []pattern.Seam        `json:"seams"`
	Checks       []pattern.Check       `json:"checks"`
	Warnings     []string              `json:"warnings,omitempty"`
	Instructions *pattern.Instructions `json:"making,omitempty"` // nil for a bare block
}
