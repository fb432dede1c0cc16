package geom

import (
	"math"
	"math/rand/v2"
	"os"
)

// sampled returns how many seeds a slow test tries: few, or all of them with
// TAPELINE_WHOLE=1.
func sampled(few, all uint64) uint64 {
	if os.Getenv("TAPELINE_WHOLE") == "1" {
		return all
	}
	return few
}

// Curves for the property tests, made from a seed so that a failure can be
// repeated.

func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x7a9e)) }

// anyCubic returns a cubic with four arbitrary points within size mm: loops, cusps
// and folds included.
func anyCubic(r *rand.Rand, size float64) Segment {
	pt := func() Point { return Pt(size*r.Float64(), size*r.Float64()) }
	return Cubic(pt(), pt(), pt(), pt())
}

// anyPath returns n segments end to end, some straight, with corners.
func anyPath(r *rand.Rand, n int, size float64) Path {
	var p Path
	at := Pt(size*r.Float64(), size*r.Float64())
	for range n {
		s := anyCubic(r, size)
		if r.IntN(3) == 0 {
			s = Line(at, s.P3)
		}
		s.P0 = at
		p, at = append(p, s), s.P3
	}
	return p
}

// seam returns a run as a cutter draws one: n smooth curves, each turning by less
// than a quarter, joined with or without corners of up to most radians.
func seam(r *rand.Rand, n int, most float64) Path {
	var p Path
	at, dir := Pt(0, 0), 2*math.Pi*r.Float64()
	for range n {
		turn := (r.Float64() - 0.5) * 2
		long := 20 + 150*r.Float64()
		end := at.Add(Polar(long, dir+turn/2))
		if r.IntN(4) == 0 {
			p = append(p, Line(at, at.Add(Polar(long, dir))))
			turn, end = 0, p[len(p)-1].P3
		} else {
			p = append(p, Cubic(at, at.Add(Polar(long*(0.25+0.15*r.Float64()), dir)),
				end.Sub(Polar(long*(0.25+0.15*r.Float64()), dir+turn)), end))
		}
		at, dir = end, dir+turn
		if most > 0 {
			dir += (r.Float64()*2 - 1) * most
		}
	}
	return p
}

// armhole returns the outline of a back armhole in shape: down from the shoulder,
// into a tight hollow of about the radius given, out along the underarm.
func armhole(radius float64) Path {
	const k = 0.5522847498 // a quarter circle's handles
	a, b := Pt(20, 0), Pt(0, 150)
	c, d := Pt(radius, 150+radius), Pt(radius+60, 150+radius-2)
	return Path{
		Cubic(a, Pt(5, 50), Pt(0, 100), b),
		Cubic(b, Pt(0, 150+k*radius), Pt(radius-k*radius, 150+radius), c),
		Cubic(c, c.Add(Pt(20, 0)), Pt(radius+40, 150+radius), d),
	}
}

// circle returns n equal arcs clockwise as seen, each a cubic with the handles
// 4/3·tan(θ/4).
func circle(c Point, radius float64, n int) Path {
	p := make(Path, n)
	step := 2 * math.Pi / float64(n)
	for i := range p {
		p[i] = arc(c, radius, float64(i)*step, float64(i+1)*step)
	}
	p[n-1].P3 = p[0].P0
	return p
}

func arc(c Point, radius, from, to float64) Segment {
	h := 4.0 / 3 * math.Tan((to-from)/4) * radius
	a, b := c.Add(Polar(radius, from)), c.Add(Polar(radius, to))
	return Cubic(a, a.Add(Polar(h, from+math.Pi/2)), b.Sub(Polar(h, to+math.Pi/2)), b)
}

// rectangle returns walked clockwise from its top left corner.
func rectangle(x0, y0, x1, y1 float64) Path {
	return Polyline(Pt(x0, y0), Pt(x1, y0), Pt(x1, y1), Pt(x0, y1), Pt(x0, y0))
}

// sample calls f at n+1 even places on every segment.
func sample(p Path, n int, f func(i int, t float64, at Point)) {
	for i, s := range p {
		for k := 0; k <= n; k++ {
			t := float64(k) / float64(n)
			f(i, t, s.At(t))
		}
	}
}

// minRadius returns the smallest radius of curvature found at even parameters.
func minRadius(p Path) float64 {
	sharpest := 0.0
	sample(p, 128, func(i int, t float64, _ Point) {
		d := p[i].Deriv(t)
		if k := math.Abs(d.Cross(p[i].Second(t))) / math.Pow(d.Norm(), 3); k > sharpest {
			sharpest = k
		}
	})
	return 1 / sharpest
}
