package pattern

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// goesOn is the inner angle in radians over which an edge carries the one before
// it on instead of crossing its end.
const goesOn = 150 * math.Pi / 180

// straight is the inner angle in radians from which two edges lie on one line.
const straight = 178 * math.Pi / 180

// minSegment is the length in mm under which a segment is an accident that turns
// its own way.
const minSegment = 0.05

// A Corner is one end of a sewn edge, and the edge that follows there on its
// piece.
type Corner struct {
	Piece      int // index in the pieces
	Edge, Next Edge
	AtStart    bool // of Edge, where Next ends
}

// Angle returns the inner angle of the corner in radians.
func (c Corner) Angle() float64 {
	first, second := c.Edge, c.Next
	if c.AtStart {
		first, second = c.Next, c.Edge
	}
	return CornerAngle(first, second)
}

// CornerAngle returns the inner angle in radians between an edge and the one that
// follows it on the outline.
func CornerAngle(e, next Edge) float64 {
	return math.Pi - geom.AngleBetween(EndTangent(e.Path), EndTangent(next.Path.Reverse()).Neg())
}

// EndTangent returns the direction in which a path ends, without the segments
// that are too short to have one.
func EndTangent(p geom.Path) geom.Point {
	for len(p) > 1 && p[len(p)-1].P0.Near(p[len(p)-1].P3, minSegment) && p[len(p)-1].Length() < minSegment {
		p = p[:len(p)-1]
	}
	return p.EndTangent()
}

// A Joint is an end of a seam: the corners of its two pieces that meet there.
type Joint struct {
	Seam    Seam
	Corners [2]Corner
	RunsOn  bool // the next edges are one line when the seam is sewn, as an armhole over the shoulder seam
}

// Turn returns the angle in radians by which the line of the next edges turns at
// the seam: positive where the sewn pieces have a dent there.
func (j Joint) Turn() float64 { return math.Pi - j.Corners[0].Angle() - j.Corners[1].Angle() }

// Joints returns the ends of the seams between two pieces or two edges of one,
// except where the seam goes on or meets a dart, and those of pieces that are sewn
// face to face, as a facing is.
func Joints(pieces []Piece, seams []Seam) []Joint {
	s := sewing{map[EdgeRef][2]int{}, map[EdgeRef][]EdgeRef{}, pieces}
	for i, p := range pieces {
		for k, e := range p.Edges {
			s.places[EdgeRef{Piece: p.Name, Edge: e.Name}] = [2]int{i, k}
		}
	}
	for _, m := range seams {
		s.partners[m.A] = append(s.partners[m.A], m.B)
		s.partners[m.B] = append(s.partners[m.B], m.A)
	}
	var all []Joint
	faced := map[[2]string]bool{}
	for _, m := range seams {
		for _, pair := range s.ends(m) {
			if s.faceToFace(pair) || s.alike(pair) {
				faced[[2]string{m.A.Piece, m.B.Piece}], faced[[2]string{m.B.Piece, m.A.Piece}] = true, true
			}
		}
	}
	for _, m := range seams {
		for _, pair := range s.ends(m) {
			bound := pair[0].Edge.Role != RoleSeam || pair[1].Edge.Role != RoleSeam
			if !bound && !faced[[2]string{m.A.Piece, m.B.Piece}] && !s.goOn(pair) {
				all = append(all, Joint{m, pair, s.runOn(pair)})
			}
		}
	}
	return all
}

// ends returns the pairs of corners that meet at both ends of a seam, none if an edge is sewn
// to itself.
func (s sewing) ends(m Seam) [][2]Corner {
	a, okA := s.corners(m.A)
	b, okB := s.corners(m.B)
	if m.A == m.B || !okA || !okB {
		return nil
	}
	ends := [][2]Corner{{a[0], b[1]}, {a[1], b[0]}}
	if same := [][2]Corner{{a[0], b[0]}, {a[1], b[1]}}; likeness(same) > likeness(ends) {
		ends = same
	}
	return ends
}

