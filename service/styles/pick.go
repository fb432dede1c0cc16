package styles

import (
	"slices"

	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
)

// PickIn returns what was picked in the picture of a tried script: a piece, or an edge,
// dart, line or mark of it, with what is beside it.
func PickIn(script *Sentences, t Tried, kind Kind, piece, name string) Pick {
	p := Pick{Kind: kind, Piece: piece, Name: name, As: holder(script, piece)}
	var own []TriedEdge
	for _, q := range t.Pieces {
		if q.Name == piece {
			p.Title, own = q.Title, q.Edges
		}
	}
	for _, q := range t.Pieces {
		i := edgeIndex(q.Edges, name)
		switch {
		case q.Name == piece && kind == style.KindEdge && i >= 0:
			n := len(q.Edges)
			p.Before, p.After = q.Edges[(i+n-1)%n].Name, q.Edges[(i+1)%n].Name
		case q.Name == piece || edgeIndex(q.Edges, "inner") >= 0: // a facing
		case alike(own, q.Edges) && (kind == style.KindPiece || i >= 0):
			p.Others = append(p.Others, sentence.Held{Piece: q.Name, As: holder(script, q.Name)})
		}
	}
	return p
}

func edgeIndex(edges []TriedEdge, name string) int {
	return slices.IndexFunc(edges, func(e TriedEdge) bool { return e.Name == name })
}

// alike reports whether most edges of a piece have the names of another's.
func alike(a, b []TriedEdge) bool {
	same := 0
	for _, e := range a {
		if edgeIndex(b, e.Name) >= 0 {
			same++
		}
	}
	return 2*same > len(a)
}

// holder returns the variable that holds a piece, or the block's.
func holder(script *Sentences, piece string) string {
	if variable, _, ok := script.Holder(piece); ok {
		return variable
	}
	return "block." + piece
}
