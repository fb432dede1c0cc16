package cutting

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Stand is half a collar stand, on the fold at the centre back: its neck edge
// is neck mm long to the centre front and goes on for the button stand; there
// it has risen by rise mm, so that it lies to the neck. Its edges are top,
// front, neck and centre_back; the neck edge is notched at the centre front.
func Stand(name, title string, neck, button, height, rise float64) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, OnFold: true}}
	if !(neck >= 80 && neck < 600 && button >= 0 && button < 80 && height >= 15 && height < 120 && rise >= 0 && rise < neck/4) {
		return pattern.Piece{}, newError(p, "neck", "half a neck of %.1f mm, button stand %.1f, height %.1f, rise %.1f", neck, button, height, rise)
	}
	lower := risen(neck+button, rise)
	upper := lower.Offset(height, geom.OffsetTol)
	top := upper.Part(0, neck-0.4*button)
	// The front is rounded from the top edge down to the end of the neck edge.
	tip := lower.End()
	corner := top.End()
	u, v := top.EndTangent(), lower.EndTangent().Left()
	k := math.Max(4, 0.55*math.Min(height, corner.Dist(tip)))
	front := geom.Path{geom.Cubic(corner, corner.Add(u.Mul(k*0.6)), tip.Add(v.Mul(k)), tip)}
	p.Edges = []pattern.Edge{
		newEdge("top", pattern.RoleSeam, top),
		newEdge("front", pattern.RoleSeam, front),
		newEdge("neck", pattern.RoleSeam, lower.Reverse()),
		newEdge("centre_back", pattern.RoleFold, geom.Path{geom.Line(lower.Start(), top.Start())}),
	}
	if button > 0 {
		p.Notches = []pattern.Notch{{Edge: "neck", At: button, Kind: pattern.NotchSingle}}
	}
	p.Interfacing = 1
	return GrainAlong(p, geom.Pt(1, 0)), nil
}

// risen is a curve that sets out level to the right and has risen so much at
// its end, of an exact length.
func risen(length, rise float64) geom.Path {
	if rise == 0 {
		return geom.Path{geom.Line(geom.Point{}, geom.Pt(length, 0))}
	}
	run := math.Sqrt(length*length - rise*rise)
	var path geom.Path
	for range 40 {
		slope := 2.2 * rise / run
		end := geom.Pt(run, -rise)
		reach := run * 0.4
		path = geom.Path{geom.Cubic(geom.Point{}, geom.Pt(reach, 0), end.Sub(geom.Pt(1, -slope).Unit().Mul(reach)), end)}
		off := path.Length() - length
		if abs(off) < 1e-7 {
			break
		}
		run -= off
	}
	return path
}

// Collar is half a collar on the fold at the centre back: a neck edge of an
// exact length that falls by drop mm to the front, so that the outer edge is
// longer than it; height at the centre back; and a point so long, leaning out
// by spread degrees. Its edges are outer, front, neck and centre_back.
func Collar(name, title string, neck, height, point, spread, drop float64) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, OnFold: true}}
	if !(neck >= 80 && neck < 600 && height >= 20 && height < 250 && point >= 20 && point < 250 && spread >= -30 && spread <= 60 && drop >= 0 && drop < neck/4) {
		return pattern.Piece{}, newError(p, "neck", "half a neck of %.1f mm, height %.1f, point %.1f, spread %.0f degrees, drop %.1f", neck, height, point, spread, drop)
	}
	lower := risen(neck, drop).Move(geom.Reflect(geom.Point{}, geom.Pt(1, 0)))
	end := lower.End()
	tip := end.Add(geom.Polar(point, -math.Pi/2+spread*math.Pi/180))
	back := geom.Pt(0, -height)
	reach := tip.X / 3
	outer := geom.Path{geom.Cubic(back, back.Add(geom.Pt(reach, 0)), tip.Sub(geom.Pt(reach, (tip.Y-back.Y)/3)), tip)}
	p.Edges = []pattern.Edge{
		newEdge("outer", pattern.RoleSeam, outer),
		newEdge("front", pattern.RoleSeam, geom.Path{geom.Line(tip, end)}),
		newEdge("neck", pattern.RoleSeam, lower.Reverse()),
		newEdge("centre_back", pattern.RoleFold, geom.Path{geom.Line(geom.Point{}, back)}),
	}
	p.Interfacing = 1
	return GrainAlong(p, geom.Pt(1, 0)), nil
}

// PatchPocket is a pocket sewn on: so wide and high, its bottom pointed by
// point mm, its top turned under. Its edges are top, right, bottom and left.
func PatchPocket(name, title string, width, height, point float64) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 1}}
	if !(width >= 40 && width <= 400 && height >= 40 && height <= 500 && point >= 0 && point < height/2) {
		return pattern.Piece{}, newError(p, "", "a pocket %.1f mm wide and %.1f high with a point of %.1f", width, height, point)
	}
	a, b, c, d := geom.Pt(0, 0), geom.Pt(width, 0), geom.Pt(width, height-point), geom.Pt(0, height-point)
	bottom := geom.Polyline(c, geom.Pt(width/2, height), d)
	if point == 0 {
		bottom = geom.Polyline(c, d)
	}
	p.Edges = []pattern.Edge{
		newEdge("top", pattern.RoleHem, geom.Polyline(a, b)),
		newEdge("right", pattern.RoleEdge, geom.Polyline(b, c)),
		newEdge("bottom", pattern.RoleEdge, bottom),
		newEdge("left", pattern.RoleEdge, geom.Polyline(d, a)),
	}
	return GrainAlong(p, geom.Pt(0, 1)), nil
}

// PocketBag is one side of a pocket set into a seam: its opening is so long,
// and it reaches width mm into the garment and depth mm below the opening. Its
// edges are bag, sewn to the other bag, and opening.
func PocketBag(name, title string, opening, width, depth float64) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 4, Pair: true}}
	if !(opening >= 80 && opening <= 300 && width >= 80 && width <= 300 && depth >= 20 && depth <= 250) {
		return pattern.Piece{}, newError(p, "opening", "a bag for an opening of %.1f mm, %.1f wide, %.1f below it", opening, width, depth)
	}
	low := opening + depth
	bag, err := geom.Spline([]geom.Point{
		{X: 0, Y: 0}, {X: 0.62 * width, Y: 0.12 * opening}, {X: width, Y: 0.62 * low}, {X: 0.62 * width, Y: low}, {X: 0, Y: opening},
	}, geom.Pt(1, 0), geom.Pt(-1, -0.45).Unit(), 1)
	if err != nil {
		return pattern.Piece{}, err
	}
	p.Edges = []pattern.Edge{
		newEdge("bag", pattern.RoleSeam, bag),
		newEdge("opening", pattern.RoleSeam, geom.Polyline(geom.Pt(0, opening), geom.Pt(0, 0))),
	}
	return GrainAlong(p, geom.Pt(0, 1)), nil
}
