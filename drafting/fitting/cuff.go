package fitting

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Names of the edges at which cuffs are cut to hang as they are worn.
const (
	cuffFold = "cuff_fold"
	cuffLap  = "cuff_lap"
)

// leastUpright is the least cosine of the angle from the upright at which an edge ends a cuff.
const leastUpright = 0.7

// closeCuffs returns the pattern with the cuffs and bands at the ends of sleeves as they are worn:
// folded along the middle, upright below the sleeve, and closed, without their lap. closed holds
// their names. Those of another cloth, as of rib, and those turned back over the sleeve are not
// among them.
func closeCuffs(p pattern.Pattern) (cut pattern.Pattern, closed map[string]bool) {
	closed = map[string]bool{}
	p.Pieces, p.Seams = slices.Clone(p.Pieces), slices.Clone(p.Seams)
	for i, piece := range p.Pieces {
		named := strings.Contains(piece.Name, "cuff") || strings.Contains(piece.Name, "band")
		if !named || piece.Cloth != "" || strings.Contains(strings.ToLower(piece.Title), "turn-back") {
			continue
		}
		if worn, seam, ok := closeCuff(p, piece); ok {
			p.Pieces[i] = worn
			closed[piece.Name] = true
			if !joinedBy(p.Seams, seam) {
				p.Seams = append(p.Seams, seam)
			}
		}
	}
	return p, closed
}

// closeCuff returns what shows of a cuff, and the seam that closes it.
func closeCuff(p pattern.Pattern, piece pattern.Piece) (worn pattern.Piece, seam pattern.Seam, ok bool) {
	first, last, ok := sewnToSleeves(p, piece)
	if !ok {
		return piece, seam, false
	}
	from, to := piece.Edges[first].Path.Start(), piece.Edges[last].Path.End()
	down := to.Sub(from).Unit().Right() // into the piece, whose outline runs clockwise
	sewn := piece.Edges[first].Name
	worn = piece
	for _, l := range piece.Lines {
		if l.Name == "fold" {
			worn = keeping(worn, l.Path, cuffFold, sewn)
		}
	}
	n := len(piece.Edges)
	before, after := piece.Edges[(first+n-1)%n].Path, piece.Edges[(last+1)%n].Path
	for _, end := range []struct{ at, beside geom.Point }{{from, before.EndTangent()}, {to, after.StartTangent()}} {
		if math.Abs(end.beside.Dot(down)) > leastUpright {
			continue // the cuff ends there
		}
		crossings := worn.Outline().Crossings(geom.Polyline(end.at.Add(down), end.at.Add(down.Mul(1000))))
		if len(crossings) == 1 {
			worn = keeping(worn, geom.Polyline(end.at, crossings[0].At), cuffLap, sewn)
		}
	}
	worn = worn.Move(geom.Turn(from, -to.Sub(from).Angle()))
	if first, last, ok = sewnToSleeves(p, worn); !ok {
		return piece, seam, false
	}
	n = len(worn.Edges)
	side := func(k int) pattern.EdgeRef { return pattern.EdgeRef{Piece: piece.Name, Edge: worn.Edges[k%n].Name} }
	seam = pattern.Seam{A: side(first + n - 1), B: side(last + 1)}
	return worn, seam, seam.A != seam.B && len(worn.ValidateOutline()) == 0
}

// sewnToSleeves returns the first and the last of the edges of a piece that are sewn to sleeves,
// in the order of the outline, if they are in one run and no other is sewn to anything but the
// piece itself.
func sewnToSleeves(p pattern.Pattern, piece pattern.Piece) (first, last int, ok bool) {
	n := len(piece.Edges)
	sewn := make([]bool, n)
	for _, s := range p.Seams {
		for _, way := range [][2]pattern.EdgeRef{{s.A, s.B}, {s.B, s.A}} {
			k := piece.EdgeIndex(way[0].Edge)
			if way[0].Piece != piece.Name || way[1].Piece == piece.Name || k < 0 {
				continue
			}
			other, known := p.Piece(way[1].Piece)
			if !known || !plain(other) || sideOf(other) != sleeve {
				return 0, 0, false
			}
			sewn[k] = true
		}
	}
	runs := 0
	for k := range sewn {
		if sewn[k] && !sewn[(k+n-1)%n] {
			first = k
			runs++
		}
	}
	if runs != 1 {
		return 0, 0, false
	}
	for last = first; sewn[(last+1)%n]; last = (last + 1) % n {
	}
	return first, last, true
}

// keeping cuts a piece along a path across it and returns the part with an edge; the piece if the
// path does not cross it.
func keeping(p pattern.Piece, path geom.Path, edge, keep string) pattern.Piece {
	parts, err := cutting.CutApart(p, path, nil, edge, [2]string{p.Name, p.Name})
	if err != nil {
		return p
	}
	for _, part := range parts {
		if part.EdgeIndex(keep) >= 0 && part.Outline().Area() != 0 {
			return part
		}
	}
	return p
}

// joinedBy reports whether a seam joins the edges of another.
func joinedBy(seams []pattern.Seam, by pattern.Seam) bool {
	return slices.ContainsFunc(seams, func(s pattern.Seam) bool {
		return s.A == by.A && s.B == by.B || s.A == by.B && s.B == by.A
	})
}

// cuffs adds the closed cuffs to the known panels, on the ring of the sleeve that each hangs from.
func cuffs(p pattern.Pattern, known map[string]*panel, closed map[string]bool) {
	for _, piece := range p.Pieces {
		if !closed[piece.Name] {
			continue
		}
		first, _, ok := sewnToSleeves(p, piece)
		if !ok {
			continue
		}
		q := &panel{Piece: piece, where: sleeve, cuff: true, edges: map[string][]int{}, stops: map[string][]stop{}}
		edge := pattern.EdgeRef{Piece: piece.Name, Edge: piece.Edges[first].Name}
		for _, s := range p.Seams {
			mate := s.B
			if s.B == edge {
				mate = s.A
			} else if s.A != edge {
				continue
			}
			if up := known[mate.Piece]; up != nil && up.ring != nil {
				e, _ := up.Edge(mate.Edge)
				q.ring = up.ring.below(q, up, e.Path.End(), piece.Edges[first].Path.Start())
				known[piece.Name] = q
			}
		}
	}
}

// below returns the ring of a cuff that hangs from the sleeve of this one. The cuff's left corner,
// at, is sewn to a point of the sleeve's hem.
func (r *ring) below(q, up *panel, hem, at geom.Point) *ring {
	round, whole := r.at(up, r2.Vec{X: hem.X, Y: hem.Y})
	deep := 0.0
	for _, p := range q.Outline().Flatten(2) {
		deep = math.Max(deep, p.Y-at.Y)
	}
	return &ring{panels: []*panel{q}, raised: map[*panel]float64{q: at.Y - r.bottom}, before: 1 - round/max(1, whole),
		top: r.top, under: r.under, bottom: r.bottom + deep}
}
