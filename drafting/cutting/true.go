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
	// leastRest is the least length of an edge that is not redrawn beyond it, mm; a shorter
	// rest is redrawn too.
	leastRest = 1.0
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

// mostTurn is the turn in radians over which an edge is meant to have a corner at a
// seam, as the hem of a shirt with rounded tails: 15 degrees.
const mostTurn = 15 * math.Pi / 180

// trueJoints redraws the edges that run on over the ends of seams so that they
// have no corner there, as a cutter lays two pieces along their seam and draws
// armhole, neckline or hem across it. Each piece takes half of the turn.
func trueJoints(pieces []pattern.Piece, seams []pattern.Seam) {
	for _, j := range pattern.Joints(pieces, seams) {
		turn := j.Turn()
		if !j.RunsOn || math.Abs(turn) < leastTurn || math.Abs(turn) > mostTurn {
			continue
		}
		for _, c := range j.Corners {
			next := &pieces[c.Piece].Edges[pieces[c.Piece].EdgeIndex(c.Next.Name)]
			if c.AtStart {
				path := next.Path.Reverse()
				next.Path = startAlong(path, path.StartTangent().Rotate(geom.Point{}, turn/2)).Reverse()
			} else {
				next.Path = startAlong(next.Path, next.Path.StartTangent().Rotate(geom.Point{}, -turn/2))
			}
			pieces[c.Piece] = FitGrain(pieces[c.Piece])
		}
	}
}

// startAlong redraws the start of a path so that it leaves along a direction. It
// redraws less of a path that turns sharply there, to keep its length.
func startAlong(path geom.Path, along geom.Point) geom.Path {
	reach := path.Length()
	if reach > trueReach+leastRest {
		reach = trueReach
	}
	for ; ; reach /= 2 {
		_, rest := cutPath(path, reach)
		a, b := path.Start(), path.At(reach)
		h := a.Dist(b) / 3
		redrawn := geom.Cubic(a, a.Add(along.Mul(h)), b.Sub(path.TangentAt(reach).Mul(h)), b)
		if math.Abs(redrawn.Length()-reach) < trueTol || reach < 1 {
			return append(geom.Path{redrawn}, rest...)
		}
	}
}
