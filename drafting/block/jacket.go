package block

import (
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/wear"
)

// A jacket is a straight torso with ease for the layers below it, cut along further seams that
// take the waist in. jacket says how it is cut.
type jacket struct {
	panel    bool // a panel under the arm instead of a side seam
	twoPiece bool // top and under sleeve

	// What the seams take in on half the body, mm; less than 0 lets out.
	waist  seamShares
	hip    [2]float64 // at the hips by the panel's seams with back and front
	spring [2]float64 // let out at the bust by them, against the width at the underarm
}

// seamShares are parts of the waist shaping by seam, mm on half the body.
type seamShares struct{ centre, back, front float64 }

func (s seamShares) sum() float64 { return s.centre + s.back + s.front }

// Names of the jacket's pieces and edges beside the torso's.
const (
	pieceSide        = "side"
	pieceTopSleeve   = "top_sleeve"
	pieceUnderSleeve = "under_sleeve"

	edgeFrontSeam    = "front_seam"
	edgeBackSeam     = "back_seam"
	edgeArmholeBack  = "armhole_back"
	edgeArmholeFront = "armhole_front"
)

// newJacket computes a jacket's measures from a request, or refuses it.
func newJacket(r Request) (*figure, error) {
	f, err := newFigure(torsoRequest(r), jacketTorso)
	if err != nil {
		return nil, err
	}
	j := &jacket{panel: r.word(choiceSide, sidePanel) == sidePanel,
		twoPiece: r.word(choiceSleeve, sleeveTwoPiece) == sleeveTwoPiece}
	f.jacket = j
	f.shareWaist()
	if s := f.body.BustSurplus().Value; !f.garment && !f.hasBust() && s > flatSurplus {
		f.warn("The body is %.0f mm longer in front than at the back, over the bust, and the front has no shaping: it "+
			"stands away below the bust and rises at the hem.", s)
	}
	return f, nil
}

// Shares of the seams in what the waist is narrower than the bust, and the most that each takes,
// mm on half the body (common practice; a seam taken in by more pulls at hips and bust).
const (
	ofCentre, mostCentre = 0.16, 22
	ofFront, mostFront   = 0.38, 50
	ofBack, mostBack     = 0.46, 56

	leastTaken  = 1   // at the centre
	steepCentre = 0.2 // of the way from bust to waist, over which the centre is taken in
)

// shareWaist divides the shaping of waist and hips between the seams. A panel has the torso hang
// straight from the bust, and its two seams shape it: they let out what the hips need beyond the
// bust, and take in at most 20 mm of what they don't. A belly moves cloth from the back's seam
// to the front's. A side seam shapes the waist as the straight torso's does, less what the centre
// back takes.
func (f *figure) shareWaist() {
	j := f.jacket
	spare := f.bust - f.waist
	in := math.Max(0, spare)
	take := min(ofCentre*in, mostCentre, steepCentre*(f.frontWaist-f.sideNeckToBust))
	if !f.backFold && take >= leastTaken {
		j.waist.centre = take
	}
	if !j.panel {
		f.waist += j.waist.centre
		return
	}
	rest := spare - j.waist.centre
	j.waist.front = math.Min(ofFront/(ofFront+ofBack)*rest, mostFront) - f.bellyShare
	j.waist.back = math.Min(ofBack/(ofFront+ofBack)*rest, mostBack) + f.bellyShare
	hip := (f.bust - f.hip) / 2
	if hip > 0 {
		hip = math.Min(hip/2, 10)
	}
	seat := seatToHipWidth * f.altered[alterSeat]
	j.hip = [2]float64{hip - seat, hip + seat}
	f.waist, f.hip, f.bellyShare = f.bust, f.bust, 0
}

// panelled reports whether the torso is cut as a jacket with side panels.
func (f *figure) panelled() bool { return f.jacket != nil && f.jacket.panel }

