package cutting

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A NeckShape is the shape of a front neckline.
type NeckShape string

const (
	NeckRound  NeckShape = "round"
	NeckV      NeckShape = "v"
	NeckSquare NeckShape = "square"
	NeckBoat   NeckShape = "boat" // shallow and wide
)

// NeckShapes returns all shapes.
func NeckShapes() []NeckShape { return []NeckShape{NeckRound, NeckV, NeckSquare, NeckBoat} }

// A Neckline describes a neckline over front and back, in mm from those that
// the pieces have.
type Neckline struct {
	Shape     NeckShape
	Depth     float64 // lower at the centre front; negative is higher
	BackDepth float64 // lower at the centre back
	Width     float64 // wider along each shoulder
	Fullness  float64 // bow of a round front over the straight line between its ends
}

// WideBackDepth is the depth of a back neckline over its width along the
// shoulder: a flatter one rides up at the neck (common practice: a wide neck is
// also lower at the back).
const WideBackDepth = 0.5

// RoundFullness is the fullness of a round neckline: that of a slightly upright
// ellipse. A quarter of a circle has 0.207.
const RoundFullness = 0.19

// boatFullness is the most that a boat neckline bows, so that it stays shallow
// out to the shoulder.
const boatFullness = 0.14

// Angles in degrees at which a front neckline meets the shoulder, in the cloth.
// The back's is the rest of 180 degrees, so that the neckline runs on over the
// seam. A round one has 75 in front and 105 at the back: 105 and 75 seen from
// the neck (common practice). The limits are ours.
const (
	roundAngle = 75.0
	boatAngle  = 90.0
	leastAngle = 62.0 // of a deep neckline
	mostAngle  = 95.0 // of a shallow one
)

// leastRise is the least depth of a front neckline's centre below its ends on the
// shoulders, as a share of its width on one side: a shallower one turns up at the
// centre.
const leastRise = 0.1

// Necklines redraws the neckline of a front and a back. Each piece's neckline
// runs from its centre to its shoulder. The front has the shape; the back is a
// shallow curve. Both are square to their centre, except a V. The centre of a boat
// neck over sloping shoulders is lowered to the least depth.
func Necklines(front, back pattern.Piece, n Neckline) (pattern.Piece, pattern.Piece, error) {
	f, err := neckEnds(front, n.Depth, n.Width)
	if err != nil {
		return front, back, err
	}
	if short := 1.001*leastRise*f.run() - f.rise(); n.Shape == NeckBoat && short > 0 {
		if f, err = neckEnds(front, n.Depth+short, n.Width); err != nil {
			return front, back, err
		}
	}
	path, angle, err := f.draw(n)
	if err != nil {
		return front, back, err
	}
	b, err := neckEnds(back, n.BackDepth, n.Width)
	if err != nil {
		return front, back, err
	}
	if front, err = Redraw(front, []string{neckRun}, []geom.Path{path}); err != nil {
		return front, back, err
	}
	back, err = Redraw(back, []string{neckRun}, []geom.Path{b.shallow(180 - angle)})
	return front, back, err
}

// neckRun is the name of the edge at the neck.
const neckRun = "neckline"

// neckEnd are the ends of a neckline on its centre and its shoulder.
type neckEnd struct {
	piece    pattern.Piece
	centre   geom.Point // on the centre
	out      geom.Point // unit, square to the centre, into the piece
	neck     geom.Point // on the shoulder
	shoulder geom.Point // unit, along the shoulder away from the neck
}

// neckEnds returns the ends of a neckline depth mm down the centre and width mm
// along the shoulder.
func neckEnds(p pattern.Piece, depth, width float64) (neckEnd, error) {
	e, err := wholeEdge(p, neckRun)
	if err != nil {
		return neckEnd{}, err
	}
	i, n := p.EdgeIndex(neckRun), len(p.Edges)
	before, after := p.Edges[(i+n-1)%n], p.Edges[(i+1)%n]
	end := neckEnd{piece: p}
	if end.centre, err = moveEnd(p, before.Path, depth, before.Name); err != nil {
		return end, err
	}
	if end.neck, err = moveEnd(p, after.Path.Reverse(), width, after.Name); err != nil {
		return end, err
	}
	end.out = before.Path.EndTangent().Right()
	end.shoulder = after.Path.StartTangent()
	if end.neck.Sub(end.centre).Dot(end.out) <= 10 || e.Path.Length() < 10 {
		return end, newError(p, neckRun, "it must run from the centre out to the shoulder")
	}
	return end, nil
}

