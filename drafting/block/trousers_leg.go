package block

import (
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
)

// leg is a drawn back or front, in the frame of trousers. Seams run down.
type leg struct {
	fork     geom.Point   // where crotch and inseam meet
	centre   geom.Point   // of the centre line at the hip line
	up       geom.Point   // its direction
	crotch   geom.Segment // from the fork to the centre line
	inseam   geom.Segment // fork to knee
	hip      geom.Point   // where the side passes the hip line
	thigh    geom.Segment // the side from hip to knee
	kneeHalf float64      // half of the piece's width there
	hemHalf  float64      // at the level shapedTo
	widthAt  float64      // of the crotch line
}

// seat is the shape of the trousers about the crotch. Together its parts take
// up the difference between one crotch length and another.
type seat struct {
	tilt    float64    // of the centre back, which lengthens as if slashed at the hip and spread
	depth   float64    // of the crotch line
	reach   [2]float64 // of the crotch in below the body: back, front
	frontUp float64    // raises the centre front at the waist
}

// The usual seat, and how far each part of it goes to one side and the other
// of that before the crotch line itself is moved (handbook: a centre back that
// leans by 8 degrees and is raised by 20 mm, which slashing by that angle
// gives; common practice 4 to 16 degrees). maxShift is by how much the crotch
// line is moved at most, mm.
const (
	seatTilt      = 10 * degree
	seatTiltRange = 7 * degree
	backSeat      = 0.030 // of the hip, in the back's reach
	frontSeat     = 0.006 // in the front's
	seatFrontUp   = 6.0
	maxShift      = 30.0
	shiftRate     = 15.0
)

// seatAt returns the seat at t: 0 is the usual one, -1 and 1 are the flattest
// and the fullest. Beyond them the crotch line rises or falls.
func (s *trousers) seatAt(t float64) seat {
	in := clamp(t, -1, 1)
	hip := s.body.Value(body.HipGirth)
	q := seat{
		tilt:    seatTilt + in*seatTiltRange,
		depth:   s.depth + shiftRate*(t-in),
		frontUp: in * seatFrontUp,
	}
	q.reach[front] = (frontReach+in*frontSeat)*hip + 5
	q.reach[back] = (backReach+in*backSeat)*hip + backReachPlus
	for i := range q.reach {
		q.reach[i] += s.altered[alterThigh] / 2
	}
	return q
}

// Shapes of the leg (handbook: front and back each 5 mm narrower or wider than
// a quarter of the leg to either side of the crease, the back's crease a little
// nearer to the side, the back's inseam shorter and stretched to the front's;
// how much nearer and shorter is common practice).
const (
	backWiderLeg   = 10.0 // than half the leg, as the front is narrower
	creaseToSide   = 8.0
	inseamStretch  = 4.0
	crotchAtFork   = 0.58 // handles of the crotch's curve, of its width and height
	crotchAtCentre = 0.52
)

// The crotch's curve starts at the hip line, but so far above the crotch line at
// least and at most, mm.
var curveHigh = [2][2]float64{{90, 120}, {65, 90}}

// frontLean returns the lean of the centre front inward from the hip up,
// radians (handbook: 10 mm in 206). Over a belly it is straight, or leans out.
func (s *trousers) frontLean() float64 {
	return clamp(2.8-0.03*bellyOf(s.body), -3, 2.8) * degree
}

// drawLegs draws both pieces below the waist.
func (s *trousers) drawLegs(q seat) (legs [2]leg) {
	for range 20 {
		s.drawPair(&legs, q)
		missing := s.thigh - legs[front].widthAt - legs[back].widthAt
		if missing <= 1e-9 {
			break
		}
		q.reach[front] += missing / 3
		q.reach[back] += missing * 2 / 3
	}
	return legs
}

// newLeg sets the widths of one leg below the knee.
func (s *trousers) newLeg(i int) leg {
	more := backWiderLeg
	if i == front {
		more = -backWiderLeg
	}
	return leg{kneeHalf: (s.kneeGirth/2 + more) / 2, hemHalf: (s.hemGirth/2 + more) / 2}
}

// shinLean returns the angle by which a leg's inseam leans to the crease from
// knee to hem; the side leans the other way.
func (s *trousers) shinLean(l *leg) float64 {
	return math.Atan2(l.kneeHalf-l.hemHalf, s.shapedTo-s.knee)
}

