package block

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// reading takes measures from a finished piece: from its outline, darts, lines
// and marks, never from the figures that built them. The centre line lies on
// the left. A cutter folds an open bust dart shut before measuring across it;
// reading does the same, about the bust point: above holds the edges above the
// bust in the frame of the centre front's top, below those below it in the
// frame of its foot.
type reading struct {
	piece        pattern.Piece
	above, below pattern.Piece
	shut         geom.Motion // turns the bust dart's first leg onto its second
}

// read prepares a piece for measuring. mirror turns a front over first.
func read(p pattern.Piece, mirror bool) reading {
	if mirror {
		p = turnOver(p)
	}
	r := reading{piece: p, above: p, below: p, shut: geom.Still}
	point, ok := markAt(p, pattern.MarkBustPoint)
	at := p.EdgeIndex(mouthOf(dartBust))
	if !ok || at < 0 {
		return r
	}
	mouth := p.Edges[at].Path
	angle := geom.AngleBetween(mouth.Start().Sub(point), mouth.End().Sub(point))
	if waist, ok := levelOf(p, lineWaist); ok && p.Edges[at-1].Run == edgeHem && mouth.End().Y < waist+55 {
		angle = r.levelWaist(point, waist, angle)
	}
	r.shut = geom.Turn(point, angle)
	open := geom.Turn(point, -angle)
	side := firstOf(p.Edges, edgeSide)
	r.above.Edges, r.below.Edges = slices.Clone(p.Edges), slices.Clone(p.Edges)
	turn := func(edges []pattern.Edge, from, to int, m geom.Motion) {
		for i := from; i < to; i++ {
			edges[i].Path = edges[i].Path.Move(m)
		}
	}
	switch p.Edges[at-1].Run {
	case edgeCentre:
		turn(r.above.Edges, 0, side, open)
		turn(r.above.Edges, at+1, len(p.Edges), open)
	case edgeSide, edgeHem:
		turn(r.below.Edges, side, at, r.shut)
	default:
		turn(r.above.Edges, at+1, side, open)
	}
	return r
}

// levelWaist returns the bust dart's share of a dart that also holds the waist
// dart of a block ending at the waist: the turn that brings the side's end of
// the waist level with the centre's. all is the whole dart.
func (r reading) levelWaist(point geom.Point, waist, all float64) float64 {
	side := r.piece.Run(edgeSide).End().Sub(point)
	sine := (waist - point.Y) / side.Norm()
	if abs(sine) > 1 {
		return all
	}
	return math.Asin(sine) - side.Angle()
}

func firstOf(edges []pattern.Edge, name string) int {
	for i, e := range edges {
		if e.Run == name {
			return i
		}
	}
	return -1
}

func markAt(p pattern.Piece, kind pattern.MarkKind) (geom.Point, bool) {
	for _, k := range p.Marks {
		if k.Kind == kind {
			return k.At, true
		}
	}
	return geom.Point{}, false
}

// line returns a line inside the piece by name.
func (r reading) line(name string) (geom.Path, bool) {
	for _, l := range r.piece.Lines {
		if l.Name == name {
			return l.Path, true
		}
	}
	return nil, false
}

// width returns the distance from the centre line to the side seam along a line
// that starts at the centre, less the darts. A line that stops short is
// extended.
func (r reading) width(centre string, line geom.Path) float64 {
	w := r.between(centre, edgeSide, line)
	for _, d := range r.piece.Darts {
		if d.Empty() {
			continue
		}
		first, second := d.Legs[0], d.Legs[1]
		if d.Name == dartBust {
			if r.piece.Edges[r.piece.EdgeIndex(d.Mouth)-1].Run != edgeHem {
				continue
			}
			// The last stretch of either leg only brings the dart to its point.
			first, second = first[:len(first)-1].Move(r.shut), second[:len(second)-1]
		}
		a, okA := legAt(first, line)
		b, okB := legAt(second, line)
		if okA && okB {
			w -= abs(a - b)
		}
	}
	return w
}

// sideAt returns the x at which a side seam passes level y, or that of its
// nearer end.
func sideAt(side geom.Path, y float64) float64 {
	if y <= side.Start().Y {
		return side.Start().X
	}
	return xAtLevel(side, y)
}

// legAt returns the x at which a dart leg passes a line.
func legAt(leg, line geom.Path) (float64, bool) {
	above := func(p geom.Point) float64 { return p.Y - levelAt(line, p.X) }
	for _, s := range leg {
		a, b := above(s.P0), above(s.P3)
		if a*b > 0 || a == b {
			continue
		}
		t, _ := root(0, 1, 1e-12, func(t float64) float64 { return above(s.At(t)) })
		return s.At(t).X, true
	}
	return 0, false
}

// levelAt returns the height of a line at x. Beyond its ends the line is level.
func levelAt(line geom.Path, x float64) float64 {
	for _, s := range line {
		if x <= s.P3.X {
			if x <= s.P0.X || s.P3.X == s.P0.X {
				return s.P0.Y
			}
			return s.P0.Lerp(s.P3, (x-s.P0.X)/(s.P3.X-s.P0.X)).Y
		}
	}
	return line.End().Y
}

// across returns half the across width: from the centre line to the point where
// the armhole's two curves join, or where a dart opens there.
func (r reading) across(centre string) float64 {
	i := firstOf(r.above.Edges, edgeArmhole)
	join := r.above.Edges[i].Path.End()
	if r.above.Edges[i+1].Role != pattern.RoleDartMouth {
		join = firstJoint(r.above.Edges[i:], edgeArmhole)
	}
	return join.X - r.above.Run(centre).End().X
}

// firstJoint returns the first joint of two curves within a part of a run. Where a seam cuts the run
// one curve goes on.
func firstJoint(edges []pattern.Edge, run string) geom.Point {
	for _, e := range edges {
		if e.Run == run && len(e.Path) > 1 {
			return e.Path[0].P3
		}
	}
	return edges[0].Path.End()
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}
