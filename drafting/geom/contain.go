package geom

// Contains reports whether q lies inside the path, which may run in either sense
// (the winding number is not zero; a straight line closes an open path). A point
// on the outline, within rounding errors, may count as either.
func (p Path) Contains(q Point) bool { return p.Winding(q) != 0 }

// Winding returns the number of times that the path goes clockwise around q.
func (p Path) Winding(q Point) int {
	if len(p) == 0 {
		return 0
	}
	// A ray runs from q to +x. Each part starts at the end of the part before, so
	// that a join counts once however it is rounded.
	n, from := 0, p[0].P0
	for i := range p {
		n += p[i].winding(q, from)
		from = p[i].P3
	}
	return n + windingLine(q, from, p[0].P0)
}

// winding returns what the segment adds to the winding number about q if it
// started at from.
func (s *Segment) winding(q, from Point) int {
	if s.Straight {
		return windingLine(q, from, s.P3)
	}
	h := s.hull()
	h = h.With(from)
	switch {
	case q.Y < h.Min.Y || q.Y > h.Max.Y || q.X > h.Max.X:
		return 0
	case q.X < h.Min.X:
		return passes(q.Y, from.Y, s.P3.Y)
	}
	c := [4]float64{from.Y - q.Y, s.P1.Y - q.Y, s.P2.Y - q.Y, s.P3.Y - q.Y}
	n := 0
	m := monotone(&c)
	for i := range m.n {
		step := passes(0, m.v[i], m.v[i+1])
		if step != 0 && s.At(bracketedRoot(&c, m.t[i], m.t[i+1], m.v[i])).X > q.X {
			n += step
		}
	}
	return n
}

// passes returns 1 if the way from y0 to y1 passes y downwards and -1 if it passes
// y upwards: to the right of a point, downwards is clockwise around it.
func passes(y, y0, y1 float64) int {
	switch {
	case y0 <= y && y < y1:
		return 1
	case y1 <= y && y < y0:
		return -1
	}
	return 0
}

// windingLine returns what the line from a to b adds to the winding number about
// q.
func windingLine(q, a, b Point) int {
	step := passes(q.Y, a.Y, b.Y)
	if step == 0 {
		return 0
	}
	// q is left of the line where the cross product says so for that sense.
	if b.Sub(a).Cross(q.Sub(a))*float64(step) > 0 {
		return step
	}
	return 0
}
