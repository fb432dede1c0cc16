package block

import (
	"math"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// frontPiece assembles the front with the centre front on x = 0 and its bust
// dart at the chosen position. It is turned over later.
func (f *figure) frontPiece(u *upper, m *married) (pattern.Piece, error) {
	p := pattern.Piece{Name: pieceFront, Title: "Front", Cut: cutOf(f.frontFold)}
	d := m.dart
	bottom := geom.Pt(0, f.hem)
	if !f.endsAtWaist() {
		bottom.Y += f.frontDrop + f.frontHangs + f.panelDrop()
	}
	centre := pattern.RoleSeam
	if f.frontFold {
		centre = pattern.RoleFold
	}
	side := d.lower
	p.Edges = append(p.Edges,
		edge(edgeNeckline, pattern.RoleNeckline, u.frontNeck),
		edge(edgeShoulder, pattern.RoleSeam, u.frontShoulder),
		edge(edgeArmhole, pattern.RoleArmhole, m.armholes[front].path()...))
	if d.angle > 0 {
		a, b := d.upper.End(), d.lower.Start()
		p.Edges = append(p.Edges,
			edge(edgeSide, pattern.RoleSeam, d.upper...),
			edge(mouthOf(dartBust), pattern.RoleDartMouth, geom.Line(a, b)))
		p.Darts = append(p.Darts, mouthDart(dartBust, f.shortOf(d.point, a, b), a, b, 1))
	}
	p.Edges = append(p.Edges, edge(edgeSide, pattern.RoleSeam, side...))
	if f.hasBust() && d.angle == 0 {
		p.Darts = append(p.Darts, pattern.EmptyDart(dartBust, d.opens, f.shortOf(d.point, d.opens, d.opens)))
	}
	if f.legs != nil {
		bottom = f.addLeg(&p, front, &m.trunk)
	} else {
		f.addHem(&p, side, bottom, m.frontDarts)
	}
	p.Edges = append(p.Edges, edge(edgeCentre, centre, geom.Line(bottom, u.frontNeck.P0)))
	if f.hasBust() {
		p.Marks = append(p.Marks, pattern.Mark{Name: "bust_point", Kind: pattern.MarkBustPoint, At: d.point})
	}

	waist := f.napeToWaist
	f.addLevel(&p, lineBust, m.bustLine, f.frontLevelEnd(m, m.bustLine))
	f.addLevel(&p, lineWaist, waist, m.waistFront)
	if hip := waist + f.hipDepth(); hip <= f.hem+1e-9 {
		f.addLevel(&p, lineHip, hip, xAtLevel(m.sideFront, hip))
	}
	top := m.depth - 30
	if !f.frontFold {
		// The part that holds the grain's middle keeps its place when the bust
		// dart is moved: it is the part below the bust.
		top = math.Max(top, 2*d.point.Y-f.hem+50)
	}
	p.Grain = grainLine(0.4*f.bustPointX, top, f.hem-35)

	p.Notches = append(p.Notches, pattern.Notch{Edge: edgeSide, At: m.seams[front].upper().Length(),
		Kind: pattern.NotchSingle})
	if f.sleeve != "none" {
		p.Notches = append(p.Notches, pattern.Notch{Edge: edgeArmhole,
			At: m.armholes[front].length() - f.frontNotch(m), Kind: pattern.NotchSingle})
	}
	if !f.frontFold {
		p.Notches = append(p.Notches, pattern.Notch{Edge: edgeCentre, At: bottom.Y - waist, Kind: pattern.NotchSingle})
	}
	if f.hasBust() {
		if err := f.moveBustDart(&p, m); err != nil {
			return p, err
		}
	}
	if !f.garment && !f.panelled() {
		p = cutting.TrueDarts(p)
	}
	return p, nil
}

// frontLevelEnd returns the x at which a level line on the front ends: at the
// side, or at the bust point if the dart lies in the way.
func (f *figure) frontLevelEnd(m *married, y float64) float64 {
	if m.dart.angle > 0 && y < m.dart.lower.Start().Y {
		return f.bustPointX
	}
	return xAtLevel(m.sideFront, y)
}

// shortOf returns the sewn end of a dart to the bust point: short of it, on the
// line that bisects the dart.
func (f *figure) shortOf(point, a, b geom.Point) geom.Point {
	return point.Add(a.Lerp(b, 0.5).Sub(point).Unit().Mul(f.standOff()))
}

// moveBustDart closes the bust dart at the side and opens it at the chosen
// position. Every seam keeps its length.
func (f *figure) moveBustDart(p *pattern.Piece, m *married) error {
	var to cutting.Position
	pressed := 0
	switch f.bustDart {
	case "shoulder":
		to = cutting.Position{Run: edgeShoulder, At: f.bustDartAt * p.RunLength(edgeShoulder)}
	case "neck":
		to = cutting.Position{Run: edgeNeckline, At: 0.5 * p.RunLength(edgeNeckline)}
	case "armhole":
		to, pressed = cutting.Position{Run: edgeArmhole, At: f.dartOnArmhole(m)}, 1
	case "centre_front": // level with the bust point
		foot := p.Edges[p.EdgeIndex(edgeCentre)].Path.Start()
		to = cutting.Position{Run: edgeCentre, At: foot.Y - m.dart.point.Y}
	case "waist":
		if m.dart.angle > 0 {
			f.openWaist(p, m)
			return nil
		}
		_, _, along := p.Run(edgeHem).Nearest(geom.Pt(f.bustPointX, f.hem))
		to = cutting.Position{Run: edgeHem, At: along}
	default:
		return nil
	}
	q, err := cutting.MoveDart(*p, dartBust, to, m.dart.point)
	if err != nil {
		return &CheckError{Broken: []string{err.Error()}}
	}
	last := len(q.Darts) - 1
	q.Darts[last].Pressed = pressed
	q.Darts = append(q.Darts[last:], q.Darts[:last]...)
	*p = startBetween(q, edgeCentre, edgeNeckline)
	f.relevel(p, m)
	return nil
}

// joinSide merges the two parts of the side seam once nothing lies between
// them.
func joinSide(edges []pattern.Edge) []pattern.Edge {
	var out []pattern.Edge
	for _, e := range edges {
		if n := len(out); n > 0 && e.Name == edgeSide && out[n-1].Name == edgeSide {
			out[n-1].Path = geom.Join(out[n-1].Path, e.Path)
			continue
		}
		out = append(out, e)
	}
	return out
}

// relevel draws the bust line through to the side when no dart is in its way.
func (f *figure) relevel(p *pattern.Piece, m *married) {
	for i, l := range p.Lines {
		if l.Name == lineBust {
			p.Lines[i].Path = geom.Path{geom.Line(geom.Pt(0, m.bustLine),
				geom.Pt(xAtLevel(m.sideFront, m.bustLine), m.bustLine))}
		}
	}
}

// Limits of a bust dart that opens at the waist.
const (
	bluntest  = 58 * degree // it opens by at its point; wider it ends blunt (from memory: 50 to 60)
	joinAbove = 20          // mm that its legs run together above the waist
)

// pointedFrom returns the level, below the end of a dart by mm short of the bust point, on which its legs
// may begin to run together without making the end blunt.
func pointedFrom(d bustDart, short float64) float64 {
	turn, most := math.Tan(d.angle/2), math.Tan(bluntest/2)
	if turn <= 0 {
		return d.point.Y
	}
	return d.point.Y + short + short*turn/math.Max(0.05, most-turn)
}

// openWaist opens the dart downward, through the waist dart below the bust
// point and on to the hem, and turns the part at the side of it. The waist dart
// becomes part of it.
func (f *figure) openWaist(p *pattern.Piece, m *married) {
	d := m.dart
	back := geom.Turn(d.point, -d.angle)
	apex := d.point.Add(geom.Pt(0, f.standOff()).Rotate(geom.Point{}, -d.angle/2))
	closedApex := geom.Turn(d.point, d.angle).Apply(apex) // as the side's part sees it before it is turned
	w := m.frontDarts
	// Above the waist dart both legs run together on the line below the bust
	// point, so that nothing is taken out at the bust line, and part to the
	// apex from there.
	join := geom.Pt(f.bustPointX, f.frontDartTop(m.bustLine, m.depth))
	if w.count > 0 {
		join.Y = w.top
	}
	join.Y = math.Max(join.Y, math.Min(pointedFrom(d, f.standOff()), f.napeToWaist-joinAbove))
	var near, far geom.Path // legs from hem to apex: at the centre, at the side (not yet turned)
	var hemSide, hemCentre pattern.Edge
	side, bottom := d.lower, geom.Pt(0, f.hem)
	if f.endsAtWaist() {
		x := f.bustPointX
		left, right := geom.Pt(x-w.width/2, f.hem), geom.Pt(x+w.width/2, f.hem)
		run := (side.End().X - right.X + left.X) / 2
		left, right = trueLeg(join, left, run), trueLeg(join, right, run)
		hemSide = edge(edgeHem, pattern.RoleHem, square(side.End(), side.EndTangent().Right(), right,
			right.Sub(join).Unit().Right()))
		hemCentre = edge(edgeHem, pattern.RoleHem, square(left, left.Sub(join).Unit().Right(), bottom, geom.Pt(-1, 0)))
		near, far = geom.Polyline(left, join, apex), geom.Polyline(right, join, closedApex)
	} else {
		hem, _ := p.Edge(edgeHem)
		first, second := splitAtX(hem.Path, f.bustPointX)
		hemSide, hemCentre = edge(edgeHem, pattern.RoleHem, first...), edge(edgeHem, pattern.RoleHem, second...)
		foot := first.End()
		nearPoints, farPoints := []geom.Point{foot}, []geom.Point{foot}
		if w.count > 0 {
			nearPoints = append(nearPoints, geom.Pt(w.centre, w.bottom), geom.Pt(w.centre-w.width/2, w.waist))
			farPoints = append(farPoints, geom.Pt(w.centre, w.bottom), geom.Pt(w.centre+w.width/2, w.waist))
		}
		near, far = geom.Polyline(append(nearPoints, join, apex)...), geom.Polyline(append(farPoints, join, closedApex)...)
	}
	far = far.Move(back)

	var out []pattern.Edge
	for _, e := range p.Edges {
		switch {
		case e.Role == pattern.RoleDartMouth, e.Role == pattern.RoleHem:
		case e.Name == edgeCentre:
			hemSide.Path = hemSide.Path.Move(back)
			out = append(out, hemSide,
				edge(mouthOf(dartBust), pattern.RoleDartMouth, geom.Line(far.Start(), near.Start())),
				hemCentre, e)
		case e.Name == edgeSide && e.Path.Start() == side.Start():
			e.Path = e.Path.Move(back)
			out = append(out, e)
		default:
			out = append(out, e)
		}
	}
	p.Edges = joinSide(out)
	p.Darts = []pattern.Dart{{Name: dartBust, Mouth: mouthOf(dartBust), Apexes: []geom.Point{apex}, Pressed: 1,
		Legs: [2]geom.Path{far, near}}}
	for i, l := range p.Lines {
		y := l.Path.Start().Y
		if y > apex.Y {
			p.Lines[i].Path = geom.Path{geom.Line(geom.Pt(0, y), geom.Pt(f.bustPointX-w.widthAt(y)/2, y))}
		}
	}
}

// splitAtX cuts a hem that runs from the side to the centre at x.
func splitAtX(hem geom.Path, x float64) (geom.Path, geom.Path) {
	for i, s := range hem {
		if s.P3.X > x {
			continue
		}
		t, ok := root(0, 1, 1e-12, func(t float64) float64 { return s.At(t).X - x })
		if !ok || t <= 0 || t >= 1 {
			break
		}
		a, b := s.Split(t)
		return geom.Join(hem[:i], geom.Path{a}), geom.Join(geom.Path{b}, hem[i+1:])
	}
	return hem, nil
}
