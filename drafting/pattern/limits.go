package pattern

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
)

// MaxAllowance is the largest allowance of an edge, mm.
const MaxAllowance = 150.0

// The largest garment.
const (
	MaxPieces = 240
	MaxSeams  = 300
)

// Limit is the most that a garment may have of something. The limits are more than
// ten times what the built-in garments have over all bodies and choices, so that
// they stop mistakes and no garment, and bound what finishing, laying out and
// rendering a pattern cost. The size of a piece alone is six times theirs.
type Limit struct {
	Name  string // what is counted: "edges of a piece"
	Max   int
	whole func(p Pattern) int // counts the pattern
	piece func(p Piece) int   // counts one piece; nil if the limit is of the whole pattern
}

// Limits returns the limits of a garment.
func Limits() []Limit { return limits }

var (
	limits     = append(wholeLimits(), pieceLimits()...)
	ofOnePiece = pieceLimits()
)

func wholeLimits() []Limit {
	return []Limit{
		{Name: "pieces", Max: MaxPieces, whole: func(p Pattern) int { return len(p.Pieces) }},
		{Name: "seams", Max: MaxSeams, whole: func(p Pattern) int { return len(p.Seams) }},
		{Name: "strokes in all", Max: 3_000, whole: func(p Pattern) int {
			return p.sum(Piece.Strokes)
		}},
		{Name: "pieces of cloth cut in all", Max: 600, whole: func(p Pattern) int {
			return p.sum(func(q Piece) int { return q.Cut.Count + q.Interfacing })
		}},
		{Name: "bytes of text in all", Max: 50_000, whole: textBytes},
	}
}

func pieceLimits() []Limit {
	return []Limit{
		{Name: "edges of a piece", Max: 150, piece: func(p Piece) int { return len(p.Edges) }},
		{Name: "strokes of a piece's outline", Max: 300, piece: Piece.outlineStrokes},
		{Name: "strokes of a piece's darts and lines", Max: 300, piece: Piece.innerStrokes},
		{Name: "darts of a piece", Max: 60, piece: func(p Piece) int { return len(p.Darts) }},
		{Name: "notches of a piece", Max: 150, piece: func(p Piece) int { return len(p.Notches) }},
		{Name: "marks of a piece", Max: 60, piece: func(p Piece) int { return len(p.Marks) }},
		{Name: "lines of a piece", Max: 150, piece: func(p Piece) int { return len(p.Lines) }},
		{Name: "notes of a piece", Max: 20, piece: func(p Piece) int { return len(p.Notes) }},
		{Name: "mm of a piece's width or height", Max: MaxReach, piece: Piece.extent},
	}
}

// OverLimits returns a violation for each limit that the pattern exceeds.
func (p Pattern) OverLimits() []Violation {
	var all []Violation
	for _, l := range limits {
		if l.whole == nil {
			continue
		}
		if n := l.whole(p); n > l.Max {
			all = append(all, Violation{Rule: "limit", Reason: l.exceeded(n)})
		}
	}
	for _, q := range p.Pieces {
		all = append(all, q.OverLimits()...)
	}
	return all
}

// OverLimits returns a violation for each limit that the piece exceeds.
func (p Piece) OverLimits() []Violation {
	var all []Violation
	for _, l := range ofOnePiece {
		if n := l.piece(p); n > l.Max {
			all = append(all, Violation{Rule: "limit", Piece: p.Name, Reason: l.exceeded(n)})
		}
	}
	return all
}

func (l Limit) exceeded(n int) string { return fmt.Sprintf("%d %s; at most %d", n, l.Name, l.Max) }

// Of returns how much of the limit the pattern uses.
func (l Limit) Of(p Pattern) int {
	if l.piece == nil {
		return l.whole(p)
	}
	most := 0
	for _, q := range p.Pieces {
		most = max(most, l.piece(q))
	}
	return most
}

func (p Pattern) sum(of func(Piece) int) int {
	n := 0
	for _, q := range p.Pieces {
		n += of(q)
	}
	return n
}

// Strokes returns the number of strokes of the piece's outline, darts and lines.
func (p Piece) Strokes() int { return p.outlineStrokes() + p.innerStrokes() }

func (p Piece) outlineStrokes() int {
	n := 0
	for _, e := range p.Edges {
		n += len(e.Path)
	}
	return n
}

func (p Piece) innerStrokes() int {
	n := 0
	for _, d := range p.Darts {
		n += len(d.Legs[0]) + len(d.Legs[1])
	}
	for _, l := range p.Lines {
		n += len(l.Path)
	}
	return n
}

// extent returns the larger of the piece's width and height, mm.
func (p Piece) extent() int {
	box := geom.EmptyBox()
	for _, e := range p.Edges {
		for _, s := range e.Path {
			box = box.Union(geom.BoxOf(s.P0, s.P1, s.P2, s.P3))
		}
	}
	if side := math.Ceil(max(box.Width(), box.Height())); side < math.MaxInt32 {
		return max(0, int(side))
	}
	return math.MaxInt32
}

// textBytes counts the texts of a pattern.
func textBytes(p Pattern) int {
	n := 0
	count := func(texts []string) {
		for _, t := range texts {
			n += len(t)
		}
	}
	count(p.Warnings)
	if i := p.Instructions; i != nil {
		count(i.Cloths)
		count(i.Sewing)
		count(i.Notions)
		count(i.Cautions)
		count(i.Built)
	}
	for _, q := range p.Pieces {
		n += len(q.Name) + len(q.Title)
		count(q.Notes)
	}
	return n
}
