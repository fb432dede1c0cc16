package block

import (
	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// readJacket measures the finished pieces of a jacket and adds a check for every target. It
// returns a *CheckError if one fails or an outline is invalid.
func (f *figure) readJacket(p *pattern.Pattern, m *married) error {
	c := f.checker()
	bp, _ := p.Piece(pieceBack)
	fp, _ := p.Piece(pieceFront)
	b, fr := read(bp, false), read(fp, true)
	armholes := [2]float64{b.above.Run(edgeArmhole).Length(), fr.above.Run(edgeArmhole).Length()}
	underarm := b.above.Run(edgeArmhole).End()
	if sp, ok := p.Piece(pieceSide); ok {
		s := read(sp, false)
		c.panelGirths(b, s, fr)
		underarm = s.above.Run(edgeArmholeBack).End()
		armholes[back] += sp.RunLength(edgeArmholeBack)
		armholes[front] += sp.RunLength(edgeArmholeFront)
	} else {
		c.waist -= f.jacket.waist.centre
		c.girths(b, fr)
	}
	c.lengths(b, fr, m, underarm)
	if sp, ok := p.Piece(pieceSleeve); ok {
		c.sleeve(sp, armholes, m)
	}
	if top, ok := p.Piece(pieceTopSleeve); ok {
		under, _ := p.Piece(pieceUnderSleeve)
		c.twoPieceSleeve(top, under, armholes, m)
	}
	return c.judge(p, body.BustGirth, body.WaistGirth, body.FrontWaistLength)
}

// panelGirths reads bust, waist and hip of back, side panel and front, and the across widths.
func (c *checker) panelGirths(b, side, fr reading) {
	j := c.jacket
	girth := func(n body.Name, line string, target float64) {
		lb, okB := b.line(line)
		ls, okS := side.line(line)
		lf, okF := fr.line(line)
		if okB && okS && okF {
			drafted := b.between(edgeBackCentre, edgeBackSeam, lb) + side.between(edgeBackSeam, edgeFrontSeam, ls) +
				fr.between(edgeCentre, edgeFrontSeam, lf)
			c.measure(n, 2*target-c.body.Value(n), 2*drafted)
		}
	}
	girth(body.BustGirth, lineBust, c.bust)
	girth(body.WaistGirth, lineWaist, c.bust-j.waist.sum())
	girth(body.HipGirth, lineHip, c.bust-sumOf(j.hip))
	c.acrossWidths(b, fr)
}

// twoPieceSleeve reads the girths and the length of top and under sleeve, and their cap against
// the armholes of back and front.
func (c *checker) twoPieceSleeve(top, under pattern.Piece, armholes [2]float64, m *married) {
	want := c.twoPieces(m)
	across := func(p pattern.Piece, line string) float64 {
		for _, l := range p.Lines {
			if l.Name == line {
				return l.Path.Start().Dist(l.Path.End())
			}
		}
		return 0
	}
	hem := func(p pattern.Piece) float64 {
		h := p.Run(edgeHem)
		return h.End().Sub(h.Start()).Dot(h.StartTangent()) // square to the seams
	}
	c.measure(body.ElbowGirth, want.Elbow-c.body.Value(body.ElbowGirth)-c.alterationOf(body.ElbowGirth),
		across(top, lineElbow)+across(under, lineElbow))
	c.measure(body.WristGirth, want.Wrist-c.body.Value(body.WristGirth), hem(top)+hem(under))
	// Down to the elbow, then along the forearm, through the middle of the sleeve.
	h := top.Run(edgeHem)
	var elbow geom.Point
	for _, l := range top.Lines {
		if l.Name == lineElbow {
			elbow = l.Path.Start().Lerp(l.Path.End(), 0.5)
		}
	}
	c.measure(body.ArmLength, c.armLength-c.body.Value(body.ArmLength),
		elbow.Y-apexOf(top).Y+elbow.Dist(h.Start().Lerp(h.End(), 0.5)))
	c.caps([2]float64{top.RunLength(edgeCapBack) + under.RunLength(edgeCapBack),
		top.RunLength(edgeCapFront) + under.RunLength(edgeCapFront)}, armholes)
}

// between returns the distance along a level line from one edge, walked up, to another, walked down.
func (r reading) between(up, down string, line geom.Path) float64 {
	return sideAt(r.below.Run(down), line.End().Y) - sideAt(r.below.Run(up).Reverse(), line.Start().Y)
}
