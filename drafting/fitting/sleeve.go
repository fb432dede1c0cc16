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
// armhole of one and that go round the arm together.
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
			sideOf(piece) != sleeve {
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

// sleeveHangs finds a sleeve that is turned on the arm: its seams swing from the underarm to the
// hem, as where it is set in too far forward or back, or cut off the grain.
func (r *Result) sleeveHangs() {
	g := r.garment
	i := slices.IndexFunc(g.panels, func(q *panel) bool { return q.where == sleeve && !q.cuff })
	if i < 0 {
		return
	}
	round := g.panels[i].ring
	band := 2 * g.size
	if round.bottom-round.under < 2*band { // too short to swing
		return
	}
	swing := g.turned(round, round.bottom-band, round.bottom) - g.turned(round, round.under, round.under+band)
	way, seam := "forward", "its seam swings"
	if swing < 0 {
		way = "back"
	}
	if len(round.panels) > 1 {
		seam = "its seams swing"
	}
	r.judge(Finding{Kind: Hangs, Place: "sleeve seam", Piece: round.panels[len(round.panels)-1].Name,
		Value: math.Abs(swing), Unit: "mm", Limit: turned,
		Words: fmt.Sprintf("The sleeve is turned: %s %s by %.0f mm from the underarm to the hem.", seam, way,
			math.Abs(swing))})
}

// turned returns how far forward of the place for which it is cut the lower side of a sleeve lies,
// mm, between two heights of its ring: by the turn about its own middle that lays the round of the
// draft best on the round that hangs. Loose on the arm, a sleeve also moves aside, which is not a turn.
func (g *garment) turned(r *ring, from, to float64) float64 {
	var cut, worn []r2.Vec
	length := 0.0
	start, axis := g.arm.At(0)
	for _, q := range r.panels {
		for i, at := range q.points {
			moved, down := g.moved[q.first+i], r.down(q, at)
			if moved < 0 || down < from || down > to {
				continue
			}
			round, whole := r.at(q, at)
			sin, cos := math.Sincos(2 * math.Pi * (round/max(1, whole) - 0.5)) // from the outside, to the front
			p := g.mesh.Points[moved]
			middle, along := g.arm.At(r3.Dot(r3.Sub(p, start), axis))
			out := r3.Unit(r3.Cross(along, r3.Vec{Z: 1}))
			d := r3.Sub(p, middle)
			cut = append(cut, r2.Vec{X: cos, Y: sin})
			worn = append(worn, r2.Vec{X: r3.Dot(d, out), Y: r3.Dot(d, r3.Cross(out, along))})
			length += whole
		}
	}
	if len(cut) == 0 {
		return 0
	}
	var across, along float64
	middle, about := mean(cut), mean(worn)
	for i := range cut {
		a, b := r2.Sub(cut[i], middle), r2.Sub(worn[i], about)
		across += r2.Cross(b, a)
		along += r2.Dot(b, a)
	}
	// Under the arm the way round leads back.
	return math.Atan2(across, along) * length / float64(len(cut)) / (2 * math.Pi)
}

// mean returns the mean of points.
func mean(points []r2.Vec) (m r2.Vec) {
	for _, p := range points {
		m = r2.Add(m, r2.Scale(1/float64(len(points)), p))
	}
	return m
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
