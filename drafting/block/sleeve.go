package block

import (
	"math"

	"tapeline/drafting/geom"
)

// sleeveShape is the one-piece sleeve with the top of its cap at the origin,
// the back on the left and the front on the right.
type sleeveShape struct {
	cap        capShape
	seams      [2]geom.Path // back, front: underarm to hem
	elbowBreak int          // the number of segments of each seam above the elbow
	elbow      geom.Point   // of the front seam, about which the forearm turns
	pitch      float64      // by how much it is turned forward
	dart       bool         // the back seam's opening at the elbow is sewn as a dart
	hem        geom.Path    // front to back
	length     float64      // top to hem along the arm
	full       bool         // reaches the wrist
}

// Pitch of the forearm against the upper arm: an arm at rest bends forward
// (common practice: an elbow dart of 20 to 25 mm in a close sleeve, 6 to 12 mm
// of ease otherwise).
const (
	elbowDartPitch = 4.5 * degree
	elbowEasePitch = 1.7 * degree
)

// draftSleeve draws the sleeve below its cap.
func (f *figure) draftSleeve(c capShape) sleeveShape {
	s := sleeveShape{cap: c, length: f.sleeveLength(c.height), full: f.sleeve == "full"}
	below := s.length > f.shoulderToElbow+1
	if below {
		switch f.elbowShape {
		case "dart":
			s.pitch, s.dart = elbowDartPitch, true
		case "ease":
			s.pitch = elbowEasePitch
		}
	}
	middle := (c.capWidth(front) - c.capWidth(back)) / 2
	elbowHalf, wristHalf := f.elbowWidth(c.biceps, c.height)/2, f.wrist/2
	draw := func(side float64, pitch float64) geom.Path {
		under := geom.Pt(middle+side*c.biceps/2, c.height)
		elbow := geom.Pt(middle+side*elbowHalf, f.shoulderToElbow)
		wrist := geom.Pt(middle+side*wristHalf, f.armLength)
		lean := func(a, b geom.Point) float64 { return fromDown(b.Sub(a)) }
		at := (lean(under, elbow) + lean(elbow, wrist)) / 2
		end := 0.0
		if f.stretch > 0 {
			end = lean(elbow, wrist) // a knit without ease follows the forearm
		}
		// The turn of the forearm is shared by the two curves that meet there.
		upperEnd, lowerStart := down(at-pitch/2), down(at+pitch/2)
		if pitch > 0 && side > 0 {
			upperEnd, lowerStart = down(at+pitch/2), down(at-pitch/2)
		}
		if side < 0 {
			upperEnd, lowerStart = down(at), down(at)
		}
		u := under.Dist(elbow) / 3
		l := elbow.Dist(wrist) / 3
		return geom.Path{
			geom.Cubic(under, under.Add(down(lean(under, elbow)).Mul(u)), elbow.Sub(upperEnd.Mul(u)), elbow),
			geom.Cubic(elbow, elbow.Add(lowerStart.Mul(l)), wrist.Sub(down(end).Mul(l)), wrist),
		}
	}
	s.elbowBreak = 1
	s.elbow = geom.Pt(middle+elbowHalf, f.shoulderToElbow)
	for i, side := range [2]float64{-1, 1} {
		seam := cutBelow(draw(side, s.pitch), s.length)
		if len(seam) > 1 && s.pitch > 0 {
			seam[1] = seam[1].Move(geom.Turn(s.elbow, -s.pitch))
		}
		s.seams[i] = seam
	}
	if len(s.seams[back]) == 1 {
		s.elbowBreak = 0
	} else if s.pitch > 0 && !s.dart {
		s.seams[back] = easeElbow(s.seams[back])
	}
	from, to := s.seams[front], s.seams[back]
	s.hem = geom.Path{square(from.End(), from.EndTangent().Right(), to.End(), to.EndTangent().Right())}
	return s
}

// easeElbow closes the gap that the turned forearm leaves in the back seam:
// both parts end at its middle.
func easeElbow(seam geom.Path) geom.Path {
	a, b := seam[0], seam[1]
	m := a.P3.Lerp(b.P0, 0.5)
	a.P2, a.P3 = a.P2.Add(m.Sub(a.P3)), m
	b.P1, b.P0 = b.P1.Add(m.Sub(b.P0)), m
	along := b.P1.Sub(a.P2).Unit()
	a.P2 = m.Sub(along.Mul(a.P2.Dist(m)))
	b.P1 = m.Add(along.Mul(b.P1.Dist(m)))
	return geom.Path{a, b}
}

// cutBelow returns the part of a seam above level y.
func cutBelow(seam geom.Path, y float64) geom.Path {
	var out geom.Path
	for _, s := range seam {
		if s.P3.Y <= y+1e-9 {
			out = append(out, s)
			continue
		}
		if t := crossY(s, y); t > 1e-9 {
			out = append(out, s.Part(0, t))
		}
		break
	}
	return out
}

// square returns a hem from p0 to p3 that leaves and arrives square to the
// seams at its ends; it is straight if a straight one does.
func square(p0, d0, p3, d3 geom.Point) geom.Segment {
	u := p3.Sub(p0).Unit()
	if math.Abs(u.Cross(d0)) < 1e-9 && math.Abs(u.Cross(d3)) < 1e-9 {
		return geom.Line(p0, p3)
	}
	h := 0.33 * p0.Dist(p3)
	return geom.Cubic(p0, p0.Add(d0.Mul(h)), p3.Sub(d3.Mul(h)), p3)
}

// sleeveLength returns the length from the shoulder point to the sleeve's hem,
// mm (common practice for the shorter ones).
func (f *figure) sleeveLength(capHeight float64) float64 {
	switch f.sleeve {
	case "short":
		return math.Min(capHeight+math.Max(60, 0.4*(f.shoulderToElbow-capHeight)), f.shoulderToElbow-20)
	case "elbow":
		return f.shoulderToElbow
	case "three_quarter":
		return f.shoulderToElbow + 0.5*(f.armLength-f.shoulderToElbow)
	}
	return f.armLength
}
