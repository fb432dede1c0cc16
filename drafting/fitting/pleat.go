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
	for _, l := range piece.Lines {
		name, ok := strings.CutSuffix(l.Name, firstFold)
		if !ok {
			continue
		}
		for i, q := range strips {
			one, other, ok := pleatSides(q, name)
			if !ok {
				continue
			}
			edge := name + "_closed"
			parts, err := cutting.CutApart(q, one, other, edge, [2]string{piece.Name + "_" + name, q.Name}, name)
			if err == nil {
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

// pleatSides returns the lines of the piece that meet when a pleat is closed, from the mouth
// to the hem: that from the mouth's end, and that from its start.
func pleatSides(q pattern.Piece, name string) (one, other geom.Path, ok bool) {
	d := q.Dart(name)
	if d == nil {
		return nil, nil, false
	}
	var sides [2]geom.Path
	for k, leg := range d.Legs {
		for _, l := range q.Lines {
			if l.Name != name+firstFold && l.Name != name+secondFold {
				continue
			}
			if l.Path.Start().Dist(leg.End()) < 0.1 {
				sides[k] = geom.Join(leg, l.Path.MoveStart(leg.End()))
			}
		}
		if sides[k] == nil {
			return nil, nil, false
		}
	}
	return sides[1], sides[0], true
}
