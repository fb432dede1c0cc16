package block

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// reading takes measures from a finished piece: from its outline, darts, lines
// and marks, never from the figures that built them. It lays the piece with
// the centre line on the left. Where the bust dart opens a cutter would fold
// it shut before measuring across it; reading does the same, about the bust
// point: above holds what lies above the bust in the frame of the centre
// front's top, below the rest in that of its foot.
type reading struct {
	piece        pattern.Piece
	above, below []pattern.Edge
	shut         geom.Motion // turns the bust dart's first leg onto its second
}

// read lays a piece out for measuring. mirror turns a front over first.
func read(p pattern.Piece, mirror bool) reading {
	if mirror {
		p = mirrored(p)
	}
	r := reading{piece: p, above: p.Edges, below: p.Edges, shut: geom.Still}
	point, ok := markAt(p, pattern.MarkBustPoint)
	at := edgeIndex(p.Edges, mouthOf(dartBust))
	if !ok || at < 0 {
		return r
	}
	mouth := p.Edges[at].Path
	angle := geom.AngleBetween(mouth.Start().Sub(point), mouth.End().Sub(point))
	if waist, ok := r.level(lineWaist); ok && p.Edges[at-1].Run == edgeHem && mouth.End().Y < waist+30 {
		angle = r.levelWaist(point, waist, angle)
	}
	r.shut = geom.Turn(point, angle)
	open := geom.Turn(point, -angle)
	side := firstOf(p.Edges, edgeSide)
	r.above, r.below = append([]pattern.Edge{}, p.Edges...), append([]pattern.Edge{}, p.Edges...)
	turn := func(edges []pattern.Edge, from, to int, m geom.Motion) {
		for i := from; i < to; i++ {
			edges[i].Path = edges[i].Path.Move(m)
		}
	}
	switch before := p.Edges[at-1].Run; {
	case before == edgeCentre:
		turn(r.above, 0, side, open)
		turn(r.above, at+1, len(p.Edges), open)
	case before == edgeSide || before == edgeHem:
		turn(r.below, side, at, r.shut)
	default:
		turn(r.above, at+1, side, open)
	}
	return r
}

// levelWaist is the bust dart's share of one that also holds the waist dart of
// a block ending at the waist: what turns the side's end of the waist level
// with the centre's. all is the whole dart.
func (r reading) levelWaist(point geom.Point, waist, all float64) float64 {
	side := run(r.piece.Edges, edgeSide).End().Sub(point)
	sine := (waist - point.Y) / side.Norm()
	if abs(sine) > 1 {
		return all
	}
	return math.Asin(sine) - side.Angle()
}

func edgeIndex(edges []pattern.Edge, name string) int {
	for i, e := range edges {
		if e.Name == name {
			return i
		}
	}
	return -1
}

func firstOf(edges []pattern.Edge, name string) int {
	for i, e := range edges {
		if e.Run == name {
			return i
		}
	}
	return -1
}

// run is the parts of an edge, one after another; what lies between
// their ends (a dart's mouth) is left out.
func run(edges []pattern.Edge, name string) geom.Path {
	var path geom.Path
	for _, e := range edges {
		if e.Run == name {
			path = append(path, e.Path...)
		}
	}
	return path
}

func markAt(p pattern.Piece, kind pattern.MarkKind) (geom.Point, bool) {
	for _, k := range p.Marks {
		if k.Kind == kind {
			return k.At, true
		}
	}
	return geom.Point{}, false
}

// level is the height of a named line.
func (r reading) level(name string) (float64, bool) {
	for _, l := range r.piece.Lines {
		if l.Name == name {
			return l.Path.Start().Y, true
		}
	}
	return 0, false
}

// line is a named internal line.
func (r reading) line(name string) (geom.Path, bool) {
	for _, l := range r.piece.Lines {
		if l.Name == name {
			return l.Path, true
		}
	}
	return nil, false
}

// width is from the centre line to the side seam along a line that starts at
// the centre, the darts taken out. A line that stops short is followed on.
func (r reading) width(centre string, line geom.Path) float64 {
	w := sideAt(run(r.below, edgeSide), line.End().Y) - run(r.below, centre).Start().X
	for _, d := range r.piece.Darts {
		first, second := d.Legs[0], d.Legs[1]
		if d.Name == dartBust {
			if r.piece.Edges[edgeIndex(r.piece.Edges, d.Mouth)-1].Run != edgeHem {
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

// sideAt is where a side seam passes level y, or the nearer of its ends.
func sideAt(side geom.Path, y float64) float64 {
	if y <= side.Start().Y {
		return side.Start().X
	}
	return xAtLevel(side, y)
}

// legAt is where a dart leg passes a line.
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

// levelAt is the height of a line at x; beyond its ends it runs on level.
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

// across is half the across width: from the centre line to where the
// armhole's two curves join.
func (r reading) across(centre string) float64 {
	armhole := run(r.above, edgeArmhole)
	top := run(r.above, centre).End()
	return armhole[0].P3.X - top.X
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}
