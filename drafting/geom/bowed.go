package geom

// Bowed returns the curve from p0, leaving along d0, to p3, arriving along d3,
// that bows from the straight line between its ends by bow times the line's
// length: 0.207 for a quarter of a circle. Both handles are the same share, from
// lo to hi, of the way to where the tangents meet; the curve is flatter or
// fuller if these limits require it. ok is false if the tangents do not meet
// ahead of both ends.
func Bowed(p0, d0, p3, d3 Point, bow, lo, hi float64) (s Segment, ok bool) {
	meet, a, b, ok := MeetLines(p0, d0, p3, d3)
	if !ok || a <= 0 || b >= 0 {
		return Line(p0, p3), false
	}
	chord := p3.Sub(p0)
	height := chord.Cross(meet.Sub(p0)) / chord.Norm()
	// The curve is 3/4 of its handles' distance from the line.
	share := min(max(bow*chord.Norm()/(0.75*max(height, -height)), lo), hi)
	return Cubic(p0, p0.Lerp(meet, share), p3.Lerp(meet, share), p3), true
}