// hangStraight has the side seams of a torso with a panel hang straight from the underarm. What
// they would flare out over a full bust the panel's seams let out.
func (f *figure) hangStraight(t *trunk, back, front *sideSeam) {
	j := f.jacket
	j.spring = [2]float64{back.flare, front.flare}
	t.underarmBack -= back.flare
	t.underarmFront -= front.flare
	t.waistBack, t.waistFront = t.underarmBack, t.underarmFront
	*back, *front = sideSeam{}, sideSeam{}
}

// sprung returns what the seams of a panel let out at the bust, mm on half the body.
func (f *figure) sprung() float64 {
	if f.jacket == nil {
		return 0
	}
	return sumOf(f.jacket.spring)
}

// draftJacket cuts back and front, assembles the jacket and reads its measures back.
func (f *figure) draftJacket(m *married, b, fr pattern.Piece) (pattern.Pattern, error) {
	cut, err := f.cutJacket(m, b, fr)
	if err != nil {
		return pattern.Pattern{}, err
	}
	p, err := sewn(cut.all(), cut.pairings())
	if err != nil {
		return p, err
	}
	p.Warnings = f.warnings
	return p, f.readJacket(&p, m)
}

// cutPieces are the pieces of a jacket.
type cutPieces struct {
	back, front, side pattern.Piece
	sleeves           []pattern.Piece
	panel             bool
}

func (c cutPieces) all() []pattern.Piece {
	pieces := []pattern.Piece{c.back, c.front}
	if c.panel {
		pieces = []pattern.Piece{c.back, c.side, c.front}
	}
	return append(pieces, c.sleeves...)
}

// cutJacket cuts the pieces of the jacket out of back, front and sleeve of the torso.
func (f *figure) cutJacket(m *married, b, fr pattern.Piece) (c cutPieces, err error) {
	j := f.jacket
	c.panel = j.panel
	if j.panel {
		if c, err = f.cutPanel(m, b, fr); err != nil {
			return c, &CheckError{Broken: []string{err.Error()}}
		}
	} else {
		c.back, c.front = b, turnOver(fr)
	}
	if !f.backFold {
		if c.back, err = f.shapeCentre(c.back, m); err != nil {
			return c, &CheckError{Broken: []string{err.Error()}}
		}
	}
	if f.sleeve == none {
		return c, nil
	}
	s := f.draftSleeve(m.cap)
	sleeve := f.sleevePiece(m, &s)
	if !j.twoPiece {
		c.sleeves = []pattern.Piece{sleeve}
		return c, nil
	}
	top, under, err := cutting.CutTwoPiece(sleeve, f.twoPieces(m))
	if err != nil {
		return c, refuse(err.Error(), body.UpperArmGirth, body.ArmLength)
	}
	c.sleeves = []pattern.Piece{top, under}
	return c, nil
}

// How a sleeve is cut in two: the turn of the forearm, and the places of the seams (common
// practice; see cutting.CutTwoPiece).
const (
	forearmBend   = 7 * degree
	frontSeamIn   = 25.0
	backSeamIn    = 15.0
	overHand      = 10.0 // of a hem over the girth of the hand
	mostElbowWide = 0.99 // of the width at the upper arm
)

// twoPieces returns the dimensions of top and under sleeve. The hem lets the hand pass.
func (f *figure) twoPieces(m *married) cutting.TwoPieceSleeve {
	wrist := f.wrist
	if hand, err := wear.Hand.Girth(f.body.Find, 0); err == nil {
		wrist = math.Max(wrist, hand+overHand)
	}
	most := mostElbowWide * m.cap.biceps
	wrist = math.Min(wrist, most)
	return cutting.TwoPieceSleeve{Elbow: clamp(f.elbow, wrist, most), Wrist: wrist, Bend: forearmBend,
		Front: frontSeamIn, Back: backSeamIn}
}