// alike reports whether two pieces of different cloths have the same edges, as a lining has
// those of its shell.
func (s sewing) alike(pair [2]Corner) bool {
	a, b := s.pieces[pair[0].Piece], s.pieces[pair[1].Piece]
	if a.Cloth == b.Cloth {
		return false
	}
	for _, edges := range [2][]Edge{a.Edges, b.Edges} {
		for _, e := range edges {
			if math.Abs(a.RunLength(e.Run)-b.RunLength(e.Run)) > 1 {
				return false
			}
		}
	}
	return true
}

// faceToFace reports whether two pieces lie on each other: they are sewn round a corner that both
// have, where pieces side by side have angles that make a whole turn, or both go on beyond the
// seam without a corner.
func (s sewing) faceToFace(pair [2]Corner) bool {
	a, b := pair[0], pair[1]
	switch {
	case a.Piece == b.Piece:
		return false
	case slices.Contains(s.partners[s.next(a)], s.next(b)):
		return a.Angle() < goesOn && b.Angle() < goesOn
	}
	return a.Edge.Run != a.Next.Run && a.Angle() > goesOn && b.Angle() > goesOn
}

// A sewing maps each edge of some pieces to the edges that are sewn to it.
type sewing struct {
	places   map[EdgeRef][2]int // indices of piece and edge
	partners map[EdgeRef][]EdgeRef
	pieces   []Piece
}

// corners returns the corners at the start and the end of an edge.
func (s sewing) corners(r EdgeRef) ([2]Corner, bool) {
	at, ok := s.places[r]
	if !ok {
		return [2]Corner{}, false
	}
	edges := s.pieces[at[0]].Edges
	n := len(edges)
	e := edges[at[1]]
	return [2]Corner{{at[0], e, edges[(at[1]+n-1)%n], true}, {at[0], e, edges[(at[1]+1)%n], false}}, true
}

// likeness counts the corners whose next edges are of one kind.
func likeness(ends [][2]Corner) int {
	n := 0
	for _, pair := range ends {
		if pair[0].Next.Role == pair[1].Next.Role {
			n++
		}
		if pair[0].Next.Run == pair[1].Next.Run {
			n++
		}
	}
	return n
}

// goOn reports whether the seam goes on beyond its end: the next edges are of the
// same run, or sewn to each other, or a dart's mouth.
func (s sewing) goOn(pair [2]Corner) bool {
	for _, c := range pair {
		if c.Next.Run == c.Edge.Run || c.Next.Role == RoleDartMouth {
			return true
		}
	}
	return slices.Contains(s.partners[s.next(pair[0])], s.next(pair[1]))
}

func (s sewing) next(c Corner) EdgeRef {
	return EdgeRef{Piece: s.pieces[c.Piece].Name, Edge: c.Next.Name}
}

// runOn reports whether the next edges are one line when the seam is sewn: both
// hems, necklines, armholes or caps, or sewn to one piece that does not fill a
// corner between them, as a gusset does.
func (s sewing) runOn(pair [2]Corner) bool {
	a, b := pair[0], pair[1]
	if a.Next.Role != b.Next.Role {
		return false
	}
	switch a.Next.Role {
	case RoleHem, RoleNeckline, RoleArmhole, RoleCap:
		return true
	case RoleSeam:
		if max(a.Angle(), b.Angle()) > goesOn {
			return false
		}
		return s.filledStraight(pair)
	}
	return false
}

// filledStraight reports whether the next edges are sewn to one piece that has no corner between
// them. A piece that is cut for both sides has partners on both.
func (s sewing) filledStraight(pair [2]Corner) bool {
	one, other := s.pieces[pair[0].Piece].Name, s.pieces[pair[1].Piece].Name
	filled := false
	for _, p := range s.partners[s.next(pair[0])] {
		for _, q := range s.partners[s.next(pair[1])] {
			switch {
			case p.Piece != q.Piece || p.Piece == one || p.Piece == other:
			case s.meetAtCorner(p, q):
				return false
			default:
				filled = true
			}
		}
	}
	return filled
}

// meetAtCorner reports whether two edges of a piece follow each other round a
// corner of it.
func (s sewing) meetAtCorner(p, q EdgeRef) bool {
	corners, _ := s.corners(p)
	for _, c := range corners {
		if c.Next.Name == q.Edge && (c.Angle() < goesOn || c.Next.Run != c.Edge.Run && c.Angle() < straight) {
			return true
		}
	}
	return false
}
