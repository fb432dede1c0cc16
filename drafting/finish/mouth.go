package finish

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// legTol is the largest difference in mm between the legs of a dart that are
// sewn together, and between a leg's end and the mouth.
const legTol = 0.05

// mouthSpeck is the length in mm of a part of a mouth that is left out: where the
// middle of a dart cuts its edge just beyond a joint.
const mouthSpeck = 0.1

// line is the unbounded straight line through a point along a direction.
type line struct{ at, along geom.Point }

func (l line) reflection() geom.Motion { return geom.Reflect(l.at, l.along) }

// near returns the stretch of the line within reach mm of its point.
func (l line) near(reach float64) geom.Path {
	v := l.along.Unit().Mul(reach)
	return geom.Path{geom.Line(l.at.Sub(v), l.at.Add(v))}
}

// mouth is the open side of a dart between the two edges beside it.
type mouth struct {
	dart    string
	edge    int     // index of the mouth among the edges
	pressed int     // the leg over which the cloth is folded
	legs    [2]line // at the mouth's ends
	middle  line    // where the dart is folded
}

// mouthsOf returns the open side of each dart that has one.
func mouthsOf(p pattern.Piece) ([]mouth, error) {
	var all []mouth
	for _, d := range p.Darts {
		if d.Mouth == "" {
			continue
		}
		m, err := mouthOf(p, d)
		if err != nil {
			return nil, fmt.Errorf("dart %s: %w", d.Name, err)
		}
		all = append(all, m)
	}
	return all, nil
}

func mouthOf(p pattern.Piece, d pattern.Dart) (mouth, error) {
	m := mouth{dart: d.Name, edge: -1, pressed: d.Pressed}
	for i, e := range p.Edges {
		if e.Name == d.Mouth {
			m.edge = i
		}
	}
	if m.edge < 0 {
		return mouth{}, fmt.Errorf("its mouth is the unknown edge %q", d.Mouth)
	}
	if d.Pressed != 0 && d.Pressed != 1 {
		return mouth{}, fmt.Errorf("pressed over leg %d; must be 0 or 1", d.Pressed)
	}
	open := p.Edges[m.edge].Path
	for i, end := range [2]geom.Point{open.Start(), open.End()} {
		leg := d.Legs[i]
		if len(leg) == 0 || !leg.Start().Near(end, legTol) {
			return mouth{}, fmt.Errorf("leg %d does not start at the mouth", i)
		}
		m.legs[i] = line{end, leg.StartTangent()}
	}
	if a, b := d.Legs[0].Length(), d.Legs[1].Length(); math.Abs(a-b) > legTol {
		return mouth{}, fmt.Errorf("its legs are %.2f and %.2f mm long; they must be equal", a, b)
	}
	across := open.End().Sub(open.Start())
	m.middle = line{open.Start().Lerp(open.End(), 0.5), across.Right()}
	return m, nil
}

// beside returns the index of the edge next to the mouth beyond leg i, of n
// edges.
func (m mouth) beside(i, n int) int {
	if i == 0 {
		return (m.edge + n - 1) % n
	}
	return (m.edge + 1) % n
}

// foldOver returns the shape of the mouth when the dart is folded over its
// pressed leg and cut along the edge beside that leg: the edge mirrored in the
// leg, up to the middle of the dart, and that mirrored in the middle. Its
// parallel consists of mirror images of the edge's parallel, so that the cut
// lines of the folded layers end together too. Beside a dart so wide that the edge does not
// reach its middle the layers are cut off square to that.
func (m mouth) foldOver(edge geom.Path) geom.Path {
	if m.pressed == 0 {
		edge = edge.Reverse()
	}
	mirrored := edge.Move(m.legs[m.pressed].reflection())
	width := m.legs[0].at.Dist(m.legs[1].at)
	half, ok := cutEnd(mirrored, m.middle, 2*width+mirrored.Start().Dist(m.middle.at))
	if !ok {
		half, _ = extend(mirrored, width).SplitAt(width / 2)
		end := half.End()
		half = append(half, geom.Line(end, end.Lerp(m.middle.reflection().Apply(end), 0.5)))
	}
	half = half.WithoutSpecks(mouthSpeck)
	whole := geom.Join(half, half.Move(m.middle.reflection()).Reverse())
	if m.pressed == 1 {
		whole = whole.Reverse()
	}
	return whole
}

// trueMouths gives every dart's mouth the shape in which its folded layers end
// at the edge they are sewn into.
func trueMouths(p pattern.Piece, mouths []mouth) pattern.Piece {
	if len(mouths) == 0 {
		return p
	}
	p.Edges = append([]pattern.Edge(nil), p.Edges...)
	for _, m := range mouths {
		p.Edges[m.edge].Path = m.foldOver(p.Edges[m.beside(m.pressed, len(p.Edges))].Path)
	}
	return p
}
