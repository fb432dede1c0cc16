package form

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/cost"
)

// cell is the distance between the points of the lattice, mm, and band how far
// from the surface its distances are exact.
const (
	cell = 6.0
	band = 9 // cells

	stepTriangles = 64 // between two looks at the context
)

// A field is the signed distance from a surface at the points of a lattice.
type field struct {
	low        r3.Vec
	nx, ny, nz int
	d          []float32
}

// newField returns the field of the union of closed surfaces, which may overlap. The error is
// that of ctx.
func newField(ctx context.Context, points []r3.Vec, surfaces ...[][3]int) (field, error) {
	low := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}
	high := r3.Scale(-1, low)
	for _, triangles := range surfaces {
		for _, t := range triangles {
			for _, i := range t {
				p := points[i]
				low = r3.Vec{X: min(low.X, p.X), Y: min(low.Y, p.Y), Z: min(low.Z, p.Z)}
				high = r3.Vec{X: max(high.X, p.X), Y: max(high.Y, p.Y), Z: max(high.Z, p.Z)}
			}
		}
	}
	margin := r3.Vec{X: cell * (band + 1), Y: cell * (band + 1), Z: cell * (band + 1)}
	low, high = r3.Sub(low, margin), r3.Add(high, margin)
	size := r3.Scale(1/cell, r3.Sub(high, low))
	f := field{low: low, nx: int(size.X) + 2, ny: int(size.Y) + 2, nz: int(size.Z) + 2}
	for _, triangles := range surfaces {
		one := f
		if err := one.enclose(ctx, points, triangles); err != nil {
			return f, err
		}
		if f.d == nil {
			f.d = one.d
			continue
		}
		for i, d := range one.d {
			f.d[i] = min(f.d[i], d)
		}
	}
	f.spread(ctx)
	return f, cost.Step(ctx)
}

// enclose sets the distances from one closed surface, infinite where it is not near.
func (f *field) enclose(ctx context.Context, points []r3.Vec, triangles [][3]int) error {
	f.d = make([]float32, f.nx*f.ny*f.nz)
	far := float32(math.Inf(1))
	for i := range f.d {
		f.d[i] = far
	}
	for i, t := range triangles {
		if i%stepTriangles == 0 && cost.Ended(ctx) {
			return ctx.Err()
		}
		f.near(points[t[0]], points[t[1]], points[t[2]])
	}
	f.sign(points, triangles)
	return nil
}

func (f *field) at(i, j, k int) int { return (j*f.nz+k)*f.nx + i }

// near lowers the distances of the lattice about a triangle to those from it.
func (f *field) near(a, b, c r3.Vec) {
	box := func(a, b, c, low float64, n int) (int, int) {
		from := int(math.Ceil((min(a, b, c)-low)/cell)) - 2
		to := int(math.Floor((max(a, b, c)-low)/cell)) + 2
		return max(0, from), min(n-1, to)
	}
	i0, i1 := box(a.X, b.X, c.X, f.low.X, f.nx)
	j0, j1 := box(a.Y, b.Y, c.Y, f.low.Y, f.ny)
	k0, k1 := box(a.Z, b.Z, c.Z, f.low.Z, f.nz)
	for j := j0; j <= j1; j++ {
		for k := k0; k <= k1; k++ {
			for i := i0; i <= i1; i++ {
				d := float32(r3.Norm(r3.Sub(f.point(i, j, k), nearest(f.point(i, j, k), a, b, c))))
				if n := f.at(i, j, k); d < f.d[n] {
					f.d[n] = d
				}
			}
		}
	}
}

func (f *field) point(i, j, k int) r3.Vec {
	return r3.Vec{X: f.low.X + cell*float64(i), Y: f.low.Y + cell*float64(j), Z: f.low.Z + cell*float64(k)}
}

// nearest returns the point of triangle a, b, c nearest to p (Ericson 2005,
// Real-Time Collision Detection, 5.1.5).
func nearest(p, a, b, c r3.Vec) r3.Vec {
	ab, ac, ap := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(p, a)
	d1, d2 := r3.Dot(ab, ap), r3.Dot(ac, ap)
	if d1 <= 0 && d2 <= 0 {
		return a
	}
	bp := r3.Sub(p, b)
	d3, d4 := r3.Dot(ab, bp), r3.Dot(ac, bp)
	if d3 >= 0 && d4 <= d3 {
		return b
	}
	vc := d1*d4 - d3*d2
	if vc <= 0 && d1 >= 0 && d3 <= 0 {
		return r3.Add(a, r3.Scale(d1/(d1-d3), ab))
	}
	cp := r3.Sub(p, c)
	d5, d6 := r3.Dot(ab, cp), r3.Dot(ac, cp)
	if d6 >= 0 && d5 <= d6 {
		return c
	}
	vb := d5*d2 - d1*d6
	if vb <= 0 && d2 >= 0 && d6 <= 0 {
		return r3.Add(a, r3.Scale(d2/(d2-d6), ac))
	}
	va := d3*d6 - d5*d4
	if va <= 0 && d4-d3 >= 0 && d5-d6 >= 0 {
		w := (d4 - d3) / ((d4 - d3) + (d5 - d6))
		return r3.Add(b, r3.Scale(w, r3.Sub(c, b)))
	}
	sum := 1 / (va + vb + vc)
	return r3.Add(a, r3.Add(r3.Scale(vb*sum, ab), r3.Scale(vc*sum, ac)))
}

