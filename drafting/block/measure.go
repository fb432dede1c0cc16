package block

import (
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// CheckTolerance is the largest difference in mm between what a draft should
// measure and what it does.
const CheckTolerance = 0.5

// readBack measures the finished pieces and lists every target beside what was
// drafted. It returns a *CheckError where one differs or an outline is not
// whole.
func (f *figure) readBack(p *pattern.Pattern, m *married) error {
	c := checker{figure: f}
	bp, _ := p.Piece(pieceBack)
	fp, _ := p.Piece(pieceFront)
	b, fr := read(bp, false), read(fp, true)
	c.girths(b, fr)
	c.lengths(b, fr, m)
	if sp, ok := p.Piece(pieceSleeve); ok {
		c.sleeve(sp, b, fr, m)
	}
	for _, q := range p.Pieces {
		c.darts(q)
		c.outline(q)
	}
	c.seams(p)
	p.Checks = c.checks
	var failed []pattern.Check
	for _, k := range c.checks {
		if !(abs(k.Difference()) <= k.Tolerance) {
			failed = append(failed, k)
		}
	}
	if len(c.escaped) > 0 {
		return refuse(fmt.Sprintf("no room for the dart: %s would reach out of the piece", strings.Join(c.escaped, ", ")),
			body.BustGirth, body.WaistGirth, body.FrontWaistLength)
	}
	if len(failed) > 0 || len(c.broken) > 0 {
		return &CheckError{Failed: failed, Broken: c.broken}
	}
	return nil
}

// readNeckline reads the one neckline of a body whose sides differ: only both
// sides together have the girth of the neck.
func (f *figure) readNeckline(p *pattern.Pattern) error {
	c := checker{figure: f}
	var length float64
	for _, q := range p.Pieces {
		for _, e := range q.Edges {
			if e.Role == pattern.RoleNeckline {
				length += e.Path.Length()
			}
		}
	}
	c.measure(body.NeckBaseGirth, f.ease[string(body.NeckBaseGirth)], length)
	p.Checks = append(p.Checks, c.checks...)
	if k := c.checks[0]; !(abs(k.Difference()) <= k.Tolerance) {
		return &CheckError{Failed: c.checks}
	}
	return nil
}

type checker struct {
	*figure
	checks  []pattern.Check
	broken  []string
	escaped []string // darts that leave their piece
}

// measure adds a check of a body measurement with its ease.
func (c *checker) measure(n body.Name, ease, drafted float64) {
	m, altered := c.body.Get(n), c.alterationOf(n)
	c.checks = append(c.checks, pattern.Check{Name: string(n), Body: m.Value, Alteration: altered, Ease: ease,
		Target: m.Value + altered + ease, Drafted: drafted, Tolerance: CheckTolerance, Estimated: m.Estimated})
}

// pair adds a check of two lengths on the draft that must agree but for ease.
func (c *checker) pair(name string, base, ease, drafted float64) {
	c.checks = append(c.checks, pattern.Check{Name: name, Ease: ease,
		Target: base + ease, Drafted: drafted, Tolerance: CheckTolerance})
}

// girths reads bust, waist and hip, and the across widths.
func (c *checker) girths(b, fr reading) {
	girth := func(n body.Name, line string, target float64) {
		lb, okB := b.line(line)
		lf, okF := fr.line(line)
		if okB && okF {
			drafted := 2 * (b.width(edgeBackCentre, lb) + fr.width(edgeCentre, lf))
			c.measure(n, 2*target-c.body.Value(n), drafted)
		}
	}
	girth(body.BustGirth, lineBust, c.bust)
	girth(body.WaistGirth, lineWaist, c.waist)
	girth(body.HipGirth, lineHip, c.hip)
	c.measure(body.BackWidth, c.ease[string(body.BackWidth)], 2*b.across(edgeBackCentre))
	c.measure(body.ChestWidth, c.ease[string(body.ChestWidth)], 2*fr.across(edgeCentre))
}

// lengths reads necklines, shoulders and the upright measures.
func (c *checker) lengths(b, fr reading, m *married) {
	neckB, neckF := run(b.above, edgeNeckline), run(fr.above, edgeNeckline)
	if c.mate == nil {
		c.measure(body.NeckBaseGirth, c.ease[string(body.NeckBaseGirth)], 2*(neckB.Length()+neckF.Length()))
	}
	c.measure(body.ShoulderLength, 0, run(fr.above, edgeShoulder).Length())
	c.pair("back_shoulder", c.body.Value(body.ShoulderLength), c.shoulderEase, run(b.above, edgeShoulder).Length())

	waistB, _ := b.level(lineWaist)
	waistF, _ := fr.level(lineWaist)
	c.measure(body.NapeToWaist, 0, waistB-neckB.Start().Y)
	armB := run(b.above, edgeArmhole)
	c.measure(body.ScyeDepth, m.depth-c.body.Value(body.ScyeDepth)-c.alterationOf(body.ScyeDepth), armB.End().Y-neckB.Start().Y)
	if hip, ok := b.level(lineHip); ok {
		c.measure(body.WaistToHip, c.hipDepth()-c.waistToHip, hip-waistB)
	}
	c.pair("centre_back_length", c.hem+c.centreShift(c.hem, m.depth), 0, run(b.below, edgeBackCentre).Start().Y-neckB.Start().Y)
	if !c.shaped {
		return
	}
	bp, _ := markAt(fr.piece, pattern.MarkBustPoint)
	neckPoint := neckF.End()
	c.measure(body.SideNeckToBust, 0, neckPoint.Dist(bp))
	c.measure(body.FrontWaistLength, 0, neckPoint.Dist(bp)+waistF-bp.Y)
	c.measure(body.BustPointWidth, 0, 2*(bp.X-run(fr.below, edgeCentre).Start().X))
}

// sleeve reads the sleeve's girths and length, and cap against armhole.
func (c *checker) sleeve(s pattern.Piece, b, fr reading, m *married) {
	under := run(s.Edges, edgeUnderarmFront).Start()
	upper := run(s.Edges, edgeUnderarmBack).End()
	c.measure(body.UpperArmGirth, m.cap.biceps-c.body.Value(body.UpperArmGirth)-c.alterationOf(body.UpperArmGirth), under.Dist(upper))
	hem := run(s.Edges, edgeHem)
	across := hem.End().Sub(hem.Start()).Unit()
	if c.figure.sleeve == "full" {
		c.measure(body.WristGirth, c.ease[string(body.WristGirth)], hem.Start().Dist(hem.End()))
	}
	length := c.sleeveLength(m.cap.height)
	drafted := 0.0
	for _, l := range s.Lines {
		if l.Name == lineElbow {
			// Down to the elbow, then along the forearm, which may be turned.
			elbow := l.Path.Start()
			drafted = elbow.Sub(apexOf(s)).Dot(s.Grain.Tangent(0)) + abs(hem.Start().Sub(elbow).Cross(across))
			c.measure(body.ElbowGirth, c.elbowWidth(m.cap.biceps, m.cap.height)-c.body.Value(body.ElbowGirth)-c.alterationOf(body.ElbowGirth), l.Path.Length())
		}
	}
	if drafted == 0 {
		drafted = abs(hem.Start().Sub(apexOf(s)).Cross(across))
	}
	c.measure(body.ArmLength, length-c.armLength, drafted)
	armB, armF := run(b.above, edgeArmhole).Length(), run(fr.above, edgeArmhole).Length()
	capB, capF := run(s.Edges, edgeCapBack).Length(), run(s.Edges, edgeCapFront).Length()
	c.pair("sleeve_cap", armB+armF, c.capEase, capB+capF)
	c.pair("sleeve_cap_back", armB, backCapEase*c.capEase, capB)
	c.pair("sleeve_cap_front", armF, (1-backCapEase)*c.capEase, capF)
}

// apexOf is the highest point of the sleeve's cap.
func apexOf(s pattern.Piece) geom.Point {
	box := geom.Join(run(s.Edges, edgeCapBack), run(s.Edges, edgeCapFront)).Bounds()
	return geom.Pt(0, box.Min.Y)
}

// darts reads each dart's legs against each other.
func (c *checker) darts(p pattern.Piece) {
	for _, d := range p.Darts {
		c.pair(p.Name+"/"+d.Name+"_legs", d.Legs[0].Length(), 0, d.Legs[1].Length())
	}
}

// seams reads both sides of each seam.
func (c *checker) seams(p *pattern.Pattern) {
	for _, s := range p.Seams {
		if s.A == s.B {
			continue
		}
		a, okA := edgeOf(p, s.A)
		b, okB := edgeOf(p, s.B)
		if !okA || !okB {
			c.broken = append(c.broken, fmt.Sprintf("seam %s to %s: no such edge", s.A, s.B))
			continue
		}
		c.pair(fmt.Sprintf("seam %s to %s", s.A, s.B), b.Path.Length(), s.Ease, a.Path.Length())
	}
}

func edgeOf(p *pattern.Pattern, r pattern.EdgeRef) (pattern.Edge, bool) {
	q, ok := p.Piece(r.Piece)
	if !ok {
		return pattern.Edge{}, false
	}
	return q.Edge(r.Edge)
}

// outline holds each piece to be a piece: closed, walked clockwise, crossing
// itself nowhere, its darts inside.
func (c *checker) outline(p pattern.Piece) {
	o := p.Outline()
	if err := o.Check(); err != nil || !o.Closed() {
		c.broken = append(c.broken, fmt.Sprintf("%s: outline is not closed", p.Name))
		return
	}
	if o.Area() <= 0 {
		c.broken = append(c.broken, fmt.Sprintf("%s: outline runs the wrong way", p.Name))
	}
	if !o.Simple() {
		c.broken = append(c.broken, fmt.Sprintf("%s: outline crosses itself", p.Name))
	}
	for _, d := range p.Darts {
		for _, leg := range d.Legs {
			for i, s := range leg {
				inside := o.Contains(s.At(0.5)) && (i == len(leg)-1 || o.Contains(s.P3))
				if d.Mouth == "" {
					inside = inside && o.Contains(s.P0) && o.Contains(s.P3)
				}
				if name := p.Name + "/" + d.Name; !inside && !slices.Contains(c.escaped, name) {
					c.escaped = append(c.escaped, name)
				}
			}
		}
	}
}
