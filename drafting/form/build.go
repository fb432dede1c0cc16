package form

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/body"
)

// build adds the surfaces of trunk, legs and arms, which overlap where they meet,
// and their distances. The error is that of ctx.
func (k *maker) build(ctx context.Context, f *Form) (err error) {
	var trunk []ring
	for _, row := range k.made {
		var r ring
		for _, p := range loopOf(row.Radius, row.Middle) {
			r = append(r, r3.Vec{X: p.X, Y: row.y, Z: p.Y})
		}
		trunk = append(trunk, r)
	}
	f.tube(trunk)
	waist := len(f.Triangles)
	for _, side := range []float64{1, -1} {
		f.tube(k.legRings(side))
	}
	body := len(f.Triangles)
	if f.trunk, err = newField(ctx, f.Points, f.Triangles[:waist], f.Triangles[waist:]); err != nil {
		return err
	}
	for _, side := range []float64{1, -1} {
		f.tube(k.armRings(side))
	}
	arms, err := newField(ctx, f.Points, f.Triangles[body:])
	f.arms = &arms
	return err
}

// A ring is a closed line of points round a limb or the trunk.
type ring []r3.Vec

// tube adds the closed surface through rings from below, each wound from the
// front to the body's left.
func (f *Form) tube(rings []ring) {
	n := len(rings[0])
	first := len(f.Points)
	for _, r := range rings {
		f.Points = append(f.Points, r...)
	}
	at := func(row, i int) int { return first + row*n + i%n }
	for row := range len(rings) - 1 {
		for i := range n {
			a, b, c, d := at(row, i), at(row, i+1), at(row+1, i+1), at(row+1, i)
			f.Triangles = append(f.Triangles, [3]int{a, b, c}, [3]int{a, c, d})
		}
	}
	lid := func(row int, up bool) {
		var mid r3.Vec
		for _, p := range rings[row] {
			mid = r3.Add(mid, r3.Scale(1/float64(n), p))
		}
		m := len(f.Points)
		f.Points = append(f.Points, mid)
		for i := range n {
			if up {
				f.Triangles = append(f.Triangles, [3]int{m, at(row, i), at(row, i+1)})
			} else {
				f.Triangles = append(f.Triangles, [3]int{m, at(row, i+1), at(row, i)})
			}
		}
	}
	lid(0, false)
	lid(len(rings)-1, true)
}

// armRings returns the rings of an arm from the wrist up, with a round top.
func (k *maker) armRings(side float64) []ring {
	a := k.arm()
	length := r3.Norm(r3.Sub(a.wrist, a.top))
	along := r3.Unit(r3.Sub(a.wrist, a.top))
	elbow := r3.Norm(r3.Sub(a.elbow, a.top)) / length
	upper := Radius(k.m[body.UpperArmGirth])
	girth := curve{x: []float64{0, elbow * 0.4, elbow, 1},
		y: []float64{upper, upper, Radius(k.m[body.ElbowGirth]), Radius(k.m[body.WristGirth])}}
	var rings []ring
	add := func(at r3.Vec, radius float64) {
		r := make(ring, 24)
		across := r3.Unit(r3.Cross(r3.Vec{Z: 1}, along))
		front := r3.Cross(along, across)
		for i := range r {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(len(r)))
			p := r3.Add(at, r3.Add(r3.Scale(radius*sin, across), r3.Scale(radius*cos, front)))
			r[i] = p
		}
		rings = append(rings, r)
	}
	const rows = 24
	for i := range rows {
		s := 1 - float64(i)/rows
		add(r3.Add(a.top, r3.Scale(s*length, along)), girth.at(s))
	}
	for i := range 5 {
		sin, cos := math.Sincos(math.Pi / 2 * float64(i) / 5)
		add(r3.Sub(a.top, r3.Scale(upper*sin, along)), upper*cos)
	}
	return mirrored(rings, side)
}

// legsApart is how far each thigh stands from the middle, mm: more than the lattice of
// distances leaves out.
const legsApart = 10

// legRings returns the rings of a leg from the floor to inside the trunk.
func (k *maker) legRings(side float64) []ring {
	m := k.m
	crotch := m[body.InsideLeg]
	thigh, seat := Radius(m[body.ThighGirth]), k.rowAt(crotch)
	// Cloth that hangs from the hip hangs past the thighs: they stand out no wider, and are
	// as much deeper.
	widest := (min(seat.Radius[Angles/2], k.rowAt(m[body.HipHeight]).Radius[Angles/2]) - legsApart) / 2
	middle := min(thigh, widest) + legsApart
	girth := curve{x: []float64{0, 0.06 * crotch, 0.7 * m[body.KneeHeight], m[body.KneeHeight], crotch - 25, crotch + 40},
		y: []float64{Radius(m[body.AnkleGirth]), Radius(m[body.AnkleGirth]), Radius(m[body.CalfGirth]),
			Radius(m[body.KneeGirth]), thigh, 0.7 * thigh}}
	var rings []ring
	const rows = 36
	for i := range rows + 1 {
		y := (crotch + 40) * float64(i) / rows
		r := make(ring, 36)
		round := girth.at(y)
		wide := min(round, widest)
		deep := math.Sqrt(2*round*round - wide*wide) // an ellipse of about the same girth
		for i := range r {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(len(r)))
			r[i] = r3.Vec{X: middle + wide*sin, Y: y, Z: seat.Middle + deep*cos}
		}
		rings = append(rings, r)
	}
	return mirrored(rings, side)
}

// mirrored returns the rings of the body's left, or of its right for side -1.
func mirrored(rings []ring, side float64) []ring {
	if side > 0 {
		return rings
	}
	out := make([]ring, len(rings))
	for i, r := range rings {
		n := len(r)
		out[i] = make(ring, n)
		for j, p := range r {
			out[i][(n-j)%n] = r3.Vec{X: -p.X, Y: p.Y, Z: p.Z}
		}
	}
	return out
}
