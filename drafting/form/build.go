package form

import (
	"context"
	"math"
	"slices"

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
	f.torso = len(f.Triangles)
	for _, side := range []float64{1, -1} {
		f.tube(k.legRings(side))
	}
	f.limbs = len(f.Triangles)
	if f.trunk, err = newField(ctx, f.Points, f.Triangles[:f.torso], f.Triangles[f.torso:]); err != nil {
		return err
	}
	for _, side := range []float64{1, -1} {
		f.tube(k.armRings(side))
	}
	arms, err := newField(ctx, f.Points, f.Triangles[f.limbs:])
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

// hand is how far an arm goes on beyond the wrist, mm: a sleeve that reaches there hangs on it.
const hand = 60.0

// armRings returns the level rings of an arm from the hand up, with a round top. The arm is
// as deep as where it leaves the trunk down to the level of the creases; from the armpit
// down it lies beside the trunk.
func (k *maker) armRings(side float64) []ring {
	a := k.arm()
	way := r3.Sub(a.wrist, a.top)
	length := r3.Norm(way)
	elbow := r3.Norm(r3.Sub(a.elbow, a.top)) / length
	upper := Radius(k.m[body.UpperArmGirth])
	girth := curve{x: []float64{0, elbow * 0.4, elbow, 1},
		y: []float64{upper, upper, Radius(k.m[body.ElbowGirth]), Radius(k.m[body.WristGirth])}}
	crease, armpit := (k.creaseLevel()-a.top.Y)/way.Y, (k.height[atArmpit]-a.top.Y)/way.Y
	lower := curve{x: []float64{crease, armpit}, y: []float64{0, 1}}
	var rings []ring
	add := func(at r3.Vec, wide, deep float64) {
		r := make(ring, 36)
		for i := range r {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(len(r)))
			r[i] = r3.Add(at, r3.Vec{X: wide * sin, Z: deep * cos})
		}
		rings = append(rings, r)
	}
	rows := []float64{0, crease / 2, crease, (crease + armpit) / 2, 1 + hand/length}
	const below = 22
	for i := range below + 1 {
		rows = append(rows, armpit+(1-armpit)*float64(i)/below)
	}
	rows = merge(rows, nil)
	slices.Reverse(rows)
	for _, s := range rows {
		at, r := r3.Add(a.top, r3.Scale(s, way)), girth.at(s)
		x, wide, deep := k.beside(at, r)
		share := lower.at(s)
		mix := func(above, below float64) float64 { return above + share*(below-above) }
		at.X, at.Z = mix(at.X, x), mix(at.Z, at.Z+deep-r/math.Cos(armForward))
		add(at, mix(r/math.Cos(armOut), wide), mix(r*a.deep/math.Cos(armForward), deep))
	}
	up := r3.Scale(-1/length, way)
	for i := 1; i < 6; i++ {
		sin, cos := math.Sincos(math.Pi / 2 * float64(i) / 6)
		add(r3.Add(a.top, r3.Scale(a.rise*sin, up)), upper/math.Cos(armOut)*cos, upper*a.deep/math.Cos(armForward)*cos)
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
