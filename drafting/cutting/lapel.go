package cutting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A LapelShape holds the dimensions of a lapel and of the collar's stand above it, mm.
type LapelShape struct {
	Breaks float64 // along the centre front from its lower end to where the lapel turns
	Stand  float64 // height of the collar's stand at the centre back
	Width  float64 // of the lapel at its tip, square to the roll line
	Gorge  float64 // along the roll line from the shoulder's level to the gorge
	Slope  float64 // of the gorge as worn, below the level, radians
	Step   float64 // of the gorge from the lapel's tip to the collar
}

// Names of the edges and lines of a front with a lapel.
const (
	centreFrontRun = "centre_front"
	centreBackRun  = "centre_back"
	necklineRun    = "neckline"
	lapelRun       = "lapel"
	stepRun        = "step"
	gorgeRun       = "gorge"
	rollLine       = "roll_line"
)

// standAtShoulder is how far the roll line runs beyond the neck point, as a share of the
// collar's stand (common practice: two thirds of it to all but 5 mm).
const standAtShoulder = 0.8

// A roll is the line on which a lapel and its collar turn. It runs from the break point up
// to the shoulder's line beyond the neck point.
type roll struct {
	from, to geom.Point
	along    geom.Point // its direction, up
	out      geom.Point // square to it, towards the lapel's edge
	neck     geom.Point // the neck point
	off      float64    // distance of the neck point from it
}

// newRoll returns the roll line of a front from a point of its edge.
func newRoll(p pattern.Piece, from geom.Point, stand float64) (roll, error) {
	shoulder, err := wholeEdge(p, shoulderRun)
	if err != nil {
		return roll{}, err
	}
	r := roll{from: from, neck: shoulder.Path.Start()}
	r.to = r.neck.Sub(shoulder.Path.StartTangent().Mul(standAtShoulder * stand))
	r.along = r.to.Sub(from).Unit()
	r.out = r.along.Left()
	r.off = r.neck.Sub(from).Dot(r.out.Neg())
	if r.along.Y > -0.7 || r.off < 1 {
		return r, newError(p, centreFrontRun, "the roll line from (%.1f, %.1f) does not rise to the neck point",
			from.X, from.Y)
	}
	return r, nil
}

// Lapel draws a lapel on a front whose centre front is straight, with its button stand. The
// centre front ends at the break point; above it follow the edges lapel, step, gorge and
// neckline. The step is the part of the gorge that the collar leaves free. The neckline
// runs beside the roll line, which is drawn as roll_line, and meets the
// shoulder as a round neckline does.
func Lapel(p pattern.Piece, s LapelShape) (pattern.Piece, error) {
	var none pattern.Piece
	centre, err := wholeEdge(p, centreFrontRun)
	if err != nil {
		return none, err
	}
	if _, err := wholeEdge(p, necklineRun); err != nil {
		return none, err
	}
	if err := checkDimensions(p, dimension{"breaks", s.Breaks, 20, centre.Path.Length() - 40},
		dimension{"stand", s.Stand, 15, 60}, dimension{"width", s.Width, 40, 200}, dimension{"gorge", s.Gorge, 20, 300},
		dimension{"step", s.Step, 10, s.Width}); err != nil {
		return none, err
	}
	if !(s.Slope >= -30*math.Pi/180 && s.Slope <= 60*math.Pi/180) {
		return none, newError(p, gorgeRun, "slope %.0f degrees; must be from -30 to 60 degrees", s.Slope*180/math.Pi)
	}
	below, _ := centre.Path.SplitAt(s.Breaks)
	r, err := newRoll(p, below.End(), s.Stand)
	if err != nil {
		return none, err
	}
	tip, step, corner, err := r.gorge(p, s)
	if err != nil {
		return none, err
	}
	up := below.EndTangent()
	reach := 0.35 * tip.Dist(r.from)
	lapel := geom.Cubic(r.from, r.from.Add(up.Mul(reach)), tip.Sub(tip.Sub(r.from).Unit().Mul(reach)), tip)
	shoulder := p.Run(shoulderRun).StartTangent()
	q, err := withFrontEdge(p, below, []pattern.Edge{
		newEdge(lapelRun, pattern.RoleSeam, geom.Path{lapel}),
		newEdge(stepRun, pattern.RoleSeam, geom.Polyline(tip, step)),
		newEdge(gorgeRun, pattern.RoleNeckline, geom.Polyline(step, corner)),
		newEdge(necklineRun, pattern.RoleNeckline, r.beside(corner, shoulder))})
	if err != nil {
		return none, err
	}
	across := r.from.Add(r.along.Mul(r.to.Sub(r.from).Norm() - s.Gorge))
	q.Lines = append(slices.Clip(q.Lines), pattern.Line{Name: rollLine, Path: geom.Polyline(r.from, across)})
	return q, nil
}

