package block

import (
	"errors"
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/wear"
)

const (
	edgeLeg       = "leg"
	edgeCrotchEnd = "crotch_end"
)

// legCut is where the legs of a body are cut out, and how it ends between them.
type legCut struct {
	crotch [2]float64 // levels at the centre at which back and front meet under the body
	half   float64    // half width of the crotch
	ends   string     // crotchSeam, crotchGusset or crotchOpens
}

// closed reports whether the body is sewn together at the crotch.
func (l *legCut) closed() bool { return l.ends != crotchOpens }

// lap returns by how much front and back each reach beyond the crotch line.
func (l *legCut) lap() float64 {
	if l.closed() {
		return 0
	}
	return crotchLap / 2
}

const (
	// frontOfCrotch is the front's share of the crotch length (from memory: 0.45 to 0.48; the
	// seat takes the rest).
	frontOfCrotch = 0.46
	// crotchWide is the width of the crotch over the hip girth (common practice, from
	// memory: 60 to 80 mm), and its limits in mm.
	crotchWide       = 0.075
	leastCrotchWide  = 55.0
	widestCrotchWide = 84.0
	// crotchLap is by how much the ends of a crotch that opens lap (common practice: 15 to
	// 25 mm for snaps).
	crotchLap = 20.0
)

// legOfRise is how far down the leg opening begins at the side, as a share of the body
// rise (common practice, from memory: at the hip line, over it, and near the crest
// of the hip bone).
var legOfRise = map[string]float64{legLow: 0.80, legRegular: 0.64, legHigh: 0.46}

// cutLegs sets where the legs are cut out, if the request asks for a body. The crotch
// length takes up seat and belly.
func (f *figure) cutLegs(r Request) error {
	below := r.Choices[choiceLegOpening].Number // as worn
	if lo, hi := legOpenings(r); below > 0 && (below < lo || below > hi) {
		return refuseChoice(choiceLegOpening, fmt.Sprintf("%.0f mm", below),
			fmt.Sprintf("from %.0f to %.0f mm below the waist on this body", lo, hi))
	}
	if r.word(choiceLength, "") != lengthCrotch {
		return nil
	}
	if below == 0 {
		below = legOfRise[r.word(choiceLegOpening, legRegular)] * f.body.Value(body.BodyRise)
	}
	f.hem = f.napeToWaist + f.along*below
	f.seat, f.frontDrop, f.frontHangs = 0, 0, 0
	rise := f.altered[alterRise]
	whole := f.withEase(body.TotalCrotchLength)
	f.legs = &legCut{
		crotch: [2]float64{
			back:  f.napeToWaist + (1-frontOfCrotch)*whole + rise + f.altered[alterSeat],
			front: f.napeToWaist + frontOfCrotch*whole + rise,
		},
		half: clamp(crotchWide*2*f.hip, leastCrotchWide, widestCrotchWide) / 2,
		ends: r.word(choiceCrotch, crotchGusset),
	}
	lowest := f.legs.crotch[back] - leastLegFall*(f.hip/2-f.legs.half)
	if up := f.hem - lowest; up > 0 {
		f.warnOfLegs(up, "so that they do not run flat across the seat: the crotch length is short for the hips.")
		f.hem = lowest
	}
	return nil
}

// leastLegFall is the least fall of a leg opening to its way across the back (drawn by
// eye).
const leastLegFall = 0.75

// warnOfLegs warns of leg openings that begin higher at the side, mm at rest.
func (f *figure) warnOfLegs(up float64, why string) {
	if up > leastLegWord {
		f.warn("The leg openings begin %.0f mm higher at the side than chosen, %s", up/f.along, why)
	}
}

// leastLegWord is by how much a leg opening may be raised without a word, mm.
const leastLegWord = 5.0

// crotchAt returns the level at the centre at which a half meets the other under the
// body. In front it lies lower by what the hem of a top would drop.
func (f *figure) crotchAt(half int) float64 {
	if half == back {
		return f.legs.crotch[back] - f.altered[alterSwayBack]
	}
	return f.legs.crotch[front] + f.frontDrop
}

// The line of a leg opening passes the side seam without a corner, rising to the front,
// and falls to the crotch, hollow in front and flatter over the seat. (Drawn by eye.)
const (
	legRise    = 22 * degree // most at the side seam, from square to it
	riseOfFall = 0.6         // most, of the angle to the middle of the back's line
	seatHollow = 0.055       // of the back's line within its chord, as a share of the chord
	crotchTurn = 26.0        // least length in which it turns down to the crotch, mm: room for an allowance
	legHandle  = 0.6         // of a curve's way to where the directions of its ends meet
)

