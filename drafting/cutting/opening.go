package cutting

import (
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/pattern"
)

// tooClose is the distance in mm within which one notch is mistaken for another (common
// practice).
const tooClose = 18

// A RoomError says that a part has no room on a piece of this size.
type RoomError struct{ Reason string }

func (e *RoomError) Error() string { return e.Reason }

func noRoom(format string, args ...any) error { return &RoomError{fmt.Sprintf(format, args...)} }

// OpenForZip prepares the upper long mm of an edge for a zip: it sets the allowance of the whole
// edge, and a double notch with a name where the zip ends. Other notches of the edge within 18 mm
// of that one, which are mistaken for it, are removed.
func OpenForZip(p pattern.Piece, run string, long, allowance float64, name string) (pattern.Piece, error) {
	if err := checkRun(p, run); err != nil {
		return pattern.Piece{}, err
	}
	n := p.RunLength(run)
	if err := checkDimensions(p, dimension{"zip", long, 20, math.Max(20, n-10)},
		dimension{"allowance", allowance, 0, pattern.MaxAllowance}); err != nil {
		return pattern.Piece{}, err
	}
	at := long
	if path := p.Run(run); path.End().Y < path.Start().Y {
		at = n - long
	}
	p.Edges = slices.Clone(p.Edges)
	for i := range p.Edges {
		if e := &p.Edges[i]; e.Name == run && e.Role != pattern.RoleDartMouth {
			e.Allowance = &allowance
		}
	}
	return notched(p, pattern.Notch{Edge: run, At: at, Kind: pattern.NotchDouble, Name: name}), nil
}

// notched adds notches to a piece, and removes those that would be mistaken for them.
func notched(p pattern.Piece, notches ...pattern.Notch) pattern.Piece {
	p.Notches = slices.DeleteFunc(slices.Clone(p.Notches), func(n pattern.Notch) bool {
		return slices.ContainsFunc(notches, func(m pattern.Notch) bool {
			return n.Edge == m.Edge && math.Abs(n.At-m.At) < tooClose
		})
	})
	p.Notches = append(p.Notches, notches...)
	return p
}
