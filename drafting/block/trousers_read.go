package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// readBack measures the finished pieces; see checks. Rise and inside leg are
// measured down the grain as on the body: from the waist down the side to the
// hip line and straight on to the level of the front's fork, and from there to
// the hem.
func (s *trousers) readBack(p *pattern.Pattern, depth float64) error {
	c := checks{person: s.body, alteration: s.alterationOf}
	var waist, hip, crotch, thigh, knee, hem float64
	kneed := true
	for i := range p.Pieces {
		q := p.Pieces[i]
		waist += 2 * q.Run(edgeWaist).Length()
		crotch += q.Run(edgeCrotch).Length()
		across := func(name, from string) float64 {
			level, ok := levelOf(q, name)
			w, met := breadth(q, from, edgeSide, level)
			if !ok || !met {
				c.broken = append(c.broken, fmt.Sprintf("%s: the %s line does not run from seam to seam", q.Name, name))
			}
			return w
		}
		hip += 2 * across(lineHip, edgeCrotch)
		if _, ok := levelOf(q, lineKnee); ok {
			knee += across(lineKnee, edgeInseam)
		} else {
			kneed = false
		}
		fork := forkOf(q)
		if side, ok := crossLevel(q.Run(edgeSide), fork.Y); ok {
			thigh += math.Abs(side.X - fork.X)
		}
		h := q.Run(edgeHem)
		hem += h.Start().Dist(h.End())
	}
	f := p.Pieces[front]
	level, _ := levelOf(f, lineHip)
	side, inseam, fork := f.Run(edgeSide), f.Run(edgeInseam), forkOf(f)
	toHip := lengthTo(side, level)
	if side.Start().Y > side.End().Y { // a front turned over is walked the other way
		toHip = side.Length() - toHip
	}
	foot := math.Max(inseam.Start().Y, inseam.End().Y)

	of := func(n body.Name, target float64) float64 { return target - s.body.Value(n) - s.alterationOf(n) }
	c.measure(body.WaistGirth, of(body.WaistGirth, 2*s.waist), waist)
	c.measure(body.HipGirth, of(body.HipGirth, 2*s.hip), hip)
	c.measure(body.WaistToHip, of(body.WaistToHip, s.top.hip), toHip)
	c.measure(body.BodyRise, of(body.BodyRise, depth), toHip+fork.Y-level)
	c.measure(body.TotalCrotchLength, of(body.TotalCrotchLength, s.crotch), crotch)
	c.measure(body.InsideLeg, of(body.InsideLeg, s.hemAt-depth), foot-fork.Y)
	outside := body.WaistToFloor
	if s.body.Has(body.OutsideLeg) {
		outside = body.OutsideLeg
	}
	c.measure(outside, of(outside, s.hemAt), toHip+foot-level)
	c.atLeast(body.ThighGirth, s.ease[easeThigh], thigh)
	if kneed {
		if s.body.Has(body.KneeGirth) {
			c.measure(body.KneeGirth, of(body.KneeGirth, s.kneeGirth), knee)
		} else {
			c.pair("knee_girth", s.kneeGirth, 0, knee)
		}
		part := (s.hemAt - s.knee) / (s.shapedTo - s.knee)
		c.pair("hem_girth", s.kneeGirth+part*(s.hemGirth-s.kneeGirth), 0, hem)
	}
	return c.judge(p, body.WaistGirth, body.HipGirth, body.BodyRise)
}

// forkOf returns the point where a piece's crotch and inseam meet.
func forkOf(p pattern.Piece) (at geom.Point) {
	crotch := p.Run(edgeCrotch)
	at = crotch.Start()
	if end := crotch.End(); end.Y > at.Y {
		at = end
	}
	return at
}
