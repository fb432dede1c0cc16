package fitting

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/pattern"
)

// casingFold is the line at which a casing that is cut in one with its piece folds over.
const casingFold = "casing_fold"

// elasticLine is the line of the stitches that hold elastic in a seam beside it.
const elasticLine = "elastic"

// foldCasings returns the pattern without what its casings fold under.
func foldCasings(p pattern.Pattern) pattern.Pattern {
	p.Pieces = slices.Clone(p.Pieces)
	for i, piece := range p.Pieces {
		for _, l := range piece.Lines {
			if l.Name != casingFold {
				continue
			}
			if part, ok := larger(piece, l.Path, casingFold); ok {
				p.Pieces[i] = part
			}
		}
	}
	return p
}

// heldByElastic returns the upper edges of panels which neither shoulders, straps nor a band
// hold up: elastic in them does.
func heldByElastic(panels []*panel, seams []pattern.Seam) (held []pattern.EdgeRef) {
	byName := map[string]*panel{}
	for _, q := range panels {
		if q.armhole() {
			return nil
		}
		byName[q.Name] = q
	}
	sewn := map[pattern.EdgeRef]bool{}
	for _, s := range seams {
		for _, way := range [][2]pattern.EdgeRef{{s.A, s.B}, {s.B, s.A}} {
			if byName[way[0].Piece] == nil {
				continue
			}
			if byName[way[1].Piece] == nil && strings.Contains(way[1].Piece, "band") {
				return nil
			}
			sewn[way[0]] = true
		}
	}
	for _, q := range panels {
		for _, e := range q.Edges {
			ref := pattern.EdgeRef{Piece: q.Name, Edge: e.Name}
			if e.Role != pattern.RoleFold && e.Role != pattern.RoleDartMouth && !sewn[ref] && q.runsAcross(e, upper) {
				held = append(held, ref)
			}
		}
	}
	return held
}

// besideElastic returns the edges of panels at which elastic lies in a seam.
func besideElastic(panels []*panel) (edges []pattern.EdgeRef) {
	for _, q := range panels {
		for _, l := range q.Lines {
			if l.Name != elasticLine {
				continue
			}
			middle := l.Path.At(l.Path.Length() / 2)
			near, beside := math.Inf(1), ""
			for _, e := range q.Edges {
				if _, off, _ := e.Path.Nearest(middle); off < near {
					near, beside = off, e.Name
				}
			}
			edges = append(edges, pattern.EdgeRef{Piece: q.Name, Edge: beside})
		}
	}
	return edges
}

// drawIn gathers the edges that elastic holds until they lie on the body at their height:
// elastic is cut shorter than that (common practice: 5 to 10 %), and no longer than the edge.
// girth returns that of the body at a height.
func drawIn(panels []*panel, held []pattern.EdgeRef, girth func(y float64) float64) {
	length, height := 0.0, 0.0
	for _, q := range panels {
		for _, ref := range held {
			if ref.Piece == q.Name {
				e, _ := q.Edge(ref.Edge)
				length += e.Path.Length()
				at := e.Path.At(e.Path.Length() / 2)
				height += (q.level - q.down(r2.Vec{X: at.X, Y: at.Y})) * e.Path.Length()
			}
		}
	}
	if length == 0 {
		return
	}
	fullness := 2 * length / girth(height/length)
	if fullness < leastFullness {
		return
	}
	for _, q := range panels {
		for _, ref := range held {
			if ref.Piece == q.Name {
				e, _ := q.Edge(ref.Edge)
				q.gather(e, fullness)
			}
		}
	}
}
