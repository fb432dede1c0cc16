package proof

import (
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Tolerances of what a cutter reads on the finished pieces.
const (
	jointTol   = 6.0   // degrees by which an edge may turn where a seam or a dart crosses it
	squareTol  = 1.0   // degrees by which a hem may be off square to a fold or a centre seam
	straightOn = 150.0 // degrees over which an edge goes on from another
	minSegment = 0.05  // mm: a shorter segment is an accident that turns its own way
)

// A Fault is a reason for a cutter to send a garment back: a rule of every finished garment
// that one does not keep.
type Fault struct {
	Rule   string // one of Rules
	Reason string // with the place and mm or degrees
}

// Rules returns the rules that Faults reads: what passes an opening, the room of
// a limb, edges that run on across seams, hems square to folds, ends of seams and
// closings in their places, notches on their edges, segments that have a length.
func Rules() []string {
	return []string{rulePass, ruleRoom, ruleJoint, ruleSquare, rulePlace, ruleNotch, ruleSegment}
}

const (
	rulePass    = "pass"
	ruleRoom    = "room"
	ruleJoint   = "joint"
	ruleSquare  = "square"
	rulePlace   = "place"
	ruleNotch   = "notch"
	ruleSegment = "segment"
)

// Faults returns the faults of a finished pattern: what does not pass its
// openings or has no room for a limb; edges that do not run on across a seam or
// a dart; hems that are not square to folds and centre seams; seams that end in
// the wrong place; notches off their edge; and segments without length.
func Faults(p finish.Pattern) []Fault {
	var all []Fault
	for _, c := range p.Checks {
		if !c.Holds() {
			all = append(all, Fault{ruleOf(c), c.Finding()})
		}
	}
	s := newSewn(p)
	for _, q := range p.Pieces {
		all = append(all, s.pieceFaults(q.Piece)...)
	}
	for _, m := range p.Seams {
		all = append(all, s.seamFaults(m)...)
	}
	return all
}

// ruleOf returns the rule of a check that does not hold.
func ruleOf(c pattern.Check) string {
	switch {
	case !c.AtLeast:
		return rulePlace
	case c.Body > 0:
		return ruleRoom
	}
	return rulePass
}

// sewn is a pattern with its edges by reference.
type sewn struct {
	corners map[pattern.EdgeRef]place
	partner map[pattern.EdgeRef][]pattern.EdgeRef
}

// A place is an edge with the edges before and after it on its piece.
type place struct {
	piece               string
	before, edge, after pattern.Edge
}

func newSewn(p finish.Pattern) sewn {
	s := sewn{map[pattern.EdgeRef]place{}, map[pattern.EdgeRef][]pattern.EdgeRef{}}
	for _, q := range p.Pieces {
		n := len(q.Edges)
		for i, e := range q.Edges {
			s.corners[pattern.EdgeRef{Piece: q.Name, Edge: e.Name}] = place{q.Name, q.Edges[(i+n-1)%n], e, q.Edges[(i+1)%n]}
		}
	}
	for _, m := range p.Seams {
		s.partner[m.A] = append(s.partner[m.A], m.B)
		s.partner[m.B] = append(s.partner[m.B], m.A)
	}
	return s
}

// pieceFaults returns the faults of one piece: its darts, hem, notches and
// segments.
func (s sewn) pieceFaults(p pattern.Piece) []Fault {
	var all []Fault
	n := len(p.Edges)
	for i, e := range p.Edges {
		for _, seg := range e.Path {
			if l := seg.Length(); l < minSegment {
				all = append(all, Fault{ruleSegment, fmt.Sprintf("%s/%s: a segment of %.3f mm", p.Name, e.Name, l)})
			}
		}
		next := p.Edges[(i+1)%n]
		if s.squareTo(p.Name, e, next) {
			if off := corner(e, next) - 90; math.Abs(off) > squareTol {
				all = append(all, Fault{ruleSquare, fmt.Sprintf("%s: %s and %s meet at %.1f degrees, must be 90", p.Name, e.Run,
					next.Run, 90+off)})
			}
		}
		if e.Role == pattern.RoleDartMouth {
			before := p.Edges[(i+n-1)%n]
			if turn, ok := turnAtDart(p, before, e, next); ok && math.Abs(turn) > jointTol {
				all = append(all, Fault{ruleJoint, fmt.Sprintf("%s/%s turns by %.1f degrees across its dart", p.Name,
					before.Run, math.Abs(turn))})
			}
		}
	}
	for _, k := range p.Notches {
		e, _ := p.Edge(k.Edge)
		if l := e.Path.Length(); k.At < -pattern.FoldTol || k.At > l+pattern.FoldTol {
			all = append(all, Fault{ruleNotch, fmt.Sprintf("%s/%s: a notch at %.1f mm lies off the edge of %.1f mm", p.Name,
				k.Edge, k.At, l)})
		}
	}
	return all
}

// squareTo reports whether of two edges that meet one is a hem and the other a
// fold or a centre seam.
func (s sewn) squareTo(piece string, a, b pattern.Edge) bool {
	centre := func(e pattern.Edge) bool {
		r := pattern.EdgeRef{Piece: piece, Edge: e.Name}
		return e.Role == pattern.RoleFold || slices.Contains(s.partner[r], r)
	}
	return a.Role == pattern.RoleHem && centre(b) || b.Role == pattern.RoleHem && centre(a)
}

// corner returns the inner angle in degrees between an edge and the next.
func corner(e, next pattern.Edge) float64 {
	turn := geom.AngleBetween(endTangent(e.Path), endTangent(next.Path.Reverse()).Neg())
	return 180 - degrees(turn)
}

// endTangent returns the direction in which a path ends, without the segments
// that are too short to have one.
func endTangent(p geom.Path) geom.Point {
	for len(p) > 1 && p[len(p)-1].Length() < minSegment {
		p = p[:len(p)-1]
	}
	return p.EndTangent()
}

func degrees(angle float64) float64 { return angle * 180 / math.Pi }

// turnAtDart returns the angle in degrees by which an edge turns across a dart
// that is sewn shut.
func turnAtDart(p pattern.Piece, before, mouth, after pattern.Edge) (float64, bool) {
	if before.Run != after.Run {
		return 0, false // the dart opens at a corner
	}
	for _, d := range p.Darts {
		if d.Mouth != mouth.Name {
			continue
		}
		first := degrees(geom.AngleBetween(d.Legs[0].StartTangent(), endTangent(before.Path).Neg()))
		second := degrees(geom.AngleBetween(endTangent(after.Path.Reverse()).Neg(), d.Legs[1].StartTangent()))
		return 180 - math.Abs(first) - math.Abs(second), true
	}
	return 0, false
}

// seamFaults returns the faults at both ends of a seam.
func (s sewn) seamFaults(m pattern.Seam) []Fault {
	a, okA := s.corners[m.A]
	b, okB := s.corners[m.B]
	if m.A == m.B || !okA || !okB || a.edge.Role != pattern.RoleSeam || b.edge.Role != pattern.RoleSeam {
		return nil
	}
	var all []Fault
	opposite := [][2]end{{a.start(), b.finish()}, {a.finish(), b.start()}}
	same := [][2]end{{a.start(), b.start()}, {a.finish(), b.finish()}}
	ends := opposite
	if likeness(same) > likeness(opposite) {
		ends = same
	}
	for _, pair := range ends {
		x, y := pair[0], pair[1]
		if s.meet(a, x, b, y) {
			continue
		}
		where := fmt.Sprintf("%s to %s", m.A, m.B)
		switch {
		case s.runsOn(a, x, b, y):
			if turn := 180 - x.angle - y.angle; math.Abs(turn) > jointTol {
				all = append(all, Fault{ruleJoint, fmt.Sprintf("%s turns by %.1f degrees at the seam %s", x.next.Run,
					math.Abs(turn), where)})
			}
		case x.opens() != y.opens():
			o, piece, other := x, a.piece, y
			if y.opens() {
				o, piece, other = y, b.piece, x
			}
			all = append(all, Fault{rulePlace, fmt.Sprintf("seam %s ends at %s/%s on one side and at %s, %.1f mm long, on the "+
				"other", where, piece, o.next.Run, other.next.Run, other.next.Path.Length())})
		}
	}
	return all
}

// An end is one end of a seam on one piece: the edge that follows there, and
// the inner angle in degrees.
type end struct {
	next  pattern.Edge
	angle float64
	own   string // the run of the seam
}

func (p place) start() end  { return end{p.before, corner(p.before, p.edge), p.edge.Run} }
func (p place) finish() end { return end{p.after, corner(p.edge, p.after), p.edge.Run} }

// likeness counts the ends whose edges are of one kind.
func likeness(pairs [][2]end) int {
	n := 0
	for _, p := range pairs {
		if p[0].next.Role == p[1].next.Role {
			n++
		}
		if p[0].next.Run == p[1].next.Run {
			n++
		}
	}
	return n
}

// opens reports whether an armhole or a neckline starts at the end of the seam.
func (e end) opens() bool {
	return e.next.Role == pattern.RoleArmhole || e.next.Role == pattern.RoleNeckline
}

// runsOn reports whether the edges at the two ends are one line when the seam
// is sewn: both hems, necklines, armholes or caps, or sewn to one piece.
func (s sewn) runsOn(a place, x end, b place, y end) bool {
	if x.next.Role != y.next.Role {
		return false
	}
	switch x.next.Role {
	case pattern.RoleHem, pattern.RoleNeckline, pattern.RoleArmhole, pattern.RoleCap:
		return true
	case pattern.RoleSeam:
		if max(x.angle, y.angle) > straightOn {
			return false // it goes on from the seam, and does not cross it
		}
		for _, p := range s.partner[pattern.EdgeRef{Piece: a.piece, Edge: x.next.Name}] {
			for _, q := range s.partner[pattern.EdgeRef{Piece: b.piece, Edge: y.next.Name}] {
				if p.Piece == q.Piece && p.Piece != a.piece && p.Piece != b.piece {
					return true
				}
			}
		}
	}
	return false
}

// meet reports whether the seam goes on beyond its end: the next edges are of
// the same run, or sewn to each other.
func (s sewn) meet(a place, x end, b place, y end) bool {
	if x.next.Run == x.own || y.next.Run == y.own || x.next.Role == pattern.RoleDartMouth ||
		y.next.Role == pattern.RoleDartMouth {
		return true
	}
	return slices.Contains(s.partner[pattern.EdgeRef{Piece: a.piece, Edge: x.next.Name}],
		pattern.EdgeRef{Piece: b.piece, Edge: y.next.Name})
}
