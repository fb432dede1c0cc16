package cutting

import (
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Onto returns the motion that moves a to c and the direction from a to b to
// that from c to d. If over is set the paper is turned over first.
func Onto(a, b, c, d geom.Point, over bool) geom.Motion {
	m := geom.Still
	if over {
		m = geom.Reflect(a, b.Sub(a))
	}
	angle := geom.AngleBetween(b.Sub(a), d.Sub(c))
	return m.Then(geom.Turn(a, angle)).Then(geom.Shift(c.Sub(a)))
}

// Unfold opens the piece about an edge, which must be straight: it joins the
// mirror image to the piece and removes the edge. Edges of the mirror image
// that meet their original at the fold continue it; the names of the others are
// prefixed with other.
func Unfold(p pattern.Piece, fold, other string) (pattern.Piece, error) {
	if err := checkRun(p, fold); err != nil {
		return pattern.Piece{}, err
	}
	edges, err := split(p, Position{fold, 0})
	if err != nil {
		return pattern.Piece{}, err
	}
	if len(edges) < 2 || edges[1].Name == fold {
		return pattern.Piece{}, newError(p, fold, "it is cut into parts; only a whole edge can be unfolded")
	}
	axis := edges[0].Path
	if !axis.IsStraight(pattern.FoldTol) {
		return pattern.Piece{}, newError(p, fold, "it is not straight; only a straight edge can be unfolded")
	}
	m := geom.Reflect(axis.Start(), axis.End().Sub(axis.Start()))
	half := edges[1:]
	// The edges that meet the fold, or a pleat that ends at it.
	atStart, atEnd := half[besideMouth(pattern.Piece{Edges: half}, len(half)-1, len(half)-1)].Name,
		half[besideMouth(pattern.Piece{Edges: half}, 0, 1)].Name
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
		if e.Role == pattern.RoleDartMouth {
			e.Name = other + e.Name
		} else {
			e.Name = rename(e.Name)
		}
		e.Run = e.Name
		q.Edges = append(q.Edges, e)
	}
	pins := pinsOf(p)
	for _, k := range pinsOf(p) {
		pins = append(pins, pin{rename(k.run), m.Apply(k.at), k.kind, k.name})
	}
	q.Lines = slices.Concat(p.Lines, image.Lines)
	image = WithPrefix(image, other)
	q.Darts, q.Marks = slices.Concat(p.Darts, image.Darts), slices.Concat(p.Marks, image.Marks)
	q.Edges = merged(q.Edges)
	q.Cut.OnFold = false
	return repin(q, pins), nil
}

// pin is a notch held at its point while the outline changes under it.
type pin struct {
	run  string
	at   geom.Point
	kind pattern.NotchKind
	name string
}

func pinsOf(p pattern.Piece) []pin {
	var pins []pin
	for _, n := range p.Notches {
		pins = append(pins, pin{n.Edge, p.Run(n.Edge).At(n.At), n.Kind, n.Name})
	}
	return pins
}

// pinTol is how far in mm an outline may move under a notch that stays on it.
const pinTol = 0.05

// repin puts back the notches whose edge still runs through their points and
// drops the others.
func repin(p pattern.Piece, pins []pin) pattern.Piece {
	p.Notches = nil
	for _, k := range pins {
		path := p.Run(k.run)
		if len(path) == 0 {
			continue
		}
		if _, d, along := path.Nearest(k.at); d <= pinTol {
			p.Notches = append(p.Notches, pattern.Notch{Edge: k.run, At: along, Kind: k.kind, Name: k.name})
		}
	}
	return p
}
