package cutting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A GussetShape holds the dimensions of a gusset, mm: a diamond in four triangles, whose sides are
// as long as the edges that it is sewn to.
type GussetShape struct {
	Front, Back float64 // of each of the two sides in front and of the two at the back
	Width       float64 // between the corners that lie in the seams
}

// Gusset returns a gusset in one: a diamond with the edges front_left, front_right, back_right and
// back_left, its front at the top.
func Gusset(name, title string, s GussetShape) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 1}}
	if err := checkDimensions(p, append(s.sides(), dimension{"back", s.Back, 20, 500})...); err != nil {
		return p, err
	}
	left, right, front := s.corners()
	_, _, back := GussetShape{Front: s.Back, Width: s.Width}.corners()
	back.Y = -back.Y
	p.Edges = []pattern.Edge{
		newEdge("front_left", pattern.RoleSeam, geom.Polyline(left, front)),
		newEdge("front_right", pattern.RoleSeam, geom.Polyline(front, right)),
		newEdge("back_right", pattern.RoleSeam, geom.Polyline(right, back)),
		newEdge("back_left", pattern.RoleSeam, geom.Polyline(back, left)),
	}
	return GrainAlong(p, geom.Pt(0, 1)), nil
}

// HalfGusset returns the front or the back of a gusset in two, which takes the seam on through its
// base: a triangle with the edges left, right and base. Back is not used.
func HalfGusset(name, title string, s GussetShape) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, Pair: true}}
	if err := checkDimensions(p, s.sides()...); err != nil {
		return p, err
	}
	left, right, front := s.corners()
	p.Edges = []pattern.Edge{
		newEdge("left", pattern.RoleSeam, geom.Polyline(left, front)),
		newEdge("right", pattern.RoleSeam, geom.Polyline(front, right)),
		newEdge("base", pattern.RoleSeam, geom.Polyline(right, left)),
	}
	return GrainAlong(p, geom.Pt(0, 1)), nil
}

func (s GussetShape) sides() []dimension {
	least := s.Front
	if s.Back > 0 {
		least = math.Min(s.Front, s.Back)
	}
	return []dimension{{"front", s.Front, 20, 500}, {"width", s.Width, 20, math.Max(20, 1.9*least)}}
}

// corners returns both ends of the base, and the tip above it.
func (s GussetShape) corners() (left, right, tip geom.Point) {
	half := s.Width / 2
	return geom.Pt(-half, 0), geom.Pt(half, 0), geom.Pt(0, -math.Sqrt(s.Front*s.Front-half*half))
}

// GussetSlit says where a gusset is set into a piece, mm.
type GussetSlit struct {
	At            Position // the middle of the slit's mouth
	Long          float64  // of each side of the slit
	Opening       float64  // of its mouth: both allowances
	First, Second string   // names of what is left of the edge on both sides
}

// slitFilled is the share of a slit's mouth that its allowances fill, so that their edges meet inside it.
const slitFilled = 0.85

// OpenForGusset opens a slit for a gusset in an edge, square to it. Its sides are the edges
// gusset_start, from the mouth to the tip, and gusset_end; their allowances fill the slit, so that it
// is cut along the line gusset_cut. Its tip is marked by a drill hole. The error is a *RoomError if
// the slit does not end inside the piece.
func OpenForGusset(p pattern.Piece, s GussetSlit) (pattern.Piece, error) {
	if _, err := wholeEdge(p, s.At.Run); err != nil {
		return p, err
	}
	n := p.RunLength(s.At.Run)
	if err := checkDimensions(p, dimension{"long", s.Long, 20, 500}, dimension{"opening", s.Opening, 4, 40},
		dimension{"at", s.At.At, s.Opening/2 + 2, math.Max(s.Opening/2+2, n-s.Opening/2-2)}); err != nil {
		return p, err
	}
	q, err := SplitEdge(p, Position{s.At.Run, s.At.At - s.Opening/2}, s.First, "gusset_start")
	if err != nil {
		return p, err
	}
	if q, err = SplitEdge(q, Position{"gusset_start", s.Opening}, "gusset_start", s.Second); err != nil {
		return p, err
	}
	i := q.EdgeIndex("gusset_start")
	from, to := q.Edges[i].Path.Start(), q.Edges[i].Path.End()
	mouth := from.Dist(to)
	middle := from.Lerp(to, 0.5)
	tip := middle.Add(to.Sub(from).Unit().Right().Mul(math.Sqrt(s.Long*s.Long - mouth*mouth/4)))
	outline := p.Outline()
	if _, off, _ := outline.Nearest(tip); !outline.Contains(tip) || off < 10 {
		return p, noRoom("A slit of %.0f mm for a gusset has no room in the %s.", s.Long, words(p.Name))
	}
	half := slitFilled * s.Opening / 2
	start := newEdge("gusset_start", pattern.RoleSeam, geom.Polyline(from, tip))
	end := newEdge("gusset_end", pattern.RoleSeam, geom.Polyline(tip, to))
	start.Allowance, end.Allowance = &half, &half
	q.Edges = slices.Concat(q.Edges[:i], []pattern.Edge{start, end}, q.Edges[i+1:])
	q.Notches = slices.DeleteFunc(q.Notches, func(n pattern.Notch) bool { return n.Edge == "gusset_start" })
	if over := q.Outline().SelfCrossings(); len(over) > 0 {
		return p, noRoom("A slit of %.0f mm for a gusset has no room in the %s.", s.Long, words(p.Name))
	}
	q.Lines = append(slices.Clip(q.Lines), pattern.Line{Name: "gusset_cut", Path: geom.Polyline(middle, tip)})
	q.Marks = append(slices.Clip(q.Marks), pattern.Mark{Name: "gusset_tip", Kind: pattern.MarkDrill,
		At: tip.Add(tip.Sub(middle).Unit().Mul(1))})
	return q, nil
}
