package finish

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// side is an edge on its way to the cut line.
type side struct {
	name      string
	role      pattern.Role
	seam      geom.Path
	allowance float64   // mm
	cut       geom.Path // parallel to the seam, trimmed at one corner after the other
}

// cutLine is the closed line that a piece is cut along: its edges moved out by
// their allowances and joined at the corners the trade's way.
func cutLine(edges []pattern.Edge, allowances []float64, mouths []mouth) (geom.Path, error) {
	n := len(edges)
	sides := make([]side, n)
	for i, e := range edges {
		sides[i] = side{e.Name, e.Role, e.Path, allowances[i], e.Path}
		if allowances[i] > 0 && e.Role != pattern.RoleDartMouth {
			sides[i].cut = e.Path.Offset(allowances[i], geom.OffsetTol)
		}
		if len(sides[i].cut) == 0 {
			return nil, fmt.Errorf("edge %s: nothing is left of its cut line at an allowance of %g mm", e.Name, allowances[i])
		}
	}
	links := make([]geom.Path, n) // from each side to the next
	for i := range sides {
		a, b := &sides[i], &sides[(i+1)%n]
		if a.role == pattern.RoleDartMouth || b.role == pattern.RoleDartMouth {
			continue
		}
		var err error
		if links[i], err = corner(a, b); err != nil {
			return nil, err
		}
	}
	for _, m := range mouths {
		if err := m.cutOver(sides); err != nil {
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

// cutOver ends the cut lines beside the mouth on the legs' continuations and
// joins them across it, so that the layers of the folded dart end together.
func (m mouth) cutOver(sides []side) error {
	n := len(sides)
	before, after := &sides[m.beside(0, n)], &sides[m.beside(1, n)]
	reach := cornerReach(before, after)
	var okBefore, okAfter bool
	before.cut, okBefore = cutEnd(before.cut, m.legs[0], reach)
	after.cut, okAfter = cutStart(after.cut, m.legs[1], reach)
	if !okBefore || !okAfter {
		return fmt.Errorf("dart %s: the cut line beside its mouth does not reach its leg", m.dart)
	}
	lead := before.cut
	if m.pressed == 1 {
		lead = after.cut
	}
	var err error
	sides[m.edge].cut, err = m.over(lead)
	return err
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
