package geom

import "math"

// Box is an upright rectangle. The zero Box is the origin; start from BoxOf
// or EmptyBox.
type Box struct{ Min, Max Point }

// EmptyBox returns the box without points. It grows by With and Union.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Point{inf, inf}, Point{-inf, -inf}}
}

// BoxOf returns the smallest box that holds the points.
func BoxOf(points ...Point) Box {
	b := EmptyBox()
	for _, p := range points {
		b = b.With(p)
	}
	return b
}

// With returns b grown to hold p.
func (b Box) With(p Point) Box {
	return Box{
		Point{min(b.Min.X, p.X), min(b.Min.Y, p.Y)},
		Point{max(b.Max.X, p.X), max(b.Max.Y, p.Y)},
	}
}

// Union returns the smallest box that holds both.
func (b Box) Union(c Box) Box {
	return Box{
		Point{min(b.Min.X, c.Min.X), min(b.Min.Y, c.Min.Y)},
		Point{max(b.Max.X, c.Max.X), max(b.Max.Y, c.Max.Y)},
	}
}

// Grow returns b with every side moved out by d.
func (b Box) Grow(d float64) Box {
	return Box{Point{b.Min.X - d, b.Min.Y - d}, Point{b.Max.X + d, b.Max.Y + d}}
}

// Move returns b shifted by v.
func (b Box) Move(v Point) Box { return Box{b.Min.Add(v), b.Max.Add(v)} }

// Overlaps reports whether the boxes share a point.
func (b Box) Overlaps(c Box) bool {
	return b.Min.X <= c.Max.X && c.Min.X <= b.Max.X && b.Min.Y <= c.Max.Y && c.Min.Y <= b.Max.Y
}

// Contains reports whether p lies in b or on its sides.
func (b Box) Contains(p Point) bool {
	return p.X >= b.Min.X && p.X <= b.Max.X && p.Y >= b.Min.Y && p.Y <= b.Max.Y
}

// Holds reports whether c lies in b. It may touch the sides.
func (b Box) Holds(c Box) bool { return b.Contains(c.Min) && b.Contains(c.Max) }

// Empty reports whether b holds no point.
func (b Box) Empty() bool { return b.Min.X > b.Max.X || b.Min.Y > b.Max.Y }

// Width returns the length of b along x, mm.
func (b Box) Width() float64 { return b.Max.X - b.Min.X }

// Height returns the length of b along y, mm.
func (b Box) Height() float64 { return b.Max.Y - b.Min.Y }

// Centre returns the middle of b.
func (b Box) Centre() Point { return b.Min.Lerp(b.Max, 0.5) }
