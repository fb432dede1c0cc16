package drape

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// A hinge is the resistance of two neighbouring triangles to bending along their
// common edge. Its energy is quadratic in the positions, which holds for cloth
// that stretches little (Bergou, Wardetzky, Harmon, Zorin, Grinspun 2006, A
// quadratic bending model for inextensible surfaces).
type hinge struct {
	p [4]int // both ends of the edge, then the points opposite
	w [4]float64
	k float64 // mN/mm
}

// side is an edge of a triangle.
type side struct {
	a, b     int // points, a < b
	triangle int
	opposite int // corner of the triangle, 0 to 2
}

// hinges returns a hinge for each edge that two triangles share. Across a seam
// it is flat at rest.
func hinges(m *Mesh) []hinge {
	sides := make([]side, 0, 3*len(m.Triangles))
	for i, t := range m.Triangles {
		for k := range 3 {
			a, b := t.Points[(k+1)%3], t.Points[(k+2)%3]
			sides = append(sides, side{min(a, b), max(a, b), i, k})
		}
	}
	slices.SortStableFunc(sides, func(s, t side) int { return cmp.Or(s.a-t.a, s.b-t.b) })
	var all []hinge
	for i := 1; i < len(sides); i++ {
		if s, t := sides[i-1], sides[i]; s.a == t.a && s.b == t.b {
			all = append(all, m.hinge(s, t))
			i++
		}
	}
	return all
}

// hinge returns the hinge of two triangles along the side s of one and t of the
// other.
func (m *Mesh) hinge(s, t side) hinge {
	one, other := m.Triangles[s.triangle], m.Triangles[t.triangle]
	a1, b1 := one.cotangents(s)
	a2, b2 := other.cotangents(t)
	h := hinge{p: [4]int{s.a, s.b, one.Points[s.opposite], other.Points[t.opposite]}}
	h.w = [4]float64{b1 + b2, a1 + a2, -a1 - b1, -a2 - b2}
	rigidity := (m.Cloths[one.Piece].rigidity(one.warp(s)) + m.Cloths[other.Piece].rigidity(other.warp(t))) / 2
	// A mesh of equilateral or of right-angled triangles bent round a cylinder of any
	// direction then has the energy of the sheet, half the rigidity times the curvature
	// squared.
	h.k = rigidity / (one.Area() + other.Area())
	return h
}

// cotangents returns the cotangents of the flat triangle's angles at the ends a
// and b of its side.
func (t Triangle) cotangents(s side) (atA, atB float64) {
	for k := range 3 {
		if k == s.opposite {
			continue
		}
		u := r2.Sub(t.Flat[(k+1)%3], t.Flat[k])
		v := r2.Sub(t.Flat[(k+2)%3], t.Flat[k])
		cot := r2.Dot(u, v) / math.Abs(r2.Cross(u, v))
		if t.Points[k] == s.a {
			atA = cot
		} else {
			atB = cot
		}
	}
	return atA, atB
}

// warp returns how far bending along the side of the triangle bends the warp: 0
// where the side lies along the warp, 1 where it lies along the weft.
func (t Triangle) warp(s side) float64 {
	e := r2.Sub(t.Flat[(s.opposite+2)%3], t.Flat[(s.opposite+1)%3])
	return e.X * e.X / r2.Norm2(e)
}

// force adds the forces of the hinge on its points.
func (h *hinge) force(x, f []r3.Vec) {
	var c r3.Vec
	for i, p := range h.p {
		w := h.w[i]
		c.X += w * x[p].X
		c.Y += w * x[p].Y
		c.Z += w * x[p].Z
	}
	for i, p := range h.p {
		w := h.k * h.w[i]
		f[p].X -= w * c.X
		f[p].Y -= w * c.Y
		f[p].Z -= w * c.Z
	}
}

// stiffness adds a bound of the stiffness that the hinge gives each point.
func (h *hinge) stiffness(k []float64) {
	sum := 0.0
	for _, w := range h.w {
		sum += math.Abs(w)
	}
	for i, p := range h.p {
		k[p] += h.k * math.Abs(h.w[i]) * sum
	}
}
