package block

import (
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Alteration is a correction after a customer's fitting, in mm, applied to
// every later draft.
type Alteration struct {
	Name  string
	Min   float64
	Max   float64
	Sided bool // may differ between left and right
	Help  string
}

// Names of the torso's alterations, as fitters call them.
const (
	alterSwayBack     = "sway_back"
	alterRoundBack    = "round_back"
	alterShoulder     = "shoulder_height"
	alterForward      = "shoulder_forward"
	alterUpperArm     = "upper_arm"
	alterBust         = "bust_height"
	alterSeat         = "prominent_seat"
	maxCentreChange   = 40.0
	seatToHipWidth    = 0.25 // of the length added over the seat goes to the back's width
	roundToDartIntake = 0.40 // of the length added over a round back goes into the shoulder dart
)

// torsoAlterations returns the alterations of the torso and the straight torso.
// Their effects are common practice among fitters; the shares are ours.
func torsoAlterations() []Alteration {
	return []Alteration{
		{alterSwayBack, 0, maxCentreChange, false, "Shorten the centre back at the waist, fading to nothing at the side."},
		{alterRoundBack, 0, maxCentreChange, false,
			"Lengthen the back above the armholes; part goes into the shoulder dart."},
		{alterShoulder, -30, 30, true, "Raise the shoulder point (square shoulder), or lower it (sloping, negative)."},
		{alterForward, 0, 25, true, "Bring the shoulder seam forward at the shoulder point."},
		{alterUpperArm, 0, 80, true, "Widen the sleeve at the upper arm, and half as much at the elbow."},
		{alterBust, -40, 40, false, "Raise the bust point, or lower it (negative)."},
		{alterSeat, 0, maxCentreChange, false, "Lengthen the centre back over the seat and give the back more of the hip."},
	}
}

// alter applies the alterations to the figure; see also centreShift.
func (f *figure) alter(a map[string]float64) {
	f.altered = a
	if v := a[alterShoulder]; v != 0 {
		f.slope -= math.Asin(clamp(v/f.shoulder, -1, 1))
	}
	f.forward = math.Asin(clamp(a[alterForward]/f.shoulder, -1, 1))
	f.biceps += a[alterUpperArm]
	f.elbow += a[alterUpperArm] / 2
	f.sideNeckToBust -= a[alterBust]
	if v := a[alterRoundBack]; v > 0 {
		f.napeToWaist += v
		f.scyeDepth += v
		if f.shoulderDart > 0 {
			f.shoulderDart += roundToDartIntake * v
		}
	}
}

// centreShift returns how far a sway back and a prominent seat lower the back
// at level y at the centre, mm; negative if they raise it.
func (f *figure) centreShift(y, depth float64) float64 {
	sway, seat := -f.altered[alterSwayBack], f.altered[alterSeat]
	switch waist, hip := f.napeToWaist, f.napeToWaist+f.hipDepth(); {
	case y <= depth:
		return 0
	case y <= waist:
		return sway * (y - depth) / (waist - depth)
	case y <= hip:
		return sway + seat*(y-waist)/(hip-waist)
	}
	return sway + seat
}

// shiftCentre moves a back's centre below the armhole up or down, fading to
// nothing at the side: what a cutter does by folding out, or slashing and
// spreading, from the centre to the side seam.
func (f *figure) shiftCentre(p *pattern.Piece, m *married) {
	if f.altered[alterSwayBack] == 0 && f.altered[alterSeat] == 0 {
		return
	}
	// A dart moves as one, so that its legs stay equal.
	darts, width := m.backDarts, m.waistBack
	steady := func(x float64) float64 {
		for _, c := range darts.xs() {
			if math.Abs(x-c) <= darts.width/2+1 {
				return c
			}
		}
		return x
	}
	move := func(q geom.Point) geom.Point {
		fade := clamp(1-steady(q.X)/width, 0, 1)
		return geom.Pt(q.X, q.Y+fade*f.centreShift(q.Y, m.depth))
	}
	movePath := func(path geom.Path) geom.Path {
		out := make(geom.Path, len(path))
		for i, s := range path {
			if s.Straight {
				out[i] = geom.Line(move(s.P0), move(s.P3))
			} else {
				out[i] = geom.Cubic(move(s.P0), move(s.P1), move(s.P2), move(s.P3))
			}
		}
		return out
	}
	for i, e := range p.Edges {
		switch {
		case e.Run == edgeBackCentre:
			p.Edges[i].Path = geom.Path{geom.Line(move(e.Path.Start()), e.Path.End())}
		case e.Role == pattern.RoleHem || e.Role == pattern.RoleDartMouth && e.Name != mouthOf(dartShoulder):
			p.Edges[i].Path = movePath(e.Path)
		}
	}
	for i, d := range p.Darts {
		if d.Name == dartShoulder {
			continue
		}
		for k := range d.Legs {
			p.Darts[i].Legs[k] = movePath(d.Legs[k])
		}
		for k := range d.Apexes {
			p.Darts[i].Apexes[k] = move(d.Apexes[k])
		}
	}
	for i, l := range p.Lines {
		points := []geom.Point{l.Path.Start()}
		for _, c := range darts.xs() {
			for _, x := range [2]float64{c - darts.width/2, c + darts.width/2} {
				points = append(points, geom.Pt(x, l.Path.Start().Y))
			}
		}
		points = append(points, l.Path.End())
		for k := range points {
			points[k] = move(points[k])
		}
		p.Lines[i].Path = geom.Polyline(points...)
	}
}

// alterationOf returns what the alterations add to a measure, mm.
func (f *figure) alterationOf(n body.Name) float64 {
	switch n {
	case body.NapeToWaist:
		return f.altered[alterRoundBack] - f.altered[alterSwayBack]
	case body.ScyeDepth:
		return f.altered[alterRoundBack]
	case body.WaistToHip:
		return f.altered[alterSeat]
	case body.SideNeckToBust:
		return -f.altered[alterBust]
	case body.UpperArmGirth:
		return f.altered[alterUpperArm]
	case body.ElbowGirth:
		return f.altered[alterUpperArm] / 2
	}
	return 0
}
