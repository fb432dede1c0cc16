package finish

import (
	"fmt"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// side is a run of the outline that becomes a run of the cut line: an edge, or
// the two edges beside a dart's mouth with the mouth between them.
type side struct {
	name      string
	role      pattern.Role
	seam      geom.Path
	allowance float64   // mm
	cut       geom.Path // parallel to the seam, trimmed at one corner after the other
}

// sidesOf splits an outline into sides, starting at one that no mouth joins to
// the edge before it.
func sidesOf(edges []pattern.Edge, allowances []float64) []side {
	n := len(edges)
	joined := func(i int) bool { // edge i carries on the side of the edge before it
		mouth := i
		if edges[i].Role != pattern.RoleDartMouth {
			mouth = (i + n - 1) % n
		}
		if edges[mouth].Role != pattern.RoleDartMouth {
			return false
		}
		before, after := (mouth+n-1)%n, (mouth+1)%n
		return edges[before].Role == edges[after].Role && allowances[before] == allowances[after]
	}
	first := 0
	for first < n-1 && joined(first) {
		first++
	}
	var sides []side
	for k := range n {
		i := (first + k) % n
		if e := edges[i]; k > 0 && joined(i) {
			last := &sides[len(sides)-1]
			last.seam = geom.Join(last.seam, e.Path)
		} else {
			sides = append(sides, side{name: e.Name, role: e.Role, seam: e.Path, allowance: allowances[i]})
		}
	}
	return sides
}

// cutLine returns the closed line along which a piece is cut: its edges moved
// out by their allowances and joined at the corners as the trade does.
func cutLine(edges []pattern.Edge, allowances []float64) (geom.Path, error) {
	sides := sidesOf(edges, allowances)
	for i := range sides {
		s := &sides[i]
		if s.cut = s.seam; s.allowance > 0 {
			s.cut = s.seam.Offset(s.allowance, geom.OffsetTol)
		}
		if len(s.cut) == 0 {
			return nil, fmt.Errorf("edge %s: nothing is left of its cut line at an allowance of %g mm", s.name, s.allowance)
		}
	}
	links := make([]geom.Path, len(sides)) // from each side to the next
	for i := range sides {
		var err error
		if links[i], err = corner(&sides[i], &sides[(i+1)%len(sides)]); err != nil {
			return nil, err
		}
	}
	var whole geom.Path
	for i := range sides {
		whole = appendLinked(appendLinked(whole, sides[i].cut), links[i])
	}
	if len(whole) == 0 {
		return nil, nil
	}
	closed := appendLinked(whole, whole[:1])
	return closed[:len(closed)-1].MergeClosedLines(), nil
}

// appendLinked appends next to a path and bridges a gap with a straight line.
// It drops segments without length.
func appendLinked(path, next geom.Path) geom.Path {
	for _, s := range next {
		if n := len(path); n > 0 {
			if end := path[n-1].P3; end.Near(s.P0, geom.JoinTol) {
				s = geom.Path{s}.MoveStart(end)[0]
			} else {
				path = append(path, geom.Line(end, s.P0))
			}
		}
		if !s.P0.Near(s.P3, geom.JoinTol) || !s.P0.Near(s.P1, geom.JoinTol) || !s.P0.Near(s.P2, geom.JoinTol) {
			path = append(path, s)
		}
	}
	return path
}
