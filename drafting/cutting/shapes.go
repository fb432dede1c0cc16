package cutting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A dimension is a measure of a shape, with its limits, mm.
type dimension struct {
	name            string
	value, min, max float64
}

// checkDimensions returns an error that names every dimension outside its
// limits.
func checkDimensions(p pattern.Piece, all ...dimension) error {
	var wrong []string
	for _, d := range all {
		if !(d.value >= d.min && d.value <= d.max) {
			wrong = append(wrong, fmt.Sprintf("%s %.1f mm; must be from %g to %g mm", d.name, d.value, d.min, d.max))
		}
	}
	if len(wrong) > 0 {
		return newError(p, "", "%s", strings.Join(wrong, ", "))
	}
	return nil
}

// Rectangle returns a straight piece: a band, cuff, belt or binding, its length
// across the paper. Its edges are top, end, bottom and start, clockwise from
// the top left corner.
func Rectangle(name, title string, length, width float64) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 1}}
	if err := checkDimensions(p, dimension{"length", length, 5, pattern.MaxReach},
		dimension{"width", width, 5, pattern.MaxReach}); err != nil {
		return pattern.Piece{}, err
	}
	p.Edges = rectangle(length, width, "top", "end", "bottom", "start")
	return GrainAlong(p, geom.Pt(1, 0)), nil
}

// rectangle returns the edges of a straight piece, clockwise from the top left corner.
func rectangle(across, down float64, top, right, bottom, left string) []pattern.Edge {
	a, b, c, d := geom.Pt(0, 0), geom.Pt(across, 0), geom.Pt(across, down), geom.Pt(0, down)
	return []pattern.Edge{
		newEdge(top, pattern.RoleSeam, geom.Polyline(a, b)),
		newEdge(right, pattern.RoleSeam, geom.Polyline(b, c)),
		newEdge(bottom, pattern.RoleSeam, geom.Polyline(c, d)),
		newEdge(left, pattern.RoleSeam, geom.Polyline(d, a)),
	}
}

// foldAlong draws a fold along a band at y, notched at the edges of both ends.
// The grain is drawn above it, where it does not hide it.
func foldAlong(p *pattern.Piece, y, length float64) {
	p.Lines = []pattern.Line{{Name: "fold", Path: geom.Polyline(geom.Pt(0, y), geom.Pt(length, y))}}
	p.Grain = geom.Line(geom.Pt(0.15*length, 0.5*y), geom.Pt(0.85*length, 0.5*y))
}

// Band returns a rectangle. A doubled band is twice as wide, with its fold drawn
// along the middle and notched at both ends.
func Band(name, title string, length, width float64, doubled bool) (pattern.Piece, error) {
	if !doubled {
		return Rectangle(name, title, length, width)
	}
	p, err := Rectangle(name, title, length, 2*width)
	if err != nil {
		return pattern.Piece{}, err
	}
	foldAlong(&p, width, length)
	p.Notches = []pattern.Notch{
		{Edge: "end", At: width, Kind: pattern.NotchSingle}, {Edge: "start", At: width, Kind: pattern.NotchSingle},
	}
	return p, nil
}

// A BandPart is a named part of a band, Length mm of it that are sewn to one
// edge.
type BandPart struct {
	Name   string
	Length float64
}

// Waistband returns a doubled band as it lies unrolled, right side up, depth mm
// deep when it is folded. Its top edge is on the inside; its lower edge falls
// into the parts that are sewn to the garment, from the right end to the left,
// and an underlap at the left end. Its edges are top, end, the parts, underlap
// and start.
func Waistband(name, title string, depth, underlap float64, parts []BandPart) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 1}, Interfacing: 1,
		Notes: []string{"Fold along the middle."}}
	limits := []dimension{{"depth", depth, 10, 200}, {"underlap", underlap, 5, 300}}
	whole := underlap
	for _, s := range parts {
		limits = append(limits, dimension{s.Name, s.Length, 5, pattern.MaxReach})
		whole += s.Length
	}
	if err := checkDimensions(p, append(limits, dimension{"length", whole, 5, pattern.MaxReach})...); err != nil {
		return pattern.Piece{}, err
	}
	parts = append(slices.Clip(parts), BandPart{"underlap", underlap})
	p.Edges = []pattern.Edge{
		newEdge("top", pattern.RoleEdge, geom.Polyline(geom.Pt(0, 0), geom.Pt(whole, 0))),
		newEdge("end", pattern.RoleEdge, geom.Polyline(geom.Pt(whole, 0), geom.Pt(whole, 2*depth))),
	}
	x := whole
	for _, s := range parts {
		lower := geom.Polyline(geom.Pt(x, 2*depth), geom.Pt(x-s.Length, 2*depth))
		p.Edges = append(p.Edges, newEdge(s.Name, pattern.RoleSeam, lower))
		x -= s.Length
	}
	last := &p.Edges[len(p.Edges)-1]
	last.Role, last.Path = pattern.RoleEdge, last.Path.MoveEnd(geom.Pt(0, 2*depth))
	p.Edges = append(p.Edges, newEdge("start", pattern.RoleEdge, geom.Polyline(geom.Pt(0, 2*depth), geom.Pt(0, 0))))
	foldAlong(&p, depth, whole)
	return p, nil
}

// StandShape holds the dimensions of half a collar stand, mm.
type StandShape struct {
	Neck   float64 // half the neck, to the centre front
	Button float64 // of the button stand beyond it
	Height float64
	Rise   float64 // of the neck edge to its end, so that the stand lies to the neck
}

