package fitting

import (
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/pattern"
)

// A NotTriedError says why a pattern is not tried on.
type NotTriedError struct{ Reason string }

func (e *NotTriedError) Error() string { return e.Reason }

// check returns why panels are not tried on, or nil: they must close in the middle of front
// and back by a fold or a seam, and what reaches over the armpits must have armholes.
func check(p pattern.Pattern, panels []*panel, armpit float64) error {
	if len(panels) == 0 {
		return &NotTriedError{"no piece of the pattern hangs on the body by its name, its lines and its seams"}
	}
	for _, piece := range p.Pieces {
		if strings.Contains(piece.Name, "strap") && !slices.ContainsFunc(panels, func(q *panel) bool {
			return q.shouldered() || len(q.strapped()) > 0
		}) {
			return &NotTriedError{"a strap is tried on where it is sewn to the corner of a neckline and an edge under the arm"}
		}
		if strings.Contains(piece.Name, "sleeve") && piece.Cloth == "" && slices.ContainsFunc(piece.Edges,
			func(e pattern.Edge) bool { return e.Role == pattern.RoleNeckline }) {
			return &NotTriedError{"a raglan sleeve is tried on in halves, with a seam over the arm and a cap below the seam " +
				"to the body"}
		}
	}
	return checkSides(p, panels, armpit)
}

// checkSides returns why front or back are not tried on, or nil.
func checkSides(p pattern.Pattern, panels []*panel, armpit float64) error {
	middle := map[pattern.EdgeRef]bool{}
	for _, s := range p.Seams {
		if s.A == s.B {
			middle[s.A] = true
		}
	}
	closed, there := map[place]bool{}, map[place]bool{}
	high, armhole := map[place]bool{}, map[place]bool{}
	for _, q := range panels {
		there[q.where] = true
		armhole[q.where] = armhole[q.where] || q.armhole()
		for _, e := range q.Edges {
			if e.Role == pattern.RoleFold || middle[pattern.EdgeRef{Piece: q.Name, Edge: e.Name}] {
				closed[q.where] = true
			}
			high[q.where] = high[q.where] || q.level-e.Path.Start().Y > armpit+20
		}
	}
	for _, side := range []place{front, back} {
		if high[side] && !armhole[side] {
			return &NotTriedError{"sleeves cut in one with the body are tried on where a notch on the overarm marks the " +
				"shoulder point"}
		}
		if there[side] && !closed[side] {
			return &NotTriedError{fmt.Sprintf("a %s that no seam or fold closes in the middle is not tried on yet", side)}
		}
	}
	return nil
}
