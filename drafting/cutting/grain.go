package cutting

import (
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// FitGrain returns the piece with its grain line moved inside the outline, in
// its direction, if it does not lie there.
func FitGrain(p pattern.Piece) pattern.Piece {
	p.Grain = fitGrain(p, p.Grain)
	return p
}

// GrainAlong returns the piece with its grain along a direction.
func GrainAlong(p pattern.Piece, u geom.Point) pattern.Piece {
	c := p.Outline().Bounds().Centre()
	p.Grain = fitGrain(p, geom.Line(c.Sub(u.Unit().Mul(pattern.MaxReach)), c.Add(u.Unit().Mul(pattern.MaxReach))))
	return p
}

// GrainThrough returns the piece with its grain along a direction through a
// point inside it.
func GrainThrough(p pattern.Piece, u, at geom.Point) pattern.Piece {
	outline := p.Outline()
	reach := u.Unit().Mul(pattern.MaxReach)
	line := geom.Path{geom.Line(at.Sub(reach), at.Add(reach))}
	for _, run := range line.ClipTo(outline) {
		s := run[0]
		if n := s.Length(); n > 0 && s.P0.Dist(at)+s.P3.Dist(at) < n+geom.JoinTol {
			in := max(0.15*n, (n-400)/2)
			p.Grain = geom.Line(s.At(in/n), s.At(1-in/n))
		}
	}
	return p
}

// fitGrain returns the grain line as it is if it lies in the piece, otherwise
// in its direction along the longest run through the middle.
func fitGrain(p pattern.Piece, g geom.Segment) geom.Segment {
	outline := p.Outline()
	if g.P0 != g.P3 && outline.Contains(g.P0) && outline.Contains(g.P3) && len(geom.Path{g}.Crossings(outline)) == 0 {
		return g
	}
	u := g.P3.Sub(g.P0).Unit()
	if u == (geom.Point{}) {
		u = geom.Pt(0, 1)
	}
	box := outline.Bounds()
	reach := box.Width() + box.Height()
	best := geom.Segment{}
	for _, f := range [...]float64{0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8} {
		across := u.Left()
		lo, hi := spanAlong(outline, across)
		at := box.Centre()
		at = at.Add(across.Mul(lo + f*(hi-lo) - at.Dot(across)))
		line := geom.Path{geom.Line(at.Sub(u.Mul(reach)), at.Add(u.Mul(reach)))}
		for _, run := range line.ClipTo(outline) {
			if s := run[0]; s.Length() > 1.15*best.Length() {
				best = s
			}
		}
	}
	if best.P0 == best.P3 {
		return g
	}
	n := best.Length()
	in := max(0.15*n, (n-400)/2)
	return geom.Line(best.At(in/n), best.At(1-in/n))
}

// spanAlong returns the range of an outline in a direction, mm.
func spanAlong(outline geom.Path, u geom.Point) (lo, hi float64) {
	lo, hi = pattern.MaxReach, -pattern.MaxReach
	for _, q := range outline.Flatten(1) {
		d := q.Dot(u)
		lo, hi = min(lo, d), max(hi, d)
	}
	return lo, hi
}