// maxForkLean is the largest lean of an inseam at the fork: more would leave
// the crotch no curve.
const maxForkLean = 24 * degree

// forkLean returns the angle by which the inseam leans in at the fork, hollow
// down to the knee like the arc of a circle.
func (s *trousers) forkLean(l *leg, half, depth float64) float64 {
	chord := math.Atan2(half-l.kneeHalf, s.knee-depth)
	lean := math.Max(0, 2*chord-s.shinLean(l))
	return maxForkLean * math.Tanh(lean/maxForkLean)
}

// drawInseam draws the inseam from the fork to the knee, and the crotch's
// curve, which leaves the fork rising by the angle rise. bounds are the limits
// of the curve's height above the crotch line, mm.
func (s *trousers) drawInseam(l *leg, lean, rise, depth float64, bounds [2]float64) {
	l.inseam = soft(l.fork, down(lean), geom.Pt(-l.kneeHalf, s.knee), down(s.shinLean(l)))
	level := depth - clamp(depth-s.top.hip, bounds[0], bounds[1])
	start := l.centre.Add(l.up.Mul((l.centre.Y - level) / -l.up.Y))
	wide, high := start.X-l.fork.X, l.fork.Y-start.Y
	l.crotch = geom.Cubic(
		l.fork, l.fork.Add(geom.Pt(math.Cos(rise), -math.Sin(rise)).Mul(crotchAtFork*wide)),
		start.Sub(l.up.Mul(crotchAtCentre*high)), start)
}

// drawSide sets the side's hip point so that the piece has its width there, and
// draws the side to the knee.
func (s *trousers) drawSide(l *leg, i int, tilt, hip, depth float64) {
	centre := l.centre.X
	if hip > l.crotch.P3.Y {
		centre = l.crotch.At(1 - crossY(l.crotch.Reverse(), hip)).X
	}
	l.hip = geom.Pt(centre+s.hipWidth[i], hip)
	knee := geom.Pt(l.kneeHalf, s.knee)
	// Straight down at the hip, unless the seam comes in from a wider waist.
	var lean float64
	above, below := math.Atan2(s.sideSpring(tilt)+s.bellyAt(i), s.top.hip), fromDown(knee.Sub(l.hip))
	if above < 0 && below < 0 {
		lean = 2 * above * below / (above + below)
	}
	l.thigh = soft(l.hip, down(lean), knee, down(-s.shinLean(l)))
	l.widthAt = l.thigh.At(crossY(l.thigh, depth)).X - l.fork.X
}

// drawPair draws both legs. Where front and back are sewn together at the fork
// the crotch runs straight over the inseam, rising alike to both sides.
func (s *trousers) drawPair(legs *[2]leg, q seat) {
	b, f := s.newLeg(back), s.newLeg(front)
	halfB, halfF := (s.hipWidth[back]+q.reach[back])/2+creaseToSide, (s.hipWidth[front]+q.reach[front])/2
	leanB, leanF := s.forkLean(&b, halfB, q.depth), s.forkLean(&f, halfF, q.depth)
	rise := (leanB + leanF) / 2

	f.fork = geom.Pt(-halfF, q.depth)
	f.centre = geom.Pt(q.reach[front]-halfF, s.top.hip)
	lean := s.frontLean()
	f.up = geom.Pt(math.Sin(lean), -math.Cos(lean))
	s.drawInseam(&f, leanF, rise, q.depth, curveHigh[front])
	s.drawSide(&f, front, q.tilt, s.top.hip, q.depth)

	// The back's fork drops below the crotch line until the inseams are sewn
	// together with the usual stretch, and its hip line lies where the sides
	// are equal.
	b.up = geom.Pt(math.Sin(q.tilt), -math.Cos(q.tilt))
	drop, hip := 0.0, s.top.hip
	inseam, side := f.inseam.Length()-inseamStretch, f.thigh.Length()
	for range 12 {
		b.fork = geom.Pt(-halfB, q.depth+drop)
		b.centre = geom.Pt(q.reach[back]-halfB, hip)
		s.drawInseam(&b, leanB, rise, q.depth, curveHigh[back])
		s.drawSide(&b, back, q.tilt, hip, b.fork.Y)
		down, along := b.inseam.Length()-inseam, b.thigh.Length()-side
		if math.Abs(down)+math.Abs(along) < 1e-7 {
			break
		}
		drop += down
		hip += along
	}
	legs[back], legs[front] = b, f
}
