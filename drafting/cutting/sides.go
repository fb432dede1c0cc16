package cutting

import (
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Sides of a body whose left and right differ.
const (
	sideRight = "right_"
	sideLeft  = "left_"
)

// sameTol is the largest distance in mm between two halves that are cut alike.
const sameTol = 0.01

// JoinSides joins two halves of one garment, drafted for the right and the left
// side of a body whose sides differ, to one pattern. A piece that is the same
// on both sides is unchanged. A piece on the fold becomes a whole one, its
// edges prefixed with right_ and left_; a pair becomes one piece for each side;
// of a single piece the larger is used, with a warning. Both patterns must have
// the same pieces and edges in the same order.
func JoinSides(right, left pattern.Pattern) (pattern.Pattern, error) {
	p := pattern.Pattern{Allowances: right.Allowances, Instructions: right.Instructions}
	if len(right.Pieces) != len(left.Pieces) {
		return p, fmt.Errorf("%d pieces for the right side, %d for the left", len(right.Pieces), len(left.Pieces))
	}
	left = notchedAlike(right, left)
	how := map[string]func(r pattern.EdgeRef, side string) pattern.EdgeRef{}
	whole := map[string]bool{}
	for i, r := range right.Pieces {
		l := left.Pieces[i]
		if l.Name != r.Name {
			return p, fmt.Errorf("piece %s for the right side, %s for the left", r.Name, l.Name)
		}
		switch {
		case alike(r, l):
			p.Pieces = append(p.Pieces, r)
			how[r.Name] = func(r pattern.EdgeRef, _ string) pattern.EdgeRef { return r }
		case r.Cut.OnFold:
			w, err := wholeOf(r, l)
			if err != nil {
				return p, err
			}
			p.Pieces = append(p.Pieces, w)
			whole[r.Name] = true
			how[r.Name] = func(r pattern.EdgeRef, side string) pattern.EdgeRef {
				return pattern.EdgeRef{Piece: r.Piece, Edge: side + r.Edge}
			}
		case r.Cut.Pair:
			p.Pieces = append(p.Pieces, ofSide(r, sideRight), ofSide(l.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1))),
				sideLeft))
			how[r.Name] = func(r pattern.EdgeRef, side string) pattern.EdgeRef {
				return pattern.EdgeRef{Piece: side + r.Piece, Edge: r.Edge}
			}
		default:
			if l.Outline().Area() > r.Outline().Area() {
				r = l
			}
			p.Pieces = append(p.Pieces, r)
			p.Warnings = append(p.Warnings, fmt.Sprintf("%s is cut for the larger side: fit it to the other", r.Title))
			how[r.Name] = func(r pattern.EdgeRef, _ string) pattern.EdgeRef { return r }
		}
	}
	addSeams(&p, right, sideRight, how, whole)
	addSeams(&p, left, sideLeft, how, whole)
	for _, half := range [...]struct {
		pattern.Pattern
		side string
	}{{right, "right"}, {left, "left"}} {
		for _, c := range half.Checks {
			c.Name = half.side + ": " + c.Name
			p.Checks = append(p.Checks, c)
		}
		for _, w := range half.Warnings {
			if !slices.Contains(p.Warnings, w) {
				p.Warnings = append(p.Warnings, w)
			}
		}
	}
	return p, nil
}

// notchedAlike returns the left half with the notches of the right half on the
// edges that join the two. The end of an opening, for example, may follow from
// a neckline that differs a little.
func notchedAlike(right, left pattern.Pattern) pattern.Pattern {
	sewn := map[pattern.EdgeRef]bool{}
	for _, s := range right.Seams {
		if s.A == s.B {
			sewn[s.A] = true
		}
	}
	left.Pieces = slices.Clone(left.Pieces)
	for i, p := range left.Pieces {
		left.Pieces[i].Notches = slices.Clone(p.Notches)
		for k, n := range p.Notches {
			if q := right.Pieces[i].Notches; sewn[pattern.EdgeRef{Piece: p.Name, Edge: n.Edge}] && len(q) == len(p.Notches) &&
				q[k].Edge == n.Edge {
				left.Pieces[i].Notches[k].At = q[k].At
			}
		}
	}
	return left
}

// maxSideEase is by how much the two sides of a centre seam may differ, mm: so little
// is eased in while it is sewn (common practice).
const maxSideEase = 2.0

// edgeLength returns the length of an edge in mm, 0 if there is none.
func edgeLength(pieces []pattern.Piece, r pattern.EdgeRef) float64 {
	for _, p := range pieces {
		if p.Name == r.Piece {
			e, _ := p.Edge(r.Edge)
			return e.Path.Length()
		}
	}
	return 0
}

