package block

import (
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// readBack measures the finished pieces and adds a check for every target. It
// returns a *CheckError if one fails or an outline is invalid.
func (f *figure) readBack(p *pattern.Pattern, m *married) error {
	c := f.checker()
	bp, _ := p.Piece(pieceBack)
	fp, _ := p.Piece(pieceFront)
	b, fr := read(bp, false), read(fp, true)
	c.girths(b, fr)
	c.lengths(b, fr, m, b.above.Run(edgeArmhole).End())
	if f.legs != nil {
		c.crotch(p, b, fr)
	}
	if sp, ok := p.Piece(pieceSleeve); ok {
		c.sleeve(sp, [2]float64{b.above.Run(edgeArmhole).Length(), fr.above.Run(edgeArmhole).Length()}, m)
	}
	return c.judge(p, body.BustGirth, body.WaistGirth, body.FrontWaistLength, body.SideNeckToBust)
}

// readNeckline reads the neckline of a body whose sides differ: only both sides
// together have the girth of the neck.
func (f *figure) readNeckline(p *pattern.Pattern) error {
	c := f.checker()
	var length float64
	for _, q := range p.Pieces {
		sides := 1.0
		if q.Cut.OnFold || q.Cut.Pair {
			sides = 2 // the sides differ elsewhere: this piece is the same on both
		}
		for _, e := range q.Edges {
			if e.Role == pattern.RoleNeckline {
				length += sides * e.Path.Length()
			}
		}
	}
	c.measure(body.NeckBaseGirth, f.ease[string(body.NeckBaseGirth)], length)
	p.Checks = append(p.Checks, c.list...)
	if len(c.failed()) > 0 {
		return &CheckError{Failed: c.list}
	}
	return nil
}

// checker reads a torso's measures back.
type checker struct {
	*figure
	checks
}

func (f *figure) checker() checker {
	return checker{figure: f, checks: checks{person: f.body, alteration: f.alterationOf}}
}

// measure adds a check of a body measurement with its ease at rest.
func (c *checker) measure(n body.Name, ease, drafted float64) {
	c.checks.measure(n, c.value(n)-c.body.Value(n)+ease, drafted)
}

// girths reads bust, waist and hip, and the across widths.
func (c *checker) girths(b, fr reading) {
	girth := func(n body.Name, line string, target float64) {
		lb, okB := b.line(line)
		lf, okF := fr.line(line)
		if okB && okF {
			drafted := 2 * (b.width(edgeBackCentre, lb) + fr.width(edgeCentre, lf))
			c.measure(n, 2*target-c.value(n), drafted)
		}
	}
	girth(body.BustGirth, lineBust, c.bust)
	girth(body.WaistGirth, lineWaist, c.waist)
	girth(body.HipGirth, lineHip, c.hip)
	c.acrossWidths(b, fr)
}

func (c *checker) acrossWidths(b, fr reading) {
	c.measure(body.BackWidth, c.ease[string(body.BackWidth)], 2*b.across(edgeBackCentre))
	c.measure(body.ChestWidth, c.ease[string(body.ChestWidth)], 2*fr.across(edgeCentre))
}

// lengths reads necklines, shoulders and the upright measures. The underarm is in the frame of the back.
func (c *checker) lengths(b, fr reading, m *married, underarm geom.Point) {
	neckB, neckF := b.above.Run(edgeNeckline), fr.above.Run(edgeNeckline)
	if c.mate == nil {
		c.measure(body.NeckBaseGirth, c.ease[string(body.NeckBaseGirth)], 2*(neckB.Length()+neckF.Length()))
	}
	out := c.ease[easeShoulderLength]
	if c.sleeveless {
		out = -sleevelessShoulder
	}
	c.measure(body.ShoulderLength, out, fr.above.Run(edgeShoulder).Length())
	c.pair("back_shoulder", c.value(body.ShoulderLength)+out, c.shoulderEase, b.above.Run(edgeShoulder).Length())

	waistB, _ := levelOf(b.piece, lineWaist)
	waistF, _ := levelOf(fr.piece, lineWaist)
	c.measure(body.NapeToWaist, 0, waistB-neckB.Start().Y)
	c.measure(body.ScyeDepth, m.depth-c.value(body.ScyeDepth)-c.alterationOf(body.ScyeDepth),
		underarm.Y-neckB.Start().Y)
	if hip, ok := levelOf(b.piece, lineHip); ok {
		c.measure(body.WaistToHip, c.hipDepth()+c.seat-c.waistToHip, hip-waistB)
	}
	if c.figure.legs == nil {
		c.pair("centre_back_length", c.hem+c.centreShift(c.hem, m.depth), 0,
			b.below.Run(edgeBackCentre).Start().Y-neckB.Start().Y)
	}
	if !c.hasBust() {
		return
	}
	bp, _ := markAt(fr.piece, pattern.MarkBustPoint)
	c.measure(body.BustPointWidth, 0, 2*(bp.X-fr.below.Run(edgeCentre).Start().X))
	if !c.shaped && m.dart.angle == 0 || !math.IsInf(c.bustSurplus, 1) {
		return // some of the front's length is left out
	}
	neckPoint := neckF.End()
	c.measure(body.SideNeckToBust, 0, neckPoint.Dist(bp))
	c.measure(body.FrontWaistLength, 0, neckPoint.Dist(bp)+waistF-bp.Y)
}

// sleeve reads the sleeve's girths and length, and the cap against the armholes of back and front.
func (c *checker) sleeve(s pattern.Piece, armholes [2]float64, m *married) {
	under := s.Run(edgeUnderarmFront).Start()
	upper := s.Run(edgeUnderarmBack).End()
	c.measure(body.UpperArmGirth, m.cap.biceps-c.value(body.UpperArmGirth)-c.alterationOf(body.UpperArmGirth),
		under.Dist(upper))
	hem := s.Run(edgeHem)
	across := hem.End().Sub(hem.Start()).Unit()
	if c.figure.sleeve == "full" {
		c.measure(body.WristGirth, c.wrist-c.value(body.WristGirth), hem.Start().Dist(hem.End()))
	}
	length := c.sleeveLength(m.cap.height)
	drafted := 0.0
	for _, l := range s.Lines {
		if l.Name == lineElbow {
			// Down to the elbow, then along the forearm, which may be turned.
			elbow := l.Path.Start()
			drafted = elbow.Sub(apexOf(s)).Dot(s.Grain.Tangent(0)) + abs(hem.Start().Sub(elbow).Cross(across))
			c.measure(body.ElbowGirth, c.elbowWidth(m.cap.biceps,
				m.cap.height)-c.value(body.ElbowGirth)-c.alterationOf(body.ElbowGirth), l.Path.Length())
		}
	}
	if drafted == 0 {
		drafted = abs(hem.Start().Sub(apexOf(s)).Cross(across))
	}
	c.measure(body.ArmLength, length-c.value(body.ArmLength), drafted)
	c.caps([2]float64{s.RunLength(edgeCapBack), s.RunLength(edgeCapFront)}, armholes)
}

// caps checks the lengths of the cap, back and front, against those of the armholes.
func (c *checker) caps(halves, armholes [2]float64) {
	c.pair("sleeve_cap", sumOf(armholes), c.capEase, sumOf(halves))
	c.pair("sleeve_cap_back", armholes[back], backCapEase*c.capEase, halves[back])
	c.pair("sleeve_cap_front", armholes[front], (1-backCapEase)*c.capEase, halves[front])
}

func sumOf(v [2]float64) float64 { return v[0] + v[1] }

// apexOf returns the highest point of the sleeve's cap.
func apexOf(s pattern.Piece) geom.Point {
	box := geom.Join(s.Run(edgeCapBack), s.Run(edgeCapFront)).Bounds()
	return geom.Pt(0, box.Min.Y)
}
