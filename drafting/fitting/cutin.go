package fitting

import (
	"math"
	"slices"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// armholeCut is the edge at which sleeves that are cut in one with the body are cut off.
const armholeCut = "armhole_cut"

// A grownOn is a piece with a sleeve cut in one with it.
type grownOn struct {
	overarm, under string     // edges of the sleeve, from the neck and from the hem of the body
	shoulder       geom.Point // on the overarm, where the arm begins
	pit            float64    // along the under edge from the sleeve's end to the deepest of the underarm
}

// cutSleeves returns the pattern with sleeves that are cut in one with the body cut off, from
// the shoulder point to the underarm, so that they hang on the arm; there is no seam to ease.
// pieceOf holds the names of the pieces they were cut from.
func cutSleeves(p pattern.Pattern) (cut pattern.Pattern, pieceOf map[string]string) {
	pieceOf = map[string]string{}
	found := map[string]grownOn{}
	for _, piece := range p.Pieces {
		if g, ok := grownOnOf(piece); ok {
			found[piece.Name] = g
		}
	}
	// Front and back are cut at one place of their seam.
	for _, s := range p.Seams {
		a, okA := found[s.A.Piece]
		b, okB := found[s.B.Piece]
		if okA && okB && s.A.Edge == a.under && s.B.Edge == b.under {
			a.pit = (a.pit + b.pit) / 2
			b.pit = a.pit
			found[s.A.Piece], found[s.B.Piece] = a, b
		}
	}
	p.Pieces, p.Seams = slices.Clone(p.Pieces), slices.Clone(p.Seams)
	for i, piece := range slices.Clone(p.Pieces) {
		g, ok := found[piece.Name]
		if !ok {
			continue
		}
		body, arm, ok := g.cut(piece)
		if !ok {
			continue
		}
		p.Pieces[i] = body
		p.Pieces = append(p.Pieces, arm)
		pieceOf[arm.Name] = piece.Name
		p.Seams = append(p.Seams, seamOfCut(arm, body))
	}
	for _, s := range slices.Clone(p.Seams) {
		a, b := found[s.A.Piece], found[s.B.Piece]
		if s.A.Edge == a.overarm && s.B.Edge == b.overarm || s.A.Edge == a.under && s.B.Edge == b.under {
			s.A.Piece, s.B.Piece = armName(s.A.Piece), armName(s.B.Piece)
			p.Seams = append(p.Seams, s)
		}
	}
	sewToArms(p)
	return p, pieceOf
}

// seamOfCut returns the seam along which an arm that was cut off is sewn to what it was cut from.
func seamOfCut(arm, from pattern.Piece) pattern.Seam {
	return pattern.Seam{A: pattern.EdgeRef{Piece: arm.Name, Edge: armholeCut},
		B: pattern.EdgeRef{Piece: from.Name, Edge: armholeCut}}
}

// sewToArms moves the seams at the end of a sleeve from the piece it was cut from to its arm.
func sewToArms(p pattern.Pattern) {
	for i := range p.Seams {
		for _, end := range []*pattern.EdgeRef{&p.Seams[i].A, &p.Seams[i].B} {
			arm, ok := p.Piece(armName(end.Piece))
			body, _ := p.Piece(end.Piece)
			if ok && body.EdgeIndex(end.Edge) < 0 && arm.EdgeIndex(end.Edge) >= 0 {
				end.Piece = arm.Name
			}
		}
	}
}

func armName(piece string) string { return piece + "_sleeve" }

// grownOnOf returns the sleeve that is cut in one with a piece: its overarm has the notch of
// the shoulder point, and its end follows it.
func grownOnOf(piece pattern.Piece) (g grownOn, ok bool) {
	set := slices.ContainsFunc(piece.Edges, func(e pattern.Edge) bool { return e.Role == pattern.RoleArmhole })
	if !plain(piece) || set {
		return g, false
	}
	i := slices.IndexFunc(piece.Notches, func(n pattern.Notch) bool { return n.Name == "shoulder point" })
	if i < 0 {
		return g, false
	}
	k, n := piece.EdgeIndex(piece.Notches[i].Edge), len(piece.Edges)
	if k < 0 || n < 5 {
		return g, false
	}
	over := piece.Edges[k]
	on := 1 // the outline runs to the sleeve's end
	if math.Abs(over.Path.Start().X) > math.Abs(over.Path.End().X) {
		on = n - 1
	}
	under := piece.Edges[(k+2*on)%n]
	path := under.Path
	if on != 1 {
		path = path.Reverse()
	}
	g = grownOn{overarm: over.Name, under: under.Name, shoulder: over.Path.At(piece.Notches[i].At)}
	const parts = 200
	deepest, chord := 0.0, path.End().Sub(path.Start()).Unit()
	for j := range parts {
		at := path.Length() * float64(j) / parts
		if deep := math.Abs(path.At(at).Sub(path.Start()).Cross(chord)); deep > deepest {
			deepest, g.pit = deep, at
		}
	}
	return g, deepest > 0
}

// cut cuts the sleeve off a piece and turns it, so that its overarm runs down the paper.
func (g grownOn) cut(piece pattern.Piece) (body, arm pattern.Piece, ok bool) {
	under, _ := piece.Edge(g.under)
	over, _ := piece.Edge(g.overarm)
	_, _, start := under.Path.Nearest(g.end(piece))
	pit := under.Path.At(math.Abs(start - g.pit))
	parts, err := cutting.CutApart(piece, geom.Polyline(g.shoulder, pit), nil, armholeCut,
		[2]string{piece.Name, piece.Name})
	if err != nil {
		return body, arm, false
	}
	body, arm = parts[0], parts[1]
	if math.Abs(middleOf(arm)) < math.Abs(middleOf(body)) {
		body, arm = arm, body
	}
	far := over.Path.End()
	if math.Abs(over.Path.Start().X) > math.Abs(far.X) {
		far = over.Path.Start()
	}
	down := far.Sub(g.shoulder)
	arm = arm.Move(geom.Turn(g.shoulder, math.Pi/2-math.Atan2(down.Y, down.X)))
	arm.Name, arm.Title = armName(piece.Name), piece.Title+", sleeve"
	for i, e := range arm.Edges {
		if e.Name == armholeCut {
			arm.Edges[i].Role = pattern.RoleCap
		}
	}
	for i, e := range body.Edges {
		switch e.Name {
		case armholeCut:
			body.Edges[i].Role = pattern.RoleArmhole
		case g.overarm:
			body.Edges[i].Run = "shoulder"
		}
	}
	return body, arm, true
}

// end returns the corner of the under edge at the sleeve's end.
func (g grownOn) end(piece pattern.Piece) geom.Point {
	under, _ := piece.Edge(g.under)
	if a, b := under.Path.Start(), under.Path.End(); math.Abs(a.X) < math.Abs(b.X) {
		return b
	}
	return under.Path.Start()
}

// middleOf returns the x of the middle of a piece's outline.
func middleOf(p pattern.Piece) float64 {
	box := p.Outline().Bounds()
	return (box.Min.X + box.Max.X) / 2
}