// addSeams states the seams of one half. If a piece is sewn to its own mirror
// image, that is the left piece for the right one; for a whole piece it is the
// other layer.
func addSeams(p *pattern.Pattern, half pattern.Pattern, side string,
	how map[string]func(pattern.EdgeRef, string) pattern.EdgeRef, whole map[string]bool) {
	for _, s := range half.Seams {
		a, b := how[s.A.Piece](s.A, side), how[s.B.Piece](s.B, side)
		if s.A == s.B && !whole[s.A.Piece] {
			b = how[s.A.Piece](s.A, sideLeft)
			if side == sideLeft {
				continue
			}
		}
		next := pattern.Seam{A: a, B: b, Ease: s.Ease, How: s.How}
		if s.A == s.B && a != b {
			if ease := edgeLength(p.Pieces, a) - edgeLength(p.Pieces, b); math.Abs(ease) <= maxSideEase {
				next.Ease = ease
			}
		}
		if !slices.ContainsFunc(p.Seams, func(q pattern.Seam) bool { return q.A == next.A && q.B == next.B }) {
			p.Seams = append(p.Seams, next)
		}
	}
}

// alike reports whether two pieces are cut alike.
func alike(a, b pattern.Piece) bool {
	if len(a.Edges) != len(b.Edges) || len(a.Notches) != len(b.Notches) {
		return false
	}
	for i, e := range a.Edges {
		f := b.Edges[i]
		if e.Name != f.Name || len(e.Path) != len(f.Path) {
			return false
		}
		for k, s := range e.Path {
			t := f.Path[k]
			if !s.P0.Near(t.P0, sameTol) || !s.P1.Near(t.P1, sameTol) || !s.P2.Near(t.P2, sameTol) || !s.P3.Near(t.P3, sameTol) {
				return false
			}
		}
	}
	for i, n := range a.Notches {
		if m := b.Notches[i]; n.Edge != m.Edge || math.Abs(n.At-m.At) > sameTol {
			return false
		}
	}
	return true
}

// ofSide returns a piece named for its side and cut half as many times.
func ofSide(p pattern.Piece, side string) pattern.Piece {
	p.Name = side + p.Name
	p.Title += ", " + side[:len(side)-1]
	p.Cut = pattern.Cut{Count: max(1, p.Cut.Count/2)}
	p.Interfacing = (p.Interfacing + 1) / 2
	return p
}

// wholeOf opens a piece on the fold out into two different halves. The right
// half keeps its place.
func wholeOf(right, left pattern.Piece) (pattern.Piece, error) {
	foldOf := func(p pattern.Piece) int {
		return slices.IndexFunc(p.Edges, func(e pattern.Edge) bool { return e.Role == pattern.RoleFold })
	}
	i, k := foldOf(right), foldOf(left)
	if i < 0 || k < 0 {
		return pattern.Piece{}, newError(right, "", "the piece is cut on the fold, but no edge lies on it")
	}
	a, b := right.Edges[i].Path, left.Edges[k].Path
	if off := math.Abs(a.Length() - b.Length()); off > pattern.SeamTol {
		return pattern.Piece{}, newError(right, right.Edges[i].Name,
			"the halves do not meet: %.1f mm long on the right side, %.1f mm on the left", a.Length(), b.Length())
	}
	left = left.Move(Onto(b.Start(), b.End(), a.Start(), a.End(), true))
	w := right
	w.Cut = pattern.Cut{Count: right.Cut.Count, Pair: right.Cut.Count%2 == 0} // two layers lie face to face
	w.Edges, w.Darts, w.Notches, w.Marks, w.Lines = nil, nil, nil, nil, nil
	addHalf(&w, right, i, sideRight)
	addHalf(&w, left, foldOf(left), sideLeft)
	n := len(right.Edges) - 1
	first, last := &w.Edges[0], &w.Edges[len(w.Edges)-1]
	w.Edges[n].Path = w.Edges[n].Path.MoveStart(w.Edges[n-1].Path.End())
	last.Path = last.Path.MoveEnd(first.Path.Start())
	return FitGrain(w), nil
}

// addHalf adds all of a half except its fold, walked from one end of the fold to
// the other.
func addHalf(p *pattern.Piece, half pattern.Piece, fold int, side string) {
	half = WithPrefix(half, side)
	p.Edges = append(p.Edges, rotated(half.Edges, fold)[1:]...)
	p.Darts = append(p.Darts, half.Darts...)
	p.Notches = append(p.Notches, half.Notches...)
	p.Marks = append(p.Marks, half.Marks...)
	p.Lines = append(p.Lines, half.Lines...)
}

// WithPrefix returns the piece with a prefix to the names of its edges, darts,
// marks and lines.
func WithPrefix(p pattern.Piece, prefix string) pattern.Piece {
	p.Edges, p.Darts, p.Notches = slices.Clone(p.Edges), slices.Clone(p.Darts), slices.Clone(p.Notches)
	p.Marks, p.Lines = slices.Clone(p.Marks), slices.Clone(p.Lines)
	for i := range p.Edges {
		p.Edges[i].Name, p.Edges[i].Run = prefix+p.Edges[i].Name, prefix+p.Edges[i].Run
	}
	for i := range p.Darts {
		p.Darts[i].Name = prefix + p.Darts[i].Name
		if p.Darts[i].Mouth != "" {
			p.Darts[i].Mouth = prefix + p.Darts[i].Mouth
		}
	}
	for i := range p.Notches {
		p.Notches[i].Edge = prefix + p.Notches[i].Edge
	}
	for i := range p.Marks {
		p.Marks[i].Name = prefix + p.Marks[i].Name
	}
	for i := range p.Lines {
		p.Lines[i].Name = prefix + p.Lines[i].Name
	}
	return p
}
