package block

import (
	"fmt"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// While a piece is put together an edge that a dart or a meeting seam cuts
// into parts is several edges of one name, in order; number tells them apart
// at the end.

// runLength is the length of all edges of that name.
func runLength(edges []pattern.Edge, name string) float64 {
	var sum float64
	for _, e := range edges {
		if e.Name == name {
			sum += e.Path.Length()
		}
	}
	return sum
}

// breaks are the lengths along the edges of that name at which one part ends
// and the next starts.
func breaks(edges []pattern.Edge, name string) []float64 {
	var at []float64
	var sum float64
	for _, e := range edges {
		if e.Name == name {
			sum += e.Path.Length()
			at = append(at, sum)
		}
	}
	if len(at) == 0 {
		return nil
	}
	return at[:len(at)-1]
}

// nearBreak is how close two cuts of a seam count as the same, mm.
const nearBreak = 0.01

// cutRun cuts the edges of that name at the lengths given, where they are not
// already cut there.
func cutRun(edges []pattern.Edge, name string, at []float64) []pattern.Edge {
	for _, d := range at {
		var sum float64
		for i, e := range edges {
			if e.Name != name {
				continue
			}
			n := e.Path.Length()
			if d > sum+nearBreak && d < sum+n-nearBreak {
				first, second := e.Path.SplitAt(d - sum)
				cut := append([]pattern.Edge{}, edges[:i]...)
				cut = append(cut, edge(name, e.Role, first...), edge(name, e.Role, second...))
				edges = append(cut, edges[i+1:]...)
				break
			}
			sum += n
		}
	}
	return edges
}

// number gives parts of one edge names of their own: side_1, side_2, counted
// along the outline. Notches are carried to the part that they fall on.
func number(edges []pattern.Edge, notches []pattern.Notch) ([]pattern.Edge, []pattern.Notch) {
	count := map[string]int{}
	for _, e := range edges {
		count[e.Name]++
	}
	out := make([]pattern.Edge, len(edges))
	seen := map[string]int{}
	for i, e := range edges {
		if count[e.Name] > 1 {
			seen[e.Name]++
			e.Name = partName(e.Name, seen[e.Name])
		}
		out[i] = e
	}
	var placed []pattern.Notch
	for i := 1; i < len(out); i++ {
		// An edge cut only because its partner has a dart there is marked, so
		// that the dart's legs have something to meet.
		if out[i].Run == out[i-1].Run {
			placed = append(placed, pattern.Notch{Edge: out[i].Name, At: 0, Kind: pattern.NotchSingle})
		}
	}
	for _, n := range notches {
		left := n.At
		last := -1
		for i, e := range edges {
			if e.Name != n.Edge {
				continue
			}
			last = i
			if length := e.Path.Length(); left > length+nearBreak {
				left -= length
				continue
			}
			break
		}
		if last < 0 {
			continue
		}
		// A notch at the very end of a part says nothing that the dart's
		// mouth or the corner does not.
		length := out[last].Path.Length()
		if left < 1 || left > length-1 {
			continue
		}
		placed = append(placed, pattern.Notch{Edge: out[last].Name, At: left, Kind: n.Kind})
	}
	return out, placed
}

func partName(name string, n int) string { return fmt.Sprintf("%s_%d", name, n) }

// pairRuns cuts two runs that are sewn together at each other's parts and
// returns the seams, part to part. along says which length of b meets a
// length of a.
func pairRuns(pa, pb *pattern.Piece, a, b string, along, back func(float64) float64) []pattern.Seam {
	var toB, toA []float64
	for _, d := range breaks(pa.Edges, a) {
		toB = append(toB, along(d))
	}
	for _, d := range breaks(pb.Edges, b) {
		toA = append(toA, back(d))
	}
	pa.Edges, pb.Edges = cutRun(pa.Edges, a, toA), cutRun(pb.Edges, b, toB)
	la, lb := parts(pa.Edges, a), parts(pb.Edges, b)
	var seams []pattern.Seam
	for i := range la {
		ra, rb := pattern.EdgeRef{Piece: pa.Name, Edge: a}, pattern.EdgeRef{Piece: pb.Name, Edge: b}
		if len(la) > 1 {
			ra.Edge, rb.Edge = partName(a, i+1), partName(b, i+1)
		}
		seams = append(seams, pattern.Seam{A: ra, B: rb, Ease: la[i] - lb[i]})
	}
	return seams
}

// parts are the lengths of the edges of that name.
func parts(edges []pattern.Edge, name string) []float64 {
	var l []float64
	for _, e := range edges {
		if e.Name == name {
			l = append(l, e.Path.Length())
		}
	}
	return l
}

// inProportion maps lengths of a run onto another, easing evenly.
func inProportion(from, to float64) (along, back func(float64) float64) {
	return func(d float64) float64 { return d * to / from }, func(d float64) float64 { return d * from / to }
}

// mirrored is the piece turned over in the line x = 0, its outline walked
// clockwise again.
func mirrored(p pattern.Piece) pattern.Piece {
	m := geom.Reflect(geom.Point{}, geom.Pt(0, 1))
	q := p
	q.Edges = make([]pattern.Edge, len(p.Edges))
	for i, e := range p.Edges {
		q.Edges[len(p.Edges)-1-i] = pattern.Edge{Name: e.Name, Run: e.Run, Role: e.Role, Path: e.Path.Move(m).Reverse()}
	}
	q.Darts = nil
	for _, d := range p.Darts {
		moved := pattern.Dart{Name: d.Name, Mouth: d.Mouth, Pressed: 1 - d.Pressed,
			Legs: [2]geom.Path{d.Legs[1].Move(m), d.Legs[0].Move(m)}}
		for _, a := range d.Apexes {
			moved.Apexes = append(moved.Apexes, m.Apply(a))
		}
		q.Darts = append(q.Darts, moved)
	}
	q.Notches = nil
	for _, n := range p.Notches {
		e, _ := p.Edge(n.Edge)
		q.Notches = append(q.Notches, pattern.Notch{Edge: n.Edge, At: e.Path.Length() - n.At, Kind: n.Kind})
	}
	q.Marks = nil
	for _, k := range p.Marks {
		q.Marks = append(q.Marks, pattern.Mark{Name: k.Name, Kind: k.Kind, At: m.Apply(k.At)})
	}
	q.Lines = nil
	for _, l := range p.Lines {
		q.Lines = append(q.Lines, pattern.Line{Name: l.Name, Path: l.Path.Move(m)})
	}
	q.Grain = p.Grain.Move(m)
	return q
}