// withFrontEdge ends a front's centre front where below ends, and replaces its neckline by edges
// from there to the shoulder.
func withFrontEdge(p pattern.Piece, below geom.Path, edges []pattern.Edge) (pattern.Piece, error) {
	kept := rotated(p.Edges, p.EdgeIndex(shoulderRun))
	n := len(kept)
	if kept[n-2].Name != centreFrontRun || kept[n-1].Name != necklineRun {
		return pattern.Piece{}, newError(p, centreFrontRun, "the neckline and the shoulder must follow it")
	}
	centre := kept[n-2]
	q := p
	if centre.Role == pattern.RoleFold {
		centre.Role = pattern.RoleSeam
		q.Cut = pattern.Cut{Count: 2, Pair: true}
	}
	centre.Path = below
	q.Edges = slices.Concat(kept[:n-2], []pattern.Edge{centre}, edges)
	whole, breaks := q, below.Length()
	whole.Notches = slices.DeleteFunc(slices.Clone(p.Notches), func(k pattern.Notch) bool {
		return k.Edge == necklineRun || k.Edge == centreFrontRun && k.At > breaks
	})
	q = keepInside(q, whole)
	if broken := Numbered(q).ValidateOutline(); len(broken) > 0 {
		return pattern.Piece{}, newError(p, edges[0].Name, "it cannot be drawn so: %v", broken[0])
	}
	return q, nil
}

// beside returns the neckline from the gorge to the neck point, beside the roll line. It meets
// the shoulder as a round neckline does, so that it runs on over the seam.
func (r roll) beside(corner, shoulder geom.Point) geom.Path {
	reach := corner.Dist(r.neck) / 3
	down := shoulder.Rotate(geom.Point{}, roundAngle*math.Pi/180)
	return geom.Path{geom.Cubic(corner, corner.Add(r.along.Mul(reach)), r.neck.Add(down.Mul(reach)), r.neck)}
}

// gorge returns the lapel's tip, where the collar begins, and where the gorge meets the
// neckline. As worn the lapel lies turned over, so that the gorge is mirrored in the roll
// line.
func (r roll) gorge(p pattern.Piece, s LapelShape) (tip, step, corner geom.Point, err error) {
	worn := geom.Polar(1, s.Slope)
	drawn := r.along.Mul(2 * worn.Dot(r.along)).Sub(worn)
	out := drawn.Dot(r.out)
	if out < 0.5 {
		return tip, step, corner, newError(p, gorgeRun, "the gorge runs along the roll line")
	}
	cross := r.to.Sub(r.along.Mul(s.Gorge))
	tip = cross.Add(drawn.Mul(s.Width / out))
	corner = cross.Sub(drawn.Mul(r.off / out))
	if free := s.Width / out; s.Step > free-5 {
		return tip, step, corner, newError(p, stepRun, "a step of %.1f mm leaves no gorge for the collar on the lapel; "+
			"at most %.1f mm", s.Step, free-5)
	}
	if left := r.neck.Sub(corner).Dot(r.along); left < 5 {
		return tip, step, corner, newError(p, gorgeRun, "the gorge leaves %.1f mm of the neckline; at least 5 mm", left)
	}
	if s.Gorge > r.to.Sub(r.from).Norm()-60 {
		return tip, step, corner, newError(p, gorgeRun, "the gorge lies %.1f mm down a roll line of %.1f mm; at least 60 mm "+
			"must remain below it", s.Gorge, r.to.Sub(r.from).Norm())
	}
	step = tip.Sub(drawn.Mul(s.Step))
	return tip, step, corner, nil
}
