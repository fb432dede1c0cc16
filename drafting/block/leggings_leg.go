package block

import (
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/wear"
)

// leggingsDraft is a drawn leg. Its halves are drawn as the front lies; the back
// is turned over in the end.
type leggingsDraft struct {
	seat   float64 // 0 is the usual one; see draw
	depth  float64
	leg    []wear.Station  // its stations of leggings, the thigh's at the level that suits the fork
	fork   geom.Point      // where crotch and inseam meet, in front
	lean   float64         // of the inseam there, inward
	centre [2]geom.Point   // of the centre lines at the hip: back, front
	up     [2]geom.Point   // their directions
	crotch [2]geom.Segment // from the fork to the centre line
	inseam geom.Path       // from the fork to the hem
	side   float64         // where the side of the body lies, at rest
	waist  geom.Path       // from the centre back over the side to the centre front
}

// The crotch reaches in below the body by about a fifth of the hip, a third of
// that in front (common practice; trousers reach as far); and by which share it
// does so more or less for the fullest and the flattest seat, whose centre back
// rises more or less too, mm.
const (
	leggingsReach = 0.205
	reachRange    = 0.6
	raiseRange    = 26.0
	maxKnitShift  = 40.0 // of the crotch line down: the stretch along the leg takes it up
)

// The inseam is hollow from the fork down. Where the fork is wide, the level at
// which the piece is as wide as the leg lies so low that the inseam leans by
// usualSlope on average down to there. At the fork it leans by maxForkSlope at
// most, and the crotch rises from it by flatterBack less at the back, and as much
// more in front: the seam runs straight on over the inseam, and its curve at the
// back is the shape of a hook.
const (
	leastSlope   = 0.15
	usualSlope   = 0.65
	forkSteeper  = 1.15
	maxForkSlope = 0.65
	flatterBack  = 8 * degree
	lowestThigh  = 0.75 // of the way from the fork to just above the knee
	crotchHandle = 0.6  // of a curve's way to where the directions of its ends meet
)

// maxRise is the steepest rise of the crotch from the fork, as a share of its
// curve's height to its width.
var maxRise = [2]float64{back: 0.55, front: 0.65}

// rounds is how often a draft is corrected at most; a few do.
const rounds = 14

// fitCrotch solves for the seat that gives the crotch seam its length.
func (s *leggings) fitCrotch() (leggingsDraft, error) {
	up := clamp(s.depth-s.hipAt-30, 0, maxShift)
	lo, hi := -1-up/shiftRate, 1+maxKnitShift/shiftRate
	length := func(seat float64) float64 {
		d, _ := s.drawSeat(seat)
		return d.crotchLength()
	}
	seat, ok := root(lo, hi, 1e-9, func(t float64) float64 { return length(t) - s.crotch })
	if !ok {
		return leggingsDraft{}, refuse(fmt.Sprintf(
			"with this rise, hip and waist the crotch seam can be drafted from %.0f to %.0f mm long, from waist to waist, "+
				"on cloth at rest; %.0f mm are asked for, the stretch and what a lower waist takes off counted",
			length(lo), length(hi), s.crotch), body.TotalCrotchLength, body.BodyRise, body.HipGirth)
	}
	d, ok := s.drawSeat(seat)
	if !ok {
		return d, refuse(fmt.Sprintf("the waist would be %.0f mm wider than the hip on the cloth, %.0f mm above it: the "+
			"centre front can't lean out so far", 2*(s.waist-s.hip), s.hipAt),
			body.WaistGirth, body.HipGirth, body.WaistToHip)
	}
	if short := d.depth + minKnitInside - s.hemAt; short > 0 {
		return d, refuseChoice(choiceLength, fmt.Sprintf("%.0f mm inside the leg", (s.hemAt-d.depth)/s.along),
			fmt.Sprintf("at least %.0f mm longer: the crotch reaches down to there", short/s.along))
	}
	d.inseam = s.drawInseam(&d)
	if shift := d.depth - s.depth; math.Abs(shift) > 3 {
		s.warn("The crotch line is drawn %.0f mm %s than the body rise asks for, so that the crotch seam is %.0f mm "+
			"long: measure rise and crotch length again.",
			math.Abs(shift), map[bool]string{true: "lower", false: "higher"}[shift > 0], s.crotch)
	}
	return d, nil
}

