package cutting

import (
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Slit marks a cut into a piece, long mm long and square to an edge at mm along it, by a line
// and a drill hole at its end.
func Slit(p pattern.Piece, name string, at Position, long float64) (pattern.Piece, error) {
	e, err := wholeEdge(p, at.Run)
	if err != nil {
		return pattern.Piece{}, err
	}
	if err := checkDimensions(p, dimension{"at", at.At, 0, e.Path.Length()},
		dimension{"length of the slit", long, 10, pattern.MaxReach}); err != nil {
		return pattern.Piece{}, err
	}
	foot := e.Path.At(at.At)
	top := foot.Add(e.Path.TangentAt(at.At).Right().Mul(long))
	if outline := p.Outline(); !outline.Contains(top) {
		_, off, _ := outline.Nearest(top)
		return pattern.Piece{}, newError(p, at.Run, "the %s ends %.1f mm outside the piece", name, off)
	}
	p.Lines = append(slices.Clip(p.Lines), pattern.Line{Name: name, Path: geom.Polyline(foot, top)})
	p.Marks = append(slices.Clip(p.Marks), pattern.Mark{Name: name + "_end", Kind: pattern.MarkDrill, At: top})
	return p, nil
}

// Dimensions of a sleeve's placket, mm (common practice).
const (
	placketTip   = 40 // of the over placket beyond the slit
	placketPoint = 25 // depth of its tip
	placketUnder = 12 // width of the under placket
	placketTurn  = 8  // turned under at the over placket's edges
	placketBound = 6  // and at those of the under placket
)

// Placket returns the two parts that finish a slit in a sleeve: the over placket, wide mm wide
// with a pointed tip above the slit, and the under placket, which binds its back edge. Both are
// folded along a line; their edges are turned under.
func Placket(long, wide float64) (over, under pattern.Piece, err error) {
	named := pattern.Piece{Name: "placket_over"}
	if err = checkDimensions(named, dimension{"length of the slit", long, 60, 300},
		dimension{"width", wide, 15, 50}); err != nil {
		return over, under, err
	}
	high := long + placketTip
	a, b, c := geom.Pt(0, placketPoint), geom.Pt(wide, placketPoint), geom.Pt(2*wide, placketPoint)
	d, e := geom.Pt(2*wide, high), geom.Pt(0, high)
	over = pattern.Piece{Name: "placket_over", Title: "Over placket", Edges: []pattern.Edge{
		newEdge("tip", pattern.RoleEdge, geom.Polyline(a, geom.Pt(wide/2, 0), b)),
		newEdge("shoulder_edge", pattern.RoleEdge, geom.Polyline(b, c)),
		newEdge("right", pattern.RoleEdge, geom.Polyline(c, d)),
		newEdge("hem_bottom", pattern.RoleEdge, geom.Polyline(d, e)),
		newEdge("left", pattern.RoleEdge, geom.Polyline(e, a)),
	}}
	over.Lines = []pattern.Line{{Name: "fold", Path: geom.Polyline(b, geom.Pt(wide, high))}}
	over = GrainAlong(over, geom.Pt(0, 1))
	if under, err = Band("placket_under", "Under placket", long, placketUnder, true); err != nil {
		return over, under, err
	}
	for _, p := range []*pattern.Piece{&over, &under} {
		p.Cut = pattern.Cut{Count: 2, Pair: true}
		turn := map[string]float64{"hem_bottom": 10, "top": placketBound, "bottom": placketBound}
		for i := range p.Edges {
			by, ok := turn[p.Edges[i].Name]
			if !ok {
				by = placketTurn
			}
			p.Edges[i].Role, p.Edges[i].Allowance = pattern.RoleEdge, &by
		}
	}
	return over, under, nil
}
