package drape

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// A Triangle is a triangle of cloth.
type Triangle struct {
	Points [3]int    // in the mesh
	Flat   [3]r2.Vec // as cut: X along the weft, Y along the warp, mm
	Piece  int       // whose cloth it is
	// Fullness is the width of cloth in that of Flat where it is gathered finer than the
	// triangles; 0 for 1.
	Fullness float64
	Layers   float64 // of the cloth on each other; 0 for 1
}

// weight returns the weight of the triangle of a cloth, mN.
func (t Triangle) weight(c Cloth) float64 {
	return max(1, t.Fullness) * max(1, t.Layers) * t.Area() * c.load()
}

// A Mesh is cloth of one or more pieces. Where pieces are sewn they share points.
type Mesh struct {
	Points    []r3.Vec
	Triangles []Triangle
	Cloths    []Cloth // by piece
	Pinned    []bool  // points that do not move; nil for none
	// OnPlane holds the points that stay at x = 0: the middle of a garment of
	// which the mesh is one half.
	OnPlane []bool
	// Half says that the mesh is the half of a garment at x <= 0. What swings beyond the
	// middle meets its mirror image there.
	Half bool
	// Hung holds the points that keep their height, on the edge of a band; nil for none.
	Hung []bool
	// Grips are where friction holds the cloth.
	Grips []Grip
}

// A Grip holds a point where it was laid, from front to back, as far as friction bears. Other
// than Options.Friction it does not depend on the way by which the cloth came there.
type Grip struct {
	Point int
	Z     float64 // where it was laid, mm
	Most  float64 // the most that friction bears, mN
}

// Weight returns the weight of the cloth, mN.
func (m *Mesh) Weight() (sum float64) {
	for _, t := range m.Triangles {
		sum += t.weight(m.Cloths[t.Piece])
	}
	return sum
}

// Area returns the area of the flat triangle, mm2.
func (t Triangle) Area() float64 {
	return r2.Cross(r2.Sub(t.Flat[1], t.Flat[0]), r2.Sub(t.Flat[2], t.Flat[0])) / 2
}

// Stretch is the strain of a triangle: 0.01 for one per cent longer than cut.
type Stretch struct {
	Warp, Weft float64
	Shear      float64 // radians
	Most       float64 // the largest in any direction
}

// Stretch returns the strain of triangle t.
func (m *Mesh) Stretch(t int) Stretch {
	fu, fv := m.gradient(t)
	u, v := r3.Norm(fu), r3.Norm(fv)
	dot := r3.Dot(fu, fv)
	// The larger eigenvalue of the metric.
	mean, half := (u*u+v*v)/2, math.Hypot((u*u-v*v)/2, dot)
	return Stretch{Weft: u - 1, Warp: v - 1, Shear: math.Asin(max(-1, min(1, dot/(u*v)))), Most: math.Sqrt(mean+half) - 1}
}

// gradient returns what a step of one millimetre along the weft and along the
// warp of triangle t has become.
func (m *Mesh) gradient(t int) (weft, warp r3.Vec) {
	tri := &m.Triangles[t]
	inv := tri.inverse()
	a := r3.Sub(m.Points[tri.Points[1]], m.Points[tri.Points[0]])
	b := r3.Sub(m.Points[tri.Points[2]], m.Points[tri.Points[0]])
	return r3.Add(r3.Scale(inv[0][0], a), r3.Scale(inv[1][0], b)), r3.Add(r3.Scale(inv[0][1], a), r3.Scale(inv[1][1], b))
}

// inverse returns the inverse of the matrix whose columns are the edges of the
// flat triangle from its first corner.
func (t *Triangle) inverse() [2][2]float64 {
	a, b := r2.Sub(t.Flat[1], t.Flat[0]), r2.Sub(t.Flat[2], t.Flat[0])
	det := r2.Cross(a, b)
	return [2][2]float64{{b.Y / det, -b.X / det}, {-a.Y / det, a.X / det}}
}
