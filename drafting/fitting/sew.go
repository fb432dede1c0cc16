package fitting

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/cost"
	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A garment is a pattern sewn together: the right half of its shell, held in the
// middle of the body.
type garment struct {
	panels  []*panel
	arm     *form.Arm         // the right arm of the form; nil without sleeves
	pieceOf map[string]string // the pattern's piece of each panel
	mesh    *drape.Mesh
	moved   []int   // point of the mesh that each point of the panels has become
	banded  bool    // it hangs from a band at the waist
	size    float64 // of its triangles, mm
	jersey  float64 // share of its strain as which that of a band of jersey counts
	fold    float64 // width of the folds in which it falls, mm; 0 if it hangs smooth
}

// sew makes a garment of a pattern's shell, of which elastic holds some edges at the waist.
// where gives the points of a panel their first place.
func sew(ctx context.Context, p pattern.Pattern, panels []*panel, cloth drape.Cloth, size float64,
	held []pattern.EdgeRef, where func(q *panel, at r2.Vec) r3.Vec,
) (*garment, error) {
	g := &garment{panels: panels, mesh: &drape.Mesh{Half: true}, size: size}
	counts := g.counts(p.Seams, size)
	g.pin(p.Seams, counts)
	for _, q := range panels {
		if err := cost.Step(ctx); err != nil {
			return nil, err
		}
		if err := q.divide(counts, size); err != nil {
			return nil, err
		}
	}
	for i, q := range panels {
		q.first = len(g.mesh.Points)
		warp := q.warp()
		weft := r2.Vec{X: warp.Y, Y: -warp.X}
		toFlat := func(up r2.Vec) r2.Vec { return r2.Vec{X: r2.Dot(up, weft), Y: r2.Dot(up, warp)} }
		for _, at := range q.points {
			if err := cost.Step(ctx); err != nil {
				return nil, err
			}
			g.mesh.Points = append(g.mesh.Points, where(q, at))
		}
		g.mesh.Cloths = append(g.mesh.Cloths, q.clothOr(cloth))
		doubled := g.doubled(q, p.Seams)
		for _, t := range q.triangles {
			tri := drape.Triangle{Piece: i}
			var corners [3]r2.Vec
			for k, local := range t {
				at := q.points[local]
				tri.Points[k], tri.Flat[k] = q.first+local, toFlat(r2.Vec{X: at.X, Y: -at.Y})
				corners[k] = at
			}
			q.gathered(&tri, corners, toFlat)
			tri.Layers = q.layers()
			middle := r2.Scale(1.0/3, r2.Add(corners[0], r2.Add(corners[1], corners[2])))
			for _, line := range doubled {
				if _, off, _ := line.Nearest(geom.Pt(middle.X, middle.Y)); off <= besideNeck {
					tri.Layers = max(2, tri.Layers)
				}
			}
			g.mesh.Triangles = append(g.mesh.Triangles, tri)
		}
	}
	g.easeIn(p.Seams)
	g.mesh.OnPlane = make([]bool, len(g.mesh.Points))
	g.moved = g.mesh.Weld(g.stitches(p.Seams))
	for i, on := range g.mesh.OnPlane {
		if on {
			g.mesh.Points[i].X = 0
		}
	}
	g.hangFromBand(p.Seams, held)
	if slices.ContainsFunc(p.Pieces, func(q pattern.Piece) bool { return strings.Contains(q.Name, "strap") }) {
		g.hangFromStraps()
	}
	return g, nil
}

// hangFromBand lets the edges to which a band is sewn at the waist, which is not tried
// on itself, and those that elastic holds there keep the height of the waist. An edge that
// dips, as below a belly, keeps the height at which it was cut.
func (g *garment) hangFromBand(seams []pattern.Seam, held []pattern.EdgeRef) {
	if slices.ContainsFunc(g.panels, func(q *panel) bool { return q.armhole() }) {
		return // it hangs from the shoulders
	}
	for _, s := range seams {
		for _, pair := range [][2]pattern.EdgeRef{{s.A, s.B}, {s.B, s.A}} {
			if g.panel(pair[0].Piece) != nil && g.panel(pair[1].Piece) == nil && strings.Contains(pair[1].Piece, "band") {
				held = append(held, pair[0])
			}
		}
	}
	g.mesh.Hung = make([]bool, len(g.mesh.Points))
	var hung []int
	cut := map[int]float64{}  // heights of the points of edges that dip
	level, aside := 0.0, -1.0 // of the point at the side seam, which lies at the waist
	for _, ref := range held {
		q := g.panel(ref.Piece)
		dips := q.dips(ref.Edge)
		for _, i := range q.edges[ref.Edge] {
			at := g.moved[q.first+i]
			hung = append(hung, at)
			if dips {
				cut[at] = q.level - q.down(q.points[i])
			}
			if across := q.across(q.points[i]); across > aside {
				level, aside = q.level-q.down(q.points[i]), across
			}
		}
	}
	for _, i := range hung {
		if i >= 0 {
			g.mesh.Hung[i], g.banded = true, true
			g.mesh.Points[i].Y = level
			if own, ok := cut[i]; ok {
				g.mesh.Points[i].Y = own
			}
		}
	}
}

