package fitting

import (
	"slices"
	"strings"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// firstFold ends the name of the line on which a pleat that is folded on to the hem turns;
// secondFold that of the line on which it turns back.
const (
	firstFold  = "_fold_1"
	secondFold = "_fold_2"
)

// foldPleats returns the pattern with the pleats that are folded on to the hem closed: of
// their cloth only what shows remains, in strips that are sewn to each other where the pleats
// fold. That is true for widths and lengths of what hangs closed; the weight of
// the cloth behind is not there, and a pleat that is pulled open reads as a strain. pieceOf
// holds the name of each strip's piece.
func foldPleats(p pattern.Pattern) (folded pattern.Pattern, pieceOf map[string]string) {
	pieceOf = map[string]string{}
	of := map[pattern.EdgeRef]pattern.EdgeRef{} // the edges of strips by those of their pieces
	var pieces []pattern.Piece
	var seams []pattern.Seam
	for _, piece := range p.Pieces {
		strips, joined := stripsOf(piece)
		seams = append(seams, joined...)
		for i, strip := range strips {
			pieceOf[strip.Name] = piece.Name
			if i > 0 {
				strips[i].Title = "" // once is enough
			}
			for _, e := range strip.Edges {
				of[pattern.EdgeRef{Piece: piece.Name, Edge: e.Name}] = pattern.EdgeRef{Piece: strip.Name, Edge: e.Name}
			}
		}
		pieces = append(pieces, strips...)
	}
	for _, s := range p.Seams {
		if a, ok := of[s.A]; ok {
			s.A = a
		}
		if b, ok := of[s.B]; ok {
			s.B = b
		}
		seams = append(seams, s)
	}
	p.Pieces, p.Seams = pieces, seams
	return p, pieceOf
}

// stripsOf returns what shows of a piece between its pleats, and the seams between the strips;
// the piece itself if it has none.
func stripsOf(piece pattern.Piece) (strips []pattern.Piece, seams []pattern.Seam) {
	strips = []pattern.Piece{piece}
	var closed []string // the edges at which pleats are closed
	for _, d := range piece.Darts {
		pleats := touching(piece, d)
		for i, q := range strips {
			one, other := pleatSides(q, pleats)
			if one == nil {
				continue
			}
			name := d.Name
			edge := name + "_closed"
			parts, err := cutting.CutApart(q, one, other, edge, [2]string{piece.Name + "_" + name, q.Name}, pleats...)
			switch {
			case err != nil:
			case other == nil:
				strips[i] = halfClosed(parts, q.Name, edge)
			default:
				strips = append(slices.Replace(strips, i, i+1, parts[1]), parts[0])
				closed = append(closed, edge)
			}
			break
		}
	}
	for _, edge := range closed {
		var sides []pattern.EdgeRef
		for _, q := range strips {
			if q.EdgeIndex(edge) >= 0 {
				sides = append(sides, pattern.EdgeRef{Piece: q.Name, Edge: edge})
			}
		}
		seams = append(seams, pattern.Seam{A: sides[0], B: sides[1]})
	}
	return strips, seams
}

// touching returns the names of a pleat and of those whose mouths follow its mouth, as in an
// inverted pleat; none for a dart, and for a pleat that follows another one.
func touching(p pattern.Piece, d pattern.Dart) []string {
	i, n := p.EdgeIndex(d.Mouth), len(p.Edges)
	if i < 0 || len(d.Apexes) > 0 || p.Edges[(i+n-1)%n].Role == pattern.RoleDartMouth {
		return nil
	}
	var names []string
	for ; p.Edges[i].Role == pattern.RoleDartMouth; i = (i + 1) % n {
		for _, k := range p.Darts {
			if k.Mouth == p.Edges[i].Name {
				names = append(names, k.Name)
			}
		}
	}
	return names
}

// pleatSides returns the lines of the piece that meet when pleats that touch are closed, from
// the mouths to the hem: that from the end of the last mouth, and that from the start of the
// first. Of a pleat of which the piece is cut on the fold there is one line. Both are nil if the
// pleats do not lie in the piece, or are not folded on to the hem.
func pleatSides(q pattern.Piece, pleats []string) (one, other geom.Path) {
	if len(pleats) == 0 {
		return nil, nil
	}
	first, last := q.Dart(pleats[0]), q.Dart(pleats[len(pleats)-1])
	if first == nil || last == nil {
		return nil, nil
	}
	one, other = folded(q, last.Legs[1]), folded(q, first.Legs[0])
	onFold := func(leg geom.Path) bool {
		return slices.ContainsFunc(q.Folds(), func(s geom.Segment) bool {
			_, off, _ := geom.Path{s}.Nearest(leg.At(leg.Length() / 2))
			return off <= pattern.FoldTol
		})
	}
	switch {
	case one != nil && other == nil && !onFold(first.Legs[0]):
		return nil, nil
	case one == nil && other != nil && onFold(last.Legs[1]):
		return other, nil
	}
	return one, other
}

// folded returns the leg of a pleat with the fold that goes on from it, nil if none does.
func folded(q pattern.Piece, leg geom.Path) geom.Path {
	for _, l := range q.Lines {
		isFold := strings.HasSuffix(l.Name, firstFold) || strings.HasSuffix(l.Name, secondFold)
		if isFold && l.Path.Start().Dist(leg.End()) < 0.1 {
			return geom.Join(leg, l.Path.MoveStart(leg.End()))
		}
	}
	return nil
}

// halfClosed returns of the two parts of a piece the one beyond the pleat that lies at its fold,
// on the fold at the pleat's line.
func halfClosed(parts [2]pattern.Piece, name, edge string) pattern.Piece {
	q := parts[0]
	if q.HasFold() {
		q = parts[1]
	}
	q.Name = name
	q.Cut = pattern.Cut{Count: 1, OnFold: true}
	for i := range q.Edges {
		if q.Edges[i].Name == edge {
			q.Edges[i].Role = pattern.RoleFold
		}
	}
	return q
}
