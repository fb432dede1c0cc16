package drape

import (
	"gonum.org/v1/gonum/spatial/r3"
)

// A membrane is the tension of one triangle: a St. Venant-Kirchhoff material
// with the stiffness of its cloth along warp and weft and in shear. Its strain
// is that of Green, half the growth of the squared length.
type membrane struct {
	p                 [3]int
	inv               [2][2]float64
	area              float64 // mm2
	weft, warp, cross float64 // N/m
	shear             float64
}

func newMembrane(t Triangle, c Cloth) membrane {
	// A symmetrical compliance: the mean of both directions' narrowing.
	d := (1 - c.Poisson*c.Poisson) / max(1, t.Layers)
	mean := (c.Warp + c.Weft) / 2
	return membrane{p: t.Points, inv: t.inverse(), area: t.Area(), weft: c.Weft / d, warp: c.Warp / d,
		cross: c.Poisson * mean / d, shear: c.Shear * max(1, t.Layers)}
}

// force adds the forces of the triangle on its points.
func (t *membrane) force(x, f []r3.Vec) {
	x0, x1, x2 := &x[t.p[0]], &x[t.p[1]], &x[t.p[2]]
	ax, ay, az := x1.X-x0.X, x1.Y-x0.Y, x1.Z-x0.Z
	bx, by, bz := x2.X-x0.X, x2.Y-x0.Y, x2.Z-x0.Z
	i00, i01, i10, i11 := t.inv[0][0], t.inv[0][1], t.inv[1][0], t.inv[1][1]
	ux, uy, uz := i00*ax+i10*bx, i00*ay+i10*by, i00*az+i10*bz
	vx, vy, vz := i01*ax+i11*bx, i01*ay+i11*by, i01*az+i11*bz
	eu := (ux*ux + uy*uy + uz*uz - 1) / 2
	ev := (vx*vx + vy*vy + vz*vz - 1) / 2
	su := t.area * (t.weft*eu + t.cross*ev)
	sv := t.area * (t.warp*ev + t.cross*eu)
	g := t.area * t.shear * (ux*vx + uy*vy + uz*vz)
	// The stress on both directions, and from it the forces on points 1 and 2.
	px, py, pz := su*ux+g*vx, su*uy+g*vy, su*uz+g*vz
	qx, qy, qz := sv*vx+g*ux, sv*vy+g*uy, sv*vz+g*uz
	f1x, f1y, f1z := px*i00+qx*i01, py*i00+qy*i01, pz*i00+qz*i01
	f2x, f2y, f2z := px*i10+qx*i11, py*i10+qy*i11, pz*i10+qz*i11
	f0, f1, f2 := &f[t.p[0]], &f[t.p[1]], &f[t.p[2]]
	f0.X += f1x + f2x
	f0.Y += f1y + f2y
	f0.Z += f1z + f2z
	f1.X -= f1x
	f1.Y -= f1y
	f1.Z -= f1z
	f2.X -= f2x
	f2.Y -= f2y
	f2.Z -= f2z
}

// stiffness adds a bound of the stiffness that the triangle gives each point. A
// stretched triangle is stiffer.
func (t *membrane) stiffness(x []r3.Vec, k []float64) {
	a, b := r3.Sub(x[t.p[1]], x[t.p[0]]), r3.Sub(x[t.p[2]], x[t.p[0]])
	u := r3.Add(r3.Scale(t.inv[0][0], a), r3.Scale(t.inv[1][0], b))
	v := r3.Add(r3.Scale(t.inv[0][1], a), r3.Scale(t.inv[1][1], b))
	grown := max(1, 1.5*r3.Norm2(u), 1.5*r3.Norm2(v))
	most := grown * (max(t.weft, t.warp) + t.shear + t.cross)
	shapes := [3][2]float64{
		{-t.inv[0][0] - t.inv[1][0], -t.inv[0][1] - t.inv[1][1]},
		{t.inv[0][0], t.inv[0][1]},
		{t.inv[1][0], t.inv[1][1]},
	}
	for i, s := range shapes {
		k[t.p[i]] += 2 * most * t.area * (s[0]*s[0] + s[1]*s[1])
	}
}
