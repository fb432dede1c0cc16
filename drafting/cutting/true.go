package cutting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

const (
	// trueReach is how far from the mouth of a dart its edge is redrawn, mm
	// (common practice: 30 to 50).
	trueReach = 40.0
	// trueTol is by how much trueing may change the length of either side of the edge, mm.
	trueTol = 0.1
	// leastTurn is the turn in radians of a sewn edge that nobody sees: 1 degree.
	leastTurn = math.Pi / 180
)

// TrueDarts redraws the edge on both sides of each open dart so that it runs on
// without a corner where the dart is sewn, as a cutter trues a dart by folding it
// shut and drawing the seam across it. A dart that ends short of the point about
// which it was opened, as a bust dart does, folds by more than it was opened:
// the more, the shorter it is. The legs stay as they are; each side of the edge
// keeps its length within a tenth of a millimetre.
//
// Trueing suits the darts where they are: it comes after all of them have been moved.
func TrueDarts(p pattern.Piece) pattern.Piece {
	p.Edges = slices.Clone(p.Edges)
	n := len(p.Edges)
	for _, d := range p.Darts {
		mouth := p.EdgeIndex(d.Mouth)
		if d.Mouth == "" || mouth < 0 || len(d.Apexes) == 0 {
			continue
		}
		before, after := &p.Edges[(mouth+n-1)%n], &p.Edges[(mouth+1)%n]
		if before.Run != after.Run {
			continue // it opens at a corner
		}
		legs := [2]geom.Point{d.Legs[0].StartTangent(), d.Legs[1].StartTangent()}
		sides := [2]geom.Path{before.Path.Reverse(), after.Path}
		first := geom.AngleBetween(legs[0], sides[0].StartTangent())
		second := geom.AngleBetween(legs[1], sides[1].StartTangent())
		turn := math.Pi - math.Abs(first) - math.Abs(second)
		if math.Abs(turn) < leastTurn {
			continue
		}
		share := math.Copysign(0.5, first) * turn
		before.Path = startAlong(sides[0], legs[0].Rotate(geom.Point{}, first+share)).Reverse()
		after.Path = startAlong(sides[1], legs[1].Rotate(geom.Point{}, second-share))
	}
	return p
}

// startAlong redraws the start of a path so that it leaves along a direction. It
// redraws less of a path that turns sharply there, to keep its length.
func startAlong(path geom.Path, along geom.Point) geom.Path {
	for reach := min(trueReach, path.Length()); ; reach /= 2 {
		_, rest := path.SplitAt(reach)
		a, b := path.Start(), path.At(reach)
		h := a.Dist(b) / 3
		redrawn := geom.Cubic(a, a.Add(along.Mul(h)), b.Sub(path.TangentAt(reach).Mul(h)), b)
		if math.Abs(redrawn.Length()-reach) < trueTol || reach < 1 {
			return append(geom.Path{redrawn}, rest...)
		}
	}
}