// drawSeat draws the leg down to the fork for a seat. The centre front leans
// inward as usual where the waist stays wide enough, and so far outward as a wide
// waist needs. It reports whether the front can lean so far.
func (s *leggings) drawSeat(seat float64) (leggingsDraft, bool) {
	d := s.draw(seat, frontLean)
	if d.waist.Length() >= s.waist {
		return d, true
	}
	lean, ok := root(-maxFrontLean, frontLean, 1e-9, func(lean float64) float64 {
		d = s.draw(seat, lean)
		return d.waist.Length() - s.waist
	})
	if !ok {
		lean = -maxFrontLean
	}
	return s.draw(seat, lean), ok
}

// crotchLength returns the length of the crotch seam from waist to waist, mm.
func (d *leggingsDraft) crotchLength() float64 {
	var sum float64
	for i, c := range d.crotch {
		sum += c.Length() + c.P3.Dist(d.top(i))
	}
	return sum
}

// top returns the end of the waist at the centre of a half, as the front lies.
func (d *leggingsDraft) top(i int) geom.Point {
	if i == back {
		return mirrored(d.waist.Start())
	}
	return d.waist.End()
}

func mirrored(p geom.Point) geom.Point { return geom.Pt(-p.X, p.Y) }

// draw draws the leg for a seat, with the centre front leaning inward by an
// angle from the hip up. A seat of -1 is the flattest and of 1 the fullest;
// beyond them the crotch line rises or falls.
func (s *leggings) draw(seat, lean float64) leggingsDraft {
	in := clamp(seat, -1, 1)
	d := leggingsDraft{seat: in, depth: s.depth + shiftRate*(seat-in)}
	reach := leggingsReach * 2 * s.hip * (1 + reachRange*in)
	half := (s.hip + reach) / 2
	if least := s.leg[atThigh].Girth/2 + leastSlope*thighBelow*(s.leg[atAboveKnee].At-d.depth); half < least {
		reach += 2 * (least - half)
		half = least
	}
	d.fork = geom.Pt(half, d.depth)
	d.leg = slices.Clone(s.leg)
	d.leg[atThigh] = d.thigh(s.leg[atThigh].Girth, s.leg[atAboveKnee])
	for i, in := range [2]float64{back: backLean + backWithLean*(lean-frontLean), front: lean} {
		d.up[i] = geom.Pt(-math.Sin(in), -math.Cos(in))
	}
	d.centre = [2]geom.Point{{X: half - reach*2/3, Y: s.hipAt}, {X: half - reach/3, Y: s.hipAt}}
	for range rounds { // where the curve reaches over the hip line it takes from the hip
		d.drawCrotch(s.hipAt)
		over := d.widthAt(s.hipAt) - s.hip
		if math.Abs(over) < 1e-6 {
			break
		}
		for i := range d.centre {
			d.centre[i].X -= over / 2
		}
	}
	d.side = s.hip/2 + s.around*trouserBackMore/2 - d.xAt(back, s.hipAt)
	s.drawWaist(&d)
	return d
}

// thigh returns the station of the thigh: as wide as that at a share of the way
// to just above the knee, and below it narrower as the leg is.
func (d *leggingsDraft) thigh(girth float64, aboveKnee wear.Station) wear.Station {
	way := aboveKnee.At - d.depth
	at := func(share float64) wear.Station {
		tapered := (share - thighBelow) / (1 - thighBelow)
		return wear.Station{At: d.depth + share*way, Girth: girth + tapered*(aboveKnee.Girth-girth)}
	}
	lean := func(share float64) float64 { return (d.fork.X-at(share).Girth/2)/(share*way) - usualSlope }
	if lean(thighBelow) <= 0 {
		return at(thighBelow)
	}
	if share, ok := root(thighBelow, lowestThigh, 1e-9, lean); ok {
		return at(share)
	}
	return at(lowestThigh)
}

// drawCrotch draws the crotch's curves from the fork.
func (d *leggingsDraft) drawCrotch(hip float64) {
	thigh := d.leg[atThigh]
	lean := math.Atan(math.Min(forkSteeper*(d.fork.X-thigh.Girth/2)/(thigh.At-d.depth), maxForkSlope))
	more := [2]float64{back: -flatterBack, front: flatterBack}
	var starts [2]geom.Point
	for i := range starts {
		level := d.depth - clamp(d.depth-hip, curveHigh[i][0], curveHigh[i][1])
		starts[i] = d.centre[i].Add(d.up[i].Mul((hip - level) / -d.up[i].Y))
		lean = math.Min(lean, math.Atan(maxRise[i]*(d.depth-level)/(d.fork.X-starts[i].X))-more[i])
	}
	d.lean = lean
	for i, start := range starts {
		rise := lean + more[i]
		d.crotch[i] = arc(d.fork, geom.Pt(-math.Cos(rise), -math.Sin(rise)), start, d.up[i], crotchHandle, crotchHandle)
	}
}

