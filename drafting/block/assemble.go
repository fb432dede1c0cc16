package block

import (
	"slices"
	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// turnOver mirrors a piece in the line x = 0. Fronts are drawn with the side at
// +x like backs, and turned over in the end. The outline then starts with the
// edge that ended it.
func turnOver(p pattern.Piece) pattern.Piece {
	first, last := p.Edges[0].Run, p.Edges[len(p.Edges)-1].Run
	return startBetween(p.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1))), first, last)
}

// startBetween starts the outline where run before ends and run after begins.
func startBetween(p pattern.Piece, before, after string) pattern.Piece {
	n := len(p.Edges)
	for i, e := range p.Edges {
		if e.Run == after && p.Edges[(i+n-1)%n].Run == before {
			p.Edges = slices.Concat(p.Edges[i:], p.Edges[:i])
			break
		}
	}
	return p
}

// sew pairs a run of one piece with a run of another. The seam's ease is the
// difference of their lengths. A front that is not yet turned over is walked the
// same way as the piece it is sewn to.
func sew(a pattern.Piece, runA string, b pattern.Piece, runB string) cutting.Pairing {
	return cutting.Pairing{
		A: []pattern.EdgeRef{{Piece: a.Name, Edge: runA}}, B: []pattern.EdgeRef{{Piece: b.Name, Edge: runB}},
		Ease:    a.RunLength(runA) - b.RunLength(runB),
		SameWay: (a.Name == pieceFront) != (b.Name == pieceFront),
	}
}

// assemble makes a pattern of loose pieces: it sews the pairings and every
// centre that is not on the fold to its own mirror image, and turns the front
// over. Its error is a *CheckError, because both sides of a seam are drawn to
// meet.
func assemble(pieces []pattern.Piece, pairings ...cutting.Pairing) (pattern.Pattern, error) {
	for _, q := range pieces {
		for _, centre := range [...]string{edgeBackCentre, edgeCentre, edgeCrotch} {
			if i := q.EdgeIndex(centre); i >= 0 && q.Edges[i].Role == pattern.RoleSeam {
				pairings = append(pairings, sew(q, centre, q, centre))
			}
		}
	}
	p, err := sewn(pieces, pairings)
	for i, q := range p.Pieces {
		if q.Name == pieceFront {
			p.Pieces[i] = turnOver(q)
		}
	}
	return p, err
}

// sewn sews the pairings of loose pieces. Its error is a *CheckError.
func sewn(pieces []pattern.Piece, pairings []cutting.Pairing) (pattern.Pattern, error) {
	pieces, seams, errs := cutting.Assemble(pieces, pairings)
	if len(errs) > 0 {
		e := &CheckError{}
		for _, err := range errs {
			e.Broken = append(e.Broken, err.Error())
		}
		return pattern.Pattern{}, e
	}
	return pattern.Pattern{Pieces: pieces, Seams: seams}, nil
}
