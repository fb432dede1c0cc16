package fitting

import (
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// closePockets returns the pattern with pockets whose opening cuts a corner off a piece as
// they are worn: of the layer that lies under the opening what shows, sewn to the piece
// along it. shown holds the names of these layers.
func closePockets(p pattern.Pattern) (closed pattern.Pattern, shown map[string]bool) {
	closed, shown = p, map[string]bool{}
	closed.Pieces, closed.Seams = slices.Clone(p.Pieces), slices.Clone(p.Seams)
	for _, s := range p.Seams {
		for _, way := range [][2]pattern.EdgeRef{{s.A, s.B}, {s.B, s.A}} {
			opening, lining := way[0], way[1]
			piece, okA := p.Piece(opening.Piece)
			upper, okB := p.Piece(lining.Piece)
			if !okA || !okB || !plain(piece) || plain(upper) || !strings.Contains(upper.Name, "pocket") {
				continue
			}
			edge, ok := piece.Edge(opening.Edge)
			if !ok {
				continue
			}
			for i, under := range p.Pieces {
				if under.Name == upper.Name || !strings.Contains(under.Name, "pocket") {
					continue
				}
				part, ok := showing(under, upper.Name, edge, p.Seams)
				if !ok {
					continue
				}
				closed.Pieces[i] = part
				closed.Seams = append(closed.Seams, pattern.Seam{A: opening,
					B: pattern.EdgeRef{Piece: part.Name, Edge: part.Edges[len(part.Edges)-1].Name}})
				shown[part.Name] = true
			}
		}
	}
	return closed, shown
}

// showing returns the part of a pocket's under layer that its upper layer does not cover:
// between the edges that are not sewn to that and the opening, its last edge.
func showing(under pattern.Piece, upper string, opening pattern.Edge, seams []pattern.Seam) (pattern.Piece, bool) {
	outer := func(e pattern.Edge) bool {
		ref := pattern.EdgeRef{Piece: under.Name, Edge: e.Name}
		return slices.ContainsFunc(seams, func(s pattern.Seam) bool {
			return s.A == ref && s.B.Piece != upper || s.B == ref && s.A.Piece != upper
		})
	}
	n := len(under.Edges)
	first := slices.IndexFunc(under.Edges, outer)
	if first < 0 {
		return under, false
	}
	for k := 1; k < n && outer(under.Edges[(first+n-1)%n]); k++ {
		first = (first + n - 1) % n
	}
	var part []pattern.Edge
	for i := 0; i < n && outer(under.Edges[(first+i)%n]); i++ {
		part = append(part, under.Edges[(first+i)%n])
	}
	if len(part) == n {
		return under, false
	}
	from, to := part[len(part)-1].Path.End(), part[0].Path.Start()
	// It lies on the paper where the opening does.
	const near = 2.0 // mm
	if from.Dist(opening.Path.End()) > near || to.Dist(opening.Path.Start()) > near {
		return under, false
	}
	under.Edges = append(part, pattern.Edge{Name: opening.Name, Run: opening.Run, Role: pattern.RoleSeam,
		Path: geom.Path{geom.Line(from, to)}})
	under.Darts, under.Notches, under.Marks, under.Lines = nil, nil, nil, nil
	return under, true
}
