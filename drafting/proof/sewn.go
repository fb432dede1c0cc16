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
	pointOfV   = 30.0 // degrees from which on a neckline that turns at a seam is meant to: the point of a V
	jointTol   = 6.0  // degrees by which an edge may turn where a seam or a dart crosses it
	squareTol  = 1.0  // degrees by which a hem may be off square to a fold or a centre seam
	minSegment = 0.05 // mm: a shorter segment is an accident that turns its own way
)

// A Fault is a reason for a cutter to send a garment back: a rule of every finished garment
// that one does not keep.
type Fault struct {
	Rule   string // one of Rules
	Reason string // with the place and mm or degrees
}

// Rules returns the rules that Faults reads: what passes an opening, the room of
// a limb, edges that run on across seams, hems square to folds, ends of seams and
// closings in their places, notches on their edges, segments that have a length, darts that do
// not end blunt, centre seams on the grain.
func Rules() []string {
	return []string{rulePass, ruleRoom, ruleJoint, ruleSquare, rulePlace, ruleNotch, ruleSegment, ruleDart, ruleGrain}
}

const (
	rulePass    = "pass"
	ruleRoom    = "room"
	ruleJoint   = "joint"
	ruleSquare  = "square"
	rulePlace   = "place"
	ruleNotch   = "notch"
	ruleSegment = "segment"
	ruleDart    = "dart"
	ruleGrain   = "grain"
)

// Faults returns the faults of a finished pattern: what does not pass its
// openings or has no room for a limb; edges that do not run on across a seam or
// a dart; hems that are not square to folds and centre seams; seams that end in
// the wrong place; notches off their edge; segments without length; darts that
// end blunt; and centre seams a little off the grain.
func Faults(p finish.Pattern) []Fault {
	var all []Fault
	for _, c := range p.Checks {
		if !c.Holds() {
			all = append(all, Fault{ruleOf(c), c.Finding()})
		}
	}
	pieces := make([]pattern.Piece, len(p.Pieces))
	for i, q := range p.Pieces {
		pieces[i] = q.Piece
		all = append(all, pieceFaults(q.Piece, p.Seams)...)
	}
	for _, j := range pattern.Joints(pieces, p.Seams) {
		if f, ok := jointFault(pieces, j); ok {
			all = append(all, f)
		}
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

// pieceFaults returns the faults of one piece: its darts, hem, notches and
// segments.
func pieceFaults(p pattern.Piece, seams []pattern.Seam) []Fault {
	var all []Fault
	n := len(p.Edges)
	for i, e := range p.Edges {
		for _, seg := range e.Path {
			if l := seg.Length(); l < minSegment {
				all = append(all, Fault{ruleSegment, fmt.Sprintf("%s/%s: a segment of %.3f mm", p.Name, e.Name, l)})
			}
		}
		next := p.Edges[(i+1)%n]
		if isSquare(p.Name, e, next, seams) {
			if off := degrees(pattern.CornerAngle(e, next)) - 90; math.Abs(off) > squareTol {
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
	all = append(all, bluntDarts(p)...)
	all = append(all, offGrain(p)...)
	for _, k := range p.Notches {
		e, _ := p.Edge(k.Edge)
		if l := e.Path.Length(); k.At < -pattern.FoldTol || k.At > l+pattern.FoldTol {
			all = append(all, Fault{ruleNotch, fmt.Sprintf("%s/%s: a notch at %.1f mm lies off the edge of %.1f mm", p.Name,
				k.Edge, k.At, l)})
		}
	}
	return all
}

// isSquare reports whether of two edges that meet one is a hem and the other a
// fold or a centre seam.
func isSquare(piece string, a, b pattern.Edge, seams []pattern.Seam) bool {
	centre := func(e pattern.Edge) bool {
		r := pattern.EdgeRef{Piece: piece, Edge: e.Name}
		itself := func(m pattern.Seam) bool { return m.A == r && m.B == r }
		return e.Role == pattern.RoleFold || slices.ContainsFunc(seams, itself)
	}
	return a.Role == pattern.RoleHem && centre(b) || b.Role == pattern.RoleHem && centre(a)
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
		first := degrees(geom.AngleBetween(d.Legs[0].StartTangent(), pattern.EndTangent(before.Path).Neg()))
		second := degrees(geom.AngleBetween(pattern.EndTangent(after.Path.Reverse()).Neg(), d.Legs[1].StartTangent()))
		return 180 - math.Abs(first) - math.Abs(second), true
	}
	return 0, false
}

// jointFault returns the fault at the end of a seam.
func jointFault(pieces []pattern.Piece, j pattern.Joint) (Fault, bool) {
	where := fmt.Sprintf("%s to %s", j.Seam.A, j.Seam.B)
	x, y := j.Corners[0], j.Corners[1]
	switch turn := math.Abs(degrees(j.Turn())); {
	case j.RunsOn && x.Next.Role == pattern.RoleNeckline && turn > pointOfV:
		return Fault{}, false
	case j.RunsOn && turn > jointTol:
		return Fault{ruleJoint, fmt.Sprintf("%s turns by %.1f degrees at the seam %s", x.Next.Run, turn, where)}, true
	case !j.RunsOn && opens(x.Next) != opens(y.Next):
		if opens(y.Next) {
			x, y = y, x
		}
		return Fault{rulePlace, fmt.Sprintf("seam %s ends at %s/%s on one side and at %s, %.1f mm long, on the other",
			where, pieces[x.Piece].Name, x.Next.Run, y.Next.Run, y.Next.Path.Length())}, true
	}
	return Fault{}, false
}

// opens reports whether an edge is an armhole or a neckline.
func opens(e pattern.Edge) bool {
	return e.Role == pattern.RoleArmhole || e.Role == pattern.RoleNeckline
}