// legLine draws a half's leg opening from the end of its side seam to the crotch.
func (f *figure) legLine(half int, t *trunk) geom.Path {
	down, end := geom.Pt(0, 1), geom.Pt(f.legs.half, f.crotchAt(half))
	inward := func(side geom.Path) geom.Point { return side.EndTangent().Right() }

	start, seat := t.sideBack.End(), geom.Pt(f.legs.half, f.crotchAt(back))
	along := seat.Sub(start).Unit()
	hollow := math.Max(seatHollow*start.Dist(seat), crotchTurn*math.Sin(geom.AngleBetween(down, along)))
	middle := start.Lerp(seat, 0.5).Add(along.Right().Mul(hollow))
	falls := geom.AngleBetween(middle.Sub(start), inward(t.sideBack))
	rise := math.Min(legRise, riseOfFall*falls)

	var path geom.Path
	if half == back {
		path = geom.Path{arc(start, inward(t.sideBack).Rotate(geom.Point{}, -rise), middle, along, legHandle, legHandle),
			arc(middle, along, end, down, legHandle, legHandle)}
	} else {
		start = t.sideFront.End()
		chord, rising := start.Dist(end), inward(t.sideFront).Rotate(geom.Point{}, rise)
		path = geom.Path{geom.Cubic(start, start.Add(rising.Mul(0.30*chord)), end.Sub(down.Mul(0.45*chord)), end)}
	}
	if lap := f.legs.lap(); lap > 0 {
		path = append(path, geom.Line(end, end.Add(geom.Pt(0, lap))))
	}
	return path
}

// passThighs raises the leg openings at the side until, stretched, the thighs pass them.
func (f *figure) passThighs(u *upper, m *married) error {
	thigh, err := wear.Thigh.Girth(f.body.Find, f.stretch)
	if err != nil {
		return nil // unknown
	}
	short := func(hem float64) (float64, error) {
		f.hem = hem
		t, err := f.draftTrunk(u, m.depth)
		m.trunk = t
		return thigh - f.legLine(back, &t).Length() - f.legLine(front, &t).Length() + 2*f.legs.lap(), err
	}
	asked := f.hem
	if by, err := short(asked); err != nil || by <= 0 {
		return err
	}
	highest := f.napeToWaist + leastBelowWaist
	var failed error
	hem, ok := root(highest, asked, 0.01, func(hem float64) float64 {
		by, err := short(hem)
		failed = errors.Join(failed, err)
		return by + 0.01
	})
	if failed != nil {
		return failed
	}
	if !ok {
		return refuse(fmt.Sprintf("the thigh of %.0f mm does not pass the largest leg opening, even stretched; a knit with "+
			"more stretch is needed", f.body.Value(body.ThighGirth)), body.ThighGirth, body.BodyRise)
	}
	f.warnOfLegs(asked-hem, "so that the thighs pass: a knit with more stretch may be cut lower.")
	_, err = short(hem)
	return err
}

// addLeg adds the leg opening of a half and its end at the crotch, and returns the
// lower end of its centre.
func (f *figure) addLeg(p *pattern.Piece, half int, t *trunk) geom.Point {
	line := f.legLine(half, t)
	bottom := geom.Pt(0, line.End().Y)
	role := pattern.RoleSeam
	if !f.legs.closed() {
		role = pattern.RoleEdge
	}
	p.Edges = append(p.Edges, edge(edgeLeg, pattern.RoleHem, line...),
		edge(edgeCrotchEnd, role, geom.Line(line.End(), bottom)))
	return bottom
}

// gussetOfHip is how far a body's gusset reaches up the back and the front, as a share
// of the hip girth at rest (common practice, from memory: 120 to 150 mm in all).
// gussetOfLeg is the most of the height from the side seam's end, and gussetWiden the
// most of its width at an end, as a share of the crotch's.
var gussetOfHip = [2]float64{back: 0.105, front: 0.065}

const (
	gussetOfLeg = 0.6
	gussetWiden = 1.65
)

