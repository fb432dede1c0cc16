package making

import (
	"math"
	"slices"
	"strings"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// passing is what a maker calls the place through which a part of the body passes,
// by the name of the part.
var passing = map[string]string{
	"head":      "Neck opening, over the head",
	"shoulders": "Body, over the shoulders",
	"bust":      "Body, over the bust",
	"hips":      "Waist opening, over the hips",
	"seat":      "Body below the waist, over the hips",
	"hand":      "Sleeve end, over the hand",
	"foot":      "Leg end, over the foot",
	"arm":       "Armhole, around the arm",
	"thigh":     "Leg opening, around the thigh",
}

// tightest is what a maker calls the place where a limb has the least room.
var tightest = map[string]string{"arm": "Sleeve where it is tightest", "leg": "Leg where it is tightest"}

// wornTitles returns what a maker calls the measures by which a garment is put on
// and worn, by the names of their checks. The pieces are named where several have the
// same title.
func wornTitles(p finish.Pattern) map[string]string {
	titles, count := map[string]string{}, map[string]int{}
	for _, c := range p.Checks {
		title, _ := wornTitle(c.Name)
		count[title]++
	}
	for _, c := range p.Checks {
		title, edges := wornTitle(c.Name)
		if title == "" {
			continue
		}
		if count[title] > 1 {
			title += ": " + piecesOf(p, edges)
		}
		titles[c.Name] = title
	}
	return titles
}

// wornTitle returns the title for the name of a check by package wear and the edges
// that it was read from; nothing for another check.
func wornTitle(name string) (title, edges string) {
	if part, edges, ok := strings.Cut(name, " through "); ok {
		return passing[part], edges
	}
	limb, edges, _ := strings.Cut(strings.TrimPrefix(name, "room for the "), " above ")
	return tightest[limb], edges
}

// piecesOf lists the titles of the pieces of edges.
func piecesOf(p finish.Pattern, edges string) string {
	var titles []string
	for _, edge := range strings.Split(edges, " + ") {
		name, _, _ := strings.Cut(edge, "/")
		for i := range p.Pieces {
			if q := p.Pieces[i].Piece; q.Name == name {
				titles = append(titles, strings.ToLower(titleOf(q)))
			}
		}
	}
	return strings.Join(titles, ", ")
}

// near is how far from a direction, radians, a grain line still runs along it.
const near = 15 * math.Pi / 180

// grainOf says how the grain runs: by the fold, from a sleeve's cap to its hem, by the
// longer side, along the centre, or on the bias to the fold or to the straight edges.
func grainOf(p *finish.Piece) string {
	g := p.Grain
	if g.P0 == g.P3 {
		return "any"
	}
	folds := p.FoldLines()
	if len(folds) == 0 && isBias(p) {
		return "bias"
	}
	if len(folds) > 0 {
		along := turned(g, folds[0].Tangent(0))
		switch {
		case math.Abs(along-math.Pi/4) < near:
			return "bias"
		case len(folds) == 1 && along < near:
			return "along the fold"
		case len(folds) == 1 && along > math.Pi/2-near:
			return "across the fold"
		}
	}
	if capToHem(p) {
		return "from cap to hem"
	}
	long, wide := extent(p, g.Tangent(0))
	if long > 1.15*wide {
		return "along its length"
	}
	for _, s := range straightEdges(p) {
		if centre := strings.HasPrefix(s.run, "centre_"); centre && turned(g, s.Tangent(0)) < near {
			return "along the " + strings.ReplaceAll(s.run, "_", " ")
		}
	}
	if wide > 1.15*long {
		return "across its length"
	}
	return "as marked"
}

// straight is a straight part of an edge with the edge's run.
type straight struct {
	geom.Segment
	run string
}

// straightEdges returns the straight parts of the edges of at least half the longest one's length.
func straightEdges(p *finish.Piece) []straight {
	var all []straight
	longest := 0.0
	for _, e := range p.Edges {
		for _, s := range e.Path {
			if s.Straight {
				all = append(all, straight{s, e.Run})
				longest = max(longest, s.Length())
			}
		}
	}
	return slices.DeleteFunc(all, func(s straight) bool { return s.Length() < longest/2 })
}

// isBias reports whether the grain runs on the bias to the longest straight edge of a
// piece, and along or across none that is nearly as long. A short straight edge of a
// curved piece, such as a shoulder, says nothing.
func isBias(p *finish.Piece) bool {
	b := p.CutLine.Bounds()
	bias := false
	for _, s := range straightEdges(p) {
		switch along := turned(p.Grain, s.Tangent(0)); {
		case along < near || along > math.Pi/2-near:
			return false
		case math.Abs(along-math.Pi/4) < near && s.Length() > max(b.Width(), b.Height())/2:
			bias = true
		}
	}
	return bias
}

// turned returns the angle between a grain line and a direction, 0 to a right angle.
func turned(g geom.Segment, u geom.Point) float64 {
	a := math.Mod(math.Abs(geom.AngleBetween(g.Tangent(0), u)), math.Pi)
	return min(a, math.Pi-a)
}

// capToHem reports whether a sleeve's grain runs from its cap to its hem.
func capToHem(p *finish.Piece) bool {
	ends := map[pattern.Role]geom.Box{}
	for _, e := range p.Edges {
		if e.Role != pattern.RoleCap && e.Role != pattern.RoleHem {
			continue
		}
		b, ok := ends[e.Role]
		if !ok {
			b = geom.EmptyBox()
		}
		ends[e.Role] = b.Union(e.Path.Bounds())
	}
	top, isSleeve := ends[pattern.RoleCap]
	hem, hasHem := ends[pattern.RoleHem]
	return isSleeve && hasHem && turned(p.Grain, hem.Centre().Sub(top.Centre())) < near
}

// extent returns how far a piece reaches along and across a direction.
func extent(p *finish.Piece, u geom.Point) (along, across float64) {
	m := geom.Turn(geom.Point{}, -u.Angle())
	b := p.CutLine.Move(m).Bounds()
	if f := p.FoldLines(); len(f) == 1 {
		return foldedExtent(b, f[0].Move(m))
	}
	return b.Width(), b.Height()
}

// foldedExtent returns the sides of a box opened at a fold.
func foldedExtent(b geom.Box, fold geom.Segment) (along, across float64) {
	if d := fold.Tangent(0); math.Abs(d.X) > math.Abs(d.Y) {
		return b.Width(), 2 * b.Height()
	}
	return 2 * b.Width(), b.Height()
}
