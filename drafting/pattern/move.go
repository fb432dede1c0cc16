package pattern

import (
	"slices"

	"tapeline/drafting/geom"
)

// Move is the piece after a motion of the paper. Turned over, its outline is
// walked clockwise again and each dart is pressed the same way on the body.
func (p Piece) Move(m geom.Motion) Piece {
	q := p
	over := m.Mirrors()
	q.Edges = make([]Edge, len(p.Edges))
	for i, e := range p.Edges {
		if e.Path = e.Path.Move(m); over {
			e.Path = e.Path.Reverse()
			q.Edges[len(p.Edges)-1-i] = e
			continue
		}
		q.Edges[i] = e
	}
	if over {
		q.Edges = p.likeBefore(q.Edges)
	}
	q.Notches = slices.Clone(p.Notches)
	if over {
		for i, n := range p.Notches {
			q.Notches[i].At = p.RunLength(n.Edge) - n.At
		}
	}
	q.Darts = nil
	for _, d := range p.Darts {
		q.Darts = append(q.Darts, d.move(m))
	}
	q.Marks = nil
	for _, k := range p.Marks {
		k.At = m.Apply(k.At)
		q.Marks = append(q.Marks, k)
	}
	q.Lines = nil
	for _, l := range p.Lines {
		l.Path = l.Path.Move(m)
		q.Lines = append(q.Lines, l)
	}
	q.Grain = p.Grain.Move(m)
	return q
}

// likeBefore starts a reversed outline with the edge that the piece starts
// with, all its parts first, so that a piece turned over twice is the piece
// again.
func (p Piece) likeBefore(edges []Edge) []Edge {
	last := 0
	for i, e := range p.Edges {
		if e.Run == p.Edges[0].Run {
			last = i
		}
	}
	return rotated(edges, len(edges)-1-last)
}

func (d Dart) move(m geom.Motion) Dart {
	q := d
	q.Legs = [2]geom.Path{d.Legs[0].Move(m), d.Legs[1].Move(m)}
	if m.Mirrors() {
		q.Legs[0], q.Legs[1] = q.Legs[1], q.Legs[0]
		q.Pressed = 1 - d.Pressed
	}
	q.Apexes = nil
	for _, a := range d.Apexes {
		q.Apexes = append(q.Apexes, m.Apply(a))
	}
	return q
}

// Onto is the motion that lays the line from a to b on the line from c along
// the direction of d: a comes to c. With over the paper is turned over first.
func Onto(a, b, c, d geom.Point, over bool) geom.Motion {
	m := geom.Still
	if over {
		m = geom.Reflect(a, b.Sub(a))
	}
	angle := geom.AngleBetween(b.Sub(a), d.Sub(c))
	return m.Then(geom.Turn(a, angle)).Then(geom.Shift(c.Sub(a)))
}

// Unfold is the piece opened about the edge of that name, which is straight:
// the mirrored half is joined to it and the edge is gone. Edges of the mirrored
// half that meet their image at the fold carry it on; the others take other in
// front of their names.
func Unfold(p Piece, fold, other string) (Piece, error) {
	if err := p.checkRun(fold); err != nil {
		return Piece{}, err
	}
	edges, err := p.split(Place{fold, 0})
	if err != nil {
		return Piece{}, err
	}
	if len(edges) < 2 || edges[1].Name == fold {
		return Piece{}, p.fail(fold, "it is cut into parts and can't be unfolded")
	}
	axis := edges[0].Path
	if !straight(axis) {
		return Piece{}, p.fail(fold, "it is not straight and can't be unfolded")
	}
	m := geom.Reflect(axis.Start(), axis.End().Sub(axis.Start()))
	half := edges[1:]
	atStart, atEnd := half[len(half)-1].Name, half[0].Name // the edges that meet the fold
	rename := func(name string) string {
		if name == atStart || name == atEnd {
			return name
		}
		return other + name
	}
	q := p
	q.Edges = slices.Clone(half)
	image := p.Move(m)
	for i := len(half) - 1; i >= 0; i-- {
		e := half[i]
		e.Path = e.Path.Move(m).Reverse()
		if e.Role == RoleDartMouth {
			e.Name = other + e.Name
		} else {
			e.Name = rename(e.Name)
		}
		e.Run = e.Name
		q.Edges = append(q.Edges, e)
	}
	pins := p.pins()
	for _, k := range p.pins() {
		pins = append(pins, pin{rename(k.run), m.Apply(k.at), k.kind})
	}
	for _, d := range image.Darts {
		d.Name = other + d.Name
		if d.Mouth != "" {
			d.Mouth = other + d.Mouth
		}
		q.Darts = append(slices.Clip(q.Darts), d)
	}
	for _, k := range image.Marks {
		k.Name = other + k.Name
		q.Marks = append(slices.Clip(q.Marks), k)
	}
	for _, l := range image.Lines {
		q.Lines = append(slices.Clip(q.Lines), l)
	}
	q.Edges = merged(q.Edges)
	q.Cut.OnFold = false
	return q.repin(pins), nil
}

// straight reports whether the path is one straight line.
func straight(path geom.Path) bool {
	u := path.End().Sub(path.Start()).Unit()
	for _, s := range path {
		for _, q := range [...]geom.Point{s.P1, s.P2, s.P3} {
			if abs(u.Cross(q.Sub(path.Start()))) > 0.01 {
				return false
			}
		}
	}
	return true
}

// pin is a notch held by its point while the outline changes under it.
type pin struct {
	run  string
	at   geom.Point
	kind NotchKind
}

func (p Piece) pins() []pin {
	var pins []pin
	for _, n := range p.Notches {
		pins = append(pins, pin{n.Edge, p.Run(n.Edge).At(n.At), n.Kind})
	}
	return pins
}

// pinTol is how far in mm an outline may move under a notch and still be the
// same there.
const pinTol = 0.05

// repin puts the notches back where their edge still runs through them; the
// others are gone.
func (p Piece) repin(pins []pin) Piece {
	p.Notches = nil
	for _, k := range pins {
		path := p.Run(k.run)
		if len(path) == 0 {
			continue
		}
		if _, d, along := path.Nearest(k.at); d <= pinTol {
			p.Notches = append(p.Notches, Notch{k.run, along, k.kind})
		}
	}
	return p
}
