package cutting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// maxDrop is the largest share of its length by which cloth on the bias is taken to grow.
// Half of it is much already (common practice: 2 to 5 per cent).
const maxDrop = 0.2

// dropSpots is the number of spots of a hem at which its drop is worked out.
const dropSpots = 12

// BiasDrop shortens a hem by what its cloth grows longer while it hangs. On the true bias
// that is a share of the length below a level line of the piece, along and across the
// grain nothing, and between them the share times the square of the sine of twice the angle
// between grain and hang: cloth that only shears, as woven cloth nearly does, stretches by
// that rule (textbook mechanics of thin sheets, from memory). Each spot of the hem hangs square to it. No dart
// may open in the hem.
func BiasDrop(p pattern.Piece, hem string, share float64, below string) (pattern.Piece, error) {
	if !(share >= 0 && share <= maxDrop) {
		return pattern.Piece{}, newError(p, hem, "drops by a share of %.3f; must be from 0 to %g", share, maxDrop)
	}
	e, err := wholeEdge(p, hem)
	if err != nil {
		return pattern.Piece{}, err
	}
	i := slices.IndexFunc(p.Lines, func(l pattern.Line) bool { return l.Name == below })
	if i < 0 {
		return pattern.Piece{}, newError(p, hem, "the piece has no line %q to drop from", below)
	}
	grain := p.Grain.P3.Sub(p.Grain.P0)
	if grain.Norm() == 0 {
		return pattern.Piece{}, newError(p, hem, "the piece has no grain, which says where the cloth lies on the bias")
	}
	if share == 0 {
		return p, nil
	}
	from := p.Lines[i].Path
	points := make([]geom.Point, dropSpots+1)
	drops := make([]float64, dropSpots+1)
	length := e.Path.Length()
	for k := range points {
		along := length * float64(k) / dropSpots
		at, in := e.Path.At(along), e.Path.TangentAt(along).Right()
		top, hangs, _ := from.Nearest(at)
		if at.Sub(top).Dot(in) >= 0 {
			return pattern.Piece{}, newError(p, hem, "it lies %.1f mm above the %s line; it must lie below it", hangs, below)
		}
		drops[k] = share * hangs * math.Pow(math.Sin(2*geom.AngleBetween(grain, in)), 2)
		points[k] = at.Add(in.Mul(drops[k]))
	}
	n, at := len(p.Edges), p.EdgeIndex(hem)
	before, after := p.Edges[(at+n-1)%n], p.Edges[(at+1)%n]
	if points[0], err = moveEnd(p, before.Path, drops[0], before.Name); err != nil {
		return pattern.Piece{}, err
	}
	if points[dropSpots], err = moveEnd(p, after.Path.Reverse(), drops[dropSpots], after.Name); err != nil {
		return pattern.Piece{}, err
	}
	risen, err := geom.Spline(points, e.Path.StartTangent(), e.Path.EndTangent(), 1)
	if err != nil {
		return pattern.Piece{}, newError(p, hem, "can't be drawn again: %v", err)
	}
	return Redraw(p, []string{hem}, []geom.Path{risen})
}

// Godet returns a sector of a circle to set into a slit: its radius is the length of the
// slit, its arc the width that it adds to the hem. Its edges are left and right, which
// meet at the top of the slit, and hem.
func Godet(name, title string, slit, width float64) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 1}}
	if err := checkDimensions(p, dimension{"slit", slit, 50, 1500}); err != nil {
		return pattern.Piece{}, err
	}
	if err := checkDimensions(p, dimension{"width", width, 20, math.Floor(math.Pi * slit)}); err != nil {
		return pattern.Piece{}, err
	}
	half := width / slit / 2 // radians to each side of straight down
	arc := geom.Arc(geom.Point{}, slit, math.Pi/2-half, math.Pi/2+half)
	p.Edges = []pattern.Edge{
		newEdge("right", pattern.RoleSeam, geom.Polyline(geom.Point{}, arc.Start())),
		newEdge("hem", pattern.RoleHem, arc),
		newEdge("left", pattern.RoleSeam, geom.Polyline(arc.End(), geom.Point{})),
	}
	return GrainAlong(p, geom.Pt(0, 1)), nil
}