// sign gives the points inside the surface a negative distance. Along each line
// of the lattice it counts how often the line enters the surface and leaves it,
// so that parts may overlap.
func (f *field) sign(points []r3.Vec, triangles [][3]int) {
	// Of each line along x: at which lattice point the depth changes, and by how much.
	depth := make([]int8, len(f.d))
	for _, t := range triangles {
		a, b, c := points[t[0]], points[t[1]], points[t[2]]
		j0, j1 := int(math.Ceil((min(a.Y, b.Y, c.Y)-f.low.Y)/cell)), int(math.Floor((max(a.Y, b.Y, c.Y)-f.low.Y)/cell))
		k0, k1 := int(math.Ceil((min(a.Z, b.Z, c.Z)-f.low.Z)/cell)), int(math.Floor((max(a.Z, b.Z, c.Z)-f.low.Z)/cell))
		for j := j0; j <= j1; j++ {
			for k := k0; k <= k1; k++ {
				// A hair beside the lattice, so that no line meets a corner or a side.
				y, z := f.low.Y+cell*float64(j)+1.3e-5, f.low.Z+cell*float64(k)+0.7e-5
				x, turn, ok := across(a, b, c, y, z)
				if !ok {
					continue
				}
				if i := int(math.Ceil((x - f.low.X) / cell)); i < f.nx {
					depth[f.at(max(i, 0), j, k)] += turn
				}
			}
		}
	}
	for row := 0; row < len(f.d); row += f.nx {
		in := int8(0)
		for i := row; i < row+f.nx; i++ {
			if in += depth[i]; in > 0 {
				f.d[i] = -f.d[i]
			}
		}
	}
}

// across returns where the line along x at y and z meets a triangle, and 1 where
// it enters the surface there, -1 where it leaves it.
func across(a, b, c r3.Vec, y, z float64) (x float64, turn int8, ok bool) {
	u := (b.Y-a.Y)*(z-a.Z) - (b.Z-a.Z)*(y-a.Y)
	v := (c.Y-b.Y)*(z-b.Z) - (c.Z-b.Z)*(y-b.Y)
	w := (a.Y-c.Y)*(z-c.Z) - (a.Z-c.Z)*(y-c.Y)
	if !(u > 0 && v > 0 && w > 0 || u < 0 && v < 0 && w < 0) {
		return 0, 0, false
	}
	turn = -1
	if u < 0 {
		turn = 1
	}
	sum := u + v + w
	return (v*a.X + w*b.X + u*c.X) / sum, turn, true
}

// spread carries the distances from the surface into the rest of the lattice, as
// lengths of steps between its points, and cuts them off beyond the band.
func (f *field) spread(ctx context.Context) {
	const limit = cell * band
	abs := func(n int) float32 { return float32(math.Abs(float64(f.d[n]))) }
	relax := func(n, m int, step float32) {
		if d := abs(m) + step; d < abs(n) {
			f.d[n] = float32(math.Copysign(float64(d), float64(f.d[n])))
		}
	}
	pass := func(forward bool) {
		for q := range f.d {
			n := q
			if !forward {
				n = len(f.d) - 1 - q
			}
			i, k, j := n%f.nx, n/f.nx%f.nz, n/(f.nx*f.nz)
			if i == 0 && k == 0 && cost.Ended(ctx) {
				return
			}
			s := -1
			if !forward {
				s = 1
			}
			if a := i + s; a >= 0 && a < f.nx {
				relax(n, n+s, cell)
			}
			if a := k + s; a >= 0 && a < f.nz {
				relax(n, n+s*f.nx, cell)
			}
			if a := j + s; a >= 0 && a < f.ny {
				relax(n, n+s*f.nx*f.nz, cell)
			}
		}
	}
	pass(true)
	pass(false)
	for n, d := range f.d {
		f.d[n] = max(-limit, min(limit, d))
	}
}

// distance returns the distance between the points of the lattice and its gradient: quadratic splines,
// so that the gradient has no leap where cloth lies. It is shorter than a unit vector where two surfaces
// are equally near.
func (f *field) distance(p r3.Vec) (d float64, grad r3.Vec) {
	x, y, z := (p.X-f.low.X)/cell, (p.Y-f.low.Y)/cell, (p.Z-f.low.Z)/cell
	if !(x >= 1 && y >= 1 && z >= 1 && x < float64(f.nx-2) && y < float64(f.ny-2) && z < float64(f.nz-2)) {
		return cell * band, r3.Vec{Y: 1}
	}
	i, j, k := int(x+0.5), int(y+0.5), int(z+0.5)
	wx, dx := spline(x - float64(i))
	wy, dy := spline(y - float64(j))
	wz, dz := spline(z - float64(k))
	for b := range 3 {
		for c := range 3 {
			n := f.at(i-1, j+b-1, k+c-1)
			v0, v1, v2 := float64(f.d[n]), float64(f.d[n+1]), float64(f.d[n+2])
			v := wx[0]*v0 + wx[1]*v1 + wx[2]*v2
			d += wy[b] * wz[c] * v
			grad.X += wy[b] * wz[c] * (dx[0]*v0 + dx[1]*v1 + dx[2]*v2)
			grad.Y += dy[b] * wz[c] * v
			grad.Z += wy[b] * dz[c] * v
		}
	}
	return d, r3.Scale(1.0/cell, grad)
}

// spline returns the weights of three points in a row, and their derivatives, at a share of a step
// from the middle one.
func spline(t float64) (w, d [3]float64) {
	w = [3]float64{(0.5 - t) * (0.5 - t) / 2, 0.75 - t*t, (0.5 + t) * (0.5 + t) / 2}
	return w, [3]float64{t - 0.5, -2 * t, t + 0.5}
}
