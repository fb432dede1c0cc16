package fitting

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/drape"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// sleeves adds the set-in sleeves to the known panels: pieces whose cap is sewn into the
// armhole of one, if it is of one piece and not gathered.
func sleeves(p pattern.Pattern, known map[string]*panel) {
	for _, s := range p.Seams {
		piece, ok := p.Piece(s.A.Piece)
		crown, armhole := s.A, s.B
		if !ok || sideOf(piece) != sleeve {
			piece, ok = p.Piece(s.B.Piece)
			crown, armhole = s.B, s.A
		}
		trunk := known[armhole.Piece]
		if !ok || trunk == nil || !trunk.armhole() || known[crown.Piece] != nil || !plain(piece) ||
			sideOf(piece) != sleeve || s.How == "gathered" || !closes(p, piece.Name) {
			continue
		}
		q := newPanel(piece)
		q.where = sleeve
		known[crown.Piece] = q
	}
}

// closes reports whether a seam joins two edges of the piece: it goes round the arm alone.
func closes(p pattern.Pattern, piece string) bool {
	return slices.ContainsFunc(p.Seams, func(s pattern.Seam) bool {
		return s.A.Piece == piece && s.B.Piece == piece && s.A != s.B
	})
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

// onArm returns a place round the right arm: the middle of the sleeve outside, its seam
// inside.
func (h *hanger) onArm(q *panel, at r2.Vec) r3.Vec {
	top, under := q.capRange()
	low, high := q.span(max(under+1, min(q.bottom()-1, at.Y)))
	turn := 2 * math.Pi * ((at.X-low)/max(1, high-low) - 0.5) // from the outside, to the front
	// Over the round top of the arm the cap has farther to go than straight down.
	s := at.Y - top
	s -= (math.Pi/2 - 1) * h.arm.Radius(0) * min(1, s/max(1, under-top))
	middle, along := h.arm.At(s)
	radius := max(h.arm.Radius(s)+apart, form.Radius(high-low))
	out := r3.Unit(r3.Cross(along, r3.Vec{Z: 1})) // away from the trunk
	front := r3.Cross(out, along)
	sin, cos := math.Sincos(turn)
	return r3.Add(middle, r3.Add(r3.Scale(radius*cos, out), r3.Scale(radius*sin, front)))
}

// What sleeves need to be tried on, mm.
const (
	creep         = 0.1  // most that their cloth moves between two looks at rest
	givesWay      = 90.0 // from the underarm point, where body and arm press on each other
	belowUnderarm = 30.0 // as far the seam is held by the trunk alone
	drawn         = 45.0 // from the armhole seam, where cloth is always drawn
	turned        = 30.0 // of a sleeve's seam from the underarm to the hem (from memory)
)

// still returns how far the garment's points may move between two looks at rest.
func (g *garment) still() float64 {
	if g.arm == nil {
		return 0
	}
	return creep
}

// A bearer carries a point of the garment.
type bearer int

const (
	byTrunk bearer = iota
	byBoth
	byArm
)

// bodyOf returns what the garment lies on: the trunk, and sleeves on the arms too.
func bodyOf(f *form.Form, g *garment) drape.Body {
	bearers := g.bearers()
	return func(i int, p r3.Vec) (float64, r3.Vec) {
		switch bearers[i] {
		case byBoth:
			return f.Distance(p)
		case byArm:
			return f.ArmDistance(p)
		}
		return f.TrunkDistance(p)
	}
}

// bearers returns what carries each point: a sleeve's cap and the armhole seam lie on trunk
// and arms, the rest of the sleeve on what of the arm is free of the trunk. Near the
// underarm point, where body and arm press on each other, cloth lies on the trunk.
func (g *garment) bearers() []bearer {
	by := make([]bearer, len(g.mesh.Points))
	for _, q := range g.panels {
		if q.where != sleeve {
			continue
		}
		_, under := q.capRange()
		low, high := q.span(under + 1)
		for i, at := range q.points {
			b := byBoth
			switch far := math.Hypot(min(at.X-low, high-at.X), at.Y-under); {
			case at.Y > under+belowUnderarm || at.Y > under && far >= givesWay:
				b = byArm
			case far < givesWay:
				b = byTrunk
			}
			if p := g.moved[q.first+i]; p >= 0 {
				by[p] = b
			}
		}
	}
	return by
}

// nearArmhole reports for each point whether it lies where a sleeve always draws the cloth.
func (g *garment) nearArmhole() []bool {
	near := make([]bool, len(g.mesh.Points))
	var seam []r3.Vec
	for _, q := range g.panels {
		for _, e := range q.Edges {
			if q.where == sleeve && e.Role == pattern.RoleCap {
				for _, i := range g.along(q, e.Name) {
					seam = append(seam, g.mesh.Points[i])
				}
			}
		}
	}
	for i, p := range g.mesh.Points {
		near[i] = slices.ContainsFunc(seam, func(q r3.Vec) bool { return r3.Norm2(r3.Sub(p, q)) < drawn*drawn })
	}
	return near
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

// sleeveHangs finds sleeves whose seam does not run straight down the arm: they are set in
// too far forward or back.
func (r *Result) sleeveHangs(p pattern.Pattern) {
	for _, s := range p.Seams {
		q := r.garment.panel(s.A.Piece)
		if q == nil || q.where != sleeve || s.B.Piece != q.Name {
			continue
		}
		line := r.garment.along(q, s.A.Edge)
		if len(line) < 2 {
			continue
		}
		above, below := r.garment.mesh.Points[line[0]], r.garment.mesh.Points[line[len(line)-1]]
		if above.Y < below.Y {
			above, below = below, above
		}
		swing := r.garment.forward(below) - r.garment.forward(above)
		way := "forward"
		if swing < 0 {
			way = "back"
		}
		r.judge(Finding{Kind: Hangs, Place: "sleeve seam", Piece: q.Name, Value: math.Abs(swing), Unit: "mm", Limit: turned,
			Words: fmt.Sprintf("The sleeve is turned: its seam swings %s by %.0f mm from the underarm to the hem.", way,
				math.Abs(swing))})
		return
	}
}

// forward returns how far before the middle of the arm a point lies.
func (g *garment) forward(p r3.Vec) float64 {
	start, along := g.arm.At(0)
	at, _ := g.arm.At(r3.Dot(r3.Sub(p, start), along))
	return p.Z - at.Z
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