// run and rise return how far the neckline goes out from the centre and up.
func (e neckEnd) run() float64  { return e.neck.Sub(e.centre).Dot(e.out) }
func (e neckEnd) rise() float64 { return e.neck.Sub(e.centre).Dot(e.out.Left()) }

// arrival returns the direction in which a neckline arrives that meets the
// shoulder at an angle in degrees.
func (e neckEnd) arrival(angle float64) geom.Point {
	return e.shoulder.Rotate(geom.Point{}, angle*math.Pi/180).Neg()
}

// angleOf returns the angle in degrees at which a neckline arriving along d
// meets the shoulder.
func (e neckEnd) angleOf(d geom.Point) float64 {
	return geom.AngleBetween(e.shoulder, d.Neg()) * 180 / math.Pi
}

// draw returns the front's neckline and the angle in degrees at which it meets
// the shoulder.
func (e neckEnd) draw(n Neckline) (geom.Path, float64, error) {
	if e.rise() < leastRise*e.run() {
		return nil, 0, newError(e.piece, neckRun,
			"its centre lies %.0f mm below its end on the shoulder, %.0f mm out; want at least a tenth of that: "+
				"make it deeper or narrower", e.rise(), e.run())
	}
	switch n.Shape {
	case NeckV:
		way := e.neck.Sub(e.centre).Unit()
		natural := e.angleOf(way)
		angle := min(max(natural, leastAngle), mostAngle)
		if angle == natural {
			return geom.Path{geom.Line(e.centre, e.neck)}, angle, nil
		}
		reach := e.neck.Dist(e.centre) / 3
		return geom.Path{geom.Cubic(e.centre, e.centre.Add(way.Mul(reach)), e.neck.Sub(e.arrival(angle).Mul(reach)), e.neck)},
			angle, nil
	case NeckSquare:
		// The side leans a little towards the centre, so that it does not stand
		// off (common practice).
		angle := max(e.angleOf(e.out.Left().Rotate(geom.Point{}, 4*math.Pi/180)), leastAngle)
		corner, s, _, ok := geom.MeetLines(e.centre, e.out, e.neck, e.arrival(angle))
		if !ok || s < 30 {
			return nil, 0, newError(e.piece, neckRun, "a square neck is too deep for its width: make it wider or less deep")
		}
		return geom.Polyline(e.centre, corner, e.neck), angle, nil
	case NeckBoat:
		path, angle := e.round(boatAngle, min(n.Fullness, boatFullness))
		return path, angle, nil
	}
	path, angle := e.round(roundAngle, n.Fullness)
	return path, angle, nil
}

// round returns a round neckline. It meets the shoulder at the angle in degrees,
// at less if a deep one could not be as full otherwise, or at more if a shallow
// one would turn sharply at the shoulder.
func (e neckEnd) round(angle, fullness float64) (geom.Path, float64) {
	const fullest = 0.75 // share of the handles of a curve that is still round
	turn := 0.0
	for angle > leastAngle && angle < mostAngle {
		meet, s, t, ok := geom.MeetLines(e.centre, e.out, e.neck, e.arrival(angle))
		chord := e.neck.Sub(e.centre)
		height := math.Abs(chord.Cross(meet.Sub(e.centre))) / chord.Norm()
		shallow := ok && s > 0 && -t < 0.6*s
		deep := !ok || s <= 0 || -t > s && 0.75*fullest*height < fullness*chord.Norm()
		switch {
		case turn >= 0 && shallow:
			turn = 1
		case turn <= 0 && deep:
			turn = -1
		default:
			turn = 0
		}
		if turn == 0 {
			break
		}
		angle += turn
	}
	curve, _ := geom.Bowed(e.centre, e.out, e.neck, e.arrival(angle), fullness, 0.4, 0.85)
	return geom.Path{curve}, angle
}

// leastLevel is the least handle of a back neckline at its centre, as a share of its width on one
// side: a deep one whose end at the shoulder points at the centre would have a corner there.
const leastLevel = 0.4

// shallow returns a back neckline that meets the shoulder at an angle in
// degrees: level for most of its way, then turning up.
func (e neckEnd) shallow(angle float64) geom.Path {
	d := e.arrival(angle)
	meet, s, t, ok := geom.MeetLines(e.centre, e.out, e.neck, d)
	if !ok || s <= 0 || t >= 0 {
		meet = e.centre.Add(e.out.Mul(e.run()))
	}
	level := math.Max(0.6*meet.Dist(e.centre), leastLevel*e.run())
	return geom.Path{geom.Cubic(e.centre, e.centre.Add(e.out.Mul(level)), e.neck.Lerp(meet, 0.6), e.neck)}
}