// dipping is by how much the middle of an edge that a band holds lies below its side, mm: more
// than that of any waist.
const dipping = 40

// dips reports whether an edge lies far lower in the middle than at the side.
func (q *panel) dips(edge string) bool {
	line := slices.Clone(q.edges[edge])
	slices.SortFunc(line, func(i, j int) int { return cmp.Compare(q.across(q.points[i]), q.across(q.points[j])) })
	return len(line) > 0 && q.down(q.points[line[0]])-q.down(q.points[line[len(line)-1]]) > dipping
}

// cuffed reports whether the sleeve ends in a cuff.
func (g *garment) cuffed() bool {
	return slices.ContainsFunc(g.panels, func(q *panel) bool { return q.cuff })
}

func (g *garment) panel(name string) *panel {
	for _, q := range g.panels {
		if q.Name == name {
			return q
		}
	}
	return nil
}

// counts returns into how many parts each edge is divided. Edges that are sewn
// together have the same number.
func (g *garment) counts(seams []pattern.Seam, size float64) map[pattern.EdgeRef]int {
	counts := map[pattern.EdgeRef]int{}
	for _, q := range g.panels {
		for _, e := range q.Edges {
			counts[pattern.EdgeRef{Piece: q.Name, Edge: e.Name}] = parts(e.Path.Length(), size)
		}
	}
	for range seams {
		for _, s := range seams {
			a, okA := counts[s.A]
			b, okB := counts[s.B]
			if okA && okB {
				counts[s.A], counts[s.B] = max(a, b), max(a, b)
			}
		}
	}
	return counts
}

// catches reports whether the pleats of a panel are caught in a seam: those of a sleeve are in
// its cuff, if that is not left out.
func (g *garment) catches(q *panel) bool { return q.where != sleeve || g.cuffed() }

// stitches returns the pairs of points that seams and darts join, and puts the
// points of folds, and of edges that are sewn to their mirror image, in the
// middle of the body.
func (g *garment) stitches(seams []pattern.Seam) (pairs [][2]int) {
	join := func(a []int, firstA int, b []int, firstB int) {
		for i := range a {
			pairs = append(pairs, [2]int{firstA + a[i], firstB + b[i]})
		}
	}
	middle := func(q *panel, edge string) {
		for _, i := range q.edges[edge] {
			g.mesh.OnPlane[q.first+i] = true
		}
	}
	for _, q := range g.panels {
		for _, d := range q.darts {
			join(d[0], q.first, d[1], q.first)
		}
		for _, d := range q.Darts {
			if line := q.edges[d.Mouth]; line != nil && g.catches(q) { // a pleat: its ends lie on each other
				join(line[:1], q.first, line[len(line)-1:], q.first)
			}
		}
		for _, e := range q.Edges {
			if e.Role == pattern.RoleFold {
				middle(q, e.Name)
			}
		}
	}
	for _, s := range seams {
		a, b := g.panel(s.A.Piece), g.panel(s.B.Piece)
		switch {
		case b != nil && a == nil && b.leg && s.B.Edge == "fly":
			middle(b, s.B.Edge) // closed as worn
		case a == nil || b == nil:
		case s.A == s.B:
			middle(a, s.A.Edge)
		case a.edges[s.A.Edge] != nil && b.edges[s.B.Edge] != nil:
			// Both outlines run clockwise, so sewn edges run against each other.
			other := slices.Clone(b.edges[s.B.Edge])
			slices.Reverse(other)
			join(a.edges[s.A.Edge], a.first, other, b.first)
		}
	}
	return pairs
}