// pairings returns the seams of the jacket.
func (c cutPieces) pairings() []cutting.Pairing {
	on := func(p pattern.Piece, run string) pattern.EdgeRef { return pattern.EdgeRef{Piece: p.Name, Edge: run} }
	pair := func(a, b pattern.EdgeRef, ease float64) cutting.Pairing {
		return cutting.Pairing{A: []pattern.EdgeRef{a}, B: []pattern.EdgeRef{b}, Ease: ease}
	}
	list := []cutting.Pairing{pair(on(c.back, edgeShoulder), on(c.front, edgeShoulder),
		c.back.RunLength(edgeShoulder)-c.front.RunLength(edgeShoulder))}
	armholes := [2][]pattern.EdgeRef{{on(c.back, edgeArmhole)}, {on(c.front, edgeArmhole)}}
	if c.panel {
		before := pair(on(c.side, edgeFrontSeam), on(c.front, edgeFrontSeam),
			c.side.RunLength(edgeFrontSeam)-c.front.RunLength(edgeFrontSeam))
		behind := pair(on(c.back, edgeBackSeam), on(c.side, edgeBackSeam), 0)
		list = append(list, before, behind)
		armholes = [2][]pattern.EdgeRef{{on(c.side, edgeArmholeBack), on(c.back, edgeArmhole)},
			{on(c.front, edgeArmhole), on(c.side, edgeArmholeFront)}}
	} else {
		list = append(list, pair(on(c.back, edgeSide), on(c.front, edgeSide), 0))
	}
	for i, centre := range [...]string{edgeBackCentre, edgeCentre} {
		p := [...]pattern.Piece{c.back, c.front}[i]
		if p.Edges[p.EdgeIndex(centre)].Role == pattern.RoleSeam {
			list = append(list, pair(on(p, centre), on(p, centre), 0))
		}
	}
	return append(list, c.sleevePairings(armholes)...)
}

// sleevePairings returns the seams of the sleeve, and those into the armhole behind and before
// the arm.
func (c cutPieces) sleevePairings(armholes [2][]pattern.EdgeRef) []cutting.Pairing {
	if len(c.sleeves) == 0 {
		return nil
	}
	first, last := c.sleeves[0], c.sleeves[len(c.sleeves)-1]
	on := func(p pattern.Piece, run string) pattern.EdgeRef { return pattern.EdgeRef{Piece: p.Name, Edge: run} }
	caps := [2][]pattern.EdgeRef{{on(first, edgeCapBack)}, {on(first, edgeCapFront)}}
	seams := [][2]string{{edgeUnderarmBack, edgeUnderarmFront}}
	if len(c.sleeves) == 2 {
		caps = [2][]pattern.EdgeRef{{on(last, edgeCapBack), on(first, edgeCapBack)},
			{on(first, edgeCapFront), on(last, edgeCapFront)}}
		seams = [][2]string{{edgeFrontSeam, edgeFrontSeam}, {edgeBackSeam, edgeBackSeam}}
	}
	var list []cutting.Pairing
	for _, s := range seams {
		list = append(list, cutting.Pairing{A: []pattern.EdgeRef{on(first, s[0])}, B: []pattern.EdgeRef{on(last, s[1])}})
	}
	for side, armhole := range armholes {
		list = append(list, cutting.Pairing{A: caps[side], B: armhole, How: "eased",
			Ease: pattern.ChainLength(c.all(), caps[side]) - pattern.ChainLength(c.all(), armhole)})
	}
	return list
}

// crossing returns the point in which an upright line at x meets a path, or the nearer end of the path.
func crossing(path geom.Path, x float64) geom.Point {
	box := path.Bounds()
	upright := geom.Polyline(geom.Pt(x, box.Min.Y-1), geom.Pt(x, box.Max.Y+1))
	if met := path.Crossings(upright); len(met) > 0 {
		return met[0].At
	}
	if math.Abs(path.Start().X-x) < math.Abs(path.End().X-x) {
		return path.Start()
	}
	return path.End()
}
