package cutting

import (
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// mostGathered is the most times that a panel is as wide as the edge to which it is
// gathered.
const mostGathered = 6.0

// Panel returns half a straight panel, its centre on the left, to gather to an edge of a
// piece: times as wide as the edge, its darts closed, and length mm long.
func Panel(p pattern.Piece, run, name, title string, times, length float64) (pattern.Piece, error) {
	if err := checkRun(p, run); err != nil {
		return pattern.Piece{}, err
	}
	if !(times >= 1 && times <= mostGathered) {
		return pattern.Piece{}, newError(p, run, "a panel %g times as wide; want 1 to %g times", times, mostGathered)
	}
	wide := times * p.RunLength(run)
	q := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, Pair: true}}
	if err := checkDimensions(q, dimension{"width", wide, 5, pattern.MaxReach},
		dimension{"length", length, 5, pattern.MaxReach}); err != nil {
		return pattern.Piece{}, err
	}
	q.Edges = rectangle(wide, length, "top", "side", "hem", "centre")
	q.Edges[q.EdgeIndex("hem")].Role = pattern.RoleHem
	return GrainAlong(q, geom.Pt(0, 1)), nil
}

// bindingShorter is the share by which a bias binding is cut shorter than the edge that it binds,
// so that it lies flat (common practice: 2 to 5 %).
const bindingShorter = 0.03

// bindingEnds is added to the length of a binding, mm: its ends are joined or turned in.
const bindingEnds = 20.0

// Binding returns the bias strip that binds an edge of a front and a back, on one side
// of the body or round both. Its edges are finished by binding.
func Binding(front, back pattern.Piece, run, name, title string, width float64, round bool) (pattern.Piece, error) {
	long := 0.0
	for _, p := range []pattern.Piece{front, back} {
		if err := checkRun(p, run); err != nil {
			return pattern.Piece{}, err
		}
		long += p.RunLength(run)
	}
	if round {
		long *= 2
	}
	p, err := Rectangle(name, title, (1-bindingShorter)*long+bindingEnds, width)
	if err != nil {
		return pattern.Piece{}, err
	}
	if !round {
		p.Cut.Count = 2
	}
	for i := range p.Edges {
		p.Edges[i].Role = pattern.RoleEdge
	}
	return GrainAlong(p, geom.Pt(1, 1)), nil
}
