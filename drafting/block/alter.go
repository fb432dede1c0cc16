package block

import (
	"math"
	"slices"

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
	alterGape         = "armhole_gape"
	alterHemFront     = "hem_front"
	alterHemSide      = "hem_side"
	alterSideSeam     = "side_seam_forward"
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
		{alterGape, 0, 20, false, "Take what gapes out of a front armhole without sleeve, into the bust dart."},
		{alterHemFront, -40, 40, false, "Lower a hem below the waist at the centre front, or raise it (negative)."},
		{alterHemSide, -40, 40, false, "Lower a hem below the hip at the side seams, or raise it (negative)."},
		{alterSideSeam, -40, 40, false, "Bring side seams that pass the hip forward at the hem, or back (negative)."},
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
	}
}

// centreShift returns how far the seat and a sway back lower the back at level y
// at the centre, mm; negative if they raise it.
func (f *figure) centreShift(y, depth float64) float64 {
	return f.seatShift(y) + f.swayShift(y, depth)
}

func (f *figure) seatShift(y float64) float64 {
	if f.endsAtWaist() || f.legs != nil {
		return 0 // though dart legs may be lengthened below the waist; a body's crotch takes up the seat
	}
	return (f.seat + f.altered[alterSeat]) * clamp((y-f.napeToWaist)/f.hipDepth(), 0, 1)
}

func (f *figure) swayShift(y, depth float64) float64 {
	return -f.altered[alterSwayBack] * clamp((y-depth)/(f.napeToWaist-depth), 0, 1)
}

// dartMargin is how far beyond a dart's width its legs may reach below the waist,
// mm: less than half of what lies between two darts.
const dartMargin = 6.0

// shiftCentre moves a back's centre below the armhole up or down, fading to
// nothing at the side, as a cutter does by folding out, or slashing and
// spreading, from the centre to the side seam, and truing the lines: they leave
// the centre and reach the side as they were. What the seat adds begins to fade beyond
// the middle of the back.
func (f *figure) shiftCentre(p *pattern.Piece, m *married) {
	if f.centreShift(f.napeToWaist, m.depth) == 0 && f.centreShift(f.hem, m.depth) == 0 {
		return
	}
	darts := m.backDarts
	move := func(q geom.Point) geom.Point {
		x := q.X
		for _, c := range darts.xs() {
			if (q.Y <= darts.bottom || f.endsAtWaist()) && math.Abs(x-c) <= darts.width/2+dartMargin {
				x = c // a dart moves as one, with its lengthened legs, so that they stay equal
				break
			}
		}
		t := clamp(x/math.Min(m.waistBack, xAtLevel(m.sideBack, q.Y)), 0, 1)
		return geom.Pt(q.X, q.Y+smooth(1-t)*f.swayShift(q.Y, m.depth)+smooth(1-t*t)*f.seatShift(q.Y))
	}
	shifted := func(path geom.Path) geom.Path {
		y := path.Start().Y
		const most = 8 // times as far, a sway back bends the line so sharply that the hips measure less
		return shifted(path, move, f.seatShift(y) > math.Abs(f.swayShift(y, m.depth))/most)
	}
	for i, e := range p.Edges {
		switch {
		case e.Run == edgeBackCentre && f.legs == nil:
			p.Edges[i].Path = geom.Path{geom.Line(move(e.Path.Start()), e.Path.End())}
		case e.Run == edgeHem || e.Role == pattern.RoleDartMouth && e.Name != mouthOf(dartShoulder):
			p.Edges[i].Path = shifted(e.Path)
		}
	}
	for i, d := range p.Darts {
		if d.Name != dartShoulder {
			p.Darts[i] = moveDart(d, move)
		}
	}
	for i, l := range p.Lines {
		line := l.Path
		if line.Start().Y <= darts.bottom {
			line = darts.splitLevel(line)
		}
		p.Lines[i].Path = shifted(line)
	}
}

// shifted returns a path with the ends of its strokes moved and their directions
// there kept, so that a line that was smooth and square stays so. If late, a stroke of
// which one end keeps its place, at the side, runs out to it beyond its middle.
func shifted(path geom.Path, move func(geom.Point) geom.Point, late bool) geom.Path {
	const held, free = 0.2, 0.8 // lengths of the handles: they follow the fading over the seat
	out := make(geom.Path, len(path))
	for i, s := range path {
		a, b := move(s.P0), move(s.P3)
		first, second, run := s.P1.Sub(s.P0), s.P2.Sub(s.P3), a.Dist(b)
		switch {
		case !late:
		case a == s.P0 && b != s.P3:
			first, second = first.Unit().Mul(held*run), second.Unit().Mul(free*run)
		case a != s.P0 && b == s.P3:
			first, second = first.Unit().Mul(free*run), second.Unit().Mul(held*run)
		}
		out[i] = geom.Cubic(a, a.Add(first), b.Add(second), b)
	}
	return out
}

// smooth returns a smooth step from 0 at t = 0 to 1 at t = 1.
func smooth(t float64) float64 { return t * t * (3 - 2*t) }

// moveDart returns the dart with its points moved.
func moveDart(d pattern.Dart, move func(geom.Point) geom.Point) pattern.Dart {
	d.Legs = [2]geom.Path{d.Legs[0].Map(move), d.Legs[1].Map(move)}
	d.Apexes = slices.Clone(d.Apexes)
	for k := range d.Apexes {
		d.Apexes[k] = move(d.Apexes[k])
	}
	return d
}

// splitLevel splits a level line at the legs of the darts.
func (d waistDarts) splitLevel(line geom.Path) geom.Path {
	start := line.Start()
	points := []geom.Point{start}
	for _, c := range d.xs() {
		points = append(points, geom.Pt(c-d.width/2, start.Y), geom.Pt(c+d.width/2, start.Y))
	}
	return geom.Polyline(append(points, line.End())...)
}

// alterationOf returns what the alterations add to a measure, mm.
func (f *figure) alterationOf(n body.Name) float64 {
	switch n {
	case body.NapeToWaist:
		return f.altered[alterRoundBack] - f.altered[alterSwayBack]
	case body.ScyeDepth:
		return f.altered[alterRoundBack]
	case body.WaistToHip:
		if f.legs == nil {
			return f.altered[alterSeat]
		}
	case body.TotalCrotchLength:
		return f.altered[alterSeat] + 2*f.altered[alterRise]
	case body.SideNeckToBust:
		return -f.altered[alterBust]
	case body.UpperArmGirth:
		return f.altered[alterUpperArm]
	case body.ElbowGirth:
		return f.altered[alterUpperArm] / 2
	}
	return 0
}
