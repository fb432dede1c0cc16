package fitting

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// sleeves adds the set-in sleeves to the known panels: pieces whose cap is sewn into the
// armhole of one, not gathered, and that go round the arm together.
func sleeves(p pattern.Pattern, known map[string]*panel) {
	set := map[string]*panel{}
	for _, s := range p.Seams {
		piece, ok := p.Piece(s.A.Piece)
		crown, armhole := s.A, s.B
		if !ok || sideOf(piece) != sleeve {
			piece, ok = p.Piece(s.B.Piece)
			crown, armhole = s.B, s.A
		}
		trunk := known[armhole.Piece]
		if !ok || trunk == nil || !trunk.armhole() || set[crown.Piece] != nil || !plain(piece) ||
			sideOf(piece) != sleeve || s.How == "gathered" {
			continue
		}
		q := newPanel(piece)
		q.where = sleeve
		set[crown.Piece] = q
	}
	for _, name := range slices.Sorted(maps.Keys(set)) {
		q := set[name]
		if q.ring == nil {
			q.ring = newRing(q, set, p.Seams)
		}
		if q.ring == nil {
			continue
		}
		for _, other := range q.ring.panels {
			other.ring = q.ring
		}
		known[name] = q
	}
}

func isSleeve(q *panel) bool { return q.where == sleeve }

// capRange returns the y of the top of a sleeve's cap and of its underarm, on paper.
func (q *panel) capRange() (top, under float64) {
	top, under = math.Inf(1), math.Inf(-1)
	for _, e := range q.Edges {
		if e.Role == pattern.RoleCap {
			top = min(top, e.Path.Start().Y, e.Path.End().Y)
			under = max(under, e.Path.Start().Y, e.Path.End().Y)
		}
	}
	return top, under
}

// bottom returns the y of the higher end of the sleeve's hem, on paper.
func (q *panel) bottom() float64 {
	_, under := q.capRange()
	low, high := q.span(under + 1)
	left, right := under, under
	for _, e := range q.Edges {
		if at := e.Path.Start(); at.X < (low+high)/2 {
			left = max(left, at.Y)
		} else {
			right = max(right, at.Y)
		}
	}
	return min(left, right)
}

// onArm returns a place round the right arm: the middle of the sleeve outside, the line
// down from the underarm point inside.
func (h *hanger) onArm(q *panel, at r2.Vec) r3.Vec {
	r := q.ring
	round, whole := r.at(q, at)
	turn := 2 * math.Pi * (round/max(1, whole) - 0.5) // from the outside, to the front
	// The cap has farther to go over the round top of the arm than straight down. It begins too
	// high, for from below it would turn the cloth at the armhole over.
	s := r.down(q, at) - r.top
	s -= lifted * min(1, s/max(1, r.under-r.top))
	middle, along := h.arm.At(s)
	radius := max(h.arm.Radius(s)+apart, form.Radius(whole))
	out := r3.Unit(r3.Cross(along, r3.Vec{Z: 1})) // away from the trunk
	front := r3.Cross(out, along)
	sin, cos := math.Sincos(turn)
	return r3.Add(middle, r3.Add(r3.Scale(radius*cos, out), r3.Scale(radius*sin, front)))
}

// What sleeves need to be tried on, mm.
const (
	lifted = 80.0 // of the underarm at first
	creep  = 0.1  // most that their cloth moves between two looks at rest
	turned = 30.0 // of a sleeve's seam from the underarm to the hem (from memory)
)

// still returns how far the garment's points may move between two looks at rest.
func (g *garment) still() float64 {
	if g.arm == nil {
		return 0
	}
	return creep
}

// sleeveZone names the place of a point of a sleeve as a cutter does.
func (g *garment) sleeveZone(at r3.Vec) string {
	start, _ := g.arm.At(0)
	elbow, _ := g.arm.At(g.arm.Elbow())
	along := r3.Unit(r3.Sub(elbow, start))
	switch below := r3.Dot(r3.Sub(at, elbow), along); {
	case below < -aboutElbow:
		return "upper arm"
	case below < aboutElbow:
		return "elbow"
	case below < g.arm.Length()-g.arm.Elbow()-aboutWrist:
		return "forearm"
	}
	return "wrist"
}

// How far from the elbow a place counts as at it, and from the wrist bone up, and how far
// above that a sleeve is measured, mm.
const (
	aboutElbow = 50.0
	aboutWrist = 60.0
	aboveWrist = 25.0
)

// sleeveHangs finds sleeves that do not hang straight down the arm: they are set in too far
// forward or back, and their seams swing from the underarm to the hem.
func (r *Result) sleeveHangs(p pattern.Pattern) {
	var swing, n float64
	name := ""
	for _, s := range p.Seams {
		q, other := r.garment.panel(s.A.Piece), r.garment.panel(s.B.Piece)
		if q == nil || other == nil || q.where != sleeve || other.where != sleeve {
			continue
		}
		line := q.edges[s.A.Edge]
		if len(line) < 5 { // below a vent
			continue
		}
		above, below := line[0], line[len(line)-1]
		if q.points[above].Y > q.points[below].Y {
			above, below = below, above
		}
		name = q.Name
		swing, n = swing+r.garment.before(q, below)-r.garment.before(q, above), n+1
	}
	if n == 0 {
		return
	}
	swing /= n
	way, seam := "forward", "its seam swings"
	if swing < 0 {
		way = "back"
	}
	if n > 1 {
		seam = "its seams swing"
	}
	r.judge(Finding{Kind: Hangs, Place: "sleeve seam", Piece: name, Value: math.Abs(swing), Unit: "mm", Limit: turned,
		Words: fmt.Sprintf("The sleeve is turned: %s %s by %.0f mm from the underarm to the hem.", seam, way,
			math.Abs(swing))})
}

// before returns how far forward a point of a sleeve's seam lies: of a sleeve of one piece
// from the middle of the arm, of others from the place under the arm for which it is cut.
func (g *garment) before(q *panel, local int) float64 {
	p := g.mesh.Points[g.moved[q.first+local]]
	start, along := g.arm.At(0)
	middle, along := g.arm.At(r3.Dot(r3.Sub(p, start), along))
	if len(q.ring.panels) == 1 {
		return p.Z - middle.Z
	}
	out := r3.Unit(r3.Cross(along, r3.Vec{Z: 1}))
	d := r3.Sub(p, middle)
	round, whole := q.ring.at(q, q.points[local])
	// Under the arm the way round leads back.
	turn := 2*math.Pi*(round/max(1, whole)-0.5) - math.Atan2(r3.Dot(d, r3.Cross(out, along)), r3.Dot(d, out))
	return math.Remainder(turn, 2*math.Pi) * whole / (2 * math.Pi)
}

// armLevels measures arm and sleeve square to the arm: below the underarm, at the elbow and
// above the wrist.
func (r *Result) armLevels() {
	arm := r.garment.arm
	if arm == nil {
		return
	}
	for _, l := range []struct {
		name string
		at   float64
	}{
		{"upper arm", 0.65 * arm.Elbow()}, {"elbow", arm.Elbow()}, {"wrist", arm.Length() - aboveWrist},
	} {
		middle, along := arm.At(l.at)
		worn, cut := r.garment.across(isSleeve, func(p r3.Vec) float64 { return r3.Dot(r3.Sub(p, middle), along) })
		if worn == 0 {
			continue
		}
		r.Levels = append(r.Levels, Level{Name: l.name, Height: middle.Y, Body: 2 * math.Pi * arm.Radius(l.at), Worn: worn,
			Cut: cut})
	}
}
