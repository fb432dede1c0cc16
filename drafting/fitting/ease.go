package fitting

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/drape"
	"tapeline/drafting/pattern"
)

// A stop is a notch at which an edge is pinned to its mate: the point after the part of
// that number.
type stop struct {
	part int
	at   float64 // mm along the edge
}

// pin gives both edges of each seam of a sleeve stops where notches of one meet those of
// the other, so that ease lies between the notches between which it is sewn in.
func (g *garment) pin(seams []pattern.Seam, counts map[pattern.EdgeRef]int) {
	for _, s := range seams {
		a, b := g.panel(s.A.Piece), g.panel(s.B.Piece)
		if a == nil || b == nil || a.where != sleeve && b.where != sleeve {
			continue
		}
		one, other, ok := mates(a, s.A.Edge, b, s.B.Edge)
		if !ok {
			continue
		}
		n, length := counts[s.A], a.length(s.A.Edge)
		part := 0
		var onA, onB []stop
		for i, notch := range one {
			part = max(part+1, int(math.Round(float64(n)*notch.At/length)))
			if part >= n-len(one)+i+1 {
				onA = nil
				break
			}
			onA = append(onA, stop{part, notch.At})
			onB = append(onB, stop{n - part, other[i].At})
		}
		if onA != nil {
			slices.Reverse(onB)
			a.stops[s.A.Edge], b.stops[s.B.Edge] = onA, onB
		}
	}
}

// mates returns the notches at which two sewn edges meet, in the order of a's, if they have the same.
func mates(a *panel, edgeA string, b *panel, edgeB string) (one, other []pattern.Notch, ok bool) {
	one, other = a.inner(edgeA), b.inner(edgeB)
	slices.Reverse(other) // sewn edges run against each other
	return one, other, slices.EqualFunc(one, other, func(m, n pattern.Notch) bool { return m.Kind == n.Kind })
}

// inner returns the notches of an edge in order, without those at its ends.
func (q *panel) inner(edge string) (inner []pattern.Notch) {
	length := q.length(edge)
	for _, n := range q.Notches {
		if n.Edge == edge && n.At > 5 && n.At < length-5 {
			inner = append(inner, n)
		}
	}
	slices.SortFunc(inner, func(m, n pattern.Notch) int {
		if m.At < n.At {
			return -1
		}
		return 1
	})
	return inner
}

// length returns the length of an edge, mm.
func (q *panel) length(edge string) float64 {
	e, _ := q.Edge(edge)
	return e.Path.Length()
}

// easeIn shrinks the cloth along the longer edge of each seam of a sleeve to the length of
// the shorter, between every two stitches: eased in, it does not push the other edge apart.
func (g *garment) easeIn(seams []pattern.Seam) {
	for _, s := range seams {
		a, b := g.panel(s.A.Piece), g.panel(s.B.Piece)
		if a == nil || b == nil || a.where != sleeve && b.where != sleeve {
			continue
		}
		one, other := a.edges[s.A.Edge], slices.Clone(b.edges[s.B.Edge])
		slices.Reverse(other)
		for i := 1; i < len(one) && i < len(other); i++ {
			p, q := [2]int{one[i-1], one[i]}, [2]int{other[i-1], other[i]}
			longA, longB := a.apart(p), b.apart(q)
			if longA > longB {
				g.shrink(a, p, longB)
			} else {
				g.shrink(b, q, longA)
			}
		}
	}
}

// apart returns the distance of two points of the panel on paper.
func (q *panel) apart(p [2]int) float64 { return r2.Norm(r2.Sub(q.points[p[0]], q.points[p[1]])) }

// shrink gives the side between two points of a panel, of the triangle at its edge, a
// length; the other sides keep theirs.
func (g *garment) shrink(q *panel, p [2]int, length float64) {
	for i := range g.mesh.Triangles {
		t := &g.mesh.Triangles[i]
		if g.panels[t.Piece] != q {
			continue
		}
		a, b := slices.Index(t.Points[:], q.first+p[0]), slices.Index(t.Points[:], q.first+p[1])
		if a >= 0 && b >= 0 {
			shorten(t, a, b, length)
			return
		}
	}
}

// shorten gives the side of a flat triangle between its corners a and b a length, about
// its middle and in its direction.
func shorten(t *drape.Triangle, a, b int, length float64) {
	c := 3 - a - b
	side := r2.Sub(t.Flat[b], t.Flat[a])
	along := r2.Unit(side)
	square := r2.Vec{X: -along.Y, Y: along.X}
	if r2.Dot(square, r2.Sub(t.Flat[c], t.Flat[a])) < 0 {
		square = r2.Scale(-1, square)
	}
	fromA, fromB := r2.Norm(r2.Sub(t.Flat[c], t.Flat[a])), r2.Norm(r2.Sub(t.Flat[c], t.Flat[b]))
	foot := (length*length + fromA*fromA - fromB*fromB) / (2 * length)
	high := math.Sqrt(max(1, fromA*fromA-foot*foot))
	middle := r2.Add(t.Flat[a], r2.Scale(0.5, side))
	t.Flat[a] = r2.Sub(middle, r2.Scale(length/2, along))
	t.Flat[b] = r2.Add(middle, r2.Scale(length/2, along))
	t.Flat[c] = r2.Add(t.Flat[a], r2.Add(r2.Scale(foot, along), r2.Scale(high, square)))
}
