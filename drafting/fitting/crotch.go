package fitting

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// Names of the edges of a body that ends between the legs.
const (
	crotchEnd  = "crotch_end"
	legOpening = "leg"
	snapLine   = "snaps"
)

// aboveCrotch is the height over the crotch from which on a body is laid under it, mm.
const aboveCrotch = 60.0

// closeCrotch returns the pattern with a body that opens between the legs closed there: front
// and back end at the lines of their snaps, and are sewn together.
func closeCrotch(p pattern.Pattern) pattern.Pattern {
	p.Pieces, p.Seams = slices.Clone(p.Pieces), slices.Clone(p.Seams)
	ends := map[place]pattern.EdgeRef{}
	for i, piece := range p.Pieces {
		side := sideOf(piece)
		k := piece.EdgeIndex(crotchEnd)
		if k < 0 || !plain(piece) || side != front && side != back {
			continue
		}
		end := pattern.EdgeRef{Piece: piece.Name, Edge: crotchEnd}
		if gusseted(p, end) {
			return p
		}
		for _, l := range piece.Lines {
			if part, ok := larger(piece, l.Path, snapLine); ok && l.Name == snapLine {
				p.Pieces[i], end.Edge = part, snapLine
			}
		}
		ends[side] = end
	}
	if len(ends) == 2 {
		p.Seams = append(p.Seams, pattern.Seam{A: ends[front], B: ends[back]})
	}
	return p
}

// gusseted reports whether an edge is sewn to another piece of the shell.
func gusseted(p pattern.Pattern, end pattern.EdgeRef) bool {
	return slices.ContainsFunc(p.Seams, func(s pattern.Seam) bool {
		a, okA := p.Piece(s.A.Piece)
		b, okB := p.Piece(s.B.Piece)
		return okA && okB && (s.A == end && plain(b) || s.B == end && plain(a))
	})
}

// under reports whether a panel is part of a body that ends between the legs.
func (q *panel) under() bool { return q.EdgeIndex(legOpening) >= 0 && !q.leg }

// joined reports whether the garment is a body, joined between the legs.
func joined(panels []*panel) bool { return slices.ContainsFunc(panels, (*panel).under) }

// onCrotch returns a place under the trunk, on the way between the legs from front to back.
func (h *hanger) onCrotch(q *panel, at r2.Vec, y float64) r3.Vec {
	crotch, from := h.form.Landmarks[form.Crotch].Y, h.form.Landmarks[form.Crotch].Y+aboveCrotch
	long := map[place]float64{}
	for _, p := range h.panels {
		if p.under() {
			long[p.where] = max(long[p.where], from-p.level+h.falls[p].last)
		}
	}
	turn := math.Pi * (from - y) / max(1, long[front]+long[back])
	if q.where == back {
		turn = math.Pi - turn
	}
	across := q.across(at)
	ahead, behind := h.form.Depth(from, across, 1)+apart, h.form.Depth(from, across, -1)-apart
	sin, cos := math.Sincos(turn)
	return r3.Vec{X: -across, Y: from - (from-crotch+apart)*sin, Z: (ahead+behind)/2 + (ahead-behind)/2*cos}
}
