package block

import (
	"fmt"
	"maps"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Sides of a body whose left and right differ.
const (
	sideRight = "right"
	sideLeft  = "left"
)

// draftBothSides drafts the right half and the left half each to its own
// alterations, with one neckline between them, and puts them together: a piece
// that would lie on the fold becomes a whole one, every other one piece for
// each side. Checks and warnings say which side they speak of.
func draftBothSides(r Request, shaped bool) (pattern.Pattern, error) {
	pr, pl, figure, err := draftHalves(r, shaped)
	if err != nil {
		return pattern.Pattern{}, err
	}
	p, err := joinSides(pr, pl)
	if err != nil {
		return p, err
	}
	return p, figure.readNeckline(&p)
}

// draftHalves drafts the right half and the left half, each to its own
// alterations, with one neckline between them; with the right one's figure.
func draftHalves(r Request, shaped bool) (pr, pl pattern.Pattern, right *figure, err error) {
	figureOf := func(own map[string]float64) (*figure, error) {
		return newFigure(ofOneSide(r, own), shaped, torsoFits())
	}
	if right, err = figureOf(r.Right); err != nil {
		return pr, pl, nil, err
	}
	left, err := figureOf(r.Left)
	if err != nil {
		return pr, pl, nil, err
	}
	right.mate, left.mate = left, right
	if pr, err = right.draft(); err != nil {
		return pr, pl, nil, fmt.Errorf("right side: %w", err)
	}
	if pl, err = left.draft(); err != nil {
		return pr, pl, nil, fmt.Errorf("left side: %w", err)
	}
	return pr, pl, right, nil
}

// ofOneSide is the request for the side that has its own alterations.
func ofOneSide(r Request, own map[string]float64) Request {
	all := map[string]float64{}
	maps.Copy(all, r.Alterations)
	maps.Copy(all, own)
	r.Alterations = all
	return r
}

// halvesApart drafts the right half and the left half of a block whose halves
// share nothing.
func halvesApart(r Request, draft func(Request) (pattern.Pattern, error)) (right, left pattern.Pattern, err error) {
	if right, err = draft(ofOneSide(r, r.Right)); err != nil {
		return right, left, fmt.Errorf("right side: %w", err)
	}
	if left, err = draft(ofOneSide(r, r.Left)); err != nil {
		return right, left, fmt.Errorf("left side: %w", err)
	}
	return right, left, nil
}

// joinSides makes one pattern of a right and a left half.
func joinSides(right, left pattern.Pattern) (pattern.Pattern, error) {
	var p pattern.Pattern
	for i, r := range right.Pieces {
		l := left.Pieces[i]
		if !r.Cut.OnFold {
			p.Pieces = append(p.Pieces, ofSide(r, sideRight), ofSide(mirrored(l), sideLeft))
			continue
		}
		whole, err := wholePiece(r, mirrored(l))
		if err != nil {
			return p, err
		}
		p.Pieces = append(p.Pieces, whole)
	}
	onFold := map[string]bool{}
	for _, q := range right.Pieces {
		onFold[q.Name] = q.Cut.OnFold
	}
	add := func(half pattern.Pattern, side string) {
		ref := func(r pattern.EdgeRef) pattern.EdgeRef {
			if onFold[r.Piece] {
				return pattern.EdgeRef{Piece: r.Piece, Edge: side + "_" + r.Edge}
			}
			return pattern.EdgeRef{Piece: side + "_" + r.Piece, Edge: r.Edge}
		}
		for _, s := range half.Seams {
			if s.A == s.B {
				// A centre seam joins the two sides, once.
				if side == sideRight {
					a, b := ref(s.A), s.A
					b.Piece = sideLeft + "_" + b.Piece
					p.Seams = append(p.Seams, pattern.Seam{A: a, B: b})
				}
				continue
			}
			p.Seams = append(p.Seams, pattern.Seam{A: ref(s.A), B: ref(s.B), Ease: s.Ease})
		}
		for _, c := range half.Checks {
			c.Name = side + ": " + c.Name
			p.Checks = append(p.Checks, c)
		}
		for _, w := range half.Warnings {
			p.Warnings = append(p.Warnings, side+" side: "+w)
		}
	}
	add(right, sideRight)
	add(left, sideLeft)
	return p, nil
}

// ofSide names a piece for its side; it is cut once.
func ofSide(p pattern.Piece, side string) pattern.Piece {
	p.Name = side + "_" + p.Name
	p.Title += ", " + side
	p.Cut = pattern.Cut{Count: 1}
	return p
}

// wholePiece joins two halves at the fold, which lies on x = 0 in both.
func wholePiece(right, left pattern.Piece) (pattern.Piece, error) {
	w := pattern.Piece{Name: right.Name, Title: right.Title, Cut: pattern.Cut{Count: 1}, Grain: geom.Line(foldEnds(right))}
	w.Grain = geom.Line(w.Grain.At(0.15), w.Grain.At(0.85))
	if w.Grain.P0.Y > w.Grain.P3.Y {
		w.Grain = w.Grain.Reverse()
	}
	for _, half := range [2]struct {
		piece pattern.Piece
		side  string
	}{{right, sideRight}, {left, sideLeft}} {
		name := func(n string) string { return half.side + "_" + n }
		edges := half.piece.Edges
		// Start after the fold, so that the two halves follow one another.
		at := 0
		for i, e := range edges {
			if e.Role == pattern.RoleFold {
				at = i
			}
		}
		for k := 1; k < len(edges); k++ {
			e := edges[(at+k)%len(edges)]
			w.Edges = append(w.Edges, pattern.Edge{Name: name(e.Name), Run: name(e.Run), Role: e.Role, Path: e.Path})
		}
		for _, d := range half.piece.Darts {
			d.Name = name(d.Name)
			if d.Mouth != "" {
				d.Mouth = name(d.Mouth)
			}
			w.Darts = append(w.Darts, d)
		}
		for _, n := range half.piece.Notches {
			n.Edge = name(n.Edge)
			w.Notches = append(w.Notches, n)
		}
		for _, k := range half.piece.Marks {
			k.Name = name(k.Name)
			w.Marks = append(w.Marks, k)
		}
		for _, l := range half.piece.Lines {
			l.Name = name(l.Name)
			w.Lines = append(w.Lines, l)
		}
	}
	if o := w.Outline(); o.Check() != nil || !o.Closed() {
		return w, refuse(fmt.Sprintf("the left and right %s do not meet at the centre", right.Name))
	}
	return w, nil
}

// foldEnds are the ends of a piece's fold.
func foldEnds(p pattern.Piece) (geom.Point, geom.Point) {
	for _, e := range p.Edges {
		if e.Role == pattern.RoleFold {
			return e.Path.Start(), e.Path.End()
		}
	}
	return geom.Point{}, geom.Point{}
}
