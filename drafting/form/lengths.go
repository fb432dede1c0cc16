package form

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/body"
)

// lengthen makes the rows of the trunk, and moves the nape and the bust to where a tape over the
// surface reads what it reads on the body. A garment is drafted to lengths: where heights
// contradict the back length, all that is given above the waist moves by the same amount. The
// height of the bust, unless it is given, follows from the length from the side neck point. The
// bust stands out, and the neck back, as far as the front is long. Lengths of a front that are
// not given are those for which a woman's draft is made; a man's are learned.
func (k *maker) lengthen(b body.Body, woman bool) error {
	k.rows()
	known := func(n body.Name) bool { return b.Given(n) || woman && b.Has(n) }
	bust := known(body.SideNeckToBust) && !b.Given(body.BustHeight)
	front := known(body.FrontWaistLength)
	for range 12 {
		if b.Has(body.NapeToWaist) {
			k.raise(b, b.Value(body.NapeToWaist)-k.backLength())
		}
		if bust {
			k.m[body.BustHeight] -= b.Value(body.SideNeckToBust) - k.neckToBust()
		}
		if err := k.levels(); err != nil {
			return err
		}
		if front {
			k.fuller += b.Value(body.FrontWaistLength) - k.neckToBust() - k.bustToWaist()
			k.fuller = max(-mostFuller, min(mostFuller, k.fuller))
			k.section()
		}
		k.rows()
	}
	return nil
}

// raise moves the nape up, and with it, if its height was given, the given heights between it
// and the waist.
func (k *maker) raise(b body.Body, by float64) {
	k.m[body.NapeHeight] += by
	if !b.Given(body.NapeHeight) {
		return
	}
	for _, n := range []body.Name{body.ArmpitHeight, body.BustHeight} {
		if b.Given(n) {
			k.m[n] += by
		}
	}
}

// A front that is longer than learned shows a bust that stands out more and an upright
// back, a shorter one a flatter bust and a stoop, mm.
const (
	mostFuller = 60.0
	flattest   = 15.0
)

// upright returns how far the neck stands back, mm.
func (k *maker) upright() float64 {
	if k.fuller < 0 {
		return k.fuller
	}
	return k.fuller / 2
}

// bulge moves the front of a level about the bust point.
func (k *maker) bulge(level string, radius []float64) {
	share := map[string]float64{"under_bust": 0.3, "bust": 1, "chest_above": 0.6}[level]
	if share == 0 {
		return
	}
	point := math.Asin(min(1, k.m[body.BustPointWidth]/2/Radius(k.m[body.BustGirth])))
	const width = 0.5 // radians
	for i := range radius {
		off := (angle(i) - point) / width
		radius[i] += share * max(-flattest, k.fuller) / Radius(k.m[body.BustGirth]) * math.Exp(-off*off)
	}
}

// backLength returns what a tape reads from the nape down the back to the waist.
func (k *maker) backLength() float64 {
	return tape(k.m[body.NapeHeight], k.m[body.WaistHeight], func(y float64) float64 { return -k.depth(y, 0, -1) })
}

// neckToBust returns what a tape reads from the side neck point to the bust point.
func (k *maker) neckToBust() float64 {
	bust := r2.Vec{X: k.m[body.BustPointWidth] / 2, Y: k.m[body.BustHeight]}
	return tapeBetween(k.neck, k.placed(2), bust, func(x, y float64) float64 { return k.depth(y, x, 1) })
}

// bustToWaist returns what a tape reads from the bust point down to the waist.
func (k *maker) bustToWaist() float64 {
	x := k.m[body.BustPointWidth] / 2
	return tape(k.m[body.BustHeight], k.m[body.WaistHeight], func(y float64) float64 { return k.depth(y, x, 1) })
}

// tapeRows is the number of parts in which a tape is read.
const tapeRows = 60

// tape returns the length of a tape from one height to another over a surface, out of
// which it is how far at a height. A tape spans hollows.
func tape(from, to float64, out func(y float64) float64) float64 {
	var line []r2.Vec
	for i := range tapeRows + 1 {
		y := from + (to-from)*float64(i)/tapeRows
		line = append(line, r2.Vec{X: from - y, Y: out(y)})
	}
	return spanned(line)
}

// tapeBetween returns the length of a tape from a point at depth z to another over the
// front of a body, (x, y).
func tapeBetween(from r2.Vec, z float64, to r2.Vec, depth func(x, y float64) float64) float64 {
	line := []r2.Vec{{Y: z}}
	way := r2.Sub(to, from)
	for i := 1; i <= tapeRows; i++ {
		s := float64(i) / tapeRows
		p := r2.Add(from, r2.Scale(s, way))
		line = append(line, r2.Vec{X: s * r2.Norm(way), Y: depth(p.X, p.Y)})
	}
	return spanned(line)
}

// spanned returns the length of the upper hull of a line whose x grows (Andrew 1979).
func spanned(line []r2.Vec) float64 {
	var h []r2.Vec
	for _, p := range line {
		for len(h) >= 2 && r2.Cross(r2.Sub(h[len(h)-1], h[len(h)-2]), r2.Sub(p, h[len(h)-2])) >= 0 {
			h = h[:len(h)-1]
		}
		h = append(h, p)
	}
	sum := 0.0
	for i := 1; i < len(h); i++ {
		sum += r2.Norm(r2.Sub(h[i], h[i-1]))
	}
	return sum
}
