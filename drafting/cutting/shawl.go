package cutting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A ShawlShape holds the dimensions of a shawl collar, mm.
type ShawlShape struct {
	Breaks    float64 // along the centre front from its lower end to where the collar turns
	Stand     float64 // height at the centre back from the neck to the roll
	Fall      float64 // from the roll to the outer edge there
	Width     float64 // where it is fullest in front, square to the roll line
	Thickness float64 // of the cloth
}

// Names of the edges of a front with a shawl collar.
const (
	shawlOuterRun = "collar_outer"
	shawlBackRun  = "collar_back"
	shawlNeckRun  = "collar_neck"
)

// shawlFullest is where a shawl collar is fullest, as a share of the roll line from the break.
const shawlFullest = 0.62

// Shawl draws a shawl collar in one with a front whose centre front is straight, with its button
// stand, and marries it to a back. The centre front ends at the break point; above it follow the
// edges collar_outer, collar_back, which is the seam at the centre back, and collar_neck, sewn to
// the back's neckline. Behind the shoulder the collar is bent as RollCollar is.
func Shawl(front, back pattern.Piece, s ShawlShape) (pattern.Piece, error) {
	var none pattern.Piece
	centre, err := wholeEdge(front, centreFrontRun)
	if err != nil {
		return none, err
	}
	if _, err := wholeEdge(front, necklineRun); err != nil {
		return none, err
	}
	if err := checkDimensions(front, dimension{"breaks", s.Breaks, 20, centre.Path.Length() - 40},
		dimension{"stand", s.Stand, 15, 60}, dimension{"fall", s.Fall, s.Stand + fallCover, 160},
		dimension{"width", s.Width, 40, 220}, dimension{"thickness", s.Thickness, 0, 8}); err != nil {
		return none, err
	}
	below, _ := centre.Path.SplitAt(s.Breaks)
	r, err := newRoll(front, below.End(), s.Stand)
	if err != nil {
		return none, err
	}
	behind, needed, err := collarAtBack(back, RollCollarShape{Stand: s.Stand, Fall: s.Fall, Thickness: s.Thickness})
	if err != nil {
		return none, err
	}
	fullest := r.from.Add(r.along.Mul(shawlFullest * r.to.Dist(r.from))).Add(r.out.Mul(s.Width))
	d := collarDraft{neck: r.neck, up: r.along, behind: behind, wide: s.Stand + s.Fall}
	sector, outer, ok := d.bend(needed, func(sector geom.Path) geom.Path {
		end := sector.End().Add(sector.EndTangent().Left().Mul(d.wide))
		path, err := geom.Spline([]geom.Point{r.from, fullest, end}, below.EndTangent(), sector.EndTangent(), 1)
		if err != nil {
			return nil
		}
		return path
	})
	if !ok {
		return none, newError(front, shawlOuterRun, "the outer edge cannot be %.1f mm long behind the shoulder on a collar "+
			"%.1f mm wide", needed, d.wide)
	}
	q, err := withFrontEdge(front, below, []pattern.Edge{
		newEdge(shawlOuterRun, pattern.RoleSeam, outer),
		newEdge(shawlBackRun, pattern.RoleSeam, geom.Polyline(outer.End(), sector.End())),
		newEdge(shawlNeckRun, pattern.RoleNeckline, sector.Reverse())})
	if err != nil {
		return none, err
	}
	roll := r.neck.Add(r.out.Mul(r.off))
	end := sector.End().Add(sector.EndTangent().Left().Mul(s.Stand))
	reach := roll.Dist(end) / 3
	q.Lines = append(slices.Clip(q.Lines), pattern.Line{Name: rollLine, Path: geom.Path{geom.Line(r.from, roll),
		geom.Cubic(roll, roll.Add(r.along.Mul(reach)), end.Sub(sector.EndTangent().Mul(reach)), end)}})
	return q, nil
}

// bend returns the neck edge behind the shoulder and the outer edge that draw makes of it, bent
// until the outer edge has the needed length behind the shoulder.
func (d collarDraft) bend(needed float64, draw func(sector geom.Path) geom.Path) (sector, outer geom.Path, ok bool) {
	low, high := 0.0, math.Pi/2
	for range 48 {
		angle := (low + high) / 2
		sector = sectorFrom(d.neck, d.up, d.behind, angle)
		outer = draw(sector)
		if length, ok := d.behindShoulder(outer); !ok || length < needed {
			low = angle
		} else {
			high = angle
		}
	}
	length, ok := d.behindShoulder(outer)
	return sector, outer, ok && math.Abs(length-needed) < 0.01
}