// xAt returns where the centre or the crotch of a half passes a level at or below
// the hip, as the front lies.
func (d *leggingsDraft) xAt(i int, level float64) float64 {
	c := d.crotch[i]
	if level > c.P3.Y {
		return c.At(1 - crossY(c.Reverse(), level)).X
	}
	return d.centre[i].X + d.up[i].X*(d.centre[i].Y-level)/-d.up[i].Y
}

func (d *leggingsDraft) widthAt(level float64) float64 {
	return d.xAt(back, level) + d.xAt(front, level)
}

// drawWaist draws the waist square to both centre lines, through the side at the
// level 0.
func (s *leggings) drawWaist(d *leggingsDraft) {
	end := func(i int, above float64) geom.Point {
		return d.centre[i].Add(d.up[i].Mul((s.hipAt + above) / -d.up[i].Y))
	}
	from, to, side := mirrored(end(back, s.raise+raiseRange*s.along*d.seat)), end(front, -s.fall), geom.Pt(d.side, 0)
	along := geom.Pt(-d.up[back].Y, -d.up[back].X)
	into := geom.Pt(-d.up[front].Y, d.up[front].X)
	before, after := side.Sub(from), to.Sub(side)
	// The direction of the parabola through all three.
	over := before.Mul(after.X / before.X).Add(after.Mul(before.X / after.X)).Unit()
	d.waist = geom.Path{soft(from, along, side, over), soft(side, over, to, into)}
}

// A leg that ends where it tapers leans at the hem by endSlope at most, mm per mm, above the ankle over
// endOver mm (common practice: the hem is turned up on itself).
const (
	endSlope = 0.09
	endOver  = 45.0
)

// minKnitInside is the least inseam of a knit leg, mm.
const minKnitInside = 50

// drawInseam draws the front's inseam from the fork to the hem, through half the
// width at each level of the leg except just above the knee: under a wide thigh it
// would turn there within 30 mm. Drawn on to the knee the leg is 3 % narrower to 5 %
// wider there on the survey's bodies, which the knit takes up.
func (s *leggings) drawInseam(d *leggingsDraft) geom.Path {
	points := []geom.Point{d.fork}
	for i, at := range d.leg {
		if i != atAboveKnee {
			points = append(points, geom.Pt(at.Girth/2, at.At))
		}
	}
	end, last := points[len(points)-1], 0.0
	if s.hemAt <= end.Y {
		way := end.Sub(points[len(points)-2])
		last = clamp(way.X/way.Y, -endSlope, 0)
	}
	whole := through(points, -math.Tan(d.lean), last)
	if s.hemAt == end.Y {
		return whole
	}
	if s.hemAt > end.Y {
		return append(whole, geom.Line(end, geom.Pt(end.X, s.hemAt)))
	}
	upper, rest := whole.SplitAt(lengthTo(whole, s.hemAt-endOver))
	hem, _ := crossLevel(rest, s.hemAt)
	slope := (hem.X - upper.End().X) / endOver
	in, out := upper.EndTangent(), geom.Pt(clamp(slope, -endSlope, 0), 1)
	from := upper.End()
	return append(upper, geom.Cubic(from, from.Add(in.Mul(endOver/3/in.Y)), hem.Sub(out.Mul(endOver/3)), hem))
}

// through returns the curve that runs down through points and turns back only at
// them, by monotone cubics (Fritsch and Carlson, SIAM Journal on Numerical
// Analysis 17, 1980). It leaves the first and reaches the last with slopes dx/dy.
func through(points []geom.Point, first, last float64) geom.Path {
	n := len(points)
	slopes := make([]float64, n)
	slopes[0], slopes[n-1] = first, last
	for i := 1; i < n-1; i++ {
		a := (points[i].X - points[i-1].X) / (points[i].Y - points[i-1].Y)
		b := (points[i+1].X - points[i].X) / (points[i+1].Y - points[i].Y)
		if a*b > 0 {
			slopes[i] = 2 * a * b / (a + b)
		}
	}
	path := make(geom.Path, n-1)
	for i := range path {
		a, b := points[i], points[i+1]
		third := (b.Y - a.Y) / 3
		path[i] = geom.Cubic(a, a.Add(geom.Pt(slopes[i], 1).Mul(third)), b.Sub(geom.Pt(slopes[i+1], 1).Mul(third)), b)
	}
	return path
}
