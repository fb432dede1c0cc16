package finish

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// side is a run of the outline on its way to the cut line: an edge, or the two
// edges beside a dart's mouth with the mouth between them.
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

// cutLine is the closed line that a piece is cut along: its edges moved out by
// their allowances and joined at the corners the trade's way.
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
	var whole outline
	for i := range sides {
		whole.add(sides[i].cut)
		whole.add(links[i])
	}
	return whole.close(), nil
}

// outline strings paths together, closing gaps with straight lines, leaving
// out what has no length, and running straight lines that continue each other
// into one.
type outline struct{ path geom.Path }

func (o *outline) add(p geom.Path) {
	for _, s := range p {
		if n := len(o.path); n > 0 {
			if end := o.path[n-1].P3; end.Near(s.P0, geom.JoinTol) {
				s = startingAt(s, end)
			} else {
				o.addSegment(geom.Line(end, s.P0))
			}
		}
		o.addSegment(s)
	}
}

func (o *outline) addSegment(s geom.Segment) {
	if s.P0.Near(s.P3, geom.JoinTol) && s.P0.Near(s.P1, geom.JoinTol) && s.P0.Near(s.P2, geom.JoinTol) {
		return
	}
	if n := len(o.path); n > 0 && continues(o.path[n-1], s) {
		o.path[n-1] = geom.Line(o.path[n-1].P0, s.P3)
		return
	}
	o.path = append(o.path, s)
}

// continues reports whether straight b carries straight a on without a turn.
func continues(a, b geom.Segment) bool {
	if !a.Straight || !b.Straight {
		return false
	}
	u, v := a.P3.Sub(a.P0), b.P3.Sub(b.P0)
	off := u.Cross(b.P3.Sub(a.P0).Unit()) // of the join from the line past it
	return u.Dot(v) > 0 && math.Abs(off) <= geom.JoinTol
}

// close joins the end to the start.
func (o *outline) close() geom.Path {
	if len(o.path) == 0 {
		return nil
	}
	first := o.path[0]
	o.add(geom.Path{first})
	last := o.path[len(o.path)-1]
	o.path = o.path[:len(o.path)-1]
	if last.P0 != first.P0 { // the first line carries on one before it
		o.path[0] = last
	}
	return o.path
}
