package cutting

import (
	"slices"
	"strings"

	"tapeline/drafting/pattern"
)

// nameJoints names the notches at the start of an edge, as joints makes them, by
// what meets there on the other side of the seam: "side" on a waistband, where
// the sides of front and back come.
func nameJoints(pieces []pattern.Piece, seams []pattern.Seam) {
	partners := map[pattern.EdgeRef]pattern.EdgeRef{}
	for _, s := range seams {
		if s.A != s.B {
			partners[s.A], partners[s.B] = s.B, s.A
		}
	}
	for i, p := range pieces {
		for k, n := range p.Notches {
			at := p.EdgeIndex(n.Edge)
			if n.At != 0 || n.Name != "" || at < 0 {
				continue
			}
			before := p.Edges[(at+len(p.Edges)-1)%len(p.Edges)]
			a, okA := partners[pattern.EdgeRef{Piece: p.Name, Edge: before.Name}]
			b, okB := partners[pattern.EdgeRef{Piece: p.Name, Edge: n.Edge}]
			var met string
			switch {
			case okA && okB:
				met = meeting(pieces, a, b)
			case okA && p.Edges[at].Role == pattern.RoleEdge:
				met = words(p.Edges[at].Run) // beyond the end of the seam: an underlap
			case okB && before.Role == pattern.RoleEdge:
				met = words(before.Run)
			}
			pieces[i].Notches[k].Name = met
		}
	}
}

// meeting returns the name of the edge that two neighbouring edges of a seam have
// between them; "" if they have none in common.
func meeting(pieces []pattern.Piece, a, b pattern.EdgeRef) string {
	besideA, besideB := neighbours(pieces, a), neighbours(pieces, b)
	for _, e := range besideA {
		if a.Piece == b.Piece && e.Role == pattern.RoleDartMouth && slices.ContainsFunc(besideB,
			func(f pattern.Edge) bool { return f.Name == e.Name || touch(pieces, a.Piece, e.Name, f.Name) }) {
			if d := dartAt(pieces, a.Piece, e.Name); d != nil && len(d.Apexes) == 0 {
				return "pleat"
			}
			return "dart"
		}
		if a.Piece != b.Piece && slices.ContainsFunc(besideB, func(f pattern.Edge) bool { return f.Run == e.Run }) {
			return words(e.Run)
		}
	}
	return ""
}

// touch reports whether the mouths of two pleats follow each other on a piece.
func touch(pieces []pattern.Piece, name, a, b string) bool {
	for _, p := range pieces {
		i, k := p.EdgeIndex(a), p.EdgeIndex(b)
		if n := len(p.Edges); p.Name == name && i >= 0 && k >= 0 && p.Edges[k].Role == pattern.RoleDartMouth {
			return (i+1)%n == k || (k+1)%n == i
		}
	}
	return false
}

// words returns the name of an edge as it is lettered.
func words(run string) string { return strings.ReplaceAll(run, "_", " ") }

// dartAt returns the dart or pleat of a piece with the mouth.
func dartAt(pieces []pattern.Piece, name, mouth string) *pattern.Dart {
	for _, p := range pieces {
		for i := range p.Darts {
			if p.Name == name && p.Darts[i].Mouth == mouth {
				return &p.Darts[i]
			}
		}
	}
	return nil
}

// neighbours returns the edges before and after an edge.
func neighbours(pieces []pattern.Piece, r pattern.EdgeRef) []pattern.Edge {
	for _, p := range pieces {
		if i := p.EdgeIndex(r.Edge); p.Name == r.Piece && i >= 0 {
			n := len(p.Edges)
			return []pattern.Edge{p.Edges[(i+n-1)%n], p.Edges[(i+1)%n]}
		}
	}
	return nil
}
