package cutting

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A RollCollarShape holds the dimensions of a collar that is sewn to a front with a lapel, mm.
type RollCollarShape struct {
	Stand     float64 // height at the centre back from the neck to the roll
	Fall      float64 // from the roll to the outer edge there
	Point     float64 // length of the front edge
	Notch     float64 // angle between the front edge and the lapel's step, radians
	Thickness float64 // of the cloth
}

// fallCover is by how much the fall must cover the seam at the neck at least, mm.
const fallCover = 5.0

// RollCollar returns half a collar on the fold at the centre back, drafted on a front with a
// lapel and married to a back. Its neck edge equals the gorge and neckline of the front and the
// neckline of the back. Its edges are outer, front, neck and centre_back.
//
// Behind the shoulder the neck edge is an arc, as long as the back's neckline. It is bent until
// the outer edge there is as long as the line on the back where it lies, Fall less Stand below
// the neckline, and the turn of cloth: the fall goes round the neck outside the stand, by two
// thicknesses over a quarter of a turn. With that length fall and roll lie flat.
func RollCollar(front, back pattern.Piece, name, title string, s RollCollarShape) (pattern.Piece, error) {
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, OnFold: true}, Interfacing: 1}
	if err := checkDimensions(p, dimension{"stand", s.Stand, 15, 60},
		dimension{"fall", s.Fall, s.Stand + fallCover, 160}, dimension{"point", s.Point, 15, 160},
		dimension{"thickness", s.Thickness, 0, 8}); err != nil {
		return pattern.Piece{}, err
	}
	if !(s.Notch >= 20*math.Pi/180 && s.Notch <= 150*math.Pi/180) {
		return pattern.Piece{}, newError(p, "front", "notch %.0f degrees; must be from 20 to 150 degrees",
			s.Notch*180/math.Pi)
	}
	for _, run := range []string{gorgeRun, necklineRun, lapelRun} {
		if _, err := wholeEdge(front, run); err != nil {
			return pattern.Piece{}, err
		}
	}
	r, err := newRoll(front, front.Run(lapelRun).Start(), s.Stand)
	if err != nil {
		return pattern.Piece{}, err
	}
	behind, needed, err := collarAtBack(back, s)
	if err != nil {
		return pattern.Piece{}, err
	}
	// The collar's edge is straight where the front's neckline is slightly bent, and as long.
	gorge, along := front.Run(gorgeRun), front.RunLength(necklineRun)
	d := collarDraft{neck: gorge.End().Add(r.along.Mul(along)), up: r.along, behind: behind, wide: s.Stand + s.Fall}
	r.neck = d.neck
	beside := geom.Polyline(gorge.End(), d.neck)
	step := gorge.Start()
	d.point = step.Add(gorge.StartTangent().Neg().Rotate(geom.Point{}, s.Notch).Mul(s.Point))
	sector, outer, ok := d.bend(needed, d.outer)
	if !ok {
		return pattern.Piece{}, newError(p, "outer", "the outer edge cannot be %.1f mm long behind the shoulder on a collar "+
			"%.1f mm wide", needed, d.wide)
	}
	neck := geom.Join(gorge, beside, sector)
	p.Edges = []pattern.Edge{
		newEdge("front", pattern.RoleSeam, geom.Polyline(step, d.point)),
		newEdge("outer", pattern.RoleSeam, outer),
		newEdge(centreBackRun, pattern.RoleFold, geom.Polyline(outer.End(), sector.End())),
		newEdge("neck", pattern.RoleNeckline, neck.Reverse()),
	}
	if broken := p.ValidateOutline(); len(broken) > 0 {
		return pattern.Piece{}, newError(p, "outer", "the collar cannot be drawn so: %v", broken[0])
	}
	p.Lines = []pattern.Line{{Name: rollLine, Path: rollOf(front, r, sector, d.up, s.Stand)}}
	return layCentreBack(p), nil
}

// collarAtBack returns the length of half the back's neckline, and that of the collar's outer
// edge from the centre back to above the shoulder.
func collarAtBack(back pattern.Piece, s RollCollarShape) (behind, outer float64, err error) {
	e, err := wholeEdge(back, necklineRun)
	if err != nil {
		return 0, 0, err
	}
	lies := e.Path.Offset(s.Stand-s.Fall, geom.OffsetTol)
	if len(lies) == 0 {
		return 0, 0, newError(back, necklineRun, "the collar's fall does not fit on the back")
	}
	return e.Path.Length(), lies.Length() + math.Pi*s.Thickness, nil
}

// A collarDraft is a collar on its front while it is bent.
type collarDraft struct {
	neck, up     geom.Point // the neck point, and the direction of the neck edge there
	behind, wide float64    // length of the back's neckline, width of the collar
	point        geom.Point // its tip
}

// outer returns the outer edge for a neck edge, square to the centre back.
func (d collarDraft) outer(sector geom.Path) geom.Path {
	back := sector.EndTangent()
	end := sector.End().Add(back.Left().Mul(d.wide))
	from := d.point
	reach := from.Dist(end) / 3
	lead := end.Sub(back.Mul(1.5 * reach)).Sub(from).Unit()
	return geom.Path{geom.Cubic(from, from.Add(lead.Mul(reach)), end.Sub(back.Mul(reach)), end)}
}

