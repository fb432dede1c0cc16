package geom

import "slices"

// ClipToBox returns the parts of the segment inside the box or on its sides, in
// the order of travel. Curves stay curves.
func (s Segment) ClipToBox(b Box) []Segment { return s.AppendClipped(nil, b) }

// AppendClipped appends to dst the parts of the segment inside the box. It
// allocates only to extend dst.
func (s Segment) AppendClipped(dst []Segment, b Box) []Segment {
	h := s.hull()
	switch {
	case !h.Overlaps(b):
		return dst
	case b.Holds(h):
		return append(dst, s)
	case s.Straight:
		return s.appendLineClipped(dst, b)
	}
	// Cut at every side and keep the parts whose middle is inside.
	var cuts [14]float64
	n := 1
	for _, side := range [...]struct{ lo, hi, edge, a, b, c, d float64 }{
		{h.Min.X, h.Max.X, b.Min.X, s.P0.X, s.P1.X, s.P2.X, s.P3.X},
		{h.Min.X, h.Max.X, b.Max.X, s.P0.X, s.P1.X, s.P2.X, s.P3.X},
		{h.Min.Y, h.Max.Y, b.Min.Y, s.P0.Y, s.P1.Y, s.P2.Y, s.P3.Y},
		{h.Min.Y, h.Max.Y, b.Max.Y, s.P0.Y, s.P1.Y, s.P2.Y, s.P3.Y},
	} {
		if !(side.lo < side.edge && side.edge < side.hi) {
			continue
		}
		r := cubicRoots([4]float64{side.a - side.edge, side.b - side.edge, side.c - side.edge, side.d - side.edge}, 0)
		for _, t := range r.t[:r.n] {
			if n < len(cuts)-1 {
				cuts[n] = t
				n++
			}
		}
	}
	slices.Sort(cuts[1:n])
	cuts[n] = 1
	for i := 0; i < n; {
		t0, t1 := cuts[i], cuts[i+1]
		i++
		if t1-t0 <= 1e-12 || !b.Contains(s.At((t0+t1)/2)) {
			continue
		}
		for i < n && (cuts[i+1]-cuts[i] <= 1e-12 || b.Contains(s.At((cuts[i]+cuts[i+1])/2))) {
			t1 = cuts[i+1]
			i++
		}
		part := s.Part(t0, t1)
		part.P0, part.P3 = b.clamp(part.P0), b.clamp(part.P3)
		dst = append(dst, part)
	}
	return dst
}

// appendLineClipped clips a line by the method of Liang and Barsky (A new concept
// and method for line clipping, 1984).
func (s Segment) appendLineClipped(dst []Segment, b Box) []Segment {
	d := s.P3.Sub(s.P0)
	t0, t1 := 0.0, 1.0
	for _, side := range [...]struct{ d, room float64 }{
		{-d.X, s.P0.X - b.Min.X}, {d.X, b.Max.X - s.P0.X},
		{-d.Y, s.P0.Y - b.Min.Y}, {d.Y, b.Max.Y - s.P0.Y},
	} {
		switch t := side.room / side.d; {
		case side.d == 0:
			if side.room < 0 {
				return dst
			}
		case side.d < 0:
			t0 = max(t0, t)
		default:
			t1 = min(t1, t)
		}
	}
	if !(t0 < t1) {
		return dst
	}
	return append(dst, Line(b.clamp(s.At(t0)), b.clamp(s.At(t1))))
}

// clamp returns the point of the box nearest to p.
func (b Box) clamp(p Point) Point {
	return Point{max(b.Min.X, min(b.Max.X, p.X)), max(b.Min.Y, min(b.Max.Y, p.Y))}
}
