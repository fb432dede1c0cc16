package cutting

import (
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Names of a vent's edges.
const (
	ventEdgeRun = "vent_edge"
	ventTopRun  = "vent_top"
)

// ventRise is how much lower the top of a vent ends than it begins at the seam, as a share of
// its width.
const ventRise = 0.6

// Vent extends an edge that meets the hem, such as the centre back, by a strip high mm high and wide mm wide, with
// a slanted top: both layers of a vent, or its facing. The edge stays above it; the strip's
// edges are vent_edge, which is finished by itself, and vent_top. The edge's lower part
// stays as a line named after the edge.
func Vent(p pattern.Piece, run string, high, wide float64) (pattern.Piece, error) {
	var none pattern.Piece
	e, err := wholeEdge(p, run)
	if err != nil {
		return none, err
	}
	i := p.EdgeIndex(run)
	hem := p.Edges[(i+len(p.Edges)-1)%len(p.Edges)]
	switch {
	case hem.Role == pattern.RoleHem:
	case p.Edges[(i+1)%len(p.Edges)].Role == pattern.RoleHem:
		over := geom.Reflect(geom.Point{}, geom.Pt(0, 1))
		q, err := Vent(p.Move(over), run, high, wide)
		if err != nil {
			return none, err
		}
		return q.Move(over), nil
	default:
		return none, newError(p, run, "it does not meet a hem")
	}
	if err := checkDimensions(p, dimension{"width of the vent", wide, 15, 200},
		dimension{"height of the vent", high, ventRise*wide + 20, e.Path.Length() - 20}); err != nil {
		return none, err
	}
	below, above := e.Path.SplitAt(high)
	out := hem.Path.EndTangent()
	low := below.Start().Add(out.Mul(wide))
	square := below.EndTangent()
	top := below.End().Add(square.Left().Mul(wide)).Sub(square.Mul(ventRise * wide))
	q := p
	q.Edges = slices.Clone(p.Edges)
	q.Edges[i].Path = above
	q.Edges[(i+len(p.Edges)-1)%len(p.Edges)].Path = geom.Join(hem.Path, geom.Polyline(hem.Path.End(), low))
	if e.Role == pattern.RoleFold {
		q.Edges[i].Role = pattern.RoleSeam
		q.Cut = pattern.Cut{Count: 2, Pair: true}
	}
	q.Edges = slices.Insert(q.Edges, i, newEdge(ventEdgeRun, pattern.RoleEdge, geom.Polyline(low, top)),
		newEdge(ventTopRun, pattern.RoleSeam, geom.Polyline(top, below.End())))
	q = repin(q, pinsOf(p))
	if broken := Numbered(q).ValidateOutline(); len(broken) > 0 {
		return none, newError(p, run, "the vent cannot be drawn so: %v", broken[0])
	}
	q.Lines = append(slices.Clip(q.Lines), pattern.Line{Name: run, Path: below})
	return q, nil
}