// behindShoulder returns the length of the outer edge from above the neck point to the centre
// back.
func (d collarDraft) behindShoulder(outer geom.Path) (float64, bool) {
	across := geom.Polyline(d.neck, d.neck.Add(d.up.Left().Mul(3*d.wide)))
	crossings := outer.Crossings(across)
	if len(crossings) == 0 {
		return 0, false
	}
	return outer.Length() - crossings[0].A, true
}

// sectorFrom returns an arc of a length from a point and a direction that turns right by an
// angle, or a straight line for no angle.
func sectorFrom(at, along geom.Point, length, angle float64) geom.Path {
	if angle < 1e-6 {
		return geom.Polyline(at, at.Add(along.Mul(length)))
	}
	radius := length / angle
	centre := at.Add(along.Right().Mul(radius))
	from := at.Sub(centre).Angle()
	return geom.Arc(centre, radius, from, from+angle)
}

// rollOf returns the line on which the collar turns: on from the front's roll line, and a
// stand's height from the neck at the centre back.
func rollOf(front pattern.Piece, r roll, sector geom.Path, up geom.Point, stand float64) geom.Path {
	cross := r.from
	for _, l := range front.Lines {
		if l.Name == rollLine {
			cross = l.Path.End()
		}
	}
	end := sector.End().Add(sector.EndTangent().Left().Mul(stand))
	beside := r.neck.Add(up.Left().Mul(r.off))
	back := sector.EndTangent()
	reach := beside.Dist(end) / 3
	return geom.Path{geom.Line(cross, beside),
		geom.Cubic(beside, beside.Add(r.along.Mul(reach)), end.Sub(back.Mul(reach)), end)}
}

// layCentreBack turns a collar over, with its centre back upright on the left and its neck
// below.
func layCentreBack(p pattern.Piece) pattern.Piece {
	centre := p.Run(centreBackRun)
	p = p.Move(geom.Reflect(centre.End(), centre.StartTangent()))
	centre = p.Run(centreBackRun)
	turn := -math.Pi/2 - centre.EndTangent().Angle()
	p = p.Move(geom.Turn(centre.Start(), turn))
	p = p.Move(geom.Shift(p.Run(centreBackRun).Start().Neg()))
	return GrainAlong(p, geom.Pt(0, 1))
}

// TurnOfCloth makes a piece larger along edges by mm, each beyond its neighbours: what an
// upper collar or a facing needs to lie over the other one. Where a neighbour runs on without a
// corner, as at the break of a lapel, the turn runs out to nothing.
func TurnOfCloth(p pattern.Piece, runs []string, by float64) (pattern.Piece, error) {
	if err := checkDimensions(p, dimension{"turn of cloth", by, 0.2, 15}); err != nil {
		return pattern.Piece{}, err
	}
	if len(runs) == 0 {
		return pattern.Piece{}, newError(p, "", "no edge is named for the turn of cloth")
	}
	for _, run := range runs {
		e, err := wholeEdge(p, run)
		if err != nil {
			return pattern.Piece{}, err
		}
		out, err := moveOut(p, e, by)
		if err != nil {
			return pattern.Piece{}, err
		}
		if p, err = Redraw(p, []string{run}, []geom.Path{out}); err != nil {
			return pattern.Piece{}, err
		}
	}
	return p, nil
}

// runsOn is the turn between two edges below which one runs on as the other, radians.
const runsOn = 20 * math.Pi / 180

// moveOut returns an edge moved out by mm, with its ends on its neighbours extended straight. An
// end where the neighbour runs on without a corner stays.
func moveOut(p pattern.Piece, e pattern.Edge, by float64) (geom.Path, error) {
	i, n := p.EdgeIndex(e.Name), len(p.Edges)
	before, after := p.Edges[(i+n-1)%n], p.Edges[(i+1)%n]
	out := e.Path.Offset(by, geom.OffsetTol)
	if len(out) == 0 {
		return nil, newError(p, e.Name, "nothing is left of it %.1f mm out", by)
	}
	if math.Abs(geom.AngleBetween(before.Path.EndTangent(), e.Path.StartTangent())) < runsOn {
		out = out.Stretch(e.Path.Start(), out.End())
	} else if at, ok := carry(out, true, before.Path.End(), before.Path.EndTangent(), by); ok {
		out = trimTo(out, at, true).MoveStart(at)
	} else {
		return nil, newError(p, e.Name, "%s, extended straight, does not meet it %.1f mm out", before.Name, by)
	}
	if math.Abs(geom.AngleBetween(e.Path.EndTangent(), after.Path.StartTangent())) < runsOn {
		return out.Stretch(out.Start(), e.Path.End()), nil
	}
	if at, ok := carry(out, false, after.Path.Start(), after.Path.StartTangent().Neg(), by); ok {
		return trimTo(out, at, false).MoveEnd(at), nil
	}
	return nil, newError(p, e.Name, "%s, extended straight, does not meet it %.1f mm out", after.Name, by)
}
