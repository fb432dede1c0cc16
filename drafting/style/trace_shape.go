package style

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// hasThing reports whether a piece has a thing.
func (p *piece) hasThing(of Thing) bool {
	switch of.Kind {
	case KindEdge:
		return slices.ContainsFunc(p.Edges, func(e pattern.Edge) bool { return e.Run == of.Name })
	case KindDart:
		return p.Dart(of.Name) != nil
	case KindLine:
		return p.lineNamed(of.Name) != nil
	case KindMark:
		return slices.ContainsFunc(p.Marks, func(m pattern.Mark) bool { return m.Name == of.Name })
	}
	return of.Kind == ""
}

// lineNamed returns the line with the name, nil if there is none.
func (p *piece) lineNamed(name string) *pattern.Line {
	for i := range p.Lines {
		if p.Lines[i].Name == name {
			return &p.Lines[i]
		}
	}
	return nil
}

// same reports whether a thing has the same shape in two pieces. Most calls leave most
// paths of a piece alone, which is seen without measuring them.
func (p *piece) same(q *piece, of Thing) bool {
	return p.shares(q, of) || p.shapeOf(of).equal(q.shapeOf(of))
}

// shares reports whether a thing of two pieces is drawn by the very same strokes.
func (p *piece) shares(q *piece, of Thing) bool {
	switch of.Kind {
	case KindEdge:
		return slices.EqualFunc(p.Edges, q.Edges, func(a, b pattern.Edge) bool {
			return a.Run != of.Name && b.Run != of.Name || a.Run == b.Run && a.Role == b.Role && a.Allowance == b.Allowance &&
				isPath(a.Path, b.Path)
		})
	case KindDart:
		a, b := p.Dart(of.Name), q.Dart(of.Name)
		return isPath(a.Legs[0], b.Legs[0]) && isPath(a.Legs[1], b.Legs[1])
	case KindLine:
		return isPath(p.lineNamed(of.Name).Path, q.lineNamed(of.Name).Path)
	case KindMark:
		return true // its place is no shape
	}
	return false
}

// isPath reports whether two paths are one in memory.
func isPath(a, b geom.Path) bool { return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0]) }

// A shape holds the numbers of a thing that no motion changes.
type shape []float64

// shapeOf returns the shape of a thing of a piece, nil if the piece does not have it.
func (p *piece) shapeOf(of Thing) shape {
	switch of.Kind {
	case KindEdge:
		return p.edgeShape(of.Name)
	case KindDart:
		for _, d := range p.Darts {
			if d.Name == of.Name {
				return slices.Concat(pathShape(d.Legs[0]), pathShape(d.Legs[1]), shape{d.Intake()})
			}
		}
	case KindLine:
		for _, l := range p.Lines {
			if l.Name == of.Name {
				return pathShape(l.Path)
			}
		}
	case KindMark:
		for _, m := range p.Marks {
			if m.Name == of.Name {
				return shape{0}
			}
		}
	case "":
		box := p.Outline()
		return shape{box.Length(), box.Area(), float64(p.Cut.Count), float64(p.Interfacing), float64(len(p.Notches)),
			float64(len(p.Marks)), float64(len(p.Lines)), float64(len(p.Darts))}
	}
	return nil
}

// edgeShape returns the shape of an edge: how it is drawn and how it is finished.
func (p *piece) edgeShape(run string) shape {
	var s shape
	for _, e := range p.Edges {
		if e.Run != run {
			continue
		}
		s = append(s, pathShape(e.Path)...)
		if e.Allowance != nil {
			s = append(s, 1+*e.Allowance)
		}
		s = append(s, float64(slices.Index(roles, e.Role)))
	}
	return s
}

// roles gives each role a number.
var roles = []pattern.Role{pattern.RoleSeam, pattern.RoleFold, pattern.RoleHem, pattern.RoleNeckline,
	pattern.RoleArmhole, pattern.RoleCap, pattern.RoleEdge, pattern.RoleDartMouth}

// pathShape returns the number of strokes, the length and the chord of a path.
func pathShape(p geom.Path) shape {
	if len(p) == 0 {
		return shape{0}
	}
	return shape{float64(len(p)), p.Length(), p.Start().Dist(p.End())}
}

// equal reports whether two shapes are the same to a thousandth of a millimetre.
func (s shape) equal(o shape) bool {
	return slices.EqualFunc(s, o, func(a, b float64) bool { return math.Abs(a-b) < 0.001 })
}