// joinCrotch returns a body's pieces, with its gusset if it has one, and how its ends
// are sewn.
func (f *figure) joinCrotch(pieces []pattern.Piece) ([]pattern.Piece, []cutting.Pairing) {
	b, fr := pieces[back], pieces[front]
	switch f.legs.ends {
	case crotchOpens:
		return pieces, nil
	case crotchSeam:
		return pieces, []cutting.Pairing{sew(b, edgeCrotchEnd, fr, edgeCrotchEnd)}
	}
	var lower [2]geom.Path
	for half := range pieces {
		level := f.crotchAt(half)
		pieces[half], lower[half] = cutGusset(pieces[half], f.gussetEnd(half, pieces[half].Run(edgeLeg)))
		lower[half] = lower[half].Move(geom.Shift(geom.Pt(0, -level)))
	}
	g := bodyGusset(lower)
	return append(pieces, g), []cutting.Pairing{
		sew(pieces[front], edgeCrotchEnd, g, edgeGussetFront), sew(pieces[back], edgeCrotchEnd, g, edgeGussetBack),
	}
}

// gussetEnd returns the level of a half's leg opening at which its gusset ends.
func (f *figure) gussetEnd(half int, leg geom.Path) float64 {
	level, widest := f.crotchAt(half), gussetWiden*f.legs.half
	end := level - math.Min(gussetOfHip[half]*2*f.hip, gussetOfLeg*(level-leg.Start().Y))
	over := func(y float64) float64 {
		p, _ := crossLevel(leg, y)
		return p.X - widest
	}
	if over(end) > 0 {
		end, _ = root(end, level, 1e-6, over)
	}
	return end
}

// cutGusset cuts a half at a level above its crotch. It returns the half and the part
// of its leg opening that is cut off.
func cutGusset(p pattern.Piece, level float64) (pattern.Piece, geom.Path) {
	leg := p.Run(edgeLeg)
	upper, lower := leg.SplitAt(lengthTo(leg, level))
	end := geom.Pt(0, upper.End().Y)
	for i, e := range p.Edges {
		switch e.Run {
		case edgeLeg:
			p.Edges[i].Path = upper
		case edgeCrotchEnd:
			p.Edges[i].Path = geom.Path{geom.Line(upper.End(), end)}
		case edgeBackCentre, edgeCentre:
			p.Edges[i].Path = geom.Path{geom.Line(end, e.Path.End())}
		}
	}
	return p, lower
}

// bodyGusset returns half the gusset of a body, on the fold from the front down to the
// back, of the parts of the leg openings that end at the crotch on y = 0.
func bodyGusset(lower [2]geom.Path) pattern.Piece {
	leg := geom.Join(lower[back].Move(geom.Turn(geom.Point{}, math.Pi)),
		lower[front].Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1))).Reverse())
	top, foot := geom.Pt(0, leg.End().Y), geom.Pt(0, leg.Start().Y)
	p := pattern.Piece{Name: pieceGusset, Title: "Gusset", Cut: cutOf(true), Edges: []pattern.Edge{
		edge(edgeGussetFront, pattern.RoleSeam, geom.Line(leg.End(), top)),
		edge(edgeGussetFold, pattern.RoleFold, geom.Line(top, foot)),
		edge(edgeGussetBack, pattern.RoleSeam, geom.Line(foot, leg.Start())),
		edge(edgeLeg, pattern.RoleHem, leg...),
	}}
	p.Grain = grainLine(leg.End().X/4, top.Y/2, foot.Y/2)
	return p
}

// crotch reads a body's crotch from waist to waist, and its leg openings.
func (c *checker) crotch(p *pattern.Pattern, b, fr reading) {
	waistB, _ := levelOf(b.piece, lineWaist)
	waistF, _ := levelOf(fr.piece, lineWaist)
	around := b.below.Run(edgeBackCentre).Start().Y - waistB + fr.below.Run(edgeCentre).Start().Y - waistF -
		2*c.legs.lap()
	opening := b.piece.RunLength(edgeLeg) + fr.piece.RunLength(edgeLeg) - 2*c.legs.lap()
	if g, ok := p.Piece(pieceGusset); ok {
		around += g.RunLength(edgeGussetFold)
		opening += g.RunLength(edgeLeg)
	}
	const whole = body.TotalCrotchLength
	target := c.legs.crotch[back] + c.crotchAt(front) - 2*c.napeToWaist
	c.measure(whole, target-c.value(whole)-c.alterationOf(whole), around)
	c.pair("waist_to_leg_opening", c.hem-c.napeToWaist, 0, b.piece.Run(edgeSide).End().Y-c.napeToWaist)
	if thigh, err := wear.Thigh.Girth(c.body.Find, c.stretch); err == nil {
		c.atLeast(body.ThighGirth, thigh-c.body.Value(body.ThighGirth), opening)
	}
}
