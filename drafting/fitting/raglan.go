package fitting

import (
	"math"
	"slices"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A raglan is a sleeve that reaches to the neck: a seam joins it to a front or a back.
type raglan struct {
	seam, overarm string          // edges of the sleeve: to the body, and from the neck over the arm
	host          pattern.EdgeRef // of the body, to which the seam joins it
	lay           geom.Motion     // lays the sleeve beside the host, edge on edge
	shoulder      float64         // mm along the overarm from the neck to the shoulder point
}

// cutRaglans returns the pattern with the yokes of raglan sleeves cut off, from the shoulder point
// to where the seam ends in the armhole, and laid beside the front or the back: so the yoke lies
// on the shoulder and the sleeve hangs on the arm. There is no seam to ease at the cut. shoulder is
// the distance of the body's shoulder point from its middle, mm; pieceOf holds the names of the
// pieces that the yokes were cut from.
func cutRaglans(p pattern.Pattern, shoulder float64) (cut pattern.Pattern, pieceOf map[string]string) {
	pieceOf = map[string]string{}
	found := map[string]raglan{}
	for _, piece := range p.Pieces {
		if r, ok := raglanOf(p, piece, shoulder); ok {
			found[piece.Name] = r
		}
	}
	// Both halves of a sleeve are cut at one place of their overarm.
	for _, s := range p.Seams {
		a, okA := found[s.A.Piece]
		b, okB := found[s.B.Piece]
		if okA && okB && s.A.Edge == a.overarm && s.B.Edge == b.overarm {
			a.shoulder = (a.shoulder + b.shoulder) / 2
			b.shoulder = a.shoulder
			found[s.A.Piece], found[s.B.Piece] = a, b
		}
	}
	p.Pieces, p.Seams = slices.Clone(p.Pieces), slices.Clone(p.Seams)
	for i, piece := range slices.Clone(p.Pieces) {
		r, ok := found[piece.Name]
		if !ok {
			continue
		}
		yoke, arm, ok := r.cut(piece)
		if !ok {
			delete(found, piece.Name)
			continue
		}
		p.Pieces[i] = arm
		p.Pieces = append(p.Pieces, yoke)
		pieceOf[yoke.Name] = piece.Name
		p.Seams = append(p.Seams, seamOfCut(arm, yoke))
	}
	for i, s := range slices.Clone(p.Seams) {
		a, okA := found[s.A.Piece]
		b, okB := found[s.B.Piece]
		if okA && okB && s.A.Edge == a.overarm && s.B.Edge == b.overarm {
			p.Seams = append(p.Seams, s) // of the arms
		}
		for _, end := range []*pattern.EdgeRef{&p.Seams[i].A, &p.Seams[i].B} {
			if r, ok := found[end.Piece]; ok && (end.Edge == r.overarm || end.Edge == r.seam) {
				end.Piece = r.yokeName()
			}
		}
	}
	return p, pieceOf
}

func (r raglan) yokeName() string { return r.host.Piece + "_yoke" }

// raglanOf returns a piece of the pattern as a raglan sleeve: it has a cap below the seam that
// joins it to the body, and its overarm reaches the neckline.
func raglanOf(p pattern.Pattern, piece pattern.Piece, shoulder float64) (r raglan, ok bool) {
	i := slices.IndexFunc(piece.Edges, func(e pattern.Edge) bool { return e.Role == pattern.RoleNeckline })
	if i < 0 || !plain(piece) || sideOf(piece) != sleeve {
		return r, false
	}
	n := len(piece.Edges)
	before, after := piece.Edges[(i+n-1)%n], piece.Edges[(i+1)%n]
	for _, s := range p.Seams {
		for _, way := range [][2]pattern.EdgeRef{{s.A, s.B}, {s.B, s.A}} {
			if way[0].Piece != piece.Name || way[0].Edge != before.Name && way[0].Edge != after.Name {
				continue
			}
			if host, ok := p.Piece(way[1].Piece); ok && plain(host) && sideOf(host) != sleeve && sideOf(host) != nowhere {
				r.seam, r.host = way[0].Edge, way[1]
			}
		}
	}
	over := before
	if r.overarm = before.Name; r.seam == before.Name {
		over, r.overarm = after, after.Name
	} else {
		over.Path = over.Path.Reverse() // from the neck
	}
	if r.seam == "" {
		return r, false
	}
	host, _ := p.Piece(r.host.Piece)
	to, okTo := host.Edge(r.host.Edge)
	from, okFrom := piece.Edge(r.seam)
	if !okTo || !okFrom {
		return r, false
	}
	// Sewn edges run against each other.
	a, b := from.Path.End().Sub(from.Path.Start()), to.Path.Start().Sub(to.Path.End())
	r.lay = geom.Turn(from.Path.Start(), b.Angle()-a.Angle()).Then(geom.Shift(to.Path.End().Sub(from.Path.Start())))
	const step = 1.0 // mm
	for r.shoulder < over.Path.Length() && math.Abs(r.lay.Apply(over.Path.At(r.shoulder)).X) < shoulder {
		r.shoulder += step
	}
	return r, r.shoulder > 0 && r.shoulder < over.Path.Length()
}

// cut cuts the yoke off a sleeve and lays it beside its host.
func (r raglan) cut(piece pattern.Piece) (yoke, arm pattern.Piece, ok bool) {
	over, _ := piece.Edge(r.overarm)
	seam, _ := piece.Edge(r.seam)
	at, end := r.shoulder, seam.Path.Start()
	neck := piece.Edges[slices.IndexFunc(piece.Edges, func(e pattern.Edge) bool { return e.Role == pattern.RoleNeckline })]
	if over.Path.Start().Dist(neck.Path.End()) > 1 { // the overarm ends at the neck, and the seam begins there
		at, end = over.Path.Length()-at, seam.Path.End()
	}
	parts, err := cutting.CutApart(piece, geom.Polyline(over.Path.At(at), end), nil, armholeCut,
		[2]string{piece.Name, piece.Name})
	if err != nil {
		return yoke, arm, false
	}
	yoke, arm = parts[0], parts[1]
	if yoke.EdgeIndex(neck.Name) < 0 {
		yoke, arm = arm, yoke
	}
	yoke = yoke.Move(r.lay)
	yoke.Name = r.yokeName()
	for i, e := range yoke.Edges {
		switch e.Name {
		case armholeCut:
			yoke.Edges[i].Role = pattern.RoleArmhole
		case r.overarm:
			yoke.Edges[i].Run = "shoulder"
		}
	}
	for i, e := range arm.Edges {
		if e.Name == armholeCut {
			arm.Edges[i].Role = pattern.RoleCap
		}
	}
	return yoke, arm, true
}