// Stand returns half a collar stand, on the fold at the centre back. Its edges
// are top, front, neck and centre_back; the neck edge is notched at the centre
// front.
func Stand(name, title string, s StandShape) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, OnFold: true}, Interfacing: 1}
	if err := checkDimensions(p, dimension{"half the neck", s.Neck, 80, 600}, dimension{"button stand", s.Button, 0, 80},
		dimension{"height", s.Height, 15, 120}, dimension{"rise", s.Rise, 0, s.Neck / 4}); err != nil {
		return pattern.Piece{}, err
	}
	lower := risingCurve(s.Neck+s.Button, s.Rise)
	upper := lower.Offset(s.Height, geom.OffsetTol)
	top := upper.Part(0, s.Neck-0.4*s.Button)
	// The front is rounded from the top edge down to the end of the neck edge.
	tip := lower.End()
	corner := top.End()
	u, v := top.EndTangent(), lower.EndTangent().Left()
	k := math.Max(4, 0.55*math.Min(s.Height, corner.Dist(tip)))
	front := geom.Path{geom.Cubic(corner, corner.Add(u.Mul(k*0.6)), tip.Add(v.Mul(k)), tip)}
	p.Edges = []pattern.Edge{
		newEdge("top", pattern.RoleSeam, top),
		newEdge("front", pattern.RoleSeam, front),
		newEdge("neck", pattern.RoleSeam, lower.Reverse()),
		newEdge("centre_back", pattern.RoleFold, geom.Polyline(lower.Start(), top.Start())),
	}
	if s.Button > 0 {
		p.Notches = []pattern.Notch{{Edge: "neck", At: s.Button, Kind: pattern.NotchSingle}}
	}
	return GrainAlong(p, geom.Pt(1, 0)), nil
}

// risingCurve returns a curve of an exact length that leaves level to the right
// and has risen by rise mm at its end.
func risingCurve(length, rise float64) geom.Path {
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
		if math.Abs(off) < 1e-7 {
			break
		}
		run -= off
	}
	return path
}

// CollarShape holds the dimensions of half a collar, mm.
type CollarShape struct {
	Neck   float64 // half the neck
	Height float64 // at the centre back
	Point  float64 // length of the front edge
	Spread float64 // lean of the front edge outward, degrees
	Drop   float64 // of the neck edge to the front: makes the outer edge longer
}

// Collar returns half a collar on the fold at the centre back, with a neck edge
// of an exact length. Its edges are outer, front, neck and centre_back.
func Collar(name, title string, s CollarShape) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, OnFold: true}, Interfacing: 1}
	if err := checkDimensions(p, dimension{"half the neck", s.Neck, 80, 600}, dimension{"height", s.Height, 20, 250},
		dimension{"point", s.Point, 20, 250}, dimension{"drop", s.Drop, 0, s.Neck / 4}); err != nil {
		return pattern.Piece{}, err
	}
	if !(s.Spread >= -30 && s.Spread <= 60) {
		return pattern.Piece{}, newError(p, "", "spread %.0f degrees; must be from -30 to 60 degrees", s.Spread)
	}
	lower := risingCurve(s.Neck, s.Drop).Move(geom.Reflect(geom.Point{}, geom.Pt(1, 0)))
	end := lower.End()
	tip := end.Add(geom.Polar(s.Point, -math.Pi/2+s.Spread*math.Pi/180))
	back := geom.Pt(0, -s.Height)
	reach := tip.X / 3
	outer := geom.Cubic(back, back.Add(geom.Pt(reach, 0)), tip.Sub(geom.Pt(reach, (tip.Y-back.Y)/3)), tip)
	p.Edges = []pattern.Edge{
		newEdge("outer", pattern.RoleSeam, geom.Path{outer}),
		newEdge("front", pattern.RoleSeam, geom.Polyline(tip, end)),
		newEdge("neck", pattern.RoleSeam, lower.Reverse()),
		newEdge("centre_back", pattern.RoleFold, geom.Polyline(geom.Point{}, back)),
	}
	return GrainAlong(p, geom.Pt(1, 0)), nil
}

// PatchPocket returns a pocket that is sewn on, with its bottom pointed by point
// mm and its top turned under. Its edges are top, right, bottom and left.
func PatchPocket(name, title string, width, height, point float64) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 1}}
	if err := checkDimensions(p, dimension{"width", width, 40, 400}, dimension{"height", height, 40, 500},
		dimension{"point", point, 0, height/2 - 0.1}); err != nil {
		return pattern.Piece{}, err
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

// PocketBag returns one side of a pocket set into a seam. It reaches width mm
// into the garment and depth mm below the opening. Its edges are bag, sewn to
// the other bag, and opening, sewn to the allowance of the seam.
func PocketBag(name, title string, opening, width, depth float64) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 4, Pair: true}}
	if err := checkDimensions(p, dimension{"opening", opening, 80, 300}, dimension{"width", width, 80, 300},
		dimension{"depth", depth, 20, 250}); err != nil {
		return pattern.Piece{}, err
	}
	low := opening + depth
	bag, err := geom.Spline([]geom.Point{
		{X: 0, Y: 0}, {X: 0.62 * width, Y: 0.12 * opening}, {X: width, Y: 0.62 * low}, {X: 0.62 * width, Y: low}, {X: 0,
			Y: opening},
	}, geom.Pt(1, 0), geom.Pt(-1, -0.45).Unit(), 1)
	if err != nil {
		return pattern.Piece{}, err
	}
	p.Edges = []pattern.Edge{
		newEdge("bag", pattern.RoleSeam, bag),
		newEdge("opening", pattern.RoleEdge, geom.Polyline(geom.Pt(0, opening), geom.Pt(0, 0))),
	}
	return GrainAlong(p, geom.Pt(0, 1)), nil
}
